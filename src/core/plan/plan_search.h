/* SPDX-License-Identifier: MIT */
/* The inside of a search, for plan_search.c and plan_batch.c alone. */
#ifndef CB_CORE_PLAN_PLAN_SEARCH_H
#define CB_CORE_PLAN_PLAN_SEARCH_H

#include "core/plan/plan_internal.h"

struct cb_plan_search {
    struct cb_plan_model model;
    struct cb_plan_sim sim;
    struct cb_plan_policy best, tried, followed; /* followed: priority NULL where none */
    double finish_min, cost_min;                 /* of the best */
    double strict_finish_min;
    double longest_min; /* tail */
    size_t done;        /* simulations */
    uint64_t random;
};

/* The model is there already. */
void cb_plan_search_init(struct cb_plan_search *search, uint64_t seed);
void cb_plan_search_fini(struct cb_plan_search *search);

#endif
