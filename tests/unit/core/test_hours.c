/* SPDX-License-Identifier: MIT */
/* Hours as bytes and back: see tests/reference for the figures. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "base/seal.h"
#include "core/hours.h"
#include "support/events.h"

enum { TECHNIQUES = 14, UNITS = 300, MARKS = 200 };

static double uniform(struct dice *dice)
{
    return (double)(dice_next(dice) >> 11) / 9007199254740992.0;
}

static void add_unit(struct cb_hours *hours, struct dice *dice, size_t marks)
{
    cb_hours_new_unit(hours);
    for (size_t i = 0; i < marks; i++) {
        const size_t technique = (size_t)dice_below(dice, TECHNIQUES);
        const double nominal_min = 1 + 10 * uniform(dice);
        cb_hours_add(hours, technique, nominal_min, nominal_min * exp(2 * uniform(dice) - 1));
    }
}

/* Everything one can ask. */
static void assert_same(const struct cb_hours *a, const struct cb_hours *b)
{
    double x[2];
    double y[2];
    struct cb_hours_cell cells[TECHNIQUES];
    for (size_t i = 0; i < TECHNIQUES; i++) {
        cb_hours_effect(a, i, &x[0], &x[1]);
        cb_hours_effect(b, i, &y[0], &y[1]);
        assert_memory_equal(x, y, sizeof x);
        cells[i] = (struct cb_hours_cell){i, 4, 10};
    }
    cb_hours_unit(a, &x[0], &x[1]);
    cb_hours_unit(b, &y[0], &y[1]);
    assert_memory_equal(x, y, sizeof x);
    const struct cb_hours_sum sum = cb_hours_to_go(a, cells, TECHNIQUES);
    const struct cb_hours_sum other = cb_hours_to_go(b, cells, TECHNIQUES);
    assert_memory_equal(&sum, &other, sizeof sum);
}

static void back_to_the_bit(void **state)
{
    (void)state;
    struct dice dice = {1};
    struct cb_hours *hours = cb_hours_new(TECHNIQUES);
    for (int unit = 0; unit <= UNITS; unit++) {
        if (unit % 50 == 0) {
            struct cb_arena arena = {0};
            size_t length;
            const void *bytes = cb_hours_pack(hours, &arena, &length);
            struct cb_hours *back = cb_hours_unpack(bytes, length, TECHNIQUES);
            assert_non_null(back);
            assert_same(hours, back);
            struct cb_hours *copy = cb_hours_copy(hours);
            struct dice same = dice;
            add_unit(copy, &dice, 20);
            add_unit(back, &same, 20);
            assert_same(copy, back);
            cb_hours_free(copy);
            cb_hours_free(back);
            cb_arena_fini(&arena);
        }
        add_unit(hours, &dice, MARKS);
    }
    cb_hours_free(hours);
}

static void asked(const struct cb_hours *hours)
{
    const struct cb_hours_cell cells[] = {{0, 4, 10}, {1, 4, 10}};
    const struct cb_hours_sum sum = cb_hours_to_go(hours, cells, 2);
    double mean;
    double sd;
    cb_hours_unit(hours, &mean, &sd);
    assert_true(isfinite(mean) && sd >= 0);
    assert_true(sum.mean_min >= 0);
}

static void refuses_what_is_none(void **state)
{
    (void)state;
    enum { FEW = 3 };
    struct dice dice = {2};
    struct cb_arena arena = {0};
    struct cb_hours *hours = cb_hours_new(FEW);
    add_unit(hours, &dice, 40);
    size_t length;
    const void *bytes = cb_hours_pack(hours, &arena, &length);
    unsigned char *damaged = cb_arena_alloc(&arena, length + 1, 1);
    assert_null(cb_hours_unpack(NULL, 0, FEW));
    assert_null(cb_hours_unpack(bytes, length, FEW + 1));
    assert_null(cb_hours_unpack(bytes, length, FEW - 1));
    assert_null(cb_hours_unpack(damaged, length, FEW));
    for (size_t cut = 0; cut < length; cut++) {
        assert_null(cb_hours_unpack(bytes, cut, FEW));
    }
    memcpy(damaged, bytes, length);
    assert_null(cb_hours_unpack(damaged, length + 1, FEW));
    for (size_t bit = 0; bit < length * 8; bit++) {
        memcpy(damaged, bytes, length);
        damaged[bit / 8] ^= (unsigned char)(1U << bit % 8);
        assert_null(cb_hours_unpack(damaged, length, FEW));
        /* and with a seal that holds: none, or numbers one can ask */
        cb_seal_put(damaged, length);
        struct cb_hours *odd = cb_hours_unpack(damaged, length, FEW);
        if (odd != NULL) {
            asked(odd);
        }
        cb_hours_free(odd);
    }
    cb_hours_free(hours);
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(back_to_the_bit),
        cmocka_unit_test(refuses_what_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
