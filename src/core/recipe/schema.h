/* SPDX-License-Identifier: MIT */
/*
 * What every schema over a neutral tree needs: known keys with "did you mean", texts, numbers,
 * words out of a list, durations. Every function adds its issue at the place of the fault and
 * goes on, so that one reading finds up to CB_ISSUES_MAX of them.
 */
#ifndef CB_CORE_RECIPE_SCHEMA_H
#define CB_CORE_RECIPE_SCHEMA_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/tree.h"

struct cb_schema {
    struct cb_arena *arena;
    struct cb_issues *issues;
};

void cb_schema_add(const struct cb_schema *schema, const struct cb_tree *at, const char *format,
                   ...) __attribute__((format(printf, 3, 4)));

/* "; did you mean rope?", or "; there is rope, green, brass" when nothing is near, or "". In the
 * arena. names: NULL entries are skipped. */
const char *cb_schema_hint(const struct cb_schema *schema, const char *word,
                           const char *const *names, size_t count);

/* Is it a map, and are all its keys among names? what: "paint rope", for the message. */
bool cb_schema_map(const struct cb_schema *schema, const struct cb_tree *tree, const char *what,
                   const char *const *names, size_t count);

/* Is a key that must be there absent? No when a misspelt one, which is not among the known names,
 * stands in its place: that has its issue already. */
bool cb_schema_lacks(const struct cb_tree *map, const char *key, const char *const *names,
                     size_t count);

/* The value of a key as one trimmed line; NULL when absent or no text (then with an issue). An
 * empty text is an issue too. */
const char *cb_schema_text(const struct cb_schema *schema, const struct cb_tree *map,
                           const char *key);
/* The same of a node. */
const char *cb_schema_line(const struct cb_schema *schema, const struct cb_tree *tree,
                           const char *what);

/* Leave *value as it is when the key is absent or wrong. Units are words that may follow. */
void cb_schema_number(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                      double low, double high, const char *unit, double *value);
void cb_schema_integer(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                       int low, int high, int *value);
void cb_schema_bool(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                    bool *value);
void cb_schema_minutes(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                       double low, double high, double *value);
/* "45 %", "45", with is_share also ".45". Result in percent. */
void cb_schema_percent(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                       double low, double high, bool is_share, double *value);
/* Index into names, or -1. */
int cb_schema_word(const struct cb_schema *schema, const struct cb_tree *map, const char *key,
                   const char *const *names, size_t count);

/* A list, or one text as a list of one: its length, and its items one by one. A map counts 0 and
 * is an issue. */
size_t cb_schema_list(const struct cb_schema *schema, const struct cb_tree *tree, const char *what);
const struct cb_tree *cb_schema_item(const struct cb_tree *tree, size_t item);

#endif
