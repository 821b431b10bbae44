/* SPDX-License-Identifier: MIT */
#include "app/ping.h"

#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "app/lines.h"
#include "app/scene.h"
#include "app/state.h"

/* A film that is due again that long after its ping has been timed anew: it is announced anew. */
#define REARM_MS CB_MS_PER_MIN
/* What fell due longer than that before the log was opened is old news: shown, not rung. */
#define OLD_NEWS_MS CB_MS_PER_MIN
/* Rung so long after it was dry, a film says since when: the machine slept (own judgement). */
#define LATE_MS    CB_MS_PER_MIN
#define HISTORY_MS 500 /* a ping waits so long for what was learned; own judgement */
/* Who has not pressed a key for so many times the minutes of the coat offered, and not for so long,
 * waits: with a brush in hand the next press would have come (own judgement). */
#define AWAY_TIMES 3.0
#define AWAY_MS    (10 * CB_MS_PER_MIN)

struct due_group {
    const struct cb_unit *unit;
    int stage, coat;
    int64_t due_ms; /* the soonest */
    bool old;       /* no news: not shown */
    size_t count;
    const struct cb_scene_film *films[CB_FIGURES_MAX];
};

static bool pingable(const struct cb_film *film)
{
    return film->stage > 0 && film->lifted_ms == CB_TIME_NONE && film->next_ms == CB_TIME_NONE &&
           film->check != CB_CHECK_DRY && film->drying && film->drying->from != CB_TIME_ZERO;
}

static const struct cb_announced *
find_announced(const struct cb_app *app, const struct cb_unit *unit, const struct cb_film *film)
{
    for (size_t i = app->pings.announced.count; i-- > 0;) {
        const struct cb_announced *row = &app->pings.announced.items[i];
        if (row->film.figure == film->figure && row->film.stage == film->stage &&
            row->film.coat == film->coat && row->on_ms == film->on_ms &&
            strcmp(row->unit, unit->id) == 0) {
            return row;
        }
    }
    return NULL;
}

static bool was_pinged(const struct cb_app *app, const struct cb_unit *unit,
                       const struct cb_film *film, int64_t due_ms)
{
    int64_t at_ms = film->pinged_ms;
    const struct cb_announced *row = find_announced(app, unit, film);
    if (row && (at_ms == CB_TIME_NONE || row->at_ms > at_ms)) {
        at_ms = row->at_ms;
    }
    if (at_ms == CB_TIME_NONE || at_ms < film->on_ms) {
        return false;
    }
    /* found so itself, or an older film of its coat */
    bool wet_since = (film->check == CB_CHECK_WET && film->wet_ms >= at_ms) ||
                     (film->wet_like_ms != CB_TIME_NONE && film->wet_like_ms >= at_ms);
    return !wet_since && due_ms <= at_ms + REARM_MS;
}

void cb_ping_key(struct cb_app *app)
{
    app->pings.key_ms = cb_app_bench_now(app);
    app->pings.rung = false;
    app->pings.owed_unit = NULL;
}

/* From when on who presses no key counts as waiting. */
static int64_t away_ms(const struct cb_app *app, const struct cb_scene *scene)
{
    int64_t key_ms = app->pings.key_ms;
    if (key_ms == CB_TIME_NONE || key_ms < app->session.opened_ms) {
        key_ms = app->session.opened_ms;
    }
    const double coat_min = scene->stage ? cb_stage_minutes(scene->stage, app->session.kinds) : 0;
    const int64_t coats_ms = (int64_t)(AWAY_TIMES * coat_min * (double)CB_MS_PER_MIN);
    return key_ms + (coats_ms > AWAY_MS ? coats_ms : AWAY_MS);
}

int64_t cb_ping_next(const struct cb_app *app)
{
    if (!app->session.writer || app->session.config->ping == CB_PING_OFF) {
        return CB_TIME_NONE;
    }
    const struct cb_scene *scene = cb_app_scene(app);
    int64_t next_ms = CB_TIME_NONE;
    if (app->pings.owed_unit) {
        const int64_t owed_ms = away_ms(app, scene);
        next_ms = owed_ms > scene->now_ms ? owed_ms : CB_TIME_NONE;
    }
    for (size_t i = 0; i < scene->film_count; i++) {
        const int64_t due_ms = scene->films[i].forecast.due_ms;
        if (due_ms > scene->now_ms && (next_ms == CB_TIME_NONE || due_ms < next_ms)) {
            next_ms = due_ms;
        }
    }
    return next_ms;
}

int64_t cb_ping_wait_ms(const struct cb_app *app)
{
    if (!app->session.history_due || app->session.opened_ms == CB_TIME_NONE) {
        return 0;
    }
    int64_t open_ms = cb_app_bench_now(app) - app->session.opened_ms;
    bool clock_leapt = open_ms < 0;
    return clock_leapt || open_ms >= HISTORY_MS ? 0 : HISTORY_MS - open_ms;
}

/* The coat on every figure that wants it, and all of them dry. */
static bool whole_coat_dry(const struct cb_app *app, const struct due_group *group, int64_t now_ms)
{
    for (int figure = 1; figure <= group->unit->figures; figure++) {
        if (group->unit->figure[figure].parked ||
            cb_bench_coats(group->unit, figure, group->stage) < group->coat) {
            continue;
        }
        const struct cb_film *film = cb_bench_film(group->unit, figure, group->stage, group->coat);
        if (!film || !cb_forecast_dry(app->session.bench, app->session.learn, film, now_ms, NULL)) {
            return false;
        }
    }
    return true;
}

/* What was painted in one go: coats of one stage and number, put on one after the other. Places in
 * unit->films. */
struct go {
    size_t first, last;
};

static bool in_go(const struct cb_film *film, struct cb_film_key key)
{
    return film->stage == key.stage && film->coat == key.coat;
}

static struct go go_of(const struct cb_unit *unit, struct cb_film_key key)
{
    const struct cb_film *film = cb_bench_film(unit, key.figure, key.stage, key.coat);
    struct go go = {(size_t)(film - unit->films), (size_t)(film - unit->films)};
    while (go.first > 0 && in_go(&unit->films[go.first - 1], key)) {
        go.first--;
    }
    while (go.last + 1 < unit->film_count && in_go(&unit->films[go.last + 1], key)) {
        go.last++;
    }
    return go;
}

static bool is_dry(const struct cb_app *app, const struct cb_film *film, int64_t now_ms)
{
    return cb_forecast_dry(app->session.bench, app->session.learn, film, now_ms, NULL);
}

/* All of it dry, and no more of it to come from a hand that is at it. */
static bool go_is_over(const struct cb_app *app, const struct cb_scene *scene,
                       const struct cb_unit *unit, struct cb_film_key key, bool away)
{
    const struct go go = go_of(unit, key);
    for (size_t i = go.first; i <= go.last; i++) {
        if (unit->films[i].lifted_ms == CB_TIME_NONE &&
            !is_dry(app, &unit->films[i], scene->now_ms)) {
            return false;
        }
    }
    const struct cb_proposal *next = &scene->proposal;
    return away || go.last + 1 < unit->film_count || scene->unit != unit || !next->any ||
           next->stage != key.stage || next->coat != key.coat;
}

static bool one_a_unit(const struct cb_app *app)
{
    return app->session.config->ping == CB_PING_NEEDED;
}

static struct cb_popup *popup_of(struct cb_app *app, const struct cb_unit *unit, int stage,
                                 int coat)
{
    for (size_t i = 0; i < app->pings.popups.count; i++) {
        struct cb_popup *popup = &app->pings.popups.items[i];
        if ((one_a_unit(app) || (popup->stage == stage && popup->coat == coat)) &&
            strcmp(popup->unit, unit->id) == 0) {
            return popup;
        }
    }
    cb_vec_push(&app->pings.popups, ((struct cb_popup){
                                        .id = ++app->pings.next_id,
                                        .unit = cb_arena_text(&app->arena, unit->id),
                                        .stage = stage,
                                        .coat = coat,
                                        .dry_ms = CB_TIME_NONE,
                                    }));
    return &app->pings.popups.items[app->pings.popups.count - 1];
}

/* A pop-up is a few words on somebody else's screen, whatever a recipe calls its paints. */
#define POPUP_NAME_COLUMNS 40
#define POPUP_LINE_COLUMNS 120

/* "Oilskin green: figures 1 to 4 can take coat 2" */
static char *title_of(struct cb_app *app, const struct cb_unit *unit, const struct cb_popup *popup)
{
    int figures[CB_FIGURES_MAX], wanted = 0;
    for (size_t i = 0; i < popup->film_count; i++) {
        int figure = popup->films[i].figure;
        size_t at = i;
        for (; at > 0 && figures[at - 1] > figure; at--) {
            figures[at] = figures[at - 1];
        }
        figures[at] = figure;
        int coats = cb_bench_coats(unit, figure, popup->stage);
        wanted = coats > wanted ? coats : wanted;
    }
    char *list = cb_words_figures(&app->frame, figures, popup->film_count);
    const char *plural = popup->film_count == 1 ? "" : "s";
    const char *paint =
        cb_utf8_clean(&app->frame, cb_words_paint(unit, popup->stage), POPUP_NAME_COLUMNS);
    if (popup->coat < wanted) {
        return cb_arena_printf(&app->frame, "%s: figure%s %s can take coat %d", paint, plural, list,
                               popup->coat + 1);
    }
    return cb_arena_printf(&app->frame, "%s: figure%s %s %s %s", paint, plural, list,
                           popup->film_count == 1 ? "is" : "are",
                           cb_words_dried(unit, popup->stage));
}

/* "It is dry for 25 min", of the longest of them; "": it has become so just now. */
static char *since_line(struct cb_app *app, const struct cb_scene *scene,
                        const struct cb_unit *unit, const struct cb_popup *popup)
{
    char span[32];
    if (popup->dry_ms == CB_TIME_NONE || scene->now_ms - popup->dry_ms <= LATE_MS) {
        return cb_arena_text(&app->frame, "");
    }
    cb_words_since(scene->now_ms - popup->dry_ms, span);
    const char *dry = cb_words_painted(unit, popup->stage) ? "dry" : "done";
    return cb_arena_printf(&app->frame, "%s %s for %s\n",
                           popup->film_count == 1 ? "It is" : "The first is", dry, span);
}

static char *next_line(struct cb_app *app, const struct cb_scene *scene, const struct cb_unit *unit)
{
    if (scene->unit == unit && scene->proposal.any && !scene->anyway) {
        const struct cb_gates *gates = &scene->gates;
        bool warn = gates->count > 0 && gates->items[0].level != CB_GATE_NOTE;
        const char *mix = cb_utf8_clean(
            &app->frame, cb_words_mix(&app->frame, app->session.kinds, unit, scene->proposal.stage),
            POPUP_LINE_COLUMNS);
        return cb_arena_printf(&app->frame, "Next: %s on %d%s%s%s%s",
                               cb_utf8_clean(&app->frame,
                                             cb_words_paint(unit, scene->proposal.stage),
                                             POPUP_NAME_COLUMNS),
                               scene->proposal.figure, mix[0] ? ", " : "", mix,
                               warn ? "\nBut " : "", warn ? gates->items[0].text : "");
    }
    return cb_utf8_clean(&app->frame, unit->name, POPUP_LINE_COLUMNS);
}

static char *body_of(struct cb_app *app, const struct cb_scene *scene, const struct cb_unit *unit,
                     const struct cb_popup *popup)
{
    return cb_arena_printf(&app->frame, "%s%s", since_line(app, scene, unit, popup),
                           next_line(app, scene, unit));
}

static bool can_paint(const struct cb_app *app, const struct cb_unit *unit, int64_t at_ms)
{
    return unit && !unit->finished &&
           cb_next_propose(app->session.bench, app->session.learn, unit, 0, 0, at_ms).any;
}

/* Of the unit in front as the bench names it, of others as they stand. */
static bool can_paint_now(const struct cb_app *app, const struct cb_scene *scene,
                          const struct cb_unit *unit)
{
    return unit == scene->unit && unit && !scene->by_hand ? scene->proposal.any && !scene->anyway
                                                          : can_paint(app, unit, scene->now_ms);
}

static bool by_bell(const struct cb_app *app)
{
    return app->pings.bell == CB_BELL_OK || app->pings.bell == CB_BELL_STARTING;
}

static void show(struct cb_app *app, const struct cb_scene *scene, const struct cb_unit *unit,
                 struct cb_popup *popup, bool sound)
{
    struct cb_effect *effect = cb_app_effect(app, CB_EFFECT_PING);
    effect->ping_id = popup->id;
    effect->title = title_of(app, unit, popup);
    effect->body = body_of(app, scene, unit, popup);
    effect->sound = sound;
    effect->by_terminal = cb_ping_by_terminal(app);
    effect->buttons = true;
    popup->dry_ms = CB_TIME_NONE;
    effect->answer = popup->answer = cb_ping_asks(app, unit, popup);
    popup->shown = true;
    popup->sounded = popup->sounded || sound;
    if (sound && !by_bell(app)) {
        cb_app_effect(app, CB_EFFECT_BEEP);
        cb_app_banner(app, title_of(app, unit, popup));
    }
}

/* In the place of what the unit's pop-up said before: what of that go is dry. */
static void show_go(struct cb_app *app, const struct cb_scene *scene, const struct cb_unit *unit,
                    struct cb_film_key key, bool sound)
{
    struct cb_popup *popup = popup_of(app, unit, key.stage, key.coat);
    const struct go go = go_of(unit, key);
    popup->stage = key.stage;
    popup->coat = key.coat;
    popup->film_count = 0;
    for (size_t i = go.first; i <= go.last && popup->film_count < CB_FIGURES_MAX; i++) {
        const struct cb_film *film = &unit->films[i];
        if (pingable(film) && is_dry(app, film, scene->now_ms)) {
            popup->films[popup->film_count++] =
                (struct cb_film_key){film->figure, film->stage, film->coat};
        }
    }
    app->pings.rung = app->pings.rung || sound;
    app->pings.owed_unit = sound ? NULL : app->pings.owed_unit;
    show(app, scene, unit, popup, sound);
}

/* Who waits is rung, once a wait: with nothing else to paint by the first coat that can go on, and
 * from elsewhere when all is dry that was painted in one go. */
static bool show_needed(struct cb_app *app, const struct cb_scene *scene,
                        const struct due_group *group, bool *sound)
{
    const struct cb_unit *front = cb_app_unit(app);
    const struct cb_film *film = group->films[group->count - 1]->film;
    const struct cb_film_key key = {film->figure, film->stage, film->coat};
    const bool opens = can_paint_now(app, scene, group->unit) ||
                       (front != group->unit && can_paint_now(app, scene, front));
    const bool stuck = app->offer.named.coat == 0 &&
                       (app->offer.waits || !can_paint(app, front, group->due_ms - 1));
    const bool away = scene->now_ms >= away_ms(app, scene);
    const bool over = go_is_over(app, scene, group->unit, key, away);
    *sound = opens && !app->pings.rung && (stuck || (away && over));
    if (opens && !app->pings.rung && !*sound) {
        app->pings.owed_unit = popup_of(app, group->unit, key.stage, key.coat)->unit;
        app->pings.owed = key;
    }
    if (*sound || over) {
        show_go(app, scene, group->unit, key, *sound);
    }
    return *sound || over;
}

/* What became dry while nobody could know that somebody waits. */
static void ring_owed(struct cb_app *app, const struct cb_scene *scene)
{
    if (!app->pings.owed_unit || scene->now_ms < away_ms(app, scene)) {
        return;
    }
    const struct cb_film_key key = app->pings.owed;
    const int at = cb_bench_find_unit(app->session.bench, app->pings.owed_unit);
    const struct cb_unit *unit = at < 0 ? NULL : cb_bench_unit(app->session.bench, (size_t)at);
    const struct cb_film *film = unit ? cb_bench_film(unit, key.figure, key.stage, key.coat) : NULL;
    if (!film || !pingable(film)) {
        app->pings.owed_unit = NULL;
    } else if (go_is_over(app, scene, unit, key, true)) {
        show_go(app, scene, unit, key, true);
    }
}

/* Does it show, and does it sound? */
static bool show_policy(struct cb_app *app, const struct cb_scene *scene,
                        const struct due_group *group, bool *sound)
{
    *sound = false;
    if (one_a_unit(app)) {
        return !group->old && show_needed(app, scene, group, sound);
    }
    struct cb_popup *popup = popup_of(app, group->unit, group->stage, group->coat);
    for (size_t i = 0; i < group->count; i++) {
        const struct cb_film *film = group->films[i]->film;
        bool listed = false;
        for (size_t k = 0; k < popup->film_count; k++) {
            listed = listed || popup->films[k].figure == film->figure;
        }
        if (!listed && popup->film_count < CB_FIGURES_MAX) {
            popup->films[popup->film_count++] =
                (struct cb_film_key){film->figure, film->stage, film->coat};
        }
    }
    const bool whole = whole_coat_dry(app, group, scene->now_ms);
    const enum cb_ping_policy policy = app->session.config->ping;
    if (group->old || (policy == CB_PING_WHOLE && !whole)) {
        return false;
    }
    *sound = policy != CB_PING_FIRST || !popup->sounded;
    show(app, scene, group->unit, popup, *sound);
    return true;
}

static void announce(struct cb_app *app, const struct cb_scene *scene,
                     const struct due_group *group)
{
    struct cb_film_key keys[CB_FIGURES_MAX];
    struct cb_popup *popup = popup_of(app, group->unit, group->stage, group->coat);
    const char *unit = popup->unit;
    popup->dry_ms = group->due_ms;
    for (size_t i = 0; i < group->count; i++) {
        const struct cb_film *film = group->films[i]->film;
        keys[i] = (struct cb_film_key){film->figure, film->stage, film->coat};
        cb_vec_push(&app->pings.announced,
                    ((struct cb_announced){unit, keys[i], film->on_ms, scene->now_ms}));
    }
    bool sound = false;
    const bool shows = show_policy(app, scene, group, &sound);
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_PINGED, group->unit->id, &app->session.now);
    cb_event_add_films(&make, keys, group->count);
    cb_event_add_time(&make, CB_FIELD_DUE_AT,
                      cb_bench_wall(app->session.bench, &app->session.now, group->due_ms));
    cb_event_add_text(&make, CB_FIELD_BY,
                      !shows         ? "screen"
                      : by_bell(app) ? "popup"
                      : sound        ? "beep"
                                     : "screen");
    cb_app_store_one(app, &make);
    cb_app_changed(app);
}

bool cb_ping_was_dry(const struct cb_app *app, const struct cb_film *film)
{
    int64_t due_ms;
    return film->on_ms < film->pressed_ms &&
           cb_forecast_dry(app->session.bench, app->session.learn, film, cb_app_bench_now(app),
                           &due_ms) &&
           due_ms <= film->pressed_ms;
}

/* Due before the opening, or before the press that says of it: whoever sits here knows. */
static bool is_old(const struct cb_app *app, const struct cb_scene_film *row)
{
    return row->forecast.due_ms < app->session.opened_ms - OLD_NEWS_MS ||
           cb_ping_was_dry(app, row->film);
}

void cb_ping_due(struct cb_app *app)
{
    if (!app->session.writer || app->session.config->ping == CB_PING_OFF) {
        return;
    }
    int64_t now_ms = cb_app_bench_now(app);
    int64_t next_ms = cb_ping_next(app);
    if (next_ms != CB_TIME_NONE && next_ms - now_ms <= CB_APP_SECONDS_MS &&
        !app->pings.bell_asked && app->session.config->bell) {
        cb_app_effect(app, CB_EFFECT_BELL_READY);
        app->pings.bell_asked = true;
    }
    if (cb_ping_wait_ms(app) > 0) {
        return;
    }
    const struct cb_scene *scene = cb_app_scene(app);
    CB_VEC(struct due_group) groups = {0};
    for (size_t i = 0; i < scene->film_count; i++) {
        const struct cb_scene_film *row = &scene->films[i];
        if (row->forecast.held || row->forecast.due_ms == CB_TIME_NONE ||
            row->forecast.due_ms > now_ms ||
            was_pinged(app, row->unit, row->film, row->forecast.due_ms)) {
            continue;
        }
        struct due_group *group = NULL;
        const bool old = is_old(app, row);
        for (size_t g = 0; g < groups.count && !group; g++) {
            if (groups.items[g].unit == row->unit && groups.items[g].stage == row->film->stage &&
                groups.items[g].coat == row->film->coat && groups.items[g].old == old) {
                group = &groups.items[g];
            }
        }
        if (!group) {
            cb_vec_push(&groups, ((struct due_group){.unit = row->unit,
                                                     .stage = row->film->stage,
                                                     .coat = row->film->coat,
                                                     .due_ms = row->forecast.due_ms,
                                                     .old = old}));
            group = &groups.items[groups.count - 1];
        }
        if (group->count < CB_FIGURES_MAX) {
            group->films[group->count++] = row;
        }
    }
    for (size_t g = 0; g < groups.count; g++) {
        announce(app, scene, &groups.items[g]);
    }
    cb_vec_free(&groups);
    ring_owed(app, scene);
}

uint32_t cb_ping_quiet(struct cb_app *app, const char *title, const char *body)
{
    if (!app->pings.bell_asked && app->session.config->bell) {
        cb_app_effect(app, CB_EFFECT_BELL_READY);
        app->pings.bell_asked = true;
    }
    struct cb_effect *effect = cb_app_effect(app, CB_EFFECT_PING);
    effect->ping_id = ++app->pings.next_id;
    effect->title = title;
    effect->body = body;
    return effect->ping_id;
}

const struct cb_unit *cb_ping_unit(const struct cb_app *app, const struct cb_popup *popup)
{
    int unit = cb_bench_find_unit(app->session.bench, popup->unit);
    return unit < 0 ? NULL : cb_bench_unit(app->session.bench, (size_t)unit);
}

bool cb_ping_is_open(const struct cb_film *film)
{
    return pingable(film) && !(film->check == CB_CHECK_WET && film->wet_ms >= film->pinged_ms);
}

/* A pop-up whose films are all answered, coated over or gone is closed. */
void cb_ping_tidy(struct cb_app *app)
{
    for (size_t i = 0; i < app->pings.popups.count; i++) {
        struct cb_popup *popup = &app->pings.popups.items[i];
        const struct cb_unit *unit = cb_ping_unit(app, popup);
        size_t kept = 0;
        for (size_t k = 0; k < popup->film_count; k++) {
            const struct cb_film_key *key = &popup->films[k];
            const struct cb_film *film =
                unit && !unit->finished ? cb_bench_film(unit, key->figure, key->stage, key->coat)
                                        : NULL;
            if (film && cb_ping_is_open(film)) {
                popup->films[kept++] = *key;
            }
        }
        popup->film_count = kept;
        if (popup->shown && kept == 0) {
            cb_app_effect(app, CB_EFFECT_PING_CLOSE)->ping_id = popup->id;
            popup->shown = false;
        }
    }
}

void cb_ping_bell(struct cb_app *app, enum cb_bell_state state)
{
    const bool fails =
        state == CB_BELL_NO_BUS || state == CB_BELL_NO_DAEMON || state == CB_BELL_SILENT;
    if (fails && app->pings.bell == CB_BELL_OK) {
        cb_app_banner(app, cb_lines_bell(state)); /* until a key: that it will only beep */
    }
    app->pings.bell = app->session.config->bell ? state : CB_BELL_OFF;
    if (state == CB_BELL_NONE) {
        app->pings.bell_asked = false;
    }
}

/* Not while it is only silent: what it was asked for may stand there yet. */
bool cb_ping_by_terminal(const struct cb_app *app)
{
    const enum cb_bell_state bell = app->pings.bell;
    return app->session.terminal_pops_up && app->session.config->pop_ups &&
           (bell == CB_BELL_NONE || bell == CB_BELL_NO_BUS || bell == CB_BELL_NO_DAEMON);
}

enum cb_bell_state cb_app_bell(const struct cb_app *app)
{
    return app->pings.bell;
}

void cb_ping_init(struct cb_app *app, uint64_t seed)
{
    app->pings.next_id = (uint32_t)seed;
    app->pings.key_ms = CB_TIME_NONE;
    app->pings.bell = app->session.config->bell ? CB_BELL_NONE : CB_BELL_OFF;
}

void cb_ping_fini(struct cb_app *app)
{
    cb_vec_free(&app->pings.popups);
    cb_vec_free(&app->pings.announced);
    cb_vec_free(&app->pings.asked);
}
