/* SPDX-License-Identifier: MIT */
/*
 * Chance with a seed: the same seed gives the same shuffles on every machine. A log is shuffled as
 * it might as well have been, were there no habit, and asked the same question again and again.
 */
#ifndef CB_CORE_FINDING_CHANCE_H
#define CB_CORE_FINDING_CHANCE_H

#include <stddef.h>
#include <stdint.h>

struct cb_chance {
    uint64_t state;
};
uint64_t cb_chance_roll(struct cb_chance *chance);
/* 0 to n - 1; n > 0. */
size_t cb_chance_below(struct cb_chance *chance, size_t n);
void cb_chance_shuffle(struct cb_chance *chance, double *values, size_t count);
/* Moves all by as many places, the last ones to the front: neighbours stay neighbours, so that what
 * slows one coat and the next one, too, is no more than one stroke of chance. */
void cb_chance_turn(struct cb_chance *chance, double *values, size_t count);

/* Of the log shuffled once more: the number that was `seen` of the log itself. */
typedef double cb_chance_draw(void *context, struct cb_chance *chance);
/* The share of shuffled logs that say as much, the log itself among them, so that it is never 0:
 * P(p <= a) <= a where there is no habit (Phipson & Smyth 2010, Stat. Appl. Genet. Mol. Biol. 9,
 * article 39). Stops early where it is plain that many do (Besag & Clifford 1991, Biometrika 78,
 * 301-304). Both from memory. */
double cb_chance_p(double seen, cb_chance_draw *draw, void *context, uint64_t seed);

#define CB_CHANCE_SHUFFLES 1999

#endif
