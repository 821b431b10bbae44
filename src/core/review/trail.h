/* SPDX-License-Identifier: MIT */
/*
 * What a finished unit says of its painter: its coats in the order they went on, with the minutes
 * they took, and what was heard of its films. Findings are made of some trails.
 */
#ifndef CB_CORE_REVIEW_TRAIL_H
#define CB_CORE_REVIEW_TRAIL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "core/learn/learn.h"
#include "core/review/review.h"

struct cb_trail_coat {
    int64_t at_ms;     /* wall, when it was marked */
    double took_min;   /* hands-on */
    double change_min; /* of paint, before it */
    int stage, coat;   /* from 1 */
    int figure;        /* from 1; the first one of those that went together */
    int session;       /* from 0 */
    bool apart;        /* waiting or something told lay between it and the coat before */
};
struct cb_trail_stage {
    const char *name;
    const char *paint; /* shown name; NULL: none */
    bool together;
    double waited_min; /* while it was the stage painted last */
};
struct cb_trail {
    const char *unit; /* id */
    int figures;
    size_t stage_count, coat_count, row_count;
    const struct cb_trail_stage *stages;
    const struct cb_trail_coat *coats;
    const struct cb_row *rows; /* of its films, oldest first */
};

/* Of the finished units only the last so many, by when they were finished, are looked at: what a
 * painter did before that may be a habit no more (own judgement). */
#define CB_TRAIL_UNITS 10

/* In the arena, texts and all; rows as the unit's lesson has them. */
struct cb_trail cb_trail_of(const struct cb_review *review, const struct cb_row *rows,
                            size_t row_count, struct cb_arena *arena);

#endif
