/* SPDX-License-Identifier: MIT */
/*
 * Things as bytes of this machine, to be kept and read again: numbers as they lie in memory, texts
 * with their NUL, pieces after their length. Writing appends to a cb_str; reading trusts nothing.
 */
#ifndef CB_BASE_BYTES_H
#define CB_BASE_BYTES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/str.h"

void cb_bytes_put(struct cb_str *out, const void *bytes, size_t length);
void cb_bytes_put_text(struct cb_str *out, const char *text); /* NULL as "" */
void cb_bytes_put_piece(struct cb_str *out, const void *bytes, size_t length);
/* What was written, in the arena. */
const void *cb_bytes_done(struct cb_str *out, struct cb_arena *arena, size_t *length);

/* good turns false, for good, at the first thing that is not there; what is taken then is zero. */
struct cb_bytes {
    const char *at, *end;
    bool good;
};
struct cb_bytes cb_bytes_of(const void *bytes, size_t length);
void cb_bytes_take(struct cb_bytes *in, void *into, size_t length);
/* A list of so many, copied into the arena, where it is aligned; never NULL. */
void *cb_bytes_take_list(struct cb_bytes *in, uint64_t count, size_t size, struct cb_arena *arena);
const char *cb_bytes_take_text(struct cb_bytes *in); /* where it lies; "" when it is not there */
struct cb_bytes cb_bytes_take_piece(struct cb_bytes *in);
size_t cb_bytes_left(const struct cb_bytes *in);
/* All was there, and nothing more. */
bool cb_bytes_end(const struct cb_bytes *in);

#endif
