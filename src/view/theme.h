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
extern const struct cb_style cb_theme_dark[CB_ROLE_COUNT];
extern const struct cb_style cb_theme_mono[CB_ROLE_COUNT];

#endif
