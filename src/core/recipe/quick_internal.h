/* SPDX-License-Identifier: MIT */
/* What the files that read a quick line share; nobody else includes it. */
#ifndef CB_CORE_RECIPE_QUICK_INTERNAL_H
#define CB_CORE_RECIPE_QUICK_INTERNAL_H

#include "core/recipe/quick.h"

#define CB_QUICK_TOKENS_MAX 48
#define CB_QUICK_COLUMNS    60 /* of what was typed within a sentence */

struct cb_quick_token {
    size_t at, end;   /* bytes of the line, a comma behind it not counted */
    const char *word; /* folded */
    bool comma;       /* one follows */
    bool option;      /* N:M, xN, by TOOL: neither paint, technique nor area */
};

struct cb_quick_line {
    const struct cb_quick_known *known;
    struct cb_arena *arena;
    const char *text;
    size_t count;
    struct cb_quick_token tokens[CB_QUICK_TOKENS_MAX];
    bool too_long; /* more words than that */
};

/* Where the technique stands; last < first: nowhere. */
struct cb_quick_divide {
    size_t first, last;
    enum cb_technique technique;
    const char *kind; /* that a word of the trade means; NULL: none */
};
/* Within the first `count` tokens. */
struct cb_quick_divide cb_quick_divide(const struct cb_quick_line *line, size_t count);

/* The text from a token to another one, both with it. */
char *cb_quick_slice(const struct cb_quick_line *line, size_t first, size_t last);

/* The recipes whose words count, that in force first; NULL from the last on. */
const struct cb_recipe *cb_quick_recipe(const struct cb_quick_known *known, size_t index);
/* The paint of that name, or under that key in the recipe in force; of several kinds the wanted
 * one, else the first. NULL: none. */
const struct cb_paint *cb_quick_paint(const struct cb_quick_known *known, const char *name,
                                      size_t wanted, struct cb_arena *arena);
/* The area of that name, as a recipe spells it; NULL: none. */
const char *cb_quick_area(const struct cb_quick_known *known, const char *name,
                          struct cb_arena *arena);
/* How many tokens from `first` on, below `end`, are the name of a known area; 0: none. */
size_t cb_quick_area_tokens(const struct cb_quick_line *line, size_t first, size_t end);

/* One of the words that join areas, `on the coat and a belt`, and begins no known one. */
bool cb_quick_is_filler(const struct cb_quick_line *line, size_t token);

/* The words that may stand where the line ends. */
void cb_quick_offer(const struct cb_quick_line *line, struct cb_quick *quick);

/* That one before them. */
void cb_quick_offer_first(struct cb_quick *quick, struct cb_quick_offer first);

/* The paint that a blend is learned under. */
const struct cb_quick_paint *cb_quick_largest(const struct cb_quick *quick);
/* What is understood, in the arena of the line. */
const char *cb_quick_say(const struct cb_quick_line *line, const struct cb_quick *quick);

#endif
