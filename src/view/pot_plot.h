/* SPDX-License-Identifier: MIT */
/*
 * A pot on one axis of minutes: how long films were thought to dry before anything was known, how
 * long now, and each observation as an interval, so that one sees the learning.
 */
#ifndef CB_VIEW_POT_PLOT_H
#define CB_VIEW_POT_PLOT_H

#include "core/learn/learn.h"
#include "core/bench/pots.h"
#include "view/grid.h"

/* At least 5 rows and 30 columns, else nothing is drawn. Two rows for prior and posterior, then
 * observations (the newest, as many as there is room for), the axis and its minutes. Rows used. */
int cb_pot_plot(struct cb_grid *grid, int row, int column, int rows, int columns,
                const struct cb_learn *learn, const struct cb_pot_line *line,
                const struct cb_pot_evidence *evidence, size_t count);

#endif
