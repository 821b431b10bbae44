/* SPDX-License-Identifier: MIT */
/* Two versions of a recipe: which stage is which, and what a painter reads of it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/str.h"
#include "core/recipe/recipe_diff.h"
#include "support/world.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static const char *const head =
    "{coatbell: 1, name: Watch, figures: 10, groups: {some: [3-5], rest: [1, 2, 6-10], one: [9]},"
    " paints: {mud: {name: Harbour mud, kind: acrylic}, tar: {name: Tarred rope, kind: acrylic},"
    "          ebb: {name: Ebb wash, kind: wash}},"
    " areas: {oilskin: {share: 45}, rope: {share: 5}, boots: {}},";

/* Stages as in a recipe; short for the tests: U, O, R, V are those below. */
static const struct {
    const char *sign, *text;
} shorts[] = {
    {"U", "{name: Undercoat, technique: undercoat, paint: tar, together: yes}"},
    {"O", "{name: Oilskins, technique: basecoat, paint: ebb, on: oilskin, coats: 2}"},
    {"R", "{name: Rope, technique: basecoat, paint: mud, on: rope}"},
    {"V", "{name: Varnish, technique: varnish, paint: ebb, optional: yes}"},
};

static const struct cb_recipe *read_stages(const char *stages, struct cb_arena *arena)
{
    struct cb_str text = {0};
    struct cb_issues issues = {0};
    cb_str_addf(&text, "%s stages: [", stages[0] == '{' && stages[1] == 'c' ? "" : head);
    if (stages[0] == '{' && stages[1] == 'c') { /* the whole of it */
        cb_str_clear(&text);
        cb_str_add(&text, stages);
    } else {
        for (const char *at = stages; *at;) {
            const size_t length = *at == '{' ? strcspn(at, "}") + 1 : 1;
            char *word = cb_arena_text_n(arena, at, length);
            for (size_t i = 0; i < COUNT(shorts); i++) {
                word =
                    strcmp(word, shorts[i].sign) == 0 ? cb_arena_text(arena, shorts[i].text) : word;
            }
            cb_str_addf(&text, "%s, ", word);
            at += length;
            at += strspn(at, " ");
        }
        cb_str_add(&text, "]}");
    }
    const struct cb_tree *tree =
        world_read(cb_str_text(&text), strlen(cb_str_text(&text)), arena, &issues);
    const struct cb_recipe *recipe =
        cb_recipe_from_tree(tree, cb_str_text(&text), world_kinds(), arena, &issues);
    if (!recipe) {
        fail_msg("%s\n%s", cb_str_text(&text), issues.items[0].message);
    }
    cb_str_fini(&text);
    return recipe;
}

static const char *told(const char *before, const char *now, struct cb_arena *arena)
{
    struct cb_recipe_match match;
    const struct cb_recipe *was = read_stages(before, arena), *is = read_stages(now, arena);
    cb_recipe_match(was, is, NULL, 0, &match);
    const struct cb_recipe_diff diff = cb_recipe_diff(was, is, &match, world_kinds(), arena);
    const char *text = "";
    for (size_t i = 0; i < diff.count; i++) {
        text = cb_arena_printf(arena, "%s%s%s", text, i > 0 ? "; " : "", diff.lines[i].text);
    }
    return text;
}

static void test_lines(void **state)
{
    (void)state;
    static const struct {
        const char *before, *now, *told;
    } rows[] = {
        {"UORV", "UORV", ""},
        {"UOR", "UO", "left out: Rope"},
        {"UO", "UOR", "new: Rope after Oilskins"},
        {"UO", "RUO", "new: Rope first"},
        {"UORV", "UROV", "Oilskins: now after Rope"},
        {"UORV", "VUOR", "Varnish: now first"},
        /* a renamed one, by itself and with another in its place */
        {"UOR", "UO{name: Ropes, technique: basecoat, paint: mud, on: rope}",
         "Rope: renamed Ropes"},
        {"UOR", "U{name: Ropes, technique: basecoat, paint: mud, on: rope}O",
         "Rope: renamed Ropes; Oilskins: now after Ropes"},
        {"UOR", "UO{name: Ropes, technique: basecoat, paint: tar, on: rope}",
         "new: Ropes after Oilskins; left out: Rope"},
        /* two alike: each is the next, unless one of them is gone */
        {"{name: A, technique: prepare}{name: B, technique: prepare}",
         "{name: C, technique: prepare}{name: D, technique: prepare}",
         "A: renamed C; B: renamed D"},
        {"{name: A, technique: prepare}{name: B, technique: prepare}",
         "{name: C, technique: prepare}", "new: C first; left out: A; left out: B"},
        {"{name: A, technique: prepare}",
         "{name: C, technique: prepare}{name: D, technique: prepare}",
         "new: C first; new: D after C; left out: A"},
        /* the name wins over what stands in it */
        {"{name: A, technique: prepare}{name: B, technique: mask}",
         "{name: B, technique: prepare}{name: A, technique: mask}",
         "B: prepare instead of mask; A: mask instead of prepare, now after B"},
        /* `after` follows a renamed stage */
        {"U{name: A, technique: mask}{name: B, technique: unmask, after: [A, Undercoat]}",
         "U{name: C, technique: mask}{name: B, technique: unmask, after: [C, Undercoat]}",
         "A: renamed C"},
        {"U{name: A, technique: mask}{name: B, technique: unmask, after: A}",
         "U{name: A, technique: mask}{name: B, technique: unmask, after: Undercoat}",
         "B: after Undercoat instead of A"},
        {"U{name: B, technique: unmask}", "U{name: B, technique: unmask, after: []}",
         "B: after nothing instead of all before it"},
        /* part by part */
        {"O", "{name: Oilskins, technique: layer, paint: ebb, on: oilskin, coats: 2}",
         "Oilskins: layer instead of basecoat"},
        {"R", "{name: Rope, technique: basecoat, paint: tar, on: rope}",
         "Rope: Tarred rope instead of Harbour mud"},
        {"R", "{name: Rope, technique: basecoat, mix: 1 tar + 1 mud, on: rope}",
         "Rope: 1 Tarred rope + 1 Harbour mud instead of Harbour mud"},
        {"R", "{name: Rope, technique: basecoat, paint: mud, mix: 2 paint + 1 water, on: rope}",
         "Rope: 2 paint + 1 water instead of the usual mix"},
        {"{name: Rope, technique: basecoat, paint: mud, mix: paint}",
         "{name: Rope, technique: basecoat, paint: tar, mix: 2 paint + 1 medium}",
         "Rope: Tarred rope instead of Harbour mud, 2 paint + 1 medium instead of neat"},
        {"{name: Rope, technique: basecoat, mix: 1 tar + 1 mud}",
         "{name: Rope, technique: basecoat, mix: 1 tar + 2 mud}",
         "Rope: 1 Tarred rope + 2 Harbour mud instead of 1 Tarred rope + 1 Harbour mud"},
        {"{name: Rope, technique: basecoat, mix: 1 tar + 1 mud}",
         "{name: Rope, technique: basecoat, mix: 1 mud + 1 tar}", ""},
        {"O", "{name: Oilskins, technique: basecoat, paint: ebb, on: oilskin, coats: 3}",
         "Oilskins: 3 coats instead of 2"},
        {"O", "{name: Oilskins, technique: basecoat, paint: ebb, on: oilskin}",
         "Oilskins: 1 coat instead of 2"},
        {"R", "{name: Rope, technique: basecoat, paint: mud, on: [rope, boots]}",
         "Rope: on rope, boots instead of rope"},
        {"R", "{name: Rope, technique: basecoat, paint: mud}", "Rope: all over instead of rope"},
        {"R", "{name: Rope, technique: basecoat, paint: mud, on: rope, for: one}",
         "Rope: for 9 instead of all"},
        {"R", "{name: Rope, technique: basecoat, paint: mud, on: rope, by: sponge}",
         "Rope: by sponge instead of brush"},
        {"R", "{name: Rope, technique: basecoat, paint: mud, on: rope, place: shed}",
         "Rope: place shed instead of bench"},
        {"R", "{name: Rope, technique: basecoat, paint: mud, on: rope, minutes: 90 s}",
         "Rope: work of 1.5 min instead of the usual"},
        {"R", "{name: Rope, technique: basecoat, paint: mud, on: rope, dry: 20}",
         "Rope: dry after 20 min instead of the usual"},
        {"{name: Clean, technique: prepare, wait: 20}", "{name: Clean, technique: prepare}",
         "Clean: waits no time instead of 20 min"},
        {"R", "{name: Rope, technique: basecoat, paint: mud, on: rope, brush: small round}",
         "Rope: brush small round instead of any"},
        {"R", "{name: Rope, technique: basecoat, paint: mud, on: rope, tidy_with: [mud, tar]}",
         "Rope: tidied with Harbour mud, Tarred rope instead of nothing"},
        {"U", "{name: Undercoat, technique: undercoat, paint: tar, together: 4}",
         "Undercoat: 4 together instead of all together"},
        {"U", "{name: Undercoat, technique: undercoat, paint: tar}",
         "Undercoat: one by one instead of all together"},
        {"V", "{name: Varnish, technique: varnish, paint: ebb}", "Varnish: optional no more"},
        {"R", "{name: Rope, technique: basecoat, paint: mud, on: rope, pictures: a.png}",
         "Rope: other pictures"},
        {"R", "{name: Rope, technique: basecoat, paint: mud, on: rope, say: Thin.}",
         "Rope: another hint"},
        {"OR", "R{name: Oilskins, technique: basecoat, paint: ebb, on: oilskin, coats: 3}",
         "Oilskins: 3 coats instead of 2, now after Rope"},
        /* some figures get a stage of their own, and give it back */
        {"R",
         "{name: Rope, technique: basecoat, paint: mud, on: rope, for: rest}"
         "{name: Rope 3 to 5, technique: basecoat, paint: tar, on: rope, for: some}",
         "Rope on 3 to 5: Tarred rope instead of Harbour mud"},
        {"{name: Rope, technique: basecoat, paint: mud, on: rope, for: rest}"
         "{name: Rope 3 to 5, technique: basecoat, paint: tar, on: rope, for: some}",
         "R", "Rope: on 3 to 5 as on the others again"},
        {"R",
         "{name: Rope, technique: basecoat, paint: mud, on: rope, for: rest}"
         "{name: Own, technique: basecoat, paint: mud, on: rope, for: some}",
         "Rope on 3 to 5: as Own now"},
        {"R",
         "{name: Rope, technique: basecoat, paint: mud, on: rope, for: rest}"
         "{name: Rope 9, technique: basecoat, paint: tar, on: rope, for: one}",
         "Rope: for 1, 2 and 6 to 10 instead of all; new: Rope 9 after Rope"},
        {"R",
         "{name: Rope, technique: basecoat, paint: mud, on: rope, for: rest}"
         "{name: Boots, technique: basecoat, paint: tar, on: boots, for: some}",
         "Rope: for 1, 2 and 6 to 10 instead of all; new: Boots after Rope"},
        {"R",
         "{name: Rope, technique: basecoat, paint: mud, on: rope, for: rest}"
         "{name: Glaze, technique: glaze, paint: tar, on: rope, for: some}",
         "Rope: for 1, 2 and 6 to 10 instead of all; new: Glaze after Rope"},
        /* what is said of the whole */
        {"{coatbell: 1, name: A, figures: 10, stages: [{name: A, technique: mask}]}",
         "{coatbell: 1, name: A, figures: 12, stages: [{name: A, technique: mask}]}",
         "figures: 12 instead of 10"},
        {"{coatbell: 1, name: A, stages: [{name: A, technique: mask}]}",
         "{coatbell: 1, name: A, figures: 12, stages: [{name: A, technique: mask}]}",
         "figures: 12"},
        {"{coatbell: 1, name: A, figures: 12, stages: [{name: A, technique: mask}]}",
         "{coatbell: 1, name: A, stages: [{name: A, technique: mask}]}", ""},
        {"{coatbell: 1, name: A, stages: [{name: A, technique: mask}]}",
         "{coatbell: 1, name: B, about: x, height: 28, change: 3, pictures: p,"
         " stages: [{name: A, technique: mask}]}",
         "the recipe: called B instead of A, height 28 mm instead of 32 mm, change of paint 3 min "
         "instead of 1.5 min, another text about it, other pictures"},
        {"{coatbell: 1, name: A, paints: {rope: {name: Harbour mud, kind: acrylic}},"
         " stages: [{name: A, technique: layer, paint: rope}]}",
         "{coatbell: 1, name: A, paints: {rope: {name: Tarred rope, kind: wash, dry: 20, film: 30,"
         " solids: 20, label: 60, drops: 25, tone: dark, instead: x}},"
         " stages: [{name: A, technique: layer, paint: rope}]}",
         "rope: Tarred rope instead of Harbour mud, wash instead of acrylic, film 30 um instead of "
         "what is usual, solids 20 % instead of what is usual, dry after 20 min instead of what is "
         "usual, label 60 min instead of what is usual, drops per ml 25 instead of what is usual, "
         "another tone, another substitute"},
        /* another key for the same pot is no difference; the same name of another kind is one */
        {"{coatbell: 1, name: A, paints: {a: {name: Mud, kind: acrylic}},"
         " stages: [{name: A, technique: layer, paint: a}]}",
         "{coatbell: 1, name: A, paints: {b: {name: mud, kind: acrylic}},"
         " stages: [{name: A, technique: layer, paint: b}]}",
         ""},
        {"{coatbell: 1, name: A, paints: {a: {name: Mud, kind: acrylic}},"
         " stages: [{name: A, technique: layer, paint: a}]}",
         "{coatbell: 1, name: A, paints: {b: {name: Mud, kind: wash}},"
         " stages: [{name: A, technique: layer, paint: b}]}",
         "A: wash instead of acrylic"},
        {"{coatbell: 1, name: A, areas: {a: {}, b: {}}, stages: [{name: A, technique: mask}]}",
         "{coatbell: 1, name: A, areas: {a: {share: 10, beside: [b]}, b: {apart: yes}},"
         " stages: [{name: A, technique: mask}]}",
         "areas: other sizes, other neighbours, other parts apart"},
        {"{coatbell: 1, name: A, areas: {a: {share: 10}, b: {}},"
         " stages: [{name: A, technique: mask}]}",
         "{coatbell: 1, name: A, areas: {a: {}, b: {}}, stages: [{name: A, technique: mask}]}",
         "areas: other sizes"},
        {"{coatbell: 1, name: A, areas: {a: {}, b: {}}, stages: [{name: A, technique: mask}]}",
         "{coatbell: 1, name: A, areas: {a: {}, b: {}, c: {}},"
         " stages: [{name: A, technique: mask}]}",
         ""},
        {"{coatbell: 1, name: A, names: {1: Oake, 3: Rill}, stages: [{name: A, technique: mask}]}",
         "{coatbell: 1, name: A, names: {1: Pell, 2: Oake}, stages: [{name: A, technique: mask}]}",
         "figure 1: Pell instead of Oake; figure 2: Oake instead of no name; figure 3: no name "
         "instead of Rill"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_arena arena = {0};
        assert_string_equal(told(rows[i].before, rows[i].now, &arena), rows[i].told);
        cb_arena_fini(&arena);
    }
}

/* A name that was there before comes back as what it was. */
static void test_known(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_recipe_match match;
    const struct cb_recipe *was = read_stages("{name: A, technique: mask}", &arena);
    const struct cb_recipe *is = read_stages("{name: B, technique: mask}", &arena);
    static const char *const names[] = {"C", "B"};
    cb_recipe_match(was, is, names, 2, &match);
    assert_int_equal(match.to[0], -1);
    assert_int_equal(match.from[0], -1);
    cb_recipe_match(was, is, names, 1, &match);
    assert_int_equal(match.to[0], 0);
    assert_int_equal(cb_recipe_home(&match, 0, 1), 0);
    cb_arena_fini(&arena);
}

static void test_home(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_recipe_match match;
    const struct cb_recipe *one = read_stages("UR", &arena);
    const struct cb_recipe *two =
        read_stages("U{name: Rope 3 to 5, technique: basecoat, paint: tar, on: rope, for: some}"
                    "{name: Rope, technique: basecoat, paint: mud, on: rope, for: rest}",
                    &arena);
    cb_recipe_match(one, two, NULL, 0, &match);
    assert_int_equal(cb_recipe_home(&match, 1, 0), 2); /* the scrap */
    assert_int_equal(cb_recipe_home(&match, 1, 2), 2);
    assert_int_equal(cb_recipe_home(&match, 1, 3), 1);
    assert_int_equal(cb_recipe_home(&match, 1, 5), 1);
    assert_int_equal(cb_recipe_home(&match, 1, 6), 2);
    cb_recipe_match(two, one, NULL, 0, &match);
    assert_int_equal(cb_recipe_home(&match, 1, 4), 1);
    assert_int_equal(cb_recipe_home(&match, 1, 0), 1);
    assert_int_equal(cb_recipe_home(&match, 2, 1), 1);
    cb_arena_fini(&arena);
}

/* All after a figure, however many there are. */
static void test_open_figures(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    uint64_t figures[2] = {UINT64_MAX << 3 | 1, UINT64_MAX >> (128 - CB_FIGURES_MAX)};
    assert_string_equal(cb_diff_figures(figures, &arena), "1 and 4 on");
    figures[1] >>= 1;
    assert_string_equal(cb_diff_figures(figures, &arena), "1 and 4 to 98");
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_open_figures),
        cmocka_unit_test(test_lines),
        cmocka_unit_test(test_known),
        cmocka_unit_test(test_home),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
