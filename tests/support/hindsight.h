/* SPDX-License-Identifier: MIT */
/* The plan of who knows before how long each single coat will take and stay wet. */
#ifndef CB_TESTS_HINDSIGHT_H
#define CB_TESTS_HINDSIGHT_H

#include "core/plan/plan.h"

enum { HINDSIGHT_STAGES = 20, HINDSIGHT_FIGURES = 10, HINDSIGHT_COATS = 3 };

/* [stage][figure][coat], all from 0; of a together go the first figure's. */
struct hindsight_times {
    double work_min[HINDSIGHT_STAGES][HINDSIGHT_FIGURES][HINDSIGHT_COATS];
    double dry_min[HINDSIGHT_STAGES][HINDSIGHT_FIGURES][HINDSIGHT_COATS];
};

/* When the last film is dry, of the best plan found, and what no plan can be better than. The
 * problem has HINDSIGHT_FIGURES, and nothing is on yet. */
double hindsight_min(const struct cb_plan_problem *expected, const struct hindsight_times *times,
                     size_t simulations, double *bound_min);
/* Either way. */
bool hindsight_touch(const struct cb_plan_problem *problem, size_t one, size_t other);

#endif
