/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/utf8.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* Well and ill formed sequences after The Unicode Standard, 15.0, table 3-7. */
static void test_valid(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t length;
        bool valid;
    } cases[] = {
        {"", 0, true},
        {"rope", 4, true},
        {"a\0b", 3, true},
        {"\xC2\x80", 2, true},
        {"\xDF\xBF", 2, true},
        {"\xE0\xA0\x80", 3, true},
        {"\xED\x9F\xBF", 3, true},
        {"\xEE\x80\x80", 3, true},
        {"\xF0\x90\x80\x80", 4, true},
        {"\xF4\x8F\xBF\xBF", 4, true},
        {"\x80", 1, false},             /* continuation alone */
        {"\xC0\x80", 2, false},         /* overlong */
        {"\xC1\xBF", 2, false},         /* overlong */
        {"\xE0\x9F\xBF", 3, false},     /* overlong */
        {"\xED\xA0\x80", 3, false},     /* surrogate */
        {"\xF0\x8F\xBF\xBF", 4, false}, /* overlong */
        {"\xF4\x90\x80\x80", 4, false}, /* above U+10FFFF */
        {"\xF5\x80\x80\x80", 4, false},
        {"\xFF", 1, false},
        {"\xC3", 1, false},         /* cut */
        {"\xE2\x82", 2, false},     /* cut */
        {"\xF0\x9F\x90", 3, false}, /* cut */
        {"\xC3\xA9", 1, false},     /* cut by the length */
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        if (cb_utf8_valid(cases[i].bytes, cases[i].length) != cases[i].valid) {
            fail_msg("case %zu", i);
        }
    }
}

static void test_next(void **state)
{
    (void)state;
    const char *text = "a\xC3\xA9\xE2\x82\xAC\xF0\x9F\x90\x9F\xFFz\xC3";
    static const uint32_t wanted[] = {'a', 0xE9, 0x20AC, 0x1F41F, 0xFFFD, 'z', 0xFFFD, 0, 0};
    for (size_t i = 0; i < COUNT(wanted); i++) {
        assert_int_equal(cb_utf8_next(&text), wanted[i]);
    }
}

static void test_write(void **state)
{
    (void)state;
    static const struct {
        uint32_t cp;
        const char *bytes;
    } cases[] = {
        {0, ""},
        {'a', "a"},
        {0xE9, "\xC3\xA9"},
        {0x20AC, "\xE2\x82\xAC"},
        {0x1F41F, "\xF0\x9F\x90\x9F"},
        {0x10FFFF, "\xF4\x8F\xBF\xBF"},
        {0xD800, "\xEF\xBF\xBD"},
        {0x110000, "\xEF\xBF\xBD"},
        {UINT32_MAX, "\xEF\xBF\xBD"},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        char out[5] = "????";
        assert_int_equal(cb_utf8_write(cases[i].cp, out), strlen(cases[i].bytes));
        assert_string_equal(out, cases[i].bytes);
    }
}

/* Widths after Unicode 15, EastAsianWidth.txt (W and F are two columns), and general category
 * Mn (none). */
static void test_width(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int width;
    } cases[] = {
        {"", 0},
        {"rope", 4},
        {"caf\xC3\xA9", 4},
        {"cafe\xCC\x81", 4},     /* U+0301 combining acute */
        {"\xE6\xBD\xAE", 2},     /* U+6F6E, W */
        {"\xEF\xBC\xA1", 2},     /* U+FF21, F */
        {"\xF0\x9F\x90\x9F", 2}, /* U+1F41F, W */
        {"\xE2\x80\xA6", 1},     /* U+2026 */
        {"\xFF", 1},             /* shown as U+FFFD */
        {"\xE2\x80\x8B", 0},     /* U+200B */
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        if (cb_utf8_text_width(cases[i].text) != cases[i].width) {
            fail_msg("case %zu: %d", i, cb_utf8_text_width(cases[i].text));
        }
    }
    assert_int_equal(cb_utf8_width(UINT32_MAX), 1);
}

static void test_safe(void **state)
{
    (void)state;
    static const uint32_t safe[] = {' ', '~', 0xA0, 0xE9, 0x301, 0x6F6E, 0x1F41F, 0x2026, 0x2588};
    static const uint32_t unsafe[] = {
        0,       1,       7,        8,        0x1B,       0x1F,   0x7F,   0x80,   0x85,
        0x9B,    0x9F,    0xAD,     0x61C,    0x200B,     0x200D, 0x200E, 0x200F, 0x2028,
        0x2029,  0x202A,  0x202E,   0x2060,   0x2066,     0x2069, 0xFEFF, 0x34F,  0x3164,
        0xFE0F,  0xD800,  0xDFFF,   0xE000,   0xF8FF,     0xFFFE, 0xFFFF, 0xFDD0, 0xE0001,
        0xE0100, 0xF0000, 0x10FFFD, 0x110000, UINT32_MAX,
    };
    for (size_t i = 0; i < COUNT(safe); i++) {
        if (!cb_utf8_is_safe(safe[i])) {
            fail_msg("U+%04X is refused", (unsigned)safe[i]);
        }
    }
    for (size_t i = 0; i < COUNT(unsafe); i++) {
        if (cb_utf8_is_safe(unsafe[i])) {
            fail_msg("U+%04X is let through", (unsigned)unsafe[i]);
        }
    }
}

static void test_line(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    assert_string_equal(cb_utf8_line(&arena, "  Tarred   rope "), "Tarred rope");
    assert_string_equal(cb_utf8_line(&arena, "a\033b"), "a?b");
    assert_string_equal(cb_utf8_line(&arena, "   "), "");
    cb_arena_fini(&arena);
}

static void test_clean(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int columns;
        const char *wanted;
    } cases[] = {
        {"", 0, ""},
        {"", 3, ""},
        {"Oilskin green", 0, "Oilskin green"},
        {"red\x1B[31m", 0, "red?[31m"},
        {"a\nb\tc", 0, "a?b?c"},
        {"a\xC2\x9Bm", 0, "a?m"}, /* U+009B, a one-character CSI */
        {"ab\xFF\xC3", 0, "ab??"},
        {"a\xE2\x80\xAE"
         "b",
         0, "a?b"}, /* U+202E */
        {"rope", 4, "rope"},
        {"ropes", 4, "rop\xE2\x80\xA6"},
        {"ropes", 1, "\xE2\x80\xA6"},
        {"\xE6\xBD\xAE\xE6\xBD\xAE", 4, "\xE6\xBD\xAE\xE6\xBD\xAE"},
        {"\xE6\xBD\xAE\xE6\xBD\xAE", 3, "\xE6\xBD\xAE\xE2\x80\xA6"},
        {"\xE6\xBD\xAE\xE6\xBD\xAE", 2, "\xE2\x80\xA6"},
        {"cafe\xCC\x81", 4, "cafe\xCC\x81"},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        const char *clean = cb_utf8_clean(&arena, cases[i].text, cases[i].columns);
        if (strcmp(clean, cases[i].wanted) != 0) {
            fail_msg("case %zu: \"%s\"", i, clean);
        }
    }
    cb_arena_fini(&arena);
}

static void test_fold(void **state)
{
    (void)state;
    static const struct {
        const char *text, *wanted;
    } cases[] = {
        {"", ""},
        {"   ", ""},
        {"Oilskin  Green", "oilskin green"},
        {"\t Oilskin\xC2\xA0green \n", "oilskin green"}, /* U+00A0 */
        {"CAF\xC3\x89", "caf\xC3\xA9"},
        {"cafe\xCC\x81", "caf\xC3\xA9"}, /* decomposed */
        {"Stra\xC3\x9F"
         "e",
         "strasse"},                 /* CaseFolding.txt: 00DF; F; 0073 0073 */
        {"\xEF\xBC\xB2ope", "rope"}, /* U+FF32, fullwidth R */
        {"\xEF\xAC\x81n", "fin"},    /* U+FB01, ligature fi */
        {"ro\xC2\xADpe", "rope"},    /* U+00AD, soft hyphen */
        {"a\xFFz", "a\xEF\xBF\xBDz"},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        const char *folded = cb_utf8_fold(&arena, cases[i].text);
        if (strcmp(folded, cases[i].wanted) != 0) {
            fail_msg("case %zu: \"%s\"", i, folded);
        }
        assert_string_equal(cb_utf8_fold(&arena, folded), folded);
    }
    cb_arena_fini(&arena);
}

/* The unbounded distance by the textbook table, to compare the bounded one with. */
static int plain_distance(const char *a, const char *b)
{
    int table[16][16];
    size_t m = strlen(a);
    size_t n = strlen(b);
    assert_true(m < 16 && n < 16);
    for (size_t i = 0; i <= m; i++) {
        for (size_t j = 0; j <= n; j++) {
            if (i == 0 || j == 0) {
                table[i][j] = (int)(i + j);
                continue;
            }
            int best = table[i - 1][j - 1] + (a[i - 1] != b[j - 1]);
            best = table[i - 1][j] + 1 < best ? table[i - 1][j] + 1 : best;
            table[i][j] = table[i][j - 1] + 1 < best ? table[i][j - 1] + 1 : best;
        }
    }
    return table[m][n];
}

static void test_distance(void **state)
{
    (void)state;
    assert_int_equal(plain_distance("kitten", "sitting"), 3);
    assert_int_equal(cb_utf8_distance("rope", "rope", 0), 0);
    assert_int_equal(cb_utf8_distance("rope", "ropes", 0), 1);
    assert_int_equal(cb_utf8_distance("", "", 2), 0);
    uint32_t random = 12345;
    for (int round = 0; round < 20000; round++) {
        char words[2][12] = {{0}, {0}};
        for (int w = 0; w < 2; w++) {
            random = random * 1664525U + 1013904223U;
            size_t length = (random >> 24) % 11;
            for (size_t i = 0; i < length; i++) {
                random = random * 1664525U + 1013904223U;
                words[w][i] = (char)('a' + (random >> 24) % 3);
            }
        }
        int plain = plain_distance(words[0], words[1]);
        for (int limit = 0; limit < 12; limit++) {
            int wanted = plain <= limit ? plain : limit + 1;
            if (cb_utf8_distance(words[0], words[1], limit) != wanted) {
                fail_msg("\"%s\" \"%s\" within %d", words[0], words[1], limit);
            }
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_valid), cmocka_unit_test(test_next), cmocka_unit_test(test_write),
        cmocka_unit_test(test_width), cmocka_unit_test(test_safe), cmocka_unit_test(test_clean),
        cmocka_unit_test(test_line),  cmocka_unit_test(test_fold), cmocka_unit_test(test_distance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
