/* SPDX-License-Identifier: MIT */
/* What the window's title says while somebody looks elsewhere. */
#ifndef CB_APP_CAPTION_H
#define CB_APP_CAPTION_H

#include "app/app.h"

/* "dry 20:58: Tarred rope on 1 - coatbell", "rings 20:58: ..." where it rings for each film, and
 * "coatbell" where nothing is to be dry; in the arena. It says no time that runs, so that it
 * changes with what happens alone. */
char *cb_app_caption(const struct cb_app *app, struct cb_arena *arena);

#endif
