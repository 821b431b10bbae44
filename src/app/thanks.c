/* SPDX-License-Identifier: MIT */
#include "app/thanks.h"

#include <math.h>
#include <string.h>

#include "app/scene.h"
#include "app/state.h"
#include "base/str.h"
#include "base/utf8.h"

#define MOVED        0.10 /* of what it was; less is not worth a line (own judgement) */
#define ASK_AFTER    3    /* coats put on before their ring */
#define NAME_COLUMNS 24

static const struct cb_film *find_film(const struct cb_app *app, const char *unit,
                                       struct cb_film_key key)
{
    const int at = unit ? cb_bench_find_unit(app->session.bench, unit) : -1;
    const struct cb_unit *of = at < 0 ? NULL : cb_bench_unit(app->session.bench, (size_t)at);
    return !of               ? NULL
           : key.figure == 0 ? cb_bench_stroke(of, key.stage, key.coat)
                             : cb_bench_film(of, key.figure, key.stage, key.coat);
}

static bool is_learned(const struct cb_film *film)
{
    return film->pot && film->drying &&
           (film->drying->from == CB_TIME_MODEL || film->drying->from == CB_TIME_DRY);
}

/* NAN: it stands still in this air, or nothing is learned of it. */
static double usual_min(const struct cb_app *app, const struct cb_film *film)
{
    if (!film || !is_learned(film)) {
        return (double)NAN;
    }
    const struct cb_climate climate =
        cb_bench_climate_at(app->session.bench, film->place, cb_app_bench_now(app)).climate;
    const double rate = cb_drying_rate(film->drying, &climate);
    const double standard_min = cb_learn_quantile(
        app->session.learn, film->pot, film->drying->pot_sd, film->drying->standard_min, .5, 0);
    return rate > 0 ? standard_min / rate : (double)NAN;
}

struct cb_thanks_usual cb_thanks_usual(const struct cb_app *app,
                                       const struct cb_event *const *events, size_t count)
{
    struct cb_thanks_usual usual = {.unit = NULL};
    for (size_t i = 0; i < count && !usual.unit; i++) {
        if (events[i]->kind == CB_EVENT_CHECKED) {
            usual.unit = events[i]->unit;
            usual.film = (struct cb_film_key){(int)cb_event_int(events[i], CB_FIELD_FIGURE, 0),
                                              (int)cb_event_int(events[i], CB_FIELD_STAGE, 0),
                                              (int)cb_event_int(events[i], CB_FIELD_COAT, 0)};
        }
    }
    usual.min = usual_min(app, find_film(app, usual.unit, usual.film));
    return usual;
}

static void thank(struct cb_app *app, const struct cb_thanks_usual *before)
{
    const struct cb_film *film = find_film(app, before->unit, before->film);
    const double min = usual_min(app, film);
    if (!film || !(fabs(min - before->min) >= MOVED * before->min)) {
        return;
    }
    const char *paint = cb_utf8_clean(&app->frame, film->paint, NAME_COLUMNS);
    char now[32], then[32];
    cb_words_span((int64_t)(min * (double)CB_MS_PER_MIN), now);
    cb_words_span((int64_t)(before->min * (double)CB_MS_PER_MIN), then);
    if (strcmp(now, then) == 0) {
        return;
    }
    char *unit = strchr(then, ' ');
    if (unit && strcmp(unit, " min") == 0 && strstr(now, " min")) {
        *unit = '\0'; /* said once */
    }
    cb_app_flash(app, "learned: %s usually %s here, not %s", paint, now, then);
}

/* Since when nobody has said of a film how it was found, or that it came up: in this sitting. */
static int64_t silent_since_ms(const struct cb_app *app)
{
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    for (size_t i = count; i-- > 0;) {
        if ((events[i]->kind == CB_EVENT_CHECKED || events[i]->kind == CB_EVENT_LIFTED) &&
            cb_bench_in_force(app->session.bench, i)) {
            const int64_t at_ms = cb_bench_event_ms(app->session.bench, i);
            return at_ms > app->session.opened_ms ? at_ms : app->session.opened_ms;
        }
    }
    return app->session.opened_ms;
}

/* The films beneath the last coats in a row that went on before their ring, without a word; the
 * newest first. */
static size_t find_early(const struct cb_app *app, const struct cb_unit *unit,
                         const struct cb_film *early[CB_FIGURES_MAX])
{
    const int64_t since_ms = silent_since_ms(app);
    size_t count = 0;
    for (size_t i = unit ? unit->film_count : 0; i-- > 0 && count < CB_FIGURES_MAX;) {
        const struct cb_film *film = &unit->films[i];
        const struct cb_film *below = NULL;
        if (film->on_ms < since_ms) {
            break;
        }
        if (film->stage == 0 || film->lifted_ms != CB_TIME_NONE) {
            continue;
        }
        cb_scene_chance_below(app->session.bench, app->session.learn, unit, film, &below);
        if (below && below->check == CB_CHECK_NONE && is_learned(below)) {
            early[count++] = below;
            continue;
        }
        for (size_t k = 0; k < unit->film_count; k++) {
            if (unit->films[k].figure == film->figure && unit->films[k].next_ms == film->on_ms) {
                return count; /* the last one that waited */
            }
        }
    }
    return count;
}

static void ask(struct cb_app *app)
{
    const struct cb_film *early[CB_FIGURES_MAX];
    const size_t count = find_early(app, cb_app_unit(app), early);
    if (count < ASK_AFTER) {
        app->thanks.ask_at = ASK_AFTER;
    } else if (count >= app->thanks.ask_at && !app->look.flash[0]) {
        app->thanks.ask_at = 2 * count; /* who does not answer is not asked at each coat */
        app->thanks.asked = true;
        cb_app_flash(app, "you paint before it rings: were they dry? %s: ring sooner",
                     cb_app_key(app, CB_ACTION_DRY));
    }
}

void cb_thanks_stored(struct cb_app *app, const struct cb_event *const *events, size_t count,
                      const struct cb_thanks_usual *before)
{
    bool coat = false;
    for (size_t i = 0; i < count; i++) {
        coat = coat || (events[i]->kind == CB_EVENT_COAT_ON && !cb_event_is_stroke(events[i]));
    }
    if (before->unit && !app->session.history_due) { /* else it may yet be another time */
        thank(app, before);
    }
    if (coat) {
        ask(app);
    }
}

void cb_thanks_key(struct cb_app *app)
{
    app->thanks.stood = app->thanks.asked;
    app->thanks.asked = false;
}

bool cb_thanks_act(struct cb_app *app, enum cb_action action)
{
    const struct cb_film *early[CB_FIGURES_MAX];
    const struct cb_unit *unit = cb_app_unit(app);
    if (action != CB_ACTION_DRY || !app->thanks.stood || app->nav.count > 0 || !unit ||
        !cb_app_may_write(app)) {
        return false;
    }
    const struct cb_event *events[CB_FIGURES_MAX];
    const size_t count = find_early(app, unit, early);
    for (size_t i = 0; i < count; i++) {
        const struct cb_film *film = early[count - 1 - i];
        struct cb_event_make make;
        cb_event_begin(&make, &app->frame, CB_EVENT_CHECKED, unit->id, &app->session.now);
        cb_event_add_int(&make, CB_FIELD_FIGURE, film->figure);
        cb_event_add_int(&make, CB_FIELD_STAGE, film->stage);
        cb_event_add_int(&make, CB_FIELD_COAT, film->coat);
        cb_event_add_text(&make, CB_FIELD_FOUND, "dry");
        cb_event_add_time(&make, CB_FIELD_SEEN_AT,
                          cb_bench_wall(app->session.bench, &app->session.now, film->next_ms));
        events[i] = cb_event_take(&make);
    }
    cb_app_store(app, events, count);
    return count > 0;
}

/* From when to when, and the stage that the press put on; 0: none. */
struct between {
    int64_t from_ms, to_ms;
    int stage;
};

static struct between before_press(const struct cb_app *app, const char *press)
{
    struct between between = {CB_TIME_NONE, CB_TIME_NONE, 0};
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    for (size_t i = count; i-- > 0;) {
        if (!events[i]->press || events[i]->kind == CB_EVENT_PINGED) {
            continue;
        }
        if (strcmp(events[i]->press, press) == 0) {
            between.to_ms = cb_bench_event_ms(app->session.bench, i);
            between.stage = events[i]->kind == CB_EVENT_COAT_ON
                                ? (int)cb_event_int(events[i], CB_FIELD_STAGE, 0)
                                : between.stage;
        } else if (between.to_ms != CB_TIME_NONE) {
            between.from_ms = cb_bench_event_ms(app->session.bench, i);
            break;
        }
    }
    return between;
}

char *cb_thanks_dried(const struct cb_app *app, const char *press, struct cb_arena *arena)
{
    const struct between between = before_press(app, press);
    const struct cb_unit *unit = cb_app_unit(app);
    struct cb_str out = {0};
    for (int stage = 1; unit && stage <= (int)unit->recipe->stage_count; stage++) {
        int figures[CB_FIGURES_MAX];
        size_t count = 0;
        for (int figure = 1; figure <= unit->figures; figure++) {
            const struct cb_film *film =
                cb_bench_film(unit, figure, stage, cb_bench_coats_on(unit, figure, stage));
            if (film && film->next_ms == CB_TIME_NONE && film->pinged_ms != CB_TIME_NONE &&
                film->pinged_ms >= between.from_ms && film->pinged_ms < between.to_ms &&
                cb_words_painted(unit, stage) &&
                !cb_ping_was_dry(app, film)) { /* of those the line said it then */
                figures[count++] = figure;
            }
        }
        if (count == 0) {
            continue;
        }
        const bool first = out.length == 0;
        cb_str_addf(&out, "%s", first ? "; dry now: " : " and ");
        if (stage != between.stage || !first) {
            cb_str_addf(&out, "%s on ",
                        cb_utf8_clean(arena, cb_words_paint(unit, stage), NAME_COLUMNS));
        }
        cb_str_addf(&out, "%s", cb_words_figures(arena, figures, count));
    }
    char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}
