/* SPDX-License-Identifier: MIT */
/* Hours: see tests/reference for the figures. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "support/hours.h"

enum { TECHNIQUES = 14 };

/* Of one observation, by hand: the technique's variance p less p p over (p + the unit's + its own),
 * which is a sitting's part and a figure's over the marks; one mark alone has .09. */
static void marks_of_a_sitting_are_one_observation(void **state)
{
    (void)state;
    static const struct {
        double marks, own;
    } cases[] = {{1, .09}, {3, .07}, {10, .063}, {1e9, .06}};
    const double p = .40 * .40 + .35 * .35, unit = .30 * .30;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct cb_hours *hours = cb_hours_new(TECHNIQUES);
        double mean, sd;
        cb_hours_add_marks(hours, 2, .5, cases[i].marks);
        cb_hours_effect(hours, 2, &mean, &sd);
        const double var = p + unit + cases[i].own;
        assert_true(fabs(sd * sd - (p - p * p / var)) < 1e-9);
        assert_true(fabs(mean - .5 * p / var) < 1e-9);
        cb_hours_free(hours);
    }
}

/* Two sittings say more than one of as many marks. */
static void two_sittings_say_more(void **state)
{
    (void)state;
    struct cb_hours *one = cb_hours_new(TECHNIQUES), *two = cb_hours_new(TECHNIQUES);
    double mean, sd_one, sd_two;
    cb_hours_add_marks(one, 0, .2, 10);
    cb_hours_add_marks(two, 0, .2, 5);
    cb_hours_add_marks(two, 0, .2, 5);
    cb_hours_effect(one, 0, &mean, &sd_one);
    cb_hours_effect(two, 0, &mean, &sd_two);
    assert_true(sd_two < sd_one);
    cb_hours_free(one);
    cb_hours_free(two);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(marks_of_a_sitting_are_one_observation),
        cmocka_unit_test(two_sittings_say_more),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
