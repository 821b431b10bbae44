/* SPDX-License-Identifier: MIT */
/* Evenings of ten figures on which no coat takes as long as planned: who makes a new plan after
 * every coat is finished nearly as early as who knew all times before; who keeps to one stage after
 * the other is not. A number is how many evenings of each recipe. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>

#include "support/noisy.h"
#include "support/plan_case.h"
#include "support/plan_problem.h"

enum { FIGURES = 10, SIMULATIONS = 60, TRIES = 10000 };
#define SD 0.4

static int evenings = 3;
static struct cb_arena arena;
static struct noisy_evening followed, fixed, in_order, hindsight, other;

struct lost {
    double followed_pct, fixed_pct, in_order_pct, worst_pct;
};

static void spend(const struct cb_plan_problem *problem, uint64_t seed, struct lost *lost)
{
    struct noisy noisy;
    noisy_init(&noisy, problem, SD, seed);
    struct cb_plan_search *search = cb_plan_search_new(problem, 1);
    cb_plan_search_go(search, 3000);
    const struct cb_plan plan = cb_plan_search_best(search, &arena);
    const struct cb_plan strict = cb_plan_search_strict(search, &arena);
    noisy_follow(&noisy, SIMULATIONS, &followed);
    noisy_keep_to(&noisy, &plan, &fixed);
    noisy_keep_to(&noisy, &strict, &in_order);
    noisy_hindsight(&noisy, followed.finish_min < fixed.finish_min ? &followed : &fixed, TRIES,
                    &hindsight);
    noisy_hindsight(&noisy, &in_order, TRIES, &other);
    const double least =
        other.finish_min < hindsight.finish_min ? other.finish_min : hindsight.finish_min;
    const double followed_pct = 100 * (followed.finish_min / least - 1);
    lost->followed_pct += followed_pct;
    lost->worst_pct = followed_pct > lost->worst_pct ? followed_pct : lost->worst_pct;
    lost->fixed_pct += 100 * (fixed.finish_min / least - 1);
    lost->in_order_pct += 100 * (in_order.finish_min / least - 1);
    cb_plan_search_free(search);
    noisy_fini(&noisy);
}

static void report(const char *what, const struct lost *lost, int count)
{
    print_message("%s: later than hindsight by the plan %.2f %% (worst %.2f), by one plan kept to "
                  "%.2f %%, in order %.2f %%\n",
                  what, lost->followed_pct / count, lost->worst_pct, lost->fixed_pct / count,
                  lost->in_order_pct / count);
    assert_true(lost->followed_pct / count <= 3);
    assert_true(lost->in_order_pct / count > 3);
}

static void following_the_plan_is_nearly_hindsight(void **state)
{
    (void)state;
    const struct cb_plan_problem problem =
        plan_problem_read("recipes/night-watch.yaml", FIGURES, &arena);
    struct lost lost = {0};
    for (int seed = 1; seed <= evenings; seed++) {
        spend(&problem, (uint64_t)seed, &lost);
    }
    report("the night watch", &lost, evenings);
    cb_arena_fini(&arena);
}

static void so_it_is_with_recipes_of_any_shape(void **state)
{
    (void)state;
    static struct plan_case recipe;
    struct lost lost = {0};
    for (int seed = 1; seed <= 2 * evenings; seed++) {
        plan_case_random(&recipe, (uint64_t)seed, FIGURES);
        const struct cb_plan_problem problem = plan_problem_of(&recipe, getenv("TMPDIR"), &arena);
        spend(&problem, (uint64_t)seed, &lost);
        cb_arena_fini(&arena);
    }
    report("recipes of any shape", &lost, 2 * evenings);
}

int main(int argc, char **argv)
{
    evenings = argc > 1 ? atoi(argv[1]) : evenings;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(following_the_plan_is_nearly_hindsight),
        cmocka_unit_test(so_it_is_with_recipes_of_any_shape),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
