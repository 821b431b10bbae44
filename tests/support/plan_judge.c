/* SPDX-License-Identifier: MIT */
/* The judge: nothing but the rules, each looked for among all pairs of films. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "support/plan_case.h"

#define EPSILON 1e-6 /* minutes */

static char said[256];

static const char *fault(const char *format, ...) __attribute__((format(printf, 1, 2)));
static const char *fault(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    vsnprintf(said, sizeof said, format, args);
    va_end(args);
    return said;
}

static const struct plan_case_stage *stage_of(const struct plan_case *plan,
                                              const struct plan_answer_task *task)
{
    return &plan->stages[task->stage - 1];
}

static bool gets(const struct plan_case *plan, const struct plan_case_stage *stage, int figure)
{
    return !stage->some || plan->group[figure - 1] || figure == 1;
}

static bool has(const struct plan_answer_task *task, int figure)
{
    for (int i = 0; i < task->member_count; i++) {
        if (task->members[i] == figure) {
            return true;
        }
    }
    return false;
}

/* Each coat that a figure gets is put on once, and nothing else is. */
static const char *each_once(const struct plan_case *plan, const struct plan_answer *answer)
{
    int left = 0;
    for (int s = 0; s < plan->stage_count; s++) {
        for (int figure = 1; figure <= plan->figures; figure++) {
            left += gets(plan, &plan->stages[s], figure) ? plan->stages[s].coats : 0;
        }
    }
    for (int i = 0; i < answer->task_count; i++) {
        const struct plan_answer_task *task = &answer->tasks[i];
        if (task->stage < 1 || task->stage > plan->stage_count || task->coat < 1 ||
            task->coat > stage_of(plan, task)->coats || task->member_count < 1) {
            return fault("task %d is none of the recipe's", i + 1);
        }
        if ((task->figure == 0) != (stage_of(plan, task)->together > 0)) {
            return fault("task %d: a go, and the stage has none, or the other way", i + 1);
        }
        for (int k = 0; k < task->member_count; k++) {
            const int figure = task->members[k];
            if (figure < 1 || figure > plan->figures || !gets(plan, stage_of(plan, task), figure)) {
                return fault("task %d: figure %d does not get it", i + 1, figure);
            }
            for (int j = 0; j < i; j++) {
                if (answer->tasks[j].stage == task->stage && answer->tasks[j].coat == task->coat &&
                    has(&answer->tasks[j], figure)) {
                    return fault("stage %d coat %d is twice on figure %d", task->stage, task->coat,
                                 figure);
                }
            }
            left--;
        }
    }
    return left == 0 ? NULL : fault("%d coats are not put on", left);
}

/* A go takes all that get the coat, or as many as fit while there are so many left. */
static const char *goes_are_full(const struct plan_case *plan, const struct plan_answer *answer)
{
    for (int i = 0; i < answer->task_count; i++) {
        const struct plan_answer_task *task = &answer->tasks[i];
        const int fit = stage_of(plan, task)->together;
        int all = 0;
        for (int figure = 1; figure <= plan->figures; figure++) {
            all += gets(plan, stage_of(plan, task), figure) ? 1 : 0;
        }
        if (fit > 0 &&
            (task->member_count > fit || (fit >= plan->figures && task->member_count < all))) {
            return fault("task %d: a go of %d, where %d fit and %d want it", i + 1,
                         task->member_count, fit, all);
        }
    }
    return NULL;
}

/* Times follow from the start; the brush is in one place, and another paint takes its time. */
static const char *one_hand(const struct plan_case *plan, const struct plan_answer *answer,
                            double evening_min)
{
    double free_min = 0, finish = 0, work = 0, idle = 0, tonight = 0;
    int brush = -1, changes = 0, evening = 1;
    for (int i = 0; i < answer->task_count; i++) {
        const struct plan_answer_task *task = &answer->tasks[i];
        const struct plan_case_stage *stage = stage_of(plan, task);
        if (evening_min > 0 && task->evening != evening) {
            if (task->evening < evening || task->start_min < (task->evening - 1) * evening_min) {
                return fault("task %d: not in evening %d", i + 1, task->evening);
            }
            evening = task->evening;
            free_min = fmax(free_min, (evening - 1) * evening_min);
            brush = -1;
            tonight = 0;
        }
        const bool change = stage->paint >= 0 && stage->paint != brush;
        if (change) {
            changes++;
            brush = stage->paint;
            free_min += plan->change_min;
        }
        if (task->start_min < free_min - EPSILON) {
            return fault("task %d starts at %g, the hand is free at %g", i + 1, task->start_min,
                         free_min);
        }
        if (fabs(task->end_min - task->start_min - stage->work_min) > EPSILON) {
            return fault("task %d takes %g min, not %g", i + 1, task->end_min - task->start_min,
                         stage->work_min);
        }
        const double dry = task->end_min + stage->dry_min;
        const bool overnight = evening_min > 0 && dry > evening * evening_min;
        if (overnight ? task->dry_min < task->end_min - EPSILON || task->dry_min > dry + EPSILON
                      : fabs(task->dry_min - dry) > EPSILON) {
            return fault("task %d is dry at %g, not %g", i + 1, task->dry_min, dry);
        }
        if (evening_min > 0 && task->end_min > evening * evening_min + EPSILON) {
            return fault("task %d goes on after the evening", i + 1);
        }
        idle += task->start_min - free_min;
        work += stage->work_min;
        free_min = task->end_min;
        tonight = fmax(tonight, dry);
        finish = evening_min > 0 ? tonight : fmax(finish, dry);
    }
    if (fabs(finish - answer->finish_min) > EPSILON || fabs(work - answer->work_min) > EPSILON ||
        fabs(idle - answer->idle_min) > EPSILON || changes != answer->paint_changes) {
        return fault("finish %g, work %g, idle %g, %d changes; said: %g, %g, %g, %d", finish, work,
                     idle, changes, answer->finish_min, answer->work_min, answer->idle_min,
                     answer->paint_changes);
    }
    return NULL;
}

static bool meet(const struct plan_case_stage *a, const struct plan_case_stage *b)
{
    return a->whole || b->whole || (a->on & b->on) != 0;
}

static bool beside(const struct plan_case *plan, const struct plan_case_stage *a,
                   const struct plan_case_stage *b)
{
    for (int i = 0; i < plan->area_count; i++) {
        if (((a->on >> i & 1) && (plan->beside[i] & b->on) != 0) ||
            ((b->on >> i & 1) && (plan->beside[i] & a->on) != 0)) {
            return true;
        }
    }
    return false;
}

/* Does the task's stage wait for that other one? */
static bool waits(const struct plan_case *plan, const struct plan_answer_task *task, int stage)
{
    const struct plan_case_stage *own = stage_of(plan, task);
    return own->has_after ? own->after >> (stage - 1) & 1
                          : stage < task->stage && meet(own, &plan->stages[stage - 1]);
}

/* On one figure: this task against every other one. */
static const char *against(const struct plan_case *plan, const struct plan_answer_task *task,
                           const struct plan_answer_task *other, int figure)
{
    const bool before = other->dry_min <= task->start_min + EPSILON;
    const bool after = task->dry_min <= other->start_min + EPSILON;
    if (other->stage == task->stage) {
        return (other->coat < task->coat ? before : after)
                   ? NULL
                   : fault("figure %d, stage %d: coats %d and %d out of order or wet", figure,
                           task->stage, task->coat, other->coat);
    }
    if (waits(plan, task, other->stage) && !before) {
        return fault("figure %d: stage %d at %g waits for stage %d, dry at %g", figure, task->stage,
                     task->start_min, other->stage, other->dry_min);
    }
    if ((meet(stage_of(plan, task), stage_of(plan, other)) ||
         beside(plan, stage_of(plan, task), stage_of(plan, other))) &&
        !before && !after) {
        return fault("figure %d: stages %d and %d are wet at the same time", figure, task->stage,
                     other->stage);
    }
    return NULL;
}

static const char *films_are_dry(const struct plan_case *plan, const struct plan_answer *answer)
{
    for (int figure = 1; figure <= plan->figures; figure++) {
        static const struct plan_answer_task *own[PLAN_TASKS];
        int count = 0;
        for (int i = 0; i < answer->task_count; i++) {
            if (has(&answer->tasks[i], figure)) {
                own[count++] = &answer->tasks[i];
            }
        }
        for (int i = 0; i < count; i++) {
            for (int j = 0; j < count; j++) {
                const char *found = i != j ? against(plan, own[i], own[j], figure) : NULL;
                if (found != NULL) {
                    return found;
                }
            }
        }
    }
    return NULL;
}

const char *plan_fault(const struct plan_case *plan, const struct plan_answer *answer,
                       double evening_min)
{
    const char *found = each_once(plan, answer);
    found = found != NULL ? found : goes_are_full(plan, answer);
    found = found != NULL ? found : one_hand(plan, answer, evening_min);
    return found != NULL ? found : films_are_dry(plan, answer);
}
