/* SPDX-License-Identifier: MIT */
#include "command/recipe_args.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "core/recipe/drying_stage.h"
#include "core/recipe/schema.h"
#include "shell/json_write.h"

int cb_recipe_args_fail(const struct cb_args *args, const struct cb_recipe_file *file,
                        const struct cb_err *err)
{
    if (err->status != CB_DATA) {
        return cb_command_fail(err);
    }
    struct cb_str issues = {0};
    cb_recipe_file_print(file, args->ascii, &issues);
    fflush(stdout);
    cb_command_print(stderr, &issues);
    return CB_DATA;
}

const char *cb_recipe_args_level(const struct cb_gate *gate)
{
    static const char *const words[] = {"note", "amber", "red"};
    return words[gate->level];
}

void cb_recipe_args_json_gate(struct cb_json *json, const struct cb_gate *gate)
{
    cb_json_text(json, "gate", gate->id);
    cb_json_text(json, "level", cb_recipe_args_level(gate));
    cb_json_number(json, "value", gate->value);
    cb_json_number(json, "limit", gate->limit);
    cb_json_text(json, "unit", gate->unit);
    cb_json_text(json, "text", gate->text);
}

void cb_recipe_args_json_cautions(struct cb_json *json, const struct cb_caution *cautions,
                                  size_t count)
{
    cb_json_list(json, "cautions");
    for (size_t i = 0; i < count; i++) {
        cb_json_object(json, NULL);
        cb_json_text(json, "caution", cautions[i].id);
        cb_json_text(json, "text", cautions[i].text);
        cb_json_end(json);
    }
    cb_json_end(json);
}

void cb_recipe_args_json_names(struct cb_json *json, const struct cb_recipe *recipe, int figures)
{
    cb_json_list(json, "names");
    for (int figure = 1; figure <= figures; figure++) {
        if (recipe->names[figure] != NULL) {
            cb_json_object(json, NULL);
            cb_json_integer(json, "figure", figure);
            cb_json_text(json, "name", recipe->names[figure]);
            cb_json_end(json);
        }
    }
    cb_json_end(json);
}

enum cb_status cb_recipe_args_use(const struct cb_recipe *recipe, const char *use,
                                  struct cb_arena *arena, int *paint, const char **name,
                                  struct cb_err *err)
{
    const char *equals = strchr(use, '=');
    const char *names[CB_RECIPE_MAX];
    if (equals == NULL || equals == use || equals[1] == '\0') {
        return cb_err_set(err, CB_USAGE, "--use %s: write it as in --use rope=\"My dark brown\"",
                          use);
    }
    const char *key = cb_arena_text_n(arena, use, (size_t)(equals - use));
    *paint = -1;
    *name = equals + 1;
    if (strcmp(key, CB_MEDIUM) == 0) {
        return strcmp(*name, CB_FOR_MEDIUM) == 0
                   ? CB_OK
                   : cb_err_set(err, CB_USAGE,
                                "--use %s: only water stands in for medium; write it as in --use "
                                "medium=water",
                                use);
    }
    if (strcmp(key, "retarder") == 0) {
        return cb_err_set(err, CB_USAGE, "--use %s: nothing stands in for retarder", use);
    }
    for (size_t i = 0; i < recipe->paint_count; i++) {
        names[i] = recipe->paints[i].key;
        *paint = strcmp(names[i], key) == 0 ? (int)i : *paint;
    }
    if (*paint < 0) {
        struct cb_issues none = {0};
        struct cb_schema schema = {arena, &none};
        return cb_err_set(err, CB_USAGE, "--use %s: the recipe has no such paint%s", key,
                          cb_schema_hint(&schema, key, names, recipe->paint_count));
    }
    return CB_OK;
}

/* As the recipe would be with those pots, of which nothing more is known. */
static enum cb_status use_pots(const struct cb_args *args, struct cb_recipe_args *out,
                               struct cb_err *err)
{
    const struct cb_recipe *recipe = out->recipe;
    struct cb_recipe *used = cb_arena_alloc(args->arena, 1, sizeof *used);
    struct cb_paint *paints = cb_arena_alloc(args->arena, recipe->paint_count + 1, sizeof *paints);
    *used = *recipe;
    for (size_t i = 0; i < recipe->paint_count; i++) {
        paints[i] = recipe->paints[i];
    }
    used->paints = paints;
    bool medium = true;
    for (int i = 0; i < args->option_count; i++) {
        int paint = 0;
        const char *name = NULL;
        if (strcmp(args->given[i].name, "--use") != 0) {
            continue;
        }
        const enum cb_status status =
            cb_recipe_args_use(recipe, args->given[i].value, args->arena, &paint, &name, err);
        if (status != CB_OK) {
            return status;
        }
        if (paint < 0) {
            medium = false;
            continue;
        }
        paints[paint].name = name;
        paints[paint].film_um = paints[paint].solids = paints[paint].drops_per_ml = NAN;
    }
    if (!medium) {
        struct cb_stage *stages =
            cb_arena_alloc(args->arena, recipe->stage_count + 1, sizeof *stages);
        cb_recipe_without_medium(out->kinds, used, stages);
        used->stages = stages;
    }
    out->recipe = used;
    return CB_OK;
}

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
    if (cb_recipe_file_read(args->operands[0], out->kinds, args->arena, &file, &err) != CB_OK) {
        return cb_recipe_args_fail(args, &file, &err);
    }
    out->recipe = file.recipe;
    out->figures = figures > 0 ? (int)figures : file.recipe->figures > 0 ? file.recipe->figures : 1;
    return use_pots(args, out, &err) == CB_OK ? 0 : cb_command_fail(&err);
}

int cb_recipe_args_figures(const struct cb_recipe_args *in, size_t stage)
{
    int count = 0;
    for (int figure = 1; figure <= in->figures; figure++) {
        count += cb_recipe_applies(in->recipe, stage, figure);
    }
    return count;
}
