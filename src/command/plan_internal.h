/* SPDX-License-Identifier: MIT */
/* `plan` in its parts: what was reckoned, and a file for each way to show it. */
#ifndef CB_COMMAND_PLAN_INTERNAL_H
#define CB_COMMAND_PLAN_INTERNAL_H

#include "base/str.h"
#include "command/climate_args.h"
#include "command/recipe_args.h"
#include "core/learn/hours.h"
#include "core/plan/finish.h"
#include "core/plan/plan.h"
#include "core/plan/plan_recipe.h"

struct cb_plan_call {
    const struct cb_args *args;
    struct cb_arena *arena;
    struct cb_recipe_args in;
    struct cb_climate_args air;
    struct cb_plan_times times[CB_RECIPE_MAX]; /* of the stages */
    struct cb_plan_problem problem;
    struct cb_plan plan, strict;
    double bound_min;
    struct cb_plan_batch batches[CB_FIGURES_MAX]; /* of 1, 2, ... figures */
    int advised;
    struct cb_hours_sum hours; /* hands-on */
    bool hours_learned;        /* some of it from the log */
    int usual_evenings;        /* that it takes this painter; 0: not known */
    struct cb_effort habits;   /* evenings of the whole log, and what else went into them */
    int64_t session_ms;        /* wall, since when the bench is open; CB_TIME_NONE */
    struct cb_finish finish;   /* were it begun now, and nothing else painted */
};

void cb_plan_print(const struct cb_plan_call *call);
void cb_plan_print_json(const struct cb_plan_call *call);
/* The time line as a picture of its own. */
void cb_plan_svg(const struct cb_plan_call *call, struct cb_str *out);

/* "3 h 10 min", rounded; in the arena. */
const char *cb_plan_span(const struct cb_plan_call *call, double min);

#endif
