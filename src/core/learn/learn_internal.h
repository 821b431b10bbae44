/* SPDX-License-Identifier: MIT */
/*
 * The inside of the learner, of learn.c, learn_pot.c and learn_predict.c alone.
 *
 * What it holds is a function of its rows: the lists of the pots are made of the kept rows, the
 * tables of the lists, the total of the tables. Kernels and views are caches, filled by queries.
 */
#ifndef CB_CORE_LEARN_LEARN_INTERNAL_H
#define CB_CORE_LEARN_LEARN_INTERNAL_H

#include <string.h>

#include "base/vec.h"
#include "core/learn/learn.h"
#include "core/learn/learn_grid.h"

/* One thing that happened to a pot's table. The table is a function of its list of these. */
struct learn_op {
    size_t row; /* where it stands among the rows; no part of what it says */
    enum cb_row_kind kind;
    double a, c, eta, sd;
};

/* What another painter's coats say. */
struct learn_given {
    size_t row;
    double a, c, coats, sd;
    int technique;
    bool waits;
};
/* All that was given of a pot, pooled: its table begins with so many coats alike. */
struct learn_start {
    double a, c;
    int coats; /* 0: nothing was given */
};

#define LEARN_VIEWS_MAX 16
struct learn_view; /* what was asked of a pot */

struct learn_pot {
    char *key;
    double sd;
    bool known;  /* its table says something */
    bool counts; /* and so to the bench: a film of it stands among the rows, or a unit has it */
    CB_VEC(struct learn_given) given;
    struct learn_start begun; /* what the table begins with */
    CB_VEC(struct learn_op) ops;
    size_t cursor, changed; /* while syncing */
    size_t start, applied;  /* the table holds ops start .. applied */
    struct grid_table table;
    struct {
        size_t applied; /* 0: none */
        struct grid_table *table;
    } checkpoints[2];
    struct grid_table up;      /* what it says of the bench */
    struct learn_view **views; /* the cache, beside the pot so that queries may fill it */
    size_t *view_count;
};

/* How far silence can be believed: films that were said to be wet, and how many of the silent ones
 * will have been wet all the same. */
struct learn_silence {
    double said, wet;
};

/* A row as it was last time, to see what is new, and what was known of silence when it came. */
struct learn_kept {
    enum cb_row_kind kind;
    const struct learn_pot *pot;
    double pot_sd, median_min, lo, hi, value;
    int technique;
    bool waits;
    struct cb_heard_before word;
    double rho; /* before it */
    struct learn_silence silence;
    size_t before; /* so many films whose rows are not given went before */
};

/* A film whose row is not given. */
struct learn_before {
    struct cb_heard_before word;
    double rho; /* before it */
};
/* A ring that was answered, or not. */
struct learn_rung {
    int64_t at_ms; /* then */
    size_t film;   /* among those whose rows are not given; past their count: row */
};

struct cb_learn {
    struct cb_learn_settings settings;
    CB_VEC(struct learn_kept) rows;
    CB_VEC(struct learn_pot *) pots; /* by key: the order of every sum */
    CB_VEC(double) answers;
    CB_VEC(size_t) answer_rows;
    CB_VEC(struct learn_before) before;     /* of films whose rows are not given: as they went on */
    CB_VEC(struct learn_rung) before_rungs; /* as they were answered */
    CB_VEC(size_t) rings;                   /* rows that rang */
    double rho, shift;                      /* after all; shift: of all laws, in log time */
    struct grid_table total;
    uint64_t generation;
    CB_VEC(struct grid_kernel *) * kernels;
    struct learn_pot *nobody; /* views of pots never seen */
};

static inline bool learn_same(double a, double b)
{
    return memcmp(&a, &b, sizeof a) == 0;
}

/* The share of wet films that this painter speaks of. */
double cb_learn_rho(const struct cb_learn *learn, const struct learn_silence *silence);
/* After one more film. */
void cb_learn_hear(const struct cb_learn *learn, struct learn_silence *silence,
                   const struct cb_heard_before *word);
/* After those films whose rows are not given, from *before on, that went on by then. */
void cb_learn_hear_before(struct cb_learn *learn, struct learn_silence *silence, size_t *before,
                          int64_t at_ms);

/* After the last row: the numbers that stand on all that was heard. */
void cb_learn_heard_all(struct cb_learn *learn);

/* The kernel of that log sd, made when it is not there. */
const struct grid_kernel *cb_learn_kernel(const struct cb_learn *learn, double sd);
/* The prior weight of a value of s, up to a constant. */
double cb_learn_s_prior(int s);
bool cb_learn_row_teaches(const struct cb_row *row);
struct grid_row cb_learn_row_of(const struct cb_row *row); /* of one that teaches */

struct learn_pot *cb_learn_pot_new(const char *key);
void cb_learn_pot_free(struct learn_pot *pot);
struct learn_pot *cb_learn_pot_find(const struct cb_learn *learn, const char *key); /* or NULL */
struct learn_pot *cb_learn_pot_get(struct cb_learn *learn, const char *key); /* made if need be */
/* Back and forth over its list: back to before that row, one more thing, and after the last row,
 * which cuts off what the list no longer holds and brings the tables up to date. */
void cb_learn_pot_rewind(struct learn_pot *pot, size_t row);
void cb_learn_pot_push(struct learn_pot *pot, const struct learn_op *op);
void cb_learn_pot_give(struct learn_pot *pot, const struct learn_given *given);
void cb_learn_pot_settle(const struct cb_learn *learn, struct learn_pot *pot);
/* Forgets what was asked of it. */
void cb_learn_pot_drop_views(const struct learn_pot *pot);
void cb_learn_view_free(struct learn_view *view);

/* The pot's table of its own films alone. */
void cb_learn_pot_own(const struct cb_learn *learn, const struct learn_pot *pot,
                      struct grid_table *table);

#endif
