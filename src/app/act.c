/* SPDX-License-Identifier: MIT */
#include "app/act.h"

#include <stdio.h>
#include <string.h>

#include "app/coach.h"
#include "app/coats.h"
#include "app/figures.h"
#include "app/films.h"
#include "app/pictures.h"
#include "app/scene.h"
#include "app/state.h"
#include "base/utf8.h"

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
    cb_nav_go(app, 0, 0); /* the offer goes by the log alone */
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
        cb_app_flash(app, "nothing to redo");
        return;
    }
    cb_nav_go(app, 0, 0);
    bench_event(app, CB_EVENT_UNDONE, CB_FIELD_OF, press);
}

/* What f leaves undone; NULL: nothing. Figures that wait for the first ones are no surprise. */
static const char *undone_by_finish(struct cb_app *app, const struct cb_unit *unit)
{
    const int left = cb_figures_left(unit);
    if (left > 0) {
        return cb_arena_printf(&app->frame,
                               left == 1 ? "%d coat still to do" : "%d coats still to do", left);
    }
    int figures[CB_FIGURES_MAX];
    size_t count;
    const int coats = cb_figures_lacking(unit, figures, &count);
    return coats == 0 || cb_figures_later(unit) > 0
               ? NULL
               : cb_arena_printf(&app->frame, "%s %s parked with %d coat%s to do",
                                 cb_words_figures(&app->frame, figures, count),
                                 count == 1 ? "is" : "are", coats, coats == 1 ? "" : "s");
}

/* Then what there is to see is how long it took. */
static void finish(struct cb_app *app)
{
    const struct cb_unit *unit = cb_app_unit(app);
    if (!unit) {
        return;
    }
    const char *undone = undone_by_finish(app, unit);
    if (undone && !cb_ask_is_sure(app, CB_ACTION_FINISH, false)) {
        cb_ask_about(app, CB_ACTION_FINISH, false);
        cb_app_flash(app, "%s: %s again calls it done", undone, cb_app_key(app, CB_ACTION_FINISH));
        return;
    }
    cb_nav_home(app);
    cb_nav_open(app, CB_ACTION_VIEW_REVIEW);
    cb_hindsight_at(app, unit->id);
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_UNIT_FINISHED, unit->id, &app->session.now);
    cb_app_store_one(app, &make);
    const char *key = cb_app_key(app, CB_ACTION_UNDO);
    int room = app->look.columns - (int)strlen(" is finished;  takes it back") - 2 -
               (int)strlen(key); /* the edges */
    cb_app_flash(app, "%s is finished; %s takes it back",
                 cb_utf8_clean(&app->frame, unit->name, room < 8 ? 8 : room), key);
    cb_app_effect(app, CB_EFFECT_LIST_RECIPES);
}

/* The press of who comes back: no coat was painted meanwhile. */
static bool end_pause(struct cb_app *app)
{
    const struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    if (!facts.paused) {
        return false;
    }
    char from[CB_CLOCK_SIZE], to[CB_CLOCK_SIZE];
    cb_time_clock(cb_bench_wall(app->session.bench, &app->session.now, facts.pause_begun_ms),
                  &app->session.zone, from);
    cb_time_clock(app->session.now.wall_ms, &app->session.zone, to);
    bench_event(app, CB_EVENT_PAUSE_ENDED, CB_FIELD_OTHER, NULL);
    cb_app_flash(app, "the pause is over (%s to %s); %s marks a coat again", from, to,
                 cb_app_key(app, CB_ACTION_COAT_ON));
    return true;
}

static bool needs_unit(enum cb_action action)
{
    return action != CB_ACTION_UNIT_NEXT && action != CB_ACTION_UNDO && action != CB_ACTION_REDO &&
           action != CB_ACTION_PAUSE;
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
    if (action == CB_ACTION_PICTURE) {
        cb_pictures_open(app);
        return;
    }
    if (action == CB_ACTION_BOTTLE_NEW || action == CB_ACTION_PAINT_JOIN) {
        cb_app_flash(app, "%s is for a paint in the pots: %s", cb_app_key(app, action),
                     cb_app_key(app, CB_ACTION_VIEW_POTS));
        return;
    }
    if (!cb_app_may_write(app) || (needs_unit(action) && !cb_app_unit(app))) {
        return;
    }
    if (action == CB_ACTION_COAT_ON || action == CB_ACTION_COAT_ON_REST) {
        if (!end_pause(app)) {
            cb_coats_on(app, action == CB_ACTION_COAT_ON_REST);
        }
    } else if (action == CB_ACTION_DONE_BEFORE) {
        cb_coats_before(app);
    } else if (cb_films_act(app, action) || cb_figures_act(app, action)) {
        return;
    } else if (action == CB_ACTION_PAUSE) {
        bool paused = cb_bench_facts(app->session.bench).paused;
        bench_event(app, paused ? CB_EVENT_PAUSE_ENDED : CB_EVENT_PAUSE_BEGUN, CB_FIELD_OTHER,
                    NULL);
    } else if (action == CB_ACTION_UNIT_NEXT) {
        cb_same_go(app);
    } else if (action == CB_ACTION_UNDO) {
        undo(app);
    } else if (action == CB_ACTION_REDO) {
        redo(app);
    } else if (action == CB_ACTION_MUTE) {
        cb_coach_mute(app);
    } else if (action == CB_ACTION_FINISH) {
        finish(app);
    } else if (action == CB_ACTION_EDIT) {
        cb_edit_open(app);
    } else if (action == CB_ACTION_RELOAD) {
        cb_start_reload(app);
    }
}
