/* SPDX-License-Identifier: MIT */
#include "support/plan_problem.h"

#include <stdio.h>
#include <stdlib.h>

#include "core/plan/plan_recipe.h"
#include "shell/paths.h"
#include "shell/recipe_file.h"
#include "support/plan_case.h"

struct cb_plan_problem plan_problem_read(const char *path, int figures, struct cb_arena *arena)
{
    static const struct cb_climate standard = {23, 50, CB_AIR_STILL};
    const struct cb_plan_taught nothing = {0};
    struct cb_plan_times times[CB_RECIPE_MAX];
    const struct cb_kinds *kinds;
    struct cb_recipe_file file;
    struct cb_err err = {0};
    if (cb_paths_kinds(arena, &kinds, &err) != CB_OK ||
        cb_recipe_file_read(path, kinds, arena, &file, &err) != CB_OK) {
        fprintf(stderr, "%s\n", err.text);
        exit(1);
    }
    for (size_t s = 0; s < file.recipe->stage_count; s++) {
        times[s] = cb_plan_times_of(kinds, file.recipe, s, &standard, &nothing);
    }
    return cb_plan_of_recipe(kinds, file.recipe, figures, times, arena);
}

struct cb_plan_problem plan_problem_of(const struct plan_case *plan, const char *folder,
                                       struct cb_arena *arena)
{
    char path[512];
    snprintf(path, sizeof path, "%s/plan.yaml", folder);
    if (!plan_case_write(plan, path)) {
        fprintf(stderr, "%s can't be written\n", path);
        exit(1);
    }
    return plan_problem_read(path, plan->figures, arena);
}
