/* SPDX-License-Identifier: MIT */
/* What is said when an evening ends: at most one of the findings. */
#ifndef CB_APP_FAREWELL_H
#define CB_APP_FAREWELL_H

#include "app/app.h"

/* Of an evening in which a coat went on; another one each day where there are several. Plain text
 * without a line's end, made harmless, in the arena; NULL: nothing is to say. */
const char *cb_app_farewell(const struct cb_app *app, struct cb_arena *arena);

#endif
