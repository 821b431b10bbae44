/* SPDX-License-Identifier: MIT */
/* The cues as the bench says them: which now, m, and the pop-up for a pool nobody looks back at. */
#ifndef CB_APP_COACH_H
#define CB_APP_COACH_H

#include "app/app.h"
#include "app/scene.h"
#include "core/coach/coach.h"

/* The scene as the coach sees it. evening_min: the evening's usual length; 0: not told. */
struct cb_coach_at cb_coach_at_of(const struct cb_scene *scene, const struct cb_taught *taught,
                                  double evening_min);

/* What is said now, the most useful first; their number. Texts live in the arena. */
size_t cb_coach_lines(const struct cb_app *app, const struct cb_scene *scene,
                      struct cb_arena *arena, struct cb_coach_line lines[CB_COACH_LINES]);

#endif
