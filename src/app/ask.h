/* SPDX-License-Identifier: MIT */
/* What asks before it acts is sure when it is the same key twice. */
#ifndef CB_APP_ASK_H
#define CB_APP_ASK_H

#include "app/app.h"

struct cb_ask {
    enum cb_action asked, sure; /* asked about by this key, by the last one */
    int count;                  /* typed before the key that was asked about; 0: none */
    bool whole_unit;            /* the question was whether a unit is to be begun no more */
    bool quit;                  /* asked once to quit with presses unsaved */
};

/* A key: what the last one asked is answered by it, if it is that key. */
void cb_ask_key(struct cb_app *app);
/* Another line has taken the place of what was asked, which nobody sees any more. */
void cb_ask_withdraw(struct cb_app *app);
/* An action called by its name is meant. */
void cb_ask_mean(struct cb_app *app, enum cb_action action);
/* Was it asked about by the last key? whole_unit: and about the unit itself? */
bool cb_ask_is_sure(const struct cb_app *app, enum cb_action action, bool whole_unit);
/* By the number typed, if any: the key alone, or ENTER, then stands for both. */
void cb_ask_about(struct cb_app *app, enum cb_action action, bool whole_unit);
/* With presses unsaved: false once, true from then on, until all is saved. */
bool cb_ask_quit(struct cb_app *app);
void cb_ask_saved(struct cb_app *app);

void cb_ask_init(struct cb_app *app);

#endif
