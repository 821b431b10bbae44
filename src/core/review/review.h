/* SPDX-License-Identifier: MIT */
/*
 * Where the hours went. Every millisecond of a session is attributed once, to one of
 * CB_SPENT_*; the parts add up to the sessions' span exactly, whatever the log holds.
 * The rule that splits a gap between two marks stands in coatbell(1), REVIEW.
 */
#ifndef CB_CORE_REVIEW_REVIEW_H
#define CB_CORE_REVIEW_REVIEW_H

#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/str.h"
#include "base/time.h"
#include "core/bench/bench.h"

#define CB_SPENTS(X)                                                                               \
    X(HANDS_ON, "hands_on_min")                                                                    \
    X(CHANGE, "change_min")                                                                        \
    X(WAITING, "waiting_min")                                                                      \
    X(CHORE, "chore_min")                                                                          \
    X(TIDY, "tidy_min")                                                                            \
    X(PAUSE, "pause_min")                                                                          \
    X(AWAY, "away_min")
enum cb_spent {
#define X(id, word) CB_SPENT_##id,
    CB_SPENTS(X)
#undef X
        CB_SPENT_COUNT
};

struct cb_span { /* one attributed piece of time, in order, without holes within a session */
    int64_t from_ms, to_ms; /* bench time */
    enum cb_spent spent;
    int session;             /* index */
    int figure, stage, coat; /* HANDS_ON, CHANGE, TIDY; WAITING: the stage waited for; 0: none */
};
struct cb_review_session {
    int64_t from_ms, to_ms;
    bool cut_off;      /* no session_closed: closed at its last event */
    int64_t drying_ms; /* of what is the unit's, time in which a film of it was drying */
    int64_t spent_ms[CB_SPENT_COUNT]; /* of the unit reviewed */
};
struct cb_review_stage {
    int stage; /* from 1 */
    int64_t spent_ms[CB_SPENT_COUNT];
    int coats;          /* films put on */
    double planned_min; /* hands-on by the recipe; NAN: not said */
    /* From on to when it counted as dry: by its ping, or when it was found dry or painted over
     * before; the mean of its films, NAN: none can be told. And the same, had a fan stood there
     * where the air was still. */
    double ring_min, fan_ring_min;
};
struct cb_review_paint { /* what was put on, each pot once, in the order it first was */
    const char *pot, *name;
    enum cb_technique technique;
    double standard_min, pot_sd; /* as cb_drying */
};
/* Of one unit; borrows nothing from the bench but the recipe and texts of the unit. */
struct cb_review {
    const char *unit, *name; /* id, shown name */
    int figures;
    bool finished;
    int64_t begun_ms; /* bench time */
    int64_t shift_ms; /* wall less bench time, as the clock stood at the log's last event */
    const struct cb_recipe *recipe;   /* in force at the end */
    int64_t session_ms;               /* sum of the sessions' spans that are the unit's */
    int64_t spent_ms[CB_SPENT_COUNT]; /* adds up to session_ms exactly */
    size_t span_count, session_count, stage_count;
    const struct cb_span *spans;
    const struct cb_review_session *sessions;
    const struct cb_review_stage *stages;
    int64_t figure_ms[CB_FIGURES_MAX + 1]; /* hands-on */
    /* a surplus over three times the expected hands-on that nobody explained; 0: none */
    size_t question_count;
    const struct cb_span *questions; /* "were you away from .. to ..?" */
    /* wet: found wet after it, so it came early; late: shown over a minute after it was due,
     * within a session */
    size_t ping_count, ping_answered, ping_dry, ping_wet, ping_late;
    /* beside the hours: when at least one film was drying, by the middle of what its paint takes;
     * disjoint and in order */
    size_t drying_count;
    const struct cb_review_drying {
        int64_t from_ms, to_ms;
    } * dryings;
    int64_t film_drying_ms; /* of all films together */
    size_t paint_count;
    const struct cb_review_paint *paints;
};

/* The question about an absence that began there, as an `answered` event names it; value 0 says
 * "no, I was here". */
#define CB_REVIEW_QUESTION_SIZE (5 + CB_RFC3339_SIZE)
void cb_review_question(int64_t from_ms, char out[CB_REVIEW_QUESTION_SIZE]);

/* The minutes of sessions go to the unit in front. A film counted as wet until its ping and as dry
 * from then on; one that had none, from when the unit's own films say it was dry: so a review rests
 * on the unit's events and nothing else. The result lives in the arena, its recipe and texts as
 * long as the bench. until_ms: for a live unit, now; else CB_TIME_NONE. */
const struct cb_review *cb_review_unit(const struct cb_bench *bench, size_t unit, int64_t until_ms,
                                       struct cb_arena *arena);

/* The same in pieces of some hundredths of a second, for who may not be kept waiting: begin, step
 * until it returns false, end, which releases the work and returns the review, or NULL before its
 * last step. The bench is given nothing meanwhile. */
struct cb_review_work;
struct cb_review_work *cb_review_begin(const struct cb_bench *bench, size_t unit, int64_t until_ms,
                                       struct cb_arena *arena);
bool cb_review_step(struct cb_review_work *work);
const struct cb_review *cb_review_end(struct cb_review_work *work);

/* What of that drying lies in the span, maybe nothing; and of all of them together. */
struct cb_review_drying cb_review_drying_in(const struct cb_review *review, size_t drying,
                                            int64_t from_ms, int64_t to_ms);
int64_t cb_review_drying_ms(const struct cb_review *review, int64_t from_ms, int64_t to_ms);

/* Appends it as bytes of this machine, to be kept; its recipe's text is kept by who keeps it. Back,
 * in the arena, with that recipe: false when they are none, or not of it. */
void cb_review_pack(const struct cb_review *review, struct cb_str *out);
bool cb_review_unpack(const void *bytes, size_t length, const struct cb_recipe *recipe,
                      struct cb_arena *arena, struct cb_review *review);

#endif
