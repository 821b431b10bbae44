/* SPDX-License-Identifier: MIT */
/* Green is ready, blue is wet, amber wants care, grey is done, and no other hue means anything;
 * each can be read on its ground, and told from the others by who sees fewer hues. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

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

/* A colour of the 256 as sRGB: steps of the cube and greys as xterm has them (256colres.pl, its
 * ctlseqs: "88/256 colors"). */
static struct rgb {
    double red, green, blue;
} colour_of(int colour)
{
    static const int steps[] = {0, 95, 135, 175, 215, 255};
    assert_in_range(colour, 16, 255);
    if (colour >= 232) {
        const double grey = (8 + 10 * (colour - 232)) / 255.0;
        return (struct rgb){grey, grey, grey};
    }
    int red, green, blue;
    steps_of(colour, &red, &green, &blue);
    return (struct rgb){steps[red] / 255.0, steps[green] / 255.0, steps[blue] / 255.0};
}

/* The first eight as xterm has them when nobody chose others (XTerm-col.ad). */
static const struct rgb eight[] = {{0, 0, 0},
                                   {205 / 255.0, 0, 0},
                                   {0, 205 / 255.0, 0},
                                   {205 / 255.0, 205 / 255.0, 0},
                                   {0, 0, 238 / 255.0},
                                   {205 / 255.0, 0, 205 / 255.0},
                                   {0, 205 / 255.0, 205 / 255.0},
                                   {229 / 255.0, 229 / 255.0, 229 / 255.0}};

/* W3C, WCAG 2.1: contrast ratio; 4.5 to 1 is its level AA for text (1.4.3). */
static double contrast(struct rgb text, struct rgb ground)
{
    const double a = cb_theme_luminance(text.red, text.green, text.blue) + 0.05;
    const double b = cb_theme_luminance(ground.red, ground.green, ground.blue) + 0.05;
    return a > b ? a / b : b / a;
}
#define LEAST 4.5

static void assert_readable(const char *theme, int role, struct rgb text, struct rgb ground)
{
    const double ratio = contrast(text, ground);
    if (ratio < LEAST) {
        fail_msg("%s, role %d: %.2f to 1 on %.2f", theme, role, ratio, ground.green);
    }
}

/* The terminal's own text on its own ground is its owner's choice; where one of both is ours, the
 * pair is ours to answer for. A theme that sets a ground sets the text on it too. */
static void assert_theme(const char *name, const struct cb_style *theme, struct rgb own_text,
                         const struct rgb *grounds, size_t count)
{
    for (int role = 0; role < CB_ROLE_COUNT; role++) {
        const struct cb_style *style = &theme[role];
        if (style->bg256 >= 0) {
            assert_true(style->fg256 >= 0);
            assert_readable(name, role, colour_of(style->fg256), colour_of(style->bg256));
        }
        for (size_t i = 0; i < count && style->fg256 >= 0 && style->bg256 < 0; i++) {
            assert_readable(name, role, colour_of(style->fg256), grounds[i]);
        }
        if (style->fg8 >= 0 || style->bg8 >= 0) {
            assert_readable(name, role, style->fg8 >= 0 ? eight[style->fg8] : own_text,
                            style->bg8 >= 0 ? eight[style->bg8] : grounds[0]);
        }
    }
}

static void contrasts(void **state)
{
    (void)state;
    const struct rgb black = {0, 0, 0}, white = {1, 1, 1};
    assert_true(fabs(contrast(black, white) - 21) < 1e-9); /* "from 1 to 21", WCAG 2.1 */
    assert_true(fabs(contrast(white, white) - 1) < 1e-9);
    /* Black and the greys that people paint on at night, up to #282828; white and paper. */
    const struct rgb dark[] = {black,
                               {0x1C / 255.0, 0x1C / 255.0, 0x1C / 255.0},
                               {0x1E / 255.0, 0x1E / 255.0, 0x2E / 255.0},
                               {0x28 / 255.0, 0x28 / 255.0, 0x28 / 255.0}};
    const struct rgb light[] = {white,
                                {0xFD / 255.0, 0xF6 / 255.0, 0xE3 / 255.0},
                                {0xEE / 255.0, 0xEE / 255.0, 0xEE / 255.0}};
    assert_theme("dark", cb_theme_dark, white, dark, sizeof dark / sizeof *dark);
    assert_theme("light", cb_theme_light, black, light, sizeof light / sizeof *light);
}

static double linear(double part)
{
    return part <= 0.04045 ? part / 12.92 : pow((part + 0.055) / 1.055, 2.4);
}

/* How it looks to who has no red or no green cones: G. Machado, M. Oliveira, L. Fernandes, "A
 * Physiologically-based Model for Simulation of Color Vision Deficiency", 2009, severity 1.0; the
 * figures from memory. Then CIE 1976 L*a*b* of D65. */
static void lab_of(struct rgb rgb, const double seen[3][3], double lab[3])
{
    static const double xyz_of[3][3] = {
        {0.4124, 0.3576, 0.1805}, {0.2126, 0.7152, 0.0722}, {0.0193, 0.1192, 0.9505}};
    static const double white[3] = {0.9505, 1, 1.089};
    const double in[3] = {linear(rgb.red), linear(rgb.green), linear(rgb.blue)};
    double out[3] = {0}, f[3];
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k < 3; k++) {
            out[i] += seen[i][k] * in[k];
        }
        out[i] = fmin(1, fmax(0, out[i]));
    }
    for (int i = 0; i < 3; i++) {
        double sum = 0;
        for (int k = 0; k < 3; k++) {
            sum += xyz_of[i][k] * out[k];
        }
        sum /= white[i];
        f[i] = sum > 0.008856 ? cbrt(sum) : 7.787 * sum + 16.0 / 116;
    }
    lab[0] = 116 * f[1] - 16;
    lab[1] = 500 * (f[0] - f[1]);
    lab[2] = 200 * (f[1] - f[2]);
}

/* Twenty is what two colours side by side are plainly told apart by; own judgement. */
#define APART 20

static void apart_for_all_eyes(void **state)
{
    (void)state;
    static const double eyes[][3][3] = {
        {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
        {{0.152286, 1.052583, -0.204868},
         {0.114503, 0.786281, 0.099216},
         {-0.003882, -0.048116, 1.051998}},
        {{0.367322, 0.860646, -0.227968},
         {0.280085, 0.672501, 0.047413},
         {-0.011820, 0.042940, 0.968881}},
    };
    const enum cb_role states[] = {CB_ROLE_READY, CB_ROLE_WET, CB_ROLE_HELD};
    const struct cb_style *themes[] = {cb_theme_dark, cb_theme_light};
    for (size_t t = 0; t < 2; t++) {
        for (size_t e = 0; e < sizeof eyes / sizeof *eyes; e++) {
            for (size_t i = 0; i < 3; i++) {
                for (size_t k = i + 1; k < 3; k++) {
                    double a[3], b[3];
                    lab_of(colour_of(themes[t][states[i]].fg256), eyes[e], a);
                    lab_of(colour_of(themes[t][states[k]].fg256), eyes[e], b);
                    const double far = hypot(hypot(a[0] - b[0], a[1] - b[1]), a[2] - b[2]);
                    if (far < APART) {
                        fail_msg("theme %zu, eyes %zu: states %zu and %zu are %.1f apart", t, e, i,
                                 k, far);
                    }
                }
            }
        }
    }
}

/* As terminals answer: XParseColor(3), "an RGB specification". */
static void answers(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int light; /* -1: no answer */
    } rows[] = {
        {"rgb:ffff/ffff/ffff", 1},
        {"rgb:fdfd/f6f6/e3e3", 1},
        {"rgb:f/f/f", 1},
        {"rgb:FF/FF/ff", 1},
        {"rgb:0000/0000/0000", 0},
        {"rgb:28/2c/34", 0},
        {"rgb:0/2b/3600", 0},
        {"rgb:7777/7777/7777", 1},
        {"rgb:7575/7575/7575", 0},
        {"rgba:0000/0000/0000/ffff", 0},
        {"rgba:ffff/ffff/ffff/8000", 1},
        {"", -1},
        {"?", -1},
        {"rgb:", -1},
        {"rgb:ffff/ffff", -1},
        {"rgb:ffff/ffff/", -1},
        {"rgb:ffff/ffff/fffff", -1},
        {"rgb:ffff/ffff/ffff/ffff", -1},
        {"rgba:ffff/ffff/ffff", -1},
        {"rgb:fffg/ffff/ffff", -1},
        {"rgb:ffff/ffff/ffff ", -1},
        {" rgb:ffff/ffff/ffff", -1},
        {"RGB:ffff/ffff/ffff", -1},
        {"white", -1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bool light = rows[i].light != 1;
        const bool is = cb_theme_is_light(rows[i].text, &light);
        if (is != (rows[i].light >= 0) || (is && light != (rows[i].light == 1))) {
            fail_msg("%s: %d, light %d", rows[i].text, is, light);
        }
    }
    assert_true(fabs(1.05 / (CB_THEME_MIDDLE + 0.05) - (CB_THEME_MIDDLE + 0.05) / 0.05) < 0.01);
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
        cmocka_unit_test(contrasts),
        cmocka_unit_test(apart_for_all_eyes),
        cmocka_unit_test(answers),
        cmocka_unit_test(no_hue_in_mono),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
