/* SPDX-License-Identifier: MIT */
#include "app/same.h"

#include <string.h>

#include "app/state.h"

/* What was painted with last in this sitting, in whichever unit; NULL: nothing yet. */
static const char *pot_on_brush(const struct cb_app *app)
{
    const struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    const bool on_brush =
        facts.last_stage > 0 && facts.session_open && facts.last_mark_ms >= facts.session_opened_ms;
    return on_brush ? cb_bench_stage_pot(cb_bench_unit(app->session.bench, (size_t)facts.last_unit),
                                         facts.last_stage)
                    : NULL;
}

/* The first stage of it with that paint and a figure that is ready. */
static bool is_ready(const struct cb_app *app, const struct cb_scene *scene,
                     const struct cb_unit *unit, const char *pot, struct cb_same *same)
{
    *same = (struct cb_same){.unit = unit};
    for (int stage = 1; stage <= (int)unit->recipe->stage_count && same->count == 0; stage++) {
        const char *own = cb_bench_stage_pot(unit, stage);
        same->stage = stage;
        for (int figure = 1; own && strcmp(own, pot) == 0 && figure <= unit->figures; figure++) {
            const struct cb_slot slot = cb_next_slot(app->session.bench, app->session.learn, unit,
                                                     figure, stage, scene->now_ms);
            if (slot.state == CB_SLOT_READY) {
                same->figures[same->count++] = figure;
            }
        }
    }
    return same->count > 0;
}

static bool find(const struct cb_app *app, const struct cb_scene *scene, const char *pot,
                 struct cb_same *same)
{
    for (size_t u = 0; pot && u < cb_bench_unit_count(app->session.bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(app->session.bench, u);
        if (!unit->finished && unit != scene->unit && is_ready(app, scene, unit, pot, same)) {
            return true;
        }
    }
    return false;
}

struct cb_same cb_same_brush(const struct cb_app *app, const struct cb_scene *scene)
{
    struct cb_same same = {0};
    const bool named = scene->unit && scene->proposal.any && !scene->anyway;
    const bool found =
        scene->unit &&
        (find(app, scene, pot_on_brush(app), &same) ||
         (named &&
          find(app, scene, cb_bench_stage_pot(scene->unit, scene->proposal.stage), &same)));
    return found ? same : (struct cb_same){0};
}

/* The open unit after the one in front, round; NULL: there is no other. */
static const struct cb_unit *next_unit(const struct cb_app *app)
{
    const size_t count = cb_app_open_units(app);
    size_t at = count; /* none in front: the first */
    for (size_t row = 0; row < count; row++) {
        const size_t unit = cb_app_open_unit(app, row);
        at = cb_bench_unit(app->session.bench, unit) == cb_app_unit(app) ? row : at;
    }
    const struct cb_unit *next =
        count == 0
            ? NULL
            : cb_bench_unit(app->session.bench, cb_app_open_unit(app, at + 1 < count ? at + 1 : 0));
    return next == cb_app_unit(app) ? NULL : next;
}

void cb_same_go(struct cb_app *app)
{
    const struct cb_same same = cb_same_brush(app, cb_app_scene(app));
    const struct cb_unit *unit = same.unit ? same.unit : next_unit(app);
    if (!unit) {
        cb_app_flash(app, "no other unit is under way; %s begins one",
                     cb_app_key(app, CB_ACTION_OPEN));
        return;
    }
    app->goal = (struct cb_same_goal){cb_arena_text(&app->arena, unit->id), same.stage};
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_UNIT_OPENED, unit->id, &app->session.now);
    cb_app_store_one(app, &make);
}

void cb_same_arrived(struct cb_app *app)
{
    const struct cb_unit *unit = cb_app_unit(app);
    const struct cb_same_goal goal = app->goal;
    app->goal = (struct cb_same_goal){NULL, 0};
    if (unit && goal.unit && goal.stage > 0 && strcmp(goal.unit, unit->id) == 0 &&
        cb_app_scene(app)->proposal.stage != goal.stage) {
        cb_nav_go(app, 0, goal.stage);
    }
}
