/* SPDX-License-Identifier: MIT */
#include "core/bench/next.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/time.h"
#include "core/bench/bench_internal.h"

/* A film that is thought wet now. */
struct wet {
    const struct cb_film *film;
    int64_t due_ms;
};

typedef CB_VEC(struct wet) wet_films;

/* A screen asks for every slot of a unit at one moment: the wet films are found once. */
struct cb_bench_wet_cache {
    const struct cb_unit *unit; /* NULL: nothing yet */
    const struct cb_learn *learn;
    uint64_t generation, stamp;
    int64_t now_ms;
    wet_films wet;
    wet_films past; /* of a look back; room that is used again */
};

struct cb_bench_wet_cache *cb_bench_wet_cache_new(void)
{
    return cb_mem_new(1, sizeof(struct cb_bench_wet_cache));
}

void cb_bench_wet_cache_free(struct cb_bench_wet_cache *cache)
{
    cb_vec_free(&cache->wet);
    cb_vec_free(&cache->past);
    free(cache);
}

/* The unit at one moment; good until the bench or the learner is given more. */
struct scene {
    const struct cb_bench *bench;
    const struct cb_learn *learn;
    const struct cb_bench_unit *unit;
    int64_t now_ms;
    const wet_films *wet;
};

static struct scene scene_of(const struct cb_bench *bench, const struct cb_learn *learn,
                             const struct cb_unit *unit, int64_t now_ms)
{
    struct cb_bench_wet_cache *cache = bench->cache->wet;
    const struct scene scene = {bench, learn, cb_bench_inside(unit), now_ms, &cache->wet};
    const uint64_t generation = learn ? cb_learn_generation(learn) : 0;
    if (cache->unit == unit && cache->learn == learn && cache->generation == generation &&
        cache->stamp == bench->cache->stamp && cache->now_ms == now_ms) {
        return scene;
    }
    cache->unit = unit;
    cache->learn = learn;
    cache->generation = generation;
    cache->stamp = bench->cache->stamp;
    cache->now_ms = now_ms;
    cache->wet.count = 0;
    for (size_t i = 0; i < unit->film_count; i++) {
        struct wet wet = {.film = &unit->films[i]};
        if (cb_bench_film_open(wet.film) &&
            !cb_forecast_dry(bench, learn, wet.film, now_ms, &wet.due_ms)) {
            cb_vec_push(&cache->wet, wet);
        }
    }
    return scene;
}

static const struct cb_stage *stage_of(const struct scene *scene, int stage)
{
    return &scene->unit->unit.recipe->stages[stage - 1];
}

enum meeting { MEET_NOT, MEET_NEAR, MEET_BESIDE, MEET_BELOW };

/* How a film that is on meets a stage that is to go on the same figure. */
static enum meeting meet(const struct scene *scene, const struct cb_film *film, int stage)
{
    const struct cb_bench_recipe *read = scene->unit->read;
    const struct cb_stage *row = stage_of(scene, stage);
    const struct cb_recipe *recipe = scene->unit->unit.recipe;
    if (film->whole || row->whole || (film->areas & row->on)) {
        return MEET_BELOW;
    }
    if (film->stage > 0) {
        const uint64_t bit = UINT64_C(1) << (film->stage - 1);
        if (read->waits[stage - 1] & bit) {
            return MEET_BELOW; /* `after` asks for it, wherever it lies */
        }
        if (read->touches[stage - 1] & bit) {
            return MEET_BESIDE;
        }
    }
    enum meeting found = MEET_NOT;
    for (size_t i = 0; i < recipe->area_count; i++) {
        if ((film->areas >> i) & 1) {
            if (recipe->areas[i].beside & row->on) {
                return MEET_BESIDE;
            }
            found = recipe->areas[i].near & row->on ? MEET_NEAR : found;
        }
    }
    return found;
}

/* The stage before which this one may not go on, from 1; 0: none. What is optional holds up
 * nothing. */
static int unfinished_before(const struct scene *scene, int figure, int stage)
{
    const uint64_t holds = scene->unit->read->waits[stage - 1] & scene->unit->holds[figure];
    int before = holds ? 1 : 0;
    while (before > 0 && !((holds >> (before - 1)) & 1)) {
        before++;
    }
    return before;
}

/* Nothing but drying holds it up, its own or that of its go. */
static bool is_startable(const struct scene *scene, int figure, int stage)
{
    return ((scene->unit->wants[figure] >> (stage - 1)) & 1) &&
           !(scene->unit->read->waits[stage - 1] & scene->unit->holds[figure]) &&
           !scene->unit->unit.figure[figure].parked;
}

/* The slot as if the figure stood alone. */
static struct cb_slot slot_alone(const struct scene *scene, int figure, int stage)
{
    const struct cb_unit *unit = &scene->unit->unit;
    struct cb_slot slot = {
        .state = CB_SLOT_NONE, .figure = figure, .stage = stage, .until_ms = CB_TIME_NONE};
    if (!((scene->unit->wants[figure] >> (stage - 1)) & 1)) {
        slot.state = cb_bench_coats(unit, figure, stage) > 0 ? CB_SLOT_DONE : CB_SLOT_NONE;
        return slot;
    }
    slot.coat = cb_bench_coats_on(unit, figure, stage) + 1;
    if (unit->figure[figure].parked) {
        slot.state = CB_SLOT_PARKED;
        return slot;
    }
    const int before = unfinished_before(scene, figure, stage);
    if (before > 0) {
        slot.state = CB_SLOT_WAITS;
        slot.by_figure = figure;
        slot.by_stage = before;
        slot.by_coat = cb_bench_coats_on(unit, figure, before) + 1;
        return slot;
    }
    slot.state = CB_SLOT_READY;
    bool never = false;
    for (size_t i = 0; i < scene->wet->count; i++) {
        const struct wet *wet = &scene->wet->items[i];
        if (wet->film->figure != figure) {
            continue;
        }
        const enum meeting meeting = meet(scene, wet->film, stage);
        if (meeting != MEET_BELOW && meeting != MEET_BESIDE) {
            continue;
        }
        const bool is_last =
            slot.state == CB_SLOT_READY ||
            (!never && (wet->due_ms == CB_TIME_NONE || wet->due_ms > slot.until_ms));
        if (is_last) {
            slot.state = meeting == MEET_BELOW ? CB_SLOT_WET : CB_SLOT_BESIDE;
            slot.by_figure = figure;
            slot.by_stage = wet->film->stage;
            slot.by_coat = wet->film->coat;
            slot.until_ms = wet->due_ms;
            never = wet->due_ms == CB_TIME_NONE;
        }
    }
    return slot;
}

/* When as many as a together go takes, all or as many as fit, can have the coat of alone;
 * INT64_MAX: never, as things stand. *last: the slot it waits for, the first in figure order. */
static int64_t together_ms(const struct scene *scene, const struct cb_slot *alone,
                           struct cb_slot *last)
{
    const struct cb_unit *unit = &scene->unit->unit;
    const int fit = stage_of(scene, alone->stage)->together;
    struct cb_slot slots[CB_FIGURES_MAX];
    int64_t at_ms[CB_FIGURES_MAX];
    int64_t sorted[CB_FIGURES_MAX];
    int members = 0;
    for (int figure = 1; figure <= unit->figures; figure++) {
        const struct cb_slot other = slot_alone(scene, figure, alone->stage);
        if (other.state == CB_SLOT_NONE || other.state == CB_SLOT_DONE ||
            other.state == CB_SLOT_PARKED || other.coat > alone->coat ||
            (fit != CB_TOGETHER_ALL && other.coat != alone->coat)) {
            continue;
        }
        const bool behind = other.coat < alone->coat;
        slots[members] = other;
        at_ms[members] = other.state == CB_SLOT_READY && !behind    ? scene->now_ms
                         : behind || other.until_ms == CB_TIME_NONE ? INT64_MAX
                                                                    : other.until_ms;
        int place = members++;
        for (; place > 0 && sorted[place - 1] > at_ms[members - 1]; place--) {
            sorted[place] = sorted[place - 1];
        }
        sorted[place] = at_ms[members - 1];
    }
    if (members == 0) {
        return INT64_MAX;
    }
    const int64_t ms = sorted[(fit != CB_TOGETHER_ALL && fit < members ? fit : members) - 1];
    for (int i = members; i-- > 0;) {
        *last = at_ms[i] == ms ? slots[i] : *last;
    }
    return ms;
}

/* The slot of a figure that is ready, among the others of its together go. */
static struct cb_slot slot_together(const struct scene *scene, const struct cb_slot *alone)
{
    struct cb_slot slot = *alone;
    struct cb_slot last = *alone;
    const int64_t ms = together_ms(scene, alone, &last);
    if (ms > scene->now_ms) {
        slot.state = CB_SLOT_TOGETHER;
        slot.by_figure = last.figure;
        slot.by_stage = last.by_stage > 0 ? last.by_stage : last.stage;
        slot.by_coat = last.by_stage > 0 ? last.by_coat : last.coat;
        slot.until_ms = ms == INT64_MAX ? CB_TIME_NONE : ms;
    }
    return slot;
}

static struct cb_slot slot_in(const struct scene *scene, int figure, int stage)
{
    const struct cb_slot alone = slot_alone(scene, figure, stage);
    if (alone.state != CB_SLOT_READY || stage_of(scene, stage)->together == 0) {
        return alone;
    }
    return slot_together(scene, &alone);
}

struct cb_slot cb_next_slot(const struct cb_bench *bench, const struct cb_learn *learn,
                            const struct cb_unit *unit, int figure, int stage, int64_t now_ms)
{
    if (figure < 1 || figure > unit->figures || stage < 1 ||
        (size_t)stage > unit->recipe->stage_count) {
        return (struct cb_slot){
            .state = CB_SLOT_NONE, .figure = figure, .stage = stage, .until_ms = CB_TIME_NONE};
    }
    const struct scene scene = scene_of(bench, learn, unit, now_ms);
    return slot_in(&scene, figure, stage);
}

/* What is on the brush and where the hand was last. */
struct hand {
    const char *pot;         /* NULL: clean */
    int figure, stage, coat; /* in this unit; 0: elsewhere */
};

static struct hand hand_of(const struct scene *scene)
{
    const struct cb_bench *bench = scene->bench;
    struct hand hand = {NULL, 0, 0, 0};
    const struct cb_bench_facts facts = cb_bench_facts(bench);
    if (facts.last_figure > 0 && bench->units.items[facts.last_unit] == scene->unit) {
        hand = (struct hand){NULL, facts.last_figure, facts.last_stage, facts.last_coat};
    }
    for (size_t i = bench->sources.count; i-- > 0 && !hand.pot;) {
        const struct cb_film_more *more = bench->sources.items[i].film;
        if (more) {
            hand.pot = bench->units.items[more->unit]->films.items[more->film].pot;
        }
    }
    return hand;
}

static bool same_pot(const char *a, const char *b)
{
    return a && b && strcmp(a, b) == 0;
}

static bool has_near(const struct scene *scene, int figure, int stage)
{
    for (size_t i = 0; i < scene->wet->count; i++) {
        if (scene->wet->items[i].film->figure == figure &&
            meet(scene, scene->wet->items[i].film, stage) == MEET_NEAR) {
            return true;
        }
    }
    return false;
}

/* Smaller is better; compared from the left. */
struct rank {
    int64_t v[6];
};

static bool is_better(const struct rank *a, const struct rank *b)
{
    for (size_t i = 0; i < sizeof a->v / sizeof *a->v; i++) {
        if (a->v[i] != b->v[i]) {
            return a->v[i] < b->v[i];
        }
    }
    return false;
}

static struct rank rank_of(const struct scene *scene, const struct hand *hand,
                           const struct cb_slot *slot)
{
    const bool same = slot->stage == hand->stage && slot->coat == hand->coat;
    const bool paint = same_pot(scene->unit->pot[slot->stage - 1], hand->pot);
    const bool ahead = same && slot->figure < hand->figure;
    return (struct rank){{same    ? 0
                          : paint ? 1
                                  : 2,
                          has_near(scene, slot->figure, slot->stage), slot->stage, slot->coat,
                          ahead, slot->figure}};
}

/* Fills in the rest once figure, stage and coat are known. */
static void take(const struct scene *scene, const struct hand *hand, const struct cb_slot *slot,
                 struct cb_proposal *proposal)
{
    const char *pot = scene->unit->pot[slot->stage - 1];
    proposal->any = true;
    proposal->stage = slot->stage;
    proposal->coat = slot->coat;
    proposal->figure = slot->figure;
    proposal->figure_count = 1;
    proposal->figures[0] = slot->figure;
    proposal->change_paint = pot && !same_pot(pot, hand->pot);
}

/* The others that are ready for the same, in natural order from the first on and round. */
static void take_others(const struct scene *scene, struct cb_proposal *proposal)
{
    const int figures = scene->unit->unit.figures;
    const int fit = stage_of(scene, proposal->stage)->together;
    const int most = fit > 0 && fit < CB_FIGURES_MAX ? fit : CB_FIGURES_MAX;
    for (int i = 1; i < figures && proposal->figure_count < most; i++) {
        const int figure = (proposal->figure - 1 + i) % figures + 1;
        const struct cb_slot slot = slot_alone(scene, figure, proposal->stage);
        if (slot.state == CB_SLOT_READY && slot.coat == proposal->coat) {
            proposal->figures[proposal->figure_count++] = figure;
        }
    }
    proposal->together = fit != 0;
}

/* How far from being possible, for a choice made by hand: 0 ready .. 4; -1: nothing to do. */
static int distance(enum cb_slot_state state)
{
    static const int distances[] = {
        [CB_SLOT_DONE] = -1, [CB_SLOT_READY] = 0,    [CB_SLOT_WET] = 1,    [CB_SLOT_BESIDE] = 1,
        [CB_SLOT_WAITS] = 3, [CB_SLOT_TOGETHER] = 2, [CB_SLOT_PARKED] = 4, [CB_SLOT_NONE] = -1,
    };
    return distances[state];
}

/* The chance that none of what is in the way is wet any more. */
static double chance_at(const struct scene *scene, int figure, int stage)
{
    double chance = 1;
    for (size_t i = 0; i < scene->wet->count; i++) {
        const struct cb_film *film = scene->wet->items[i].film;
        if (film->figure == figure && meet(scene, film, stage) >= MEET_BESIDE) {
            const double one =
                cb_forecast_film(scene->bench, scene->learn, film, scene->now_ms).chance;
            chance = one < chance ? one : chance;
        }
    }
    return chance;
}

static bool best_slot(const struct scene *scene, const struct hand *hand, int at_figure,
                      int at_stage, struct cb_slot *best)
{
    const struct cb_unit *unit = &scene->unit->unit;
    const bool by_hand = at_figure > 0 || at_stage > 0;
    bool found = false;
    int best_distance = 0;
    struct rank best_rank = {{0}};
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        for (int figure = 1; figure <= unit->figures; figure++) {
            if ((at_figure > 0 && figure != at_figure) || (at_stage > 0 && stage != at_stage) ||
                (!by_hand && !is_startable(scene, figure, stage))) {
                continue;
            }
            const struct cb_slot slot = slot_in(scene, figure, stage);
            const int far = distance(slot.state);
            if (far < 0 || (far > 0 && !by_hand) || (found && far > best_distance)) {
                continue;
            }
            struct rank rank = rank_of(scene, hand, &slot);
            if (far == 1) { /* of what is wet, the one that is dry first */
                memmove(rank.v + 1, rank.v, sizeof rank.v - sizeof *rank.v);
                rank.v[0] = slot.until_ms == CB_TIME_NONE ? INT64_MAX : slot.until_ms;
            }
            if (!found || far < best_distance || is_better(&rank, &best_rank)) {
                found = true;
                best_distance = far;
                best_rank = rank;
                *best = slot;
            }
        }
    }
    return found;
}

struct cb_proposal cb_next_propose(const struct cb_bench *bench, const struct cb_learn *learn,
                                   const struct cb_unit *unit, int at_figure, int at_stage,
                                   int64_t now_ms)
{
    struct cb_proposal proposal = {.any = false};
    const struct scene scene = scene_of(bench, learn, unit, now_ms);
    const struct hand hand = hand_of(&scene);
    struct cb_slot slot = {.state = CB_SLOT_NONE};
    if (best_slot(&scene, &hand, at_figure, at_stage, &slot)) {
        take(&scene, &hand, &slot, &proposal);
        if (slot.state == CB_SLOT_WET || slot.state == CB_SLOT_BESIDE) {
            proposal.thought_wet = true;
            proposal.chance = chance_at(&scene, slot.figure, slot.stage);
        } else if (at_figure == 0 &&
                   (slot.state == CB_SLOT_READY || slot.state == CB_SLOT_TOGETHER)) {
            take_others(&scene, &proposal);
        }
    }
    return proposal;
}

/* Only drying holds it up, if anything does. */
static bool is_open(const struct cb_slot *slot)
{
    return slot->state == CB_SLOT_READY || slot->state == CB_SLOT_WET ||
           slot->state == CB_SLOT_BESIDE;
}

/* When the coat of that slot could go on; INT64_MAX: never, as things stand. *by: what it waits
 * for. */
static int64_t slot_ms(const struct scene *scene, const struct cb_slot *slot, struct cb_slot *by)
{
    *by = *slot;
    if (stage_of(scene, slot->stage)->together != 0 && is_open(slot)) {
        return together_ms(scene, slot, by);
    }
    return slot->state == CB_SLOT_READY     ? scene->now_ms
           : slot->until_ms == CB_TIME_NONE ? INT64_MAX
                                            : slot->until_ms;
}

/* The first moment of any slot; INT64_MAX: none. */
static int64_t first_ms(const struct scene *scene, struct cb_slot *by)
{
    const struct cb_unit *unit = &scene->unit->unit;
    int64_t first = INT64_MAX;
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        const bool together = unit->recipe->stages[stage - 1].together != 0;
        int looked_at = 0; /* coat of a together go: the answer is the same for all who want it */
        for (int figure = 1; figure <= unit->figures && first > scene->now_ms; figure++) {
            struct cb_slot own_by;
            if (!is_startable(scene, figure, stage)) {
                continue;
            }
            const struct cb_slot slot = slot_alone(scene, figure, stage);
            if (together && slot.coat > 0 && slot.coat == looked_at) {
                continue;
            }
            const int64_t ms = slot_ms(scene, &slot, &own_by);
            if (is_open(&slot)) {
                looked_at = slot.coat;
            }
            if (ms < first) {
                first = ms;
                *by = own_by;
            }
        }
    }
    return first;
}

int64_t cb_next_ready_ms(const struct cb_bench *bench, const struct cb_learn *learn,
                         const struct cb_unit *unit, int64_t now_ms, const struct cb_film **film)
{
    const struct scene scene = scene_of(bench, learn, unit, now_ms);
    struct cb_slot by = {.state = CB_SLOT_NONE};
    const int64_t first = first_ms(&scene, &by);
    if (film) {
        *film = first == INT64_MAX || first <= now_ms
                    ? NULL
                    : cb_bench_film(unit, by.by_figure, by.by_stage, by.by_coat);
    }
    return first == INT64_MAX ? CB_TIME_NONE : first;
}

/* Announced, and nobody has found it wet since. */
static bool was_told(const struct cb_film *film)
{
    return film->pinged_ms != CB_TIME_NONE && film->wet_like_ms < film->pinged_ms &&
           !(film->check == CB_CHECK_WET && film->wet_ms >= film->pinged_ms);
}

/* The same film in the bench that has the whole log: both hold them in the order they went on. */
static const struct cb_film *later_film(const struct cb_unit *later, const struct cb_film *film,
                                        size_t at)
{
    const struct cb_film *same = later && at < later->film_count ? &later->films[at] : NULL;
    return same && same->figure == film->figure && same->coat == film->coat &&
                   same->on_ms == film->on_ms
               ? same
               : NULL;
}

/* Was an open film dry, as the bench showed it? *due_ms when not. What was going to be announced
 * was wet until then, whatever is known by now. */
static bool was_dry(const struct scene *scene, const struct cb_unit *later, size_t at,
                    int64_t *due_ms)
{
    const struct cb_film *film = &scene->unit->unit.films[at];
    if (was_told(film)) {
        return true;
    }
    const struct cb_film *whole = later_film(later, film, at);
    if (whole && whole->pinged_ms != CB_TIME_NONE && whole->pinged_ms > scene->now_ms) {
        *due_ms = whole->pinged_due_ms;
        return *due_ms <= scene->now_ms;
    }
    return cb_forecast_dry(scene->bench, scene->learn, film, scene->now_ms, due_ms);
}

/* An open film, if it was wet. */
static void add_past(const struct scene *scene, const struct cb_unit *later, size_t at,
                     int64_t until_ms)
{
    wet_films *past = &scene->bench->cache->wet->past;
    struct wet wet = {.film = &scene->unit->unit.films[at]};
    if (was_dry(scene, later, at, &wet.due_ms)) {
        return;
    }
    if (wet.due_ms != CB_TIME_NONE && wet.due_ms > until_ms) {
        wet.due_ms = CB_TIME_NONE;
    }
    cb_vec_push(past, wet);
}

/* figure 0: all of them. What is due after until_ms is wet for good. */
static struct scene scene_past(const struct cb_bench *bench, const struct cb_look_back *back,
                               const struct cb_unit *unit, int figure, int64_t now_ms,
                               int64_t until_ms)
{
    wet_films *past = &bench->cache->wet->past;
    const struct scene scene = {bench, back->learn, cb_bench_inside(unit), now_ms, past};
    past->count = 0;
    if (figure > 0) {
        for (size_t at = scene.unit->newest[figure]; at > 0; at = unit->films[at - 1].more->older) {
            if (cb_bench_film_open(&unit->films[at - 1])) {
                add_past(&scene, back->later, at - 1, until_ms);
            }
        }
    } else {
        for (size_t i = 0; i < unit->film_count; i++) {
            if (cb_bench_film_open(&unit->films[i])) {
                add_past(&scene, back->later, i, until_ms);
            }
        }
    }
    return scene;
}

bool cb_next_was_ready(const struct cb_bench *bench, const struct cb_look_back *back,
                       const struct cb_unit *unit, int figure, int stage, int64_t now_ms)
{
    const bool together = unit->recipe->stages[stage - 1].together != 0;
    const struct scene scene = scene_past(bench, back, unit, together ? 0 : figure, now_ms, now_ms);
    return slot_in(&scene, figure, stage).state == CB_SLOT_READY;
}

int64_t cb_next_ready_by(const struct cb_bench *bench, const struct cb_look_back *back,
                         const struct cb_unit *unit, int64_t now_ms, int64_t until_ms)
{
    struct cb_slot by;
    const struct scene scene = scene_past(bench, back, unit, 0, now_ms, until_ms);
    const int64_t first = first_ms(&scene, &by);
    return first == INT64_MAX ? CB_TIME_NONE : first < now_ms ? now_ms : first;
}

bool cb_next_all_done(const struct cb_unit *unit)
{
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        for (int figure = 1; figure <= unit->figures; figure++) {
            if (!unit->figure[figure].parked && !unit->recipe->stages[stage - 1].optional &&
                cb_bench_coats(unit, figure, stage) > cb_bench_coats_on(unit, figure, stage)) {
                return false;
            }
        }
    }
    return unit->recipe->stage_count > 0;
}
