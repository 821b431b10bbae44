/* SPDX-License-Identifier: MIT */
/* The time of sessions: what was told of it, and how the rest of a gap falls. */
#include "core/review/review_walk.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A surplus shorter than this is not worth a question (own judgement). */
#define QUESTION_MIN_MS (5 * CB_MS_PER_MIN)
/* Hands-on beyond this many times the expected is asked about (coatbell(1), REVIEW). */
#define SURPLUS_TIMES 3
/* A slip is tidied up within this (own judgement); before it the figure was painted. */
#define TIDY_MAX_MS (2 * CB_MS_PER_MIN)

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

size_t cb_review_first_overlay(const struct cb_review_walk *walk, int64_t from_ms)
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

int64_t cb_review_free_ms(const struct cb_review_walk *walk, int64_t from_ms, int64_t to_ms)
{
    int64_t total = to_ms > from_ms ? to_ms - from_ms : 0;
    for (size_t i = cb_review_first_overlay(walk, from_ms); i < walk->overlays.count; i++) {
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
    for (size_t i = cb_review_first_overlay(walk, from_ms); i < walk->overlays.count; i++) {
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
    if (cb_review_free_ms(walk, from_ms, to_ms) >= QUESTION_MIN_MS &&
        !answered_away(walk, from_ms)) {
        cb_vec_push(&walk->questions,
                    ((struct cb_span){from_ms, to_ms, CB_SPENT_AWAY, walk->session, 0, 0, 0}));
    }
}

/* Waiting, change and rest of what ends with a coat or a slip tidied up. */
static void split(struct cb_review_walk *walk, const struct cb_review_mark *mark,
                  struct cb_review_gap *gap, int64_t all_ms)
{
    const int64_t ready =
        walk->ready_ms == CB_TIME_NONE || walk->ready_ms > gap->to_ms ? gap->to_ms : walk->ready_ms;
    gap->waiting_ms = cb_review_free_ms(walk, gap->from_ms, ready);
    int64_t rest_ms = all_ms - gap->waiting_ms;
    gap->change_ms = mark->changed ? mark->change_ms : 0;
    gap->work_said = mark->work_ms >= 0;
    if (gap->work_said) {
        const int64_t hands_ms = mark->work_ms < all_ms ? mark->work_ms : all_ms;
        const int64_t left_ms = all_ms - hands_ms;
        gap->change_ms = gap->change_ms < left_ms ? gap->change_ms : left_ms;
        gap->waiting_ms = left_ms - gap->change_ms;
        rest_ms = hands_ms + gap->change_ms;
    }
    gap->change_ms = gap->change_ms < rest_ms ? gap->change_ms : rest_ms;
    gap->rest_ms = rest_ms - gap->change_ms;
    gap->rest = mark->redone ? CB_SPENT_TIDY : CB_SPENT_HANDS_ON;
    gap->usual_change_ms = mark->change_ms;
    if (mark->kind == CB_MARK_TIDIED) {
        gap->slipped = true;
        gap->slip = mark->films[0];
        gap->tidy_ms = gap->rest_ms < TIDY_MAX_MS ? gap->rest_ms : TIDY_MAX_MS;
        gap->rest_ms -= gap->tidy_ms;
    } else {
        gap->first_film = walk->films.count;
        gap->film_count = mark->count;
        for (size_t i = 0; i < mark->count; i++) {
            cb_vec_push(&walk->films, mark->films[i]);
        }
    }
    const int64_t surplus = gap->rest_ms + gap->tidy_ms - SURPLUS_TIMES * mark->expected_ms;
    if (mark->work_ms < 0 && surplus > 0) {
        const int64_t begin =
            after_free(walk, gap->from_ms, gap->to_ms, gap->waiting_ms + gap->change_ms);
        ask(walk, begin, after_free(walk, begin, gap->to_ms, surplus));
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
    struct cb_review_gap gap = {.from_ms = from_ms, .to_ms = to_ms, .session = walk->session};
    const int64_t all = cb_review_free_ms(walk, from_ms, to_ms);
    if (mark->kind == CB_MARK_CUT) {
        gap.waiting_ms = mark->expected_ms < all ? mark->expected_ms : all;
        gap.rest_ms = all - gap.waiting_ms;
        const int64_t begin = after_free(walk, from_ms, to_ms, gap.waiting_ms);
        gap.rest = answered_away(walk, begin) ? CB_SPENT_WAITING : CB_SPENT_AWAY;
        ask(walk, begin, to_ms);
    } else if (mark->kind == CB_MARK_END) {
        /* Whoever sits at the bench while a coat can go on has one on the brush; what was left at
         * the end of a session without a mark was packing up. */
        const int64_t ready = walk->ready_ms == CB_TIME_NONE ? to_ms : walk->ready_ms;
        const int64_t idle = cb_review_free_ms(walk, from_ms, ready < to_ms ? ready : to_ms);
        gap.waiting_ms = mark->live ? idle : all;
        gap.rest_ms = all - gap.waiting_ms;
        gap.rest = CB_SPENT_HANDS_ON;
        const int64_t surplus = all - idle - SURPLUS_TIMES * mark->expected_ms;
        if (!mark->live && surplus > 0) {
            ask(walk, after_free(walk, from_ms, to_ms, all - surplus), to_ms);
        }
    } else {
        split(walk, mark, &gap, all);
    }
    cb_vec_push(&walk->gaps, gap);
}
