/* SPDX-License-Identifier: MIT */
/* What a log of fourteen years costs: made once in a scratch folder, then opened and read as the
 * bench and the review do, beside the sqlite3 shell on the same file. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "shell/clock.h"
#include "shell/store.h"
#include "support/bench.h"

enum { ROUNDS = 9 };

struct task {
    const char *path, *unit;
    struct cb_store *store;
    size_t count;
};

static bool count_one(void *context, const struct cb_event *event)
{
    struct task *task = context;
    task->count += event->at_ms > 0;
    return true;
}

static void open_and_close(struct task *task)
{
    struct cb_store *store;
    task->count = cb_store_open(task->path, CB_STORE_APPEND, &store, NULL) == CB_OK;
    cb_store_close(store);
}

static void load(struct task *task, const struct cb_store_filter *filter)
{
    struct cb_arena arena = {0};
    const struct cb_event **events;
    cb_store_load(task->store, filter, &arena, &events, &task->count, NULL, NULL);
    cb_arena_fini(&arena);
}

static void load_open_units(struct task *task)
{
    load(task, &(struct cb_store_filter){.open_units = true});
}

static void load_unit(struct task *task)
{
    load(task, &(struct cb_store_filter){.unit = task->unit});
}

static void stream_all(struct task *task)
{
    task->count = 0;
    cb_store_each(task->store, NULL, count_one, task, NULL);
}

static void append_one(struct task *task)
{
    struct cb_arena arena = {0};
    struct cb_event_make make;
    struct cb_moment now = cb_clock_now();
    const struct cb_event **stored;
    cb_event_begin(&make, &arena, CB_EVENT_NOTE, NULL, &now);
    cb_event_add_text(&make, CB_FIELD_TEXT, "bench");
    const struct cb_event *event = cb_event_take(&make);
    task->count = cb_store_append(task->store, &event, 1, &arena, &stored, NULL) == CB_OK;
    cb_arena_fini(&arena);
}

static void shell(struct task *task, const char *sql)
{
    char program[] = "sqlite3";
    char path[96], text[160];
    snprintf(path, sizeof path, "%s", task->path);
    snprintf(text, sizeof text, "%s", sql);
    task->count = bench_run((char *[]){program, path, text, NULL}) >= 0;
}

static void shell_unit(struct task *task)
{
    char sql[128];
    snprintf(sql, sizeof sql, "select * from event where unit='%s'", task->unit);
    shell(task, sql);
}

static void shell_all(struct task *task)
{
    shell(task, "select * from event");
}

static void measure(const char *what, void (*work)(struct task *task), struct task *task,
                    int rounds)
{
    double times[ROUNDS];
    char unit[40];
    for (int i = 0; i < rounds; i++) {
        const double start = bench_now_ms();
        work(task);
        times[i] = bench_now_ms() - start;
    }
    snprintf(unit, sizeof unit, "n = %zu", task->count);
    bench_report(what, times, rounds, unit);
}

int main(int argc, char **argv)
{
    struct bench_log log;
    struct cb_err err = {0};
    const enum cb_status status = bench_log_make(&log, argc, argv, false);
    if (status != CB_OK) {
        return (int)status;
    }
    struct task task = {.path = log.path, .unit = log.last};
    if (cb_store_open(log.path, CB_STORE_APPEND, &task.store, &err) != CB_OK) {
        fprintf(stderr, "bench_log: %s\n", err.text);
        bench_log_remove(&log);
        return (int)err.status;
    }
    measure("open and close", open_and_close, &task, ROUNDS);
    measure("load the open units (first screen)", load_open_units, &task, ROUNDS);
    measure("load one unit with its bench (review)", load_unit, &task, ROUNDS);
    measure("append a press, synced", append_one, &task, ROUNDS);
    measure("stream every event", stream_all, &task, 3);
    measure("sqlite3 shell: that unit (0: not there)", shell_unit, &task, ROUNDS);
    measure("sqlite3 shell: every event", shell_all, &task, 3);
    cb_store_close(task.store);
    bench_log_remove(&log);
    return 0;
}
