/* SPDX-License-Identifier: MIT */
/*
 * Another log in the place of one: whole at every moment, and nothing that was ever in the old one
 * is gone.
 *
 * What is in a log lies in two files, itself and its -wal, and a -wal is put into whatever lies
 * beside it. So the two can't change places at once, and one after the other leaves, when it is cut
 * off, a log without its last events or one with those of another. Hence:
 *
 * 1. LOG.lock keeps other benches and other swaps away, and the lock bytes that SQLite itself has
 * in the old file everybody else: a connection holds them from its first read until it is closed,
 * so from here on nobody has the log open, and nobody opens it.
 * 2. The old file and its companions are copied to the name under which they are kept, and synced.
 * A copy needs no second name for one file, which not every file system has.
 * 3. The new log, made meanwhile as LOG.new.part, whole and synced, is renamed to LOG.new.whole. Up
 *    to here all is as it was; by this one rename the new one is the log.
 * 4. The old companions go, the folder is synced, and LOG.new.whole takes the log's name. Whoever
 *    finds a LOG.new.whole before opening a log does this step, so a cut in the middle of it is
 * made good before anybody can read or write the half of it.
 *
 * The folder is synced between any two of these, so the disk has them in that order. Whoever waited
 * at 1 has the file in hand that is gone; cb_store_open sees that and opens again.
 */
#ifndef CB_SHELL_STORE_SWAP_H
#define CB_SHELL_STORE_SWAP_H

#include <stdbool.h>

#include "base/arena.h"
#include "base/err.h"

struct cb_store_swap {
    const char *shown, *real;
    const char *kept;  /* the old log as it was, closed, 0600; NULL: there was none */
    const char *fresh; /* where the new one is to be made; nothing is there yet */
    struct cb_arena *arena;
    const char *kept_files; /* its companions carry that name too */
    bool done;              /* the new one is the log */
    int lock, held;
};

/* Steps 1 and 2. real: cb_store_file_find or _place. Strings in the arena. kept_as: what is added
 * to the log's name. CB_FAILED: somebody has it open, for longer than a moment. CB_IO: it can't be
 * copied. Nobody opens the log until the end, not even this process; kept is there to be read. */
enum cb_status cb_store_swap_begin(struct cb_store_swap *swap, const char *real,
                                   const char *kept_as, struct cb_arena *arena, struct cb_err *err);
/* Steps 3 and 4: fresh, closed, takes the log's place. */
enum cb_status cb_store_swap_commit(struct cb_store_swap *swap, struct cb_err *err);
/* Always after begin, whatever it came to. Without a commit fresh and kept are taken away. */
void cb_store_swap_end(struct cb_store_swap *swap);

/* Was a swap cut off in step 4? */
bool cb_store_swap_is_due(const char *real);
/* Then ends it, unless another one is about to. */
void cb_store_swap_finish(const char *real);

#endif
