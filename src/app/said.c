/* SPDX-License-Identifier: MIT */
/* That nothing is wrong, or what is; and what the last key did. */
#include "app/lines.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/films.h"
#include "app/state.h"
#include "base/utf8.h"

#define OPENING_MS   (10 * CB_MS_PER_MIN)
#define LONG_FILM_MS (60 * CB_MS_PER_MIN)
/* The scrap is offered beside so many coats, and for so long after each (own judgement). */
#define SCRAP_COATS   3
#define SCRAP_MS      CB_MS_PER_MIN
#define PLACE_COLUMNS 16

const char *cb_lines_bell(enum cb_bell_state state)
{
    switch (state) {
    case CB_BELL_NONE:
    case CB_BELL_STARTING:
        return "";
    case CB_BELL_OK:
        return "pop-ups work";
    case CB_BELL_NO_BUS:
        return "no pop-ups on this machine: it beeps";
    case CB_BELL_NO_DAEMON:
        return "nothing shows pop-ups here: it beeps";
    case CB_BELL_SILENT:
        return "pop-ups do not answer: it beeps";
    case CB_BELL_OFF:
        return "pop-ups are off: it beeps";
    }
    return "";
}

/* The room is asked for beside the first coat: at a begin, and at an opening when nobody has told
 * it lately; an old reading also where a film of over an hour depends on it. */
static bool asks_room(const struct cb_scene *scene, const struct cb_bench_facts *facts)
{
    const bool old = scene->assumed || scene->stale;
    if (scene->unit && scene->reading.at_ms < scene->unit->begun_ms &&
        facts->last_mark_ms < scene->unit->begun_ms) {
        return true;
    }
    if (old && facts->session_open &&
        (facts->last_mark_ms < facts->session_opened_ms ||
         scene->now_ms - facts->session_opened_ms < OPENING_MS)) {
        return true;
    }
    for (size_t i = 0; scene->stale && i < scene->film_count; i++) {
        const struct cb_scene_film *row = &scene->films[i];
        if (!row->forecast.dry && row->forecast.due_ms != CB_TIME_NONE &&
            row->forecast.due_ms - row->film->on_ms > LONG_FILM_MS) {
            return true;
        }
    }
    return false;
}

static char *room_question(const struct cb_app *app, const struct cb_scene *scene,
                           struct cb_arena *arena)
{
    char climate[48], span[32];
    const char *key = cb_app_key(app, CB_ACTION_CLIMATE);
    const char *such = cb_climate_such(app->session.config->fahrenheit);
    cb_words_climate(&scene->reading.climate, app->session.config->fahrenheit, climate);
    if (scene->assumed) {
        return cb_arena_printf(arena, "the room? %s, then %s (%s assumed)", key, such, climate);
    }
    cb_words_since(scene->now_ms - scene->reading.at_ms, span);
    char *full =
        cb_arena_printf(arena, "the room? %s, then %s (%s, %s ago)", key, such, climate, span);
    return cb_utf8_text_width(full) <= app->look.columns - 2
               ? full
               : cb_arena_printf(arena, "the room? %s, then %s (%s ago)", key, such, span);
}

/* A stage that is done elsewhere begins, and of the air there nothing was ever told. */
static bool asks_place(const struct cb_app *app, const struct cb_scene *scene)
{
    const char *place = scene->stage && scene->stage_begins ? scene->stage->place : NULL;
    size_t count = 0;
    if (!place || strcmp(place, cb_bench_place_name(app->session.bench, 0)) == 0) {
        return false;
    }
    const int at = cb_scene_place(app->session.bench, place);
    if (at > 0) {
        cb_bench_readings(app->session.bench, at, &count);
    }
    return count == 0;
}

/* Films that lie elsewhere and are not dry; NULL: none. */
static char *elsewhere_line(const struct cb_app *app, const struct cb_scene *scene,
                            struct cb_arena *arena)
{
    int figures[CB_FIGURES_MAX];
    size_t count = 0;
    const char *place = NULL;
    for (int figure = 1; scene->unit && figure <= scene->unit->figures; figure++) {
        bool away = false;
        for (size_t i = 0; i < scene->film_count; i++) {
            const struct cb_scene_film *row = &scene->films[i];
            if (row->unit == scene->unit && row->film->figure == figure && !row->forecast.dry &&
                row->film->place != 0) {
                away = true;
                place = place ? place : cb_bench_place_name(app->session.bench, row->film->place);
            }
        }
        if (away) {
            figures[count++] = figure;
        }
    }
    return count == 0 ? NULL
                      : cb_arena_printf(arena, "%s: %s; %s when brought in",
                                        cb_utf8_clean(arena, place, PLACE_COLUMNS),
                                        cb_words_figures(arena, figures, count),
                                        cb_app_key(app, CB_ACTION_BROUGHT_IN));
}

/* The stroke is to be touched now, and which keys answer. */
static char *touch_scrap(const struct cb_app *app, const struct cb_scene *scene,
                         struct cb_arena *arena)
{
    const char *dry = cb_app_key(app, CB_ACTION_DRY), *wet = cb_app_key(app, CB_ACTION_WET);
    const char *paint = cb_words_film(scene->unit, scene->stroke.film);
    char *whole =
        cb_arena_printf(arena, "touch the scrap, %s: %s dry, %s still wet", paint, dry, wet);
    return cb_utf8_text_width(whole) < app->look.columns - 1
               ? whole
               : cb_arena_printf(arena, "touch the scrap: %s dry, %s still wet", dry, wet);
}

/* For a while after each of the first coats that a log has, while it has no answer and no stroke.
 */
static bool offers_scrap(const struct cb_app *app, const struct cb_scene *scene)
{
    size_t count, coats = 0;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    if (scene->now_ms - cb_bench_facts(app->session.bench).last_mark_ms > SCRAP_MS) {
        return false;
    }
    for (size_t i = 0; i < count && coats <= SCRAP_COATS; i++) {
        if (!cb_bench_in_force(app->session.bench, i)) {
            continue;
        }
        if (events[i]->kind == CB_EVENT_CHECKED || events[i]->kind == CB_EVENT_LIFTED ||
            cb_event_is_stroke(events[i])) {
            return false;
        }
        coats += events[i]->kind == CB_EVENT_COAT_ON && !cb_event_is(events[i], CB_FIELD_BEFORE);
    }
    return coats > 0 && coats <= SCRAP_COATS && cb_films_brush_stage(app, scene) > 0;
}

static char *scrap_offer(const struct cb_app *app, const struct cb_scene *scene,
                         struct cb_arena *arena)
{
    const char *key = cb_app_key(app, CB_ACTION_SCRAP);
    char *whole =
        cb_arena_printf(arena, "%s: a stroke of %s on a scrap, to be touched in place of a figure",
                        key, cb_words_paint(scene->unit, cb_films_brush_stage(app, scene)));
    return cb_utf8_text_width(whole) < app->look.columns - 1
               ? whole
               : cb_arena_printf(arena, "%s: a stroke on a scrap, to be touched", key);
}

/* All is not well while a press is not on disk: the top row says so. */
static const char *well(const struct cb_app *app)
{
    return app->session.unsaved ? "" : "all well";
}

static const char *between(const struct cb_app *app)
{
    return app->session.unsaved ? "" : " \u00B7 ";
}

/* Two times, and which of them to go by. */
static char *nothing_ready(const struct cb_app *app, const struct cb_scene *scene,
                           struct cb_arena *arena)
{
    char clock[CB_DUE_SIZE], from[CB_DUE_SIZE];
    const struct cb_scene_film *row = scene->focus;
    cb_lines_due(app, scene->ready_by ? scene->ready_by->drying : NULL, scene->ready_ms, clock);
    if (!cb_ping_by_terminal(app) &&
        (app->pings.bell == CB_BELL_NO_BUS || app->pings.bell == CB_BELL_NO_DAEMON ||
         app->pings.bell == CB_BELL_SILENT)) { /* who waits must know that it will only beep */
        const char *beeps = cb_lines_bell(app->pings.bell);
        return app->look.columns >= 76
                   ? cb_arena_printf(arena, "nothing is ready until%s; %s", clock, beeps)
                   : cb_arena_text(arena, beeps);
    }
    char *text =
        cb_arena_printf(arena, "%s%snothing is ready until%s", well(app), between(app), clock);
    if (!row || row->forecast.due_ms != scene->ready_ms || row->forecast.from == CB_DUE_WAIT ||
        row->forecast.median_ms == CB_TIME_NONE || row->forecast.median_ms <= scene->now_ms) {
        return text;
    }
    cb_lines_due(app, row->film->drying, row->forecast.median_ms, from);
    return app->look.columns >= 76 ? cb_arena_printf(arena, "%s (rings); usually dry%s", text, from)
                                   : cb_arena_printf(arena, "%s%srings%s; usually dry%s", well(app),
                                                     between(app), clock, from);
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

/* What the message would say of films that lie elsewhere, had it not more to say. NULL: it has not,
 * or there are none. */
static const char *away_unsaid(const struct cb_app *app, const struct cb_scene *scene,
                               struct cb_arena *arena)
{
    enum cb_role role;
    const char *away = elsewhere_line(app, scene, arena);
    return away && strcmp(cb_lines_message(app, scene, arena, &role), away) != 0 ? away : NULL;
}

char *cb_lines_status(const struct cb_app *app, const struct cb_scene *scene,
                      struct cb_arena *arena, enum cb_role *role)
{
    struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    char clock[CB_CLOCK_SIZE];
    *role = CB_ROLE_WARN;
    if (!app->session.writer) {
        return cb_arena_text(arena, cb_app_why_not(app));
    }
    if (app->look.notice[0]) {
        return cb_arena_text(arena, app->look.notice);
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
    if (scene->mind) {
        return cb_arena_printf(arena, "do not let it run: %s is wet near it",
                               cb_words_paint(scene->unit, scene->mind->stage));
    }
    if (scene->held_count > 0) {
        *role = CB_ROLE_HELD;
        return cb_arena_printf(arena, "\u2016 %s (%zu coat%s)", cb_lines_held(app, scene, NULL),
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
    if (scene->touch_ms != CB_TIME_NONE && scene->touch_ms <= scene->now_ms) {
        *role = CB_ROLE_READY;
        return touch_scrap(app, scene, arena);
    }
    char *silent = cb_sensor_silent(app, scene, arena);
    if (silent) {
        return silent;
    }
    if (!cb_sensor_tells(app) && asks_room(scene, &facts)) {
        return room_question(app, scene, arena);
    }
    if (asks_place(app, scene)) {
        const char *place = cb_utf8_clean(arena, scene->stage->place, PLACE_COLUMNS);
        return cb_arena_printf(arena, "the air at %s? %s, then 9 70 at %s", place,
                               cb_app_key(app, CB_ACTION_CLIMATE), place);
    }
    if (scene->unit && !scene->all_done && scene->ready_ms != CB_TIME_NONE) {
        *role = CB_ROLE_WET;
        return nothing_ready(app, scene, arena);
    }
    *role = CB_ROLE_DIM;
    const char *more = app->pings.bell != CB_BELL_NONE && cb_ping_by_terminal(app)
                           ? "the terminal shows pop-ups"
                           : cb_lines_bell(app->pings.bell);
    const char *away = away_unsaid(app, scene, arena);
    if (away) {
        more = away;
    } else if (scene->assumed) {
        more = cb_arena_printf(arena, "room not told, %s tells it",
                               cb_app_key(app, CB_ACTION_CLIMATE));
    } else if (!more[0]) {
        more = app->session.bells;
    }
    return cb_arena_printf(arena, "%s%s%s", well(app), more[0] ? between(app) : "", more);
}

int64_t cb_lines_stay_ms(const struct cb_app *app)
{
    const double line_ms = app->guide.speed > 0 ? CB_GUIDE_OTHER_MS : CB_APP_LINE_MS;
    return llround(line_ms * app->session.speed);
}

/* By the axis on which films age, so that a wall that is set keeps no line for an hour. */
static bool is_recent(const struct cb_app *app, size_t event)
{
    return cb_app_bench_now(app) - cb_bench_event_ms(app->session.bench, event) <=
           cb_lines_stay_ms(app);
}

/* The moment and the words of the last press that is in force. */
static bool last_press(const struct cb_app *app, struct cb_arena *arena, const char **press,
                       char **what, size_t *event)
{
    *press = cb_bench_undoable(app->session.bench, arena, what);
    bool found = false;
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    for (size_t i = count; *press && i-- > 0;) {
        if (events[i]->press && strcmp(events[i]->press, *press) == 0) {
            found = true;
            *event = i;
            if (events[i]->kind == CB_EVENT_UNIT_BEGUN) {
                break; /* what was done before is a part of it */
            }
        } else if (found) {
            break;
        }
    }
    return found;
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

/* Of films that were dry before anybody told of them nothing rings: the line says it. */
static char *dry_already(const struct cb_app *app, const char *press, struct cb_arena *arena)
{
    const struct cb_unit *unit = cb_app_unit(app);
    int figures[CB_FIGURES_MAX];
    size_t count = 0;
    for (size_t i = 0; unit && i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        if (film->on_press && strcmp(film->on_press, press) == 0 && count < CB_FIGURES_MAX &&
            cb_words_painted(unit, film->stage) && cb_ping_was_dry(app, film)) {
            figures[count++] = film->figure;
        }
    }
    return count > 0 ? cb_arena_printf(arena, "; dry already: %s",
                                       cb_words_figures(arena, figures, count))
                     : cb_arena_text(arena, "");
}

/* When the coats of a press went on, and which of them need no ring any more. */
static char *press_times(const struct cb_app *app, const char *press, struct cb_arena *arena)
{
    int64_t first_ms = INT64_MAX, last_ms = INT64_MIN;
    char from[CB_CLOCK_SIZE], to[CB_CLOCK_SIZE];
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    for (size_t i = 0; i < count; i++) {
        const struct cb_event *event = events[i];
        if (!event->press || strcmp(event->press, press) != 0) {
            continue;
        }
        if (cb_event_is(event, CB_FIELD_BEFORE)) {
            return cb_arena_text(arena, ": done before");
        }
        int64_t on_ms = cb_event_int(event, CB_FIELD_ON_AT, event->at_ms);
        if (event->kind == CB_EVENT_COAT_ON || first_ms == INT64_MAX) {
            first_ms = on_ms < first_ms ? on_ms : first_ms;
            last_ms = on_ms > last_ms ? on_ms : last_ms;
        }
    }
    cb_time_clock(first_ms, &app->session.zone, from);
    cb_time_clock(last_ms, &app->session.zone, to);
    char *dry = dry_already(app, press, arena);
    return strcmp(from, to) == 0 ? cb_arena_printf(arena, " at %s%s", to, dry)
                                 : cb_arena_printf(arena, ", %s to %s%s", from, to, dry);
}

/* "room: 20.5 C, 55 %", "shed: 9 C, 70 %, fan", in the painter's unit. */
static char *room_of(const struct cb_app *app, const struct cb_event *event, struct cb_arena *arena)
{
    const bool fahrenheit = app->session.config->fahrenheit;
    const double temp_c = cb_event_number(event, CB_FIELD_TEMP_C, 0);
    const char *place = cb_event_text(event, CB_FIELD_PLACE, "room");
    const char *still = cb_air_name(CB_AIR_STILL);
    const char *air = cb_event_text(event, CB_FIELD_AIR, still);
    const bool moves = strcmp(air, still) != 0;
    return cb_arena_printf(arena, "%s: %.3g %c, %.3g %%%s%s",
                           cb_utf8_clean(arena, place, PLACE_COLUMNS),
                           fahrenheit ? temp_c * 1.8 + 32 : temp_c, fahrenheit ? 'F' : 'C',
                           cb_event_number(event, CB_FIELD_RH_PCT, 0), moves ? ", " : "",
                           moves ? cb_utf8_clean(arena, air, PLACE_COLUMNS) : "");
}

/* It takes back an undo. */
static bool brings_back(const struct cb_app *app, const struct cb_event *undone)
{
    const char *of = cb_event_text(undone, CB_FIELD_OF, "");
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    for (size_t i = count; i-- > 0;) {
        if (events[i]->press && strcmp(events[i]->press, of) == 0) {
            return events[i]->kind == CB_EVENT_UNDONE;
        }
    }
    return false;
}

/* For a while after it: what an undo has taken back, or a redo brought back. NULL: neither. */
static char *undone_line(const struct cb_app *app, struct cb_arena *arena)
{
    size_t count;
    char *what = NULL;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    while (count > 0 && events[count - 1]->kind == CB_EVENT_PINGED) {
        count--;
    }
    const struct cb_event *last = count > 0 ? events[count - 1] : NULL;
    if (!last || last->kind != CB_EVENT_UNDONE || !is_recent(app, count - 1)) {
        return NULL;
    }
    if (brings_back(app, last)) {
        cb_bench_undoable(app->session.bench, arena, &what);
        return cb_arena_printf(arena, "back again: %s; %s takes it back",
                               what ? what : "the last press", cb_app_key(app, CB_ACTION_UNDO));
    }
    cb_bench_redoable(app->session.bench, arena, &what);
    return cb_arena_printf(arena, "taken back: %s; %s redoes it", what ? what : "the last press",
                           cb_app_key(app, CB_ACTION_REDO));
}

bool cb_lines_pressed(const struct cb_app *app)
{
    size_t count;
    (void)cb_bench_events(app->session.bench, &count);
    return count > 0 && is_recent(app, count - 1);
}

char *cb_lines_message(const struct cb_app *app, const struct cb_scene *scene,
                       struct cb_arena *arena, enum cb_role *role)
{
    const char *press = NULL;
    char *what = NULL;
    const struct cb_event *event = NULL;
    size_t count, at = 0;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    *role = CB_ROLE_WARN;
    if (app->look.flash[0] && !cb_guide_outlasts(app)) {
        return cb_arena_text(arena, app->look.flash);
    }
    if (app->session.new_figures) {
        return cb_arena_printf(arena,
                               "new drying figures: thin coats ring sooner; %s or %s corrects",
                               cb_app_key(app, CB_ACTION_DRY), cb_app_key(app, CB_ACTION_WET));
    }
    if (app->look.banner[0] && !cb_guide_outlasts(app)) {
        *role = CB_ROLE_BANNER;
        return cb_arena_text(arena, app->look.banner);
    }
    *role = CB_ROLE_PLAIN;
    char *back = undone_line(app, arena);
    if (back) {
        return back;
    }
    if (last_press(app, arena, &press, &what, &at) && is_recent(app, at) &&
        (event = events[at])->kind != CB_EVENT_UNIT_BEGUN && what &&
        !(app->session.pilot && event->kind == CB_EVENT_COAT_ON)) { /* nobody here pressed that */
        const char *undo = cb_app_key(app, CB_ACTION_UNDO);
        char *remark = press_remark(app, press, arena);
        if (event->kind == CB_EVENT_CLIMATE_SET) {
            return cb_arena_printf(arena, "%s; %s takes it back", room_of(app, event, arena), undo);
        }
        char *dried = cb_thanks_dried(app, press, arena);
        if (remark) {
            *role = CB_ROLE_WARN;
            char *told = cb_arena_printf(arena, "%s, %s%s", what, remark, dried);
            char *all = cb_arena_printf(arena, "%s; %s takes it back", told, undo);
            return app->look.columns < 60 || cb_utf8_text_width(all) <= app->look.columns - 2
                       ? all
                       : told;
        }
        char *done = cb_arena_printf(arena, "%s%s%s", what, press_times(app, press, arena), dried);
        const int columns = app->look.columns - 2; /* the key line, too, says how to take it back */
        if (dried[0] && cb_utf8_text_width(done) > columns) {
            return cb_arena_printf(arena, "%s%s", what, dried);
        }
        char *whole = cb_arena_printf(arena, "%s, %s takes it back", done, undo);
        return dried[0] && cb_utf8_text_width(whole) > columns ? done : whole;
    }
    char *guide = cb_guide_line(app, arena);
    if (guide) {
        return guide;
    }
    if (app->session.pilot) {
        char span[32];
        cb_words_span((int64_t)(app->session.speed * 1000), span);
        bool plain = app->session.speed > 59 && app->session.speed < 61;
        return cb_arena_printf(arena,
                               "demo: one second is %s, it paints by itself; %s and the brush "
                               "is yours",
                               plain ? "a minute" : span, cb_app_key(app, CB_ACTION_COAT_ON));
    }
    if (scene && scene->ready_ms == CB_TIME_NONE && offers_scrap(app, scene)) {
        return scrap_offer(app, scene, arena);
    }
    char *too = scene ? cb_lines_ready_too(app, scene, arena) : NULL;
    char *same = scene ? cb_lines_same_brush(app, scene, arena) : NULL;
    char *both = too && same ? cb_arena_printf(arena, "%s; %s", same, too) : NULL;
    if (same) { /* before the paint is changed */
        too = both && cb_utf8_text_width(both) <= app->look.columns - 2 ? both : same;
    }
    if (too) {
        *role = CB_ROLE_READY;
        return too;
    }
    char *elsewhere = scene ? elsewhere_line(app, scene, arena) : NULL;
    if (elsewhere) {
        return elsewhere;
    }
    return cb_arena_text(arena, "");
}
