/* SPDX-License-Identifier: MIT */
#include "app/act.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/scene.h"
#include "app/state.h"
#include "base/utf8.h"

#define CORRECTION_PM_S 30.0 /* "-6" is a whole number of minutes: half of one */
#define HELPED_S        60.0 /* warm air, when no count of minutes is given (estimate) */
/* A count spreads over at most this many times the expected hands-on of each coat, so that the
 * night before is not taken for brush work (the rule of the review, coatbell(1)). */
#define SPREAD_TIMES 3.0

static const struct cb_event *film_event(struct cb_app *app, enum cb_event_kind kind,
                                         const struct cb_unit *unit, int figure, int stage,
                                         int coat)
{
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, kind, unit->id, &app->session.now);
    if (figure > 0) {
        cb_event_add_int(&make, CB_FIELD_FIGURE, figure);
    }
    if (stage > 0) {
        cb_event_add_int(&make, CB_FIELD_STAGE, stage);
    }
    if (coat > 0) {
        cb_event_add_int(&make, CB_FIELD_COAT, coat);
    }
    return cb_event_take(&make);
}

/* When and how surely the coats of one press went on. */
struct dating {
    int64_t back_ms; /* before now */
    double pm_s;
};

static const struct cb_event *coat_event(struct cb_app *app, const struct cb_scene *scene,
                                         int figure, struct dating dating)
{
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_COAT_ON, scene->unit->id, &app->session.now);
    cb_event_add_int(&make, CB_FIELD_FIGURE, figure);
    cb_event_add_int(&make, CB_FIELD_STAGE, scene->proposal.stage);
    cb_event_add_int(&make, CB_FIELD_COAT, scene->proposal.coat);
    if (dating.back_ms > 0) {
        cb_event_add_time(&make, CB_FIELD_ON_AT, app->session.now.wall_ms - dating.back_ms);
    }
    if (dating.pm_s > 0) {
        cb_event_add_number(&make, CB_FIELD_ON_PM_S, dating.pm_s);
    }
    if (scene->stage->place) {
        cb_event_add_text(&make, CB_FIELD_PLACE, scene->stage->place);
    }
    return cb_event_take(&make);
}

/* Figures for a count beyond those that are ready: the next that want this very coat. */
static size_t pick_figures(struct cb_app *app, const struct cb_scene *scene, size_t wanted,
                           int figures[CB_FIGURES_MAX])
{
    const struct cb_proposal *proposal = &scene->proposal;
    size_t count = 0;
    for (int i = 0; i < proposal->figure_count && count < wanted; i++) {
        figures[count++] = proposal->figures[i];
    }
    for (int i = 0; i < scene->unit->figures && count < wanted; i++) {
        int figure = (proposal->figure - 1 + i) % scene->unit->figures + 1;
        bool have = false;
        for (size_t k = 0; k < count; k++) {
            have = have || figures[k] == figure;
        }
        struct cb_slot slot = cb_next_slot(app->session.bench, app->session.learn, scene->unit,
                                           figure, proposal->stage, scene->now_ms);
        if (!have && slot.coat == proposal->coat &&
            (slot.state == CB_SLOT_READY || slot.state == CB_SLOT_WET ||
             slot.state == CB_SLOT_BESIDE || slot.state == CB_SLOT_TOGETHER)) {
            figures[count++] = figure;
        }
    }
    return count;
}

/* The time over which a count is spread. */
static int64_t spread_ms(struct cb_app *app, const struct cb_scene *scene, size_t count)
{
    struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    int64_t from_ms = facts.last_mark_ms;
    if (from_ms == CB_TIME_NONE || from_ms < scene->unit->begun_ms) {
        from_ms = scene->unit->begun_ms;
    }
    if (facts.session_open && from_ms < facts.session_opened_ms) {
        from_ms = facts.session_opened_ms;
    }
    double most_min =
        SPREAD_TIMES * cb_stage_minutes(scene->stage, app->session.kinds) * (double)count;
    int64_t most_ms = (int64_t)(most_min * (double)CB_MS_PER_MIN);
    int64_t gap_ms = scene->now_ms - from_ms;
    gap_ms = gap_ms > most_ms ? most_ms : gap_ms;
    return gap_ms < 0 ? 0 : gap_ms;
}

/* A coat can't have gone on before its unit was begun or the film beneath it was on: says so. */
static bool is_too_early(struct cb_app *app, const struct cb_scene *scene, int figure, int back_min)
{
    const struct cb_unit *unit = scene->unit;
    const int64_t on_ms = scene->now_ms - back_min * CB_MS_PER_MIN;
    const struct cb_film *over = NULL;
    char clock[6];
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        bool beneath = film->whole || scene->stage->whole || (film->areas & scene->stage->on);
        if (film->figure == figure && film->stage > 0 && film->lifted_ms == CB_TIME_NONE &&
            beneath && film->on_ms >= on_ms && (!over || film->on_ms > over->on_ms)) {
            over = film;
        }
    }
    int64_t since_ms = over ? over->on_ms : unit->begun_ms;
    if (back_min == 0 || (!over && on_ms >= unit->begun_ms)) {
        return false;
    }
    cb_time_clock(cb_bench_wall(app->session.bench, &app->session.now, since_ms),
                  &app->session.zone, clock);
    if (over) {
        cb_app_flash(app, "%d min ago is before %s was on %d, %s; nothing is written", back_min,
                     cb_words_paint(unit, over->stage), figure, clock);
    } else {
        cb_app_flash(app, "%d min ago is before the unit was begun, %s; nothing is written",
                     back_min, clock);
    }
    return true;
}

/* A caution is read by a press of its own; the coat wants the next. */
static void read_cautions(struct cb_app *app, const struct cb_scene *scene)
{
    const struct cb_event *events[sizeof scene->cautions / sizeof *scene->cautions];
    size_t count = 0;
    for (size_t i = 0; i < scene->caution_count; i++) {
        if (!scene->caution_read[i]) {
            struct cb_event_make make;
            cb_event_begin(&make, &app->frame, CB_EVENT_CAUTION_READ, NULL, &app->session.now);
            cb_event_add_text(&make, CB_FIELD_CAUTION, scene->cautions[i].id);
            events[count++] = cb_event_take(&make);
        }
    }
    cb_app_store(app, events, count);
}

static void coat_on(struct cb_app *app, bool rest)
{
    const struct cb_scene *scene = cb_app_scene(app);
    if (!scene->unit || !scene->proposal.any) {
        cb_app_flash(
            app, scene->all_done ? "all coats are on; %s finishes the unit" : "nothing to put on",
            cb_app_key(app, CB_ACTION_FINISH));
        return;
    }
    if (cb_scene_unread(scene)) {
        read_cautions(app, scene);
        return;
    }
    const struct cb_event *events[CB_FIGURES_MAX + 8];
    size_t event_count = 0;
    int figures[CB_FIGURES_MAX];
    bool together = scene->proposal.together;
    size_t wanted = rest || together ? (size_t)scene->proposal.figure_count : 1;
    int back_min = app->nav.minus ? app->nav.count : 0;
    if (app->nav.count > 0 && !app->nav.minus) {
        wanted = (size_t)app->nav.count;
    }
    wanted = wanted < 1 ? 1 : wanted > CB_FIGURES_MAX ? CB_FIGURES_MAX : wanted;
    size_t count = pick_figures(app, scene, wanted, figures);
    for (size_t i = 0; i < count; i++) {
        if (is_too_early(app, scene, figures[i], back_min)) {
            return;
        }
    }
    /* One go has one moment; a count is spread evenly over the time since the last press. */
    int64_t gap_ms = count > 1 && !together ? spread_ms(app, scene, count) : 0;
    for (size_t i = 0; i < count; i++) {
        struct dating dating = {back_min * CB_MS_PER_MIN, back_min > 0 ? CORRECTION_PM_S : 0};
        if (i + 1 < count && gap_ms > 0) {
            dating.back_ms += gap_ms * (int64_t)(count - 1 - i) / (int64_t)count;
            dating.pm_s += (double)gap_ms / (double)count / 2000.0;
        }
        events[event_count++] = coat_event(app, scene, figures[i], dating);
    }
    if (cb_bench_facts(app->session.bench).paused) {
        struct cb_event_make make; /* who paints has come back */
        cb_event_begin(&make, &app->frame, CB_EVENT_PAUSE_ENDED, NULL, &app->session.now);
        events[event_count++] = cb_event_take(&make);
    }
    if (count < wanted && app->nav.count > 0) {
        cb_app_flash(app, "on %s; no other figure wants it",
                     cb_words_figures(&app->frame, figures, count));
    }
    int missing = cb_scene_missing(app->session.bench, app->session.learn, scene);
    if (missing > 0) {
        cb_app_flash(app, "%s on %s, though %s is not on; %s takes it back",
                     cb_words_paint(scene->unit, scene->proposal.stage),
                     cb_words_figures(&app->frame, figures, count),
                     cb_words_paint(scene->unit, missing), cb_app_key(app, CB_ACTION_UNDO));
    }
    cb_nav_go(app, 0, 0);
    cb_app_store(app, events, event_count);
}

static void check(struct cb_app *app, bool dry)
{
    const struct cb_scene *scene = cb_app_scene(app);
    if (!scene->focus) {
        cb_app_flash(app, "no film here to answer for");
        return;
    }
    const struct cb_film *film = scene->focus->film;
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_CHECKED, scene->focus->unit->id, &app->session.now);
    cb_event_add_int(&make, CB_FIELD_FIGURE, film->figure);
    cb_event_add_int(&make, CB_FIELD_STAGE, film->stage);
    cb_event_add_int(&make, CB_FIELD_COAT, film->coat);
    cb_event_add_text(&make, CB_FIELD_FOUND, dry ? "dry" : "wet");
    cb_app_store_one(app, &make);
}

/* The figure in brackets: where the user went, else that of the proposal; 0: none. */
static int bracketed(const struct cb_app *app, const struct cb_scene *scene)
{
    return app->nav.at_figure    ? app->nav.at_figure
           : scene->proposal.any ? scene->proposal.figure
                                 : 0;
}

/* What was done, and to what, as the answer to a key that names neither. */
static void say_done(struct cb_app *app, const char *done, const char *what, int figure)
{
    cb_app_flash(app, "%s: %.80s on %d; %s takes it back", done, what, figure,
                 cb_app_key(app, CB_ACTION_UNDO));
}

/* What came up is the last film of the figure in brackets: under the brush, as the next coat went
 * on. */
static void lifted(struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    int figure = scene->unit ? bracketed(app, scene) : 0;
    const struct cb_film *film = figure ? cb_scene_last_film(scene->unit, figure) : NULL;
    if (!film) {
        cb_app_flash(app, figure ? "no film on %d that could have come up" : "no figure is meant",
                     figure);
        return;
    }
    const struct cb_event *event =
        film_event(app, CB_EVENT_LIFTED, scene->unit, film->figure, film->stage, film->coat);
    say_done(app, "came up", cb_words_paint(scene->unit, film->stage), film->figure);
    cb_app_store(app, &event, 1);
}

static void helped(struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    if (!scene->focus) {
        cb_app_flash(app, "no film here to help");
        return;
    }
    const struct cb_film *film = scene->focus->film;
    double seconds = app->nav.count > 0 && !app->nav.minus ? app->nav.count * 60.0 : HELPED_S;
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_HELPED, scene->focus->unit->id, &app->session.now);
    cb_event_add_int(&make, CB_FIELD_FIGURE, film->figure);
    cb_event_add_int(&make, CB_FIELD_STAGE, film->stage);
    cb_event_add_int(&make, CB_FIELD_COAT, film->coat);
    cb_event_add_text(&make, CB_FIELD_AIR, cb_air_name(CB_AIR_DRYER));
    cb_event_add_number(&make, CB_FIELD_SECONDS, seconds);
    const struct cb_event *event = cb_event_take(&make);
    say_done(app, "warm air", cb_words_paint(scene->focus->unit, film->stage), film->figure);
    cb_app_store(app, &event, 1);
}

/* The figure in brackets and the stage shown with it; for a slip, the stage last put on there. With
 * nothing left to put on: the last coat. */
static bool find_place(struct cb_app *app, const struct cb_scene *scene, bool slip, int *figure,
                       int *stage)
{
    if (!scene->unit) {
        return false;
    }
    struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    *figure = bracketed(app, scene);
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

static void change_figure(struct cb_app *app, enum cb_event_kind kind, const char *done)
{
    const struct cb_scene *scene = cb_app_scene(app);
    int figure, stage;
    if (!find_place(app, scene, kind == CB_EVENT_TIDIED, &figure, &stage)) {
        cb_app_flash(app, "no figure and stage to do that to");
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
    const struct cb_event *event = film_event(app, kind, scene->unit, figure, stage, 0);
    say_done(app, done, name, figure);
    cb_app_store(app, &event, 1);
    if (kind == CB_EVENT_STAGE_LEFT_OUT && app->nav.at_figure) {
        cb_offer_next(app, figure, stage);
    }
}

static void bench_event(struct cb_app *app, enum cb_event_kind kind, enum cb_field field,
                        const char *text)
{
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, kind, NULL, &app->session.now);
    if (text) {
        cb_event_add_text(&make, field, text);
    }
    cb_app_store_one(app, &make);
}

/* The first event of that press, of the last opening; SIZE_MAX: none. */
static void find_press(const struct cb_app *app, const char *press, size_t *first, size_t *opened,
                       bool *begins)
{
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    *first = *opened = SIZE_MAX;
    *begins = false;
    for (size_t i = 0; i < count; i++) {
        if (events[i]->kind == CB_EVENT_SESSION_OPENED) {
            *opened = i;
        }
        if (events[i]->press && strcmp(events[i]->press, press) == 0) {
            *first = *first == SIZE_MAX ? i : *first;
            *begins = *begins || events[i]->kind == CB_EVENT_UNIT_BEGUN;
        }
    }
}

/* What lies before this sitting, and the unit itself, are taken back on a second press alone. */
static void undo(struct cb_app *app)
{
    char *what = NULL;
    const char *press = cb_bench_undoable(app->session.bench, &app->frame, &what);
    if (!press) {
        cb_app_flash(app, "nothing to take back");
        return;
    }
    size_t first, opened;
    bool begins;
    find_press(app, press, &first, &opened, &begins);
    bool earlier = opened != SIZE_MAX && first < opened;
    if ((begins || earlier) && !cb_ask_is_sure(app, CB_ACTION_UNDO, begins)) {
        cb_ask_about(app, CB_ACTION_UNDO, begins);
        cb_app_flash(app, "%s again takes back %s%s", cb_app_key(app, CB_ACTION_UNDO),
                     begins ? "the whole unit: " : "what was done before this sitting: ",
                     what ? what : "the last press");
        return;
    }
    if (earlier) {
        cb_ask_about(app, CB_ACTION_UNDO, false); /* said once, the way back is open */
    }
    bench_event(app, CB_EVENT_UNDONE, CB_FIELD_OF, press);
    cb_nav_stored(app, app->nav.stored_here > 1 ? -2 : -app->nav.stored_here);
    if (app->hindsight.unit) {
        cb_nav_open(app, CB_ACTION_VIEW_BENCH);
    }
}

static void redo(struct cb_app *app)
{
    const char *press = cb_bench_redoable(app->session.bench, &app->frame, NULL);
    if (!press) {
        cb_app_flash(app, "nothing to bring again");
        return;
    }
    bench_event(app, CB_EVENT_UNDONE, CB_FIELD_OF, press);
}

static int coats_left(const struct cb_unit *unit)
{
    int left = 0;
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        for (int figure = 1; figure <= unit->figures; figure++) {
            int wanted = cb_bench_coats(unit, figure, stage);
            int on = cb_bench_coats_on(unit, figure, stage);
            bool counts = !unit->figure[figure].parked && !unit->recipe->stages[stage - 1].optional;
            left += counts && wanted > on ? wanted - on : 0;
        }
    }
    return left;
}

/* Then what there is to see is how long it took. */
static void finish(struct cb_app *app)
{
    const struct cb_unit *unit = cb_app_unit(app);
    if (!unit) {
        return;
    }
    int left = coats_left(unit);
    if (left > 0 && !cb_ask_is_sure(app, CB_ACTION_FINISH, false)) {
        cb_ask_about(app, CB_ACTION_FINISH, false);
        cb_app_flash(app,
                     left == 1 ? "%d coat is not on. %s again finishes all the same"
                               : "%d coats are not on. %s again finishes all the same",
                     left, cb_app_key(app, CB_ACTION_FINISH));
        return;
    }
    cb_nav_home(app);
    cb_nav_open(app, CB_ACTION_VIEW_REVIEW);
    cb_hindsight_at(app, unit->id);
    const struct cb_event *event = film_event(app, CB_EVENT_UNIT_FINISHED, unit, 0, 0, 0);
    cb_app_store(app, &event, 1);
    const char *key = cb_app_key(app, CB_ACTION_UNDO);
    int room = app->look.columns - (int)strlen(" is finished;  takes it back") - 2 -
               (int)strlen(key); /* the edges */
    cb_app_flash(app, "%s is finished; %s takes it back",
                 cb_utf8_clean(&app->frame, unit->name, room < 8 ? 8 : room), key);
    cb_app_effect(app, CB_EFFECT_LIST_RECIPES);
}

static bool needs_unit(enum cb_action action)
{
    return action != CB_ACTION_UNDO && action != CB_ACTION_REDO && action != CB_ACTION_PAUSE;
}

void cb_app_act(struct cb_app *app, enum cb_action action)
{
    static const struct {
        enum cb_action action;
        int figures, stages;
    } ways[] = {
        {CB_ACTION_FIGURE_PREV, -1, 0},
        {CB_ACTION_FIGURE_NEXT, 1, 0},
        {CB_ACTION_STAGE_PREV, 0, -1},
        {CB_ACTION_STAGE_NEXT, 0, 1},
    };
    for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
        if (ways[i].action == action) {
            const int steps = app->nav.count > 0 && !app->nav.minus ? app->nav.count : 1;
            cb_offer_move(app, steps * ways[i].figures, steps * ways[i].stages);
            return;
        }
    }
    if (action == CB_ACTION_VIEW_NEXT) {
        cb_nav_turn(app);
        return;
    }
    if (action == CB_ACTION_QUIT) {
        cb_session_close(app, false);
        return;
    }
    if (!cb_action_is_there(action)) {
        cb_app_flash(app, "%s is not there yet", cb_action_footer(action));
        return;
    }
    if (!cb_app_may_write(app) || (needs_unit(action) && !cb_app_unit(app))) {
        return;
    }
    static const struct {
        enum cb_action action;
        enum cb_event_kind kind;
        const char *done;
    } figure_changes[] = {
        {CB_ACTION_TIDIED, CB_EVENT_TIDIED, "a slip tidied up"},
        {CB_ACTION_COAT_ADD, CB_EVENT_COAT_ADDED, "a coat more"},
        {CB_ACTION_COAT_SPARE, CB_EVENT_COAT_SPARED, "a coat less"},
        {CB_ACTION_LEAVE_OUT, CB_EVENT_STAGE_LEFT_OUT, "left out"},
    };
    for (size_t i = 0; i < sizeof figure_changes / sizeof *figure_changes; i++) {
        if (figure_changes[i].action == action) {
            change_figure(app, figure_changes[i].kind, figure_changes[i].done);
            return;
        }
    }
    if (action == CB_ACTION_COAT_ON || action == CB_ACTION_COAT_ON_REST) {
        coat_on(app, action == CB_ACTION_COAT_ON_REST);
    } else if (action == CB_ACTION_DRY || action == CB_ACTION_WET) {
        check(app, action == CB_ACTION_DRY);
    } else if (action == CB_ACTION_LIFTED) {
        lifted(app);
    } else if (action == CB_ACTION_HELPED) {
        helped(app);
    } else if (action == CB_ACTION_PAUSE) {
        bool paused = cb_bench_facts(app->session.bench).paused;
        bench_event(app, paused ? CB_EVENT_PAUSE_ENDED : CB_EVENT_PAUSE_BEGUN, CB_FIELD_OTHER,
                    NULL);
    } else if (action == CB_ACTION_UNDO) {
        undo(app);
    } else if (action == CB_ACTION_REDO) {
        redo(app);
    } else if (action == CB_ACTION_FINISH) {
        finish(app);
    } else if (action == CB_ACTION_RELOAD) {
        cb_start_reload(app);
    }
}
