/* SPDX-License-Identifier: MIT */
/*
 * The sum that every row of the log carries over all its columns, so that a lost bit is seen when
 * the row is read. It stands in the file alone: an export has none, an import makes it.
 *
 * Sum: digest (base/digest.h) of each column in order: the letter of its type as it lies on the
 * disk (i, r, t, b, n), then the number's eight bytes, or the length and the bytes.
 */
#ifndef CB_SHELL_STORE_SUM_H
#define CB_SHELL_STORE_SUM_H

#include <stdbool.h>
#include <stdint.h>

struct sqlite3;
struct sqlite3_stmt;

/* Gives SQL row_sum(...) of its arguments, and the aggregate row_xor(sum). An SQLite code. */
int cb_store_sum_functions(struct sqlite3 *db);

/* Of columns first to end - 1 of the row at which the statement stands. */
int64_t cb_store_sum_of(struct sqlite3_stmt *stmt, int first, int end);

#endif
