/* SPDX-License-Identifier: MIT */
/*
 * The arithmetic of the learner: tables over s x theta, what one row says, spreading a table by a
 * normal law, and the predictive law of a pot. Private to learn*.c; knows no pots and no rows.
 *
 * A cell is (s, theta); theta runs over -2.4 .. 2.4 by .02. Cells past GRID_N pad a line to a
 * multiple of four so that the compiler can take them in pairs; they mean nothing.
 */
#ifndef CB_CORE_LEARN_LEARN_GRID_H
#define CB_CORE_LEARN_LEARN_GRID_H

#include <stdbool.h>

#include "core/learn/learn.h"

#define GRID_S    7
#define GRID_N    241
#define GRID_LINE 244
#define GRID_STEP 0.02
#define GRID_LOW  (-2.4)

/* The residual's sd. */
extern const double cb_learn_grid_s[GRID_S];

struct grid_table {
    double v[GRID_S][GRID_LINE];
};

static inline double grid_theta(int k)
{
    return GRID_LOW + GRID_STEP * k;
}

/* What one film says: log T in (a, c]; or, with eta, so much of it that it may lie past c too. */
struct grid_row {
    double a, c; /* log of time over median; -INFINITY, INFINITY: no bound */
    double eta;  /* 1 - rho of a coat put on unasked; 0: asked for */
};
/* table = fade table + log q. */
void cb_learn_grid_add(struct grid_table *table, const struct grid_row *row,
                       const struct cb_learn_settings *settings);
/* The mis-key floor eps (Phi(c) - Phi(a)) of a row. */
double cb_learn_grid_floor(const struct grid_row *row, double mis_key);
/* q of the row in one cell: the chance of what was seen. */
double cb_learn_grid_q(const struct grid_row *row, const struct cb_learn_settings *settings,
                       double s, double theta);

/* A normal law of that sd over the grid's distances, and what of it stays inside, per cell. */
struct grid_kernel {
    double sd;
    double k[2 * GRID_LINE];  /* at distance i - GRID_LINE */
    double inside[GRID_LINE]; /* sum over the grid, seen from that cell */
};
void cb_learn_grid_kernel(struct grid_kernel *kernel, double sd);
/* log of the mean of exp(table) around each cell: what a pot's table says of its bench. */
void cb_learn_grid_up(struct grid_table *out, const struct grid_table *table,
                      const struct grid_kernel *kernel);
/* The other way: log of the law of theta where exp(table) is the law of its centre. Both up to
 * a constant shared by all of a table's cells. */
void cb_learn_grid_down(struct grid_table *out, const struct grid_table *table,
                        const struct grid_kernel *kernel);
/* sum += sign more, cell by cell. */
void cb_learn_grid_sum(struct grid_table *sum, const struct grid_table *more, double sign);
/* exp, scaled to a sum of 1. */
void cb_learn_grid_normal(struct grid_table *table);

/* Predictive: log P(log T / median > x) at steps of half a cell, worked out part by part as it is
 * read. Zeroed it knows nothing yet; it belongs to one law. */
#define GRID_TAIL_N     961
#define GRID_TAIL_LOW   (-4.8)
#define GRID_TAIL_STEP  0.01
#define GRID_TAIL_PART  16
#define GRID_TAIL_PARTS ((GRID_TAIL_N + GRID_TAIL_PART - 1) / GRID_TAIL_PART)
struct grid_tail {
    double v[GRID_TAIL_PARTS * GRID_TAIL_PART];
    bool known[GRID_TAIL_PARTS];
};
/* Between the steps. */
double cb_learn_grid_tail_read(struct grid_tail *tail, const struct grid_table *law, double x);
/* The same at one x, from the law itself: slow, right everywhere. */
double cb_learn_grid_tail_at(const struct grid_table *law, double x);

#endif
