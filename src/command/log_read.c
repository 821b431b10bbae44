/* SPDX-License-Identifier: MIT */
#include "command/log_read.h"

#include <stdio.h>

#include "shell/clock.h"

enum cb_status cb_log_read_open(struct cb_log_read *log, const struct cb_args *args,
                                struct cb_err *err)
{
    const struct cb_store_filter open_units = {.open_units = true};
    *log = (struct cb_log_read){.args = args};
    snprintf(log->progress, sizeof log->progress, "%s", args->command->name);
    cb_clock_zone(cb_clock_now().wall_ms, &log->zone);
    enum cb_status status = cb_args_settings(args, &log->kinds, NULL, err);
    if (status == CB_OK && (log->path = cb_args_log(args, err)) == NULL) {
        status = err->status;
    }
    if (status == CB_OK) {
        status = cb_history_store(log->path, &log->store, err);
    }
    if (status == CB_OK) {
        status = cb_history_bench(log->store, &open_units, log->kinds, &log->bench, NULL, err);
    }
    if (status == CB_OK) {
        status = cb_history_open(log->store, log->kinds, &log->history, err);
    }
    if (status == CB_OK) {
        cb_history_tell(log->history, cb_command_progress, log->progress);
    }
    return status;
}

int cb_log_read_close(struct cb_log_read *log, enum cb_status status, const struct cb_err *err)
{
    cb_command_progress_end();
    const int code = status == CB_OK ? 0 : cb_command_fail(err);
    cb_taught_fini(&log->taught);
    cb_history_close(log->history);
    cb_bench_free(log->bench);
    return cb_command_close(log->store, code);
}
