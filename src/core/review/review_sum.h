/* SPDX-License-Identifier: MIT */
/* What of a unit's review a later unit is compared with. */
#ifndef CB_CORE_REVIEW_REVIEW_SUM_H
#define CB_CORE_REVIEW_REVIEW_SUM_H

#include "base/coder.h"
#include "core/review/review.h"

struct cb_review_sum {
    const char *unit, *name, *recipe; /* id, shown name, name of the recipe */
    int figures;
    int64_t begun_ms; /* wall */
    int64_t spent_ms[CB_SPENT_COUNT];
    size_t stage_count;
    const struct cb_review_sum_stage {
        const char *name;
        int64_t took_ms; /* hands-on and tidying up */
    } * stages;
};

/* Borrows the review's texts; the stages lie in the arena. */
struct cb_review_sum cb_review_sum_of(const struct cb_review *review, struct cb_arena *arena);
/* Hands-on and tidying up: what a stage took. */
int64_t cb_review_took_ms(const int64_t spent_ms[CB_SPENT_COUNT]);

/* Written or read with what is kept of a unit (base/coder.h). */
void cb_review_sum_code(struct cb_coder *coder, struct cb_review_sum *sum);
/* A copy in the arena, texts and all. */
struct cb_review_sum cb_review_sum_copy(const struct cb_review_sum *sum, struct cb_arena *arena);

/* The unit a review is compared with: of those in sums that were begun before it, the last one of
 * its recipe, else the last one; NULL: it is the first. sums in the order the units were begun. */
const struct cb_review_sum *cb_review_before(const struct cb_review *review,
                                             const struct cb_review_sum *sums, size_t count);
/* ms of a unit of so many figures, brought to the review's number of figures. */
int64_t cb_review_scaled(const struct cb_review *review, const struct cb_review_sum *before,
                         int64_t ms);
/* What the stage of that name took before, scaled; -1: it had none. */
int64_t cb_review_stage_before(const struct cb_review *review, const struct cb_review_sum *before,
                               const char *stage);
#define CB_REVIEW_TREND 6
/* Hands-on a figure, the oldest first, of the last units of the review's recipe up to itself, which
 * is the last; returns how many, at least 1. */
size_t cb_review_trend(const struct cb_review *review, const struct cb_review_sum *sums,
                       size_t count, int64_t figure_ms[CB_REVIEW_TREND]);

#endif
