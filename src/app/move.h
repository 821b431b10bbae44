/* SPDX-License-Identifier: MIT */
/* A coat that was marked on another figure than it is on. */
#ifndef CB_APP_MOVE_H
#define CB_APP_MOVE_H

#include "app/app.h"

struct cb_move {
    const char *unit, *coat_id; /* of the coat that is to be moved, in the app's arena */
};

/* Asks to which figure the coat marked > is to go. */
void cb_move_begin(struct cb_app *app);
bool cb_move_key(struct cb_app *app, uint32_t key);
/* "Oilskin green, coat 1, is on 3"; in the arena. */
char *cb_move_line(const struct cb_app *app, struct cb_arena *arena);

#endif
