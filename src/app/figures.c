/* SPDX-License-Identifier: MIT */
#include "app/figures.h"

#include "app/state.h"

int cb_figures_bracketed(const struct cb_app *app, const struct cb_scene *scene)
{
    return app->nav.at_figure    ? app->nav.at_figure
           : scene->proposal.any ? scene->proposal.figure
                                 : 0;
}

static size_t count_of(const struct cb_app *app, size_t otherwise)
{
    return app->nav.count > 0 ? (size_t)app->nav.count : otherwise;
}

static const struct cb_event *event_of(struct cb_arena *arena, enum cb_event_kind kind,
                                       const char *unit, int figure, const struct cb_moment *now)
{
    struct cb_event_make make;
    cb_event_begin(&make, arena, kind, unit, now);
    cb_event_add_int(&make, CB_FIELD_FIGURE, figure);
    return cb_event_take(&make);
}

const struct cb_event *cb_figures_park_event(struct cb_arena *arena, const char *unit, int figure,
                                             const struct cb_moment *now)
{
    return event_of(arena, CB_EVENT_FIGURE_PARKED, unit, figure, now);
}

static int coats_left(const struct cb_unit *unit, int figure)
{
    int left = 0;
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        const int wanted = cb_bench_coats(unit, figure, stage);
        const int on = cb_bench_coats_on(unit, figure, stage);
        left += !unit->recipe->stages[stage - 1].optional && wanted > on ? wanted - on : 0;
    }
    return left;
}

int cb_figures_left(const struct cb_unit *unit)
{
    int left = 0;
    for (int figure = 1; figure <= unit->figures; figure++) {
        left += unit->figure[figure].parked ? 0 : coats_left(unit, figure);
    }
    return left;
}

int cb_figures_later(const struct cb_unit *unit)
{
    int count = 0;
    bool first = false; /* the one that goes first may be parked as well: then it is not done */
    for (int figure = 1; figure <= unit->figures; figure++) {
        count += unit->figure[figure].later;
        first = first || !unit->figure[figure].parked;
    }
    return first ? count : 0;
}

int cb_figures_lacking(const struct cb_unit *unit, int figures[CB_FIGURES_MAX], size_t *count)
{
    int coats = 0;
    *count = 0;
    for (int figure = 1; figure <= unit->figures; figure++) {
        const int left = unit->figure[figure].parked ? coats_left(unit, figure) : 0;
        if (left > 0) {
            figures[(*count)++] = figure;
            coats += left;
        }
    }
    return coats;
}

char *cb_figures_done(const struct cb_unit *unit, bool brief, struct cb_arena *arena, bool *none)
{
    int figures[CB_FIGURES_MAX];
    size_t count;
    cb_figures_lacking(unit, figures, &count);
    *none = count > 0 && count == (size_t)unit->figures;
    if (*none) {
        return cb_arena_text(arena, unit->figures == 1 ? "the figure is parked"
                                                       : "all figures are parked");
    }
    if (count == 0) {
        return cb_arena_text(arena, "every coat is on");
    }
    return brief ? cb_arena_text(arena, "all but the parked have every coat")
                 : cb_arena_printf(arena, "every coat is on but for the parked: %s",
                                   cb_words_figures(arena, figures, count));
}

bool cb_figures_go_on(struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    const struct cb_unit *unit = scene->unit;
    if (!unit || !scene->all_done || cb_figures_later(unit) == 0) {
        return false;
    }
    if (!cb_app_may_write(app)) {
        return true;
    }
    const struct cb_event *events[CB_FIGURES_MAX];
    int figures[CB_FIGURES_MAX];
    size_t count = 0;
    for (int figure = 1; figure <= unit->figures; figure++) {
        if (unit->figure[figure].later) {
            figures[count] = figure;
            events[count++] =
                event_of(&app->frame, CB_EVENT_FIGURE_BACK, unit->id, figure, &app->session.now);
        }
    }
    cb_app_flash(app, "the same for %s; %s takes it back",
                 cb_words_figures(&app->frame, figures, count), cb_app_key(app, CB_ACTION_UNDO));
    cb_nav_go(app, 0, 0);
    cb_app_store(app, events, count);
    return true;
}

/* By a count the next ones that are as it is, parked or not. */
static void park(struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    const struct cb_unit *unit = scene->unit;
    const int first = unit->figures == 1 ? 1 : cb_figures_bracketed(app, scene);
    if (first == 0) {
        cb_app_flash(app, "go to a figure first");
        return;
    }
    const bool back = unit->figure[first].parked;
    const struct cb_event *events[CB_FIGURES_MAX];
    int figures[CB_FIGURES_MAX];
    size_t count = 0;
    for (int i = 0; i < unit->figures && count < count_of(app, 1); i++) {
        const int figure = (first - 1 + i) % unit->figures + 1;
        if (unit->figure[figure].parked == back) {
            figures[count] = figure;
            events[count++] =
                event_of(&app->frame, back ? CB_EVENT_FIGURE_BACK : CB_EVENT_FIGURE_PARKED,
                         unit->id, figure, &app->session.now);
        }
    }
    const char *list = cb_words_figures(&app->frame, figures, count);
    const char *others = (int)count < app->nav.count ? ", no other figure," : "";
    const char *are = count == 1 ? "is" : "are";
    if (back) {
        cb_app_flash(app, "%s%s %s back; %s takes it back", list, others, are,
                     cb_app_key(app, CB_ACTION_UNDO));
    } else {
        cb_app_flash(app, "%s%s %s parked, no more offered; %s takes it back", list, others, are,
                     cb_app_key(app, CB_ACTION_UNDO));
    }
    cb_nav_go(app, back ? first : 0, 0);
    cb_app_store(app, events, count);
}

static bool lies_elsewhere(const struct cb_film *film)
{
    return film->place != 0 && film->stage > 0 && film->lifted_ms == CB_TIME_NONE &&
           film->next_ms == CB_TIME_NONE && film->check != CB_CHECK_DRY;
}

/* Where the figure's film lies; NULL: at the bench. */
static const char *place_of(const struct cb_bench *bench, const struct cb_unit *unit, int figure)
{
    for (size_t i = unit->film_count; i-- > 0;) {
        if (unit->films[i].figure == figure && lies_elsewhere(&unit->films[i])) {
            return cb_bench_place_name(bench, unit->films[i].place);
        }
    }
    return NULL;
}

const char *cb_figures_elsewhere(const struct cb_bench *bench, const struct cb_unit *unit, int from,
                                 int figures[CB_FIGURES_MAX], size_t *count)
{
    const char *place = NULL;
    *count = 0;
    for (int i = 0; i < unit->figures; i++) {
        const int figure = (from - 1 + i) % unit->figures + 1;
        const char *own = place_of(bench, unit, figure);
        if (own != NULL) {
            figures[(*count)++] = figure;
            place = place != NULL ? place : own;
        }
    }
    return place;
}

/* The unit in front, else the first whose figures lie elsewhere; NULL: none. */
static const struct cb_unit *find_elsewhere(const struct cb_app *app, const struct cb_scene *scene,
                                            int figures[CB_FIGURES_MAX], size_t *count)
{
    const struct cb_bench *bench = app->session.bench;
    const int bracketed = scene->unit ? cb_figures_bracketed(app, scene) : 0;
    *count = 0;
    if (scene->unit &&
        cb_figures_elsewhere(bench, scene->unit, bracketed > 0 ? bracketed : 1, figures, count)) {
        return scene->unit;
    }
    for (size_t i = 0; i < cb_bench_unit_count(bench); i++) {
        const struct cb_unit *unit = cb_bench_unit(bench, i);
        if (!unit->finished && cb_figures_elsewhere(bench, unit, 1, figures, count)) {
            return unit;
        }
    }
    return NULL;
}

static void bring_in(struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    int figures[CB_FIGURES_MAX];
    size_t count;
    const struct cb_unit *unit = find_elsewhere(app, scene, figures, &count);
    if (!unit) {
        cb_app_flash(app, "nothing dries elsewhere");
        return;
    }
    const size_t wanted = count_of(app, count);
    count = wanted < count ? wanted : count;
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_BROUGHT_IN, unit->id, &app->session.now);
    cb_event_add_figures(&make, figures, count);
    cb_app_flash(app, "brought in from %.40s: %s%s%.80s%s; %s takes it back",
                 place_of(app->session.bench, unit, figures[0]),
                 cb_words_figures(&app->frame, figures, count), unit == scene->unit ? "" : " of ",
                 unit == scene->unit ? "" : unit->name, count < wanted ? ", no other figure" : "",
                 cb_app_key(app, CB_ACTION_UNDO));
    cb_app_store_one(app, &make);
}

bool cb_figures_act(struct cb_app *app, enum cb_action action)
{
    if (action == CB_ACTION_PARK) {
        park(app);
    } else if (action == CB_ACTION_BROUGHT_IN) {
        bring_in(app);
    }
    return action == CB_ACTION_PARK || action == CB_ACTION_BROUGHT_IN;
}
