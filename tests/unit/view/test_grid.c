/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "view/grid.h"
#include "view/theme.h"

static void put_and_dump(void **state)
{
    (void)state;
    static const struct {
        int row, column, max;
        const char *text, *row_text;
        int used;
        bool ascii;
    } cases[] = {
        {0, 0, 0, "rope", "rope", 4, false},
        {0, 6, 0, "rope", "      ro", 2, false},
        {0, 0, 2, "rope", "ro", 2, false},
        {0, -2, 0, "rope", "pe", 4, false},
        {0, 8, 0, "rope", "", 0, false},
        {5, 0, 0, "rope", "", 0, false},
        {-1, 0, 0, "rope", "", 0, false},
        {0, 0, 0, "a\x1b[2Jb", "a?[2Jb", 6, false}, /* no escape gets in */
        {0, 0, 0, "a\u202Eb", "a?b", 3, false},     /* nor a bidi control */
        {0, 0, 0, "a\u200Bb", "a?b", 3, false},     /* nor what has no width */
        {0, 0, 0, "\xFF", "\uFFFD", 1, false},
        {0, 0, 0, "\u6F6E\u6F6E", "\u6F6E\u6F6E", 4, false},
        {0, 5, 0, "\u6F6E\u6F6E", "     \u6F6E", 2, false}, /* half a wide one is left out */
        {0, 0, 0, "\u2248 \u2713 \u25B8 \u2016", "~ v > !", 7, true},
        {0, 0, 0, "\u6F6E", "?", 1, true},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct cb_grid grid;
        struct cb_str out = {0};
        cb_grid_init(&grid, 1, 8);
        grid.ascii = cases[i].ascii;
        assert_int_equal(cb_grid_put(&grid, cases[i].row, cases[i].column, cases[i].max,
                                     CB_ROLE_PLAIN, cases[i].text),
                         cases[i].used);
        cb_grid_dump(&grid, &out);
        assert_memory_equal(out.text, cases[i].row_text, strlen(cases[i].row_text));
        assert_string_equal(out.text + strlen(cases[i].row_text), "\n");
        cb_str_fini(&out);
        cb_grid_fini(&grid);
    }
}

static void writing_over_a_wide_character_leaves_no_half(void **state)
{
    (void)state;
    struct cb_grid grid;
    cb_grid_init(&grid, 1, 6);
    cb_grid_put(&grid, 0, 0, 0, CB_ROLE_PLAIN, "\u6F6E\u6F6E");
    cb_grid_put(&grid, 0, 1, 0, CB_ROLE_PLAIN, "xx");
    struct cb_str out = {0};
    cb_grid_dump(&grid, &out);
    assert_string_equal(out.text, " xx\n");
    cb_str_fini(&out);
    cb_grid_fini(&grid);
}

static void big_digits_are_five_high(void **state)
{
    (void)state;
    struct cb_grid grid;
    cb_grid_init(&grid, 7, 20);
    assert_int_equal(cb_grid_big(&grid, 1, 1, CB_ROLE_BIG, "47"), 9);
    assert_int_equal(cb_grid_big(&grid, 1, 1, CB_ROLE_BIG, ""), 0);
    struct cb_str out = {0};
    cb_grid_dump(&grid, &out);
    assert_string_equal(out.text, "\n █  █ ████\n █  █    █\n ████   █\n    █  █\n    █  █\n\n");
    cb_str_fini(&out);
    cb_grid_big(&grid, 5, 18, CB_ROLE_BIG, "888"); /* beyond both edges */
    cb_grid_big(&grid, -3, -3, CB_ROLE_BIG, "888");
    cb_grid_fini(&grid);
}

static void fill_and_style_stay_inside(void **state)
{
    (void)state;
    struct cb_grid grid, other;
    cb_grid_init(&grid, 2, 3);
    cb_grid_init(&other, 2, 3);
    assert_true(cb_grid_equal(&grid, &other));
    cb_grid_fill(&grid, -5, -5, 100, 100, CB_ROLE_RULE, '-');
    cb_grid_style(&grid, 1, -4, 100, CB_ROLE_WARN);
    cb_grid_style(&grid, 9, 0, 3, CB_ROLE_WARN);
    assert_false(cb_grid_equal(&grid, &other));
    struct cb_str out = {0};
    cb_grid_dump(&grid, &out);
    assert_string_equal(out.text, "---\n---\n");
    assert_int_equal(grid.cells[2].role, CB_ROLE_RULE);
    assert_int_equal(grid.cells[3].role, CB_ROLE_WARN);
    cb_str_fini(&out);
    cb_grid_fini(&grid);
    cb_grid_fini(&other);
}

static void themes_are_whole(void **state)
{
    (void)state;
    for (int role = 0; role < CB_ROLE_COUNT; role++) {
        const struct cb_style *dark = &cb_theme_dark[role], *mono = &cb_theme_mono[role];
        assert_true(dark->fg8 >= -1 && dark->fg8 < 8 && dark->bg8 >= -1 && dark->bg8 < 8);
        assert_true(dark->fg256 >= -1 && dark->fg256 < 256 && dark->bg256 < 256);
        assert_int_equal(mono->fg8, -1);
        assert_int_equal(mono->fg256, -1);
    }
    assert_true(cb_theme_mono[CB_ROLE_ALARM].reverse);
    assert_true(cb_theme_mono[CB_ROLE_FOCUS].reverse);
}

static void wrapping(void **state)
{
    (void)state;
    struct cb_grid grid;
    struct cb_str out = {0};
    cb_grid_init(&grid, 4, 10);
    assert_int_equal(cb_grid_wrap(&grid, 0, 0, 10, 4, CB_ROLE_PLAIN, "two thin coats beat one"), 3);
    cb_grid_dump(&grid, &out);
    assert_string_equal(out.text, "two thin\ncoats beat\none\n\n");
    cb_str_clear(&out);
    cb_grid_clear(&grid);
    assert_int_equal(cb_grid_wrap(&grid, 0, 0, 10, 2, CB_ROLE_PLAIN, "unbreakableword and more"),
                     2);
    cb_grid_dump(&grid, &out);
    assert_string_equal(out.text, "unbreakabl\neword and\u2026\n\n\n");
    cb_str_fini(&out);
    cb_grid_fini(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(put_and_dump),
        cmocka_unit_test(writing_over_a_wide_character_leaves_no_half),
        cmocka_unit_test(big_digits_are_five_high),
        cmocka_unit_test(fill_and_style_stay_inside),
        cmocka_unit_test(themes_are_whole),
        cmocka_unit_test(wrapping),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
