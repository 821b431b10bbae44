/* SPDX-License-Identifier: MIT */
/* The finish by the calendar, where it can be told by hand: painters who never vary. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "core/plan/finish.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))
#define MOST        64

static int64_t at(const char *text)
{
    int64_t ms = 0;
    assert_true(cb_time_parse(text, &ms));
    return ms;
}

/* "2026-01-05T18:00:00Z 90;.." */
static size_t evenings_of(const char *text, struct cb_evening *evenings)
{
    size_t count = 0;
    for (; *text != '\0'; count++) {
        char moment[21] = "";
        double minutes = 0;
        int used = 0;
        assert_true(count < MOST && sscanf(text, "%20s %lf;%n", moment, &minutes, &used) == 2);
        evenings[count].from_ms = at(moment);
        evenings[count].to_ms = evenings[count].from_ms + (int64_t)(minutes * 60000);
        text += used;
    }
    return count;
}

/* Every so many days from that evening on, the same. */
static size_t regular(const char *first, int days, double minutes, size_t count,
                      struct cb_evening *evenings)
{
    for (size_t i = 0; i < count; i++) {
        evenings[i].from_ms = at(first) + (int64_t)i * days * 86400000;
        evenings[i].to_ms = evenings[i].from_ms + (int64_t)(minutes * 60000);
    }
    return count;
}

static const struct cb_plan_task task = {.end_min = 0};
static struct cb_plan plan;
static struct cb_evening record[MOST];

/* Hands-on minutes known to the minute. */
static struct cb_finish_ask asking(const char *now, double work_min, size_t evenings)
{
    static struct cb_plan_task last;
    last = task;
    last.end_min = work_min;
    plan = (struct cb_plan){
        .task_count = 1, .tasks = &last, .work_min = work_min, .finish_min = work_min};
    return (struct cb_finish_ask){.plan = &plan,
                                  .hours = {.low_min = work_min, .high_min = work_min},
                                  .evenings = record,
                                  .evening_count = evenings,
                                  .now_ms = at(now),
                                  .session_ms = CB_TIME_NONE};
}

static void assert_at(int64_t ms, const char *text)
{
    char said[CB_RFC3339_SIZE];
    cb_time_format(ms, said);
    said[16] = '\0';
    if (strncmp(said, text, 16) != 0) {
        fail_msg("%s, wanted %s", said, text);
    }
}

static void assert_all_at(const struct cb_finish *finish, const char *text)
{
    assert_at(finish->low_ms, text);
    assert_at(finish->median_ms, text);
    assert_at(finish->high_ms, text);
}

static void test_little_known(void **state)
{
    (void)state;
    static const struct {
        const char *evenings;
        size_t known;
        double usual_min;
        int start_min;
        bool learned;
    } cases[] = {
        {"", 0, 0, -1, false},
        {"2026-01-01T20:00:00Z 90;", 1, 90, 1200, false},
        {"2026-01-01T20:00:00Z 90;2026-01-02T19:00:00Z 60;", 2, 75, 1170, false},
        {"2026-01-01T20:00:00Z 90;2026-01-02T19:00:00Z 60;2026-01-04T20:30:00Z 70;", 3, 70, 1200,
         true},
        /* what is none: looked in, left open for two days, of tomorrow, ended before it began, of
         * another age */
        {"2026-01-01T20:00:00Z 90;2026-01-02T19:00:00Z 4;2026-01-03T19:00:00Z 1000;"
         "2026-02-01T19:00:00Z 60;2026-01-04T22:00:00Z -60;1970-01-01T00:00:00Z 60;",
         1, 90, 1200, false},
        /* the same one, told by two units, and after tea */
        {"2026-01-01T20:00:00Z 60;2026-01-01T20:00:00Z 90;2026-01-01T22:29:00Z 60;"
         "2026-01-02T20:00:00Z 60;",
         2, 134.5, 1200, false},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct cb_finish_ask ask =
            asking("2026-01-05T18:00:00Z", 300, evenings_of(cases[i].evenings, record));
        struct cb_finish finish = cb_finish_of(&ask);
        assert_int_equal(finish.from, cases[i].learned ? CB_FINISH_LEARNED : CB_FINISH_UNKNOWN);
        assert_int_equal(finish.known_evenings, cases[i].known);
        assert_true(fabs(finish.usual_min - cases[i].usual_min) < 1e-9);
        assert_int_equal(finish.usual_start_min, cases[i].start_min);
        ask.evening_min = 45;
        finish = cb_finish_of(&ask);
        assert_int_equal(finish.from, cases[i].learned ? CB_FINISH_LEARNED : CB_FINISH_GIVEN);
        assert_true(fabs(finish.usual_min - 45) < 1e-9);
        assert_int_equal(finish.evenings, 7); /* of 300 min */
    }
}

/* One a day from today on, 300 min in evenings of 120: the third, after an hour. */
static void test_given(void **state)
{
    (void)state;
    static const struct {
        const char *now, *session, *evenings, *done;
        double tonight_min;
    } cases[] = {
        {"2026-01-05T12:00:00Z", NULL, "", "2026-01-07T20:30", 0},
        /* it is time already; it was time */
        {"2026-01-05T21:00:00Z", NULL, "", "2026-01-07T20:30", 0},
        {"2026-01-05T21:30:00Z", NULL, "", "2026-01-08T20:30", 0},
        /* as the one evening on record began */
        {"2026-01-05T12:00:00Z", NULL, "2026-01-02T10:00:00Z 40;", "2026-01-08T11:00", 0},
        /* under way: what is left of it; longer than that; as told */
        {"2026-01-05T15:30:00Z", "2026-01-05T15:00:00Z", "", "2026-01-07T21:00", 0},
        {"2026-01-05T18:00:00Z", "2026-01-05T15:00:00Z", "", "2026-01-08T20:20", 0},
        {"2026-01-05T15:30:00Z", "2026-01-05T15:00:00Z", "", "2026-01-06T21:00", 210},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct cb_finish_ask ask =
            asking(cases[i].now, 300, evenings_of(cases[i].evenings, record));
        ask.evening_min = 120;
        ask.tonight_min = cases[i].tonight_min;
        ask.session_ms = cases[i].session ? at(cases[i].session) : CB_TIME_NONE;
        const struct cb_finish finish = cb_finish_of(&ask);
        assert_int_equal(finish.from, CB_FINISH_GIVEN);
        assert_all_at(&finish, cases[i].done);
        assert_false(finish.tonight);
    }
}

static void test_learned(void **state)
{
    (void)state;
    static const struct {
        const char *now, *done;
        double work_min, evening_min;
        int evenings;
    } cases[] = {
        /* every other day at 20:00 for 2 h, the last on 21 January */
        {"2026-01-22T09:00:00Z", "2026-01-23T21:00", 60, 0, 1},
        {"2026-01-22T09:00:00Z", "2026-01-27T21:00", 300, 0, 3},
        {"2026-01-22T09:00:00Z", "2026-02-06T21:30", 930, 0, 8},
        {"2026-01-22T09:00:00Z", "2026-01-25T21:00", 300, 240, 2}, /* a longer one is wished */
        /* it would be time; a day more than ever; much more: as if yesterday had been one */
        {"2026-01-23T19:59:00Z", "2026-01-27T21:00", 300, 0, 3},
        {"2026-01-23T20:01:00Z", "2026-01-29T21:00", 300, 0, 3},
        {"2026-03-01T12:00:00Z", "2026-03-06T21:00", 300, 0, 3},
        {"2028-06-01T12:00:00Z", "2028-06-06T21:00", 300, 0, 3},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct cb_finish_ask ask = asking(cases[i].now, cases[i].work_min,
                                          regular("2026-01-03T20:00:00Z", 2, 120, 10, record));
        ask.evening_min = cases[i].evening_min;
        const struct cb_finish finish = cb_finish_of(&ask);
        assert_int_equal(finish.from, CB_FINISH_LEARNED);
        assert_int_equal(finish.known_evenings, 10);
        assert_at(finish.median_ms, cases[i].done);
        assert_int_equal(finish.evenings, cases[i].evenings);
        assert_true(finish.low_ms <= finish.median_ms && finish.median_ms <= finish.high_ms);
    }
}

/* Nearly done: when the plan says, films and all. */
static void test_tonight(void **state)
{
    (void)state;
    size_t count = regular("2026-01-03T20:00:00Z", 2, 120, 10, record);
    record[count++] = (struct cb_evening){at("2026-01-23T19:30:00Z"), at("2026-01-23T20:10:00Z")};
    struct cb_finish_ask ask = asking("2026-01-23T20:15:00Z", 20, count);
    ask.session_ms = at("2026-01-23T19:30:00Z");
    plan.change_min = 3;
    plan.idle_min = 5;
    plan.finish_min = plan.tasks[0].end_min + 12;
    struct cb_finish finish = cb_finish_of(&ask);
    assert_all_at(&finish, "2026-01-23T20:55");
    assert_int_equal(finish.known_evenings, 10);
    assert_int_equal(finish.evenings, 1);
    assert_true(finish.tonight);
    /* 75 of the 120 min are left; opened again after tea it is the same evening */
    ask.session_ms = at("2026-01-23T20:14:00Z");
    plan.work_min = 67;
    finish = cb_finish_of(&ask);
    assert_all_at(&finish, "2026-01-23T21:42");
    plan.work_min = 68;
    finish = cb_finish_of(&ask);
    assert_all_at(&finish, "2026-01-25T20:13");
    assert_int_equal(finish.evenings, 2);
    assert_false(finish.tonight);
    /* leaves earlier; sits longer than ever, for ten minutes more */
    plan.work_min = 20;
    ask.tonight_min = 27;
    finish = cb_finish_of(&ask);
    assert_all_at(&finish, "2026-01-25T20:13");
    ask.tonight_min = 0;
    ask.now_ms = at("2026-01-23T22:00:00Z");
    finish = cb_finish_of(&ask);
    assert_all_at(&finish, "2026-01-25T20:30");
}

/* Left open over night, nobody sits there; who comes again in the same session does. */
static void test_left_open(void **state)
{
    (void)state;
    size_t count = regular("2026-01-03T20:00:00Z", 2, 120, 10, record);
    struct cb_finish_ask ask = asking("2026-01-22T09:00:00Z", 60, count);
    ask.session_ms = at("2026-01-21T20:00:00Z");
    struct cb_finish finish = cb_finish_of(&ask);
    assert_int_equal(finish.known_evenings, 10);
    assert_all_at(&finish, "2026-01-23T21:00");
    record[count++] = (struct cb_evening){at("2026-01-22T08:30:00Z"), at("2026-01-22T08:50:00Z")};
    ask.evening_count = count;
    finish = cb_finish_of(&ask);
    assert_int_equal(finish.known_evenings, 10);
    assert_all_at(&finish, "2026-01-22T10:00");
    assert_true(finish.tonight);
}

static void test_beside_hands_on(void **state)
{
    (void)state;
    const size_t count = regular("2026-01-03T20:00:00Z", 2, 120, 10, record);
    struct cb_finish_ask ask = asking("2026-01-22T12:00:00Z", 200, count);
    /* the paint is fetched once more on each evening but the first */
    plan.paint_changes = 4;
    plan.change_min = 8;
    struct cb_finish finish = cb_finish_of(&ask);
    assert_at(finish.median_ms, "2026-01-25T21:30");
    plan.evenings = 2; /* the plan knows that */
    finish = cb_finish_of(&ask);
    assert_at(finish.median_ms, "2026-01-25T21:28");
    /* half as much again in pauses and chores */
    const struct cb_effort habits = {
        .all_min = 200, .hands_on_min = 100, .change_min = 20, .waiting_min = 30};
    ask.habits = &habits;
    finish = cb_finish_of(&ask);
    assert_at(finish.median_ms, "2026-01-27T21:08");
    /* no more than twice as much beside it: who lay down beside the bench */
    const struct cb_effort asleep = {.all_min = 900, .hands_on_min = 100};
    ask.habits = &asleep;
    finish = cb_finish_of(&ask);
    assert_at(finish.median_ms, "2026-02-02T20:08");
}

/* Three evenings in a row are no law. */
static void test_few(void **state)
{
    (void)state;
    struct cb_finish_ask ask =
        asking("2026-01-06T12:00:00Z", 300, regular("2026-01-03T20:00:00Z", 1, 120, 3, record));
    const struct cb_finish few = cb_finish_of(&ask);
    ask.evening_count = regular("2025-12-07T20:00:00Z", 1, 120, 30, record);
    const struct cb_finish many = cb_finish_of(&ask);
    assert_at(few.low_ms, "2026-01-08T21:00");
    assert_at(many.median_ms, "2026-01-08T21:00");
    assert_true(few.high_ms - few.low_ms > 4 * INT64_C(86400000));
    assert_true(many.high_ms - many.low_ms < 4 * INT64_C(86400000));
}

/* A break is four weeks, however long it was; what was long ago says nothing. */
static void test_breaks(void **state)
{
    (void)state;
    size_t count = regular("2025-02-03T20:00:00Z", 45, 120, 7, record);
    struct cb_finish_ask ask = asking("2025-11-01T12:00:00Z", 60, count);
    struct cb_finish finish = cb_finish_of(&ask);
    assert_at(finish.median_ms, "2025-11-28T21:00"); /* 31 October stands for the last one */
    count = regular("2025-10-02T09:00:00Z", 1, 30, 20, record);
    count += regular("2025-10-23T20:00:00Z", 2, 120, 41, record + count);
    assert_true(count <= MOST);
    ask = asking("2026-01-12T12:00:00Z", 300, count);
    finish = cb_finish_of(&ask);
    assert_int_equal(finish.known_evenings, 40);
    assert_at(finish.median_ms, "2026-01-17T21:00");
}

/* Bound to Tuesdays and Thursdays: never another day. Local time stays across the change of
 * clocks: Europe/Berlin in 2026 (IANA time zone database). */
static void test_days(void **state)
{
    (void)state;
    static const struct cb_zone berlin = {
        .count = 3,
        .steps = {{INT64_MIN, 3600},
                  {INT64_C(1774746000000), 7200},
                  {INT64_C(1792890000000), 3600}},
    };
    size_t count = 0;
    for (int week = 0; week < 10; week++) {
        count += regular("2026-01-06T19:00:00Z", 2, 120, 2, record + count);
        record[count - 2].from_ms += week * INT64_C(604800000);
        record[count - 2].to_ms += week * INT64_C(604800000);
        record[count - 1].from_ms += week * INT64_C(604800000);
        record[count - 1].to_ms += week * INT64_C(604800000);
    }
    struct cb_finish_ask ask = asking("2026-03-13T12:00:00Z", 660, count);
    ask.zone = &berlin;
    const struct cb_finish finish = cb_finish_of(&ask);
    assert_int_equal(finish.usual_start_min, 20 * 60);
    const struct cb_civil civil = cb_time_civil(finish.median_ms, &berlin);
    assert_true(civil.weekday == 1 || civil.weekday == 3);
    assert_int_equal(civil.month, 4);
    assert_int_equal(civil.day, 2);
    assert_int_equal(civil.hour * 60 + civil.minute, 21 * 60);
    assert_int_equal(finish.evenings, 6);
    assert_true(finish.high_ms - finish.low_ms < INT64_C(14) * 86400000);
}

static void test_nothing_to_go(void **state)
{
    (void)state;
    struct cb_finish_ask ask =
        asking("2026-01-22T12:00:00Z", 0, regular("2026-01-03T20:00:00Z", 2, 120, 10, record));
    plan = (struct cb_plan){0};
    ask.hours = (struct cb_hours_sum){0};
    struct cb_finish finish = cb_finish_of(&ask);
    assert_int_equal(finish.from, CB_FINISH_DRYING);
    assert_all_at(&finish, "2026-01-22T12:00");
    assert_int_equal(finish.evenings, 0);
    ask.evening_count = 0;
    plan.finish_min = 35;
    finish = cb_finish_of(&ask);
    assert_int_equal(finish.from, CB_FINISH_DRYING);
    assert_all_at(&finish, "2026-01-22T12:35");
    /* stands still */
    plan.finish_min = INFINITY;
    finish = cb_finish_of(&ask);
    assert_int_equal(finish.from, CB_FINISH_UNKNOWN);
    plan = (struct cb_plan){.left_count = 2};
    finish = cb_finish_of(&ask);
    assert_int_equal(finish.from, CB_FINISH_UNKNOWN);
    /* more evenings than anybody foresees */
    ask = asking("2026-01-22T12:00:00Z", 24000, 0);
    ask.evening_min = 120;
    finish = cb_finish_of(&ask);
    assert_int_equal(finish.from, CB_FINISH_UNKNOWN);
    ask = asking("2026-01-22T12:00:00Z", 23600, 0);
    ask.evening_min = 120;
    finish = cb_finish_of(&ask);
    assert_int_equal(finish.evenings, 197);
}

/* The range of the hours is that of the moments, where all is done tonight; without any it is as
 * wide as painters and units differ. The same question has the same answer. */
static void test_range(void **state)
{
    (void)state;
    struct cb_finish_ask ask =
        asking("2026-01-23T20:00:00Z", 200, regular("2026-01-03T10:00:00Z", 2, 720, 10, record));
    ask.session_ms = ask.now_ms;
    ask.hours = (struct cb_hours_sum){.low_min = 160, .high_min = 250};
    const struct cb_finish finish = cb_finish_of(&ask);
    const struct cb_finish again = cb_finish_of(&ask);
    assert_memory_equal(&finish.median_ms, &again.median_ms, sizeof finish.median_ms);
    assert_true(finish.tonight);
    const double low = (double)(finish.low_ms - ask.now_ms) / 60000;
    const double high = (double)(finish.high_ms - ask.now_ms) / 60000;
    const double middle = (double)(finish.median_ms - ask.now_ms) / 60000;
    assert_true(fabs(low - 160) < 4 && fabs(high - 250) < 6 && fabs(middle - 200) < 4);
    ask.hours = (struct cb_hours_sum){0};
    const struct cb_finish wide = cb_finish_of(&ask);
    /* e to the 1.2816 x .5 */
    assert_true(fabs((double)(wide.high_ms - ask.now_ms) / 60000 / 200 - 1.898) < .08);
    assert_true(fabs((double)(wide.low_ms - ask.now_ms) / 60000 * 1.898 / 200 - 1) < .06);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_little_known), cmocka_unit_test(test_given),
        cmocka_unit_test(test_learned),      cmocka_unit_test(test_tonight),
        cmocka_unit_test(test_left_open),    cmocka_unit_test(test_beside_hands_on),
        cmocka_unit_test(test_days),         cmocka_unit_test(test_few),
        cmocka_unit_test(test_breaks),       cmocka_unit_test(test_nothing_to_go),
        cmocka_unit_test(test_range),
    };
    return cmocka_run_group_tests_name("finish", tests, NULL, NULL);
}
