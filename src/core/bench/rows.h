/* SPDX-License-Identifier: MIT */
/* Evidence from two places in one order: rows kept from finished units, and the bench's own. */
#ifndef CB_CORE_BENCH_ROWS_H
#define CB_CORE_BENCH_ROWS_H

#include "base/arena.h"
#include "base/coder.h"
#include "core/learn/learn.h"

/* Both in order of at_ms; the merged rows lie in the arena and borrow their texts. A film that
 * stands in both (same unit, figure, stage, coat and time) is taken from own. */
const struct cb_row *cb_rows_merge(const struct cb_row *before, size_t before_count,
                                   const struct cb_row *own, size_t own_count,
                                   struct cb_arena *arena, size_t *count);

/* By time, then unit, stage, coat and figure: one order for any set. */
void cb_rows_sort(struct cb_row *rows, size_t count);

/* With a row's weight fading by .95 at each later row of its pot, one with so many behind it counts
 * for 1e-9 of what it did, and is left out. */
#define CB_ROWS_RECENT 400

/* Written or read with what is kept of a unit (base/coder.h): films' rows of that unit, others are
 * left out; unit: its id, for the rows to lean on. Reading: texts of the same paint are one text.
 */
void cb_rows_code(struct cb_coder *coder, const struct cb_row **rows, size_t *count,
                  const char *unit);

#endif
