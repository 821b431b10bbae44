/* SPDX-License-Identifier: MIT */
/* A recipe with room, and its text to the letter. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/recipe/draft.h"
#include "core/recipe/recipe_write.h"
#include "support/recipe_equal.h"
#include "support/world.h"

static struct cb_arena arena;
static struct cb_draft draft;

static int begin(void **state)
{
    (void)state;
    cb_draft_begin(&draft, "Night", 3);
    return 0;
}

static int end(void **state)
{
    (void)state;
    cb_arena_fini(&arena);
    return 0;
}

static size_t kind(const char *name)
{
    size_t found = 0;
    assert_true(cb_kinds_find(world_kinds(), name, &found));
    return found;
}

static void add(const char *name)
{
    const struct cb_stage stage = cb_draft_stage(name, CB_TECHNIQUE_LAYER);
    assert_true(cb_draft_insert(&draft, &stage, draft.recipe.stage_count));
}

static void test_paints(void **state)
{
    (void)state;
    static const struct {
        const char *name, *key;
    } rows[] = {
        {"Oilskin green", "oilskin green"},
        {"  Tarred   Rope ", "tarred rope"},
        {"502 red", "red"},
        {"+ .5", "paint 1"},
        {"Water", "water 1"},
        {"Red", "red 2"},
        {"a+b", "a b"},
        {"::9", "paint 1 2"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_int_equal(cb_draft_paint(&draft, rows[i].name, kind("acrylic"), &arena), i);
        assert_string_equal(draft.paints[i].key, rows[i].key);
    }
    assert_string_equal(draft.paints[1].name, "Tarred Rope");
    assert_int_equal(cb_draft_paint(&draft, "OILSKIN GREEN", kind("acrylic"), &arena), 0);
    assert_int_equal(cb_draft_paint(&draft, "oilskin green", kind("wash"), &arena), 8);
    assert_int_equal(cb_draft_paint(&draft, " ", kind("wash"), &arena), -1);
    for (int i = 9; i < CB_RECIPE_MAX; i++) {
        const char *name = cb_arena_printf(&arena, "pot %d", i);
        assert_int_equal(cb_draft_paint(&draft, name, kind("texture paste"), &arena), i);
    }
    assert_int_equal(cb_draft_paint(&draft, "one more", kind("texture paste"), &arena), -1);
    assert_int_equal(cb_draft_paint(&draft, "POT 10", kind("texture paste"), &arena), 10);
}

static void test_areas(void **state)
{
    (void)state;
    add("All over");
    assert_int_equal(cb_draft_area(&draft, "oilskin", &arena), 0);
    assert_float_equal(draft.areas[0].share_pct, 100, 0);
    draft.areas[0].share_said = true;
    draft.areas[0].share_pct = 40;
    assert_int_equal(cb_draft_area(&draft, "rope", &arena), 1);
    assert_int_equal(cb_draft_area(&draft, " lantern", &arena), 2);
    assert_int_equal(cb_draft_area(&draft, "Rope", &arena), 1);
    assert_int_equal(cb_draft_area(&draft, "Whole", &arena), -1);
    assert_float_equal(draft.areas[1].share_pct, 30, 0);
    assert_float_equal(draft.areas[2].share_pct, 30, 0);
    assert_int_equal(draft.stages[0].on, 7);
}

static void test_groups(void **state)
{
    (void)state;
    const uint64_t one[2] = {1, 0}, two[2] = {2, 1};
    assert_int_equal(cb_draft_group(&draft, one, "serjeant", &arena), 0);
    assert_int_equal(cb_draft_group(&draft, two, "Serjeant", &arena), 1);
    assert_string_equal(draft.groups[1].name, "Serjeant 2");
    assert_int_equal(cb_draft_group(&draft, one, "else", &arena), 0);
}

static const char *order(void)
{
    const char *text = "";
    for (size_t i = 0; i < draft.recipe.stage_count; i++) {
        text = cb_arena_printf(&arena, "%s %s", text, draft.stages[i].name);
        for (size_t other = 0; other < draft.recipe.stage_count; other++) {
            if (draft.stages[i].after >> other & 1) {
                text = cb_arena_printf(&arena, "%s<%s", text, draft.stages[other].name);
            }
        }
    }
    return text + 1;
}

static void test_after_follows(void **state)
{
    (void)state;
    add("a");
    add("b");
    add("c");
    add("d");
    draft.stages[2].has_after = draft.stages[3].has_after = true;
    draft.stages[2].after = 1;
    draft.stages[3].after = 6;
    assert_string_equal(order(), "a b c<a d<b<c");
    struct cb_stage stage = cb_draft_stage("e", CB_TECHNIQUE_WASH);
    stage.has_after = true;
    stage.after = 1 | 8;
    assert_true(cb_draft_insert(&draft, &stage, 1));
    assert_string_equal(order(), "a e<a<c b c<a d<b<c");
    cb_draft_move(&draft, 3, 0);
    assert_string_equal(order(), "c<a a e<c<a b d<c<b");
    cb_draft_move(&draft, 1, 4);
    assert_string_equal(order(), "c<a e<c<a b d<c<b a");
    cb_draft_move(&draft, 4, 1);
    assert_string_equal(order(), "c<a a e<c<a b d<c<b");
    cb_draft_remove(&draft, 0); /* what waited for c waits for a, as c did */
    assert_string_equal(order(), "a e<a b d<a<b");
    cb_draft_remove(&draft, 3);
    cb_draft_remove(&draft, 7);
    assert_string_equal(order(), "a e<a b");
    assert_false(cb_draft_insert(&draft, &stage, 4));
    while (draft.recipe.stage_count < CB_RECIPE_MAX) {
        add(cb_draft_stage_name(&draft, "more", &arena));
    }
    assert_string_equal(draft.stages[4].name, "more 2");
    assert_string_equal(cb_draft_stage_name(&draft, "A", &arena), "A 2");
    assert_false(cb_draft_insert(&draft, &stage, 1));
    draft.stages[63].has_after = true;
    draft.stages[63].after = UINT64_C(1) << 62;
    cb_draft_move(&draft, 62, 0);
    assert_int_equal(draft.stages[63].after, 1);
}

static void test_text(void **state)
{
    (void)state;
    const int green = cb_draft_paint(&draft, "Oilskin green", kind("acrylic"), &arena);
    const int wash = cb_draft_paint(&draft, "Ebb: wash", kind("wash"), &arena);
    const uint64_t some[2] = {1 | 4 | 8 | 16, 0};
    draft.recipe.about = "Ten #1 figures, [wet]";
    cb_draft_area(&draft, "oilskin", &arena);
    cb_draft_area(&draft, "rope", &arena);
    draft.areas[1].beside = 1;
    draft.areas[0].beside = 2;
    struct cb_stage stage = cb_draft_stage("Oilskins", CB_TECHNIQUE_BASECOAT);
    stage.mix = (struct cb_mix){2, {{CB_MIX_PAINT, green, 2}, {CB_MIX_WATER, -1, 1}}};
    stage.mix_said = true;
    stage.whole = false;
    stage.on = 1;
    stage.coats = 2;
    stage.work_min = 205.0 / 60;
    assert_true(cb_draft_insert(&draft, &stage, 0));
    stage = cb_draft_stage("Serjeant's sash", CB_TECHNIQUE_WASH);
    stage.mix = (struct cb_mix){2, {{CB_MIX_PAINT, green, 1}, {CB_MIX_PAINT, wash, 1.5}}};
    stage.mix_said = stage.has_after = true;
    stage.groups = UINT64_C(1) << cb_draft_group(&draft, some, "leaders", &arena);
    assert_true(cb_draft_insert(&draft, &stage, 1));
    struct cb_recipe_remarks remarks = {.head = "one\ntwo", .stages = {"dry: 14"}};
    remarks.paints[1] = "a pot";
    assert_string_equal(cb_recipe_write(&draft.recipe, world_kinds(), &remarks, &arena),
                        "# one\n"
                        "# two\n"
                        "coatbell: 1\n"
                        "name: Night\n"
                        "about: \"Ten #1 figures, [wet]\"\n"
                        "figures: 3\n"
                        "groups:\n"
                        "  leaders: [1, 3-5]\n"
                        "paints:\n"
                        "  oilskin green: {name: Oilskin green, kind: acrylic}\n"
                        "  # a pot\n"
                        "  \"ebb: wash\": {name: \"Ebb: wash\", kind: wash}\n"
                        "areas:\n"
                        "  oilskin: {beside: [rope]}\n"
                        "  rope: {}\n"
                        "stages:\n"
                        "  - name: Oilskins\n"
                        "    technique: basecoat\n"
                        "    paint: oilskin green\n"
                        "    mix: 2 paint + 1 water\n"
                        "    on: [oilskin]\n"
                        "    coats: 2\n"
                        "    minutes: 205 s\n"
                        "    # dry: 14\n"
                        "  - name: Serjeant's sash\n"
                        "    technique: wash\n"
                        "    mix: \"1 oilskin green + 1.5 ebb: wash\"\n"
                        "    for: [leaders]\n"
                        "    after: []\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_paints, begin, end),
        cmocka_unit_test_setup_teardown(test_areas, begin, end),
        cmocka_unit_test_setup_teardown(test_groups, begin, end),
        cmocka_unit_test_setup_teardown(test_after_follows, begin, end),
        cmocka_unit_test_setup_teardown(test_text, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
