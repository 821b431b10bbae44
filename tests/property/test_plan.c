/* SPDX-License-Identifier: MIT */
/* Seeded recipes of every shape through `coatbell plan --json`: schedules that hold to the recipe,
 * never later than strict order, never earlier than the bound, and near it. A number is how many, a
 * second the first seed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/plan_case.h"

static int seeds = 80, first_seed = 1; /* 200 and others in make sweep */
static struct plan_case recipe;
static struct plan_answer answer;
static const char *const nothing_more[] = {NULL};

/* figures 0: by the seed. */
static void ask(int seed, int figures, const char *const *more, double evening_min)
{
    char path[512];
    snprintf(path, sizeof path, "%s/seed.yaml", getenv("TMPDIR"));
    plan_case_random(&recipe, (uint64_t)seed, figures);
    assert_true(plan_case_write(&recipe, path));
    if (!plan_ask(path, more, &answer)) {
        fail_msg("seed %d, %d figures: no answer", seed, figures);
    }
    const char *fault = plan_fault(&recipe, &answer, evening_min);
    if (fault != NULL) {
        fail_msg("seed %d, %d figures: %s", seed, figures, fault);
    }
    if (answer.finish_min > answer.strict_min + 1e-6 ||
        answer.finish_min < answer.bound_min - 1e-6) {
        fail_msg("seed %d, %d figures: finish %g, in order %g, bound %g", seed, figures,
                 answer.finish_min, answer.strict_min, answer.bound_min);
    }
}

/* By its own table: the fewest figures that wait at most a hundredth of their time longer than
 * whatever number waits least. */
static void advice_is_the_table_s(int seed)
{
    double least = answer.batch_idle_min[0];
    int best = 1;
    for (int i = 0; i < answer.batch_count; i++) {
        least = answer.batch_idle_min[i] < least ? answer.batch_idle_min[i] : least;
    }
    while (answer.batch_idle_min[best - 1] - least > 0.01 * answer.batch_finish_min[best - 1]) {
        best++;
    }
    if (answer.advised != best) {
        fail_msg("seed %d: %d at once, the table says %d", seed, answer.advised, best);
    }
    const int all = answer.batch_count - 1; /* one batch of all is the plan */
    assert_true(answer.batch_idle_min[all] == answer.idle_min);
    assert_true(answer.batch_finish_min[all] == answer.finish_min);
}

static void schedules_hold_and_come_near_the_bound(void **state)
{
    (void)state;
    double sum_pct = 0, worst_pct = 0, order_pct = 0;
    int count = 0;
    for (int seed = first_seed; seed < first_seed + seeds; seed++) {
        ask(seed, 0, nothing_more, 0);
        advice_is_the_table_s(seed);
        if (recipe.figures >= 10) {
            const double gap_pct = 100 * (answer.finish_min / answer.bound_min - 1);
            sum_pct += gap_pct;
            worst_pct = gap_pct > worst_pct ? gap_pct : worst_pct;
            order_pct += 100 * (answer.strict_min / answer.bound_min - 1);
            count++;
        }
    }
    print_message("%d recipes of 10 to 40 figures: %.3f %% above the bound, at worst %.2f %%; in "
                  "order %.2f %%\n",
                  count, sum_pct / count, worst_pct, order_pct / count);
    assert_true(count >= seeds / 2);
    assert_true(sum_pct / count <= 0.4);
}

static void so_do_calm_ones_and_evenings(void **state)
{
    (void)state;
    static const char *const calm[] = {"--calm", NULL};
    static const char *const evening[] = {"--evening", "2h30m", NULL};
    static const char *const late[] = {"--evening", "95", "--calm", NULL};
    for (int seed = first_seed; seed < first_seed + seeds / 8; seed++) {
        ask(seed, seed % 7 + 1, calm, 0);
        ask(seed, seed % 11 + 1, evening, 150);
        ask(seed, seed % 5 + 1, late, 95);
    }
}

int main(int argc, char **argv)
{
    seeds = argc > 1 ? atoi(argv[1]) : seeds;
    first_seed = argc > 2 ? atoi(argv[2]) : first_seed;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(schedules_hold_and_come_near_the_bound),
        cmocka_unit_test(so_do_calm_ones_and_evenings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
