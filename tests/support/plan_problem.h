/* SPDX-License-Identifier: MIT */
/* A recipe as the planner has it. */
#ifndef CB_TESTS_PLAN_PROBLEM_H
#define CB_TESTS_PLAN_PROBLEM_H

#include "core/plan/plan.h"

struct plan_case;

/* Of a recipe's file, at 23 C and 50 %, with nothing learned; in the arena. A file that can't be
 * read ends the program. */
struct cb_plan_problem plan_problem_read(const char *path, int figures, struct cb_arena *arena);
/* Of a case, by way of such a file in the folder. */
struct cb_plan_problem plan_problem_of(const struct plan_case *plan, const char *folder,
                                       struct cb_arena *arena);

#endif
