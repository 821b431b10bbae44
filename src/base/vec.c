/* SPDX-License-Identifier: MIT */
#include "base/vec.h"

#include <stdint.h>

#include "base/mem.h"

#define FIRST 2 /* most of those that a film has keep one item (own judgement) */

void *cb_vec_grow(void *items, size_t count, size_t *capacity, size_t item_size)
{
    if (count < *capacity) {
        return items;
    }
    if (*capacity > SIZE_MAX / 2) {
        abort();
    }
    *capacity = *capacity > 0 ? *capacity + *capacity / 2 : FIRST;
    return cb_mem_resize(items, *capacity, item_size);
}
