/* SPDX-License-Identifier: MIT */
/* Hours: see tests/reference for the figures. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "support/hours.h"
#include "support/events.h"

enum { TECHNIQUES = 14, UNITS = 300, MARKS = 200 };

static void assert_near(const struct cb_hours *a, const struct cb_hours *b)
{
    for (size_t i = 0; i <= TECHNIQUES; i++) {
        double x[2];
        double y[2];
        cb_hours_effect(a, i, &x[0], &x[1]);
        cb_hours_effect(b, i, &y[0], &y[1]);
        assert_true(fabs(x[0] - y[0]) < 1e-9 && fabs(x[1] - y[1]) < 1e-9);
    }
}

/* A unit's marks of one technique come to the same one by one and at once. */
static void marks_at_once(void **state)
{
    (void)state;
    struct dice dice = {1};
    struct cb_hours *single = cb_hours_new(TECHNIQUES);
    struct cb_hours *at_once = cb_hours_new(TECHNIQUES);
    for (int unit = 0; unit < UNITS; unit++) {
        double count[TECHNIQUES] = {0};
        double sum[TECHNIQUES] = {0};
        cb_hours_new_unit(single);
        cb_hours_new_unit(at_once);
        for (int i = 0; i < MARKS; i++) {
            const size_t technique = dice_below(&dice, TECHNIQUES);
            const double nominal = 1 + (double)dice_below(&dice, 50) / 10;
            const double took = 1 + (double)dice_below(&dice, 90) / 10;
            hours_add(single, technique, nominal, took);
            count[technique]++;
            sum[technique] += log(took / nominal);
        }
        for (size_t t = 0; t < TECHNIQUES; t++) {
            cb_hours_add_marks(at_once, t, sum[t] / (count[t] > 0 ? count[t] : 1), count[t]);
        }
        assert_near(single, at_once);
    }
    cb_hours_free(single);
    cb_hours_free(at_once);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(marks_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
