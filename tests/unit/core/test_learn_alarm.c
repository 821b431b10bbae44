/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "core/learn/learn_alarm.h"

/* wet +.916, dry -.470; wet -1.204, dry +.161; alarm at 5. */
static void steps(void **state)
{
    (void)state;
    struct cb_learn_alarm alarm = {0};
    cb_learn_alarm_add(&alarm, .80, false);
    assert_true(fabs(alarm.early - .916) < 5e-4 && alarm.late <= 0);
    cb_learn_alarm_add(&alarm, .80, true);
    assert_true(fabs(alarm.early - (.916 - .470)) < 1e-3);
    assert_true(fabs(alarm.late - .161) < 5e-4);
    alarm.late = 2;
    cb_learn_alarm_add(&alarm, .80, false);
    assert_true(fabs(alarm.late - (2 - 1.204)) < 5e-4);
}

static void rings(void **state)
{
    (void)state;
    struct cb_learn_alarm alarm = {0};
    int n = 0;
    while (!cb_learn_alarm_early(&alarm)) {
        cb_learn_alarm_add(&alarm, .80, false);
        n++;
    }
    assert_int_equal(n, 6);
    alarm = (struct cb_learn_alarm){0};
    for (n = 0; !cb_learn_alarm_late(&alarm); n++) {
        cb_learn_alarm_add(&alarm, .80, true);
    }
    assert_int_equal(n, 32);
    assert_false(cb_learn_alarm_early(&alarm));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(steps), cmocka_unit_test(rings)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
