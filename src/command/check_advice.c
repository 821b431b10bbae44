/* SPDX-License-Identifier: MIT */
#include <stdlib.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "command/check_internal.h"
#include "command/log_read.h"
#include "core/bench/rows.h"
#include "core/review/advice.h"

/* What the log knows of paints, and the log that it lies in. */
struct known {
    struct cb_log_read log;
    bool has_log;
    struct cb_advice_known advice;
};

/* Those of finished units, and of the units under way. */
static void know_pots(struct known *known, struct cb_arena *arena)
{
    const struct cb_bench *bench = known->log.bench;
    const struct cb_taught *taught = &known->log.taught;
    size_t own_count, row_count, cover_count;
    const struct cb_pot_stage *own = cb_pots_stages(bench, NULL, arena, &own_count);
    struct cb_pot_stage *stages =
        cb_arena_alloc(arena, taught->stage_count + own_count + 1, sizeof *stages);
    for (size_t i = 0; i < taught->stage_count + own_count; i++) {
        stages[i] = i < taught->stage_count ? taught->stages[i] : own[i - taught->stage_count];
        stages[i].pot = cb_bench_joined(bench, stages[i].pot, arena);
    }
    const struct cb_row *own_rows = cb_bench_rows(bench, &row_count);
    const struct cb_row *rows =
        cb_rows_merge(taught->rows, taught->row_count, own_rows, row_count, arena, &row_count);
    known->advice.lines =
        cb_pots_lines(stages, taught->stage_count + own_count, taught->learn, rows, row_count,
                      cb_bench_facts(bench).confidence, arena, &known->advice.line_count);
    const struct cb_cover *covers = cb_coverage_of(bench, NULL, arena, &cover_count);
    struct cb_cover *all =
        cb_arena_alloc(arena, taught->cover_count + cover_count + 1, sizeof *all);
    known->advice.cover_count = taught->cover_count + cover_count;
    for (size_t i = 0; i < known->advice.cover_count; i++) {
        all[i] = i < taught->cover_count ? taught->covers[i] : covers[i - taught->cover_count];
        all[i].pot = cb_bench_joined(bench, all[i].pot, arena);
    }
    known->advice.covers = all;
    known->advice.bench = bench;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double middle(double *values, size_t count)
{
    qsort(values, count, sizeof *values, by_value);
    return (values[(count - 1) / 2] + values[count / 2]) / 2;
}

/* The middle of what was typed or measured at a place; false: nothing was. */
static bool usual_at(const struct cb_bench *bench, int place, struct cb_arena *arena,
                     struct cb_climate *climate)
{
    size_t count, used = 0;
    const struct cb_reading *readings = cb_bench_readings(bench, place, &count);
    double *temp_c = cb_arena_alloc(arena, count + 1, sizeof *temp_c);
    double *rh_pct = cb_arena_alloc(arena, count + 1, sizeof *rh_pct);
    for (size_t i = 0; i < count; i++) {
        if (readings[i].from == CB_FROM_TYPED || readings[i].from == CB_FROM_SENSOR) {
            temp_c[used] = readings[i].climate.temp_c;
            rh_pct[used++] = readings[i].climate.rh_pct;
        }
    }
    if (used > 0) {
        *climate = cb_climate_standard;
        climate->temp_c = middle(temp_c, used);
        climate->rh_pct = middle(rh_pct, used);
    }
    return used > 0;
}

/* Of the stage's place, else of the bench; NULL: the log has none. */
static const struct cb_climate *usual_of(const struct cb_bench *bench, const struct cb_stage *stage,
                                         struct cb_arena *arena)
{
    struct cb_climate *climate = cb_arena_alloc(arena, 1, sizeof *climate);
    for (size_t i = 1; stage->place != NULL && i < cb_bench_place_count(bench); i++) {
        if (strcmp(cb_bench_place_name(bench, (int)i), stage->place) == 0 &&
            usual_at(bench, (int)i, arena, climate)) {
            return climate;
        }
    }
    return usual_at(bench, 0, arena, climate) ? climate : NULL;
}

static void know_airs(const struct cb_check *check, const struct cb_recipe *recipe,
                      struct known *known)
{
    struct cb_arena *arena = check->args->arena;
    const struct cb_climate **airs = cb_arena_alloc(arena, recipe->stage_count, sizeof *airs);
    known->advice.usual = false;
    for (size_t i = 0; i < recipe->stage_count; i++) {
        airs[i] = known->has_log ? usual_of(known->log.bench, &recipe->stages[i], arena) : NULL;
        known->advice.usual = known->advice.usual || airs[i] != NULL;
    }
    for (size_t i = 0; i < recipe->stage_count && !known->advice.usual; i++) {
        airs[i] = check->climate;
    }
    known->advice.airs = airs;
}

static void give_json(const struct cb_check *check, const struct cb_recipe_file *file,
                      const struct cb_advice *advice)
{
    cb_json_object(check->json, NULL);
    cb_json_text(check->json, "file", file->path);
    cb_json_integer(check->json, "line", advice->line);
    cb_json_integer(check->json, "col", advice->column);
    cb_json_text(check->json, "advice", advice->id);
    cb_json_text(check->json, "stage", file->recipe->stages[advice->stage].name);
    cb_json_text(check->json, "message", advice->text);
    cb_json_text(check->json, "action", advice->act);
    cb_json_end(check->json);
}

static void give(struct cb_check *check, const struct cb_recipe_file *file, struct known *known,
                 struct cb_str *lines)
{
    struct cb_arena *arena = check->args->arena;
    size_t count;
    know_airs(check, file->recipe, known);
    const struct cb_advice *list = cb_advice_of(file->recipe, &known->advice, arena, &count);
    for (size_t i = 0; i < count; i++) {
        const struct cb_advice *advice = &list[i];
        if (check->json != NULL) {
            give_json(check, file, advice);
        } else {
            cb_str_addf(lines, "%s:%d:%d: advice: %s: %s; %s\n",
                        cb_utf8_clean(arena, file->path, 0), advice->line, advice->column,
                        file->recipe->stages[advice->stage].name, advice->text, advice->act);
        }
    }
    if (count > 0 && check->code == 0 && cb_args_has(check->args, "--strict")) {
        check->code = CB_DATA;
    }
}

void cb_check_advice(struct cb_check *check, const struct cb_recipe_file *files)
{
    struct cb_err err = {0};
    struct known known = {.has_log = cb_log_read_is_there(check->args),
                          .advice = {.kinds = check->kinds}};
    struct cb_log_read *log = &known.log;
    enum cb_status status = known.has_log ? cb_log_read_open(log, check->args, &err) : CB_OK;
    if (known.has_log && status == CB_OK) {
        status = cb_history_teach(log->history, log->bench, &log->taught, &err);
    }
    if (known.has_log && status == CB_OK) {
        know_pots(&known, check->args->arena);
    }
    struct cb_str text = {0}, out = {0};
    for (int i = 0; status == CB_OK && i < check->args->operand_count; i++) {
        if (files[i].recipe != NULL) {
            give(check, &files[i], &known, &text);
        }
    }
    cb_command_lines(&out, cb_str_text(&text), check->args->ascii);
    cb_command_print(stdout, &out);
    cb_str_fini(&text);
    cb_str_fini(&out);
    const int code = known.has_log ? cb_log_read_close(log, status, &err) : 0;
    check->code = check->code == 0 ? code : check->code;
}
