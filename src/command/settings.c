/* SPDX-License-Identifier: MIT */
/* `settings`: what is in force of config.yaml, from where, and the line that would change it. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "command/log_read.h"
#include "command/wrap.h"
#include "core/recipe/config.h"
#include "shell/console.h"
#include "shell/json_write.h"
#include "shell/paths.h"

#define VALUE_LEFT 13
#define FROM_LEFT  31
#define LINE_LEFT  50

struct row {
    const char *key, *value;
    const char *line; /* NULL: none in the file changes what an option or the environment says */
    const char *from; /* as a script asks for it: default, config, option, environment, log */
    const char *said; /* as a reader does: "line 3", "NO_COLOR" */
    int at;           /* line of config.yaml; 0: it is not there */
};

/* What all commands go by that ask the log; false: it is what the config says, or there is none. */
static bool log_confidence(const struct cb_args *args, double *confidence)
{
    struct cb_err err = {0};
    struct cb_log_read log;
    bool another = false;
    if (!cb_log_read_is_there(args)) {
        return false;
    }
    const enum cb_status status = cb_log_read_open(&log, args, &err);
    if (status == CB_OK) {
        const double said = cb_bench_facts(log.bench).confidence;
        another = fabs(said - *confidence) > CB_CONFIDENCE_SAME;
        *confidence = said;
    }
    (void)cb_log_read_close(&log, status, &err);
    return another;
}

static bool has_no_colour(void)
{
    const char *said = getenv("NO_COLOR");
    return said != NULL && said[0] != '\0';
}

static const char *line_of(const char *key, const struct cb_config *config, enum cb_setting setting,
                           struct cb_arena *arena)
{
    return cb_arena_printf(arena, "%s: %s", key, cb_config_other(config, setting));
}

/* What is said elsewhere goes before the file. */
static void find_other(const struct cb_args *args, enum cb_setting setting, struct row *row,
                       struct cb_config *config)
{
    const bool utf8 = cb_console_is_utf8();
    if (setting == CB_SETTING_ASCII && (args->ascii_said || !utf8)) {
        config->ascii = true;
        row->line = NULL;
        row->from = args->ascii_said ? "option" : "environment";
        row->said = args->ascii_said ? "--ascii" : "the locale";
    } else if (setting == CB_SETTING_THEME && has_no_colour()) {
        config->theme = CB_THEME_MONO;
        row->line = NULL;
        row->from = "environment";
        row->said = "NO_COLOR";
    } else if (setting == CB_SETTING_CONFIDENCE && log_confidence(args, &config->confidence)) {
        row->from = "log";
        if (row->at > 0) {
            row->said =
                cb_arena_printf(args->arena, "the log; line %d from the next opening", row->at);
        } else {
            row->said = "the log";
            row->line = line_of(row->key, config, setting, args->arena);
        }
    } else if (setting == CB_SETTING_EVENING && row->at == 0) {
        row->from = "log";
        row->said = "the log";
    }
}

static struct row row_of(const struct cb_args *args, enum cb_setting setting,
                         struct cb_config *config)
{
    struct cb_arena *arena = args->arena;
    struct row row = {.key = cb_setting_names[setting], .at = config->lines[setting]};
    row.from = row.at > 0 ? "config" : "default";
    row.said = row.at > 0 ? cb_arena_printf(arena, "line %d", row.at) : "the default";
    row.line = line_of(row.key, config, setting, arena);
    find_other(args, setting, &row, config);
    row.value = cb_config_value(config, setting, arena);
    return row;
}

static void print_json(const char *path, bool there, const struct row rows[CB_SETTING_COUNT])
{
    struct cb_json *json = cb_json_new();
    cb_json_text(json, "path", path);
    cb_json_bool(json, "there", there);
    cb_json_list(json, "settings");
    for (int i = 0; i < CB_SETTING_COUNT; i++) {
        cb_json_object(json, NULL);
        cb_json_text(json, "key", rows[i].key);
        cb_json_text(json, "value", rows[i].value);
        cb_json_text(json, "from", rows[i].from);
        cb_json_text(json, "said", rows[i].said);
        cb_json_integer(json, "line", rows[i].at);
        cb_json_text(json, "change", rows[i].line);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_command_print_json(json);
}

/* Text at its column, or where it is too long for that on a line of its own. */
static int put_at(struct cb_str *out, int used, int column, const char *text)
{
    if (used > 0 && used >= column) {
        cb_str_add(out, "\n");
        used = 0;
    }
    cb_str_addf(out, "%*s%s", column - used, "", text);
    return column + cb_utf8_text_width(text);
}

static void add_row(struct cb_str *out, const struct row *row)
{
    const char *value = row->value != NULL ? row->value : "as the log says";
    int used = put_at(out, 0, 0, row->key);
    used = put_at(out, used, VALUE_LEFT, value);
    used = put_at(out, used, FROM_LEFT, row->said);
    if (row->line != NULL) {
        (void)put_at(out, used, LINE_LEFT, row->line);
    }
    cb_str_add(out, "\n");
}

static void print_table(const struct cb_args *args, const char *path, bool there,
                        const struct row rows[CB_SETTING_COUNT])
{
    static const struct row head = {
        .key = "SETTING", .value = "IN FORCE", .said = "FROM", .line = "A LINE THAT CHANGES IT"};
    struct cb_str out = {0};
    bool outside = false;
    cb_args_print(args, path != NULL ? path : "no home folder is known: there is no config.yaml");
    if (path != NULL && !there) {
        cb_command_wrap("It is not there: write it with any of the lines on the right.", 0);
    }
    cb_str_add(&out, "\n");
    add_row(&out, &head);
    for (int i = 0; i < CB_SETTING_COUNT; i++) {
        add_row(&out, &rows[i]);
        outside = outside || cb_str_same(rows[i].from, "option") ||
                  cb_str_same(rows[i].from, "environment");
    }
    cb_args_print(args, cb_str_text(&out));
    cb_str_fini(&out);
    if (outside) {
        printf("\n");
        cb_command_wrap("What an option or the environment says goes before config.yaml.", 0);
    }
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct row rows[CB_SETTING_COUNT];
    const struct cb_kinds *kinds = NULL;
    const struct cb_config *config = NULL;
    bool there = false;
    if (cb_args_settings(args, &kinds, &config, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    const char *path = cb_paths_config(args->arena, &there);
    struct cb_config force = *config;
    for (int i = 0; i < CB_SETTING_COUNT; i++) {
        rows[i] = row_of(args, (enum cb_setting)i, &force);
    }
    if (args->json) {
        print_json(path, there, rows);
    } else {
        print_table(args, path, there, rows);
    }
    return 0;
}

const struct cb_command cb_command_settings = {
    .name = "settings",
    .operands = "",
    .summary = "Print every setting: what is in force, from where, and a line that changes it.",
    .run = run,
};
