/* SPDX-License-Identifier: MIT */
/* The recipes that lie about, for the question "which one": names, faults, whole texts. */
#ifndef CB_SHELL_RECIPES_H
#define CB_SHELL_RECIPES_H

#include <stddef.h>

#include "base/arena.h"
#include "core/paint/kinds.h"
#include "app/app.h"

#define CB_RECIPES_LISTED_MAX 64

/* First, when not NULL, a file by its path; then the *.yaml of the folders of cb_paths_recipes,
 * each folder by name; broken ones with their first fault. All in the arena. */
const struct cb_app_recipe *cb_recipes_list(const char *first, const struct cb_kinds *kinds,
                                            struct cb_arena *arena, size_t *count);

/* That one file. */
struct cb_app_recipe cb_recipes_read(const char *path, const struct cb_kinds *kinds,
                                     struct cb_arena *arena);

/* What LIST_RECIPES or, with that path, RELOAD asks for. first: as above. */
struct cb_input cb_recipes_input(const char *path, const char *first, const struct cb_kinds *kinds,
                                 struct cb_arena *arena);

#endif
