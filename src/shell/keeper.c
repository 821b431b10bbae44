/* SPDX-License-Identifier: MIT */
#include "shell/keeper.h"

#include <string.h>

#include "shell/store_backup.h"

#define AGAIN_MS 1000 /* own judgement */

bool cb_keeper_is_due(const struct cb_keeper *keeper, int64_t wall_ms)
{
    char day[11];
    if (!keeper->store || !cb_store_is_locked(keeper->store)) {
        return false;
    }
    if (keeper->backup) { /* whichever way the clock was set */
        return wall_ms >= keeper->again_ms || wall_ms < keeper->again_ms - AGAIN_MS;
    }
    cb_time_date(wall_ms, keeper->zone, day);
    return keeper->made || strcmp(day, keeper->day) != 0;
}

/* What of the fault is not the file's name. That the log is damaged is said anyway, where it is
 * known. */
static const char *line(struct cb_keeper *keeper, const struct cb_err *err, struct cb_arena *arena)
{
    static const char head[] = "can't be made: ";
    const char *why = strstr(err->text, head);
    if (keeper->told == err->status || cb_store_is_damaged(keeper->store)) {
        return NULL;
    }
    keeper->told = err->status;
    return cb_arena_printf(arena, "no backup of the log today: %s",
                           err->status == CB_DATA ? "it is damaged; see `coatbell log check`"
                           : why                  ? why + sizeof head - 1
                                                  : err->text);
}

static enum cb_status go_on(struct cb_keeper *keeper, int64_t wall_ms, struct cb_err *err)
{
    bool more = true;
    const enum cb_status status = cb_backup_step(keeper->backup, &more, err);
    keeper->again_ms = cb_backup_waits(keeper->backup) ? wall_ms + AGAIN_MS : 0;
    if (status != CB_OK || !more) {
        keeper->made = status == CB_OK;
        cb_backup_end(keeper->backup);
        keeper->backup = NULL;
    }
    return status;
}

const char *cb_keeper_step(struct cb_keeper *keeper, int64_t wall_ms, struct cb_arena *arena)
{
    struct cb_err err = {0};
    enum cb_status status = CB_OK;
    if (keeper->backup) {
        status = go_on(keeper, wall_ms, &err);
    } else if (keeper->made) {
        cb_backup_tidy(keeper->store, keeper->day);
        keeper->made = false;
        keeper->day[0] = '\0'; /* that of the month may be due now */
    } else {
        cb_time_date(wall_ms, keeper->zone, keeper->day);
        const char *path = cb_backup_due(keeper->store, keeper->day, arena);
        status = path ? cb_backup_begin(keeper->store, path, &keeper->backup, &err) : CB_OK;
    }
    return status == CB_OK ? NULL : line(keeper, &err, arena);
}

void cb_keeper_fini(struct cb_keeper *keeper)
{
    cb_backup_end(keeper->backup);
    keeper->backup = NULL;
}
