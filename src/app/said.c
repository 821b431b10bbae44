/* SPDX-License-Identifier: MIT */
/* That nothing is wrong, or what is; and what the last key did. */
#include "app/lines.h"

#include <stdio.h>
#include <string.h>

#include "app/state.h"
#include "base/utf8.h"

#define OPENING_MS   (10 * CB_MS_PER_MIN)
#define LONG_FILM_MS (60 * CB_MS_PER_MIN)

const char *cb_lines_bell(enum cb_bell_state state)
{
    switch (state) {
    case CB_BELL_NONE:
        return "bell rests";
    case CB_BELL_STARTING:
        return "bell starts";
    case CB_BELL_OK:
        return "bell ready";
    case CB_BELL_NO_BUS:
        return "no desktop bus, it beeps here";
    case CB_BELL_NO_DAEMON:
        return "no notifications, it beeps here";
    case CB_BELL_SILENT:
        return "bell silent, it beeps here";
    case CB_BELL_OFF:
        return "bell off, it beeps here";
    }
    return "";
}

/* An old climate is asked about at an opening, or where a film of over an hour depends on it. */
static bool asks_climate(const struct cb_scene *scene, const struct cb_bench_facts *facts)
{
    if (facts->session_open && scene->now_ms - facts->session_opened_ms < OPENING_MS) {
        return true;
    }
    for (size_t i = 0; i < scene->film_count; i++) {
        const struct cb_scene_film *row = &scene->films[i];
        if (!row->forecast.dry && row->forecast.due_ms != CB_TIME_NONE &&
            row->forecast.due_ms - row->film->on_ms > LONG_FILM_MS) {
            return true;
        }
    }
    return false;
}

/* All is not well while a press is not on disk: the top row says so. */
static const char *well(const struct cb_app *app)
{
    return app->session.unsaved ? "" : "all well \u00B7 ";
}

/* Two times, and which of them to go by. */
static char *nothing_ready(const struct cb_app *app, const struct cb_scene *scene,
                           struct cb_arena *arena)
{
    char clock[8], from[8];
    const struct cb_scene_film *row = scene->focus;
    cb_lines_due(app, scene->ready_by ? scene->ready_by->drying : NULL, scene->ready_ms, clock);
    if (app->pings.bell == CB_BELL_NO_BUS || app->pings.bell == CB_BELL_NO_DAEMON ||
        app->pings.bell == CB_BELL_SILENT) { /* who waits must know that it will only beep */
        return cb_arena_printf(
            arena, app->look.columns >= 76 ? "nothing is ready until%s; %s" : "until%s: %s", clock,
            cb_lines_bell(app->pings.bell));
    }
    char *text = cb_arena_printf(arena, "%snothing is ready until%s", well(app), clock);
    if (!row || row->forecast.due_ms != scene->ready_ms || row->forecast.from == CB_DUE_WAIT ||
        row->forecast.maybe_ms == CB_TIME_NONE || row->forecast.maybe_ms <= scene->now_ms) {
        return text;
    }
    cb_lines_due(app, row->film->drying, row->forecast.maybe_ms, from);
    return app->look.columns >= 76
               ? cb_arena_printf(arena, "%s (rings); could be dry from%s", text, from)
               : cb_arena_printf(arena, "%srings%s; could be dry from%s", well(app), clock, from);
}

/* Between two boots the wall clock went back or leapt: how old the film is nobody knows but who
 * touches it. */
static const struct cb_film *doubtful_film(const struct cb_scene *scene)
{
    for (size_t i = 0; i < scene->film_count; i++) {
        const struct cb_film *film = scene->films[i].film;
        if (film->suspect && film->check == CB_CHECK_NONE && scene->films[i].unit == scene->unit) {
            return film;
        }
    }
    return NULL;
}

char *cb_lines_status(const struct cb_app *app, const struct cb_scene *scene,
                      struct cb_arena *arena, enum cb_role *role)
{
    struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    char clock[6];
    *role = CB_ROLE_WARN;
    if (!app->session.writer) {
        return cb_arena_text(arena, cb_app_why_not(app));
    }
    if (facts.paused) {
        cb_lines_clock(app, facts.pause_begun_ms, clock);
        return cb_arena_printf(arena, "paused since %s; %s goes on", clock,
                               cb_app_key(app, CB_ACTION_PAUSE));
    }
    if (scene->gates.count > 0 && scene->gates.items[0].level != CB_GATE_NOTE) {
        *role = scene->gates.items[0].level == CB_GATE_RED ? CB_ROLE_ALARM : CB_ROLE_WARN;
        return cb_arena_text(arena, scene->gates.items[0].text);
    }
    if (scene->held_count > 0) {
        *role = CB_ROLE_HELD;
        return cb_arena_printf(arena, "\u2016 %zu film%s held: too cold or too damp to dry",
                               scene->held_count, scene->held_count == 1 ? "" : "s");
    }
    const struct cb_film *doubtful = doubtful_film(scene);
    if (doubtful) {
        return cb_arena_printf(
            arena,
            app->look.columns >= 60 ? "a clock was set: touch figure %d, then %s dry or %s wet"
                                    : "a clock was set: touch figure %d, then %s or %s",
            doubtful->figure, cb_app_key(app, CB_ACTION_DRY), cb_app_key(app, CB_ACTION_WET));
    }
    if (scene->stale && asks_climate(scene, &facts)) {
        char span[32];
        cb_words_since(scene->now_ms - scene->reading.at_ms, span);
        return cb_arena_printf(arena, "the climate is %s old; %s sets it", span,
                               cb_app_key(app, CB_ACTION_CLIMATE));
    }
    if (app->session.forget != CB_ASK_NOTHING) {
        return cb_arena_printf(arena, "pings were %s lately: %s, forget what was learned?",
                               app->session.forget == CB_ASK_EARLY ? "early" : "late",
                               cb_app_key(app, CB_ACTION_VIEW_POTS));
    }
    if (scene->unit && !scene->all_done && scene->ready_ms != CB_TIME_NONE) {
        *role = CB_ROLE_WET;
        return nothing_ready(app, scene, arena);
    }
    *role = CB_ROLE_DIM;
    const char *more = scene->assumed ? cb_arena_printf(arena, " \u00B7 climate assumed, %s",
                                                        cb_app_key(app, CB_ACTION_CLIMATE))
                       : app->session.bells[0]
                           ? cb_arena_printf(arena, " \u00B7 %s", app->session.bells)
                           : "";
    return cb_arena_printf(arena, "%s%s%s", well(app), cb_lines_bell(app->pings.bell), more);
}

/* The moment and the words of the last press that is in force. */
static bool last_press(const struct cb_app *app, struct cb_arena *arena, const char **press,
                       char **what, const struct cb_event **event)
{
    *press = cb_bench_undoable(app->session.bench, arena, what);
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    for (size_t i = count; *press && i-- > 0;) {
        if (events[i]->press && strcmp(events[i]->press, *press) == 0) {
            *event = events[i];
            return true;
        }
    }
    return false;
}

static char *press_remark(const struct cb_app *app, const char *press, struct cb_arena *arena)
{
    const struct cb_unit *unit = cb_app_unit(app);
    const struct cb_film *below = NULL;
    double chance = 1;
    for (size_t i = unit ? unit->film_count : 0; i-- > 0;) {
        const struct cb_film *film = &unit->films[i], *under = NULL;
        if (film->on_press && strcmp(film->on_press, press) == 0 && film->stage > 0) {
            double own =
                cb_scene_chance_below(app->session.bench, app->session.learn, unit, film, &under);
            below = own < chance ? under : below;
            chance = own < chance ? own : chance;
        }
    }
    if (!below) {
        return NULL;
    }
    if (!cb_words_painted(unit, below->stage)) {
        return cb_arena_printf(arena, "before %s was done", cb_words_paint(unit, below->stage));
    }
    char text[8];
    cb_words_chance(chance, text);
    return cb_arena_printf(arena, "thought still wet: %s, chance dry %s",
                           cb_words_paint(unit, below->stage), text);
}

/* When the coats of a press went on, and the pause that it ended. */
static char *press_times(const struct cb_app *app, const char *press, struct cb_arena *arena)
{
    int64_t first_ms = INT64_MAX, last_ms = INT64_MIN, pause_ms = CB_TIME_NONE;
    bool coats = false;
    char from[6], to[6], *pause = cb_arena_text(arena, "");
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    for (size_t i = 0; i < count; i++) {
        const struct cb_event *event = events[i];
        if (event->kind == CB_EVENT_PAUSE_BEGUN && cb_bench_in_force(app->session.bench, i)) {
            pause_ms = event->at_ms;
        }
        if (!event->press || strcmp(event->press, press) != 0) {
            continue;
        }
        if (event->kind == CB_EVENT_PAUSE_ENDED && pause_ms != CB_TIME_NONE) {
            cb_time_clock(pause_ms, &app->session.zone, from);
            cb_time_clock(event->at_ms, &app->session.zone, to);
            pause = cb_arena_printf(arena, ", pause over (%s to %s)", from, to);
        }
        int64_t on_ms = cb_event_int(event, CB_FIELD_ON_AT, event->at_ms);
        coats = coats || event->kind == CB_EVENT_COAT_ON;
        if (event->kind == CB_EVENT_COAT_ON || first_ms == INT64_MAX) {
            first_ms = on_ms < first_ms ? on_ms : first_ms;
            last_ms = on_ms > last_ms ? on_ms : last_ms;
        }
    }
    cb_time_clock(first_ms, &app->session.zone, from);
    cb_time_clock(last_ms, &app->session.zone, to);
    return strcmp(from, to) == 0 ? cb_arena_printf(arena, " at %s%s", to, coats ? pause : "")
                                 : cb_arena_printf(arena, ", %s to %s%s", from, to, pause);
}

char *cb_lines_message(const struct cb_app *app, const struct cb_scene *scene,
                       struct cb_arena *arena, enum cb_role *role)
{
    (void)scene;
    const char *press = NULL;
    char *what = NULL;
    const struct cb_event *event = NULL;
    *role = CB_ROLE_WARN;
    if (app->look.flash[0]) {
        return cb_arena_text(arena, app->look.flash);
    }
    if (app->look.banner[0]) {
        *role = CB_ROLE_BANNER;
        return cb_arena_text(arena, app->look.banner);
    }
    *role = CB_ROLE_PLAIN;
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    if (cb_bench_redoable(app->session.bench, arena, &what) && count > 0) {
        for (size_t i = count; i-- > 0;) {
            if (events[i]->kind != CB_EVENT_UNDONE) {
                continue;
            }
            if (app->session.now.wall_ms - events[i]->at_ms <= CB_APP_LINE_MS) {
                return cb_arena_printf(arena, "taken back: %s; %s brings it again",
                                       what ? what : "the last press",
                                       cb_app_key(app, CB_ACTION_REDO));
            }
            break;
        }
    }
    if (last_press(app, arena, &press, &what, &event) &&
        app->session.now.wall_ms - event->at_ms <= CB_APP_LINE_MS &&
        event->kind != CB_EVENT_UNIT_BEGUN && what) {
        const char *undo = cb_app_key(app, CB_ACTION_UNDO);
        char *remark = press_remark(app, press, arena);
        char *dried = cb_thanks_dried(app, press, arena);
        if (remark) {
            *role = CB_ROLE_WARN;
            return cb_arena_printf(arena, "%s, %s%s; %s takes it back", what, remark, dried, undo);
        }
        char *done = cb_arena_printf(arena, "%s%s%s", what, press_times(app, press, arena), dried);
        const int columns = app->look.columns - 2; /* the key line, too, says how to take it back */
        if (dried[0] && cb_utf8_text_width(done) > columns) {
            return cb_arena_printf(arena, "%s%s", what, dried);
        }
        char *whole = cb_arena_printf(arena, "%s, %s takes it back", done, undo);
        return dried[0] && cb_utf8_text_width(whole) > columns ? done : whole;
    }
    if (app->session.pilot_speed > 0) {
        char span[32];
        cb_words_span((int64_t)(app->session.pilot_speed * 1000), span);
        bool plain = app->session.pilot_speed > 59 && app->session.pilot_speed < 61;
        return cb_arena_printf(arena,
                               "demo: one second is %s, it paints by itself; %s and the brush "
                               "is yours",
                               plain ? "a minute" : span, cb_app_key(app, CB_ACTION_COAT_ON));
    }
    return cb_arena_text(arena, "");
}
