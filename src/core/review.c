/* SPDX-License-Identifier: MIT */
#include "core/review.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/vec.h"
#include "core/next.h"
#include "core/review_drying.h"

/* A surplus shorter than this is not worth a question (own judgement). */
#define QUESTION_MIN_MS (5 * CB_MS_PER_MIN)
/* Hands-on beyond this many times the expected is asked about (coatbell(1), REVIEW). */
#define SURPLUS_TIMES 3
#define LATE_MS       CB_MS_PER_MIN /* own judgement */
#define STAGES_MAX    (CB_RECIPE_MAX + 1)

/* Time that was told to be something else: it is cut out of whatever gap it lies in. */
struct overlay {
    int64_t from_ms, to_ms;
    enum cb_spent spent;
};

struct session {
    size_t first_event, end_event; /* end_event: the one that closes it, or the event count */
    int64_t from_ms, to_ms;
    bool cut_off;
};

typedef CB_VEC(struct cb_span) span_list;

struct walk {
    const struct cb_bench *bench; /* the whole log */
    struct cb_look_back back;     /* what counted as dry */
    struct cb_bench *replay;      /* the log up to now, as the bench showed it */
    const struct cb_event *const *events;
    size_t event_count;
    int64_t *at_ms; /* bench time of each event, never running backwards */
    CB_VEC(struct session) sessions;
    CB_VEC(struct overlay) overlays; /* disjoint, in order */
    span_list spans;
    span_list questions;
    const char *unit_id;
    const struct cb_recipe *final_recipe;

    /* the gap at hand */
    bool live; /* the last session is not over */
    bool open; /* a session is on and the unit is in front */
    int session;
    int64_t gap_ms;   /* where it begins */
    int64_t ready_ms; /* when the first coat could go on; CB_TIME_NONE: not yet known */
    char *brush;      /* pot on the brush in this session, NULL: none yet */
};

/* What ends a gap. */
struct mark {
    enum { MARK_COATS, MARK_TIDIED, MARK_END, MARK_CUT } kind;
    size_t count;
    struct cb_film_key films[CB_FIGURES_MAX];
    bool changed, redone;
    bool live; /* MARK_END: the session goes on */
    int64_t change_ms, expected_ms;
    int64_t work_ms; /* said by the painter, -1: not */
};

static int64_t minutes_ms(double minutes)
{
    return isfinite(minutes) && minutes > 0 ? (int64_t)llround(minutes * 60000.0) : 0;
}

static struct cb_moment moment_of(const struct cb_event *event)
{
    return (struct cb_moment){event->at_ms, event->boot_ms, event->boot};
}

static bool is_unit(const struct walk *walk, const struct cb_event *event)
{
    return event->unit != NULL && strcmp(event->unit, walk->unit_id) == 0;
}

/* Before the first pass: sessions and told times, over the whole log. */

static int overlay_order(const void *a, const void *b)
{
    const struct overlay *x = a;
    const struct overlay *y = b;
    if (x->from_ms != y->from_ms) {
        return x->from_ms < y->from_ms ? -1 : 1;
    }
    if (x->to_ms != y->to_ms) {
        return x->to_ms < y->to_ms ? -1 : 1;
    }
    return (x->spent > y->spent) - (x->spent < y->spent);
}

static void add_overlay(struct walk *walk, int64_t from_ms, int64_t to_ms, enum cb_spent spent)
{
    if (to_ms > from_ms) {
        cb_vec_push(&walk->overlays, ((struct overlay){from_ms, to_ms, spent}));
    }
}

/* Told times may overlap: the one that began first keeps what it has. */
static void settle_overlays(struct walk *walk)
{
    if (walk->overlays.count == 0) {
        return;
    }
    qsort(walk->overlays.items, walk->overlays.count, sizeof *walk->overlays.items, overlay_order);
    size_t kept = 0;
    int64_t end = INT64_MIN;
    for (size_t i = 0; i < walk->overlays.count; i++) {
        struct overlay overlay = walk->overlays.items[i];
        if (overlay.from_ms < end) {
            overlay.from_ms = end;
        }
        if (overlay.to_ms > overlay.from_ms) {
            end = overlay.to_ms;
            walk->overlays.items[kept++] = overlay;
        }
    }
    walk->overlays.count = kept;
}

static void close_session(struct session *session, struct walk *walk, size_t event, int64_t at_ms,
                          bool cut_off)
{
    session->end_event = event;
    session->to_ms = at_ms;
    session->cut_off = cut_off;
    cb_vec_push(&walk->sessions, *session);
}

static void read_timeline(struct walk *walk, int64_t until_ms)
{
    struct session session = {0};
    bool on = false;
    int64_t now = INT64_MIN;
    int64_t pause_ms = CB_TIME_NONE;
    for (size_t i = 0; i < walk->event_count; i++) {
        const struct cb_event *event = walk->events[i];
        const struct cb_moment moment = moment_of(event);
        const int64_t own = cb_bench_time(walk->bench, &moment);
        const int64_t before = now;
        now = own > now ? own : now;
        walk->at_ms[i] = now;
        if (!cb_bench_in_force(walk->bench, i)) {
            continue;
        }
        if (event->kind == CB_EVENT_SESSION_OPENED) {
            if (on) {
                close_session(&session, walk, i, before, true);
            }
            if (pause_ms != CB_TIME_NONE) {
                add_overlay(walk, pause_ms, before, CB_SPENT_PAUSE);
                pause_ms = CB_TIME_NONE;
            }
            session = (struct session){.first_event = i, .from_ms = now};
            on = true;
        } else if (event->kind == CB_EVENT_SESSION_CLOSED && on) {
            if (pause_ms != CB_TIME_NONE) {
                add_overlay(walk, pause_ms, now, CB_SPENT_PAUSE);
                pause_ms = CB_TIME_NONE;
            }
            close_session(&session, walk, i, now, false);
            on = false;
        } else if (event->kind == CB_EVENT_PAUSE_BEGUN && pause_ms == CB_TIME_NONE) {
            pause_ms = now;
        } else if (event->kind == CB_EVENT_PAUSE_ENDED && pause_ms != CB_TIME_NONE) {
            add_overlay(walk, pause_ms, now, CB_SPENT_PAUSE);
            pause_ms = CB_TIME_NONE;
        } else if (event->kind == CB_EVENT_AWAY) {
            const int64_t from = cb_event_int(event, CB_FIELD_FROM, event->at_ms);
            const int64_t to = cb_event_int(event, CB_FIELD_TO, event->at_ms);
            add_overlay(walk, own - (event->at_ms - from), own - (event->at_ms - to),
                        CB_SPENT_AWAY);
        } else if (event->kind == CB_EVENT_CHORE_DONE) {
            const double minutes = cb_event_number(event, CB_FIELD_MINUTES, 0);
            add_overlay(walk, now - minutes_ms(minutes), now, CB_SPENT_CHORE);
        }
    }
    if (on) {
        const bool live = until_ms != CB_TIME_NONE;
        const int64_t end = live && until_ms > now ? until_ms : now;
        if (pause_ms != CB_TIME_NONE) {
            add_overlay(walk, pause_ms, end, CB_SPENT_PAUSE);
        }
        close_session(&session, walk, walk->event_count, end, !live);
    }
    settle_overlays(walk);
}

/* Attribution of one gap. */

static void add_span(struct walk *walk, int64_t from_ms, int64_t to_ms, enum cb_spent spent,
                     struct cb_film_key film)
{
    if (to_ms <= from_ms) {
        return;
    }
    cb_vec_push(&walk->spans, ((struct cb_span){from_ms, to_ms, spent, walk->session, film.figure,
                                                film.stage, film.coat}));
}

/* A portion of a gap's free time, in the order it is given out. */
struct portion {
    int64_t ms;
    enum cb_spent spent;
    struct cb_film_key film;
};

struct pour {
    struct walk *walk;
    const struct portion *portions;
    size_t count, at;
    int64_t left_ms;
};

static void pour_out(struct pour *pour, int64_t from_ms, int64_t to_ms)
{
    while (from_ms < to_ms) {
        while (pour->at + 1 < pour->count && pour->left_ms == 0) {
            pour->at++;
            pour->left_ms = pour->portions[pour->at].ms;
        }
        const struct portion *portion = &pour->portions[pour->at];
        int64_t end = to_ms;
        if (pour->at + 1 < pour->count && from_ms + pour->left_ms < to_ms) {
            end = from_ms + pour->left_ms;
        }
        add_span(pour->walk, from_ms, end, portion->spent, portion->film);
        pour->left_ms -= end - from_ms;
        from_ms = end;
    }
}

/* First told time that ends after the moment. */
static size_t first_overlay(const struct walk *walk, int64_t from_ms)
{
    size_t low = 0;
    size_t high = walk->overlays.count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (walk->overlays.items[middle].to_ms <= from_ms) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

/* Free time of [from, to): what no told time covers. */
static int64_t free_ms(const struct walk *walk, int64_t from_ms, int64_t to_ms)
{
    int64_t total = to_ms > from_ms ? to_ms - from_ms : 0;
    for (size_t i = first_overlay(walk, from_ms); i < walk->overlays.count; i++) {
        const struct overlay *overlay = &walk->overlays.items[i];
        if (overlay->from_ms >= to_ms) {
            break;
        }
        const int64_t from = overlay->from_ms > from_ms ? overlay->from_ms : from_ms;
        const int64_t to = overlay->to_ms < to_ms ? overlay->to_ms : to_ms;
        total -= to > from ? to - from : 0;
    }
    return total;
}

/* Where the moment lies that has so much free time before it, counted from from_ms. */
static int64_t after_free(const struct walk *walk, int64_t from_ms, int64_t to_ms, int64_t ms)
{
    for (size_t i = first_overlay(walk, from_ms); i < walk->overlays.count; i++) {
        const struct overlay *overlay = &walk->overlays.items[i];
        if (overlay->from_ms - from_ms >= ms || overlay->from_ms >= to_ms) {
            break;
        }
        if (overlay->from_ms > from_ms) {
            ms -= overlay->from_ms - from_ms;
        }
        from_ms = overlay->to_ms;
    }
    return from_ms + ms < to_ms ? from_ms + ms : to_ms;
}

/* The user said "no" to being away from that moment on. */
static bool answered_away(const struct walk *walk, int64_t from_ms)
{
    for (size_t i = 0; i < walk->event_count; i++) {
        const struct cb_event *event = walk->events[i];
        if (event->kind != CB_EVENT_ANSWERED || !cb_bench_in_force(walk->bench, i)) {
            continue;
        }
        const char *question = cb_event_text(event, CB_FIELD_QUESTION, "");
        char expected[CB_REVIEW_QUESTION_SIZE];
        cb_review_question(from_ms, expected);
        if (strcmp(question, expected) == 0) {
            return true;
        }
    }
    return false;
}

static void ask(struct walk *walk, int64_t from_ms, int64_t to_ms)
{
    if (free_ms(walk, from_ms, to_ms) >= QUESTION_MIN_MS && !answered_away(walk, from_ms)) {
        cb_vec_push(&walk->questions,
                    ((struct cb_span){from_ms, to_ms, CB_SPENT_AWAY, walk->session, 0, 0, 0}));
    }
}

static void close_gap(struct walk *walk, int64_t to_ms, const struct mark *mark)
{
    const int64_t from_ms = walk->gap_ms;
    if (to_ms <= from_ms) {
        return;
    }
    walk->gap_ms = to_ms;
    const struct cb_film_key nothing = {0, 0, 0};
    struct portion portions[CB_FIGURES_MAX + 3];
    size_t count = 0;
    const int64_t all = free_ms(walk, from_ms, to_ms);
    int64_t waiting;
    if (mark->kind != MARK_END && mark->kind != MARK_CUT) {
        const int64_t ready = walk->ready_ms == CB_TIME_NONE ? to_ms : walk->ready_ms;
        waiting = free_ms(walk, from_ms, ready < to_ms ? ready : to_ms);
        int64_t rest = all - waiting;
        int64_t change = mark->changed ? mark->change_ms : 0;
        if (mark->work_ms >= 0) {
            const int64_t hands = mark->work_ms < all ? mark->work_ms : all;
            change = change < all - hands ? change : all - hands;
            waiting = all - hands - change;
            rest = hands + change;
        }
        change = change < rest ? change : rest;
        const int64_t hands = rest - change;
        const enum cb_spent spent =
            mark->kind == MARK_TIDIED || mark->redone ? CB_SPENT_TIDY : CB_SPENT_HANDS_ON;
        portions[count++] = (struct portion){waiting, CB_SPENT_WAITING, nothing};
        portions[count++] = (struct portion){change, CB_SPENT_CHANGE, mark->films[0]};
        for (size_t i = 0; i < mark->count; i++) {
            const int64_t share = hands * (int64_t)(i + 1) / (int64_t)mark->count -
                                  hands * (int64_t)i / (int64_t)mark->count;
            portions[count++] = (struct portion){share, spent, mark->films[i]};
        }
        const int64_t surplus = hands - SURPLUS_TIMES * mark->expected_ms;
        if (mark->work_ms < 0 && surplus > 0) {
            const int64_t begin = after_free(walk, from_ms, to_ms, waiting + change);
            ask(walk, begin, after_free(walk, begin, to_ms, surplus));
        }
    } else if (mark->kind == MARK_CUT) {
        waiting = mark->expected_ms < all ? mark->expected_ms : all;
        const int64_t begin = after_free(walk, from_ms, to_ms, waiting);
        const bool was_here = answered_away(walk, begin);
        portions[count++] = (struct portion){waiting, CB_SPENT_WAITING, nothing};
        portions[count++] =
            (struct portion){all - waiting, was_here ? CB_SPENT_WAITING : CB_SPENT_AWAY, nothing};
        ask(walk, begin, to_ms);
    } else {
        /* Whoever sits at the bench while a coat can go on has one on the brush; what was left at
         * the end of a session without a mark was packing up. */
        const int64_t ready = walk->ready_ms == CB_TIME_NONE ? to_ms : walk->ready_ms;
        const int64_t idle = free_ms(walk, from_ms, ready < to_ms ? ready : to_ms);
        waiting = mark->live ? idle : all;
        portions[count++] = (struct portion){waiting, CB_SPENT_WAITING, nothing};
        portions[count++] = (struct portion){all - waiting, CB_SPENT_HANDS_ON, nothing};
        const int64_t surplus = all - idle - SURPLUS_TIMES * mark->expected_ms;
        if (!mark->live && surplus > 0) {
            ask(walk, after_free(walk, from_ms, to_ms, all - surplus), to_ms);
        }
    }
    struct pour pour = {walk, portions, count, 0, portions[0].ms};
    int64_t at = from_ms;
    for (size_t i = first_overlay(walk, from_ms); i < walk->overlays.count; i++) {
        const struct overlay *overlay = &walk->overlays.items[i];
        if (overlay->from_ms >= to_ms) {
            break;
        }
        const int64_t from = overlay->from_ms > at ? overlay->from_ms : at;
        const int64_t to = overlay->to_ms < to_ms ? overlay->to_ms : to_ms;
        pour_out(&pour, at, from);
        add_span(walk, from, to, overlay->spent, nothing);
        at = to;
    }
    pour_out(&pour, at, to_ms);
}

/* The walk. */

static const struct cb_unit *replay_unit(const struct walk *walk)
{
    const int unit = cb_bench_find_unit(walk->replay, walk->unit_id);
    return unit < 0 ? NULL : cb_bench_unit(walk->replay, (size_t)unit);
}

static int64_t expected_ms(const struct walk *walk, const struct cb_unit *unit, int stage)
{
    if (stage < 1 || (size_t)stage > unit->recipe->stage_count) {
        return 0;
    }
    const struct cb_stage *row = &unit->recipe->stages[stage - 1];
    const double minutes = isnan(row->work_min)
                               ? cb_bench_kinds(walk->replay)->techniques[row->technique].minutes
                               : row->work_min;
    return minutes_ms(minutes);
}

/* The stage's number in the recipe in force at the end; 0: removed since. */
static int final_stage(const struct walk *walk, const struct cb_unit *unit, int stage)
{
    if (stage < 1 || (size_t)stage > unit->recipe->stage_count) {
        return 0;
    }
    return cb_recipe_stage(walk->final_recipe, unit->recipe->stages[stage - 1].name) + 1;
}

/* When the next event that is in force happens; at the latest when the session ends. */
static int64_t stands_until(const struct walk *walk, size_t next_event)
{
    const struct session *session = &walk->sessions.items[walk->session];
    for (size_t i = next_event; i < session->end_event; i++) {
        if (cb_bench_in_force(walk->bench, i)) {
            return walk->at_ms[i] < session->to_ms ? walk->at_ms[i] : session->to_ms;
        }
    }
    return session->to_ms;
}

/* Until the next event nothing changes but the films: does one let a coat go on before? */
static void look_for_ready(struct walk *walk, size_t next_event, int64_t now_ms)
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
static bool next_was_ready(const struct walk *walk, size_t event, int64_t now_ms)
{
    const size_t end = walk->sessions.items[walk->session].end_event;
    for (size_t i = event; i < end; i++) {
        const struct cb_event *next = walk->events[i];
        if (next->kind != CB_EVENT_COAT_ON || !is_unit(walk, next) ||
            !cb_bench_in_force(walk->bench, i)) {
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

static void begin_gap(struct walk *walk, size_t next_event, int64_t at_ms)
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
    if (b->kind != CB_EVENT_COAT_ON || b->unit == NULL || strcmp(a->unit, b->unit) != 0) {
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
static void put_in(struct walk *walk, size_t event)
{
    if (walk->events[event]->kind == CB_EVENT_UNDONE) {
        return;
    }
    cb_bench_add(walk->replay, &walk->events[event], 1);
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
static size_t take_coats(struct walk *walk, size_t first)
{
    const struct cb_event *event = walk->events[first];
    struct mark mark = {.kind = MARK_COATS, .work_ms = -1};
    int64_t on_ms = CB_TIME_NONE;
    size_t last = first;
    bool together = false;
    double work_s = 0;
    bool work_said = true;
    char *pot = NULL;
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
        const bool redone = unit != NULL && was_lifted(unit, figure, stage, coat);
        put_in(walk, i);
        unit = replay_unit(walk);
        const struct cb_film *film = unit == NULL ? NULL : cb_bench_film(unit, figure, stage, coat);
        if (film == NULL || mark.count == CB_FIGURES_MAX) {
            continue;
        }
        on_ms = film->on_ms > on_ms ? film->on_ms : on_ms;
        mark.films[mark.count++] =
            (struct cb_film_key){figure, final_stage(walk, unit, stage), coat};
        mark.redone = mark.redone || redone;
        together = unit->recipe->stages[stage - 1].together != 0;
        mark.expected_ms = (together ? 0 : mark.expected_ms) + expected_ms(walk, unit, stage);
        mark.change_ms = minutes_ms(unit->recipe->change_min);
        if (film->pot != NULL && pot == NULL) {
            pot = cb_mem_copy_text(film->pot);
        }
        if (isnan(film->work_s)) {
            work_said = false;
        } else {
            work_s += film->work_s;
        }
    }
    if (mark.count > 0 && walk->open) {
        if (work_said) {
            mark.work_ms = minutes_ms(work_s / 60.0);
        }
        mark.changed = pot != NULL && (walk->brush == NULL || strcmp(walk->brush, pot) != 0);
        int64_t at_ms = walk->at_ms[last];
        if (on_ms != CB_TIME_NONE && on_ms < at_ms) {
            at_ms = on_ms > walk->gap_ms ? on_ms : walk->gap_ms;
        }
        close_gap(walk, at_ms, &mark);
        begin_gap(walk, last + 1, at_ms);
    }
    if (pot != NULL && mark.count > 0) {
        free(walk->brush);
        walk->brush = pot;
    } else {
        free(pot);
    }
    return last;
}

static bool unit_in_front(const struct walk *walk)
{
    const int front = cb_bench_front(walk->replay);
    return front >= 0 && strcmp(cb_bench_unit(walk->replay, (size_t)front)->id, walk->unit_id) == 0;
}

enum gap_end { GAP_GOES_ON, GAP_CLOSED, GAP_CUT_OFF };

static void end_gap(struct walk *walk, int64_t at_ms, enum gap_end end)
{
    const bool cut_off = end == GAP_CUT_OFF;
    if (walk->open) {
        const struct session *session = &walk->sessions.items[walk->session];
        struct mark mark = {.kind = cut_off ? MARK_CUT : MARK_END,
                            .work_ms = -1,
                            .live = end == GAP_GOES_ON ||
                                    (walk->live && session->end_event == walk->event_count)};
        const struct cb_unit *unit = replay_unit(walk);
        if (unit != NULL) {
            const struct cb_proposal next =
                cb_next_propose(walk->replay, walk->back.learn, unit, 0, 0, at_ms);
            const int stage = next.any               ? next.stage
                              : unit->film_count > 0 ? unit->films[unit->film_count - 1].stage
                                                     : 0;
            mark.expected_ms = expected_ms(walk, unit, stage);
        }
        close_gap(walk, at_ms, &mark);
    }
    walk->open = false;
}

static void walk_session(struct walk *walk, size_t number)
{
    const struct session session = walk->sessions.items[number];
    walk->session = (int)number;
    free(walk->brush);
    walk->brush = NULL;
    walk->open = unit_in_front(walk);
    begin_gap(walk, session.first_event, session.from_ms);
    for (size_t i = session.first_event; i < session.end_event; i++) {
        const struct cb_event *event = walk->events[i];
        if (!cb_bench_in_force(walk->bench, i)) {
            continue;
        }
        const int64_t at_ms = walk->at_ms[i] < session.to_ms ? walk->at_ms[i] : session.to_ms;
        if (event->kind == CB_EVENT_COAT_ON && is_unit(walk, event)) {
            i = take_coats(walk, i);
            continue;
        }
        put_in(walk, i);
        const bool front = unit_in_front(walk);
        if (walk->open && !front) {
            end_gap(walk, at_ms, GAP_GOES_ON);
        } else if (!walk->open && front) {
            walk->open = true;
            free(walk->brush);
            walk->brush = NULL;
            begin_gap(walk, i + 1, at_ms);
        } else if (walk->open && event->kind == CB_EVENT_TIDIED && is_unit(walk, event)) {
            const struct cb_unit *unit = replay_unit(walk);
            const int stage = (int)cb_event_int(event, CB_FIELD_STAGE, 0);
            struct mark mark = {.kind = MARK_TIDIED, .count = 1, .work_ms = -1};
            mark.films[0] = (struct cb_film_key){(int)cb_event_int(event, CB_FIELD_FIGURE, 0),
                                                 final_stage(walk, unit, stage), 0};
            mark.expected_ms = expected_ms(walk, unit, stage);
            close_gap(walk, at_ms, &mark);
            begin_gap(walk, i + 1, at_ms);
        } else {
            look_for_ready(walk, i + 1, at_ms);
        }
    }
    end_gap(walk, session.to_ms, session.cut_off ? GAP_CUT_OFF : GAP_CLOSED);
}

static void walk_all(struct walk *walk)
{
    size_t at = 0;
    for (size_t s = 0; s < walk->sessions.count; s++) {
        const struct session *session = &walk->sessions.items[s];
        for (; at < session->first_event; at++) {
            if (cb_bench_in_force(walk->bench, at)) {
                put_in(walk, at);
            }
        }
        walk_session(walk, s);
        at = session->end_event;
    }
}

/* The sums. */

static void sum_up(const struct walk *walk, const struct cb_unit *unit, int64_t end_ms,
                   struct cb_review *review, struct cb_arena *arena)
{
    struct cb_review_session *sessions =
        cb_arena_alloc(arena, walk->sessions.count + 1, sizeof *sessions);
    struct cb_review_stage *stages = cb_arena_alloc(arena, STAGES_MAX, sizeof *stages);
    int *place = cb_arena_alloc(arena, walk->sessions.count + 1, sizeof *place);
    struct cb_span *spans = cb_arena_alloc(arena, walk->spans.count + 1, sizeof *spans);
    const struct cb_recipe *recipe = walk->final_recipe;
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const struct cb_stage *stage = &recipe->stages[i];
        stages[i].stage = (int)i + 1;
        double goes = 0;
        for (int figure = 1; figure <= unit->figures; figure++) {
            goes += cb_bench_coats(unit, figure, (int)i + 1);
        }
        if (stage->together != 0 && unit->figures > 0) {
            goes /= unit->figures;
        }
        stages[i].planned_min = stage->work_min * goes;
    }
    review->stage_count = recipe->stage_count;
    for (size_t i = 0; i < unit->film_count; i++) {
        const int stage = unit->films[i].stage;
        if (stage >= 1 && (size_t)stage <= recipe->stage_count) {
            stages[stage - 1].coats++;
        }
    }
    for (size_t i = 0; i < walk->sessions.count; i++) {
        place[i] = -1;
    }
    for (size_t i = 0; i < walk->spans.count; i++) {
        struct cb_span span = walk->spans.items[i];
        const int64_t ms = span.to_ms - span.from_ms;
        if (place[span.session] < 0) {
            const struct session *session = &walk->sessions.items[span.session];
            place[span.session] = (int)review->session_count;
            sessions[review->session_count++] = (struct cb_review_session){
                .from_ms = session->from_ms, .to_ms = session->to_ms, .cut_off = session->cut_off};
        }
        span.session = place[span.session];
        sessions[span.session].spent_ms[span.spent] += ms;
        review->spent_ms[span.spent] += ms;
        review->session_ms += ms;
        if (span.stage >= 1 && (size_t)span.stage <= recipe->stage_count) {
            stages[span.stage - 1].spent_ms[span.spent] += ms;
        }
        if (span.spent == CB_SPENT_HANDS_ON && span.figure >= 1 && span.figure <= CB_FIGURES_MAX) {
            review->figure_ms[span.figure] += ms;
        }
        spans[i] = span;
    }
    struct cb_span *questions = cb_arena_alloc(arena, walk->questions.count + 1, sizeof *questions);
    for (size_t i = 0; i < walk->questions.count; i++) {
        questions[i] = walk->questions.items[i];
        const int session = place[questions[i].session];
        questions[i].session = session < 0 ? 0 : session;
    }
    cb_review_list_dryings(walk->bench, walk->back.learn, unit, end_ms, review, arena);
    for (size_t i = 0; i < walk->spans.count; i++) {
        sessions[spans[i].session].drying_ms +=
            cb_review_drying_ms(review, spans[i].from_ms, spans[i].to_ms);
    }
    review->sessions = sessions;
    review->stages = stages;
    review->spans = spans;
    review->span_count = walk->spans.count;
    review->questions = questions;
    review->question_count = walk->questions.count;
}

/* What falls due while nobody sits at the bench is not late when the bench is opened again. */
static bool in_session(const struct cb_review *review, int64_t at_ms)
{
    for (size_t i = 0; i < review->session_count; i++) {
        if (at_ms >= review->sessions[i].from_ms && at_ms <= review->sessions[i].to_ms) {
            return true;
        }
    }
    return false;
}

static void count_pings(const struct cb_unit *unit, struct cb_review *review)
{
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        if (film->pinged_ms == CB_TIME_NONE) {
            continue;
        }
        review->ping_count++;
        const bool wet = film->wet_ms != CB_TIME_NONE && film->wet_ms >= film->pinged_ms;
        const bool dry = film->dry_ms != CB_TIME_NONE && film->dry_ms >= film->pinged_ms;
        review->ping_answered += wet || dry ? 1 : 0;
        review->ping_wet += wet ? 1 : 0;
        review->ping_dry += dry && !wet ? 1 : 0;
        review->ping_late += film->pinged_ms - film->pinged_due_ms > LATE_MS &&
                                     in_session(review, film->pinged_due_ms)
                                 ? 1
                                 : 0;
    }
}

static void list_paints(const struct cb_unit *unit, struct cb_review *review,
                        struct cb_arena *arena)
{
    struct cb_review_paint *paints = cb_arena_alloc(arena, CB_RECIPE_MAX, sizeof *paints);
    for (size_t i = 0; i < unit->film_count && review->paint_count < CB_RECIPE_MAX; i++) {
        const struct cb_film *film = &unit->films[i];
        bool new = film->pot != NULL && film->drying->standard_min > 0 &&
                   film->drying->from != CB_TIME_WAIT;
        for (size_t j = 0; new &&j < review->paint_count; j++) {
            new = strcmp(paints[j].pot, film->pot) != 0;
        }
        if (new) {
            paints[review->paint_count++] = (struct cb_review_paint){
                cb_arena_text(arena, film->pot), cb_arena_text(arena, film->paint), film->technique,
                film->drying->standard_min, film->drying->pot_sd};
        }
    }
    review->paints = paints;
}

/* What the unit's own films teach. */
static struct cb_learn *learn_own(const struct cb_bench *bench, const struct cb_unit *unit)
{
    size_t count;
    size_t own = 0;
    const struct cb_row *rows = cb_bench_rows(bench, &count);
    struct cb_row *list = cb_mem_new(count + 1, sizeof *list);
    for (size_t i = 0; i < count; i++) {
        if (rows[i].unit != NULL && strcmp(rows[i].unit, unit->id) == 0) {
            list[own++] = rows[i];
        }
    }
    struct cb_learn *learn = cb_learn_new(NULL);
    cb_learn_sync(learn, list, own);
    free(list);
    return learn;
}

void cb_review_question(int64_t from_ms, char out[CB_REVIEW_QUESTION_SIZE])
{
    memcpy(out, "away ", sizeof "away ");
    cb_time_format(from_ms, out + 5);
}

const struct cb_review *cb_review_unit(const struct cb_bench *bench, size_t number,
                                       int64_t until_ms, struct cb_arena *arena)
{
    const struct cb_unit *unit = cb_bench_unit(bench, number);
    struct cb_review *review = cb_arena_alloc(arena, 1, sizeof *review);
    *review = (struct cb_review){.unit = unit->id,
                                 .name = unit->name,
                                 .figures = unit->figures,
                                 .finished = unit->finished,
                                 .begun_ms = unit->begun_ms,
                                 .recipe = unit->recipe};
    struct cb_learn *learn = learn_own(bench, unit);
    struct walk walk = {.bench = bench,
                        .back = {learn, unit},
                        .unit_id = unit->id,
                        .final_recipe = unit->recipe,
                        .live = until_ms != CB_TIME_NONE,
                        .ready_ms = CB_TIME_NONE};
    walk.events = cb_bench_events(bench, &walk.event_count);
    if (walk.event_count > 0) {
        const struct cb_moment last = moment_of(walk.events[walk.event_count - 1]);
        review->shift_ms = last.wall_ms - cb_bench_time(bench, &last);
    }
    walk.at_ms = cb_mem_new(walk.event_count + 1, sizeof *walk.at_ms);
    walk.replay = cb_bench_new(cb_bench_kinds(bench), cb_bench_reader(bench));
    read_timeline(&walk, until_ms);
    walk_all(&walk);
    const int64_t last_ms = walk.event_count > 0 ? walk.at_ms[walk.event_count - 1] : 0;
    sum_up(&walk, unit, until_ms != CB_TIME_NONE && until_ms > last_ms ? until_ms : last_ms, review,
           arena);
    count_pings(unit, review);
    list_paints(unit, review, arena);
    cb_bench_free(walk.replay);
    cb_learn_free(learn);
    free(walk.at_ms);
    free(walk.brush);
    cb_vec_free(&walk.sessions);
    cb_vec_free(&walk.overlays);
    cb_vec_free(&walk.spans);
    cb_vec_free(&walk.questions);
    return review;
}
