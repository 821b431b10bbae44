/* SPDX-License-Identifier: MIT */
/* A pot in a sentence, and the day in it. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "view/pot_sentence.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static int64_t at(const char *text)
{
    int64_t ms;
    assert_true(cb_time_parse(text, &ms));
    return ms;
}

static void test_sentence(void **state)
{
    (void)state;
    static const struct {
        struct cb_pot_line line;
        struct cb_pot_seen seen;
        const char *said;
    } rows[] = {
        {{.median_min = 6.7, .ping_min = 10.2, .floor_min = NAN},
         {.count = 40},
         "Oilskin green: dry within 7 min as a rule, by 10 it rings; from 40 coats, last on "
         "Tuesday"},
        {{.median_min = 6.7, .ping_min = 10.2, .floor_min = NAN},
         {.count = 1, .off = 1, .technique = true},
         "Oilskin green, layer: dry within 7 min as a rule, by 10 it rings; from 1 coat, on "
         "Tuesday; 1 answer does not fit"},
        {{.median_min = 1.5, .ping_min = 2.4, .floor_min = NAN},
         {.count = 9, .off = 2},
         "Oilskin green: dry within 90 s as a rule, by 2 min it rings; from 9 coats, last on "
         "Tuesday; 2 answers do not fit"},
        {{.median_min = 12, .ping_min = 30, .floor_min = 30},
         {.count = 0},
         "Oilskin green: dry within 12 min as a rule, by 30 it rings, as the pot says; no coat of "
         "it was seen yet"},
        {{.median_min = 12, .ping_min = 31, .floor_min = 30},
         {.count = 0},
         "Oilskin green: dry within 12 min as a rule, by 31 it rings; no coat of it was seen yet"},
        {{.median_min = 20, .exact = true},
         {.count = 0},
         "Oilskin green: the recipe's wait, 20 min, exact in any air"},
    };
    struct cb_arena arena = {0};
    const struct cb_zone zone = {0};
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_pot_line line = rows[i].line;
        struct cb_pot_seen seen = rows[i].seen;
        line.paint = "Oilskin green";
        line.technique = CB_TECHNIQUE_LAYER;
        seen.last_ms = at("2026-01-06T20:00:00Z");
        assert_string_equal(
            cb_pot_sentence(&line, &seen, at("2026-01-09T18:00:00Z"), &zone, &arena), rows[i].said);
    }
    cb_arena_fini(&arena);
}

/* By the calendar of the place, not by hours. */
static void test_day(void **state)
{
    (void)state;
    static const struct {
        const char *at, *now, *said;
    } rows[] = {
        {"2026-01-06T20:00:00Z", "2026-01-06T21:00:00Z", "today"},
        {"2026-01-06T22:30:00Z", "2026-01-06T23:30:00Z", "yesterday"}, /* 23:30 and 0:30 there */
        {"2026-01-06T23:30:00Z", "2026-01-07T20:00:00Z", "today"},
        {"2026-01-01T12:00:00Z", "2026-01-07T22:00:00Z", "on Thursday"},
        {"2026-01-01T12:00:00Z", "2026-01-08T08:00:00Z", "on 2026-01-01"},
        {"2026-01-09T12:00:00Z", "2026-01-08T08:00:00Z", "on 2026-01-09"}, /* the clock went back */
    };
    const struct cb_zone zone = {.count = 1, .steps = {{INT64_MIN, 3600}}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        char said[CB_POT_DAY_SIZE];
        cb_pot_day(at(rows[i].at), at(rows[i].now), &zone, said);
        assert_string_equal(said, rows[i].said);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_sentence), cmocka_unit_test(test_day)};
    return cmocka_run_group_tests_name("pot sentence", tests, NULL, NULL);
}
