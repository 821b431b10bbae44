/* SPDX-License-Identifier: MIT */
/* What the search prefers, what it hands on to the next, and what it promises. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/plan_desk.h"

/* The desk after so many tasks of a plan. */
static struct cb_plan_problem after(struct desk *desk, const struct cb_plan *plan, size_t count)
{
    const size_t figures = desk->problem.figure_count;
    const size_t slots = desk->problem.stage_count * figures;
    struct cb_plan_slot *now = cb_arena_alloc(&desk->arena, slots, sizeof *now);
    struct cb_plan_problem rest = desk->problem;
    const double now_min = count > 0 ? plan->tasks[count - 1].end_min : 0;
    memcpy(now, desk->slots, slots * sizeof *now);
    for (size_t i = 0; i < count; i++) {
        const struct cb_plan_task *task = &plan->tasks[i];
        for (size_t k = 0; k < task->member_count; k++) {
            struct cb_plan_slot *own =
                &now[(size_t)task->stage * figures + (size_t)task->members[k]];
            own->on++;
            own->dry_min = task->dry_min > now_min ? task->dry_min - now_min : 0;
        }
        rest.brush = task->change ? desk->stages[task->stage].paint : rest.brush;
    }
    rest.slots = now;
    return rest;
}

/* Task by task, from the very first: a search that follows finds the rest of the plan at once,
 * after strict order and its first try. */
static void follow(struct desk *desk)
{
    struct cb_plan_search *before = cb_plan_search_new(&desk->problem, 1);
    cb_plan_search_go(before, PLAN_SIMULATIONS);
    const struct cb_plan plan = cb_plan_search_best(before, &desk->arena);
    for (size_t count = 0; count < plan.task_count; count++) {
        const struct cb_plan_problem now = after(desk, &plan, count);
        struct cb_plan_search *search = cb_plan_search_new(&now, 1);
        cb_plan_search_follow(search, before);
        cb_plan_search_go(search, 2);
        const struct cb_plan rest = cb_plan_search_best(search, &desk->arena);
        const double gone_min = count > 0 ? plan.tasks[count - 1].end_min : 0;
        assert_true(gone_min + rest.finish_min <= plan.finish_min + 1e-9);
        cb_plan_search_free(before);
        before = search;
    }
    cb_plan_search_free(before);
}

static void who_keeps_to_a_plan_is_followed(void **state)
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
    follow(&desk);
    cb_arena_fini(&desk.arena);
    for (int figures = 1; figures <= 4; figures++) {
        desk_init(&desk, 6, (size_t)figures);
        for (int s = 1; s < 6; s++) {
            need(&desk, s, (s - 1) / 2);
            desk.stages[s].work_min = 1 + s * 5 % 7;
            desk.stages[s].dry_min = 25 - 3 * s;
            desk.stages[s].paint = s % 3;
        }
        touch(&desk, 3, 4);
        touch(&desk, 5, 1);
        follow(&desk);
        cb_arena_fini(&desk.arena);
    }
}

/* Two changes instead of three would be calmer, but the slow film then ends after that of strict
 * order, at 46. */
static void calm_is_no_later_than_strict_order(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 3, 1);
    desk.stages[0].dry_min = 0;
    desk.stages[1].dry_min = 40;
    desk.stages[2].paint = 0;
    need(&desk, 1, 0);
    desk.problem.calm_min = 60;
    const struct cb_plan plan = plan_of(&desk);
    near(plan.finish_min, 46);
    assert_int_equal(plan.paint_changes, 3);
    cb_arena_fini(&desk.arena);
}

/* All is dry long before the first film: then one change less counts more than the order. */
static void of_plans_as_early_the_one_with_fewer_changes(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 4, 1);
    desk.stages[0].dry_min = 200;
    desk.stages[3].paint = 1;
    const struct cb_plan plan = plan_of(&desk);
    near(plan.finish_min, 203);
    assert_int_equal(plan.paint_changes, 3);
    cb_arena_fini(&desk.arena);
}

/* Stage 0 comes in at minute 10. Until then nobody can paint, so that it costs nothing to wait on
 * for stage 1, which dries longer; were that waiting priced, stage 0 would come before stage 2. */
static void waiting_costs_where_one_could_paint(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 3, 1);
    need(&desk, 2, 1);
    desk.stages[2].dry_min = 30;
    desk.stages[0].work_min = 4;
    desk.stages[0].dry_min = 0;
    slot(&desk, 0, 0)->from_min = 10;
    desk.problem.linger_price = 1;
    near(plan_of(&desk).finish_min, 45);
    /* Ready from the first, it does: 9 minutes of waiting cost more than a finish at 48. */
    slot(&desk, 0, 0)->from_min = 0;
    desk.stages[0].work_min = 11;
    near(plan_of(&desk).finish_min, 48);
    desk.problem.linger_price = 0;
    near(plan_of(&desk).finish_min, 45);
    cb_arena_fini(&desk.arena);
}

/* Stage 1 dries long: put on first, it is dry at 43, after stage 0, whose paint is on the brush, at
 * 45. */
static void leaving_the_paint_on_the_brush_has_its_price(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 2, 1);
    desk.stages[1].dry_min = 40;
    desk.problem.brush = 0;
    desk.problem.leave_min = 1.5;
    near(plan_of(&desk).finish_min, 43);
    desk.problem.leave_min = 2.5;
    near(plan_of(&desk).finish_min, 45);
    cb_arena_fini(&desk.arena);
}

/* The same with a clean brush: at 43 out of the order of the recipe, at 46 in it. */
static void so_has_leaving_the_order_of_the_recipe(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 2, 1);
    desk.stages[1].dry_min = 40;
    desk.problem.skip_min = 2.5;
    near(plan_of(&desk).finish_min, 43);
    desk.problem.skip_min = 3.5;
    near(plan_of(&desk).finish_min, 46);
    cb_arena_fini(&desk.arena);
}

/* Stage 2 on the first figure is needed for what dries longest; on the other it can follow at once
 * or come after all else, at no other cost than one turn more. */
/* Put on late, the film of 60 is dry in time, and would not be, were it twice as slow. */
static void what_may_be_slow_goes_on_early(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 3, 1);
    desk.stages[0].work_min = desk.stages[2].work_min = 80;
    desk.stages[1].dry_min = 60;
    struct cb_plan plan = plan_of(&desk);
    near(plan.finish_min, 175);
    assert_int_equal(plan.tasks[0].stage, 0);
    desk.problem.slow_price = .1;
    plan = plan_of(&desk);
    near(plan.finish_min, 175);
    assert_int_equal(plan.tasks[0].stage, 1);
    desk.problem.skip_min = 5; /* more than a tenth of 31, by which it would be late */
    plan = plan_of(&desk);
    assert_int_equal(plan.tasks[0].stage, 0);
    cb_arena_fini(&desk.arena);
}

static void of_plans_alike_the_one_that_stays_with_what_is_in_hand(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 4, 2);
    need(&desk, 3, 2);
    desk.stages[3].dry_min = 200;
    for (size_t s = 0; s < 4; s++) {
        desk.stages[s].paint = CB_PLAN_NO_PAINT;
    }
    slot(&desk, 0, 1)->coats = slot(&desk, 1, 1)->coats = slot(&desk, 3, 1)->coats = 0;
    const struct cb_plan plan = plan_of(&desk);
    near(plan.finish_min, 2 + 10 + 2 + 200);
    int turns = 0;
    for (size_t i = 1; i < plan.task_count; i++) {
        turns += plan.tasks[i].stage != plan.tasks[i - 1].stage ? 1 : 0;
    }
    assert_int_equal(turns, 3);
    cb_arena_fini(&desk.arena);
}

/* A coat that is ready too late in an evening to be done in it waits for the next. */
static void too_late_for_this_evening(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 1, 1);
    slot(&desk, 0, 0)->coats = 2;
    desk.stages[0].work_min = 8;
    desk.stages[0].dry_min = 25;
    desk.problem.evening_min = 20;
    desk.problem.night_min = 1;
    const struct cb_plan plan = plan_of(&desk);
    near(plan.tasks[0].dry_min, 33);
    near(plan.tasks[1].start_min, 41);
    assert_int_equal(plan.tasks[1].evening, 2);
    cb_arena_fini(&desk.arena);
}

/* In a row of stages the change of paint between them is time gained: 11 - 1 min for 2 a figure. */
static void a_row_of_figures_between_stages(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk, 2, 12);
    need(&desk, 1, 0);
    desk.stages[0].dry_min = 11;
    desk.stages[1].work_min = 3;
    struct cb_plan_row row = cb_plan_longest_row(&desk.problem, 100);
    assert_int_equal(row.stage, 0);
    assert_int_equal(row.figures, 6);
    near(row.change_min, 1);
    near(row.work_min, 2);
    desk.stages[1].paint = desk.stages[0].paint;
    row = cb_plan_longest_row(&desk.problem, 100);
    assert_int_equal(row.figures, 7);
    cb_arena_fini(&desk.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(who_keeps_to_a_plan_is_followed),
        cmocka_unit_test(calm_is_no_later_than_strict_order),
        cmocka_unit_test(of_plans_as_early_the_one_with_fewer_changes),
        cmocka_unit_test(waiting_costs_where_one_could_paint),
        cmocka_unit_test(leaving_the_paint_on_the_brush_has_its_price),
        cmocka_unit_test(so_has_leaving_the_order_of_the_recipe),
        cmocka_unit_test(what_may_be_slow_goes_on_early),
        cmocka_unit_test(of_plans_alike_the_one_that_stays_with_what_is_in_hand),
        cmocka_unit_test(too_late_for_this_evening),
        cmocka_unit_test(a_row_of_figures_between_stages),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
