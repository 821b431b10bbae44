/* SPDX-License-Identifier: MIT */
/* What several screens put into cells alike. */
#ifndef CB_VIEW_PUT_H
#define CB_VIEW_PUT_H

#include "app/lines.h"
#include "app/view.h"
#include "view/grid.h"

/* The sign into the blank before what begins at the column. film NULL: none. */
void cb_put_sign(const struct cb_app *app, const struct cb_scene_film *film, struct cb_grid *grid,
                 int row, int column, enum cb_role role);
/* What cb_lines_film says, at most columns of it, with its sign before it. */
void cb_put_film(const struct cb_app *app, const struct cb_scene *scene,
                 const struct cb_scene_film *film, struct cb_grid *grid, int row, int column,
                 int columns, enum cb_role role);
/* The focus is there: where a braille line and a voice are to read on. */
void cb_put_focus(struct cb_grid *grid, int row, int column);
/* What is being typed, its end where it is too long, with the cursor where it is active. */
void cb_put_field(struct cb_grid *grid, int row, int column, const char *text, bool active);
/* The keys of a view in that row from that column on, as many as fit, with help and quit at any
 * width. What no key does is left out. */
void cb_put_keys(const struct cb_app *app, const struct cb_view_key *keys, struct cb_grid *grid,
                 int row, int column);

#endif
