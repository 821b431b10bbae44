/* SPDX-License-Identifier: MIT */
#include "app/key.h"

#include <stdio.h>
#include <string.h>

#include "base/utf8.h"

static const struct {
    const char *name; /* the first of a key is the one it is shown by */
    uint32_t key;
} names[] = {
    {"SPACE", CB_KEY_SPACE},         {"ENTER", CB_KEY_ENTER},   {"BKSP", CB_KEY_BACKSPACE},
    {"BACKSPACE", CB_KEY_BACKSPACE}, {"TAB", CB_KEY_TAB},       {"ESC", CB_KEY_ESC},
    {"LEFT", CB_KEY_LEFT},           {"RIGHT", CB_KEY_RIGHT},   {"UP", CB_KEY_UP},
    {"DOWN", CB_KEY_DOWN},           {"PAGEUP", CB_KEY_PAGEUP}, {"PAGEDOWN", CB_KEY_PAGEDOWN},
    {"HOME", CB_KEY_HOME},           {"END", CB_KEY_END},       {"CTRL-C", CB_KEY_CTRL_C},
    {"CTRL-U", CB_KEY_CTRL_U},       {"CTRL-Z", CB_KEY_CTRL_Z},
};

static bool same(const char *a, const char *b)
{
    for (; *a && *b; a++, b++) {
        char x = *a >= 'a' && *a <= 'z' ? (char)(*a - 'a' + 'A') : *a;
        if (x != *b) {
            return false;
        }
    }
    return *a == *b;
}

bool cb_key_from_name(const char *name, uint32_t *key)
{
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (same(name, names[i].name)) {
            *key = names[i].key;
            return true;
        }
    }
    if ((name[0] == 'F' || name[0] == 'f') && name[1] >= '1' && name[1] <= '9') {
        int number = name[1] - '0';
        if (name[2] >= '0' && name[2] <= '9' && name[3] == '\0') {
            number = number * 10 + name[2] - '0';
        } else if (name[2] != '\0') {
            return false;
        }
        if (number >= 1 && number <= 12) {
            *key = CB_KEY_F1 + (uint32_t)number - 1;
            return true;
        }
        return false;
    }
    uint32_t cp = cb_utf8_next(&name);
    if (cp == 0 || *name != '\0' || !cb_utf8_is_safe(cp)) {
        return false;
    }
    *key = cp;
    return true;
}

const char *cb_key_name(uint32_t key, char out[16])
{
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (names[i].key == key) {
            snprintf(out, 16, "%s", names[i].name);
            return out;
        }
    }
    if (key >= CB_KEY_F1 && key <= CB_KEY_F12) {
        snprintf(out, 16, "F%u", (unsigned)(key - CB_KEY_F1) + 1);
    } else if (key < 0x110000 && cb_utf8_is_safe(key)) {
        char bytes[5];
        cb_utf8_write(key, bytes);
        snprintf(out, 16, "%s", bytes);
    } else {
        snprintf(out, 16, "?");
    }
    return out;
}
