/* SPDX-License-Identifier: MIT */
/*
 * Which cues are said now. A function of the log, what was learned and the moment: nothing of what
 * was shown is kept. A cue belongs to one place of a session and stage: the cues of a moment stand
 * in the order of their weight, and each further coat of that moment shows the next two. So none is
 * said more than once a session, but for what goes by an age, and what is timed within a film: once
 * a figure.
 */
#ifndef CB_CORE_COACH_COACH_H
#define CB_CORE_COACH_COACH_H

#include "core/bench/next.h"
#include "core/coach/cue.h"
#include "core/review/taught.h"

#define CB_COACH_LINES       2
#define CB_COACH_MOMENTS_MAX 8

/* The bench at a moment, as it is shown. */
struct cb_coach_at {
    const struct cb_unit *unit; /* in front; NULL: none */
    const struct cb_proposal *proposal;
    bool waits;    /* nothing is ready: the proposal is what is waited for */
    bool all_done; /* nothing is left to put on */
    bool caution;  /* one waits for its SPACE: no cue is said */
    int64_t now_ms;
    double evening_min;             /* its usual length; 0: not known, it ends when all is done */
    const struct cb_taught *taught; /* of finished units; NULL: nothing */
};

/* A stage that was begun in this session, and how many pairs of each moment's cues it has had. */
struct cb_coach_past {
    struct cb_cue_stage stage;
    bool alone;
    size_t had[CB_CUE_MOMENT_COUNT];
};

/* A moment that holds, with what cues are judged by. */
struct cb_coach_moment {
    enum cb_cue_moment moment;
    struct cb_cue_stage stage;
    struct cb_cue_now now;
    size_t step;      /* which two of its cues, from 0 */
    int stage_number; /* from 1; 0: none */
    bool alone;       /* no further figure follows: its first coat is that before the stage */
    const struct cb_coach_past *past; /* stages begun before it, in that order */
    size_t past_count;
    double share;               /* AFTER_COAT: of the drying, gone by */
    double drying_ms;           /* AFTER_COAT: the whole of it */
    const struct cb_film *film; /* AFTER_COAT: the one that went on last */
    /* AFTER_COAT: figures, ascending, and how much of its drying each has gone through */
    size_t figure_count;
    const int *figures;
    const double *shares;
};
/* Texts live in the arena; their number, at most CB_COACH_MOMENTS_MAX. */
size_t cb_coach_moments(const struct cb_bench *bench, const struct cb_learn *learn,
                        const struct cb_coach_at *at, struct cb_arena *arena,
                        struct cb_coach_moment moments[CB_COACH_MOMENTS_MAX]);

struct cb_coach_line {
    const struct cb_cue *cue;
    const struct cb_coach_moment *moment;
    const char *text; /* in the arena, of any width where there are many figures */
};
/* The most useful first; their number. */
size_t cb_coach_pick(const struct cb_cues *cues, const struct cb_bench *bench,
                     const struct cb_coach_moment *moments, size_t count, struct cb_arena *arena,
                     struct cb_coach_line lines[CB_COACH_LINES]);

/* Why that cue, the how-manieth of the list, is said now or is not: one line in the arena. */
const char *cb_coach_why(const struct cb_cues *cues, size_t place, const struct cb_bench *bench,
                         const struct cb_coach_moment *moments, size_t count, bool caution,
                         struct cb_arena *arena, bool *shows);

#endif
