/* SPDX-License-Identifier: MIT */
#include "app/hindsight.h"

#include <string.h>

#include "app/state.h"

const struct cb_hindsight *cb_app_hindsight(const struct cb_app *app)
{
    return &app->hindsight;
}

/* Of a unit that was finished before this bench was opened the log gave no coats; a bench that is
 * given no history has the whole log. */
static bool is_whole(const struct cb_app *app, const struct cb_event *finished)
{
    const struct cb_moment moment = {finished->at_ms, finished->boot_ms, finished->boot};
    return cb_bench_time(app->session.bench, &moment) >= app->session.opened_ms ||
           (!app->session.history_due && app->session.taught.last == NULL);
}

/* The unit just finished, the one in front, else the last finished of those the bench still knows;
 * -1: neither, and the last one that was finished before is shown. */
int cb_hindsight_unit(const struct cb_app *app)
{
    const int own =
        app->hindsight.unit ? cb_bench_find_unit(app->session.bench, app->hindsight.unit) : -1;
    if (own >= 0 && cb_bench_unit(app->session.bench, (size_t)own)->finished) {
        return own;
    }
    const int front = cb_bench_front(app->session.bench);
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    for (size_t i = count; front < 0 && i-- > 0;) {
        if (events[i]->kind != CB_EVENT_UNIT_FINISHED) {
            continue;
        }
        const int unit = cb_bench_find_unit(app->session.bench, events[i]->unit);
        const struct cb_unit *own_unit =
            unit < 0 ? NULL : cb_bench_unit(app->session.bench, (size_t)unit);
        if (own_unit && own_unit->finished && !own_unit->left) {
            return is_whole(app, events[i]) ? unit : -1;
        }
    }
    return front;
}

const struct cb_review *cb_hindsight_review(const struct cb_app *app)
{
    const int unit = cb_hindsight_unit(app);
    return unit < 0 ? app->session.taught.last : cb_app_review(app, (size_t)unit);
}

struct cb_hours *cb_hindsight_hours(const struct cb_app *app, const struct cb_review *review)
{
    const struct cb_taught *taught = &app->session.taught;
    struct cb_hours *hours = taught->hours ? cb_hours_copy(taught->hours) : cb_effort_new();
    for (size_t i = 0; i < taught->unit_count; i++) {
        if (strcmp(taught->sums[i].unit, review->unit) == 0) {
            return hours; /* it has taught already */
        }
    }
    struct cb_arena arena = {0};
    const struct cb_effort own = cb_effort_of(review, app->session.kinds, &arena);
    cb_effort_learn(hours, &own);
    cb_arena_fini(&arena);
    return hours;
}

int cb_hindsight_stages(const struct cb_app *app)
{
    const int unit = cb_hindsight_unit(app);
    if (unit >= 0) {
        return (int)cb_bench_unit(app->session.bench, (size_t)unit)->recipe->stage_count;
    }
    return app->session.taught.last ? (int)app->session.taught.last->stage_count : -1;
}

void cb_hindsight_focus(struct cb_app *app, int focus)
{
    app->hindsight.focus = focus;
    cb_nav_top(app, 0);
}

void cb_hindsight_sort(struct cb_app *app, int sort)
{
    app->hindsight.sort = sort;
}

void cb_hindsight_at(struct cb_app *app, const char *unit)
{
    app->hindsight.unit = unit ? cb_arena_text(&app->arena, unit) : NULL;
    app->hindsight.focus = unit ? -1 : app->hindsight.focus;
}

/* Only after a session that was cut off: a look at every opening would cost the first screen. */
static bool was_cut_off(const struct cb_bench *bench)
{
    size_t count;
    const struct cb_event *const *events = cb_bench_events(bench, &count);
    for (size_t i = count; i > 0; i--) {
        const enum cb_event_kind kind = events[i - 1]->kind;
        if (cb_bench_in_force(bench, i - 1) &&
            (kind == CB_EVENT_SESSION_OPENED || kind == CB_EVENT_SESSION_CLOSED)) {
            return kind == CB_EVENT_SESSION_OPENED;
        }
    }
    return false;
}

void cb_hindsight_ask_tail(struct cb_app *app)
{
    const int front = cb_bench_front(app->session.bench);
    if (front < 0 || !was_cut_off(app->session.bench)) {
        return;
    }
    struct cb_arena arena = {0};
    const struct cb_review *review =
        cb_review_unit(app->session.bench, (size_t)front, CB_TIME_NONE, &arena);
    if (review->question_count > 0) {
        const struct cb_span *span = &review->questions[review->question_count - 1];
        char from[CB_CLOCK_SIZE];
        char to[CB_CLOCK_SIZE];
        cb_time_clock(cb_bench_wall(app->session.bench, &app->session.now, span->from_ms),
                      &app->session.zone, from);
        cb_time_clock(cb_bench_wall(app->session.bench, &app->session.now, span->to_ms),
                      &app->session.zone, to);
        cb_app_flash(app, "cut off: were you away %s to %s? %s", from, to,
                     cb_app_key(app, CB_ACTION_VIEW_REVIEW));
    }
    cb_arena_fini(&arena);
}

bool cb_hindsight_answer(struct cb_app *app, bool away)
{
    const struct cb_review *review = cb_hindsight_review(app);
    if (cb_hindsight_unit(app) < 0 || !review || review->question_count == 0) {
        return false;
    }
    if (!cb_app_may_write(app)) {
        return true;
    }
    const struct cb_span *span = &review->questions[0];
    const struct cb_session *session = &app->session;
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, away ? CB_EVENT_AWAY : CB_EVENT_ANSWERED, NULL,
                   &session->now);
    if (away) {
        cb_event_add_time(&make, CB_FIELD_FROM,
                          cb_bench_wall(session->bench, &session->now, span->from_ms));
        cb_event_add_time(&make, CB_FIELD_TO,
                          cb_bench_wall(session->bench, &session->now, span->to_ms));
    } else {
        char question[CB_REVIEW_QUESTION_SIZE];
        cb_review_question(span->from_ms, question);
        cb_event_add_text(&make, CB_FIELD_QUESTION, question);
        cb_event_add_text(&make, CB_FIELD_VALUE, "no");
    }
    cb_app_store_one(app, &make);
    return true;
}

void cb_hindsight_init(struct cb_app *app)
{
    app->hindsight.focus = -1;
}
