/* SPDX-License-Identifier: MIT */
#include "view/screen.h"
#include "app/figures.h"
#include "app/sensor.h"
#include "command/rehearse.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/version.h"
#include "shell/sensor.h"
#include "shell/yaml.h"

/* An app that never lets a step end would hang a script: a fault, told as one. */
#define TURNS_MAX 100000

struct cb_rehearse {
    struct cb_rehearse_setup setup;
    struct cb_app *app;
    struct cb_grid grid;
    struct cb_moment now;
    int boots;
    char boot[2][24]; /* the app may still hold the last one */
    const struct cb_app_recipe *recipes;
    size_t recipe_count;
    bool quit;
    int first; /* of the figures of what is begun next; 0: all */
    uint32_t last_ping, ping_seed;
    char *sensor_line, *sensor_root; /* NULL: none */
    int64_t sensor_ms;               /* wall; when it is asked next; CB_TIME_NONE: there is none */
};

static void step(struct cb_rehearse *rehearse, struct cb_input input);

static void store(struct cb_rehearse *rehearse, const struct cb_effect *effect)
{
    struct cb_arena arena = {0};
    struct cb_err err = {0};
    const struct cb_event **stored = NULL;
    struct cb_input input = {.kind = CB_INPUT_STORED, .event_count = effect->event_count};
    if (cb_store_append(rehearse->setup.store, effect->events, effect->event_count, &arena, &stored,
                        &err) != CB_OK) {
        input.kind = CB_INPUT_UNSAVED;
        input.text = err.text;
        input.event_count = stored ? effect->event_count : 0;
    }
    input.events = stored;
    step(rehearse, input);
    cb_arena_fini(&arena);
}

static void list_recipes(struct cb_rehearse *rehearse)
{
    step(rehearse, (struct cb_input){.kind = CB_INPUT_RECIPES,
                                     .recipes = rehearse->recipes,
                                     .recipe_count = rehearse->recipe_count});
}

static void serve(struct cb_rehearse *rehearse, const struct cb_effect *effect)
{
    if (rehearse->setup.saw) {
        rehearse->setup.saw(rehearse->setup.context, &rehearse->now, effect);
    }
    switch (effect->kind) {
    case CB_EFFECT_STORE:
        store(rehearse, effect);
        return;
    case CB_EFFECT_PING:
        rehearse->last_ping = effect->ping_id;
        return;
    case CB_EFFECT_BELL_READY:
        step(rehearse, (struct cb_input){.kind = CB_INPUT_BELL, .bell_state = CB_BELL_OK});
        return;
    case CB_EFFECT_LIST_RECIPES:
    case CB_EFFECT_RELOAD:
        list_recipes(rehearse);
        return;
    case CB_EFFECT_TAKE_OVER:
        step(rehearse, (struct cb_input){.kind = CB_INPUT_ROLE, .writer = true});
        return;
    case CB_EFFECT_QUIT:
        rehearse->quit = true;
        return;
    case CB_EFFECT_PING_CLOSE:
    case CB_EFFECT_HISTORY:
    case CB_EFFECT_BEEP:
    case CB_EFFECT_PICTURE:
    case CB_EFFECT_SUSPEND:
        return;
    }
}

/* Effects live until the next step, and serving one may step: they are copied first. */
static void step(struct cb_rehearse *rehearse, struct cb_input input)
{
    input.now = rehearse->now;
    struct cb_effects effects = cb_app_step(rehearse->app, &input);
    if (effects.count == 0) {
        return;
    }
    struct cb_arena arena = {0};
    struct cb_effect *copies = cb_arena_alloc(&arena, effects.count, sizeof *copies);
    for (size_t i = 0; i < effects.count; i++) {
        const struct cb_effect *effect = &effects.items[i];
        const struct cb_event **events =
            cb_arena_alloc(&arena, effect->event_count + 1, sizeof *events);
        for (size_t k = 0; k < effect->event_count; k++) {
            events[k] = cb_event_copy(&arena, effect->events[k]);
        }
        copies[i] = *effect;
        copies[i].events = events;
        copies[i].title = cb_arena_text(&arena, effect->title);
        copies[i].body = cb_arena_text(&arena, effect->body);
        copies[i].path = cb_arena_text(&arena, effect->path);
        copies[i].beside = cb_arena_text(&arena, effect->beside);
    }
    for (size_t i = 0; i < effects.count; i++) {
        serve(rehearse, &copies[i]);
    }
    cb_arena_fini(&arena);
}

static enum cb_status load(struct cb_rehearse *rehearse, struct cb_err *err)
{
    struct cb_arena arena = {0};
    struct cb_store_filter all = {0};
    const struct cb_event **events = NULL;
    size_t count = 0;
    long long last_row = 0;
    enum cb_status status =
        cb_store_load(rehearse->setup.store, &all, &arena, &events, &count, &last_row, err);
    if (status == CB_OK) {
        step(rehearse,
             (struct cb_input){.kind = CB_INPUT_EVENTS, .events = events, .event_count = count});
    }
    cb_arena_fini(&arena);
    return status;
}

static enum cb_status open_app(struct cb_rehearse *rehearse, struct cb_err *err)
{
    struct cb_app_setup setup = {
        .views = cb_screens,
        .kinds = rehearse->setup.kinds,
        .config = rehearse->setup.config,
        .cues = rehearse->setup.cues,
        .read = cb_yaml_read,
        .rows = rehearse->setup.rows,
        .columns = rehearse->setup.columns,
        .writer = true,
        .machine = cb_store_machine(rehearse->setup.store),
        .version = CB_VERSION,
        .ping_seed = rehearse->ping_seed += 1000,
        .history_due = rehearse->setup.history_due,
        .terminal_pops_up = rehearse->setup.terminal_pops_up,
        .pilot = rehearse->setup.pilot,
        .speed = rehearse->setup.speed,
        .zone = rehearse->setup.zone,
    };
    cb_app_free(rehearse->app);
    rehearse->app = cb_app_new(&setup, rehearse->now);
    rehearse->quit = false;
    return load(rehearse, err);
}

static void set_boot(struct cb_rehearse *rehearse)
{
    char *boot = rehearse->boot[rehearse->boots % 2];
    /* a log that an earlier rehearsal wrote has boots of its own */
    snprintf(boot, sizeof rehearse->boot[0], "boot-%lld-%d",
             (long long)(rehearse->now.wall_ms / 1000) % 100000000000, ++rehearse->boots % 1000);
    rehearse->now.boot = boot;
    rehearse->now.boot_ms = CB_MS_PER_MIN;
}

enum cb_status cb_rehearse_new(const struct cb_rehearse_setup *setup, struct cb_moment now,
                               struct cb_rehearse **out, struct cb_err *err)
{
    struct cb_rehearse *rehearse = cb_mem_new(1, sizeof *rehearse);
    rehearse->setup = *setup;
    rehearse->setup.zone.half_days = setup->config != NULL && setup->config->half_days;
    rehearse->now = now;
    rehearse->sensor_ms = CB_TIME_NONE;
    if (!now.boot) {
        set_boot(rehearse);
    }
    cb_grid_init(&rehearse->grid, setup->rows, setup->columns);
    rehearse->grid.ascii = setup->ascii;
    enum cb_status status = open_app(rehearse, err);
    if (status != CB_OK) {
        cb_rehearse_free(rehearse);
        rehearse = NULL;
    }
    *out = rehearse;
    return status;
}

void cb_rehearse_free(struct cb_rehearse *rehearse)
{
    if (rehearse) {
        cb_app_free(rehearse->app);
        cb_grid_fini(&rehearse->grid);
        free(rehearse->sensor_line);
        free(rehearse->sensor_root);
        free(rehearse);
    }
}

void cb_rehearse_offer(struct cb_rehearse *rehearse, const struct cb_app_recipe *recipes,
                       size_t count)
{
    rehearse->recipes = recipes;
    rehearse->recipe_count = count;
    list_recipes(rehearse);
}

void cb_rehearse_first(struct cb_rehearse *rehearse, int figures)
{
    rehearse->first = figures;
}

enum cb_status cb_rehearse_begin(struct cb_rehearse *rehearse, const char *name, int figures,
                                 const char *recipe_text, struct cb_err *err)
{
    struct cb_arena arena = {0};
    const struct cb_event *events[3 + CB_FIGURES_MAX];
    size_t count = 3;
    const struct cb_event **stored = NULL;
    struct cb_event_make make;
    char unit[48];
    snprintf(unit, sizeof unit, "u%llx-play", (unsigned long long)rehearse->now.wall_ms);

    cb_event_begin(&make, &arena, CB_EVENT_CLIMATE_SET, NULL, &rehearse->now);
    cb_event_add_number(&make, CB_FIELD_TEMP_C, cb_climate_standard.temp_c);
    cb_event_add_number(&make, CB_FIELD_RH_PCT, cb_climate_standard.rh_pct);
    cb_event_add_text(&make, CB_FIELD_AIR, cb_air_name(cb_climate_standard.air));
    cb_event_add_text(&make, CB_FIELD_FROM, "typed");
    events[0] = cb_event_take(&make);
    cb_event_begin(&make, &arena, CB_EVENT_ANSWERED, NULL, &rehearse->now);
    cb_event_add_text(&make, CB_FIELD_QUESTION, CB_QUESTION_FIRST);
    cb_event_add_text(&make, CB_FIELD_VALUE, CB_QUESTION_UNKNOWN);
    events[1] = cb_event_take(&make);
    cb_event_begin(&make, &arena, CB_EVENT_UNIT_BEGUN, unit, &rehearse->now);
    cb_event_add_text(&make, CB_FIELD_NAME, name);
    cb_event_add_int(&make, CB_FIELD_FIGURES, figures);
    cb_event_add_text(&make, CB_FIELD_RECIPE, recipe_text);
    events[2] = cb_event_take(&make);

    for (int figure = rehearse->first + 1; rehearse->first > 0 && figure <= figures; figure++) {
        events[count++] = cb_figures_park_event(&arena, unit, figure, &rehearse->now);
    }

    enum cb_status status =
        cb_store_append(rehearse->setup.store, events, count, &arena, &stored, err);
    if (status == CB_OK) {
        step(rehearse,
             (struct cb_input){.kind = CB_INPUT_EVENTS, .events = stored, .event_count = count});
    }
    cb_arena_fini(&arena);
    return status;
}

/* A bench that was closed is opened again by whoever sits down at it. */
static void sit_down(struct cb_rehearse *rehearse)
{
    struct cb_err err;
    if (rehearse->quit) {
        open_app(rehearse, &err);
    }
}

void cb_rehearse_feed(struct cb_rehearse *rehearse, struct cb_input input)
{
    sit_down(rehearse);
    if (input.kind == CB_INPUT_SIZE) {
        rehearse->setup.rows = input.rows;
        rehearse->setup.columns = input.columns;
    }
    step(rehearse, input);
}

static void ask_sensor(struct cb_rehearse *rehearse)
{
    struct cb_arena arena = {0};
    struct cb_sensor_reading reading;
    const char *line = rehearse->sensor_line;
    if (rehearse->sensor_root &&
        cb_sensor_read(rehearse->sensor_root, CB_SENSOR_ANY, &arena, &reading, NULL) == CB_OK) {
        line = cb_sensor_line(&reading, &arena);
    }
    rehearse->sensor_ms = rehearse->now.wall_ms + CB_SENSOR_ASK_MS;
    step(rehearse, (struct cb_input){.kind = CB_INPUT_SENSOR, .text = line});
    cb_arena_fini(&arena);
}

static bool sensor_is_due(const struct cb_rehearse *rehearse)
{
    return rehearse->sensor_ms != CB_TIME_NONE && rehearse->now.wall_ms >= rehearse->sensor_ms;
}

void cb_rehearse_sensor(struct cb_rehearse *rehearse, const char *line, const char *root)
{
    sit_down(rehearse);
    free(rehearse->sensor_line);
    free(rehearse->sensor_root);
    rehearse->sensor_line = line ? cb_mem_copy_text(line) : NULL;
    rehearse->sensor_root = root ? cb_mem_copy_text(root) : NULL;
    ask_sensor(rehearse);
}

static void pass(struct cb_rehearse *rehearse, int64_t ms)
{
    rehearse->now.wall_ms += ms;
    rehearse->now.boot_ms += ms;
}

void cb_rehearse_advance(struct cb_rehearse *rehearse, int64_t ms)
{
    int64_t left_ms = ms;
    for (int turn = 0; left_ms > 0 && !rehearse->quit && turn < TURNS_MAX; turn++) {
        int64_t next_ms = cb_app_next_deadline(rehearse->app);
        if (rehearse->sensor_ms != CB_TIME_NONE &&
            (next_ms == CB_TIME_NONE || rehearse->sensor_ms < next_ms)) {
            next_ms = rehearse->sensor_ms;
        }
        int64_t step_ms = next_ms == CB_TIME_NONE ? left_ms : next_ms - rehearse->now.wall_ms;
        step_ms = step_ms < 1 ? 1 : step_ms > left_ms ? left_ms : step_ms;
        pass(rehearse, step_ms);
        left_ms -= step_ms;
        step(rehearse, (struct cb_input){.kind = CB_INPUT_TIME});
        if (!rehearse->quit && sensor_is_due(rehearse)) {
            ask_sensor(rehearse);
        }
    }
    pass(rehearse, left_ms);
    if (left_ms > 0 && !rehearse->quit) {
        step(rehearse, (struct cb_input){.kind = CB_INPUT_TIME});
    }
    if (!rehearse->quit && cb_app_has_idle_work(rehearse->app)) {
        step(rehearse, (struct cb_input){.kind = CB_INPUT_IDLE});
    }
}

void cb_rehearse_set_wall(struct cb_rehearse *rehearse, int64_t by_ms)
{
    rehearse->now.wall_ms += by_ms;
    if (rehearse->sensor_ms != CB_TIME_NONE) {
        rehearse->sensor_ms += by_ms;
    }
    if (!rehearse->quit) {
        step(rehearse, (struct cb_input){.kind = CB_INPUT_TIME});
    }
}

void cb_rehearse_sleep(struct cb_rehearse *rehearse, int64_t ms)
{
    pass(rehearse, ms);
    if (!rehearse->quit) {
        step(rehearse, (struct cb_input){.kind = CB_INPUT_TIME});
    }
}

enum cb_status cb_rehearse_reboot(struct cb_rehearse *rehearse, struct cb_err *err)
{
    set_boot(rehearse);
    return open_app(rehearse, err);
}

enum cb_status cb_rehearse_restore(struct cb_rehearse *rehearse, int64_t ms, struct cb_err *err)
{
    rehearse->now.boot_ms -= ms < rehearse->now.boot_ms ? ms : rehearse->now.boot_ms;
    return open_app(rehearse, err);
}

const struct cb_app *cb_rehearse_app(const struct cb_rehearse *rehearse)
{
    return rehearse->app;
}

void cb_rehearse_guide(struct cb_rehearse *rehearse, bool kept)
{
    sit_down(rehearse);
    cb_app_guide(rehearse->app, rehearse->setup.speed > 0 ? rehearse->setup.speed : 1, kept);
}

bool cb_rehearse_show(struct cb_rehearse *rehearse, const char *view)
{
    sit_down(rehearse);
    return cb_app_show(rehearse->app, view);
}

struct cb_moment cb_rehearse_now(const struct cb_rehearse *rehearse)
{
    return rehearse->now;
}

bool cb_rehearse_has_quit(const struct cb_rehearse *rehearse)
{
    return rehearse->quit;
}

uint32_t cb_rehearse_last_ping(const struct cb_rehearse *rehearse)
{
    return rehearse->last_ping;
}

const struct cb_grid *cb_rehearse_grid(struct cb_rehearse *rehearse)
{
    sit_down(rehearse);
    cb_screen_draw(rehearse->app, &rehearse->grid);
    return &rehearse->grid;
}
