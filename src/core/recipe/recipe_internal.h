/* SPDX-License-Identifier: MIT */
/* What the files that read a recipe share; nobody else includes it. */
#ifndef CB_CORE_RECIPE_RECIPE_INTERNAL_H
#define CB_CORE_RECIPE_RECIPE_INTERNAL_H

#include "core/recipe/recipe.h"
#include "core/recipe/schema.h"

/* The recipe under construction. The name tables are what references are looked up in: an index
 * there is the index in the recipe. */
struct cb_recipe_reader {
    struct cb_schema schema;
    const struct cb_kinds *kinds;
    struct cb_recipe *recipe;
    struct cb_group *groups;
    struct cb_paint *paints;
    struct cb_area *areas;
    struct cb_stage *stages;
    const char *paint_keys[CB_RECIPE_MAX];
    const char *area_names[CB_RECIPE_MAX];
    const char *group_names[CB_RECIPE_MAX];
    const char *stage_names[CB_RECIPE_MAX];
    const char *kind_names[CB_KINDS_MAX];
};

/* The word as an index into names: what is "paint", "area", ... at: for the issue. -1: none. */
int cb_recipe_lookup(const struct cb_recipe_reader *reader, const struct cb_tree *at,
                     const char *what, const char *word, const char *const *names, size_t count);
/* A word or list of words as a mask of indices into names. */
uint64_t cb_recipe_lookup_all(const struct cb_recipe_reader *reader, const struct cb_tree *tree,
                              const char *what, const char *const *names, size_t count);
/* A word or list of words, kept as texts. */
size_t cb_recipe_texts(const struct cb_recipe_reader *reader, const struct cb_tree *tree,
                       const char *what, const char *const **out);

/* The stages; paints, areas and groups stand already. */
void cb_recipe_read_stages(struct cb_recipe_reader *reader, const struct cb_tree *list);

/* "2 green + 1 rope + 1 water". paint: the stage's own, which the word `paint` stands for, or -1.
 * Issues stand at `at`; false when there was one. */
bool cb_recipe_read_mix(const struct cb_recipe_reader *reader, const struct cb_tree *at,
                        const char *text, int paint, struct cb_mix *mix);
/* May not be the key of a paint: it has a meaning in mixes. */
bool cb_recipe_is_mix_word(const char *word);

/* Areas of which neither share nor disc is said take what the others leave, evenly. */
void cb_recipe_split_shares(struct cb_area *areas, size_t count);

#endif
