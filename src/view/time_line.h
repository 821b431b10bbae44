/* SPDX-License-Identifier: MIT */
/*
 * A plan as a time line: a row a stage, cut into places of equal length, each with a sign for what
 * is done in it. Hands-on and drying differ by the sign alone, without any colour.
 */
#ifndef CB_VIEW_TIME_LINE_H
#define CB_VIEW_TIME_LINE_H

#include <stdbool.h>

#include "core/plan/plan.h"

struct cb_time_place {
    double work_min, dry_min; /* of it, hands-on and of the film that dries longest */
};

/* Adds what the plan does of that stage (from 0) in count places of place_min minutes, the first of
 * which begins at minute from_min of the plan. */
void cb_time_line_fill(const struct cb_plan *plan, int stage, double from_min, double place_min,
                       int count, struct cb_time_place *places);
/* Adds a film that dries until that minute and lies there already. */
void cb_time_line_dry(double until_min, double from_min, double place_min, int count,
                      struct cb_time_place *places);

enum cb_time_sign {
    CB_TIME_SIGN_WORK,  /* hands-on for half of it or more */
    CB_TIME_SIGN_SOME,  /* for less */
    CB_TIME_SIGN_DRIES, /* none, and half of it or more a film dries */
    CB_TIME_SIGN_FREE,
    CB_TIME_SIGN_NIGHT, /* between two evenings */
};
enum cb_time_sign cb_time_sign_of(const struct cb_time_place *place, double place_min);
/* One column wide. */
const char *cb_time_sign_text(enum cb_time_sign sign, bool ascii);

/* Minutes from one label of the axis to the next, so that so many columns at least lie between. */
double cb_time_line_step(double place_min, int columns);

#endif
