/* SPDX-License-Identifier: MIT */
/* How many at once: plans in batches, carried out by a painter who knows nothing of the planner,
 * wait as long as they say and never leave a batch that something can be done to; and the advice is
 * the number that a search of all numbers, five times as long, finds. A number is how many seeded
 * recipes. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/recipe/recipe.h"
#include "support/noisy.h"
#include "support/plan_case.h"
#include "support/plan_problem.h"

enum { FIGURES = 10, SIMULATIONS = 300, BRUTE = 1500 };
#define WASTE 0.01 /* of the time, that waiting may cost */

static int seeds = 6;
static struct cb_arena arena;

/* Must the go come before the stage? */
static bool is_above(const struct cb_plan_problem *problem, int stage, int go)
{
    const struct cb_plan_stage *row = &problem->stages[stage];
    for (size_t i = 0; i < row->need_count; i++) {
        if (row->needs[i] == go || is_above(problem, row->needs[i], go)) {
            return true;
        }
    }
    return false;
}

/* Coats that a figure can have before another go. */
static int before_a_go(const struct cb_plan_problem *problem, const int *on, int figure)
{
    const size_t figures = problem->figure_count;
    int coats = 0;
    for (int stage = 0; stage < (int)problem->stage_count; stage++) {
        const size_t slot = (size_t)stage * figures + (size_t)figure;
        bool held = problem->stages[stage].together > 0;
        for (int go = 0; go < (int)problem->stage_count && !held; go++) {
            const size_t other = (size_t)go * figures + (size_t)figure;
            held = problem->stages[go].together > 0 && on[other] < problem->slots[other].coats &&
                   is_above(problem, stage, go);
        }
        coats += held ? 0 : problem->slots[slot].coats - on[slot];
    }
    return coats;
}

static void judge_batches(const struct cb_plan_problem *problem, const struct cb_plan *plan,
                          int batch)
{
    static int on[CB_RECIPE_MAX * CB_FIGURES_MAX];
    memset(on, 0, sizeof on);
    for (size_t i = 0; i < plan->task_count; i++) {
        const struct cb_plan_task *task = &plan->tasks[i];
        for (int figure = 0; task->figure >= 0 && figure < task->figure / batch * batch; figure++) {
            if (before_a_go(problem, on, figure) > 0) {
                fail_msg("batches of %d: figure %d has stage %d while figure %d is not done", batch,
                         task->figure + 1, task->stage + 1, figure + 1);
            }
        }
        for (size_t k = 0; k < task->member_count; k++) {
            on[(size_t)task->stage * problem->figure_count + (size_t)task->members[k]]++;
        }
    }
}

struct table {
    double idle_min[FIGURES], finish_min[FIGURES];
};

static void try_all(const struct cb_plan_problem *problem, size_t simulations, struct table *table)
{
    static struct noisy_evening evening;
    struct noisy exact;
    noisy_init(&exact, problem, 0, 1);
    for (int batch = 1; batch <= FIGURES; batch++) {
        const struct cb_plan plan = cb_plan_in_batches(problem, batch, simulations, &arena);
        judge_batches(problem, &plan, batch);
        noisy_keep_to(&exact, &plan, &evening);
        assert_true(fabs(evening.finish_min - plan.finish_min) < 1e-6);
        assert_true(fabs(evening.waiting_min - plan.idle_min) < 1e-6);
        table->idle_min[batch - 1] = evening.waiting_min;
        table->finish_min[batch - 1] = evening.finish_min;
    }
    noisy_fini(&exact);
}

/* The fewest that waste so little. */
static int fewest(const struct table *table)
{
    double least = table->idle_min[0];
    int batch = 1;
    for (int i = 0; i < FIGURES; i++) {
        least = fmin(least, table->idle_min[i]);
    }
    while (table->idle_min[batch - 1] - least > WASTE * table->finish_min[batch - 1]) {
        batch++;
    }
    return batch;
}

/* Is it the number that brute force finds? It wastes no more than that, if it is not. */
static bool judge(const char *name, const struct cb_plan_problem *problem)
{
    struct table table, brute;
    struct cb_plan_batch batches[FIGURES];
    try_all(problem, SIMULATIONS, &table);
    try_all(problem, BRUTE, &brute);
    for (int i = 0; i < FIGURES; i++) {
        batches[i] = cb_plan_batch_of(problem, i + 1, SIMULATIONS);
        assert_true(fabs(batches[i].idle_min - table.idle_min[i]) < 1e-6);
    }
    const int advised = cb_plan_batch_advised(batches, FIGURES);
    double least = brute.idle_min[0];
    for (int i = 0; i < FIGURES; i++) {
        least = fmin(least, brute.idle_min[i]);
    }
    const double waste = (brute.idle_min[advised - 1] - least) / brute.finish_min[advised - 1];
    print_message("%s: %d at once, by brute force %d; waste %.2f %%\n", name, advised,
                  fewest(&brute), 100 * waste);
    assert_true(waste <= WASTE);
    return advised == fewest(&brute);
}

static void the_advice_is_what_brute_force_finds(void **state)
{
    (void)state;
    static const char *const recipes[] = {"recipes/night-watch.yaml",
                                          "recipes/league-pikemen.yaml"};
    for (size_t i = 0; i < sizeof recipes / sizeof *recipes; i++) {
        const struct cb_plan_problem problem = plan_problem_read(recipes[i], FIGURES, &arena);
        assert_true(judge(recipes[i], &problem));
        cb_arena_fini(&arena);
    }
}

static void and_so_it_is_for_recipes_of_any_shape(void **state)
{
    (void)state;
    static struct plan_case recipe;
    int same = 0;
    for (int seed = 1; seed <= seeds; seed++) {
        plan_case_random(&recipe, (uint64_t)seed, FIGURES);
        const struct cb_plan_problem problem = plan_problem_of(&recipe, getenv("TMPDIR"), &arena);
        same += judge(recipe.name, &problem) ? 1 : 0;
        cb_arena_fini(&arena);
    }
    /* Where two numbers waste nearly the same, more simulations may lead to the other. */
    assert_true(10 * same >= 9 * seeds);
}

int main(int argc, char **argv)
{
    seeds = argc > 1 ? atoi(argv[1]) : seeds;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_advice_is_what_brute_force_finds),
        cmocka_unit_test(and_so_it_is_for_recipes_of_any_shape),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
