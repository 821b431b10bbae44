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

/* The pop-up for the last figure of a row: somebody who has put the brush down is to look back. It
 * comes halfway through the time that its cue has, and goes with it. */
struct cb_coach {
    uint32_t popup;      /* its id; 0: none stands */
    const char *said_of; /* the press it was about, in the app's arena; NULL: none yet */
};
void cb_coach_due(struct cb_app *app);
/* When it comes, or goes, or what is said of a coat just put on ends; CB_TIME_NONE. Bench time. */
int64_t cb_coach_next(const struct cb_app *app);
/* The first cue on the screen is muted. */
void cb_coach_mute(struct cb_app *app);
/* The scene's stage as its recipe speaks of it, where it fits in one line; NULL. */
const char *cb_coach_say(const struct cb_scene *scene);

#endif
