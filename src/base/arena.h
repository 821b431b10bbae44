/* SPDX-License-Identifier: MIT */
/* Memory that is released all at once. Zeroed struct = empty arena. */
#ifndef CB_BASE_ARENA_H
#define CB_BASE_ARENA_H

#include <stdarg.h>
#include <stddef.h>

struct cb_arena_block;
struct cb_arena {
    struct cb_arena_block *last;
};

void cb_arena_init(struct cb_arena *arena);
void cb_arena_fini(struct cb_arena *arena); /* takes a zeroed one; leaves it empty and usable */

/* Zeroed, aligned for any type, lives until fini. Never NULL. */
void *cb_arena_alloc(struct cb_arena *arena, size_t count, size_t size);
char *cb_arena_text(struct cb_arena *arena, const char *text); /* NULL stays NULL */
char *cb_arena_text_n(struct cb_arena *arena, const char *text, size_t length);
char *cb_arena_printf(struct cb_arena *arena, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
char *cb_arena_vprintf(struct cb_arena *arena, const char *format, va_list args)
    __attribute__((format(printf, 2, 0)));

#endif
