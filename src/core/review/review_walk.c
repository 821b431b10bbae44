/* SPDX-License-Identifier: MIT */
#include "core/review/review_walk.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

static bool is_unit(const struct cb_review_walk *walk, const struct cb_event *event)
{
    return event->unit != NULL && strcmp(event->unit, walk->unit_id) == 0;
}

static const struct cb_unit *replay_unit(const struct cb_review_walk *walk)
{
    const int unit = cb_bench_find_unit(walk->replay, walk->unit_id);
    return unit < 0 ? NULL : cb_bench_unit(walk->replay, (size_t)unit);
}

static int64_t expected_ms(const struct cb_review_walk *walk, const struct cb_unit *unit, int stage)
{
    if (stage < 1 || (size_t)stage > unit->recipe->stage_count) {
        return 0;
    }
    return cb_review_minutes_ms(
        cb_stage_minutes(&unit->recipe->stages[stage - 1], cb_bench_kinds(walk->replay)));
}

/* The stage's number in the recipe in force at the end; 0: removed since. */
static int final_stage(const struct cb_review_walk *walk, const struct cb_unit *unit, int stage)
{
    if (stage < 1 || (size_t)stage > unit->recipe->stage_count) {
        return 0;
    }
    return cb_recipe_stage(walk->final_recipe, unit->recipe->stages[stage - 1].name) + 1;
}

/* When the next event that is in force happens; at the latest when the session ends. */
static int64_t stands_until(const struct cb_review_walk *walk, size_t next_event)
{
    const struct cb_review_sitting *session = &walk->sessions.items[walk->session];
    for (size_t i = next_event; i < session->end_event; i++) {
        if (cb_bench_in_force(walk->bench, i)) {
            return walk->at_ms[i] < session->to_ms ? walk->at_ms[i] : session->to_ms;
        }
    }
    return session->to_ms;
}

/* A coat that was put on at this bench: not done before, and none on the scrap. */
static bool is_mark(const struct cb_event *event)
{
    return event->kind == CB_EVENT_COAT_ON && !cb_event_is(event, CB_FIELD_BEFORE) &&
           !cb_event_is_stroke(event);
}

/* Until the next event nothing changes but the films: does one let a coat go on before? */
static void look_for_ready(struct cb_review_walk *walk, size_t next_event, int64_t now_ms)
{
    if (!walk->open || walk->ready_ms != CB_TIME_NONE) {
        return;
    }
    const struct cb_unit *unit = replay_unit(walk);
    if (unit != NULL) {
        walk->ready_ms = cb_next_ready_by(walk->replay, &walk->back, unit, now_ms,
                                          stands_until(walk, next_event));
    }
}

/* The next coat that will be put on in this session, if that settles that something was ready:
 * most gaps are decided by this one look, and the search over all slots is spared. */
static bool next_was_ready(const struct cb_review_walk *walk, size_t event, int64_t now_ms)
{
    const size_t end = walk->sessions.items[walk->session].end_event;
    for (size_t i = event; i < end; i++) {
        const struct cb_event *next = walk->events[i];
        if (!is_unit(walk, next) || !is_mark(next) || !cb_bench_in_force(walk->bench, i)) {
            continue;
        }
        const struct cb_unit *unit = replay_unit(walk);
        const int figure = (int)cb_event_int(next, CB_FIELD_FIGURE, 0);
        const int stage = (int)cb_event_int(next, CB_FIELD_STAGE, 0);
        if (unit == NULL || figure < 1 || figure > unit->figures || stage < 1 ||
            (size_t)stage > unit->recipe->stage_count) {
            return false;
        }
        return cb_next_was_ready(walk->replay, &walk->back, unit, figure, stage, now_ms);
    }
    return false;
}

static void begin_gap(struct cb_review_walk *walk, size_t next_event, int64_t at_ms)
{
    walk->gap_ms = at_ms;
    walk->ready_ms = CB_TIME_NONE;
    if (!walk->open) {
        return;
    }
    if (next_was_ready(walk, next_event, at_ms)) {
        walk->ready_ms = at_ms;
    } else {
        look_for_ready(walk, next_event, at_ms);
    }
}

static bool same_go(const struct cb_event *a, const struct cb_event *b)
{
    if (!is_mark(b) || b->unit == NULL || strcmp(a->unit, b->unit) != 0) {
        return false;
    }
    if (a->press != NULL || b->press != NULL) {
        return a->press != NULL && b->press != NULL && strcmp(a->press, b->press) == 0;
    }
    return a->at_ms == b->at_ms &&
           cb_event_int(a, CB_FIELD_STAGE, 0) == cb_event_int(b, CB_FIELD_STAGE, 0) &&
           cb_event_int(a, CB_FIELD_COAT, 0) == cb_event_int(b, CB_FIELD_COAT, 0) &&
           cb_event_int(a, CB_FIELD_ON_AT, 0) == cb_event_int(b, CB_FIELD_ON_AT, 0);
}

/* What was undone never gets in, so the undoing need not either. */
static void put_in(struct cb_review_walk *walk, size_t event)
{
    if (walk->events[event]->kind == CB_EVENT_UNDONE) {
        return;
    }
    cb_bench_repeat(walk->replay, event);
    walk->lifted = walk->lifted || walk->events[event]->kind == CB_EVENT_LIFTED;
}

static bool was_lifted(const struct cb_unit *unit, int figure, int stage, int coat)
{
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        if (film->figure == figure && film->stage == stage && film->coat == coat &&
            film->lifted_ms != CB_TIME_NONE) {
            return true;
        }
    }
    return false;
}

/* One press of coats: closes the gap, returns the index of its last event. */
static size_t take_coats(struct cb_review_walk *walk, size_t first)
{
    const struct cb_event *event = walk->events[first];
    struct cb_review_mark mark = {.kind = CB_MARK_COATS, .work_ms = -1};
    int64_t on_ms = CB_TIME_NONE;
    size_t last = first;
    bool together = false;
    double work_s = 0;
    bool work_said = true;
    const char *pot = NULL;
    for (size_t i = first; i < walk->event_count; i++) {
        const struct cb_event *go = walk->events[i];
        if (!cb_bench_in_force(walk->bench, i)) {
            continue;
        }
        if (!same_go(event, go)) {
            break;
        }
        last = i;
        const struct cb_unit *unit = replay_unit(walk);
        const int figure = (int)cb_event_int(go, CB_FIELD_FIGURE, 0);
        const int stage = (int)cb_event_int(go, CB_FIELD_STAGE, 0);
        const int coat = (int)cb_event_int(go, CB_FIELD_COAT, 0);
        const bool redone = walk->lifted && unit != NULL && was_lifted(unit, figure, stage, coat);
        put_in(walk, i);
        unit = replay_unit(walk);
        const struct cb_film *film = unit == NULL ? NULL : cb_bench_film(unit, figure, stage, coat);
        if (film == NULL || mark.count == CB_FIGURES_MAX) {
            continue;
        }
        on_ms = film->on_ms > on_ms ? film->on_ms : on_ms;
        const struct cb_film_key true_key = cb_bench_key(walk->bench, go);
        mark.films[mark.count++] =
            (struct cb_film_key){true_key.figure, final_stage(walk, unit, stage), true_key.coat};
        mark.redone = mark.redone || redone;
        together = unit->recipe->stages[stage - 1].together != 0;
        mark.expected_ms = (together ? 0 : mark.expected_ms) + expected_ms(walk, unit, stage);
        mark.change_ms = cb_review_minutes_ms(unit->recipe->change_min);
        if (film->pot != NULL && pot == NULL) {
            pot = film->pot;
        }
        if (isnan(film->work_s)) {
            work_said = false;
        } else {
            work_s += film->work_s;
        }
    }
    if (mark.count > 0 && walk->open) {
        if (work_said) {
            mark.work_ms = cb_review_minutes_ms(work_s / 60.0);
        }
        mark.changed = pot != NULL && (walk->brush == NULL || strcmp(walk->brush, pot) != 0);
        int64_t at_ms = walk->at_ms[last];
        if (on_ms != CB_TIME_NONE && on_ms < at_ms) {
            at_ms = on_ms > walk->gap_ms ? on_ms : walk->gap_ms;
        }
        cb_review_close_gap(walk, at_ms, &mark);
        begin_gap(walk, last + 1, at_ms);
    }
    if (pot != NULL) {
        walk->brush = pot;
    }
    return last;
}

static bool unit_in_front(const struct cb_review_walk *walk)
{
    const int front = cb_bench_front(walk->replay);
    return front >= 0 && strcmp(cb_bench_unit(walk->replay, (size_t)front)->id, walk->unit_id) == 0;
}

enum gap_end { GAP_GOES_ON, GAP_CLOSED, GAP_CUT_OFF };

static void end_gap(struct cb_review_walk *walk, int64_t at_ms, enum gap_end end)
{
    const bool cut_off = end == GAP_CUT_OFF;
    if (walk->open) {
        const struct cb_review_sitting *session = &walk->sessions.items[walk->session];
        struct cb_review_mark mark = {
            .kind = cut_off ? CB_MARK_CUT : CB_MARK_END,
            .work_ms = -1,
            .live = end == GAP_GOES_ON || (walk->live && session->end_event == walk->event_count)};
        const struct cb_unit *unit = replay_unit(walk);
        if (unit != NULL) {
            const struct cb_proposal next =
                cb_next_propose(walk->replay, walk->back.learn, unit, 0, 0, at_ms);
            const int stage = next.any               ? next.stage
                              : unit->film_count > 0 ? unit->films[unit->film_count - 1].stage
                                                     : 0;
            mark.expected_ms = expected_ms(walk, unit, stage);
        }
        cb_review_close_gap(walk, at_ms, &mark);
    }
    walk->open = false;
}

static void begin_session(struct cb_review_walk *walk)
{
    walk->brush = NULL;
    walk->open = unit_in_front(walk);
    begin_gap(walk, walk->event, walk->sessions.items[walk->session].from_ms);
}

/* The brush is the bench's: what another unit's coat left on it is on it when this one comes back.
 */
static void note_brush(struct cb_review_walk *walk, const struct cb_event *event)
{
    const int at = cb_bench_find_unit(walk->replay, event->unit);
    const struct cb_film *film = at < 0
                                     ? NULL
                                     : cb_bench_film(cb_bench_unit(walk->replay, (size_t)at),
                                                     (int)cb_event_int(event, CB_FIELD_FIGURE, 0),
                                                     (int)cb_event_int(event, CB_FIELD_STAGE, 0),
                                                     (int)cb_event_int(event, CB_FIELD_COAT, 0));
    if (film != NULL && film->pot != NULL) {
        walk->brush = film->pot;
    }
}

/* One event of a session, or one press of coats; returns its last. */
static size_t take_event(struct cb_review_walk *walk, size_t at,
                         const struct cb_review_sitting *session)
{
    const struct cb_event *event = walk->events[at];
    const int64_t at_ms = walk->at_ms[at] < session->to_ms ? walk->at_ms[at] : session->to_ms;
    if (is_mark(event) && is_unit(walk, event)) {
        return take_coats(walk, at);
    }
    put_in(walk, at);
    if (is_mark(event)) {
        note_brush(walk, event);
    }
    const bool front = unit_in_front(walk);
    if (walk->open && !front) {
        end_gap(walk, at_ms, GAP_GOES_ON);
    } else if (!walk->open && front) {
        walk->open = true;
        begin_gap(walk, at + 1, at_ms);
    } else if (walk->open && event->kind == CB_EVENT_TIDIED && is_unit(walk, event)) {
        const struct cb_unit *unit = replay_unit(walk);
        const int stage = (int)cb_event_int(event, CB_FIELD_STAGE, 0);
        struct cb_review_mark mark = {.kind = CB_MARK_TIDIED, .count = 1, .work_ms = -1};
        mark.films[0] = (struct cb_film_key){(int)cb_event_int(event, CB_FIELD_FIGURE, 0),
                                             final_stage(walk, unit, stage), 0};
        mark.expected_ms = expected_ms(walk, unit, stage);
        cb_review_close_gap(walk, at_ms, &mark);
        begin_gap(walk, at + 1, at_ms);
    } else {
        look_for_ready(walk, at + 1, at_ms);
    }
    return at;
}

bool cb_review_walk_on(struct cb_review_walk *walk, size_t events)
{
    while ((size_t)walk->session < walk->sessions.count && events-- > 0) {
        const struct cb_review_sitting *session = &walk->sessions.items[walk->session];
        const bool in_force = cb_bench_in_force(walk->bench, walk->event);
        if (walk->event == session->first_event && !walk->in_session) {
            walk->in_session = true;
            begin_session(walk);
        } else if (walk->in_session && walk->event == session->end_event) {
            end_gap(walk, session->to_ms, session->cut_off ? GAP_CUT_OFF : GAP_CLOSED);
            walk->in_session = false;
            walk->session++;
        } else if (walk->in_session && in_force) {
            walk->event = take_event(walk, walk->event, session) + 1;
        } else {
            if (in_force) { /* between the sessions */
                put_in(walk, walk->event);
            }
            walk->event++;
        }
    }
    const bool more = (size_t)walk->session < walk->sessions.count;
    if (!more && !walk->poured) {
        walk->poured = true;
        cb_review_pour(walk);
    }
    return more;
}

void cb_review_walk_begin(struct cb_review_walk *walk, const struct cb_bench *bench,
                          const struct cb_unit *unit, const struct cb_learn *learn,
                          int64_t until_ms)
{
    *walk = (struct cb_review_walk){.bench = bench,
                                    .back = {learn, unit},
                                    .unit_id = unit->id,
                                    .final_recipe = unit->recipe,
                                    .live = until_ms != CB_TIME_NONE,
                                    .ready_ms = CB_TIME_NONE};
    walk->events = cb_bench_events(bench, &walk->event_count);
    walk->at_ms = cb_mem_new(walk->event_count + 1, sizeof *walk->at_ms);
    walk->replay = cb_bench_again(bench);
    cb_review_timeline(walk, until_ms);
}

void cb_review_walk_fini(struct cb_review_walk *walk)
{
    cb_bench_free(walk->replay);
    free(walk->at_ms);
    cb_vec_free(&walk->sessions);
    cb_vec_free(&walk->overlays);
    cb_vec_free(&walk->answers);
    cb_vec_free(&walk->gaps);
    cb_vec_free(&walk->films);
    cb_vec_free(&walk->spans);
    cb_vec_free(&walk->questions);
}
