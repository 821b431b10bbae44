/* SPDX-License-Identifier: MIT */
/* `play`: scripted keys on a fake clock, for tests, the manual's pictures and bug reports. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "command/command.h"
#include "command/rehearse.h"
#include "core/recipe/recipe.h"
#include "shell/jsonl.h"
#include "shell/recipe_file.h"
#include "shell/recipes.h"
#include "shell/yaml.h"
#include "view/grid.h"
#include "app/key.h"

#define SCRIPT_BYTES_MAX (1024 * 1024)
#define SIZE_MAX_CELLS   1000

struct play {
    struct cb_arena *arena;
    const char *script;
    const struct cb_kinds *kinds;
    const struct cb_cues *cues;
    const struct cb_config *config;
    struct cb_store *store;
    struct cb_rehearse *stage;
    struct cb_moment start;
    int rows, columns;
    bool ascii;
};

typedef enum cb_status play_step(struct play *play, const char *rest, struct cb_err *err);

static bool read_size(const char *text, int *columns, int *rows)
{
    char *end;
    long wide = strtol(text, &end, 10);
    if (end == text || (*end != 'x' && *end != 'X')) {
        return false;
    }
    const char *second = end + 1;
    long high = strtol(second, &end, 10);
    if (end == second || *end != '\0' || wide < 1 || high < 1 || wide > SIZE_MAX_CELLS ||
        high > SIZE_MAX_CELLS) {
        return false;
    }
    *columns = (int)wide;
    *rows = (int)high;
    return true;
}

static enum cb_status need_stage(struct play *play, struct cb_err *err)
{
    return play->stage ? CB_OK
                       : cb_err_set(err, CB_FAILED,
                                    "no bench is open; write bench, begin FILE or open LOG first");
}

static enum cb_status raise(struct play *play, const char *log, struct cb_err *err)
{
    if (play->stage) {
        return cb_err_set(err, CB_FAILED,
                          "a bench is open already; write bench, begin or open once");
    }
    enum cb_status status = cb_store_open(log, CB_STORE_APPEND, &play->store, err);
    if (status != CB_OK) {
        return status;
    }
    struct cb_rehearse_setup setup = {
        .kinds = play->kinds,
        .config = play->config,
        .cues = play->cues,
        .store = play->store,
        .rows = play->rows,
        .columns = play->columns,
        .ascii = play->ascii,
    };
    return cb_rehearse_new(&setup, play->start, &play->stage, err);
}

/* As given; else beside the script. */
static const char *find_file(struct play *play, const char *path)
{
    const char *slash = strrchr(play->script, '/');
    if (cb_file_is_there(path) || path[0] == '/' || !slash) {
        return path;
    }
    char *beside =
        cb_arena_printf(play->arena, "%.*s/%s", (int)(slash - play->script), play->script, path);
    return cb_file_is_there(beside) ? beside : path;
}

/* Cuts " -n 10" off the end of what is given; *figures stays where it is not there. */
static enum cb_status take_figures(char *given, const char *option, long long *figures,
                                   struct cb_err *err)
{
    char *at = strstr(given, option);
    if (!at) {
        return CB_OK;
    }
    const char *value = at + strlen(option);
    if (!cb_str_integer(value, figures) || *figures < 1 || *figures > CB_FIGURES_MAX) {
        return cb_err_set(err, CB_FAILED, "%s%s: figures are a whole number, 1 to %d", option + 1,
                          value, CB_FIGURES_MAX);
    }
    while (at > given && at[-1] == ' ') {
        at--;
    }
    *at = '\0';
    return CB_OK;
}

static enum cb_status step_begin(struct play *play, const char *rest, struct cb_err *err)
{
    struct cb_recipe_file file;
    long long figures = 0, first = 0;
    char *path = cb_arena_text(play->arena, rest);
    if (take_figures(path, " --first ", &first, err) != CB_OK ||
        take_figures(path, " -n ", &figures, err) != CB_OK) {
        return CB_FAILED;
    }
    if (cb_recipe_file_read(find_file(play, path), play->kinds, play->arena, &file, err) != CB_OK) {
        return CB_FAILED;
    }
    if (figures == 0) {
        figures = file.recipe->figures > 0 ? file.recipe->figures : 1;
    }
    struct cb_app_recipe *offer = cb_arena_alloc(play->arena, 1, sizeof *offer);
    *offer = cb_recipes_read(file.path, play->kinds, play->arena);
    enum cb_status status = raise(play, NULL, err);
    if (status == CB_OK) {
        cb_rehearse_offer(play->stage, offer, 1);
        cb_rehearse_first(play->stage, (int)first);
        status = cb_rehearse_begin(play->stage, file.recipe->name, (int)figures, file.text, err);
    }
    return status;
}

/* What R reads from here on: the file that was begun, as it is now, or another version of it. */
static enum cb_status step_recipe(struct play *play, const char *rest, struct cb_err *err)
{
    struct cb_app_recipe *offer = cb_arena_alloc(play->arena, 1, sizeof *offer);
    const char *path = find_file(play, rest);
    if (!cb_file_is_there(path)) {
        return cb_err_set(err, CB_FAILED, "no such file: %s", path);
    }
    *offer = cb_recipes_read(path, play->kinds, play->arena);
    cb_rehearse_offer(play->stage, offer, 1);
    return CB_OK;
}

/* Where nothing was ever begun. */
static enum cb_status step_bench(struct play *play, const char *rest, struct cb_err *err)
{
    (void)rest;
    const enum cb_status status = raise(play, NULL, err);
    if (status == CB_OK) {
        cb_rehearse_offer(play->stage, NULL, 0);
    }
    return status;
}

static bool latest(void *context, const struct cb_event *event)
{
    struct cb_moment *now = context;
    now->wall_ms = event->at_ms > now->wall_ms ? event->at_ms : now->wall_ms;
    return true;
}

/* A log from elsewhere may be younger than the script's clock: that goes on from its end. */
static enum cb_status step_open(struct play *play, const char *rest, struct cb_err *err)
{
    struct cb_store *store = NULL;
    struct cb_store_filter all = {0};
    if (cb_store_open(rest, CB_STORE_APPEND, &store, err) != CB_OK) {
        return CB_FAILED;
    }
    enum cb_status status = cb_store_each(store, &all, latest, &play->start, err);
    cb_store_close(store);
    if (status != CB_OK || (status = raise(play, rest, err)) != CB_OK) {
        return status;
    }
    size_t count;
    const struct cb_app_recipe *recipes = cb_recipes_list(NULL, play->kinds, play->arena, &count);
    cb_rehearse_offer(play->stage, recipes, count);
    return CB_OK;
}

static enum cb_status step_key(struct play *play, const char *rest, struct cb_err *err)
{
    uint32_t key;
    if (!cb_key_from_name(rest, &key)) {
        return cb_err_set(err, CB_FAILED, "no such key: %s; SPACE, ENTER, F1 or one character",
                          rest);
    }
    cb_rehearse_feed(play->stage, (struct cb_input){.kind = CB_INPUT_KEY, .key = key});
    return CB_OK;
}

static enum cb_status step_type(struct play *play, const char *rest, struct cb_err *err)
{
    (void)err;
    for (uint32_t cp = cb_utf8_next(&rest); cp; cp = cb_utf8_next(&rest)) {
        cb_rehearse_feed(play->stage, (struct cb_input){.kind = CB_INPUT_KEY, .key = cp});
    }
    return CB_OK;
}

static enum cb_status step_do(struct play *play, const char *rest, struct cb_err *err)
{
    enum cb_action action;
    if (!cb_action_from_name(rest, &action)) {
        return cb_err_set(err, CB_FAILED, "no such action: %s; the help view lists them", rest);
    }
    cb_rehearse_feed(play->stage, (struct cb_input){.kind = CB_INPUT_ACTION, .action = action});
    return CB_OK;
}

/* "+12m", "1h30m", "90 s", "12 min": a sign only where it may be one. */
static bool read_span(const char *text, bool sign, int64_t *ms)
{
    char spaced[64];
    size_t n = 0;
    bool minus = sign && text[0] == '-';
    text += text[0] == '+' || minus;
    /* One letter is the usual short form: h and s are units of recipes too, m is theirs. */
    for (; *text && n + 4 < sizeof spaced; text++) {
        spaced[n++] = *text;
        bool alone = text[1] == '\0' || (text[1] >= '0' && text[1] <= '9') || text[1] == ' ';
        if (*text == 'm' && alone) {
            spaced[n++] = 'i';
            spaced[n++] = 'n';
        }
    }
    spaced[n] = '\0';
    double total = 0, part;
    char *at = spaced;
    if (!*at) {
        return false;
    }
    while (*at) {
        char piece[64];
        size_t length = strspn(at, "0123456789. ");
        length += strcspn(at + length, "0123456789. ");
        snprintf(piece, sizeof piece, "%.*s", (int)length, at);
        if (!cb_recipe_minutes(piece, &part)) {
            return false;
        }
        total += part;
        at += length;
    }
    *ms = (int64_t)(total * (double)CB_MS_PER_MIN + 0.5) * (minus ? -1 : 1);
    return true;
}

static enum cb_status step_at(struct play *play, const char *rest, struct cb_err *err)
{
    int64_t ms;
    if (rest[0] != '+' && cb_time_parse(rest, &ms)) {
        int64_t now_ms = play->stage ? cb_rehearse_now(play->stage).wall_ms : play->start.wall_ms;
        ms -= now_ms;
        if (ms < 0) {
            return cb_err_set(err, CB_FAILED, "that moment has passed: %s", rest);
        }
    } else if (rest[0] != '+' || !read_span(rest, false, &ms)) {
        return cb_err_set(err, CB_FAILED, "no span of time: %s; +12m, +1h30m, +40s", rest);
    }
    if (play->stage) {
        cb_rehearse_advance(play->stage, ms);
    } else {
        play->start.wall_ms += ms;
    }
    return CB_OK;
}

static enum cb_status step_wall(struct play *play, const char *rest, struct cb_err *err)
{
    int64_t ms;
    if (!read_span(rest, true, &ms)) {
        return cb_err_set(err, CB_FAILED, "no span of time: %s; +1h or -20m", rest);
    }
    if (play->stage) {
        cb_rehearse_set_wall(play->stage, ms);
    } else {
        play->start.wall_ms += ms;
    }
    return CB_OK;
}

static enum cb_status step_sleep(struct play *play, const char *rest, struct cb_err *err)
{
    int64_t ms;
    if (!read_span(rest, false, &ms)) {
        return cb_err_set(err, CB_FAILED, "no span of time: %s; 1h or 20m", rest);
    }
    cb_rehearse_sleep(play->stage, ms);
    return CB_OK;
}

static enum cb_status step_reboot(struct play *play, const char *rest, struct cb_err *err)
{
    (void)rest;
    return cb_rehearse_reboot(play->stage, err);
}

static enum cb_status step_size(struct play *play, const char *rest, struct cb_err *err)
{
    if (!read_size(rest, &play->columns, &play->rows)) {
        return cb_err_set(err, CB_FAILED, "no size: %s; columns x rows, as 80x24", rest);
    }
    if (play->stage) {
        cb_rehearse_feed(
            play->stage,
            (struct cb_input){.kind = CB_INPUT_SIZE, .rows = play->rows, .columns = play->columns});
    }
    return CB_OK;
}

static enum cb_status step_view(struct play *play, const char *rest, struct cb_err *err)
{
    if (!cb_rehearse_show(play->stage, rest)) {
        return cb_err_set(err, CB_FAILED,
                          "no such view: %s; bench, rack, road, pots, review, glance, help", rest);
    }
    return CB_OK;
}

/* What the bell's pop-up would say back; the last one shown. */
static enum cb_status step_button(struct play *play, const char *rest, struct cb_err *err)
{
    bool dry = strcmp(rest, "dry") == 0;
    if (!dry && strcmp(rest, "wet") != 0) {
        return cb_err_set(err, CB_FAILED, "no such button: %s; dry or wet", rest);
    }
    cb_rehearse_feed(play->stage, (struct cb_input){.kind = CB_INPUT_BUTTON,
                                                    .ping_id = cb_rehearse_last_ping(play->stage),
                                                    .button_dry = dry});
    return CB_OK;
}

static enum cb_status write_file(const char *path, const struct cb_str *text, struct cb_err *err)
{
    bool shown = strcmp(path, "-") == 0;
    FILE *file = shown ? stdout : fopen(path, "wb");
    if (!file) {
        return cb_err_set(err, CB_FAILED, "can't write: %s", path);
    }
    bool fine = fwrite(cb_str_text(text), 1, text->length, file) == text->length;
    fine = (shown ? fflush(file) : fclose(file)) == 0 && fine;
    return fine ? CB_OK : cb_err_set(err, CB_FAILED, "can't write: %s", path);
}

static enum cb_status step_dump(struct play *play, const char *rest, struct cb_err *err)
{
    struct cb_str text = {0};
    cb_grid_dump(cb_rehearse_grid(play->stage), &text);
    enum cb_status status = write_file(rest, &text, err);
    cb_str_fini(&text);
    return status;
}

/* In one row of the screen, with the row's blanks as they are or taken together. */
static bool shows(struct play *play, const char *wanted)
{
    struct cb_str text = {0}, single = {0};
    cb_grid_dump(cb_rehearse_grid(play->stage), &text);
    const char *from = cb_str_text(&text);
    for (const char *c = from; *c; c++) {
        if (*c != ' ' || (c > from && c[-1] != ' ')) {
            cb_str_add_n(&single, c, 1);
        }
    }
    bool found = strstr(from, wanted) || strstr(cb_str_text(&single), wanted);
    cb_str_fini(&text);
    cb_str_fini(&single);
    return found;
}

static enum cb_status step_expect(struct play *play, const char *rest, struct cb_err *err)
{
    return shows(play, rest) ? CB_OK : cb_err_set(err, CB_FAILED, "not on the screen: %s", rest);
}

static enum cb_status step_refuse(struct play *play, const char *rest, struct cb_err *err)
{
    return shows(play, rest) ? cb_err_set(err, CB_FAILED, "on the screen: %s", rest) : CB_OK;
}

static bool export_one(void *context, const struct cb_event *event)
{
    struct cb_str *out = context;
    cb_jsonl_encode(event, out);
    cb_str_add(out, "\n");
    return true;
}

static enum cb_status step_export(struct play *play, const char *rest, struct cb_err *err)
{
    struct cb_str text = {0};
    struct cb_store_filter all = {0};
    enum cb_status status = cb_store_each(play->store, &all, export_one, &text, err);
    if (status == CB_OK) {
        status = write_file(rest, &text, err);
    }
    cb_str_fini(&text);
    return status;
}

static const struct {
    const char *word;
    play_step *run;
    bool needs_stage, needs_rest;
} steps[] = {
    {"begin", step_begin, false, true},   {"open", step_open, false, true},
    {"recipe", step_recipe, true, true},  {"bench", step_bench, false, false},
    {"key", step_key, true, true},        {"type", step_type, true, true},
    {"do", step_do, true, true},          {"at", step_at, false, true},
    {"wall", step_wall, false, true},     {"sleep", step_sleep, true, true},
    {"reboot", step_reboot, true, false}, {"size", step_size, false, true},
    {"view", step_view, true, true},      {"dump", step_dump, true, true},
    {"expect", step_expect, true, true},  {"refuse", step_refuse, true, true},
    {"export", step_export, true, true},  {"button", step_button, true, true},
};

static enum cb_status run_line(struct play *play, char *line, struct cb_err *err)
{
    size_t length = strlen(line);
    while (length > 0 &&
           (line[length - 1] == ' ' || line[length - 1] == '\r' || line[length - 1] == '\t')) {
        line[--length] = '\0';
    }
    line += strspn(line, " \t");
    if (*line == '\0' || *line == '#') {
        return CB_OK;
    }
    size_t word = strcspn(line, " \t");
    const char *rest = line + word + strspn(line + word, " \t");
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        if (strlen(steps[i].word) != word || strncmp(steps[i].word, line, word) != 0) {
            continue;
        }
        if (steps[i].needs_stage && need_stage(play, err) != CB_OK) {
            return CB_FAILED;
        }
        if (steps[i].needs_rest && *rest == '\0') {
            return cb_err_set(err, CB_FAILED, "%s of what? a word must follow", steps[i].word);
        }
        return steps[i].run(play, rest, err);
    }
    return cb_err_set(err, CB_FAILED, "no such step: %.*s; begin, key, at, dump, expect, ...",
                      (int)(word > 60 ? 60 : word), line);
}

static enum cb_status run_script(struct play *play, char *text, struct cb_err *err)
{
    int number = 0;
    for (char *line = text; line && *line;) {
        char *end = strchr(line, '\n');
        if (end) {
            *end = '\0';
        }
        number++;
        struct cb_err own = {0};
        if (run_line(play, line, &own) != CB_OK) {
            return cb_err_set(err, CB_FAILED, "%s:%d: %s", play->script, number, own.text);
        }
        line = end ? end + 1 : NULL;
    }
    return CB_OK;
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct play play = {
        .arena = args->arena,
        .script = args->operands[0],
        .start = {.wall_ms = CB_REHEARSE_START_MS},
        .rows = 24,
        .columns = 80,
        .ascii = args->ascii_said,
    };
    const char *size = cb_args_get(args, "--size");
    if (size && !read_size(size, &play.columns, &play.rows)) {
        return cb_command_failf(CB_USAGE, "--size %s: columns x rows, as 80x24", size);
    }
    char *text = NULL;
    size_t length = 0;
    if (cb_args_settings(args, &play.kinds, &play.config, &err) != CB_OK ||
        cb_args_cues(args, play.kinds, &play.cues, &err) != CB_OK ||
        cb_file_read(play.script, SCRIPT_BYTES_MAX, args->arena, &text, &length, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    enum cb_status status = run_script(&play, text, &err);
    cb_rehearse_free(play.stage);
    cb_store_close(play.store);
    return status == CB_OK ? 0 : cb_command_fail(&err);
}

static const struct cb_option options[] = {
    {"--size", "COLUMNSxROWS", "the screen at the start; 80x24"},
    {0},
};

const struct cb_command cb_command_play = {
    .name = "play",
    .operands = "SCRIPT",
    .summary = "Run scripted keys on a fake clock and dump screens.",
    .options = options,
    .min_operands = 1,
    .max_operands = 1,
    .run = run,
};
