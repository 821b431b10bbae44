/* SPDX-License-Identifier: MIT */
/* Small problems for the planner, filled in by hand; after cmocka.h. */
#ifndef CB_TESTS_PLAN_DESK_H
#define CB_TESTS_PLAN_DESK_H

#include <math.h>
#include <string.h>

#include "core/plan/plan.h"

enum { PLAN_DESK_STAGES = 6, PLAN_DESK_FIGURES = 20, PLAN_SIMULATIONS = 500 };

/* A problem that a test fills in: work 2, dry 10, change 1, a paint a stage, one coat, no needs. */
struct desk {
    struct cb_plan_problem problem;
    struct cb_plan_stage stages[PLAN_DESK_STAGES];
    struct cb_plan_slot slots[PLAN_DESK_STAGES * PLAN_DESK_FIGURES];
    int lists[PLAN_DESK_STAGES][PLAN_DESK_STAGES];
    struct cb_arena arena;
};

static inline void desk_init(struct desk *desk, size_t stages, size_t figures)
{
    memset(desk, 0, sizeof *desk);
    for (size_t s = 0; s < stages; s++) {
        desk->stages[s] =
            (struct cb_plan_stage){.work_min = 2, .dry_min = 10, .change_min = 1, .paint = (int)s};
        for (size_t f = 0; f < figures; f++) {
            desk->slots[s * figures + f].coats = 1;
        }
    }
    desk->problem = (struct cb_plan_problem){.stage_count = stages,
                                             .figure_count = figures,
                                             .stages = desk->stages,
                                             .slots = desk->slots,
                                             .brush = CB_PLAN_NO_PAINT,
                                             .first_paint = CB_PLAN_NO_PAINT};
}

/* Needs are listed from the front, touches from the back. */
static inline void need(struct desk *desk, int stage, int needed)
{
    struct cb_plan_stage *row = &desk->stages[stage];
    desk->lists[stage][row->need_count++] = needed;
    row->needs = desk->lists[stage];
}

static inline void touch(struct desk *desk, int stage, int other)
{
    struct cb_plan_stage *row = &desk->stages[stage];
    row->touches = &desk->lists[stage][PLAN_DESK_STAGES - ++row->touch_count];
    desk->lists[stage][PLAN_DESK_STAGES - row->touch_count] = other;
}

static inline struct cb_plan_slot *slot(struct desk *desk, size_t stage, size_t figure)
{
    return &desk->slots[stage * desk->problem.figure_count + figure];
}

static inline struct cb_plan plan_of(struct desk *desk)
{
    struct cb_plan_search *search = cb_plan_search_new(&desk->problem, 1);
    cb_plan_search_go(search, PLAN_SIMULATIONS);
    const struct cb_plan plan = cb_plan_search_best(search, &desk->arena);
    const struct cb_plan strict = cb_plan_search_strict(search, &desk->arena);
    assert_true(plan.finish_min <= strict.finish_min + 1e-9);
    cb_plan_search_free(search);
    return plan;
}

static inline void near(double got, double wanted)
{
    if (fabs(got - wanted) > 1e-9) {
        fail_msg("%.9g, wanted %.9g", got, wanted);
    }
}

#endif
