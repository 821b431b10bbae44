/* SPDX-License-Identifier: MIT */
/* coatbell(1) and the program can't disagree: its KEYS are the list of actions, and its commands
 * and options those of the table. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/str.h"
#include "command/command.h"
#include "app/action.h"
#include "core/recipe/config.h"

static char *manual;

static int read_manual(void **state)
{
    (void)state;
    FILE *file = fopen("man/coatbell.1", "r");
    if (file == NULL) {
        return -1;
    }
    manual = calloc(1, 256 * 1024);
    size_t got = fread(manual, 1, 256 * 1024 - 1, file);
    fclose(file);
    return got > 0 ? 0 : -1;
}

static int free_manual(void **state)
{
    (void)state;
    free(manual);
    return 0;
}

/* The section from its heading to the next; the caller frees. */
static char *section(const char *heading)
{
    char line[64];
    snprintf(line, sizeof line, "\n.Sh %s\n", heading);
    char *from = strstr(manual, line);
    assert_non_null(from);
    from += strlen(line);
    char *to = strstr(from, "\n.Sh ");
    assert_non_null(to);
    return strndup(from, (size_t)(to - from) + 1);
}

/* The entry of an action as the manual has it. */
static void add_entry(struct cb_str *out, enum cb_action action)
{
    const char *key = cb_action_keys(action);
    cb_str_add(out, ".It");
    for (const char *first = key; *key != '\0'; key += strspn(key, " ")) {
        /* mdoc takes a lone ? for punctuation */
        cb_str_addf(out, "%s Li %s", key == first ? "" : " ,", key[0] == '?' ? "\\&" : "");
        size_t length = strcspn(key, " ");
        cb_str_add_n(out, key, length);
        key += length;
    }
    cb_str_addf(out, " Pq Ic %s\n", cb_action_name(action));
    for (const char *at = cb_action_help(action); *at != '\0'; at++) {
        bool ends = at[0] == '.' && at[1] == ' '; /* mdoc: a sentence, a line */
        cb_str_add_n(out, ends ? ".\n" : at, ends ? 2 : 1);
        at += ends ? 1 : 0;
    }
    cb_str_add(out, "\n");
}

static void test_keys(void **state)
{
    (void)state;
    struct cb_str wanted = {0};
    for (int action = 0; action < CB_ACTION_COUNT; action++) {
        add_entry(&wanted, (enum cb_action)action);
    }
    cb_str_add(&wanted, ".El\n");
    char *keys = section("KEYS");
    const char *list = strstr(keys, ".It ");
    assert_non_null(list);
    /* The list whole, in the order of the code: nothing more, nothing less. */
    char *end = strstr(keys, ".El\n");
    assert_non_null(end);
    end[4] = '\0';
    assert_string_equal(list, cb_str_text(&wanted));
    free(keys);
    cb_str_fini(&wanted);
}

static void test_commands_and_options(void **state)
{
    (void)state;
    char *description = section("DESCRIPTION");
    for (size_t i = 0; cb_commands[i] != NULL; i++) {
        char head[64];
        snprintf(head, sizeof head, "\n.It Ic %s", cb_commands[i]->name);
        char *entry = strstr(description, head);
        if (entry == NULL) {
            fail_msg("coatbell(1) does not know the command %s", cb_commands[i]->name);
        }
        /* To the next entry of another command; `log` has several of its own. */
        char *end = entry + 1;
        while ((end = strstr(end, "\n.It Ic ")) != NULL && strncmp(end, head, strlen(head)) == 0) {
            end++;
        }
        size_t length = end != NULL ? (size_t)(end - entry) : strlen(entry);
        char *text = strndup(entry, length);
        const struct cb_option *option = cb_commands[i]->options;
        for (; option != NULL && option->name != NULL; option++) {
            char flag[64];
            snprintf(flag, sizeof flag, "Fl %s", option->name + 1);
            if (strstr(text, flag) == NULL) {
                fail_msg("coatbell(1) does not know %s %s", cb_commands[i]->name, option->name);
            }
        }
        free(text);
    }
    free(description);
}

/* Each key of config.yaml with its default has an entry; `settings` lists them all. */
static void test_settings(void **state)
{
    (void)state;
    char *files = section("FILES");
    for (int i = 0; i < CB_SETTING_COUNT; i++) {
        const enum cb_setting setting = (enum cb_setting)i;
        if (setting == CB_SETTING_TITLE || setting == CB_SETTING_TERMINAL ||
            setting == CB_SETTING_ON_RING || setting == CB_SETTING_SENSOR) {
            continue; /* nobody goes by them yet */
        }
        struct cb_arena arena = {0};
        const char *value = cb_config_value(&cb_config_default, setting, &arena);
        const bool any = setting == CB_SETTING_EVENING || setting == CB_SETTING_KEYS;
        const char *entry =
            cb_arena_printf(&arena, "\n.It Li %s: %s", cb_setting_names[i], any ? "" : value);
        if (strstr(files, entry) == NULL) {
            fail_msg("coatbell(1), FILES, has no entry%s", entry);
        }
        cb_arena_fini(&arena);
    }
    free(files);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_keys),
        cmocka_unit_test(test_commands_and_options),
        cmocka_unit_test(test_settings),
    };
    return cmocka_run_group_tests(tests, read_manual, free_manual);
}
