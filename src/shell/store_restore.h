/* SPDX-License-Identifier: MIT */
/*
 * A backup put in the place of the log, which is kept beside it.
 *
 * A log that is put back counts on from where it was, and events that were written after the backup
 * would share their numbers with new ones; should they ever come back, by an import, the fold would
 * mix the two. So a log of which more may have been written counts on under another name.
 */
#ifndef CB_SHELL_STORE_RESTORE_H
#define CB_SHELL_STORE_RESTORE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/err.h"

struct cb_restored {
    size_t events;    /* in the log now */
    size_t lacking;   /* that the log had and the backup has not */
    bool unknown;     /* how many can't be told: the log could not be read */
    const char *kept; /* where the old log lies, in the arena; NULL: there was none */
};

/* CB_DATA: the backup is no whole coatbell log. CB_FAILED: somebody has the log open, or it holds
 * events that the backup has not, and sure is false; then nothing was changed. CB_IO: it can't be
 * written. */
enum cb_status cb_store_restore(const char *path, const char *backup, bool sure,
                                struct cb_arena *arena, struct cb_restored *restored,
                                struct cb_err *err);

#endif
