/* SPDX-License-Identifier: MIT */
#include "base/arena.h"

#include <stdalign.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

#define BLOCK_SIZE 16384U

struct cb_arena_block {
    struct cb_arena_block *before;
    size_t used, size;
    alignas(max_align_t) unsigned char bytes[];
};

void cb_arena_init(struct cb_arena *arena)
{
    arena->last = NULL;
}

void cb_arena_fini(struct cb_arena *arena)
{
    struct cb_arena_block *block = arena->last;
    while (block) {
        struct cb_arena_block *before = block->before;
        free(block);
        block = before;
    }
    arena->last = NULL;
}

static struct cb_arena_block *block_new(size_t size)
{
    if (size > SIZE_MAX - sizeof(struct cb_arena_block)) {
        abort();
    }
    struct cb_arena_block *block = cb_mem_new(1, sizeof *block + size);
    block->size = size;
    return block;
}

void *cb_arena_alloc(struct cb_arena *arena, size_t count, size_t size)
{
    const size_t align = alignof(max_align_t);
    if (size != 0 && count > (SIZE_MAX - align) / size) {
        abort();
    }
    size_t bytes = (count * size + align - 1) / align * align;
    struct cb_arena_block *block = arena->last;
    if (block && block->size - block->used >= bytes) {
        void *memory = block->bytes + block->used;
        block->used += bytes;
        return memory;
    }
    struct cb_arena_block *fresh = block_new(bytes > BLOCK_SIZE / 4 ? bytes : BLOCK_SIZE);
    fresh->used = bytes;
    /* A big piece gets a block of its own, put behind the one that still has room. */
    if (block && bytes > BLOCK_SIZE / 4) {
        fresh->before = block->before;
        block->before = fresh;
    } else {
        fresh->before = block;
        arena->last = fresh;
    }
    return fresh->bytes;
}

char *cb_arena_text_n(struct cb_arena *arena, const char *text, size_t length)
{
    if (length == SIZE_MAX) {
        abort();
    }
    char *copy = cb_arena_alloc(arena, length + 1, 1);
    if (length > 0) {
        memcpy(copy, text, length);
    }
    return copy;
}

char *cb_arena_text(struct cb_arena *arena, const char *text)
{
    return text ? cb_arena_text_n(arena, text, strlen(text)) : NULL;
}

char *cb_arena_vprintf(struct cb_arena *arena, const char *format, va_list args)
{
    va_list again;
    va_copy(again, args);
    int length = vsnprintf(NULL, 0, format, args);
    size_t size = length > 0 ? (size_t)length + 1 : 1;
    char *text = cb_arena_alloc(arena, size, 1);
    if (length > 0) {
        vsnprintf(text, size, format, again);
    }
    va_end(again);
    return text;
}

char *cb_arena_printf(struct cb_arena *arena, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    char *text = cb_arena_vprintf(arena, format, args);
    va_end(args);
    return text;
}
