/* SPDX-License-Identifier: MIT */
/*
 * What learning must reach over simulated painters' years (tests/support/painter.h), smaller than
 * `make bench` and with the same seeds each time: loss of the first ping against an oracle that
 * knows the painter, the share found dry, and that slips, silence and a slower bench do no harm.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "support/painter.h"

#define SEED     1
#define PAINTERS 8
#define FEWER    4

static void at_most(const char *what, double got, double most)
{
    if (!(got <= most)) {
        print_error("%s: %.4f, at most %.4f; painters %d to %d\n", what, got, most, SEED,
                    SEED + PAINTERS - 1);
    }
    assert_true(got <= most);
}

static double total(const struct outcome *outcome)
{
    double sum = 0;
    for (int i = 0; i < YEAR_BLOCKS; i++) {
        sum += outcome->loss[i];
    }
    return sum;
}

static void year_with_answers(void **state)
{
    (void)state;
    struct year year = year_default;
    struct outcome model = painter_years(&year, SEED, PAINTERS);
    year.policy = POLICY_ORACLE;
    struct outcome oracle = painter_years(&year, SEED, PAINTERS);
    year.policy = POLICY_TIMER;
    year.timer_min = 30;
    struct outcome timer = painter_years(&year, SEED, PAINTERS);
    at_most("loss, coats 11-30", model.loss[1] / oracle.loss[1], 1.5);
    at_most("loss, coats 31-100", model.loss[2] / oracle.loss[2], 1.3);
    at_most("loss, coats 101-300", model.loss[3] / oracle.loss[3], 1.2);
    at_most("off 80 % dry", fabs(100.0 * model.first_dry / model.coats - 80), 3);
    at_most("against the kitchen timer", total(&model) / total(&timer), 1 / 2.5);
    at_most("coats until a new paint's median is known", (double)model.median_ready / PAINTERS, 12);
    at_most("times asked whether to forget", (double)model.alarms / PAINTERS, 1.2);
}

static void year_without_answers(void **state)
{
    (void)state;
    struct year year = year_default;
    year.silent = true;
    struct outcome model = painter_years(&year, SEED, FEWER);
    at_most("off 80 % dry", fabs(100.0 * model.first_dry / model.coats - 80), 5);
}

static void year_with_a_slower_bench(void **state)
{
    (void)state;
    struct year year = year_default;
    year.slower = log(1.4);
    struct outcome faded = painter_years(&year, SEED, FEWER);
    year.forget = true;
    struct outcome asked = painter_years(&year, SEED, FEWER);
    double by_itself = 0, forgotten = 0;
    for (int i = 225; i < 300; i++) {
        by_itself += faded.dry_at[i] / (75 * FEWER);
        forgotten += asked.dry_at[i] / (75 * FEWER);
    }
    at_most("off 80 % dry, older evidence forgotten when asked", fabs(100 * forgotten - 80), 6);
    at_most("off 80 % dry by fading alone", fabs(100 * by_itself - 80), 18);
}

static void year_with_slips(void **state)
{
    (void)state;
    struct year year = year_default;
    struct outcome clean = painter_years(&year, SEED, FEWER);
    year.mis_key = .05;
    struct outcome slips = painter_years(&year, SEED, FEWER);
    at_most("loss with one wrong key in twenty", total(&slips) / total(&clean), 1.25);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(year_with_answers),
        cmocka_unit_test(year_without_answers),
        cmocka_unit_test(year_with_a_slower_bench),
        cmocka_unit_test(year_with_slips),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
