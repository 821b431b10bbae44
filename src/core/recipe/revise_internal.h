/* SPDX-License-Identifier: MIT */
/* What the files of the form of a stage share; nobody else includes it. */
#ifndef CB_CORE_RECIPE_REVISE_INTERNAL_H
#define CB_CORE_RECIPE_REVISE_INTERNAL_H

#include "core/recipe/revise.h"

/* One reading of the fields. */
struct cb_revising {
    const struct cb_revise *revise;
    const char *const *texts;
    const char *first[CB_REVISE_FIELDS]; /* as they were at first */
    unsigned yes;
    struct cb_revised *revised;
    struct cb_draft *draft;
    struct cb_stage stage; /* in hand, as it is to be */
    struct cb_arena *arena;
};

/* The first fault alone is kept. Returns false. */
bool cb_revise_fault(struct cb_revising *at, enum cb_revise_field field, bool asks,
                     const char *format, ...) __attribute__((format(printf, 4, 5)));
/* The same but for case and blanks. */
bool cb_revise_same(const char *a, const char *b);
/* Is the text of the field another than at first? */
bool cb_revise_differs(const struct cb_revising *at, enum cb_revise_field field);
/* "; did you mean rope?", "; there is oilskin, rope", or "". */
const char *cb_revise_hint(struct cb_revising *at, const char *word, const char *const *names,
                           size_t count);
/* "no area bots; did you mean boots? ENTER again adds it". Returns false. */
bool cb_revise_ask(struct cb_revising *at, enum cb_revise_field field, const char *what,
                   const char *word, const char *const *names, size_t count, const char *yes);
bool cb_revise_is_used(const struct cb_stage *stage, int paint);

/* revise_field.c: "1, 3 and 5 to 7". */
const char *cb_revise_figures_text(const uint64_t figures[2], struct cb_arena *arena);
/* The name of the stage at that place, were the one in hand not there; NULL from the end on. */
const char *cb_revise_other_stage(const struct cb_revise *revise, size_t place);

static inline bool cb_revise_has(const uint64_t mask[2], int figure)
{
    return mask[(figure - 1) / 64] >> ((figure - 1) % 64) & 1;
}
static inline void cb_revise_set(uint64_t mask[2], int figure)
{
    mask[(figure - 1) / 64] |= UINT64_C(1) << ((figure - 1) % 64);
}
static inline bool cb_revise_none(const uint64_t mask[2])
{
    return mask[0] == 0 && mask[1] == 0;
}

/* revise_mix.c: the paint, its kind, whom else it is for, and the mix. */
bool cb_revise_read_paint(struct cb_revising *at);
/* "2 paint + 1 water", as the field shows it. */
const char *cb_revise_mix_text(const struct cb_recipe *recipe, const struct cb_stage *stage,
                               struct cb_arena *arena);

#endif
