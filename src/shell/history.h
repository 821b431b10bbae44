/* SPDX-License-Identifier: MIT */
/*
 * Benches and evidence out of the log without folding all of it: the units that are open, one
 * unit alone, and what is dear to work out of the finished ones, their lessons and reviews. These
 * are kept beside the events, under a digest of the very rows they were made from, of the code that
 * made them and of the kinds in force: kept equals fresh, always.
 */
#ifndef CB_SHELL_HISTORY_H
#define CB_SHELL_HISTORY_H

#include <stdbool.h>
#include <stddef.h>

#include "core/bench/bench.h"
#include "core/review/lesson.h"
#include "core/review/review.h"
#include "core/review/taught.h"
#include "shell/store.h"

/* Folds what the filter lets through. The bench is the caller's; *last_row may be NULL. */
enum cb_status cb_history_bench(struct cb_store *store, const struct cb_store_filter *filter,
                                const struct cb_kinds *kinds, struct cb_bench **bench,
                                long long *last_row, struct cb_err *err);

/* Opens a log that is only looked at: for writing where that can be, so that what is derived of it
 * can be kept. It is never made: CB_IO when there is none. */
enum cb_status cb_history_store(const char *path, struct cb_store **store, struct cb_err *err);

/* The units of a log as they were when it was opened here, and what is derived of them. What is not
 * kept yet is made when asked for, and kept where the store may be written. */
struct cb_history;
/* store and kinds outlive it. */
enum cb_status cb_history_open(struct cb_store *store, const struct cb_kinds *kinds,
                               struct cb_history **history, struct cb_err *err);
void cb_history_close(struct cb_history *history);
/* Told before each unit that has to be made: how many stand before it, of how many. */
void cb_history_tell(struct cb_history *history,
                     void (*tell)(void *context, size_t done, size_t count), void *context);

/* In the order they were begun; as long as the history. */
const struct cb_store_unit *cb_history_units(const struct cb_history *history, size_t *count);

/* A piece of what cb_history_taught would have to do, short enough for idle time: lessons read, one
 * made, or a part of the teaching. *more: call again; else cb_history_taught has it. */
enum cb_status cb_history_step(struct cb_history *history, bool *more, struct cb_err *err);

/* What all finished units taught; cb_taught_fini whatever the status. Once a history. */
enum cb_status cb_history_taught(struct cb_history *history, struct cb_taught *taught,
                                 struct cb_err *err);
/* The same with the bench's own films added to the learner: what the bench on the screen knows. */
enum cb_status cb_history_teach(struct cb_history *history, const struct cb_bench *bench,
                                struct cb_taught *taught, struct cb_err *err);

/* The lesson of a finished unit, in the arena. */
enum cb_status cb_history_lesson(struct cb_history *history, const struct cb_store_unit *unit,
                                 struct cb_arena *arena, struct cb_lesson *lesson,
                                 struct cb_err *err);
/* The review of a finished unit, in the arena; its recipe as long as the history. */
enum cb_status cb_history_review(struct cb_history *history, const struct cb_store_unit *unit,
                                 struct cb_arena *arena, const struct cb_review **review,
                                 struct cb_err *err);

/* Makes a finished unit's lesson and review anew, and compares them with what is kept, to the bit.
 * *kept: both are there; *same: what is there is what was made. Nothing is written. */
enum cb_status cb_history_compare(struct cb_history *history, const struct cb_store_unit *unit,
                                  bool *kept, bool *same, struct cb_err *err);

#endif
