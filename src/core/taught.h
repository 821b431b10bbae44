/* SPDX-License-Identifier: MIT */
/*
 * What finished units taught, summed up: the learner and the estimator of hours as they stand after
 * the last of them, and what a bench's own films and marks are then added to.
 */
#ifndef CB_CORE_TAUGHT_H
#define CB_CORE_TAUGHT_H

#include "base/arena.h"
#include "core/effort.h"
#include "core/hours.h"
#include "core/learn.h"
#include "core/review_sum.h"

struct cb_taught { /* zeroed: nothing */
    struct cb_arena arena;   /* of all that lies in it: a taught can be moved by copying it */
    const struct cb_row *rows; /* that still weigh, oldest first: what learn rests on */
    size_t row_count;
    struct cb_learn *learn;  /* owned */
    struct cb_hours *hours;  /* owned */
    struct cb_effort habits; /* sessions of all units, for how long an evening is; no marks */
    const struct cb_review_sum *sums; /* of every unit, in the order they were begun */
    size_t unit_count;
    const void *last; /* packed review of the last of them, from who keeps them; NULL: none */
    size_t last_length;
};

/* Rows of finished units in any order, efforts and sums of the units in the order they were begun;
 * copies what it keeps. */
void cb_taught_make(struct cb_taught *taught, const struct cb_row *rows, size_t row_count,
                    const struct cb_effort *efforts, const struct cb_review_sum *sums,
                    size_t unit_count);
/* The same in pieces of some hundredths of a second, for idle time: begin, then step with the same
 * efforts and *done from 0 until it returns false. */
void cb_taught_begin(struct cb_taught *taught, const struct cb_row *rows, size_t row_count,
                     const struct cb_effort *efforts, const struct cb_review_sum *sums,
                     size_t unit_count);
bool cb_taught_step(struct cb_taught *taught, const struct cb_effort *efforts, size_t *done);
void cb_taught_fini(struct cb_taught *taught); /* takes a zeroed one and leaves one */

/* As bytes of this machine, to be kept; NULL: it can't be. Back: false when they are none. */
const void *cb_taught_pack(const struct cb_taught *taught, struct cb_arena *arena, size_t *length);
bool cb_taught_unpack(const void *bytes, size_t length, struct cb_taught *taught);

#endif
