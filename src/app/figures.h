/* SPDX-License-Identifier: MIT */
/* What is done with figures as a whole: parked, taken back, brought in. */
#ifndef CB_APP_FIGURES_H
#define CB_APP_FIGURES_H

#include "app/app.h"
#include "app/scene.h"

/* The figure in brackets: where the user went, else that of the proposal; 0: none. */
int cb_figures_bracketed(const struct cb_app *app, const struct cb_scene *scene);
/* A place where films of the unit lie that can be brought in, with their figures in order from that
 * one on; NULL: all are at the bench. */
const char *cb_figures_elsewhere(const struct cb_bench *bench, const struct cb_unit *unit, int from,
                                 int figures[CB_FIGURES_MAX], size_t *count);
/* How many figures wait until the first ones of the unit are done; 0 while all those are parked. */
int cb_figures_later(const struct cb_unit *unit);
/* Coats still to do on those that are not parked. */
int cb_figures_left(const struct cb_unit *unit);
/* The parked figures that lack coats, and how many coats they lack. */
int cb_figures_lacking(const struct cb_unit *unit, int figures[CB_FIGURES_MAX], size_t *count);
/* Where nothing is left to put on: "every coat is on", and what is true where figures are parked.
 * brief: without their numbers. *none: every figure of the unit is parked. */
char *cb_figures_done(const struct cb_unit *unit, bool brief, struct cb_arena *arena, bool *none);
/* All that is done: the same for those that waited. False: none do, or it is not done. */
bool cb_figures_go_on(struct cb_app *app);
/* The event that parks a figure; in the arena. */
const struct cb_event *cb_figures_park_event(struct cb_arena *arena, const char *unit, int figure,
                                             const struct cb_moment *now);
/* False: the action is not about figures. */
bool cb_figures_act(struct cb_app *app, enum cb_action action);

#endif
