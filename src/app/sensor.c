/* SPDX-License-Identifier: MIT */
#include "app/sensor.h"

#include <math.h>

#include "app/state.h"
#include "base/str.h"
#include "base/utf8.h"

/* Colder or warmer than any room, shed or garage in which somebody paints: the sensor is broken, or
 * lies in the sun (own judgement). */
#define LEAST_C (-10.0)
#define MOST_C  50.0
/* What a film feels: half a degree is some 3 % of its time, as two percent of humidity are at 60 %
 * (own judgement). */
#define STEP_C   0.5
#define STEP_PCT 2.0
/* Not oftener, so that one that flickers does not fill the log; and an air that does not move is
 * told again, so that nobody takes it for old (both own judgement). */
#define OFTEN_MS (5 * CB_MS_PER_MIN)
#define AGAIN_MS (60 * CB_MS_PER_MIN)
/* So long without an answer it is silent, if one that was asked for did not come: a machine that
 * slept asked for none. */
#define SILENT_MS (10 * CB_MS_PER_MIN)

static struct cb_reading reading_now(const struct cb_app *app)
{
    return cb_bench_climate_at(app->session.bench, 0, cb_app_bench_now(app));
}

/* The session of this machine in which that was typed is over: closed, or followed by another where
 * its bench was killed. The first that opens after it may be the one for which `begin` took it. */
static bool is_over(const struct cb_session *session, int64_t at_ms)
{
    size_t count;
    int opened = 0;
    const struct cb_event *const *events = cb_bench_events(session->bench, &count);
    for (size_t i = count; i-- > 0 && cb_bench_event_ms(session->bench, i) > at_ms;) {
        const bool own = !session->machine || cb_str_same(events[i]->machine, session->machine);
        if (own && events[i]->kind == CB_EVENT_SESSION_CLOSED) {
            return true;
        }
        opened += own && events[i]->kind == CB_EVENT_SESSION_OPENED;
    }
    return opened > 1;
}

static bool typed_holds(const struct cb_app *app, const struct cb_reading *reading)
{
    const int64_t given_ms = app->sensor.given_ms;
    return reading->from == CB_FROM_TYPED &&
           (given_ms == CB_TIME_NONE || reading->at_ms > given_ms) &&
           !is_over(&app->session, reading->at_ms);
}

static bool is_silent(const struct cb_app *app)
{
    const int64_t heard_ms = app->sensor.heard_ms;
    return heard_ms == CB_TIME_NONE ||
           (app->sensor.missed && cb_app_bench_now(app) - heard_ms > SILENT_MS);
}

static bool is_news(const struct cb_app *app, const struct cb_reading *reading)
{
    const struct cb_climate *old = &reading->climate, *new = &app->sensor.heard;
    const int64_t age_ms = cb_app_bench_now(app) - reading->at_ms;
    if (reading->from != CB_FROM_SENSOR) {
        return !typed_holds(app, reading);
    }
    const bool moved = fabs(new->temp_c - old->temp_c) >= STEP_C ||
                       fabs(new->rh_pct - old->rh_pct) >= STEP_PCT || new->air != old->air;
    return (moved && age_ms >= OFTEN_MS) || age_ms >= AGAIN_MS;
}

static void write_down(struct cb_app *app)
{
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_CLIMATE_SET, NULL, &app->session.now);
    cb_event_add_number(&make, CB_FIELD_TEMP_C, app->sensor.heard.temp_c);
    cb_event_add_number(&make, CB_FIELD_RH_PCT, app->sensor.heard.rh_pct);
    cb_event_add_text(&make, CB_FIELD_AIR, cb_air_name(app->sensor.heard.air));
    cb_event_add_text(&make, CB_FIELD_FROM, "sensor");
    cb_app_store_one(app, &make);
}

enum cb_status cb_sensor_parse(const char *line, struct cb_climate *climate, struct cb_err *err)
{
    struct cb_climate heard = *climate;
    const enum cb_status status = cb_climate_parse(line, false, &heard, err);
    if (status != CB_OK) {
        return status;
    }
    if (heard.temp_c < LEAST_C || heard.temp_c > MOST_C) {
        return cb_err_set(err, CB_USAGE, "too %s for a bench: %g to %g C counts",
                          heard.temp_c < LEAST_C ? "cold" : "hot", LEAST_C, MOST_C);
    }
    *climate = heard;
    return CB_OK;
}

void cb_sensor_hear(struct cb_app *app, const char *line)
{
    struct cb_sensor_watch *watch = &app->sensor;
    const struct cb_session *session = &app->session;
    watch->used = true;
    watch->missed = true;
    if (!line || !session->loaded || !session->writer || session->closing) {
        return;
    }
    const struct cb_reading reading = reading_now(app);
    struct cb_climate heard = reading.climate; /* it feels no moving air */
    if (cb_sensor_parse(line, &heard, NULL) != CB_OK) {
        return;
    }
    watch->heard = heard;
    watch->missed = false;
    watch->heard_ms = cb_app_bench_now(app);
    if (is_news(app, &reading)) {
        write_down(app);
    }
}

bool cb_sensor_give_back(struct cb_app *app)
{
    struct cb_sensor_watch *watch = &app->sensor;
    if (!watch->used) {
        return false;
    }
    watch->given_ms = cb_app_bench_now(app);
    if (is_silent(app)) {
        cb_app_flash(app, "the room is the sensor's again, once it answers");
        return true;
    }
    char climate[48];
    const struct cb_reading reading = reading_now(app);
    cb_words_climate(&watch->heard, app->session.config->fahrenheit, climate);
    cb_app_flash(app, "the room is the sensor's again: %s", climate);
    if (is_news(app, &reading)) {
        write_down(app);
    }
    return true;
}

void cb_sensor_typed(struct cb_app *app)
{
    app->sensor.given_ms = CB_TIME_NONE;
}

bool cb_sensor_tells(const struct cb_app *app)
{
    return app->sensor.used && !is_silent(app) && reading_now(app).from == CB_FROM_SENSOR;
}

char *cb_sensor_silent(const struct cb_app *app, const struct cb_scene *scene,
                       struct cb_arena *arena)
{
    if (!app->sensor.used || !is_silent(app) || typed_holds(app, &scene->reading)) {
        return NULL;
    }
    if (app->sensor.heard_ms == CB_TIME_NONE) {
        return cb_arena_printf(arena, "no word from the sensor; %s tells the room",
                               cb_app_key(app, CB_ACTION_CLIMATE));
    }
    char span[32], climate[48];
    cb_words_since(cb_app_bench_now(app) - app->sensor.heard_ms, span);
    cb_words_climate(&scene->reading.climate, app->session.config->fahrenheit, climate);
    char *brief = cb_arena_printf(arena, "no word from the sensor for %s", span);
    char *whole = cb_arena_printf(arena, "%s; %s still counts", brief, climate);
    return cb_utf8_text_width(whole) <= app->look.columns - 2 ? whole : brief;
}

const char *cb_sensor_mark(const struct cb_app *app, const struct cb_scene *scene)
{
    if (scene->reading.from != CB_FROM_SENSOR) {
        return scene->assumed ? "?" : "";
    }
    return app->sensor.used && is_silent(app) ? " sensor?" : " sensor";
}

void cb_sensor_init(struct cb_app *app)
{
    app->sensor = (struct cb_sensor_watch){.heard_ms = CB_TIME_NONE, .given_ms = CB_TIME_NONE};
}
