/* SPDX-License-Identifier: MIT */
/*
 * How much to mix: figure area from its height, wet film, waste, drops. Own arithmetic on
 * design figures: 15 cm2 at 32 mm, scaled with the square of the height (estimate); 30 drops of
 * paint a millilitre until calibrated (Eschbaum 1895: drop weight follows tip and tension). A disc
 * is a circle of its width.
 */
#ifndef CB_CORE_RECIPE_AMOUNT_H
#define CB_CORE_RECIPE_AMOUNT_H

#include "base/arena.h"
#include "core/paint/drying.h"
#include "core/paint/kinds.h"
#include "core/recipe/recipe.h"

struct cb_amount {
    double ml;           /* as applied, waste included, for all figures and one coat */
    double drops_needed; /* before rounding */
    double drops_per_ml;
    double poured_ml; /* of those drops, or of a paste by its volume; none of a can */
    bool nearest;     /* the written ratio would take more than 40 drops: the nearest is taken */
    double drops[CB_MIX_PARTS_MAX]; /* whole drops by part of the mix, same order */
    struct cb_parts totals; /* whole drops by what they are, the usual mix where none is said */
};

/* For one coat of the stage on that many figures. drops_per_ml: the user's, or NAN for 30; a
 * paint's own `drops` wins. Whole drops keep the recipe's ratio, so 1 + 0.5 is 2 + 1, and are
 * multiplied until there is enough (22.5 / 3 = 7.5, so 8 times 2 + 1). Where that would take parts
 * of more than forty drops, the nearest ratio that keeps each part's share within 5 % is taken,
 * else the nearest at all; a retarder's share is never above what was written. A drop of each part
 * is the least. */
struct cb_amount cb_amount_of(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                              size_t stage, int figures, double drops_per_ml);

/* Is it measured in millilitres instead of drops: a paste? */
bool cb_amount_in_ml(const struct cb_kinds *kinds, const struct cb_recipe *recipe, size_t stage);
/* "mix 16 drops of paint and 8 of water for ten figures", "pour out 4 drops of paint", "take 3.8 ml
 * of paste"; a blend names its paints. NULL where
 * nothing is mixed: no paint, or a can. */
const char *cb_amount_line(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                           size_t stage, int figures, double drops_per_ml, struct cb_arena *arena);
/* What is still to mix of a stage: so many coats on so many figures, "still to mix for 6 figures:
 * 16 drops of Oilskin green, 8 of water"; more coats than figures are said too. NULL where nothing
 * is mixed. */
const char *cb_amount_left(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                           size_t stage, int figures, int coats, double drops_per_ml,
                           struct cb_arena *arena);
/* "ten" up to twelve, then digits; static for words, else in the arena. */
const char *cb_amount_count(int count, struct cb_arena *arena);

#endif
