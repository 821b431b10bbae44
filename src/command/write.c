/* SPDX-License-Identifier: MIT */
/* `write`: a unit as a recipe of what was really painted. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "command/log_read.h"
#include "core/bench/rows.h"
#include "core/review/painted.h"
#include "shell/json_write.h"
#include "shell/yaml.h"

struct job {
    const struct cb_args *args;
    struct cb_log_read log;
    const struct cb_store_unit *unit;
    struct cb_bench *bench; /* of that unit */
    struct cb_painted *painted;
    const char *text;
};

static const char *head_of(const struct job *job, const struct cb_review *review)
{
    char from[11], to[11];
    size_t coats = 0;
    for (size_t i = 0; i < review->stage_count; i++) {
        coats += (size_t)review->stages[i].coats;
    }
    cb_time_date(job->unit->begun_ms, &job->log.zone, from);
    cb_time_date(job->unit->last_ms, &job->log.zone, to);
    return cb_arena_printf(
        job->args->arena,
        "As painted, %s%s%s: %d figure%s, %zu coat%s. `minutes` were measured: the median\n"
        "of each stage. Lines of `dry` are what was learned: uncommented, they are fixed.",
        from, strcmp(from, to) == 0 ? "" : " to ", strcmp(from, to) == 0 ? "" : to, review->figures,
        review->figures == 1 ? "" : "s", coats, coats == 1 ? "" : "s");
}

/* What cannot be read again is not written. */
static enum cb_status check(const struct job *job, struct cb_err *err)
{
    struct cb_issues issues = {0};
    const struct cb_tree *tree =
        cb_yaml_read(job->text, strlen(job->text), job->args->arena, &issues);
    if (tree != NULL &&
        cb_recipe_from_tree(tree, job->text, job->log.kinds, job->args->arena, &issues) != NULL) {
        return CB_OK;
    }
    return cb_err_set(err, CB_FAILED, "no recipe can be made of it: %s", issues.items[0].message);
}

static enum cb_status make(struct job *job, struct cb_err *err)
{
    struct cb_arena *arena = job->args->arena;
    const struct cb_store_filter filter = {.unit = job->unit->id};
    const enum cb_status status =
        cb_history_bench(job->log.store, &filter, job->log.kinds, &job->bench, NULL, err);
    if (status != CB_OK) {
        return status;
    }
    const int number = cb_bench_find_unit(job->bench, job->unit->id);
    if (number < 0) {
        return cb_err_set(err, CB_FAILED, "unit %s can't be folded", job->unit->id);
    }
    const size_t unit = (size_t)number;
    if (cb_bench_unit(job->bench, unit)->recipe->stage_count == 0) {
        return cb_err_set(err, CB_FAILED, "the unit's own recipe does not read: %s",
                          cb_bench_unit(job->bench, unit)->name);
    }
    const struct cb_review *review = cb_review_unit(job->bench, unit, CB_TIME_NONE, arena);
    size_t own_count, count;
    const struct cb_row *own = cb_bench_rows(job->log.bench, &own_count);
    const struct cb_row *rows = cb_rows_merge(job->log.taught.rows, job->log.taught.row_count, own,
                                              own_count, arena, &count);
    job->painted = cb_arena_alloc(arena, 1, sizeof *job->painted);
    cb_painted_of(job->bench, unit, review, job->log.taught.learn, rows, count, arena,
                  job->painted);
    job->painted->remarks.head = head_of(job, review);
    job->text =
        cb_recipe_write(&job->painted->draft.recipe, job->log.kinds, &job->painted->remarks, arena);
    return check(job, err);
}

static void print_json(const struct job *job)
{
    const struct cb_recipe *recipe = &job->painted->draft.recipe;
    struct cb_json *json = cb_json_new();
    cb_json_text(json, "unit", job->unit->id);
    cb_json_text(json, "name", recipe->name);
    cb_json_text(json, "recipe", job->text);
    cb_json_list(json, "stages");
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const struct cb_painted_stage *row = &job->painted->stages[i];
        cb_json_object(json, NULL);
        cb_json_text(json, "stage", recipe->stages[i].name);
        cb_json_integer(json, "marks", (long long)row->marks);
        cb_json_number(json, "minutes", row->marks > 0 ? row->minutes : (double)NAN);
        cb_json_integer(json, "films", (long long)row->films);
        cb_json_number(json, "dry_min", row->dry_min);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_command_print_json(json);
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct job job = {.args = args};
    struct cb_log_read *log = &job.log;
    enum cb_status status = cb_log_read_open(log, args, &err);
    if (status == CB_OK) {
        status = cb_log_read_unit(log, args->operand_count > 0 ? args->operands[0] : NULL,
                                  &job.unit, &err);
    }
    if (status == CB_OK) {
        status = cb_history_teach(log->history, log->bench, &log->taught, &err);
    }
    if (status == CB_OK) {
        status = make(&job, &err);
    }
    cb_command_progress_end();
    if (status == CB_OK && args->json) {
        print_json(&job);
    } else if (status == CB_OK) { /* as it is, in ASCII too: a recipe is read again */
        fputs(job.text, stdout);
    }
    cb_bench_free(job.bench);
    return cb_log_read_close(log, status, &err);
}

const struct cb_command cb_command_write = {
    .name = "write",
    .operands = "[UNIT]",
    .summary = "Write a unit as a recipe of what was really painted.",
    .max_operands = 1,
    .run = run,
};
