/* SPDX-License-Identifier: MIT */
/*
 * Dark, middle and light: what a coat has to hide. The rule is common practice, no source: thin
 * coats; a tone lighter takes one more, so a light colour over a dark undercoat takes three.
 */
#ifndef CB_CORE_RECIPE_TONE_H
#define CB_CORE_RECIPE_TONE_H

#include "core/recipe/recipe.h"

/* Of what the stage puts on: its paints' tones by their parts, the darker one where it lies half
 * way (own judgement). NONE: no paint, or one whose tone is not said. */
enum cb_tone cb_tone_of_stage(const struct cb_recipe *recipe, size_t stage);

/* Is it to hide what lies under it: a basecoat or a layer? */
bool cb_tone_hides(enum cb_technique technique);

/* Of what lies under the stage on its areas once the stages before it are on: the last undercoat,
 * basecoat, layer or texture there; the darkest where there are several. covers: of
 * cb_recipe_covers_all. figure: whose, from 1. left_out: stages that do not count (mask). NONE:
 * nothing, or no tone is said. */
enum cb_tone cb_tone_under(const struct cb_recipe *recipe, const uint64_t covers[CB_RECIPE_MAX],
                           size_t stage, int figure, uint64_t left_out);

/* Coats that the step from one to the other takes, 1 to 3; 1 where either is not said. */
int cb_tone_coats(enum cb_tone over, enum cb_tone under);

#endif
