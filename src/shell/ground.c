/* SPDX-License-Identifier: MIT */
#include "shell/ground.h"

#include <string.h>

#include "view/theme.h"

/* An answer that began so long ago has lost its end: keys are keys again. Own judgement, far above
 * what parts the first byte of one from its last. */
#define ANSWER_MS 1000

void cb_ground_begin(struct cb_ground *ground, int64_t now_ms)
{
    ground->answering = true;
    ground->escaped = false;
    ground->length = 0;
    ground->begun_ms = now_ms;
}

static enum cb_ground_step end(struct cb_ground *ground, enum cb_ground_step step)
{
    ground->answering = false;
    if (step == CB_GROUND_ENDED) {
        ground->text[ground->length] = '\0';
        step = cb_theme_is_light(ground->text, &ground->light) ? CB_GROUND_ANSWERED : step;
    }
    return step;
}

enum cb_ground_step cb_ground_add(struct cb_ground *ground, int byte, int64_t now_ms)
{
    if (now_ms - ground->begun_ms > ANSWER_MS) {
        return end(ground, ground->escaped ? CB_GROUND_BROKEN_ESC : CB_GROUND_BROKEN);
    }
    if (ground->escaped) {
        return end(ground, byte == '\\' ? CB_GROUND_ENDED : CB_GROUND_BROKEN_ESC);
    }
    if (byte == '\a') {
        return end(ground, CB_GROUND_ENDED);
    }
    if (byte == '\033') {
        ground->escaped = true;
        return CB_GROUND_MORE;
    }
    if (ground->length == sizeof ground->text - 1 || byte <= ' ' || byte > '~' ||
        strchr("0123456789abcdefABCDEFrg:/", byte) == NULL) {
        return end(ground, CB_GROUND_BROKEN);
    }
    ground->text[ground->length++] = (char)byte;
    return CB_GROUND_MORE;
}
