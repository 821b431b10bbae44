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
    bool title; /* as xterm takes it */
    enum cb_caption_pop_up pop_up;
    /* Where it does not, terminfo's own way: what stands before the text, behind it, and what takes
     * it away; the caption's own from then on. NULL: there is none. */
    char *to_title, *from_title, *end_title;
    struct cb_str stands; /* the title; "": the one that was found */
};

/* Of a terminal by TERM and TERM_PROGRAM, either of which may be NULL. */
struct cb_caption cb_caption_of(const char *type, const char *program);
void cb_caption_fini(struct cb_caption *caption);

/* What makes this the title; nothing where it is, or where there is none. The first keeps the old
 * one aside. columns: of a title in terminfo's way. Here and below: appended to out; the text is
 * cleaned, and cut to what is shown of such a thing; ascii: what is beyond it becomes a ?. */
void cb_caption_title(struct cb_caption *caption, struct cb_str *out, const char *text, int columns,
                      bool ascii);
/* What brings the old one back, or none where the terminal keeps none; "": none of ours stands. */
const char *cb_caption_back(const struct cb_caption *caption);
/* id: one that is told later takes the place of the same id, where the terminal can. */
void cb_caption_pop_up(struct cb_str *out, enum cb_caption_pop_up way, uint32_t id,
                       const char *title, const char *body, bool ascii);

#endif
