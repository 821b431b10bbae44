/* SPDX-License-Identifier: MIT */
/*
 * What a painter who looks over the shoulder would say of a recipe: no faults, but what is likely
 * to be regretted, each with one thing to do. The rules are common practice, no source, but for the
 * window of spraying (core/recipe/gate.h) and what the painter's own log says. A row of the table
 * in advice.c and one function each. Pure.
 */
#ifndef CB_CORE_REVIEW_ADVICE_H
#define CB_CORE_REVIEW_ADVICE_H

#include "core/bench/coverage.h"
#include "core/bench/pots.h"

struct cb_advice {
    const char *id; /* stable word, for JSON: a row of the table */
    size_t stage;
    int line, column;       /* of the stage in its file */
    const char *text, *act; /* what it is; one thing to do. Each one line, in the arena */
};

/* What is known beside the recipe; zeroed but for kinds: nothing. */
struct cb_advice_known {
    const struct cb_kinds *kinds;
    const struct cb_climate *const *airs; /* by stage, where it is done; NULL: not known */
    bool usual;                           /* they are what the log usually says */
    const struct cb_bench *bench;         /* whose joins hold for the lists below */
    const struct cb_cover *covers;
    size_t cover_count;
    const struct cb_pot_line *lines;
    size_t line_count;
};

/* In the order of the stages. In the arena. */
const struct cb_advice *cb_advice_of(const struct cb_recipe *recipe,
                                     const struct cb_advice_known *known, struct cb_arena *arena,
                                     size_t *count);

#endif
