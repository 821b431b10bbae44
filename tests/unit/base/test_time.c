/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/time.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* Moments by `date -u -d TEXT +%s%3N` of GNU coreutils 9.1; the first five texts are the
 * examples of RFC 3339, section 5.8, and the rules of its section 5.6. */
static void test_parse(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool good;
        int64_t ms;
        const char *back;
    } cases[] = {
        {"1985-04-12T23:20:50.52Z", true, INT64_C(482196050520), "1985-04-12T23:20:50.520Z"},
        {"1996-12-19T16:39:57-08:00", true, INT64_C(851042397000), "1996-12-20T00:39:57.000Z"},
        {"1990-12-31T23:59:60Z", true, INT64_C(662688000000), "1991-01-01T00:00:00.000Z"},
        {"1990-12-31T15:59:60-08:00", true, INT64_C(662688000000), "1991-01-01T00:00:00.000Z"},
        {"1937-01-01T12:00:27.87+00:20", true, INT64_C(-1041337172130), "1937-01-01T11:40:27.870Z"},
        {"1970-01-01T00:00:00Z", true, 0, "1970-01-01T00:00:00.000Z"},
        {"2026-01-05t18:00:00z", true, INT64_C(1767636000000), "2026-01-05T18:00:00.000Z"},
        {"2026-01-05 18:00:00Z", true, INT64_C(1767636000000), "2026-01-05T18:00:00.000Z"},
        {"2024-02-29T12:00:00.123456789Z", true, INT64_C(1709208000123),
         "2024-02-29T12:00:00.123Z"},
        {"1969-12-31T23:59:59.999Z", true, -1, "1969-12-31T23:59:59.999Z"},
        {"0001-01-01T00:00:00Z", true, INT64_C(-62135596800000), "0001-01-01T00:00:00.000Z"},
        {"9999-12-31T23:59:59.999Z", true, INT64_C(253402300799999), "9999-12-31T23:59:59.999Z"},
        {"0001-01-01T00:00:00+00:01", false, 0, NULL},
        {"9999-12-31T23:59:59-00:01", false, 0, NULL},
        {"0000-01-01T00:00:00Z", false, 0, NULL},
        {"2023-02-29T00:00:00Z", false, 0, NULL},
        {"1900-02-29T00:00:00Z", false, 0, NULL},
        {"2026-04-31T00:00:00Z", false, 0, NULL},
        {"2026-00-10T00:00:00Z", false, 0, NULL},
        {"2026-13-10T00:00:00Z", false, 0, NULL},
        {"2026-01-00T00:00:00Z", false, 0, NULL},
        {"2026-01-05T24:00:00Z", false, 0, NULL},
        {"2026-01-05T18:60:00Z", false, 0, NULL},
        {"2026-01-05T18:00:60Z", false, 0, NULL},
        {"2026-01-05T18:00:61Z", false, 0, NULL},
        {"2026-01-05T18:00:00", false, 0, NULL},
        {"2026-01-05T18:00Z", false, 0, NULL},
        {"2026-01-05T18:00:00.Z", false, 0, NULL},
        {"2026-01-05T18:00:00.1234567890Z", false, 0, NULL},
        {"2026-01-05T18:00:00+0100", false, 0, NULL},
        {"2026-01-05T18:00:00+24:00", false, 0, NULL},
        {"2026-01-05T18:00:00Z ", false, 0, NULL},
        {" 2026-01-05T18:00:00Z", false, 0, NULL},
        {"26-01-05T18:00:00Z", false, 0, NULL},
        {"2026-1-5T18:00:00Z", false, 0, NULL},
        {"+2026-01-05T18:00:00Z", false, 0, NULL},
        {"2026-01-05", false, 0, NULL},
        {"", false, 0, NULL},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        int64_t ms = 77;
        bool good = cb_time_parse(cases[i].text, &ms);
        if (good != cases[i].good || ms != (good ? cases[i].ms : 77)) {
            fail_msg("\"%s\": %d, %lld", cases[i].text, good, (long long)ms);
        }
        if (good) {
            char back[CB_RFC3339_SIZE];
            cb_time_format(ms, back);
            assert_string_equal(back, cases[i].back);
        }
    }
}

static void test_round_trip(void **state)
{
    (void)state;
    /* A stride that is prime to day, hour and minute, over all the years there are. */
    for (int64_t ms = INT64_C(-62135596800000); ms < INT64_C(253402300799999);
         ms += INT64_C(86028157133)) {
        char text[CB_RFC3339_SIZE];
        int64_t back = 0;
        cb_time_format(ms, text);
        assert_true(cb_time_parse(text, &back));
        assert_true(back == ms);
    }
}

static void test_out_of_range(void **state)
{
    (void)state;
    char text[CB_RFC3339_SIZE];
    cb_time_format(INT64_MIN, text);
    assert_string_equal(text, "0001-01-01T00:00:00.000Z");
    cb_time_format(INT64_MAX, text);
    assert_string_equal(text, "9999-12-31T23:59:59.999Z");
    const struct cb_zone west = {.count = 1, .steps = {{INT64_MIN, -3600}}};
    assert_int_equal(cb_time_civil(INT64_MIN, &west).year, 1);
}

/* Europe/Berlin in 2026 (IANA time zone database: CEST from 29 March to 25 October, 01:00 UTC). */
static void test_zone(void **state)
{
    (void)state;
    static const struct cb_zone berlin = {
        .count = 3,
        .steps = {{INT64_MIN, 3600},
                  {INT64_C(1774746000000), 7200},
                  {INT64_C(1792890000000), 3600}},
    };
    static const struct {
        const char *at, *date, *clock;
        int weekday;
        bool twice; /* the clock shows it again */
    } cases[] = {
        {"2026-01-05T18:00:00Z", "2026-01-05", "19:00", 0, false},
        {"2026-03-29T00:59:59Z", "2026-03-29", "01:59", 6, false},
        {"2026-03-29T01:00:00Z", "2026-03-29", "03:00", 6, false},
        {"2026-07-14T22:30:00Z", "2026-07-15", "00:30", 2, false},
        {"2026-10-25T00:59:00Z", "2026-10-25", "02:59", 6, true},
        {"2026-10-25T01:00:00Z", "2026-10-25", "02:00", 6, true},
        {"2025-12-31T23:30:00Z", "2026-01-01", "00:30", 3, false},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        int64_t ms = 0;
        assert_true(cb_time_parse(cases[i].at, &ms));
        char date[11];
        char clock[CB_CLOCK_SIZE];
        cb_time_date(ms, &berlin, date);
        cb_time_clock(ms, &berlin, clock);
        assert_string_equal(date, cases[i].date);
        assert_string_equal(clock, cases[i].clock);
        assert_int_equal(cb_time_civil(ms, &berlin).weekday, cases[i].weekday);
        char local[CB_RFC3339_SIZE];
        cb_time_format(cb_time_local(ms, &berlin), local);
        assert_memory_equal(local, date, 10);
        assert_memory_equal(local + 11, clock, 5);
        const int64_t back_ms = cb_time_of_local(cb_time_local(ms, &berlin), &berlin);
        assert_true(back_ms == ms || cases[i].twice);
    }
    /* forward over half past two: that long after two is three and a half */
    int64_t skipped_ms = 0;
    assert_true(cb_time_parse("2026-03-29T02:30:00Z", &skipped_ms));
    assert_true(cb_time_of_local(skipped_ms, &berlin) == INT64_C(1774747800000));
    assert_true(cb_time_of_local(skipped_ms, NULL) == skipped_ms);
    assert_int_equal(cb_time_civil(-1, NULL).day, 31);
    assert_int_equal(cb_time_civil(-1, &berlin).day, 1);
    const struct cb_zone late = {.count = 1, .steps = {{INT64_C(1774746000000), 7200}}};
    assert_int_equal(cb_time_civil(0, &late).hour, 2);
}

/* The hours by half days, common knowledge: noon is 12 pm, midnight 12 am. */
static void test_half_days(void **state)
{
    (void)state;
    static const struct {
        const char *at, *clock;
    } cases[] = {
        {"2026-01-05T00:00:00Z", "12:00am"}, {"2026-01-05T00:59:59Z", "12:59am"},
        {"2026-01-05T01:00:00Z", "1:00am"},  {"2026-01-05T09:05:00Z", "9:05am"},
        {"2026-01-05T10:10:00Z", "10:10am"}, {"2026-01-05T11:59:00Z", "11:59am"},
        {"2026-01-05T12:00:00Z", "12:00pm"}, {"2026-01-05T12:30:00Z", "12:30pm"},
        {"2026-01-05T13:00:00Z", "1:00pm"},  {"2026-01-05T20:41:00Z", "8:41pm"},
        {"2026-01-05T23:59:00Z", "11:59pm"},
    };
    const struct cb_zone utc = {.half_days = true};
    for (size_t i = 0; i < COUNT(cases); i++) {
        int64_t ms = 0;
        char clock[CB_CLOCK_SIZE];
        assert_true(cb_time_parse(cases[i].at, &ms));
        cb_time_clock(ms, &utc, clock);
        assert_string_equal(clock, cases[i].clock);
    }
}

static void test_civil(void **state)
{
    (void)state;
    struct cb_civil c = cb_time_civil(INT64_C(1709208000123), NULL);
    assert_int_equal(c.year, 2024);
    assert_int_equal(c.month, 2);
    assert_int_equal(c.day, 29);
    assert_int_equal(c.hour, 12);
    assert_int_equal(c.minute, 0);
    assert_int_equal(c.second, 0);
    assert_int_equal(c.ms, 123);
    assert_int_equal(c.weekday, 3);
}

static void test_span(void **state)
{
    (void)state;
    static const struct {
        int64_t ms;
        const char *text;
    } cases[] = {
        {0, "0 s"},
        {499, "0 s"},
        {500, "1 s"},
        {40000, "40 s"},
        {-40000, "-40 s"},
        {119499, "119 s"},
        {119500, "2 min"},
        {120000, "2 min"},
        {12 * 60000, "12 min"},
        {INT64_C(59) * 60000 + 29000, "59 min"},
        {INT64_C(59) * 60000 + 30000, "1 h"},
        {INT64_C(190) * 60000, "3 h 10 min"},
        {INT64_C(-190) * 60000, "-3 h 10 min"},
        {INT64_C(5999) * 60000, "99 h 59 min"},
        {INT64_C(100) * 3600000, "4 d 4 h"},
        {INT64_C(95) * 3600000 * 24, "95 d"},
        {INT64_MAX, "106751991167 d 7 h"},
        {INT64_MIN, "-106751991167 d 7 h"},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        char out[32];
        cb_time_span(cases[i].ms, out);
        assert_string_equal(out, cases[i].text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_parse),        cmocka_unit_test(test_round_trip),
        cmocka_unit_test(test_out_of_range), cmocka_unit_test(test_zone),
        cmocka_unit_test(test_half_days),    cmocka_unit_test(test_civil),
        cmocka_unit_test(test_span),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
