/* SPDX-License-Identifier: MIT */
/* What the reader refuses, where it says so, and what it gives for the rest. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/str.h"
#include "shell/yaml.h"

struct refused {
    const char *text;
    int line, column;
    const char *message; /* a part of it */
};

static const struct refused refusals[] = {
    {"", 1, 1, "nothing in the file"},
    {"# only a comment\n", 1, 1, "nothing in the file"},
    {"a: 1\n\tb: 2\n", 2, 1, "tab"},
    {"a: 1\nb:\t2\n", 2, 3, "tab"},
    {"name: 'no end\nb: 2\n", 1, 7, "never closed"},
    {"name: \"no end\nb: 2\n", 1, 7, "never closed"},
    {"a: 1\nname: 'no end\nsay: Serjeant's sash\n", 2, 7, "never closed"},
    {"a: 'one\nb: 'two'\n", 1, 4, "never closed"},
    {"a: [1, 2\nb: 3\n", 1, 4, "[ that is never closed"},
    {"a: {b: 2\nc: 3\n", 1, 4, "{ that is never closed"},
    {"a: 1\nb: 2\na: 3\n", 3, 1, "key given twice: a; it stands in line 1"},
    {"a: {b: 1, b: 2}\n", 1, 11, "key given twice: b"},
    {"a: *x\n", 1, 4, "alias"},
    {"a: &x 1\n", 1, 4, "anchor"},
    {"a: &x [1]\n", 1, 4, "anchor"},
    {"&x a: 1\n", 1, 1, "anchor"},
    {"a: !!str 1\n", 1, 4, "tag"},
    {"a: !mine {b: 1}\n", 1, 4, "tag"},
    {"a: !<tag:example.org,2000:x> 1\n", 1, 4, "tag"},
    {"a: 1\n---\nb: 1\n", 2, 1, "second document"},
    {"%YAML 1.1\n---\na: 1\n", 1, 1, "directive"},
    {"%TAG ! tag:example.org,2000:\n---\na: 1\n", 1, 1, "directive"},
    {"a: 1\n  b: 2\n", 2, 4, "no key can stand"},
    {"a: x: y\n", 1, 5, "no key can stand"},
    {"a: 1\nsome words\nb: 2\n", 2, 1, "text without a key"},
    {"a: @x\n", 1, 4, "quotes"},
    {"a: `x`\n", 1, 4, "quotes"},
    {"a:\n- 1\n- 2\nb\n", 4, 1, "text without a key"},
    {"a: \x01\n", 1, 4, "U+0001"},
    {"a: \x1b[31m\n", 1, 4, "U+001B"},
    {"a: b\xC2\x9B"
     "c\n",
     1, 5, "U+009B"},
    {"\xC3\xA4: b\xE2\x80\xAE\n", 1, 5, "U+202E"}, /* columns are characters */
    {"a: \"\\x1b[2J\"\n", 1, 4, "escape of a control"},
    {"a: \xFF\n", 1, 4, "byte 0xFF: this is not UTF-8"},
    {"a: \xC3\n", 1, 4, "not UTF-8"},
    {"[1]: x\n", 1, 1, "where a key should stand"},
    {"{a: b}: x\n", 1, 1, "where a key should stand"},
    {"a: [[[[[[[1]]]]]]]\nb: [[[[[[[[1]]]]]]]]\n", 2, 11, "more than 8 deep"},
    {"- - - - - - - - - 1\n", 1, 17, "more than 8 deep"},
    {"a:\n b:\n  c:\n   d:\n    e:\n     f:\n      g:\n       h:\n        i: 1\n", 9, 9,
     "more than 8 deep"},
};

static void test_refusals(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof refusals / sizeof refusals[0]; i++) {
        const struct refused *row = &refusals[i];
        struct cb_arena arena = {0};
        struct cb_issues issues = {0};
        const struct cb_tree *tree = cb_yaml_read(row->text, strlen(row->text), &arena, &issues);
        if (tree != NULL || issues.count == 0) {
            fail_msg("taken: %s", row->text);
        }
        if (issues.items[0].line != row->line || issues.items[0].column != row->column ||
            strstr(issues.items[0].message, row->message) == NULL) {
            fail_msg("%s\n%d:%d: %s, not %d:%d: %s", row->text, issues.items[0].line,
                     issues.items[0].column, issues.items[0].message, row->line, row->column,
                     row->message);
        }
        cb_arena_fini(&arena);
    }
}

static void test_tree(void **state)
{
    (void)state;
    static const char text[] = "\xEF\xBB\xBF# head\n"
                               "name: Wick white   # not of the name\n"
                               "list: [a, 'it''s', \"q\\\"q\"]\n"
                               "empty:\n"
                               "say: >-\n"
                               "  two\n"
                               "  lines\n"
                               "odd: a [[[[[[[[[[ b\n"
                               "map: {k: v}\r\n";
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    const struct cb_tree *tree = cb_yaml_read(text, sizeof text - 1, &arena, &issues);
    assert_non_null(tree);
    assert_int_equal(tree->type, CB_TREE_MAP);
    assert_int_equal(tree->count, 6);
    assert_string_equal(cb_tree_get(tree, "name")->text, "Wick white");
    assert_int_equal(cb_tree_get(tree, "name")->line, 2);
    assert_int_equal(cb_tree_get(tree, "name")->column, 7);
    const struct cb_tree *list = cb_tree_get(tree, "list");
    assert_int_equal(list->type, CB_TREE_LIST);
    assert_int_equal(list->count, 3);
    assert_string_equal(list->items[1].text, "it's");
    assert_string_equal(list->items[2].text, "q\"q");
    assert_int_equal(list->items[1].column, 11);
    assert_string_equal(cb_tree_get(tree, "empty")->text, "");
    assert_string_equal(cb_tree_get(tree, "say")->text, "two lines");
    assert_string_equal(cb_tree_get(tree, "odd")->text, "a [[[[[[[[[[ b");
    assert_string_equal(cb_tree_get(cb_tree_get(tree, "map"), "k")->text, "v");
    assert_int_equal(tree->keys[5].line, 9);
    assert_null(cb_tree_get(tree, "absent"));
    cb_arena_fini(&arena);
}

static double seconds_of(const char *text, size_t length, struct cb_issues *issues,
                         struct cb_arena *arena)
{
    struct timespec from, to;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &from);
    (void)cb_yaml_read(text, length, arena, issues);
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &to);
    return (double)(to.tv_sec - from.tv_sec) + (double)(to.tv_nsec - from.tv_nsec) * 1e-9;
}

/* libyaml alone took 13.7 s for 65 536 brackets (measured). */
static void test_hostile_nesting_is_quick(void **state)
{
    (void)state;
    static const char *const units[] = {"[",    "{", "[{",   "{a: ", "- ",  "? ",    "a: [",
                                        "[a, ", "'", "\"\\", "x[",   "[\n", "- - [", "[#\n"};
    static char text[200001];
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        size_t unit = strlen(units[i]);
        for (int small = 0; small < 2; small++) {
            size_t length = small == 1 ? CB_YAML_BYTES_MAX : 200000;
            for (size_t at = 0; at < length; at++) {
                text[at] = units[i][at % unit];
            }
            struct cb_arena arena = {0};
            struct cb_issues issues = {0};
            double seconds = seconds_of(text, length, &issues, &arena);
            assert_true(small == 1 || issues.count > 0);
            /* Sanitizers included; the program itself needs a few milliseconds. */
            if (seconds > 1.0) {
                fail_msg("%zu bytes of %s: %.2f s", length, units[i], seconds);
            }
            cb_arena_fini(&arena);
        }
    }
    memset(text, '[', 200000);
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    seconds_of(text, 200000, &issues, &arena);
    assert_int_equal(issues.count, 2);
    assert_int_equal(issues.items[0].line, 1);
    assert_int_equal(issues.items[0].column, 9);
    assert_int_equal(issues.items[1].column, 65537);
    cb_arena_fini(&arena);
}

static void test_size_is_placed(void **state)
{
    (void)state;
    static char text[CB_YAML_BYTES_MAX + 10];
    struct cb_arena arena = {0};
    memset(text, 'x', sizeof text);
    memcpy(text, "a: 1\nb: ", 8);
    struct cb_issues issues = {0};
    assert_null(cb_yaml_read(text, CB_YAML_BYTES_MAX + 1, &arena, &issues));
    assert_int_equal(issues.count, 1);
    assert_int_equal(issues.items[0].line, 2);
    assert_int_equal(issues.items[0].column, CB_YAML_BYTES_MAX - 5 + 1);
    issues = (struct cb_issues){0};
    assert_non_null(cb_yaml_read(text, CB_YAML_BYTES_MAX, &arena, &issues));
    cb_arena_fini(&arena);
}

/* The text that is looked through for the place ends before the limit. */
static void test_nul_in_what_is_too_long(void **state)
{
    (void)state;
    static char text[CB_YAML_BYTES_MAX + 10];
    for (size_t at = 0; at < CB_YAML_BYTES_MAX; at += CB_YAML_BYTES_MAX / 3) {
        struct cb_arena arena = {0};
        struct cb_issues issues = {0};
        memset(text, '\n', sizeof text);
        text[at] = '\0';
        assert_null(cb_yaml_read(text, sizeof text, &arena, &issues));
        assert_non_null(strstr(issues.items[0].message, "file of more than"));
        assert_int_equal(issues.items[0].line, (int)at + 1);
        cb_arena_fini(&arena);
    }
}

static void test_printing(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    struct cb_str out = {0};
    cb_issues_add(&issues, &arena, 2, 6, "what \x1b[2J is wrong");
    cb_issues_add(&issues, &arena, 9, 1, "no such line");
    cb_issues_print(&issues, "a\nb.yaml", "one\n\xE5\xA4\x9C: \x1b[1m\n", &out);
    assert_string_equal(cb_str_text(&out), "a?b.yaml:2:6: what ?[2J is wrong\n"
                                           "    \xE5\xA4\x9C: ?[1m\n"
                                           "          ^\n"
                                           "a?b.yaml:9:1: no such line\n");
    cb_str_fini(&out);
    cb_arena_fini(&arena);
}

static void test_long_lines_are_cut(void **state)
{
    (void)state;
    static char text[5001];
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    struct cb_str out = {0};
    memset(text, 'y', 5000);
    text[3999] = 'X';
    cb_issues_add(&issues, &arena, 1, 4000, "here");
    cb_issues_print(&issues, "f", text, &out);
    const char *source = strchr(cb_str_text(&out), '\n') + 1;
    const char *under = strchr(source, '\n') + 1;
    assert_true(strlen(cb_str_text(&out)) < 250);
    assert_int_equal(strchr(source, 'X') - source, strchr(under, '^') - under);
    cb_str_fini(&out);
    cb_arena_fini(&arena);
}

static void test_files(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    char *text = NULL;
    size_t length = 0;
    struct cb_err err = {0};
    const char *base = getenv("TMPDIR");
    char *folder = cb_arena_printf(&arena, "%s/yaml.XXXXXX", base != NULL ? base : "/tmp");
    assert_non_null(mkdtemp(folder));
    char *fifo = cb_arena_printf(&arena, "%s/fifo", folder);
    char *file = cb_arena_printf(&arena, "%s/file", folder);
    assert_int_equal(mkfifo(fifo, 0600), 0);
    assert_int_equal(cb_file_read(fifo, 100, &arena, &text, &length, &err), CB_IO);
    assert_int_equal(cb_file_read(folder, 100, &arena, &text, &length, &err), CB_IO);
    assert_int_equal(cb_file_read("/dev/zero", 100, &arena, &text, &length, &err), CB_IO);
    assert_int_equal(cb_file_read(file, 100, &arena, &text, &length, &err), CB_IO);
    assert_non_null(strstr(err.text, "file: No such file"));
    err = (struct cb_err){0};
    assert_int_equal(cb_file_create(file, "0123456789", &err), CB_OK);
    assert_int_equal(cb_file_create(file, "again", &err), CB_FAILED);
    err = (struct cb_err){0};
    assert_int_equal(cb_file_read(file, 10, &arena, &text, &length, &err), CB_OK);
    assert_int_equal(length, 10);
    assert_string_equal(text, "0123456789");
    assert_int_equal(cb_file_read(file, 9, &arena, &text, &length, &err), CB_IO);
    err = (struct cb_err){0};
    assert_int_equal(cb_file_read_head(file, 4, &arena, &text, &length, &err), CB_OK);
    assert_string_equal(text, "0123");
    unlink(file);
    unlink(fifo);
    rmdir(folder);
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_tree),
        cmocka_unit_test(test_hostile_nesting_is_quick),
        cmocka_unit_test(test_size_is_placed),
        cmocka_unit_test(test_nul_in_what_is_too_long),
        cmocka_unit_test(test_printing),
        cmocka_unit_test(test_long_lines_are_cut),
        cmocka_unit_test(test_files),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
