/* SPDX-License-Identifier: MIT */
/* Coats that are put on, now or some time ago, and those that were on before. */
#ifndef CB_APP_COATS_H
#define CB_APP_COATS_H

#include "app/app.h"
#include "app/scene.h"
#include "core/bench/dating.h"

/* What a press would write, on `count` figures: one coat each of the stage proposed. */
struct cb_coats_meant {
    size_t count, wanted; /* wanted: as many as were asked for */
    int figures[CB_FIGURES_MAX];
    struct cb_dating dating[CB_FIGURES_MAX];
};
/* By the count typed; rest: on all that are ready. The scene has a proposal. */
void cb_coats_meant(const struct cb_app *app, const struct cb_scene *scene, bool rest,
                    struct cb_coats_meant *meant);

/* The coat could have gone on so long ago that a press now may be a late one. */
bool cb_coats_may_be_late(const struct cb_app *app, const struct cb_scene *scene);

void cb_coats_on(struct cb_app *app, bool rest);
/* The stage shown was done before the unit was begun. */
void cb_coats_before(struct cb_app *app);
/* The event of a coat that was: the first `coat` from 1 that is not on yet, and so on, is the
 * caller's to count. */
const struct cb_event *cb_coats_before_event(struct cb_arena *arena, const char *unit, int figure,
                                             int stage, int coat, const struct cb_moment *now);

#endif
