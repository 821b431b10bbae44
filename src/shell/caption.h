/* SPDX-License-Identifier: MIT */
/*
 * What a terminal shows outside its screen: the title of its window, and pop-ups on the desktop
 * where it stands, which is not the one of this machine over a remote login. Written only where the
 * terminal is known to take it. Nothing here writes; it makes the bytes.
 */
#ifndef CB_SHELL_CAPTION_H
#define CB_SHELL_CAPTION_H

#include <stdbool.h>
#include <stdint.h>

#include "base/str.h"

enum cb_caption_pop_up { CB_POP_UP_NONE, CB_POP_UP_OSC9, CB_POP_UP_OSC777, CB_POP_UP_OSC99 };

struct cb_caption {
    bool title; /* as xterm takes it: see cb_caption_title */
    enum cb_caption_pop_up pop_up;
};

/* Of a terminal by TERM and TERM_PROGRAM, either of which may be NULL. */
struct cb_caption cb_caption_of(const char *type, const char *program);

/* Keeps the old title aside; sets another; brings the old one back, or none where the terminal
 * keeps none. Here and below: appended to out; the text is cleaned, and cut to what is shown of
 * such a thing; ascii: what is beyond it becomes a ?. */
#define CB_CAPTION_KEEP "\033[22;2t"
#define CB_CAPTION_BACK "\033]2;\033\\\033[23;2t"
void cb_caption_title(struct cb_str *out, const char *text, bool ascii);
/* The same text alone, for a terminal with a way of its own: cut to so many columns. */
void cb_caption_text(struct cb_str *out, const char *text, int columns, bool ascii);
/* id: one that is told later takes the place of the same id, where the terminal can. */
void cb_caption_pop_up(struct cb_str *out, enum cb_caption_pop_up way, uint32_t id,
                       const char *title, const char *body, bool ascii);

#endif
