/* SPDX-License-Identifier: MIT */
/* Another unit under way that the same brush can paint, and the way there. */
#ifndef CB_APP_SAME_H
#define CB_APP_SAME_H

#include "app/app.h"
#include "app/scene.h"

struct cb_same {
    const struct cb_unit *unit; /* not in front; NULL: none */
    int stage;                  /* of that unit, from 1 */
    int figures[CB_FIGURES_MAX];
    size_t count; /* that are ready for it */
};

/* Where the unit that was called to the front is to be looked at. */
struct cb_same_goal {
    const char *unit; /* in the app's arena; NULL: anywhere */
    int stage;
};

/* Of the paint on the brush in this sitting, else of the one that is named. */
struct cb_same cb_same_brush(const struct cb_app *app, const struct cb_scene *scene);
/* That unit comes to the front, else the next one under way. */
void cb_same_go(struct cb_app *app);
/* Another unit is in front. */
void cb_same_arrived(struct cb_app *app);

#endif
