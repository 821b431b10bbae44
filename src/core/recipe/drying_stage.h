/* SPDX-License-Identifier: MIT */
/* How a stage of a recipe dries: its paint, its mix, and what the recipe says itself. */
#ifndef CB_CORE_RECIPE_DRYING_STAGE_H
#define CB_CORE_RECIPE_DRYING_STAGE_H

#include "core/paint/drying.h"
#include "core/recipe/recipe.h"

/* From the recipe: stage x its paint (largest part) x mix; dry, label, wait, film and solids act
 * as coatbell-recipe(5) says. */
struct cb_drying cb_drying_of_stage(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                                    size_t stage);
/* The parts in force: as the stage says, else the usual mix of its row or technique. All zero
 * where no paint is used. */
struct cb_parts cb_drying_parts_of_stage(const struct cb_kinds *kinds,
                                         const struct cb_recipe *recipe, size_t stage);
/* Wet film as applied at the usual mix, um; the paint's own `film` wins. NAN without paint, and
 * for laws that have none. */
double cb_drying_film_of_stage(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                               size_t stage);
/* What stands in for medium, where a recipe's mixes have it: nothing else can. */
#define CB_MEDIUM     "medium"
#define CB_FOR_MEDIUM "water"
/* The recipe's stages with as much water in the place of the medium of their mixes, usual ones
 * too, which are then said. stages: room for stage_count; may be those of the recipe. */
void cb_recipe_without_medium(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                              struct cb_stage *stages);

#endif
