/* SPDX-License-Identifier: MIT */
/* What a terminal says when it is asked for its background (OSC 11; xterm's ctlseqs, "Operating
 * System Commands"), byte by byte among the keys that are typed meanwhile. Such an answer may come
 * at any time, in pieces, cut off, or never; it lasts a second at most. */
#ifndef CB_SHELL_GROUND_H
#define CB_SHELL_GROUND_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define CB_GROUND_ASK   "\033]11;?\033\\"
#define CB_GROUND_BEGIN "\033]11;"
#define CB_GROUND_REST                                                                             \
    "]11;" /* of that, where its ESC came long before and was taken for a key                      \
            */

struct cb_ground {
    bool answering; /* the beginning has come, the end has not */
    bool light;     /* of the last answer that was one */
    bool escaped;   /* its last byte was ESC */
    int64_t begun_ms;
    char text[32]; /* longer than any: "rgba:ffff/ffff/ffff/ffff" */
    size_t length;
};

enum cb_ground_step {
    CB_GROUND_MORE,       /* the byte was the answer's */
    CB_GROUND_ANSWERED,   /* the last of it: light says which */
    CB_GROUND_ENDED,      /* the last of one that means nothing to us */
    CB_GROUND_BROKEN,     /* no answer has such a byte: it is a key */
    CB_GROUND_BROKEN_ESC, /* neither has one after ESC: both are */
};

/* After CB_GROUND_BEGIN. now_ms: monotonic, here and below. */
void cb_ground_begin(struct cb_ground *ground, int64_t now_ms);
/* While answering: its next byte. */
enum cb_ground_step cb_ground_add(struct cb_ground *ground, int byte, int64_t now_ms);

#endif
