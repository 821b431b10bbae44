/* SPDX-License-Identifier: MIT */
/*
 * A recipe that nobody has begun, as a problem for the planner. Of stages on one area that don't
 * wait for each other either may come first, and the other waits until it is dry. What is planned
 * can go on by the bench (core/bench/next.h), too, and nearly always the other way round: optional
 * stages are planned in their order like the others, though on the bench they hold up nothing; a
 * part is joined beside nothing wet; and a part of which no stage's order says whether it is on the
 * figure counts as on it.
 */
#ifndef CB_CORE_PLAN_PLAN_RECIPE_H
#define CB_CORE_PLAN_PLAN_RECIPE_H

#include "core/air/climate.h"
#include "core/learn/hours.h"
#include "core/learn/learn.h"
#include "core/plan/plan.h"
#include "core/recipe/recipe.h"

/* What a painter's log taught; zeroed: nothing. */
struct cb_plan_taught {
    const struct cb_learn *learn; /* NULL: nothing of dry times */
    const struct cb_row *rows;    /* that it rests on */
    size_t row_count;
    const struct cb_hours *hours; /* one effect a technique (core/review/effort.h); NULL: nothing */
    double confidence;            /* of the pings */
};

/* Minutes of one figure and coat, of a whole go where together. */
struct cb_plan_times {
    double work_min;
    double dry_min; /* INFINITY: never, in that air */
    bool learned; /* dry_min is the ping's, since films of the pot have settled; else as the recipe
                     or the priors have it */
};

/* A stage's minutes: hands-on as the recipe says, or as usual for the technique, brought to what
 * was learned of that technique; exact waits as they are; drying in that air. */
struct cb_plan_times cb_plan_times_of(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                                      size_t stage, const struct cb_climate *climate,
                                      const struct cb_plan_taught *taught);

/* times: a stage. So many figures, nothing on, the brush clean; in the arena. */
struct cb_plan_problem cb_plan_of_recipe(const struct cb_kinds *kinds,
                                         const struct cb_recipe *recipe, int figures,
                                         const struct cb_plan_times *times, struct cb_arena *arena);

#endif
