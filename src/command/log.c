/* SPDX-License-Identifier: MIT */
/* `log`: the log as text, out of and into coatbell. */
#include <stdio.h>
#include <string.h>

#include "command/command.h"
#include "shell/console.h"
#include "shell/history.h"
#include "shell/jsonl.h"
#include "shell/out_file.h"
#include "shell/paths.h"
#include "shell/transfer.h"
#include "shell/yaml.h"

#define IMPORT_BYTES_MAX ((size_t)2 << 30) /* some ten million events */

static void print_answer(struct cb_json *json)
{
    struct cb_str out = {0};
    cb_json_take(json, &out);
    fputs(cb_str_text(&out), stdout);
    cb_str_fini(&out);
    cb_json_free(json);
}

static int finish(enum cb_status status, struct cb_err *err)
{
    if (status == CB_OK) {
        status = cb_console_finish(err);
    }
    return status == CB_OK ? 0 : cb_command_fail(err);
}

/* ---- export ---- */

static int export_log(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct cb_out_file *file = NULL;
    struct cb_store *store = NULL;
    size_t count = 0;
    const char *log = cb_args_log(args, &err);
    const char *path = args->operand_count > 1 ? args->operands[1] : "-";
    enum cb_transfer_format format =
        cb_args_has(args, "--csv") ? CB_TRANSFER_CSV : CB_TRANSFER_JSONL;
    enum cb_status status = cb_store_open(log, CB_STORE_READ, &store, &err);
    if (status == CB_OK) {
        status = cb_out_file_open(path, log, &file, &err);
    }
    if (status == CB_OK) {
        status = cb_transfer_out(store, format, cb_out_file_write, file, &count, &err);
        struct cb_err written = {0};
        if (cb_out_file_close(file, status == CB_OK, &written) != CB_OK) {
            err = written;
            status = written.status;
        }
    }
    cb_store_close(store);
    if (status == CB_OK && strcmp(path, "-") != 0 && args->json) {
        struct cb_json *json = cb_json_new();
        cb_json_text(json, "file", path);
        cb_json_integer(json, "events", (long long)count);
        print_answer(json);
    }
    return finish(status, &err);
}

/* ---- import ---- */

static void print_issues(const struct cb_args *args, const char *path, const char *text,
                         const struct cb_issues *issues)
{
    if (!args->json) {
        struct cb_str out = {0};
        cb_issues_print(issues, path, text, &out);
        fputs(cb_str_text(&out), stderr);
        cb_str_fini(&out);
        return;
    }
    struct cb_json *json = cb_json_new();
    cb_json_list(json, "errors");
    for (size_t i = 0; i < issues->count; i++) {
        cb_json_object(json, NULL);
        cb_json_text(json, "file", path);
        cb_json_integer(json, "line", issues->items[i].line);
        cb_json_integer(json, "col", issues->items[i].column);
        cb_json_text(json, "message", issues->items[i].message);
        cb_json_end(json);
    }
    cb_json_end(json);
    print_answer(json);
}

/* What finished units taught is worked out once, here, where somebody waits anyway; the bench would
 * do it in its idle time. That it can't be kept takes nothing from the import. */
static void keep_lessons(const struct cb_args *args, struct cb_store *store)
{
    const struct cb_kinds *kinds;
    struct cb_history *history;
    struct cb_taught taught = {0};
    if (cb_paths_kinds(args->arena, &kinds, NULL) == CB_OK &&
        cb_history_open(store, kinds, &history, NULL) == CB_OK) {
        char what[] = "log import: what it teaches";
        cb_history_tell(history, cb_command_progress, what);
        (void)cb_history_taught(history, &taught, NULL);
        cb_command_progress_end();
        cb_taught_fini(&taught);
        cb_history_close(history);
    }
}

static int import_log(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct cb_issues issues = {0};
    struct cb_store *store = NULL;
    char *text = NULL;
    size_t length = 0, found = 0, added = 0;
    if (args->operand_count != 2) {
        return cb_command_failf(CB_USAGE, "log import: it takes one FILE, - is standard input");
    }
    const char *path = args->operands[1];
    enum cb_status status =
        cb_file_read(path, IMPORT_BYTES_MAX, args->arena, &text, &length, &err);
    if (status != CB_OK) {
        return cb_command_fail(&err);
    }
    if (cb_transfer_check(text, length, args->arena, &issues, &found) != CB_OK) {
        print_issues(args, path, text, &issues);
        fflush(stdout);
        return cb_command_failf(CB_DATA, "nothing was imported: mend %s and try again",
                                strcmp(path, "-") == 0 ? "the lines" : path);
    }
    status = cb_store_open(cb_args_log(args, &err), CB_STORE_APPEND, &store, &err);
    if (status == CB_OK) {
        status = cb_transfer_in(store, text, length, &added, &err);
    }
    if (status == CB_OK && added > 0) {
        keep_lessons(args, store);
    }
    cb_store_close(store);
    if (status == CB_OK && args->json) {
        struct cb_json *json = cb_json_new();
        cb_json_integer(json, "imported", (long long)added);
        cb_json_integer(json, "known", (long long)(found - added));
        print_answer(json);
    } else if (status == CB_OK) {
        printf("imported %zu event%s, %zu there already\n", added, added == 1 ? "" : "s",
               found - added);
    }
    return finish(status, &err);
}

static int run(const struct cb_args *args)
{
    const char *what = args->operands[0];
    bool export = strcmp(what, "export") == 0;
    if (!export && strcmp(what, "import") != 0) {
        return cb_command_failf(CB_USAGE, "log: unknown word: %s, it takes export or import",
                                what);
    }
    struct cb_err err = {0};
    if (cb_args_log(args, &err) == NULL) {
        return cb_command_fail(&err);
    }
    if (!export && cb_args_has(args, "--csv")) {
        return cb_command_failf(CB_USAGE, "log import: --csv goes with export; import reads JSON "
                                "Lines");
    }
    return export ? export_log(args) : import_log(args);
}

static const struct cb_option options[] = {
    {"--csv", NULL, "export: CSV for spreadsheets (RFC 4180) instead of JSON Lines"},
    {NULL, NULL, NULL},
};

const struct cb_command cb_command_log = {
    .name = "log",
    .operands = "export [FILE] | import FILE",
    .summary = "Write the log out as lines of JSON, or take such lines in.",
    .options = options,
    .min_operands = 1,
    .max_operands = 2,
    .run = run,
};
