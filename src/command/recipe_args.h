/* SPDX-License-Identifier: MIT */
/* What the commands for recipes have in common. For mix and set-out: a recipe, how many figures,
 * kinds and settings. */
#ifndef CB_COMMAND_RECIPE_ARGS_H
#define CB_COMMAND_RECIPE_ARGS_H

#include "command/command.h"
#include "core/recipe/config.h"
#include "core/paint/kinds.h"
#include "core/recipe/gate.h"
#include "core/recipe/recipe.h"
#include "shell/recipe_file.h"

struct cb_recipe_args {
    struct cb_arena *arena;
    const struct cb_kinds *kinds;
    const struct cb_config *config;
    const struct cb_recipe *recipe;
    int figures;
};

/* KEY="NAME" of --use: the paint of the recipe, its number, and the pot that stands in for it.
 * -1 and no fault: water stands in for medium. */
enum cb_status cb_recipe_args_use(const struct cb_recipe *recipe, const char *use,
                                  struct cb_arena *arena, int *paint, const char **name,
                                  struct cb_err *err);
/* Operand 0, -n and --use; complaints are printed. 0 or an exit code. */
int cb_recipe_args_read(const struct cb_args *args, struct cb_recipe_args *out);
/* Says what is wrong with a recipe that was not read; the exit code. */
int cb_recipe_args_fail(const struct cb_args *args, const struct cb_recipe_file *file,
                        const struct cb_err *err);
const char *cb_recipe_args_level(const struct cb_gate *gate); /* "amber" */
/* Fields of the object that is open; a list of its own. */
void cb_recipe_args_json_gate(struct cb_json *json, const struct cb_gate *gate);
void cb_recipe_args_json_cautions(struct cb_json *json, const struct cb_caution *cautions,
                                  size_t count);
/* A list names: those of the first so many figures that have one. */
void cb_recipe_args_json_names(struct cb_json *json, const struct cb_recipe *recipe, int figures);
/* Of those figures, how many the stage is for. */
int cb_recipe_args_figures(const struct cb_recipe_args *in, size_t stage);

#endif
