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
        "{name: Chalk, kind: spray undercoat}}, areas: {a: {share: 60 %%}, b: {share: 30 %%}}, "
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

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_amounts)};
    return cmocka_run_group_tests_name("amount", tests, NULL, NULL);
}
