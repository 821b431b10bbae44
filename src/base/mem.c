/* SPDX-License-Identifier: MIT */
#include "base/mem.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static size_t checked(size_t count, size_t size)
{
    if (size != 0 && count > SIZE_MAX / size) {
        abort();
    }
    size_t bytes = count * size;
    return bytes > 0 ? bytes : 1; /* so that NULL means only "no memory" */
}

void *cb_mem_new(size_t count, size_t size)
{
    void *memory = calloc(1, checked(count, size));
    if (!memory) {
        abort();
    }
    return memory;
}

void *cb_mem_resize(void *old, size_t count, size_t size)
{
    void *memory = realloc(old, checked(count, size));
    if (!memory) {
        abort();
    }
    return memory;
}

char *cb_mem_copy_text(const char *text)
{
    size_t size = strlen(text) + 1;
    char *copy = cb_mem_new(size, 1);
    memcpy(copy, text, size);
    return copy;
}
