/* SPDX-License-Identifier: MIT */
/* `check`: is the recipe sound, would the air do, what is likely to be regretted? */
#include <stdio.h>

#include "base/str.h"
#include "base/utf8.h"
#include "command/check_internal.h"
#include "command/recipe_args.h"
#include "core/recipe/config.h"
#include "core/recipe/drying_stage.h"
#include "core/recipe/gate.h"

static void json_errors(struct cb_check *check, const struct cb_recipe_file *file)
{
    for (size_t i = 0; i < file->issues.count; i++) {
        const struct cb_issue *issue = &file->issues.items[i];
        cb_json_object(check->json, NULL);
        cb_json_text(check->json, "file", file->path);
        cb_json_integer(check->json, "line", issue->line);
        cb_json_integer(check->json, "col", issue->column);
        cb_json_text(check->json, "message", issue->message);
        cb_json_end(check->json);
    }
}

static void stage_gates(struct cb_check *check, const struct cb_recipe *recipe, size_t stage,
                        struct cb_gates *gates)
{
    enum cb_by by = recipe->stages[stage].by;
    struct cb_drying drying = cb_drying_of_stage(check->kinds, recipe, stage);
    *gates = (struct cb_gates){0};
    if (recipe->stages[stage].mix.count > 0) {
        cb_gate_check(&drying, recipe->stages[stage].technique,
                      by == CB_BY_CAN || by == CB_BY_AIRBRUSH, check->climate, check->args->arena,
                      gates);
    }
}

static void answer_gates(struct cb_check *check, const struct cb_recipe_file *file)
{
    struct cb_gates gates;
    for (size_t i = 0; file->recipe != NULL && i < file->recipe->stage_count; i++) {
        const struct cb_stage *stage = &file->recipe->stages[i];
        stage_gates(check, file->recipe, i, &gates);
        for (size_t g = 0; g < gates.count; g++) {
            const struct cb_gate *gate = &gates.items[g];
            if (check->json == NULL) {
                printf("%s:%d: %s: %s: %s\n", cb_utf8_clean(check->args->arena, file->path, 0),
                       stage->line, stage->name, cb_recipe_args_level(gate), gate->text);
                continue;
            }
            cb_json_object(check->json, NULL);
            cb_json_text(check->json, "file", file->path);
            cb_json_text(check->json, "stage", stage->name);
            cb_recipe_args_json_gate(check->json, gate);
            cb_json_end(check->json);
        }
    }
}

/* One line each, on standard error: they are no errors, and scripts read standard output. */
static void doubts(const struct cb_check *check, const struct cb_recipe_file *file)
{
    struct cb_issues found = {0};
    struct cb_str out = {0};
    struct cb_str text = {0};
    cb_recipe_doubts(file->recipe, check->args->arena, &found);
    for (size_t i = 0; i < found.count; i++) {
        const struct cb_issue *issue = &found.items[i];
        cb_str_addf(&text, "%s:%d:%d: warning: %s\n",
                    cb_utf8_clean(check->args->arena, file->path, 0), issue->line, issue->column,
                    issue->message);
    }
    cb_command_lines(&out, cb_str_text(&text), check->args->ascii);
    fflush(stdout);
    cb_command_print(stderr, &out);
    cb_str_fini(&text);
}

static void check_files(struct cb_check *check, struct cb_recipe_file *files)
{
    for (int i = 0; i < check->args->operand_count; i++) {
        struct cb_err err = {0};
        enum cb_status status = cb_recipe_file_read(check->args->operands[i], check->kinds,
                                                    check->args->arena, &files[i], &err);
        if (status == CB_OK) {
            doubts(check, &files[i]);
            continue;
        }
        if (status != CB_DATA || check->json == NULL) {
            cb_recipe_args_fail(check->args, &files[i], &err);
        }
        check->code = check->code == 0 ? (int)status : check->code;
    }
}

static void advise(struct cb_check *check, const struct cb_recipe_file *files)
{
    if (check->json != NULL) {
        cb_json_list(check->json, "advice");
    }
    cb_check_advice(check, files);
    if (check->json != NULL) {
        cb_json_end(check->json);
    }
}

static void answer(struct cb_check *check, const struct cb_recipe_file *files)
{
    int count = check->args->operand_count;
    if (check->json != NULL) {
        cb_json_list(check->json, "errors");
        for (int i = 0; i < count; i++) {
            json_errors(check, &files[i]);
        }
        cb_json_end(check->json);
    }
    if (cb_args_has(check->args, "--advice")) {
        advise(check, files);
    }
    if (check->json != NULL && check->climate != NULL) {
        cb_json_list(check->json, "warnings");
    }
    for (int i = 0; i < count && check->climate != NULL; i++) {
        answer_gates(check, &files[i]);
    }
    if (check->json != NULL && check->climate != NULL) {
        cb_json_end(check->json);
    }
}

static int run(const struct cb_args *args)
{
    if (cb_args_has(args, "--strict") && !cb_args_has(args, "--advice")) {
        return cb_command_failf(CB_USAGE, "--strict goes with --advice");
    }
    struct cb_err err = {0};
    struct cb_check check = {.args = args};
    struct cb_climate climate = cb_climate_standard;
    const struct cb_config *config = NULL;
    const char *given = cb_args_get(args, "--climate");
    if (cb_args_settings(args, &check.kinds, given != NULL ? &config : NULL, &err) != CB_OK ||
        (given != NULL && cb_climate_parse(given, config->fahrenheit, &climate, &err) != CB_OK)) {
        return cb_command_fail(&err);
    }
    check.climate = given != NULL ? &climate : NULL;
    check.json = args->json ? cb_json_new() : NULL;
    struct cb_recipe_file *files =
        cb_arena_alloc(args->arena, (size_t)args->operand_count, sizeof *files);
    check_files(&check, files);
    answer(&check, files);
    if (check.json != NULL) {
        cb_command_print_json(check.json);
    }
    return check.code;
}

static const struct cb_option options[] = {
    {"--climate", "\"19.5 62\"", "list what this air would do to each stage"},
    {"--advice", NULL, "say what is likely to be regretted, and what to do"},
    {"--strict", NULL, "with --advice: exit 65 where any is given"},
    {0},
};

const struct cb_command cb_command_check = {
    .name = "check",
    .operands = "RECIPE...",
    .summary = "Check recipes: silent when all is well, else what is wrong or hardly meant.",
    .options = options,
    .min_operands = 1,
    .max_operands = -1,
    .run = run,
};
