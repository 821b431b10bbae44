/* SPDX-License-Identifier: MIT */
#include "app/films.h"

#include "app/figures.h"
#include "app/state.h"

#define HELPED_S 30.0 /* warm air on one film (own judgement) */
/* Under that chance an answer "dry" is more likely the wrong key, or the wrong film. */
#define LIKELY_WET .10

/* coat 0: of the whole stage */
static void begin(struct cb_app *app, struct cb_event_make *make, enum cb_event_kind kind,
                  const struct cb_unit *unit, int figure, int stage, int coat)
{
    cb_event_begin(make, &app->frame, kind, unit->id, &app->session.now);
    cb_event_add_int(make, CB_FIELD_FIGURE, figure);
    cb_event_add_int(make, CB_FIELD_STAGE, stage);
    if (coat > 0) {
        cb_event_add_int(make, CB_FIELD_COAT, coat);
    }
}

static const struct cb_event *film_event(struct cb_app *app, enum cb_event_kind kind,
                                         const struct cb_unit *unit, int figure, int stage,
                                         int coat)
{
    struct cb_event_make make;
    begin(app, &make, kind, unit, figure, stage, coat);
    return cb_event_take(&make);
}

static size_t count_of(const struct cb_app *app)
{
    const size_t count = app->nav.count > 0 ? (size_t)app->nav.count : 1;
    return count < CB_FIGURES_MAX ? count : CB_FIGURES_MAX;
}

/* What was done, and to what, as the answer to a key that names neither. */
static void say_done(struct cb_app *app, const char *done, const char *what, const int *figures,
                     size_t count)
{
    cb_app_flash(app, "%s: %.80s on %s%s; %s takes it back", done, what,
                 cb_words_figures(&app->frame, figures, count),
                 (int)count < app->nav.count ? ", no other figure" : "",
                 cb_app_key(app, CB_ACTION_UNDO));
}

static bool is_open(const struct cb_film *film)
{
    return film->lifted_ms == CB_TIME_NONE && film->next_ms == CB_TIME_NONE &&
           film->check != CB_CHECK_DRY;
}

size_t cb_films_meant(const struct cb_app *app, const struct cb_scene *scene,
                      int figures[CB_FIGURES_MAX], bool *all)
{
    const size_t wanted = count_of(app);
    size_t count = 0, there = 0;
    *all = false;
    if (!scene->focus) {
        return 0;
    }
    const struct cb_unit *unit = scene->focus->unit;
    const struct cb_film *film = scene->focus->film;
    for (int i = 0; i < unit->figures; i++) {
        const int figure = (film->figure - 1 + i) % unit->figures + 1;
        const struct cb_film *own = cb_bench_film(unit, figure, film->stage, film->coat);
        if (own && (is_open(own) || own == film)) {
            there++;
            if (count < wanted) {
                figures[count++] = figure;
            }
        }
    }
    *all = count == there;
    return count;
}

static double least_chance(const struct cb_app *app, const struct cb_scene *scene,
                           const int *figures, size_t count)
{
    const struct cb_film *film = scene->focus->film;
    const struct cb_unit *unit = scene->focus->unit;
    double least = 1;
    for (size_t i = 0; i < count; i++) {
        const struct cb_forecast forecast = cb_forecast_film(
            app->session.bench, app->session.learn,
            cb_bench_film(unit, figures[i], film->stage, film->coat), scene->now_ms);
        least = !forecast.dry && forecast.chance < least ? forecast.chance : least;
    }
    return least;
}

/* An answer is doubted once, if that is unlikely of the least likely film that it is about. */
static bool asks_again(struct cb_app *app, const struct cb_unit *unit, const struct cb_film *film,
                       double least)
{
    if (least >= LIKELY_WET || cb_ask_is_sure(app, CB_ACTION_DRY, false)) {
        return false;
    }
    char chance[8];
    cb_words_chance(least, chance);
    cb_ask_about(app, CB_ACTION_DRY, false);
    if (cb_words_painted(unit, film->stage)) {
        cb_app_flash(app, "it is thought wet, %s: %s again", chance,
                     cb_app_key(app, CB_ACTION_DRY));
    } else {
        cb_app_flash(app, "its wait is not over: %s again", cb_app_key(app, CB_ACTION_DRY));
    }
    return true;
}

const struct cb_scene_film *cb_films_asked(const struct cb_app *app, const struct cb_scene *scene)
{
    return scene->stroke.film && app->nav.at_figure == 0 && app->nav.count == 0 ? &scene->stroke
                                                                                : scene->focus;
}

static const struct cb_event *check_event(struct cb_app *app, const struct cb_unit *unit,
                                          int figure, const struct cb_film *film, bool dry)
{
    struct cb_event_make make;
    begin(app, &make, CB_EVENT_CHECKED, unit, figure, film->stage, film->coat);
    cb_event_add_text(&make, CB_FIELD_FOUND, dry ? "dry" : "wet");
    return cb_event_take(&make);
}

static void check_stroke(struct cb_app *app, const struct cb_scene_film *stroke, bool dry)
{
    if (!dry || !asks_again(app, stroke->unit, stroke->film, stroke->forecast.chance)) {
        const struct cb_event *event = check_event(app, stroke->unit, 0, stroke->film, dry);
        cb_app_store(app, &event, 1);
    }
}

static void check(struct cb_app *app, bool dry)
{
    const struct cb_scene *scene = cb_app_scene(app);
    if (cb_films_asked(app, scene) == &scene->stroke) {
        check_stroke(app, &scene->stroke, dry);
        return;
    }
    const struct cb_event *events[CB_FIGURES_MAX];
    int figures[CB_FIGURES_MAX];
    bool all;
    const size_t count = cb_films_meant(app, scene, figures, &all);
    if (count == 0) {
        cb_app_flash(app, "no coat here to answer for");
        return;
    }
    const struct cb_film *film = scene->focus->film;
    const struct cb_unit *unit = scene->focus->unit;
    if (dry && asks_again(app, unit, film, least_chance(app, scene, figures, count))) {
        return;
    }
    for (size_t i = 0; i < count; i++) {
        events[i] = check_event(app, unit, figures[i], film, dry);
    }
    if ((int)count < app->nav.count) {
        const bool painted = cb_words_painted(unit, film->stage);
        say_done(app,
                 dry       ? cb_words_dried(unit, film->stage)
                 : painted ? "still wet"
                           : "not yet",
                 cb_words_film(unit, film), figures, count);
    }
    cb_app_store(app, events, count);
}

int cb_films_brush_stage(const struct cb_app *app, const struct cb_scene *scene)
{
    const struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    const bool on_brush = facts.last_stage > 0 && facts.session_open &&
                          facts.last_mark_ms >= facts.session_opened_ms &&
                          facts.last_unit == cb_bench_front(app->session.bench);
    const int stage = on_brush ? facts.last_stage : scene->proposal.stage;
    return scene->unit && stage > 0 && cb_bench_stage_pot(scene->unit, stage) ? stage : 0;
}

/* A stroke of what is on the brush, where it may be touched. */
static void stroke(struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    const int stage = cb_films_brush_stage(app, scene);
    int coat = 1;
    if (stage == 0) {
        cb_app_flash(app, "no paint is on the brush: nothing for the scrap");
        return;
    }
    while (cb_bench_stroke(scene->unit, stage, coat)) {
        coat++;
    }
    if (coat > CB_EVENT_COATS_MAX) {
        cb_app_flash(app, "%d strokes of a stage are the most", CB_EVENT_COATS_MAX);
        return;
    }
    struct cb_event_make make;
    begin(app, &make, CB_EVENT_COAT_ON, scene->unit, 0, stage, coat);
    cb_app_store_one(app, &make);
}

/* What came up is the last film of the figure in brackets: under the brush, as the next coat went
 * on. By a count, the same coat where it is the last one. */
static void lifted(struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    int figure = scene->unit ? cb_figures_bracketed(app, scene) : 0;
    const struct cb_film *film = figure ? cb_scene_last_film(scene->unit, figure) : NULL;
    if (!film) {
        cb_app_flash(app,
                     figure ? "no coat on %d that could have been lifted" : "go to a figure first",
                     figure);
        return;
    }
    const struct cb_event *events[CB_FIGURES_MAX];
    int figures[CB_FIGURES_MAX];
    size_t count = 0;
    for (int i = 0; i < scene->unit->figures && count < count_of(app); i++) {
        const int other = (figure - 1 + i) % scene->unit->figures + 1;
        const struct cb_film *last = cb_scene_last_film(scene->unit, other);
        if (last && last->stage == film->stage && last->coat == film->coat) {
            figures[count] = other;
            events[count++] =
                film_event(app, CB_EVENT_LIFTED, scene->unit, other, film->stage, film->coat);
        }
    }
    say_done(app, "the next coat lifted it, redo it", cb_words_film(scene->unit, film), figures,
             count);
    cb_app_store(app, events, count);
}

static void helped(struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    const struct cb_event *events[CB_FIGURES_MAX];
    int figures[CB_FIGURES_MAX];
    bool all;
    const size_t count = cb_films_meant(app, scene, figures, &all);
    if (count == 0) {
        cb_app_flash(app, "no wet coat here to dry");
        return;
    }
    const struct cb_film *film = scene->focus->film;
    for (size_t i = 0; i < count; i++) {
        struct cb_event_make make;
        begin(app, &make, CB_EVENT_HELPED, scene->focus->unit, figures[i], film->stage, film->coat);
        cb_event_add_text(&make, CB_FIELD_AIR, cb_air_name(CB_AIR_DRYER));
        cb_event_add_number(&make, CB_FIELD_SECONDS, HELPED_S);
        events[i] = cb_event_take(&make);
    }
    say_done(app, "warm air", cb_words_film(scene->focus->unit, film), figures, count);
    cb_app_store(app, events, count);
}

bool cb_films_place(const struct cb_app *app, const struct cb_scene *scene, bool slip, int *figure,
                    int *stage)
{
    if (!scene->unit) {
        return false;
    }
    struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    *figure = cb_figures_bracketed(app, scene);
    *stage = app->nav.at_stage ? app->nav.at_stage : scene->proposal.stage;
    if ((*figure == 0 || *stage == 0) && facts.last_figure > 0 &&
        facts.last_unit == cb_bench_front(app->session.bench)) {
        *stage = *figure == 0 || *figure == facts.last_figure ? facts.last_stage : *stage;
        *figure = *figure == 0 ? facts.last_figure : *figure;
    }
    const struct cb_film *film = *figure ? cb_scene_last_film(scene->unit, *figure) : NULL;
    if (film && ((slip && !app->nav.at_stage) || *stage == 0)) {
        *stage = film->stage;
    }
    return *figure >= 1 && *stage >= 1 && *figure <= scene->unit->figures &&
           *stage <= (int)scene->unit->recipe->stage_count;
}

/* Does a count go on to this figure? */
static bool can_change(const struct cb_unit *unit, enum cb_event_kind kind, int figure, int stage)
{
    const int coats = cb_bench_coats(unit, figure, stage);
    const int on = cb_bench_coats_on(unit, figure, stage);
    if (unit->figure[figure].parked) {
        return false;
    }
    return kind == CB_EVENT_TIDIED       ? on > 0
           : kind == CB_EVENT_COAT_ADDED ? coats > 0 && coats < CB_EVENT_COATS_MAX
                                         : coats > on;
}

static void change_figure(struct cb_app *app, enum cb_event_kind kind, const char *done)
{
    const struct cb_scene *scene = cb_app_scene(app);
    int figure, stage;
    if (!cb_films_place(app, scene, kind == CB_EVENT_TIDIED, &figure, &stage)) {
        cb_app_flash(app, "go to a figure first");
        return;
    }
    const char *name = scene->unit->recipe->stages[stage - 1].name;
    int coats = cb_bench_coats(scene->unit, figure, stage);
    if (kind == CB_EVENT_COAT_SPARED && coats <= cb_bench_coats_on(scene->unit, figure, stage)) {
        cb_app_flash(app, "no coat left to spare at %s on %d", name, figure);
        return;
    }
    if (kind == CB_EVENT_COAT_ADDED && coats >= CB_EVENT_COATS_MAX) {
        cb_app_flash(app, "%d coats are the most", CB_EVENT_COATS_MAX);
        return;
    }
    const struct cb_event *events[CB_FIGURES_MAX];
    int figures[CB_FIGURES_MAX];
    size_t count = 0;
    for (int i = 0; i < scene->unit->figures && count < count_of(app); i++) {
        const int other = (figure - 1 + i) % scene->unit->figures + 1;
        if (i == 0 || can_change(scene->unit, kind, other, stage)) {
            figures[count] = other;
            events[count++] = film_event(app, kind, scene->unit, other, stage, 0);
        }
    }
    say_done(app, done, name, figures, count);
    cb_app_store(app, events, count);
    if (kind == CB_EVENT_STAGE_LEFT_OUT && app->nav.at_figure && count > 0) {
        cb_offer_next(app, figures[count - 1], stage);
    }
}

bool cb_films_act(struct cb_app *app, enum cb_action action)
{
    static const struct {
        enum cb_action action;
        enum cb_event_kind kind;
        const char *done;
    } changes[] = {
        {CB_ACTION_TIDIED, CB_EVENT_TIDIED, "a slip tidied up"},
        {CB_ACTION_COAT_ADD, CB_EVENT_COAT_ADDED, "a coat more"},
        {CB_ACTION_COAT_SPARE, CB_EVENT_COAT_SPARED, "a coat less"},
        {CB_ACTION_LEAVE_OUT, CB_EVENT_STAGE_LEFT_OUT, "left out"},
    };
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
        if (changes[i].action == action) {
            change_figure(app, changes[i].kind, changes[i].done);
            return true;
        }
    }
    if (action == CB_ACTION_DRY || action == CB_ACTION_WET) {
        check(app, action == CB_ACTION_DRY);
    } else if (action == CB_ACTION_SCRAP) {
        stroke(app);
    } else if (action == CB_ACTION_LIFTED) {
        lifted(app);
    } else if (action == CB_ACTION_HELPED) {
        helped(app);
    } else {
        return false;
    }
    return true;
}
