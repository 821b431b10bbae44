/* SPDX-License-Identifier: MIT */
#include "app/ask.h"

#include "app/state.h"

void cb_ask_key(struct cb_app *app)
{
    app->ask.sure = app->ask.asked;
    app->ask.asked = CB_ACTION_NONE;
}

void cb_ask_withdraw(struct cb_app *app)
{
    app->ask.asked = CB_ACTION_NONE;
}

void cb_ask_mean(struct cb_app *app, enum cb_action action)
{
    app->ask.sure = action;
    app->ask.count = 0;
    app->ask.whole_unit = true;
}

bool cb_ask_is_sure(const struct cb_app *app, enum cb_action action, bool whole_unit)
{
    return app->ask.sure == action && (app->ask.whole_unit || !whole_unit);
}

void cb_ask_about(struct cb_app *app, enum cb_action action, bool whole_unit)
{
    app->ask.asked = action;
    app->ask.count = app->nav.count;
    app->ask.whole_unit = whole_unit;
}

bool cb_ask_quit(struct cb_app *app)
{
    bool asked = app->ask.quit;
    app->ask.quit = true;
    return asked;
}

void cb_ask_saved(struct cb_app *app)
{
    app->ask.quit = false;
}

void cb_ask_init(struct cb_app *app)
{
    app->ask = (struct cb_ask){.asked = CB_ACTION_NONE, .sure = CB_ACTION_NONE};
}
