/* SPDX-License-Identifier: MIT */
/* `log backup` and `log restore`. */
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "command/log_internal.h"
#include "shell/json_write.h"
#include "shell/store_backup.h"
#include "shell/store_restore.h"

static const char *file_of(const struct cb_args *args)
{
    const char *file = args->operand_count == 2 ? args->operands[1] : NULL;
    if (file == NULL || strcmp(file, "-") == 0) {
        cb_command_failf(CB_USAGE, "log %s: it takes one FILE", args->operands[0]);
        return NULL;
    }
    return file;
}

int cb_log_backup(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct cb_store *store = NULL;
    const char *file = file_of(args);
    if (file == NULL) {
        return (int)CB_USAGE;
    }
    enum cb_status status = cb_store_open(cb_args_log(args, &err), CB_STORE_READ, &store, &err);
    if (status == CB_OK) {
        status = cb_store_backup(store, file, &err);
    }
    cb_store_close(store);
    if (status != CB_OK) {
        return cb_command_fail(&err);
    }
    if (args->json) {
        struct cb_json *json = cb_json_new();
        cb_json_text(json, "file", file);
        cb_command_print_json(json);
    } else {
        cb_args_print(args, cb_arena_printf(args->arena, "the log is backed up: %s\n",
                                            cb_utf8_clean(args->arena, file, 0)));
    }
    return 0;
}

int cb_log_restore(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct cb_restored restored;
    const char *file = file_of(args);
    if (file == NULL) {
        return (int)CB_USAGE;
    }
    const char *log = cb_args_log(args, &err);
    if (cb_store_restore(log, file, cb_args_has(args, "--yes"), args->arena, &restored, &err) !=
        CB_OK) {
        return cb_command_fail(&err);
    }
    if (args->json) {
        struct cb_json *json = cb_json_new();
        cb_json_integer(json, "events", (long long)restored.events);
        cb_json_integer(json, "lacking", (long long)restored.lacking);
        cb_json_text(json, "kept", restored.kept);
        cb_command_print_json(json);
        return 0;
    }
    const char *text = cb_arena_printf(args->arena, "the log has %zu event%s now\n",
                                       restored.events, restored.events == 1 ? "" : "s");
    cb_args_print(args, text);
    if (restored.kept) {
        cb_args_print(args, cb_arena_printf(args->arena, "the log as it was is kept: %s\n",
                                            cb_utf8_clean(args->arena, restored.kept, 0)));
    }
    return 0;
}
