/* SPDX-License-Identifier: MIT */
/* Heap memory that is there or ends the program: no caller can carry on without it. */
#ifndef CB_BASE_MEM_H
#define CB_BASE_MEM_H

#include <stddef.h>

/* Zeroed; count * size is checked for overflow. Never NULL. Release with free(). */
void *cb_mem_new(size_t count, size_t size);

/* As realloc, count * size checked. Never NULL. */
void *cb_mem_resize(void *old, size_t count, size_t size);

char *cb_mem_copy_text(const char *text);

#endif
