/* SPDX-License-Identifier: MIT */
/*
 * Recipes for `coatbell plan`, and a judge of its schedules. The judge is written from what
 * coatbell-recipe(5) and coatbell(1) say of a recipe and a plan; it knows nothing of src/core.
 */
#ifndef CB_TESTS_PLAN_CASE_H
#define CB_TESTS_PLAN_CASE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { PLAN_STAGES = 64, PLAN_FIGURES = 99, PLAN_TASKS = 6000 };

struct plan_case {
    char name[64];
    int figures, stage_count, area_count, paint_count;
    double change_min;
    uint64_t beside[PLAN_STAGES]; /* of an area; as written, it holds both ways */
    struct plan_case_stage {
        char name[64];
        int paint; /* -1: none */
        int coats;
        double work_min, dry_min;
        int together; /* 0; PLAN_FIGURES: all; else how many fit */
        bool whole;
        uint64_t on; /* areas */
        bool has_after;
        uint64_t after; /* stages */
        bool some;      /* only for figures of the group */
    } stages[PLAN_STAGES];
    bool group[PLAN_FIGURES]; /* of figure f + 1 */
    /* Of an instance with a proven optimum; else 0. */
    double optimum_min, strict_min;
};

/* One of tests/reference/plan: an area a stage, `beside` for touches, `after` for needs. */
bool plan_case_read(struct plan_case *plan, const char *path);
/* Of any shape: 1 to 40 figures, 1 to 20 stages, areas that touch, gos, groups, `after`. figures 0:
 * by the seed. */
void plan_case_random(struct plan_case *plan, uint64_t seed, int figures);
/* Small enough for a solver to prove: 1 to 3 figures, and no more than an instance can say. */
void plan_case_small(struct plan_case *plan, uint64_t seed);
int plan_case_tasks(const struct plan_case *plan);
/* Of one read or small: as an instance but for what proves it, and as data for plan.mzn, in half
 * minutes, with times between which the optimum lies. */
bool plan_case_write_instance(const struct plan_case *plan, const char *path, double optimum_min,
                              double bound_min, double strict_min, const char *proof);
bool plan_case_write_data(const struct plan_case *plan, const char *path, double least_min,
                          double most_min);
/* As a recipe; drying times hold at the standard climate. */
bool plan_case_write(const struct plan_case *plan, const char *path);

/* What the program answered. */
struct plan_answer {
    double work_min, finish_min, idle_min, bound_min, strict_min;
    int paint_changes, advised, batch_count;
    double batch_idle_min[PLAN_FIGURES], batch_finish_min[PLAN_FIGURES];
    int task_count;
    struct plan_answer_task {
        int figure, stage, coat; /* from 1; figure 0: together */
        double start_min, end_min, dry_min;
        int evening; /* from 1 */
        int member_count;
        int members[PLAN_FIGURES];
    } tasks[PLAN_TASKS];
};

/* `coatbell plan --json` of the release build on a recipe at 23 C and 50 %, with more options, NULL
 * at their end. false: no answer, or not one by the contract; standard error says why. */
bool plan_ask(const char *recipe, const char *const *more, struct plan_answer *answer);

/* NULL: the schedule holds to the recipe and to what the answer says of it; else what is wrong with
 * it, until the next call. evening_min: 0 without evenings. */
const char *plan_fault(const struct plan_case *plan, const struct plan_answer *answer,
                       double evening_min);

#endif
