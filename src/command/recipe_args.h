/* SPDX-License-Identifier: MIT */
/* What mix and set-out have in common: a recipe, how many figures, kinds and settings. */
#ifndef CB_COMMAND_RECIPE_ARGS_H
#define CB_COMMAND_RECIPE_ARGS_H

#include "command/command.h"
#include "core/recipe/config.h"
#include "core/paint/kinds.h"
#include "core/recipe/recipe.h"

struct cb_recipe_args {
    struct cb_arena *arena;
    const struct cb_kinds *kinds;
    const struct cb_config *config;
    const struct cb_recipe *recipe;
    int figures;
};

/* Operand 0 and -n; complaints are printed. 0 or an exit code. */
int cb_recipe_args_read(const struct cb_args *args, struct cb_recipe_args *out);
/* Of those figures, how many the stage is for. */
int cb_recipe_args_figures(const struct cb_recipe_args *in, size_t stage);

#endif
