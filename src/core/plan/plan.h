/* SPDX-License-Identifier: MIT */
/*
 * What next, and when is it finished: one painter, figures x stages x coats. A coat is hands-on for
 * a while and then dries by itself; a change of paint takes its time, before the first coat too;
 * what stands below must be dry, and on one figure the films of two stages that touch are not wet
 * at the same time. The plan finishes early, then changes paint seldom, then stays with what is in
 * hand.
 * (1 | minimum delays, set-ups | Cmax, strongly NP-hard with unit work already: Finta & Liu 1996,
 * Discrete Applied Mathematics 70(3), so that no more than a good plan is promised. It is never
 * worse than one stage after the other.)
 *
 * Figures of a stage are alike, hence a plan is a priority a coat, one for its first part and one
 * for the rest, carried out by a simulation; the best of a grid of weightings is made better by a
 * local search. It knows no clock, no recipe and no chance but its seed: so many simulations of one
 * problem always give the same plan.
 *
 * All times are minutes at the bench from now on. With evenings one evening follows the other: the
 * night between them takes no minute, and what was wet in the evening dries over it.
 */
#ifndef CB_CORE_PLAN_PLAN_H
#define CB_CORE_PLAN_PLAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

#define CB_PLAN_NO_PAINT (-1)
#define CB_PLAN_ALL      INT32_MAX

struct cb_plan_stage {
    double work_min;   /* hands-on for one figure and coat, for the whole go of a together stage */
    double dry_min;    /* from the end of that on; INFINITY: never, as the air is */
    double change_min; /* to have its paint on the brush when another was, or none */
    int paint;         /* alike for the same paint; CB_PLAN_NO_PAINT: leaves the brush as it is */
    int together;      /* 0: a figure at a time; else how many fit into a go, or CB_PLAN_ALL */
    size_t need_count, touch_count;
    const int *needs;   /* stages that must be on and dry; no ring */
    const int *touches; /* either way; one of the two stages is enough */
};

/* A stage on a figure. */
struct cb_plan_slot {
    int coats, on;   /* wanted in all, on already; a parked figure wants no more than is on */
    double dry_min;  /* when what is on is dry; 0: it is, INFINITY: it stands still */
    double from_min; /* its next coat not before; 0 */
};

/* Borrowed while it is planned. Several units on one bench: their stages and figures one behind the
 * other, a slot without coats where the two don't belong together. */
struct cb_plan_problem {
    size_t stage_count, figure_count;
    const struct cb_plan_stage *stages; /* in natural order */
    const struct cb_plan_slot *slots;   /* [stage * figure_count + figure] */
    int brush;                          /* paint on it; CB_PLAN_NO_PAINT: clean */
    int first_paint;                    /* of the first coat; CB_PLAN_NO_PAINT: whichever */
    int first_stage;                    /* of the first coat, from 1; 0: whichever */
    double calm_min;                    /* what a change of paint is priced at beyond its minutes */
    /* What these are priced at: to leave the paint on the brush where a coat of it could go on, and
     * to begin another coat than the first of the recipe's order that could; a minute waited, where
     * one could paint; a minute by which any one film would put off the finish, were it twice
     * as slow. */
    double leave_min, skip_min, linger_price, slow_price;
    double evening_min; /* length of an evening; 0: one long one */
    double tonight_min; /* left of the first; 0: all of it */
    double night_min;   /* from the end of one to the next */
};

struct cb_plan_task {
    int stage, coat;  /* stage from 0, coat from 1 */
    int figure;       /* from 0; -1: a together go */
    int evening;      /* from 0 */
    bool change;      /* of paint, before the start */
    double start_min, /* of the brush work; the change of paint lies before */
        end_min,      /* of it */
        dry_min;      /* after the end of its evening: dried over night */
    size_t member_count;
    const int *members; /* figures, from 0 */
};

struct cb_plan {
    size_t task_count;
    const struct cb_plan_task *tasks; /* in order */
    size_t member_count;              /* of all tasks */
    size_t left_count; /* coats that can't be planned, since something stands still */
    double finish_min; /* when the last film is dry */
    double work_min;   /* hands-on, without changes of paint */
    double change_min;
    double idle_min; /* waiting before the last coat; no unused end of an evening */
    int paint_changes;
    int evenings;
    double last_evening_min; /* brush work of it ends so long after it began */
};

/* A search under way. */
struct cb_plan_search;
/* The problem is read once and not kept. */
struct cb_plan_search *cb_plan_search_new(const struct cb_plan_problem *problem, uint64_t seed);
void cb_plan_search_free(struct cb_plan_search *search);
/* Tries first what is best in another search, of the same stages at another moment: a plan that
 * goes on from there changes less. Before the first simulation; before is not kept. */
void cb_plan_search_follow(struct cb_plan_search *search, const struct cb_plan_search *before);
/* So many more simulations: the first of all are strict order and the weightings. */
void cb_plan_search_go(struct cb_plan_search *search, size_t simulations);
/* The best so far, after one simulation at least; in the arena. */
struct cb_plan cb_plan_search_best(struct cb_plan_search *search, struct cb_arena *arena);
/* One stage after the other, in natural order as far as needs allow. */
struct cb_plan cb_plan_search_strict(struct cb_plan_search *search, struct cb_arena *arena);

/* How many figures to take through a stage at once. The figures in batches of so many, in their
 * order: one batch through all that lies between two together goes, then the next; a go takes the
 * figures of all batches, as ever. After one simulation it is one stage after the other. */
struct cb_plan cb_plan_in_batches(const struct cb_plan_problem *problem, int figures,
                                  size_t simulations, struct cb_arena *arena);
struct cb_plan_batch {
    double idle_min, finish_min; /* of the best such plan found */
    int paint_changes;
};
struct cb_plan_batch cb_plan_batch_of(const struct cb_plan_problem *problem, int figures,
                                      size_t simulations);
/* batches: of 1 .. count figures. The fewest that wait no longer than any other does and 1 % of
 * the time they take (own judgement). */
int cb_plan_batch_advised(const struct cb_plan_batch *batches, int count);

/* Why: a stage asks for so many figures in a row that the first is dry when the last is done, for
 * its own next coat or for the next stage. Of those that ask for at most so many, the one that asks
 * for most. */
struct cb_plan_row {
    int stage;   /* from 0; -1: none */
    int figures; /* 1 + (dry_min - change_min) / work_min, rounded up */
    double dry_min, change_min;
    double work_min; /* of a figure; the shorter one where the next coat is another stage's */
};
struct cb_plan_row cb_plan_longest_row(const struct cb_plan_problem *problem, int most);

/* No plan without evenings finishes earlier. For thresholds h and q: of the coats that can't start
 * before h and after which at least q follows, h + all their work + a change for each but one of
 * their paints + q; the largest. A go of all comes no sooner than the same says of what lies below
 * it, and so with what follows it. (Own derivation; heads and tails as in Carlier 1982, European
 * Journal of Operational Research 11(1).) With evenings: work, changes and the last film. INFINITY
 * where something never dries. */
double cb_plan_bound_min(const struct cb_plan_problem *problem);

#endif
