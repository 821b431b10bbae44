/* SPDX-License-Identifier: MIT */
/* What a log of fourteen years costs: made once in a scratch folder, then opened and read as the
 * bench and the review do, beside the sqlite3 shell on the same file. */
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/arena.h"
#include "base/str.h"
#include "shell/clock.h"
#include "shell/store.h"
#include "support/big_log.h"

enum { ROUNDS = 9 };

static double now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static int by_size(const void *left, const void *right)
{
    double a = *(const double *)left;
    double b = *(const double *)right;
    return (a > b) - (a < b);
}

static void report(const char *what, double *times, int count, const char *unit)
{
    qsort(times, (size_t)count, sizeof *times, by_size);
    printf("%-44s median %9.2f ms   worst %9.2f ms   %s\n", what, times[count / 2],
           times[count - 1], unit);
    fflush(stdout);
}

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
    extern char **environ;
    char program[] = "sqlite3";
    char *path = strdup(task->path);
    char *text = strdup(sql);
    char *argv[] = {program, path, text, NULL};
    pid_t pid;
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    task->count = 0;
    int status = 1;
    if (posix_spawnp(&pid, program, &actions, NULL, argv, environ) == 0) {
        waitpid(pid, &status, 0);
        task->count = status == 0;
    }
    posix_spawn_file_actions_destroy(&actions);
    free(path);
    free(text);
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
        double start = now_ms();
        work(task);
        times[i] = now_ms() - start;
    }
    snprintf(unit, sizeof unit, "n = %zu", task->count);
    report(what, times, rounds, unit);
}

int main(int argc, char **argv)
{
    char folder[] = "/tmp/cb-bench-log-XXXXXX";
    char path[64];
    char last[32];
    long long events = 1000000;
    struct cb_err err = {0};
    if (argc > 1 && (!cb_str_integer(argv[1], &events) || events < 1000)) {
        fputs("bench_log [EVENTS]\n", stderr);
        return CB_USAGE;
    }
    struct big_log plan = {(size_t)events, (size_t)(events < 30000 ? 10 : 300), 1, "recipes"};
    if (!mkdtemp(folder)) {
        return CB_IO;
    }
    snprintf(path, sizeof path, "%s/log.db", folder);
    double start = now_ms();
    struct task task = {.path = path, .unit = last};
    if (big_log_make(&plan, path, last, &err) != CB_OK ||
        cb_store_open(path, CB_STORE_APPEND, &task.store, &err) != CB_OK) {
        fprintf(stderr, "bench_log: %s\n", err.text);
        rmdir(folder);
        return (int)err.status;
    }
    printf("a log of %lld events, %zu units: made in %.1f s\n", events, plan.units,
           (now_ms() - start) / 1e3);
    measure("open and close", open_and_close, &task, ROUNDS);
    measure("load the open units (first screen)", load_open_units, &task, ROUNDS);
    measure("load one unit with its bench (review)", load_unit, &task, ROUNDS);
    measure("append a press, synced", append_one, &task, ROUNDS);
    measure("stream every event", stream_all, &task, 3);
    measure("sqlite3 shell: that unit (0: not there)", shell_unit, &task, ROUNDS);
    measure("sqlite3 shell: every event", shell_all, &task, 3);
    cb_store_close(task.store);
    static const char *const endings[] = {"", "-wal", "-shm", ".lock"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char name[80];
        snprintf(name, sizeof name, "%s%s", path, endings[i]);
        unlink(name);
    }
    rmdir(folder);
    return 0;
}
