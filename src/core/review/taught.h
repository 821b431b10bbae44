/* SPDX-License-Identifier: MIT */
/*
 * What finished units taught, summed up: the learner and the estimator of hours as they stand after
 * the last of them, and what a bench's own films and marks are then added to.
 */
#ifndef CB_CORE_REVIEW_TAUGHT_H
#define CB_CORE_REVIEW_TAUGHT_H

#include "base/arena.h"
#include "core/review/effort.h"
#include "core/learn/hours.h"
#include "core/learn/learn.h"
#include "core/review/lesson.h"
#include "core/review/trail.h"

struct cb_taught_pots;

struct cb_taught {             /* zeroed: nothing; cb_taught_begin first */
    struct cb_arena arena;     /* of all that lies in it: a taught can be moved by copying it */
    const struct cb_row *rows; /* that still weigh, oldest first: what learn rests on */
    size_t row_count, rows_learned;
    struct cb_learn *learn;  /* owned */
    struct cb_hours *hours;  /* owned */
    struct cb_effort habits; /* sessions of all units, for how long an evening is; no marks */
    const struct cb_pot_stage *stages; /* each pot by each technique once, as of the last unit */
    size_t stage_count;
    const struct cb_cover *covers; /* each pot, technique and tone once */
    size_t cover_count;
    const struct cb_review_sum *sums; /* of every unit, in the order they were begun */
    size_t unit_count;
    const struct cb_review *last; /* of the unit finished last, from who keeps them; NULL: none */
    const struct cb_trail
        *trails; /* of the units finished last, oldest first, from who keeps them */
    size_t trail_count;
    struct cb_taught_pots *pots; /* while units are added */
};

/* Begin, add the lessons of finished units in the order the units were begun, then step until it
 * returns false: pieces of some hundredths of a second, for idle time. Copies what it keeps. */
void cb_taught_begin(struct cb_taught *taught);
void cb_taught_add(struct cb_taught *taught, const struct cb_lesson *lesson);
bool cb_taught_step(struct cb_taught *taught);
void cb_taught_fini(struct cb_taught *taught); /* takes a zeroed one and leaves one */

#endif
