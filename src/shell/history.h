/* SPDX-License-Identifier: MIT */
/*
 * Benches and evidence out of the log without folding all of it: the units that are open, one
 * unit alone, and the learner's rows of the finished ones, which are kept beside the events under
 * a key that names the model, the kinds and the last event they rest on.
 */
#ifndef CB_SHELL_HISTORY_H
#define CB_SHELL_HISTORY_H

#include <stdbool.h>
#include <stddef.h>

#include "core/bench.h"
#include "core/effort.h"
#include "shell/store.h"

/* Folds what the filter lets through. The bench is the caller's; *last_row may be NULL. */
enum cb_status cb_history_bench(struct cb_store *store, const struct cb_store_filter *filter,
                                const struct cb_kinds *kinds, struct cb_bench **bench,
                                long long *last_row, struct cb_err *err);

/* Rows of films of finished units, oldest first, in the arena. What is not yet kept is made and
 * kept when the store may be written. */
enum cb_status cb_history_rows(struct cb_store *store, const struct cb_kinds *kinds,
                               struct cb_arena *arena, const struct cb_row **rows, size_t *count,
                               struct cb_err *err);

/* What the finished units teach about hours, in the order they were begun, kept beside the events
 * like the rows. */
enum cb_status cb_history_efforts(struct cb_store *store, const struct cb_kinds *kinds,
                                  struct cb_arena *arena, const struct cb_effort **efforts,
                                  size_t *count, struct cb_err *err);

/* Makes and keeps what is missing of one finished unit, for idle time; *more: call again. */
enum cb_status cb_history_make_one(struct cb_store *store, const struct cb_kinds *kinds,
                                   bool *more, struct cb_err *err);

/* Into learn: the finished units' rows and the bench's own, in order of time. */
enum cb_status cb_history_teach(struct cb_store *store, const struct cb_bench *bench,
                                struct cb_learn *learn, struct cb_err *err);

/* The last moment of a log: for a bench that is only looked at. */
struct cb_moment cb_history_last_moment(const struct cb_bench *bench);

#endif
