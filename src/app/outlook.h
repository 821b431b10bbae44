/* SPDX-License-Identifier: MIT */
/*
 * The road as it is looked at: when the unit in front is finished and what is to go, how wide its
 * time line is drawn, and how far it has moved along with a painter who is late.
 */
#ifndef CB_APP_OUTLOOK_H
#define CB_APP_OUTLOOK_H

#include "app/app.h"
#include "core/learn/hours.h"
#include "core/plan/finish.h"
#include "core/plan/road.h"

struct cb_outlook_kept;
struct cb_outlook {
    int column_min; /* minutes a column stands for; 0: as few as let all be seen */
    int left;       /* columns of the time line that are scrolled past */
    struct cb_outlook_kept *kept;
};

const struct cb_outlook *cb_app_outlook(const struct cb_app *app);
void cb_outlook_zoom(struct cb_app *app, int column_min, int left);

/* Minutes from the road's beginning until now; how many of them the first coat of the plan is late
 * (it is not on, and its time is over): all that follows moves along by those. With a road. */
double cb_outlook_gone_min(const struct cb_app *app);
double cb_outlook_late_min(const struct cb_app *app, const struct cb_plan *plan);
/* Until what is wet already is dry, minutes from the road's beginning on; INFINITY: it stands
 * still. 0: nothing is. */
double cb_outlook_wet_min(const struct cb_road *road);
/* The stage, from 0, that has something to do or to dry and never dries as the air is; -1: none. */
int cb_outlook_still(const struct cb_road *road);

/* By the plan over evenings, moved along; kept for a minute of a bench that does not move. With a
 * road. */
const struct cb_finish *cb_app_finish(const struct cb_app *app);
/* Hands-on minutes of the unit's coats to go, as the review has them. With a road. */
const struct cb_hours_sum *cb_app_to_go(const struct cb_app *app);

/* The log, or what was learned, is another. */
void cb_outlook_forget(struct cb_app *app);
void cb_outlook_init(struct cb_app *app);
void cb_outlook_fini(struct cb_app *app);

#endif
