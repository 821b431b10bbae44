/* SPDX-License-Identifier: MIT */
/* The inside of core/plan: a problem laid out for simulation, and the simulation. */
#ifndef CB_CORE_PLAN_PLAN_INTERNAL_H
#define CB_CORE_PLAN_PLAN_INTERNAL_H

#include "core/plan/plan.h"

/* A coat of a stage, alike for all figures. */
struct cb_plan_coat {
    int stage, coat; /* both from 0 */
    double tail_min; /* from its start to the end of the longest chain that it begins */
};

struct cb_plan_model {
    size_t stages, figures, coats, paints;
    struct cb_plan_stage *stage; /* without its lists; paints numbered from 0 */
    struct cb_plan_coat *coat;   /* stage by stage */
    int *first_coat;             /* of a stage: its first in coat; one more at the end */
    int *order;                  /* of the stages: natural as far as needs allow */
    /* Of each stage a list in one array, and where its part begins; one more at the end. */
    int *followers, *first_follower; /* those that need it */
    int *touching, *first_touching;
    /* [stage * figures + figure] */
    int *wanted, *on;
    int *lacking;      /* needed stages that still want a coat there */
    double *ready_min; /* when what is beneath and beside is dry */
    int brush, first_paint;
    int first_stage; /* from 1; 0: whichever */
    double calm_min, leave_min, skip_min, linger_price, slow_price, evening_min, tonight_min,
        night_min;
    /* Batches: so many figures at a time; 0: all. Of a batch that is free which no go holds up. */
    int batch, batches;
    bool *below; /* [stage * stages + other]: other comes after the stage, a go, on every figure */
    int *gos;    /* [stage * figures + figure]: gos that must come before */
};

/* What the painter goes by: of the coats that could go on, the one with the largest
 * priority - wait x minutes until it could begin, + stay where its paint is on the brush. */
struct cb_plan_policy {
    double wait, stay;
    size_t turn;      /* so many tasks go by the first priorities, the others by the second */
    double *priority; /* of each coat of the model, twice */
};

/* One task as it was done. */
struct cb_plan_step {
    int coat; /* of the model */
    int members;
    double start_min;
};

/* Room for simulations of one model, and the outcome of the last. */
struct cb_plan_sim {
    int *on, *lacking;
    double *ready_min;
    int *queue;     /* [coat * figures]: figures by when they are ready */
    int *from, *to; /* the part of each coat's queue that is not done */
    int *behind;    /* figures whose next coat of its stage this is, queued or not */
    int *open;      /* coats whose queue is not empty */
    int *place;     /* of each coat in open; -1: not there */
    int open_count;
    int *gos;    /* as the model's, still to come */
    int *free;   /* coats of each batch that no go holds up */
    int *queued; /* [coat * batches + batch]: figures in the coat's queue */
    struct cb_plan_step *steps;
    int *members; /* of all steps, one behind the other */
    size_t step_count, member_count;
    int changes;
    int turns_away; /* from one coat of the recipe to another */
    int turns_back; /* to one before it */
    /* What these were: cb_plan_problem. */
    int leaves, skips;
    double linger_min, slow_min;
    double finish_min;
};

void cb_plan_model_init(struct cb_plan_model *model, const struct cb_plan_problem *problem);
void cb_plan_model_fini(struct cb_plan_model *model);
/* So many figures at a time through all that lies between two gos. */
void cb_plan_model_batches(struct cb_plan_model *model, int figures);

void cb_plan_sim_init(struct cb_plan_sim *sim, const struct cb_plan_model *model);
void cb_plan_sim_fini(struct cb_plan_sim *sim);
/* Carries the policy out. */
void cb_plan_sim_run(struct cb_plan_sim *sim, const struct cb_plan_model *model,
                     const struct cb_plan_policy *policy);
/* The outcome of the last run, in the arena. */
struct cb_plan cb_plan_sim_plan(const struct cb_plan_sim *sim, const struct cb_plan_model *model,
                                struct cb_arena *arena);

/* The painter's, on one evening after the other. */
struct cb_plan_hand {
    double now_min;
    double evening_end_min;
    int evening; /* from 0 */
    int brush;
};
struct cb_plan_hand cb_plan_hand_begin(const struct cb_plan_model *model);
/* When a coat that is ready then can begin, where it is too late for it this evening. */
double cb_plan_hand_later(const struct cb_plan_model *model, const struct cb_plan_hand *hand,
                          const struct cb_plan_stage *stage, double ready_min);
/* It begins then; whether its paint has to come on the brush before. */
bool cb_plan_hand_work(const struct cb_plan_model *model, struct cb_plan_hand *hand,
                       const struct cb_plan_stage *stage, double start_min);
/* When what it has just put on is dry. */
double cb_plan_hand_dry(const struct cb_plan_model *model, const struct cb_plan_hand *hand,
                        double dry_min);

static inline bool cb_plan_hand_changes(const struct cb_plan_hand *hand,
                                        const struct cb_plan_stage *stage)
{
    return stage->paint >= 0 && stage->paint != hand->brush;
}

#define CB_PLAN_EPSILON 1e-9 /* minutes; sums of the same parts differ by less */

/* When a coat that is ready then can begin. */
static inline double cb_plan_hand_start(const struct cb_plan_model *model,
                                        const struct cb_plan_hand *hand,
                                        const struct cb_plan_stage *stage, double ready_min)
{
    const double free_min =
        hand->now_min + (cb_plan_hand_changes(hand, stage) ? stage->change_min : 0);
    const double start = free_min > ready_min ? free_min : ready_min;
    const bool fits = start < hand->evening_end_min - CB_PLAN_EPSILON &&
                      start + stage->work_min <= hand->evening_end_min + CB_PLAN_EPSILON;
    return fits ? start : cb_plan_hand_later(model, hand, stage, ready_min);
}

#endif
