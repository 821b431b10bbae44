/* SPDX-License-Identifier: MIT */
#include "core/bench/next.h"

#include <string.h>

#include "base/time.h"
#include "core/bench/slots.h"

#define CHANGE_MS  (3 * CB_MS_PER_MIN)  /* own judgement */
#define TEXTURE_MS (20 * CB_MS_PER_MIN) /* own judgement */

struct cb_slot cb_next_slot(const struct cb_bench *bench, const struct cb_learn *learn,
                            const struct cb_unit *unit, int figure, int stage, int64_t now_ms)
{
    if (figure < 1 || figure > unit->figures || stage < 1 ||
        (size_t)stage > unit->recipe->stage_count) {
        return (struct cb_slot){
            .state = CB_SLOT_NONE, .figure = figure, .stage = stage, .until_ms = CB_TIME_NONE};
    }
    return cb_slots_slot(cb_slots_now(bench, learn, unit, now_ms), figure, stage);
}

/* What is on the brush and where the hand was last. */
struct hand {
    const char *pot;         /* NULL: clean */
    int figure, stage, coat; /* in this unit; 0: elsewhere */
};

const char *cb_next_brush(const struct cb_bench *bench)
{
    const char *pot = NULL;
    for (size_t i = bench->sources.count; i-- > 0 && !pot;) {
        const struct cb_film_more *more = bench->sources.items[i].film;
        if (more) {
            pot = cb_bench_film_of(bench, more)->pot;
        }
    }
    return pot;
}

static struct hand hand_of(const struct cb_slots *slots)
{
    const struct cb_bench *bench = slots->bench;
    struct hand hand = {NULL, 0, 0, 0};
    const struct cb_bench_facts facts = cb_bench_facts(bench);
    if (facts.last_figure > 0 && bench->units.items[facts.last_unit] == slots->unit) {
        hand = (struct hand){NULL, facts.last_figure, facts.last_stage, facts.last_coat};
    }
    hand.pot = cb_next_brush(bench);
    return hand;
}

static bool same_pot(const char *a, const char *b)
{
    return a && b && strcmp(a, b) == 0;
}

static const struct cb_film *find_near(const struct cb_slots *slots, int figure, int stage)
{
    const struct cb_slots_wet *wet = NULL;
    while ((wet = cb_slots_wet(slots, figure, wet)) != NULL) {
        if (cb_slots_meet(slots, wet->film, stage) == CB_MEET_NEAR) {
            return wet->film;
        }
    }
    return NULL;
}

/* It goes where the brush does not: a wash, a stain, a spray. */
static bool runs(const struct cb_bench *bench, const struct cb_unit *unit, int stage)
{
    const struct cb_stage *row = &unit->recipe->stages[stage - 1];
    if (!cb_bench_stage_pot(unit, stage)) {
        return false;
    }
    const char *kind = bench->kinds->kinds[unit->swapped_kind[stage - 1]].name;
    return row->technique == CB_TECHNIQUE_WASH || row->technique == CB_TECHNIQUE_RECESS_SHADE ||
           row->by == CB_BY_CAN || row->by == CB_BY_AIRBRUSH || strcmp(kind, "wash") == 0 ||
           strcmp(kind, "stain") == 0;
}

const struct cb_film *cb_next_mind(const struct cb_bench *bench, const struct cb_learn *learn,
                                   const struct cb_unit *unit, const struct cb_proposal *proposal,
                                   int64_t now_ms)
{
    const struct cb_slots *slots = cb_slots_now(bench, learn, unit, now_ms);
    const struct cb_film *found = NULL;
    const int count = proposal->together ? proposal->figure_count : 1;
    for (int i = 0; proposal->any && runs(bench, unit, proposal->stage) && i < count && !found;
         i++) {
        found = find_near(slots, proposal->figures[i], proposal->stage);
    }
    return found && found->stage > 0 ? found : NULL; /* of a removed stage there is no word */
}

#define WAIT_HOPS 4 /* waits behind a wait that are looked at (own judgement) */
static struct cb_proposal propose(const struct cb_bench *bench, const struct cb_learn *learn,
                                  const struct cb_unit *unit, int at_figure, int at_stage,
                                  int64_t now_ms, int hops);

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

static struct rank rank_of(const struct cb_slots *slots, const struct hand *hand,
                           const struct cb_slot *slot)
{
    const char *pot = slots->unit->pot[slot->stage - 1];
    const bool paint = same_pot(pot, hand->pot);
    const bool same = slot->stage == hand->stage && slot->coat == hand->coat && (!pot || paint);
    const bool ahead = same && slot->figure < hand->figure;
    return (struct rank){{same    ? 0
                          : paint ? 1
                                  : 2,
                          slot->stage, find_near(slots, slot->figure, slot->stage) != NULL,
                          slot->coat, ahead, slot->figure}};
}

/* Fills in the rest once figure, stage and coat are known. */
static void take(const struct cb_slots *slots, const struct hand *hand, const struct cb_slot *slot,
                 struct cb_proposal *proposal)
{
    const char *pot = slots->unit->pot[slot->stage - 1];
    proposal->any = true;
    proposal->stage = slot->stage;
    proposal->coat = slot->coat;
    proposal->figure = slot->figure;
    proposal->figure_count = 1;
    proposal->figures[0] = slot->figure;
    proposal->change_paint = pot && !same_pot(pot, hand->pot);
    proposal->brush_clean = !hand->pot;
}

/* The others that are ready for the same, in natural order from the first on and round. */
static void take_others(struct cb_slots *slots, struct cb_proposal *proposal)
{
    const int figures = slots->unit->unit.figures;
    const int fit = cb_slots_stage(slots, proposal->stage)->together;
    const int most = fit > 0 && fit < CB_FIGURES_MAX ? fit : CB_FIGURES_MAX;
    for (int i = 1; i < figures && proposal->figure_count < most; i++) {
        const int figure = (proposal->figure - 1 + i) % figures + 1;
        const struct cb_slot slot = cb_slots_alone(slots, figure, proposal->stage);
        if (slot.state == CB_SLOT_READY && slot.coat == proposal->coat) {
            proposal->figures[proposal->figure_count++] = figure;
        }
    }
    proposal->together = fit != 0;
}

/* How far from being possible, for a choice made by hand: 0 ready .. 3; -1: nothing to do. */
static int distance(enum cb_slot_state state)
{
    static const int distances[] = {
        [CB_SLOT_DONE] = -1, [CB_SLOT_READY] = 0,    [CB_SLOT_WET] = 1,     [CB_SLOT_BESIDE] = 1,
        [CB_SLOT_WAITS] = 3, [CB_SLOT_TOGETHER] = 2, [CB_SLOT_PARKED] = -1, [CB_SLOT_NONE] = -1,
    };
    return distances[state];
}

/* The chance that none of what is in the way is wet any more. */
static double chance_at(const struct cb_slots *slots, int figure, int stage)
{
    double chance = 1;
    const struct cb_slots_wet *wet = NULL;
    while ((wet = cb_slots_wet(slots, figure, wet)) != NULL) {
        if (cb_slots_meet(slots, wet->film, stage) >= CB_MEET_BESIDE) {
            const double one =
                cb_forecast_film(slots->bench, slots->learn, wet->film, slots->now_ms).chance;
            chance = one < chance ? one : chance;
        }
    }
    return chance;
}

static bool best_slot(struct cb_slots *slots, const struct hand *hand, int at_figure, int at_stage,
                      struct cb_slot *best)
{
    const struct cb_unit *unit = &slots->unit->unit;
    const bool by_hand = at_figure > 0 || at_stage > 0;
    bool found = false;
    int best_distance = 0;
    struct rank best_rank = {{0}};
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        for (int figure = 1; figure <= unit->figures; figure++) {
            if ((at_figure > 0 && figure != at_figure) || (at_stage > 0 && stage != at_stage) ||
                (!by_hand && !cb_slots_is_startable(slots, figure, stage))) {
                continue;
            }
            const struct cb_slot slot = cb_slots_slot(slots, figure, stage);
            const int far = distance(slot.state);
            if (far < 0 || (far > 0 && !by_hand) || (found && far > best_distance)) {
                continue;
            }
            struct rank rank = rank_of(slots, hand, &slot);
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

/* The soonest coat that is worth waiting for before the best that is ready, if there is one: of the
 * paint on the brush, or, where that is a texture, of what stands before it. */
static bool better_wait(struct cb_slots *slots, const struct hand *hand, const struct cb_slot *best,
                        struct cb_slot *wait, struct cb_slot *by, int64_t *ms)
{
    const struct cb_unit *unit = &slots->unit->unit;
    const char *pot = slots->unit->pot[best->stage - 1];
    const int64_t change_ms = (int64_t)(unit->recipe->change_min * (double)CB_MS_PER_MIN);
    const bool texture = cb_slots_stage(slots, best->stage)->technique == CB_TECHNIQUE_TEXTURE;
    if (!hand->pot || same_pot(pot, hand->pot)) {
        return false;
    }
    *ms = INT64_MAX;
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        const bool same = same_pot(slots->unit->pot[stage - 1], hand->pot);
        const bool before = texture && stage < best->stage;
        const int64_t most_ms = before ? TEXTURE_MS : change_ms + CHANGE_MS;
        for (int figure = 1; figure <= unit->figures && (same || before); figure++) {
            struct cb_slot own_by;
            const struct cb_slot slot = cb_slots_slot(slots, figure, stage);
            const int64_t own_ms = cb_slots_is_startable(slots, figure, stage)
                                       ? cb_slots_ms(slots, &slot, &own_by)
                                       : INT64_MAX;
            if (own_ms < *ms && own_ms - slots->now_ms <= most_ms) {
                *ms = own_ms;
                *wait = slot;
                *by = own_by;
            }
        }
    }
    return *ms != INT64_MAX;
}

/* What is waited for is what will be proposed then, so that a sentence which says so stays true
 * when it is ready. */
static void take_wait(const struct cb_bench *bench, const struct cb_learn *learn,
                      const struct cb_unit *unit, const struct cb_slot *wait, int64_t ms,
                      int64_t now_ms, int hops, struct cb_proposal *proposal)
{
    proposal->ready_ms = ms == INT64_MAX ? CB_TIME_NONE : ms;
    if (ms == INT64_MAX || ms <= now_ms) {
        return;
    }
    proposal->wait_figure = wait->figure;
    proposal->wait_stage = wait->stage;
    if (hops > 0) {
        const struct cb_proposal then = propose(bench, learn, unit, 0, 0, ms, hops - 1);
        if (then.any) {
            proposal->wait_figure = then.figure;
            proposal->wait_stage = then.stage;
        } else if (then.wait_figure > 0) {
            proposal->ready_ms = then.ready_ms;
            proposal->wait_figure = then.wait_figure;
            proposal->wait_stage = then.wait_stage;
        }
    }
    const struct cb_slot by =
        cb_next_slot(bench, learn, unit, proposal->wait_figure, proposal->wait_stage, now_ms);
    proposal->wait_for = cb_bench_film(unit, by.by_figure, by.by_stage, by.by_coat);
}

static struct cb_proposal propose(const struct cb_bench *bench, const struct cb_learn *learn,
                                  const struct cb_unit *unit, int at_figure, int at_stage,
                                  int64_t now_ms, int hops)
{
    struct cb_proposal proposal = {.ready_ms = CB_TIME_NONE};
    struct cb_slots *slots = cb_slots_now(bench, learn, unit, now_ms);
    const struct hand hand = hand_of(slots);
    const bool by_hand = at_figure > 0 || at_stage > 0;
    struct cb_slot slot = {.state = CB_SLOT_NONE}, by = slot, wait = slot;
    int64_t wait_ms = INT64_MAX;
    const bool found = best_slot(slots, &hand, at_figure, at_stage, &slot);
    if (!by_hand && !found) {
        wait_ms = cb_slots_first_ms(slots, &wait, &by);
        take_wait(bench, learn, unit, &wait, wait_ms, now_ms, hops, &proposal);
    } else if (!by_hand && better_wait(slots, &hand, &slot, &wait, &by, &wait_ms)) {
        take_wait(bench, learn, unit, &wait, wait_ms, now_ms, hops, &proposal);
    } else if (found) {
        take(slots, &hand, &slot, &proposal);
        if (slot.state == CB_SLOT_WET || slot.state == CB_SLOT_BESIDE) {
            proposal.thought_wet = true;
            proposal.chance = chance_at(slots, slot.figure, slot.stage);
        } else if (at_figure == 0 &&
                   (slot.state == CB_SLOT_READY || slot.state == CB_SLOT_TOGETHER)) {
            take_others(slots, &proposal);
        }
    }
    return proposal;
}

struct cb_proposal cb_next_propose(const struct cb_bench *bench, const struct cb_learn *learn,
                                   const struct cb_unit *unit, int at_figure, int at_stage,
                                   int64_t now_ms)
{
    return propose(bench, learn, unit, at_figure, at_stage, now_ms, WAIT_HOPS);
}

bool cb_next_hold(const struct cb_bench *bench, const struct cb_learn *learn,
                  const struct cb_unit *unit, int figure, int stage, int coat, int64_t now_ms,
                  struct cb_proposal *proposal)
{
    const struct cb_slot slot = cb_next_slot(bench, learn, unit, figure, stage, now_ms);
    if (slot.state != CB_SLOT_READY || slot.coat != coat) {
        return false;
    }
    struct cb_slots *slots = cb_slots_now(bench, learn, unit, now_ms);
    const struct hand hand = hand_of(slots);
    *proposal = (struct cb_proposal){.ready_ms = CB_TIME_NONE};
    take(slots, &hand, &slot, proposal);
    take_others(slots, proposal);
    return true;
}

bool cb_next_take(const struct cb_bench *bench, const struct cb_learn *learn,
                  const struct cb_unit *unit, int stage, int coat, int64_t now_ms,
                  struct cb_proposal *proposal)
{
    struct cb_slots *slots = cb_slots_now(bench, learn, unit, now_ms);
    const struct hand hand = hand_of(slots);
    struct cb_slot best = {.state = CB_SLOT_NONE};
    struct rank best_rank = {{0}};
    for (int figure = 1; figure <= unit->figures; figure++) {
        const struct cb_slot slot = cb_slots_slot(slots, figure, stage);
        if (slot.state == CB_SLOT_READY && slot.coat == coat) {
            const struct rank rank = rank_of(slots, &hand, &slot);
            if (best.state != CB_SLOT_READY || is_better(&rank, &best_rank)) {
                best = slot;
                best_rank = rank;
            }
        }
    }
    if (best.state != CB_SLOT_READY) {
        return false;
    }
    *proposal = (struct cb_proposal){.ready_ms = CB_TIME_NONE};
    take(slots, &hand, &best, proposal);
    take_others(slots, proposal);
    return true;
}

struct cb_proposal cb_next_wait(const struct cb_bench *bench, const struct cb_learn *learn,
                                const struct cb_unit *unit, int figure, int stage, int64_t now_ms)
{
    struct cb_proposal proposal = {.ready_ms = CB_TIME_NONE};
    const struct cb_slot slot = cb_next_slot(bench, learn, unit, figure, stage, now_ms);
    if (slot.until_ms != CB_TIME_NONE && slot.until_ms > now_ms) {
        proposal.ready_ms = slot.until_ms;
        proposal.wait_figure = figure;
        proposal.wait_stage = stage;
        proposal.wait_for = cb_bench_film(unit, slot.by_figure, slot.by_stage, slot.by_coat);
    }
    return proposal;
}

bool cb_next_must_be_dry(const struct cb_unit *unit, const struct cb_film *film, int stage)
{
    const struct cb_slots slots = {.unit = cb_bench_inside(unit)};
    const enum cb_meeting meeting = cb_slots_meet(&slots, film, stage);
    return meeting == CB_MEET_BELOW || meeting == CB_MEET_BESIDE;
}

bool cb_next_is_apart(const struct cb_unit *unit, const struct cb_film *film, int stage)
{
    const struct cb_bench_unit *inside = cb_bench_inside(unit);
    const struct cb_recipe *recipe = unit->recipe;
    const uint64_t off = cb_recipe_off(recipe, inside->wants[film->figure]);
    const uint64_t on = inside->read->covers[stage - 1];
    if ((film->whole || film->areas & ~off) && (recipe->stages[stage - 1].whole || on & ~off)) {
        return false;
    }
    for (size_t i = 0; i < recipe->area_count; i++) {
        for (size_t j = 0; j < recipe->area_count; j++) {
            if ((film->areas >> i) & 1 && (on >> j) & 1 && cb_recipe_one_piece(recipe, off, i, j)) {
                return false;
            }
        }
    }
    return true;
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
