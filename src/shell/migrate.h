/* SPDX-License-Identifier: MIT */
/*
 * The shape of the log file: who wrote it, which version, and the steps from each version to the
 * next. A log that holds something is backed up beside itself before the first step.
 */
#ifndef CB_SHELL_MIGRATE_H
#define CB_SHELL_MIGRATE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"

#define CB_LOG_APPLICATION_ID 0x63626c6c /* "cbll" */

struct sqlite3;

struct cb_migrate_step {
    const char *sql; /* brings version i to i + 1 */
};
extern const struct cb_migrate_step cb_migrate_steps[];
extern const size_t cb_migrate_step_count;

/* shown: the path for messages. real: NULL in memory. writable: an empty file is made a log and
 * an older one brought up to date; else they are refused. CB_DATA: another program's, damaged
 * or newer, the way out named. */
enum cb_status cb_migrate(struct sqlite3 *db, const char *shown, const char *real, bool writable,
                          const struct cb_migrate_step *steps, size_t step_count,
                          struct cb_err *err);

/* One clear line for what SQLite said last: full, read-only, locked, damaged. CB_IO or CB_DATA. */
enum cb_status cb_migrate_fault(struct sqlite3 *db, const char *shown, struct cb_err *err);

#endif
