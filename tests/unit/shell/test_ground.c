/* SPDX-License-Identifier: MIT */
/* A terminal's answer among keys: whole, in pieces, of both ends, cut off, nonsense; what is no
 * part of it is given back. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "shell/ground.h"

/* The step that ends it; how many of the bytes it took. */
static enum cb_ground_step feed(struct cb_ground *ground, const char *bytes, size_t *taken)
{
    enum cb_ground_step step = CB_GROUND_MORE;
    cb_ground_begin(ground, 1000);
    for (*taken = 0; step == CB_GROUND_MORE && bytes[*taken] != '\0'; *taken += 1) {
        step = cb_ground_add(ground, (unsigned char)bytes[*taken], 1000);
    }
    return step;
}

static void test_answers(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        enum cb_ground_step step;
        int light;
        size_t taken;
    } rows[] = {
        {"rgb:ffff/ffff/ffff\033\\dd", CB_GROUND_ANSWERED, 1, 20},
        {"rgb:ffff/ffff/ffff\add", CB_GROUND_ANSWERED, 1, 19},
        {"rgb:0000/0000/0000\033\\", CB_GROUND_ANSWERED, 0, 20},
        {"rgba:1e1e/1e1e/2e2e/ffff\a", CB_GROUND_ANSWERED, 0, 25},
        {"rgb:ffff/ffff\033\\", CB_GROUND_ENDED, -1, 15},
        {"\a", CB_GROUND_ENDED, -1, 1},
        {"rgb:ffff/ffff/ffff/ffff/ffff/ff\a", CB_GROUND_ENDED, -1, 32},
        {"rgb:ffff/ffff/ffff/ffff/ffff/ffddd", CB_GROUND_BROKEN, -1, 32}, /* keys again */
        {"rgb:ffff/ q", CB_GROUND_BROKEN, -1, 10},
        {"rgb:ffff/\xC3\xA9", CB_GROUND_BROKEN, -1, 10},
        {"rgb:ffff/\033[A", CB_GROUND_BROKEN_ESC, -1, 11},
        {"rgb:ffff/\033\033", CB_GROUND_BROKEN_ESC, -1, 11},
        {"rgb:ffff", CB_GROUND_MORE, -1, 8},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cb_ground ground = {.light = rows[i].light == 0};
        size_t taken;
        const enum cb_ground_step step = feed(&ground, rows[i].bytes, &taken);
        assert_int_equal(step, rows[i].step);
        assert_int_equal(taken, rows[i].taken);
        assert_int_equal(ground.answering, step == CB_GROUND_MORE);
        if (rows[i].light >= 0) {
            assert_int_equal(ground.light, rows[i].light);
        }
    }
}

/* It began over a second ago: what comes then is a key, were it a digit and the last one just now.
 */
static void test_cut_off(void **state)
{
    (void)state;
    struct cb_ground ground = {0};
    cb_ground_begin(&ground, 5);
    assert_int_equal(cb_ground_add(&ground, 'r', 1005), CB_GROUND_MORE);
    assert_int_equal(cb_ground_add(&ground, '1', 1006), CB_GROUND_BROKEN);
    assert_false(ground.answering);
    cb_ground_begin(&ground, 5);
    assert_int_equal(cb_ground_add(&ground, '\033', 6), CB_GROUND_MORE);
    assert_int_equal(cb_ground_add(&ground, '\\', 1007), CB_GROUND_BROKEN_ESC);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_answers),
        cmocka_unit_test(test_cut_off),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
