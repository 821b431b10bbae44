/* SPDX-License-Identifier: MIT */
/* A recipe as a problem for the planner: who waits for whom, who touches, and whose minutes. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "core/bench/forecast.h"
#include "core/plan/plan_recipe.h"
#include "core/recipe/drying_stage.h"
#include "core/review/effort.h"
#include "support/world.h"

static const struct cb_climate standard = {23, 50, CB_AIR_STILL};
static struct cb_arena arena;

static const struct cb_recipe *recipe_of(const char *text)
{
    struct cb_issues issues = {0};
    const struct cb_tree *tree = world_read(text, strlen(text), &arena, &issues);
    const struct cb_recipe *recipe =
        cb_recipe_from_tree(tree, text, world_kinds(), &arena, &issues);
    if (recipe == NULL) {
        fail_msg("%s", issues.count > 0 ? issues.items[0].message : "no recipe");
    }
    return recipe;
}

static struct cb_plan_problem problem_of(const struct cb_recipe *recipe, int figures)
{
    struct cb_plan_times times[CB_RECIPE_MAX] = {{0}};
    for (size_t s = 0; s < recipe->stage_count; s++) {
        times[s] = (struct cb_plan_times){1 + (double)s, 10 + (double)s, false};
    }
    return cb_plan_of_recipe(world_kinds(), recipe, figures, times, &arena);
}

static bool lists(const int *list, size_t count, int wanted)
{
    for (size_t i = 0; i < count; i++) {
        if (list[i] == wanted) {
            return true;
        }
    }
    return false;
}

static int arena_fini(void **state)
{
    (void)state;
    cb_arena_fini(&arena);
    return 0;
}

#define PAINTS "paints: {a: {name: Green, kind: acrylic}, b: {name: Brass, kind: acrylic}}"

static void stages_wait_and_touch_as_the_recipe_says(void **state)
{
    (void)state;
    const struct cb_recipe *recipe =
        recipe_of("{coatbell: 1, name: r, change: 2, " PAINTS
                  ", areas: {coat: {beside: [rope]}, rope: {}, base: {}}, stages: ["
                  "{name: s1, technique: basecoat, paint: a, on: [coat], coats: 2},"
                  "{name: s2, technique: basecoat, paint: b, on: [rope]},"
                  "{name: s3, technique: wash, paint: a, on: [coat]},"
                  "{name: s4, technique: basecoat, paint: b, on: [base, coat], after: []},"
                  "{name: s5, technique: varnish, paint: b, on: whole, together: yes}]}");
    const struct cb_plan_problem problem = problem_of(recipe, 3);
    const struct cb_plan_stage *s = problem.stages;
    assert_int_equal(problem.stage_count, 5);
    assert_int_equal(problem.figure_count, 3);
    assert_int_equal(problem.brush, CB_PLAN_NO_PAINT);
    /* What lies on its areas, whole meets all, after: [] nothing. */
    assert_int_equal(s[0].need_count, 0);
    assert_int_equal(s[1].need_count, 0);
    assert_int_equal(s[2].need_count, 1);
    assert_true(lists(s[2].needs, s[2].need_count, 0));
    assert_int_equal(s[3].need_count, 0);
    assert_int_equal(s[4].need_count, 4);
    /* Beside holds both ways, and with the wash on the coat; one area can't be wet twice. */
    assert_true(lists(s[0].touches, s[0].touch_count, 1));
    assert_true(lists(s[1].touches, s[1].touch_count, 0));
    assert_true(lists(s[2].touches, s[2].touch_count, 1));
    assert_false(lists(s[2].touches, s[2].touch_count, 0)); /* it waits for that one anyway */
    assert_true(lists(s[3].touches, s[3].touch_count, 0));
    assert_true(lists(s[3].touches, s[3].touch_count, 2));
    assert_true(lists(s[3].touches, s[3].touch_count, 1)); /* rope beside coat */
    assert_int_equal(s[4].touch_count, 0);
    assert_int_equal(s[4].together, CB_PLAN_ALL);
    assert_int_equal(s[0].together, 0);
    assert_true(s[0].change_min == 2 && s[0].work_min == 1 && s[2].dry_min == 12);
    /* A paint is a paint, whatever the stage. */
    assert_int_equal(s[0].paint, s[2].paint);
    assert_int_equal(s[1].paint, s[4].paint);
    assert_int_not_equal(s[0].paint, s[1].paint);
    assert_int_equal(problem.slots[0].coats, 2);
    assert_int_equal(problem.slots[3].coats, 1);
    assert_int_equal(problem.slots[0].on, 0);
}

static void groups_and_stages_without_paint(void **state)
{
    (void)state;
    const struct cb_recipe *recipe =
        recipe_of("{coatbell: 1, name: r, groups: {serjeant: [2]}, " PAINTS ", stages: ["
                  "{name: s1, technique: prepare},"
                  "{name: s2, technique: basecoat, paint: a, for: serjeant, together: 4}]}");
    const struct cb_plan_problem problem = problem_of(recipe, 2);
    assert_int_equal(problem.stages[0].paint, CB_PLAN_NO_PAINT);
    assert_int_equal(problem.stages[1].together, 4);
    assert_int_equal(problem.slots[2].coats, 0);
    assert_int_equal(problem.slots[3].coats, 1);
}

/* Off the figure a part is beside nothing on it, until it is joined; where it is joined on some
 * only, or as one likes, it may be on the figure. */
static void parts_touch_when_they_are_on_the_figure(void **state)
{
    (void)state;
    static const char *const joins[] = {"on: [shield]", "on: [shield], for: some",
                                        "on: [shield], after: []", NULL};
    for (int i = 0; i < 4; i++) {
        const struct cb_recipe *recipe = recipe_of(
            cb_arena_printf(&arena,
                            "{coatbell: 1, name: r, groups: {some: [2]}, " PAINTS
                            ", areas: {coat: {}, shield: {beside: [coat], apart: yes}}, stages: ["
                            "{name: s1, technique: basecoat, paint: a, on: [shield]},"
                            "{name: s2, technique: basecoat, paint: b, on: [coat]},"
                            "%s%s%s"
                            "{name: s4, technique: layer, paint: a, on: [shield]},"
                            "{name: s5, technique: layer, paint: b, on: [coat]}]}",
                            joins[i] ? "{name: s3, technique: join, " : "",
                            joins[i] ? joins[i] : "", joins[i] ? "}," : ""));
        const struct cb_plan_problem problem = problem_of(recipe, 3);
        const struct cb_plan_stage *s = problem.stages;
        const int last = (int)problem.stage_count - 1;
        assert_int_equal(lists(s[0].touches, s[0].touch_count, 1), i == 1 || i == 2);
        assert_int_equal(lists(s[last].touches, s[last].touch_count, last - 1), i < 3);
        assert_int_equal(lists(s[last - 1].touches, s[last - 1].touch_count, last), i < 3);
    }
    /* A spray over all leaves out a part that has one of its own; both may be wet. */
    const struct cb_recipe *recipe =
        recipe_of("{coatbell: 1, name: r, " PAINTS ", areas: {coat: {}, shield: {apart: yes}}, "
                  "stages: [{name: s1, technique: undercoat, paint: a},"
                  "{name: s2, technique: undercoat, paint: b, on: [shield]},"
                  "{name: s3, technique: join, on: [shield]}]}");
    const struct cb_plan_problem problem = problem_of(recipe, 1);
    assert_int_equal(problem.stages[0].touch_count, 0);
    assert_int_equal(problem.stages[1].need_count + problem.stages[1].touch_count, 0);
}

static void minutes_are_the_recipe_s_and_the_air_s(void **state)
{
    (void)state;
    const struct cb_recipe *recipe =
        recipe_of("{coatbell: 1, name: r, " PAINTS ", stages: ["
                  "{name: s1, technique: basecoat, paint: a, minutes: 3, dry: 12},"
                  "{name: s2, technique: basecoat, paint: a},"
                  "{name: s3, technique: basecoat, paint: a, wait: 7},"
                  "{name: s4, technique: prepare}]}");
    const struct cb_plan_taught nothing = {.confidence = 0.8};
    const struct cb_kinds *kinds = world_kinds();
    struct cb_plan_times t = cb_plan_times_of(kinds, recipe, 0, &standard, &nothing);
    assert_true(t.work_min == 3 && fabs(t.dry_min - 12) < 1e-9 && !t.learned);
    /* Drier and warmer: the rate of the model. */
    const struct cb_climate warm = {30, 40, CB_AIR_STILL};
    const struct cb_drying said = cb_drying_of_stage(kinds, recipe, 0);
    t = cb_plan_times_of(kinds, recipe, 0, &warm, &nothing);
    assert_true(fabs(t.dry_min - cb_drying_minutes(&said, &warm, 12)) < 1e-9);
    assert_true(t.dry_min < 12);
    const struct cb_climate damp = {20, 98, CB_AIR_STILL};
    assert_true(isinf(cb_plan_times_of(kinds, recipe, 0, &damp, &nothing).dry_min));
    /* The median of the row, and the technique's usual minutes. */
    t = cb_plan_times_of(kinds, recipe, 1, &standard, &nothing);
    assert_true(fabs(t.dry_min - cb_drying_of_stage(kinds, recipe, 1).standard_min) < 1e-9);
    assert_true(t.work_min == cb_stage_minutes(&recipe->stages[1], kinds));
    /* A wait is exact in any air. */
    assert_true(cb_plan_times_of(kinds, recipe, 2, &damp, &nothing).dry_min == 7);
    assert_true(cb_plan_times_of(kinds, recipe, 3, &damp, &nothing).dry_min == 0);
}

/* From the first settled film of a pot on it is the ring, at the confidence; hands-on is brought to
 * what the technique took. */
static void a_log_teaches(void **state)
{
    (void)state;
    const struct cb_recipe *recipe =
        recipe_of("{coatbell: 1, name: r, " PAINTS ", stages: ["
                  "{name: s1, technique: basecoat, paint: a, minutes: 3, dry: 12},"
                  "{name: s2, technique: basecoat, paint: b, minutes: 3, dry: 12}]}");
    const struct cb_kinds *kinds = world_kinds();
    const struct cb_drying drying = cb_drying_of_stage(kinds, recipe, 0);
    const char *pot = cb_pot_key("Green", "acrylic", &arena);
    const struct cb_row row = {.kind = CB_ROW_FILM,
                               .pot = pot,
                               .pot_sd = drying.pot_sd,
                               .median_min = 12,
                               .lo = 20,
                               .hi = 25,
                               .heard = CB_HEARD_DRY,
                               .confidence = 0.8,
                               .technique = CB_TECHNIQUE_BASECOAT};
    struct cb_learn *learn = cb_learn_new(NULL);
    cb_learn_sync(learn, &row, 1);
    struct cb_hours *hours = cb_effort_new();
    cb_hours_add_marks(hours, CB_TECHNIQUE_BASECOAT, log(2), 1e6);
    double mean_log, sd;
    cb_hours_effect(hours, CB_TECHNIQUE_BASECOAT, &mean_log, &sd);
    const struct cb_plan_taught taught = {
        .learn = learn, .rows = &row, .row_count = 1, .hours = hours, .confidence = 0.8};
    struct cb_plan_times t = cb_plan_times_of(kinds, recipe, 0, &standard, &taught);
    assert_true(t.learned);
    assert_true(fabs(t.dry_min - cb_forecast_ring_min(&drying, learn, pot, 1, 0.8)) < 1e-9);
    assert_true(t.dry_min > 12);
    assert_true(mean_log > 0.3 && fabs(t.work_min - 3 * exp(mean_log)) < 1e-9);
    /* Of the other pot nothing has settled: as it is written. */
    t = cb_plan_times_of(kinds, recipe, 1, &standard, &taught);
    assert_true(!t.learned && fabs(t.dry_min - 12) < 1e-9);
    cb_hours_free(hours);
    cb_learn_free(learn);
}

/* The label is a floor of the ring until five films were answered, and none before one was. */
static void a_label_is_a_floor_of_what_was_learned(void **state)
{
    (void)state;
    const struct cb_recipe *recipe =
        recipe_of("{coatbell: 1, name: r, paints: {a: {name: Green, kind: acrylic, label: 90}}, "
                  "stages: [{name: s1, technique: basecoat, paint: a, dry: 12}]}");
    const struct cb_kinds *kinds = world_kinds();
    struct cb_row rows[5];
    for (size_t i = 0; i < 5; i++) {
        rows[i] = (struct cb_row){.kind = CB_ROW_FILM,
                                  .pot = cb_pot_key("Green", "acrylic", &arena),
                                  .pot_sd = 0.3,
                                  .median_min = 12,
                                  .hi = 12,
                                  .heard = CB_HEARD_DRY,
                                  .at_ms = (int64_t)i,
                                  .figure = (int)i + 1,
                                  .confidence = 0.8,
                                  .technique = CB_TECHNIQUE_BASECOAT};
    }
    struct cb_learn *learn = cb_learn_new(NULL);
    struct cb_plan_taught taught = {.learn = learn, .rows = rows, .confidence = 0.8};
    assert_true(fabs(cb_plan_times_of(kinds, recipe, 0, &standard, &taught).dry_min - 12) < 1e-9);
    cb_learn_sync(learn, rows, 4);
    taught.row_count = 4;
    assert_true(fabs(cb_plan_times_of(kinds, recipe, 0, &standard, &taught).dry_min - 90) < 1e-9);
    cb_learn_sync(learn, rows, 5);
    taught.row_count = 5;
    assert_true(cb_plan_times_of(kinds, recipe, 0, &standard, &taught).dry_min < 60);
    cb_learn_free(learn);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(stages_wait_and_touch_as_the_recipe_says, arena_fini),
        cmocka_unit_test_teardown(groups_and_stages_without_paint, arena_fini),
        cmocka_unit_test_teardown(parts_touch_when_they_are_on_the_figure, arena_fini),
        cmocka_unit_test_teardown(minutes_are_the_recipe_s_and_the_air_s, arena_fini),
        cmocka_unit_test_teardown(a_log_teaches, arena_fini),
        cmocka_unit_test_teardown(a_label_is_a_floor_of_what_was_learned, arena_fini),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
