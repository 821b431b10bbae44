/* SPDX-License-Identifier: MIT */
/* A pot as a painter would tell of it, above its picture. */
#ifndef CB_VIEW_POT_SENTENCE_H
#define CB_VIEW_POT_SENTENCE_H

#include "base/arena.h"
#include "base/time.h"
#include "core/bench/pots.h"

/* What the sentence rests on. */
struct cb_pot_seen {
    size_t count;      /* films of the pot */
    int64_t last_ms;   /* when the newest went on, wall */
    size_t off;        /* answers that do not fit */
    bool technique;    /* to be named: the pot has more than one */
    const char *given; /* cb_pot_given_text; NULL: nothing was given */
};

/* "Oilskin green: dry within 7 min as a rule, by 10 it rings; from 40 coats, last on Tuesday".
 * now_ms: wall. In the arena. */
const char *cb_pot_sentence(const struct cb_pot_line *line, const struct cb_pot_seen *seen,
                            int64_t now_ms, const struct cb_zone *zone, struct cb_arena *arena);

/* "another painter's 14 coats count as three"; NULL: nothing was given of the pot, or it is
 * forgotten. rows: what the learner was given. */
const char *cb_pot_given_text(const struct cb_row *rows, size_t row_count, const char *pot,
                              struct cb_arena *arena);

/* "today", "yesterday", "on Tuesday" within a week, else "on 2026-01-05". */
#define CB_POT_DAY_SIZE 16
void cb_pot_day(int64_t at_ms, int64_t now_ms, const struct cb_zone *zone,
                char out[CB_POT_DAY_SIZE]);

#endif
