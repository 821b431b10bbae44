/* SPDX-License-Identifier: MIT */
/* All screens there are, and the one that is seen. */
#ifndef CB_VIEW_SCREEN_H
#define CB_VIEW_SCREEN_H

#include "app/app.h"
#include "app/view.h"
#include "view/grid.h"

extern const struct cb_views cb_screens;

/* Draws the screen as of the last input's moment, into a grid that is given the app's size. */
void cb_screen_draw(const struct cb_app *app, struct cb_grid *grid);

#endif
