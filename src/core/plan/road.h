/* SPDX-License-Identifier: MIT */
/*
 * The road of one unit: the plan of what is left of it, kept from one moment to the next, and what
 * it says to put on now. On the bench the paint on the brush goes first where the plan loses under
 * two minutes by it; so does, under one minute, what the order of the recipe puts on next; and who
 * can paint waits for nothing that gains less than the wait. What dries long goes on early enough
 * that it may be slow. The plan goes by the rings in force;
 * so many simulations of the same moments always give the same road.
 */
#ifndef CB_CORE_PLAN_ROAD_H
#define CB_CORE_PLAN_ROAD_H

#include "core/bench/bench.h"
#include "core/bench/next.h"
#include "core/learn/hours.h"
#include "core/plan/plan.h"

/* What a change of paint is priced at for who wants it calm: .3 % longer (found with the checks of
 * the plan, on recipes like these). */
#define CB_PLAN_CALM_MIN 3.0

struct cb_road_from {
    const struct cb_bench *bench;
    const struct cb_learn *learn; /* NULL: nothing learned */
    const struct cb_hours *hours; /* NULL: minutes as in the recipe */
    const struct cb_unit *unit;
    int64_t now_ms;
    bool calm;
    double evening_min, tonight_min; /* its usual length and what is left of this one; 0: unknown */
};

struct cb_road {
    const char *unit; /* its id */
    int64_t from_ms;  /* bench time of the plan's minute 0 */
    const struct cb_plan_problem *problem;
    struct cb_plan told;   /* as one long evening, by which next was found: from the log alone */
    struct cb_plan plan;   /* the same, bettered by idle time */
    struct cb_plan nights; /* the same over evenings; as plan where their length is unknown */
    double rule_min;       /* later by these rules than without them; 0 until it was thought of */
    /* What to put on: any; or what to wait for; neither: nothing can be planned. */
    struct cb_proposal next;
    size_t simulations; /* that it rests on */
};

struct cb_road_kept; /* the road, and all it was made of */
struct cb_road_kept *cb_road_new(void);
void cb_road_free(struct cb_road_kept *kept);

/* Anew from where the painter stands, in a few thousandths of a second: what is next follows from
 * `from` alone, so that the same log says the same. */
void cb_road_replan(struct cb_road_kept *kept, const struct cb_road_from *from);
/* Is there more to find out? For idle time, some thousandths of a second a piece: what comes after
 * what is next, which stays, by more simulations, and by those hours (with the unit's own marks;
 * NULL: from's). The unit, as the bench has it now, is as it was but for rings. true: the plan is
 * another. */
bool cb_road_is_open(const struct cb_road_kept *kept);
bool cb_road_think(struct cb_road_kept *kept, const struct cb_unit *unit,
                   const struct cb_hours *hours);
/* Until the next of the above; NULL: none was made, or it was forgotten. */
const struct cb_road *cb_road_get(const struct cb_road_kept *kept);
void cb_road_forget(struct cb_road_kept *kept);
/* What its nights go by: the length of an evening, and what was left of the first. 0: unknown. */
void cb_road_evenings(const struct cb_road_kept *kept, double *evening_min, double *tonight_min);

#endif
