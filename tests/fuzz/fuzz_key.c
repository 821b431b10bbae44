/* SPDX-License-Identifier: MIT */
/* Lines of "ACTION KEY" as a painter's own keys: a key that is one has a name that reads back, and
 * whatever was asked for, each key does one thing and digits stay a count. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "app/keymap.h"
#include "base/arena.h"
#include "base/utf8.h"
#include "fuzz/must.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { LINES_MAX = 300 };

static void check_name(const char *given)
{
    uint32_t key, again;
    char name[CB_KEY_NAME_MAX];
    if (cb_key_from_name(given, &key)) {
        must(strlen(cb_key_name(key, name)) < sizeof name);
        must(cb_key_from_name(name, &again) && again == key);
    }
}

static void check_map(const struct cb_keymap *keymap)
{
    must(keymap->count <= CB_KEYMAP_MAX);
    for (size_t i = 0; i < keymap->count; i++) {
        const uint32_t key = keymap->rows[i].key;
        must(!(key >= '0' && key <= '9') && key != '-');
        must(cb_keymap_action(keymap, key) == keymap->rows[i].action);
        for (size_t other = 0; other < i; other++) {
            must(keymap->rows[other].key != key);
        }
    }
    for (int action = 0; action < CB_ACTION_COUNT; action++) {
        char all[40];
        must(strlen(cb_keymap_names(keymap, (enum cb_action)action, all, sizeof all)) < sizeof all);
        must(strlen(cb_keymap_name(keymap, (enum cb_action)action)) < CB_KEY_NAME_MAX);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_arena arena = {0};
    struct cb_config config = cb_config_default;
    struct cb_config_key *keys = cb_arena_alloc(&arena, LINES_MAX, sizeof *keys);
    struct cb_keymap *keymap = cb_arena_alloc(&arena, 1, sizeof *keymap);
    struct cb_err err = {0};
    char *line = cb_arena_text_n(&arena, (const char *)data, size);
    while (line != NULL && config.key_count < LINES_MAX) {
        char *end = strchr(line, '\n');
        if (end != NULL) {
            *end++ = '\0';
        }
        char *blank = strchr(line, ' ');
        check_name(line);
        if (blank != NULL) {
            *blank++ = '\0';
            check_name(blank);
            keys[config.key_count++] =
                (struct cb_config_key){line, blank, (int)config.key_count + 1, 1};
        }
        line = end;
    }
    config.keys = keys;
    const enum cb_status status = cb_keymap_init(keymap, &config, &err);
    must((status == CB_OK) == (err.text[0] == '\0'));
    check_map(keymap);
    cb_arena_fini(&arena);
    return 0;
}
