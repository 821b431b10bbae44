/* SPDX-License-Identifier: MIT */
#include "app/keymap.h"

#include <stdio.h>
#include <string.h>

#include "app/key.h"

static void remove_key(struct cb_keymap *keymap, uint32_t key)
{
    size_t kept = 0;
    for (size_t i = 0; i < keymap->count; i++) {
        if (keymap->rows[i].key != key) {
            keymap->rows[kept++] = keymap->rows[i];
        }
    }
    keymap->count = kept;
}

static void remove_action(struct cb_keymap *keymap, enum cb_action action)
{
    size_t kept = 0;
    for (size_t i = 0; i < keymap->count; i++) {
        if (keymap->rows[i].action != action) {
            keymap->rows[kept++] = keymap->rows[i];
        }
    }
    keymap->count = kept;
}

static void bind(struct cb_keymap *keymap, uint32_t key, enum cb_action action)
{
    remove_key(keymap, key);
    if (keymap->count < CB_KEYMAP_MAX) {
        keymap->rows[keymap->count++] = (struct cb_keymap_row){key, action};
    }
}

static void bind_defaults(struct cb_keymap *keymap, enum cb_action action)
{
    const char *keys = cb_action_keys(action);
    while (*keys) {
        char name[16];
        size_t length = strcspn(keys, " ");
        snprintf(name, sizeof name, "%.*s", (int)length, keys);
        uint32_t key;
        if (cb_key_from_name(name, &key)) {
            bind(keymap, key, action);
        }
        keys += length;
        keys += strspn(keys, " ");
    }
}

static bool can_be_bound(uint32_t key)
{
    return !(key >= '0' && key <= '9') && key != '-' && key != CB_KEY_ESC;
}

enum cb_status cb_keymap_init(struct cb_keymap *keymap, const struct cb_config *config,
                              struct cb_err *err)
{
    keymap->count = 0;
    for (size_t i = 0; i < CB_ACTION_COUNT; i++) {
        bind_defaults(keymap, (enum cb_action)i);
    }
    enum cb_status status = CB_OK;
    bool replaced[CB_ACTION_COUNT] = {false};
    for (size_t i = 0; config && i < config->key_count; i++) {
        const struct cb_config_key *row = &config->keys[i];
        enum cb_action action;
        uint32_t key;
        if (!cb_action_from_name(row->action, &action)) {
            if (status == CB_OK) {
                status = cb_err_set(err, CB_DATA,
                                    "%d:%d: no such action: %s; the help view lists"
                                    " them",
                                    row->line, row->column, row->action);
            }
            continue;
        }
        if (!cb_key_from_name(row->key, &key) || !can_be_bound(key)) {
            if (status == CB_OK) {
                status = cb_err_set(err, CB_DATA,
                                    "%d:%d: no key that can be bound: %s; a letter,"
                                    " SPACE, PAGEDOWN, F6 or the like",
                                    row->line, row->column, row->key);
            }
            continue;
        }
        if (!replaced[action]) {
            remove_action(keymap, action);
            replaced[action] = true;
        }
        bind(keymap, key, action);
    }
    memset(keymap->names, 0, sizeof keymap->names);
    for (size_t i = keymap->count; i-- > 0;) { /* the first of an action is the one that stays */
        cb_key_name(keymap->rows[i].key, keymap->names[keymap->rows[i].action]);
    }
    return status;
}

enum cb_action cb_keymap_action(const struct cb_keymap *keymap, uint32_t key)
{
    for (size_t i = 0; i < keymap->count; i++) {
        if (keymap->rows[i].key == key) {
            return keymap->rows[i].action;
        }
    }
    return CB_ACTION_NONE;
}

const char *cb_keymap_name(const struct cb_keymap *keymap, enum cb_action action)
{
    return action < CB_ACTION_COUNT ? keymap->names[action] : "";
}

const char *cb_keymap_names(const struct cb_keymap *keymap, enum cb_action action, char *out,
                            size_t size)
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t i = 0; i < keymap->count; i++) {
        if (keymap->rows[i].action != action) {
            continue;
        }
        char name[16];
        int n = snprintf(out + used, size - used, "%s%s", used ? " " : "",
                         cb_key_name(keymap->rows[i].key, name));
        if (n < 0 || (size_t)n >= size - used) {
            break;
        }
        used += (size_t)n;
    }
    return out;
}
