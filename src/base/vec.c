/* SPDX-License-Identifier: MIT */
#include "base/vec.h"

#include <stdint.h>

#include "base/mem.h"

void *cb_vec_grow(void *items, size_t count, size_t *capacity, size_t item_size)
{
    if (count < *capacity) {
        return items;
    }
    if (*capacity > SIZE_MAX / 2) {
        abort();
    }
    *capacity = *capacity > 0 ? *capacity * 2 : 8;
    return cb_mem_resize(items, *capacity, item_size);
}
