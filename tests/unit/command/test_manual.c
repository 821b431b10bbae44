/* SPDX-License-Identifier: MIT */
/* coatbell(1) and the program can't disagree: its KEYS are the list of actions, its commands and
 * options those of the table, and its GLOSSARY has every technique, tool, kind and state. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/action.h"
#include "app/words.h"
#include "base/str.h"
#include "command/command.h"
#include "core/paint/kinds.h"
#include "core/recipe/config.h"
#include "shell/paths.h"

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

/* The part of the glossary under that heading; the caller frees. */
static char *glossary(const char *heading)
{
    char *all = section("GLOSSARY"), line[64];
    snprintf(line, sizeof line, ".Ss %s\n", heading);
    const char *from = strstr(all, line);
    assert_non_null(from);
    const char *to = strstr(from, ".El\n");
    assert_non_null(to);
    char *part = strndup(from, (size_t)(to - from));
    free(all);
    return part;
}

static void has_entry(const char *part, const char *word)
{
    char line[64];
    snprintf(line, sizeof line, "\n.It %s\n", word);
    if (strstr(part, line) == NULL) {
        fail_msg("the GLOSSARY of coatbell(1) has no entry for: %s", word);
    }
}

static void test_glossary(void **state)
{
    (void)state;
    char *trade = glossary("The words of the trade"), *states = glossary("The words of state");
    for (int i = 0; i < CB_TECHNIQUE_COUNT; i++) {
        has_entry(trade, cb_technique_name((enum cb_technique)i));
    }
    for (int i = 0; i < CB_BY_COUNT; i++) {
        if (i != CB_BY_BRUSH) { /* which is no word of the trade */
            has_entry(trade, cb_by_name((enum cb_by)i));
        }
    }
    struct cb_arena arena = {0};
    const struct cb_kinds *kinds;
    struct cb_err err = {0};
    assert_int_equal(cb_paths_kinds(&arena, &kinds, &err), CB_OK);
    for (size_t i = 0; i < kinds->kind_count; i++) {
        has_entry(trade, kinds->kinds[i].name);
    }
    cb_arena_fini(&arena);
    for (int i = 0; i < CB_STATE_COUNT; i++) {
        has_entry(states, cb_words_looks[i].word);
    }
    free(trade);
    free(states);
}

/* One meaning a word: none has two entries, and those of the trade stand by the alphabet. */
static void test_glossary_order(void **state)
{
    (void)state;
    char *all = section("GLOSSARY"), seen[128][64];
    size_t count = 0, sorted_from = 0;
    const char *trade = strstr(all, ".Ss The words of the trade");
    for (const char *at = all; (at = strstr(at, "\n.It ")) != NULL; count++) {
        at += 5;
        assert_true(count < 128);
        snprintf(seen[count], sizeof seen[count], "%.*s", (int)strcspn(at, "\n"), at);
        for (size_t i = 0; i < count; i++) {
            if (strcmp(seen[i], seen[count]) == 0) {
                fail_msg("two entries: %s", seen[i]);
            }
        }
        sorted_from = at < trade ? count + 1 : sorted_from;
        if (count > sorted_from && strcmp(seen[count - 1], seen[count]) >= 0) {
            fail_msg("%s stands before %s", seen[count - 1], seen[count]);
        }
    }
    assert_true(count > 60);
    free(all);
}

/* Each key of config.yaml with its default has an entry; `settings` lists them all. */
static void test_settings(void **state)
{
    (void)state;
    char *files = section("FILES");
    for (int i = 0; i < CB_SETTING_COUNT; i++) {
        const enum cb_setting setting = (enum cb_setting)i;
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
        cmocka_unit_test(test_keys),     cmocka_unit_test(test_commands_and_options),
        cmocka_unit_test(test_glossary), cmocka_unit_test(test_glossary_order),
        cmocka_unit_test(test_settings),
    };
    return cmocka_run_group_tests(tests, read_manual, free_manual);
}
