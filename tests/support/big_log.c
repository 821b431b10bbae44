/* SPDX-License-Identifier: MIT */
#include "support/big_log.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "base/vec.h"
#include "core/recipe/recipe.h"
#include "shell/history.h"
#include "shell/paths.h"
#include "shell/recipe_file.h"
#include "shell/store.h"
#include "support/events.h"

#define MINUTE INT64_C(60000)
#define DAY    (24 * 60 * MINUTE)
#define YEARS  14

static const char *const recipe_names[] = {"night-watch", "league-pikemen", "marsh-troll"};
enum { RECIPES = sizeof recipe_names / sizeof *recipe_names };

struct painter {
    const struct big_log *plan;
    struct dice dice;
    const struct cb_recipe *recipes[RECIPES];
    struct cb_arena arena; /* of one unit */
    CB_VEC(const struct cb_event *) events;
    size_t given, unit;
    size_t written;
    int64_t seq, now_ms, boot_at_ms, evening_end_ms;
    int boot;
    char unit_id[32];
};

static double uniform(struct painter *painter)
{
    return (double)(dice_next(&painter->dice) >> 11) / 9007199254740992.0;
}

static const char *random_id(struct painter *painter)
{
    static const char letters[] = "0123456789abcdefghjkmnpqrstvwxyz";
    char id[17];
    uint64_t a = dice_next(&painter->dice);
    uint64_t b = dice_next(&painter->dice);
    for (int i = 0; i < 16; i++) {
        id[i] = letters[(i < 8 ? a >> (5 * i) : b >> (5 * (i - 8))) & 31];
    }
    id[16] = '\0';
    return cb_arena_text(&painter->arena, id);
}

static void begin(struct painter *painter, struct cb_event_make *make, enum cb_event_kind kind)
{
    char boot[40];
    snprintf(boot, sizeof boot, "%08x-5eed-4000-8000-000000000000", (unsigned)painter->boot);
    struct cb_moment at = {painter->now_ms, painter->now_ms - painter->boot_at_ms, boot};
    cb_event_begin(make, &painter->arena, kind,
                   cb_event_is_bench(kind) && kind != CB_EVENT_PINGED ? NULL : painter->unit_id,
                   &at);
}

static const char *take(struct painter *painter, struct cb_event_make *make, const char *press)
{
    make->event.id = random_id(painter);
    make->event.press = press ? press : make->event.id;
    make->event.machine = "0123456789abcdef";
    make->event.seq = ++painter->seq;
    cb_vec_push(&painter->events, cb_event_take(make));
    return make->event.press;
}

static void climate(struct painter *painter)
{
    struct cb_event_make make;
    begin(painter, &make, CB_EVENT_CLIMATE_SET);
    cb_event_add_number(&make, CB_FIELD_TEMP_C, 17 + (double)dice_below(&painter->dice, 70) / 10);
    cb_event_add_number(&make, CB_FIELD_RH_PCT, 40 + (double)dice_below(&painter->dice, 30));
    cb_event_add_text(&make, CB_FIELD_AIR, "still");
    cb_event_add_text(&make, CB_FIELD_FROM, "sensor");
    take(painter, &make, NULL);
}

static void evening_opens(struct painter *painter)
{
    struct cb_event_make make;
    int64_t day = painter->now_ms / DAY + 1;
    /* so that the units fill the years evenly, some evenings are skipped */
    int64_t planned = (int64_t)painter->unit * YEARS * 365 / (int64_t)painter->plan->units;
    int64_t start_day = INT64_C(14976); /* 2011-01-02 */
    day = day < start_day + planned ? start_day + planned : day;
    painter->now_ms =
        day * DAY + 18 * 60 * MINUTE + (int64_t)dice_below(&painter->dice, 120) * MINUTE;
    painter->evening_end_ms = painter->now_ms + 3 * 60 * MINUTE;
    painter->boot++;
    painter->boot_at_ms = painter->now_ms - 9 * MINUTE;
    begin(painter, &make, CB_EVENT_SESSION_OPENED);
    cb_event_add_text(&make, CB_FIELD_EDITION, "1");
    take(painter, &make, NULL);
    climate(painter);
}

static void evening_closes(struct painter *painter)
{
    struct cb_event_make make;
    begin(painter, &make, CB_EVENT_SESSION_CLOSED);
    take(painter, &make, NULL);
}

static void unit_event(struct painter *painter, enum cb_event_kind kind,
                       const struct cb_recipe *recipe, int figures)
{
    struct cb_event_make make;
    begin(painter, &make, kind);
    if (kind == CB_EVENT_UNIT_BEGUN) {
        cb_event_add_text(&make, CB_FIELD_NAME, recipe->name);
        cb_event_add_int(&make, CB_FIELD_FIGURES, figures);
        cb_event_add_text(&make, CB_FIELD_RECIPE, recipe->text);
    }
    take(painter, &make, NULL);
}

static void film_event(struct painter *painter, enum cb_event_kind kind, int figure, int stage,
                       int coat, const char *word, const char *press)
{
    struct cb_event_make make;
    begin(painter, &make, kind);
    if (kind == CB_EVENT_PINGED) {
        struct cb_film_key film = {figure, stage, coat};
        cb_event_add_films(&make, &film, 1);
        cb_event_add_time(&make, CB_FIELD_DUE_AT, painter->now_ms - 40);
        cb_event_add_text(&make, CB_FIELD_BY, "pop-up");
    } else {
        cb_event_add_int(&make, CB_FIELD_FIGURE, figure);
        cb_event_add_int(&make, CB_FIELD_STAGE, stage);
        cb_event_add_int(&make, CB_FIELD_COAT, coat);
        if (kind == CB_EVENT_CHECKED) {
            cb_event_add_text(&make, CB_FIELD_FOUND, word);
        }
    }
    const char *named = take(painter, &make, press);
    if (kind == CB_EVENT_COAT_ON && dice_below(&painter->dice, 100) == 0 && !press) {
        begin(painter, &make, CB_EVENT_UNDONE);
        cb_event_add_text(&make, CB_FIELD_OF, named);
        take(painter, &make, NULL);
        film_event(painter, kind, figure, stage, coat, word, NULL);
    }
}

/* One coat of a stage over all its figures, then the checks and pings on them. */
static void coat_round(struct painter *painter, const struct cb_recipe *recipe, size_t stage,
                       int coat, int figures)
{
    const char *press = NULL;
    for (int figure = 1; figure <= figures; figure++) {
        if (!cb_recipe_applies(recipe, stage, figure)) {
            continue;
        }
        if (painter->now_ms > painter->evening_end_ms) {
            evening_closes(painter);
            evening_opens(painter);
        }
        painter->now_ms += MINUTE / 2 + (int64_t)(uniform(painter) * 90000);
        film_event(painter, CB_EVENT_COAT_ON, figure, (int)stage + 1, coat, NULL, press);
        if (figure % 12 == 0) {
            climate(painter);
        }
    }
    painter->now_ms += 8 * MINUTE;
    for (int figure = 1; figure <= figures; figure++) {
        if (!cb_recipe_applies(recipe, stage, figure)) {
            continue;
        }
        painter->now_ms += 2000;
        film_event(painter, CB_EVENT_PINGED, figure, (int)stage + 1, coat, NULL, NULL);
        if (dice_below(&painter->dice, 10) < 2) {
            film_event(painter, CB_EVENT_CHECKED, figure, (int)stage + 1, coat, "wet", NULL);
            painter->now_ms += 2 * MINUTE;
        }
        if (dice_below(&painter->dice, 10) < 6) {
            film_event(painter, CB_EVENT_CHECKED, figure, (int)stage + 1, coat, "dry", NULL);
        }
    }
}

static int coats_a_figure(const struct cb_recipe *recipe)
{
    int coats = 0;
    for (size_t i = 0; i < recipe->stage_count; i++) {
        coats += recipe->stages[i].groups == 0 ? recipe->stages[i].coats : 0;
    }
    return coats > 0 ? coats : 1;
}

static void paint_unit(struct painter *painter)
{
    const struct cb_recipe *recipe = painter->recipes[painter->unit % RECIPES];
    size_t left = painter->plan->units - painter->unit;
    double target = (double)(painter->plan->events - painter->written) / (double)left;
    double size = target / 2.95 / coats_a_figure(recipe) * (0.7 + 0.6 * uniform(painter));
    int figures = size < 1 ? 1 : size > CB_FIGURES_MAX ? CB_FIGURES_MAX : (int)(size + 0.5);
    bool stays_open = left <= 2;
    snprintf(painter->unit_id, sizeof painter->unit_id, "unit-%05zu", painter->unit + 1);
    evening_opens(painter);
    unit_event(painter, CB_EVENT_UNIT_BEGUN, recipe, figures);
    size_t stages = stays_open ? recipe->stage_count / 2 + 1 : recipe->stage_count;
    for (size_t stage = 0; stage < stages && stage < recipe->stage_count; stage++) {
        for (int coat = 1; coat <= recipe->stages[stage].coats; coat++) {
            coat_round(painter, recipe, stage, coat, figures);
        }
    }
    if (!stays_open) {
        unit_event(painter, CB_EVENT_UNIT_FINISHED, recipe, figures);
    }
    evening_closes(painter);
    painter->unit++;
}

static enum cb_status next_event(void *context, const struct cb_event **event, struct cb_err *err)
{
    (void)err;
    *event = NULL;
    struct painter *painter = context;
    while (painter->given == painter->events.count) {
        if (painter->unit == painter->plan->units) {
            return CB_OK;
        }
        painter->written += painter->events.count;
        cb_arena_fini(&painter->arena);
        cb_vec_free(&painter->events);
        painter->given = 0;
        paint_unit(painter);
    }
    *event = painter->events.items[painter->given++];
    return CB_OK;
}

static enum cb_status keep_lessons(struct cb_store *store, const struct cb_kinds *kinds,
                                   struct cb_err *err)
{
    struct cb_history *history;
    struct cb_taught taught = {0};
    enum cb_status status = cb_history_open(store, kinds, &history, err);
    if (status == CB_OK) {
        status = cb_history_taught(history, &taught, err);
    }
    cb_taught_fini(&taught);
    cb_history_close(history);
    return status;
}

enum cb_status big_log_make(const struct big_log *plan, const char *path, char last_unit[32],
                            struct cb_err *err)
{
    struct cb_arena arena = {0};
    struct painter painter = {.plan = plan, .dice = {plan->seed}};
    const struct cb_kinds *kinds = NULL;
    struct cb_store *store = NULL;
    size_t added = 0;
    enum cb_status status = cb_paths_kinds(&arena, &kinds, err);
    for (size_t i = 0; i < RECIPES && status == CB_OK; i++) {
        struct cb_recipe_file file = {0};
        const char *name = cb_arena_printf(&arena, "%s/%s.yaml", plan->recipes, recipe_names[i]);
        status = cb_recipe_file_read(name, kinds, &arena, &file, err);
        painter.recipes[i] = file.recipe;
    }
    if (status == CB_OK) {
        status = cb_store_open(path, CB_STORE_APPEND, &store, err);
    }
    if (status == CB_OK) {
        status = cb_store_import(store, next_event, &painter, &added, err);
    }
    if (status == CB_OK && plan->lived) {
        status = keep_lessons(store, kinds, err);
    }
    cb_store_close(store);
    snprintf(last_unit, 32, "%s", painter.unit_id);
    cb_vec_free(&painter.events);
    cb_arena_fini(&painter.arena);
    cb_arena_fini(&arena);
    return status;
}
