/* SPDX-License-Identifier: MIT */
/* How much paint a stage takes, by what a recipe says and by what holds when it does not. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "core/recipe/amount.h"
#include "support/world.h"

#define COUNT(list)           (sizeof(list) / sizeof *(list))
#define assert_near(a, b, by) assert_true(fabs((a) - (b)) <= (by))

static const struct cb_recipe *read(struct cb_arena *arena, const char *head, const char *stage)
{
    struct cb_issues issues = {0};
    const char *text = cb_arena_printf(
        arena,
        "{coatbell: 1, name: r, %s paints: {green: {name: Oilskin green, kind: acrylic}, chalk: "
        "{name: Chalk, kind: spray undercoat}}, areas: {a: {share: 60 %%}, b: {share: 30 %%}, "
        "none: {share: 0 %%}}, "
        "stages: [{name: S, %s}]}",
        head, stage);
    const struct cb_recipe *recipe = cb_recipe_from_tree(
        world_read(text, strlen(text), arena, &issues), text, world_kinds(), arena, &issues);
    if (recipe == NULL) {
        fail_msg("%s: %s", stage, issues.items[0].message);
    }
    return recipe;
}

/* A figure of 32 mm has 15 cm2; half of what is poured is wasted; thirty drops are a millilitre. */
static void test_amounts(void **state)
{
    (void)state;
    static const struct {
        const char *head, *stage;
        double ml; /* for ten figures */
    } cases[] = {
        {"", "technique: basecoat, paint: green", .75},
        {"height: 32 mm,", "technique: basecoat, paint: green", .75},
        {"height: 64 mm,", "technique: basecoat, paint: green", 3},
        {"", "technique: basecoat, paint: green, on: a", .45},
        {"", "technique: basecoat, paint: green, on: [a, b]", .675},
        {"", "technique: basecoat, paint: green, on: whole", .75},
        {"", "technique: glaze, paint: green", .60},     /* no row: the technique's film */
        {"", "technique: undercoat, paint: chalk", .90}, /* no film of its own: 30 um */
        {"", "technique: prepare", 0},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        const struct cb_recipe *recipe = read(&arena, cases[i].head, cases[i].stage);
        const struct cb_amount amount = cb_amount_of(world_kinds(), recipe, 0, 10, NAN);
        assert_near(amount.ml, cases[i].ml, 1e-9);
        assert_near(amount.drops_needed, 30 * cases[i].ml, 1e-9);
        assert_near(cb_amount_of(world_kinds(), recipe, 0, 10, 20).drops_needed, 20 * cases[i].ml,
                    1e-9);
        assert_near(cb_amount_of(world_kinds(), recipe, 0, 0, NAN).ml, 0, 0);
        assert_near(recipe->change_min, 1.5, 1e-9);
    }
    cb_arena_fini(&arena);
}

/* A disc is a circle of its width, whatever the height of the figure; the others share the figure.
 */
static void test_discs(void **state)
{
    (void)state;
    static const struct {
        const char *areas, *on;
        double cm2; /* of one figure of 32 mm */
    } cases[] = {
        {"{base: {disc: 32 mm}, coat: {}}", "base", 8.042477},
        {"{base: {disc: 25}, coat: {}}", "base", 4.908739},
        {"{base: {disc: 32 mm}, coat: {}}", "coat", 15}, /* no part of the shares */
        {"{base: {disc: 32 mm}, coat: {share: 40 %}, rest: {}}", "rest", 9},
        {"{base: {disc: 32 mm}, coat: {}}", "whole", 23.042477},
        {"{base: {disc: 32 mm}, coat: {share: 40 %}}", "[base, coat]", 14.042477},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct cb_issues issues = {0};
        const char *text = cb_arena_printf(
            &arena,
            "{coatbell: 1, name: r, paints: {green: {name: Oilskin green, kind: acrylic}},"
            " areas: %s, stages: [{name: S, technique: basecoat, paint: green, on: %s}]}",
            cases[i].areas, cases[i].on);
        const struct cb_recipe *recipe = cb_recipe_from_tree(
            world_read(text, strlen(text), &arena, &issues), text, world_kinds(), &arena, &issues);
        assert_non_null(recipe);
        /* 25 um, half of it wasted, a hundredth of a millilitre under a square centimetre and 100
         * um */
        assert_near(cb_amount_of(world_kinds(), recipe, 0, 1, NAN).ml, cases[i].cm2 * 25 * 1e-4 * 2,
                    1e-8);
    }
    cb_arena_fini(&arena);
}

static struct cb_amount mixed(struct cb_arena *arena, const char *mix, int figures,
                              const char **line)
{
    const struct cb_recipe *recipe =
        read(arena, "", cb_arena_printf(arena, "technique: basecoat, mix: %s", mix));
    *line = cb_amount_line(world_kinds(), recipe, 0, figures, NAN, arena);
    return cb_amount_of(world_kinds(), recipe, 0, figures, NAN);
}

/* Whole drops in the written ratio. */
static void test_whole_drops(void **state)
{
    (void)state;
    static const struct {
        const char *mix;
        double paint, water, retarder; /* of one drop's need */
        bool nearest;
    } cases[] = {
        {"1 green + 0.5 water", 2, 1, 0, false},
        {"2 green + 1 water", 2, 1, 0, false},
        {"4 green + 2 water", 2, 1, 0, false},
        {"0.4 green + 0.1 water", 4, 1, 0, false},
        {"1.5 green + 2.5 water", 3, 5, 0, false},
        {"1 green + 0.025 water", 40, 1, 0, false},
        {"1 green + 0.333 water", 3, 1, 0, true},
        {"1 green + 0.37 water", 8, 3, 0, true},
        {"1 green + 0.01 water", 40, 1, 0, true}, /* as near as drops go */
        {"20 green + 1 retarder", 20, 0, 1, false},
        {"30 green + 1 retarder + 10 water", 30, 10, 1, false},
        {"1 green + 0.013 retarder", 1, 0, 0, true}, /* never more of it than was written */
        {"1 green + 30 water + 0.02 retarder", 1, 30, 0, true}, /* what can be kept is kept */
        {"1 green + 0.333 water + 0.001 retarder", 3, 1, 0, true},
        {"1 green + 0.323 retarder", 13, 0, 4, true},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        const char *line;
        const struct cb_amount amount = mixed(&arena, cases[i].mix, 1, &line);
        const double times = amount.totals.paint / cases[i].paint;
        if (fabs(times - round(times)) > 1e-9 || times < 1 ||
            fabs(amount.totals.water - times * cases[i].water) > 1e-9 ||
            fabs(amount.totals.retarder - times * cases[i].retarder) > 1e-9 ||
            amount.nearest != cases[i].nearest) {
            fail_msg("%s: %g %g %g %d", cases[i].mix, amount.totals.paint, amount.totals.water,
                     amount.totals.retarder, amount.nearest);
        }
        assert_true((strstr(line, ", as near as drops go") != NULL) == cases[i].nearest);
    }
    cb_arena_fini(&arena);
}

/* Three hundred mixes: each share within 5 % of what was written or the line says so, no retarder
 * above it, never short. */
static void test_random_mixes(void **state)
{
    (void)state;
    uint64_t seed = 42;
    struct cb_arena arena = {0};
    int said = 0;
    for (int i = 0; i < 300; i++) {
        double parts[4], sum = 0;
        for (int k = 0; k < 4; k++) {
            seed = seed * UINT64_C(6364136223846793005) + 1442695040888963407;
            const int hundredths = 1 + (int)((seed >> 40) % (k == 2 ? 30 : 300));
            parts[k] = k > 0 && (seed >> 20) % 3 == 0 ? 0 : hundredths / (k == 3 ? 50.0 : 100.0);
            sum += parts[k];
        }
        const char *mix = cb_arena_printf(&arena, "%g green", parts[0]);
        static const char *const names[] = {"green", "medium", "retarder", "water"};
        for (int k = 1; k < 4; k++) {
            mix =
                parts[k] > 0 ? cb_arena_printf(&arena, "%s + %g %s", mix, parts[k], names[k]) : mix;
        }
        const char *line;
        const int figures = 1 + i % 30;
        const struct cb_amount amount = mixed(&arena, mix, figures, &line);
        const double drops[] = {amount.totals.paint, amount.totals.medium, amount.totals.retarder,
                                amount.totals.water};
        double all = 0, worst = 0;
        for (int k = 0; k < 4; k++) {
            assert_near(drops[k], round(drops[k]), 1e-9);
            assert_true(drops[k] >= 0 && !signbit(drops[k]));
            all += drops[k];
        }
        assert_true(all >= amount.drops_needed - 1e-6);
        for (int k = 0; k < 4; k++) {
            const double off = parts[k] > 0 ? fabs(drops[k] / all / (parts[k] / sum) - 1) : 0;
            worst = off > worst ? off : worst;
        }
        assert_true(drops[2] / all <= parts[2] / sum + 1e-9);
        assert_true(worst <= .05 || strstr(line, ", as near as drops go"));
        assert_true((worst < 1e-5) == (strstr(line, ", as near as drops go") == NULL));
        said += amount.nearest;
    }
    assert_true(said > 20 && said < 280);
    cb_arena_fini(&arena);
}

/* What is poured: whole drops, a paste by its volume, at the least a drop of each; of a can
 * nothing. */
static void test_poured(void **state)
{
    (void)state;
    static const struct {
        const char *head, *stage;
        double poured_ml; /* for one figure */
        const char *line;
    } cases[] = {
        {"", "technique: basecoat, mix: 2 green + 1 water", .1,
         "mix 2 drops of paint and 1 of water for one figure"},
        {"height: 5 mm,", "technique: basecoat, mix: 2 green + 1 water", .1,
         "mix 2 drops of paint and 1 of water for one figure"},
        {"height: 320 mm,", "technique: texture, mix: 1 green", 6,
         "take 6.0 ml of paste for one figure"},
        {"height: 5 mm,", "technique: texture, mix: 1 green, on: b", .03,
         "take 0.03 ml of paste for one figure"},
        {"height: 5 mm,", "technique: texture, mix: 2 green + 1 medium, on: b", .09,
         "mix 0.06 ml of paste and 0.03 of medium for one figure"},
        {"", "technique: undercoat, paint: chalk", 0, NULL},
        /* all shares are given away */
        {"", "technique: basecoat, mix: 2 green + 1 water, on: none", .1,
         "mix 2 drops of paint and 1 of water for one figure"},
        {"", "technique: texture, mix: 1 green, on: none", .03,
         "take 0.03 ml of paste for one figure"},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        const struct cb_recipe *recipe = read(&arena, cases[i].head, cases[i].stage);
        const struct cb_amount amount = cb_amount_of(world_kinds(), recipe, 0, 1, NAN);
        if (fabs(amount.poured_ml - cases[i].poured_ml) > 1e-9) {
            fail_msg("%s: %g ml", cases[i].stage, amount.poured_ml);
        }
        const char *line = cb_amount_line(world_kinds(), recipe, 0, 1, NAN, &arena);
        assert_true((line == NULL) == (cases[i].line == NULL));
        if (line != NULL) {
            assert_string_equal(line, cases[i].line);
        }
    }
    cb_arena_fini(&arena);
}

/* As much as all coats that are still to do take together; ten of them 22.5 drops. */
static void test_left(void **state)
{
    (void)state;
    static const struct {
        const char *stage;
        int figures, coats;
        const char *line;
    } cases[] = {
        {"technique: basecoat, mix: 2 green + 1 water", 10, 10,
         "still to mix for 10 figures: 16 drops of Oilskin green, 8 of water"},
        {"technique: basecoat, mix: 2 green + 1 water", 5, 10,
         "still to mix for 5 figures, 10 coats: 16 drops of Oilskin green, 8 of water"},
        {"technique: basecoat, mix: 2 green + 1 water", 1, 1,
         "still to mix for 1 figure: 2 drops of Oilskin green, 1 of water"},
        {"technique: basecoat, mix: green, on: b", 1, 1,
         "still to mix for 1 figure: 1 drop of Oilskin green"},
        {"technique: basecoat, mix: 1 green + 1 medium + 1 retarder, on: none", 1, 1,
         "still to mix for 1 figure: 1 drop of Oilskin green, 1 of medium, 1 of retarder"},
        {"technique: texture, mix: 2 green + 1 medium, on: none", 1, 1,
         "still to mix for 1 figure: 0.06 ml of Oilskin green, 0.03 of medium"},
        {"technique: undercoat, paint: chalk", 3, 3, NULL},
        {"technique: mask", 3, 3, NULL},
        {"technique: basecoat, paint: green", 0, 0, NULL},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        const struct cb_recipe *recipe = read(&arena, "", cases[i].stage);
        const char *line =
            cb_amount_left(world_kinds(), recipe, 0, cases[i].figures, cases[i].coats, NAN, &arena);
        if (cases[i].line) {
            assert_string_equal(line, cases[i].line);
        } else {
            assert_null(line);
        }
    }
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_amounts),     cmocka_unit_test(test_discs),
        cmocka_unit_test(test_whole_drops), cmocka_unit_test(test_random_mixes),
        cmocka_unit_test(test_poured),      cmocka_unit_test(test_left),
    };
    return cmocka_run_group_tests_name("amount", tests, NULL, NULL);
}
