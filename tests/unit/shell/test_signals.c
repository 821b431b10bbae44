/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <unistd.h>

#include <cmocka.h>

#include "shell/signals.h"

static void they_are_told_in_turn(void **state)
{
    struct cb_signals signals;
    (void)state;
    assert_int_equal(cb_signals_open(&signals, NULL), CB_OK);
    assert_int_equal(cb_signals_next(&signals), 0);
    kill(getpid(), SIGTERM);
    assert_int_equal(cb_signals_next(&signals), SIGTERM);
    assert_int_equal(cb_signals_next(&signals), 0);
    cb_signals_close(&signals);
}

/* Whoever has ended on one is not killed by the next. */
static void none_is_left_over(void **state)
{
    struct cb_signals signals;
    (void)state;
    assert_int_equal(cb_signals_open(&signals, NULL), CB_OK);
    kill(getpid(), SIGHUP);
    kill(getpid(), SIGTERM);
    cb_signals_close(&signals);
    sigset_t waiting;
    assert_int_equal(sigpending(&waiting), 0);
    assert_false(sigismember(&waiting, SIGHUP));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(they_are_told_in_turn),
        cmocka_unit_test(none_is_left_over),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
