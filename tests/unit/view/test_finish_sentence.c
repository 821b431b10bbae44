/* SPDX-License-Identifier: MIT */
/* The finish in words, from Wednesday 2 December 2026, 18:00. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "view/finish_sentence.h"

static int64_t at(const char *text)
{
    int64_t ms = 0;
    assert_true(cb_time_parse(text, &ms));
    return ms;
}

static void test_sentences(void **state)
{
    (void)state;
    static const struct {
        enum cb_finish_from from;
        bool tonight;
        const char *low, *median, *high, *said;
    } cases[] = {
        {CB_FINISH_UNKNOWN, false, "2026-12-02T18:00:00Z", "2026-12-02T18:00:00Z",
         "2026-12-02T18:00:00Z", NULL},
        {CB_FINISH_DRYING, false, "2026-12-02T18:00:00Z", "2026-12-02T18:00:00Z",
         "2026-12-02T18:00:00Z", "now"},
        {CB_FINISH_DRYING, false, "2026-12-02T18:47:00Z", "2026-12-02T18:47:00Z",
         "2026-12-02T18:47:00Z", "today, at 18:47"},
        {CB_FINISH_DRYING, false, "2026-12-03T07:07:00Z", "2026-12-03T07:07:00Z",
         "2026-12-03T07:07:00Z", "tomorrow, at 07:07"},
        {CB_FINISH_LEARNED, true, "2026-12-02T21:03:00Z", "2026-12-02T21:32:00Z",
         "2026-12-02T22:11:00Z", "today, about 21:32 (likely 21:03 to 22:11)"},
        {CB_FINISH_LEARNED, false, "2026-12-03T21:04:59Z", "2026-12-03T21:25:00Z",
         "2026-12-03T22:11:00Z", "tomorrow, about 21:30 (likely 21:00 to 22:10)"},
        {CB_FINISH_GIVEN, false, "2026-12-03T21:26:00Z", "2026-12-03T21:26:00Z",
         "2026-12-03T21:26:00Z", "tomorrow, about 21:30"},
        {CB_FINISH_LEARNED, false, "2026-12-02T21:00:00Z", "2026-12-03T21:30:00Z",
         "2026-12-05T20:00:00Z", "tomorrow, about 21:30 (likely today to Saturday)"},
        {CB_FINISH_LEARNED, false, "2026-12-03T21:00:00Z", "2026-12-04T21:30:00Z",
         "2026-12-08T20:00:00Z", "on Friday 4 December, about 21:30 (likely tomorrow to Tuesday)"},
        /* a week from now Wednesday would be today's */
        {CB_FINISH_LEARNED, false, "2026-12-04T21:00:00Z", "2026-12-06T21:30:00Z",
         "2026-12-09T20:00:00Z",
         "on Sunday 6 December, about 21:30 (likely 4 December to 9 December)"},
        /* over midnight by rounding */
        {CB_FINISH_LEARNED, false, "2026-12-31T23:50:00Z", "2026-12-31T23:56:00Z",
         "2027-09-01T20:00:00Z",
         "on Friday 1 January, about 00:00 (likely 31 December to 1 September 2027)"},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct cb_finish finish = {.from = cases[i].from,
                                         .tonight = cases[i].tonight,
                                         .low_ms = at(cases[i].low),
                                         .median_ms = at(cases[i].median),
                                         .high_ms = at(cases[i].high)};
        const char *said = cb_finish_sentence(&finish, at("2026-12-02T18:00:00Z"), NULL, &arena);
        if (cases[i].said == NULL) {
            assert_null(said);
        } else {
            assert_non_null(said);
            assert_string_equal(said, cases[i].said);
        }
    }
    /* by the clock of the place */
    const struct cb_zone east = {.count = 1, .steps = {{INT64_MIN, 20700}}}; /* 5 h 45 min */
    const struct cb_finish finish = {.from = CB_FINISH_GIVEN,
                                     .low_ms = at("2026-12-02T18:31:00Z"),
                                     .median_ms = at("2026-12-02T18:31:00Z"),
                                     .high_ms = at("2026-12-02T18:31:00Z")};
    assert_string_equal(cb_finish_sentence(&finish, at("2026-12-02T18:00:00Z"), &east, &arena),
                        "tomorrow, about 00:20");
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_sentences)};
    return cmocka_run_group_tests_name("finish sentence", tests, NULL, NULL);
}
