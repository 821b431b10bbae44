/* SPDX-License-Identifier: MIT */
#include "support/bench.h"

#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/str.h"
#include "support/big_log.h"

enum { ROUNDS_MAX = 16 };

double bench_now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static int by_size(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

void bench_report(const char *what, double *times, int count, const char *note)
{
    qsort(times, (size_t)count, sizeof *times, by_size);
    if (times[0] < 0) {
        printf("%-44s failed\n", what);
    } else {
        printf("%-44s median %9.2f ms   worst %9.2f ms   %s\n", what, times[count / 2],
               times[count - 1], note);
    }
    fflush(stdout);
}

/* In a process of its own: what it held would be counted with every program run after it, and makes
 * a fork dear. */
static enum cb_status make_apart(const struct big_log *plan, const char *path, char last[32])
{
    int ends[2];
    enum cb_status status = CB_FAILED;
    if (pipe2(ends, O_CLOEXEC) != 0) {
        return CB_IO;
    }
    fflush(stdout);
    const pid_t pid = fork();
    if (pid == 0) {
        struct cb_err err = {0};
        status = big_log_make(plan, path, last, &err);
        if (status != CB_OK) {
            fprintf(stderr, "%s: %s\n", path, err.text);
        }
        _exit(status == CB_OK && write(ends[1], last, 32) != 32 ? CB_IO : (int)status);
    }
    close(ends[1]);
    int ended = 0;
    if (pid > 0 && waitpid(pid, &ended, 0) == pid && WIFEXITED(ended)) {
        status = (enum cb_status)WEXITSTATUS(ended);
    }
    if (status == CB_OK && read(ends[0], last, 32) != 32) {
        status = CB_IO;
    }
    close(ends[0]);
    return status;
}

enum cb_status bench_log_make(struct bench_log *log, int argc, char **argv, bool lived)
{
    *log = (struct bench_log){.folder = "/tmp/cb-bench-XXXXXX", .events = 1000000};
    if (argc > 1 && (!cb_str_integer(argv[1], &log->events) || log->events < 1000)) {
        fprintf(stderr, "%s [EVENTS]\n", argv[0]);
        return CB_USAGE;
    }
    log->units = log->events < 30000 ? 10 : 300;
    if (!mkdtemp(log->folder)) {
        return CB_IO;
    }
    snprintf(log->path, sizeof log->path, "%s/log.db", log->folder);
    const struct big_log plan = {.events = (size_t)log->events,
                                 .units = (size_t)log->units,
                                 .seed = 1,
                                 .recipes = "recipes",
                                 .lived = lived};
    const double start = bench_now_ms();
    const enum cb_status status = make_apart(&plan, log->path, log->last);
    if (status != CB_OK) {
        rmdir(log->folder);
        return status;
    }
    printf("a log of %lld events, %d units: made in %.1f s\n", log->events, log->units,
           (bench_now_ms() - start) / 1e3);
    return CB_OK;
}

void bench_log_remove(const struct bench_log *log)
{
    static const char *const endings[] = {"", "-wal", "-shm", ".lock", ".html"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char name[96];
        snprintf(name, sizeof name, "%s%s", log->path, endings[i]);
        unlink(name);
    }
    rmdir(log->folder);
}

static double peak_mb; /* of the program run last */

double bench_run(char *const argv[])
{
    extern char **environ;
    pid_t pid;
    int status = 1;
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    const double start = bench_now_ms();
    if (posix_spawnp(&pid, argv[0], &actions, NULL, argv, environ) == 0) {
        struct rusage used;
        wait4(pid, &status, 0, &used);
        peak_mb = (double)used.ru_maxrss / 1024; /* getrusage(2): kilobytes */
    }
    posix_spawn_file_actions_destroy(&actions);
    return status == 0 ? bench_now_ms() - start : -1;
}

void bench_program(const char *what, const char *aim, int rounds, char *const argv[])
{
    double times[ROUNDS_MAX];
    double most_mb = 0;
    char note[80];
    rounds = rounds < ROUNDS_MAX ? rounds : ROUNDS_MAX;
    for (int i = 0; i < rounds; i++) {
        times[i] = bench_run(argv);
        most_mb = peak_mb > most_mb ? peak_mb : most_mb;
    }
    snprintf(note, sizeof note, "%5.1f MB   %s%s", most_mb, aim[0] ? "aim: " : "", aim);
    bench_report(what, times, rounds, note);
}
