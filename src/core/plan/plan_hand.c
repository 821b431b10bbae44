/* SPDX-License-Identifier: MIT */
#include <math.h>

#include "core/plan/plan_internal.h"

struct cb_plan_hand cb_plan_hand_begin(const struct cb_plan_model *model)
{
    double end_min = INFINITY;
    if (model->evening_min > 0) {
        end_min = model->tonight_min > 0 ? model->tonight_min : model->evening_min;
    }
    return (struct cb_plan_hand){.evening_end_min = end_min, .brush = model->brush};
}

double cb_plan_hand_later(const struct cb_plan_model *model, const struct cb_plan_hand *hand,
                          const struct cb_plan_stage *stage, double ready_min)
{
    if (isinf(ready_min) || model->evening_min <= 0) {
        return INFINITY;
    }
    const double change = stage->paint >= 0 ? stage->change_min : 0; /* the brush is clean again */
    double end = hand->evening_end_min, free_min, start;
    do {
        free_min = (end > hand->now_min ? end : hand->now_min) + change;
        start = free_min > ready_min ? free_min : ready_min;
        end += model->evening_min;
        /* What is longer than an evening is begun with one all the same. */
    } while (start > free_min && start + stage->work_min > end + CB_PLAN_EPSILON);
    return start;
}

bool cb_plan_hand_work(const struct cb_plan_model *model, struct cb_plan_hand *hand,
                       const struct cb_plan_stage *stage, double start_min)
{
    while (start_min >= hand->evening_end_min - CB_PLAN_EPSILON) {
        hand->evening_end_min += model->evening_min;
        hand->evening++;
        hand->brush = CB_PLAN_NO_PAINT;
    }
    const bool change = cb_plan_hand_changes(hand, stage);
    hand->brush = change ? stage->paint : hand->brush;
    hand->now_min = start_min + stage->work_min;
    return change;
}

double cb_plan_hand_dry(const struct cb_plan_model *model, const struct cb_plan_hand *hand,
                        double dry_min)
{
    const double dry = hand->now_min + dry_min;
    if (dry <= hand->evening_end_min) {
        return dry;
    }
    const double rest = dry - model->night_min;
    return rest > hand->evening_end_min ? rest : hand->evening_end_min;
}
