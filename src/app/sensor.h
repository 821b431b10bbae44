/* SPDX-License-Identifier: MIT */
/*
 * The air as a sensor tells it. It is written into the log when it has moved enough to matter, and
 * not oftener than every few minutes. What was typed wins over it until the session in which that
 * was typed is closed, another follows where it never was, or the painter gives the room back to
 * it.
 */
#ifndef CB_APP_SENSOR_H
#define CB_APP_SENSOR_H

#include "app/app.h"
#include "app/scene.h"
#include "app/session.h"

#define CB_SENSOR_WORD "sensor" /* typed for the room, gives it back */
/* How often one is asked, in ms: a room does not change faster, and a battery lasts (own
 * judgement). */
#define CB_SENSOR_ASK_MS CB_MS_PER_MIN

struct cb_sensor_watch {
    bool used;   /* one was asked */
    bool missed; /* the last question had no answer that can be */
    int64_t
        heard_ms; /* when it last told of an air that can be; CB_TIME_NONE: not yet. Bench time */
    struct cb_climate heard;
    int64_t given_ms; /* what was typed until then counts no more; CB_TIME_NONE */
};

/* What the answer says of the room; air that it does not name stays as climate has it. CB_USAGE,
 * and a line that ends with what would be right: it is none, or no bench has such an air. Bare
 * numbers are Celsius: it is no painter, whose unit is set. */
enum cb_status cb_sensor_parse(const char *line, struct cb_climate *climate, struct cb_err *err);
/* What it answers, as a painter would type it; NULL: nothing. An air that no bench has is no
 * answer. */
void cb_sensor_hear(struct cb_app *app, const char *line);
/* False: there is none. */
bool cb_sensor_give_back(struct cb_app *app);
/* The room is typed anew. */
void cb_sensor_typed(struct cb_app *app);
/* Is the air that counts its own, and has it told so lately? */
bool cb_sensor_tells(const struct cb_app *app);
/* A line that it is silent, where its word would count; NULL: it is not. */
char *cb_sensor_silent(const struct cb_app *app, const struct cb_scene *scene,
                       struct cb_arena *arena);
/* What stands behind the air in a view's top line: " sensor", with a ? while that is silent, "?" of
 * what is assumed, "". */
const char *cb_sensor_mark(const struct cb_app *app, const struct cb_scene *scene);

void cb_sensor_init(struct cb_app *app);

#endif
