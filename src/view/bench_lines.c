/* SPDX-License-Identifier: MIT */
#include "view/bench_lines.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "core/recipe/amount.h"

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

void cb_lines_clock(const struct cb_app *app, int64_t bench_ms, char out[6])
{
    cb_time_clock(cb_bench_wall(app->bench, &app->now, bench_ms), &app->zone, out);
}

const char *cb_lines_sign(const struct cb_app *app, const struct cb_drying *drying)
{
    bool exact = drying != NULL && drying->from == CB_TIME_WAIT;
    return app->history_due && !exact ? "~" : " ";
}

void cb_lines_due(const struct cb_app *app, const struct cb_drying *drying, int64_t bench_ms,
                  char out[8])
{
    char clock[6];
    cb_lines_clock(app, bench_ms, clock);
    snprintf(out, 8, "%s%s", cb_lines_sign(app, drying), clock);
}

void cb_lines_put_sign(const struct cb_app *app, const struct cb_scene_film *film,
                       struct cb_grid *grid, int row, int column, enum cb_role role)
{
    const char *sign = film ? cb_lines_sign(app, film->film->drying) : " ";
    if (sign[0] != ' ') {
        cb_grid_put(grid, row, column - 1, 1, role, sign);
    }
}

void cb_lines_put_film(const struct cb_app *app, const struct cb_scene *scene,
                       const struct cb_scene_film *film, struct cb_grid *grid, int row, int column,
                       int columns, enum cb_role role)
{
    struct cb_arena arena = {0};
    if (film->forecast.dry) {
        cb_lines_put_sign(app, film, grid, row, column, role);
    }
    cb_words_put(grid, row, column, columns, role,
                 cb_lines_film(app, scene, film, columns, &arena));
    cb_arena_fini(&arena);
}

const char *cb_lines_odds(double confidence, char out[16])
{
    int pct = (int)(unsigned char)lround(confidence * 100);
    if (pct % 10 == 0) {
        snprintf(out, 16, "%d in 10", pct / 10);
    } else {
        snprintf(out, 16, "%d %%", pct);
    }
    return out;
}

void cb_lines_figure(const struct cb_scene *scene, char out[16])
{
    const struct cb_proposal *proposal = &scene->proposal;
    int last = proposal->figure_count - 1;
    snprintf(out, 16, "%d", proposal->figure);
    if (proposal->together && last > 0 && last < CB_FIGURES_MAX &&
        proposal->figures[last] - proposal->figures[0] == last) {
        snprintf(out, 16, "%d-%d", (int)(unsigned char)proposal->figures[0],
                 (int)(unsigned char)proposal->figures[last]);
    }
}

static char *space_figures(const struct cb_app *app, const struct cb_scene *scene,
                           struct cb_arena *arena)
{
    const struct cb_proposal *proposal = &scene->proposal;
    size_t count = proposal->together ? (size_t)proposal->figure_count : 1;
    if (app->count > 0 && !app->minus) {
        count = (size_t)app->count;
    }
    if (count > (size_t)proposal->figure_count && proposal->figure_count > 0) {
        if (!proposal->together) {
            return cb_arena_printf(arena, "%zu from %d on", count, proposal->figure);
        }
        count = (size_t)proposal->figure_count;
    }
    if (count <= 1) {
        return cb_arena_printf(arena, "%d", proposal->figure);
    }
    return cb_words_figures(arena, proposal->figures, count);
}

const char *cb_lines_elsewhere(const struct cb_scene *scene, const struct cb_scene_film *row)
{
    if (row->unit == scene->unit) {
        return NULL;
    }
    bool same = scene->unit && strcmp(row->unit->name, scene->unit->name) == 0;
    return same ? "another unit" : row->unit->name;
}

/* The coat goes on or beside something wet: which, until when, and how likely it is dry already. */
static char *in_spite(const struct cb_app *app, const struct cb_scene *scene, const char *text,
                      int columns, struct cb_arena *arena)
{
    char clock[8] = "", chance[8];
    cb_words_chance(scene->proposal.chance, chance);
    if (scene->below && scene->below_ms != CB_TIME_NONE) {
        bool painted = cb_words_painted(scene->unit, scene->below->stage);
        cb_lines_due(app, scene->below->drying, scene->below_ms, clock);
        char *full = cb_arena_printf(arena, "%s, though %s is %s until%s", text,
                                     cb_words_paint(scene->unit, scene->below->stage),
                                     painted ? "wet" : "not done", clock);
        char *odds = cb_arena_printf(arena, "%s (chance dry %s)", full, chance);
        if (painted && scene->proposal.thought_wet && cb_utf8_text_width(odds) <= columns) {
            return odds;
        }
        if (cb_utf8_text_width(full) <= columns) {
            return full;
        }
        full = cb_arena_printf(arena, "%s, %s until%s", text, painted ? "wet" : "waits", clock);
        if (cb_utf8_text_width(full) <= columns) {
            return full;
        }
        return cb_arena_printf(arena, "%s, %s!", text, painted ? "wet" : "early");
    }
    if (scene->proposal.thought_wet) {
        return cb_arena_printf(arena, "%s, chance dry %s", text, chance);
    }
    return cb_arena_printf(arena, "%s all the same", text);
}

char *cb_lines_space(const struct cb_app *app, const struct cb_scene *scene, int columns,
                     struct cb_arena *arena, enum cb_role *role)
{
    const struct cb_proposal *proposal = &scene->proposal;
    if (!app->writer) {
        *role = CB_ROLE_WARN;
        return cb_arena_text(arena, app->offer ? "the other bench is gone: ENTER takes over"
                                               : "SPACE rests: another bench is painting");
    }
    *role = CB_ROLE_PLAIN;
    if (!proposal->any) {
        if (scene->all_done) {
            *role = CB_ROLE_DONE;
            return cb_arena_text(arena, "every coat is on; f finishes the unit");
        }
        if (scene->by_hand) {
            return cb_arena_text(arena, "nothing to put on here; ESC back");
        }
        return cb_arena_text(arena, scene->held_count > 0 ? "nothing: the films stand still"
                                                          : "nothing can go on");
    }
    const char *paint = cb_words_paint(scene->unit, proposal->stage);
    bool painted = cb_mix_paint(&scene->stage->mix) >= 0;
    char *figures = space_figures(app, scene, arena);
    char *text;
    if (painted) {
        text = cb_arena_printf(arena, "%s is on %s", paint, figures);
    } else {
        text = cb_arena_printf(arena, "%s: done on %s", scene->stage->name, figures);
    }
    if (app->minus && app->count > 0) {
        text = cb_arena_printf(arena, "%s, %d min ago", text, app->count);
    } else if (app->count > 1 && !proposal->together) {
        text = cb_arena_printf(arena, "%s, spread", text);
    }
    int missing = cb_scene_missing(app->bench, app->learn, scene);
    if (missing > 0) {
        *role = CB_ROLE_WARN;
        const char *before = cb_words_paint(scene->unit, missing);
        char *full = cb_arena_printf(arena, "%s, though %s is not on", text, before);
        return cb_utf8_text_width(full) <= columns
                   ? full
                   : cb_arena_printf(arena, "%s: %s?", text, before);
    }
    if (scene->anyway || proposal->thought_wet) {
        *role = CB_ROLE_WARN;
        text = in_spite(app, scene, text, columns, arena);
    }
    return text;
}

char *cb_lines_answer(const struct cb_app *app, const struct cb_scene *scene,
                      struct cb_arena *arena)
{
    (void)app;
    if (!scene->focus) {
        return NULL;
    }
    const struct cb_film *film = scene->focus->film;
    const struct cb_unit *unit = scene->focus->unit;
    const char *elsewhere = cb_lines_elsewhere(scene, scene->focus);
    return cb_arena_printf(arena, "%s on %d%s%s is %s", cb_words_paint(unit, film->stage),
                           film->figure, elsewhere ? ", " : "", elsewhere ? elsewhere : "",
                           cb_words_painted(unit, film->stage) ? "dry" : "done");
}

/* The longest of what may be said that is not cut; the last where none fits. NULL: no such. */
static char *first_that_fits(int columns, char *whole, char *less, char *least)
{
    if (cb_utf8_text_width(whole) <= columns) {
        return whole;
    }
    return !least || cb_utf8_text_width(less) <= columns ? less : least;
}

char *cb_lines_film(const struct cb_app *app, const struct cb_scene *scene,
                    const struct cb_scene_film *row, int columns, struct cb_arena *arena)
{
    const struct cb_forecast *forecast = &row->forecast;
    const struct cb_drying *drying = row->film->drying;
    char from[8], by[8], odds[16], span[32];
    bool painted = cb_words_painted(row->unit, row->film->stage);
    const char *dry = painted ? "dry" : "done";
    if (forecast->held) {
        return cb_arena_text(arena, "held: cold or damp");
    }
    if (forecast->due_ms == CB_TIME_NONE) {
        return cb_arena_text(arena, "");
    }
    if (forecast->dry) {
        cb_words_since(scene->now_ms - forecast->due_ms, span);
        return scene->now_ms - forecast->due_ms < CB_MS_PER_MIN
                   ? cb_arena_printf(arena, "%s now", dry)
                   : cb_arena_printf(arena, "%s for %s", dry, span);
    }
    cb_lines_due(app, drying, forecast->due_ms, by);
    cb_lines_odds(cb_bench_facts(app->bench).confidence, odds);
    if (forecast->from == CB_DUE_WAIT || !painted) {
        return cb_arena_printf(arena, "waits until%s", by);
    }
    if (forecast->maybe_ms == CB_TIME_NONE || forecast->maybe_ms <= scene->now_ms) {
        char chance[8];
        cb_words_chance(forecast->chance, chance);
        return first_that_fits(columns,
                               cb_arena_printf(arena, "chance dry %s, %s by%s", chance, odds, by),
                               cb_arena_printf(arena, "%s by%s", odds, by), NULL);
    }
    cb_lines_due(app, drying, forecast->maybe_ms, from);
    return first_that_fits(columns,
                           cb_arena_printf(arena, "could be dry from%s, %s by%s", from, odds, by),
                           cb_arena_printf(arena, "from%s, %s by%s", from, odds, by),
                           cb_arena_printf(arena, "%s by%s", odds, by));
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
    return app->unsaved ? "" : "all well \u00B7 ";
}

/* Two times, and which of them to go by. */
static char *nothing_ready(const struct cb_app *app, const struct cb_scene *scene,
                           struct cb_arena *arena)
{
    char clock[8], from[8];
    const struct cb_scene_film *row = scene->focus;
    cb_lines_due(app, scene->ready_by ? scene->ready_by->drying : NULL, scene->ready_ms, clock);
    if (app->bell_state == CB_BELL_NO_BUS || app->bell_state == CB_BELL_NO_DAEMON ||
        app->bell_state == CB_BELL_SILENT) { /* who waits must know that it will only beep */
        return cb_arena_printf(arena,
                               app->columns >= 76 ? "nothing is ready until%s; %s" : "until%s: %s",
                               clock, cb_lines_bell(app->bell_state));
    }
    char *text = cb_arena_printf(arena, "%snothing is ready until%s", well(app), clock);
    if (!row || row->forecast.due_ms != scene->ready_ms || row->forecast.from == CB_DUE_WAIT ||
        row->forecast.maybe_ms == CB_TIME_NONE || row->forecast.maybe_ms <= scene->now_ms) {
        return text;
    }
    cb_lines_due(app, row->film->drying, row->forecast.maybe_ms, from);
    return app->columns >= 76
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
    struct cb_bench_facts facts = cb_bench_facts(app->bench);
    char clock[6];
    *role = CB_ROLE_WARN;
    if (!app->writer) {
        return cb_arena_text(arena, app->offer ? "the other bench is gone: ENTER takes over"
                                               : "looking on: another bench writes this log");
    }
    if (facts.paused) {
        cb_lines_clock(app, facts.pause_begun_ms, clock);
        return cb_arena_printf(arena, "paused since %s; p goes on", clock);
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
        return cb_arena_printf(arena, "a clock was set: touch figure %d, then %s", doubtful->figure,
                               app->columns >= 60 ? "d dry or w wet" : "d or w");
    }
    if (scene->stale && asks_climate(scene, &facts)) {
        char span[32];
        cb_words_since(scene->now_ms - scene->reading.at_ms, span);
        return cb_arena_printf(arena, "the climate is %s old; c sets it", span);
    }
    if (app->ask != CB_ASK_NOTHING) {
        return cb_arena_printf(arena, "pings were %s lately: F4, forget what was learned?",
                               app->ask == CB_ASK_EARLY ? "early" : "late");
    }
    if (scene->unit && !scene->all_done && scene->ready_ms != CB_TIME_NONE) {
        *role = CB_ROLE_WET;
        return nothing_ready(app, scene, arena);
    }
    *role = CB_ROLE_DIM;
    const char *more = scene->assumed  ? " \u00B7 climate assumed, c"
                       : app->bells[0] ? cb_arena_printf(arena, " \u00B7 %s", app->bells)
                                       : "";
    return cb_arena_printf(arena, "%s%s%s", well(app), cb_lines_bell(app->bell_state), more);
}

/* The moment and the words of the last press that is in force. */
static bool last_press(const struct cb_app *app, struct cb_arena *arena, const char **press,
                       char **what, const struct cb_event **event)
{
    *press = cb_bench_undoable(app->bench, arena, what);
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->bench, &count);
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
            double own = cb_scene_chance_below(app->bench, app->learn, unit, film, &under);
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
    const struct cb_event *const *events = cb_bench_events(app->bench, &count);
    for (size_t i = 0; i < count; i++) {
        const struct cb_event *event = events[i];
        if (event->kind == CB_EVENT_PAUSE_BEGUN && cb_bench_in_force(app->bench, i)) {
            pause_ms = event->at_ms;
        }
        if (!event->press || strcmp(event->press, press) != 0) {
            continue;
        }
        if (event->kind == CB_EVENT_PAUSE_ENDED && pause_ms != CB_TIME_NONE) {
            cb_time_clock(pause_ms, &app->zone, from);
            cb_time_clock(event->at_ms, &app->zone, to);
            pause = cb_arena_printf(arena, ", pause over (%s to %s)", from, to);
        }
        int64_t on_ms = cb_event_int(event, CB_FIELD_ON_AT, event->at_ms);
        coats = coats || event->kind == CB_EVENT_COAT_ON;
        if (event->kind == CB_EVENT_COAT_ON || first_ms == INT64_MAX) {
            first_ms = on_ms < first_ms ? on_ms : first_ms;
            last_ms = on_ms > last_ms ? on_ms : last_ms;
        }
    }
    cb_time_clock(first_ms, &app->zone, from);
    cb_time_clock(last_ms, &app->zone, to);
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
    if (app->flash[0]) {
        return cb_arena_text(arena, app->flash);
    }
    if (app->banner[0]) {
        *role = CB_ROLE_BANNER;
        return cb_arena_text(arena, app->banner);
    }
    *role = CB_ROLE_PLAIN;
    char key[16];
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->bench, &count);
    if (cb_bench_redoable(app->bench, arena, &what) && count > 0) {
        for (size_t i = count; i-- > 0;) {
            if (events[i]->kind != CB_EVENT_UNDONE) {
                continue;
            }
            if (app->now.wall_ms - events[i]->at_ms <= CB_APP_LINE_MS) {
                return cb_arena_printf(arena, "taken back: %s; %s brings it again",
                                       what ? what : "the last press",
                                       cb_keymap_name(&app->keymap, CB_ACTION_REDO, key));
            }
            break;
        }
    }
    if (last_press(app, arena, &press, &what, &event) &&
        app->now.wall_ms - event->at_ms <= CB_APP_LINE_MS && event->kind != CB_EVENT_UNIT_BEGUN &&
        what) {
        const char *undo = cb_keymap_name(&app->keymap, CB_ACTION_UNDO, key);
        char *remark = press_remark(app, press, arena);
        if (remark) {
            *role = CB_ROLE_WARN;
            return cb_arena_printf(arena, "%s, %s; %s takes it back", what, remark, undo);
        }
        return cb_arena_printf(arena, "%s%s, %s takes it back", what,
                               press_times(app, press, arena), undo);
    }
    if (app->pilot_speed > 0) {
        char span[32];
        cb_words_span((int64_t)(app->pilot_speed * 1000), span);
        bool plain = app->pilot_speed > 59 && app->pilot_speed < 61;
        return cb_arena_printf(arena,
                               "demo: one second is %s, it paints by itself; %s and the brush "
                               "is yours",
                               plain ? "a minute" : span,
                               cb_keymap_name(&app->keymap, CB_ACTION_COAT_ON, key));
    }
    return cb_arena_text(arena, "");
}

char *cb_lines_room(const struct cb_app *app, const struct cb_scene *scene, struct cb_arena *arena)
{
    if (!scene->next || scene->ready_ms == CB_TIME_NONE || app->history_due) {
        return NULL;
    }
    const struct cb_film *film = scene->next->film;
    const struct cb_forecast *forecast = &scene->next->forecast;
    struct cb_room_tool tools[CB_ROOM_MAX];
    size_t count = cb_gate_room(film->drying, cb_words_paint(scene->next->unit, film->stage),
                                forecast->standard_due_min - forecast->standard_now_min,
                                &scene->reading.climate, app->now.wall_ms, &app->zone, arena, tools,
                                CB_ROOM_MAX);
    for (size_t i = 0; i < count; i++) {
        if (tools[i].saved_min >= CB_ROOM_GAIN_MIN) {
            return cb_arena_text(arena, tools[i].text);
        }
    }
    return NULL;
}

char *cb_lines_coat(const struct cb_scene *scene, struct cb_arena *arena)
{
    if (scene->coats <= 1) {
        return cb_arena_text(arena, "one coat");
    }
    return cb_arena_printf(arena, "coat %d of %d", scene->proposal.coat, scene->coats);
}

char *cb_lines_tools(const struct cb_app *app, const struct cb_scene *scene, int columns,
                     struct cb_arena *arena)
{
    const struct cb_recipe *recipe = scene->unit->recipe;
    if (scene->stage_begins) {
        const char *line = cb_amount_line(app->kinds, recipe, (size_t)(scene->proposal.stage - 1),
                                          scene->unit->figures, app->config->drops_per_ml, arena);
        if (line) {
            char *text = cb_arena_text(arena, line);
            char *whom = strstr(text, " for "); /* goes first where room is short */
            if (whom && cb_utf8_text_width(text) > columns) {
                *whom = '\0';
            }
            return text;
        }
    }
    struct cb_str out = {0};
    if (scene->stage->brush) {
        cb_str_add(&out, scene->stage->brush);
    } else if (scene->stage->by != CB_BY_BRUSH) {
        cb_str_add(&out, cb_by_name(scene->stage->by));
    }
    bool first = true;
    for (size_t i = 0; i < recipe->paint_count; i++) {
        if (scene->stage->tidy_with >> i & 1) {
            cb_str_addf(&out, "%s%s",
                        !first       ? ", "
                        : out.length ? "   tidy up: "
                                     : "tidy up: ",
                        recipe->paints[i].name);
            first = false;
        }
    }
    char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

char *cb_app_status_line(const struct cb_bench *bench, const struct cb_learn *learn,
                         const struct cb_moment *now, const struct cb_zone *zone,
                         struct cb_arena *arena)
{
    const struct cb_scene *scene =
        cb_scene_of(bench, learn, 0, 0, cb_bench_time(bench, now), arena);
    char *put_on = cb_arena_text(arena, "nothing on the bench");
    if (scene->unit && scene->all_done) {
        put_on = cb_arena_text(arena, "every coat is on");
    } else if (scene->unit && (!scene->proposal.any || scene->anyway)) {
        put_on = cb_arena_text(arena, "nothing is ready");
    } else if (scene->unit) {
        const struct cb_proposal *proposal = &scene->proposal;
        size_t count = proposal->together ? (size_t)proposal->figure_count : 1;
        put_on = cb_arena_printf(arena, "%s on %s", cb_words_paint(scene->unit, proposal->stage),
                                 cb_words_figures(arena, proposal->figures, count));
        if (scene->coats > 1) {
            put_on =
                cb_arena_printf(arena, "%s, coat %d of %d", put_on, proposal->coat, scene->coats);
        }
    }
    if (!scene->next) {
        return cb_arena_printf(arena, "%s \u00B7 %s", put_on,
                               scene->held_count > 0 ? "held" : "nothing is wet");
    }
    char span[32], by[6];
    const char *elsewhere = cb_lines_elsewhere(scene, scene->next);
    bool painted = cb_words_painted(scene->next->unit, scene->next->film->stage);
    cb_words_span(scene->next->forecast.due_ms - scene->now_ms, span);
    cb_time_clock(cb_bench_wall(bench, now, scene->next->forecast.due_ms), zone, by);
    return cb_arena_printf(arena, "%s \u00B7 %s on %d%s%s %s in %s, %s", put_on,
                           cb_words_paint(scene->next->unit, scene->next->film->stage),
                           scene->next->film->figure, elsewhere ? ", " : "",
                           elsewhere ? elsewhere : "", painted ? "dry" : "done", span, by);
}
