/* SPDX-License-Identifier: MIT */
/* Rows from two places as one list: each film once, by time; and as bytes and back. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "core/bench/rows.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* hi says where a row is from: 1 kept, 2 the bench's own. */
static struct cb_row row(double from, const char *unit, int figure, int stage, int coat, int at)
{
    return (struct cb_row){.kind = CB_ROW_FILM,
                           .pot = "rope",
                           .paint = "Tarred rope",
                           .pot_sd = .30,
                           .median_min = 9,
                           .hi = from,
                           .at_ms = at,
                           .unit = unit,
                           .figure = figure,
                           .stage = stage,
                           .coat = coat};
}

static void test_merge(void **state)
{
    (void)state;
    const struct {
        struct cb_row kept[2], own[2];
        size_t kept_count, own_count;
        const char *merged; /* where each is from */
    } cases[] = {
        {{row(1, "u", 1, 2, 3, 5)}, {{0}}, 1, 0, "1"},
        {{{0}}, {row(2, "u", 1, 2, 3, 5)}, 0, 1, "2"},
        {{row(1, "u", 1, 2, 3, 5)}, {row(2, "u", 1, 2, 3, 5)}, 1, 1, "2"}, /* the same film */
        {{row(1, "u", 1, 2, 3, 5)}, {row(2, "v", 1, 2, 3, 5)}, 1, 1, "12"},
        {{row(1, "u", 1, 2, 3, 5)}, {row(2, "u", 2, 2, 3, 5)}, 1, 1, "12"},
        {{row(1, "u", 1, 2, 3, 5)}, {row(2, "u", 1, 3, 3, 5)}, 1, 1, "12"},
        {{row(1, "u", 1, 2, 3, 5)}, {row(2, "u", 1, 2, 4, 5)}, 1, 1, "12"},
        {{row(1, "u", 1, 2, 3, 5)}, {row(2, "u", 1, 2, 3, 6)}, 1, 1, "12"},
        {{row(1, NULL, 1, 2, 3, 5)}, {row(2, NULL, 1, 2, 3, 5)}, 1, 1, "12"}, /* of no unit */
        {{row(1, "u", 1, 1, 1, 4), row(1, "u", 2, 1, 1, 6)},
         {row(2, "u", 1, 1, 1, 5), row(2, "u", 1, 1, 1, 7)},
         2,
         2,
         "1212"},
        /* the second of two that went on together */
        {{row(1, "u", 1, 1, 1, 5), row(1, "u", 2, 1, 1, 5)},
         {row(2, "u", 3, 1, 1, 5), row(2, "u", 2, 1, 1, 5)},
         2,
         2,
         "122"},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        size_t count;
        char from[5] = "";
        const struct cb_row *rows = cb_rows_merge(cases[i].kept, cases[i].kept_count, cases[i].own,
                                                  cases[i].own_count, &arena, &count);
        assert_true(count < sizeof from);
        for (size_t j = 0; j < count; j++) {
            from[j] = (char)('0' + (int)rows[j].hi);
            assert_true(j == 0 || rows[j - 1].at_ms <= rows[j].at_ms);
        }
        assert_string_equal(from, cases[i].merged);
    }
    cb_arena_fini(&arena);
}

static void test_sort(void **state)
{
    (void)state;
    const struct cb_row sorted[] = {
        row(0, "z", 9, 9, 9, 1), row(1, NULL, 9, 9, 9, 2), row(2, "u", 9, 1, 2, 2),
        row(3, "u", 1, 2, 1, 2), row(4, "u", 2, 2, 1, 2),  row(5, "u", 1, 2, 2, 2),
        row(6, "v", 1, 1, 1, 2), row(7, "a", 1, 1, 1, 3),
    };
    for (size_t shift = 0; shift < COUNT(sorted); shift++) {
        for (size_t step = 1; step < COUNT(sorted); step += 2) { /* odd: meets each of eight once */
            struct cb_row rows[COUNT(sorted)];
            for (size_t i = 0; i < COUNT(sorted); i++) {
                rows[i] = sorted[(shift + i * step) % COUNT(sorted)];
            }
            cb_rows_sort(rows, COUNT(sorted));
            for (size_t i = 0; i < COUNT(sorted); i++) {
                assert_int_equal((int)rows[i].hi, (int)i);
            }
        }
    }
}

static void test_written_and_read(void **state)
{
    (void)state;
    struct cb_row rows[] = {row(4, "u", 1, 2, 3, 500),
                            row(INFINITY, "u", 2, 2, 3, 400),
                            row(6, "u", 3, 1, 1, 900),
                            row(7, "u", 4, 1, 1, 900),
                            {.kind = CB_ROW_BOTTLE, .pot = "rope", .at_ms = 901}};
    struct cb_arena arena = {0};
    struct cb_str bytes = {0};
    rows[1].lo = 3;
    rows[2].kind = CB_ROW_WEAK;
    rows[2].confidence = .9;
    rows[0].heard = CB_HEARD_WET;
    rows[3].heard = CB_HEARD_SILENCE;
    rows[0].heard_ms = 777;
    rows[0].late = .3;
    rows[0].came_up = true;
    rows[3].heard_ms = 899; /* a clock was set */
    rows[0].confidence = rows[3].confidence = .8;
    rows[3].pot = "green";
    rows[3].paint = "Oilskin green";
    rows[3].technique = 2;
    const struct cb_row *list = rows;
    size_t count = COUNT(rows);
    struct cb_coder coder = cb_coder_writer(&bytes, &arena);
    cb_rows_code(&coder, &list, &count, "u");
    coder = cb_coder_reader(bytes.text, bytes.length, &arena);
    cb_rows_code(&coder, &list, &count, "u");
    assert_true(cb_coder_done(&coder));
    assert_int_equal(count, COUNT(rows) - 1); /* films alone */
    for (size_t i = 0; i < count; i++) {
        const struct cb_row *a = &rows[i];
        const struct cb_row *b = &list[i];
        assert_true(a->kind == b->kind && a->at_ms == b->at_ms && a->technique == b->technique);
        assert_true(a->figure == b->figure && a->stage == b->stage && a->coat == b->coat);
        assert_true(a->lo <= b->lo && a->lo >= b->lo && (a->hi <= b->hi && a->hi >= b->hi));
        assert_true(a->heard == b->heard && a->heard_ms == b->heard_ms);
        assert_int_equal(a->came_up, b->came_up);
        assert_memory_equal(&a->late, &b->late, sizeof a->late);
        assert_memory_equal(&a->confidence, &b->confidence, sizeof a->confidence);
        assert_string_equal(a->pot, b->pot);
        assert_string_equal(a->paint, b->paint);
        assert_string_equal(a->unit, b->unit);
    }
    assert_ptr_equal(list[0].pot, list[2].pot);
    for (size_t cut = 0; cut < bytes.length; cut++) {
        coder = cb_coder_reader(bytes.text, cut, &arena);
        cb_rows_code(&coder, &list, &count, "u");
        assert_false(cb_coder_done(&coder));
        assert_int_equal(count, 0);
    }
    cb_str_fini(&bytes);
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_merge),
        cmocka_unit_test(test_sort),
        cmocka_unit_test(test_written_and_read),
    };
    return cmocka_run_group_tests_name("rows", tests, NULL, NULL);
}
