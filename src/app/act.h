/* SPDX-License-Identifier: MIT */
/* What the actions on units, films and figures do: events, as one press each. */
#ifndef CB_APP_ACT_H
#define CB_APP_ACT_H

#include "app/app.h"

void cb_app_act(struct cb_app *app, enum cb_action action);

#endif
