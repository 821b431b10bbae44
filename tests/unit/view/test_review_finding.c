/* SPDX-License-Identifier: MIT */
/* What the review says first, how roundly it says a range, and which stages it leaves out. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "view/review_page.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static struct cb_stage stages[] = {{.name = "Undercoat"}, {.name = "Coats"}, {.name = "Edges"}};
static const struct cb_recipe recipe = {.name = "r", .stages = stages, .stage_count = 3};

/* Minutes one after the other: painted of a stage, or waited ('w'). */
struct piece {
    char what;
    int stage, minutes;
};

static const char *found(struct cb_arena *arena, const struct piece *pieces, bool finished)
{
    struct cb_review review = {.recipe = &recipe, .finished = finished};
    struct cb_span *spans = cb_arena_alloc(arena, 8, sizeof *spans);
    struct cb_str out = {0};
    for (size_t i = 0; i < 8 && pieces[i].minutes > 0; i++) {
        const int64_t ms = pieces[i].minutes * CB_MS_PER_MIN;
        spans[i] =
            (struct cb_span){.from_ms = review.session_ms,
                             .to_ms = review.session_ms + ms,
                             .spent = pieces[i].what == 'w' ? CB_SPENT_WAITING : CB_SPENT_HANDS_ON,
                             .stage = pieces[i].stage};
        review.session_ms += ms;
        review.spent_ms[spans[i].spent] += ms;
        review.span_count++;
    }
    review.spans = spans;
    cb_review_finding(&review, &out);
    const char *said = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return said;
}

static void test_finding(void **state)
{
    (void)state;
    static const struct {
        struct piece pieces[8];
        const char *said;
        bool under_way;
    } rows[] = {
        {.said = "no time at the bench yet"},
        {{{'h', 1, 20}}, "20 min, of it 20 min painting; no waiting", false},
        {{{'h', 1, 20}, {'w', 2, 8}, {'h', 2, 10}, {'w', 3, 2}},
         "40 min, of it 30 min painting; 10 min waiting, nearly all after Undercoat",
         false},
        {{{'h', 1, 20}, {'w', 2, 6}, {'h', 2, 10}, {'w', 3, 4}},
         "so far 40 min, of it 30 min painting; 10 min waiting, most of it after Undercoat",
         true},
        {{{'h', 1, 20}, {'w', 2, 4}, {'h', 2, 10}, {'w', 3, 3}, {'h', 3, 10}, {'w', 0, 3}},
         "50 min, of it 40 min painting; 10 min waiting",
         false},
        {{{'w', 1, 9}, {'h', 1, 21}},
         "30 min, of it 21 min painting; 9 min waiting, nearly all before the first coat",
         false},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(rows); i++) {
        assert_string_equal(found(&arena, rows[i].pieces, !rows[i].under_way), rows[i].said);
    }
    cb_arena_fini(&arena);
}

static void test_about(void **state)
{
    (void)state;
    static const struct {
        double median_min, low_min, high_min;
        const char *said;
    } rows[] = {
        {541, 372, 788, "about 9 h, likely 6 to 13"},
        {150, 20, 400, "about 3 h, likely 1 to 7"},
        {134, 96, 187, "about 130 min, likely 100 to 190"},
        {43, 31, 58, "about 45 min, likely 30 to 60"},
        {7.4, 5.2, 10.6, "about 7 min, likely 5 to 11"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        char said[CB_REVIEW_ABOUT_SIZE];
        const struct cb_hours_sum sum = {.median_min = rows[i].median_min,
                                         .low_min = rows[i].low_min,
                                         .high_min = rows[i].high_min};
        cb_review_about(&sum, said);
        assert_string_equal(said, rows[i].said);
    }
}

static void test_pings(void **state)
{
    (void)state;
    static const struct {
        size_t pings, answered, dry, wet, late;
        const char *said;
    } rows[] = {
        {3, 2, 1, 1, 1, "3 pings, 2 answered: 1 dry, 1 still wet; 1 shown late"},
        {2, 2, 2, 0, 0, "2 pings, 2 answered: 2 dry"},
        {2, 1, 0, 1, 0, "2 pings, 1 answered: 1 still wet"},
        {1, 0, 0, 0, 0, "1 ping"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct cb_review review = {.ping_count = rows[i].pings,
                                         .ping_answered = rows[i].answered,
                                         .ping_dry = rows[i].dry,
                                         .ping_wet = rows[i].wet,
                                         .ping_late = rows[i].late};
        struct cb_str out = {0};
        cb_review_pings(&review, &out);
        assert_string_equal(cb_str_text(&out), rows[i].said);
        cb_str_fini(&out);
    }
}

/* A stage that was not begun is in no order; one that was only waited for was begun. */
static void test_order(void **state)
{
    (void)state;
    static const struct cb_review_stage list[] = {
        {.stage = 1, .spent_ms = {[CB_SPENT_HANDS_ON] = 5}, .coats = 1, .planned_min = 1},
        {.stage = 2, .planned_min = 1},
        {.stage = 3, .spent_ms = {[CB_SPENT_WAITING] = 5}, .planned_min = 1},
    };
    const struct cb_review review = {.recipe = &recipe, .stages = list, .stage_count = 3};
    size_t order[CB_RECIPE_MAX];
    for (int sort = 0; sort < CB_REVIEW_SORTS; sort++) {
        assert_int_equal(cb_review_stage_order(&review, (enum cb_review_sort)sort, order), 2);
        assert_true(order[0] != 1 && order[1] != 1);
    }
}

/* 20:24, 5:27 and 21:42 min are 47:33: 20 + 5 + 22 would be one short of 48. */
static void the_parts_shown_add_up(void **state)
{
    (void)state;
    const int64_t spent_ms[CB_SPENT_COUNT] = {20 * 60000 + 24000, 5 * 60000 + 27000,
                                              21 * 60000 + 42000};
    int64_t shown_ms[CB_SPENT_COUNT];
    cb_review_rounded(spent_ms, shown_ms);
    assert_int_equal(shown_ms[0] / 60000, 20);
    assert_int_equal(shown_ms[1] / 60000, 6);
    assert_int_equal(shown_ms[2] / 60000, 22);
    const int64_t halves_ms[CB_SPENT_COUNT] = {30000, 30000, 30000};
    cb_review_rounded(halves_ms, shown_ms); /* 1.5 min are shown as two */
    assert_int_equal(shown_ms[0] + shown_ms[1] + shown_ms[2], 2 * 60000);
    assert_int_equal(shown_ms[3], 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_parts_shown_add_up),
        cmocka_unit_test(test_finding),
        cmocka_unit_test(test_about),
        cmocka_unit_test(test_pings),
        cmocka_unit_test(test_order),
    };
    return cmocka_run_group_tests_name("review finding", tests, NULL, NULL);
}
