/* SPDX-License-Identifier: MIT */
/* What `settings` says is what config.yaml says: every value it shows reads back as the same one,
 * every line it proposes is read, and changes that setting and no other. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "app/keymap.h"
#include "base/str.h"
#include "core/recipe/config.h"
#include "shell/yaml.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static const struct cb_config *read(struct cb_arena *arena, const char *text)
{
    struct cb_issues issues = {0};
    const struct cb_tree *tree = cb_yaml_read(text, strlen(text), arena, &issues);
    const struct cb_config *config = cb_config_from_tree(tree, arena, &issues);
    if (config == NULL) {
        fail_msg("%s\n%s", text, issues.count > 0 ? issues.items[0].message : "?");
    }
    return config;
}

static void assert_same(const char *text, const struct cb_config *a, const struct cb_config *b,
                        enum cb_setting but, struct cb_arena *arena)
{
    for (int i = 0; i < CB_SETTING_COUNT; i++) {
        const char *one = cb_config_value(a, (enum cb_setting)i, arena);
        const char *other = cb_config_value(b, (enum cb_setting)i, arena);
        if (cb_str_same(one, other) == (i == (int)but)) {
            fail_msg("%s\n%s: %s and %s", text, cb_setting_names[i], one, other);
        }
    }
}

/* A file with every key in turn, in several ways. */
static const char *const files[] = {
    "{}",
    "ping: every\nconfidence: 95 %\nunits: fahrenheit\ntime: 12h\ntheme: light\nascii: yes\n"
    "quiet_clock: yes\ntitle: no\nterminal: no\nbell: no\non_ring: [sh, -c, 'a: \"b\"']\n"
    "calm: yes\nevening: 2h30m\nsensor: any\ndrops: 24\nkeys: {coat-on: [SPACE, F9], dry: 'D'}\n",
    ("ping: off\nconfidence: 50\ntheme: mono\nevening: 15\nsensor: [read, 'the room']\ndrops: 5.5\n"
     "keys: {\"dry\": [\"[\", \"{\", \"#\", \"'\", ',']}\non_ring: lamp\n"),
    "theme: dark\nsensor: off\nkeys: {}\non_ring: []\nunits: C\nconfidence: .8\n",
};

static void test_lines(void **state)
{
    (void)state;
    for (size_t f = 0; f < COUNT(files); f++) {
        struct cb_arena arena = {0};
        const struct cb_config *config = read(&arena, files[f]);
        struct cb_str all = {0};
        for (int i = 0; i < CB_SETTING_COUNT; i++) {
            const enum cb_setting setting = (enum cb_setting)i;
            const char *value = cb_config_value(config, setting, &arena);
            if (value != NULL) {
                cb_str_addf(&all, "%s: %s\n", cb_setting_names[i], value);
            }
        }
        assert_same(files[f], config, read(&arena, cb_str_text(&all)), CB_SETTING_COUNT, &arena);
        for (int i = 0; i < CB_SETTING_COUNT; i++) {
            const enum cb_setting setting = (enum cb_setting)i;
            struct cb_str line = {0};
            for (int k = 0; k < CB_SETTING_COUNT; k++) {
                const char *value = k == i ? cb_config_other(config, setting)
                                           : cb_config_value(config, (enum cb_setting)k, &arena);
                if (value != NULL) {
                    cb_str_addf(&line, "%s: %s\n", cb_setting_names[k], value);
                }
            }
            const struct cb_config *changed = read(&arena, cb_str_text(&line));
            assert_same(cb_str_text(&line), config, changed, setting, &arena);
            struct cb_keymap keymap;
            struct cb_err err = {0};
            if (setting == CB_SETTING_KEYS) {
                assert_int_equal(cb_keymap_init(&keymap, changed, &err), CB_OK);
            }
            cb_str_fini(&line);
        }
        cb_str_fini(&all);
        cb_arena_fini(&arena);
    }
}

/* Of each key the line where it stands. */
static void test_places(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    const struct cb_config *config = read(&arena, files[1]);
    for (int i = 0; i < CB_SETTING_COUNT; i++) {
        assert_int_equal(config->lines[i], i + 1);
        assert_int_equal(cb_config_default.lines[i], 0);
    }
    config = read(&arena, "# mine\n\ntheme: dark\nkeys:\n  dry: D\nbell: no\n");
    assert_int_equal(config->lines[CB_SETTING_THEME], 3);
    assert_int_equal(config->lines[CB_SETTING_KEYS], 4);
    assert_int_equal(config->lines[CB_SETTING_BELL], 6);
    assert_int_equal(config->lines[CB_SETTING_PING], 0);
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lines),
        cmocka_unit_test(test_places),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
