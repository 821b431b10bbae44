/* SPDX-License-Identifier: MIT */
#include "core/recipe/schema.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "core/recipe/recipe.h"

#define HINT_NAMES 12 /* more than these are not listed */

void cb_schema_add(const struct cb_schema *schema, const struct cb_tree *at, const char *format,
                   ...)
{
    char message[512];
    va_list args;
    va_start(args, format);
    vsnprintf(message, sizeof message, format, args);
    va_end(args);
    /* Cut short, the message may end within a character. */
    cb_issues_add(schema->issues, schema->arena, at->line, at->column, "%s",
                  cb_utf8_clean(schema->arena, message, 0));
}

static int nearest_of(const char *word, const char *const *names, size_t count)
{
    /* A third of the word may be wrong, but never more than three letters (estimate). */
    int limit = (int)(strlen(word) + 2) / 3;
    int best = -1, best_distance = limit > 3 ? 4 : limit + 1;
    for (size_t i = 0; i < count; i++) {
        if (names[i] == NULL) {
            continue;
        }
        int distance = cb_utf8_distance(word, names[i], best_distance);
        if (distance < best_distance && distance < (int)strlen(names[i])) {
            best = (int)i;
            best_distance = distance;
        }
    }
    return best;
}

const char *cb_schema_hint(const struct cb_schema *schema, const char *word,
                           const char *const *names, size_t count)
{
    if (schema->issues->count >= CB_ISSUES_MAX) {
        return ""; /* nobody will read it */
    }
    int nearest = nearest_of(word, names, count);
    if (nearest >= 0) {
        return cb_arena_printf(schema->arena, "; did you mean %s?", names[nearest]);
    }
    struct cb_str list = {0};
    size_t listed = 0;
    for (size_t i = 0; i < count && listed <= HINT_NAMES; i++) {
        if (names[i] == NULL) {
            continue;
        }
        listed++;
        cb_str_addf(&list, "%s%s", list.length == 0 ? "; there is " : ", ",
                    listed > HINT_NAMES ? "..." : names[i]);
    }
    const char *hint = cb_arena_text(schema->arena, cb_str_text(&list));
    cb_str_fini(&list);
    return hint;
}

/* A word of the file within a message: short enough to leave room for what would be right. */
static const char *shown(const struct cb_schema *schema, const char *text)
{
    return cb_utf8_clean(schema->arena, text, 60);
}

bool cb_schema_map(const struct cb_schema *schema, const struct cb_tree *tree, const char *what,
                   const char *const *names, size_t count)
{
    if (tree->type != CB_TREE_MAP) {
        cb_schema_add(schema, tree, "%s: must be a map, `key: value` lines or {key: value}", what);
        return false;
    }
    for (size_t i = 0; i < tree->count; i++) {
        if (cb_str_place(names, count, tree->keys[i].text) < 0) {
            cb_schema_add(schema, &tree->keys[i], "%s: unknown key: %s%s", what,
                          shown(schema, tree->keys[i].text),
                          cb_schema_hint(schema, tree->keys[i].text, names, count));
        }
    }
    return true;
}

const char *cb_schema_line(const struct cb_schema *schema, const struct cb_tree *tree,
                           const char *what)
{
    if (tree->type != CB_TREE_TEXT) {
        cb_schema_add(schema, tree, "%s: must be one text, not a %s", what,
                      tree->type == CB_TREE_LIST ? "list" : "map");
        return NULL;
    }
    char *line = cb_arena_text(schema->arena, tree->text);
    size_t length = 0;
    for (const char *at = tree->text; *at != '\0'; at++) {
        bool blank = *at == ' ' || *at == '\n' || *at == '\r' || *at == '\t';
        if (!blank) {
            line[length++] = *at;
        } else if (length > 0 && line[length - 1] != ' ') {
            line[length++] = ' ';
        }
    }
    while (length > 0 && line[length - 1] == ' ') {
        length--;
    }
    line[length] = '\0';
    if (length == 0) {
        cb_schema_add(schema, tree, "%s: is empty; write a value or leave the key out", what);
        return NULL;
    }
    return line;
}

const char *cb_schema_text(const struct cb_schema *schema, const struct cb_tree *map,
                           const char *key)
{
    const struct cb_tree *value = cb_tree_get(map, key);
    return value == NULL ? NULL : cb_schema_line(schema, value, key);
}

/* The number at the start of text; rest: what follows it, blanks skipped. */
static bool leading_number(const char *text, double *value, const char **rest)
{
    char digits[32];
    size_t length = strspn(text, "+-0123456789.");
    if (length == 0 || length >= sizeof digits) {
        return false;
    }
    memcpy(digits, text, length);
    digits[length] = '\0';
    *rest = text + length + strspn(text + length, " ");
    return cb_str_number(digits, value);
}

void cb_schema_number(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                      double low, double high, const char *unit, double *value)
{
    const char *text = cb_schema_text(schema, map, key);
    if (text == NULL) {
        return;
    }
    double number = 0;
    const char *rest = "";
    if (!leading_number(text, &number, &rest) || (*rest != '\0' && strcmp(rest, unit) != 0)) {
        cb_schema_add(schema, cb_tree_get(map, key), "%s: %s: write a number%s%s", key,
                      shown(schema, text), *unit == '\0' ? "" : ", as in 28 ", unit);
    } else if (!(number >= low && number <= high)) {
        cb_schema_add(schema, cb_tree_get(map, key), "%s: %s: must be %g to %g%s%s", key,
                      shown(schema, text), low, high, *unit == '\0' ? "" : " ", unit);
    } else {
        *value = number;
    }
}

void cb_schema_integer(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                       int low, int high, int *value)
{
    const char *text = cb_schema_text(schema, map, key);
    long long number = 0;
    if (text == NULL) {
        return;
    }
    if (!cb_str_integer(text, &number) || number < low || number > high) {
        cb_schema_add(schema, cb_tree_get(map, key), "%s: %s: must be a whole number, %d to %d",
                      key, shown(schema, text), low, high);
    } else {
        *value = (int)number;
    }
}

void cb_schema_bool(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                    bool *value)
{
    static const char *const words[] = {"no", "yes", "false", "true"};
    int word = cb_schema_word(schema, map, key, words, 4);
    if (word >= 0) {
        *value = word % 2 == 1;
    }
}

void cb_schema_minutes(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                       double low, double high, double *value)
{
    const char *text = cb_schema_text(schema, map, key);
    double minutes = 0;
    if (text == NULL) {
        return;
    }
    if (!cb_recipe_minutes(text, &minutes)) {
        cb_schema_add(schema, cb_tree_get(map, key),
                      "%s: %s: write minutes, as in 12, 90 s, 12 min, 2 h or 2h30m", key,
                      shown(schema, text));
    } else if (!(minutes >= low && minutes <= high)) {
        cb_schema_add(schema, cb_tree_get(map, key), "%s: %s: must be %g to %g minutes", key,
                      shown(schema, text), low, high);
    } else {
        *value = minutes;
    }
}

void cb_schema_percent(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                       double low, double high, bool is_share, double *value)
{
    const char *text = cb_schema_text(schema, map, key);
    double number = 0;
    const char *rest = "";
    if (text == NULL) {
        return;
    }
    if (!leading_number(text, &number, &rest) || (*rest != '\0' && strcmp(rest, "%") != 0)) {
        cb_schema_add(schema, cb_tree_get(map, key), "%s: %s: write a share, as in 45 %%", key,
                      shown(schema, text));
        return;
    }
    if (is_share && *rest == '\0' && number <= 1) {
        number *= 100;
    }
    if (!(number >= low && number <= high)) {
        cb_schema_add(schema, cb_tree_get(map, key), "%s: %s: must be %g to %g %%", key,
                      shown(schema, text), low, high);
    } else {
        *value = number;
    }
}

int cb_schema_word(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                   const char *const *names, size_t count)
{
    const char *text = cb_schema_text(schema, map, key);
    if (text == NULL) {
        return -1;
    }
    const int found = cb_str_place(names, count, text);
    if (found < 0) {
        cb_schema_add(schema, cb_tree_get(map, key), "%s: unknown word: %s%s", key,
                      shown(schema, text), cb_schema_hint(schema, text, names, count));
    }
    return found;
}

size_t cb_schema_list(const struct cb_schema *schema, const struct cb_tree *tree, const char *what)
{
    if (tree == NULL) {
        return 0;
    }
    if (tree->type == CB_TREE_MAP) {
        cb_schema_add(schema, tree, "%s: must be a word or a list, [one, two]", what);
        return 0;
    }
    return tree->type == CB_TREE_LIST ? tree->count : 1;
}

const struct cb_tree *cb_schema_item(const struct cb_tree *tree, size_t item)
{
    return tree->type == CB_TREE_LIST ? &tree->items[item] : tree;
}

bool cb_schema_lacks(const struct cb_tree *map, const char *key, const char *const *names,
                     size_t count)
{
    if (cb_tree_get(map, key) != NULL) {
        return false;
    }
    for (size_t i = 0; i < map->count; i++) {
        if (cb_str_place(names, count, map->keys[i].text) < 0 &&
            nearest_of(map->keys[i].text, &key, 1) >= 0) {
            return false;
        }
    }
    return true;
}
