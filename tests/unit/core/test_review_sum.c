/* SPDX-License-Identifier: MIT */
/* What a review is compared with: which unit, brought to how many figures, through which trend. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "base/time.h"
#include "core/review/review_sum.h"

#define MIN         CB_MS_PER_MIN
#define COUNT(list) (sizeof(list) / sizeof *(list))

static const struct cb_stage watch_stages[] = {{.name = "Coats"}, {.name = "Edges"}};
static const struct cb_recipe watch = {
    .name = "Night watch", .stage_count = 2, .stages = watch_stages};
static const struct cb_review_stage spent[] = {
    {.stage = 1, .spent_ms = {[CB_SPENT_HANDS_ON] = 40 * MIN, [CB_SPENT_TIDY] = 2 * MIN}},
    {.stage = 2, .spent_ms = {[CB_SPENT_HANDS_ON] = 20 * MIN}},
};
static const struct cb_review review = {.unit = "u4",
                                        .name = "Fourth",
                                        .figures = 4,
                                        .begun_ms = 900,
                                        .shift_ms = 100,
                                        .recipe = &watch,
                                        .spent_ms = {[CB_SPENT_HANDS_ON] = 60 * MIN},
                                        .stage_count = 2,
                                        .stages = spent};

static const struct cb_review_sum_stage first_stages[] = {{"Coats", 50 * MIN}};
static const struct cb_review_sum sums[] = {
    {.unit = "u1",
     .name = "First",
     .recipe = "Night watch",
     .figures = 5,
     .begun_ms = 100,
     .spent_ms = {[CB_SPENT_HANDS_ON] = 100 * MIN},
     .stage_count = 1,
     .stages = first_stages},
    {.unit = "u2",
     .name = "Second",
     .recipe = "Night watch",
     .figures = 2,
     .begun_ms = 200,
     .spent_ms = {[CB_SPENT_HANDS_ON] = 36 * MIN}},
    {.unit = "u3", .name = "Troll", .recipe = "Marsh troll", .figures = 1, .begun_ms = 300},
    {.unit = "u4", .name = "Fourth", .recipe = "Night watch", .figures = 4, .begun_ms = 1000},
    {.unit = "u5", .name = "Fifth", .recipe = "Night watch", .figures = 4, .begun_ms = 2000},
};

static void test_the_last_of_its_recipe(void **state)
{
    (void)state;
    assert_string_equal(cb_review_before(&review, sums, COUNT(sums))->unit, "u2");
    assert_string_equal(cb_review_before(&review, sums, 1)->unit, "u1");
    /* none of its recipe: the last one; itself and later ones never */
    assert_string_equal(cb_review_before(&review, sums + 2, 3)->unit, "u3");
    assert_null(cb_review_before(&review, sums + 3, 2));
    assert_null(cb_review_before(&review, NULL, 0));
}

static void test_brought_to_its_figures(void **state)
{
    (void)state;
    assert_true(cb_review_scaled(&review, &sums[0], 100 * MIN) == 80 * MIN);
    assert_true(cb_review_stage_before(&review, &sums[0], "Coats") == 40 * MIN);
    assert_true(cb_review_stage_before(&review, &sums[0], "Edges") == -1);
}

static void test_trend(void **state)
{
    (void)state;
    int64_t figure_ms[CB_REVIEW_TREND];
    assert_int_equal(cb_review_trend(&review, sums, COUNT(sums), figure_ms), 3);
    assert_true(figure_ms[0] == 20 * MIN && figure_ms[1] == 18 * MIN && figure_ms[2] == 15 * MIN);
    assert_int_equal(cb_review_trend(&review, NULL, 0, figure_ms), 1);
    assert_true(figure_ms[0] == 15 * MIN);
    struct cb_review_sum many[20];
    for (size_t i = 0; i < COUNT(many); i++) {
        many[i] = sums[0];
        many[i].spent_ms[CB_SPENT_HANDS_ON] = (int64_t)(i + 1) * 5 * MIN;
    }
    assert_int_equal(cb_review_trend(&review, many, COUNT(many), figure_ms), CB_REVIEW_TREND);
    assert_true(figure_ms[0] == 16 * MIN && figure_ms[CB_REVIEW_TREND - 2] == 20 * MIN);
}

static void test_written_and_read(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_str bytes = {0};
    struct cb_review_sum own = cb_review_sum_of(&review, &arena);
    struct cb_review_sum back = {0};
    assert_true(own.begun_ms == 1000 && own.stages[0].took_ms == 42 * MIN);
    struct cb_coder coder = cb_coder_writer(&bytes, &arena);
    cb_review_sum_code(&coder, &own);
    coder = cb_coder_reader(bytes.text, bytes.length, &arena);
    cb_review_sum_code(&coder, &back);
    assert_true(cb_coder_done(&coder));
    const struct cb_review_sum copy = cb_review_sum_copy(&back, &arena);
    assert_string_equal(copy.name, "Fourth");
    assert_string_equal(copy.recipe, "Night watch");
    assert_int_equal(copy.stage_count, 2);
    assert_string_equal(copy.stages[1].name, "Edges");
    assert_memory_equal(copy.spent_ms, own.spent_ms, sizeof own.spent_ms);
    for (size_t cut = 0; cut < bytes.length; cut++) {
        char *piece = cb_arena_alloc(&arena, cut + 1, 1);
        memcpy(piece, bytes.text, cut);
        coder = cb_coder_reader(piece, cut, &arena);
        cb_review_sum_code(&coder, &back);
        assert_false(cb_coder_done(&coder));
    }
    cb_str_fini(&bytes);
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_last_of_its_recipe),
        cmocka_unit_test(test_brought_to_its_figures),
        cmocka_unit_test(test_trend),
        cmocka_unit_test(test_written_and_read),
    };
    return cmocka_run_group_tests_name("review sums", tests, NULL, NULL);
}
