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

/* SQL: what the tables, indices and triggers come to, as a number; `shape` in meta is what they
 * came to when they were made. */
#define CB_MIGRATE_SHAPE                                                                           \
    "(SELECT row_xor(row_sum(type, name, tbl_name, sql)) FROM sqlite_schema WHERE name IN"         \
    " ('meta', 'origin', 'origin_name', 'event', 'event_unit', 'event_bench', 'event_mark',"       \
    " 'event_undone', 'event_place', 'event_press', 'unit_sum', 'event_sum', 'derived'))"

struct sqlite3;

struct cb_migrate_step {
    const char *sql; /* brings version i to i + 1 */
};
extern const struct cb_migrate_step cb_migrate_steps[];
extern const size_t cb_migrate_step_count;

/* The connection has row_sum and row_xor (shell/store_sum.h). shown: the path for messages. real:
 * NULL in memory. writable: an empty file is made a log and an older one brought up to date; else
 * they are refused. CB_DATA: another program's, damaged or newer, the way out named. */
enum cb_status cb_migrate(struct sqlite3 *db, const char *shown, const char *real, bool writable,
                          const struct cb_migrate_step *steps, size_t step_count,
                          struct cb_err *err);

/* One clear line for what SQLite said last: full, read-only, locked, damaged. CB_IO or CB_DATA. */
enum cb_status cb_migrate_fault(struct sqlite3 *db, const char *shown, struct cb_err *err);

#endif
