/* SPDX-License-Identifier: MIT */
/* The demo paints by itself: one press at its time. */
#ifndef CB_SHELL_PILOT_H
#define CB_SHELL_PILOT_H

#include <stdbool.h>
#include <stdint.h>

#include "base/time.h"
#include "app/app.h"

/* Is a coat to be put on now, as a steady painter would? *again_ms: when to ask again, wall time of
 * that clock; CB_TIME_NONE: there is nothing to wait for. */
bool cb_pilot_press(const struct cb_app *app, const struct cb_moment *now, int64_t *again_ms);

#endif
