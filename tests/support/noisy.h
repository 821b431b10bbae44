/* SPDX-License-Identifier: MIT */
/*
 * An evening on which every coat takes and dries as long as it likes: hands-on minutes and drying
 * times are those of a plan's problem, each times a log-normal number of its own. Who paints by the
 * plan, makes a new one after every coat, and in every wait; who does not, goes by an order.
 * Changes of paint take what they take. Written from the problem statement, with nothing of
 * src/core but the planner's public face.
 */
#ifndef CB_TESTS_NOISY_H
#define CB_TESTS_NOISY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/plan/plan.h"

enum { NOISY_TASKS = 4000 };

struct noisy {
    const struct cb_plan_problem *problem; /* nothing on; no evenings */
    double sd;                             /* of the logs */
    int coats;                             /* of the stage that has most */
    double *work_min, *dry_min;            /* of [(stage * figures + figure) * coats + coat] */
    bool *touch;                           /* [stage * stages + other] */
};

struct noisy_task {
    int stage, coat, figure; /* from 0; of a go the first of its figures */
    int members[99], member_count;
    double start_min, end_min; /* as it was done */
};

struct noisy_evening {
    size_t task_count;
    struct noisy_task tasks[NOISY_TASKS];
    double finish_min, waiting_min;
    int paint_changes;
};

void noisy_init(struct noisy *noisy, const struct cb_plan_problem *problem, double sd,
                uint64_t seed);
void noisy_fini(struct noisy *noisy);

/* By the plan, made anew each time with so many simulations. Which films are dry is seen, how long
 * the others still take is not. */
void noisy_follow(const struct noisy *noisy, size_t simulations, struct noisy_evening *evening);
/* By the tasks of a plan in their order, whatever happens. */
void noisy_keep_to(const struct noisy *noisy, const struct cb_plan *plan,
                   struct noisy_evening *evening);
/* By a rule, without a plan. What can come is begun with the coat that can begin first; that is
 * all, or of those that can begin at once the one with the longest chain behind it. */
enum noisy_rule { NOISY_FIRST_READY, NOISY_LONGEST_TAIL };
void noisy_by_rule(const struct noisy *noisy, enum noisy_rule rule, struct noisy_evening *evening);
/* Who knew all times before: the best of that order and of so many changes of it, each tried on the
 * true times. */
void noisy_hindsight(const struct noisy *noisy, const struct noisy_evening *from, size_t tries,
                     struct noisy_evening *best);

#endif
