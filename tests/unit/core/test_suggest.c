/* SPDX-License-Identifier: MIT */
/* What would have saved time: against logs of a steady painter, who then paints it that way, too.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "core/plan/plan_recipe.h"
#include "support/steady.h"
#include "support/suggested.h"

static void says(const struct cb_suggestion *one, const struct cb_review *review, const char *text)
{
    struct cb_str out = {0};
    assert_non_null(one);
    cb_suggest_say(one, review->recipe, &out);
    assert_string_equal(cb_str_text(&out), text);
    cb_str_fini(&out);
}

/* Painted by every size: the fewest that wait no longer than any other and 1 % of all. */
static void finds_what_painting_finds(const char *recipe, int figures, int fewer_than,
                                      int found_size)
{
    double session_min[CB_FIGURES_MAX + 1], waiting_min[CB_FIGURES_MAX + 1];
    struct cb_suggestions all[CB_FIGURES_MAX + 1];
    double least = INFINITY;
    int best = 1;
    for (int size = 1; size <= figures; size++) {
        struct steady steady;
        const struct cb_review *review = steady_paint(&steady, recipe, figures, size);
        all[size] = suggested_by(review);
        session_min[size] = suggested_min(review->session_ms);
        waiting_min[size] = session_min[size] - steady.worked_min;
        least = fmin(least, waiting_min[size]);
        steady_end(&steady);
    }
    while (waiting_min[best] > least + SUGGESTED_SHARE * session_min[best]) {
        best++;
    }
    assert_int_equal(best, found_size);
    for (int size = 1; size < fewer_than; size++) {
        const struct cb_suggestion batch = suggested_found(&all[size], "batch");
        assert_int_equal(batch.figures, best);
        assert_int_equal(batch.instead_of, size);
        suggested_within(batch.saves_min, session_min[size] - session_min[best], SUGGESTED_SHARE);
        suggested_within(batch.waiting_min, waiting_min[size] - waiting_min[best], SUGGESTED_SHARE);
    }
    assert_null(suggested_find(&all[best], "batch"));
}

static void the_batch_size_is_the_one_that_painting_finds(void **state)
{
    (void)state;
    finds_what_painting_finds(suggested_chain, 10, 5, 10);
    finds_what_painting_finds(suggested_dried, 10, 5, 10);
    finds_what_painting_finds(suggested_quick, 12, 5, 6);
    finds_what_painting_finds(suggested_quick, 7, 4, 7);
}

static void a_batch_is_said_in_words(void **state)
{
    (void)state;
    struct steady steady;
    const struct cb_review *review = steady_paint(&steady, suggested_chain, 10, 3);
    const struct cb_suggestions all = suggested_by(review);
    assert_int_equal(all.count, 1);
    says(&all.items[0], review,
         "Ten at a time instead of three would have saved 2 h 29 min: 2 h 11 min less waiting, "
         "twelve fewer changes of paint");
    struct cb_str out = {0};
    cb_suggest_say_together(&all, &out);
    assert_string_equal(cb_str_text(&out), "");
    steady_end(&steady);
}

/* Two coats of each, one stage after the other, or in turn. */
static double paint_apart(struct steady *steady, const char *wait, bool in_turn,
                          const struct cb_review **review)
{
    const char *text = suggested_apart(wait, false);
    steady_begin(steady, text, 1);
    for (int i = 0; i < 4; i++) {
        steady_put(steady, (struct steady_task){1 + (in_turn ? i % 2 : i / 2), 1});
    }
    *review = steady_review(steady);
    return suggested_min((*review)->session_ms);
}

static void an_order_is_the_plans(void **state)
{
    (void)state;
    struct steady steady;
    const struct cb_review *review;
    const double in_turn_min = paint_apart(&steady, "20", true, &review);
    assert_int_equal(suggested_by(review).count, 0);
    steady_end(&steady);
    const double after_min = paint_apart(&steady, "20", false, &review);
    const struct cb_suggestions all = suggested_by(review);
    assert_int_equal(all.count, 1);
    suggested_within(all.items[0].saves_min, after_min - in_turn_min, SUGGESTED_SHARE);
    assert_int_equal(all.items[0].stages[0][0], 1);
    assert_int_equal(all.items[0].stages[0][1], 2);
    assert_int_equal(all.items[0].stages[1][0], 0);
    says(&all.items[0], review,
         "Oilskin and Rope in turn would have saved 23 min: 26 min less waiting, two more changes "
         "of paint");
    steady_end(&steady);
}

static void under_five_minutes_nothing_is_said(void **state)
{
    (void)state;
    static const struct {
        const char *wait;
        size_t count;
    } rows[] = {{"1", 0}, {"2", 0}, {"3.5", 0}, {"3.99", 0}, {"4.01", 1}, {"5", 1}, {"12", 1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct steady steady;
        const struct cb_review *review;
        const double in_turn_min = paint_apart(&steady, rows[i].wait, true, &review);
        steady_end(&steady);
        const double after_min = paint_apart(&steady, rows[i].wait, false, &review);
        assert_int_equal(after_min - in_turn_min >= CB_SUGGEST_MIN, rows[i].count);
        assert_int_equal(suggested_by(review).count, rows[i].count);
        steady_end(&steady);
    }
}

static void a_fan_saves_what_it_does(void **state)
{
    (void)state;
    struct steady steady;
    const struct cb_review *review = steady_paint_in(&steady, suggested_dried, 1, 1, "fan");
    const double fanned_min = suggested_min(review->session_ms);
    assert_int_equal(suggested_by(review).count, 0);
    steady_end(&steady);
    review = steady_paint_in(&steady, suggested_dried, 1, 1, "draught");
    assert_int_equal(suggested_by(review).count, 0);
    steady_end(&steady);
    review = steady_paint(&steady, suggested_dried, 1, 1);
    const struct cb_suggestions all = suggested_by(review);
    assert_int_equal(all.count, 1);
    suggested_within(all.items[0].saves_min, suggested_min(review->session_ms) - fanned_min,
                     SUGGESTED_SHARE);
    says(&all.items[0], review,
         "A fan on the films would have saved 26 min of waiting; Shade dry after 12 min, not 23 "
         "min");
    steady_end(&steady);
    review = steady_paint(&steady, suggested_chain, 1, 1); /* exact waits know no air */
    assert_int_equal(suggested_by(review).count, 0);
    steady_end(&steady);
}

/* Now one paint, now the other, on figures that would have taken either; or all that the paint can
 * be put on at once, before the other. */
static void staying_saves(const char *wait, const char *text)
{
    const char *recipe = suggested_apart(wait, false);
    double session_min[2];
    for (int stays = 1; stays >= 0; stays--) {
        struct steady steady;
        steady_begin(&steady, recipe, 4);
        for (int i = 0; i < 16; i++) {
            const bool soon = wait[1] == '\0'; /* a coat is dry when the next can go on */
            const int figure = stays ? i % 4 : i / 2 % 4;
            const int stage = !stays ? i % 2 : soon ? i / 8 : i / 4 % 2;
            steady_put(&steady, (struct steady_task){stage + 1, figure + 1});
        }
        const struct cb_review *review = steady_review(&steady);
        session_min[stays] = suggested_min(review->session_ms);
        const struct cb_suggestions all = suggested_by(review);
        assert_int_equal(all.count, stays ? 0 : 1);
        if (!stays) {
            suggested_within(all.items[0].saves_min, session_min[0] - session_min[1],
                             SUGGESTED_SHARE);
            says(&all.items[0], review, text);
        }
        steady_end(&steady);
    }
}

static void staying_with_a_paint_saves_changes(void **state)
{
    (void)state;
    staying_saves("1", "Staying with a paint while more of it could go on would have saved 21 min: "
                       "14 fewer changes of paint");
    staying_saves("10",
                  "Staying with a paint while more of it could go on would have saved 18 min: "
                  "twelve fewer changes of paint");
}

/* A batch and a fan take the same waiting away: the one is said. */
static void one_saving_has_one_name(void **state)
{
    (void)state;
    struct steady steady;
    const struct cb_review *review = steady_paint(&steady, suggested_dried, 10, 3);
    const struct cb_suggestions all = suggested_by(review);
    assert_int_equal(all.count, 1);
    assert_string_equal(all.items[0].choice, "batch");
    steady_end(&steady);
}

/* Paints that were changed too often, and a wash that four figures wait for: both are said, and
 * what comes of both. */
static const struct cb_review *paint_mixed(struct steady *steady, bool stays, const char *air)
{
    static const char mixed[] =
        "{coatbell: 1, name: r, change: 1.5, " SUGGESTED_PAINTS
        ", areas: {coat: {}, belt: {}}, stages: ["
        "{name: Oilskin, technique: basecoat, paint: green, on: coat, minutes: 3, wait: 1},"
        "{name: Rope, technique: basecoat, paint: rope, on: belt, minutes: 3, wait: 1},"
        "{name: Shade, technique: wash, paint: ebb, minutes: 1},"
        "{name: Lantern, technique: layer, paint: brass, minutes: 2}]}";
    steady_begin(steady, mixed, 4);
    world_do(&steady->world, cb_arena_printf(&steady->world.arena,
                                             "climate_set - temp_c=23 rh_pct=50 air=%s", air));
    for (int i = 0; i < 8; i++) {
        steady_put(steady, stays ? (struct steady_task){1 + i / 4, 1 + i % 4}
                                 : (struct steady_task){1 + i % 2, 1 + i / 2});
    }
    for (int i = 0; i < 8; i++) {
        steady_put(steady, (struct steady_task){3 + i / 4, 1 + i % 4});
    }
    return steady_review(steady);
}

static void what_comes_of_all_is_said(void **state)
{
    (void)state;
    struct steady steady;
    double session_min[2][2];
    static const char *const airs[] = {"still", "fan"};
    for (int stays = 1; stays >= 0; stays--) {
        for (int fan = 1; fan >= 0; fan--) {
            const struct cb_review *review = paint_mixed(&steady, stays, airs[fan]);
            session_min[stays][fan] = suggested_min(review->session_ms);
            const struct cb_suggestions all = suggested_by(review);
            assert_int_equal(all.count, !stays + !fan);
            if (!stays && !fan) {
                struct cb_str out = {0};
                cb_suggest_say_together(&all, &out);
                assert_string_equal(cb_str_text(&out),
                                    "Each of these is judged by itself; all at once would have "
                                    "saved 20 min");
                cb_str_fini(&out);
                suggested_within(suggested_found(&all, "stay").saves_min,
                                 session_min[0][0] - session_min[1][0], SUGGESTED_SHARE);
                suggested_within(suggested_found(&all, "fan").saves_min,
                                 session_min[0][0] - session_min[0][1], SUGGESTED_SHARE);
                suggested_within(all.together_min, session_min[0][0] - session_min[1][1],
                                 SUGGESTED_SHARE);
            }
            steady_end(&steady);
        }
    }
}

static void by_the_plan(const char *recipe_text, int figures)
{
    struct steady steady;
    struct cb_arena arena = {0};
    struct cb_plan_times times[CB_RECIPE_MAX] = {{0}};
    steady_begin(&steady, recipe_text, figures);
    const struct cb_unit *unit = cb_bench_unit(steady.world.bench, 0);
    const struct cb_recipe *recipe = unit->recipe;
    for (size_t s = 0; s < recipe->stage_count; s++) {
        times[s].work_min = recipe->stages[s].work_min;
        times[s].dry_min = world_ring_min(&steady.world, unit, (int)s + 1, .8);
    }
    const struct cb_plan_problem problem =
        cb_plan_of_recipe(world_kinds(), recipe, figures, times, &arena);
    struct cb_plan_search *search = cb_plan_search_new(&problem, 1);
    cb_plan_search_go(search, 2000);
    const struct cb_plan plan = cb_plan_search_best(search, &arena);
    for (size_t i = 0; i < plan.task_count; i++) {
        steady_put(&steady,
                   (struct steady_task){plan.tasks[i].stage + 1, plan.tasks[i].figure + 1});
    }
    const struct cb_review *review = steady_review(&steady);
    suggested_within(suggested_min(review->session_ms), plan.tasks[plan.task_count - 1].end_min,
                     SUGGESTED_SHARE);
    const struct cb_suggestions all = suggested_by(review);
    if (all.count > 0) {
        fail_msg("%s saves %.1f min", all.items[0].choice, all.items[0].saves_min);
    }
    cb_plan_search_free(search);
    cb_arena_fini(&arena);
    steady_end(&steady);
}

static void what_is_painted_by_the_plan_is_left_alone(void **state)
{
    (void)state;
    const char *text = suggested_apart("20", false);
    by_the_plan(suggested_chain, 10);
    by_the_plan(suggested_dried, 10);
    by_the_plan(suggested_quick, 12);
    by_the_plan(text, 1);
    by_the_plan(text, 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_batch_size_is_the_one_that_painting_finds),
        cmocka_unit_test(a_batch_is_said_in_words),
        cmocka_unit_test(an_order_is_the_plans),
        cmocka_unit_test(under_five_minutes_nothing_is_said),
        cmocka_unit_test(a_fan_saves_what_it_does),
        cmocka_unit_test(staying_with_a_paint_saves_changes),
        cmocka_unit_test(one_saving_has_one_name),
        cmocka_unit_test(what_comes_of_all_is_said),
        cmocka_unit_test(what_is_painted_by_the_plan_is_left_alone),
    };
    return cmocka_run_group_tests_name("suggest", tests, NULL, NULL);
}
