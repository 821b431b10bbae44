/* SPDX-License-Identifier: MIT */
#include "core/plan/plan_unit.h"

#include <math.h>
#include <string.h>

#include "base/time.h"
#include "core/bench/forecast.h"
#include "core/bench/next.h"
#include "core/paint/drying.h"
#include "core/plan/plan_recipe.h"

static int place_of(const struct cb_bench *bench, const char *name)
{
    for (size_t i = 0; name && i < cb_bench_place_count(bench); i++) {
        if (strcmp(cb_bench_place_name(bench, (int)i), name) == 0) {
            return (int)i;
        }
    }
    return 0;
}

static struct cb_plan_times times_of(const struct cb_bench *bench, const struct cb_learn *learn,
                                     const struct cb_hours *hours, const struct cb_unit *unit,
                                     int stage, int64_t now_ms)
{
    const struct cb_stage *row = &unit->recipe->stages[stage - 1];
    const struct cb_drying *drying = &unit->drying[stage - 1];
    const int place = place_of(bench, row->place);
    const struct cb_climate climate = cb_bench_climate_at(bench, place, now_ms).climate;
    struct cb_plan_times times = {.work_min = cb_stage_minutes(row, cb_bench_kinds(bench))};
    if (hours) {
        double technique_log;
        double unit_log;
        double sd;
        cb_hours_effect(hours, row->technique, &technique_log, &sd);
        cb_hours_effect(hours, CB_TECHNIQUE_COUNT, &unit_log, &sd);
        times.work_min *= exp(technique_log + unit_log);
    }
    const double standard_min = cb_forecast_stage_min(bench, learn, unit, stage);
    const bool exact = drying->from == CB_TIME_WAIT || drying->from == CB_TIME_ZERO;
    times.dry_min = exact ? standard_min : cb_drying_minutes(drying, &climate, standard_min);
    return times;
}

/* As the pots are by now: swapped, joined. */
static int paint_of(const struct cb_unit *unit, const char *pot)
{
    for (int stage = 1; pot && stage <= (int)unit->recipe->stage_count; stage++) {
        const char *other = cb_bench_stage_pot(unit, stage);
        if (other && strcmp(other, pot) == 0) {
            return stage - 1;
        }
    }
    return CB_PLAN_NO_PAINT;
}

static double minutes_until(int64_t at_ms, int64_t now_ms)
{
    return at_ms == CB_TIME_NONE ? (double)INFINITY
           : at_ms > now_ms      ? (double)(at_ms - now_ms) / (double)CB_MS_PER_MIN
                                 : 0;
}

/* What is wet of the unit's stages. */
static void find_wet(const struct cb_bench *bench, const struct cb_learn *learn,
                     const struct cb_unit *unit, int64_t now_ms, struct cb_plan_slot *slots)
{
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        int64_t due_ms;
        if (film->stage == 0 || film->lifted_ms != CB_TIME_NONE || film->next_ms != CB_TIME_NONE ||
            !film->drying || cb_forecast_dry(bench, learn, film, now_ms, &due_ms)) {
            continue;
        }
        struct cb_plan_slot *slot = &slots[(film->stage - 1) * unit->figures + film->figure - 1];
        const double dry_min = minutes_until(due_ms, now_ms);
        slot->dry_min = dry_min > slot->dry_min ? dry_min : slot->dry_min;
    }
}

static struct cb_plan_slot slot_of(const struct cb_bench *bench, const struct cb_learn *learn,
                                   const struct cb_unit *unit, int figure, int stage,
                                   int64_t now_ms)
{
    const int on = cb_bench_coats_on(unit, figure, stage);
    const int wanted = cb_bench_coats(unit, figure, stage);
    struct cb_plan_slot plan = {.coats = wanted > on ? wanted : on, .on = on};
    const struct cb_slot slot = cb_next_slot(bench, learn, unit, figure, stage, now_ms);
    if (slot.state == CB_SLOT_PARKED || slot.state == CB_SLOT_NONE || slot.state == CB_SLOT_DONE) {
        plan.coats = on;
    } else if (slot.state == CB_SLOT_WET || slot.state == CB_SLOT_BESIDE) {
        plan.from_min = minutes_until(slot.until_ms, now_ms);
    }
    return plan;
}

struct cb_plan_problem cb_plan_of_unit(const struct cb_bench *bench, const struct cb_learn *learn,
                                       const struct cb_hours *hours, const struct cb_unit *unit,
                                       int64_t now_ms, struct cb_arena *arena)
{
    const struct cb_recipe *recipe = unit->recipe;
    const int count = (int)recipe->stage_count;
    struct cb_plan_times *times = cb_arena_alloc(arena, (size_t)count + 1, sizeof *times);
    for (int stage = 1; stage <= count; stage++) {
        times[stage - 1] = times_of(bench, learn, hours, unit, stage, now_ms);
    }
    struct cb_plan_problem problem =
        cb_plan_of_recipe(cb_bench_kinds(bench), recipe, unit->figures, times, arena);
    struct cb_plan_stage *stages = cb_arena_alloc(arena, (size_t)count + 1, sizeof *stages);
    struct cb_plan_slot *slots =
        cb_arena_alloc(arena, (size_t)count * (size_t)unit->figures + 1, sizeof *slots);
    for (int stage = 1; stage <= count; stage++) {
        stages[stage - 1] = problem.stages[stage - 1];
        stages[stage - 1].paint = paint_of(unit, cb_bench_stage_pot(unit, stage));
        for (int figure = 1; figure <= unit->figures; figure++) {
            slots[(stage - 1) * unit->figures + figure - 1] =
                slot_of(bench, learn, unit, figure, stage, now_ms);
        }
    }
    find_wet(bench, learn, unit, now_ms, slots);
    problem.stages = stages;
    problem.slots = slots;
    problem.brush = paint_of(unit, cb_next_brush(bench));
    return problem;
}
