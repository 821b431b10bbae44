/* SPDX-License-Identifier: MIT */
/* From a file to a recipe: reading, YAML and schema in one go. */
#ifndef CB_SHELL_RECIPE_FILE_H
#define CB_SHELL_RECIPE_FILE_H

#include <stdbool.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/str.h"
#include "base/tree.h"
#include "core/paint/kinds.h"
#include "core/recipe/recipe.h"

struct cb_recipe_file {
    const char *path;               /* as given */
    const char *text;               /* NULL when it could not be read */
    const struct cb_recipe *recipe; /* NULL when it is refused */
    struct cb_issues issues;
};

/* "-" is standard input. CB_IO: err says why; CB_DATA: the issues do, err holds the first of them
 * in one line, "FILE:LINE:COL: message". All lives in the arena. */
enum cb_status cb_recipe_file_read(const char *path, const struct cb_kinds *kinds,
                                   struct cb_arena *arena, struct cb_recipe_file *file,
                                   struct cb_err *err);

/* All issues as cb_issues_print gives them; ascii: nothing beyond ASCII. */
void cb_recipe_file_print(const struct cb_recipe_file *file, bool ascii, struct cb_str *out);

#endif
