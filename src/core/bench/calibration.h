/* SPDX-License-Identifier: MIT */
/*
 * Are pings as sure as they say? The first answer after each first ping of a film, and what they
 * add up to. Pure functions of the bench.
 */
#ifndef CB_CORE_BENCH_CALIBRATION_H
#define CB_CORE_BENCH_CALIBRATION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/coder.h"
#include "core/bench/bench.h"

struct cb_ping_answer {
    int64_t at_ms; /* of the answer, wall */
    const char *unit;
    int figure, stage, coat;
    double confidence; /* in force at the ping, 0..1 */
    bool dry;
};
/* In the order of the answers; films never pinged, or answered before, are left out. */
const struct cb_ping_answer *cb_calibration_answers(const struct cb_bench *bench,
                                                    struct cb_arena *arena, size_t *count);

/* The two below look at the newest so many events only: a long log costs no more. */
#define CB_CALIBRATION_EVENTS 5000

/* The answers summed up: what is kept of a unit, and added up over many. */
#define CB_CALIBRATION_BANDS  10 /* of the confidence in force at the ping: 50 %, 55 %, to 95 % */
#define CB_CALIBRATION_RECENT 40 /* bells that the line counts (own choice) */
struct cb_calibration {
    struct cb_calibration_band {
        uint64_t answered, dry;
        double confidence; /* summed over the answered */
    } bands[CB_CALIBRATION_BANDS];
    size_t recent_count;
    const struct cb_calibration_recent { /* the newest, oldest first */
        int64_t at_ms;
        bool dry;
    } * recent;
};
/* unit: its id; NULL: all. In the arena. */
struct cb_calibration cb_calibration_of(const struct cb_bench *bench, const char *unit,
                                        struct cb_arena *arena);
void cb_calibration_add(struct cb_calibration *sum, const struct cb_calibration *more,
                        struct cb_arena *arena);
/* Written or read with what is kept of a unit (base/coder.h). */
void cb_calibration_code(struct cb_coder *coder, struct cb_calibration *calibration);
/* As cb_calibration_line below. */
const char *cb_calibration_sum_line(const struct cb_calibration *calibration,
                                    struct cb_arena *arena);

/* Wilson's score interval at 95 % for k of n (Wilson 1927, J. Am. Stat. Assoc. 22, 209-212); 0 and
 * 1 for n = 0. */
void cb_calibration_wilson(size_t k, size_t n, double *low, double *high);

/* "my last 40 bells: 33 dry"; NULL while fewer than ten were answered. */
const char *cb_calibration_line(const struct cb_bench *bench, struct cb_arena *arena);

/* Of the films that rang: what was heard of them, by the confidence in force and by paint. */
struct cb_ring_tally {
    const char *paint;      /* shown name; NULL: all of that confidence */
    double confidence;      /* .50, .80 or .95, the nearest; of a paint 0: whatever it was */
    size_t answered, dry;   /* asked for, and how many of them were found dry */
    size_t silent, came_up; /* painted over without a word, and how many of them came up */
};
struct cb_rings {
    size_t count;
    const struct cb_ring_tally *tallies; /* first by confidence, those that there are; then by
                                            paint, in the order of the rows */
    size_t came_up;                      /* of all films */
};
/* rows as the learner has them; texts are theirs. */
struct cb_rings cb_calibration_rings(const struct cb_row *rows, size_t count,
                                     struct cb_arena *arena);

#endif
