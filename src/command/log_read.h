/* SPDX-License-Identifier: MIT */
/* What the commands that ask the log of all units begin and end with. */
#ifndef CB_COMMAND_LOG_READ_H
#define CB_COMMAND_LOG_READ_H

#include "command/command.h"
#include "shell/history.h"

struct cb_log_read {
    const struct cb_args *args;
    const char *path;
    const struct cb_kinds *kinds;
    const struct cb_config *config; /* the defaults where it is refused, which is told */
    struct cb_store *store;
    struct cb_bench *bench; /* the units under way */
    struct cb_history *history;
    struct cb_taught taught; /* empty until somebody asks the history */
    struct cb_zone zone;
    char progress[16]; /* the command's name, to be shown to who waits */
};

/* Is there a log where the call says, or the default one? */
bool cb_log_read_is_there(const struct cb_args *args);
/* To be closed whatever the status. */
enum cb_status cb_log_read_open(struct cb_log_read *log, const struct cb_args *args,
                                struct cb_err *err);
/* Was it put aside? */
bool cb_log_read_is_left(const struct cb_log_read *log, const struct cb_store_unit *unit);
/* The unit of that id, else the latest of that name that was not put aside, else the latest; NULL:
 * the one in front, else the last finished, else the last begun that was not put aside. CB_FAILED:
 * there is none. */
enum cb_status cb_log_read_unit(const struct cb_log_read *log, const char *name,
                                const struct cb_store_unit **unit, struct cb_err *err);
/* The exit code: that of the status, whose err is told, and of what of the log is damaged. */
int cb_log_read_close(struct cb_log_read *log, enum cb_status status, const struct cb_err *err);

#endif
