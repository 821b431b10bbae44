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

/* From the start of the bench on a terminal of 80 x 24: milliseconds to its first screen, and to
 * the last write of its first seconds, when the learned times have come; -1: no screen. */
struct opening {
    double first_ms, settled_ms, memory_mb;
};

static double resident_mb(pid_t pid)
{
    char name[64], line[128];
    long kb = 0;
    snprintf(name, sizeof name, "/proc/%d/status", (int)pid);
    FILE *file = fopen(name, "r");
    while (file && fgets(line, sizeof line, file)) {
        if (strncmp(line, "VmHWM:", 6) == 0) {
            kb = strtol(line + 6, NULL, 10);
        }
    }
    if (file) {
        fclose(file);
    }
    return (double)kb / 1024;
}

static struct opening open_bench(const struct bench_log *log)
{
    struct winsize size = {.ws_row = 24, .ws_col = 80};
    char path[sizeof log->path];
    char *argv[] = {program, log_option, path, NULL};
    struct opening opening = {-1, -1, 0};
    int terminal;
    memcpy(path, log->path, sizeof path);
    const double start = bench_now_ms();
    const double end = start + 3000;
    const pid_t pid = forkpty(&terminal, NULL, NULL, &size);
    if (pid == 0) {
        setenv("TERM", "xterm-256color", 1);
        execv(argv[0], argv);
        _exit(127);
    }
    if (pid < 0) {
        return opening;
    }
    char text[65536];
    size_t length = 0;
    for (double now = start; now < end; now = bench_now_ms()) {
        struct pollfd fd = {.fd = terminal, .events = POLLIN};
        if (poll(&fd, 1, (int)(end - now)) < 1) {
            continue;
        }
        const ssize_t got = read(terminal, text + length, sizeof text - 1 - length);
        if (got <= 0) {
            break;
        }
        length += (size_t)got;
        text[length] = '\0';
        opening.settled_ms = bench_now_ms() - start;
        if (opening.first_ms < 0 && strstr(text, "SPACE")) {
            opening.first_ms = opening.settled_ms;
        }
    }
    opening.memory_mb = resident_mb(pid);
    close(terminal); /* a hang-up: it closes its session and goes */
    waitpid(pid, NULL, 0);
    return opening;
}

static void measure_first_screen(const struct bench_log *log, const char *what)
{
    double first[ROUNDS], settled[ROUNDS];
    double memory_mb = 0;
    char name[64], note[80];
    for (int i = 0; i < ROUNDS; i++) {
        const struct opening opening = open_bench(log);
        first[i] = opening.first_ms;
        settled[i] = opening.settled_ms;
        memory_mb = opening.memory_mb > memory_mb ? opening.memory_mb : memory_mb;
    }
    snprintf(name, sizeof name, "%s: first screen", what);
    bench_report(name, first, ROUNDS, "           aim: 100 ms, flat in the log's length");
    snprintf(name, sizeof name, "%s: learned times there", what);
    snprintf(note, sizeof note, "%5.1f MB   aim: 1 s, 25 MB", memory_mb);
    bench_report(name, settled, ROUNDS, note);
}

/* What is kept, of the log without it. */
static void measure_kept(const struct bench_log *log)
{
    char sql[] =
        "select 'kept: ' || printf('%.1f', sum(length(bytes)) / 1e6) || ' MB, 1/' ||"
        " (((select page_count * page_size from pragma_page_count, pragma_page_size) -"
        " sum(length(bytes))) / sum(length(bytes))) || ' of the log, aim: 1/20' from derived";
    char command[512];
    snprintf(command, sizeof command, "sqlite3 '%s' \"%s\"", log->path, sql);
    fflush(stdout);
    if (system(command) != 0) { /* the shell is not there: no figure */
        printf("kept: no sqlite3 shell to tell\n");
    }
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
    char pots[] = "pots", units[] = "units", every[] = "select * from event";
    measure_first_screen(&log, "the bench");
    measure_kept(&log);
    bench_program("sqlite3 shell: that unit", "", ROUNDS, (char *[]){sqlite, path, sql, NULL});
    bench_program("status", "150 ms", ROUNDS, (char *[]){program, state, log_option, path, NULL});
    bench_program("review of one finished unit", "150 ms", ROUNDS,
                  (char *[]){program, review, log_option, path, last, NULL});
    bench_program("review of one unit under way", "150 ms", ROUNDS,
                  (char *[]){program, review, log_option, path, log.last, NULL});
    bench_program("sqlite3 shell: every event", "", 3, (char *[]){sqlite, path, every, NULL});
    bench_program("review of everything", "1.5 s, 200 MB", 3,
                  (char *[]){program, review, log_option, path, all, NULL});
    bench_program("review of everything, JSON", "1.5 s, 200 MB", 3,
                  (char *[]){program, review, log_option, path, all, json, NULL});
    bench_program("review of everything, a page", "", 3,
                  (char *[]){program, review, log_option, path, all, html, page, NULL});
    bench_program("pots", "1.5 s, 200 MB", 3, (char *[]){program, pots, log_option, path, NULL});
    bench_program("units", "1.5 s, 200 MB", 3, (char *[]){program, units, log_option, path, NULL});
    bench_program("sqlite3 shell: open and count the units", "", ROUNDS,
                  (char *[]){sqlite, path, count, NULL});
    if (bench_run((char *[]){sqlite, path, forget, NULL}) >= 0) {
        bench_program("nothing kept: review of everything", "8 s, 200 MB", 1,
                      (char *[]){program, review, log_option, path, all, NULL});
    }
    bench_log_remove(&log);
    return 0;
}
