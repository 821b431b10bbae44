/* SPDX-License-Identifier: MIT */
/* What others write while the bench is open: it is told, and the hand of who sits here stays where
 * it was. */
#include <string.h>

#include "base/utf8.h"
#include "view/app_state.h"

#define NAME_COLUMNS 40 /* of a unit in the one line; own judgement */

/* The row of the chooser by what it means: a list that grows must not change what ENTER does. */
struct cb_app_choice cb_app_hold_choice(const struct cb_app *app)
{
    const int units = (int)cb_app_open_units(app);
    if (app->choice >= units) {
        return (struct cb_app_choice){NULL, app->choice - units};
    }
    const size_t row = cb_app_open_unit(app, (size_t)app->choice);
    return (struct cb_app_choice){cb_bench_unit(app->bench, row)->id, 0};
}

void cb_app_find_choice(struct cb_app *app, const struct cb_app_choice *held)
{
    const size_t units = cb_app_open_units(app);
    if (!held->unit) {
        app->choice = (int)units + held->recipe;
        return;
    }
    for (size_t row = 0; row < units; row++) {
        const size_t unit = cb_app_open_unit(app, row);
        if (strcmp(cb_bench_unit(app->bench, unit)->id, held->unit) == 0) {
            app->choice = (int)row;
            return;
        }
    }
}

void cb_app_tell_begun(struct cb_app *app, const struct cb_event *const *events, size_t count)
{
    const struct cb_unit *begun = NULL;
    size_t more = 0;
    for (size_t i = 0; i < count; i++) {
        if (events[i]->kind != CB_EVENT_UNIT_BEGUN) {
            continue;
        }
        const int at = cb_bench_find_unit(app->bench, events[i]->unit);
        const struct cb_unit *unit = at < 0 ? NULL : cb_bench_unit(app->bench, (size_t)at);
        if (unit && !unit->finished && unit != cb_app_unit(app)) {
            more += begun != NULL;
            begun = unit;
        }
    }
    if (!begun) {
        return;
    }
    char key[16];
    const char *name = cb_utf8_clean(&app->frame, begun->name, NAME_COLUMNS);
    if (more > 0) {
        name = cb_arena_printf(&app->frame, "%s and %zu more", name, more);
    }
    const char *opens = cb_keymap_name(&app->keymap, CB_ACTION_OPEN, key);
    if (app->writer && opens[0]) {
        cb_app_flash(app, "begun elsewhere: %s, %s opens %s", name, opens,
                     more > 0 ? "them" : "it");
    } else {
        cb_app_flash(app, "begun elsewhere: %s", name);
    }
}
