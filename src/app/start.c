/* SPDX-License-Identifier: MIT */
/* Which unit is to be painted, and what others begin while the bench is open. */
#include "app/start.h"

#include <inttypes.h>
#include <string.h>

#include "app/form.h"
#include "app/key.h"
#include "app/state.h"
#include "base/utf8.h"

#define DEFAULT_FIGURES 10
#define NAME_COLUMNS    40 /* of a unit in the one line; own judgement */

const struct cb_start *cb_app_start(const struct cb_app *app)
{
    return &app->start;
}

void cb_start_open_chooser(struct cb_app *app)
{
    app->start.choice = 0;
    cb_app_effect(app, CB_EFFECT_LIST_RECIPES);
}

const char *cb_start_new_id(struct cb_app *app)
{
    size_t before;
    cb_bench_events(app->session.bench, &before);
    return cb_arena_printf(&app->frame, "u%" PRIx64 "-%" PRIx64 "-%zu",
                           (uint64_t)app->session.now.wall_ms, app->start.seed, before);
}

static const struct cb_source *find_source(const struct cb_app *app, const char *unit, bool any)
{
    for (size_t i = app->start.sources.count; i-- > 0;) {
        const struct cb_source *source = &app->start.sources.items[i];
        if (strcmp(source->unit, unit) == 0 && (any || !source->found)) {
            return source;
        }
    }
    return NULL;
}

const char *cb_start_source(const struct cb_app *app, const char *unit)
{
    const struct cb_source *source = find_source(app, unit, true);
    return source ? source->path : NULL;
}

/* Only where it is known: a file that was found by its name is looked for again. */
static const char *begun_from(const struct cb_app *app, const char *unit)
{
    const struct cb_source *source = find_source(app, unit, false);
    return source ? source->path : NULL;
}

static void remember(struct cb_app *app, const char *unit, const char *path, bool found)
{
    cb_vec_push(&app->start.sources, ((struct cb_source){cb_arena_text(&app->arena, unit),
                                                         cb_arena_text(&app->arena, path), found}));
}

void cb_start_remember(struct cb_app *app, const char *unit, const char *path)
{
    remember(app, unit, path, false);
}

void cb_start_reload(struct cb_app *app)
{
    const struct cb_unit *unit = cb_app_unit(app);
    if (!unit) {
        return;
    }
    app->start.reloading = true;
    struct cb_effect *effect = cb_app_effect(app, CB_EFFECT_RELOAD);
    effect->path =
        cb_start_source(app, unit->id); /* NULL: all that are found; the name tells which */
}

/* The file has been read again: what differs is shown. Where the unit came from a file that is
 * known, no other is meant by it. */
static void take_reload(struct cb_app *app)
{
    const struct cb_unit *unit = cb_app_unit(app);
    if (!unit) {
        return;
    }
    const char *path = begun_from(app, unit->id);
    const struct cb_app_recipe *recipe = NULL;
    for (size_t i = 0; i < app->start.recipe_count && !recipe; i++) {
        const struct cb_app_recipe *row = &app->start.recipes[i];
        if (path ? strcmp(row->path, path) == 0
                 : row->name && strcmp(row->name, unit->recipe->name) == 0) {
            recipe = row;
        }
    }
    if (recipe && !path) {
        remember(app, unit->id, recipe->path, true);
    }
    const struct cb_app_recipe *only = app->start.recipe_count == 1 ? app->start.recipes : NULL;
    if (!recipe && only && only->fault && !only->ours) {
        cb_app_flash(app, "that is no recipe: %.200s", only->fault);
    } else if (!recipe && path) {
        cb_app_flash(app, "no such file: %.200s; the bench keeps the old recipe", path);
    } else if (!recipe) {
        cb_app_flash(app, "no recipe file of that name is found: %.160s", unit->recipe->name);
    } else if (!recipe->text) {
        cb_app_flash(app, "%.200s; the bench keeps the old recipe",
                     recipe->fault ? recipe->fault : "the recipe is broken");
    } else if (unit->recipe->text && strcmp(recipe->text, unit->recipe->text) == 0) {
        cb_app_flash(app, "the recipe is as it was: %.200s", recipe->path);
    } else {
        cb_changes_open(app, recipe);
    }
}

/* Of what can be begun: quick entry, then the recipes. */
static int count_new(const struct cb_app *app)
{
    return 1 + (int)app->start.recipe_count;
}

int cb_start_rows(const struct cb_app *app)
{
    return (int)cb_app_open_units(app) + count_new(app) + (int)cb_app_aside_units(app);
}

/* The unit of that row; NULL: a recipe's, or none. */
static const struct cb_unit *unit_in(const struct cb_app *app, int row)
{
    const int units = (int)cb_app_open_units(app);
    const int aside = row - units - count_new(app);
    if (row < units) {
        return cb_bench_unit(app->session.bench, cb_app_open_unit(app, (size_t)row));
    }
    return aside >= 0 && aside < (int)cb_app_aside_units(app)
               ? cb_bench_unit(app->session.bench, cb_app_aside_unit(app, (size_t)aside))
               : NULL;
}

void cb_start_recipes(struct cb_app *app, const struct cb_app_recipe *recipes, size_t count)
{
    app->start.recipes = recipes;
    app->start.recipe_count = count;
    app->start.recipes_known = true;
    if (app->start.reloading) {
        app->start.reloading = false;
        take_reload(app);
    }
    const int rows = cb_start_rows(app);
    if (app->start.choice >= rows) {
        app->start.choice = rows - 1;
    }
}

/* To the front, from wherever it was. */
static void open_unit(struct cb_app *app, const struct cb_unit *unit)
{
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_UNIT_OPENED, unit->id, &app->session.now);
    cb_app_store_one(app, &make);
    cb_nav_home(app);
}

/* It asks once more where coats were painted. */
static void put_aside(struct cb_app *app, const struct cb_unit *unit)
{
    size_t coats = 0;
    for (size_t i = 0; i < unit->film_count; i++) {
        coats += !unit->films[i].before;
    }
    if (coats > 0 && !cb_ask_is_sure(app, CB_ACTION_LEAVE_OUT, false)) {
        cb_ask_about(app, CB_ACTION_LEAVE_OUT, false);
        cb_app_flash(app,
                     coats == 1 ? "%zu coat is on it: %s again puts it aside"
                                : "%zu coats are on it: %s again puts it aside",
                     coats, cb_app_key(app, CB_ACTION_LEAVE_OUT));
        return;
    }
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_UNIT_FINISHED, unit->id, &app->session.now);
    cb_event_add_bool(&make, CB_FIELD_LEFT, true);
    cb_app_store_one(app, &make);
    const char *undo = cb_app_key(app, CB_ACTION_UNDO);
    const int room =
        app->look.columns - (int)strlen("put aside: ;  takes it back") - 2 - (int)strlen(undo);
    cb_app_flash(app, "put aside: %s; %s takes it back",
                 cb_utf8_clean(&app->frame, unit->name, room < 8 ? 8 : room), undo);
}

bool cb_start_choose_act(struct cb_app *app, enum cb_action action)
{
    const struct cb_unit *unit = unit_in(app, app->start.choice);
    if (action == CB_ACTION_OPEN && unit && unit->left && cb_app_may_write(app)) {
        open_unit(app, unit);
        return true;
    }
    if (action != CB_ACTION_LEAVE_OUT) {
        return false;
    }
    if (!unit) {
        cb_app_flash(app, "%s puts a unit aside; this is none",
                     cb_app_key(app, CB_ACTION_LEAVE_OUT));
    } else if (unit->left) {
        cb_app_flash(app, "it is put aside; ENTER opens it");
    } else if (cb_app_may_write(app)) {
        put_aside(app, unit);
    }
    return true;
}

bool cb_start_choose_key(struct cb_app *app, uint32_t key)
{
    const int rows = cb_start_rows(app);
    if (key == CB_KEY_UP || key == CB_KEY_DOWN) {
        app->start.choice = (app->start.choice + (key == CB_KEY_DOWN ? 1 : rows - 1)) % rows;
        return true;
    }
    if (key != CB_KEY_ENTER || app->ask.sure == CB_ACTION_LEAVE_OUT) {
        return false;
    }
    if (!cb_app_may_write(app)) {
        return true;
    }
    const struct cb_unit *unit = unit_in(app, app->start.choice);
    const struct cb_app_recipe *recipe = cb_start_chosen(app);
    if (unit) {
        open_unit(app, unit);
    } else if (recipe && !recipe->text) {
        cb_app_flash(app, "%.250s", recipe->fault ? recipe->fault : "this recipe is broken");
    } else if (recipe) {
        cb_form_open(app, 1U << CB_FORM_FIGURES | 1U << CB_FORM_DONE, false);
    } else {
        cb_nav_open(app, CB_ACTION_QUICK);
    }
    return true;
}

const struct cb_app_recipe *cb_start_chosen(const struct cb_app *app)
{
    const int row = app->start.choice - (int)cb_app_open_units(app) - 1;
    return row >= 0 && row < (int)app->start.recipe_count ? &app->start.recipes[row] : NULL;
}

int cb_start_default_figures(const struct cb_app *app)
{
    const struct cb_app_recipe *recipe = cb_start_chosen(app);
    return recipe && recipe->figures > 0 ? recipe->figures : DEFAULT_FIGURES;
}

struct cb_start_choice cb_start_hold_choice(const struct cb_app *app)
{
    const struct cb_unit *unit = unit_in(app, app->start.choice);
    const int row = app->start.choice - (int)cb_app_open_units(app);
    return (struct cb_start_choice){unit ? unit->id : NULL, unit ? 0 : row};
}

void cb_start_find_choice(struct cb_app *app, const struct cb_start_choice *held)
{
    if (!held->unit) {
        app->start.choice = (int)cb_app_open_units(app) + held->recipe;
        return;
    }
    const int rows = cb_start_rows(app);
    for (int row = 0; row < rows; row++) {
        const struct cb_unit *unit = unit_in(app, row);
        if (unit && strcmp(unit->id, held->unit) == 0) {
            app->start.choice = row;
            return;
        }
    }
}

void cb_start_tell_begun(struct cb_app *app, const struct cb_event *const *events, size_t count)
{
    const struct cb_unit *begun = NULL;
    size_t more = 0;
    for (size_t i = 0; i < count; i++) {
        if (events[i]->kind != CB_EVENT_UNIT_BEGUN) {
            continue;
        }
        const int at = cb_bench_find_unit(app->session.bench, events[i]->unit);
        const struct cb_unit *unit = at < 0 ? NULL : cb_bench_unit(app->session.bench, (size_t)at);
        if (unit && !unit->finished && unit != cb_app_unit(app)) {
            more += begun != NULL;
            begun = unit;
        }
    }
    if (!begun) {
        return;
    }
    const char *name = cb_utf8_clean(&app->frame, begun->name, NAME_COLUMNS);
    if (more > 0) {
        name = cb_arena_printf(&app->frame, "%s and %zu more", name, more);
    }
    if (app->session.writer) {
        cb_app_flash(app, "begun elsewhere: %s, %s opens %s", name, cb_app_key(app, CB_ACTION_OPEN),
                     more > 0 ? "them" : "it");
    } else {
        cb_app_flash(app, "begun elsewhere: %s", name);
    }
}

void cb_start_ask_begun(struct cb_app *app)
{
    const struct cb_unit *unit = cb_app_unit(app);
    const struct cb_start *start = &app->start;
    if (start->begun && start->begun_path) {
        cb_start_remember(app, start->begun, start->begun_path);
    }
    if (start->begun && app->session.writer && unit && strcmp(unit->id, start->begun) == 0) {
        cb_form_open(app, 0, true);
    }
}

void cb_start_init(struct cb_app *app, const struct cb_app_setup *setup)
{
    app->start.begun = setup->begun;
    app->start.begun_path = setup->begun_path;
    app->start.seed = setup->ping_seed;
}

void cb_start_fini(struct cb_app *app)
{
    cb_vec_free(&app->start.sources);
}
