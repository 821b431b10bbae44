/* SPDX-License-Identifier: MIT */
/*
 * One typed line as a stage: PAINT TECHNIQUE [AREA ...] [N:M] [xN] [by TOOL]. The technique word
 * divides. What the line leaves open is filled in as is usual, and said. It knows no unit: only
 * words that recipes have used.
 */
#ifndef CB_CORE_RECIPE_QUICK_H
#define CB_CORE_RECIPE_QUICK_H

#include "core/recipe/draft.h"

#define CB_QUICK_OFFERS_MAX 16

/* Whose paints and areas the line may name. */
struct cb_quick_known {
    const struct cb_kinds *kinds;
    const struct cb_recipe *recipe; /* in force, whose keys of paints count too; NULL: none yet */
    const struct cb_recipe *const *others; /* their paints and areas can be completed */
    size_t other_count;
    bool bare; /* nothing is on yet: an undercoat is named first */
};

struct cb_quick_paint {
    const char *name; /* as a recipe spells it, else as typed, its first letter large */
    size_t kind;
    double parts;
};

/* A word that may stand where one is being typed. */
struct cb_quick_offer {
    const char *word;
    size_t at, end; /* the bytes of the line in place of which it stands */
};

/* Texts are the arena's or those of the recipes. */
struct cb_quick {
    bool complete; /* it can be put into a draft */
    /* One line: what is understood, "Oilskin green, acrylic, basecoat on oilskin, 2 paint +
     * 1 water, 2 coats, by brush"; else what is wrong or still missing. */
    const char *sentence;
    const char *doubt; /* "grenn is new, did you mean Green?", in the sentence too; NULL: none */
    enum cb_technique technique;
    size_t paint_count;
    struct cb_quick_paint paints[CB_MIX_PARTS_MAX];
    bool mix_said; /* else the technique's usual mix holds */
    double medium, retarder, water;
    size_t area_count; /* 0: all over */
    const char *areas[CB_RECIPE_MAX];
    enum cb_by by;
    int coats;
    bool asks; /* a word is nearly a known one: the first offer is that one */
    size_t offer_count;
    struct cb_quick_offer offers[CB_QUICK_OFFERS_MAX];
};

/* text: one line, any bytes. */
void cb_quick_read(const struct cb_quick_known *known, const char *text, struct cb_arena *arena,
                   struct cb_quick *quick);

/* Puts a complete one into the draft, under a name of its own such as "Oilskin green basecoat 2".
 * at: as for cb_draft_insert. False: no room for one paint, area or stage more. */
bool cb_quick_put(const struct cb_quick *quick, struct cb_draft *draft, size_t at,
                  struct cb_arena *arena);

#endif
