/* SPDX-License-Identifier: MIT */
/* Evidence from two places in one order: rows kept from finished units, and the bench's own. */
#ifndef CB_CORE_ROWS_H
#define CB_CORE_ROWS_H

#include "base/arena.h"
#include "base/str.h"
#include "core/learn.h"

/* Both in order of at_ms; the merged rows lie in the arena and borrow their texts. A film that
 * stands in both (same unit, figure, stage, coat and time) is taken from own. */
const struct cb_row *cb_rows_merge(const struct cb_row *before, size_t before_count,
                                   const struct cb_row *own, size_t own_count,
                                   struct cb_arena *arena, size_t *count);

/* With a row's weight fading by .95 at each later row of its pot, one with so many behind it counts
 * for 1e-9 of what it did. */
#define CB_ROWS_RECENT 400
/* The rows without those of films that have CB_ROWS_RECENT later ones of their pot; in the arena. */
const struct cb_row *cb_rows_recent(const struct cb_row *rows, size_t total,
                                    struct cb_arena *arena, size_t *count);

/* Appends films' rows as bytes of this machine, to be kept; rows of other kinds are left out. */
void cb_rows_pack(const struct cb_row *rows, size_t count, struct cb_str *out);
/* Back, in the arena; texts are borrowed from bytes. NULL when they are none. */
const struct cb_row *cb_rows_unpack(const void *bytes, size_t length, struct cb_arena *arena,
                                    size_t *count);

#endif
