/* SPDX-License-Identifier: MIT */
/*
 * What one unit teaches whoever plans the next: its films' rows for the learner, what its marks say
 * of hours, its review in a few numbers, its paints and their coats, and how its pings were
 * answered. It rests on the unit's own bench alone.
 */
#ifndef CB_CORE_REVIEW_LESSON_H
#define CB_CORE_REVIEW_LESSON_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/str.h"
#include "core/bench/bench.h"
#include "core/bench/calibration.h"
#include "core/bench/coverage.h"
#include "core/review/effort.h"
#include "core/bench/pots.h"
#include "core/review/review_sum.h"

struct cb_lesson {
    const struct cb_row *rows; /* of the unit's films */
    size_t row_count;
    struct cb_effort effort;
    struct cb_review_sum sum;
    const struct cb_pot_stage *stages; /* with a paint */
    size_t stage_count;
    const struct cb_cover *covers; /* coats that its paints needed */
    size_t cover_count;
    struct cb_calibration calibration;
};

/* In the arena; texts are the bench's. */
struct cb_lesson cb_lesson_of(const struct cb_bench *bench, const struct cb_review *review,
                              struct cb_arena *arena);

/* Appends it as bytes of this machine, to be kept. Back, in the arena, texts and all: false when
 * they are none. */
void cb_lesson_pack(const struct cb_lesson *lesson, struct cb_str *out);
bool cb_lesson_unpack(const void *bytes, size_t length, struct cb_arena *arena,
                      struct cb_lesson *lesson);

#endif
