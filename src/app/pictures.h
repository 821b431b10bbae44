/* SPDX-License-Identifier: MIT */
/* Pictures to paint by: the stage's and the recipe's, opened by a key and never otherwise. */
#ifndef CB_APP_PICTURES_H
#define CB_APP_PICTURES_H

#include "app/app.h"
#include "app/scene.h"

/* Of the stage at hand, then of the recipe. */
size_t cb_pictures_count(const struct cb_scene *scene);
/* "picture: v", "3 pictures: v"; "": there is none. */
char *cb_pictures_line(const struct cb_app *app, const struct cb_scene *scene,
                       struct cb_arena *arena);
/* Asks for the one by the number typed, or says why not. */
void cb_pictures_open(struct cb_app *app);

#endif
