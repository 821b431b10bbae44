/* SPDX-License-Identifier: MIT */
/*
 * The app in its parts. Each is written by the functions of its own header alone. What matters of
 * them follows from the log; the rest may be lost in a crash without harm.
 */
#ifndef CB_APP_STATE_H
#define CB_APP_STATE_H

#include "app/app.h"
#include "app/ask.h"
#include "app/changes.h"
#include "app/coach.h"
#include "app/edit.h"
#include "app/entry.h"
#include "app/form.h"
#include "app/guide.h"
#include "app/look.h"
#include "app/lines.h"
#include "app/move.h"
#include "app/hindsight.h"
#include "app/nav.h"
#include "app/offer.h"
#include "app/outlook.h"
#include "app/ping.h"
#include "app/pot.h"
#include "app/road.h"
#include "app/same.h"
#include "app/sensor.h"
#include "app/session.h"
#include "app/start.h"
#include "app/thanks.h"
#include "base/vec.h"

#define CB_APP_LINE_MS    10000               /* the last press stays that long */
#define CB_APP_SECONDS_MS (2 * CB_MS_PER_MIN) /* below it the countdown shows seconds */

struct cb_app {
    struct cb_session session;
    struct cb_look look;
    struct cb_nav nav;
    struct cb_offer offer;
    struct cb_roads roads;
    struct cb_ask ask;
    struct cb_pings pings;
    struct cb_coach coach;
    struct cb_thanks thanks;
    struct cb_guide guide;
    struct cb_start start;
    struct cb_form form;
    struct cb_pot_join join;
    struct cb_move move;
    struct cb_same_goal goal;
    struct cb_changes changes;
    struct cb_edit edit;
    struct cb_entry entry;
    struct cb_sensor_watch sensor;
    struct cb_hindsight hindsight;
    struct cb_outlook outlook;
    CB_VEC(struct cb_effect) effects;
    struct cb_arena arena; /* as long as the app */
    struct cb_arena frame; /* until the next step */
};

struct cb_effect *cb_app_effect(struct cb_app *app, enum cb_effect_kind kind);

#endif
