/* SPDX-License-Identifier: MIT */
/* A unit as a recipe: what of coats, stages, paints and minutes comes into it. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/bench/rows.h"
#include "core/recipe/recipe_write.h"
#include "core/review/painted.h"
#include "support/world.h"

static const char recipe[] =
    "{coatbell: 1, name: Watch, figures: 9, groups: {leader: [1]}, change: 0, paints: "
    "{rope: {}, green: {name: Oilskin green, kind: acrylic, tone: dark, dry: 9}, "
    "ebb: {name: Ebb wash, kind: wash}, red: {}}, areas: {oilskin: {}, hem: {}}, stages: "
    "[{name: Oilskins, technique: basecoat, paint: green, on: oilskin, coats: 2, minutes: 4}, "
    "{name: Sash, technique: layer, paint: red, on: hem, for: leader}, "
    "{name: Shade, technique: wash, paint: ebb, on: oilskin, after: [Oilskins], "
    "tidy_with: [green]}, {name: Mask, technique: mask}, "
    "{name: Edges, technique: layer, paint: green, on: hem, after: [Sash]}]}";

static struct world world;
static struct cb_painted *painted;

static int begin(void **state)
{
    (void)state;
    world_init(&world);
    world_do(&world, "session_opened - edition=2");
    world_begin(&world, "u", 2, recipe);
    return 0;
}

static int end(void **state)
{
    (void)state;
    world_fini(&world);
    return 0;
}

static const char *names(void)
{
    const char *all = "";
    for (size_t i = 0; i < painted->draft.recipe.stage_count; i++) {
        const struct cb_stage *stage = &painted->draft.stages[i];
        all = cb_arena_printf(&world.arena, "%s%s%s %d", all, i > 0 ? ", " : "", stage->name,
                              stage->coats);
    }
    return all;
}

static void paint_recipe(void)
{
    size_t count;
    world_learn(&world);
    const struct cb_row *rows = cb_bench_rows(world.bench, &count);
    painted = cb_arena_alloc(&world.arena, 1, sizeof *painted);
    cb_painted_of(world.bench, 0, cb_review_unit(world.bench, 0, CB_TIME_NONE, &world.arena),
                  world.learn, rows, count, &world.arena, painted);
}

static void test_as_it_was(void **state)
{
    (void)state;
    paint_recipe();
    assert_string_equal(names(), "Oilskins 2, Sash 1, Shade 1, Mask 1, Edges 1");
    assert_int_equal(painted->draft.recipe.figures, 2);
    assert_int_equal(painted->draft.recipe.paint_count, 3); /* rope was for nothing */
    assert_string_equal(painted->draft.paints[0].name, "Oilskin green");
    assert_int_equal(painted->draft.stages[1].mix.parts[0].paint, 2);
    assert_string_equal(painted->draft.paints[2].key, "red");
    assert_int_equal(painted->draft.stages[2].tidy_with, 1);
    assert_float_equal(painted->draft.stages[0].work_min, 4, 0);
    assert_int_equal(painted->stages[0].marks, 0);
}

/* Of all figures it is the recipe's; of one alone it is not. */
static void test_coats(void **state)
{
    (void)state;
    world_do(&world, "coat_added u figure=1 stage=1");
    paint_recipe();
    assert_string_equal(names(), "Oilskins 2, Sash 1, Shade 1, Mask 1, Edges 1");
    world_do(&world, "coat_added u figure=2 stage=1");
    world_do(&world, "coat_added u figure=1 stage=2"); /* the only one that has it */
    world_do(&world, "coat_spared u figure=1 stage=4");
    paint_recipe();
    assert_string_equal(names(), "Oilskins 3, Sash 2, Shade 1, Mask 1, Edges 1");
    world_do(&world, "coat_spared u figure=2 stage=4");
    world_do(&world, "stage_left_out u stage=5 figure=1");
    paint_recipe();
    assert_string_equal(names(), "Oilskins 3, Sash 2, Shade 1, Edges 1");
    world_do(&world, "stage_left_out u stage=5 figure=2");
    world_do(&world, "stage_left_out u stage=2");
    paint_recipe();
    assert_string_equal(names(), "Oilskins 3, Shade 1");
    assert_int_equal(painted->draft.recipe.paint_count, 2);
    assert_int_equal(painted->draft.stages[1].after, 1);
}

/* More than a recipe may say is as many as it may. */
static void test_many_coats(void **state)
{
    (void)state;
    for (int i = 0; i < 9; i++) {
        world_do(&world, "coat_added u figure=1 stage=1");
        world_do(&world, "coat_added u figure=2 stage=1");
    }
    assert_int_equal(cb_bench_coats(cb_bench_unit(world.bench, 0), 1, 1), 11);
    paint_recipe();
    assert_int_equal(painted->draft.stages[0].coats, CB_COATS_MAX);
}

/* A parked figure has no say, unless it is the last. */
static void test_parked(void **state)
{
    (void)state;
    world_do(&world, "figure_parked u figure=2");
    world_do(&world, "coat_added u figure=1 stage=1");
    paint_recipe();
    assert_string_equal(names(), "Oilskins 3, Sash 1, Shade 1, Mask 1, Edges 1");
    assert_int_equal(painted->draft.recipe.figures, 2);
    world_do(&world, "figure_parked u figure=1");
    paint_recipe();
    assert_string_equal(names(), "Oilskins 2, Sash 1, Shade 1, Mask 1, Edges 1");
}

/* What lies on a figure is not left out. */
static void test_painted_stays(void **state)
{
    (void)state;
    world_do(&world, "coat_on u figure=1 stage=4 coat=1");
    world_do(&world, "stage_left_out u stage=4");
    paint_recipe();
    assert_string_equal(names(), "Oilskins 2, Sash 1, Shade 1, Mask 1, Edges 1");
    world_do(&world, "lifted u figure=1 stage=4 coat=1");
    paint_recipe();
    assert_string_equal(names(), "Oilskins 2, Sash 1, Shade 1, Edges 1");
}

static void test_swaps(void **state)
{
    (void)state;
    world_do(&world, "swapped u paint=green name='Eel grey' kind=acrylic");
    world_do(&world, "swapped u paint=ebb name='Kelp' kind=acrylic tone=light");
    world_do(&world, "swapped u paint=green name='Mud' kind=wash");
    world_do(&world, "swapped u paint=red name='Rust'");
    world_undo(&world);
    paint_recipe();
    assert_string_equal(painted->draft.paints[0].name, "Mud");
    assert_string_equal(painted->draft.paints[0].key, "green");
    assert_string_equal(world_kinds()->kinds[painted->draft.paints[0].kind].name, "wash");
    assert_int_equal(painted->draft.paints[0].tone, CB_TONE_NONE);
    assert_true(isnan(painted->draft.paints[0].dry_min)); /* was said of the other */
    assert_string_equal(painted->draft.paints[1].name, "Kelp");
    assert_int_equal(painted->draft.paints[1].tone, CB_TONE_LIGHT);
    assert_string_equal(painted->draft.paints[2].name, "red"); /* taken back */
}

/* A recipe that names another pot itself has the last word; a swap may call the old one by name. */
static void test_swaps_end(void **state)
{
    (void)state;
    static const char *const later[] = {"Oilskin green", "Deep oilskin"};
    static const char *const wanted[] = {"Eel grey", "Deep oilskin"};
    world_do(&world, "swapped u paint='Oilskin green' name='Eel grey' kind=acrylic");
    for (size_t i = 0; i < 2; i++) {
        world_do(&world, cb_arena_printf(
                             &world.arena,
                             "recipe_changed u recipe='{coatbell: 1, name: Watch, paints: {green: "
                             "{name: %s, kind: acrylic}}, stages: [{name: Oilskins, technique: "
                             "basecoat, paint: green}]}'",
                             later[i]));
        paint_recipe();
        assert_string_equal(painted->draft.paints[0].name, wanted[i]);
    }
}

/* The median of what was measured, to a tenth; what was never painted keeps its own. */
static void test_minutes(void **state)
{
    (void)state;
    static const double took[] = {3, 5.007, 9};
    world_wait(&world, 3);
    world_do(&world, "coat_on u figure=1 stage=1 coat=1");
    world_wait(&world, took[1]);
    world_do(&world, "coat_on u figure=2 stage=1 coat=1");
    world_do(&world, "session_closed -");
    paint_recipe();
    assert_int_equal(painted->stages[0].marks, 2);
    assert_float_equal(painted->draft.stages[0].work_min, 4, 1e-9);
    world_do(&world, "session_opened - edition=2");
    world_wait(&world, took[2]);
    world_do(&world, "coat_on u figure=1 stage=1 coat=2");
    paint_recipe();
    assert_int_equal(painted->stages[0].marks, 3);
    assert_float_equal(painted->draft.stages[0].work_min, 5, 1e-9);
    assert_true(isnan(painted->draft.stages[2].work_min));
    world_wait(&world, 25 + 41 / 60.0);
    world_do(&world, "coat_on u figure=1 stage=3 coat=1");
    paint_recipe();
    assert_float_equal(painted->draft.stages[2].work_min, 25.7, 1e-9);
    assert_non_null(
        strstr(cb_recipe_write(&painted->draft.recipe, world_kinds(), NULL, &world.arena),
               "    minutes: 25.7\n"));
}

/* Only what somebody said of a film is a figure to keep. */
static void test_learned(void **state)
{
    (void)state;
    world_do(&world, "coat_on u figure=2 stage=1 coat=1");
    world_wait(&world, 50);
    world_do(&world, "coat_on u figure=2 stage=1 coat=2"); /* without a word on the first */
    world_wait(&world, 50);
    world_do(&world, "coat_on u figure=1 stage=3 coat=1");
    world_wait(&world, 50);
    world_do(&world, "coat_on u figure=2 stage=3 coat=1");
    paint_recipe();
    assert_null(painted->remarks.stages[2]);
    world_wait(&world, 30);
    world_do(&world, "checked u figure=2 stage=3 coat=1 found=wet");
    world_wait(&world, 10);
    world_do(&world, "checked u figure=2 stage=3 coat=1 found=dry");
    paint_recipe();
    const struct cb_painted_stage *shade = &painted->stages[2];
    assert_int_equal(shade->films, 1);
    const struct cb_unit *unit = cb_bench_unit(world.bench, 0);
    assert_float_equal(shade->dry_min,
                       cb_learn_quantile(world.learn, cb_bench_stage_pot(unit, 3),
                                         unit->drying[2].pot_sd, unit->drying[2].standard_min, .5,
                                         0),
                       1e-9);
    assert_true(shade->dry_min > unit->drying[2].standard_min);
    const char *remark = cb_arena_printf(
        &world.arena, "dry: %.3g # learned of 1 film, at 23 C and 50 %%", shade->dry_min);
    assert_string_equal(painted->remarks.stages[2], remark);
    assert_null(painted->remarks.stages[0]);
    /* on a line of its own it is a key of the stage */
    const char *text =
        cb_recipe_write(&painted->draft.recipe, world_kinds(), &painted->remarks, &world.arena);
    assert_non_null(strstr(text, cb_arena_printf(&world.arena, "\n    # %s\n", remark)));
}

/* A group of the recipe may name figures that were not begun. */
static void test_figures(void **state)
{
    (void)state;
    world_begin(&world, "v", 1,
                "{coatbell: 1, name: Watch, figures: 9, groups: {others: [2-9]}, stages: [{name: "
                "Mask, technique: mask, for: others}]}");
    painted = cb_arena_alloc(&world.arena, 1, sizeof *painted);
    cb_painted_of(world.bench, 1, cb_review_unit(world.bench, 1, CB_TIME_NONE, &world.arena),
                  world.learn, NULL, 0, &world.arena, painted);
    assert_int_equal(painted->draft.recipe.figures, 9);
    assert_string_equal(names(), "Mask 1");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_as_it_was, begin, end),
        cmocka_unit_test_setup_teardown(test_coats, begin, end),
        cmocka_unit_test_setup_teardown(test_many_coats, begin, end),
        cmocka_unit_test_setup_teardown(test_parked, begin, end),
        cmocka_unit_test_setup_teardown(test_painted_stays, begin, end),
        cmocka_unit_test_setup_teardown(test_swaps, begin, end),
        cmocka_unit_test_setup_teardown(test_swaps_end, begin, end),
        cmocka_unit_test_setup_teardown(test_minutes, begin, end),
        cmocka_unit_test_setup_teardown(test_learned, begin, end),
        cmocka_unit_test_setup_teardown(test_figures, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
