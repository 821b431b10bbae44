/* SPDX-License-Identifier: MIT */
/*
 * The walk through a log, event by event, with the bench as it was shown then: it gives out the
 * time of every session that was the unit's. Private to review*.c.
 */
#ifndef CB_CORE_REVIEW_REVIEW_WALK_H
#define CB_CORE_REVIEW_REVIEW_WALK_H

#include "base/vec.h"
#include "core/bench/next.h"
#include "core/review/review.h"

/* Time that was told to be something else: it is cut out of whatever gap it lies in. */
struct cb_review_overlay {
    int64_t from_ms, to_ms;
    enum cb_spent spent;
};

struct cb_review_sitting {
    size_t first_event, end_event; /* end_event: the one that closes it, or the event count */
    int64_t from_ms, to_ms;
    bool cut_off;
};

/* A gap and how its free time falls: first waiting, then the change of paint, then the rest. */
struct cb_review_gap {
    int64_t from_ms, to_ms;
    int session;
    int64_t waiting_ms, change_ms, rest_ms, tidy_ms; /* tidy: at its end, of a slip */
    enum cb_spent rest;
    size_t first_film, film_count; /* of a press of coats, in walk.films; 0: no coat was marked */
    bool slipped;                  /* it ended with a slip tidied up */
    struct cb_film_key slip;
    int64_t usual_change_ms; /* by the recipe */
    bool work_said;          /* the painter said how long it took */
};

struct cb_review_walk {
    const struct cb_bench *bench; /* the whole log */
    struct cb_look_back back;     /* what counted as dry */
    struct cb_bench *replay;      /* the log up to now, as the bench showed it */
    const struct cb_event *const *events;
    size_t event_count;
    int64_t *at_ms; /* bench time of each event, never running backwards */
    CB_VEC(struct cb_review_sitting) sessions;
    CB_VEC(struct cb_review_overlay) overlays; /* disjoint, in order */
    CB_VEC(const char *) answers;              /* questions that were answered */
    CB_VEC(struct cb_review_gap) gaps;
    CB_VEC(struct cb_film_key) films;
    CB_VEC(struct cb_span) spans; /* when the walk is at its end */
    CB_VEC(struct cb_span) questions;
    const char *unit_id;
    const struct cb_recipe *final_recipe;

    size_t event; /* the next one, of that session or before it */
    int session;
    bool in_session, poured;

    /* the gap at hand */
    bool live;         /* the last session is not over */
    bool open;         /* a session is on and the unit is in front */
    int64_t gap_ms;    /* where it begins */
    int64_t ready_ms;  /* when the first coat could go on; CB_TIME_NONE: not yet known */
    const char *brush; /* pot on the brush in this session, NULL: none yet */
    bool lifted;       /* a film came up before */
};

/* What ends a gap. */
struct cb_review_mark {
    enum { CB_MARK_COATS, CB_MARK_TIDIED, CB_MARK_END, CB_MARK_CUT } kind;
    size_t count;
    struct cb_film_key films[CB_FIGURES_MAX];
    bool changed, redone;
    bool live; /* CB_MARK_END: the session goes on */
    int64_t change_ms, expected_ms;
    int64_t work_ms; /* said by the painter, -1: not */
};

/* review_gap.c: sessions and told times, over the whole log. */
void cb_review_timeline(struct cb_review_walk *walk, int64_t until_ms);
/* The gap ends: how its time falls, by itself; what nobody explained is asked about. */
void cb_review_close_gap(struct cb_review_walk *walk, int64_t to_ms,
                         const struct cb_review_mark *mark);
/* What is not told as something else of the span. */
int64_t cb_review_free_ms(const struct cb_review_walk *walk, int64_t from_ms, int64_t to_ms);
/* First told time that ends after the moment. */
size_t cb_review_first_overlay(const struct cb_review_walk *walk, int64_t from_ms);
/* review_pour.c: all gaps are there. What the first mark of each stage took beyond the others of it
 * becomes change of paint; then the time of every gap is given out as spans. */
void cb_review_pour(struct cb_review_walk *walk);
int64_t cb_review_minutes_ms(double minutes); /* 0 when it is no number of them */

/* bench, unit and learn outlive it; a zeroed walk is one that has not begun. */
void cb_review_walk_begin(struct cb_review_walk *walk, const struct cb_bench *bench,
                          const struct cb_unit *unit, const struct cb_learn *learn,
                          int64_t until_ms);
/* So many events further; false: that was all, spans and questions are there. */
bool cb_review_walk_on(struct cb_review_walk *walk, size_t events);
void cb_review_walk_fini(struct cb_review_walk *walk);

#endif
