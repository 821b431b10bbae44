/* SPDX-License-Identifier: MIT */
/*
 * Which stage of a recipe is which in the next version of it. Stages of the same name are the same
 * one. A stage that is gone and one that is new are the same one, renamed, where all else is the
 * same, or but for the paint that both begin their names with, and it is clear which is meant.
 * Figures move with their coats where a stage gives some up to a new one beside it, of its
 * technique and on an area of it, and where such a one is taken back. It knows no bench.
 */
#ifndef CB_CORE_RECIPE_RECIPE_MATCH_H
#define CB_CORE_RECIPE_RECIPE_MATCH_H

#include "core/recipe/recipe.h"

/* Stages count from 0 here; -1: none. */
struct cb_recipe_match {
    int to[CB_RECIPE_MAX];      /* by stage before: which it is now */
    int from[CB_RECIPE_MAX];    /* by stage now: which it was */
    int part_of[CB_RECIPE_MAX]; /* by stage now, a new one: that which gave figures up to it, now */
    int back_to[CB_RECIPE_MAX]; /* by stage before, one that is gone: that which has its figures */
    uint64_t figures[CB_RECIPE_MAX][2]; /* by stage now, where part_of says one: those figures */
};

/* known: names of stages that were there earlier and are not in `before`: they come back as what
 * they were, and are no new names for others. */
void cb_recipe_match(const struct cb_recipe *before, const struct cb_recipe *now,
                     const char *const *known, size_t known_count, struct cb_recipe_match *match);

/* The stage now where a coat of that stage before counts on that figure (0: the scrap); -1: it is
 * left out. */
int cb_recipe_home(const struct cb_recipe_match *match, size_t stage, int figure);

/* What a stage says beside its name. */
enum cb_stage_part {
    CB_PART_TECHNIQUE = 1U << 0,
    CB_PART_PAINT = 1U << 1,
    CB_PART_MIX = 1U << 2,
    CB_PART_ON = 1U << 3,
    CB_PART_FOR = 1U << 4,
    CB_PART_BY = 1U << 5,
    CB_PART_PLACE = 1U << 6,
    CB_PART_COATS = 1U << 7,
    CB_PART_MINUTES = 1U << 8,
    CB_PART_DRY = 1U << 9,
    CB_PART_WAIT = 1U << 10,
    CB_PART_BRUSH = 1U << 11,
    CB_PART_TIDY = 1U << 12,
    CB_PART_TOGETHER = 1U << 13,
    CB_PART_OPTIONAL = 1U << 14,
    CB_PART_AFTER = 1U << 15,
    CB_PART_PICTURES = 1U << 16,
    CB_PART_SAY = 1U << 17,
};
/* In which of them the stage before and the one now differ: a mask, 0 for none. */
unsigned cb_recipe_parts_that_differ(const struct cb_recipe *before, size_t stage,
                                     const struct cb_recipe *now, size_t other,
                                     const struct cb_recipe_match *match);
/* The same paint: its key, or its name and kind. */
bool cb_recipe_same_paint(const struct cb_recipe *before, int paint, const struct cb_recipe *now,
                          int other);
/* What follows the paint in the name of a stage that begins with it, " basecoat" of "Oilskin green
 * basecoat"; of a blend its paints, "Green + Black". NULL: it does not. In the name. */
const char *cb_recipe_name_after_paint(const struct cb_recipe *recipe, size_t stage);
/* The figures of a stage, all bits where it is for every one. */
void cb_recipe_figures_of(const struct cb_recipe *recipe, size_t stage, uint64_t figures[2]);

#endif
