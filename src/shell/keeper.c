/* SPDX-License-Identifier: MIT */
#include "shell/keeper.h"

#include <string.h>

#include "shell/store_backup.h"

bool cb_keeper_is_due(const struct cb_keeper *keeper, int64_t wall_ms)
{
    char day[11];
    if (!keeper->store || !cb_store_is_locked(keeper->store)) {
        return false;
    }
    cb_time_date(wall_ms, keeper->zone, day);
    return keeper->backup || strcmp(day, keeper->day) != 0;
}

/* What of the fault is not the file's name. */
static const char *line(struct cb_keeper *keeper, const struct cb_err *err, struct cb_arena *arena)
{
    static const char head[] = "can't be made: ";
    const char *why = strstr(err->text, head);
    if (keeper->told || err->status == CB_DATA) { /* that it is damaged is said anyway */
        return NULL;
    }
    keeper->told = true;
    return cb_arena_printf(arena, "no backup of the log today: %s",
                           why ? why + sizeof head - 1 : err->text);
}

const char *cb_keeper_step(struct cb_keeper *keeper, int64_t wall_ms, struct cb_arena *arena)
{
    struct cb_err err = {0};
    enum cb_status status = CB_OK;
    bool more = true;
    if (!keeper->backup) {
        cb_time_date(wall_ms, keeper->zone, keeper->day);
        const char *path = cb_backup_due(keeper->store, keeper->day, arena);
        status = path ? cb_backup_begin(keeper->store, path, &keeper->backup, &err) : CB_OK;
    } else {
        status = cb_backup_step(keeper->backup, &more, &err);
        if (status == CB_OK && !more) {
            cb_backup_tidy(keeper->store, keeper->day);
        }
        if (status != CB_OK || !more) {
            cb_backup_end(keeper->backup);
            keeper->backup = NULL;
        }
    }
    return status == CB_OK ? NULL : line(keeper, &err, arena);
}

void cb_keeper_fini(struct cb_keeper *keeper)
{
    cb_backup_end(keeper->backup);
    keeper->backup = NULL;
}
