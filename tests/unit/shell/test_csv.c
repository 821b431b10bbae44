/* SPDX-License-Identifier: MIT */
/* Cells for spreadsheets: what each starts with in the eyes of a program that skips blanks. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/utf8.h"
#include "shell/csv.h"
#include "support/events.h"

static void cells_are_quoted_where_needed(void **state)
{
    (void)state;
    static const struct {
        const char *text, *cell;
    } rows[] = {
        {NULL, ""},
        {"", ""},
        {"Tarred rope", "Tarred rope"},
        {"rope, tarred", "\"rope, tarred\""},
        {"the \"old\" one", "\"the \"\"old\"\" one\""},
        {"two\nlines", "\"two\nlines\""},
        {"a\r\nb", "\"a?\nb\""},
        {"a\x1b[2Jb\xe2\x80\xae", "a?[2Jb?"},
        {"\xc3\xa9", "\xc3\xa9"},
        {"a\xff"
         "b",
         "a\xef\xbf\xbd"
         "b"},
        {"5-6", "5-6"},
        {" 5", " 5"},
        {"a =1", "a =1"},
        {"'=1", "'=1"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cb_str out = {0};
        cb_csv_cell(&out, rows[i].text);
        assert_string_equal(cb_str_text(&out), rows[i].cell);
        cb_str_fini(&out);
    }
}

/* Every lead before every sign: the cell is text, marked by an apostrophe within its quotes. */
static void no_cell_is_a_formula(void **state)
{
    (void)state;
    static const char *const leads[] = {
        "",
        " ",
        "   ",
        "\t",
        "\r",
        "\n",
        "\r\n",
        "\xc2\xa0",
        "\xe2\x80\x8b",
        "\xe2\x81\xa0",
        "\xef\xbb\xbf",
        "\xe3\x80\x80",
        "\xe2\x80\x83",
        "\xe2\x80\xaf",
        "\xe1\x9a\x80",
        "\x01",
        "\x7f",
        "\xc2\x85",
        "\xe2\x80\xa8",
        "\xe2\x80\xae",
        " \xc2\xa0\t\xe2\x80\x8b ",
    };
    static const char *const signs[] = {
        "=", "+", "-", "@", "\xef\xbc\x9d", "\xef\xbc\x8b", "\xef\xbc\x8d", "\xef\xbc\xa0",
    };
    for (size_t i = 0; i < sizeof leads / sizeof *leads; i++) {
        for (size_t k = 0; k < sizeof signs / sizeof *signs; k++) {
            struct cb_str text = {0};
            struct cb_str out = {0};
            cb_str_addf(&text, "%s%sHYPERLINK(1)", leads[i], signs[k]);
            cb_csv_cell(&out, cb_str_text(&text));
            if (strncmp(cb_str_text(&out), "\"'", 2) != 0) {
                fail_msg("lead %zu, sign %zu: %s", i, k, cb_str_text(&out));
            }
            assert_non_null(strstr(cb_str_text(&out), signs[k]));
            cb_str_fini(&text);
            cb_str_fini(&out);
        }
        /* blanks alone are no formula */
        struct cb_str out = {0};
        cb_csv_cell(&out, leads[i]);
        assert_null(strchr(cb_str_text(&out), '\''));
        cb_str_fini(&out);
    }
}

static void random_cells_are_valid_text(void **state)
{
    (void)state;
    struct dice dice = {11};
    for (int round = 0; round < 3000; round++) {
        struct cb_arena arena = {0};
        struct cb_str out = {0};
        cb_csv_cell(&out, dice_text(&dice, &arena, 60));
        const char *at = cb_str_text(&out);
        assert_true(cb_utf8_valid(at, out.length));
        while (*at) {
            uint32_t cp = cb_utf8_next(&at);
            assert_true(cp == '\n' || cb_utf8_is_safe(cp));
        }
        cb_str_fini(&out);
        cb_arena_fini(&arena);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cells_are_quoted_where_needed),
        cmocka_unit_test(no_cell_is_a_formula),
        cmocka_unit_test(random_cells_are_valid_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
