/* SPDX-License-Identifier: MIT */
#include <math.h>

#include "core/plan/plan.h"
#include "core/plan/plan_search.h"

#define SEED  1
#define SHARE 0.01 /* of the time, what waiting a batch may cost (own judgement) */

struct cb_plan cb_plan_in_batches(const struct cb_plan_problem *problem, int figures,
                                  size_t simulations, struct cb_arena *arena)
{
    struct cb_plan_search search = {0};
    cb_plan_model_init(&search.model, problem);
    if (figures < (int)problem->figure_count) {
        cb_plan_model_batches(&search.model, figures);
    }
    cb_plan_search_init(&search, SEED);
    cb_plan_search_go(&search, simulations);
    const struct cb_plan plan = cb_plan_search_best(&search, arena);
    cb_plan_search_fini(&search);
    return plan;
}

struct cb_plan_batch cb_plan_batch_of(const struct cb_plan_problem *problem, int figures,
                                      size_t simulations)
{
    struct cb_arena arena = {0};
    const struct cb_plan plan = cb_plan_in_batches(problem, figures, simulations, &arena);
    const struct cb_plan_batch batch = {plan.idle_min, plan.finish_min, plan.paint_changes};
    cb_arena_fini(&arena);
    return batch;
}

int cb_plan_batch_advised(const struct cb_plan_batch *batches, int count)
{
    double least = INFINITY;
    for (int i = 0; i < count; i++) {
        least = batches[i].idle_min < least ? batches[i].idle_min : least;
    }
    int advised = 1;
    while (advised < count &&
           batches[advised - 1].idle_min > least + SHARE * batches[advised - 1].finish_min) {
        advised++;
    }
    return advised;
}

static void longer(struct cb_plan_row *row, int most, int stage, double dry_min, double change_min,
                   double work_min)
{
    const double left_min = dry_min - change_min;
    if (!(work_min > 0) || !(left_min > 0) || isinf(left_min)) {
        return;
    }
    const double figures = 1 + ceil(left_min / work_min - 1e-9);
    if (figures > row->figures && figures <= most) {
        *row = (struct cb_plan_row){stage, (int)figures, dry_min, change_min, work_min};
    }
}

struct cb_plan_row cb_plan_longest_row(const struct cb_plan_problem *problem, int most)
{
    struct cb_plan_row row = {.stage = -1, .figures = 1};
    struct cb_plan_model m;
    cb_plan_model_init(&m, problem);
    for (int s = 0; s < (int)m.stages; s++) {
        const struct cb_plan_stage *stage = &m.stage[s];
        if (stage->together > 0 || m.first_coat[s] == m.first_coat[s + 1]) {
            continue;
        }
        if (m.first_coat[s + 1] - m.first_coat[s] > 1) {
            longer(&row, most, s, stage->dry_min, 0, stage->work_min);
        }
        for (int i = m.first_follower[s]; i < m.first_follower[s + 1]; i++) {
            const struct cb_plan_stage *next = &m.stage[m.followers[i]];
            const bool change = next->paint >= 0 && next->paint != stage->paint;
            if (next->together == 0 &&
                m.first_coat[m.followers[i]] < m.first_coat[m.followers[i] + 1]) {
                longer(&row, most, s, stage->dry_min, change ? next->change_min : 0,
                       stage->work_min < next->work_min ? stage->work_min : next->work_min);
            }
        }
    }
    cb_plan_model_fini(&m);
    return row;
}
