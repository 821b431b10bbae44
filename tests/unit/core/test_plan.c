/* SPDX-License-Identifier: MIT */
/* Plans small enough to be reckoned by hand. What larger ones are worth: tests/reference. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/plan_desk.h"

/* 1 change + 2 work + 10 dry + 2 + 10. */
static void one_figure_waits_for_its_own_coat(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 1, 1);
    slot(&desk, 0, 0)->coats = 2;
    const struct cb_plan plan = plan_of(&desk);
    assert_int_equal(plan.task_count, 2);
    near(plan.finish_min, 25);
    near(plan.work_min, 4);
    near(plan.change_min, 1);
    near(plan.idle_min, 10);
    assert_int_equal(plan.paint_changes, 1);
    near(plan.tasks[0].start_min, 1);
    near(plan.tasks[0].end_min, 3);
    near(plan.tasks[0].dry_min, 13);
    near(plan.tasks[1].start_min, 13);
    assert_int_equal(plan.tasks[1].coat, 2);
    assert_true(plan.tasks[0].change);
    assert_false(plan.tasks[1].change);
    near(cb_plan_bound_min(&desk.problem), 25);
    cb_arena_fini(&desk.arena);
}

/* Six figures at 2 min fill the 10 min of the first. */
static void a_row_of_figures_waits_for_nothing(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 1, 6);
    for (size_t f = 0; f < 6; f++) {
        slot(&desk, 0, f)->coats = 2;
    }
    const struct cb_plan plan = plan_of(&desk);
    near(plan.finish_min, 1 + 24 + 10);
    near(plan.idle_min, 0);
    for (int i = 0; i < 12; i++) {
        assert_int_equal(plan.tasks[i].figure, i % 6);
    }
    const struct cb_plan_row row = cb_plan_longest_row(&desk.problem, 100);
    assert_int_equal(row.stage, 0);
    assert_int_equal(row.figures, 6);
    assert_int_equal(cb_plan_longest_row(&desk.problem, 5).stage, -1);
    cb_arena_fini(&desk.arena);
}

/* The next stage's paint is made ready while the film dries. */
static void a_change_of_paint_fits_into_a_wait(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 2, 1);
    need(&desk, 1, 0);
    const struct cb_plan plan = plan_of(&desk);
    near(plan.finish_min, 1 + 2 + 10 + 2 + 10);
    near(plan.idle_min, 9);
    assert_int_equal(plan.paint_changes, 2);
    cb_arena_fini(&desk.arena);
}

/* Stage 0, which nothing needs, fits into the wait between 1 and 2. */
static void what_is_longest_comes_first(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 3, 1);
    need(&desk, 2, 1);
    const struct cb_plan plan = plan_of(&desk);
    assert_int_equal(plan.tasks[0].stage, 1);
    near(plan.finish_min, 25);
    cb_arena_fini(&desk.arena);
}

static void a_film_beside_holds_up(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 2, 1);
    touch(&desk, 1, 0);
    near(plan_of(&desk).finish_min, 25);
    desk.stages[1].touch_count = 0;
    near(plan_of(&desk).finish_min, 1 + 2 + 1 + 2 + 10);
    cb_arena_fini(&desk.arena);
}

static void a_together_go_waits_for_all(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 2, 3);
    need(&desk, 1, 0);
    desk.stages[1].together = CB_PLAN_ALL;
    struct cb_plan plan = plan_of(&desk);
    assert_int_equal(plan.task_count, 4);
    const struct cb_plan_task *go = &plan.tasks[3];
    assert_int_equal(go->figure, -1);
    assert_int_equal(go->member_count, 3);
    near(go->start_min, 1 + 6 + 10);
    near(plan.finish_min, 17 + 2 + 10);
    /* A parked figure, or one that does without, holds up nothing. */
    slot(&desk, 0, 2)->coats = slot(&desk, 1, 2)->coats = 0;
    plan = plan_of(&desk);
    near(plan.finish_min, 1 + 4 + 10 + 2 + 10);
    assert_int_equal(plan.tasks[2].member_count, 2);
    cb_arena_fini(&desk.arena);
}

/* Two at a time: the first pair is sprayed while the second is not there yet. */
static void so_many_fit_into_a_go(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 2, 5);
    need(&desk, 1, 0);
    desk.stages[0].dry_min = 0;
    desk.stages[1].together = 2;
    desk.stages[1].paint = CB_PLAN_NO_PAINT;
    const struct cb_plan plan = plan_of(&desk);
    size_t gos = 0, members = 0;
    for (size_t i = 0; i < plan.task_count; i++) {
        gos += plan.tasks[i].figure == -1;
        members += plan.tasks[i].figure == -1 ? plan.tasks[i].member_count : 0;
    }
    assert_int_equal(gos, 3);
    assert_int_equal(members, 5);
    near(plan.finish_min, 1 + 5 * 2 + 3 * 2 + 10);
    cb_arena_fini(&desk.arena);
}

/* Figure 1 has its first coat, wet for 4 min more; figure 2 has none; the paint is on the brush. */
static void it_begins_from_where_things_stand(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 1, 2);
    slot(&desk, 0, 0)->coats = slot(&desk, 0, 1)->coats = 2;
    slot(&desk, 0, 0)->on = 1;
    slot(&desk, 0, 0)->dry_min = 4;
    desk.problem.brush = 0;
    const struct cb_plan plan = plan_of(&desk);
    assert_int_equal(plan.task_count, 3);
    near(plan.tasks[0].start_min, 0);
    assert_int_equal(plan.tasks[0].figure, 1);
    near(plan.tasks[1].start_min, 4);
    assert_int_equal(plan.tasks[1].coat, 2);
    near(plan.finish_min, 2 + 10 + 2 + 10);
    assert_int_equal(plan.paint_changes, 0);
    near(cb_plan_bound_min(&desk.problem), 2 + 10 + 2 + 10);
    /* Nor before it may begin. */
    slot(&desk, 0, 1)->from_min = 30;
    near(plan_of(&desk).finish_min, 30 + 2 + 10 + 2 + 10);
    cb_arena_fini(&desk.arena);
}

static void what_stands_still_is_left_out(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 2, 2);
    need(&desk, 1, 0);
    slot(&desk, 0, 0)->on = 1;
    slot(&desk, 0, 0)->dry_min = INFINITY;
    const struct cb_plan plan = plan_of(&desk);
    assert_int_equal(plan.left_count, 1);
    assert_int_equal(plan.task_count, 2);
    near(plan.finish_min, 25);
    assert_true(isinf(cb_plan_bound_min(&desk.problem)));
    cb_arena_fini(&desk.arena);
}

/* Two units share a paint: no change between them. */
static void two_units_stand_on_one_bench(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 2, 4);
    desk.stages[1].paint = 0;
    for (size_t f = 0; f < 4; f++) {
        slot(&desk, f < 2, f)->coats = 0;
    }
    const struct cb_plan plan = plan_of(&desk);
    assert_int_equal(plan.task_count, 4);
    assert_int_equal(plan.paint_changes, 1);
    near(plan.finish_min, 1 + 8 + 10);
    cb_arena_fini(&desk.arena);
}

/* 7 minutes an evening take 1 + 2 + 2 and, since 2 more would be too late, the second coat of the
 * first figure the next evening, when it is long dry. */
static void a_night_dries(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 1, 2);
    slot(&desk, 0, 0)->coats = slot(&desk, 0, 1)->coats = 2;
    desk.problem.evening_min = 7;
    desk.problem.night_min = 1433;
    struct cb_plan plan = plan_of(&desk);
    assert_int_equal(plan.evenings, 2);
    assert_int_equal(plan.tasks[1].evening, 0);
    assert_int_equal(plan.tasks[2].evening, 1);
    near(plan.tasks[1].dry_min, 7);
    near(plan.tasks[2].start_min, 7 + 1);
    assert_true(plan.tasks[2].change);
    near(plan.finish_min, 7 + 1 + 4 + 10);
    near(plan.last_evening_min, 5);
    near(plan.idle_min, 0);
    assert_true(cb_plan_bound_min(&desk.problem) <= plan.finish_min);
    /* Little is left of tonight. */
    desk.problem.tonight_min = 3;
    plan = plan_of(&desk);
    assert_int_equal(plan.tasks[0].evening, 0);
    assert_int_equal(plan.tasks[1].evening, 1);
    near(plan.tasks[1].start_min, 3 + 1);
    cb_arena_fini(&desk.arena);
}

/* A slow film outlasts the night: 100 min, 60 of them at night. */
static void a_short_night_dries_less(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 1, 1);
    slot(&desk, 0, 0)->coats = 2;
    desk.stages[0].dry_min = 100;
    desk.problem.evening_min = 50;
    desk.problem.night_min = 60;
    const struct cb_plan plan = plan_of(&desk);
    near(plan.tasks[0].dry_min, 50); /* 103 - 60 is not even the end of the evening */
    near(plan.tasks[1].start_min, 51);
    near(plan.finish_min, 53 + 100);
    desk.problem.night_min = 30;
    near(plan_of(&desk).tasks[1].start_min, 73);
    cb_arena_fini(&desk.arena);
}

/* What no evening holds is begun with one all the same. */
static void longer_than_an_evening(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 1, 2);
    desk.stages[0].work_min = 30;
    desk.problem.evening_min = 20;
    desk.problem.night_min = 1400;
    const struct cb_plan plan = plan_of(&desk);
    assert_int_equal(plan.task_count, 2);
    near(plan.tasks[0].start_min, 21);
    assert_true(isfinite(plan.finish_min));
    cb_arena_fini(&desk.arena);
}

static void calm_changes_paint_seldom(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 2, 3);
    for (size_t f = 0; f < 3; f++) {
        slot(&desk, 0, f)->coats = slot(&desk, 1, f)->coats = 3;
    }
    const struct cb_plan quick = plan_of(&desk);
    desk.problem.calm_min = 60;
    const struct cb_plan calm = plan_of(&desk);
    assert_true(calm.paint_changes < quick.paint_changes);
    assert_true(calm.finish_min > quick.finish_min);
    assert_int_equal(calm.paint_changes, 2);
    cb_arena_fini(&desk.arena);
}

/* The first coat has the paint asked for, ready or not; without a wish the longer chain begins. */
static void a_wish_for_the_first_paint(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 3, 1);
    need(&desk, 2, 1);
    desk.problem.first_paint = 0;
    assert_int_equal(plan_of(&desk).tasks[0].stage, 0);
    desk.problem.first_paint = 2; /* needs what is not on: no wish can have it */
    assert_int_equal(plan_of(&desk).tasks[0].stage, 1);
    cb_arena_fini(&desk.arena);
}

/* The same number of simulations, in one go or many, gives the same plan to the bit. */
static void simulations_decide_and_nothing_else(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 5, 4);
    for (int s = 1; s < 5; s++) {
        need(&desk, s, (s - 1) / 2);
        desk.stages[s].work_min = 1 + s;
        desk.stages[s].dry_min = 25 - 4 * s;
    }
    touch(&desk, 3, 4);
    struct cb_plan_search *one = cb_plan_search_new(&desk.problem, 7);
    struct cb_plan_search *many = cb_plan_search_new(&desk.problem, 7);
    cb_plan_search_go(one, 300);
    for (int i = 0; i < 300; i++) {
        cb_plan_search_go(many, 1);
    }
    const struct cb_plan a = cb_plan_search_best(one, &desk.arena);
    const struct cb_plan b = cb_plan_search_best(many, &desk.arena);
    assert_int_equal(a.task_count, b.task_count);
    for (size_t i = 0; i < a.task_count; i++) {
        assert_int_equal(a.tasks[i].stage, b.tasks[i].stage);
        assert_int_equal(a.tasks[i].figure, b.tasks[i].figure);
        assert_true(a.tasks[i].start_min == b.tasks[i].start_min);
    }
    /* What follows another search is as good at once, after strict order and its own try. */
    struct cb_plan_search *after = cb_plan_search_new(&desk.problem, 8);
    cb_plan_search_follow(after, one);
    cb_plan_search_go(after, 2);
    assert_true(cb_plan_search_best(after, &desk.arena).finish_min <= a.finish_min);
    cb_plan_search_free(after);
    cb_plan_search_free(one);
    cb_plan_search_free(many);
    cb_arena_fini(&desk.arena);
}

/* 2 min a figure, 10 to dry, two coats: batches of six wait for nothing, smaller ones for
 * 10 - 2 (g - 1) each; four figures wait 4 min of 33, and so on. */
static void batches_wait_less_the_larger_they_are(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 1, 12);
    for (size_t f = 0; f < 12; f++) {
        slot(&desk, 0, f)->coats = 2;
    }
    static const double wanted[] = {120, 48, 24, 12, 0 /* 5, 5 and 2: below */, 0};
    struct cb_plan_batch batches[12];
    for (int g = 1; g <= 12; g++) {
        batches[g - 1] = cb_plan_batch_of(&desk.problem, g, PLAN_SIMULATIONS);
        if (g <= 6 && g != 5) {
            near(batches[g - 1].idle_min, wanted[g - 1]);
            near(batches[g - 1].finish_min, 1 + 48 + wanted[g - 1] + 10);
        }
    }
    near(batches[4].idle_min, 2 + 2 + 8);
    assert_int_equal(cb_plan_batch_advised(batches, 12), 6);
    assert_int_equal(cb_plan_batch_advised(batches, 4), 4);
    /* A hundredth of the time may go by: 1 min of 100. */
    batches[2] = (struct cb_plan_batch){1, 100, 1};
    assert_int_equal(cb_plan_batch_advised(batches, 12), 3);
    batches[2].idle_min = 1.001;
    assert_int_equal(cb_plan_batch_advised(batches, 12), 6);
    cb_arena_fini(&desk.arena);
}

/* The undercoat of all is one go whatever the batch; what follows it is taken by batches. */
static void a_go_is_no_batch(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 3, 4);
    desk.stages[0].together = desk.stages[2].together = CB_PLAN_ALL;
    need(&desk, 1, 0);
    need(&desk, 2, 1);
    const struct cb_plan_batch one = cb_plan_batch_of(&desk.problem, 1, PLAN_SIMULATIONS);
    near(one.finish_min, 1 + 2 + 10 + 4 * 2 + 10 + 2 + 10);
    near(one.idle_min, 9 + 9);
    assert_int_equal(cb_plan_longest_row(&desk.problem, 100).stage, -1);
    cb_arena_fini(&desk.arena);
}

/* Nothing wanted, nothing to do. */
static void an_empty_plan(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 1, 1);
    slot(&desk, 0, 0)->on = 1;
    const struct cb_plan plan = plan_of(&desk);
    assert_int_equal(plan.task_count, 0);
    near(plan.finish_min, 0);
    near(cb_plan_bound_min(&desk.problem), 0);
    cb_arena_fini(&desk.arena);
}

/* A go of all comes after all the work below it, and before all that is above. */
static void the_bound_sees_a_go(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 3, 3);
    desk.stages[1].together = CB_PLAN_ALL;
    need(&desk, 1, 0);
    need(&desk, 2, 1);
    near(cb_plan_bound_min(&desk.problem), 1 + 6 + 10 + 2 + 10 + 6 + 10);
    near(plan_of(&desk).finish_min, 1 + 6 + 10 + 2 + 10 + 6 + 10);
    cb_arena_fini(&desk.arena);
}

/* Two at a time, long wet: 30 min. Stage 1 may lie below or above the go, not beside it wet. */
static void the_bound_sees_a_go_of_some(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 4, 3);
    desk.stages[0].together = 2;
    desk.stages[0].dry_min = 30;
    desk.stages[1].work_min = 3;
    desk.stages[2].work_min = 4;
    desk.stages[1].dry_min = desk.stages[2].dry_min = 5;
    touch(&desk, 1, 0);
    for (size_t f = 0; f < 3; f++) {
        slot(&desk, 2, f)->coats = slot(&desk, 3, f)->coats = 0;
    }
    /* A change, the first go with its window, and stage 1 twice outside it. */
    near(cb_plan_bound_min(&desk.problem), 1 + 32 + 2 * 3);
    assert_true(plan_of(&desk).finish_min >= 39);
    /* What follows the go is outside on all three, and last of all dries; of its change and that of
     * the others one lies outside, too. */
    need(&desk, 2, 0);
    for (size_t f = 0; f < 3; f++) {
        slot(&desk, 2, f)->coats = 1;
    }
    near(cb_plan_bound_min(&desk.problem), 1 + 32 + 2 * 3 + 3 * 4 + 1 + 5);
    assert_true(plan_of(&desk).finish_min >= 57);
    cb_arena_fini(&desk.arena);
}

/* With one figure more the second go is full: both, the last one's window, and stage 1 on two of
 * its own; behind all that lies below it. */
static void and_the_last_go_of_some(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 4, 4);
    desk.stages[0].together = 2;
    desk.stages[0].dry_min = 30;
    desk.stages[1].work_min = 3;
    desk.stages[3].work_min = 6;
    touch(&desk, 1, 0);
    for (size_t f = 0; f < 4; f++) {
        slot(&desk, 2, f)->coats = slot(&desk, 3, f)->coats = 0;
    }
    near(cb_plan_bound_min(&desk.problem), 1 + 2 * 2 + 30 + 2 * 3);
    need(&desk, 0, 3);
    desk.stages[3].dry_min = 1;
    for (size_t f = 0; f < 4; f++) {
        slot(&desk, 3, f)->coats = 1;
    }
    near(cb_plan_bound_min(&desk.problem), 1 + 4 * 6 + 1 + 2 * 2 + 30 + 2 * 3);
    assert_true(plan_of(&desk).finish_min >= 66);
    cb_arena_fini(&desk.arena);
    /* Where one has its first coat of two, no go is sure to be full. */
    desk_init(&desk, 2, 3);
    desk.stages[0].together = 2;
    desk.stages[0].dry_min = 30;
    touch(&desk, 1, 0);
    slot(&desk, 0, 0)->coats = 2;
    slot(&desk, 0, 0)->on = 1;
    assert_true(cb_plan_bound_min(&desk.problem) <= plan_of(&desk).finish_min);
    cb_arena_fini(&desk.arena);
}

/* 4 of 8 at a time, 60 min wet. With both gos first nobody can paint for an hour, and the last film
 * is dry after 266 min; the figures of the second can have stage 1 before it. */
static void what_need_not_wait_fills_the_time_of_a_go(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 3, 8);
    desk.stages[0].together = 4;
    desk.stages[0].dry_min = 60;
    desk.stages[1].work_min = desk.stages[2].work_min = 12;
    touch(&desk, 1, 0);
    need(&desk, 2, 0);
    need(&desk, 2, 1);
    assert_true(plan_of(&desk).finish_min < 240);
    cb_arena_fini(&desk.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_figure_waits_for_its_own_coat),
        cmocka_unit_test(a_row_of_figures_waits_for_nothing),
        cmocka_unit_test(a_change_of_paint_fits_into_a_wait),
        cmocka_unit_test(what_is_longest_comes_first),
        cmocka_unit_test(a_film_beside_holds_up),
        cmocka_unit_test(a_together_go_waits_for_all),
        cmocka_unit_test(so_many_fit_into_a_go),
        cmocka_unit_test(it_begins_from_where_things_stand),
        cmocka_unit_test(what_stands_still_is_left_out),
        cmocka_unit_test(two_units_stand_on_one_bench),
        cmocka_unit_test(a_night_dries),
        cmocka_unit_test(a_short_night_dries_less),
        cmocka_unit_test(longer_than_an_evening),
        cmocka_unit_test(calm_changes_paint_seldom),
        cmocka_unit_test(a_wish_for_the_first_paint),
        cmocka_unit_test(simulations_decide_and_nothing_else),
        cmocka_unit_test(batches_wait_less_the_larger_they_are),
        cmocka_unit_test(a_go_is_no_batch),
        cmocka_unit_test(an_empty_plan),
        cmocka_unit_test(the_bound_sees_a_go),
        cmocka_unit_test(the_bound_sees_a_go_of_some),
        cmocka_unit_test(and_the_last_go_of_some),
        cmocka_unit_test(what_need_not_wait_fills_the_time_of_a_go),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
