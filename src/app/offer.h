/* SPDX-License-Identifier: MIT */
/*
 * The offer: the coat that the bench names for coat-on. Once named as ready it stays named,
 * whatever else becomes ready, until a key that moves or writes, or until it can't be: then a line
 * says why.
 */
#ifndef CB_APP_OFFER_H
#define CB_APP_OFFER_H

#include "app/app.h"
#include "app/scene.h"

struct cb_offer {
    struct cb_scene_at named;           /* its figure, stage and coat; coat 0: none is named */
    struct cb_scene_at said, said_then; /* named as a key came, and what was said to come next */
    struct cb_scene_at last, then;      /* the same of a key that wrote; coat 0: nothing was */
    bool waits;   /* nothing is to go on now, by the plan or because all is wet */
    bool pending; /* a key has written: after it the choice is free */
};

/* At the end of a step: what the scene names as ready is named from here on. */
void cb_offer_settle(struct cb_app *app);
/* The choice is free again: who sits here has moved. */
void cb_offer_free(struct cb_app *app);
/* A key has come, and is looked at next. */
void cb_offer_key(struct cb_app *app);
/* The same once what a key has written is on disk. coat: a coat that is on. */
void cb_offer_written(struct cb_app *app, bool coat);
void cb_offer_stored(struct cb_app *app);
/* Figures left and right stay in the stage. Stages up and down: those with something ready, in the
 * recipe's order, beyond them those that wait. steps: how far, either way; 0: not at all. */
void cb_offer_move(struct cb_app *app, int figures, int stages);
/* To the next figure that still wants the stage; where there is none the choice is free. */
void cb_offer_next(struct cb_app *app, int figure, int stage);
/* What is ready beside the coat that is named, one step down or, where there is none, one up. */
struct cb_offer_too {
    int stage, step; /* 0: none; 1: down, -1: up */
    int figures[CB_FIGURES_MAX];
    size_t count;
    int more; /* stages beyond it with something ready */
};
struct cb_offer_too cb_offer_ready_too(const struct cb_app *app, const struct cb_scene *scene);

#endif
