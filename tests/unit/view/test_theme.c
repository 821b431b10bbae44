/* SPDX-License-Identifier: MIT */
/* Green is ready, blue is wet, amber wants care, grey is done, and no other hue means anything. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "view/theme.h"

/* Of the cube of 256 colours, which is six steps each of red, green and blue from 16 on. */
static void steps_of(int colour, int *red, int *green, int *blue)
{
    assert_in_range(colour, 16, 231);
    *red = (colour - 16) / 36;
    *green = (colour - 16) / 6 % 6;
    *blue = (colour - 16) % 6;
}

static bool is_amber(const struct cb_style *style)
{
    int red, green, blue;
    if (style->fg256 < 16 || style->fg256 > 231) {
        return style->fg8 == 3;
    }
    steps_of(style->fg256, &red, &green, &blue);
    return red > green && green > blue;
}

static void hues(void **state)
{
    (void)state;
    int red, green, blue;
    steps_of(cb_theme_dark[CB_ROLE_READY].fg256, &red, &green, &blue);
    assert_true(green > red && green > blue);
    assert_int_equal(cb_theme_dark[CB_ROLE_READY].fg8, 2);
    steps_of(cb_theme_dark[CB_ROLE_WET].fg256, &red, &green, &blue);
    assert_true(blue > green && green > red);
    assert_in_range(cb_theme_dark[CB_ROLE_DONE].fg256, 232, 255); /* the greys */
    assert_int_equal(cb_theme_dark[CB_ROLE_BIG].fg256, -1);
    for (int role = 0; role < CB_ROLE_COUNT; role++) {
        const bool care = role == CB_ROLE_WARN || role == CB_ROLE_HELD;
        assert_int_equal(is_amber(&cb_theme_dark[role]), care);
        assert_int_equal(cb_theme_dark[role].fg8 == 3, care);
        assert_true(cb_theme_dark[role].bg8 != 3);
    }
}

static void no_hue_in_mono(void **state)
{
    (void)state;
    for (int role = 0; role < CB_ROLE_COUNT; role++) {
        assert_int_equal(cb_theme_mono[role].fg8, -1);
        assert_int_equal(cb_theme_mono[role].fg256, -1);
        assert_int_equal(cb_theme_mono[role].bg8, -1);
        assert_int_equal(cb_theme_mono[role].bg256, -1);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hues),
        cmocka_unit_test(no_hue_in_mono),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
