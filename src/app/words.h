/* SPDX-License-Identifier: MIT */
/* Small pieces of text that several views say alike. */
#ifndef CB_APP_WORDS_H
#define CB_APP_WORDS_H

#include "app/role.h"
#include "base/arena.h"
#include "base/time.h"
#include "core/bench/bench.h"
#include "core/recipe/recipe.h"

/* "4", "1 to 4", "1, 3 and 5 to 7": ascending whole numbers. */
char *cb_words_figures(struct cb_arena *arena, const int *figures, size_t count);
/* "all over", "all over but shield", "oilskin, rope" */
char *cb_words_areas(struct cb_arena *arena, const struct cb_recipe *recipe,
                     const struct cb_stage *stage);
/* The paint of the stage, swaps seen to; the stage's name when there is none. stage from 1. */
const char *cb_words_paint(const struct cb_unit *unit, int stage);
/* "coat 2 of Oilskin green"; of the first coat, or coat 0, the paint alone. In the arena. */
const char *cb_words_coat(struct cb_arena *arena, const struct cb_unit *unit, int stage, int coat);
/* What the film was painted with, which may be another paint than its stage has by now. The film
 * stands at a stage. */
const char *cb_words_film(const struct cb_unit *unit, const struct cb_film *film);
/* How thinned: "2 paint + 1 water", "neat"; the usual mix where the recipe says none; "" without
 * paint. */
char *cb_words_mix(struct cb_arena *arena, const struct cb_kinds *kinds, const struct cb_unit *unit,
                   int stage);
/* A countdown: digits for the big face and its unit: "12" min, "3" h, and for the last minute "59"
 * s; never more than three digits. Rounded up. */
const char *cb_words_left(int64_t left_ms, char digits[16]);
/* The same in a line: "12 min", "59 s", "2 h 5 min". */
void cb_words_span(int64_t left_ms, char out[32]);
/* What has passed, in whole minutes: "1 min", "2 h 5 min". */
void cb_words_since(int64_t ms, char out[32]);
/* "2 h ago", in whole hours or days. */
void cb_words_ago(int64_t ms, char out[16]);
/* "45 %", never "0 %" or "100 %" of what is only thought. */
void cb_words_chance(double chance, char out[8]);
/* "19.5C 62%" or "67F 62%". */
void cb_words_climate(const struct cb_climate *climate, bool fahrenheit, char out[48]);

/* Does the stage leave paint? Without, nothing of it is wet or dry. stage from 1. */
bool cb_words_painted(const struct cb_unit *unit, int stage);

/* "on" or "done"; "dry" or "done": of a stage with paint, and without. */
const char *cb_words_laid(const struct cb_unit *unit, int stage);
const char *cb_words_dried(const struct cb_unit *unit, int stage);
/* "on" or "done on", before figures. */
const char *cb_words_upon(const struct cb_unit *unit, int stage);

/* A state is word, symbol and colour together. */
enum cb_words_state {
    CB_STATE_READY,
    CB_STATE_WET,
    CB_STATE_DRY,
    CB_STATE_HAS,
    CB_STATE_DONE,
    CB_STATE_HELD,
    CB_STATE_LATER,
    CB_STATE_ALL,
    CB_STATE_PARKED,
    CB_STATE_NONE,
    CB_STATE_WAITS,
    CB_STATE_SET, /* wet and dry, of a stage without paint */
    CB_STATE_COUNT,
};
struct cb_words_look {
    const char *symbol, *word, *brief; /* brief: at most 4 columns */
    enum cb_role role;
};
extern const struct cb_words_look cb_words_looks[CB_STATE_COUNT];

#endif
