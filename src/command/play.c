/* SPDX-License-Identifier: MIT */
/* `play`: scripted keys on a fake clock, for tests, the manual's pictures and bug reports. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/nav.h"
#include "base/str.h"
#include "base/utf8.h"
#include "command/command.h"
#include "command/play_line.h"
#include "command/rehearse.h"
#include "command/svg_screen.h"
#include "shell/jsonl.h"
#include "shell/out_file.h"
#include "shell/recipe_file.h"
#include "shell/recipes.h"
#include "shell/yaml.h"
#include "view/grid.h"

#define SCRIPT_BYTES_MAX (1024 * 1024)

struct play {
    struct cb_arena *arena;
    const char *script;
    const struct cb_kinds *kinds;
    const struct cb_cues *cues;
    const struct cb_config *config;
    struct cb_store *store;
    struct cb_rehearse *stage;
    const char *log; /* that is open; NULL: in memory */
    struct cb_moment start;
    int rows, columns;
    bool ascii;
};

typedef enum cb_status play_step(struct play *play, const struct cb_play_line *line,
                                 struct cb_err *err);

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
    play->log = cb_arena_text(play->arena, log);
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

static enum cb_status step_begin(struct play *play, const struct cb_play_line *line,
                                 struct cb_err *err)
{
    struct cb_recipe_file file;
    if (cb_recipe_file_read(find_file(play, line->rest), play->kinds, play->arena, &file, err) !=
        CB_OK) {
        return CB_FAILED;
    }
    const int usual = file.recipe->figures > 0 ? file.recipe->figures : 1;
    const int figures = line->figures > 0 ? line->figures : usual;
    struct cb_app_recipe *offer = cb_arena_alloc(play->arena, 1, sizeof *offer);
    *offer = cb_recipes_read(file.path, play->kinds, play->arena);
    enum cb_status status = raise(play, NULL, err);
    if (status == CB_OK) {
        cb_rehearse_offer(play->stage, offer, 1);
        cb_rehearse_first(play->stage, line->first);
        status = cb_rehearse_begin(play->stage, file.recipe->name, figures, file.text, err);
    }
    return status;
}

/* What R reads from here on: the file that was begun, as it is now, or another version of it. */
static enum cb_status step_recipe(struct play *play, const struct cb_play_line *line,
                                  struct cb_err *err)
{
    struct cb_app_recipe *offer = cb_arena_alloc(play->arena, 1, sizeof *offer);
    const char *path = find_file(play, line->rest);
    if (!cb_file_is_there(path)) {
        return cb_err_set(err, CB_FAILED, "no such file: %s", path);
    }
    *offer = cb_recipes_read(path, play->kinds, play->arena);
    cb_rehearse_offer(play->stage, offer, 1);
    return CB_OK;
}

/* Where nothing was ever begun. */
static enum cb_status step_bench(struct play *play, const struct cb_play_line *line,
                                 struct cb_err *err)
{
    (void)line;
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
static enum cb_status step_open(struct play *play, const struct cb_play_line *line,
                                struct cb_err *err)
{
    struct cb_store *store = NULL;
    struct cb_store_filter all = {0};
    if (cb_store_open(line->rest, CB_STORE_APPEND, &store, err) != CB_OK) {
        return CB_FAILED;
    }
    enum cb_status status = cb_store_each(store, &all, latest, &play->start, err);
    cb_store_close(store);
    if (status != CB_OK || (status = raise(play, line->rest, err)) != CB_OK) {
        return status;
    }
    size_t count;
    const struct cb_app_recipe *recipes = cb_recipes_list(NULL, play->kinds, play->arena, &count);
    cb_rehearse_offer(play->stage, recipes, count);
    return CB_OK;
}

static enum cb_status step_key(struct play *play, const struct cb_play_line *line,
                               struct cb_err *err)
{
    (void)err;
    cb_rehearse_feed(play->stage, (struct cb_input){.kind = CB_INPUT_KEY, .key = line->key});
    return CB_OK;
}

static enum cb_status step_type(struct play *play, const struct cb_play_line *line,
                                struct cb_err *err)
{
    (void)err;
    const char *rest = line->rest;
    for (uint32_t cp = cb_utf8_next(&rest); cp; cp = cb_utf8_next(&rest)) {
        cb_rehearse_feed(play->stage, (struct cb_input){.kind = CB_INPUT_KEY, .key = cp});
    }
    return CB_OK;
}

static enum cb_status step_do(struct play *play, const struct cb_play_line *line,
                              struct cb_err *err)
{
    (void)err;
    cb_rehearse_feed(play->stage,
                     (struct cb_input){.kind = CB_INPUT_ACTION, .action = line->action});
    return CB_OK;
}

static enum cb_status step_at(struct play *play, const struct cb_play_line *line,
                              struct cb_err *err)
{
    int64_t ms = line->ms;
    if (line->is_moment) {
        ms -= play->stage ? cb_rehearse_now(play->stage).wall_ms : play->start.wall_ms;
        if (ms < 0) {
            return cb_err_set(err, CB_FAILED, "that moment has passed: %s", line->rest);
        }
    }
    if (play->stage) {
        cb_rehearse_advance(play->stage, ms);
    } else {
        play->start.wall_ms += ms;
    }
    return CB_OK;
}

static enum cb_status step_wall(struct play *play, const struct cb_play_line *line,
                                struct cb_err *err)
{
    (void)err;
    if (play->stage) {
        cb_rehearse_set_wall(play->stage, line->ms);
    } else {
        play->start.wall_ms += line->ms;
    }
    return CB_OK;
}

static enum cb_status step_sleep(struct play *play, const struct cb_play_line *line,
                                 struct cb_err *err)
{
    (void)err;
    cb_rehearse_sleep(play->stage, line->ms);
    return CB_OK;
}

static enum cb_status step_reboot(struct play *play, const struct cb_play_line *line,
                                  struct cb_err *err)
{
    (void)line;
    return cb_rehearse_reboot(play->stage, err);
}

static enum cb_status step_size(struct play *play, const struct cb_play_line *line,
                                struct cb_err *err)
{
    (void)err;
    play->columns = line->columns;
    play->rows = line->rows;
    if (play->stage) {
        cb_rehearse_feed(
            play->stage,
            (struct cb_input){.kind = CB_INPUT_SIZE, .rows = play->rows, .columns = play->columns});
    }
    return CB_OK;
}

static enum cb_status step_view(struct play *play, const struct cb_play_line *line,
                                struct cb_err *err)
{
    if (!cb_rehearse_show(play->stage, line->rest)) {
        return cb_err_set(err, CB_FAILED,
                          "no such view: %s; bench, rack, road, pots, review, glance, help",
                          line->rest);
    }
    return CB_OK;
}

/* What the bell's pop-up would say back; the last one shown. */
static enum cb_status step_button(struct play *play, const struct cb_play_line *line,
                                  struct cb_err *err)
{
    (void)err;
    cb_rehearse_feed(play->stage, (struct cb_input){.kind = CB_INPUT_BUTTON,
                                                    .ping_id = cb_rehearse_last_ping(play->stage),
                                                    .button_dry = line->dry});
    return CB_OK;
}

/* "19.5 62" answers so from here on, "off" nothing; "in FOLDER" as the devices in that folder do,
 * with the kernel's files laid out as they are under /sys. */
static enum cb_status step_sensor(struct play *play, const struct cb_play_line *line,
                                  struct cb_err *err)
{
    (void)err;
    const bool off = strcmp(line->rest, "off") == 0, tree = strncmp(line->rest, "in ", 3) == 0;
    const char *root = tree ? find_file(play, line->rest + 3 + strspn(line->rest + 3, " ")) : NULL;
    cb_rehearse_sensor(play->stage, off || tree ? NULL : line->rest, root);
    return CB_OK;
}

static enum cb_status step_guide(struct play *play, const struct cb_play_line *line,
                                 struct cb_err *err)
{
    (void)line;
    (void)err;
    cb_rehearse_guide(play->stage, true);
    return CB_OK;
}

/* Whole or not at all; never over the log that is played on. */
static enum cb_status write_file(struct play *play, const char *path, const struct cb_str *text,
                                 struct cb_err *err)
{
    struct cb_out_file *file;
    enum cb_status status = cb_out_file_open(path, play->log, &file, err);
    if (status == CB_OK) {
        cb_out_file_write(file, cb_str_text(text), text->length);
        status = cb_out_file_close(file, true, err);
    }
    return status;
}

static enum cb_status step_dump(struct play *play, const struct cb_play_line *line,
                                struct cb_err *err)
{
    struct cb_str text = {0};
    cb_grid_dump(cb_rehearse_grid(play->stage), &text);
    enum cb_status status = write_file(play, line->rest, &text, err);
    cb_str_fini(&text);
    return status;
}

/* In the dark theme, whatever the settings say, so that a script makes the same picture anywhere.
 */
static enum cb_status step_svg(struct play *play, const struct cb_play_line *line,
                               struct cb_err *err)
{
    const struct cb_grid *grid = cb_rehearse_grid(play->stage);
    char *title = cb_arena_printf(play->arena, "coatbell: the %s",
                                  cb_app_shown(cb_rehearse_app(play->stage))->name);
    struct cb_str text = {0};
    cb_svg_screen(grid, cb_theme_dark, title, &text);
    enum cb_status status = write_file(play, line->rest, &text, err);
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

static enum cb_status step_expect(struct play *play, const struct cb_play_line *line,
                                  struct cb_err *err)
{
    return shows(play, line->rest)
               ? CB_OK
               : cb_err_set(err, CB_FAILED, "not on the screen: %s", line->rest);
}

static enum cb_status step_refuse(struct play *play, const struct cb_play_line *line,
                                  struct cb_err *err)
{
    return shows(play, line->rest) ? cb_err_set(err, CB_FAILED, "on the screen: %s", line->rest)
                                   : CB_OK;
}

static bool export_one(void *context, const struct cb_event *event)
{
    struct cb_str *out = context;
    cb_jsonl_encode(event, out);
    cb_str_add(out, "\n");
    return true;
}

static enum cb_status step_export(struct play *play, const struct cb_play_line *line,
                                  struct cb_err *err)
{
    struct cb_str text = {0};
    struct cb_store_filter all = {0};
    enum cb_status status = cb_store_each(play->store, &all, export_one, &text, err);
    if (status == CB_OK) {
        status = write_file(play, line->rest, &text, err);
    }
    cb_str_fini(&text);
    return status;
}

static enum cb_status run_line(struct play *play, char *text, struct cb_err *err)
{
    static play_step *const steps[] = {
        [CB_PLAY_BEGIN] = step_begin,   [CB_PLAY_OPEN] = step_open,
        [CB_PLAY_RECIPE] = step_recipe, [CB_PLAY_BENCH] = step_bench,
        [CB_PLAY_KEY] = step_key,       [CB_PLAY_TYPE] = step_type,
        [CB_PLAY_DO] = step_do,         [CB_PLAY_AT] = step_at,
        [CB_PLAY_WALL] = step_wall,     [CB_PLAY_SLEEP] = step_sleep,
        [CB_PLAY_REBOOT] = step_reboot, [CB_PLAY_SIZE] = step_size,
        [CB_PLAY_VIEW] = step_view,     [CB_PLAY_DUMP] = step_dump,
        [CB_PLAY_EXPECT] = step_expect, [CB_PLAY_REFUSE] = step_refuse,
        [CB_PLAY_EXPORT] = step_export, [CB_PLAY_BUTTON] = step_button,
        [CB_PLAY_SVG] = step_svg,       [CB_PLAY_SENSOR] = step_sensor,
        [CB_PLAY_GUIDE] = step_guide,
    };
    _Static_assert(sizeof steps / sizeof *steps == CB_PLAY_NOTHING, "a step that does nothing");
    struct cb_play_line line;
    enum cb_status status = cb_play_line_read(text, &line, err);
    if (status != CB_OK || line.step == CB_PLAY_NOTHING) {
        return status;
    }
    if (line.needs_bench && !play->stage) {
        return cb_err_set(err, CB_FAILED,
                          "no bench is open; write bench, begin FILE or open LOG first");
    }
    return steps[line.step](play, &line, err);
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
    if (size && !cb_play_size_read(size, &play.columns, &play.rows)) {
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
