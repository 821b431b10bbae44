/* SPDX-License-Identifier: MIT */
/* Are two recipes the same, but for where they stand in a file? */
#ifndef CB_TESTS_RECIPE_EQUAL_H
#define CB_TESTS_RECIPE_EQUAL_H

#include "core/recipe/recipe.h"

/* NULL, or in words what differs first; in the arena. */
const char *recipe_difference(const struct cb_recipe *a, const struct cb_recipe *b,
                              struct cb_arena *arena);

#endif
