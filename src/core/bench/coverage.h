/* SPDX-License-Identifier: MIT */
/*
 * How many coats a paint needs over dark, middle and light, as added and spared coats teach it. A
 * figure counts once for a stage that hides what lies under it (core/recipe/tone.h), when all its
 * coats are on and either one was added or spared there, or it was painted over or finished as the
 * recipe has it. Mixes of two paints, and coats of two pots, teach nothing. Pure functions of the
 * bench.
 *
 * Shares are given with Wilson's score interval at 95 % (Wilson 1927, J. Am. Stat. Assoc. 22,
 * 209-212), advised for so few by Brown, Cai & DasGupta 2001, Stat. Sci. 16, 101-133. It takes
 * figures for independent; those of one row are not quite.
 */
#ifndef CB_CORE_BENCH_COVERAGE_H
#define CB_CORE_BENCH_COVERAGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/coder.h"
#include "core/bench/bench.h"
#include "core/recipe/tone.h"

struct cb_cover {
    const char *pot;
    enum cb_technique technique;
    enum cb_tone under;
    /* Figures, by the number of coats, 1 to CB_COATS_MAX: */
    uint64_t said[CB_COATS_MAX + 1];   /* for which the recipe had so many */
    uint64_t added[CB_COATS_MAX + 1];  /* that took that coat, though it had fewer */
    uint64_t spared[CB_COATS_MAX + 1]; /* that were spared that coat of it */
};

/* Of a unit, or of all of the bench where it is NULL: each pot, technique and tone once, in the
 * order they first come. In the arena; texts are the bench's. */
const struct cb_cover *cb_coverage_of(const struct cb_bench *bench, const char *unit,
                                      struct cb_arena *arena, size_t *count);
/* The counts of the other are added; the rest stays. */
void cb_coverage_add(struct cb_cover *cover, const struct cb_cover *more);
/* All that a list says of the three; nothing: all zero. */
struct cb_cover cb_coverage_find(const struct cb_cover *covers, size_t count, const char *pot,
                                 enum cb_technique technique, enum cb_tone under);
/* Written or read with what is kept of a unit (base/coder.h). */
void cb_coverage_code(struct cb_coder *coder, struct cb_cover *cover);

struct cb_share {
    uint64_t k, n;
    double low, high; /* 0..1; 0 and 1 where n is 0 */
};
/* Of the figures whose recipe had fewer coats: how many took that one all the same. */
struct cb_share cb_coverage_added(const struct cb_cover *cover, int coat);
/* Of those whose recipe had it: how many were spared it. */
struct cb_share cb_coverage_spared(const struct cb_cover *cover, int coat);

/* So many coats are usual where a recipe has said: more, or fewer, where more than half of all such
 * figures take them so, as sure as the interval is: four of four are enough. */
int cb_coverage_usual(const struct cb_cover *cover, int said);
/* Is it as sure that no coat beyond them is usual? */
bool cb_coverage_enough(const struct cb_cover *cover, int said);

/* "a third coat on 9 of 10 figures over dark (60 to 98 %)": what was changed most often, else
 * "no third coat on 8 figures over mid (0 to 32 %)"; brief "a third coat on 9 of 10 over dark
 * (60-98 %)". NULL: nothing was painted. In the arena. */
const char *cb_coverage_text(const struct cb_cover *cover, bool brief, struct cb_arena *arena);
/* Those of a pot and technique with coats added or spared, or all, joined by "; ", darkest first;
 * NULL: none. */
const char *cb_coverage_texts(const struct cb_cover *covers, size_t count, const char *pot,
                              enum cb_technique technique, bool all, bool brief,
                              struct cb_arena *arena);
const char *cb_coverage_a(int coat); /* "a third"; 1 to CB_COATS_MAX */

#endif
