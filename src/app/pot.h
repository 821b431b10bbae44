/* SPDX-License-Identifier: MIT */
/* What is told of a pot by hand: a new bottle, and that what was seen holds no more. */
#ifndef CB_APP_POT_H
#define CB_APP_POT_H

#include "app/app.h"

/* Each one press, said with the key that takes it back; nothing where this bench may not write. */
void cb_pot_forget(struct cb_app *app, const char *paint);
void cb_pot_new_bottle(struct cb_app *app, const char *paint);

#endif
