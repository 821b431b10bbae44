/* SPDX-License-Identifier: MIT */
/* A screen as an SVG picture, for the manual and README. It knows no file. */
#ifndef CB_COMMAND_SVG_SCREEN_H
#define CB_COMMAND_SVG_SCREEN_H

#include "base/str.h"
#include "view/grid.h"
#include "view/theme.h"

/* Appends one whole document. Each text is held to its cells by x and textLength, whatever the
 * reader's font; lines and blocks are drawn, not written. Who can't see it is told the title and
 * the words of the screen, row by row. */
void cb_svg_screen(const struct cb_grid *grid, const struct cb_style theme[CB_ROLE_COUNT],
                   const char *title, struct cb_str *out);

#endif
