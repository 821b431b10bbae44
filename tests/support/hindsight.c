/* SPDX-License-Identifier: MIT */
#include "support/hindsight.h"

bool hindsight_touch(const struct cb_plan_problem *problem, size_t one, size_t other)
{
    for (int turn = 0; turn < 2; turn++) {
        const struct cb_plan_stage *stage = &problem->stages[turn ? other : one];
        for (size_t i = 0; i < stage->touch_count; i++) {
            if (stage->touches[i] == (int)(turn ? one : other)) {
                return true;
            }
        }
    }
    return false;
}

/* Each coat of each figure as a stage of its own, since each has its own times. */
struct known {
    struct cb_plan_stage *stages;
    struct cb_plan_slot *slots;
    struct known_coat {
        size_t stage;
        int figure, coat; /* of a go, the first figure's */
    } * coats;
    size_t count;
};

static void list_coats(const struct cb_plan_problem *expected, const struct hindsight_times *times,
                       struct known *known, struct cb_arena *arena)
{
    known->stages = cb_arena_alloc(arena, HINDSIGHT_STAGES * HINDSIGHT_FIGURES * HINDSIGHT_COATS,
                                   sizeof *known->stages);
    known->coats = cb_arena_alloc(arena, HINDSIGHT_STAGES * HINDSIGHT_FIGURES * HINDSIGHT_COATS,
                                  sizeof *known->coats);
    for (size_t s = 0; s < expected->stage_count; s++) {
        const int last = expected->stages[s].together != 0 ? 1 : HINDSIGHT_FIGURES;
        for (int i = 0; i < HINDSIGHT_COATS * last; i++) {
            const int c = i / last, f = i % last;
            if (c < expected->slots[s * HINDSIGHT_FIGURES + (size_t)f].coats) {
                struct cb_plan_stage *stage = &known->stages[known->count];
                *stage = expected->stages[s];
                stage->work_min = times->work_min[s][f][c];
                stage->dry_min = times->dry_min[s][f][c];
                known->coats[known->count++] = (struct known_coat){s, f, c};
            }
        }
    }
}

/* Is the other on a figure that the one is on? */
static bool meet(const struct cb_plan_problem *expected, const struct known_coat *one,
                 const struct known_coat *other)
{
    const struct cb_plan_stage *stages = expected->stages;
    return one->figure == other->figure || stages[one->stage].together != 0 ||
           stages[other->stage].together != 0;
}

static bool needs(const struct cb_plan_problem *expected, const struct known_coat *one,
                  const struct known_coat *other)
{
    const struct cb_plan_stage *stage = &expected->stages[one->stage];
    bool need = one->stage == other->stage && other->coat < one->coat;
    for (size_t i = 0; i < stage->need_count; i++) {
        need = need || stage->needs[i] == (int)other->stage;
    }
    return need && meet(expected, one, other);
}

static void list_bonds(const struct cb_plan_problem *expected, struct known *known,
                       struct cb_arena *arena)
{
    known->slots = cb_arena_alloc(arena, known->count * HINDSIGHT_FIGURES, sizeof *known->slots);
    for (size_t i = 0; i < known->count; i++) {
        const struct known_coat *coat = &known->coats[i];
        struct cb_plan_stage *stage = &known->stages[i];
        int *needed = cb_arena_alloc(arena, known->count, sizeof *needed);
        int *touched = cb_arena_alloc(arena, known->count, sizeof *touched);
        const bool go = stage->together != 0;
        stage->need_count = stage->touch_count = 0;
        stage->needs = needed;
        stage->touches = touched;
        for (int f = 0; f < HINDSIGHT_FIGURES; f++) {
            known->slots[i * HINDSIGHT_FIGURES + (size_t)f].coats = go || f == coat->figure;
        }
        for (size_t k = 0; k < known->count; k++) {
            const struct known_coat *other = &known->coats[k];
            if (needs(expected, coat, other)) {
                needed[stage->need_count++] = (int)k;
            } else if (coat->stage != other->stage && meet(expected, coat, other) &&
                       hindsight_touch(expected, coat->stage, other->stage)) {
                touched[stage->touch_count++] = (int)k;
            }
        }
    }
}

double hindsight_min(const struct cb_plan_problem *expected, const struct hindsight_times *times,
                     size_t simulations, double *bound_min)
{
    struct cb_arena arena = {0};
    struct known known = {0};
    list_coats(expected, times, &known, &arena);
    list_bonds(expected, &known, &arena);
    const struct cb_plan_problem problem = {.stage_count = known.count,
                                            .figure_count = HINDSIGHT_FIGURES,
                                            .stages = known.stages,
                                            .slots = known.slots,
                                            .brush = CB_PLAN_NO_PAINT,
                                            .first_paint = CB_PLAN_NO_PAINT};
    struct cb_plan_search *search = cb_plan_search_new(&problem, 1);
    cb_plan_search_go(search, simulations);
    const double finish_min = cb_plan_search_best(search, &arena).finish_min;
    *bound_min = cb_plan_bound_min(&problem);
    cb_plan_search_free(search);
    cb_arena_fini(&arena);
    return finish_min;
}
