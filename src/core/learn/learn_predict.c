/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "core/learn/learn_internal.h"

/* A film still wet after e^3.6, 37, of its medians is no film of this law: nothing is worked out
 * from so far out, it is looked at again after a tenth of its age (own judgement). */
#define STRAY       3.6
#define STRAY_AGAIN 1.1

#define SURE (-50) /* e^-50 is far below what a double has beside 1 */

#define BUCKET  16
#define BUCKETS 32

struct answer {
    double tail, low, x;
    bool known;
};

/* What is asked of a pot, kept until the next change. */
struct learn_view {
    double pot_sd; /* views without a pot: which */
    struct grid_table law;
    struct grid_tail tail;
    /* quantiles found, for a film asks for the same ones every second; NULL: none so far */
    struct answer *answers[BUCKETS];
    double sure_x; /* from there on a film is dry beyond doubt: a bench has years of those */
    bool measured;
    double mean, sd; /* of theta */
    bool known;
    size_t rows;
};

void cb_learn_view_free(struct learn_view *view)
{
    for (size_t i = 0; i < BUCKETS; i++) {
        free(view->answers[i]);
    }
    free(view);
}

static struct learn_view *view_of(const struct cb_learn *learn, const char *key, double pot_sd)
{
    const struct learn_pot *pot = cb_learn_pot_find(learn, key);
    bool known = pot != NULL && pot->known;
    double sd = known ? pot->sd : pot_sd;
    if (!known) {
        pot = learn->nobody;
    }
    for (size_t i = 0; i < *pot->view_count; i++) {
        if (learn_same(pot->views[i]->pot_sd, sd)) {
            return pot->views[i];
        }
    }
    if (*pot->view_count == LEARN_VIEWS_MAX) {
        cb_learn_pot_drop_views(pot);
    }
    struct learn_view *view = cb_mem_new(1, sizeof *view);
    view->pot_sd = sd;
    view->sure_x = INFINITY;
    /* the bench without this pot, then down to the pot, then what the pot itself says */
    struct grid_table bench = learn->total;
    if (known && pot->counts) {
        cb_learn_grid_sum(&bench, &pot->up, -1);
    }
    cb_learn_grid_down(&view->law, &bench, cb_learn_kernel(learn, sd));
    if (known) {
        cb_learn_grid_sum(&view->law, &pot->table, 1);
    }
    cb_learn_grid_normal(&view->law);
    pot->views[(*pot->view_count)++] = view;
    return view;
}

/* log P(log ratio > x). */
static double tail_at(struct learn_view *view, double x)
{
    if (x < GRID_TAIL_LOW + .05) {
        return 0;
    }
    if (x > -GRID_TAIL_LOW - .05) {
        return cb_learn_grid_tail_at(&view->law, x);
    }
    return cb_learn_grid_tail_read(&view->tail, &view->law, x);
}

/* From where on it is beyond doubt, to a quarter, below a place where it is. */
static double sure_from(struct learn_view *view, double high)
{
    double low = 0;
    while (high - low > .25) {
        const double middle = (low + high) / 2;
        *(tail_at(view, middle) < SURE ? &high : &low) = middle;
    }
    return high;
}

double cb_learn_cdf(const struct cb_learn *learn, const char *pot, double pot_sd, double median_min,
                    double t_min)
{
    if (!(median_min > 0)) {
        return t_min >= 0 ? 1 : 0;
    }
    if (!(t_min > 0)) {
        return 0;
    }
    if (isinf(t_min)) {
        return 1;
    }
    const double x = log(t_min / median_min) - learn->shift;
    struct learn_view *view = view_of(learn, pot, pot_sd);
    if (x >= view->sure_x) {
        return 1;
    }
    const double tail = tail_at(view, x);
    const double below = -expm1(tail);
    view->sure_x = tail < SURE ? sure_from(view, x) : view->sure_x;
    return below > 0 ? below : 0;
}

/* Where the tail of the view, from low on, falls to goal. */
static double solve(struct learn_view *view, double low, double goal)
{
    double high = fmax(low, -3) + 1, at_high = tail_at(view, high) - goal;
    while (high < 60 && at_high > 0) {
        high += 1;
        at_high = tail_at(view, high) - goal;
    }
    /* Where the law is smooth regula falsi is there in a few steps; halving keeps it honest. */
    double at_low = tail_at(view, low) - goal;
    for (int i = 0; i < 200 && high - low > 1e-12; i++) {
        double x = 0.5 * (low + high);
        if (i % 3 != 2 && at_low > at_high) {
            x = low + (high - low) * at_low / (at_low - at_high);
        }
        double at = tail_at(view, x) - goal;
        if (at > 0) {
            low = x;
            at_low = at;
        } else {
            high = x;
            at_high = at;
        }
    }
    return high;
}

/* Where a question is remembered: a film asks the same one every second, and a unit has more wet
 * films than a short list would keep. */
static size_t answer_place(double tail, double low)
{
    uint64_t bits[2];
    memcpy(&bits[0], &tail, sizeof bits[0]);
    memcpy(&bits[1], &low, sizeof bits[1]);
    /* Multiplicative hashing, Knuth, The Art of Computer Programming, vol. 3, 6.4. */
    return (size_t)(((bits[0] ^ (bits[1] << 1)) * UINT64_C(11400714819323198485)) >> 32) % BUCKETS;
}

double cb_learn_quantile(const struct cb_learn *learn, const char *pot, double pot_sd,
                         double median_min, double p, double wet_min)
{
    if (!(median_min > 0)) {
        return 0;
    }
    struct learn_view *view = view_of(learn, pot, pot_sd);
    p = p < 1e-9 ? 1e-9 : p > 1 - 1e-9 ? 1 - 1e-9 : p;
    const double tail = log1p(-p);
    double low = GRID_TAIL_LOW;
    if (wet_min > 0) {
        low = log(wet_min / median_min) - learn->shift;
        if (low > STRAY) {
            return wet_min * STRAY_AGAIN;
        }
    }
    struct answer **place = &view->answers[answer_place(tail, low)];
    *place = *place == NULL ? cb_mem_new(BUCKET, sizeof **place) : *place;
    struct answer *bucket = *place;
    struct answer *answer = NULL;
    for (size_t i = 0; i < BUCKET && answer == NULL && bucket[i].known; i++) {
        if (learn_same(bucket[i].tail, tail) && learn_same(bucket[i].low, low)) {
            answer = &bucket[i];
        }
    }
    if (answer == NULL) {
        const double goal = wet_min > 0 ? tail + tail_at(view, low) : tail;
        const struct answer found = {tail, low, solve(view, low, goal), true};
        memmove(bucket + 1, bucket, (BUCKET - 1) * sizeof *bucket); /* the oldest falls out */
        answer = bucket;
        *answer = found;
    }
    return median_min * exp(answer->x + learn->shift);
}

static void moments(const double line[GRID_N], double *mean, double *sd)
{
    double weight = 0, sum = 0, squares = 0;
    for (int k = 0; k < GRID_N; k++) {
        weight += line[k];
        sum += line[k] * grid_theta(k);
    }
    *mean = sum / weight;
    for (int k = 0; k < GRID_N; k++) {
        double off = grid_theta(k) - *mean;
        squares += line[k] * off * off;
    }
    *sd = sqrt(squares / weight);
}

static void over_s(double line[GRID_N], const struct grid_table *law)
{
    for (int k = 0; k < GRID_N; k++) {
        line[k] = 0;
        for (int s = 0; s < GRID_S; s++) {
            line[k] += law->v[s][k];
        }
    }
}

struct cb_learn_pot cb_learn_pot(const struct cb_learn *learn, const char *pot, double pot_sd)
{
    struct cb_learn_pot out = {0};
    struct learn_view *view = view_of(learn, pot, pot_sd);
    if (!view->measured) {
        double line[GRID_N];
        over_s(line, &view->law);
        moments(line, &view->mean, &view->sd);
        const struct learn_pot *found = cb_learn_pot_find(learn, pot);
        view->known = found != NULL && found->known;
        view->rows = view->known ? (size_t)found->begun.coats : 0;
        for (size_t i = 0; view->known && i < found->ops.count; i++) {
            const struct learn_op *op = &found->ops.items[i];
            view->rows += op->kind != CB_ROW_BOTTLE && isfinite(op->c);
        }
        view->measured = true;
    }
    out.mean = view->mean;
    out.sd = view->sd;
    out.known = view->known;
    out.rows = view->rows;
    return out;
}

void cb_learn_bench(const struct cb_learn *learn, double *b_mean, double *b_sd)
{
    struct grid_table law = learn->total;
    double line[GRID_N];
    cb_learn_grid_normal(&law);
    over_s(line, &law);
    moments(line, b_mean, b_sd);
}

double cb_learn_mis_key(const struct cb_learn *learn, const struct cb_row *row)
{
    if ((row->kind != CB_ROW_FILM && row->kind != CB_ROW_WEAK) || !cb_learn_row_teaches(row)) {
        return 0;
    }
    const struct cb_learn_settings *settings = &learn->settings;
    const struct learn_view *view = view_of(learn, row->pot, row->pot_sd);
    if (row->kind == CB_ROW_WEAK) {
        return 0; /* no key said it */
    }
    struct grid_row seen = cb_learn_row_of(row);
    double floor_q = cb_learn_grid_floor(&seen, settings->mis_key), sum = 0;
    for (int s = 0; s < GRID_S; s++) {
        for (int k = 0; k < GRID_N; k++) {
            if (view->law.v[s][k] > 1e-12) {
                double q = cb_learn_grid_q(&seen, settings, cb_learn_grid_s[s], grid_theta(k));
                sum += view->law.v[s][k] * fmin(1, floor_q / q);
            }
        }
    }
    return sum;
}

double cb_learn_prior_cdf(const struct cb_learn *learn, double pot_sd, double median_min,
                          double t_min)
{
    if (!(median_min > 0) || !(t_min > 0)) {
        return median_min > 0 || t_min < 0 ? 0 : 1;
    }
    double bench_sd = learn->settings.bench_sd, sum = 0, weight = 0, x = log(t_min / median_min);
    for (int s = 0; s < GRID_S; s++) {
        double sd =
            sqrt(bench_sd * bench_sd + pot_sd * pot_sd + cb_learn_grid_s[s] * cb_learn_grid_s[s]);
        sum += cb_learn_s_prior(s) * exp(cb_learn_log_phi_between(-INFINITY, x / sd));
        weight += cb_learn_s_prior(s);
    }
    return sum / weight;
}
