/* SPDX-License-Identifier: MIT */
/*
 * From reviews to hours: what the marks of finished and running units teach about hands-on
 * minutes, and what is therefore still to go. Technique i of the estimator is enum cb_technique.
 */
#ifndef CB_CORE_REVIEW_EFFORT_H
#define CB_CORE_REVIEW_EFFORT_H

#include "base/coder.h"
#include "core/bench/bench.h"
#include "core/learn/hours.h"
#include "core/review/evenings.h"
#include "core/review/review.h"

/* An estimator with one effect a technique, at its priors. Release with cb_hours_free. */
struct cb_hours *cb_effort_new(void);

/* The marks of one technique in one session: one a film, one a go where a stage goes together. */
struct cb_effort_sitting {
    int technique;   /* enum cb_technique */
    double marks;    /* how many */
    double mean_log; /* of took / nominal, over them */
};

/* What one unit teaches: its marks, and how long its sessions were. */
struct cb_effort {
    size_t sitting_count;
    const struct cb_effort_sitting *sittings; /* in the order of the sessions */
    size_t session_count;
    const double *session_min;
    double all_min, hands_on_min, change_min, waiting_min; /* of the unit's part of sessions */
    size_t evening_count;
    const struct cb_evening *evenings; /* of its bench (core/review/lesson.h); joined */
};
/* One mark: the work on one coat of one figure, of all of them where a stage goes together. */
struct cb_effort_mark {
    int stage; /* from 1 */
    int session;
    double min; /* hands-on */
};
/* The next mark from span *at on, which is moved past it; false: there is none. Marks so short that
 * they are slips of the key are passed over. */
bool cb_effort_next_mark(const struct cb_review *review, size_t *at, struct cb_effort_mark *mark);

struct cb_effort cb_effort_of(const struct cb_review *review, const struct cb_kinds *kinds,
                              struct cb_arena *arena);
/* Written or read with what is kept of a unit (base/coder.h). */
void cb_effort_code(struct cb_coder *coder, struct cb_effort *effort);

/* Adds a unit's marks as a new unit. */
void cb_effort_learn(struct cb_hours *hours, const struct cb_effort *effort);

/* Hands-on minutes of the coats the unit still wants. All zero when nothing is left. */
struct cb_hours_sum cb_effort_to_go(const struct cb_hours *hours, const struct cb_unit *unit,
                                    const struct cb_kinds *kinds);

/* The figures, from 1, that make a unit what it is: with time at the bench or, while it is under
 * way, not parked. unit: NULL when it is finished. All of them when there is none. Returns how
 * many.
 */
int cb_effort_figures(const struct cb_review *review, const struct cb_unit *unit,
                      bool figures[CB_FIGURES_MAX + 1]);

/* The same for those figures to the whole recipe, as a new unit. */
struct cb_hours_sum cb_effort_next(const struct cb_hours *hours, const struct cb_recipe *recipe,
                                   const bool figures[CB_FIGURES_MAX + 1],
                                   const struct cb_kinds *kinds);

/* How many evenings of this painter's that is: minutes of session a minute of hands-on, over the
 * usual length of a session. 0 when there is no session to go by. */
int cb_effort_evenings(double hands_on_min, const struct cb_effort *habits);

#endif
