/* SPDX-License-Identifier: MIT */
/* What is another in the next version of a recipe, in lines that a painter reads. It knows no
 * bench: what of it is painted is not its matter. */
#ifndef CB_CORE_RECIPE_RECIPE_DIFF_H
#define CB_CORE_RECIPE_RECIPE_DIFF_H

#include "core/recipe/recipe_match.h"

enum cb_diff_kind {
    CB_DIFF_FIGURES, /* "figures: 12 instead of 10" */
    CB_DIFF_CHANGED, /* "Oilskins: 3 coats instead of 2", "Rope: renamed Ropes" */
    CB_DIFF_NEW,     /* "new: Sash after Oilskins" */
    CB_DIFF_GONE,    /* "left out: Varnish" */
    CB_DIFF_PAINT,   /* "rope: Tarred rope instead of Harbour mud", by its key */
    CB_DIFF_REST,    /* what is said of the whole recipe, and of areas */
};

struct cb_diff_line {
    enum cb_diff_kind kind;
    int stage, was; /* now and before, from 0; -1: none, or not of a stage */
    const char *text;
};

struct cb_recipe_diff {
    size_t count; /* 0: nothing that is read of a recipe differs */
    const struct cb_diff_line *lines;
};

/* Stages in the order they have now, then those left out, then all else. In the arena. */
struct cb_recipe_diff cb_recipe_diff(const struct cb_recipe *before, const struct cb_recipe *now,
                                     const struct cb_recipe_match *match,
                                     const struct cb_kinds *kinds, struct cb_arena *arena);

/* "1, 3 and 5 to 7" of those figures; "4 on" for all from 4 on. In the arena. */
char *cb_diff_figures(const uint64_t figures[2], struct cb_arena *arena);

#endif
