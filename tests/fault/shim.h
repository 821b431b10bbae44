/* SPDX-License-Identifier: MIT */
/*
 * Preloaded into the real program, shim.c counts the calls that change a file of the log, and lets
 * one of them end badly. What driver and shim share is a file mapped by both.
 *
 * CB_FAULT_SHARED: that file.
 *
 * CB_FAULT_FOLDER: the log's folder; every file below it is counted but -shm, which SQLite makes
 * anew.
 *
 * CB_FAULT_AT: at which call, from 1; 0 or none: nothing happens, all are counted.
 *
 * CB_FAULT_HOW, one of these.
 *
 * kill: the process ends before the call.
 *
 * torn: it ends when `bytes` of a write are done.
 *
 * power: the same as kill, and whatever was written since its file was last synced, or got or lost
 * a name since its folder was, is taken back, newest first: all of it, or each second (`bytes` odd;
 * 3: the other names).
 *
 * full: ENOSPC for this and all further calls that make a file larger, after half of the first was
 * written, until `heal`.
 *
 * sync: EIO from the next `bytes` fsyncs (0: from all, until `heal`).
 *
 * stop: it stops there until SIGCONT; calls that open a file count too, and stop when they are
 * done.
 *
 * CB_FAULT_NO_WATCH: the system gives no inotify, as when the user has too many.
 *
 * CB_FAULT_SLEPT: a file; so many seconds as stand in it the machine has slept, by its clocks.
 *
 * fsync itself is left out: what it promises is what `power` tests.
 */
#ifndef CB_TESTS_SHIM_H
#define CB_TESTS_SHIM_H

enum { SHIM_POINTS_MAX = 16384 };

struct shim_shared {
    int points;                  /* calls so far */
    int hits;                    /* calls that ended badly */
    int heal;                    /* set by the driver: the disk is well again */
    int bytes;                   /* see above */
    int stopped;                 /* the process that has stopped */
    char kinds[SHIM_POINTS_MAX]; /* of each: w write, s sync, t truncate, r rename, u unlink,
                                    l link, d sync of the folder, o open */
};

#endif
