/* SPDX-License-Identifier: MIT */
/*
 * What comes after what is to be put on now, and what a while in which nothing can go on is good
 * for: sentences of the plan. Texts live in the arena; NULL: nothing to say.
 */
#ifndef CB_APP_THEN_H
#define CB_APP_THEN_H

#include "app/app.h"
#include "app/scene.h"

/* One coat on some figures, one after the other or in one go. */
struct cb_then_run {
    int stage, coat; /* from 1; 0: none */
    int figures[CB_FIGURES_MAX];
    size_t count;
    bool change;                       /* of paint before it */
    int64_t from_ms, start_ms, end_ms; /* hand free, brush work; bench time, moved along with who is
                                          late */
    int64_t dry_ms;                    /* its last film */
};
/* What comes after what is named, by the plan; not known where somebody has gone elsewhere. */
struct cb_then_run cb_then_next(const struct cb_app *app, const struct cb_scene *scene);

/* "then Bilge leather on 1 to 10: ready, a change of paint" */
char *cb_then_line(const struct cb_app *app, const struct cb_scene *scene, int columns,
                   struct cb_arena *arena);
/* While one waits: "free until 20:44: mix Ebb wash, rinse the brush; j when done"; where another
 * unit has a coat that can go on, that. */
char *cb_then_gap_line(const struct cb_app *app, const struct cb_scene *scene, int columns,
                       struct cb_arena *arena);
/* "leave by 22:00: stop after Ebb wash on 6, then Tideline paste, which dries over night"; before
 * that the next while of ten minutes: "free 20:41 to 21:05: nothing to do". */
char *cb_then_evening_line(const struct cb_app *app, const struct cb_scene *scene, int columns,
                           struct cb_arena *arena);

#endif
