/* SPDX-License-Identifier: MIT */
#include "app/scene.h"

#include <stdlib.h>
#include <string.h>

#include "base/vec.h"

#define TOUCHES 5 /* of a stroke on the scrap, within its usual time (own judgement) */

const struct cb_scene_at cb_scene_free = {0, 0, 0};

static bool worth_a_look(const struct cb_film *film)
{
    return film->stage > 0 && film->lifted_ms == CB_TIME_NONE && film->next_ms == CB_TIME_NONE &&
           film->check != CB_CHECK_DRY && film->drying && film->drying->from != CB_TIME_ZERO;
}

static int64_t rank(const struct cb_scene_film *row)
{
    return row->forecast.held || row->forecast.due_ms == CB_TIME_NONE ? INT64_MAX
                                                                      : row->forecast.due_ms;
}

static int by_due(const void *a, const void *b)
{
    const struct cb_scene_film *x = a, *y = b;
    if (rank(x) != rank(y)) {
        return rank(x) < rank(y) ? -1 : 1;
    }
    if (x->film->figure != y->film->figure) {
        return x->film->figure < y->film->figure ? -1 : 1;
    }
    return x->film < y->film ? -1 : x->film > y->film;
}

static void sooner(struct cb_scene *scene, int64_t at_ms)
{
    if (at_ms > scene->now_ms && (scene->changes_ms == CB_TIME_NONE || at_ms < scene->changes_ms)) {
        scene->changes_ms = at_ms;
    }
}

static void find_films(struct cb_scene *scene, const struct cb_bench *bench,
                       const struct cb_learn *learn, struct cb_arena *arena)
{
    CB_VEC(struct cb_scene_film) found = {0};
    for (size_t u = 0; u < cb_bench_unit_count(bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(bench, u);
        for (size_t i = 0; !unit->finished && i < unit->film_count; i++) {
            const struct cb_film *film = &unit->films[i];
            if (worth_a_look(film)) {
                struct cb_scene_film row = {.unit = unit, .film = film};
                /* Of a dry one nothing but its time is asked, and most are dry. */
                row.forecast.dry =
                    cb_forecast_dry(bench, learn, film, scene->now_ms, &row.forecast.due_ms);
                row.forecast.chance = 1;
                if (!row.forecast.dry) {
                    row.forecast = cb_forecast_film(bench, learn, film, scene->now_ms);
                }
                row.forecast.held = row.forecast.held && !row.forecast.dry;
                if (!row.forecast.dry) {
                    sooner(scene, row.forecast.median_ms);
                    sooner(scene, row.forecast.due_ms);
                }
                scene->wet_count += !row.forecast.dry;
                scene->held_count += row.forecast.held;
                cb_vec_push(&found, row);
            }
        }
    }
    if (found.count > 1) {
        qsort(found.items, found.count, sizeof *found.items, by_due);
    }
    scene->films = cb_arena_alloc(arena, found.count + 1, sizeof *scene->films);
    for (size_t i = 0; i < found.count; i++) {
        scene->films[i] = found.items[i];
    }
    scene->film_count = found.count;
    cb_vec_free(&found);
}

const struct cb_film *cb_scene_last_film(const struct cb_unit *unit, int figure)
{
    for (size_t i = unit->film_count; i-- > 0;) {
        const struct cb_film *film = &unit->films[i];
        if (film->figure == figure && film->stage > 0 && film->lifted_ms == CB_TIME_NONE) {
            return film;
        }
    }
    return NULL;
}

/* Is every coat that must be on this figure on it? */
static bool figure_done(const struct cb_unit *unit, int figure)
{
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        if (!unit->recipe->stages[stage - 1].optional &&
            cb_bench_coats(unit, figure, stage) > cb_bench_coats_on(unit, figure, stage)) {
            return false;
        }
    }
    return true;
}

/* Dry by now, and nothing lies on it. */
static bool has_rung(const struct cb_scene_film *row)
{
    return row->forecast.dry && row->film == cb_scene_last_film(row->unit, row->film->figure);
}

const struct cb_scene_film *cb_scene_focus(const struct cb_scene *scene, int at_figure)
{
    const struct cb_scene_film *wet = NULL, *rang = NULL;
    for (size_t i = 0; i < scene->film_count; i++) {
        const struct cb_scene_film *row = &scene->films[i];
        if (row->unit != scene->unit || (at_figure && row->film->figure != at_figure)) {
            continue;
        }
        if (has_rung(row)) {
            rang = row;
        } else if (!row->forecast.dry && !wet) {
            wet = row;
        }
    }
    for (size_t i = 0; rang && i < scene->film_count; i++) { /* of that coat, the first that rang */
        const struct cb_scene_film *row = &scene->films[i];
        if (row->unit == scene->unit && row->film->stage == rang->film->stage &&
            row->film->coat == rang->film->coat && has_rung(row) &&
            (!at_figure || row->film->figure == at_figure)) {
            return row;
        }
    }
    return wet;
}

/* A coat gone to asks of what it would lie on or against: what it waits for, else the last to ring.
 */
static const struct cb_scene_film *focus_below(const struct cb_scene *scene)
{
    const struct cb_proposal *coat = &scene->proposal;
    const struct cb_scene_film *rang = NULL;
    for (size_t i = 0; i < scene->film_count && coat->any; i++) {
        const struct cb_scene_film *row = &scene->films[i];
        if (row->film == scene->below) {
            return row;
        }
        if (row->unit == scene->unit && row->film->figure == coat->figure && row->forecast.dry &&
            cb_next_must_be_dry(row->unit, row->film, coat->stage)) {
            rang = row;
        }
    }
    return rang;
}

/* When a stroke wants to be touched next: at its usual time, then every fifth of it after the last
 * touch. */
static int64_t touch_ms(const struct cb_bench *bench, const struct cb_learn *learn,
                        const struct cb_film *stroke)
{
    struct cb_film untouched = *stroke;
    untouched.check = CB_CHECK_NONE;
    const int64_t usual_ms = cb_forecast_median_ms(bench, learn, &untouched);
    if (usual_ms == CB_TIME_NONE || stroke->check == CB_CHECK_NONE) {
        return usual_ms;
    }
    const int64_t again_ms = stroke->wet_ms + (usual_ms - stroke->on_ms) / TOUCHES;
    return again_ms > usual_ms ? again_ms : usual_ms;
}

/* A stroke is answered for until it was found dry, or its ring is passed by half. Of several, the
 * one that wants to be touched first. */
static void find_stroke(struct cb_scene *scene, const struct cb_bench *bench,
                        const struct cb_learn *learn)
{
    for (size_t i = 0; i < scene->unit->stroke_count; i++) {
        const struct cb_film *film = &scene->unit->strokes[i];
        if (film->stage == 0 || film->check == CB_CHECK_DRY || film->suspect) {
            continue;
        }
        const struct cb_forecast forecast = cb_forecast_film(bench, learn, film, scene->now_ms);
        const int64_t end_ms = forecast.due_ms == CB_TIME_NONE
                                   ? CB_TIME_NONE
                                   : film->on_ms + (forecast.due_ms - film->on_ms) * 3 / 2;
        if (end_ms != CB_TIME_NONE && scene->now_ms > end_ms) {
            continue;
        }
        const int64_t at_ms = touch_ms(bench, learn, film);
        sooner(scene, at_ms);
        sooner(scene, end_ms);
        if (!scene->stroke.film || (at_ms != CB_TIME_NONE &&
                                    (scene->touch_ms == CB_TIME_NONE || at_ms < scene->touch_ms))) {
            scene->touch_ms = at_ms;
            scene->stroke = (struct cb_scene_film){scene->unit, film, forecast};
            scene->stroke.forecast.dry = false; /* nobody has said so */
        }
    }
}

int cb_scene_place(const struct cb_bench *bench, const char *name)
{
    for (size_t i = 0; name != NULL && i < cb_bench_place_count(bench); i++) {
        if (strcmp(cb_bench_place_name(bench, (int)i), name) == 0) {
            return (int)i;
        }
    }
    return 0;
}

/* A room that cools while a stage goes on is still worth a word. */
static void keep_too_cold(struct cb_gates *gates)
{
    size_t kept = 0;
    for (size_t i = 0; i < gates->count; i++) {
        if (gates->items[i].level == CB_GATE_RED &&
            strcmp(gates->items[i].id, "film-formation") == 0) {
            gates->items[kept++] = gates->items[i];
        }
    }
    gates->count = kept;
}

static void look_at_stage(struct cb_scene *scene, const struct cb_bench *bench,
                          const struct cb_learn *learn, struct cb_arena *arena)
{
    const struct cb_unit *unit = scene->unit;
    const struct cb_recipe *recipe = unit->recipe;
    int stage = scene->proposal.stage;
    scene->stage = &recipe->stages[stage - 1];
    scene->coats = cb_bench_coats(unit, scene->proposal.figure, stage);
    scene->stage_begins = true;
    scene->mind = cb_next_mind(bench, learn, unit, &scene->proposal, scene->now_ms);
    if (scene->anyway || scene->proposal.thought_wet) {
        const struct cb_slot slot =
            cb_next_slot(bench, learn, unit, scene->proposal.figure, stage, scene->now_ms);
        if (slot.by_figure > 0) {
            scene->below = cb_bench_film(unit, slot.by_figure, slot.by_stage, slot.by_coat);
            scene->below_ms = slot.until_ms;
        }
    }
    for (size_t i = 0; i < unit->film_count; i++) {
        if (unit->films[i].stage == stage) {
            scene->stage_begins = false;
        }
    }
    const struct cb_reading reading =
        cb_bench_climate_at(bench, cb_scene_place(bench, scene->stage->place), scene->now_ms);
    cb_gate_check_stage(cb_bench_kinds(bench), cb_bench_used(unit), (size_t)(stage - 1),
                        &reading.climate, arena, &scene->gates);
    if (!scene->stage_begins) {
        keep_too_cold(&scene->gates);
        return;
    }
    scene->caution_count = cb_gate_cautions(
        cb_bench_kinds(bench), cb_bench_used(unit), (size_t)(stage - 1), reading.climate.air,
        scene->cautions, sizeof scene->cautions / sizeof *scene->cautions);
    for (size_t i = 0; i < scene->caution_count; i++) {
        scene->caution_read[i] = cb_bench_caution_read(bench, scene->cautions[i].id);
    }
}

/* What the plan said, as it stands now; false: it can't be done any more. */
static bool take_planned(const struct cb_bench *bench, const struct cb_learn *learn,
                         const struct cb_unit *unit, const struct cb_proposal *planned,
                         int64_t now_ms, struct cb_proposal *proposal)
{
    if (planned->any) {
        return cb_next_hold(bench, learn, unit, planned->figure, planned->stage, planned->coat,
                            now_ms, proposal);
    }
    if (planned->wait_figure == 0) {
        return false;
    }
    const struct cb_slot slot =
        cb_next_slot(bench, learn, unit, planned->wait_figure, planned->wait_stage, now_ms);
    if (slot.state == CB_SLOT_READY &&
        unit->recipe->stages[planned->wait_stage - 1].together != 0) {
        return cb_next_take(bench, learn, unit, slot.stage, slot.coat, now_ms, proposal);
    }
    if (slot.state == CB_SLOT_READY) {
        return cb_next_hold(bench, learn, unit, slot.figure, slot.stage, slot.coat, now_ms,
                            proposal);
    }
    *proposal = cb_next_wait(bench, learn, unit, planned->wait_figure, planned->wait_stage, now_ms);
    return proposal->wait_figure > 0;
}

/* A go of all that is waited for will be on all that want it. */
static void name_all(struct cb_scene *scene, const struct cb_bench *bench,
                     const struct cb_learn *learn)
{
    struct cb_proposal *next = &scene->proposal;
    if (!next->any || scene->unit->recipe->stages[next->stage - 1].together != CB_TOGETHER_ALL) {
        return;
    }
    const int named = next->figure;
    next->figure_count = 0;
    for (int figure = 1; figure <= scene->unit->figures; figure++) {
        const struct cb_slot slot =
            cb_next_slot(bench, learn, scene->unit, figure, next->stage, scene->now_ms);
        const bool wants = slot.state == CB_SLOT_READY || slot.state == CB_SLOT_WET ||
                           slot.state == CB_SLOT_BESIDE || slot.state == CB_SLOT_TOGETHER;
        if (wants && slot.coat == next->coat) {
            next->figures[next->figure_count++] = figure;
        }
    }
    if (next->figure_count == 0) {
        next->figures[next->figure_count++] = named;
    }
    next->figure = next->figures[0];
    next->together = true;
}

const struct cb_scene *cb_scene_of(const struct cb_bench *bench, const struct cb_learn *learn,
                                   struct cb_scene_at hand, struct cb_scene_at named,
                                   const struct cb_proposal *planned, int64_t now_ms,
                                   struct cb_arena *arena)
{
    struct cb_scene *scene = cb_arena_alloc(arena, 1, sizeof *scene);
    scene->now_ms = now_ms;
    scene->ready_ms = scene->changes_ms = scene->touch_ms = CB_TIME_NONE;
    scene->reading = cb_bench_climate_at(bench, 0, now_ms);
    scene->assumed = scene->reading.from == CB_FROM_DEFAULT;
    scene->stale = !scene->assumed && scene->reading.at_ms != CB_TIME_NONE &&
                   now_ms - scene->reading.at_ms > 90 * CB_MS_PER_MIN;
    find_films(scene, bench, learn, arena);
    for (size_t i = 0; i < scene->film_count && !scene->next; i++) {
        if (!scene->films[i].forecast.dry && !scene->films[i].forecast.held) {
            scene->next = &scene->films[i];
        }
    }
    int front = cb_bench_front(bench);
    if (front < 0) {
        return scene;
    }
    const struct cb_unit *unit = scene->unit = cb_bench_unit(bench, (size_t)front);
    scene->by_hand = hand.figure > 0 || hand.stage > 0;
    scene->hand = hand;
    scene->all_done = cb_next_all_done(unit);
    find_stroke(scene, bench, learn);
    const bool held = named.coat > 0 && (!hand.figure || hand.figure == named.figure) &&
                      (!hand.stage || hand.stage == named.stage);
    if (held && cb_next_hold(bench, learn, unit, named.figure, named.stage, named.coat, now_ms,
                             &scene->proposal)) {
        scene->proposal.figure_count = hand.figure ? 1 : scene->proposal.figure_count;
    } else {
        scene->lost = held;
        if (scene->by_hand || !planned ||
            !take_planned(bench, learn, unit, planned, now_ms, &scene->proposal)) {
            scene->proposal = cb_next_propose(bench, learn, unit, hand.figure, hand.stage, now_ms);
        }
    }
    if (!scene->proposal.any && !scene->by_hand && !scene->all_done) {
        const struct cb_proposal wait = scene->proposal;
        scene->ready_ms = wait.ready_ms;
        scene->ready_by = wait.wait_for;
        if (wait.wait_figure > 0) {
            scene->proposal =
                cb_next_propose(bench, learn, unit, wait.wait_figure, wait.wait_stage, now_ms);
        }
        scene->anyway = scene->proposal.any;
        name_all(scene, bench, learn);
    }
    if (scene->proposal.any) {
        look_at_stage(scene, bench, learn, arena);
    }
    scene->focus = hand.stage > 0 || scene->anyway ? focus_below(scene) : NULL;
    scene->focus = scene->focus ? scene->focus : cb_scene_focus(scene, hand.figure);
    return scene;
}

int cb_scene_parked(const struct cb_scene *scene)
{
    const int figure = scene->unit ? scene->hand.figure : 0;
    return figure > 0 && scene->unit->figure[figure].parked ? figure : 0;
}

bool cb_scene_unread(const struct cb_scene *scene)
{
    for (size_t i = 0; i < scene->caution_count; i++) {
        if (!scene->caution_read[i]) {
            return true;
        }
    }
    return false;
}

enum cb_words_state cb_scene_state(const struct cb_bench *bench, const struct cb_learn *learn,
                                   const struct cb_unit *unit, int figure, int stage,
                                   int64_t now_ms, struct cb_slot *slot)
{
    const struct cb_slot own = cb_next_slot(bench, learn, unit, figure, stage, now_ms);
    if (slot) {
        *slot = own;
    }
    const struct cb_film *last = cb_scene_last_film(unit, figure);
    struct cb_forecast forecast = {.dry = true};
    if (last) {
        forecast = cb_forecast_film(bench, learn, last, now_ms);
    }
    enum cb_words_state drying = forecast.held                                  ? CB_STATE_HELD
                                 : last && !cb_words_painted(unit, last->stage) ? CB_STATE_WAITS
                                                                                : CB_STATE_WET;
    switch (own.state) {
    case CB_SLOT_DONE:
        return !forecast.dry ? drying : figure_done(unit, figure) ? CB_STATE_DONE : CB_STATE_HAS;
    case CB_SLOT_READY:
        return CB_STATE_READY;
    case CB_SLOT_WET:
    case CB_SLOT_BESIDE:
        return own.until_ms == CB_TIME_NONE                                ? CB_STATE_HELD
               : own.by_stage > 0 && !cb_words_painted(unit, own.by_stage) ? CB_STATE_WAITS
                                                                           : CB_STATE_WET;
    case CB_SLOT_WAITS:
        return forecast.dry ? CB_STATE_LATER : drying;
    case CB_SLOT_TOGETHER:
        return CB_STATE_ALL;
    case CB_SLOT_PARKED:
        return CB_STATE_PARKED;
    case CB_SLOT_NONE:
        return forecast.dry ? CB_STATE_NONE : drying;
    }
    return CB_STATE_NONE;
}

int cb_scene_missing(const struct cb_bench *bench, const struct cb_learn *learn,
                     const struct cb_scene *scene)
{
    if (!scene->by_hand || !scene->proposal.any) {
        return 0;
    }
    struct cb_slot slot = cb_next_slot(bench, learn, scene->unit, scene->proposal.figure,
                                       scene->proposal.stage, scene->now_ms);
    return slot.state == CB_SLOT_WAITS ? slot.by_stage : 0;
}

double cb_scene_chance_below(const struct cb_bench *bench, const struct cb_learn *learn,
                             const struct cb_unit *unit, const struct cb_film *film,
                             const struct cb_film **which)
{
    double chance = 1;
    for (size_t i = 0; i < unit->film_count; i++) {
        struct cb_film below = unit->films[i];
        if (below.figure != film->figure || below.stage == 0 || below.next_ms != film->on_ms ||
            below.on_ms >= film->on_ms || !below.drying ||
            (below.check == CB_CHECK_DRY && below.dry_ms <= film->on_ms)) {
            continue;
        }
        below.next_ms = CB_TIME_NONE; /* as it stood before the coat went on */
        struct cb_forecast forecast = cb_forecast_film(bench, learn, &below, film->on_ms);
        if (!forecast.dry && forecast.chance < chance) {
            chance = forecast.chance;
            if (which) {
                *which = &unit->films[i];
            }
        }
    }
    return chance;
}
