/* SPDX-License-Identifier: MIT */
#include "base/tree.h"

#include <stdarg.h>
#include <string.h>

void cb_issues_add(struct cb_issues *issues, struct cb_arena *arena, int line, int column,
                   const char *format, ...)
{
    if (issues->count >= CB_ISSUES_MAX) {
        return;
    }
    va_list args;
    va_start(args, format);
    char *message = cb_arena_vprintf(arena, format, args);
    va_end(args);
    issues->items[issues->count++] = (struct cb_issue){line, column, message};
}

const struct cb_tree *cb_tree_get(const struct cb_tree *map, const char *key)
{
    if (!map || map->type != CB_TREE_MAP) {
        return NULL;
    }
    for (size_t i = 0; i < map->count; i++) {
        if (strcmp(map->keys[i].text, key) == 0) {
            return &map->items[i];
        }
    }
    return NULL;
}
