/* SPDX-License-Identifier: MIT */
/*
 * What can be put on now, what can't and why. What SPACE will do on the bench is the plan's to say
 * (core/plan/road.h). Here is the plain order: it says on which figure the plan's coat goes first,
 * and everything where no plan speaks, as where somebody went by hand, of another unit, or of a
 * bench looked back on. It stays with the paint on the brush, then the earliest stage, the lowest
 * coat, the next figure. Another paint comes only when the next coat of this one is further away
 * than the change and three minutes; a texture not among the coats before it, unless the next of
 * these is twenty minutes away (both own judgement). Optional stages come in their place and hold
 * up nothing; a figure on which something near is wet comes after the others of its stage.
 */
#ifndef CB_CORE_BENCH_NEXT_H
#define CB_CORE_BENCH_NEXT_H

#include "core/bench/bench.h"
#include "core/bench/forecast.h"

enum cb_slot_state {
    CB_SLOT_DONE, /* all coats of the stage on this figure are on */
    CB_SLOT_READY,
    CB_SLOT_WET,      /* a film below, on its own areas, is thought wet */
    CB_SLOT_BESIDE,   /* a touching area is wet */
    CB_SLOT_WAITS,    /* an earlier stage is not done yet */
    CB_SLOT_TOGETHER, /* this figure is ready, the others of the together go are not */
    CB_SLOT_PARKED,
    CB_SLOT_NONE, /* not for this figure: group, left out */
};

struct cb_slot {
    enum cb_slot_state state;
    int figure, stage, coat;          /* the next coat wanted there; coat 0 when DONE or NONE */
    int by_figure, by_stage, by_coat; /* what stands in the way, 0: nothing */
    int64_t until_ms;                 /* WET, BESIDE, TOGETHER: when the last obstacle is due */
};

struct cb_slot cb_next_slot(const struct cb_bench *bench, const struct cb_learn *learn,
                            const struct cb_unit *unit, int figure, int stage, int64_t now_ms);

struct cb_proposal {
    bool any;
    int stage, coat;
    int figure;       /* the one to do now (first of figures) */
    int figure_count; /* ready for this stage and coat, natural order, from `figure` on */
    int figures[CB_FIGURES_MAX];
    bool together;     /* one press puts it on all of figures */
    bool change_paint; /* another paint than the last press */
    bool brush_clean;  /* with it: there was no paint before */
    bool thought_wet;  /* only when a figure or stage was chosen by hand */
    double chance;     /* with thought_wet: chance that it is dry */
    /* Not any: what it is best to wait for. */
    int64_t ready_ms;               /* CB_TIME_NONE: nothing, all is done or all stands still */
    int wait_figure, wait_stage;    /* the coat that can go on then; 0: none */
    const struct cb_film *wait_for; /* the film that it waits for, the bench's; NULL: none */
};

/* The unit's coat now by the plain order; at_figure, at_stage 0: free; else the user has moved
 * there and the proposal is for exactly that figure and/or stage, thought wet or not. */
struct cb_proposal cb_next_propose(const struct cb_bench *bench, const struct cb_learn *learn,
                                   const struct cb_unit *unit, int at_figure, int at_stage,
                                   int64_t now_ms);

/* That very coat again, as cb_next_propose would have it; false: it is not ready, or is not the
 * next there. */
bool cb_next_hold(const struct cb_bench *bench, const struct cb_learn *learn,
                  const struct cb_unit *unit, int figure, int stage, int coat, int64_t now_ms,
                  struct cb_proposal *proposal);

/* That stage and coat on the figure that comes first by the plain order; false: it can go on
 * nowhere now. */
bool cb_next_take(const struct cb_bench *bench, const struct cb_learn *learn,
                  const struct cb_unit *unit, int stage, int coat, int64_t now_ms,
                  struct cb_proposal *proposal);
/* Not yet: what will be proposed for that figure and stage, and from when on. */
struct cb_proposal cb_next_wait(const struct cb_bench *bench, const struct cb_learn *learn,
                                const struct cb_unit *unit, int figure, int stage, int64_t now_ms);

/* The pot whose paint is on the brush, by the last coat on the bench; NULL: it is clean. */
const char *cb_next_brush(const struct cb_bench *bench);

/* Must that film of the unit be dry before the stage goes on its figure? */
bool cb_next_must_be_dry(const struct cb_unit *unit, const struct cb_film *film, int stage);
/* That film lies on another piece than the stage is for: a part painted apart is not on yet. */
bool cb_next_is_apart(const struct cb_unit *unit, const struct cb_film *film, int stage);
/* What is proposed is a wash, a stain or a spray, and that film near it is wet; NULL: it is not. */
const struct cb_film *cb_next_mind(const struct cb_bench *bench, const struct cb_learn *learn,
                                   const struct cb_unit *unit, const struct cb_proposal *proposal,
                                   int64_t now_ms);

/* Looking back over a log, on a bench that was given its first part. A film counts as wet until its
 * ping and as dry from then on, unless it was found wet since; one that has no ping, by learn. */
struct cb_look_back {
    const struct cb_learn *learn;
    const struct cb_unit *later; /* the unit by the whole log; NULL: pings to come are unknown */
};
/* Could the next coat of that figure and stage, which the unit has, go on at the moment? */
bool cb_next_was_ready(const struct cb_bench *bench, const struct cb_look_back *back,
                       const struct cb_unit *unit, int figure, int stage, int64_t now_ms);
/* The first moment from now_ms to until_ms at which any coat of the unit could, were nothing to
 * happen in between; CB_TIME_NONE: none. */
int64_t cb_next_ready_by(const struct cb_bench *bench, const struct cb_look_back *back,
                         const struct cb_unit *unit, int64_t now_ms, int64_t until_ms);
bool cb_next_all_done(const struct cb_unit *unit);

#endif
