/* SPDX-License-Identifier: MIT */
/* A recipe as the text of coatbell-recipe(5): what is read of it again is an equal recipe. */
#ifndef CB_CORE_RECIPE_RECIPE_WRITE_H
#define CB_CORE_RECIPE_RECIPE_WRITE_H

#include "base/str.h"
#include "core/recipe/recipe.h"

/* Comment lines, each text of one or more lines without their `#`; NULL: none. */
struct cb_recipe_remarks {
    const char *head;                  /* at the top */
    const char *paints[CB_RECIPE_MAX]; /* above the paint */
    const char *stages[CB_RECIPE_MAX]; /* below the keys of the stage */
};

/* Every key that is not at its default, in the order of the manual; quotes only where needed.
 * remarks: NULL: none. In the arena. The text of a recipe that was itself near CB_RECIPE_BYTES
 * may be too long to be read again. */
char *cb_recipe_write(const struct cb_recipe *recipe, const struct cb_kinds *kinds,
                      const struct cb_recipe_remarks *remarks, struct cb_arena *arena);

/* One text as a file has it, in quotes where it needs them; flow: within brackets. */
void cb_recipe_write_text(struct cb_str *out, const char *text, bool flow);

#endif
