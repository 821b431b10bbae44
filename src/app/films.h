/* SPDX-License-Identifier: MIT */
/* What is said of films that are on, and of what a stage is to have on a figure. */
#ifndef CB_APP_FILMS_H
#define CB_APP_FILMS_H

#include "app/app.h"
#include "app/scene.h"

/* The open films that an answer is about, by the count typed: that in focus and the same coat on
 * the next figures. Their number; 0: none is in focus. *all: they are all there are. */
size_t cb_films_meant(const struct cb_app *app, const struct cb_scene *scene,
                      int figures[CB_FIGURES_MAX], bool *all);
/* What an answer is about: the stroke on the scrap, where no number was typed and no figure gone
 * to; else the coat in focus. NULL: nothing. */
const struct cb_scene_film *cb_films_asked(const struct cb_app *app, const struct cb_scene *scene);
/* The stage whose paint is on the brush: that of the last coat of this sitting, else the one that
 * is offered; 0: it has none. */
int cb_films_brush_stage(const struct cb_app *app, const struct cb_scene *scene);
/* The figure in brackets and the stage shown with it; for a slip, the stage last put on there. With
 * nothing left to put on: the last coat. False: there is no such place. */
bool cb_films_place(const struct cb_app *app, const struct cb_scene *scene, bool slip, int *figure,
                    int *stage);
/* False: the action is not about films or figures. */
bool cb_films_act(struct cb_app *app, enum cb_action action);

#endif
