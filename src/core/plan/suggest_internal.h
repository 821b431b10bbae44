/* SPDX-License-Identifier: MIT */
/* A log laid out for other choices, and what they come to; of suggest*.c alone. */
#ifndef CB_CORE_PLAN_SUGGEST_INTERNAL_H
#define CB_CORE_PLAN_SUGGEST_INTERNAL_H

#include "core/plan/plan_internal.h"
#include "core/plan/suggest.h"

/* A coat as it went on, or all coats of one together go. */
struct cb_suggest_mark {
    int stage, coat; /* both from 0; the coat among those of the log */
    size_t first, count;
    size_t first_span, end_span; /* of the review */
    double break_min; /* before it, time that is not of these coats: pauses, nights, other units */
    bool clean;       /* nobody knows what is on the brush */
};

/* What is on, while a log is gone through. All by slot, as the model's. */
struct cb_suggest_board {
    int *on, *lacking;
    double *ready_min;
};

/* Minutes of coats that don't lie on them. */
struct cb_suggest_lost {
    double waiting_min, change_min;
    int paint_changes;
};

struct cb_suggest_log {
    struct cb_arena arena;
    const struct cb_review *review;
    struct cb_plan_problem problem; /* as nothing is on yet; the figures that have coats */
    struct cb_plan_model model;     /* the same */
    double *fan_dry_min;            /* of each stage */
    size_t mark_count, member_count;
    struct cb_suggest_mark *marks; /* in order */
    int *members;                  /* figures, from 0 among those that have coats */
    double work_min;               /* of all marks */
    struct cb_suggest_lost spent;  /* waiting for the coat that went on next, and changes */
    int sessions;                  /* with marks */
    int batch;                     /* how many figures were mostly taken through a stage at once */
    int advised;                   /* how many the simulation advises; 0: not asked yet */
};

/* Zeroed: as it was painted. */
struct cb_suggest_try {
    int batch;          /* figures at a time; 0: the log's own order */
    size_t simulations; /* with a batch: 1 is one stage after the other, more the plan's order */
    bool fan;
    bool stay; /* in the log's own order, but with a paint as long as a coat of it can go on */
};

/* Release with cb_suggest_board_fini. */
void cb_suggest_board_init(struct cb_suggest_board *board, const struct cb_plan_model *model);
void cb_suggest_board_fini(struct cb_suggest_board *board);
/* When all figures of the mark are dry for it. */
double cb_suggest_board_ready(const struct cb_suggest_board *board,
                              const struct cb_suggest_log *log, const struct cb_suggest_mark *mark);
/* Does its coat come next on all of them? */
bool cb_suggest_board_is_next(const struct cb_suggest_board *board,
                              const struct cb_suggest_log *log, const struct cb_suggest_mark *mark);
/* It is on, and dry then. */
void cb_suggest_board_put(struct cb_suggest_board *board, const struct cb_suggest_log *log,
                          const struct cb_suggest_mark *mark, double dry_min);

/* False: there is nothing to replay. Else cb_suggest_log_fini. */
bool cb_suggest_log_init(struct cb_suggest_log *log, const struct cb_review *review,
                         const struct cb_kinds *kinds);
void cb_suggest_log_fini(struct cb_suggest_log *log);

/* The minutes of the stages, all of them the log's too, from marks and a model that has no minutes
 * but dry times. */
void cb_suggest_measure(struct cb_suggest_log *log, struct cb_plan_stage *stages);

/* The log's own order; breaks: with those it had, else on evenings as the problem has them.
 * fanned: the stage, from 0, that alone has a fan; -1: as the try says. */
struct cb_suggest_lost cb_suggest_replay(const struct cb_suggest_log *log,
                                         const struct cb_suggest_try *try, bool breaks, int fanned);
/* The plan of a try that has a batch; in the arena. */
struct cb_plan cb_suggest_plan(const struct cb_suggest_log *log, const struct cb_suggest_try *try,
                               struct cb_arena *arena);
/* Minutes that a try saves, and of what. */
double cb_suggest_saved(const struct cb_suggest_log *log, const struct cb_suggest_try *try,
                        struct cb_suggest_lost *saved);
/* Of two coats of which one waits for the other: how many figures took the one in a row, before any
 * took the other. The middle of all such rows; all figures where nothing waits for anything. */
int cb_suggest_usual(const struct cb_suggest_log *log);
/* How many figures at a time, one stage after the other, as cb_plan_batch_advised has it. */
int cb_suggest_advised(struct cb_suggest_log *log);
/* So many as may be made for a try of another order. */
size_t cb_suggest_simulations(const struct cb_suggest_log *log);

static inline double cb_suggest_sum(const struct cb_suggest_lost *lost)
{
    return lost->waiting_min + lost->change_min;
}

#endif
