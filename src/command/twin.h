/* SPDX-License-Identifier: MIT */
/* The screens as plain text, for a braille line, a voice or a pipe: the same views, drawn into a
 * grid of which nothing has to be cut. */
#ifndef CB_COMMAND_TWIN_H
#define CB_COMMAND_TWIN_H

#include "app/app.h"
#include "base/str.h"
#include "command/log_read.h"

#define CB_TWIN_ROWS 400 /* of that grid: more than any view fills, but for a review of years */

/* The view that the app shows, which has that many rows; no line is blank twice. */
void cb_twin_view(const struct cb_app *app, struct cb_str *out);
/* Every screen of the log as the bench would show it now, that wide. Takes what was taught. */
enum cb_status cb_twin_all(struct cb_log_read *log, const struct cb_moment *now, int columns,
                           struct cb_str *out, struct cb_err *err);

#endif
