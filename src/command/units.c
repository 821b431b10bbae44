/* SPDX-License-Identifier: MIT */
/* `units`: what was ever begun. */
#include <stdio.h>
#include <string.h>

#include "base/index.h"
#include "base/time.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "command/command.h"
#include "core/bench.h"
#include "shell/clock.h"
#include "shell/jsonl.h"
#include "shell/paths.h"
#include "shell/store.h"
#include "shell/yaml.h"

struct unit_times {
    int64_t first_ms, last_ms;
};

/* A long log has hundreds of units and a million coats: only what says whether a unit is begun,
 * in front or finished is folded; of the rest, the last moment of each unit is kept. */
struct units {
    struct cb_arena *arena;
    CB_VEC(const struct cb_event *) events;
    struct cb_index *by_unit;
    CB_VEC(struct unit_times) times;
    struct cb_bench *bench;
    struct cb_zone zone;
};

static bool is_folded(enum cb_event_kind kind)
{
    return kind == CB_EVENT_UNIT_BEGUN || kind == CB_EVENT_UNIT_OPENED ||
           kind == CB_EVENT_UNIT_FINISHED || kind == CB_EVENT_FIGURE_JOINED ||
           kind == CB_EVENT_SESSION_OPENED || kind == CB_EVENT_SESSION_CLOSED ||
           kind == CB_EVENT_UNDONE;
}

static bool take(void *context, const struct cb_event *event)
{
    struct units *units = context;
    if (is_folded(event->kind)) {
        cb_vec_push(&units->events, cb_event_copy(units->arena, event));
    }
    if (event->unit == NULL) {
        return true;
    }
    size_t at;
    if (!cb_index_get(units->by_unit, event->unit, &at)) {
        at = units->times.count;
        struct unit_times fresh = {event->at_ms, event->at_ms};
        cb_vec_push(&units->times, fresh);
        cb_index_set(units->by_unit, event->unit, at);
    }
    struct unit_times *times = &units->times.items[at];
    times->first_ms = event->at_ms < times->first_ms ? event->at_ms : times->first_ms;
    times->last_ms = event->at_ms > times->last_ms ? event->at_ms : times->last_ms;
    return true;
}

static const char *state_of(const struct units *units, size_t index)
{
    if (cb_bench_unit(units->bench, index)->finished) {
        return "finished";
    }
    return cb_bench_front(units->bench) == (int)index ? "in front" : "open";
}

static struct unit_times times_of(const struct units *units, const struct cb_unit *unit)
{
    size_t at = 0;
    if (cb_index_get(units->by_unit, unit->id, &at)) {
        return units->times.items[at];
    }
    return (struct unit_times){CB_TIME_NONE, CB_TIME_NONE};
}

static void print_table(const struct units *units, bool ascii)
{
    struct cb_str text = {0};
    struct cb_str out = {0};
    size_t count = cb_bench_unit_count(units->bench);
    if (count == 0) {
        printf("no unit yet; `coatbell begin RECIPE` begins one\n");
        return;
    }
    cb_str_addf(&text, "%-32s  %7s  %-10s  %-10s  %s\n", "unit", "figures", "begun", "last", "state");
    for (size_t i = 0; i < count; i++) {
        const struct cb_unit *unit = cb_bench_unit(units->bench, i);
        struct unit_times times = times_of(units, unit);
        char begun[11], last[11];
        cb_time_date(times.first_ms, &units->zone, begun);
        cb_time_date(times.last_ms, &units->zone, last);
        const char *name = cb_utf8_clean(units->arena, unit->name, 32);
        cb_str_addf(&text, "%s%*s  %7d  %-10s  %-10s  %s\n", name, 32 - cb_utf8_text_width(name),
                    "", unit->figures, begun, last, state_of(units, i));
    }
    cb_command_lines(&out, cb_str_text(&text), ascii);
    fputs(cb_str_text(&out), stdout);
    cb_str_fini(&text);
    cb_str_fini(&out);
}

static void print_json(const struct units *units)
{
    struct cb_json *json = cb_json_new();
    struct cb_str out = {0};
    cb_json_list(json, "units");
    for (size_t i = 0; i < cb_bench_unit_count(units->bench); i++) {
        const struct cb_unit *unit = cb_bench_unit(units->bench, i);
        struct unit_times times = times_of(units, unit);
        char begun[CB_RFC3339_SIZE], last[CB_RFC3339_SIZE];
        cb_time_format(times.first_ms, begun);
        cb_time_format(times.last_ms, last);
        cb_json_object(json, NULL);
        cb_json_text(json, "unit", unit->id);
        cb_json_text(json, "name", unit->name);
        cb_json_integer(json, "figures", unit->figures);
        cb_json_text(json, "begun_at", begun);
        cb_json_text(json, "last_at", last);
        cb_json_bool(json, "in_front", cb_bench_front(units->bench) == (int)i);
        cb_json_bool(json, "finished", unit->finished);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_json_take(json, &out);
    fputs(cb_str_text(&out), stdout);
    cb_str_fini(&out);
    cb_json_free(json);
}

static enum cb_status load(struct units *units, const char *log, struct cb_err *err)
{
    struct cb_store *store = NULL;
    const struct cb_store_filter everything = {0};
    enum cb_status status = cb_store_open(log, CB_STORE_READ, &store, err);
    if (status == CB_OK) {
        cb_bench_own(units->bench, cb_store_machine(store));
        status = cb_store_each(store, &everything, take, units, err);
    }
    cb_store_close(store);
    return status;
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    const struct cb_kinds *kinds = NULL;
    struct units units = {.arena = args->arena};
    const char *log = cb_args_log(args, &err);
    if (cb_paths_kinds(args->arena, &kinds, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    if (log == NULL) {
        return cb_command_fail(&err);
    }
    units.by_unit = cb_index_new();
    units.bench = cb_bench_new(kinds, cb_yaml_read);
    enum cb_status status = load(&units, log, &err);
    if (status == CB_OK) {
        cb_clock_zone(cb_clock_now().wall_ms, &units.zone);
        cb_bench_add(units.bench, units.events.items, units.events.count);
        if (args->json) {
            print_json(&units);
        } else {
            print_table(&units, args->ascii);
        }
    }
    cb_bench_free(units.bench);
    cb_index_free(units.by_unit);
    cb_vec_free(&units.events);
    cb_vec_free(&units.times);
    return status == CB_OK ? 0 : cb_command_fail(&err);
}

const struct cb_command cb_command_units = {
    .name = "units",
    .operands = "",
    .summary = "List the units of the log.",
    .min_operands = 0,
    .max_operands = 0,
    .run = run,
};
