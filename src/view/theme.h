/* SPDX-License-Identifier: MIT */
/* How each role looks, as data: colour (8 and 256) and attributes. Colour-blind safe; every state
 * also has a word and a symbol, so that mono loses nothing. */
#ifndef CB_VIEW_THEME_H
#define CB_VIEW_THEME_H

#include <stdbool.h>
#include <stdint.h>

#include "view/grid.h"

struct cb_style {
    int16_t fg8, bg8; /* -1: the terminal's own */
    int16_t fg256, bg256;
    bool bold, dim, reverse, underline;
};
extern const struct cb_style cb_theme_dark[CB_ROLE_COUNT];  /* on black and on dark greys */
extern const struct cb_style cb_theme_light[CB_ROLE_COUNT]; /* on white and on what is near it */
extern const struct cb_style cb_theme_mono[CB_ROLE_COUNT];

/* Relative luminance of a colour of sRGB, parts 0 to 1: 0 is black, 1 white (W3C, WCAG 2.1,
 * "relative luminance"). */
double cb_theme_luminance(double red, double green, double blue);
/* Where white on it is told apart as well as black: both contrasts are sqrt(1.05 / 0.05). */
#define CB_THEME_MIDDLE 0.1791

/* What a terminal says of its background: "rgb:ffff/ffff/ffff", one to four hexadecimal digits a
 * part (XParseColor(3)), or rgba: with a fourth. False: nothing that means a colour. */
bool cb_theme_is_light(const char *answer, bool *light);

#endif
