/* SPDX-License-Identifier: MIT */
#include "core/recipe/config.h"

#include <math.h>
#include <string.h>

#include "base/str.h"
#include "core/recipe/schema.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

const char *const cb_setting_names[CB_SETTING_COUNT] = {
#define X(id, word) word,
    CB_SETTINGS(X)
#undef X
};
static const char *const ping_words[] = {
#define X(id, word) word,
    CB_PINGS(X)
#undef X
};

static const char *const theme_words[] = {
#define X(id, word) word,
    CB_THEMES(X)
#undef X
};

const struct cb_config cb_config_default = {
    .ping = CB_PING_NEEDED,
    .confidence = 0.80,
    .title = true,
    .pop_ups = true,
    .bell = true,
    .drops_per_ml = NAN,
};

static size_t count_keys(const struct cb_schema *schema, const struct cb_tree *keys)
{
    size_t count = 0;
    for (size_t i = 0; i < keys->count; i++) {
        count += cb_schema_list(schema, &keys->items[i], keys->keys[i].text);
    }
    return count;
}

/* keys: {coat-on: [SPACE, PageDown]}. Which actions and keys there are is the view's to know. */
static void read_keys(const struct cb_schema *schema, const struct cb_tree *keys,
                      struct cb_config *config)
{
    if (keys == NULL) {
        return;
    }
    if (keys->type != CB_TREE_MAP) {
        cb_schema_add(schema, keys, "keys: must be a map, as in {coat-on: [SPACE, PageDown]}");
        return;
    }
    struct cb_config_key *out =
        cb_arena_alloc(schema->arena, count_keys(schema, keys), sizeof *out);
    for (size_t action = 0; action < keys->count; action++) {
        const struct cb_tree *value = &keys->items[action];
        size_t count = value->type == CB_TREE_LIST ? value->count : value->type == CB_TREE_TEXT;
        for (size_t i = 0; i < count; i++) {
            const struct cb_tree *item = cb_schema_item(value, i);
            const char *key = cb_schema_line(schema, item, keys->keys[action].text);
            if (key != NULL) {
                out[config->key_count++] = (struct cb_config_key){
                    .action = keys->keys[action].text,
                    .key = key,
                    .line = item->line,
                    .column = item->column,
                };
            }
        }
    }
    config->keys = out;
}

/* on_ring: [program, argument...] */
static void read_program(const struct cb_schema *schema, const struct cb_tree *tree,
                         const char *key, struct cb_config_program *program)
{
    if (tree == NULL) {
        return;
    }
    const size_t count = cb_schema_list(schema, tree, key);
    const char **words = cb_arena_alloc(schema->arena, count + 1, sizeof *words);
    for (size_t i = 0; i < count; i++) {
        words[i] = cb_schema_line(schema, cb_schema_item(tree, i), key);
    }
    *program = (struct cb_config_program){count, words};
}

/* sensor: off | any | a device's name | [program, argument...] */
static void read_sensor(const struct cb_schema *schema, const struct cb_tree *map,
                        struct cb_config *config)
{
    const struct cb_tree *tree = cb_tree_get(map, "sensor");
    if (tree != NULL && tree->type == CB_TREE_TEXT) {
        const char *name = cb_schema_line(schema, tree, "sensor");
        config->sensor = name != NULL && strcmp(name, "off") != 0 ? name : NULL;
    } else {
        read_program(schema, tree, "sensor", &config->sensor_program);
    }
}

const struct cb_config *cb_config_from_tree(const struct cb_tree *tree, struct cb_arena *arena,
                                            struct cb_issues *issues)
{
    static const char *const units[] = {"celsius", "fahrenheit", "C", "F"};
    static const char *const times[] = {"24h", "12h"};
    const struct cb_schema schema = {arena, issues};
    size_t before = issues->count;
    if (tree == NULL) {
        return &cb_config_default;
    }
    struct cb_config *config = cb_arena_alloc(arena, 1, sizeof *config);
    *config = cb_config_default;
    if (!cb_schema_map(&schema, tree, "settings", cb_setting_names, CB_SETTING_COUNT)) {
        return NULL;
    }
    for (size_t i = 0; i < tree->count; i++) {
        const int at = cb_str_place(cb_setting_names, CB_SETTING_COUNT, tree->keys[i].text);
        if (at >= 0) {
            config->lines[at] = tree->keys[i].line;
        }
    }
    int ping = cb_schema_word(&schema, tree, "ping", ping_words, COUNT(ping_words));
    config->ping = ping >= 0 ? (enum cb_ping_policy)ping : config->ping;
    double confidence_pct = config->confidence * 100;
    cb_schema_percent(&schema, tree, "confidence", 50, 95, true, &confidence_pct);
    config->confidence = confidence_pct / 100;
    config->fahrenheit = cb_schema_word(&schema, tree, "units", units, COUNT(units)) % 2 == 1;
    config->half_days = cb_schema_word(&schema, tree, "time", times, COUNT(times)) == 1;
    const int theme = cb_schema_word(&schema, tree, "theme", theme_words, COUNT(theme_words));
    config->theme = theme >= 0 ? (enum cb_theme_choice)theme : config->theme;
    cb_schema_bool(&schema, tree, "ascii", &config->ascii);
    cb_schema_bool(&schema, tree, "quiet_clock", &config->quiet_clock);
    cb_schema_bool(&schema, tree, "title", &config->title);
    cb_schema_bool(&schema, tree, "terminal", &config->pop_ups);
    cb_schema_bool(&schema, tree, "bell", &config->bell);
    read_program(&schema, cb_tree_get(tree, "on_ring"), "on_ring", &config->on_ring);
    read_sensor(&schema, tree, config);
    cb_schema_number(&schema, tree, "drops", 5, 200, "per ml", &config->drops_per_ml);
    cb_schema_bool(&schema, tree, "calm", &config->calm);
    cb_schema_minutes(&schema, tree, "evening", 15, 24 * 60, &config->evening_min);
    read_keys(&schema, cb_tree_get(tree, "keys"), config);
    return issues->count == before ? config : NULL;
}
