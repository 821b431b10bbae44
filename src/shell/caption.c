/* SPDX-License-Identifier: MIT */
#include "shell/caption.h"

#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "base/utf8.h"

#define TITLE_COLUMNS 80 /* more than a bar shows; own judgement */
#define BODY_COLUMNS  160

/* XTerm Control Sequences, XTWINOPS: the title is laid on a stack, and taken from there. */
#define KEEP "\033[22;2t"
#define BACK "\033]2;\033\\\033[23;2t"

/* Those that take the title as xterm does: XTerm Control Sequences, "Operating System Commands", Ps
 * 2, and "Window manipulation (XTWINOPS)", 22;2 and 23;2; tmux(1), NAMES AND TITLES. Beginnings of
 * TERM; that these are xterm's likes is from memory. Who knows the title and no stack of them
 * passes over that. */
static const char *const titled[] = {"xterm",   "rxvt", "foot", "alacritty", "tmux",   "konsole",
                                     "wezterm", "vte",  "st-",  "gnome",     "mlterm", "ghostty"};

/* Those that show a pop-up, and where their own documentation says so. A beginning of TERM, which a
 * remote login takes along, or TERM_PROGRAM. Within tmux and screen none is shown: they keep such
 * sequences to themselves unless they are set to let them through. */
static const struct {
    const char *type, *program;
    enum cb_caption_pop_up way;
} shown[] = {
    {"tmux", NULL, CB_POP_UP_NONE},
    {"screen", NULL, CB_POP_UP_NONE},
    {NULL, "tmux", CB_POP_UP_NONE},
    /* sw.kovidgoyal.net/kitty/desktop-notifications */
    {"xterm-kitty", NULL, CB_POP_UP_OSC99},
    /* foot-ctlseqs(7), OSC (that its 777 is notify: from memory) */
    {"foot", NULL, CB_POP_UP_OSC777},
    /* wezterm.org/escape-sequences.html */
    {"wezterm", NULL, CB_POP_UP_OSC777},
    {NULL, "WezTerm", CB_POP_UP_OSC777},
    /* ghostty.org/docs/vt/osc/9 */
    {"xterm-ghostty", NULL, CB_POP_UP_OSC9},
    {NULL, "ghostty", CB_POP_UP_OSC9},
    /* iterm2.com/documentation-escape-codes.html, "Post a notification" */
    {NULL, "iTerm.app", CB_POP_UP_OSC9},
};

static bool begins(const char *text, const char *with)
{
    return text != NULL && with != NULL && strncmp(text, with, strlen(with)) == 0;
}

struct cb_caption cb_caption_of(const char *type, const char *program)
{
    struct cb_caption caption = {0};
    for (size_t i = 0; i < sizeof titled / sizeof *titled; i++) {
        caption.title = caption.title || begins(type, titled[i]);
    }
    for (size_t i = 0; i < sizeof shown / sizeof *shown; i++) {
        if (begins(type, shown[i].type) ||
            (program != NULL && cb_str_same(program, shown[i].program))) {
            caption.pop_up = shown[i].way;
            break;
        }
    }
    return caption;
}

void cb_caption_fini(struct cb_caption *caption)
{
    free(caption->to_title);
    free(caption->from_title);
    free(caption->end_title);
    cb_str_fini(&caption->stands);
}

static void add_text(struct cb_str *out, const char *text, int columns, bool ascii)
{
    struct cb_arena arena = {0};
    const char *clean = cb_utf8_clean(&arena, text, columns);
    for (uint32_t cp = cb_utf8_next(&clean); cp != 0; cp = cb_utf8_next(&clean)) {
        char bytes[5];
        const size_t length = cb_utf8_write(ascii && cp > '~' ? '?' : cp, bytes);
        cb_str_add_n(out, bytes, length);
    }
    cb_arena_fini(&arena);
}

void cb_caption_title(struct cb_caption *caption, struct cb_str *out, const char *text, int columns,
                      bool ascii)
{
    const bool own = caption->to_title != NULL && caption->from_title != NULL;
    if ((!caption->title && !own) || strcmp(cb_str_text(&caption->stands), text) == 0) {
        return;
    }
    if (caption->title) {
        cb_str_add(out, caption->stands.length == 0 ? KEEP "\033]2;" : "\033]2;");
        add_text(out, text, TITLE_COLUMNS, ascii);
        cb_str_add(out, "\033\\");
    } else {
        cb_str_add(out, caption->to_title);
        add_text(out, text, columns, ascii);
        cb_str_add(out, caption->from_title);
    }
    cb_str_clear(&caption->stands);
    cb_str_add(&caption->stands, text);
}

const char *cb_caption_back(const struct cb_caption *caption)
{
    return caption->stands.length == 0 ? ""
           : caption->title            ? BACK
           : caption->end_title        ? caption->end_title
                                       : "";
}

/* Lines become sentences, and what parts the fields of a sequence a comma. */
static void add_field(struct cb_str *out, const char *text, int columns, bool ascii)
{
    struct cb_str one = {0};
    for (; *text != '\0'; text++) {
        if (*text == '\n') {
            cb_str_add(&one, ", ");
        } else {
            cb_str_add_n(&one, *text == ';' ? "," : text, 1);
        }
    }
    add_text(out, cb_str_text(&one), columns, ascii);
    cb_str_fini(&one);
}

void cb_caption_pop_up(struct cb_str *out, enum cb_caption_pop_up way, uint32_t id,
                       const char *title, const char *body, bool ascii)
{
    switch (way) {
    case CB_POP_UP_NONE:
        return;
    case CB_POP_UP_OSC9:
        /* A text that begins with a number has another meaning to some: ours begins with a word. */
        cb_str_add(out, "\033]9;coatbell: ");
        add_field(out, title, TITLE_COLUMNS, ascii);
        cb_str_add(out, ". ");
        add_field(out, body, BODY_COLUMNS, ascii);
        break;
    case CB_POP_UP_OSC777:
        cb_str_add(out, "\033]777;notify;");
        add_field(out, title, TITLE_COLUMNS, ascii);
        cb_str_add(out, ";");
        add_field(out, body, BODY_COLUMNS, ascii);
        break;
    case CB_POP_UP_OSC99:
        cb_str_addf(out, "\033]99;i=coatbell-%u:d=0;", (unsigned)id);
        add_field(out, title, TITLE_COLUMNS, ascii);
        cb_str_addf(out, "\033\\\033]99;i=coatbell-%u:p=body;", (unsigned)id);
        add_field(out, body, BODY_COLUMNS, ascii);
        break;
    }
    cb_str_add(out, "\033\\");
}
