/* SPDX-License-Identifier: MIT */
/*
 * The inside of the learner, of learn.c alone.
 *
 * What it holds is a function of its rows: the lists of the leaves are made of the kept rows, the
 * tables of the lists, the total of the tables. Kernels and views are caches, filled by queries.
 */
#ifndef CB_CORE_LEARN_LEARN_INTERNAL_H
#define CB_CORE_LEARN_LEARN_INTERNAL_H

#include "base/vec.h"
#include "core/learn/learn.h"
#include "core/learn/learn_grid.h"

#define LEARN_BOTTLE_SD    .10  /* a new bottle against the old: estimate */
#define LEARN_FORGOTTEN    1e-9 /* what weighs less is not read */
#define LEARN_WINDOW_STEP  128
#define LEARN_NO_TECHNIQUE (-1)

/* One thing that happened to a table. The table is a function of its list of these. */
struct learn_op {
    size_t row; /* where it stands among the rows; no part of what it says */
    enum cb_row_kind kind;
    double a, c, sd;
};

/* The table of a pot, or with nested of a pot and technique. */
struct learn_leaf {
    int technique;
    CB_VEC(struct learn_op) ops;
    size_t cursor, changed; /* while syncing */
    size_t start, applied;  /* the table holds ops start .. applied */
    struct grid_table table;
    struct grid_table *up; /* nested: what it says of the pot; NULL: nothing yet */
    struct {
        size_t applied; /* 0: none */
        struct grid_table *table;
    } checkpoints[2];
};

struct learn_view; /* what was asked of a pot */

struct learn_pot {
    char *key;
    double sd;
    CB_VEC(struct learn_leaf *) leaves;
    bool known;
    size_t number;             /* while packing */
    struct grid_table up;      /* what it says of the bench */
    struct learn_view **views; /* the cache, beside the pot so that queries may fill it */
    size_t *view_count;
};

/* A row as it was last time, to see what is new. */
struct learn_kept {
    enum cb_row_kind kind;
    int technique;
    struct learn_pot *pot;
    double pot_sd, median_min, lo, hi, value;
};

struct cb_learn {
    struct cb_learn_settings settings;
    CB_VEC(struct learn_kept) rows;
    CB_VEC(struct learn_pot *) pots; /* by key: the order of every sum */
    CB_VEC(double) answers;
    CB_VEC(size_t) answer_rows;
    struct grid_table total;
    uint64_t generation;
    CB_VEC(struct grid_kernel *) * kernels;
    struct learn_pot *nobody; /* views of pots never seen */
};

/* The pot of that key, made when it is not there. */
struct learn_pot *cb_learn_pot_get(struct cb_learn *learn, const char *key);
/* One more row, of that pot (NULL: of none), kept and into the lists of the leaves. */
void cb_learn_take(struct cb_learn *learn, const struct cb_row *row, struct learn_pot *pot);
/* After the last row: cuts off what its leaves' lists no longer hold; known and sd of the pot. */
void cb_learn_pot_settle(struct learn_pot *pot);
/* Where reading of a list of so many starts: what lies before weighs less than LEARN_FORGOTTEN. A
 * function of the length alone, so that a table does not depend on how it came about. */
size_t cb_learn_window_start(const struct cb_learn *learn, size_t count);
/* The total, from the answers and the pots' tables. */
void cb_learn_total_anew(struct cb_learn *learn);

#endif
