/* SPDX-License-Identifier: MIT */
/*
 * Painters who aren't there, for the demo. The one paints a unit over several evenings and leaves
 * the events that a real one would; everything follows from the seed. The other, steady, says when
 * it would press on a bench that somebody looks at. Their hand and room are invented, so nothing
 * they say is a check value.
 */
#ifndef CB_CORE_BENCH_PAINTER_H
#define CB_CORE_BENCH_PAINTER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/tree.h"
#include "core/bench/bench.h"
#include "core/bench/next.h"
#include "core/learn/learn.h"

struct cb_painter {
    const struct cb_kinds *kinds;
    cb_tree_reader *read;
    const char *recipe; /* its whole text */
    const char *name;   /* of the unit */
    const char *unit;   /* its id; also the beginning of the events' ids */
    int figures;
    uint64_t seed;
    int64_t start_ms;   /* the first evening begins, wall */
    double evening_min; /* its usual length */
    int evenings_max;
};

/* Events in order, with ids and presses, in the arena; the unit is finished when it could be in
 * evenings_max evenings. */
const struct cb_event *const *cb_painter_paint(const struct cb_painter *painter,
                                               struct cb_arena *arena, size_t *count);

/* The steady painter, at the unit in front, who does what is offered: begins each coat as soon as
 * it can go on and presses coat-on when its hands-on minutes are over. *press: now. Returns when to
 * ask again, bench time; CB_TIME_NONE: nothing is to do. */
int64_t cb_painter_steady(const struct cb_bench *bench, const struct cb_learn *learn,
                          const struct cb_proposal *next, int64_t now_ms, bool *press);

#endif
