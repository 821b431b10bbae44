/* SPDX-License-Identifier: MIT */
#include "view/pot_plot.h"

#include <math.h>
#include <string.h>

#define LABEL_COLUMNS 7
#define PLOT_MAX      160

struct axis {
    double low, step; /* log minutes at the left edge, and a column */
    int columns;
};

static double edge(const struct axis *axis, int i)
{
    return exp(axis->low + axis->step * i);
}

static int place(const struct axis *axis, double minutes)
{
    double at = minutes > 0 ? floor((log(minutes) - axis->low) / axis->step) : -1;
    return at < -1 ? -1 : at > axis->columns ? axis->columns : (int)at;
}

/* Eight heights. */
static const char *const blocks[] = {" ",      "\u2581", "\u2582", "\u2583", "\u2584",
                                     "\u2585", "\u2586", "\u2587", "\u2588"};
static const char *const marks[] = {" ", ".", ".", ":", "-", "=", "+", "*", "#"};

/* Over height rows; most is the share of the full height. */
static void put_law(struct cb_grid *grid, int row, int column, int height, const struct axis *axis,
                    enum cb_role role, const double *share, double most)
{
    for (int i = 0; i < axis->columns && most > 0; i++) {
        int eighths = (int)ceil(8 * height * share[i] / most - .15);
        for (int r = height - 1; r >= 0; r--) {
            int here = eighths > 8 ? 8 : eighths < 0 ? 0 : eighths;
            eighths -= here;
            cb_grid_put(grid, row + r, column + i, 1, role, (grid->ascii ? marks : blocks)[here]);
        }
    }
}

/* The law of a film's time, column by column; prior: with nothing learned. Its highest. */
static double law(double *share, const struct axis *axis, const struct cb_learn *learn,
                  const struct cb_pot_line *line, bool prior)
{
    double before = 0, most = 0;
    for (int i = 0; i <= axis->columns; i++) {
        double t = edge(axis, i);
        double now = prior ? cb_learn_prior_cdf(learn, line->pot_sd, line->prior_min, t)
                           : cb_learn_cdf(learn, line->pot, line->pot_sd, line->prior_min, t);
        if (i > 0) {
            share[i - 1] = now - before;
            most = share[i - 1] > most ? share[i - 1] : most;
        }
        before = now;
    }
    return most;
}

static void put_interval(struct cb_grid *grid, int row, int column, const struct axis *axis,
                         const struct cb_pot_line *line, const struct cb_pot_evidence *seen)
{
    /* another technique's or mix's film counts by its ratio to its own median */
    double scale = line->prior_min / seen->row->median_min;
    bool weak = seen->row->kind == CB_ROW_WEAK, below = !(seen->row->lo > 0);
    bool above = isinf(seen->row->hi);
    int from = below ? -1 : place(axis, seen->row->lo * scale);
    int to = above ? axis->columns : place(axis, seen->row->hi * scale);
    enum cb_role role = seen->looks_off ? CB_ROLE_WARN : weak ? CB_ROLE_DIM : CB_ROLE_PLOT;
    const char *dash = grid->ascii ? (weak ? "." : "-") : weak ? "\u00b7" : "\u2500";
    for (int i = from < 0 ? 0 : from; i <= to && i < axis->columns; i++) {
        cb_grid_put(grid, row, column + i, 1, role, dash);
    }
    if (from >= axis->columns || to < 0) { /* off the axis: point to where it lies */
        cb_grid_put(grid, row, to < 0 ? column : column + axis->columns - 1, 1, role,
                    to < 0 ? "<" : ">");
        return;
    }
    cb_grid_put(grid, row, column + (from > 0 ? from : 0), 1, role, from >= 0 ? "(" : "<");
    if (to < axis->columns) {
        cb_grid_put(grid, row, column + to, 1, role, "]");
    } else {
        cb_grid_put(grid, row, column + axis->columns - 1, 1, role, ">");
    }
}

/* Minutes worth a mark: 1, 2, 5 and their tens. */
static void put_axis(struct cb_grid *grid, int row, int column, const struct axis *axis)
{
    static const double steps[] = {1, 2, 5};
    int free_from = 0;
    for (int i = 0; i < axis->columns; i++) {
        cb_grid_put(grid, row, column + i, 1, CB_ROLE_RULE, grid->ascii ? "-" : "\u2500");
    }
    for (int power = -3; power < 7; power++) {
        for (size_t i = 0; i < 3; i++) {
            double minutes = steps[i] * pow(10, power);
            int at = place(axis, minutes * 1.0000001);
            if (at < 0 || at >= axis->columns) {
                continue;
            }
            cb_grid_put(grid, row, column + at, 1, CB_ROLE_RULE, grid->ascii ? "+" : "\u253c");
            if (at >= free_from && at + 3 < axis->columns) {
                free_from = at + 1 +
                            cb_grid_putf(grid, row + 1, column + at, 0, CB_ROLE_DIM,
                                         minutes < 1 ? "%.2g" : "%.0f", minutes);
            }
        }
    }
    if (free_from + 4 <= axis->columns) {
        cb_grid_put(grid, row + 1, column + axis->columns - 3, 3, CB_ROLE_DIM, "min");
    }
}

int cb_pot_plot(struct cb_grid *grid, int row, int column, int rows, int columns,
                const struct cb_learn *learn, const struct cb_pot_line *line,
                const struct cb_pot_evidence *evidence, size_t count)
{
    if (rows < 5 || columns < 30 || line->exact || !(line->prior_min > 0)) {
        return 0;
    }
    struct axis axis = {.columns = columns - LABEL_COLUMNS};
    axis.columns = axis.columns > PLOT_MAX ? PLOT_MAX : axis.columns;
    double low = fmin(line->prior_min / 3, line->low_min / 1.5);
    double high = fmax(line->prior_min * 3, line->high_min * 1.5);
    axis.low = log(low);
    axis.step = (log(high) - axis.low) / axis.columns;
    int at = column + LABEL_COLUMNS, used = 0;
    double prior[PLOT_MAX], now[PLOT_MAX];
    double most = fmax(law(prior, &axis, learn, line, true), law(now, &axis, learn, line, false));
    int height = rows >= 10 + (int)(count < 4 ? count : 4) ? 3 : 1;
    cb_grid_put(grid, row + height - 1, column, LABEL_COLUMNS - 1, CB_ROLE_DIM, "before");
    put_law(grid, row, at, height, &axis, CB_ROLE_DIM, prior, most);
    cb_grid_put(grid, row + 2 * height - 1, column, LABEL_COLUMNS - 1, CB_ROLE_PLAIN, "now");
    put_law(grid, row + height, at, height, &axis, CB_ROLE_PLOT, now, most);
    int room = rows - 2 * height - 2;
    used = 2 * height;
    size_t first = count > (size_t)room ? count - (size_t)room : 0;
    for (size_t i = first; i < count; i++) {
        if (i == first) {
            cb_grid_put(grid, row + used, column, LABEL_COLUMNS - 1, CB_ROLE_DIM, "films");
        }
        put_interval(grid, row + used++, at, &axis, line, &evidence[i]);
    }
    put_axis(grid, row + used, at, &axis);
    int ping = place(&axis, line->ping_min);
    if (ping >= 0 && ping < axis.columns) {
        cb_grid_put(grid, row + used, at + ping, 1, CB_ROLE_READY, "^");
        cb_grid_put(grid, row + used, column, LABEL_COLUMNS - 1, CB_ROLE_READY, "rings^");
    }
    return used + 2;
}
