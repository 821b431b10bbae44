/* SPDX-License-Identifier: MIT */
/* A quick line: what is understood of it, what is offered, and that all that is understood makes
 * a recipe that reads. The sentences are ours; the lines are what painters type. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "core/recipe/quick.h"
#include "core/recipe/recipe_write.h"
#include "shell/paths.h"
#include "shell/yaml.h"

enum { SEED = 7, ROUNDS = 4000 };

static struct cb_arena kept, arena;
static const struct cb_kinds *kinds;
static const struct cb_recipe *watch;

static const struct cb_recipe *read_text(const char *text, size_t length, struct cb_arena *into,
                                         struct cb_issues *issues)
{
    const struct cb_tree *tree = cb_yaml_read(text, length, into, issues);
    return tree ? cb_recipe_from_tree(tree, text, kinds, into, issues) : NULL;
}

static int set_up(void **state)
{
    (void)state;
    struct cb_err err = {0};
    struct cb_issues issues = {0};
    char *text = NULL;
    size_t length = 0;
    if (cb_paths_kinds(&kept, &kinds, &err) != CB_OK ||
        cb_file_read("recipes/night-watch.yaml", 1 << 20, &kept, &text, &length, &err) != CB_OK) {
        return -1;
    }
    watch = read_text(text, length, &kept, &issues);
    return watch ? 0 : -1;
}

static int tear_down(void **state)
{
    (void)state;
    cb_arena_fini(&kept);
    return 0;
}

static int empty(void **state)
{
    (void)state;
    cb_arena_fini(&arena);
    return 0;
}

static struct cb_quick *read_line(const struct cb_recipe *recipe, const char *text)
{
    const struct cb_quick_known known = {kinds, recipe, NULL, 0, false};
    struct cb_quick *quick = cb_arena_alloc(&arena, 1, sizeof *quick);
    cb_quick_read(&known, text, &arena, quick);
    return quick;
}

struct row {
    const char *text, *says;
};

static void check_rows(const struct cb_recipe *recipe, const struct row *rows, size_t count,
                       bool complete)
{
    for (size_t i = 0; i < count; i++) {
        const struct cb_quick *quick = read_line(recipe, rows[i].text);
        if (quick->complete != complete || strcmp(quick->sentence, rows[i].says) != 0) {
            fail_msg("%s\n  says  %s\n  wants %s", rows[i].text, quick->sentence, rows[i].says);
        }
    }
}
#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static void test_nothing_known(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"oilskin green basecoat oilskin 2:1 x2",
         "Oilskin green, acrylic, basecoat on oilskin, 2 paint + 1 water, 2 coats, by brush"},
        {"oilskin green basecoat", "Oilskin green, acrylic, basecoat all over, 2 paint + 1 water, "
                                   "by brush"},
        {"Wick white edge highlight hem cuffs by brush",
         "Wick white, acrylic, edge highlight on hem, cuffs, 3 paint + 1 water, by brush"},
        /* an unknown kind is taken from the technique, the tool, the word of the trade */
        {"ebb wash wash folds", "Ebb wash, wash, wash on folds, neat, by brush"},
        {"ebb recess shade folds", "Ebb, wash, recess shade on folds, neat, by brush"},
        {"ebb pin wash folds", "Ebb, wash, recess shade on folds, neat, by brush"},
        {"slack-water varnish varnish", "Slack-water varnish, brush varnish, varnish all over, "
                                        "neat, by brush"},
        {"skimmer varnish by can", "Skimmer, spray varnish, varnish all over, neat, by can"},
        {"tideline paste texture base", "Tideline paste, texture paste, texture on base, neat, "
                                        "by brush"},
        {"grey undercoat by can", "Grey, spray undercoat, undercoat all over, neat, by can"},
        {"grey undercoat", "Grey, acrylic, undercoat all over, neat, by brush"},
        {"grey spray undercoat", "Grey, spray undercoat, undercoat all over, neat, by can"},
        {"grey primer", "Grey, spray undercoat, undercoat all over, neat, by can"},
        {"grey primer by airbrush", "Grey, acrylic, undercoat all over, 1 paint + 1 water, "
                                    "by airbrush"},
        {"red base cloak", "Red, acrylic, basecoat on cloak, 2 paint + 1 water, by brush"},
        {"brass metallic lantern", "Brass, metallic, basecoat on lantern, 3 paint + 1 water, "
                                   "by brush"},
        {"fog dry brush edges", "Fog, acrylic, drybrush on edges, neat, by brush"},
        {"red basecoat by sponge", "Red, acrylic, basecoat all over, 2 paint + 1 water, by sponge"},
        {"red basecoat by spray", "Red, spray undercoat, basecoat all over, neat, by can"},
        /* N:M is with water, or with what is usual for the technique */
        {"red glaze cloak 1:4", "Red, acrylic, glaze on cloak, 1 paint + 4 medium, by brush"},
        {"ebb wash folds 2:1", "Ebb, wash, wash on folds, 2 paint + 1 medium, by brush"},
        {"red layer cloak 1.5:1", "Red, acrylic, layer on cloak, 1.5 paint + 1 water, by brush"},
        {"red layer neat", "Red, acrylic, layer all over, neat, by brush"},
        /* blends */
        {"green + black basecoat cloak",
         "1 Green + 1 Black + 1 water, acrylic, basecoat on cloak, by brush"},
        {"2 green+1 black basecoat cloak 3:2 2x",
         "2 Green + 1 Black + 2 water, acrylic, basecoat on cloak, 2 coats, by brush"},
        {"2 green + 1 black layer coat 1:1",
         "2 Green + 1 Black + 3 water, acrylic, layer on coat, by brush"},
        {"2 green + 1 black layer coat 2:1",
         "4 Green + 2 Black + 3 water, acrylic, layer on coat, by brush"},
        {"1.5 green + 1 black layer coat neat", "3 Green + 2 Black, acrylic, layer on coat, by "
                                                "brush"},
        {"3.14159 green + 1 black layer coat neat",
         "3.14 Green + 1 Black, acrylic, layer on coat, by brush"},
        {"green + black layer neat", "1 Green + 1 Black, acrylic, layer all over, by brush"},
        {"3 green + 1 water layer", "Green, acrylic, layer all over, 3 paint + 1 water, by brush"},
        {"green + Water + 2 Medium glaze", "Green, acrylic, glaze all over, 1 paint + 2 medium + "
                                           "1 water, by brush"},
        /* no paint */
        {"prepare", "prepare all over"},
        {"mask lantern x2", "mask on lantern, 2 coats"},
        {"transfer shield", "transfer on shield"},
        {"numbers transfer shield", "Numbers, acrylic, transfer on shield, neat, by brush"},
        /* areas of several words; all of it */
        {"red basecoat left boot, right boot, rope",
         "Red, acrylic, basecoat on left boot, right boot, rope, 2 paint + 1 water, by brush"},
        {"red basecoat rope rope", "Red, acrylic, basecoat on rope, 2 paint + 1 water, by brush"},
        {"red basecoat whole", "Red, acrylic, basecoat all over, 2 paint + 1 water, by brush"},
        {"red basecoat all over", "Red, acrylic, basecoat all over, 2 paint + 1 water, by brush"},
        {"red basecoat all", "Red, acrylic, basecoat all over, 2 paint + 1 water, by brush"},
        /* the words between areas are none */
        {"green base coat on the coat",
         "Green, acrylic, basecoat on coat, 2 paint + 1 water, by brush"},
        {"red basecoat on the left boot, a right boot and an old rope, and the belt",
         "Red, acrylic, basecoat on left boot, right boot, old rope, belt, 2 paint + 1 water, "
         "by brush"},
        {"mask on the", "mask all over"},
        /* options stand anywhere, the case does not count */
        {"red 2:1 BASECOAT By Brush x3 cloak",
         "Red, acrylic, basecoat on cloak, 2 paint + 1 water, 3 coats, by brush"},
        {"  red   basecoat  ", "Red, acrylic, basecoat all over, 2 paint + 1 water, by brush"},
        {"rot basecoat \xC3\x84rmel", "Rot, acrylic, basecoat on \xC3\x84rmel, 2 paint + 1 water, "
                                      "by brush"},
    };
    check_rows(NULL, rows, COUNT(rows), true);
}

static void test_known(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"oilskin GREEN layer Oilskin", "Oilskin green, acrylic, layer on oilskin, 1 paint + "
                                        "1 water, by brush"},
        {"green layer oilskin", "Oilskin green, acrylic, layer on oilskin, 1 paint + 1 water, "
                                "by brush"}, /* by its key */
        {"lantern brass layer lantern", "Lantern brass, metallic, layer on lantern, 1 paint + "
                                        "1 water, by brush"},
        {"ebb wash recess shade rope 3:1", "Ebb wash, wash, recess shade on rope, 3 paint + "
                                           "1 medium, by brush"},
        {"caulker's stain recess shade rope 2:1", "Caulker's stain, stain, recess shade on rope, "
                                                  "2 paint + 1 medium, by brush"},
        {"tarred rope wash rope 1:4", "Tarred rope, acrylic, wash on rope, 1 paint + 4 water, "
                                      "by brush"}, /* home-made, of water */
        {"kelp ink glaze base", "Kelp ink, ink, glaze on base, 1 paint + 3 medium, by brush"},
        {"oilskn green layer rope",
         "Oilskn green, acrylic, layer on rope, 1 paint + 1 water, by brush; oilskn green is new, "
         "did you mean Oilskin green?"},
        {"oilskin green layer oilskn",
         "Oilskin green, acrylic, layer on oilskn, 1 paint + 1 water, by brush; oilskn is new, "
         "did you mean oilskin?"},
        /* short words are near too many others */
        {"oilskin green layer rop",
         "Oilskin green, acrylic, layer on rop, 1 paint + 1 water, by brush"},
    };
    check_rows(watch, rows, COUNT(rows), true);
}

/* Unless an area is called so. */
static void test_filler_known(void **state)
{
    (void)state;
    static const char text[] = "{coatbell: 1, name: x, paints: {a: {name: Ebb}}, areas: {the: {}, "
                               "hook and eye: {}}, stages: [{name: M, technique: mask}]}";
    static const struct row rows[] = {
        {"ebb layer on the hook and eye", "Ebb, acrylic, layer on the, hook and eye, 1 paint + "
                                          "1 water, by brush"},
        {"ebb layer hook and the", "Ebb, acrylic, layer on hook, the, 1 paint + 1 water, "
                                   "by brush"},
    };
    struct cb_issues issues = {0};
    const struct cb_recipe *recipe = read_text(text, sizeof text - 1, &arena, &issues);
    assert_non_null(recipe);
    check_rows(recipe, rows, COUNT(rows), true);
}

/* Of several paints of a name the one is meant that the technique wants. */
static void test_same_name(void **state)
{
    (void)state;
    static const char text[] = "{coatbell: 1, name: x, paints: {a: {name: Ebb, kind: ink}, b: "
                               "{name: Ebb, kind: wash}, c: {name: Sump, kind: enamel}}, stages: "
                               "[{name: M, technique: mask}]}";
    static const struct row rows[] = {
        {"ebb wash", "Ebb, wash, wash all over, neat, by brush"},
        {"ebb glaze", "Ebb, ink, glaze all over, 1 paint + 3 medium, by brush"},
        {"sump wash 1:3", "Sump, enamel, wash all over, 1 paint + 3 medium, by brush"},
        {"b glaze", "Ebb, wash, glaze all over, 1 paint + 3 medium, by brush"},
    };
    struct cb_issues issues = {0};
    const struct cb_recipe *recipe = read_text(text, sizeof text - 1, &arena, &issues);
    assert_non_null(recipe);
    check_rows(recipe, rows, COUNT(rows), true);
}

static void test_wrong(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"", "PAINT TECHNIQUE [AREA ...] [N:M] [xN] [by TOOL]"},
        {" , ", "PAINT TECHNIQUE [AREA ...] [N:M] [xN] [by TOOL]"},
        {"oilskin green", "then the technique: basecoat, layer, wash, glaze, varnish ..."},
        {"oilskin green basecaot rope", "basecaot: did you mean basecoat?"},
        {"green edge hihglight hem", "edge hihglight: did you mean edge highlight?"},
        {"warm grey", "then the technique: basecoat, layer, wash, glaze, varnish ..."},
        {"basecoat oilskin", "basecoat needs a paint before it: oilskin green basecoat"},
        {"red prepare", "prepare takes no paint; leave out red"},
        {"red basecoat 2", "2: write x2 for two coats, 2:1 for paint to water"},
        {"red basecoat 2:", "2:: write paint to water as 2:1"},
        {"red basecoat 2:0", "2:0: write paint to water as 2:1"},
        {"red basecoat 101:1", "101:1: write paint to water as 2:1"},
        {"red basecoat 2:1 3:1", "3:1: one mix was said already; write one"},
        {"red basecoat x0", "x0: write the coats once, x1 to x9"},
        {"red basecoat x10", "x10: write the coats once, x1 to x9"},
        {"red basecoat x2 x2", "x2: write the coats once, x1 to x9"},
        {"red basecoat by", "by what? write brush, can, airbrush or sponge"},
        {"red basecoat by hand", "by hand: no such tool; write brush, can, airbrush or sponge"},
        {"red basecoat by can by brush", "by brush: one tool was said already; write one"},
        {"red basecoat whole rope", "whole is all of the figure; leave the other areas out"},
        {"red basecoat + rope", "+ stands between two paints, before the technique"},
        {"red + basecoat rope", "+ stands between two paints: green + black basecoat"},
        {"+ basecoat rope", "+ stands between two paints: green + black basecoat"},
        {"1 water + 2 medium glaze", "no paint in it: 2 oilskin green + 1 water glaze"},
        {"red + RED basecoat", "RED stands in it twice; add the parts up"},
        {"red + 1 water + 2 water layer", "water stands in it twice; add the parts up"},
        {"0 red + 1 blue layer", "0 red: parts are a number above 0, at most 100"},
        {"red + 1 water layer 2:1", "the mix is said twice; write it once"},
        {"red layer neat 2:1", "neat and thinned; write one of them"},
        {"mask lantern 2:1", "mask without paint has no mix; leave it out"},
        {"join", "join: what it joins must be painted apart in the recipe"},
        {"a + b + c + d + e + f layer", "a blend of more than 5 paints; write fewer"},
    };
    check_rows(NULL, rows, COUNT(rows), false);
}

static const char *offers(const struct cb_recipe *recipe, const char *text)
{
    const struct cb_quick *quick = read_line(recipe, text);
    const char *all = "";
    for (size_t i = 0; i < quick->offer_count && i < 3; i++) {
        all = cb_arena_printf(&arena, "%s%s%.*s[%s]", all, i > 0 ? " " : "",
                              (int)quick->offers[i].at, text, quick->offers[i].word);
    }
    return all;
}

static void test_offers(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"oi", "[Oilskin green]"},
        {"oilskin ", "[Oilskin green] oilskin [undercoat] oilskin [basecoat]"},
        {"oilskin green", ""}, /* it stands there */
        {"oilskin green b", "oilskin green [basecoat]"},
        {"oilskin green recess s", "oilskin green [recess shade]"},
        {"oilskin green ", "oilskin green [undercoat] oilskin green [basecoat] "
                           "oilskin green [layer]"},
        {"pre", "[prepare]"},
        {"green + wi", "green + [Wind-raw skin] green + [Wick white]"},
        {"green + 2 wick", "green + 2 [Wick white]"},
        {"oilskin green basecoat l", "oilskin green basecoat [lantern]"},
        {"oilskin green basecoat lantern ", "oilskin green basecoat lantern [oilskin] "
                                            "oilskin green basecoat lantern [face] "
                                            "oilskin green basecoat lantern [boots]"},
        {"oilskin green basecoat oilskin ", "oilskin green basecoat oilskin [face] "
                                            "oilskin green basecoat oilskin [boots] "
                                            "oilskin green basecoat oilskin [rope]"},
        {"oilskin green basecoat by a", "oilskin green basecoat by [airbrush]"},
        {"mask lan", "mask [lantern]"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        const char *given = offers(watch, rows[i].text);
        if (strcmp(given, rows[i].says) != 0) {
            fail_msg("%s\n  offers %s\n  wants  %s", rows[i].text, given, rows[i].says);
        }
    }
    /* what a question is about comes first, once, and in its place */
    const struct cb_quick *quick = read_line(watch, "2 oilskn green + wick white layer oilski");
    assert_true(quick->asks && quick->complete);
    assert_string_equal(quick->offers[0].word, "Oilskin green");
    assert_int_equal(quick->offers[0].at, 2);
    assert_int_equal(quick->offers[0].end, 14);
    quick = read_line(watch, "oilskin green layer oilski");
    assert_true(quick->asks && quick->offer_count == 1 && quick->offers[0].at == 20);
    quick = read_line(watch, "oilskin green basecaot oilskin");
    assert_true(quick->asks && !quick->complete && quick->offers[0].end == 22);
    assert_false(read_line(watch, "oilskin green layer oilskin")->asks);
    assert_string_equal(offers(NULL, ""), "");
    assert_string_equal(offers(watch, ""), "[Tarred rope] [Oilskin green] [Morning fog]");
}

static const struct cb_recipe *put(const struct cb_quick *quick, struct cb_draft *draft)
{
    struct cb_issues issues = {0};
    assert_true(cb_quick_put(quick, draft, draft->recipe.stage_count, &arena));
    const char *text = cb_recipe_write(&draft->recipe, kinds, NULL, &arena);
    const struct cb_recipe *recipe = read_text(text, strlen(text), &arena, &issues);
    if (!recipe) {
        fail_msg("%s\n%s", issues.items[0].message, text);
    }
    return recipe;
}

static void test_put(void **state)
{
    (void)state;
    struct cb_draft *draft = cb_arena_alloc(&arena, 1, sizeof *draft);
    cb_draft_begin(draft, "Tonight", 1);
    static const char *const lines[] = {
        "grey undercoat by can",
        "oilskin green basecoat oilskin 2:1 x2",
        "oilskin green basecoat rope",
        "2 oilskin green + 1 black layer oilskin",
        "prepare",
    };
    const struct cb_recipe *recipe = NULL;
    for (size_t i = 0; i < COUNT(lines); i++) {
        recipe = put(read_line(recipe, lines[i]), draft);
    }
    assert_true(recipe != NULL && recipe->paint_count == 3);
    assert_string_equal(cb_recipe_write(recipe, kinds, NULL, &arena),
                        "coatbell: 1\n"
                        "name: Tonight\n"
                        "figures: 1\n"
                        "paints:\n"
                        "  grey: {name: Grey, kind: spray undercoat}\n"
                        "  oilskin green: {name: Oilskin green, kind: acrylic}\n"
                        "  black: {name: Black, kind: acrylic}\n"
                        "areas:\n"
                        "  oilskin: {}\n"
                        "  rope: {}\n"
                        "stages:\n"
                        "  - name: Grey undercoat\n"
                        "    technique: undercoat\n"
                        "    paint: grey\n"
                        "    together: yes\n"
                        "  - name: Oilskin green basecoat\n"
                        "    technique: basecoat\n"
                        "    paint: oilskin green\n"
                        "    mix: 2 paint + 1 water\n"
                        "    on: [oilskin]\n"
                        "    coats: 2\n"
                        "  - name: Oilskin green basecoat 2\n"
                        "    technique: basecoat\n"
                        "    paint: oilskin green\n"
                        "    on: [rope]\n"
                        "  - name: Oilskin green + Black layer\n"
                        "    technique: layer\n"
                        "    mix: 2 oilskin green + 1 black + 3 water\n"
                        "    on: [oilskin]\n"
                        "  - name: Prepare\n"
                        "    technique: prepare\n");
}

static uint64_t chance;

static uint32_t roll(uint32_t below)
{
    chance = chance * 6364136223846793005U + 1442695040888963407U;
    return (uint32_t)(chance >> 33) % below;
}

static void test_by_chance(void **state)
{
    (void)state;
    static const char *const words[] = {
        "oilskin", "green", "wash", "ebb",  "basecoat", "recess", "shade", "edge", "highlight",
        "rope",    "2:1",   "x2",   "by",   "brush",    "can",    "+",     ",",    "whole",
        "all",     "over",  "neat", "join", "prepare",  "paint",  "water", "9",    "#",
        "\"",      ": ",    "- x",  "base", "\u3000",   "\xFF",   "0",     "[a]",  "transfer",
    };
    for (uint32_t round = 0; round < ROUNDS; round++) {
        char text[200] = "";
        chance = SEED + round;
        for (uint32_t i = 1 + roll(9); i-- > 0;) {
            snprintf(text + strlen(text), sizeof text - strlen(text), "%s%s",
                     words[roll(COUNT(words))], roll(5) > 0 ? " " : "");
        }
        const struct cb_recipe *recipe = roll(2) == 0 ? watch : NULL;
        const struct cb_quick *quick = read_line(recipe, text);
        assert_true(quick->sentence[0] != '\0' && strchr(quick->sentence, '\n') == NULL);
        struct cb_draft *draft = cb_arena_alloc(&arena, 1, sizeof *draft);
        if (recipe) {
            cb_draft_of(draft, recipe);
        } else {
            cb_draft_begin(draft, "Tonight", 1);
        }
        if (quick->complete) {
            (void)put(quick, draft);
        }
        cb_arena_fini(&arena);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(test_nothing_known, empty),
        cmocka_unit_test_teardown(test_known, empty),
        cmocka_unit_test_teardown(test_filler_known, empty),
        cmocka_unit_test_teardown(test_same_name, empty),
        cmocka_unit_test_teardown(test_wrong, empty),
        cmocka_unit_test_teardown(test_offers, empty),
        cmocka_unit_test_teardown(test_put, empty),
        cmocka_unit_test_teardown(test_by_chance, empty),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
