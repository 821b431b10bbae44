/* SPDX-License-Identifier: MIT */
/*
 * What is left of a unit on the bench, as a problem for the planner: stage i is the recipe's stage
 * i + 1, figure f figure f + 1. What is on and wet counts as dry from its ring on, and so does what
 * is put on later, as the air is now. Who is parked gets no coat.
 */
#ifndef CB_CORE_PLAN_PLAN_UNIT_H
#define CB_CORE_PLAN_PLAN_UNIT_H

#include "core/bench/bench.h"
#include "core/learn/hours.h"
#include "core/learn/learn.h"
#include "core/plan/plan.h"

/* hours: hands-on minutes as they were learned, one effect a technique; NULL: the recipe's. In the
 * arena. */
struct cb_plan_problem cb_plan_of_unit(const struct cb_bench *bench, const struct cb_learn *learn,
                                       const struct cb_hours *hours, const struct cb_unit *unit,
                                       int64_t now_ms, struct cb_arena *arena);

#endif
