/* SPDX-License-Identifier: MIT */
/*
 * The road of the unit in front: what is to be put on, in which order, and when it ends. It is
 * planned anew when the log or what was learned has changed, at once and roughly, and made better
 * while nobody waits. What it says is next stands until then.
 */
#ifndef CB_APP_ROAD_H
#define CB_APP_ROAD_H

#include "app/app.h"
#include "core/plan/road.h"

struct cb_roads_kept;
struct cb_roads {
    struct cb_roads_kept *kept; /* what was worked out of the state, until that moves on */
};

/* NULL: no unit in front, or one without stages. Valid until the next step. */
const struct cb_road *cb_app_road(const struct cb_app *app);
/* The usual length of an evening and what is left of this one; 0: not known. */
double cb_roads_evening_min(const struct cb_app *app);
double cb_roads_tonight_min(const struct cb_app *app);

/* The log or what was learned is another: to be planned anew. */
void cb_roads_forget(struct cb_app *app);
/* The choice is free: so too, if time has gone on. */
void cb_roads_move_on(struct cb_app *app);
/* What finished units taught has come, or is another. */
void cb_roads_taught(struct cb_app *app);
/* A piece of idle time. */
void cb_roads_think(struct cb_app *app);

/* What the road's nights go by: the length of an evening, and what was left of the first. 0:
 * unknown. */
void cb_roads_nights(const struct cb_app *app, double *evening_min, double *tonight_min);

void cb_roads_init(struct cb_app *app);
void cb_roads_fini(struct cb_app *app);

#endif
