/* SPDX-License-Identifier: MIT */
/*
 * When a painter sat at the bench, by the clock on the wall. An evening belongs to the bench and
 * not to a unit: several units know of the same one, hence they are joined.
 */
#ifndef CB_CORE_REVIEW_EVENINGS_H
#define CB_CORE_REVIEW_EVENINGS_H

#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/coder.h"
#include "core/bench/bench.h"

struct cb_evening {
    int64_t from_ms, to_ms; /* wall */
};

/* Two stretches with less between them are one evening: tea, or the bench opened again. A session
 * in which nothing happens for longer than the other is two: it was left open over night. (Both own
 * judgement.) */
#define CB_EVENING_JOIN_MIN  60
#define CB_EVENING_SPLIT_MIN 240

/* Of the sessions of this bench in which a coat went on, the one that is still open up to its last
 * event; oldest first, joined, in the arena. As the clock stood at the bench's last event. */
const struct cb_evening *cb_evenings_of(const struct cb_bench *bench, struct cb_arena *arena,
                                        size_t *count);

/* Sorts them and joins those that overlap or lie close together. How many there are then. */
size_t cb_evenings_join(struct cb_evening *evenings, size_t count);

/* Both lists as one, joined, in the arena. */
const struct cb_evening *cb_evenings_both(const struct cb_evening *a, size_t a_count,
                                          const struct cb_evening *b, size_t b_count,
                                          struct cb_arena *arena, size_t *count);

/* Written or read with what is kept of a unit (base/coder.h). */
void cb_evenings_code(struct cb_coder *coder, const struct cb_evening **evenings, size_t *count);

#endif
