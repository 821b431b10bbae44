/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "app/key.h"
#include "app/keymap.h"
#include "app/words.h"

static void names(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        uint32_t key;
    } cases[] = {
        {"SPACE", CB_KEY_SPACE},
        {"space", CB_KEY_SPACE},
        {"Enter", CB_KEY_ENTER},
        {"BACKSPACE", CB_KEY_BACKSPACE},
        {"PageDown", CB_KEY_PAGEDOWN},
        {"F1", CB_KEY_F1},
        {"f12", CB_KEY_F12},
        {"f", 'f'},
        {"R", 'R'},
        {"_", '_'},
        {"?", '?'},
        {"\u00FC", 0xFC},
        {"tab", CB_KEY_TAB},
        {"esc", CB_KEY_ESC},
    };
    char out[16];
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        uint32_t key = 0, again = 0;
        assert_true(cb_key_from_name(cases[i].name, &key));
        assert_int_equal(key, cases[i].key);
        assert_true(cb_key_from_name(cb_key_name(key, out), &again));
        assert_int_equal(key, again);
    }
    static const char *const bad[] = {"", "F0", "F13", "F1x", "ab", "\x1b", "\u202E"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        uint32_t key;
        assert_false(cb_key_from_name(bad[i], &key));
    }
}

static void default_keys_all_work(void **state)
{
    (void)state;
    struct cb_keymap keymap;
    struct cb_err err = {0};
    assert_int_equal(cb_keymap_init(&keymap, NULL, &err), CB_OK);
    static const struct {
        uint32_t key;
        enum cb_action action;
    } cases[] = {
        {CB_KEY_SPACE, CB_ACTION_COAT_ON},
        {CB_KEY_PAGEDOWN, CB_ACTION_COAT_ON},
        {'a', CB_ACTION_COAT_ON_REST},
        {'d', CB_ACTION_DRY},
        {'b', CB_ACTION_DONE_BEFORE},
        {CB_KEY_ENTER, CB_ACTION_NONE}, /* it answers what a line asks */
        {'w', CB_ACTION_WET},
        {'+', CB_ACTION_COAT_ADD},
        {'_', CB_ACTION_COAT_SPARE},
        {CB_KEY_BACKSPACE, CB_ACTION_UNDO},
        {'u', CB_ACTION_UNDO},
        {'r', CB_ACTION_REDO},
        {'R', CB_ACTION_RELOAD},
        {CB_KEY_F1 + 4, CB_ACTION_VIEW_REVIEW},
        {'?', CB_ACTION_HELP},
        {'5', CB_ACTION_NONE},
        {'-', CB_ACTION_NONE},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        assert_int_equal(cb_keymap_action(&keymap, cases[i].key), cases[i].action);
    }
    for (size_t i = 0; i < CB_ACTION_COUNT; i++) {
        enum cb_action action;
        assert_true(cb_action_from_name(cb_action_name((enum cb_action)i), &action));
        assert_int_equal(action, i);
        assert_true(cb_keymap_name(&keymap, action)[0] != '\0');
        assert_true(cb_action_help(action)[0] != '\0');
    }
}

static void own_keys_replace_defaults(void **state)
{
    (void)state;
    static const struct cb_config_key rows[] = {{"coat-on", "z", 3, 5}, {"undo", "w", 4, 5}};
    static const struct cb_config_key bad[] = {{"coat-off", "z", 3, 5}, {"undo", "7", 4, 9}};
    struct cb_config config = cb_config_default;
    struct cb_keymap keymap;
    struct cb_err err = {0};
    config.keys = rows;
    config.key_count = 2;
    assert_int_equal(cb_keymap_init(&keymap, &config, &err), CB_OK);
    assert_int_equal(cb_keymap_action(&keymap, 'z'), CB_ACTION_COAT_ON);
    assert_int_equal(cb_keymap_action(&keymap, CB_KEY_SPACE), CB_ACTION_NONE);
    assert_int_equal(cb_keymap_action(&keymap, 'w'), CB_ACTION_UNDO);
    config.keys = bad;
    assert_int_equal(cb_keymap_init(&keymap, &config, &err), CB_DATA);
    assert_non_null(strstr(err.text, "3:5"));
    config.keys = bad + 1;
    config.key_count = 1;
    assert_int_equal(cb_keymap_init(&keymap, &config, &err), CB_DATA); /* digits are counts */
    assert_int_equal(cb_keymap_action(&keymap, CB_KEY_BACKSPACE), CB_ACTION_UNDO);
}

static void figures_in_words(void **state)
{
    (void)state;
    static const struct {
        int figures[8];
        size_t count;
        const char *text;
    } cases[] = {
        {{4}, 1, "4"},
        {{1, 2}, 2, "1 and 2"},
        {{1, 2, 3, 4}, 4, "1 to 4"},
        {{1, 3, 5, 6, 7}, 5, "1, 3 and 5 to 7"},
        {{1, 2, 9}, 3, "1, 2 and 9"},
        {{3, 8, 9}, 3, "3, 8 and 9"},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        assert_string_equal(cb_words_figures(&arena, cases[i].figures, cases[i].count),
                            cases[i].text);
    }
    cb_arena_fini(&arena);
}

static void countdown(void **state)
{
    (void)state;
    static const struct {
        int64_t left_ms;
        const char *digits, *unit;
    } cases[] = {
        {-5000, "0", "s"},       {0, "0", "s"},           {1, "1", "s"},
        {60000, "60", "s"},      {60001, "2", "min"},     {108000, "2", "min"},
        {120000, "2", "min"},    {120001, "3", "min"},    {99 * 60000, "99", "min"},
        {100 * 60000, "2", "h"}, {5 * 3600000, "5", "h"}, {20 * 3600000, "20", "h"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char digits[16];
        assert_string_equal(cb_words_left(cases[i].left_ms, digits), cases[i].unit);
        assert_string_equal(digits, cases[i].digits);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names),
        cmocka_unit_test(default_keys_all_work),
        cmocka_unit_test(own_keys_replace_defaults),
        cmocka_unit_test(figures_in_words),
        cmocka_unit_test(countdown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
