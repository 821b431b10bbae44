/* SPDX-License-Identifier: MIT */
/* What the measuring programs share: a clock, a big log in a folder of its own, programs run. */
#ifndef CB_TESTS_BENCH_H
#define CB_TESTS_BENCH_H

#include <stdbool.h>

#include "base/err.h"

double bench_now_ms(void);
/* Sorts times; prints what, their median and worst, and a note (may be ""). */
void bench_report(const char *what, double *times, int count, const char *note);

struct bench_log {
    char folder[64], path[80], last[32]; /* last: id of its last unit, which is open */
    long long events;
    int units;
};
/* events: from argv[1], else 1e6; 300 units, or 10 in a small one. lived as in big_log. Says what
 * is wrong on standard error. */
enum cb_status bench_log_make(struct bench_log *log, int argc, char **argv, bool lived);
void bench_log_remove(const struct bench_log *log);

/* Runs a program, its output thrown away: milliseconds, or -1 when it fails or is not there. */
double bench_run(char *const argv[]);
/* The same several times, reported with the most memory it held (resident, MB) and what is aimed at
 * ("": nothing). */
void bench_program(const char *what, const char *aim, int rounds, char *const argv[]);

#endif
