/* SPDX-License-Identifier: MIT */
/* Carried-out steps as a plan. */
#include <math.h>

#include "core/plan/plan_internal.h"

static size_t left_of(const struct cb_plan_sim *sim, const struct cb_plan_model *m)
{
    size_t left = 0;
    for (size_t slot = 0; slot < m->stages * m->figures; slot++) {
        left += (size_t)(m->wanted[slot] - sim->on[slot]);
    }
    return left;
}

struct cb_plan cb_plan_sim_plan(const struct cb_plan_sim *sim, const struct cb_plan_model *m,
                                struct cb_arena *arena)
{
    struct cb_plan_task *tasks = cb_arena_alloc(arena, sim->step_count + 1, sizeof *tasks);
    int *members = cb_arena_alloc(arena, sim->member_count + 1, sizeof *members);
    struct cb_plan plan = {.task_count = sim->step_count,
                           .tasks = tasks,
                           .left_count = left_of(sim, m),
                           .finish_min = sim->finish_min,
                           .paint_changes = sim->changes};
    struct cb_plan_hand hand = cb_plan_hand_begin(m);
    double evening_begun = 0;
    for (size_t i = 0; i < sim->step_count; i++) {
        const struct cb_plan_step *step = &sim->steps[i];
        const struct cb_plan_coat *coat = &m->coat[step->coat];
        const struct cb_plan_stage *stage = &m->stage[coat->stage];
        const struct cb_plan_hand before = hand;
        struct cb_plan_task *task = &tasks[i];
        task->change = cb_plan_hand_work(m, &hand, stage, step->start_min);
        const double change_min = task->change ? stage->change_min : 0;
        double free_min = before.now_min;
        if (hand.evening != before.evening) {
            const double begun = hand.evening_end_min - m->evening_min;
            free_min = begun > free_min ? begun : free_min;
            evening_begun = free_min;
        }
        task->stage = coat->stage;
        task->coat = coat->coat + 1;
        task->figure = stage->together > 0 ? -1 : sim->members[plan.member_count];
        task->evening = hand.evening;
        task->start_min = step->start_min;
        task->end_min = hand.now_min;
        task->dry_min = cb_plan_hand_dry(m, &hand, stage->dry_min);
        task->members = members + plan.member_count;
        task->member_count = (size_t)step->members;
        for (int k = 0; k < step->members; k++) {
            members[plan.member_count] = sim->members[plan.member_count];
            plan.member_count++;
        }
        plan.work_min += stage->work_min;
        plan.change_min += change_min;
        plan.idle_min += step->start_min - change_min - free_min;
    }
    plan.evenings = hand.evening + 1;
    plan.last_evening_min = hand.now_min - evening_begun;
    return plan;
}
