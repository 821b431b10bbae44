/* SPDX-License-Identifier: MIT */
/* The parts of recipes and settings that need no file: durations, names, hints, config. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/recipe/config.h"
#include "core/recipe/recipe.h"
#include "core/recipe/schema.h"

static void test_minutes(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double minutes; /* NAN: refused */
    } rows[] = {
        {"12", 12},         {"1.5", 1.5},      {"90 s", 1.5},    {"90s", 1.5},
        {"12 min", 12},     {"2 h", 120},      {"2h30m", 150},   {"2 h 30 min", 150},
        {"1 h 30 s", 60.5}, {" 4 ", 4},        {"0", 0},         {"1 minute", 1},
        {"", NAN},          {" ", NAN},        {"-1", NAN},      {"abc", NAN},
        {"nan", NAN},       {"inf", NAN},      {"1e3", NAN},     {"0x10", NAN},
        {"30m2h", NAN},     {"2 h 2 h", NAN},  {"2 h 30", NAN},  {"h", NAN},
        {"1.2.3", NAN},     {"12 min x", NAN}, {"12 min,", NAN}, {"1 d", NAN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double minutes = -7;
        bool taken = cb_recipe_minutes(rows[i].text, &minutes);
        if (taken != !isnan(rows[i].minutes) ||
            (taken && fabs(minutes - rows[i].minutes) > 1e-12)) {
            fail_msg("%s gives %d, %g", rows[i].text, taken, minutes);
        }
        if (!taken) {
            assert_float_equal(minutes, -7, 0);
        }
    }
}

static void test_pot_key(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    assert_string_equal(cb_pot_key("Tarred  ROPE ", "acrylic", &arena),
                        cb_pot_key("tarred rope", "acrylic", &arena));
    assert_string_not_equal(cb_pot_key("Tarred rope", "wash", &arena),
                            cb_pot_key("Tarred rope", "acrylic", &arena));
    assert_string_not_equal(cb_pot_key("a b", "c", &arena), cb_pot_key("a", "b c", &arena));
    cb_arena_fini(&arena);
}

static void test_hints(void **state)
{
    (void)state;
    static const char *const names[] = {"undercoat", "basecoat", NULL, "wash", "by"};
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    struct cb_schema schema = {&arena, &issues};
    static const struct {
        const char *word, *hint;
    } rows[] = {
        {"undrcoat", "; did you mean undercoat?"},
        {"base coat", "; did you mean basecoat?"},
        {"wsh", "; did you mean wash?"},
        {"bz", "; did you mean by?"},
        {"was", "; did you mean wash?"}, /* a third of the letters may be wrong */
        {"wax", "; there is undercoat, basecoat, wash, by"},
        {"wush", "; did you mean wash?"},
        {"muth", "; there is undercoat, basecoat, wash, by"},
        {"unterkoad", "; did you mean undercoat?"},
        {"umterkoad", "; there is undercoat, basecoat, wash, by"}, /* three at the most */
        {"", "; there is undercoat, basecoat, wash, by"},
        {"entirely else", "; there is undercoat, basecoat, wash, by"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_string_equal(cb_schema_hint(&schema, rows[i].word, names, 5), rows[i].hint);
    }
    assert_string_equal(cb_schema_hint(&schema, "x", names, 0), "");
    cb_arena_fini(&arena);
}

static void test_mix(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_mix none = {0};
    assert_int_equal(cb_mix_paint(&none), -1);
    assert_string_equal(cb_mix_text(NULL, &none, true, &arena), "");
    struct cb_mix mix = {
        .count = 3,
        .parts = {{CB_MIX_PAINT, -1, 2.5}, {CB_MIX_RETARDER, -1, 1}, {CB_MIX_WATER, -1, 1}}};
    assert_string_equal(cb_mix_text(NULL, &mix, true, &arena), "2.5 paint + 1 retarder + 1 water");
    assert_float_equal(cb_mix_sum(&mix, CB_MIX_WATER), 1, 0);
    assert_float_equal(cb_mix_sum(&mix, CB_MIX_MEDIUM), 0, 0);
    struct cb_mix blend = {.count = 2, .parts = {{CB_MIX_PAINT, 3, 1}, {CB_MIX_PAINT, 1, 2}}};
    assert_int_equal(cb_mix_paint(&blend), 1);
    cb_arena_fini(&arena);
}

/* Trees by hand: this floor knows no YAML. */
#define TEXT(line_, column_, text_)                                                                \
    {                                                                                              \
        .type = CB_TREE_TEXT, .line = (line_), .column = (column_), .text = (text_)                \
    }

static void test_config_default(void **state)
{
    (void)state;
    const struct cb_config *config = cb_config_from_tree(NULL, NULL, &(struct cb_issues){0});
    assert_int_equal(config->ping, CB_PING_NEEDED);
    assert_float_equal(config->confidence, 0.8, 0);
    assert_true(config->bell);
    assert_true(isnan(config->drops_per_ml));
    assert_false(config->calm);
    assert_float_equal(config->evening_min, 0, 0);
}

static void test_config(void **state)
{
    (void)state;
    const struct cb_tree on_keys[] = {TEXT(7, 18, "SPACE"), TEXT(7, 25, "PageDown")};
    const struct cb_tree actions[] = {TEXT(7, 8, "coat-on"), TEXT(8, 8, "dry")};
    const struct cb_tree bindings[] = {
        {.type = CB_TREE_LIST, .line = 7, .column = 17, .count = 2, .items = on_keys},
        TEXT(8, 13, "d"),
    };
    const struct cb_tree keys[] = {
        TEXT(1, 1, "ping"),  TEXT(2, 1, "confidence"), TEXT(3, 1, "units"),
        TEXT(4, 1, "ascii"), TEXT(5, 1, "bell"),       TEXT(6, 1, "drops"),
        TEXT(7, 1, "keys"),  TEXT(9, 1, "calm"),       TEXT(10, 1, "evening")};
    const struct cb_tree items[] = {
        TEXT(1, 7, "every"),
        TEXT(2, 13, "90 %"),
        TEXT(3, 8, "fahrenheit"),
        TEXT(4, 8, "yes"),
        TEXT(5, 7, "no"),
        TEXT(6, 8, "24"),
        {.type = CB_TREE_MAP,
         .line = 7,
         .column = 7,
         .count = 2,
         .keys = actions,
         .items = bindings},
        TEXT(9, 7, "yes"),
        TEXT(10, 10, "2h30m"),
    };
    const struct cb_tree tree = {
        .type = CB_TREE_MAP, .line = 1, .column = 1, .count = 9, .keys = keys, .items = items};
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    const struct cb_config *config = cb_config_from_tree(&tree, &arena, &issues);
    assert_non_null(config);
    assert_int_equal(config->ping, CB_PING_EVERY);
    assert_float_equal(config->confidence, 0.9, 1e-12);
    assert_true(config->fahrenheit);
    assert_true(config->ascii);
    assert_false(config->bell);
    assert_float_equal(config->drops_per_ml, 24, 0);
    assert_true(config->calm);
    assert_float_equal(config->evening_min, 150, 1e-9);
    assert_int_equal(config->key_count, 3);
    assert_string_equal(config->keys[1].action, "coat-on");
    assert_string_equal(config->keys[1].key, "PageDown");
    assert_int_equal(config->keys[1].column, 25);
    assert_string_equal(config->keys[2].key, "d");
    cb_arena_fini(&arena);
}

static void test_config_refused(void **state)
{
    (void)state;
    static const struct {
        const char *key, *value, *message;
    } rows[] = {
        {"ping", "always", "unknown word: always"},
        {"png", "every", "did you mean ping?"},
        {"confidence", "40 %", "must be 50 to 95 %"},
        {"confidence", "96", "must be 50 to 95 %"},
        {"units", "kelvin", "unknown word: kelvin"},
        {"drops", "0", "must be 5 to 200"},
        {"calm", "rather", "rather"},
        {"evening", "5 min", "must be 15"},
        {"bell", "", "bell: is empty"},
        {"keys", "x", "keys: must be a map"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct cb_tree key = TEXT(3, 1, rows[i].key);
        const struct cb_tree item = TEXT(3, 9, rows[i].value);
        const struct cb_tree tree = {
            .type = CB_TREE_MAP, .line = 3, .column = 1, .count = 1, .keys = &key, .items = &item};
        struct cb_arena arena = {0};
        struct cb_issues issues = {0};
        assert_null(cb_config_from_tree(&tree, &arena, &issues));
        assert_int_equal(issues.count, 1);
        assert_int_equal(issues.items[0].line, 3);
        assert_non_null(strstr(issues.items[0].message, rows[i].message));
        cb_arena_fini(&arena);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_minutes),        cmocka_unit_test(test_pot_key),
        cmocka_unit_test(test_hints),          cmocka_unit_test(test_mix),
        cmocka_unit_test(test_config_default), cmocka_unit_test(test_config),
        cmocka_unit_test(test_config_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
