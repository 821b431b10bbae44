/* SPDX-License-Identifier: MIT */
/* `demo`: the sample unit on a log of its own, painting by itself. Without a terminal the same
 * evening goes by on the fake clock, as text. */
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "command/command.h"
#include "command/rehearse.h"
#include "command/wrap.h"
#include "core/bench/next.h"
#include "core/bench/painter.h"
#include "shell/clock.h"
#include "shell/console.h"
#include "shell/history.h"
#include "shell/loop.h"
#include "shell/paths.h"
#include "shell/recipe_file.h"
#include "shell/yaml.h"
#include "app/coach.h"
#include "app/look.h"
#include "app/words.h"
#include "view/grid.h"

#define SAMPLE       "night-watch.yaml"
#define KEPT         "demo.db"
#define SPEED_MAX    3600.0
#define TEXT_COLUMNS 80
#define TEXT_ROWS    24
#define EVENING_MS   (INT64_C(240) * CB_MS_PER_MIN) /* the evening that goes by as text */
#define PRESSES_MAX  2000

struct demo {
    const struct cb_args *args;
    const struct cb_kinds *kinds;
    const struct cb_cues *cues;
    const struct cb_config *config;
    struct cb_recipe_file file;
    struct cb_store *store;
    struct cb_rehearse *stage;
    struct cb_zone zone; /* UTC: the same evening everywhere */
};

static enum cb_status read_sample(struct demo *demo, struct cb_err *err)
{
    const char *folders[3];
    struct cb_arena *arena = demo->args->arena;
    size_t count = cb_paths_recipes(arena, folders);
    enum cb_status status = CB_IO;
    for (size_t i = 0; i < count && status == CB_IO; i++) {
        const char *path = cb_arena_printf(arena, "%s/%s", folders[i], SAMPLE);
        status = cb_recipe_file_read(path, demo->kinds, arena, &demo->file, err);
    }
    return status;
}

/* Two units that an invented painter finished in the weeks before, so that there is something
 * learned to look at. */
static const struct {
    const char *name, *unit;
    int days_ago;
    uint64_t seed;
} units[] = {
    {"Night watch, north gate", "demo-north", 24, 1707},
    {"Night watch, ferry stairs", "demo-ferry", 11, 1711},
};
#define UNIT_COUNT (sizeof units / sizeof *units)

static enum cb_status add_history(struct demo *demo, int64_t now_ms, struct cb_err *err)
{
    enum cb_status status = CB_OK;
    for (size_t i = 0; status == CB_OK && i < UNIT_COUNT; i++) {
        const struct cb_painter painter = {
            .kinds = demo->kinds,
            .read = cb_yaml_read,
            .recipe = demo->file.text,
            .name = units[i].name,
            .unit = units[i].unit,
            .figures = demo->file.recipe->figures > 0 ? demo->file.recipe->figures : 1,
            .seed = units[i].seed,
            .start_ms = now_ms - units[i].days_ago * INT64_C(86400000),
            .evening_min = 165,
            .evenings_max = 9,
        };
        struct cb_arena arena = {0};
        size_t count;
        const struct cb_event *const *events = cb_painter_paint(&painter, &arena, &count);
        const struct cb_event **stored;
        status = cb_store_append(demo->store, events, count, &arena, &stored, err);
        cb_arena_fini(&arena);
    }
    return status;
}

/* Invented hours among real ones can't be taken out again: that is asked about. */
static enum cb_status check_history(struct demo *demo, struct cb_err *err)
{
    const struct cb_store_unit *found;
    const char *first = NULL;
    size_t count, others = 0;
    enum cb_status status = cb_store_units(demo->store, demo->args->arena, &found, &count, err);
    for (size_t i = 0; status == CB_OK && i < count; i++) {
        bool sample = false;
        for (size_t k = 0; k < UNIT_COUNT; k++) {
            sample = sample || strcmp(found[i].id, units[k].unit) == 0;
        }
        others += !sample;
        first = !first && !sample ? found[i].name : first;
    }
    if (others > 0 && !cb_args_has(demo->args, "--yes")) {
        return cb_err_set(err, CB_USAGE,
                          "--history: the log holds %zu unit%s of its own (%s); "
                          "with --yes the sample's two are written beside",
                          others, others == 1 ? "" : "s",
                          cb_utf8_clean(demo->args->arena, first ? first : "no name", 40));
    }
    return status;
}

static enum cb_status write_history(struct demo *demo, struct cb_err *err)
{
    enum cb_status status = check_history(demo, err);
    return status == CB_OK ? add_history(demo, CB_REHEARSE_START_MS, err) : status;
}

static void print_screen(struct demo *demo)
{
    struct cb_str out = {0};
    cb_grid_dump(cb_rehearse_grid(demo->stage), &out);
    printf("\n%s\n", cb_str_text(&out));
    cb_str_fini(&out);
}

/* The coats of a press: paint, figures. Other events by name. */
static void print_press(struct demo *demo, const char *clock, const struct cb_effect *effect)
{
    const struct cb_bench *bench = cb_app_bench(cb_rehearse_app(demo->stage));
    struct cb_arena *arena = demo->args->arena;
    int figures[CB_FIGURES_MAX];
    size_t count = 0;
    int stage = 0, coat = 0;
    const struct cb_unit *unit = NULL;
    for (size_t i = 0; i < effect->event_count; i++) {
        const struct cb_event *event = effect->events[i];
        if (event->kind == CB_EVENT_COAT_ON && count < CB_FIGURES_MAX) {
            int row = cb_bench_find_unit(bench, event->unit);
            unit = row < 0 ? NULL : cb_bench_unit(bench, (size_t)row);
            figures[count++] = (int)cb_event_int(event, CB_FIELD_FIGURE, 1);
            stage = (int)cb_event_int(event, CB_FIELD_STAGE, 1);
            coat = (int)cb_event_int(event, CB_FIELD_COAT, 1);
        } else if (event->kind != CB_EVENT_PINGED) {
            char *name = cb_arena_text(arena, event->name);
            for (char *at = strchr(name, '_'); at; at = strchr(at, '_')) {
                *at = ' ';
            }
            cb_args_print(demo->args, cb_arena_printf(arena, "%s  %s", clock, name));
        }
    }
    if (unit) {
        cb_args_print(demo->args, cb_arena_printf(arena, "%s  %s, coat %d: on %s", clock,
                                                  cb_words_paint(unit, stage), coat,
                                                  cb_words_figures(arena, figures, count)));
    }
}

static void saw(void *context, const struct cb_moment *now, const struct cb_effect *effect)
{
    struct demo *demo = context;
    char clock[CB_CLOCK_SIZE];
    if (!demo->stage) {
        return; /* the opening */
    }
    cb_time_clock(now->wall_ms, &demo->zone, clock);
    if (effect->kind == CB_EFFECT_STORE) {
        print_press(demo, clock, effect);
    } else if (effect->kind == CB_EFFECT_PING) {
        cb_args_print(demo->args, cb_arena_printf(demo->args->arena, "%s  %s %s", clock,
                                                  effect->sound ? "PING" : "ping", effect->title));
    }
}

/* What is said, when it is said first. */
static void print_cues(struct demo *demo, const char *said[CB_COACH_LINES])
{
    const struct cb_app *app = cb_rehearse_app(demo->stage);
    struct cb_coach_line lines[CB_COACH_LINES];
    const size_t count = cb_coach_lines(app, cb_app_scene(app), demo->args->arena, lines);
    char clock[CB_CLOCK_SIZE];
    cb_time_clock(cb_rehearse_now(demo->stage).wall_ms, &demo->zone, clock);
    for (size_t i = 0; i < count; i++) {
        bool known = false;
        for (size_t k = 0; k < CB_COACH_LINES; k++) {
            known = known || cb_str_same(lines[i].text, said[k]);
        }
        if (!known) {
            cb_args_print(demo->args,
                          cb_arena_printf(demo->args->arena, "%s  cue: %s", clock, lines[i].text));
        }
    }
    for (size_t i = 0; i < CB_COACH_LINES; i++) {
        said[i] = i < count ? lines[i].text : NULL;
    }
}

/* One press at its time; a screen whenever another stage has come up. */
static void paint_evening(struct demo *demo)
{
    int shown_stage = 0;
    const char *said[CB_COACH_LINES] = {NULL, NULL};
    int64_t end_ms = CB_REHEARSE_START_MS + EVENING_MS;
    for (int presses = 0; presses < PRESSES_MAX;) {
        const struct cb_app *app = cb_rehearse_app(demo->stage);
        const struct cb_bench *bench = cb_app_bench(app);
        struct cb_moment now = cb_rehearse_now(demo->stage);
        int64_t bench_now = cb_bench_time(bench, &now);
        bool press = false;
        const struct cb_proposal proposal = cb_app_offer(app);
        int64_t next_ms = cb_painter_steady(bench, cb_app_learn(app), &proposal, bench_now, &press);
        if (next_ms == CB_TIME_NONE || now.wall_ms >= end_ms) {
            return;
        }
        if (proposal.any && proposal.stage != shown_stage) {
            shown_stage = proposal.stage;
            print_screen(demo);
        }
        print_cues(demo, said);
        if (press) {
            cb_rehearse_feed(demo->stage, (struct cb_input){.kind = CB_INPUT_ACTION,
                                                            .action = CB_ACTION_COAT_ON});
            presses++;
        } else {
            cb_rehearse_advance(demo->stage, next_ms - bench_now < 1 ? 1 : next_ms - bench_now);
        }
    }
}

/* What the two finished units taught, as the bench on a terminal reads it. */
static void feed_history(struct demo *demo)
{
    struct cb_history *history;
    struct cb_taught taught = {0};
    if (cb_history_open(demo->store, demo->kinds, &history, NULL) == CB_OK) {
        if (cb_history_taught(history, &taught, NULL) == CB_OK) {
            cb_rehearse_feed(demo->stage,
                             (struct cb_input){.kind = CB_INPUT_HISTORY, .taught = &taught});
        }
        cb_taught_fini(&taught);
        cb_history_close(history);
    }
}

/* The sample's two finished units, and the third just begun, on a stage. The caller frees it.
 * told: what happens there is printed. */
static enum cb_status set_stage(struct demo *demo, struct cb_moment start, bool told,
                                struct cb_err *err)
{
    const struct cb_recipe *recipe = demo->file.recipe;
    const struct cb_rehearse_setup setup = {
        .kinds = demo->kinds,
        .cues = demo->cues,
        .config = demo->config,
        .store = demo->store,
        .rows = TEXT_ROWS,
        .columns = TEXT_COLUMNS,
        .ascii = demo->args->ascii,
        .saw = told ? saw : NULL,
        .context = demo,
    };
    enum cb_status status = add_history(demo, start.wall_ms, err);
    if (status == CB_OK) {
        status = cb_rehearse_new(&setup, start, &demo->stage, err);
    }
    return status != CB_OK
               ? status
               : cb_rehearse_begin(demo->stage, recipe->name,
                                   recipe->figures > 0 ? recipe->figures : 1, demo->file.text, err);
}

static enum cb_status run_text(struct demo *demo, struct cb_err *err)
{
    const struct cb_moment start = {.wall_ms = CB_REHEARSE_START_MS};
    const enum cb_status status = set_stage(demo, start, true, err);
    if (status == CB_OK) {
        feed_history(demo);
        paint_evening(demo);
        print_screen(demo);
        cb_rehearse_show(demo->stage, "rack");
        print_screen(demo);
        cb_rehearse_show(demo->stage, "review");
        print_screen(demo);
    }
    cb_rehearse_free(demo->stage);
    return status;
}

/* ---- At a terminal, on a log of its own ---- */

/* Beside the painter's log, so that it can be closed and gone on with; NULL: it has no place. */
static const char *kept_path(struct demo *demo)
{
    const char *log = cb_paths_log(demo->args->arena, NULL);
    return log == NULL ? NULL
                       : cb_arena_printf(demo->args->arena, "%.*s/" KEPT,
                                         (int)(strrchr(log, '/') - log), log);
}

/* What lies there. */
enum kept { KEPT_NONE, KEPT_DEMO, KEPT_OPEN, KEPT_OTHER };

/* A demo's log begins with the first unit of its history, or was left before anything was in it. */
static bool look_at_first(void *context, const struct cb_event *event)
{
    bool *is_demo = context;
    *is_demo = event->id != NULL && strncmp(event->id, units[0].unit, strlen(units[0].unit)) == 0;
    return false;
}

static enum kept look_at_kept(const char *path)
{
    struct cb_store *store = NULL;
    bool is_demo = true;
    enum kept kept = KEPT_OTHER;
    if (path == NULL || !cb_file_is_there(path)) {
        return KEPT_NONE;
    }
    if (cb_store_open(path, CB_STORE_READ, &store, NULL) == CB_OK &&
        cb_store_each(store, NULL, look_at_first, &is_demo, NULL) == CB_OK && is_demo) {
        kept = cb_store_is_held(store) ? KEPT_OPEN : KEPT_DEMO;
    }
    cb_store_close(store);
    return kept;
}

static bool look_at(void *context, const struct cb_event *event)
{
    int64_t *last_ms = context;
    *last_ms = event->at_ms > *last_ms ? event->at_ms : *last_ms;
    return true;
}

/* How far the demo's evening has got ahead of the clock, if it has. */
static enum cb_status find_ahead(struct demo *demo, int64_t *ahead_ms, struct cb_err *err)
{
    int64_t last_ms = INT64_MIN;
    const int64_t now_ms = cb_clock_now().wall_ms;
    const enum cb_status status = cb_store_each(demo->store, NULL, look_at, &last_ms, err);
    *ahead_ms = last_ms >= now_ms ? last_ms - now_ms + 1 : 0;
    return status;
}

static enum cb_status resume_kept(struct demo *demo, struct cb_err *err)
{
    const char *path = kept_path(demo);
    const enum kept kept = look_at_kept(path);
    if (kept == KEPT_OPEN) {
        return cb_err_set(err, CB_FAILED,
                          "the demo to go on with is open elsewhere; close it there");
    }
    return kept == KEPT_DEMO
               ? cb_store_open(path, CB_STORE_APPEND, &demo->store, err)
               : cb_err_set(err, CB_FAILED, "no demo to go on with; `coatbell demo` begins one");
}

/* In memory where it can't be kept: another one is open there, or what lies there is no demo's.
 * *before_out: what lay there. */
static enum cb_status begin_anew(struct demo *demo, enum kept *before_out, bool *kept,
                                 struct cb_err *err)
{
    const char *path = kept_path(demo);
    const enum kept before = look_at_kept(path);
    *before_out = before;
    *kept = path != NULL && (before == KEPT_NONE || before == KEPT_DEMO) &&
            cb_store_open_anew(path, &demo->store, NULL) == CB_OK;
    return *kept ? CB_OK : cb_store_open(NULL, CB_STORE_APPEND, &demo->store, err);
}

static void print_end(struct demo *demo, enum kept before, bool kept)
{
    cb_command_wrap(kept ? "`coatbell demo --resume` goes on with it, `coatbell demo` begins "
                           "anew, `coatbell begin RECIPE` begins a unit of your own."
                         : "This demo is not kept; `coatbell demo` begins anew, "
                           "`coatbell begin RECIPE` begins a unit of your own.",
                    0);
    if (!kept && before == KEPT_OTHER) {
        cb_command_wrap(cb_arena_printf(demo->args->arena,
                                        "What lies at %s is damaged or no demo: move it "
                                        "elsewhere, and the next demo is kept there.",
                                        cb_utf8_clean(demo->args->arena, kept_path(demo), 1000)),
                        0);
    }
}

/* The unit is begun in that log, and the bench opened on it; or only opened again. */
static enum cb_status run_bench(struct demo *demo, double speed, struct cb_err *err)
{
    const bool resumes = cb_args_has(demo->args, "--resume");
    struct cb_loop_setup loop = {
        .kinds = demo->kinds,
        .cues = demo->cues,
        .config = demo->config,
        .log_path = "scratch",
        .ascii = demo->args->ascii || demo->config->ascii,
        .speed = speed,
        .autopilot = !resumes,
        .scratch = true,
        .guide = !resumes,
        .kept = true,
    };
    enum kept before = KEPT_NONE;
    enum cb_status status =
        resumes ? resume_kept(demo, err) : begin_anew(demo, &before, &loop.kept, err);
    if (status == CB_OK) {
        status = resumes ? find_ahead(demo, &loop.ahead_ms, err)
                         : set_stage(demo, cb_clock_now(), false, err);
    }
    cb_rehearse_free(demo->stage);
    loop.store = demo->store;
    if (status == CB_OK) {
        status = cb_store_lock(demo->store, err);
    }
    if (status == CB_OK) {
        status = cb_loop_run(&loop, err);
    }
    if (status == CB_OK) {
        print_end(demo, before, loop.kept);
    }
    return status;
}

static enum cb_status run_history(struct demo *demo, struct cb_err *err)
{
    const enum cb_status status =
        cb_store_open(cb_args_get(demo->args, "--history"), CB_STORE_APPEND, &demo->store, err);
    return status == CB_OK ? write_history(demo, err) : status;
}

static enum cb_status run_as_text(struct demo *demo, struct cb_err *err)
{
    const enum cb_status status = cb_store_open(NULL, CB_STORE_APPEND, &demo->store, err);
    return status == CB_OK ? run_text(demo, err) : status;
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct demo demo = {.args = args};
    double speed = 60;
    const char *said = cb_args_get(args, "--speed");
    if (said && (!cb_str_number(said, &speed) || !(speed >= 1 && speed <= SPEED_MAX))) {
        return cb_command_failf(CB_USAGE, "--speed %s: a number, 1 to 3600", said);
    }
    if (cb_args_has(args, "--yes") && !cb_args_has(args, "--history")) {
        return cb_command_failf(CB_USAGE, "--yes goes with --history FILE");
    }
    if (cb_args_has(args, "--resume") &&
        (cb_args_has(args, "--history") || !cb_console_is_terminal())) {
        return cb_command_failf(CB_USAGE, "--resume goes on with a demo at a terminal");
    }
    if (cb_args_settings(args, &demo.kinds, &demo.config, &err) != CB_OK ||
        cb_args_cues(args, demo.kinds, &demo.cues, &err) != CB_OK ||
        read_sample(&demo, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    struct cb_config own = *demo.config;
    own.quiet_clock = own.quiet_clock || cb_args_has(args, "--quiet-clock");
    demo.config = &own;
    demo.zone.half_days = demo.config->half_days;
    enum cb_status status = cb_args_has(args, "--history") ? run_history(&demo, &err)
                            : cb_console_is_terminal()     ? run_bench(&demo, speed, &err)
                                                           : run_as_text(&demo, &err);
    cb_store_close(demo.store);
    return status == CB_OK ? 0 : cb_command_fail(&err);
}

static const struct cb_option options[] = {
    {"--speed", "TIMES", "how fast time goes by on a terminal; 60"},
    {"--quiet-clock", NULL, "countdowns in minutes alone"},
    {"--resume", NULL, "go on with the demo that was closed last"},
    {"--history", "FILE", "only write the sample's two finished units into the log FILE"},
    {"--yes", NULL, "with --history: also into a log that holds other units"},
    {0},
};

const struct cb_command cb_command_demo = {
    .name = "demo",
    .operands = "",
    .summary = "Paint the sample unit on a log of its own; as text without a terminal.",
    .options = options,
    .run = run,
};
