/* SPDX-License-Identifier: MIT */
/* The bench's own backups: one on each day on which it was used, made in its idle time. */
#ifndef CB_SHELL_KEEPER_H
#define CB_SHELL_KEEPER_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/time.h"
#include "shell/store.h"

struct cb_backup;

/* Zeroed: keeps nothing. */
struct cb_keeper {
    struct cb_store *store; /* the caller's; NULL: no backups are made */
    const struct cb_zone *zone;
    struct cb_backup *backup; /* under way */
    char day[11];             /* that was looked at last */
    bool made;                /* one on that day, and those too many are there yet */
    int64_t again_ms;         /* wall: another program holds the log; not before */
    enum cb_status told;      /* of what kind was the last fault said */
};

/* Is there anything to do at that moment (wall)? Only ever for the bench that holds the lock. */
bool cb_keeper_is_due(const struct cb_keeper *keeper, int64_t wall_ms);
/* A short piece of it, which waits for nobody's lock. A line, in the arena, the first time that a
 * backup can't be made; else NULL. */
const char *cb_keeper_step(struct cb_keeper *keeper, int64_t wall_ms, struct cb_arena *arena);
void cb_keeper_fini(struct cb_keeper *keeper);

#endif
