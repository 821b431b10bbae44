/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#include "shell/clock.h"

static void clocks_agree_with_the_system(void **state)
{
    (void)state;
    struct cb_moment now = cb_clock_now();
    int64_t system_ms = (int64_t)time(NULL) * 1000;
    assert_true(now.wall_ms >= system_ms - 2000 && now.wall_ms <= system_ms + 2000);
    struct cb_moment later = cb_clock_now();
    assert_true(later.boot_ms >= now.boot_ms);
    if (now.boot) {
        assert_int_equal(strlen(now.boot), 36); /* a UUID, RFC 4122 */
    }
}

/* POSIX TZ strings carry their own rules, so that no zone files are needed. The hours are the
 * law of the European Union, Directive 2000/84/EC: 01:00 UTC, last Sundays of March, October. */
static void the_zone_has_its_summer_times(void **state)
{
    (void)state;
    static const struct {
        const char *utc;
        const char *local;
    } rows[] = {
        {"2026-01-05T18:00:00.000Z", "19:00"}, {"2026-03-29T00:59:59.999Z", "01:59"},
        {"2026-03-29T01:00:00.000Z", "03:00"}, {"2026-10-25T00:59:59.000Z", "02:59"},
        {"2026-10-25T01:00:00.000Z", "02:00"}, {"2010-07-01T12:00:00.000Z", "14:00"},
    };
    setenv("TZ", "CET-1CEST,M3.5.0/2,M10.5.0/3", 1);
    int64_t now;
    assert_true(cb_time_parse("2026-01-05T18:00:00Z", &now));
    struct cb_zone zone;
    cb_clock_zone(now, &zone);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int64_t at;
        char text[CB_CLOCK_SIZE];
        assert_true(cb_time_parse(rows[i].utc, &at));
        cb_time_clock(at, &zone, text);
        assert_string_equal(text, rows[i].local);
    }
    setenv("TZ", "UTC", 1);
    cb_clock_zone(now, &zone);
    assert_int_equal(zone.count, 1);
    assert_int_equal(zone.steps[0].offset_s, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clocks_agree_with_the_system),
        cmocka_unit_test(the_zone_has_its_summer_times),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
