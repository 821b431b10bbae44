/* SPDX-License-Identifier: MIT */
/* Hours to go against the posterior and a Monte Carlo of 2e6 draws: make_hours.R. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "support/hours.h"

static void near(double got, double want, double tolerance)
{
    if (!(fabs(got - want) <= tolerance)) {
        print_error("%.9g, wanted %.9g within %g\n", got, want, tolerance);
    }
    assert_true(fabs(got - want) <= tolerance);
}

static const double nominal[] = {6, 10, 3};

static struct cb_hours *logged(void)
{
    struct cb_hours *hours = cb_hours_new(3);
    hours_add(hours, 0, nominal[0], 7.5);
    hours_add(hours, 1, nominal[1], 14.0);
    hours_add(hours, 0, nominal[0], 6.6);
    hours_add(hours, 2, nominal[2], 4.1);
    return hours;
}

static void posterior(void **state)
{
    (void)state;
    static const double mean[] = {1.889339, 2.509676, 1.291811};
    static const double sd[] = {.301564, .331196, .331196};
    struct cb_hours *hours = logged();
    double m, s;
    for (size_t i = 0; i < 3; i++) {
        cb_hours_effect(hours, i, &m, &s);
        near(m + log(nominal[i]), mean[i], 1e-6);
        near(s, sd[i], 1e-6);
    }
    cb_hours_effect(hours, 3, &m, &s);
    near(m, .07437, 1e-5);
    near(s, .253548, 1e-6);
    cb_hours_new_unit(hours);
    cb_hours_effect(hours, 3, &m, &s);
    near(m, 0, 0);
    near(s, .30, 1e-12);
    cb_hours_free(hours);
}

static void to_go(void **state)
{
    (void)state;
    static const struct cb_hours_cell cells[] = {{0, 6, 10}, {1, 10, 10}, {1, 10, 10}, {2, 3, 10}};
    struct cb_hours *logged_hours = logged();
    struct cb_hours *hours = cb_hours_copy(logged_hours);
    cb_hours_free(logged_hours);
    struct cb_hours_sum sum = cb_hours_to_go(hours, cells, 4, 0);
    near(sum.mean_min, 404.0113, 1e-4);
    near(sum.sd_min, 104.0527, 1e-4);
    near(sum.median_min, 391.2438, 1e-4);
    near(sum.low_min, 282.7473, 1e-4);
    near(sum.high_min, 541.3727, 1e-4);
    /* Monte Carlo, 2e6 draws: mean, sd, 10 %, 50 %, 90 % */
    near(sum.mean_min, 404.01, .3);
    near(sum.sd_min, 104.10, .3);
    near(sum.low_min, 284.92, 3);
    near(sum.median_min, 389.95, 3);
    near(sum.high_min, 540.62, 3);
    sum = cb_hours_to_go(hours, cells, 0, 0);
    near(sum.mean_min, 0, 0);
    near(sum.high_min, 0, 0);
    cb_hours_free(hours);
}

static void nonsense_teaches_nothing(void **state)
{
    (void)state;
    struct cb_hours *hours = cb_hours_new(2);
    hours_add(hours, 7, 6, 6);
    hours_add(hours, 0, 0, 6);
    hours_add(hours, 0, 6, -1);
    hours_add(hours, 0, 6, INFINITY);
    hours_add(hours, 0, NAN, 6);
    double m, s;
    cb_hours_effect(hours, 0, &m, &s);
    near(m, 0, 0);
    near(s, sqrt(.40 * .40 + .35 * .35), 1e-12);
    cb_hours_free(hours);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(posterior),
        cmocka_unit_test(to_go),
        cmocka_unit_test(nonsense_teaches_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
