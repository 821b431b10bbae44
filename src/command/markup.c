/* SPDX-License-Identifier: MIT */
#include "command/markup.h"

#include "base/arena.h"
#include "base/utf8.h"

void cb_markup_text(struct cb_str *out, const char *text)
{
    struct cb_arena arena = {0};
    for (const char *at = cb_utf8_clean(&arena, text, 0); *at != '\0'; at++) {
        switch (*at) {
        case '&':
            cb_str_add(out, "&amp;");
            break;
        case '<':
            cb_str_add(out, "&lt;");
            break;
        case '>':
            cb_str_add(out, "&gt;");
            break;
        case '"':
            cb_str_add(out, "&quot;");
            break;
        case '\'':
            cb_str_add(out, "&#39;");
            break;
        default:
            cb_str_add_n(out, at, 1);
        }
    }
    cb_arena_fini(&arena);
}
