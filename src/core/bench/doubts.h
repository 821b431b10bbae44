/* SPDX-License-Identifier: MIT */
/*
 * What a log says that a painter may wonder at, though the file is whole: events that mean nothing
 * to the fold, and clocks that were set. Each is kept and none is a fault; who asks is told how
 * many there are and which was the first.
 */
#ifndef CB_CORE_BENCH_DOUBTS_H
#define CB_CORE_BENCH_DOUBTS_H

#include <stddef.h>
#include <stdint.h>

#include "core/bench/bench.h"

enum cb_doubt_kind {
    CB_DOUBT_NO_UNIT,    /* of a unit that was never begun */
    CB_DOUBT_NO_RECIPE,  /* brings a recipe that can't be read */
    CB_DOUBT_NO_STAGE,   /* of a stage that the recipe in force has not */
    CB_DOUBT_NO_FIGURE,  /* of a figure that the unit has not */
    CB_DOUBT_ON_ALREADY, /* a coat that was on */
    CB_DOUBT_NOT_ON,     /* found, lifted, helped: a film that was not on */
    CB_DOUBT_NO_TARGET,  /* undoes or moves what is not there */
    CB_DOUBT_SET_BACK,   /* earlier than the one before it on its machine */
    CB_DOUBT_APART,      /* wall and boot clock parted within a boot */
    CB_DOUBT_BOOT_BACK,  /* the boot clock went back within a boot */
    CB_DOUBT_GAP,        /* more than a year after the one before it on its machine */
    CB_DOUBT_FUTURE,     /* later than now */
    CB_DOUBT_COUNT
};

struct cb_doubt {
    size_t count;
    const struct cb_event *first; /* in fold order; the bench's; NULL: none */
    int64_t most_ms;              /* of the clocks: by how much at most */
};
struct cb_doubts {
    struct cb_doubt of[CB_DOUBT_COUNT];
};

/* From here on the fold notes what meant nothing to it. Before the first add. */
void cb_bench_watch_doubts(struct cb_bench *bench);

/* now_ms: wall. Of a bench that watches; its events as long as it is given no more. */
void cb_bench_doubts(const struct cb_bench *bench, int64_t now_ms, struct cb_doubts *doubts);

#endif
