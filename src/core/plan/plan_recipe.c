/* SPDX-License-Identifier: MIT */
#include "core/plan/plan_recipe.h"

#include <math.h>
#include <string.h>

#include "core/bench/forecast.h"
#include "core/paint/drying.h"
#include "core/recipe/drying_stage.h"

static const char *pot_of(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                          size_t stage, struct cb_arena *arena)
{
    const int paint = cb_mix_paint(&recipe->stages[stage].mix);
    return paint < 0 ? NULL
                     : cb_pot_key(recipe->paints[paint].name,
                                  kinds->kinds[recipe->paints[paint].kind].name, arena);
}

/* Films of that paint and technique that were answered. */
static size_t answered_of(const struct cb_plan_taught *taught, const char *pot,
                          enum cb_technique technique)
{
    size_t count = 0;
    for (size_t i = 0; i < taught->row_count; i++) {
        const struct cb_row *row = &taught->rows[i];
        count += row->kind == CB_ROW_FILM && row->technique == (int)technique &&
                         strcmp(row->pot, pot) == 0
                     ? 1
                     : 0;
    }
    return count;
}

static void learned_dry(const struct cb_kinds *kinds, const struct cb_recipe *recipe, size_t stage,
                        const struct cb_drying *drying, const struct cb_plan_taught *taught,
                        double *standard_min, bool *learned)
{
    struct cb_arena arena = {0};
    const char *pot = pot_of(kinds, recipe, stage, &arena);
    if (pot && taught->learn && cb_learn_pot(taught->learn, pot, drying->pot_sd).rows > 0) {
        const size_t answered = answered_of(taught, pot, recipe->stages[stage].technique);
        *standard_min =
            cb_forecast_ring_min(drying, taught->learn, pot, answered, taught->confidence);
        *learned = true;
    }
    cb_arena_fini(&arena);
}

struct cb_plan_times cb_plan_times_of(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                                      size_t stage, const struct cb_climate *climate,
                                      const struct cb_plan_taught *taught)
{
    const struct cb_stage *row = &recipe->stages[stage];
    const struct cb_drying drying = cb_drying_of_stage(kinds, recipe, stage);
    struct cb_plan_times times = {.work_min = cb_stage_minutes(row, kinds)};
    double standard_min = drying.standard_min;
    if (taught->hours) {
        double mean_log, sd;
        cb_hours_effect(taught->hours, row->technique, &mean_log, &sd);
        times.work_min *= exp(mean_log);
    }
    if (drying.from == CB_TIME_MODEL || drying.from == CB_TIME_DRY) {
        learned_dry(kinds, recipe, stage, &drying, taught, &standard_min, &times.learned);
        times.dry_min = cb_drying_minutes(&drying, climate, standard_min);
    } else {
        times.dry_min = standard_min;
    }
    return times;
}

/* What the rule needs of all stages. */
struct ground {
    const struct cb_recipe *recipe;
    int figures;
    uint64_t waits[CB_RECIPE_MAX];  /* stages */
    uint64_t covers[CB_RECIPE_MAX]; /* areas */
};

static bool joins(const struct ground *ground, size_t stage, size_t area)
{
    const struct cb_stage *row = &ground->recipe->stages[stage];
    return row->technique == CB_TECHNIQUE_JOIN && row->on >> area & 1;
}

/* Does a join that the figure gets wait for one of the two stages? */
static bool join_waits(const struct ground *ground, size_t a, size_t b, size_t area, int figure)
{
    for (size_t s = 0; s < ground->recipe->stage_count; s++) {
        if (joins(ground, s, area) && (ground->waits[s] >> a | ground->waits[s] >> b) & 1 &&
            cb_recipe_applies(ground->recipe, s, figure)) {
            return true;
        }
    }
    return false;
}

/* Is the part off every figure that gets both stages, as long as one of them is wet or to come?
 * What is never joined is. */
static bool is_off(const struct ground *ground, size_t a, size_t b, size_t area)
{
    if (!ground->recipe->areas[area].apart) {
        return false;
    }
    bool joined = false;
    for (size_t s = 0; s < ground->recipe->stage_count; s++) {
        joined |= joins(ground, s, area);
    }
    for (int figure = 1; joined && figure <= ground->figures; figure++) {
        if (cb_recipe_applies(ground->recipe, a, figure) &&
            cb_recipe_applies(ground->recipe, b, figure) &&
            !join_waits(ground, a, b, area, figure)) {
            return false;
        }
    }
    return true;
}

static bool are_beside(const struct ground *ground, size_t a, size_t b)
{
    const struct cb_recipe *recipe = ground->recipe;
    for (size_t i = 0; i < recipe->area_count; i++) {
        for (size_t j = 0; ground->covers[a] >> i & 1 && j < recipe->area_count; j++) {
            if (ground->covers[b] >> j & 1 && recipe->areas[i].beside >> j & 1) {
                const uint64_t off =
                    (uint64_t)is_off(ground, a, b, i) << i | (uint64_t)is_off(ground, a, b, j) << j;
                if (cb_recipe_one_piece(recipe, off, i, j)) {
                    return true;
                }
            }
        }
    }
    return false;
}

/* Films on one area can't both be wet; `beside` says the same of two areas of one piece. */
static bool touch(const struct ground *ground, size_t a, size_t b)
{
    const struct cb_stage *stages = ground->recipe->stages;
    if (ground->waits[a] >> b & 1 || ground->waits[b] >> a & 1) {
        return false;
    }
    return cb_areas_meet(stages[a].whole, ground->covers[a], stages[b].whole, ground->covers[b]) ||
           are_beside(ground, a, b);
}

static const int *stages_of(uint64_t mask, struct cb_arena *arena, size_t *count)
{
    int *list = cb_arena_alloc(arena, CB_RECIPE_MAX, sizeof *list);
    *count = 0;
    for (int i = 0; i < CB_RECIPE_MAX; i++) {
        if (mask >> i & 1) {
            list[(*count)++] = i;
        }
    }
    return list;
}

static int paint_of(const struct cb_kinds *kinds, const struct cb_recipe *recipe, size_t stage,
                    struct cb_arena *arena)
{
    const char *pot = pot_of(kinds, recipe, stage, arena);
    for (size_t i = 0; pot && i < stage; i++) {
        const char *other = pot_of(kinds, recipe, i, arena);
        if (other && strcmp(other, pot) == 0) {
            return (int)i;
        }
    }
    return pot ? (int)stage : CB_PLAN_NO_PAINT;
}

struct cb_plan_problem cb_plan_of_recipe(const struct cb_kinds *kinds,
                                         const struct cb_recipe *recipe, int figures,
                                         const struct cb_plan_times *times, struct cb_arena *arena)
{
    const size_t count = recipe->stage_count;
    struct cb_plan_stage *stages = cb_arena_alloc(arena, count + 1, sizeof *stages);
    struct cb_plan_slot *slots = cb_arena_alloc(arena, count * (size_t)figures + 1, sizeof *slots);
    struct ground ground = {.recipe = recipe, .figures = figures};
    cb_recipe_covers_all(recipe, ground.covers);
    for (size_t s = 0; s < count; s++) {
        ground.waits[s] = cb_recipe_waits_for(recipe, s);
    }
    for (size_t s = 0; s < count; s++) {
        struct cb_plan_stage *stage = &stages[s];
        uint64_t touches = 0;
        for (size_t other = 0; other < count; other++) {
            touches |= other != s && touch(&ground, s, other) ? UINT64_C(1) << other : 0;
        }
        *stage = (struct cb_plan_stage){.work_min = times[s].work_min,
                                        .dry_min = times[s].dry_min,
                                        .change_min = recipe->change_min,
                                        .paint = paint_of(kinds, recipe, s, arena),
                                        .together = recipe->stages[s].together};
        stage->needs = stages_of(ground.waits[s], arena, &stage->need_count);
        stage->touches = stages_of(touches, arena, &stage->touch_count);
        for (int figure = 1; figure <= figures; figure++) {
            slots[s * (size_t)figures + (size_t)figure - 1].coats =
                cb_recipe_applies(recipe, s, figure) ? recipe->stages[s].coats : 0;
        }
    }
    return (struct cb_plan_problem){.stage_count = count,
                                    .figure_count = (size_t)figures,
                                    .stages = stages,
                                    .slots = slots,
                                    .brush = CB_PLAN_NO_PAINT,
                                    .first_paint = CB_PLAN_NO_PAINT};
}
