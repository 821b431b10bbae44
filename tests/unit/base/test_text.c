/* SPDX-License-Identifier: MIT */
/* err, mem, vec, arena, str, index, tree. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/index.h"
#include "base/mem.h"
#include "base/brief.h"
#include "base/str.h"
#include "base/tree.h"
#include "base/utf8.h"
#include "base/vec.h"

static void test_err(void **state)
{
    (void)state;
    struct cb_err err = {0};
    assert_int_equal(cb_err_set(&err, CB_DATA, "line %d: %s", 3, "wrong"), CB_DATA);
    assert_int_equal(err.status, CB_DATA);
    assert_string_equal(err.text, "line 3: wrong");
    assert_int_equal(cb_err_set(NULL, CB_IO, "nobody listens"), CB_IO);
}

static void test_err_cut_keeps_whole_characters(void **state)
{
    (void)state;
    static const char *const characters[] = {"x", "\xC3\xA9", "\xE2\x82\xAC", "\xF0\x9F\x90\x9F"};
    for (size_t i = 0; i < sizeof characters / sizeof *characters; i++) {
        for (int shift = 0; shift < 4; shift++) {
            struct cb_str text = {0};
            cb_str_add_n(&text, "abc", (size_t)shift);
            while (text.length < 1200) {
                cb_str_add(&text, characters[i]);
            }
            struct cb_err err = {0};
            cb_err_set(&err, CB_FAILED, "%s", cb_str_text(&text));
            size_t length = strlen(err.text);
            assert_true(length < sizeof err.text && length + 4 >= sizeof err.text);
            assert_true(cb_utf8_valid(err.text, length));
            assert_memory_equal(err.text, text.text, length);
            cb_str_fini(&text);
        }
    }
}

static void test_mem(void **state)
{
    (void)state;
    unsigned char *zeroed = cb_mem_new(100, 3);
    for (size_t i = 0; i < 300; i++) {
        assert_int_equal(zeroed[i], 0);
    }
    zeroed[299] = 7;
    zeroed = cb_mem_resize(zeroed, 1000, 3);
    assert_int_equal(zeroed[299], 7);
    free(zeroed);
    void *nothing = cb_mem_new(0, 8);
    assert_non_null(nothing);
    free(nothing);
    char *copy = cb_mem_copy_text("wick");
    assert_string_equal(copy, "wick");
    free(copy);
}

static void test_vec(void **state)
{
    (void)state;
    CB_VEC(int) numbers = {0};
    for (int i = 0; i < 1000; i++) {
        cb_vec_push(&numbers, i * i);
    }
    assert_int_equal(numbers.count, 1000);
    for (int i = 0; i < 1000; i++) {
        assert_int_equal(numbers.items[i], i * i);
    }
    cb_vec_free(&numbers);
    assert_null(numbers.items);
    assert_int_equal(numbers.count, 0);
}

static void test_arena(void **state)
{
    (void)state;
    struct cb_arena arena;
    cb_arena_init(&arena);
    unsigned char *pieces[400];
    size_t sizes[400];
    for (size_t i = 0; i < 400; i++) {
        sizes[i] = i % 50 == 49 ? 40000 : i * 3;
        pieces[i] = cb_arena_alloc(&arena, sizes[i], 1);
        assert_int_equal((uintptr_t)pieces[i] % _Alignof(max_align_t), 0);
        for (size_t j = 0; j < sizes[i]; j++) {
            assert_int_equal(pieces[i][j], 0);
        }
        memset(pieces[i], (int)(i % 251) + 1, sizes[i]);
    }
    for (size_t i = 0; i < 400; i++) {
        for (size_t j = 0; j < sizes[i]; j++) {
            assert_int_equal(pieces[i][j], (i % 251) + 1);
        }
    }
    assert_null(cb_arena_text(&arena, NULL));
    assert_string_equal(cb_arena_text(&arena, "rope"), "rope");
    assert_string_equal(cb_arena_text_n(&arena, "rope", 2), "ro");
    assert_string_equal(cb_arena_printf(&arena, "%d of %s", 4, "10"), "4 of 10");
    assert_string_equal(cb_arena_printf(&arena, "%s", ""), "");
    cb_arena_fini(&arena);
    assert_string_equal(cb_arena_text(&arena, "again"), "again");
    cb_arena_fini(&arena);
    cb_arena_fini(&arena);
}

static void test_str(void **state)
{
    (void)state;
    struct cb_str str = {0};
    assert_string_equal(cb_str_text(&str), "");
    cb_str_add(&str, "");
    assert_string_equal(cb_str_text(&str), "");
    for (int i = 0; i < 500; i++) {
        cb_str_addf(&str, "%d,", i);
    }
    cb_str_add_n(&str, "endless", 3);
    assert_int_equal(str.length, strlen(str.text));
    assert_string_equal(str.text + str.length - 7, "499,end");
    cb_str_clear(&str);
    assert_string_equal(cb_str_text(&str), "");
    cb_str_fini(&str);
    cb_str_fini(&str);
    cb_str_fini(NULL);
}

static void test_same(void **state)
{
    (void)state;
    const char twin[] = "rope";
    assert_true(cb_str_same("rope", twin) && cb_str_same("", "") && cb_str_same(NULL, NULL));
    assert_false(cb_str_same("rope", "ropes") || cb_str_same("rope", "Rope"));
    assert_false(cb_str_same("", NULL) || cb_str_same(NULL, ""));
}

static void test_number(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool good;
        double value;
    } cases[] = {
        {"0", true, 0},       {"19.5", true, 19.5}, {"-3", true, -3},    {"+2.25", true, 2.25},
        {".5", true, .5},     {"-.5", true, -.5},   {"007", true, 7},    {"", false, 0},
        {"-", false, 0},      {".", false, 0},      {"5.", false, 0},    {"1e3", false, 0},
        {"0x10", false, 0},   {"inf", false, 0},    {"nan", false, 0},   {" 1", false, 0},
        {"1 ", false, 0},     {"1,5", false, 0},    {"1.2.3", false, 0}, {"--1", false, 0},
        {"12 min", false, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double value = -77;
        bool good = cb_str_number(cases[i].text, &value);
        if (good != cases[i].good) {
            fail_msg("\"%s\"", cases[i].text);
        }
        assert_true(value == (good ? cases[i].value : -77)); /* untouched when refused */
    }
    char huge[400];
    memset(huge, '9', sizeof huge - 1);
    huge[sizeof huge - 1] = '\0';
    double value = 0;
    assert_false(cb_str_number(huge, &value));
}

static void test_brief(void **state)
{
    (void)state;
    static const struct {
        double value;
        const char *text;
    } cases[] = {{2, "2"}, {10, "10"}, {1.5, "1.5"}, {2 / 3.0, "0.67"}, {0, "0"}, {100.004, "100"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[CB_BRIEF_BYTES];
        assert_string_equal(cb_brief(cases[i].value, text), cases[i].text);
    }
}

static void test_integer(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool good;
        long long value;
    } cases[] = {
        {"0", true, 0},
        {"10", true, 10},
        {"-6", true, -6},
        {"+4", true, 4},
        {"9223372036854775807", true, INT64_MAX},
        {"-9223372036854775808", true, INT64_MIN},
        {"9223372036854775808", false, 0},
        {"", false, 0},
        {"+", false, 0},
        {"1.0", false, 0},
        {"0x1", false, 0},
        {" 1", false, 0},
        {"1 ", false, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        long long value = -77;
        bool good = cb_str_integer(cases[i].text, &value);
        if (good != cases[i].good) {
            fail_msg("\"%s\"", cases[i].text);
        }
        assert_true(value == (good ? cases[i].value : -77));
    }
}

static void test_index(void **state)
{
    (void)state;
    struct cb_index *index = cb_index_new();
    char key[32];
    for (size_t i = 0; i < 5000; i++) {
        snprintf(key, sizeof key, "film-%zu", i);
        cb_index_set(index, key, i);
    }
    cb_index_set(index, "film-7", 70000);
    cb_index_set(index, "", 1);
    assert_int_equal(cb_index_count(index), 5001);
    size_t value = 0;
    for (size_t i = 0; i < 5000; i++) {
        snprintf(key, sizeof key, "film-%zu", i);
        assert_true(cb_index_get(index, key, &value));
        assert_int_equal(value, i == 7 ? 70000 : i);
    }
    assert_true(cb_index_get(index, "", &value));
    assert_false(cb_index_get(index, "film-5000", &value));
    cb_index_free(index);
    cb_index_free(NULL);
}

static void test_tree(void **state)
{
    (void)state;
    const struct cb_tree keys[] = {{.type = CB_TREE_TEXT, .text = "name"},
                                   {.type = CB_TREE_TEXT, .text = "on"}};
    const struct cb_tree items[] = {{.type = CB_TREE_TEXT, .text = "Rope"}, {.type = CB_TREE_LIST}};
    const struct cb_tree map = {.type = CB_TREE_MAP, .count = 2, .keys = keys, .items = items};
    assert_ptr_equal(cb_tree_get(&map, "on"), &items[1]);
    assert_null(cb_tree_get(&map, "off"));
    assert_null(cb_tree_get(&items[0], "on"));
    assert_null(cb_tree_get(NULL, "on"));
}

static void test_issues(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    for (int i = 1; i <= 15; i++) {
        cb_issues_add(&issues, &arena, i, 2 * i, "issue %d", i);
    }
    assert_int_equal(issues.count, CB_ISSUES_MAX);
    assert_string_equal(issues.items[9].message, "issue 10");
    assert_int_equal(issues.items[9].line, 10);
    assert_int_equal(issues.items[9].column, 20);
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_err),     cmocka_unit_test(test_err_cut_keeps_whole_characters),
        cmocka_unit_test(test_mem),     cmocka_unit_test(test_vec),
        cmocka_unit_test(test_arena),   cmocka_unit_test(test_str),
        cmocka_unit_test(test_same),    cmocka_unit_test(test_number),
        cmocka_unit_test(test_integer), cmocka_unit_test(test_brief),
        cmocka_unit_test(test_index),   cmocka_unit_test(test_tree),
        cmocka_unit_test(test_issues),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
