/* SPDX-License-Identifier: MIT */
/* A growing array: struct { T *items; size_t count, capacity; } that starts zeroed. */
#ifndef CB_BASE_VEC_H
#define CB_BASE_VEC_H

#include <stddef.h>
#include <stdlib.h>

#define CB_VEC(type)                                                                               \
    struct {                                                                                       \
        type *items;                                                                               \
        size_t count;                                                                              \
        size_t capacity;                                                                           \
    }

/* Room for one more; used by the macro below only. */
void *cb_vec_grow(void *items, size_t count, size_t *capacity, size_t item_size);

#define cb_vec_push(vec, item)                                                                     \
    do {                                                                                           \
        (vec)->items =                                                                             \
            cb_vec_grow((vec)->items, (vec)->count, &(vec)->capacity, sizeof *(vec)->items);       \
        (vec)->items[(vec)->count++] = (item);                                                     \
    } while (0)

#define cb_vec_free(vec)                                                                           \
    do {                                                                                           \
        free((vec)->items);                                                                        \
        (vec)->items = NULL;                                                                       \
        (vec)->count = (vec)->capacity = 0;                                                        \
    } while (0)

#endif
