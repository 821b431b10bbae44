/* SPDX-License-Identifier: MIT */
/*
 * Copies of the log, whole or not at all: made under another name, on the disk, read through, and
 * only then given their own. Piece by piece, so that whoever makes one between two keys keeps
 * nobody waiting; the log may be written to meanwhile.
 *
 * A bench keeps three of days and three of months beside the log: LOG.daily-2026-11-28,
 * LOG.monthly-2026-11. Each is a file of its own.
 */
#ifndef CB_SHELL_STORE_BACKUP_H
#define CB_SHELL_STORE_BACKUP_H

#include <stdbool.h>

#include "base/arena.h"
#include "base/err.h"
#include "shell/store.h"

#define CB_BACKUPS_KEPT 3 /* of each kind */

struct cb_backup;
/* To a file at path, 0600; what has that name already is left, and CB_FAILED comes at the end. No
 * copy is made of a log that is known to be damaged: CB_DATA. CB_IO: no room for it (twice the
 * log's size is wanted), or it can't be written. The store outlives it. */
enum cb_status cb_backup_begin(struct cb_store *store, const char *path, struct cb_backup **backup,
                               struct cb_err *err);
/* A short piece of the work, which waits for nobody's lock. *more: call again; else the copy is
 * there. */
enum cb_status cb_backup_step(struct cb_backup *backup, bool *more, struct cb_err *err);
/* The last piece came to nothing, as another program holds the log: try again in a while. */
bool cb_backup_waits(const struct cb_backup *backup);
/* What is not done yet is thrown away; takes NULL. */
void cb_backup_end(struct cb_backup *backup);

/* All of it at once. CB_IO too when another program holds the log for over two seconds. */
enum cb_status cb_store_backup(struct cb_store *store, const char *path, struct cb_err *err);

/* The path of the backup that is due on that day (2026-11-28), in the arena; NULL: none is, as it
 * is there, or the log ends as the last one does. That of a month comes after that of a day. Waits
 * for nobody's lock. */
const char *cb_backup_due(struct cb_store *store, const char day[11], struct cb_arena *arena);
/* After one was made on that day: those too many go, the oldest first, never one of that day.
 * Beside the three of days stays the one with most events, where that of the day has fewer. */
void cb_backup_tidy(struct cb_store *store, const char day[11]);

#endif
