/* SPDX-License-Identifier: MIT */
/*
 * A painter's year at the bench, seeded: coats of eight paints (a ninth from mid-year) under a
 * changing climate dry in times drawn from the model's own laws plus what physics leaves over;
 * a ping policy rings, the painter answers (or not), the policy learns. Invented, for measuring
 * policies against each other; says nothing about real paint.
 */
#ifndef CB_TESTS_PAINTER_H
#define CB_TESTS_PAINTER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/learn/learn.h"

enum policy {
    POLICY_TIMER,   /* kitchen timer: timer_min, then 5 minutes more each time */
    POLICY_MEAN,    /* mean of the times at which this paint was found dry */
    POLICY_SCALED,  /* the same in standard minutes */
    POLICY_LEARN,   /* core/learn */
    POLICY_ORACLE,  /* knows all of this painter but the evening's residual */
    POLICY_ORACLE2, /* knows that too */
};

/* What a painter says of a ring. All but the first two say no other word than is told of them. */
enum habit {
    HABIT_ANSWERS,  /* to every ring, until it is dry */
    HABIT_HALF,     /* to half of them, the others are painted over at the ring */
    HABIT_WET_ONLY, /* looks at every ring, says "wet", and paints over what is dry */
    HABIT_RING,     /* paints over at the ring, wet or dry */
    HABIT_DRY,      /* looks at the ring, and waits until it is dry */
    HABIT_LOOK,     /* paints over as soon as it is dry, whatever the ring */
    HABIT_TIMER,    /* paints over after 25 minutes */
};

struct year {
    enum policy policy;
    enum habit habit;
    double late_min; /* after all that, the next coat goes on so much later */
    double lifts;    /* share of what the next coat lifted that is told; who answers has none */
    double timer_min;
    struct cb_learn_settings settings;
    double confidence;
    bool own_row_counts; /* a film's own "still wet" is a row already when it is timed anew */
    double mis_key;      /* share of answers that are the wrong key */
    double interaction;  /* true log sd of a technique within a paint */
    double slower;       /* log T grows by this from mid-year */
    double drift;        /* and by this over the whole of it */
    bool dull;           /* nothing is learned at all */
    int coats;           /* of the year, YEAR_COATS at the most; its season goes by that */
};
extern const struct year year_default; /* POLICY_LEARN, 80 %, as the program is set */

#define YEAR_COATS  300
#define YEAR_BLOCKS 4 /* coats 1-10, 11-30, 31-100, 101-300 */

struct outcome {
    int coats, first_dry, early;
    double past_min;                /* sum over coats: from dry to known dry */
    double loss[YEAR_BLOCKS];       /* pinball loss of the first ping at the confidence */
    double dry_at[YEAR_COATS];      /* first pings that found coat i dry */
    int median_ready, median_total; /* coats until the new paint's median is within 10 % */
    double log_off, log_off_n;      /* mean |log median error| over coats 101-300 */
};
/* Adds one painter's year. The same seed is the same painter and the same coats whatever the
 * policy. */
void painter_year(struct outcome *sum, const struct year *year, uint64_t seed);
/* Over painters seed .. seed + count - 1. */
struct outcome painter_years(const struct year *year, uint64_t seed, int count);
int year_block(int coat); /* coat from 0 */

#endif
