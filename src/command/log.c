/* SPDX-License-Identifier: MIT */
/* `log`: the log as text, out of and into coatbell. */
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "command/command.h"
#include "command/log_internal.h"
#include "shell/history.h"
#include "shell/json_write.h"
#include "shell/out_file.h"
#include "shell/store_salvage.h"
#include "shell/transfer.h"
#include "shell/yaml.h"

#define IMPORT_BYTES_MAX ((size_t)2 << 30) /* some ten million events */
#define DAMAGE_SIZE      1024              /* as a fault's text */

/* What was left: the first ones in full, then how many more. */
static void print_left(const struct cb_args *args, const struct cb_transfer_left *left,
                       const char *file)
{
    struct cb_str text = {0};
    struct cb_str out = {0};
    for (size_t i = 0; i < left->first.count; i++) {
        const struct cb_issue *issue = &left->first.items[i];
        cb_str_add(&text, file);
        if (issue->line > 0) {
            cb_str_addf(&text, ":%d:%d", issue->line, issue->column);
        }
        cb_str_addf(&text, ": %s\n", issue->message);
    }
    if (left->count > left->first.count) {
        cb_str_addf(&text, "%s: and %zu more\n", file, left->count - left->first.count);
    }
    cb_command_lines(&out, cb_str_text(&text), args->ascii);
    cb_str_fini(&text);
    fflush(stdout);
    cb_command_print(stderr, &out);
}

static void json_left(struct cb_json *json, const struct cb_transfer_left *left, const char *file)
{
    cb_json_integer(json, "left", (long long)left->count);
    cb_json_list(json, "errors");
    for (size_t i = 0; i < left->first.count; i++) {
        const struct cb_issue *issue = &left->first.items[i];
        cb_json_object(json, NULL);
        cb_json_text(json, "file", file);
        if (issue->line > 0) {
            cb_json_integer(json, "line", issue->line);
            cb_json_integer(json, "col", issue->column);
        }
        cb_json_text(json, "message", issue->message);
        cb_json_end(json);
    }
    cb_json_end(json);
}

/* ---- export ---- */

static bool pass_over(void *context, const struct cb_event *event)
{
    (void)context;
    (void)event;
    return true;
}

/* Opens the log for an export: as it is, or what can be read of it where it is damaged; then *found
 * tells how much, and damage why. */
static enum cb_status open_to_export(const char *log, struct cb_store **store,
                                     struct cb_salvage *found, char damage[DAMAGE_SIZE],
                                     struct cb_err *err)
{
    struct cb_arena arena = {0};
    enum cb_status status = cb_store_open(log, CB_STORE_READ, store, err);
    const char *why = status == CB_DATA ? err->text : NULL;
    if (status == CB_OK) {
        struct cb_err fault = {0};
        cb_store_check_pages(*store);
        const bool read = cb_store_each(*store, NULL, pass_over, NULL, &fault) == CB_OK;
        why = !read                         ? cb_arena_text(&arena, fault.text)
              : cb_store_is_damaged(*store) ? cb_store_damage(*store, &arena)
                                            : NULL;
    }
    if (why != NULL) {
        struct cb_store *saved = NULL;
        snprintf(damage, DAMAGE_SIZE, "%s", why);
        cb_store_close(
            *store); /* before its file is opened once more: that would let go of its locks */
        *store = NULL;
        if (cb_store_salvage(log, NULL, &saved, found, NULL) == CB_OK &&
            !(found->older && found->saved == 0)) {
            *store = saved;
            status = CB_OK;
        } else {
            cb_store_close(saved);
            status = cb_err_set(err, CB_DATA, "%s", damage);
        }
    }
    cb_arena_fini(&arena);
    return status;
}

static int export_log(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct cb_out_file *file = NULL;
    struct cb_store *store = NULL;
    struct cb_transfer_left left = {0};
    struct cb_salvage found = {0};
    char damage[DAMAGE_SIZE] = "";
    size_t count = 0;
    const char *log = cb_args_log(args, &err);
    const char *path = args->operand_count > 1 ? args->operands[1] : "-";
    enum cb_transfer_format format =
        cb_args_has(args, "--csv") ? CB_TRANSFER_CSV : CB_TRANSFER_JSONL;
    enum cb_status status =
        log == NULL ? err.status : open_to_export(log, &store, &found, damage, &err);
    if (status == CB_OK) {
        status = cb_out_file_open(path, log, &file, &err);
    }
    if (status == CB_OK) {
        status = cb_transfer_out(store, format, cb_out_file_write, file, args->arena, &count, &left,
                                 &err);
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
        json_left(json, &left, log);
        cb_command_print_json(json);
    } else if (status == CB_OK) {
        print_left(args, &left, log);
    }
    if (status == CB_OK && damage[0] != '\0') {
        struct cb_str text = {0};
        cb_str_addf(&text, "%s; %zu of %zu events saved", damage, count, found.known);
        if (found.cut) {
            cb_str_add(&text, "; the file is cut short, and what lay behind is not counted");
        }
        if (found.nowhere > 0) {
            cb_str_addf(&text, ", %zu of them without machine and boot", found.nowhere);
        }
        status = cb_err_set(&err, CB_FAILED, "%s", cb_str_text(&text));
        cb_str_fini(&text);
    } else if (status == CB_OK && left.count > 0) {
        status = cb_err_set(&err, CB_DATA,
                            "%s: %zu of %zu events left out: as they stand they are "
                            "no events; all others were written",
                            log, left.count, left.count + count);
    }
    return status == CB_OK ? 0 : cb_command_fail(&err);
}

/* ---- import ---- */

/* What finished units taught is worked out once, here, where somebody waits anyway; the bench would
 * do it in its idle time. That it can't be kept takes nothing from the import. */
static void keep_lessons(const struct cb_args *args, struct cb_store *store)
{
    const struct cb_kinds *kinds;
    struct cb_history *history;
    struct cb_taught taught = {0};
    if (cb_args_settings(args, &kinds, NULL, NULL) == CB_OK &&
        cb_history_open(store, kinds, &history, NULL) == CB_OK) {
        char what[] = "log import: what it teaches";
        cb_history_tell(history, cb_command_progress, what);
        (void)cb_history_taught(history, &taught, NULL);
        cb_command_progress_end();
        cb_taught_fini(&taught);
        cb_history_close(history);
    }
}

/* A file is read as it is taken; what comes through a pipe is all here first, so that a slow one
 * does not hold the log. */
static enum cb_status take(const struct cb_args *args, struct cb_store *store, const char *path,
                           struct cb_file *file, struct cb_transfer_taken *taken,
                           struct cb_err *err)
{
    char what[] = "log import";
    struct cb_transfer_text text = {0};
    struct cb_transfer_in in = {
        .read = cb_file_part,
        .context = file,
        .strict = cb_args_has(args, "--strict"),
        .tell = cb_command_progress_lines,
        .told = what,
    };
    enum cb_status status = CB_OK;
    if (strcmp(path, "-") == 0) {
        char *bytes;
        status = cb_file_read(path, IMPORT_BYTES_MAX, args->arena, &bytes, &text.left, err);
        text.at = bytes;
        in.read = cb_transfer_read_text;
        in.context = &text;
    }
    if (status == CB_OK) {
        status = cb_transfer_in(store, &in, args->arena, taken, err);
    }
    cb_command_progress_end();
    return status;
}

static int import_log(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct cb_store *store = NULL;
    struct cb_file file;
    struct cb_transfer_taken taken = {0};
    if (args->operand_count != 2) {
        return cb_command_failf(CB_USAGE, "log import: it takes one FILE, - is standard input");
    }
    const char *path = args->operands[1];
    enum cb_status status = cb_file_open(path, &file, &err);
    if (status != CB_OK) {
        return cb_command_fail(&err);
    }
    status = cb_store_open(cb_args_log(args, &err), CB_STORE_APPEND, &store, &err);
    if (status == CB_OK) {
        status = take(args, store, path, &file, &taken, &err);
    }
    cb_file_close(&file);
    if (status == CB_OK && taken.added > 0) {
        keep_lessons(args, store);
    }
    cb_store_close(store);
    const size_t known = status == CB_OK ? taken.lines - taken.added - taken.left.count : 0;
    if (args->json && (status == CB_OK || taken.left.count > 0)) {
        struct cb_json *json = cb_json_new();
        cb_json_integer(json, "imported", (long long)taken.added);
        cb_json_integer(json, "known", (long long)known);
        json_left(json, &taken.left, path);
        cb_command_print_json(json);
    } else {
        print_left(args, &taken.left, path);
    }
    if (status == CB_OK && !args->json) {
        printf("imported %zu event%s, %zu there already\n", taken.added,
               taken.added == 1 ? "" : "s", known);
    }
    if (status == CB_OK && taken.left.count > 0) {
        status = cb_err_set(&err, CB_DATA,
                            "%s: %zu line%s left, all others are in the log; once "
                            "mended, import the file again",
                            path, taken.left.count, taken.left.count == 1 ? "" : "s");
    }
    return status == CB_OK ? 0 : cb_command_fail(&err);
}

static const struct {
    const char *word, *takes; /* the option that goes with it; NULL: none */
    int (*run)(const struct cb_args *args);
} uses[] = {
    {"export", "--csv", export_log},      {"import", "--strict", import_log},
    {"check", "--mend", cb_log_check},    {"backup", NULL, cb_log_backup},
    {"restore", "--yes", cb_log_restore},
};

static int run(const struct cb_args *args)
{
    const char *what = args->operands[0];
    struct cb_err err = {0};
    const size_t count = sizeof uses / sizeof *uses;
    size_t use = 0;
    while (use < count && strcmp(uses[use].word, what) != 0) {
        use++;
    }
    if (use == count) {
        return cb_command_failf(CB_USAGE,
                                "log: unknown word: %s, it takes export, import, check, backup or "
                                "restore",
                                what);
    }
    for (size_t i = 0; i < count; i++) {
        if (i != use && uses[i].takes != NULL && cb_args_has(args, uses[i].takes)) {
            return cb_command_failf(
                CB_USAGE, "log %s: %s goes with %s%s", what, uses[i].takes, uses[i].word,
                strcmp(what, "import") == 0 && strcmp(uses[i].word, "export") == 0
                    ? "; import reads JSON Lines"
                    : "");
        }
    }
    return cb_args_log(args, &err) == NULL ? cb_command_fail(&err) : uses[use].run(args);
}

static const struct cb_option options[] = {
    {"--csv", NULL, "export: CSV for spreadsheets (RFC 4180) instead of JSON Lines"},
    {"--strict", NULL, "import: all or nothing, where a bad line is else left and said"},
    {"--mend", NULL, "check: mend what is wrong; the log as it was is kept beside it"},
    {"--yes", NULL, "restore: though the log holds events that FILE has not"},
    {0},
};

const struct cb_command cb_command_log = {
    .name = "log",
    .operands = "export [FILE] | import FILE | check | backup FILE | restore FILE",
    .summary = "Write the log out or take lines in, check and mend it, back it up and put it back.",
    .options = options,
    .min_operands = 1,
    .max_operands = 2,
    .run = run,
};
