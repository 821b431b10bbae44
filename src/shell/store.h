/* SPDX-License-Identifier: MIT */
/*
 * The log on disk: one SQLite file of events. WAL, synchronous=FULL, so that an append that
 * returned CB_OK is on the disk. The bench holds the writer's lock beside the log; short commands
 * append beside it.
 */
#ifndef CB_SHELL_STORE_H
#define CB_SHELL_STORE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/err.h"
#include "core/log/event.h"

struct cb_store;

enum cb_store_mode {
    CB_STORE_READ,   /* CB_IO when there is none */
    CB_STORE_APPEND, /* made when there is none (0600 in 0700) */
};

/* Refuses what is no coatbell log or from a newer version, naming the way out. NULL path: memory
 * (demo's play, tests). */
enum cb_status cb_store_open(const char *path, enum cb_store_mode mode, struct cb_store **store,
                             struct cb_err *err);
/* An empty log in place of whatever is there, with the writer's lock, which is taken before
 * anything is removed. CB_FAILED, and nothing touched, when another bench has it. */
enum cb_status cb_store_open_anew(const char *path, struct cb_store **store, struct cb_err *err);
void cb_store_close(struct cb_store *store);

/* Its path as messages begin with it, and a colon. */
const char *cb_store_shown(const struct cb_store *store);

/* Reads every page, as opening does by itself where the log is small: what is wrong is told by
 * cb_store_damage. A second or two for a log of years. */
void cb_store_check_pages(struct cb_store *store);
/* What was found to be damaged since it was opened, in a line with the way out; NULL: nothing.
 * Events whose sum is wrong are left out of whatever is read, and stay in the file. */
const char *cb_store_damage(const struct cb_store *store, struct cb_arena *arena);
/* By the disk: not only that somebody wrote into it what is no event. */
bool cb_store_is_damaged(const struct cb_store *store);
size_t cb_store_bad_events(const struct cb_store *store); /* how many were left out so far */

/* The writer's lock (OFD lock on LOG.lock): CB_FAILED when another bench has it. */
enum cb_status cb_store_lock(struct cb_store *store, struct cb_err *err);
bool cb_store_is_locked(const struct cb_store *store); /* by us */
/* Nobody holds it: the writer has gone, a viewer may offer to take over. */
bool cb_store_is_free(struct cb_store *store);

/* A bench holds the lock of this log, ours or another: what is in front there is its painter's. */
bool cb_store_is_held(struct cb_store *store);

/* The machine that stands in what is appended here; as long as the store. */
const char *cb_store_machine(const struct cb_store *store);

/* The events as append will write them, in the arena, nothing written: ids, one press, machine, and
 * the seq that follows. For what waits until the disk takes it again. */
enum cb_status cb_store_name(struct cb_store *store, const struct cb_event *const *events,
                             size_t count, struct cb_arena *arena, const struct cb_event ***named,
                             struct cb_err *err);

/* Appends as one press, one transaction. Events without id are given id, press, machine, seq;
 * those with an id keep all and are skipped when it is there already (a retry is idempotent).
 * stored: the events as they now stand, in the arena; on CB_IO the same with ids, to be handed in
 * again (seq 0 of our machine: not given yet), so that a press tried twice is never there twice.
 * CB_DATA: an event breaks its schema. */
enum cb_status cb_store_append(struct cb_store *store, const struct cb_event *const *events,
                               size_t count, struct cb_arena *arena,
                               const struct cb_event ***stored, struct cb_err *err);

struct cb_store_filter {
    bool open_units;  /* events of units not finished, or put aside; the bench events since the
                         first of them began, the latest climate of each place, settings whenever
                         made, and what undoes any of these */
    const char *unit; /* that unit, the bench events within its span, whole sessions, and which
                         units came to the front in them */
    /* neither: everything */
    long long after_row; /* only rows appended after this one, whatever their unit; 0: all */
};
/* For import: every event that next gives until NULL, in one transaction, all or none
 * (none too when next fails, or the store does not take one: cb_store_takes); those whose
 * id is there already are skipped. The event is read before next is called again. */
enum cb_status cb_store_import(struct cb_store *store,
                               enum cb_status (*next)(void *context, const struct cb_event **event,
                                                      struct cb_err *err),
                               void *context, size_t *added, struct cb_err *err);

/* Would import take it? CB_DATA: it breaks its schema, has no id, or claims to be of this log so
 * far ahead that the log could not count on behind it; text starts with the field and a colon. */
enum cb_status cb_store_takes(struct cb_store *store, const struct cb_event *event,
                              struct cb_err *err);

/* Row order. *last_row: the greatest row of the log now, for the next after_row. */
enum cb_status cb_store_load(struct cb_store *store, const struct cb_store_filter *filter,
                             struct cb_arena *arena, const struct cb_event ***events, size_t *count,
                             long long *last_row, struct cb_err *err);

/* Calls back for every event in row order; stops when it returns false. The event lives until
 * the callback returns. */
enum cb_status cb_store_each(struct cb_store *store, const struct cb_store_filter *filter,
                             bool (*each)(void *context, const struct cb_event *event),
                             void *context, struct cb_err *err);

/* The units of the log in the order they were begun. rests_on: a digest of the rows that
 * cb_store_load reads for the unit; what is derived from them is stale when it differs. */
struct cb_store_unit {
    const char *id, *name;
    int figures;
    bool finished;             /* and not put aside */
    int64_t begun_ms, last_ms; /* wall */
    size_t event_count;
    uint64_t rests_on;
};
enum cb_status cb_store_units(struct cb_store *store, struct cb_arena *arena,
                              const struct cb_store_unit **units, size_t *count,
                              struct cb_err *err);

/* Readable when somebody may have written (inotify on the folder); -1 for memory. After poll,
 * cb_store_changed drains it and tells whether the data really changed. */
int cb_store_watch_fd(struct cb_store *store);
bool cb_store_changed(struct cb_store *store);

/* Derived data: may be dropped at any time; keyed so that it can't be stale. */
enum cb_status cb_store_derived_put(struct cb_store *store, const char *name, const char *key,
                                    const void *bytes, size_t length, struct cb_err *err);
/* CB_FAILED when there is none under exactly that key. */
enum cb_status cb_store_derived_get(struct cb_store *store, const char *name, const char *key,
                                    struct cb_arena *arena, const void **bytes, size_t *length,
                                    struct cb_err *err);

#endif
