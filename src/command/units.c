/* SPDX-License-Identifier: MIT */
/* `units`: what was ever begun. */
#include <stdio.h>
#include <string.h>

#include "base/time.h"
#include "base/utf8.h"
#include "command/log_read.h"
#include "core/bench/bench.h"
#include "shell/json_write.h"

static const char in_front[] = "in front", put_aside[] = "put aside";

struct unit_line {
    const struct cb_store_unit *unit;
    const char *name;
    int figures;
    const char *state;
};

struct units {
    struct cb_arena *arena;
    struct cb_log_read log;
    struct unit_line *lines;
    size_t count;
};

static void print_table(const struct units *units)
{
    struct cb_str text = {0};
    if (units->count == 0) {
        printf("no unit yet; `coatbell begin RECIPE` begins one\n");
        return;
    }
    cb_str_addf(&text, "%-32s  %7s  %-10s  %-10s  %s\n", "unit", "figures", "begun", "last",
                "state");
    for (size_t i = 0; i < units->count; i++) {
        const struct unit_line *line = &units->lines[i];
        char begun[11], last[11];
        cb_time_date(line->unit->begun_ms, &units->log.zone, begun);
        cb_time_date(line->unit->last_ms, &units->log.zone, last);
        const char *name = cb_utf8_clean(units->arena, line->name, 32);
        cb_str_addf(&text, "%s%*s  %7d  %-10s  %-10s  %s\n", name, 32 - cb_utf8_text_width(name),
                    "", line->figures, begun, last, line->state);
    }
    cb_args_print(units->log.args, cb_str_text(&text));
    cb_str_fini(&text);
}

static void print_json(const struct units *units)
{
    struct cb_json *json = cb_json_new();
    cb_json_list(json, "units");
    for (size_t i = 0; i < units->count; i++) {
        const struct unit_line *line = &units->lines[i];
        cb_json_object(json, NULL);
        cb_json_text(json, "unit", line->unit->id);
        cb_json_text(json, "name", line->name);
        cb_json_integer(json, "figures", line->figures);
        cb_json_time(json, "begun_at", line->unit->begun_ms);
        cb_json_time(json, "last_at", line->unit->last_ms);
        cb_json_bool(json, "in_front", strcmp(line->state, in_front) == 0);
        cb_json_bool(json, "finished", line->unit->finished);
        cb_json_bool(json, "left", line->state == put_aside);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_command_print_json(json);
}

/* Of a finished unit its lesson says enough; the others are folded. */
static enum cb_status describe(struct units *units, const struct cb_store_unit *unit,
                               struct cb_err *err)
{
    const struct cb_bench *bench = units->log.bench;
    struct unit_line line = {.unit = unit, .name = unit->name, .state = "finished"};
    if (unit->finished) {
        struct cb_arena arena = {0};
        struct cb_lesson lesson;
        const enum cb_status status =
            cb_history_lesson(units->log.history, unit, &arena, &lesson, err);
        line.figures = status == CB_OK ? lesson.sum.figures : 0;
        line.name = status == CB_OK ? cb_arena_text(units->arena, lesson.sum.name) : "";
        cb_arena_fini(&arena);
        if (status == CB_FAILED) {
            return CB_OK; /* what began it is damaged */
        }
        if (status != CB_OK) {
            return status;
        }
    } else {
        const int number = cb_bench_find_unit(bench, unit->id);
        if (number < 0) {
            return CB_OK; /* what began it is damaged, or means nothing to this version */
        }
        const struct cb_unit *folded = cb_bench_unit(bench, (size_t)number);
        if (folded->left && !cb_args_has(units->log.args, "--all")) {
            return CB_OK;
        }
        line.figures = folded->figures;
        line.name = cb_arena_text(units->arena, folded->name);
        line.state = folded->left ? put_aside : cb_bench_front(bench) == number ? in_front : "open";
    }
    units->lines[units->count++] = line;
    return CB_OK;
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct units units = {.arena = args->arena};
    size_t count = 0;
    enum cb_status status = cb_log_read_open(&units.log, args, &err);
    const struct cb_store_unit *list =
        status == CB_OK ? cb_history_units(units.log.history, &count) : NULL;
    units.lines = cb_arena_alloc(args->arena, count + 1, sizeof *units.lines);
    for (size_t i = 0; i < count && status == CB_OK; i++) {
        status = describe(&units, &list[i], &err);
    }
    cb_command_progress_end();
    if (status == CB_OK && args->json) {
        print_json(&units);
    } else if (status == CB_OK) {
        print_table(&units);
    }
    return cb_log_read_close(&units.log, status, &err);
}

static const struct cb_option options[] = {
    {"--all", NULL, "those that were put aside as well"},
    {0},
};

const struct cb_command cb_command_units = {
    .name = "units",
    .operands = "",
    .summary = "List the units of the log.",
    .options = options,
    .run = run,
};
