/* SPDX-License-Identifier: MIT */
/* The cues that come along: their lengths, moments, sources and words; and what is wrong in a file
 * of cues, and where. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/utf8.h"
#include "core/coach/cue.h"
#include "shell/paths.h"
#include "shell/yaml.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static struct cb_arena arena;
static const struct cb_kinds *kinds;
static const struct cb_cues *shared;

static int set_up(void **state)
{
    (void)state;
    struct cb_err err = {0};
    return cb_paths_kinds(&arena, &kinds, &err) == CB_OK &&
                   cb_paths_cues(&arena, false, kinds, &shared, &err) == CB_OK
               ? 0
               : -1;
}

static int tear_down(void **state)
{
    (void)state;
    cb_arena_fini(&arena);
    return 0;
}

/* The words with which a cue tells what to do. */
static const char *const orders[] = {
    "Scrape", "Pin",       "Wash",   "Number", "Fill",  "Wipe",   "Shake", "Spray",  "Mist",
    "Keep",   "Turn",      "Pull",   "Cover",  "Look",  "Plan",   "Put",   "Thin",   "Paint",
    "Start",  "Leave",     "Stroke", "Hold",   "Tidy",  "Stir",   "Give",  "Finish", "Change",
    "Wet",    "Add",       "Warm",   "End",    "Use",   "Stand",  "Shade", "Touch",  "Carry",
    "Build",  "Run",       "Stop",   "Take",   "Flick", "Spread", "Press", "Let",    "Seal",
    "Do not", "Highlight", "Peel",   "Try",    "Wait",  "Air",    "Set",   "Lay",    "Freshen"};

static void test_every_text(void **state)
{
    (void)state;
    assert_true(shared->count >= 60);
    size_t by_moment[CB_CUE_MOMENT_COUNT] = {0};
    for (size_t i = 0; i < shared->count; i++) {
        const struct cb_cue *cue = &shared->cues[i];
        bool told = false;
        for (size_t k = 0; k < COUNT(orders); k++) {
            const size_t length = strlen(orders[k]);
            told = told || (strncmp(cue->text, orders[k], length) == 0 && cue->text[length] == ' ');
        }
        if (!told) {
            fail_msg("%s does not say what to do: %s", cue->id, cue->text);
        }
        const char last = cue->text[strlen(cue->text) - 1];
        assert_true(cb_utf8_text_width(cue->text) <= 48);
        assert_true(last == '.' || last == '?');
        assert_null(strchr(cue->text, '\n'));
        assert_true(cue->source[0] != '\0');
        if (!strstr(cue->source, "common practice, no source")) {
            assert_non_null(strstr(cue->source, "energy balance")); /* the one that has more */
        }
        assert_false(cue->own);
        for (size_t k = 0; k < i; k++) {
            const bool timed = cue->moment == CB_CUE_AFTER_COAT;
            if (!timed && strcmp(cue->text, shared->cues[k].text) == 0) {
                fail_msg("%s says what %s says", cue->id, shared->cues[k].id);
            }
        }
        by_moment[cue->moment]++;
    }
    for (size_t m = 0; m < CB_CUE_MOMENT_COUNT; m++) {
        if (by_moment[m] == 0) {
            fail_msg("no cue at the moment: %s", cb_cue_moment_name((enum cb_cue_moment)m));
        }
    }
}

/* Each technique is told of before its stage. */
static void test_every_technique(void **state)
{
    (void)state;
    for (size_t t = 0; t < CB_TECHNIQUE_COUNT; t++) {
        bool told = false;
        for (size_t i = 0; i < shared->count; i++) {
            told = told || (shared->cues[i].moment == CB_CUE_BEFORE_STAGE &&
                            (shared->cues[i].techniques >> t & 1));
        }
        if (!told) {
            fail_msg("nothing is said before: %s", cb_technique_name((enum cb_technique)t));
        }
    }
}

#define HEAD "coatbell-cues: 1\ncues:\n  a:\n    when: opening\n    text: Look.\n"

static const struct fault {
    const char *text;
    int line, column;
    const char *says;
} faults[] = {
    {"cues: {}\n", 1, 1, "coatbell-cues: is missing"},
    {"coatbell-cues: 2\n", 1, 16, "must be a whole number"},
    {"coatbell-cues: 1\ncue: {}\n", 2, 1, "did you mean cues?"},
    {"coatbell-cues: 1\ncues: [a]\n", 2, 7, "must be a map"},
    {"coatbell-cues: 1\ncues:\n  A b: {when: opening, text: Look.}\n", 3, 3, "no name of a cue"},
    {"coatbell-cues: 1\ncues:\n  a: {when: openin, text: Look.}\n", 3, 13, "did you mean opening?"},
    {"coatbell-cues: 1\ncues:\n  a: {text: Look.}\n", 3, 6, "when: is missing"},
    {"coatbell-cues: 1\ncues:\n  a: {when: opening}\n", 3, 6, "text: is missing"},
    {HEAD "    technique: [wash, gaze]\n", 6, 23, "did you mean glaze?"},
    {HEAD "    kind: watr\n", 6, 11, "unknown word: watr"},
    {HEAD "    by: tongs\n", 6, 9, "unknown word: tongs"},
    {HEAD "    mix: oily\n", 6, 10, "unknown word: oily"},
    {HEAD "    tone: lightr\n", 6, 11, "did you mean lighter?"},
    {HEAD "    coat_from: 0\n", 6, 16, "1 to 99"},
    {HEAD "    temp_over: 99 C\n", 6, 16, "-20 to 60"},
    {HEAD "    coat_from: 3\n    coat_to: 2\n", 7, 14, "never said"},
    {HEAD "    coats_from: 3\n    coats_to: 2\n", 7, 15, "never said"},
    {HEAD "    figures_from: 3\n    figures_to: 2\n", 7, 17, "never said"},
    {HEAD "    temp_over: 20\n    temp_under: 20\n", 7, 17, "never said"},
    {HEAD "    humidity_over: 60\n    humidity_under: 40\n", 7, 21, "never said"},
    {HEAD "    shaken_over: soon\n", 6, 18, "write minutes"},
    {HEAD "    weight: 101\n", 6, 13, "0 to 100"},
    {HEAD "    until: 6 %\n", 6, 12, "`after coat` alone"},
    {HEAD "    colour: red\n", 6, 5, "unknown key: colour"},
    {"coatbell-cues: 1\ncues:\n  a: {when: opening, text: \"Look at {figure}.\"}\n", 3, 28,
     "`after coat` alone"},
    {"coatbell-cues: 1\ncues:\n  a: {when: after coat, text: \"See {figures}.\"}\n", 3, 31,
     "braces is {figure}"},
    {"coatbell-cues: 1\ncues:\n  a:\n    when: opening\n"
     "    text: Look at this line which is by one column too wide\n",
     5, 11, "columns wide: at most 48"},
    {"coatbell-cues: 1\ncues:\n  a: {when: opening, text: \"Look \\u202E up.\"}\n", 3, 28,
     "control"},
    {"coatbell-cues: 1\ncues:\n  a: {when: opening, text: \"Look \\e[31m.\"}\n", 3, 28, "control"},
};

static void test_faults(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(faults); i++) {
        struct cb_issues none = {0}, issues = {0};
        const struct cb_tree *tree =
            cb_yaml_read(faults[i].text, strlen(faults[i].text), &arena, &issues);
        if (tree) {
            assert_null(cb_cues_from_tree(NULL, tree, kinds, &arena, &none, &issues));
        }
        assert_int_equal(none.count, 0);
        if (issues.count == 0 || !strstr(issues.items[0].message, faults[i].says) ||
            issues.items[0].line != faults[i].line || issues.items[0].column != faults[i].column) {
            fail_msg("%s: %d:%d: %s", faults[i].text, issues.items[0].line, issues.items[0].column,
                     issues.count ? issues.items[0].message : "nothing is wrong");
        }
    }
}

/* What is too long, or not meant for a screen, never becomes a cue. */
static void test_hostile(void **state)
{
    (void)state;
    static const char *const heads[] = {"", "\xE2\x80\xAE", "\xC2\x9B", "\xEF\xBB\xBF",
                                        "\xE2\x80\x8B"};
    for (size_t i = 0; i < COUNT(heads); i++) {
        struct cb_str text = {0};
        struct cb_issues none = {0}, issues = {0};
        cb_str_addf(&text, "coatbell-cues: 1\ncues:\n  a:\n    when: opening\n    text: Look %s",
                    heads[i]);
        for (int n = 0; n < (i == 0 ? 10000 : 3); n++) {
            cb_str_add(&text, "x");
        }
        cb_str_add(&text, "\n");
        const struct cb_tree *tree = cb_yaml_read(cb_str_text(&text), text.length, &arena, &issues);
        if (tree) {
            assert_null(cb_cues_from_tree(NULL, tree, kinds, &arena, &none, &issues));
        }
        assert_true(issues.count > 0);
        cb_str_fini(&text);
    }
}

static const struct cb_cues *with(const char *own_text)
{
    static const char ours_text[] = "coatbell-cues: 1\ncues:\n"
                                    "  a: {when: opening, text: Look., source: x}\n"
                                    "  b: {when: stage end, text: Wait., source: y, weight: 10}\n";
    struct cb_issues ours_issues = {0}, own_issues = {0};
    const struct cb_tree *ours = cb_yaml_read(ours_text, strlen(ours_text), &arena, &ours_issues);
    const struct cb_tree *own = cb_yaml_read(own_text, strlen(own_text), &arena, &own_issues);
    const struct cb_cues *cues =
        cb_cues_from_tree(ours, own, kinds, &arena, &ours_issues, &own_issues);
    assert_non_null(cues);
    return cues;
}

static void test_own(void **state)
{
    (void)state;
    const struct cb_cues *cues =
        with("coatbell-cues: 1\ncues:\n  b: {when: when dry, text: Touch the scrap.}\n"
             "  c: {when: opening, text: Put the kettle on.}\n");
    assert_int_equal(cues->count, 3);
    assert_string_equal(cues->cues[1].id, "b"); /* in the place of ours */
    assert_string_equal(cues->cues[1].text, "Touch the scrap.");
    assert_int_equal(cues->cues[1].moment, CB_CUE_WHEN_DRY);
    assert_true(cues->cues[1].own);
    assert_string_equal(cues->cues[1].source, "your own cues.yaml");
    assert_string_equal(cues->cues[2].id, "c");
    assert_int_equal(cues->cues[2].weight, 60);
    assert_false(cues->cues[0].own);
    assert_int_equal(with("coatbell-cues: 1\n")->count, 2);
}

/* Ours has a source always. */
static void test_source_is_wanted(void **state)
{
    (void)state;
    static const char text[] = "coatbell-cues: 1\ncues:\n  a: {when: opening, text: Look.}\n";
    struct cb_issues ours = {0}, own = {0};
    const struct cb_tree *tree = cb_yaml_read(text, strlen(text), &arena, &ours);
    assert_null(cb_cues_from_tree(tree, NULL, kinds, &arena, &ours, &own));
    assert_int_equal(ours.count, 1);
    assert_non_null(strstr(ours.items[0].message, "source: is missing"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_text), cmocka_unit_test(test_every_technique),
        cmocka_unit_test(test_faults),     cmocka_unit_test(test_hostile),
        cmocka_unit_test(test_own),        cmocka_unit_test(test_source_is_wanted),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
