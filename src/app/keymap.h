/* SPDX-License-Identifier: MIT */
/* Which key does what: the default keys of action.h, then the user's own from config.yaml. A digit
 * and a minus before one are only ever part of a count and can't be bound. */
#ifndef CB_APP_KEYMAP_H
#define CB_APP_KEYMAP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/err.h"
#include "core/recipe/config.h"
#include "app/action.h"
#include "app/key.h"

#define CB_KEYMAP_MAX 256

struct cb_keymap {
    size_t count;
    struct cb_keymap_row {
        uint32_t key;
        enum cb_action action;
    } rows[CB_KEYMAP_MAX];
    char names[CB_ACTION_COUNT][CB_KEY_NAME_MAX];
};

/* The user's keys of an action replace its default ones; a key stays with the action that named
 * it last. Rows that can't be are left out and the first of them is told: CB_DATA, one line with
 * line and column. config may be NULL. */
enum cb_status cb_keymap_init(struct cb_keymap *keymap, const struct cb_config *config,
                              struct cb_err *err);
enum cb_action cb_keymap_action(const struct cb_keymap *keymap, uint32_t key);
/* The first key of the action, by name, for screens; "" when it has none. */
const char *cb_keymap_name(const struct cb_keymap *keymap, enum cb_action action);
/* All of them, a blank between, at most size bytes. */
const char *cb_keymap_names(const struct cb_keymap *keymap, enum cb_action action, char *out,
                            size_t size);

#endif
