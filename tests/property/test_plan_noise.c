/* SPDX-License-Identifier: MIT */
/* Evenings of ten figures on which no coat takes as long as planned: who makes a new plan after
 * every coat is finished nearly as early as who knew all times before; who keeps to one stage after
 * the other is not. A number is how many evenings of each recipe. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>

#include "core/plan/plan_recipe.h"
#include "shell/paths.h"
#include "shell/recipe_file.h"
#include "support/noisy.h"
#include "support/plan_case.h"

enum { FIGURES = 10, SIMULATIONS = 60, TRIES = 10000 };
#define SD 0.4

static int evenings = 3;
static struct cb_arena arena;
static struct noisy_evening followed, fixed, in_order, hindsight, other;

static struct cb_plan_problem problem_of(const char *recipe)
{
    static const struct cb_climate standard = {23, 50, CB_AIR_STILL};
    static struct cb_plan_times times[CB_RECIPE_MAX];
    const struct cb_plan_taught nothing = {0};
    const struct cb_kinds *kinds;
    struct cb_recipe_file file;
    struct cb_err err = {0};
    assert_int_equal(cb_paths_kinds(&arena, &kinds, &err), CB_OK);
    assert_int_equal(cb_recipe_file_read(recipe, kinds, &arena, &file, &err), CB_OK);
    for (size_t s = 0; s < file.recipe->stage_count; s++) {
        times[s] = cb_plan_times_of(kinds, file.recipe, s, &standard, &nothing);
    }
    return cb_plan_of_recipe(kinds, file.recipe, FIGURES, times, &arena);
}

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
    const struct cb_plan_problem problem = problem_of("recipes/night-watch.yaml");
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
    char path[512];
    struct lost lost = {0};
    snprintf(path, sizeof path, "%s/noise.yaml", getenv("TMPDIR"));
    for (int seed = 1; seed <= 2 * evenings; seed++) {
        plan_case_random(&recipe, (uint64_t)seed, FIGURES);
        assert_true(plan_case_write(&recipe, path));
        const struct cb_plan_problem problem = problem_of(path);
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
