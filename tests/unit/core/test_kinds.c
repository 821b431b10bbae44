/* SPDX-License-Identifier: MIT */
/* The tables of kinds: what is read, which row is found, parts of a mix, and every fault by its
 * place. The shared table itself is looked at in tests/unit/shell/test_recipe_file.c. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "core/paint/kinds.h"
#include "support/world.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))
#define USUAL       "{film: 20, a: 1, mix: neat, minutes: 4, waste: 2, source: x}"

static const char table[] =
    "{coatbell-kinds: 1,\n"
    "mediums: {medium: {solids: 0.02, source: x},\n"
    " retarder: {solids: 0.03, slows: 4, source: x}},\n"
    "kinds: {\n"
    "acrylic: {law: water, solids: 0.33, min_film: 10, source: x},\n"
    "ink: {law: water, solids: 0.12, pot_sd: 0.2, source: x},\n"
    "oil: {law: oil, solvent: yes, source: x}},\n"
    "priors: [\n"
    "{kind: [acrylic, ink], technique: basecoat, mix: 2 paint + water,"
    " film: 25, solids: 0.22, a: 1, m: 1.25, source: x},\n"
    "{kind: acrylic, technique: basecoat, by: can, film: 30, solids: 0.3,"
    " a: 1, m: 1.2, minutes: 9, source: x},\n"
    "{kind: oil, technique: wash, minutes: 2160, source: x}],\n"
    "techniques: {\n"
    "undercoat: " USUAL ",\nbasecoat: " USUAL ",\nlayer: " USUAL ",\ndrybrush: " USUAL
    ",\nwash: " USUAL ",\nrecess shade: " USUAL ",\nglaze: " USUAL ",\nedge highlight: " USUAL
    ",\ntexture: " USUAL ",\nvarnish: " USUAL ",\ntransfer: " USUAL ",\nprepare: " USUAL
    ",\nmask: " USUAL ",\nunmask: " USUAL ",\njoin: " USUAL "}}";

struct reading {
    struct cb_arena arena;
    struct cb_issues issues, more_issues;
};

/* The table with one text for another, and a table of one's own (NULL: none). */
static const struct cb_kinds *read(struct reading *reading, const char *old, const char *new,
                                   const char *own)
{
    const char *at = strstr(table, old);
    assert_non_null(at);
    const char *text = cb_arena_printf(&reading->arena, "%.*s%s%s", (int)(at - table), table, new,
                                       at + strlen(old));
    const struct cb_tree *tree = world_read(text, strlen(text), &reading->arena, &reading->issues);
    const struct cb_tree *more =
        own ? world_read(own, strlen(own), &reading->arena, &reading->more_issues) : NULL;
    return cb_kinds_from_tree(tree, more, &reading->arena, &reading->issues, &reading->more_issues);
}

static void test_read(void **state)
{
    (void)state;
    struct reading reading = {0};
    size_t acrylic = 0, ink = 0, oil = 0;
    const struct cb_kinds *kinds = read(&reading, "", "", NULL);
    assert_non_null(kinds);
    assert_int_equal(kinds->kind_count, 3);
    assert_true(cb_kinds_find(kinds, "acrylic", &acrylic) && cb_kinds_find(kinds, "ink", &ink));
    assert_true(cb_kinds_find(kinds, "oil", &oil) && !cb_kinds_find(kinds, "Oil", &oil));
    assert_true(fabs(kinds->kinds[acrylic].min_film_c - 10) < 1e-9);
    assert_true(isnan(kinds->kinds[ink].min_film_c) && isnan(kinds->kinds[oil].solids));
    /* pot_sd where it is not said */
    assert_true(fabs(kinds->kinds[acrylic].pot_sd - .30) < 1e-9);
    assert_true(fabs(kinds->kinds[ink].pot_sd - .20) < 1e-9);
    assert_true(fabs(kinds->kinds[oil].pot_sd - .50) < 1e-9);
    assert_true(kinds->kinds[oil].solvent_caution && !kinds->kinds[oil].sprayed);
    assert_true(fabs(kinds->retarder_slows - 4) < 1e-9);
    assert_true(fabs(kinds->medium_solids - .02) < 1e-9);
    assert_true(fabs(kinds->retarder_solids - .03) < 1e-9);
    /* of the same tool, else of any, else the first of the pair */
    static const struct {
        int kind; /* in order */
        enum cb_technique technique;
        enum cb_by by;
        double film_um; /* 0: none; -1: has no film */
    } rows[] = {
        {0, CB_TECHNIQUE_BASECOAT, CB_BY_CAN, 30},  {0, CB_TECHNIQUE_BASECOAT, CB_BY_SPONGE, 25},
        {1, CB_TECHNIQUE_BASECOAT, CB_BY_CAN, 25},  {0, CB_TECHNIQUE_WASH, CB_BY_BRUSH, 0},
        {2, CB_TECHNIQUE_BASECOAT, CB_BY_BRUSH, 0}, {2, CB_TECHNIQUE_WASH, CB_BY_BRUSH, -1},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct cb_prior *row =
            cb_kinds_prior(kinds, (size_t)rows[i].kind, rows[i].technique, rows[i].by);
        assert_int_equal(row != NULL, rows[i].film_um < 0 || rows[i].film_um > 0);
        if (rows[i].film_um > 0) {
            assert_true(fabs(row->film_um - rows[i].film_um) < 1e-9);
            assert_true(isnan(row->median_min)); /* follows from the model */
        } else if (row) {
            assert_true(fabs(row->median_min - 2160) < 1e-9);
        }
    }
    const struct cb_prior *row = cb_kinds_prior(kinds, 0, CB_TECHNIQUE_BASECOAT, CB_BY_BRUSH);
    assert_true(fabs(row->usual_paint - 2) < 1e-9 && fabs(row->usual_water - 1) < 1e-9);
    cb_arena_fini(&reading.arena);
}

/* A table of one's own adds and wins; whatever says something else is another edition. */
static void test_own(void **state)
{
    (void)state;
    static const char *const own = "{coatbell-kinds: 1, kinds: {chalk: {law: water, solids: 0.4},"
                                   " ink: {law: solvent}}, priors: [{kind: ink, technique: layer,"
                                   " minutes: 5}], techniques: {wash: {minutes: 7}}}";
    struct reading reading = {0};
    const struct cb_kinds *shared = read(&reading, "", "", NULL);
    const struct cb_kinds *both = read(&reading, "", "", own);
    assert_non_null(both);
    assert_int_equal(both->kind_count, 4);
    assert_string_equal(both->kinds[3].source, "your own kinds.yaml");
    assert_int_equal(both->kinds[1].law, CB_LAW_SOLVENT);
    /* rows of the law it had are gone */
    assert_null(cb_kinds_prior(both, 1, CB_TECHNIQUE_BASECOAT, CB_BY_BRUSH));
    assert_non_null(cb_kinds_prior(both, 1, CB_TECHNIQUE_LAYER, CB_BY_BRUSH));
    assert_true(fabs(both->techniques[CB_TECHNIQUE_WASH].minutes - 7) < 1e-9);
    assert_true(fabs(both->techniques[CB_TECHNIQUE_WASH].film_um - 20) < 1e-9);
    static const char *const changes[][2] = {
        {"solids: 0.33", "solids: 0.34"}, {"ink:", "inks:"}, {"minutes: 2160", "minutes: 2161"}};
    assert_string_equal(shared->edition,
                        read(&reading, "1,\nmediums", "1, mediums", NULL)->edition);
    assert_string_not_equal(shared->edition, both->edition);
    for (size_t i = 0; i < COUNT(changes); i++) {
        const struct cb_kinds *other =
            read(&reading, changes[i][0], changes[i][1],
                 i == 1 ? "{coatbell-kinds: 1, kinds: {ink: {law: water, solids: 0.1}}}" : NULL);
        assert_true(other == NULL || strcmp(other->edition, shared->edition) != 0);
    }
    cb_arena_fini(&reading.arena);
}

static void test_faults(void **state)
{
    (void)state;
    static const struct {
        const char *old, *new;
        int line, column;
        const char *message;
    } cases[] = {
        {"coatbell-kinds: 1", "coatbell-kinds: 2", 1, 1, "does not say coatbell-kinds: 1"},
        {"mediums:", "medium:", 2, 1, "unknown key: medium (did you mean mediums?)"},
        {"retarder:", "thinner:", 3, 2, "unknown key: thinner"},
        {"slows: 4", "slows: 101", 3, 34, "slows: 101 (a number from 0 to 100)"},
        {"solids: 0.33", "solid: 0.33", 5, 23, "unknown key: solid (did you mean solids?)"},
        {"law: water, solids: 0.33", "law: tar, solids: 0.33", 5, 10,
         "acrylic: no law (water, solvent or oil)"},
        {"solids: 0.33", "solids: 0.95", 5, 31, "solids: 0.95 (a number from 0.01 to 0.9)"},
        {" solids: 0.33,", "", 5, 10, "acrylic: no solids"},
        {"min_film: 10", "min_film: 61", 5, 47, "min_film: 61 (a number from -20 to 60)"},
        {"min_film: 10", "min_film: [1]", 5, 47, "min_film is not a word or number"},
        {"pot_sd: 0.2", "pot_sd: 2", 6, 41, "pot_sd: 2 (a number from 0.05 to 1.5)"},
        {"oil: {law: oil, solvent: yes, source: x}", "oil: red", 7, 6, "a kind is not a map"},
        {"solvent: yes", "solvent: maybe", 7, 26, "solvent: maybe (yes or no)"},
        {"solvent: yes, source: x", "solvent: yes", 7, 6, "no source"},
        {"[acrylic, ink]", "[acrylic, tar]", 9, 18, "unknown kind: tar"},
        {"kind: [acrylic, ink], ", "", 9, 1, "no kind: a row of priors names one"},
        {"technique: basecoat, mix", "technique: base, mix", 9, 1, "unknown one: base"},
        {"technique: basecoat, mix", "mix", 9, 1, "unknown one: missing"},
        {"2 paint + water", "2 paints", 9, 50, "mix: 2 paints (neat, or such as"},
        {"2 paint + water", "2 water", 9, 50, "mix: 2 water (neat, or such as"},
        {"film: 25, ", "", 9, 9, "acrylic: the row lacks film, solids, a or m"},
        {"film: 25", "film: 0.4", 9, 73, "film: 0.4 (a number from 0.5 to 10000)"},
        {"by: can", "by: hand", 10, 42, "by: hand (brush, can, airbrush or sponge)"},
        {"minutes: 2160", "minutes: 0", 11, 39, "minutes: 0 (a number from 0.1 to 100000)"},
        {", minutes: 2160", "", 11, 8, "oil: the row lacks minutes"},
        {",\n{kind: oil, technique: wash, minutes: 2160, source: x}", "", 1, 1,
         "oil: a solvent or oil kind wants a row of priors with minutes"},
        {"basecoat: {film", "base coats: {film", 14, 1, "unknown technique: base coats"},
        {"undercoat: " USUAL, "undercoat: 3", 13, 12, "a technique is not a map"},
        {"undercoat: {film: 20, ", "undercoat: {", 1, 1, "undercoat: the technique lacks film"},
        {"waste: 2", "waste: 0.5", 13, 59, "waste: 0.5 (a number from 1 to 20)"},
        {"priors: [", "priors: {a: 1}, old: [", 8, 9, "priors is not a list"},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct reading reading = {0};
        assert_null(read(&reading, cases[i].old, cases[i].new, NULL));
        bool found = false;
        for (size_t f = 0; f < reading.issues.count; f++) {
            const struct cb_issue *issue = &reading.issues.items[f];
            found = found || (issue->line == cases[i].line && issue->column == cases[i].column &&
                              strstr(issue->message, cases[i].message));
        }
        if (!found) {
            const struct cb_issue *first = &reading.issues.items[0];
            fail_msg("%s: %d:%d %s, wanted %d:%d %s", cases[i].new, first->line, first->column,
                     first->message, cases[i].line, cases[i].column, cases[i].message);
        }
        cb_arena_fini(&reading.arena);
    }
}

static void test_parts(void **state)
{
    (void)state;
    static const struct {
        const char *text, *back; /* NULL: no such thing */
    } cases[] = {
        {"neat", "neat"},
        {"paint", "neat"},
        {"2 paint + 1 water", "2 paint + 1 water"},
        {"2paint+water", "2 paint + 1 water"},
        {"paint + 1/2 medium", "1 paint + 0.5 medium"},
        {"3/4 water + 1.5 paint + retarder", "1.5 paint + 1 retarder + 0.75 water"},
        {"paint + paint + water", "2 paint + 1 water"},
        {"1000 paint", "neat"},
        {"1001 paint", NULL},
        {"0 paint", NULL},
        {"1/0 paint", NULL},
        {"", NULL},
        {"2", NULL},
        {"paint +", NULL},
        {"paint water", NULL},
        {"paint + tea", NULL},
        {"-1 paint", NULL},
        {"Neat", NULL},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct cb_parts parts = {0};
        const bool good = cb_kinds_parse_parts(cases[i].text, &parts);
        assert_int_equal(good, cases[i].back != NULL);
        if (good) {
            assert_string_equal(cb_kinds_parts_text(&parts, &arena), cases[i].back);
        }
    }
    assert_string_equal(cb_kinds_parts_text(&(struct cb_parts){0}, &arena), "");
    cb_arena_fini(&arena);
}

static void test_words(void **state)
{
    (void)state;
    for (int i = 0; i < CB_TECHNIQUE_COUNT; i++) {
        enum cb_technique technique = CB_TECHNIQUE_COUNT;
        assert_true(cb_technique_from_name(cb_technique_name((enum cb_technique)i), &technique));
        assert_int_equal((int)technique, i);
        assert_int_equal(cb_technique_needs_paint(technique), i <= CB_TECHNIQUE_VARNISH);
        assert_int_equal(cb_technique_may_have_paint(technique), i <= CB_TECHNIQUE_TRANSFER);
    }
    for (int i = 0; i < CB_BY_COUNT; i++) {
        enum cb_by by = CB_BY_COUNT;
        assert_true(cb_by_from_name(cb_by_name((enum cb_by)i), &by) && (int)by == i);
    }
    assert_false(cb_technique_from_name("Wash", &(enum cb_technique){0}));
    assert_false(cb_by_from_name("", &(enum cb_by){0}));
}

/* A word of the trade means one technique and one kind; most of them are no words of ours. */
static void test_trade_words(void **state)
{
    (void)state;
    static const struct {
        const char *word, *technique, *kind;
    } rows[] = {
        {"base", "basecoat", "acrylic"},
        {"Spray  Primer", "undercoat", "spray undercoat"},
        {"METAL", "basecoat", "metallic"},
        {"varnish", "varnish", "brush varnish"},
        {"texture", "texture", "texture paste"},
        {"shade", "wash", "wash"},
        {"highlight", "edge highlight", "acrylic"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct cb_trade_word *word = cb_trade_word(rows[i].word);
        assert_non_null(word);
        assert_string_equal(cb_technique_name(word->technique), rows[i].technique);
        assert_string_equal(word->kind, rows[i].kind);
    }
    assert_null(cb_trade_word(""));
    assert_null(cb_trade_word("all"));
    assert_null(cb_trade_word("gravy"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_read),   cmocka_unit_test(test_own),
        cmocka_unit_test(test_faults), cmocka_unit_test(test_parts),
        cmocka_unit_test(test_words),  cmocka_unit_test(test_trade_words),
    };
    return cmocka_run_group_tests_name("kinds", tests, NULL, NULL);
}
