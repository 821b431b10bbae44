/* SPDX-License-Identifier: MIT */
/*
 * A unit as a recipe of what was really painted: the recipe in force, with the coats that all
 * figures had more or less of, without the stages that all left out, with the paints that stood
 * in for others, and with the minutes that were measured.
 */
#ifndef CB_CORE_REVIEW_PAINTED_H
#define CB_CORE_REVIEW_PAINTED_H

#include "core/bench/bench.h"
#include "core/recipe/draft.h"
#include "core/recipe/recipe_write.h"
#include "core/review/review.h"

struct cb_painted {
    struct cb_draft draft;
    struct cb_recipe_remarks remarks; /* `dry` as a comment where it was learned */
    /* by stage of the draft: what it was made from */
    struct cb_painted_stage {
        size_t marks;   /* measured; 0: its minutes are the recipe's */
        double minutes; /* the median of them; NAN: none */
        size_t films;   /* that the dry time was learned of */
        double dry_min; /* learned, standard minutes; NAN: nothing was */
    } stages[CB_RECIPE_MAX];
};

/* unit: of the bench. review: its own. learn, rows: of the whole log. Texts are the bench's or the
 * arena's. */
void cb_painted_of(const struct cb_bench *bench, size_t unit, const struct cb_review *review,
                   const struct cb_learn *learn, const struct cb_row *rows, size_t row_count,
                   struct cb_arena *arena, struct cb_painted *painted);

#endif
