/* SPDX-License-Identifier: MIT */
/* The log as a file among files: where it may lie, its lock, and who hears when it is touched.
 * Knows nothing of what is in it. */
#ifndef CB_SHELL_STORE_FILE_H
#define CB_SHELL_STORE_FILE_H

#include <stdbool.h>

#include "base/arena.h"
#include "base/err.h"

/* The real path of the log (links of its folder, and of itself, resolved), in the arena. Only a
 * regular file will do: a link to nothing, a FIFO, a device, a folder is refused, and so are such
 * companions (-wal, -shm, -journal, .lock). create: an absent one is made, empty, 0600, in a 0700
 * folder, and companions that may not be written though the log may are made so. */
enum cb_status cb_store_file_find(const char *path, bool create, struct cb_arena *arena,
                                  const char **real, struct cb_err *err);
/* The same for a log that may be absent, and is not made then; its folder is. */
enum cb_status cb_store_file_place(const char *path, struct cb_arena *arena, const char **real,
                                   struct cb_err *err);
/* A new empty file, 0600; CB_IO when something has that name. */
enum cb_status cb_store_file_make(const char *path, struct cb_err *err);

/* The -wal of a log over which something else was written: it would be put into that by whoever
 * opens it next, so it gets another name. */
void cb_store_file_put_aside(const char *real);

/* That a file of this folder was made or renamed is on the disk. */
void cb_store_file_sync_folder(const char *real);

/* real.what, or with a number behind it: a name that no file has yet, nor a companion of one. In
 * the arena. */
const char *cb_store_file_unused(const char *real, const char *what, struct cb_arena *arena);
/* Gives the file a name that nobody has; false, errno EEXIST: somebody has it, and keeps it. */
bool cb_store_file_name(const char *from, const char *to);
/* The same for what was just made, which is on the disk before it has the name. */
bool cb_store_file_settle(const char *made, const char *name);

/* LOG.lock, opened or made; -1 and CB_IO when that can't be. */
int cb_store_file_lock_open(const char *real, struct cb_err *err);
bool cb_store_file_lock_take(int fd); /* false: somebody else has it */
bool cb_store_file_lock_is_free(int fd);
/* Does somebody hold it? Makes and touches nothing. */
bool cb_store_file_is_held(const char *real);

/* An inotify descriptor on the log's folder; -1: none to be had. */
int cb_store_file_watch(const char *real);
void cb_store_file_drain(int fd);

#endif
