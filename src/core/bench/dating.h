/* SPDX-License-Identifier: MIT */
/*
 * When the coats of one press went on, of which nothing was said while they were painted: the last
 * figure at the press, each before it earlier by the work that lies between.
 */
#ifndef CB_CORE_BENCH_DATING_H
#define CB_CORE_BENCH_DATING_H

#include "core/bench/bench.h"
#include "core/learn/learn.h"

struct cb_dating {
    int64_t on_ms; /* bench time */
    double pm_s;   /* how sure that is; 0: as pressed */
};

/* The moment from which the stage could go on that figure, as it stands now: the ring of what it
 * lies on or beside, or when that was found dry; now_ms while any of it is thought wet. */
int64_t cb_dating_could_ms(const struct cb_bench *bench, const struct cb_learn *learn,
                           const struct cb_unit *unit, int figure, int stage, int64_t now_ms);

/* The same, and not before whoever paints was free for it: the unit was begun, a pause ended or the
 * last coat was marked. */
int64_t cb_dating_since_ms(const struct cb_bench *bench, const struct cb_learn *learn,
                           const struct cb_unit *unit, int figure, int stage, int64_t now_ms);

/* One coat of the stage on each of these figures, in the order they were painted, the last one at
 * last_ms (at most now_ms): work_ms apart, none before cb_dating_since_ms or the session was
 * opened. Where that leaves too little room, evenly in what there is. A moment that was typed is
 * believed: none is later than last_ms. */
void cb_dating_count(const struct cb_bench *bench, const struct cb_learn *learn,
                     const struct cb_unit *unit, int stage, const int *figures, size_t count,
                     int64_t work_ms, int64_t last_ms, int64_t now_ms, struct cb_dating *dating);

#endif
