/* SPDX-License-Identifier: MIT */
/*
 * A recipe with room: what is written at the bench, before cb_recipe_write makes its text. The
 * recipe in it may be asked whatever a read one is; its texts are the caller's arena's. Only
 * reading the text again says whether it is allowed.
 */
#ifndef CB_CORE_RECIPE_DRAFT_H
#define CB_CORE_RECIPE_DRAFT_H

#include "core/recipe/recipe.h"

/* Not to be copied: the recipe points into it. */
struct cb_draft {
    struct cb_recipe recipe;
    struct cb_group groups[CB_RECIPE_MAX];
    struct cb_paint paints[CB_RECIPE_MAX];
    struct cb_area areas[CB_RECIPE_MAX];
    struct cb_stage stages[CB_RECIPE_MAX];
};

/* No stage yet. figures: 0: not said. */
void cb_draft_begin(struct cb_draft *draft, const char *name, int figures);
/* The same as the recipe, without its text. */
void cb_draft_of(struct cb_draft *draft, const struct cb_recipe *recipe);

/* The paint of that name (folded) and kind, as an index; else a new one under a key of its own,
 * made of the name. -1: no room, or a name of blanks alone. */
int cb_draft_paint(struct cb_draft *draft, const char *name, size_t kind, struct cb_arena *arena);
/* The area of that name (folded), as an index; else a new one, which shares with the others what
 * is left of the figure. -1: no room, a name of blanks alone, or whole, which is no area. */
int cb_draft_area(struct cb_draft *draft, const char *name, struct cb_arena *arena);
/* The group of just these figures (as in cb_group), as an index; else a new one of the wanted name,
 * with a number behind it when that is taken. -1: no room. */
int cb_draft_group(struct cb_draft *draft, const uint64_t figures[2], const char *wanted,
                   struct cb_arena *arena);

/* One coat on the whole of every figure, nothing else said. */
struct cb_stage cb_draft_stage(const char *name, enum cb_technique technique);
/* The wanted name, with a number behind it when a stage has it; in the arena. */
char *cb_draft_stage_name(const struct cb_draft *draft, const char *wanted, struct cb_arena *arena);
/* at: the index it then has, at most stage_count; its own `after` counts as the stages then
 * stand. False: no room. */
bool cb_draft_insert(struct cb_draft *draft, const struct cb_stage *stage, size_t at);
/* Who waited for it by `after` waits for what it waited for. */
void cb_draft_remove(struct cb_draft *draft, size_t at);
void cb_draft_move(struct cb_draft *draft, size_t from, size_t to);

#endif
