/* SPDX-License-Identifier: MIT */
#include "command/log_read.h"

#include <stdio.h>
#include <string.h>

#include "core/recipe/config.h"
#include "shell/clock.h"
#include "shell/yaml.h"

bool cb_log_read_is_there(const struct cb_args *args)
{
    struct cb_err err = {0};
    const char *path = cb_args_log(args, &err);
    return path != NULL && cb_file_is_there(path);
}

enum cb_status cb_log_read_open(struct cb_log_read *log, const struct cb_args *args,
                                struct cb_err *err)
{
    const struct cb_store_filter open_units = {.open_units = true};
    *log = (struct cb_log_read){.args = args};
    snprintf(log->progress, sizeof log->progress, "%s", args->command->name);
    cb_clock_zone(cb_clock_now().wall_ms, &log->zone);
    enum cb_status status = cb_args_settings(args, &log->kinds, &log->config, err);
    if (status == CB_DATA && log->kinds != NULL) { /* told; the answer goes by the defaults */
        status = CB_OK;
    }
    log->config = log->config != NULL ? log->config : &cb_config_default;
    log->zone.half_days = log->config->half_days && !args->json; /* scripts read one way alone */
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

bool cb_log_read_is_left(const struct cb_log_read *log, const struct cb_store_unit *unit)
{
    const int number = cb_bench_find_unit(log->bench, unit->id);
    return number >= 0 && cb_bench_unit(log->bench, (size_t)number)->left;
}

static const struct cb_store_unit *find_unit(const struct cb_log_read *log,
                                             const struct cb_store_unit *units, size_t count,
                                             const char *name)
{
    const struct cb_store_unit *found = NULL;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(units[i].id, name) == 0) {
            return &units[i];
        }
        if (units[i].name != NULL && strcmp(units[i].name, name) == 0 &&
            (found == NULL || !cb_log_read_is_left(log, &units[i]))) {
            found = &units[i];
        }
    }
    return found;
}

static const struct cb_store_unit *usual_unit(const struct cb_log_read *log,
                                              const struct cb_store_unit *units, size_t count)
{
    const int front = cb_bench_front(log->bench);
    if (front >= 0) {
        return find_unit(log, units, count, cb_bench_unit(log->bench, (size_t)front)->id);
    }
    const struct cb_store_unit *last = NULL;
    for (size_t i = 0; i < count; i++) {
        if (units[i].finished && (last == NULL || units[i].last_ms >= last->last_ms)) {
            last = &units[i];
        }
    }
    for (size_t i = count; last == NULL && i-- > 0;) {
        last = cb_log_read_is_left(log, &units[i]) ? NULL : &units[i];
    }
    return last;
}

enum cb_status cb_log_read_unit(const struct cb_log_read *log, const char *name,
                                const struct cb_store_unit **unit, struct cb_err *err)
{
    size_t count;
    const struct cb_store_unit *units = cb_history_units(log->history, &count);
    if (count == 0) {
        return cb_err_set(err, CB_FAILED, "the log has no unit yet; begin one first");
    }
    *unit = name != NULL ? find_unit(log, units, count, name) : usual_unit(log, units, count);
    if (*unit != NULL) {
        return CB_OK;
    }
    return name != NULL
               ? cb_err_set(err, CB_FAILED, "no unit %s in the log; `coatbell units` lists them",
                            name)
               : cb_err_set(err, CB_FAILED, "every unit of the log is put aside; name one");
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
