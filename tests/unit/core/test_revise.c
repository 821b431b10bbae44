/* SPDX-License-Identifier: MIT */
/* A stage in hand as a form: what its fields hold, what is made of what was typed, and each fault.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/recipe/recipe_diff.h"
#include "core/recipe/recipe_write.h"
#include "core/recipe/revise.h"
#include "support/world.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static const char *const watch =
    "{coatbell: 1, name: Watch, figures: 10, groups: {serjeant: [1], pair: [9, 10]},"
    " names: {1: Oake, 2: Rill},"
    " paints: {mud: {name: Harbour mud, kind: acrylic, dry: 20}, tar: {name: Tarred rope, kind:"
    " acrylic}, ebb: {name: Ebb wash, kind: wash}, grey: {name: Eel grey, kind: spray undercoat}},"
    " areas: {oilskin: {}, rope: {}, boots: {}},"
    " stages: [{name: Undercoat, technique: undercoat, paint: grey, together: yes},"
    "          {name: Rope, technique: basecoat, paint: mud, on: rope, coats: 2, minutes: 4},"
    "          {name: Boots, technique: basecoat, paint: mud, mix: 2 paint + 1 water, on: boots},"
    "          {name: Edges, technique: layer, mix: 2 ebb + 1 tar, on: [oilskin, boots]},"
    "          {name: Sash, technique: layer, paint: tar, on: oilskin, for: serjeant},"
    "          {name: Mask, technique: mask, after: [Rope]},"
    "          {name: Pair, technique: glaze, paint: ebb, for: pair, after: Rope}]}";
enum { UNDERCOAT, ROPE, BOOTS, EDGES, SASH, MASK, PAIR };

static const struct cb_recipe *read_watch(struct cb_arena *arena)
{
    struct cb_issues issues = {0};
    const struct cb_tree *tree = world_read(watch, strlen(watch), arena, &issues);
    const struct cb_recipe *recipe =
        cb_recipe_from_tree(tree, watch, world_kinds(), arena, &issues);
    if (!recipe) {
        fail_msg("%s", issues.items[0].message);
    }
    return recipe;
}

static struct cb_revise revise_of(size_t stage, struct cb_arena *arena)
{
    return (struct cb_revise){.kinds = world_kinds(),
                              .recipe = read_watch(arena),
                              .stage = stage,
                              .to_do = UINT64_MAX,
                              .figures = 10,
                              .counted = 10,
                              .figure = 3};
}

static void test_begin(void **state)
{
    (void)state;
    static const struct {
        size_t stage;
        const char *texts[CB_REVISE_FIELDS];
    } rows[] = {
        {ROPE,
         {"Harbour mud", "acrylic", "this one", "usual", "2", "rope", "4", "after Undercoat", "all",
          "10", ""}},
        {BOOTS,
         {"Harbour mud", "acrylic", "this one", "2 paint + 1 water", "1", "boots", "", "after Rope",
          "all", "10", ""}},
        {EDGES,
         {"Ebb wash", "wash", "this one", "2 Ebb wash + 1 Tarred rope", "1", "oilskin, boots", "",
          "after Boots", "all", "10", ""}},
        {UNDERCOAT,
         {"Eel grey", "spray undercoat", NULL, "usual", "1", "all over", "", "first", "all", "10",
          ""}},
        {MASK, {NULL, NULL, NULL, NULL, "1", "all over", "", "after Sash", "all", "10", ""}},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_arena arena = {0};
        const char *texts[CB_REVISE_FIELDS];
        const struct cb_revise revise = revise_of(rows[i].stage, &arena);
        cb_revise_begin(&revise, texts, &arena);
        for (int f = 0; f < CB_REVISE_FIELDS; f++) {
            if (!texts[f] || !rows[i].texts[f]) {
                assert_ptr_equal(texts[f], rows[i].texts[f]);
            } else {
                assert_string_equal(texts[f], rows[i].texts[f]);
            }
        }
        cb_arena_fini(&arena);
    }
    struct cb_arena arena = {0};
    const char *texts[CB_REVISE_FIELDS];
    struct cb_revise revise = revise_of(ROPE, &arena);
    revise.to_do = 1U << ROPE; /* Boots are done */
    revise.these[0] = 7;
    revise.figure = 1;
    cb_revise_begin(&revise, texts, &arena);
    assert_null(texts[CB_REVISE_WITH]);
    assert_string_equal(texts[CB_REVISE_FOR], "1 to 3");
    assert_string_equal(texts[CB_REVISE_NAME], "Oake");
    cb_arena_fini(&arena);
}

/* At most a tenth of a minute, and no change while it stands so. */
static void test_minutes(void **state)
{
    (void)state;
    static const struct {
        double minutes;
        const char *text;
    } rows[] = {{25.6833333333333, "25.7"}, {4, "4"}, {1.5, "1.5"}, {1. / 3, "20 s"}, {90, "90"}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_arena arena = {0};
        const char *texts[CB_REVISE_FIELDS];
        struct cb_draft draft;
        struct cb_revised revised;
        struct cb_revise revise = revise_of(ROPE, &arena);
        cb_draft_of(&draft, revise.recipe);
        draft.stages[ROPE].work_min = rows[i].minutes;
        revise.recipe = &draft.recipe;
        cb_revise_begin(&revise, texts, &arena);
        assert_string_equal(texts[CB_REVISE_MINUTES], rows[i].text);
        cb_revise_read(&revise, texts, 0, &revised, &arena);
        assert_true(revised.draft->stages[ROPE].work_min == rows[i].minutes);
        cb_arena_fini(&arena);
    }
}

struct typed {
    enum cb_revise_field field;
    const char *text;
};

/* What differs by what was typed, or the fault at its field. */
static const char *told(const struct cb_revise *revise, const struct typed typed[3], unsigned yes,
                        struct cb_revised *revised, struct cb_arena *arena)
{
    const char *texts[CB_REVISE_FIELDS], *text = "";
    cb_revise_begin(revise, texts, arena);
    for (int i = 0; i < 3 && typed[i].text; i++) {
        texts[typed[i].field] = typed[i].text;
    }
    cb_revise_read(revise, texts, yes, revised, arena);
    if (revised->field >= 0) {
        assert_null(revised->draft);
        return cb_arena_printf(arena, "%d%s %s", revised->field, revised->asks ? "?" : ":",
                               revised->fault);
    }
    struct cb_recipe_match match;
    cb_recipe_match(revise->recipe, &revised->draft->recipe, revise->known, revise->known_count,
                    &match);
    const struct cb_recipe_diff diff =
        cb_recipe_diff(revise->recipe, &revised->draft->recipe, &match, revise->kinds, arena);
    for (size_t i = 0; i < diff.count; i++) {
        text = cb_arena_printf(arena, "%s%s%s", text, i > 0 ? "; " : "", diff.lines[i].text);
    }
    return text;
}

static void test_read(void **state)
{
    (void)state;
    static const struct {
        size_t stage;
        struct typed typed[3];
        const char *told;
    } rows[] = {
        {ROPE, {{0}}, ""},
        {ROPE, {{CB_REVISE_COATS, "3"}}, "Rope: 3 coats instead of 2"},
        {ROPE, {{CB_REVISE_MINUTES, "90 s"}}, "Rope: work of 1.5 min instead of 4 min"},
        {ROPE, {{CB_REVISE_MINUTES, "4,5"}}, "Rope: work of 4.5 min instead of 4 min"},
        {ROPE, {{CB_REVISE_MINUTES, "1 h 4,5 min"}}, "Rope: work of 64.5 min instead of 4 min"},
        {ROPE, {{CB_REVISE_MINUTES, ""}}, "Rope: work of the usual instead of 4 min"},
        {ROPE, {{CB_REVISE_AREAS, " Rope ,boots"}}, "Rope: on rope, boots instead of rope"},
        {ROPE, {{CB_REVISE_AREAS, "rope  boots"}}, "Rope: on rope, boots instead of rope"},
        {ROPE,
         {{CB_REVISE_AREAS, "rope boots, oilskin"}},
         "Rope: on oilskin, rope, boots instead "
         "of rope"},
        {ROPE, {{CB_REVISE_AREAS, "all over"}}, "Rope: all over instead of rope"},
        {ROPE, {{CB_REVISE_AREAS, ""}}, "Rope: all over instead of rope"},
        {ROPE, {{CB_REVISE_ORDER, "after Edges"}}, "Rope: now after Edges"},
        {ROPE, {{CB_REVISE_ORDER, "before boots"}}, ""},
        {ROPE, {{CB_REVISE_ORDER, "first"}}, "Undercoat: now after Rope"},
        {ROPE, {{CB_REVISE_ORDER, "last"}}, "Rope: now after Pair"},
        /* mixes */
        {ROPE, {{CB_REVISE_MIX, "2:1"}}, "Rope: 2 paint + 1 water instead of the usual mix"},
        {ROPE, {{CB_REVISE_MIX, "neat"}}, "Rope: neat instead of the usual mix"},
        {ROPE,
         {{CB_REVISE_MIX, "paint + 2 medium + 0.5 retarder"}},
         "Rope: 1 paint + 2 medium + 0.5 retarder instead of the usual mix"},
        {ROPE,
         {{CB_REVISE_MIX, "2 paint + 1 tarred  rope"}},
         "Rope: 2 Harbour mud + 1 Tarred rope instead of Harbour mud"},
        {ROPE,
         {{CB_REVISE_MIX, "2 mud + 1 tar"}},
         "Rope: 2 Harbour mud + 1 Tarred rope instead of Harbour mud"},
        {BOOTS, {{CB_REVISE_MIX, "usual"}}, "Boots: the usual mix instead of 2 paint + 1 water"},
        {BOOTS, {{CB_REVISE_MIX, "2 Paint + 1 Water"}}, ""},
        {EDGES,
         {{CB_REVISE_MIX, "2 Ebb wash"}},
         "Edges: Ebb wash instead of 2 Ebb wash + 1 Tarred rope"},
        /* a blend, as a quick line has it: its parts, thinned as is usual */
        {ROPE,
         {{CB_REVISE_PAINT, "2 mud + 1 Soot"}},
         "Rope: 4 Harbour mud + 2 Soot + 3 water instead of Harbour mud"},
        {ROPE,
         {{CB_REVISE_PAINT, "mud +"}},
         "0: + stands between two paints: green + black basecoat"},
        {ROPE,
         {{CB_REVISE_PAINT, "mud + tar"}, {CB_REVISE_MIX, "neat"}},
         "3: the mix is said twice; leave it, or name one paint above"},
        {ROPE,
         {{CB_REVISE_PAINT, "Tared rope"}},
         "0? Tared rope is new, did you mean Tarred rope? ENTER again adds it"},
        {ROPE,
         {{CB_REVISE_PAINT, "Soot + Tared rope"}},
         "0? Tared rope is new, did you mean Tarred rope? ENTER again adds it"},
        /* paints: for this stage, or for all that are to come */
        {ROPE, {{CB_REVISE_PAINT, "Tarred rope"}}, "Rope: Tarred rope instead of Harbour mud"},
        {ROPE, {{CB_REVISE_PAINT, "Kelp rope"}}, "Rope: Kelp rope instead of Harbour mud"},
        {ROPE,
         {{CB_REVISE_PAINT, "Kelp rope"}, {CB_REVISE_WITH, "all"}},
         "mud: Kelp rope instead of Harbour mud, dry after what is usual instead of 20 min"},
        {ROPE,
         {{CB_REVISE_PAINT, "Tarred rope"}, {CB_REVISE_WITH, "all"}},
         "Rope: Tarred rope instead of Harbour mud; Boots: Tarred rope instead of Harbour mud"},
        {ROPE, {{CB_REVISE_KIND, "Wash"}}, "Rope: wash instead of acrylic"},
        {BOOTS,
         {{CB_REVISE_PAINT, "Kelp"}, {CB_REVISE_MIX, "1 paint + 1 medium"}},
         "Boots: Kelp instead of Harbour mud, 1 paint + 1 medium instead of 2 paint + 1 water"},
        {EDGES,
         {{CB_REVISE_PAINT, "Kelp"}, {CB_REVISE_KIND, "acrylic"}},
         "Edges: 2 Kelp + 1 Tarred rope instead of 2 Ebb wash + 1 Tarred rope"},
        {EDGES,
         {{CB_REVISE_PAINT, "Kelp"}, {CB_REVISE_MIX, "1 Ebb wash + 1 water"}},
         "Edges: Kelp instead of 2 Ebb wash + 1 Tarred rope"},
        {UNDERCOAT,
         {{CB_REVISE_PAINT, "Grey"}, {CB_REVISE_KIND, "acrylic"}},
         "Undercoat: by brush instead of can; grey: Grey instead of Eel grey, acrylic instead of "
         "spray undercoat"},
        /* some figures */
        {ROPE,
         {{CB_REVISE_FOR, "3 to 5"}, {CB_REVISE_PAINT, "Kelp rope"}},
         "Rope on 3 to 5: Kelp rope instead of Harbour mud"},
        {ROPE,
         {{CB_REVISE_FOR, "1, 4-6 and 9"}, {CB_REVISE_COATS, "1"}, {CB_REVISE_WITH, "all"}},
         "Rope on 1, 4 to 6 and 9: 1 coat instead of 2"},
        {ROPE, {{CB_REVISE_FOR, "1-10"}, {CB_REVISE_COATS, "1"}}, "Rope: 1 coat instead of 2"},
        {SASH, {{CB_REVISE_FOR, "1"}, {CB_REVISE_COATS, "2"}}, "Sash: 2 coats instead of 1"},
        {PAIR, {{CB_REVISE_FOR, "10"}, {CB_REVISE_COATS, "2"}}, "Pair on 10: 2 coats instead of 1"},
        /* figures and names */
        {ROPE, {{CB_REVISE_FIGURES, "8"}}, ""},
        {ROPE,
         {{CB_REVISE_FIGURES, "12"}},
         "figures: 12 instead of 10; Pair: for 9 to 12 instead of 9 and 10"},
        {ROPE, {{CB_REVISE_NAME, "Serjeant  Pell"}}, "figure 3: Serjeant Pell instead of no name"},
        {MASK, {{CB_REVISE_COATS, "2"}}, "Mask: 2 coats instead of 1"},
        /* faults */
        {ROPE, {{CB_REVISE_PAINT, " "}}, "0: a paint is needed; name it"},
        {ROPE, {{CB_REVISE_KIND, "wsh"}}, "1: unknown kind: wsh; did you mean wash?"},
        {ROPE,
         {{CB_REVISE_KIND, "zzzz"}},
         "1: unknown kind: zzzz; there is acrylic, wash, texture paste, spray undercoat, oil"},
        {ROPE, {{CB_REVISE_MIX, "2 paint +"}}, "3: + of what? write it as in 2 paint + 1 water"},
        {ROPE, {{CB_REVISE_MIX, "0 paint"}}, "3: 0 paint: parts are a number above 0, at most 100"},
        {ROPE,
         {{CB_REVISE_MIX, "101 paint"}},
         "3: 101 paint: parts are a number above 0, at most 100"},
        {ROPE, {{CB_REVISE_MIX, "2 water"}}, "3: no paint in it; write it as in 2 paint + 1 water"},
        {ROPE,
         {{CB_REVISE_MIX, "1 mud + 1 paint"}},
         "3: paint stands in it twice; add the parts up"},
        {ROPE,
         {{CB_REVISE_MIX, "1 paint + 1 soot"}},
         "3? no paint soot; there is Harbour mud, Tarred rope, Ebb wash, Eel grey; "
         "ENTER again adds it, an acrylic"},
        {ROPE,
         {{CB_REVISE_PAINT, "Kelp"}, {CB_REVISE_MIX, "1 tar + 1 water"}},
         "3: nothing of Kelp in it"},
        {ROPE, {{CB_REVISE_COATS, "10"}}, "4: 10: coats are a whole number, 1 to 9"},
        {ROPE, {{CB_REVISE_COATS, "0"}}, "4: 0: coats are a whole number, 1 to 9"},
        {ROPE, {{CB_REVISE_COATS, ""}}, "4: : coats are a whole number, 1 to 9"},
        {ROPE,
         {{CB_REVISE_AREAS, "rope, bots"}},
         "5? no area bots; did you mean boots? ENTER again adds it"},
        {ROPE,
         {{CB_REVISE_AREAS, "rope sash"}},
         "5? no area rope sash; there is oilskin, rope, boots; ENTER again adds it"},
        {ROPE,
         {{CB_REVISE_MINUTES, ",5"}},
         "6: ,5: minutes, such as 4 or 90 s, a day at most; blank: what is usual"},
        {ROPE,
         {{CB_REVISE_AREAS, "sash"}},
         "5? no area sash; there is oilskin, rope, boots; ENTER again adds it"},
        {ROPE, {{CB_REVISE_AREAS, " , "}}, "5: name an area, or all over"},
        {ROPE,
         {{CB_REVISE_MINUTES, "soon"}},
         "6: soon: minutes, such as 4 or 90 s, a day at most; blank: what is usual"},
        {ROPE,
         {{CB_REVISE_MINUTES, "25 h"}},
         "6: 25 h: minutes, such as 4 or 90 s, a day at most; blank: what is usual"},
        {ROPE,
         {{CB_REVISE_ORDER, "after Rope"}},
         "7: no other stage Rope; RIGHT and LEFT show them"},
        {ROPE,
         {{CB_REVISE_ORDER, "Boots"}},
         "7: Boots: write first, last, after or before a stage, such as after Undercoat"},
        {ROPE,
         {{CB_REVISE_FOR, "3"}, {CB_REVISE_ORDER, "last"}},
         "7: the order is for all figures; leave it, or change on all"},
        {ROPE,
         {{CB_REVISE_FOR, "some"}},
         "8: some: all, or figures by their numbers, such as 3 to 5"},
        {ROPE,
         {{CB_REVISE_FOR, "5-3"}},
         "8: 5-3: all, or figures by their numbers, such as 3 to 5"},
        {ROPE,
         {{CB_REVISE_FOR, "3 to"}},
         "8: 3 to: all, or figures by their numbers, such as 3 to 5"},
        {ROPE, {{CB_REVISE_FOR, "12"}}, "8: figure 12 of 10; the unit has 1 to 10"},
        {SASH, {{CB_REVISE_FOR, "2"}}, "8: figure 2 has no Sash; it is for 1"},
        {ROPE, {{CB_REVISE_FIGURES, "100"}}, "9: 100: figures are a whole number, 1 to 99"},
        {ROPE, {{CB_REVISE_FIGURES, "0"}}, "9: 0: figures are a whole number, 1 to 99"},
        {ROPE, {{CB_REVISE_NAME, "oake"}}, "10: oake is the name of figure 1; make it another"},
        /* the first alone */
        {ROPE,
         {{CB_REVISE_COATS, "10"}, {CB_REVISE_KIND, "wsh"}},
         "1: unknown kind: wsh; did you mean wash?"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_arena arena = {0};
        struct cb_revised revised;
        const struct cb_revise revise = revise_of(rows[i].stage, &arena);
        assert_string_equal(told(&revise, rows[i].typed, 0, &revised, &arena), rows[i].told);
        cb_arena_fini(&arena);
    }
}

/* What was asked about is answered by a yes. */
static void test_yes(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_revised revised;
    const struct cb_revise revise = revise_of(ROPE, &arena);
    assert_string_equal(told(&revise, (struct typed[3]){{CB_REVISE_AREAS, "rope, sash"}},
                             1U << CB_REVISE_AREAS, &revised, &arena),
                        "Rope: on rope, sash instead of rope");
    assert_string_equal(told(&revise, (struct typed[3]){{CB_REVISE_MIX, "2 paint + 1 Soot"}},
                             1U << CB_REVISE_MIX, &revised, &arena),
                        "Rope: 2 Harbour mud + 1 Soot instead of Harbour mud");
    assert_int_equal(revised.draft->paints[revised.draft->recipe.paint_count - 1].kind, 0);
    cb_arena_fini(&arena);
}

/* One paint for another wherever it was to be: its own key stays, and nothing else is changed. */
static void test_swapped(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_revised revised;
    struct cb_revise revise = revise_of(ROPE, &arena);
    told(&revise, (struct typed[3]){{CB_REVISE_PAINT, "Kelp"}}, 0, &revised, &arena);
    assert_int_equal(revised.swapped, -1);
    told(&revise, (struct typed[3]){{CB_REVISE_PAINT, "Kelp"}, {CB_REVISE_WITH, "all"}}, 0,
         &revised, &arena);
    assert_int_equal(revised.swapped, 0);
    assert_string_equal(revised.draft->paints[0].key, "mud");
    assert_string_equal(revised.draft->paints[0].name, "Kelp");
    told(
        &revise,
        (struct typed[3]){{CB_REVISE_PAINT, "Kelp"}, {CB_REVISE_WITH, "all"}, {CB_REVISE_FOR, "3"}},
        0, &revised, &arena);
    assert_int_equal(revised.swapped, -1);
    revise = revise_of(UNDERCOAT, &arena);
    told(&revise, (struct typed[3]){{CB_REVISE_PAINT, "Kelp"}}, 0, &revised, &arena);
    assert_int_equal(revised.swapped, 3);
    cb_arena_fini(&arena);
}

/* The stage of some figures stands behind the other, is waited for as that is, and has a name of
 * its own that was no other's. */
static void test_part(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_revised revised;
    struct cb_revise revise = revise_of(ROPE, &arena);
    static const char *const known[] = {"Rope on 3 to 5"};
    told(&revise, (struct typed[3]){{CB_REVISE_COATS, "1"}, {CB_REVISE_FOR, "3-5"}}, 0, &revised,
         &arena);
    const struct cb_recipe *recipe = &revised.draft->recipe;
    assert_int_equal(revised.stage, ROPE + 1);
    assert_string_equal(recipe->stages[ROPE + 1].name, "Rope on 3 to 5");
    assert_true(cb_recipe_applies(recipe, ROPE, 2));
    assert_false(cb_recipe_applies(recipe, ROPE, 3));
    assert_true(cb_recipe_applies(recipe, ROPE + 1, 3));
    assert_false(cb_recipe_applies(recipe, ROPE + 1, 6));
    assert_int_equal(recipe->stages[MASK + 1].after, 3U << ROPE);
    for (int figure = 6; figure <= CB_FIGURES_MAX; figure++) { /* whoever comes is no exception */
        assert_true(cb_recipe_applies(recipe, ROPE, figure));
        assert_false(cb_recipe_applies(recipe, ROPE + 1, figure));
    }
    assert_int_equal(recipe->figures, 10);
    assert_non_null(
        strstr(cb_recipe_write(recipe, world_kinds(), NULL, &arena), "  not 3 to 5: [1-2, 6-]\n"));
    told(&revise,
         (struct typed[3]){
             {CB_REVISE_COATS, "1"}, {CB_REVISE_FOR, "9-10"}, {CB_REVISE_FIGURES, "12"}},
         0, &revised, &arena);
    assert_true(cb_recipe_applies(&revised.draft->recipe, ROPE, 11));
    assert_false(cb_recipe_applies(&revised.draft->recipe, ROPE + 1, 11));
    told(&revise, (struct typed[3]){{CB_REVISE_COATS, "1"}, {CB_REVISE_FOR, "3-5"}}, 0, &revised,
         &arena);
    revise.known = known;
    revise.known_count = 1;
    told(&revise, (struct typed[3]){{CB_REVISE_COATS, "1"}, {CB_REVISE_FOR, "3-5"}}, 0, &revised,
         &arena);
    assert_string_equal(revised.draft->stages[ROPE + 1].name, "Rope on 3 to 5 again");
    /* a part of a part */
    revise.recipe = &revised.draft->recipe;
    revise.stage = ROPE + 1;
    told(&revise, (struct typed[3]){{CB_REVISE_COATS, "3"}, {CB_REVISE_FOR, "4"}}, 0, &revised,
         &arena);
    assert_string_equal(revised.draft->stages[ROPE + 2].name, "Rope on 3 to 5 again on 4");
    revise = revise_of(PAIR, &arena);
    told(&revise, (struct typed[3]){{CB_REVISE_COATS, "3"}, {CB_REVISE_FOR, "9"}}, 0, &revised,
         &arena);
    assert_int_equal(revised.draft->stages[PAIR + 1].after, 1U << ROPE);
    cb_arena_fini(&arena);
}

static void test_turn(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_revise revise = revise_of(ROPE, &arena);
    static const struct {
        enum cb_revise_field field;
        const char *text;
        int step;
        const char *next;
    } rows[] = {
        {CB_REVISE_PAINT, "Harbour mud", 1, "Tarred rope"},
        {CB_REVISE_PAINT, "Harbour mud", -1, "Eel grey"},
        {CB_REVISE_PAINT, "Kelp", 1, "Harbour mud"},
        {CB_REVISE_PAINT, "Kelp", -1, "Eel grey"},
        {CB_REVISE_KIND, "oil", 1, "acrylic"},
        {CB_REVISE_WITH, "this one", 1, "all"},
        {CB_REVISE_WITH, "all", 1, "this one"},
        {CB_REVISE_MIX, "usual", 1, "usual"},
        {CB_REVISE_COATS, "2", 1, "3"},
        {CB_REVISE_COATS, "9", 1, "9"},
        {CB_REVISE_COATS, "1", -1, "1"},
        {CB_REVISE_FIGURES, "10", 1, "11"},
        {CB_REVISE_ORDER, "after Undercoat", 1, "after Boots"},
        {CB_REVISE_ORDER, "after Undercoat", -1, "first"},
        {CB_REVISE_ORDER, "first", -1, "after Pair"},
        {CB_REVISE_FOR, "all", 1, "3"},
        {CB_REVISE_FOR, "3", 1, "all"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        assert_string_equal(
            cb_revise_turn(&revise, rows[i].field, rows[i].text, rows[i].step, &arena),
            rows[i].next);
    }
    revise.these[0] = 7;
    assert_string_equal(cb_revise_turn(&revise, CB_REVISE_FOR, "all", 1, &arena), "1 to 3");
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_begin), cmocka_unit_test(test_minutes), cmocka_unit_test(test_read),
        cmocka_unit_test(test_yes),   cmocka_unit_test(test_swapped), cmocka_unit_test(test_part),
        cmocka_unit_test(test_turn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
