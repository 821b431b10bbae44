/* SPDX-License-Identifier: MIT */
/* What is to be seen: the size of the screen, the lines said, and the scene, made once a step. */
#ifndef CB_APP_LOOK_H
#define CB_APP_LOOK_H

#include "app/app.h"
#include "app/scene.h"
#include "app/session.h"
#include "core/finding/finding.h"
#include "core/plan/suggest.h"
#include "core/review/review.h"

struct cb_look_kept; /* what was worked out of the state, until that moves on */
struct cb_look {
    int rows, columns;
    char flash[CB_APP_TEXT_MAX];  /* answer to the last key, until the next one */
    uint64_t flashes;             /* how many there were */
    char banner[CB_APP_TEXT_MAX]; /* a ping where no pop-up can be had, until a key */
    char notice[CB_APP_TEXT_MAX]; /* what failed outside, in the status line until a key */
    uint64_t generation;          /* of the screen */
    struct cb_look_kept *kept;
};

const struct cb_look *cb_app_look(const struct cb_app *app);
/* One line that answers a key; cleared by the next. */
void cb_app_flash(struct cb_app *app, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void cb_app_clear_flash(struct cb_app *app);
void cb_app_banner(struct cb_app *app, const char *text); /* "" takes it away */
void cb_app_notice(struct cb_app *app, const char *text); /* the same */
void cb_app_size(struct cb_app *app, int rows, int columns);
/* The screen is another now. */
void cb_app_changed(struct cb_app *app);

/* What there is to see now, at the figure and stage gone to; until the next step. */
const struct cb_scene *cb_app_scene(const struct cb_app *app);
/* The review of that unit of the bench as of the minute; until the next step. */
const struct cb_review *cb_app_review(const struct cb_app *app, size_t unit);
/* What would have saved time, of that review, which is the app's; until the next step. */
const struct cb_suggestions *cb_app_suggestions(const struct cb_app *app,
                                                const struct cb_review *review);
/* What the last finished units say of their painter; until the next event. */
const struct cb_findings *cb_app_findings(const struct cb_app *app);
/* Time has gone on. */
void cb_look_step(struct cb_app *app);
/* The log, what was learned or the place gone to is another: nothing worked out holds. */
void cb_look_forget(struct cb_app *app);

void cb_look_init(struct cb_app *app, int rows, int columns);
void cb_look_fini(struct cb_app *app);

#endif
