/* SPDX-License-Identifier: MIT */
/* The time of sessions: what was told of it, and how the rest of a gap is given out. */
#include "core/review/review_walk.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A surplus shorter than this is not worth a question (own judgement). */
#define QUESTION_MIN_MS (5 * CB_MS_PER_MIN)
/* Hands-on beyond this many times the expected is asked about (coatbell(1), REVIEW). */
#define SURPLUS_TIMES 3

int64_t cb_review_minutes_ms(double minutes)
{
    return isfinite(minutes) && minutes > 0 ? (int64_t)llround(minutes * 60000.0) : 0;
}

static int overlay_order(const void *a, const void *b)
{
    const struct cb_review_overlay *x = a;
    const struct cb_review_overlay *y = b;
    if (x->from_ms != y->from_ms) {
        return x->from_ms < y->from_ms ? -1 : 1;
    }
    if (x->to_ms != y->to_ms) {
        return x->to_ms < y->to_ms ? -1 : 1;
    }
    return (x->spent > y->spent) - (x->spent < y->spent);
}

static void add_overlay(struct cb_review_walk *walk, int64_t from_ms, int64_t to_ms,
                        enum cb_spent spent)
{
    if (to_ms > from_ms) {
        cb_vec_push(&walk->overlays, ((struct cb_review_overlay){from_ms, to_ms, spent}));
    }
}

/* Told times may overlap: the one that began first keeps what it has. */
static void settle_overlays(struct cb_review_walk *walk)
{
    if (walk->overlays.count == 0) {
        return;
    }
    qsort(walk->overlays.items, walk->overlays.count, sizeof *walk->overlays.items, overlay_order);
    size_t kept = 0;
    int64_t end = INT64_MIN;
    for (size_t i = 0; i < walk->overlays.count; i++) {
        struct cb_review_overlay overlay = walk->overlays.items[i];
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

static void close_session(struct cb_review_sitting *session, struct cb_review_walk *walk,
                          size_t event, int64_t at_ms, bool cut_off)
{
    session->end_event = event;
    session->to_ms = at_ms;
    session->cut_off = cut_off;
    cb_vec_push(&walk->sessions, *session);
}

void cb_review_timeline(struct cb_review_walk *walk, int64_t until_ms)
{
    struct cb_review_sitting session = {0};
    bool on = false;
    int64_t now = INT64_MIN;
    int64_t pause_ms = CB_TIME_NONE;
    for (size_t i = 0; i < walk->event_count; i++) {
        const struct cb_event *event = walk->events[i];
        const int64_t own = cb_bench_event_ms(walk->bench, i);
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
            session = (struct cb_review_sitting){.first_event = i, .from_ms = now};
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
            add_overlay(walk, now - cb_review_minutes_ms(minutes), now, CB_SPENT_CHORE);
        } else if (event->kind == CB_EVENT_ANSWERED) {
            cb_vec_push(&walk->answers, cb_event_text(event, CB_FIELD_QUESTION, ""));
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

static void add_span(struct cb_review_walk *walk, int64_t from_ms, int64_t to_ms,
                     enum cb_spent spent, struct cb_film_key film)
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
    struct cb_review_walk *walk;
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
static size_t first_overlay(const struct cb_review_walk *walk, int64_t from_ms)
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
static int64_t free_ms(const struct cb_review_walk *walk, int64_t from_ms, int64_t to_ms)
{
    int64_t total = to_ms > from_ms ? to_ms - from_ms : 0;
    for (size_t i = first_overlay(walk, from_ms); i < walk->overlays.count; i++) {
        const struct cb_review_overlay *overlay = &walk->overlays.items[i];
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
static int64_t after_free(const struct cb_review_walk *walk, int64_t from_ms, int64_t to_ms,
                          int64_t ms)
{
    for (size_t i = first_overlay(walk, from_ms); i < walk->overlays.count; i++) {
        const struct cb_review_overlay *overlay = &walk->overlays.items[i];
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
static bool answered_away(const struct cb_review_walk *walk, int64_t from_ms)
{
    char expected[CB_REVIEW_QUESTION_SIZE];
    cb_review_question(from_ms, expected);
    for (size_t i = 0; i < walk->answers.count; i++) {
        if (strcmp(walk->answers.items[i], expected) == 0) {
            return true;
        }
    }
    return false;
}

static void ask(struct cb_review_walk *walk, int64_t from_ms, int64_t to_ms)
{
    if (free_ms(walk, from_ms, to_ms) >= QUESTION_MIN_MS && !answered_away(walk, from_ms)) {
        cb_vec_push(&walk->questions,
                    ((struct cb_span){from_ms, to_ms, CB_SPENT_AWAY, walk->session, 0, 0, 0}));
    }
}

void cb_review_close_gap(struct cb_review_walk *walk, int64_t to_ms,
                         const struct cb_review_mark *mark)
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
    if (mark->kind != CB_MARK_END && mark->kind != CB_MARK_CUT) {
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
            mark->kind == CB_MARK_TIDIED || mark->redone ? CB_SPENT_TIDY : CB_SPENT_HANDS_ON;
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
    } else if (mark->kind == CB_MARK_CUT) {
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
        const struct cb_review_overlay *overlay = &walk->overlays.items[i];
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
