/* SPDX-License-Identifier: MIT */
/* What a pot's own coats say, in few numbers that another bench can take. */
#include <math.h>

#include "core/learn/learn_internal.h"

#define NARROW    .01 /* half a cell of the grid: all the same to it */
#define WIDE      2.4 /* the grid's own reach: says nothing */
#define STEP      .1
#define MEAN_TRYS 8
#define SD_TRYS   10
#define FORESEEN  .99

struct moments {
    double mean, sd;
};

/* Of theta, where the table is all that is known. */
static struct moments alone(const struct cb_learn *learn, const struct grid_table *table,
                            double pot_sd)
{
    const double bench_sd = learn->settings.bench_sd;
    const double variance = bench_sd * bench_sd + pot_sd * pot_sd;
    struct grid_table law = *table;
    double sum = 0, squares = 0;
    for (int s = 0; s < GRID_S; s++) {
        for (int k = 0; k < GRID_N; k++) {
            const double theta = grid_theta(k);
            law.v[s][k] += log(cb_learn_s_prior(s)) - theta * theta / (2 * variance);
        }
    }
    cb_learn_grid_normal(&law);
    for (int s = 0; s < GRID_S; s++) {
        for (int k = 0; k < GRID_N; k++) {
            sum += law.v[s][k] * grid_theta(k);
            squares += law.v[s][k] * grid_theta(k) * grid_theta(k);
        }
    }
    return (struct moments){sum, sqrt(fmax(squares - sum * sum, 0))};
}

/* So many coats alike, with that middle and half width: each fades what stands before it. */
static struct moments of_alike(const struct cb_learn *learn, size_t coats, double middle,
                               double half, double pot_sd)
{
    const double fade = learn->settings.fade;
    const double weight = fade < 1 ? (1 - pow(fade, (double)coats)) / (1 - fade) : (double)coats;
    const struct grid_row row = {middle - half, middle + half, 0};
    struct grid_table table = {0};
    cb_learn_grid_add(&table, &row, &learn->settings);
    for (int s = 0; s < GRID_S; s++) {
        for (int k = 0; k < GRID_N; k++) {
            table.v[s][k] *= weight;
        }
    }
    return alone(learn, &table, pot_sd);
}

/* The middle at which they leave the wanted mean, nearest to none; *left: what they leave. The mean
 * lies between none and the middle. Far out it turns back, since such a coat may be a wrong key: no
 * further is gone. */
static double middle_of(const struct cb_learn *learn, size_t coats, double half,
                        const struct moments *wanted, double pot_sd, struct moments *left)
{
    const double way = wanted->mean < 0 ? -1 : 1, goal = way * wanted->mean;
    double low = goal, high = goal;
    double reached = -INFINITY;
    for (bool on = true; on && high < WIDE;) {
        *left = of_alike(learn, coats, way * high, half, pot_sd);
        on = way * left->mean < goal && way * left->mean > reached;
        reached = way * left->mean;
        low = on ? high : low;
        high += on ? STEP : 0;
    }
    if (reached < goal) { /* turned back before it was there */
        *left = of_alike(learn, coats, way * low, half, pot_sd);
        return way * low;
    }
    for (int i = 0; i < MEAN_TRYS; i++) {
        const double middle = (low + high) / 2;
        *left = of_alike(learn, coats, way * middle, half, pot_sd);
        *(way * left->mean < goal ? &low : &high) = middle;
    }
    return way * (low + high) / 2;
}

/* Of an interval as a share of the median; eta: what an open end above it is worth. */
static bool is_lesson(const struct cb_learn *learn, double pot_sd, double low, double high,
                      double eta)
{
    const double dry_by_high = cb_learn_prior_cdf(learn, pot_sd, 1, high);
    const double dry_by_low = cb_learn_prior_cdf(learn, pot_sd, 1, low);
    return dry_by_high - dry_by_low + eta * (1 - dry_by_high) < FORESEEN;
}

bool cb_learn_is_lesson(const struct cb_learn *learn, const struct cb_row *row)
{
    return cb_learn_row_teaches(row) &&
           is_lesson(learn, row->pot_sd, row->lo / row->median_min, row->hi / row->median_min, 0);
}

bool cb_learn_told(const struct cb_learn *learn, const char *key, struct cb_learn_told *told)
{
    const struct learn_pot *pot = cb_learn_pot_find(learn, key);
    *told = (struct cb_learn_told){0};
    for (size_t i = 0; pot != NULL && i < pot->ops.count; i++) {
        const struct learn_op *op = &pot->ops.items[i];
        told->coats +=
            op->kind != CB_ROW_BOTTLE && is_lesson(learn, op->sd, exp(op->a), exp(op->c), op->eta);
    }
    if (pot == NULL || told->coats == 0) {
        return false;
    }
    struct grid_table own;
    struct moments left;
    cb_learn_pot_own(learn, pot, &own);
    const struct moments wanted = alone(learn, &own, pot->sd);
    double low = NARROW, high = WIDE, half = NARROW;
    double middle = middle_of(learn, told->coats, half, &wanted, pot->sd, &left);
    for (int i = 0; i < SD_TRYS && (i > 0 || left.sd < wanted.sd); i++) {
        half = (low + high) / 2;
        middle = middle_of(learn, told->coats, half, &wanted, pot->sd, &left);
        *(left.sd < wanted.sd ? &low : &high) = half;
    }
    told->ratio = exp(wanted.mean);
    told->low = exp(middle - half);
    told->high = exp(middle + half);
    return true;
}
