/* SPDX-License-Identifier: MIT */
#include "command/recipe_args.h"

#include <stdio.h>

#include "base/str.h"
#include "shell/recipe_file.h"

int cb_recipe_args_read(const struct cb_args *args, struct cb_recipe_args *out)
{
    struct cb_err err = {0};
    struct cb_recipe_file file;
    long long figures = 0;
    *out = (struct cb_recipe_args){.arena = args->arena};
    const char *n = cb_args_get(args, "-n");
    if (n != NULL && (!cb_str_integer(n, &figures) || figures < 1 || figures > CB_FIGURES_MAX)) {
        return cb_command_failf(CB_USAGE, "not a number of figures: %s (1 to %d)", n,
                                CB_FIGURES_MAX);
    }
    if (cb_args_settings(args, &out->kinds, &out->config, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    enum cb_status status =
        cb_recipe_file_read(args->operands[0], out->kinds, args->arena, &file, &err);
    if (status == CB_DATA) {
        struct cb_str issues = {0};
        cb_recipe_file_print(&file, args->ascii, &issues);
        cb_command_print(stderr, &issues);
        return (int)status;
    }
    if (status != CB_OK) {
        return cb_command_fail(&err);
    }
    out->recipe = file.recipe;
    out->figures = figures > 0 ? (int)figures : file.recipe->figures > 0 ? file.recipe->figures : 1;
    return 0;
}

int cb_recipe_args_figures(const struct cb_recipe_args *in, size_t stage)
{
    int count = 0;
    for (int figure = 1; figure <= in->figures; figure++) {
        count += cb_recipe_applies(in->recipe, stage, figure);
    }
    return count;
}
