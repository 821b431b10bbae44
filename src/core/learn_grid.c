/* SPDX-License-Identifier: MIT */
#include "core/learn_grid.h"

#include <math.h>
#include <string.h>

const double cb_learn_s[CB_LEARN_S_COUNT] = {.10, .14, .18, .22, .28, .36, .48};

static const double sqrt_half = 0.70710678118654752440;
static const double log_sqrt_2pi = 0.91893853320467274178;

static double phi_of(double x)
{
    return 0.5 * erfc(-x * sqrt_half);
}

/* log Phi(x), x <= 0. Below -20 the asymptotic series of the Mills ratio (Abramowitz & Stegun
 * 26.2.12): its ninth term is under 1e-13 there. */
static double log_phi_lower(double x)
{
    if (x > -20) {
        return log(phi_of(x));
    }
    if (isinf(x)) {
        return -INFINITY;
    }
    double term = 1, sum = 1;
    for (int k = 1; k <= 8; k++) {
        term *= -(2 * k - 1) / (x * x);
        sum += term;
    }
    return -0.5 * x * x - log_sqrt_2pi - log(-x) + log(sum);
}

double cb_learn_log_phi_between(double a, double b)
{
    if (!(a < b)) {
        return -INFINITY;
    }
    if (a > 0) {
        double flipped = -a;
        a = -b;
        b = flipped;
    }
    double width = b - a, middle = 0.5 * (a + b);
    if (width * (1 + fabs(middle)) < 1e-2) {
        /* A narrow slice: Taylor around its middle. */
        double m2 = middle * middle, w2 = width * width;
        double more = w2 * (m2 - 1) / 24 + w2 * w2 * (m2 * m2 - 6 * m2 + 3) / 1920;
        return log(width) - 0.5 * m2 - log_sqrt_2pi + log1p(more);
    }
    if (b > 0) {
        double outside = phi_of(a) + phi_of(-b);
        if (outside < 0.5) {
            return log1p(-outside);
        }
        return log(0.5 * (erf(b * sqrt_half) + erf(-a * sqrt_half)));
    }
    double upper = log_phi_lower(b);
    if (isinf(a)) {
        return upper;
    }
    return upper + log(-expm1(log_phi_lower(a) - upper));
}

void cb_learn_grid_phi(struct grid_phi *phi)
{
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        for (int p = 0; p < GRID_PHASES; p++) {
            for (int j = 0; j <= 2 * GRID_REACH; j++) {
                double y = GRID_STEP * (j - GRID_REACH + p / (double)GRID_PHASES);
                /* stored backwards, since theta is subtracted */
                phi->v[s][p][2 * GRID_REACH - j] = phi_of(y / cb_learn_s[s]);
            }
        }
    }
}

/* Phi((bound - theta) / s), cells from .. to - 1 of one s: Lagrange's six points on the eighths; the
 * weights are the same for every theta. Off by at most 3e-11. */
static void phi_line(double out[GRID_LINE], const struct grid_phi *phi, int s, double bound,
                     int from, int to)
{
    double place = (bound - GRID_LOW) / GRID_STEP * GRID_PHASES;
    double whole = floor(place);
    double f = place - whole;
    int first = (int)whole - 2 + GRID_REACH * GRID_PHASES;
    double weight[6];
    for (int m = 0; m < 6; m++) {
        double w = 1;
        for (int n = 0; n < 6; n++) {
            if (n != m) {
                w *= (f + 2 - n) / (m - n);
            }
        }
        weight[m] = w;
    }
    const double *line[6];
    for (int m = 0; m < 6; m++) {
        int at = first + m;
        line[m] = phi->v[s][at % GRID_PHASES] + (2 * GRID_REACH - at / GRID_PHASES);
    }
    for (int k = from; k < to; k++) {
        out[k] = (weight[0] * line[0][k] + weight[5] * line[5][k]) +
                 (weight[1] * line[1][k] + weight[4] * line[4][k]) +
                 (weight[2] * line[2][k] + weight[3] * line[3][k]);
    }
}

/* First cell whose theta is at least x, within 0 .. GRID_N. */
static int cell_from(double x)
{
    double k = ceil((x - GRID_LOW) / GRID_STEP);
    return k < 0 ? 0 : k > GRID_N ? GRID_N : (int)k;
}

/* Phi((c - theta) / s) - Phi((a - theta) / s) over theta: only the cells within 6.5 s of a bound
 * need reading (4e-11 is left outside). */
static void chance_line(double p[GRID_LINE], const struct grid_phi *phi, int s,
                        const struct grid_row *row)
{
    double reach = 6.5 * cb_learn_s[s], lower[GRID_LINE];
    int from = cell_from(row->c - reach), to = cell_from(row->c + reach);
    for (int k = 0; k < GRID_N; k++) {
        p[k] = k < from ? 1 : 0;
    }
    if (from < to) {
        phi_line(p, phi, s, row->c, from, to);
    }
    from = cell_from(row->a - reach);
    to = cell_from(row->a + reach);
    for (int k = 0; k < from; k++) {
        p[k] -= 1;
    }
    if (from < to) {
        phi_line(lower, phi, s, row->a, from, to);
        for (int k = from; k < to; k++) {
            p[k] -= lower[k];
        }
    }
    for (int k = 0; k < GRID_N; k++) {
        p[k] = p[k] > 0 ? p[k] : 0;
    }
}

double cb_learn_grid_floor(const struct grid_row *row, double mis_key)
{
    return mis_key > 0 ? mis_key * exp(cb_learn_log_phi_between(row->a, row->c)) : 0;
}

static double log_q_exact(const struct grid_row *row, const struct cb_learn_settings *settings,
                          double floor_q, double s, double theta)
{
    double log_p = cb_learn_log_phi_between((row->a - theta) / s, (row->c - theta) / s);
    if (!(floor_q > 0) && !row->weak) {
        return log_p;
    }
    double q = (1 - settings->mis_key) * exp(log_p) + floor_q;
    return log(row->weak ? settings->weak + (1 - settings->weak) * q : q);
}

double cb_learn_grid_q(const struct grid_row *row, const struct cb_learn_settings *settings,
                       double s, double theta)
{
    return exp(log_q_exact(row, settings, cb_learn_grid_floor(row, settings->mis_key), s, theta));
}

void cb_learn_grid_add(struct grid_table *table, const struct grid_phi *phi,
                       const struct grid_row *row, const struct cb_learn_settings *settings)
{
    double fade = settings->fade;
    double floor_q = cb_learn_grid_floor(row, settings->mis_key);
    double base = floor_q, scale = 1 - settings->mis_key;
    if (row->weak) {
        base = settings->weak + (1 - settings->weak) * floor_q;
        scale *= 1 - settings->weak;
    }
    /* Reading Phi from the table is good to 3e-11 of a chance: enough above a floor, not where
     * far tails decide. */
    bool quick = base > 1e-6;
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        double *line = table->v[s];
        if (!quick) {
            for (int k = 0; k < GRID_N; k++) {
                line[k] = fade * line[k] +
                          log_q_exact(row, settings, floor_q, cb_learn_s[s], grid_theta(k));
            }
            continue;
        }
        double p[GRID_LINE];
        chance_line(p, phi, s, row);
        double last_p = -1, last_log = 0;
        for (int k = 0; k < GRID_N; k++) {
            if (p[k] < last_p || p[k] > last_p) { /* far from the bounds it stands still */
                last_p = p[k];
                last_log = log(base + scale * last_p);
            }
            line[k] = fade * line[k] + last_log;
        }
    }
}

void cb_learn_grid_kernel(struct grid_kernel *kernel, double sd)
{
    kernel->sd = sd;
    for (int i = 0; i < 2 * GRID_LINE; i++) {
        double z = GRID_STEP * (i - GRID_LINE) / sd;
        kernel->k[i] = exp(-0.5 * z * z);
    }
    for (int b = 0; b < GRID_LINE; b++) {
        double sum = 0;
        for (int k = 0; k < GRID_N; k++) {
            sum += kernel->k[k - b + GRID_LINE];
        }
        kernel->inside[b] = sum;
    }
}

/* out[b] = sum over k of in[k] kernel[b - k]. */
static void spread(double *restrict out, const double *restrict in,
                   const struct grid_kernel *kernel)
{
    memset(out, 0, GRID_LINE * sizeof *out);
    for (int k = 0; k < GRID_N; k++) {
        double w = in[k];
        if (!(w > 0)) {
            continue;
        }
        const double *restrict law = kernel->k + (GRID_LINE - k);
        for (int b = 0; b < GRID_LINE; b++) {
            out[b] += w * law[b];
        }
    }
}

static double top(const double line[GRID_LINE])
{
    double most = line[0];
    for (int k = 1; k < GRID_N; k++) {
        most = line[k] > most ? line[k] : most;
    }
    return most;
}

static double log_or_least(double x)
{
    return log(x > 1e-300 ? x : 1e-300);
}

void cb_learn_grid_up(struct grid_table *out, const struct grid_table *table,
                      const struct grid_kernel *kernel)
{
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        double most = top(table->v[s]), law[GRID_LINE];
        for (int k = 0; k < GRID_N; k++) {
            law[k] = exp(table->v[s][k] - most);
        }
        spread(out->v[s], law, kernel);
        for (int b = 0; b < GRID_N; b++) {
            out->v[s][b] = log_or_least(out->v[s][b] / kernel->inside[b]) + most;
        }
    }
}

void cb_learn_grid_down(struct grid_table *out, const struct grid_table *table,
                        const struct grid_kernel *kernel)
{
    double most = -INFINITY;
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        most = fmax(most, top(table->v[s]));
    }
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        double law[GRID_LINE];
        for (int b = 0; b < GRID_N; b++) {
            law[b] = exp(table->v[s][b] - most) / kernel->inside[b];
        }
        spread(out->v[s], law, kernel);
        for (int k = 0; k < GRID_N; k++) {
            out->v[s][k] = log_or_least(out->v[s][k]);
        }
    }
}

void cb_learn_grid_normal(struct grid_table *table)
{
    double most = -INFINITY, sum = 0;
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        most = fmax(most, top(table->v[s]));
    }
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        for (int k = 0; k < GRID_N; k++) {
            table->v[s][k] = exp(table->v[s][k] - most);
            sum += table->v[s][k];
        }
    }
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        for (int k = 0; k < GRID_LINE; k++) {
            table->v[s][k] = k < GRID_N ? table->v[s][k] / sum : 0;
        }
    }
}

void cb_learn_grid_tail(double tail[GRID_TAIL_N], const struct grid_table *law,
                        const struct grid_phi *phi)
{
    /* P(T > x) = sum of law(theta) Phi((theta - x) / s); x at half cells, so a table look-up at
     * phases 0 and 4. Even and odd steps apart keep both loops straight. */
    enum { HALF = (GRID_TAIL_N + 1) / 2 };
    double even[HALF + 3] = {0}, odd[HALF + 3] = {0};
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        for (int k = 0; k < GRID_N; k++) {
            double w = law->v[s][k];
            if (w < 1e-18) {
                continue;
            }
            /* theta_k - x_j = GRID_STEP (k + 120 - j), x_j = -4.8 + GRID_STEP j */
            const double *at = phi->v[s][0] + (GRID_REACH - (k + 120));
            /* half a cell further: one cell less, four eighths more */
            const double *at_half = phi->v[s][4] + (GRID_REACH - (k + 119));
            for (int j = 0; j < HALF; j++) {
                even[j] += w * at[j];
                odd[j] += w * at_half[j];
            }
        }
    }
    for (int i = 0; i < GRID_TAIL_N; i++) {
        tail[i] = log_or_least(i % 2 == 0 ? even[i / 2] : odd[i / 2]);
    }
}

double cb_learn_grid_tail_at(const struct grid_table *law, double x)
{
    double most = -INFINITY, sum = 0;
    for (int pass = 0; pass < 2; pass++) {
        for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
            for (int k = 0; k < GRID_N; k++) {
                if (!(law->v[s][k] > 0)) {
                    continue;
                }
                double one = log(law->v[s][k]) +
                             cb_learn_log_phi_between((x - grid_theta(k)) / cb_learn_s[s], INFINITY);
                if (pass == 0) {
                    most = fmax(most, one);
                } else {
                    sum += exp(one - most);
                }
            }
        }
    }
    return most + log(sum);
}

double cb_learn_grid_tail_read(const double tail[GRID_TAIL_N], double x)
{
    double place = (x - GRID_TAIL_LOW) / GRID_TAIL_STEP;
    int first = (int)floor(place) - 2;
    first = first < 0 ? 0 : first > GRID_TAIL_N - 6 ? GRID_TAIL_N - 6 : first;
    double f = place - first, sum = 0;
    for (int m = 0; m < 6; m++) {
        double w = 1;
        for (int n = 0; n < 6; n++) {
            if (n != m) {
                w *= (f - n) / (m - n);
            }
        }
        sum += w * tail[first + m];
    }
    return sum;
}
