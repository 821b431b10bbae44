/* SPDX-License-Identifier: MIT */
#include "core/learn/learn_grid.h"

#include <math.h>
#include <string.h>

const double cb_learn_grid_s[GRID_S] = {.10, .14, .18, .22, .28, .36, .48};

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

/* Phi(y / s) at steps of a eighth of a cell, one line per phase, so that a whole table row is read
 * in order whatever the bound's place between the cells. */
#define GRID_PHASES 8
#define GRID_REACH  450 /* cells on each side of 0: y from -9 to 9 */
struct grid_phi {
    double v[GRID_S][GRID_PHASES][2 * GRID_REACH + 1];
};
/* Made of constants alone, once: nothing can make it stale. */
static const struct grid_phi *phi_table(void)
{
    static struct grid_phi phi;
    static bool made;
    for (int s = 0; !made && s < GRID_S; s++) {
        for (int p = 0; p < GRID_PHASES; p++) {
            for (int j = 0; j <= 2 * GRID_REACH; j++) {
                double y = GRID_STEP * (j - GRID_REACH + p / (double)GRID_PHASES);
                /* stored backwards, since theta is subtracted */
                phi.v[s][p][2 * GRID_REACH - j] = phi_of(y / cb_learn_grid_s[s]);
            }
        }
    }
    made = true;
    return &phi;
}

/* Weights of Lagrange's points 0 to 5 at x: of each the product of (x - n) / (m - n), by n. Written
 * out, since it stands innermost. */
static void lagrange(double x, double weight[6])
{
    const double a = x, b = x - 1, c = x - 2, d = x - 3, e = x - 4, f = x - 5;
    weight[0] = b / -1 * (c / -2) * (d / -3) * (e / -4) * (f / -5);
    weight[1] = a * (c / -1) * (d / -2) * (e / -3) * (f / -4);
    weight[2] = a / 2 * b * (d / -1) * (e / -2) * (f / -3);
    weight[3] = a / 3 * (b / 2) * c * (e / -1) * (f / -2);
    weight[4] = a / 4 * (b / 3) * (c / 2) * d * (f / -1);
    weight[5] = a / 5 * (b / 4) * (c / 3) * (d / 2) * e;
}

/* Where a bound lies among the eighths of the table, and what their points weigh: the same for
 * every s and theta. */
struct place {
    int first;
    double weight[6];
};

static struct place place_of(double bound)
{
    double eighths = (bound - GRID_LOW) / GRID_STEP * GRID_PHASES;
    double whole = floor(eighths);
    double f = eighths - whole;
    struct place place = {.first = (int)whole - 2 + GRID_REACH * GRID_PHASES};
    lagrange(f + 2, place.weight);
    return place;
}

/* Whatever runs over cells takes four at a time, which a compiler takes in pairs. */
static inline void four_phi(double *restrict out, const double *restrict a,
                            const double *restrict b, const double *restrict c,
                            const double *restrict d, const double *restrict e,
                            const double *restrict f, const double *restrict w)
{
    for (int i = 0; i < 4; i++) {
        out[i] =
            (w[0] * a[i] + w[5] * f[i]) + (w[1] * b[i] + w[4] * e[i]) + (w[2] * c[i] + w[3] * d[i]);
    }
}

static inline void four_q(double *restrict out, const double *restrict upper,
                          const double *restrict lower, double eta, double base, double scale)
{
    for (int i = 0; i < 4; i++) {
        const double p = eta + (1 - eta) * upper[i] - lower[i];
        out[i] = base + scale * (p > 0 ? p : 0);
    }
}

/* Phi((bound - theta) / s), cells from .. to - 1 of one s and some beside. Off by at most 3e-11. */
static void phi_line(double *out, const struct grid_phi *phi, int s, const struct place *place,
                     int from, int to)
{
    const double *line[6];
    for (int m = 0; m < 6; m++) {
        int at = place->first + m;
        line[m] = phi->v[s][at % GRID_PHASES] + (2 * GRID_REACH - at / GRID_PHASES);
    }
    for (int k = from / 4 * 4; k < to; k += 4) {
        four_phi(out + k, line[0] + k, line[1] + k, line[2] + k, line[3] + k, line[4] + k,
                 line[5] + k, place->weight);
    }
}

/* First cell whose theta is at least x, within 0 .. GRID_N. */
static int cell_from(double x)
{
    double k = ceil((x - GRID_LOW) / GRID_STEP);
    return k < 0 ? 0 : k > GRID_N ? GRID_N : (int)k;
}

/* The cells within 6.5 s of a bound: beyond them Phi is 1 or 0 (4e-11 is left outside). */
struct cells {
    int from, to;
};

static struct cells near(double bound, double s)
{
    double reach = 6.5 * s;
    return (struct cells){cell_from(bound - reach), cell_from(bound + reach)};
}

static bool is_empty(struct cells cells)
{
    return cells.from >= cells.to;
}

static void fill(double *line, double value, int from, int to)
{
    for (int k = from; k < to; k++) {
        line[k] = value;
    }
}

/* Phi over cells of one s: what lies beside the bound's own is 1 or 0. */
static void whole_line(double line[GRID_LINE], const struct grid_phi *phi, int s,
                       const struct place *place, struct cells own, struct cells cells)
{
    if (!is_empty(own)) {
        phi_line(line, phi, s, place, own.from, own.to);
    }
    fill(line, 1, cells.from, own.from < cells.to ? own.from : cells.to);
    fill(line, 0, own.to > cells.from ? own.to : cells.from, cells.to);
}

double cb_learn_grid_floor(const struct grid_row *row, double mis_key)
{
    return mis_key > 0 ? mis_key * exp(cb_learn_log_phi_between(row->a, row->c)) : 0;
}

/* The floor of what silence leaves open: dry by c, or wet still and not spoken of. */
static double floor_of(const struct grid_row *row, double mis_key)
{
    const struct grid_row open = {.a = row->a, .c = INFINITY};
    const double said = (1 - row->eta) * cb_learn_grid_floor(row, mis_key);
    return row->eta > 0 ? said + row->eta * cb_learn_grid_floor(&open, mis_key) : said;
}

static double log_q_exact(const struct grid_row *row, const struct cb_learn_settings *settings,
                          double floor_q, double s, double theta)
{
    const double a = (row->a - theta) / s;
    const double log_p = cb_learn_log_phi_between(a, (row->c - theta) / s);
    if (!(floor_q > 0) && !(row->eta > 0)) {
        return log_p;
    }
    double p = (1 - row->eta) * exp(log_p);
    if (row->eta > 0) {
        p += row->eta * exp(cb_learn_log_phi_between(a, INFINITY));
    }
    return log((1 - settings->mis_key) * p + floor_q);
}

double cb_learn_grid_q(const struct grid_row *row, const struct cb_learn_settings *settings,
                       double s, double theta)
{
    return exp(log_q_exact(row, settings, floor_of(row, settings->mis_key), s, theta));
}

static inline void four_fade(double *restrict line, double fade, double log_q)
{
    for (int i = 0; i < 4; i++) {
        line[i] = fade * line[i] + log_q;
    }
}

/* Where log q stands still. */
static void add_constant(double *line, double fade, double log_q, int from, int to)
{
    int k = from;
    for (; k + 4 <= to; k += 4) {
        four_fade(line + k, fade, log_q);
    }
    for (; k < to; k++) {
        line[k] = fade * line[k] + log_q;
    }
}

/* What adding takes of a row, whatever s: q = floor_q + scale (u - Phi((a - theta) / s)), where u
 * is eta + (1 - eta) Phi((c - theta) / s). */
struct adding {
    double fade, floor_q, eta, scale;
    struct place at_a, at_c;
};

/* log q where both chances stand still, at 0 or 1. */
static double standing(const struct adding *adding, bool upper, bool lower)
{
    const double p = (upper ? 1 : adding->eta) - (lower ? 1 : 0);
    return log(adding->floor_q + adding->scale * (p > 0 ? p : 0));
}

/* Cells in which the chance moves; near a bound that lies beyond the grid there are none. */
static void add_moving(double line[GRID_LINE], const struct grid_phi *phi, int s,
                       const struct adding *adding, struct cells near_a, struct cells near_c,
                       struct cells moving)
{
    double upper[GRID_LINE], lower[GRID_LINE], q[GRID_LINE];
    const struct cells fours = {moving.from / 4 * 4, (moving.to + 3) / 4 * 4};
    whole_line(upper, phi, s, &adding->at_c, near_c, fours);
    whole_line(lower, phi, s, &adding->at_a, near_a, fours);
    for (int k = fours.from; k < fours.to; k += 4) {
        four_q(q + k, upper + k, lower + k, adding->eta, adding->floor_q, adding->scale);
    }
    for (int k = moving.from; k < moving.to; k++) {
        q[k] = log(q[k]);
    }
    for (int k = moving.from; k < moving.to; k++) {
        line[k] = adding->fade * line[k] + q[k];
    }
}

static void add_line(double line[GRID_LINE], const struct grid_phi *phi, int s,
                     const struct grid_row *row, const struct adding *adding)
{
    const struct cells near_a = near(row->a, cb_learn_grid_s[s]),
                       near_c = near(row->c, cb_learn_grid_s[s]);
    struct cells moving[2] = {near_a, near_c};
    if (is_empty(near_a) || is_empty(near_c) || near_a.to >= near_c.from) {
        moving[0] = is_empty(near_a) ? near_c : near_a;
        moving[0].to = is_empty(near_c) ? near_a.to : near_c.to;
        moving[1] = (struct cells){GRID_N, GRID_N};
    }
    int at = 0;
    for (int i = 0; i < 2; i++) {
        if (is_empty(moving[i])) {
            continue;
        }
        add_constant(line, adding->fade, standing(adding, at < near_c.from, at < near_a.from), at,
                     moving[i].from);
        add_moving(line, phi, s, adding, near_a, near_c, moving[i]);
        at = moving[i].to;
    }
    add_constant(line, adding->fade, standing(adding, at < near_c.from, at < near_a.from), at,
                 GRID_N);
}

/* The same where far tails decide. */
static void add_exact_line(double line[GRID_LINE], int s, const struct grid_row *row,
                           const struct adding *adding, const struct cb_learn_settings *settings)
{
    const double floor_q = adding->floor_q;
    const double log_floor = floor_q > 0 && !(row->eta > 0) ? log(floor_q) : -(double)INFINITY;
    for (int k = 0; k < GRID_N; k++) {
        const double theta = grid_theta(k);
        const double off = row->a > theta ? row->a - theta : row->c < theta ? theta - row->c : 0;
        const double z = off / cb_learn_grid_s[s];
        /* The chance is under exp(-z z / 2): where that is under e^-40 of the floor, it is lost in
         * rounding when it is added. */
        const double log_q = -0.5 * z * z < log_floor - 40
                                 ? log_floor
                                 : log_q_exact(row, settings, floor_q, cb_learn_grid_s[s], theta);
        line[k] = adding->fade * line[k] + log_q;
    }
}

void cb_learn_grid_add(struct grid_table *table, const struct grid_row *row,
                       const struct cb_learn_settings *settings)
{
    const double widest = cb_learn_grid_s[GRID_S - 1];
    struct adding adding = {.fade = settings->fade,
                            .floor_q = floor_of(row, settings->mis_key),
                            .eta = row->eta,
                            .scale = 1 - settings->mis_key};
    if (!is_empty(near(row->a, widest))) {
        adding.at_a = place_of(row->a);
    }
    if (!is_empty(near(row->c, widest))) {
        adding.at_c = place_of(row->c);
    }
    /* Reading Phi from the table is good to 3e-11 of a chance: enough above a floor, not where
     * far tails decide. */
    const bool quick = adding.floor_q + (isinf(row->a) ? adding.eta : 0) > 1e-6;
    const struct grid_phi *phi = phi_table();
    for (int s = 0; s < GRID_S; s++) {
        if (quick) {
            add_line(table->v[s], phi, s, row, &adding);
        } else {
            add_exact_line(table->v[s], s, row, &adding, settings);
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

/* out[b] = sum over k of in[k] kernel[b - k], k by k; four of them at a time spare the way to
 * memory and back. */
static void spread(double *restrict out, const double in[GRID_LINE],
                   const struct grid_kernel *kernel)
{
    memset(out, 0, GRID_LINE * sizeof *out);
    for (int k = 0; k < GRID_N; k += 4) {
        double w[4];
        for (int i = 0; i < 4; i++) {
            w[i] = k + i < GRID_N && in[k + i] > 0 ? in[k + i] : 0;
        }
        if (!(w[0] > 0 || w[1] > 0 || w[2] > 0 || w[3] > 0)) {
            continue;
        }
        const double *restrict law = kernel->k + (GRID_LINE - k);
        for (int b = 0; b < GRID_LINE; b++) {
            out[b] = (((out[b] + w[0] * law[b]) + w[1] * law[b - 1]) + w[2] * law[b - 2]) +
                     w[3] * law[b - 3];
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
    for (int s = 0; s < GRID_S; s++) {
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
    for (int s = 0; s < GRID_S; s++) {
        most = fmax(most, top(table->v[s]));
    }
    for (int s = 0; s < GRID_S; s++) {
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

void cb_learn_grid_sum(struct grid_table *sum, const struct grid_table *more, double sign)
{
    for (int s = 0; s < GRID_S; s++) {
        for (int k = 0; k < GRID_LINE; k++) {
            sum->v[s][k] += sign * more->v[s][k];
        }
    }
}

void cb_learn_grid_normal(struct grid_table *table)
{
    double most = -INFINITY, sum = 0;
    for (int s = 0; s < GRID_S; s++) {
        most = fmax(most, top(table->v[s]));
    }
    for (int s = 0; s < GRID_S; s++) {
        for (int k = 0; k < GRID_N; k++) {
            table->v[s][k] = exp(table->v[s][k] - most);
            sum += table->v[s][k];
        }
    }
    for (int s = 0; s < GRID_S; s++) {
        for (int k = 0; k < GRID_LINE; k++) {
            table->v[s][k] = k < GRID_N ? table->v[s][k] / sum : 0;
        }
    }
}

/* Two cells side by side, which stay in a register: sums that went to memory and back at every step
 * would wait for it. */
typedef double pair __attribute__((vector_size(16)));

static inline pair pair_at(const double *cells)
{
    pair both;
    memcpy(&both, cells, sizeof both);
    return both;
}

struct eight {
    pair a, b, c, d;
};

static inline void add_eight(struct eight *sum, pair w, const double *cells)
{
    sum->a += w * pair_at(cells);
    sum->b += w * pair_at(cells + 2);
    sum->c += w * pair_at(cells + 4);
    sum->d += w * pair_at(cells + 6);
}

/* P(T > x) = sum of law(theta) Phi((theta - x) / s); x at half cells, so a table look-up at phases
 * 0 and 4. Even and odd steps apart keep both straight. */
static void tail_part(struct grid_tail *tail, int part, const struct grid_table *law)
{
    enum { HALF = GRID_TAIL_PART / 2 };
    const struct grid_phi *phi = phi_table();
    struct eight evens = {0}, odds = {0};
    for (int s = 0; s < GRID_S; s++) {
        /* theta_k - x_j = GRID_STEP (k + 120 - j), x_j = -4.8 + GRID_STEP j */
        const double *at = phi->v[s][0] + (GRID_REACH - 120 + part * HALF);
        /* half a cell further: one cell less, four eighths more */
        const double *at_half = phi->v[s][4] + (GRID_REACH - 119 + part * HALF);
        for (int k = 0; k < GRID_N; k++) {
            const double w = law->v[s][k];
            if (w < 1e-18) {
                continue;
            }
            add_eight(&evens, (pair){w, w}, at - k);
            add_eight(&odds, (pair){w, w}, at_half - k);
        }
    }
    double even[HALF], odd[HALF];
    memcpy(even, &evens, sizeof even);
    memcpy(odd, &odds, sizeof odd);
    for (int i = 0; i < GRID_TAIL_PART; i++) {
        tail->v[part * GRID_TAIL_PART + i] = log_or_least(i % 2 == 0 ? even[i / 2] : odd[i / 2]);
    }
    tail->known[part] = true;
}
_Static_assert(sizeof(struct eight) * 2 == GRID_TAIL_PART * sizeof(double), "a part is two eights");

double cb_learn_grid_tail_at(const struct grid_table *law, double x)
{
    double most = -INFINITY, sum = 0;
    for (int pass = 0; pass < 2; pass++) {
        for (int s = 0; s < GRID_S; s++) {
            for (int k = 0; k < GRID_N; k++) {
                if (!(law->v[s][k] > 0)) {
                    continue;
                }
                double one =
                    log(law->v[s][k]) +
                    cb_learn_log_phi_between((x - grid_theta(k)) / cb_learn_grid_s[s], INFINITY);
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

double cb_learn_grid_tail_read(struct grid_tail *tail, const struct grid_table *law, double x)
{
    double place = (x - GRID_TAIL_LOW) / GRID_TAIL_STEP;
    int first = (int)floor(place) - 2;
    first = first < 0 ? 0 : first > GRID_TAIL_N - 6 ? GRID_TAIL_N - 6 : first;
    for (int part = first / GRID_TAIL_PART; part <= (first + 5) / GRID_TAIL_PART; part++) {
        if (!tail->known[part]) {
            tail_part(tail, part, law);
        }
    }
    double weight[6], sum = 0;
    lagrange(place - first, weight);
    for (int m = 0; m < 6; m++) {
        sum += weight[m] * tail->v[first + m];
    }
    return sum;
}
