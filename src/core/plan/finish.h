/* SPDX-License-Identifier: MIT */
/*
 * When it is finished, by the calendar: what a plan still takes, dealt out over evenings like those
 * that this painter has had.
 *
 * A thousand futures are played through. In each the hands-on minutes are drawn from their likely
 * range, and evenings follow each other as they did once on record: how long they were, at what
 * time they began, how many days lay between, on which weekday; now and then otherwise, the more so
 * the fewer are on record. The moments of the finish in all of them are the answer, their middle
 * one and the 80 % in the midst. The chance is that of a given seed: the same question has the same
 * answer.
 *
 * It knows nothing of holidays, of other units that take their share of an evening (ask for the
 * plan of all of them), nor of what dries over night in the midst of the plan: give a plan that was
 * made with the usual evening where that matters.
 */
#ifndef CB_CORE_PLAN_FINISH_H
#define CB_CORE_PLAN_FINISH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/time.h"
#include "core/learn/hours.h"
#include "core/plan/plan.h"
#include "core/review/effort.h"
#include "core/review/evenings.h"

/* With fewer evenings on record nothing is said of this painter's days. */
#define CB_FINISH_EVENINGS_MIN 3

struct cb_finish_ask {
    const struct cb_plan *plan; /* of all that is to go, from now on: hands-on minutes (as learned,
                                   the unit's own factor too: they are the middle of the range),
                                   changes of paint, waiting, how long after the last coat it is
                                   dry */
    struct cb_hours_sum hours;  /* hands-on to go: how wide around the plan's work_min; zeroed: not
                                   known, and as wide as for an unknown painter */
    const struct cb_effort *habits; /* of finished units (cb_taught.habits): its evenings, and what
                                       of them went into chores and pauses; NULL: none */
    const struct cb_evening *evenings; /* of the bench itself (cb_evenings_of); may be in habits,
                                          too; the one under way may be among them */
    size_t evening_count;
    const struct cb_zone *zone; /* NULL: UTC */
    int64_t now_ms;             /* wall, as all moments here */
    int64_t session_ms;         /* since when the bench is open; CB_TIME_NONE: it is not. Where
                                   nothing was done for CB_EVENING_SPLIT_MIN nobody sits there */
    double tonight_min;         /* that are left of the session, where it was told; 0: as usual */
    double evening_min;         /* length of an evening that was given; 0: as long as usual */
};

enum cb_finish_from {
    CB_FINISH_UNKNOWN, /* too few evenings and no length given, something never dries, or it takes
                          hundreds of evenings */
    CB_FINISH_DRYING,  /* nothing is left to put on: now, or when the last film is dry */
    CB_FINISH_GIVEN,   /* too few evenings: one a day, from today on, of the length given */
    CB_FINISH_LEARNED, /* by the evenings on record, with their lengths unless one was given */
};

struct cb_finish {
    enum cb_finish_from from; /* UNKNOWN: of what follows only what is known and usual holds */
    size_t known_evenings;    /* on record, and sound: what it rests on */
    double usual_min;         /* length of an evening, the median; 0: not known and not given */
    int usual_start_min;      /* when one begins, minutes after midnight, the median; -1 */
    /* Evenings with brush work from now on, the one under way among them; 0: only drying. */
    int evenings, evenings_low, evenings_high; /* median, 10 and 90 % */
    int64_t median_ms, low_ms, high_ms; /* when the last film is dry: median, 10 and 90 %, wall */
    bool tonight;                       /* median_ms lies in the session that is open */
};

/* Some milliseconds of processor time (measured: 3 for a rest of nine evenings): for a screen, keep
 * it until a minute has gone or the plan is another. */
struct cb_finish cb_finish_of(const struct cb_finish_ask *ask);

#endif
