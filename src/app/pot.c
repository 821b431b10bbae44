/* SPDX-License-Identifier: MIT */
#include "app/pot.h"

#include "app/state.h"

static void tell(struct cb_app *app, enum cb_event_kind kind, const char *paint, const char *said)
{
    if (!cb_app_may_write(app)) {
        return;
    }
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, kind, NULL, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_PAINT, paint);
    cb_app_store_one(app, &make);
    cb_app_flash(app, "%s: %s; %s takes it back", paint, said, cb_app_key(app, CB_ACTION_UNDO));
}

void cb_pot_forget(struct cb_app *app, const char *paint)
{
    tell(app, CB_EVENT_EVIDENCE_FORGOTTEN, paint, "what was seen is forgotten");
}

void cb_pot_new_bottle(struct cb_app *app, const char *paint)
{
    tell(app, CB_EVENT_BOTTLE_NEW, paint, "a new bottle");
}
