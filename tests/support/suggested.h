/* SPDX-License-Identifier: MIT */
/* Recipes that waiting is spent on, and what suggestions of any log of them hold to. */
#ifndef CB_TESTS_SUGGESTED_H
#define CB_TESTS_SUGGESTED_H

#include <stdbool.h>

#include "core/plan/suggest.h"

#define SUGGESTED_SHARE .01 /* what a replay may be off by */

#define SUGGESTED_PAINTS                                                                           \
    "paints: {rope: {name: Tarred rope, kind: acrylic}, green: {name: Oilskin green, kind: "       \
    "acrylic}, brass: {name: Lantern brass, kind: acrylic}, ebb: {name: Ebb wash, kind: wash}}"

/* One after the other on the whole figure, by exact waits, between two together goes. */
extern const char suggested_chain[];
/* What dries soon: half of twelve are enough at a time. */
extern const char suggested_quick[];
/* By what paints take in the air of the room. */
extern const char suggested_dried[];
/* Two stages of two coats that don't wait for each other; so long dries each coat. Beside: they may
 * not be wet at the same time. Until the next call. */
const char *suggested_apart(const char *wait, bool beside);

double suggested_min(int64_t ms);
/* That of a choice; NULL: there is none. */
const struct cb_suggestion *suggested_find(const struct cb_suggestions *all, const char *choice);
/* That of a choice, which must be there. */
struct cb_suggestion suggested_found(const struct cb_suggestions *all, const char *choice);
void suggested_within(double got, double wanted, double share);
/* With what all logs of one who neither paused nor tarried hold to. */
struct cb_suggestions suggested_by(const struct cb_review *review);

#endif
