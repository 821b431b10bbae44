/* SPDX-License-Identifier: MIT */
/* No subcommand: the bench itself. */
#include "command/command.h"
#include "shell/console.h"
#include "shell/loop.h"
#include "shell/paths.h"
#include "shell/store.h"

int cb_command_open_bench(const struct cb_args *args, const char *begun, const char *begun_path)
{
    struct cb_err err = {0};
    if (!cb_console_is_terminal()) {
        return cb_command_failf(CB_IO, "the bench needs a terminal on standard input and output; "
                                       "`coatbell status` prints one line without");
    }
    const struct cb_kinds *kinds = NULL;
    const struct cb_config *config = NULL;
    if (cb_paths_kinds(args->arena, &kinds, &err) != CB_OK ||
        cb_paths_load_config(args->arena, &config, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    const char *log = cb_args_log(args, &err);
    if (log == NULL) {
        return cb_command_fail(&err);
    }
    struct cb_store *store = NULL;
    if (cb_store_open(log, CB_STORE_APPEND, &store, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    /* Another bench may have the lock: then this one looks on, and takes over when it is free. */
    enum cb_status status = cb_store_lock(store, &err);
    if (status == CB_OK || status == CB_FAILED) {
        err = (struct cb_err){0};
        struct cb_loop_setup setup = {
            .kinds = kinds,
            .config = config,
            .store = store,
            .log_path = log,
            .ascii = args->ascii || config->ascii,
            .speed = 1,
            .begun = begun,
            .recipe_path = begun_path,
        };
        status = cb_loop_run(&setup, &err);
    }
    cb_store_close(store);
    return status == CB_OK ? 0 : cb_command_fail(&err);
}

static int run(const struct cb_args *args)
{
    return cb_command_open_bench(args, NULL, NULL);
}

const struct cb_command cb_command_bench = {
    .name = "",
    .operands = "",
    .summary = "A bench companion for painting small figures. Without a command: the bench.",
    .max_operands = 0,
    .run = run,
};
