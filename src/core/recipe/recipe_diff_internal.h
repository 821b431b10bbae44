/* SPDX-License-Identifier: MIT */
/* What the files share that tell two versions of a recipe apart; nobody else includes it. */
#ifndef CB_CORE_RECIPE_RECIPE_DIFF_INTERNAL_H
#define CB_CORE_RECIPE_RECIPE_DIFF_INTERNAL_H

#include "base/str.h"
#include "base/vec.h"
#include "core/recipe/recipe_diff.h"

struct cb_differ {
    const struct cb_recipe *before, *now;
    const struct cb_recipe_match *match;
    const struct cb_kinds *kinds;
    struct cb_arena *arena;
    CB_VEC(struct cb_diff_line) lines;
};

/* The phrases of a line, ", " between them; the second: "NOW instead of BEFORE". */
void cb_diff_phrase(struct cb_str *out, const char *text);
void cb_diff_instead(const struct cb_differ *differ, struct cb_str *out, const char *now,
                     const char *before);

/* recipe_diff_stage.c: a phrase for each part of the mask, of a stage before and one now. */
void cb_diff_parts(const struct cb_differ *differ, struct cb_str *out, unsigned parts,
                   size_t before, size_t now);
/* "all", "1 and 3 to 5". */
const char *cb_diff_for(const struct cb_differ *differ, const struct cb_recipe *recipe,
                        size_t stage);

#endif
