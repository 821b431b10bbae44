/* SPDX-License-Identifier: MIT */
/*
 * Copies of the log, whole or not at all: made under another name, on the disk, read through, and
 * only then given their own. Piece by piece, so that whoever makes one between two keys keeps
 * nobody waiting; the log may be written to meanwhile.
 *
 * A bench keeps three of days and three of months beside the log: LOG.daily-2026-11-28,
 * LOG.monthly-2026-11.
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
/* A short piece of the work. *more: call again; else the copy is there. */
enum cb_status cb_backup_step(struct cb_backup *backup, bool *more, struct cb_err *err);
/* What is not done yet is thrown away; takes NULL. */
void cb_backup_end(struct cb_backup *backup);

/* All of it at once. */
enum cb_status cb_store_backup(struct cb_store *store, const char *path, struct cb_err *err);

/* The path of the backup that is due on that day (2026-11-28), in the arena; NULL: none is, as it
 * is there, or the log has had no event since the last one. */
const char *cb_backup_due(struct cb_store *store, const char day[11], struct cb_arena *arena);
/* After the one of that day was made: the one of its month, where there is none and the file system
 * can name a file twice; and those too many go, the oldest first, never one of that day. */
void cb_backup_tidy(struct cb_store *store, const char day[11]);

#endif
