/* SPDX-License-Identifier: MIT */
/*
 * A painter who isn't there: paints a unit over several evenings and leaves the events that a
 * real one would. Everything follows from the seed. For the demo and for tests of the review; its
 * hand and its room are invented, so nothing it says is a check value.
 */
#ifndef CB_CORE_BENCH_PAINTER_H
#define CB_CORE_BENCH_PAINTER_H

#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/tree.h"
#include "core/log/event.h"
#include "core/paint/kinds.h"

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

#endif
