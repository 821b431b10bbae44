/* SPDX-License-Identifier: MIT */
/* Keys as the terminal edge, scripts and config.yaml name them. */
#ifndef CB_APP_KEY_H
#define CB_APP_KEY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define CB_KEY_NAME_MAX 16

/* A character is its code point; the named ones lie above Unicode. */
enum cb_key {
    CB_KEY_NONE = 0,
    CB_KEY_TAB = 9,
    CB_KEY_ENTER = 13,
    CB_KEY_ESC = 27,
    CB_KEY_SPACE = 32,
    CB_KEY_BACKSPACE = 127,
    CB_KEY_LEFT = 0x110000,
    CB_KEY_RIGHT,
    CB_KEY_UP,
    CB_KEY_DOWN,
    CB_KEY_PAGEUP,
    CB_KEY_PAGEDOWN,
    CB_KEY_HOME,
    CB_KEY_END,
    CB_KEY_F1, /* F1..F12 in a row */
    CB_KEY_F12 = CB_KEY_F1 + 11,
    CB_KEY_CTRL_C,
    CB_KEY_CTRL_U,
    CB_KEY_CTRL_Z,
    CB_KEY_PASTE, /* no key but a text that was pasted, CB_INPUT_TEXT of the app */
};
/* "SPACE", "pagedown", "F3", "a", "_": false when it is no key. Names without regard to case. */
bool cb_key_from_name(const char *name, uint32_t *key);
/* The other way. */
const char *cb_key_name(uint32_t key, char out[CB_KEY_NAME_MAX]);

#endif
