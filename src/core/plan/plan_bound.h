/* SPDX-License-Identifier: MIT */
/* The bound in its parts, of plan_bound.c and plan_bound_go.c alone. */
#ifndef CB_CORE_PLAN_PLAN_BOUND_H
#define CB_CORE_PLAN_PLAN_BOUND_H

#include "core/plan/plan_internal.h"

/* One coat on every figure of a class that still wants it, or all gos of it. */
struct cb_plan_load {
    double head_min; /* no such coat starts before */
    double tail_min; /* at least that long after the end of its brush work */
    double work_min; /* of all; -1: nobody wants it any more */
};

struct cb_plan_bound {
    const struct cb_plan_model *m;
    size_t classes, count;      /* loads: coats x classes */
    int *class_of;              /* figures that have all alike */
    struct cb_plan_load *loads; /* [coat * classes + class]; of gos in class 0 */
    struct cb_plan_load *part;  /* some of them, for a moment */
    double *slot, *chain;       /* [stage * figures + figure] */
    bool *mark, *clash;         /* the same */
    double *paint_change;       /* the least to a paint, from whichever stage */
    bool *paint_seen;
    size_t *rank; /* loads, for a moment */
};

/* The load of a coat on a figure. */
static inline size_t cb_plan_bound_load(const struct cb_plan_bound *b, size_t coat, size_t figure)
{
    const bool go = b->m->stage[b->m->coat[coat].stage].together > 0;
    return coat * b->classes + (go ? 0 : (size_t)b->class_of[figure]);
}

static inline const struct cb_plan_stage *cb_plan_bound_stage(const struct cb_plan_bound *b,
                                                              size_t load)
{
    return &b->m->stage[b->m->coat[load / b->classes].stage];
}

static inline size_t cb_plan_bound_slot(const struct cb_plan_model *m, int stage, size_t figure)
{
    return (size_t)stage * m->figures + figure;
}

static inline bool cb_plan_bound_wants(const struct cb_plan_model *m, int stage, int coat,
                                       size_t figure)
{
    const size_t slot = cb_plan_bound_slot(m, stage, figure);
    return m->on[slot] <= coat && coat < m->wanted[slot];
}

static inline bool cb_plan_bound_wants_any(const struct cb_plan_model *m, size_t slot)
{
    return m->on[slot] < m->wanted[slot];
}

static inline void cb_plan_bound_raise(double *value, double at_least)
{
    *value = at_least > *value ? at_least : *value;
}

static inline void cb_plan_bound_lower(double *value, double at_most)
{
    *value = at_most < *value ? at_most : *value;
}

/* For thresholds h and q: the coats of the loads that can't start before h and after which at least
 * q follows must all have their hands-on and paints in between. brush: what is on it at 0. */
#define CB_PLAN_ANY_PAINT (-2)
double cb_plan_bound_one_hand(const struct cb_plan_bound *b, const struct cb_plan_load *loads,
                              int brush);
/* Into part, what of the marked slots wants each coat. */
void cb_plan_bound_marked(const struct cb_plan_bound *b);

/* A go of all waits for all that must lie below it: no sooner than one hand can do that. Heads of
 * what lies below are there. */
double cb_plan_bound_before_go(const struct cb_plan_bound *b, int go);
/* What must follow a go of all takes one hand at least so long, from the end of the go. Tails of
 * that are there. */
double cb_plan_bound_after_go(const struct cb_plan_bound *b, int go);
/* While gos of all are put on and dry, nothing is put on what they cover. All heads and tails are
 * there. */
double cb_plan_bound_windows(const struct cb_plan_bound *b);

#endif
