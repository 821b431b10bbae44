/* SPDX-License-Identifier: MIT */
#include "core/bench/slots.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/time.h"

struct cb_bench_slot_cache {
    uint64_t generation, stamp; /* of what is remembered of now */
    struct cb_slots now, past;
};

struct cb_bench_slot_cache *cb_bench_slot_cache_new(void)
{
    return cb_mem_new(1, sizeof(struct cb_bench_slot_cache));
}

static void fini(struct cb_slots *slots)
{
    cb_vec_free(&slots->wet);
    cb_vec_free(&slots->alone);
}

void cb_bench_slot_cache_free(struct cb_bench_slot_cache *cache)
{
    fini(&cache->now);
    fini(&cache->past);
    free(cache);
}

static void begin(struct cb_slots *slots, const struct cb_bench *bench,
                  const struct cb_learn *learn, const struct cb_unit *unit, int64_t now_ms)
{
    const size_t count = unit->recipe->stage_count * (size_t)unit->figures;
    slots->bench = bench;
    slots->learn = learn;
    slots->unit = cb_bench_inside(unit);
    slots->now_ms = now_ms;
    slots->turn++;
    slots->wet.count = 0;
    memset(slots->first_wet, 0, sizeof slots->first_wet);
    memset(slots->last_wet, 0, sizeof slots->last_wet);
    while (slots->alone.count < count) {
        cb_vec_push(&slots->alone, (struct cb_slots_alone){0});
    }
}

void cb_slots_add_wet(struct cb_slots *slots, const struct cb_film *film, int64_t due_ms)
{
    const size_t last = slots->last_wet[film->figure];
    cb_vec_push(&slots->wet, ((struct cb_slots_wet){film, due_ms, 0}));
    if (last > 0) {
        slots->wet.items[last - 1].later = slots->wet.count;
    } else {
        slots->first_wet[film->figure] = slots->wet.count;
    }
    slots->last_wet[film->figure] = slots->wet.count;
}

struct cb_slots *cb_slots_now(const struct cb_bench *bench, const struct cb_learn *learn,
                              const struct cb_unit *unit, int64_t now_ms)
{
    struct cb_bench_slot_cache *cache = bench->cache->slots;
    struct cb_slots *slots = &cache->now;
    const uint64_t generation = learn ? cb_learn_generation(learn) : 0;
    if (slots->unit == cb_bench_inside(unit) && slots->learn == learn &&
        cache->generation == generation && cache->stamp == bench->cache->stamp &&
        slots->now_ms == now_ms) {
        return slots;
    }
    cache->generation = generation;
    cache->stamp = bench->cache->stamp;
    begin(slots, bench, learn, unit, now_ms);
    for (size_t i = 0; i < unit->film_count; i++) {
        int64_t due_ms;
        if (cb_bench_film_open(&unit->films[i]) &&
            !cb_forecast_dry(bench, learn, &unit->films[i], now_ms, &due_ms)) {
            cb_slots_add_wet(slots, &unit->films[i], due_ms);
        }
    }
    return slots;
}

struct cb_slots *cb_slots_past(const struct cb_bench *bench, const struct cb_learn *learn,
                               const struct cb_unit *unit, int64_t now_ms)
{
    struct cb_slots *slots = &bench->cache->slots->past;
    begin(slots, bench, learn, unit, now_ms);
    return slots;
}

/* Beside or near each other, where they lie on one piece. off: areas off the figure. */
static enum cb_meeting neighbours(const struct cb_recipe *recipe, uint64_t off, uint64_t wet,
                                  uint64_t on)
{
    enum cb_meeting found = CB_MEET_NOT;
    for (size_t i = 0; i < recipe->area_count; i++) {
        const struct cb_area *area = &recipe->areas[i];
        for (size_t j = 0; (wet >> i) & 1 && j < recipe->area_count; j++) {
            const bool beside = (area->beside >> j) & 1;
            const bool near = ((area->near >> j) | (recipe->areas[j].near >> i)) & 1;
            if ((on >> j) & 1 && (beside || near) &&
                (!off || cb_recipe_one_piece(recipe, off, i, j))) {
                if (beside) {
                    return CB_MEET_BESIDE;
                }
                found = CB_MEET_NEAR;
            }
        }
    }
    return found;
}

enum cb_meeting cb_slots_meet(const struct cb_slots *slots, const struct cb_film *film, int stage)
{
    const struct cb_bench_recipe *read = slots->unit->read;
    const struct cb_recipe *recipe = slots->unit->unit.recipe;
    const uint64_t on = read->covers[stage - 1];
    if (cb_areas_meet(film->whole, film->areas, cb_slots_stage(slots, stage)->whole, on)) {
        return CB_MEET_BELOW;
    }
    if (film->stage > 0 && read->waits[stage - 1] >> (film->stage - 1) & 1) {
        return CB_MEET_BELOW; /* `after` asks for it, wherever it lies */
    }
    const uint64_t off =
        read->has_parts ? cb_recipe_off(recipe, slots->unit->wants[film->figure]) : 0;
    return neighbours(recipe, off, film->areas, on);
}

/* The stage before which this one may not go on, from 1; 0: none. What is optional holds up
 * nothing. */
static int unfinished_before(const struct cb_slots *slots, int figure, int stage)
{
    const uint64_t holds = slots->unit->read->waits[stage - 1] & slots->unit->holds[figure];
    int before = holds ? 1 : 0;
    while (before > 0 && !((holds >> (before - 1)) & 1)) {
        before++;
    }
    return before;
}

bool cb_slots_is_startable(const struct cb_slots *slots, int figure, int stage)
{
    return ((slots->unit->wants[figure] >> (stage - 1)) & 1) &&
           !(slots->unit->read->waits[stage - 1] & slots->unit->holds[figure]) &&
           !slots->unit->unit.figure[figure].parked;
}

static struct cb_slot find_alone(const struct cb_slots *slots, int figure, int stage)
{
    const struct cb_unit *unit = &slots->unit->unit;
    struct cb_slot slot = {
        .state = CB_SLOT_NONE, .figure = figure, .stage = stage, .until_ms = CB_TIME_NONE};
    if (!((slots->unit->wants[figure] >> (stage - 1)) & 1)) {
        slot.state = cb_bench_coats(unit, figure, stage) > 0 ? CB_SLOT_DONE : CB_SLOT_NONE;
        return slot;
    }
    slot.coat = cb_bench_coats_on(unit, figure, stage) + 1;
    if (unit->figure[figure].parked) {
        slot.state = CB_SLOT_PARKED;
        return slot;
    }
    const int before = unfinished_before(slots, figure, stage);
    if (before > 0) {
        slot.state = CB_SLOT_WAITS;
        slot.by_figure = figure;
        slot.by_stage = before;
        slot.by_coat = cb_bench_coats_on(unit, figure, before) + 1;
        return slot;
    }
    slot.state = CB_SLOT_READY;
    bool never = false;
    const struct cb_slots_wet *wet = NULL;
    while ((wet = cb_slots_wet(slots, figure, wet)) != NULL) {
        const enum cb_meeting meeting = cb_slots_meet(slots, wet->film, stage);
        if (meeting != CB_MEET_BELOW && meeting != CB_MEET_BESIDE) {
            continue;
        }
        const bool is_last =
            slot.state == CB_SLOT_READY ||
            (!never && (wet->due_ms == CB_TIME_NONE || wet->due_ms > slot.until_ms));
        if (is_last) {
            slot.state = meeting == CB_MEET_BELOW ? CB_SLOT_WET : CB_SLOT_BESIDE;
            slot.by_figure = figure;
            slot.by_stage = wet->film->stage;
            slot.by_coat = wet->film->coat;
            slot.until_ms = wet->due_ms;
            never = wet->due_ms == CB_TIME_NONE;
        }
    }
    return slot;
}

struct cb_slot cb_slots_alone(struct cb_slots *slots, int figure, int stage)
{
    const int figures = slots->unit->unit.figures;
    struct cb_slots_alone *alone = &slots->alone.items[(stage - 1) * figures + figure - 1];
    if (alone->turn != slots->turn) {
        *alone = (struct cb_slots_alone){slots->turn, find_alone(slots, figure, stage)};
    }
    return alone->slot;
}

/* When as many as a together go takes, all or as many as fit, can have the coat. */
static struct cb_slots_go find_go(struct cb_slots *slots, int stage, int coat)
{
    const int fit = cb_slots_stage(slots, stage)->together;
    struct cb_slot members[CB_FIGURES_MAX];
    int64_t at_ms[CB_FIGURES_MAX];
    int64_t sorted[CB_FIGURES_MAX];
    int count = 0;
    for (int figure = 1; figure <= slots->unit->unit.figures; figure++) {
        const struct cb_slot one = cb_slots_alone(slots, figure, stage);
        if (one.state == CB_SLOT_NONE || one.state == CB_SLOT_DONE || one.state == CB_SLOT_PARKED ||
            one.coat > coat || (fit != CB_TOGETHER_ALL && one.coat != coat)) {
            continue;
        }
        const bool behind = one.coat < coat;
        const int64_t ms = one.state == CB_SLOT_READY && !behind    ? slots->now_ms
                           : behind || one.until_ms == CB_TIME_NONE ? INT64_MAX
                                                                    : one.until_ms;
        members[count] = one;
        at_ms[count] = ms;
        int place = count++;
        for (; place > 0 && sorted[place - 1] > ms; place--) {
            sorted[place] = sorted[place - 1];
        }
        sorted[place] = ms;
    }
    struct cb_slots_go go = {.turn = slots->turn, .coat = coat, .ms = INT64_MAX};
    if (count > 0) {
        go.ms = sorted[(fit != CB_TOGETHER_ALL && fit < count ? fit : count) - 1];
    }
    for (int i = count; i-- > 0;) {
        go.last = at_ms[i] == go.ms ? members[i] : go.last;
    }
    return go;
}

static const struct cb_slots_go *go_of(struct cb_slots *slots, const struct cb_slot *alone)
{
    struct cb_slots_go *go = &slots->go[alone->stage - 1];
    if (go->turn != slots->turn || go->coat != alone->coat) {
        *go = find_go(slots, alone->stage, alone->coat);
    }
    return go;
}

struct cb_slot cb_slots_slot(struct cb_slots *slots, int figure, int stage)
{
    struct cb_slot slot = cb_slots_alone(slots, figure, stage);
    if (slot.state != CB_SLOT_READY || cb_slots_stage(slots, stage)->together == 0) {
        return slot;
    }
    const struct cb_slots_go *go = go_of(slots, &slot);
    if (go->ms > slots->now_ms) {
        slot.state = CB_SLOT_TOGETHER;
        slot.by_figure = go->last.figure;
        slot.by_stage = go->last.by_stage > 0 ? go->last.by_stage : go->last.stage;
        slot.by_coat = go->last.by_stage > 0 ? go->last.by_coat : go->last.coat;
        slot.until_ms = go->ms == INT64_MAX ? CB_TIME_NONE : go->ms;
    }
    return slot;
}

/* Only drying holds it up, if anything does. */
static bool is_open(const struct cb_slot *slot)
{
    return slot->state == CB_SLOT_READY || slot->state == CB_SLOT_WET ||
           slot->state == CB_SLOT_BESIDE;
}

int64_t cb_slots_ms(struct cb_slots *slots, const struct cb_slot *slot, struct cb_slot *by)
{
    *by = *slot;
    if (cb_slots_stage(slots, slot->stage)->together != 0 && is_open(slot)) {
        const struct cb_slots_go *go = go_of(slots, slot);
        *by = go->last;
        return go->ms;
    }
    return slot->state == CB_SLOT_READY     ? slots->now_ms
           : slot->until_ms == CB_TIME_NONE ? INT64_MAX
                                            : slot->until_ms;
}

int64_t cb_slots_first_ms(struct cb_slots *slots, struct cb_slot *slot, struct cb_slot *by)
{
    const struct cb_unit *unit = &slots->unit->unit;
    int64_t first = INT64_MAX;
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        for (int figure = 1; figure <= unit->figures && first > slots->now_ms; figure++) {
            if (!cb_slots_is_startable(slots, figure, stage)) {
                continue;
            }
            const struct cb_slot one = cb_slots_alone(slots, figure, stage);
            struct cb_slot own_by;
            const int64_t ms = cb_slots_ms(slots, &one, &own_by);
            if (ms < first) {
                first = ms;
                *slot = one;
                *by = own_by;
            }
        }
    }
    return first;
}
