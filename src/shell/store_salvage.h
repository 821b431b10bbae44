/* SPDX-License-Identifier: MIT */
/*
 * What can be read of a damaged log: every page of the file is looked at by itself, whatever the
 * tree above it says, and a row counts as an event when the sum that it carries is right. So a
 * broken page costs no more than what lies on it.
 */
#ifndef CB_SHELL_STORE_SALVAGE_H
#define CB_SHELL_STORE_SALVAGE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/err.h"
#include "shell/store.h"

struct cb_salvage {
    size_t saved;   /* events */
    size_t known;   /* by the highest row that was seen: so many were ever written, at least */
    size_t nowhere; /* of the saved: machine and boot can't be told any more, and are left out */
    bool newer;     /* it says that a newer version wrote it */
    bool older;     /* an older one, whose events have no sums: none of them is saved */
    bool cut;       /* its end is gone, and how many events with it */
};

/* Reads the log at path (a file; its -wal too) and makes a fresh one of it: at into, which must not
 * be there, or in memory where it is NULL. CB_DATA: nothing in it is an event, nor is its head that
 * of a log. CB_IO: it can't be read, or the fresh one not be written. The store is the caller's. */
enum cb_status cb_store_salvage(const char *path, const char *into, struct cb_store **store,
                                struct cb_salvage *found, struct cb_err *err);

/* "12 of 14 events can be read", in the arena; and where nothing can, what else may help. */
const char *cb_salvage_says(const struct cb_salvage *found, struct cb_arena *arena);

/* Puts a fresh log of what can be read in the place of a damaged one, which is kept beside it:
 * *kept, its path, in the arena. CB_FAILED: somebody has it open. See store_swap.h. */
enum cb_status cb_store_replace(const char *path, struct cb_arena *arena, const char **kept,
                                struct cb_salvage *found, struct cb_err *err);

#endif
