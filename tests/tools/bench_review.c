/* SPDX-License-Identifier: MIT */
/* What the review of a heavy painter's log costs: the program itself, beside the sqlite3 shell on
 * the same file. The first review of a log works out what its finished units taught and keeps it;
 * it is measured apart. Says nothing of the bench's first screen, which bench_log measures. */
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/str.h"
#include "support/big_log.h"

enum { ROUNDS = 5 };

static double now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

/* Milliseconds, or below 0 when the program fails or is not there. */
static double run(char *const argv[])
{
    extern char **environ;
    pid_t pid;
    int status = 1;
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    const double start = now_ms();
    if (posix_spawnp(&pid, argv[0], &actions, NULL, argv, environ) == 0) {
        waitpid(pid, &status, 0);
    }
    posix_spawn_file_actions_destroy(&actions);
    return status == 0 ? now_ms() - start : -1;
}

static int by_size(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static void measure(const char *what, int rounds, char *const argv[])
{
    double times[ROUNDS];
    for (int i = 0; i < rounds; i++) {
        times[i] = run(argv);
    }
    qsort(times, (size_t)rounds, sizeof *times, by_size);
    if (times[0] < 0) {
        printf("%-44s failed\n", what);
    } else {
        printf("%-44s median %9.1f ms   worst %9.1f ms\n", what, times[rounds / 2],
               times[rounds - 1]);
    }
    fflush(stdout);
}

int main(int argc, char **argv)
{
    char folder[] = "/tmp/cb-bench-review-XXXXXX";
    char path[64];
    char last[32];
    char sql[96];
    long long events = 1000000;
    struct cb_err err = {0};
    if (argc > 1 && (!cb_str_integer(argv[1], &events) || events < 1000)) {
        fputs("bench_review [EVENTS]\n", stderr);
        return CB_USAGE;
    }
    struct big_log plan = {(size_t)events, (size_t)(events < 30000 ? 10 : 300), 1, "recipes"};
    if (!mkdtemp(folder)) {
        return CB_IO;
    }
    snprintf(path, sizeof path, "%s/log.db", folder);
    if (big_log_make(&plan, path, last, &err) != CB_OK) {
        fprintf(stderr, "bench_review: %s\n", err.text);
        rmdir(folder);
        return (int)err.status;
    }
    char program[] = "build/release/coatbell";
    char review[] = "review";
    char status[] = "status";
    char log_option[] = "--log";
    char all[] = "--all";
    char sqlite[] = "sqlite3";
    printf("a log of %lld events, %zu units\n", events, plan.units);
    measure("review of one unit, the very first", 1,
            (char *[]){program, review, log_option, path, last, NULL});
    measure("review of one unit", ROUNDS,
            (char *[]){program, review, log_option, path, last, NULL});
    measure("review of everything", 1,
            (char *[]){program, review, log_option, path, all, NULL});
    measure("status, which opens as the bench does", ROUNDS,
            (char *[]){program, status, log_option, path, NULL});
    snprintf(sql, sizeof sql, "select * from event where unit='%s'", last);
    measure("sqlite3 shell: that unit", ROUNDS, (char *[]){sqlite, path, sql, NULL});
    measure("sqlite3 shell: open and count the units", ROUNDS,
            (char *[]){sqlite, path, (char[]){"select count(*) from unit_sum"}, NULL});
    static const char *const endings[] = {"", "-wal", "-shm", ".lock"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char name[80];
        snprintf(name, sizeof name, "%s%s", path, endings[i]);
        unlink(name);
    }
    rmdir(folder);
    return 0;
}
