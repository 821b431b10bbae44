/* SPDX-License-Identifier: MIT */
/* `units`: what was ever begun. */
#include <stdio.h>
#include <string.h>

#include "base/time.h"
#include "base/utf8.h"
#include "command/command.h"
#include "core/bench/bench.h"
#include "shell/clock.h"
#include "shell/history.h"
#include "shell/json_write.h"
#include "shell/store.h"

static const char in_front[] = "in front";

struct unit_line {
    const struct cb_store_unit *unit;
    const char *name;
    int figures;
    const char *state;
};

struct units {
    struct cb_arena *arena;
    struct unit_line *lines;
    size_t count;
    struct cb_zone zone;
};

static void print_table(const struct units *units, bool ascii)
{
    struct cb_str text = {0};
    struct cb_str out = {0};
    if (units->count == 0) {
        printf("no unit yet; `coatbell begin RECIPE` begins one\n");
        return;
    }
    cb_str_addf(&text, "%-32s  %7s  %-10s  %-10s  %s\n", "unit", "figures", "begun", "last",
                "state");
    for (size_t i = 0; i < units->count; i++) {
        const struct unit_line *line = &units->lines[i];
        char begun[11], last[11];
        cb_time_date(line->unit->begun_ms, &units->zone, begun);
        cb_time_date(line->unit->last_ms, &units->zone, last);
        const char *name = cb_utf8_clean(units->arena, line->name, 32);
        cb_str_addf(&text, "%s%*s  %7d  %-10s  %-10s  %s\n", name, 32 - cb_utf8_text_width(name),
                    "", line->figures, begun, last, line->state);
    }
    cb_command_lines(&out, cb_str_text(&text), ascii);
    fputs(cb_str_text(&out), stdout);
    cb_str_fini(&text);
    cb_str_fini(&out);
}

static void print_json(const struct units *units)
{
    struct cb_json *json = cb_json_new();
    cb_json_list(json, "units");
    for (size_t i = 0; i < units->count; i++) {
        const struct unit_line *line = &units->lines[i];
        char begun[CB_RFC3339_SIZE], last[CB_RFC3339_SIZE];
        cb_time_format(line->unit->begun_ms, begun);
        cb_time_format(line->unit->last_ms, last);
        cb_json_object(json, NULL);
        cb_json_text(json, "unit", line->unit->id);
        cb_json_text(json, "name", line->name);
        cb_json_integer(json, "figures", line->figures);
        cb_json_text(json, "begun_at", begun);
        cb_json_text(json, "last_at", last);
        cb_json_bool(json, "in_front", strcmp(line->state, in_front) == 0);
        cb_json_bool(json, "finished", line->unit->finished);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_command_print_json(json);
}

/* Of a finished unit its lesson says enough; the others are folded. */
static enum cb_status describe(struct units *units, struct cb_history *history,
                               const struct cb_bench *bench, const struct cb_store_unit *unit,
                               struct cb_err *err)
{
    struct unit_line line = {.unit = unit, .name = unit->name, .state = "finished"};
    if (unit->finished) {
        struct cb_arena arena = {0};
        struct cb_lesson lesson;
        const enum cb_status status = cb_history_lesson(history, unit, &arena, &lesson, err);
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
        line.figures = folded->figures;
        line.name = cb_arena_text(units->arena, folded->name);
        line.state = cb_bench_front(bench) == number ? in_front : "open";
    }
    units->lines[units->count++] = line;
    return CB_OK;
}

static enum cb_status load(struct units *units, const struct cb_kinds *kinds,
                           struct cb_store *store, struct cb_history **history, struct cb_err *err)
{
    static char progress[] = "units";
    const struct cb_store_filter open_units = {.open_units = true};
    struct cb_bench *bench = NULL;
    size_t count;
    enum cb_status status = cb_history_bench(store, &open_units, kinds, &bench, NULL, err);
    if (status == CB_OK) {
        status = cb_history_open(store, kinds, history, err);
    }
    if (status == CB_OK) {
        const struct cb_store_unit *list = cb_history_units(*history, &count);
        cb_history_tell(*history, cb_command_progress, progress);
        units->lines = cb_arena_alloc(units->arena, count + 1, sizeof *units->lines);
        for (size_t i = 0; i < count && status == CB_OK; i++) {
            status = describe(units, *history, bench, &list[i], err);
        }
        cb_command_progress_end();
    }
    cb_bench_free(bench);
    return status;
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    const struct cb_kinds *kinds = NULL;
    struct cb_store *store = NULL;
    struct cb_history *history = NULL;
    struct units units = {.arena = args->arena};
    const char *log = NULL;
    if (cb_args_settings(args, &kinds, NULL, &err) != CB_OK ||
        (log = cb_args_log(args, &err)) == NULL) {
        return cb_command_fail(&err);
    }
    enum cb_status status = cb_history_store(log, &store, &err);
    if (status == CB_OK) {
        status = load(&units, kinds, store, &history, &err);
    }
    int code = 0;
    if (status != CB_OK) {
        code = cb_command_fail(&err);
    } else {
        cb_clock_zone(cb_clock_now().wall_ms, &units.zone);
        if (args->json) {
            print_json(&units);
        } else {
            print_table(&units, args->ascii);
        }
    }
    cb_history_close(history);
    return cb_command_close(store, code);
}

const struct cb_command cb_command_units = {
    .name = "units",
    .operands = "",
    .summary = "List the units of the log.",
    .min_operands = 0,
    .max_operands = 0,
    .run = run,
};
