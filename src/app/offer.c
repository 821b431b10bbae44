/* SPDX-License-Identifier: MIT */
#include "app/offer.h"

#include "app/lines.h"
#include "app/state.h"
#include "app/then.h"

void cb_offer_free(struct cb_app *app)
{
    app->offer.named = (struct cb_scene_at){0};
    cb_roads_move_on(app);
    cb_look_step(app);
}

void cb_offer_key(struct cb_app *app)
{
    if (!app->session.loaded || app->offer.pending) {
        return;
    }
    const struct cb_scene *scene = cb_app_scene(app);
    const struct cb_then_run then = cb_then_next(app, scene);
    app->offer.said_then = (struct cb_scene_at){0, then.stage, then.coat};
    app->offer.said =
        (struct cb_scene_at){scene->proposal.figure, scene->proposal.stage, scene->proposal.coat};
}

void cb_offer_written(struct cb_app *app, bool coat)
{
    app->offer.then = coat ? app->offer.said_then : (struct cb_scene_at){0};
    app->offer.last = app->offer.said;
    app->offer.pending = true;
}

static bool is_wanted(const struct cb_unit *unit, const struct cb_scene_at *at)
{
    bool wanted = false;
    for (int figure = 1; figure <= unit->figures && at->stage <= (int)unit->recipe->stage_count;
         figure++) {
        wanted = wanted || (!unit->figure[figure].parked &&
                            cb_bench_coats(unit, figure, at->stage) >= at->coat &&
                            cb_bench_coats_on(unit, figure, at->stage) < at->coat);
    }
    return wanted;
}

/* Another coat comes next than was said; not where somebody went elsewhere, or a key answered. */
static void say_changed(struct cb_app *app, const struct cb_scene *scene)
{
    const struct cb_scene_at *then = &app->offer.then, *last = &app->offer.last;
    const struct cb_proposal *next = &scene->proposal;
    const bool turned =
        next->any && (next->stage != last->stage || next->coat != last->coat) && !scene->by_hand;
    if (!turned) {
        return;
    }
    if (then->coat > 0 && (next->stage != then->stage || next->coat != then->coat) &&
        !app->look.flash[0] && is_wanted(scene->unit, then)) {
        cb_app_flash(app, "%s first after all, before %s",
                     scene->unit->recipe->stages[next->stage - 1].name,
                     scene->unit->recipe->stages[then->stage - 1].name);
    }
    app->offer.then = (struct cb_scene_at){0};
}

void cb_offer_stored(struct cb_app *app)
{
    if (app->offer.pending) {
        app->offer.pending = false;
        cb_offer_free(app);
    }
}

/* Why the coat that was named is not to go on now. */
static void say_lost(struct cb_app *app, const struct cb_scene *scene)
{
    const struct cb_scene_at *named = &app->offer.named;
    const struct cb_unit *unit = scene->unit;
    if (!unit || named->stage > (int)unit->recipe->stage_count || named->figure > unit->figures) {
        return;
    }
    const char *paint = cb_words_paint(unit, named->stage);
    const struct cb_slot slot = cb_next_slot(app->session.bench, app->session.learn, unit,
                                             named->figure, named->stage, scene->now_ms);
    char clock[CB_CLOCK_SIZE];
    switch (slot.state) {
    case CB_SLOT_WET:
    case CB_SLOT_BESIDE:
    case CB_SLOT_TOGETHER:
        if (slot.until_ms == CB_TIME_NONE) {
            cb_app_flash(app, "%s on %d waits after all: too cold or too damp to dry", paint,
                         named->figure);
        } else {
            cb_lines_clock(app, slot.until_ms, clock);
            cb_app_flash(app, "%s on %d waits after all: %s is %s until %s", paint, named->figure,
                         cb_words_paint(unit, slot.by_stage),
                         cb_words_painted(unit, slot.by_stage) ? "wet" : "not done", clock);
        }
        return;
    case CB_SLOT_WAITS:
        cb_app_flash(app, "%s on %d waits after all: %s is not %s", paint, named->figure,
                     cb_words_coat(&app->frame, unit, slot.by_stage, slot.by_coat),
                     cb_words_laid(unit, slot.by_stage));
        return;
    case CB_SLOT_READY: /* another coat of it */
    case CB_SLOT_DONE:
        cb_app_flash(app, "%s on %d has changed elsewhere", paint, named->figure);
        return;
    case CB_SLOT_PARKED:
        cb_app_flash(app, "%s on %d no more: the figure is parked", paint, named->figure);
        return;
    case CB_SLOT_NONE:
        cb_app_flash(app, "%s on %d no more: it is left out", paint, named->figure);
        return;
    }
}

void cb_offer_settle(struct cb_app *app)
{
    if (app->offer.pending || !app->session.loaded) {
        return;
    }
    const struct cb_scene *scene = cb_app_scene(app);
    const struct cb_proposal *coat = &scene->proposal;
    if (scene->lost) {
        say_lost(app, scene);
    }
    say_changed(app, scene);
    app->offer.named = (struct cb_scene_at){0};
    app->offer.waits = scene->anyway;
    /* Gone to by hand, a coat may have to wait. */
    if (coat->any && !scene->anyway &&
        cb_next_slot(app->session.bench, app->session.learn, scene->unit, coat->figure, coat->stage,
                     scene->now_ms)
                .state == CB_SLOT_READY) {
        app->offer.named = (struct cb_scene_at){coat->figure, coat->stage, coat->coat};
    }
}

/* 0: a coat of the stage can go on somewhere now; 1: later; -1: there is nothing to do. */
static int stage_waits(const struct cb_app *app, const struct cb_scene *scene, int stage)
{
    int waits = -1;
    for (int figure = 1; figure <= scene->unit->figures; figure++) {
        const struct cb_slot slot = cb_next_slot(app->session.bench, app->session.learn,
                                                 scene->unit, figure, stage, scene->now_ms);
        if (slot.state == CB_SLOT_READY) {
            return 0;
        }
        const bool nothing = slot.state == CB_SLOT_DONE || slot.state == CB_SLOT_NONE ||
                             slot.state == CB_SLOT_PARKED;
        waits = nothing ? waits : 1;
    }
    return waits;
}

/* The stages in the order of up and down. */
static int list_stages(const struct cb_app *app, const struct cb_scene *scene,
                       int stages[CB_RECIPE_MAX], int *ready)
{
    int later[CB_RECIPE_MAX], count = 0, more = 0;
    for (int stage = 1; stage <= (int)scene->unit->recipe->stage_count; stage++) {
        const int waits = stage_waits(app, scene, stage);
        if (waits == 0) {
            stages[count++] = stage;
        } else if (waits == 1) {
            later[more++] = stage;
        }
    }
    *ready = count;
    for (int i = 0; i < more; i++) {
        stages[count++] = later[i];
    }
    for (; *ready + more == 0 && count < (int)scene->unit->recipe->stage_count; count++) {
        stages[count] = count + 1; /* all is done: each can be looked at, and have a coat more */
    }
    return count;
}

/* Where in the list a stage stands; of one that is not in it, the place before the next one. */
static int place_of(const int *stages, int count, int stage)
{
    int before = -1;
    for (int i = 0; i < count; i++) {
        if (stages[i] == stage) {
            return i;
        }
        before = stages[i] < stage && (before < 0 || stages[i] > stages[before]) ? i : before;
    }
    return before;
}

/* While a coat is waited for, what is ready comes first. */
static int place_in(const int *stages, int count, const struct cb_scene *scene, int stage)
{
    return scene->anyway ? -1 : place_of(stages, count, stage);
}

static int wrap(int value, int count)
{
    return ((value % count) + count) % count;
}

void cb_offer_move(struct cb_app *app, int figures, int stages)
{
    const struct cb_scene *scene = cb_app_scene(app);
    if (!scene->unit) {
        return;
    }
    const struct cb_nav *nav = &app->nav;
    int figure = nav->at_figure ? nav->at_figure : scene->proposal.figure;
    int stage = nav->at_stage ? nav->at_stage : scene->proposal.stage;
    if (stages != 0) {
        int list[CB_RECIPE_MAX] = {0}, ready;
        const int count = list_stages(app, scene, list, &ready);
        if (count == 0) { /* a recipe that did not read has no stages */
            return;
        }
        const int at = place_in(list, count, scene, stage);
        stage = list[wrap(at + stages + (at < 0 && stages < 0), count)];
        figure = 0;
    }
    if (figures != 0) {
        figure = figure ? wrap(figure - 1 + figures, scene->unit->figures) + 1 : 1;
        stage = stage ? stage : cb_bench_facts(app->session.bench).last_stage;
    }
    cb_nav_go(app, figure, stage);
}

void cb_offer_next(struct cb_app *app, int figure, int stage)
{
    const struct cb_scene *scene = cb_app_scene(app);
    for (int i = 1; i < scene->unit->figures; i++) {
        const int other = (figure - 1 + i) % scene->unit->figures + 1;
        const struct cb_slot slot = cb_next_slot(app->session.bench, app->session.learn,
                                                 scene->unit, other, stage, scene->now_ms);
        if (slot.state != CB_SLOT_DONE && slot.state != CB_SLOT_NONE &&
            slot.state != CB_SLOT_PARKED) {
            cb_nav_go(app, other, stage);
            return;
        }
    }
    cb_nav_go(app, 0, 0);
}

struct cb_offer_too cb_offer_ready_too(const struct cb_app *app, const struct cb_scene *scene)
{
    struct cb_offer_too too = {0};
    int list[CB_RECIPE_MAX] = {0}, ready = 0;
    if (!scene->unit || !scene->proposal.any) {
        return too;
    }
    const int all = list_stages(app, scene, list, &ready);
    const int at = place_in(list, all, scene, scene->proposal.stage);
    const bool among = at >= 0 && at < ready && list[at] == scene->proposal.stage;
    const int others = ready - among;
    if (others < 1) {
        return too;
    }
    too.step = at + 1 < ready ? 1 : -1;
    if (at + too.step < 0 || at + too.step >= ready) {
        return (struct cb_offer_too){0}; /* by hand among those that wait */
    }
    too.stage = list[at + too.step];
    too.more = others - 1;
    for (int figure = 1; figure <= scene->unit->figures; figure++) {
        const struct cb_slot slot = cb_next_slot(app->session.bench, app->session.learn,
                                                 scene->unit, figure, too.stage, scene->now_ms);
        if (slot.state == CB_SLOT_READY) {
            too.figures[too.count++] = figure;
        }
    }
    return too;
}
