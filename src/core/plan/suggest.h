/* SPDX-License-Identifier: MIT */
/*
 * What would have saved time at the bench: a unit's own log, replayed under other choices by the
 * planner's simulation. It goes by what was measured: the hands-on minutes of each stage and a
 * change of paint as the review has them, and how long films took to count as dry. The log's own
 * order is replayed with the same minutes, so that a choice is all that differs.
 *
 * A painter of the simulation has the next paint on the brush while a film dries; what a change
 * took after a wait counts as hands-on. Of several evenings each choice is tried on evenings as
 * long as the unit's were on average; nights dry what is wet, and are no waiting. Pauses, chores,
 * other units, slips and coats that were done again stay where they were, or are left out.
 */
#ifndef CB_CORE_PLAN_SUGGEST_H
#define CB_CORE_PLAN_SUGGEST_H

#include <stddef.h>

#include "base/str.h"
#include "core/review/review.h"

#define CB_SUGGEST_MIN   5.0 /* minutes saved that are worth a word (own judgement) */
#define CB_SUGGESTIONS   3
#define CB_SUGGEST_PAIRS 2

struct cb_suggestion {
    const char *choice;              /* its word; static */
    double saves_min;                /* hands-on, changes of paint and waiting, against the log */
    double waiting_min;              /* of it, less waiting; less than 0 where there is more */
    int paint_changes;               /* fewer of them; less than 0: more */
    int figures, instead_of;         /* at a time; else 0 */
    int stages[CB_SUGGEST_PAIRS][2]; /* from 1, taken in turn; 0: none */
    int stage;                       /* from 1, that gains most by a fan; 0: none */
    double ring_min, fan_ring_min;   /* its films' */
};

/* Those that save most first. Each is judged by itself, and half of it at least is saved beside the
 * others, too, so that no two are one saving under two names. */
struct cb_suggestions {
    size_t count;
    struct cb_suggestion items[CB_SUGGESTIONS];
    double together_min; /* that all of them save at once */
    double spent_min;    /* hands-on, changes and waiting of the coats of the log */
    double replayed_min; /* the same of its order in the simulation */
};

/* Pure: alike for the same review. Some hundredths of a second at the most. */
struct cb_suggestions cb_suggest(const struct cb_review *review, const struct cb_kinds *kinds);

/* "seven at a time instead of three would have saved 34 min: 21 min less waiting, nine fewer
 * changes of paint". Added to out. */
void cb_suggest_say(const struct cb_suggestion *suggestion, const struct cb_recipe *recipe,
                    struct cb_str *out);
/* That they don't add up; nothing where there is one, or none. */
void cb_suggest_say_together(const struct cb_suggestions *suggestions, struct cb_str *out);

#endif
