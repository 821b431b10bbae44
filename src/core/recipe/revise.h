/* SPDX-License-Identifier: MIT */
/*
 * A stage in hand as a form of a few lines of text, and what was typed there as a changed recipe.
 * It knows no bench: who calls says what is still to do. Texts live in the arena given.
 */
#ifndef CB_CORE_RECIPE_REVISE_H
#define CB_CORE_RECIPE_REVISE_H

#include "core/recipe/draft.h"

enum cb_revise_field {
    CB_REVISE_PAINT,   /* its name, of a blend that of its larger part; or a blend, "2 a + 1 b" */
    CB_REVISE_KIND,    /* of that paint */
    CB_REVISE_WITH,    /* "this one", or "all": the other stages of that paint that are to come */
    CB_REVISE_MIX,     /* "usual", "neat", "2 paint + 1 water", "2:1", "2 green + 1 Soot" */
    CB_REVISE_COATS,   /* 1 to 9 */
    CB_REVISE_AREAS,   /* "all over", "oilskin, rope", "oilskin rope" */
    CB_REVISE_MINUTES, /* "4", "4,5", "90 s"; blank: what is usual */
    CB_REVISE_ORDER,   /* "first", "last", "after Rope", "before Rope" */
    CB_REVISE_FOR,     /* whom the change is for: "all" that have the stage, "3 to 5", "1, 4-6" */
    CB_REVISE_FIGURES, /* how many the unit has */
    CB_REVISE_NAME,    /* of the figure in brackets; blank: none */
    CB_REVISE_FIELDS
};

struct cb_revise {
    const struct cb_kinds *kinds;
    const struct cb_recipe *recipe; /* as it is painted by now: what was swapped is swapped in it */
    size_t stage;                   /* in hand, from 0 */
    uint64_t to_do;                 /* stages with a coat still to do */
    int figures;                    /* that the unit has */
    int counted;                    /* of them up to the last one that is not parked */
    int figure;                     /* in brackets, from 1 */
    uint64_t these[2];              /* whom the change is for at first; none: all */
    const char *const *known;       /* names of stages that it had, which are no new names */
    size_t known_count;
};

/* What the fields hold at first; NULL: it is no field of this stage. */
void cb_revise_begin(const struct cb_revise *revise, const char *texts[CB_REVISE_FIELDS],
                     struct cb_arena *arena);

/* The next or the one before of what a field may hold, round; the text itself where it is typed
 * alone. step: 1 or -1. */
const char *cb_revise_turn(const struct cb_revise *revise, enum cb_revise_field field,
                           const char *text, int step, struct cb_arena *arena);

struct cb_revised {
    int field;              /* whose text is wrong; -1: all are fine */
    const char *fault;      /* of it, one line: what is wrong, then what would be right */
    bool asks;              /* it is a question: the same again is a yes */
    struct cb_draft *draft; /* the changed recipe, in the arena; NULL: a fault */
    size_t stage;           /* that is in hand there */
    uint64_t these[2];      /* whom the change is for; all bits where the stage is for every one */
    int swapped;            /* its paint, which is another one under its key now; -1: none */
    int figures;            /* that the unit is to have; as counted: as it has */
};
/* yes: 1 << field for those whose question is answered. Whether the recipe can be read again, only
 * reading it tells. */
void cb_revise_read(const struct cb_revise *revise, const char *const texts[CB_REVISE_FIELDS],
                    unsigned yes, struct cb_revised *revised, struct cb_arena *arena);

#endif
