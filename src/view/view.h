/* SPDX-License-Identifier: MIT */
/* A view is a constant table of functions over the app's state; view/app_state.h is what the
 * views share and nobody else sees. */
#ifndef CB_VIEW_VIEW_H
#define CB_VIEW_VIEW_H

#include "view/action.h"
#include "view/grid.h"

struct cb_app;
struct cb_view {
    const char *name; /* the word in play scripts and the title */
    void (*draw)(const struct cb_app *app, struct cb_grid *grid);
    /* Handles an action of its own (arrows in a list); false: the app's default. May be NULL. */
    bool (*act)(struct cb_app *app, enum cb_action action);
};
extern const struct cb_view cb_view_bench, cb_view_rack, cb_view_pots, cb_view_review,
    cb_view_glance, cb_view_help;

#endif
