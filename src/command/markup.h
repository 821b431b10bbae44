/* SPDX-License-Identifier: MIT */
/* Text in HTML and SVG. */
#ifndef CB_COMMAND_MARKUP_H
#define CB_COMMAND_MARKUP_H

#include "base/str.h"

/* Appends text from a log or a recipe: cleaned, what is markup escaped. */
void cb_markup_text(struct cb_str *out, const char *text);

#endif
