/* SPDX-License-Identifier: MIT */
/* Recipes as files: what is wrong in them and where, and the samples that come along. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "shell/paths.h"
#include "shell/recipe_file.h"
#include "shell/yaml.h"

static struct cb_arena kinds_arena;
static const struct cb_kinds *kinds;

static int set_up(void **state)
{
    (void)state;
    struct cb_err err = {0};
    return cb_paths_kinds(&kinds_arena, &kinds, &err) == CB_OK ? 0 : -1;
}

static int tear_down(void **state)
{
    (void)state;
    cb_arena_fini(&kinds_arena);
    return 0;
}

static const struct cb_recipe *read_text(const char *text, struct cb_arena *arena,
                                         struct cb_issues *issues)
{
    const struct cb_tree *tree = cb_yaml_read(text, strlen(text), arena, issues);
    return tree == NULL ? NULL : cb_recipe_from_tree(tree, text, kinds, arena, issues);
}

/* The recipe that each row below changes in one place. */
static const char base_text[] = "coatbell: 1\n"
                                "name: Night watch\n"
                                "figures: 10\n"
                                "height: 32 mm\n"
                                "change: 90 s\n"
                                "groups: {serjeant: [1]}\n"
                                "paints:\n"
                                "  rope:  {name: Tarred rope, kind: acrylic, tone: dark}\n"
                                "  green: {name: Oilskin green, kind: acrylic}\n"
                                "areas:\n"
                                "  oilskin: {share: 45 %, beside: [rope]}\n"
                                "  rope: {share: 5 %}\n"
                                "  lantern: {apart: yes}\n"
                                "stages:\n"
                                "  - name: Undercoat\n"
                                "    technique: undercoat\n"
                                "    paint: rope\n"
                                "    together: yes\n"
                                "  - name: Oilskins\n"
                                "    technique: basecoat\n"
                                "    mix: 2 green + 1 rope + 1 water\n"
                                "    on: [oilskin]\n"
                                "    coats: 2\n"
                                "    minutes: 4\n"
                                "    tidy_with: [rope]\n"
                                "  - name: Sash\n"
                                "    technique: layer\n"
                                "    paint: green\n"
                                "    on: rope\n"
                                "    for: serjeant\n"
                                "    after: [Undercoat]\n"
                                "  - name: Lanterns on\n"
                                "    technique: join\n"
                                "    on: [lantern]\n"
                                "    wait: 20 min\n";

struct change {
    const char *from, *to; /* in base_text, the first place */
    int line, column;
    const char *message;
    bool more; /* others follow from it */
};

static const struct change changes[] = {
    {"coatbell: 1", "coatbell: 2", 1, 11, "unknown format; this program reads 1", false},
    {"coatbell: 1\n", "", 1, 1, "begin the recipe with the line `coatbell: 1`", false},
    {"name: Night watch\n", "", 1, 1, "no key name", false},
    {"name: Night watch\n", "name:\n", 2, 6, "name: is empty", false},
    {"name: Night watch\n", "name: [a]\n", 2, 7, "name: must be one text, not a list", false},
    {"name: Night", "nmae: Night", 2, 1, "unknown key: nmae; did you mean name?", false},
    {"figures: 10", "figures: ten", 3, 10, "figures: ten: must be a whole number, 1 to 99", false},
    {"figures: 10", "figures: 0", 3, 10, "1 to 99", false},
    {"figures: 10", "figures: 100", 3, 10, "1 to 99", false},
    {"height: 32 mm", "height: 32 cm", 4, 9, "height: 32 cm: write a number, as in 28 mm", false},
    {"height: 32 mm", "height: 4000", 4, 9, "must be 5 to 500 mm", false},
    {"change: 90 s", "change: 90 x", 5, 9, "write minutes, as in 12, 90 s", false},
    {"change: 90 s", "change: 3 h", 5, 9, "must be 0 to 60 minutes", false},
    {"[1]}", "[12]}", 6, 21, "group serjeant: figure 12 of 10", false},
    {"[1]}", "[0]}", 6, 21, "figure 0 of 10", false},
    {"[1]}", "[2-11]}", 6, 21, "figure 11 of 10", false},
    {"[1]}", "[5-2]}", 6, 21, "write 2-5", false},
    {"[1]}", "[x]}", 6, 21, "by their number", false},
    {"[1]}", "[11-]}", 6, 21, "figure 11 of 10", false},
    {"[1]}", "[0-]}", 6, 21, "figure 0 of 10", false},
    {"[1]}", "[-4]}", 6, 21, "by their number, as in [1, 4-6] or [4-]", false},
    {"[1]}", "[]}", 6, 20, "has no figure", false},
    {"paints:", "names: {11: Oake}\npaints:", 7, 9, "names: figure 11 of 10; the unit has 1 to 10",
     false},
    {"paints:", "names: {0: Oake}\npaints:", 7, 9, "names: figure 0 of 10", false},
    {"paints:", "names: {Oake: 1}\npaints:", 7, 9, "names: Oake: write the figure's number", false},
    {"paints:", "names: {2: Oake, 1: ''}\npaints:", 7, 21, "name of figure 1: is empty", false},
    {"paints:", "names: {2: [Oake]}\npaints:", 7, 12, "name of figure 2: must be one text", false},
    {"paints:", "names: {1: Oake, 01: Rill}\npaints:", 7, 18,
     "names: figure 1 has a name already; keep one of them", false},
    {"paints:", "names: {1: Oake, 2: oake}\npaints:", 7, 21,
     "name of figure 2: it is that of figure 1; make it another", false},
    {"paints:", "names: [Oake]\npaints:", 7, 8, "names: must be a map, as in {1:", false},
    {"{serjeant: [1]}", "serjeant", 6, 9, "groups: must be a map", true},
    {"tone: dark", "tone: drak", 8, 51, "unknown word: drak; did you mean dark?", false},
    {"kind: acrylic", "kind: acrilic", 8, 36, "unknown kind: acrilic; did you mean acrylic?",
     false},
    {"kind: acrylic", "film: 9000", 8, 36, "must be 1 to 5000 um", false},
    {"kind: acrylic", "solids: 99 %", 8, 38, "must be 1 to 95 %", false},
    {"kind: acrylic", "drops: 2", 8, 37, "must be 5 to 200", false},
    {"kind: acrylic", "dry: soon", 8, 35, "write minutes", false},
    {"kind: acrylic", "colour: red", 8, 30, "paint rope: unknown key: colour", false},
    {"  rope:  {", "  water:  {", 8, 3, "has a meaning in mixes", true},
    {"  rope:  {", "  2rope:  {", 8, 3, "a mix could not name it", true},
    {"share: 45 %", "share: 96 %", 12, 17, "shares reach 101 %", false},
    {"share: 45 %", "share: half", 11, 20, "write a share, as in 45 %", false},
    {"beside: [rope]", "beside: [roep]", 11, 35, "unknown area: roep; did you mean rope?", false},
    {"beside: [rope]", "near: [oilskin]", 11, 32, "area oilskin: near itself", false},
    {"  rope: {share", "  whole: {share", 12, 3, "area whole: the word means all", true},
    {"apart: yes", "apart: maybe", 13, 20, "unknown word: maybe; there is no, yes", true},
    {"name: Undercoat\n    ", "", 15, 5, "stage 1: has no name", true},
    {"name: Oilskins", "name: undercoat", 19, 11, "the name is taken by stage 1", false},
    {"technique: undercoat", "technique: undrecoat", 16, 16, "did you mean undercoat?", false},
    {"technique: undercoat", "technique: prepare", 17, 12, "prepare takes no paint", false},
    {"    technique: undercoat\n", "", 15, 5, "has no technique", false},
    {"    paint: rope\n", "", 15, 5, "undercoat needs a paint", false},
    {"paint: rope", "paint: roep", 17, 12, "unknown paint: roep; did you mean rope?", false},
    {"paint: rope", "piant: rope", 17, 5, "unknown key: piant; did you mean paint?", false},
    {"together: yes", "together: 1", 18, 15, "how many figures fit, 2 to 99", false},
    {"2 green +", "2 gren +", 21, 10, "unknown paint: gren; did you mean green?", false},
    {"2 green +", "0 green +", 21, 10, "parts are a number above 0", false},
    {"2 green +", "2 +", 21, 10, "part of what?", false},
    {"2 green +", "+", 21, 10, "part of what?", false},
    {"2 green +", "2 paint +", 21, 10, "which one?", false},
    {"2 green + 1 rope +", "2 water +", 21, 10, "stands in it twice", false},
    {"2 green + 1 rope +", "2 medium +", 21, 10, "no paint in it", false},
    {"    mix: 2 green + 1 rope", "    paint: rope\n    mix: 2 green", 22, 10,
     "has nothing of the stage's paint rope", false},
    {"on: [oilskin]", "on: [oilskni]", 22, 10, "unknown area: oilskni; did you mean oilskin?",
     false},
    {"on: [oilskin]", "on: [whole, rope]", 22, 10, "leave the other areas out", false},
    {"on: [oilskin]", "on: []", 22, 9, "on: is empty", false},
    {"on: [oilskin]", "by: broom", 22, 9, "unknown word: broom", false},
    {"coats: 2", "coats: 0", 23, 12, "coats: 0: must be a whole number, 1 to 9", false},
    {"coats: 2", "coats: 10", 23, 12, "1 to 9", false},
    {"minutes: 4", "minutes: -4", 24, 14, "write minutes", false},
    {"minutes: 4", "minutes: nan", 24, 14, "write minutes", false},
    {"minutes: 4", "optional: perhaps", 24, 15, "unknown word: perhaps", false},
    {"tidy_with: [rope]", "tidy_with: [rape]", 25, 17, "unknown paint: rape; did you mean rope?",
     false},
    {"for: serjeant", "for: sergeant", 30, 10, "unknown group: sergeant; did you mean serjeant?",
     false},
    {"after: [Undercoat]", "after: [Underco]", 31, 13, "unknown stage: Underco; did you mean",
     false},
    {"after: [Undercoat]", "after: [Sash]", 31, 12, "stage Sash: after itself", false},
    {"    together: yes\n", "    after: [Lanterns on]\n", 18, 12, "ring of `after`", false},
    {"on: [lantern]", "on: [rope]", 34, 9, "join of what was never apart: rope", false},
    {"apart: yes", "share: 9", 34, 9, "join of what was never apart: lantern", false},
};

static char *apply(const struct change *change, struct cb_arena *arena)
{
    const char *at = strstr(base_text, change->from);
    assert_non_null(at);
    return cb_arena_printf(arena, "%.*s%s%s", (int)(at - base_text), base_text, change->to,
                           at + strlen(change->from));
}

static void test_faults(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        struct cb_arena arena = {0};
        struct cb_issues issues = {0};
        const char *text = apply(&changes[i], &arena);
        if (read_text(text, &arena, &issues) != NULL || issues.count == 0) {
            fail_msg("taken: %s", changes[i].to);
        }
        const struct cb_issue *first = &issues.items[0];
        if (first->line != changes[i].line || first->column != changes[i].column ||
            strstr(first->message, changes[i].message) == NULL) {
            fail_msg("%s: %d:%d: %s, not %d:%d: %s", changes[i].to, first->line, first->column,
                     first->message, changes[i].line, changes[i].column, changes[i].message);
        }
        if (issues.count != 1 && !changes[i].more) {
            fail_msg("%s: a second fault, %s", changes[i].to, issues.items[1].message);
        }
        cb_arena_fini(&arena);
    }
}

static void test_meaning(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    const struct cb_recipe *recipe = read_text(base_text, &arena, &issues);
    assert_non_null(recipe);
    assert_string_equal(recipe->text, base_text);
    assert_int_equal(recipe->figures, 10);
    assert_float_equal(recipe->change_min, 1.5, 1e-12);
    assert_float_equal(recipe->areas[2].share_pct, 50, 1e-9);
    assert_int_equal(recipe->areas[1].beside, 1); /* symmetric */
    assert_true(isnan(recipe->paints[0].dry_min));
    const struct cb_stage *oilskins = &recipe->stages[1];
    assert_int_equal(oilskins->mix.count, 3);
    assert_true(oilskins->mix_said);
    assert_int_equal(cb_mix_paint(&oilskins->mix), 1);
    assert_float_equal(cb_mix_sum(&oilskins->mix, CB_MIX_PAINT), 3, 1e-12);
    assert_string_equal(cb_mix_text(recipe, &oilskins->mix, true, &arena),
                        "2 Oilskin green + 1 Tarred rope + 1 water");
    assert_string_equal(cb_mix_text(recipe, &oilskins->mix, false, &arena),
                        "2 green + 1 rope + 1 water");
    assert_string_equal(cb_mix_text(recipe, &recipe->stages[0].mix, true, &arena), "neat");
    assert_int_equal(recipe->stages[0].together, CB_TOGETHER_ALL);
    assert_true(recipe->stages[0].whole);
    assert_int_equal(recipe->stages[0].on, 7);
    assert_int_equal(cb_recipe_waits_for(recipe, 1), 1);
    assert_int_equal(cb_recipe_waits_for(recipe, 2), 1);
    assert_int_equal(cb_recipe_waits_for(recipe, 3), 1);
    assert_true(cb_recipe_touch(recipe, 1, 2));
    assert_true(cb_recipe_touch(recipe, 2, 1));
    assert_false(cb_recipe_touch(recipe, 1, 3));
    assert_true(cb_recipe_applies(recipe, 2, 1));
    assert_false(cb_recipe_applies(recipe, 2, 2));
    assert_true(cb_recipe_applies(recipe, 1, 2));
    assert_int_equal(cb_recipe_stage(recipe, "Sash"), 2);
    assert_int_equal(cb_recipe_stage(recipe, "sash"), -1);
    assert_float_equal(recipe->stages[3].wait_min, 20, 1e-12);
    cb_arena_fini(&arena);
}

static void test_ranges(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    const struct change ranges = {"[1]}", "[1, 4-6, 9 - 10]}", 0, 0, NULL, false};
    const struct cb_recipe *recipe = read_text(apply(&ranges, &arena), &arena, &issues);
    assert_non_null(recipe);
    assert_int_equal(recipe->groups[0].figures[0], 0x339); /* bits 0, 3 to 5, 8, 9 */
    const struct change far = {"figures: 10\n", "figures: 99\n", 0, 0, NULL, false};
    recipe = read_text(apply(&far, &arena), &arena, &issues);
    assert_non_null(recipe);
    cb_arena_fini(&arena);
}

static void test_names(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    const struct change names = {
        "paints:", "names:\n  1: Serjeant  Oake\n  10: Rill\npaints:", 0, 0, NULL, false};
    const struct cb_recipe *recipe = read_text(apply(&names, &arena), &arena, &issues);
    assert_non_null(recipe);
    assert_string_equal(recipe->names[1], "Serjeant Oake");
    assert_null(recipe->names[2]);
    assert_string_equal(recipe->names[10], "Rill");
    const struct change open = {"figures: 10\n", "names: {99: Rill}\n", 0, 0, NULL, false};
    recipe = read_text(apply(&open, &arena), &arena, &issues);
    assert_non_null(recipe);
    assert_string_equal(recipe->names[99], "Rill");
    cb_arena_fini(&arena);
}

static void test_limits(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    struct cb_str text = {0};
    cb_str_add(&text, "coatbell: 1\nname: x\nstages:\n");
    for (int i = 1; i <= CB_RECIPE_MAX; i++) {
        cb_str_addf(&text, "  - {name: s%d, technique: prepare}\n", i);
    }
    const struct cb_recipe *recipe = read_text(cb_str_text(&text), &arena, &issues);
    assert_non_null(recipe);
    assert_int_equal(recipe->stage_count, CB_RECIPE_MAX);
    assert_true(cb_recipe_waits_for(recipe, 63) == UINT64_MAX >> 1);
    cb_str_add(&text, "  - {name: more, technique: prepare}\n");
    assert_null(read_text(cb_str_text(&text), &arena, &issues));
    assert_int_equal(issues.items[0].line, 4 + CB_RECIPE_MAX);
    assert_non_null(strstr(issues.items[0].message, "more than 64"));
    cb_str_fini(&text);
    cb_arena_fini(&arena);
}

/* Figures that differ and parts painted apart, each used wrongly in a recipe of its own. */
static void test_wrong_uses(void **state)
{
    (void)state;
    static const struct {
        const char *top, *stage; /* around the paints and areas that all of them have */
        int line, column;
        const char *message;
    } uses[] = {
        {"groups: {warden: [1]}", "paint: mud, for: [warden, wardens]", 11, 66,
         "unknown group: wardens; did you mean warden?"},
        {"figures: 2", "paint: mud, for: warden", 11, 57,
         "unknown group: warden; the recipe has none"},
        {"figures: 10\ngroups: {warden: [1, 12]}", "paint: mud", 4, 22,
         "group warden: figure 12 of 10; the unit has 1 to 10"},
        {"figures: 10\ngroups: {warden: [9-12]}", "paint: mud", 4, 19, "figure 12 of 10"},
        {"figures: 10\nnames: {12: Oake}", "paint: mud", 4, 9, "names: figure 12 of 10"},
        {"names: {3: ''}", "paint: mud", 3, 12, "name of figure 3: is empty"},
        {"names: {3: Oake, 4: Rill, 5: OAKE}", "paint: mud", 3, 30,
         "name of figure 5: it is that of figure 3"},
        {"figures: 2", "mix: 2 mud + 1 brasss", 11, 45,
         "unknown paint: brasss; did you mean brass?"},
        {"figures: 2", "paint: mud}\n  - {name: On, technique: join, on: coat", 12, 37,
         "stage On: join of what was never apart: coat; give the area `apart: yes`"},
        {"figures: 2", "paint: mud}\n  - {name: On, technique: join, on: [shield, coat]", 12, 37,
         "stage On: join of what was never apart: coat"},
        {"figures: 2", "paint: mud}\n  - {name: On, technique: join, on: sheild", 12, 37,
         "unknown area: sheild; did you mean shield?"},
        {"figures: 2", "paint: mud}\n  - {name: On, technique: join, on: shield, paint: mud", 12,
         52, "stage On: join takes no paint; leave the key out"},
    };
    for (size_t i = 0; i < sizeof uses / sizeof uses[0]; i++) {
        struct cb_arena arena = {0};
        struct cb_issues issues = {0};
        const char *text = cb_arena_printf(
            &arena,
            "coatbell: 1\nname: Ferry guards\n%s\npaints:\n  mud: {name: Harbour mud}\n"
            "  brass: {name: Gate brass}\nareas:\n  coat: {}\n  shield: {apart: yes}\nstages:\n"
            "  - {name: Coats, technique: basecoat, %s}\n",
            uses[i].top, uses[i].stage);
        assert_null(read_text(text, &arena, &issues));
        const struct cb_issue *first = &issues.items[0];
        if (issues.count != 1 || first->line != uses[i].line || first->column != uses[i].column ||
            strstr(first->message, uses[i].message) == NULL) {
            fail_msg("%d:%d: %s, not %d:%d: %s", first->line, first->column, first->message,
                     uses[i].line, uses[i].column, uses[i].message);
        }
        cb_arena_fini(&arena);
    }
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    assert_null(read_text("coatbell: 1\nname: Nothing apart\nareas: {coat: {}}\nstages:\n"
                          "  - {name: On, technique: join}\n",
                          &arena, &issues));
    assert_string_equal(issues.items[0].message,
                        "stage On: join of what was never apart; give an area `apart: yes`");
    assert_int_equal(issues.items[0].line, 5);
    assert_int_equal(issues.items[0].column, 27);
    cb_arena_fini(&arena);
}

static void test_ten_faults_at_most(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    struct cb_str text = {0};
    cb_str_add(&text, "coatbell: 1\nname: x\nstages:\n");
    for (int i = 1; i <= 20; i++) {
        cb_str_addf(&text, "  - {name: s%d, technique: nothing}\n", i);
    }
    assert_null(read_text(cb_str_text(&text), &arena, &issues));
    assert_int_equal(issues.count, CB_ISSUES_MAX);
    assert_int_equal(issues.items[9].line, 13);
    cb_str_fini(&text);
    cb_arena_fini(&arena);
}

static const char *const samples[] = {"night-watch.yaml", "marsh-troll.yaml",
                                      "league-pikemen.yaml"};
#define SAMPLE_COUNT (sizeof samples / sizeof samples[0])

/* The sample from the first folder of recipes, which here is the tree's own. */
static struct cb_recipe_file read_sample(const char *name, struct cb_arena *arena)
{
    const char *folders[3];
    struct cb_recipe_file file;
    struct cb_err err = {0};
    assert_true(cb_paths_recipes(arena, folders) > 0);
    enum cb_status status = cb_recipe_file_read(cb_arena_printf(arena, "%s/%s", folders[0], name),
                                                kinds, arena, &file, &err);
    if (status != CB_OK) {
        fail_msg("%s", err.text);
    }
    return file;
}

static const char *const all_keys[] = {
    "coatbell",  "name",   "about",   "figures",   "height",   "change",   "groups", "names",
    "pictures",  "paints", "areas",   "stages",    "kind",     "tone",     "film",   "solids",
    "dry",       "label",  "instead", "drops",     "share",    "beside",   "near",   "apart",
    "technique", "paint",  "mix",     "on",        "for",      "by",       "place",  "coats",
    "minutes",   "wait",   "brush",   "tidy_with", "together", "optional", "after",  "say"};

/* "Between them use every technique, every kind, every key." */
static void test_samples_use_everything(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_str all = {0};
    bool technique[CB_TECHNIQUE_COUNT] = {false}, by[CB_BY_COUNT] = {false};
    bool kind[CB_KINDS_MAX] = {false}, what[CB_MIX_WATER + 1] = {false};
    for (size_t i = 0; i < SAMPLE_COUNT; i++) {
        struct cb_recipe_file file = read_sample(samples[i], &arena);
        cb_str_add(&all, file.text);
        for (size_t s = 0; s < file.recipe->stage_count; s++) {
            const struct cb_stage *stage = &file.recipe->stages[s];
            technique[stage->technique] = true;
            by[stage->by] = true;
            for (size_t p = 0; p < stage->mix.count; p++) {
                what[stage->mix.parts[p].what] = true;
                if (stage->mix.parts[p].what == CB_MIX_PAINT) {
                    kind[file.recipe->paints[stage->mix.parts[p].paint].kind] = true;
                }
            }
        }
    }
    for (int i = 0; i < CB_TECHNIQUE_COUNT; i++) {
        if (!technique[i]) {
            fail_msg("no sample uses %s", cb_technique_name((enum cb_technique)i));
        }
    }
    for (int i = 0; i < CB_BY_COUNT; i++) {
        assert_true(by[i]);
    }
    for (int i = 0; i <= CB_MIX_WATER; i++) {
        assert_true(what[i]);
    }
    for (size_t i = 0; i < kinds->kind_count; i++) {
        if (!kind[i]) {
            fail_msg("no sample paints with %s", kinds->kinds[i].name);
        }
    }
    for (size_t i = 0; i < sizeof all_keys / sizeof all_keys[0]; i++) {
        if (strstr(cb_str_text(&all), cb_arena_printf(&arena, "%s:", all_keys[i])) == NULL) {
            fail_msg("no sample has %s", all_keys[i]);
        }
    }
    cb_str_fini(&all);
    cb_arena_fini(&arena);
}

static char *read_manual(struct cb_arena *arena)
{
    const char *folders[3];
    struct cb_err err = {0};
    char *text = NULL;
    size_t length = 0;
    assert_true(cb_paths_recipes(arena, folders) > 0);
    const char *path = cb_arena_printf(arena, "%s/../man/coatbell-recipe.5", folders[0]);
    if (cb_file_read(path, 1 << 20, arena, &text, &length, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    return text;
}

/* Every example of the page is a whole recipe, and is taken as it stands. */
static void test_manual_examples(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    size_t count = 0;
    for (const char *at = read_manual(&arena); (at = strstr(at, "\n.Bd ")) != NULL; count++) {
        const char *from = strchr(at + 1, '\n') + 1;
        const char *to = strstr(from, ".Ed");
        assert_non_null(to);
        struct cb_issues issues = {0};
        const char *example = cb_arena_text_n(&arena, from, (size_t)(to - from));
        assert_null(strchr(example, '\\')); /* what is shown is what stands here */
        if (read_text(example, &arena, &issues) == NULL) {
            fail_msg("%s\n%d:%d: %s", example, issues.items[0].line, issues.items[0].column,
                     issues.items[0].message);
        }
        at = to;
    }
    assert_int_equal(count, 3);
    cb_arena_fini(&arena);
}

static void test_manual_names_everything(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    const char *manual = read_manual(&arena);
    for (size_t i = 0; i < sizeof all_keys / sizeof all_keys[0]; i++) {
        if (strstr(manual, cb_arena_printf(&arena, "\n.It Ic %s\n", all_keys[i])) == NULL) {
            fail_msg("coatbell-recipe(5) does not have %s", all_keys[i]);
        }
    }
    for (int i = 0; i < CB_TECHNIQUE_COUNT; i++) {
        const char *word = cb_technique_name((enum cb_technique)i);
        if (strstr(manual, cb_arena_printf(&arena, "\n.Ql %s", word)) == NULL) {
            fail_msg("coatbell-recipe(5) does not have %s", word);
        }
    }
    for (int i = 0; i < CB_BY_COUNT; i++) {
        assert_non_null(
            strstr(manual, cb_arena_printf(&arena, "\n.Ql %s", cb_by_name((enum cb_by)i))));
    }
    for (size_t i = 0; i < kinds->kind_count; i++) {
        if (strstr(manual, cb_arena_printf(&arena, "\n.Ql %s", kinds->kinds[i].name)) == NULL) {
            fail_msg("coatbell-recipe(5) does not have the kind %s", kinds->kinds[i].name);
        }
    }
    cb_arena_fini(&arena);
}

/* Each row of the shared table has a source and is found by what it is for. */
static void shared_table(void **state)
{
    (void)state;
    for (size_t i = 0; i < kinds->kind_count; i++) {
        const struct cb_kind *kind = &kinds->kinds[i];
        size_t found;
        assert_true(cb_kinds_find(kinds, kind->name, &found) && found == i);
        assert_true(kind->source[0] && kind->pot_sd >= .05 && kind->pot_sd <= 1.5);
        assert_int_equal(isnan(kind->solids), kind->law != CB_LAW_WATER);
    }
    for (size_t i = 0; i < kinds->prior_count; i++) {
        const struct cb_prior *row = &kinds->priors[i];
        const enum cb_by by = row->by < 0 ? CB_BY_BRUSH : (enum cb_by)row->by;
        const struct cb_prior *found = cb_kinds_prior(kinds, row->kind, row->technique, by);
        assert_true(row->source[0] && (found == row || (row->by < 0 && found->by == (int)by)));
    }
    for (int i = 0; i < CB_TECHNIQUE_COUNT; i++) {
        assert_true(kinds->techniques[i].source[0]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_faults),
        cmocka_unit_test(test_meaning),
        cmocka_unit_test(test_ranges),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_wrong_uses),
        cmocka_unit_test(test_limits),
        cmocka_unit_test(test_ten_faults_at_most),
        cmocka_unit_test(test_samples_use_everything),
        cmocka_unit_test(test_manual_examples),
        cmocka_unit_test(test_manual_names_everything),
        cmocka_unit_test(shared_table),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
