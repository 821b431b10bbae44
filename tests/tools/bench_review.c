/* SPDX-License-Identifier: MIT */
/* What a heavy painter's fourteen years cost whoever opens the bench or asks for a review: the
 * programs themselves, on a log as years of use leave it, beside the sqlite3 shell on the same
 * file. Last the same with nothing kept: a log that has just come from another machine, say. */
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "support/bench.h"

enum { ROUNDS = 9 };

static char program[] = "build/release/coatbell";
static char log_option[] = "--log";

/* Milliseconds from the start of the bench on a terminal of 80 x 24 to its first screen, and to the
 * last write of its first half second, when what it had to read is read; -1: no screen. */
static void open_bench(const struct bench_log *log, double *first_ms, double *settled_ms)
{
    struct winsize size = {.ws_row = 24, .ws_col = 80};
    char path[sizeof log->path];
    char *argv[] = {program, log_option, path, NULL};
    int terminal;
    memcpy(path, log->path, sizeof path);
    *first_ms = *settled_ms = -1;
    const double start = bench_now_ms();
    const pid_t pid = forkpty(&terminal, NULL, NULL, &size);
    if (pid == 0) {
        setenv("TERM", "xterm-256color", 1);
        execv(argv[0], argv);
        _exit(127);
    }
    if (pid < 0) {
        return;
    }
    char text[65536];
    size_t length = 0;
    for (double now = start; now < start + 500; now = bench_now_ms()) {
        struct pollfd fd = {.fd = terminal, .events = POLLIN};
        if (poll(&fd, 1, (int)(start + 500 - now)) < 1) {
            continue;
        }
        const ssize_t got = read(terminal, text + length, sizeof text - 1 - length);
        if (got <= 0) {
            break;
        }
        length += (size_t)got;
        text[length] = '\0';
        *settled_ms = bench_now_ms() - start;
        if (*first_ms < 0 && strstr(text, "SPACE")) {
            *first_ms = *settled_ms;
        }
    }
    close(terminal); /* a hang-up: it closes its session and goes */
    waitpid(pid, NULL, 0);
}

static void measure_first_screen(const struct bench_log *log)
{
    double first[ROUNDS], settled[ROUNDS];
    for (int i = 0; i < ROUNDS; i++) {
        open_bench(log, &first[i], &settled[i]);
    }
    bench_report("the bench: first screen", first, ROUNDS, "");
    bench_report("the bench: history read, last write", settled, ROUNDS, "");
}

int main(int argc, char **argv)
{
    struct bench_log log;
    const enum cb_status status = bench_log_make(&log, argc, argv, true);
    if (status != CB_OK) {
        return (int)status;
    }
    char review[] = "review", state[] = "status", all[] = "--all", json[] = "--json";
    char sqlite[] = "sqlite3", forget[] = "DELETE FROM derived";
    char count[] = "select count(*) from unit_sum", finished[] = "unit-00298";
    char html[] = "--html", page[96], sql[96];
    char *path = log.path, *last = log.units < 300 ? NULL : finished;
    snprintf(page, sizeof page, "%s.html", log.path);
    snprintf(sql, sizeof sql, "select * from event where unit='%s'", log.last);
    measure_first_screen(&log);
    bench_program("status", ROUNDS, (char *[]){program, state, log_option, path, NULL});
    bench_program("review of one finished unit", ROUNDS,
                  (char *[]){program, review, log_option, path, last, NULL});
    bench_program("review of one unit under way", ROUNDS,
                  (char *[]){program, review, log_option, path, log.last, NULL});
    bench_program("review of everything", 3,
                  (char *[]){program, review, log_option, path, all, NULL});
    bench_program("review of everything, JSON", 3,
                  (char *[]){program, review, log_option, path, all, json, NULL});
    bench_program("review of everything, a page", 3,
                  (char *[]){program, review, log_option, path, all, html, page, NULL});
    bench_program("sqlite3 shell: that unit", ROUNDS, (char *[]){sqlite, path, sql, NULL});
    bench_program("sqlite3 shell: open and count the units", ROUNDS,
                  (char *[]){sqlite, path, count, NULL});
    if (bench_run((char *[]){sqlite, path, forget, NULL}) >= 0) {
        bench_program("nothing kept: review of everything", 1,
                      (char *[]){program, review, log_option, path, all, NULL});
    }
    bench_log_remove(&log);
    return 0;
}
