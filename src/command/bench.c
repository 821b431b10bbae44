/* SPDX-License-Identifier: MIT */
/* No subcommand: the bench itself. */
#include <stdio.h>

#include "base/utf8.h"
#include "command/command.h"
#include "command/wrap.h"
#include "shell/console.h"
#include "shell/loop.h"
#include "shell/store.h"
#include "shell/store_salvage.h"

/* A damaged log can't be written to: what can be read of it goes on in a fresh one, if the painter
 * says so. true: it does. */
static bool go_on_with_saved(const char *log, const struct cb_args *args,
                             const struct cb_err *fault)
{
    struct cb_store *saved = NULL;
    struct cb_salvage found;
    struct cb_err err = {0};
    const char *kept;
    const enum cb_status status = cb_store_salvage(log, NULL, &saved, &found, NULL);
    cb_store_close(saved);
    if (status != CB_OK || found.newer || found.saved == 0) {
        return false;
    }
    fprintf(stderr, "coatbell: %s\n", cb_utf8_clean(args->arena, fault->text, 0));
    fprintf(stderr,
            "%s. Go on with them in a fresh log? The damaged one is kept beside it. y or n: ",
            cb_salvage_says(&found, args->arena));
    const int answer = getchar();
    for (int c = answer; c != '\n' && c != EOF; c = getchar()) {
    }
    if (answer != 'y' && answer != 'Y') {
        return false;
    }
    if (cb_store_replace(log, args->arena, &kept, &found, &err) != CB_OK) {
        cb_command_fail(&err);
        return false;
    }
    fprintf(stderr, "the damaged log is %s\n", cb_utf8_clean(args->arena, kept, 0));
    return true;
}

static enum cb_status open_once(struct cb_loop_setup *setup, struct cb_err *err)
{
    enum cb_status status = cb_store_open(setup->log_path, CB_STORE_APPEND, &setup->store, err);
    if (status != CB_OK) {
        return status;
    }
    /* Another bench may have the lock: then this one looks on, and takes over when it is free. */
    status = cb_store_lock(setup->store, err);
    if (status == CB_OK || status == CB_FAILED) {
        *err = (struct cb_err){0};
        status = cb_loop_run(setup, err);
    }
    cb_store_close(setup->store);
    return status;
}

int cb_command_open_bench(const struct cb_args *args, const char *begun, const char *begun_path)
{
    struct cb_err err = {0};
    if (!cb_console_is_terminal()) {
        return cb_command_failf(CB_IO, "the bench needs a terminal on standard input and output; "
                                       "`coatbell status` prints one line without");
    }
    const struct cb_kinds *kinds = NULL;
    const struct cb_config *config = NULL;
    const struct cb_cues *cues = NULL;
    const char *log = NULL;
    if (cb_args_settings(args, &kinds, &config, &err) != CB_OK ||
        cb_args_cues(args, kinds, &cues, &err) != CB_OK ||
        (log = cb_args_log(args, &err)) == NULL) {
        return cb_command_fail(&err);
    }
    struct cb_config own = *config;
    own.quiet_clock = own.quiet_clock || cb_args_has(args, "--quiet-clock");
    struct cb_str farewell = {0};
    struct cb_loop_setup setup = {
        .kinds = kinds,
        .config = &own,
        .cues = cues,
        .log_path = log,
        .ascii = args->ascii || config->ascii,
        .speed = 1,
        .begun = begun,
        .farewell = &farewell,
        .recipe_path = begun_path,
    };
    enum cb_status status = open_once(&setup, &err);
    if (status == CB_DATA && go_on_with_saved(log, args, &err)) {
        err = (struct cb_err){0};
        status = open_once(&setup, &err);
    }
    if (status == CB_OK && farewell.length > 0) {
        cb_command_wrap(cb_str_text(&farewell), 0);
    }
    cb_str_fini(&farewell);
    return status == CB_OK ? 0 : cb_command_fail(&err);
}

static int run(const struct cb_args *args)
{
    return cb_command_open_bench(args, NULL, NULL);
}

static const struct cb_option options[] = {
    {"--quiet-clock", NULL, "countdowns in minutes alone"},
    {0},
};

const struct cb_command cb_command_bench = {
    .name = "",
    .operands = "",
    .summary = "A bench companion for painting small figures. Without a command: the bench.",
    .options = options,
    .run = run,
};
