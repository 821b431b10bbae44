/* SPDX-License-Identifier: MIT */
/* What a coat has to hide, and the rule of tones: common practice, no source. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/recipe/tone.h"
#include "support/world.h"

/* "Thin basecoats with water and give two coats; a light colour over a dark undercoat may need
 * three": common practice, no source. That a tone that is no lighter needs one: the same. */
static void test_rule(void **state)
{
    (void)state;
    static const struct {
        enum cb_tone over, under;
        int coats;
    } rows[] = {
        {CB_TONE_LIGHT, CB_TONE_DARK, 3},  {CB_TONE_MID, CB_TONE_DARK, 2},
        {CB_TONE_LIGHT, CB_TONE_MID, 2},   {CB_TONE_DARK, CB_TONE_DARK, 1},
        {CB_TONE_DARK, CB_TONE_LIGHT, 1},  {CB_TONE_MID, CB_TONE_LIGHT, 1},
        {CB_TONE_LIGHT, CB_TONE_LIGHT, 1}, {CB_TONE_NONE, CB_TONE_DARK, 1},
        {CB_TONE_LIGHT, CB_TONE_NONE, 1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_int_equal(cb_tone_coats(rows[i].over, rows[i].under), rows[i].coats);
    }
}

static const char *const text =
    "{coatbell: 1, name: r, figures: 4, groups: {two: [1, 2]}, paints: {"
    "tar: {name: Tar, kind: acrylic, tone: dark}, fog: {name: Fog, kind: acrylic, tone: light},"
    "green: {name: Green, kind: acrylic, tone: mid}, odd: {name: Odd, kind: acrylic},"
    "ebb: {name: Ebb, kind: wash, tone: light}},"
    "areas: {coat: {}, rope: {}, lid: {}}, stages: ["
    "{name: Under, technique: undercoat, paint: tar},"                          /* 0 */
    "{name: Coats, technique: basecoat, paint: green, on: coat},"               /* 1 */
    "{name: Ebb, technique: wash, paint: ebb, on: coat},"                       /* 2 */
    "{name: Hems, technique: layer, paint: fog, on: coat, for: two},"           /* 3 */
    "{name: Ropes, technique: basecoat, mix: 1 fog + 1 tar, on: [rope, coat]}," /* 4 */
    "{name: Lids, technique: basecoat, mix: 2 fog + 1 green, on: lid},"         /* 5 */
    "{name: Odds, technique: basecoat, mix: 2 fog + 1 odd, on: lid},"           /* 6 */
    "{name: All, technique: basecoat, paint: fog},"                             /* 7 */
    "{name: Again, technique: basecoat, paint: fog, on: lid},"
    "{name: Half, technique: basecoat, mix: 1 fog + 1 green + 2 water, on: lid}]}"; /* 8 */

static void test_under(void **state)
{
    (void)state;
    struct world world;
    world_init(&world);
    world_begin(&world, "u", 4, text);
    const struct cb_recipe *recipe = cb_bench_unit(world.bench, 0)->recipe;
    uint64_t covers[CB_RECIPE_MAX];
    cb_recipe_covers_all(recipe, covers);
    static const struct {
        size_t stage;
        int figure;
        uint64_t left_out;
        enum cb_tone over, under;
    } rows[] = {
        {0, 4, 0, CB_TONE_DARK, CB_TONE_NONE},   /* nothing is under it */
        {1, 4, 0, CB_TONE_MID, CB_TONE_DARK},    /* the undercoat is */
        {3, 1, 0, CB_TONE_LIGHT, CB_TONE_MID},   /* a wash is no ground */
        {4, 1, 0, CB_TONE_MID, CB_TONE_DARK},    /* the darkest of two areas */
        {4, 1, 1, CB_TONE_MID, CB_TONE_LIGHT},   /* the undercoat is left out */
        {4, 3, 1, CB_TONE_MID, CB_TONE_MID},     /* the hems are not this figure's */
        {5, 4, 0, CB_TONE_LIGHT, CB_TONE_DARK},  /* another area's coats do not count */
        {6, 4, 0, CB_TONE_NONE, CB_TONE_LIGHT},  /* a part whose tone is not said */
        {7, 4, 0, CB_TONE_LIGHT, CB_TONE_MID},   /* whole meets all; one of them is not said */
        {8, 4, 0, CB_TONE_LIGHT, CB_TONE_LIGHT}, /* what went over whole is under a part */
        {9, 4, 0, CB_TONE_MID, CB_TONE_LIGHT},   /* half way: the darker one */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_int_equal(cb_tone_of_stage(recipe, rows[i].stage), rows[i].over);
        assert_int_equal(
            cb_tone_under(recipe, covers, rows[i].stage, rows[i].figure, rows[i].left_out),
            rows[i].under);
    }
    world_fini(&world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_rule), cmocka_unit_test(test_under)};
    return cmocka_run_group_tests_name("tone", tests, NULL, NULL);
}
