/* SPDX-License-Identifier: MIT */
/*
 * The real program with a disk that fails where a test says so (fault/shim.h): a folder with a home
 * and a log, runs of the program in it, and what its log holds afterwards. Cases are run by two
 * processes at a time.
 */
#ifndef CB_TESTS_FAULT_H
#define CB_TESTS_FAULT_H

#include <stdbool.h>
#include <stddef.h>

#include "fault/shim.h"
#include "support/seat.h"

enum { FAULT_EVENTS_MAX = 512, FAULT_TEXT_MAX = 16384 };

struct fault {
    char folder[128], home[160], logs[160], log[192], shim[600];
    struct shim_shared *shared;
};

/* What an event says without what differs from one evening to the next (times, ids, machine). */
struct fault_events {
    size_t count;
    struct fault_event {
        char id[72], press[72], says[200];
    } items[FAULT_EVENTS_MAX];
};

bool fault_open(struct fault *fault);  /* a new folder under TMPDIR */
void fault_close(struct fault *fault); /* takes it away */
void fault_clear(struct fault *fault); /* no log, nothing rescued */

/* From here on what is started runs with the shim; disarm: without. at, how, bytes: shim.h. */
void fault_arm(struct fault *fault, int at, const char *how, int bytes);
void fault_disarm(void);

/* Runs `coatbell ARGUMENTS... --log LOG`; what it said on both streams. Its exit code, or 128 and
 * the signal. */
int fault_run(const struct fault *fault, char said[FAULT_TEXT_MAX], const char *const *arguments);
/* By `coatbell log export`: its exit code. */
int fault_export(const struct fault *fault, struct fault_events *events, char said[FAULT_TEXT_MAX]);
/* The file of what could not be saved; "": none. */
void fault_rescued(const struct fault *fault, char path[512]);
/* All but -shm of the log's folder, and back. */
bool fault_copy_logs(const struct fault *fault, const char *from, const char *to);

/* One event whole and once, in the order of what was done; from how many on it is told in a line.
 */
bool fault_is_prefix(const struct fault_events *events, const struct fault_events *all,
                     char why[512]);

/* Case i of count, in a process of its own with a fault of its own; false: why says what is wrong.
 * ended: which of the outcomes, counted. True when all were good. */
enum { FAULT_OUTCOMES = 8 };
typedef bool fault_case(struct fault *fault, size_t i, int *ended, char why[2048]);
bool fault_sweep(size_t count, fault_case *one, int outcomes[FAULT_OUTCOMES]);

#endif
