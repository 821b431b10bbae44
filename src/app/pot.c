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

void cb_pot_answer(struct cb_app *app, bool forget)
{
    if (!cb_app_may_write(app)) {
        return;
    }
    struct cb_event_make make;
    const struct cb_event *events[2];
    cb_event_begin(&make, &app->frame, CB_EVENT_ANSWERED, NULL, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_QUESTION, CB_QUESTION_FORGET);
    cb_event_add_text(&make, CB_FIELD_VALUE, forget ? "yes" : "no");
    events[0] = cb_event_take(&make);
    if (forget) {
        cb_event_begin(&make, &app->frame, CB_EVENT_EVIDENCE_FORGOTTEN, NULL, &app->session.now);
        events[1] = cb_event_take(&make);
    }
    cb_app_store(app, events, forget ? 2 : 1);
    if (forget) {
        cb_app_flash(app, "older answers forgotten; %s takes it back",
                     cb_app_key(app, CB_ACTION_UNDO));
    } else {
        cb_app_flash(app, "older answers are kept");
    }
}
