/* SPDX-License-Identifier: MIT */
/*
 * The neutral tree that a file of settings becomes before anybody gives it meaning: texts,
 * lists and maps, each with its place in the file. Every scalar is text.
 */
#ifndef CB_BASE_TREE_H
#define CB_BASE_TREE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"

enum cb_tree_type { CB_TREE_TEXT, CB_TREE_LIST, CB_TREE_MAP };

struct cb_tree {
    enum cb_tree_type type;
    int line, column;            /* from 1; column counts characters */
    const char *text;            /* TEXT only */
    size_t count;                /* LIST, MAP */
    const struct cb_tree *keys;  /* MAP: count texts, each with its place */
    const struct cb_tree *items; /* LIST, MAP: count values */
};

/* What is wrong in a file, in the order found; at most CB_ISSUES_MAX are kept. */
#define CB_ISSUES_MAX 10
struct cb_issue {
    int line, column;
    const char *message; /* what is wrong, then what would be right; in the arena given */
};
struct cb_issues {
    size_t count;
    struct cb_issue items[CB_ISSUES_MAX];
};

/* Formats into the arena; silently counts no further than CB_ISSUES_MAX. */
void cb_issues_add(struct cb_issues *issues, struct cb_arena *arena, int line, int column,
                   const char *format, ...) __attribute__((format(printf, 5, 6)));

const struct cb_tree *cb_tree_get(const struct cb_tree *map, const char *key); /* NULL: absent */

/* How core gets from text to tree without knowing YAML: shell/yaml provides one. Returns NULL
 * and fills issues when the text is refused. The tree lives in the arena. */
typedef const struct cb_tree *cb_tree_reader(const char *text, size_t length,
                                             struct cb_arena *arena, struct cb_issues *issues);

#endif
