/* SPDX-License-Identifier: MIT */
#include "core/learn/learn.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "core/learn/learn_internal.h"

const struct cb_learn_settings cb_learn_default = {
    .fade = .95,
    .mis_key = .03,
    .weak = .5,
    .bench_sd = .35,
    .nested = false,
    .nested_sd = .15,
};

#define ANSWER_SD  .30 /* of the first-opening question: estimate */
#define CHECKPOINT 32

/* A film still wet after e^3.6, 37, of its medians is no film of this law: nothing is worked out
 * from so far out, it is looked at again after a tenth of its age (own judgement). */
#define STRAY       3.6
#define STRAY_AGAIN 1.1

#define BUCKET      16
#define ANSWERS_MAX (32 * BUCKET)

/* What is asked of a pot, kept until the next change. */
struct learn_view {
    double pot_sd; /* views without a pot: which */
    int technique;
    struct grid_table law;
    struct grid_tail tail;
    struct answer { /* quantiles found: a film asks for the same ones every second */
        double tail, low, x;
        bool known;
    } answers[ANSWERS_MAX];
    bool measured;
    double mean, sd; /* of theta */
    bool known;
    size_t rows;
};

static void pot_drop_views(const struct learn_pot *pot)
{
    for (size_t i = 0; i < *pot->view_count; i++) {
        free(pot->views[i]);
    }
    *pot->view_count = 0;
}

#define VIEWS_MAX 16

static struct learn_pot *pot_new(const char *key)
{
    struct learn_pot *pot = cb_mem_new(1, sizeof *pot);
    pot->key = cb_mem_copy_text(key);
    pot->views = cb_mem_new(VIEWS_MAX, sizeof *pot->views);
    pot->view_count = cb_mem_new(1, sizeof *pot->view_count);
    return pot;
}

static void pot_free(struct learn_pot *pot)
{
    if (pot == NULL) {
        return;
    }
    pot_drop_views(pot);
    for (size_t i = 0; i < pot->leaves.count; i++) {
        struct learn_leaf *leaf = pot->leaves.items[i];
        cb_vec_free(&leaf->ops);
        free(leaf->up);
        free(leaf->checkpoints[0].table);
        free(leaf->checkpoints[1].table);
        free(leaf);
    }
    cb_vec_free(&pot->leaves);
    free(pot->views);
    free(pot->view_count);
    free(pot->key);
    free(pot);
}

static const struct grid_kernel *kernel_of(const struct cb_learn *learn, double sd)
{
    if (!(sd > 0.01)) { /* narrower than half a cell is no spread at all on the grid */
        sd = 0.01;
    }
    for (size_t i = 0; i < learn->kernels->count; i++) {
        double have = learn->kernels->items[i]->sd;
        if (have <= sd && have >= sd) {
            return learn->kernels->items[i];
        }
    }
    struct grid_kernel *kernel = cb_mem_new(1, sizeof *kernel);
    cb_learn_grid_kernel(kernel, sd);
    cb_vec_push(learn->kernels, kernel);
    return kernel;
}

/* Log-normal around .22 with log sd .35, times half the distance between neighbours in log s
 * (the whole distance at the ends). */
static double s_prior(int s)
{
    int below = s > 0 ? s - 1 : s, above = s < CB_LEARN_S_COUNT - 1 ? s + 1 : s;
    double gap = log(cb_learn_s[above] / cb_learn_s[below]);
    if (below != s && above != s) {
        gap /= 2;
    }
    double z = log(cb_learn_s[s] / .22) / .35;
    return exp(-0.5 * z * z) * gap;
}

void cb_learn_total_anew(struct cb_learn *learn)
{
    double line[GRID_LINE] = {0};
    for (int b = 0; b < GRID_N; b++) {
        double z = grid_theta(b) / learn->settings.bench_sd;
        line[b] = -0.5 * z * z;
        for (size_t i = 0; i < learn->answers.count; i++) {
            double off = (grid_theta(b) - learn->answers.items[i]) / ANSWER_SD;
            line[b] -= 0.5 * off * off;
        }
    }
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        double prior = log(s_prior(s));
        for (int b = 0; b < GRID_LINE; b++) {
            learn->total.v[s][b] = line[b] + prior;
        }
    }
    for (size_t i = 0; i < learn->pots.count; i++) {
        const struct learn_pot *pot = learn->pots.items[i];
        if (!pot->known) {
            continue;
        }
        for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
            for (int b = 0; b < GRID_LINE; b++) {
                learn->total.v[s][b] += pot->up.v[s][b];
            }
        }
    }
}

struct cb_learn *cb_learn_new(const struct cb_learn_settings *settings)
{
    struct cb_learn *learn = cb_mem_new(1, sizeof *learn);
    learn->settings = settings != NULL ? *settings : cb_learn_default;
    learn->kernels = cb_mem_new(1, sizeof *learn->kernels);
    learn->nobody = pot_new("");
    cb_learn_total_anew(learn);
    return learn;
}

void cb_learn_free(struct cb_learn *learn)
{
    if (learn == NULL) {
        return;
    }
    for (size_t i = 0; i < learn->pots.count; i++) {
        pot_free(learn->pots.items[i]);
    }
    pot_free(learn->nobody);
    for (size_t i = 0; i < learn->kernels->count; i++) {
        free(learn->kernels->items[i]);
    }
    cb_vec_free(learn->kernels);
    free(learn->kernels);
    cb_vec_free(&learn->pots);
    cb_vec_free(&learn->rows);
    cb_vec_free(&learn->answers);
    cb_vec_free(&learn->answer_rows);
    free(learn);
}

static size_t pot_place(const struct cb_learn *learn, const char *key, bool *there)
{
    size_t low = 0, high = learn->pots.count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        int order = strcmp(learn->pots.items[middle]->key, key);
        if (order == 0) {
            *there = true;
            return middle;
        }
        if (order < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    *there = false;
    return low;
}

static struct learn_pot *pot_find(const struct cb_learn *learn, const char *key)
{
    bool there = false;
    size_t at = key != NULL ? pot_place(learn, key, &there) : 0;
    return there ? learn->pots.items[at] : NULL;
}

struct learn_pot *cb_learn_pot_get(struct cb_learn *learn, const char *key)
{
    bool there;
    size_t at = pot_place(learn, key, &there);
    if (there) {
        return learn->pots.items[at];
    }
    struct learn_pot *pot = pot_new(key);
    cb_vec_push(&learn->pots, pot);
    memmove(learn->pots.items + at + 1, learn->pots.items + at,
            (learn->pots.count - 1 - at) * sizeof *learn->pots.items);
    learn->pots.items[at] = pot;
    return pot;
}

static struct learn_leaf *leaf_find(const struct learn_pot *pot, int technique)
{
    for (size_t i = 0; i < pot->leaves.count; i++) {
        if (pot->leaves.items[i]->technique == technique) {
            return pot->leaves.items[i];
        }
    }
    return NULL;
}

static struct learn_leaf *leaf_get(struct learn_pot *pot, int technique)
{
    struct learn_leaf *leaf = leaf_find(pot, technique);
    if (leaf == NULL) {
        leaf = cb_mem_new(1, sizeof *leaf);
        leaf->technique = technique;
        cb_vec_push(&pot->leaves, leaf);
        /* in the order of techniques, so that sums do not depend on history */
        for (size_t i = pot->leaves.count - 1;
             i > 0 && pot->leaves.items[i - 1]->technique > technique; i--) {
            pot->leaves.items[i] = pot->leaves.items[i - 1];
            pot->leaves.items[i - 1] = leaf;
        }
    }
    return leaf;
}

static bool row_teaches(const struct cb_row *row)
{
    return row->pot != NULL && row->median_min > 0 && isfinite(row->median_min) &&
           row->pot_sd > 0 && row->lo >= 0 && row->hi > row->lo &&
           (row->lo > 0 || isfinite(row->hi));
}

static bool same_number(double a, double b)
{
    return memcmp(&a, &b, sizeof a) == 0;
}

static bool is_kept(const struct learn_kept *kept, const struct cb_row *row)
{
    return kept->kind == row->kind && kept->technique == row->technique &&
           same_number(kept->lo, row->lo) && same_number(kept->hi, row->hi) &&
           same_number(kept->median_min, row->median_min) &&
           same_number(kept->pot_sd, row->pot_sd) && same_number(kept->value, row->value) &&
           (kept->pot == NULL ? row->pot == NULL
                              : row->pot != NULL && strcmp(kept->pot->key, row->pot) == 0);
}

static void leaf_push(struct learn_leaf *leaf, const struct learn_op *op)
{
    size_t at = leaf->cursor++;
    if (at == leaf->ops.count) {
        cb_vec_push(&leaf->ops, *op);
        leaf->changed = at < leaf->changed ? at : leaf->changed;
        return;
    }
    struct learn_op *old = &leaf->ops.items[at];
    if (old->kind != op->kind || !same_number(old->a, op->a) || !same_number(old->c, op->c) ||
        !same_number(old->sd, op->sd)) {
        leaf->changed = at < leaf->changed ? at : leaf->changed;
    }
    *old = *op;
}

static double log_ratio(double t_min, double median_min)
{
    if (t_min <= 0) {
        return -INFINITY;
    }
    return isinf(t_min) ? t_min : log(t_min / median_min);
}

static struct grid_row row_of(const struct cb_row *row)
{
    return (struct grid_row){.a = log_ratio(row->lo, row->median_min),
                             .c = log_ratio(row->hi, row->median_min),
                             .weak = row->kind == CB_ROW_WEAK};
}

void cb_learn_take(struct cb_learn *learn, const struct cb_row *row, struct learn_pot *pot)
{
    const size_t i = learn->rows.count;
    struct learn_kept kept = {row->kind,       row->technique, pot,     row->pot_sd,
                              row->median_min, row->lo,        row->hi, row->value};
    cb_vec_push(&learn->rows, kept);
    switch (row->kind) {
    case CB_ROW_FILM:
    case CB_ROW_WEAK:
        if (pot != NULL && row_teaches(row)) {
            struct grid_row seen = row_of(row);
            struct learn_op op = {i, row->kind, seen.a, seen.c, row->pot_sd};
            leaf_push(leaf_get(pot, learn->settings.nested ? row->technique : LEARN_NO_TECHNIQUE),
                      &op);
        }
        break;
    case CB_ROW_ANSWER:
        if (isfinite(row->value)) {
            cb_vec_push(&learn->answers, row->value);
            cb_vec_push(&learn->answer_rows, i);
        }
        break;
    case CB_ROW_BOTTLE:
        for (size_t l = 0; pot != NULL && l < pot->leaves.count; l++) {
            struct learn_op op = {i, row->kind, 0, 0, 0};
            if (pot->leaves.items[l]->cursor > 0) {
                leaf_push(pot->leaves.items[l], &op);
            }
        }
        break;
    case CB_ROW_FORGET:
        for (size_t p = 0; p < learn->pots.count; p++) {
            struct learn_pot *one = learn->pots.items[p];
            for (size_t l = 0; (row->pot == NULL || one == pot) && l < one->leaves.count; l++) {
                one->leaves.items[l]->cursor = 0;
            }
        }
        if (row->pot == NULL) {
            learn->answers.count = learn->answer_rows.count = 0;
        }
        break;
    }
}

size_t cb_learn_window_start(const struct cb_learn *learn, size_t count)
{
    double fade = learn->settings.fade;
    double window = fade > 0 ? ceil(log(LEARN_FORGOTTEN) / log(fade)) : 1;
    if (!(fade < 1) || (double)count < window + LEARN_WINDOW_STEP) {
        return 0;
    }
    return (count - (size_t)window) / LEARN_WINDOW_STEP * LEARN_WINDOW_STEP;
}

static struct grid_table *room_of(struct grid_table **table)
{
    if (*table == NULL) {
        *table = cb_mem_new(1, sizeof **table);
    }
    return *table;
}

static void leaf_replay(const struct cb_learn *learn, struct learn_leaf *leaf)
{
    size_t count = leaf->ops.count, keep = leaf->changed;
    size_t start = cb_learn_window_start(learn, count);
    for (int i = 0; i < 2; i++) {
        if (start != leaf->start || leaf->checkpoints[i].applied > keep) {
            leaf->checkpoints[i].applied = 0;
        }
    }
    if (start != leaf->start || leaf->applied > keep) {
        int newest = leaf->checkpoints[1].applied > leaf->checkpoints[0].applied;
        leaf->applied = leaf->checkpoints[newest].applied;
        if (leaf->applied > 0) {
            leaf->table = *leaf->checkpoints[newest].table;
        } else {
            leaf->applied = start;
            memset(&leaf->table, 0, sizeof leaf->table);
        }
    }
    leaf->start = start;
    while (leaf->applied < count) {
        const struct learn_op *op = &leaf->ops.items[leaf->applied++];
        if (op->kind == CB_ROW_BOTTLE) {
            struct grid_table old = leaf->table;
            cb_learn_grid_up(&leaf->table, &old, kernel_of(learn, LEARN_BOTTLE_SD));
        } else {
            struct grid_row row = {op->a, op->c, op->kind == CB_ROW_WEAK};
            cb_learn_grid_add(&leaf->table, &row, &learn->settings);
        }
        if (leaf->applied % CHECKPOINT == 0 && count - leaf->applied < 2 * CHECKPOINT) {
            int slot = leaf->applied / CHECKPOINT % 2;
            leaf->checkpoints[slot].applied = leaf->applied;
            *room_of(&leaf->checkpoints[slot].table) = leaf->table;
        }
    }
}

static void add_table(struct grid_table *sum, const struct grid_table *more, double sign)
{
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        for (int k = 0; k < GRID_LINE; k++) {
            sum->v[s][k] += sign * more->v[s][k];
        }
    }
}

void cb_learn_pot_settle(struct learn_pot *pot)
{
    size_t newest = 0;
    pot->known = false;
    for (size_t i = 0; i < pot->leaves.count; i++) {
        struct learn_leaf *leaf = pot->leaves.items[i];
        if (leaf->cursor < leaf->ops.count) {
            leaf->ops.count = leaf->cursor;
            leaf->changed = leaf->cursor < leaf->changed ? leaf->cursor : leaf->changed;
        }
        pot->known = pot->known || leaf->ops.count > 0;
        for (size_t j = leaf->ops.count; j-- > 0;) {
            const struct learn_op *op = &leaf->ops.items[j];
            if (op->kind != CB_ROW_BOTTLE) {
                pot->sd = op->row >= newest ? op->sd : pot->sd;
                newest = op->row >= newest ? op->row : newest;
                break;
            }
        }
    }
}

/* Brings a settled pot's tables and what it says of the bench up to date. */
static void pot_refresh(const struct cb_learn *learn, struct learn_pot *pot)
{
    bool any = false;
    for (size_t i = 0; i < pot->leaves.count; i++) {
        struct learn_leaf *leaf = pot->leaves.items[i];
        if (leaf->changed == SIZE_MAX) {
            continue;
        }
        any = true;
        leaf_replay(learn, leaf);
        if (learn->settings.nested) {
            cb_learn_grid_up(room_of(&leaf->up), &leaf->table,
                             kernel_of(learn, learn->settings.nested_sd));
        }
    }
    if (!any || !pot->known) {
        return;
    }
    if (learn->settings.nested) {
        struct grid_table sum = {0};
        for (size_t i = 0; i < pot->leaves.count; i++) {
            if (pot->leaves.items[i]->ops.count > 0) {
                add_table(&sum, pot->leaves.items[i]->up, 1);
            }
        }
        cb_learn_grid_up(&pot->up, &sum, kernel_of(learn, pot->sd));
    } else {
        cb_learn_grid_up(&pot->up, &pot->leaves.items[0]->table, kernel_of(learn, pot->sd));
    }
}

void cb_learn_sync(struct cb_learn *learn, const struct cb_row *rows, size_t count)
{
    size_t same = 0, had = learn->rows.count;
    while (same < had && same < count && is_kept(&learn->rows.items[same], &rows[same])) {
        same++;
    }
    if (same == had && same == count) {
        return;
    }
    for (size_t i = same; i < had; i++) {
        if (learn->rows.items[i].kind == CB_ROW_FORGET) {
            same = 0; /* what it had cleared is needed again */
            break;
        }
    }
    for (size_t p = 0; p < learn->pots.count; p++) {
        const struct learn_pot *pot = learn->pots.items[p];
        for (size_t l = 0; l < pot->leaves.count; l++) {
            struct learn_leaf *leaf = pot->leaves.items[l];
            leaf->changed = SIZE_MAX;
            leaf->cursor = leaf->ops.count;
            while (leaf->cursor > 0 && leaf->ops.items[leaf->cursor - 1].row >= same) {
                leaf->cursor--;
            }
        }
    }
    while (learn->answers.count > 0 &&
           learn->answer_rows.items[learn->answer_rows.count - 1] >= same) {
        learn->answers.count--;
        learn->answer_rows.count--;
    }
    learn->rows.count = same;
    for (size_t i = same; i < count; i++) {
        cb_learn_take(learn, &rows[i],
                      rows[i].pot != NULL ? cb_learn_pot_get(learn, rows[i].pot) : NULL);
    }
    for (size_t p = 0; p < learn->pots.count; p++) {
        cb_learn_pot_settle(learn->pots.items[p]);
        pot_refresh(learn, learn->pots.items[p]);
        pot_drop_views(learn->pots.items[p]);
    }
    pot_drop_views(learn->nobody);
    cb_learn_total_anew(learn);
    learn->generation++;
}

uint64_t cb_learn_generation(const struct cb_learn *learn)
{
    return learn->generation;
}

/* Queries. */

static struct learn_view *view_of(const struct cb_learn *learn, const char *key, int technique,
                                  double pot_sd)
{
    const struct learn_pot *pot = pot_find(learn, key);
    bool known = pot != NULL && pot->known;
    double sd = known ? pot->sd : pot_sd;
    if (!known) {
        pot = learn->nobody;
    }
    technique = learn->settings.nested ? technique : LEARN_NO_TECHNIQUE;
    for (size_t i = 0; i < *pot->view_count; i++) {
        if (same_number(pot->views[i]->pot_sd, sd) && pot->views[i]->technique == technique) {
            return pot->views[i];
        }
    }
    /* the bench without this pot, then down to the pot, then what the pot itself says */
    struct grid_table bench = learn->total, law;
    if (known) {
        add_table(&bench, &pot->up, -1);
    }
    cb_learn_grid_down(&law, &bench, kernel_of(learn, sd));
    const struct learn_leaf *leaf = known ? leaf_find(pot, technique) : NULL;
    if (learn->settings.nested) {
        for (size_t i = 0; known && i < pot->leaves.count; i++) {
            if (pot->leaves.items[i] != leaf && pot->leaves.items[i]->ops.count > 0) {
                add_table(&law, pot->leaves.items[i]->up, 1);
            }
        }
        bench = law;
        cb_learn_grid_down(&law, &bench, kernel_of(learn, learn->settings.nested_sd));
    }
    if (leaf != NULL && leaf->ops.count > 0) {
        add_table(&law, &leaf->table, 1);
    }
    cb_learn_grid_normal(&law);
    if (*pot->view_count == VIEWS_MAX) {
        pot_drop_views(pot);
    }
    struct learn_view *view = cb_mem_new(1, sizeof *view);
    view->pot_sd = sd;
    view->technique = technique;
    view->law = law;
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

double cb_learn_cdf_as(const struct cb_learn *learn, const char *pot, int technique, double pot_sd,
                       double median_min, double t_min)
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
    double below = -expm1(tail_at(view_of(learn, pot, technique, pot_sd), log(t_min / median_min)));
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
    return (size_t)(((bits[0] ^ (bits[1] << 1)) * UINT64_C(11400714819323198485)) >> 32) %
           (ANSWERS_MAX / BUCKET) * BUCKET;
}

double cb_learn_quantile_as(const struct cb_learn *learn, const char *pot, int technique,
                            double pot_sd, double median_min, double p, double wet_min)
{
    if (!(median_min > 0)) {
        return 0;
    }
    struct learn_view *view = view_of(learn, pot, technique, pot_sd);
    p = p < 1e-9 ? 1e-9 : p > 1 - 1e-9 ? 1 - 1e-9 : p;
    const double tail = log1p(-p);
    double low = GRID_TAIL_LOW;
    if (wet_min > 0) {
        low = log(wet_min / median_min);
        if (low > STRAY) {
            return wet_min * STRAY_AGAIN;
        }
    }
    struct answer *bucket = &view->answers[answer_place(tail, low)];
    struct answer *answer = NULL;
    for (size_t i = 0; i < BUCKET && answer == NULL && bucket[i].known; i++) {
        if (same_number(bucket[i].tail, tail) && same_number(bucket[i].low, low)) {
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
    return median_min * exp(answer->x);
}

double cb_learn_cdf(const struct cb_learn *learn, const char *pot, double pot_sd, double median_min,
                    double t_min)
{
    return cb_learn_cdf_as(learn, pot, LEARN_NO_TECHNIQUE, pot_sd, median_min, t_min);
}

double cb_learn_quantile(const struct cb_learn *learn, const char *pot, double pot_sd,
                         double median_min, double p, double wet_min)
{
    return cb_learn_quantile_as(learn, pot, LEARN_NO_TECHNIQUE, pot_sd, median_min, p, wet_min);
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
        for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
            line[k] += law->v[s][k];
        }
    }
}

void cb_learn_density(const struct cb_learn *learn, const char *pot, double pot_sd,
                      double density[CB_LEARN_THETA_COUNT])
{
    over_s(density, &view_of(learn, pot, LEARN_NO_TECHNIQUE, pot_sd)->law);
}

struct cb_learn_pot cb_learn_pot(const struct cb_learn *learn, const char *pot, double pot_sd)
{
    struct cb_learn_pot out = {0};
    struct learn_view *view = view_of(learn, pot, LEARN_NO_TECHNIQUE, pot_sd);
    if (!view->measured) {
        double line[GRID_N];
        over_s(line, &view->law);
        moments(line, &view->mean, &view->sd);
        const struct learn_pot *found = pot_find(learn, pot);
        view->known = found != NULL && found->known;
        view->rows = 0;
        for (size_t l = 0; view->known && l < found->leaves.count; l++) {
            const struct learn_leaf *leaf = found->leaves.items[l];
            for (size_t i = 0; i < leaf->ops.count; i++) {
                view->rows +=
                    leaf->ops.items[i].kind != CB_ROW_BOTTLE && isfinite(leaf->ops.items[i].c);
            }
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

void cb_learn_s_weights(const struct cb_learn *learn, double weights[CB_LEARN_S_COUNT])
{
    struct grid_table law = learn->total;
    cb_learn_grid_normal(&law);
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        weights[s] = 0;
        for (int k = 0; k < GRID_N; k++) {
            weights[s] += law.v[s][k];
        }
    }
}

double cb_learn_mis_key(const struct cb_learn *learn, const struct cb_row *row)
{
    if ((row->kind != CB_ROW_FILM && row->kind != CB_ROW_WEAK) || !row_teaches(row)) {
        return 0;
    }
    const struct cb_learn_settings *settings = &learn->settings;
    const struct learn_view *view = view_of(learn, row->pot, row->technique, row->pot_sd);
    struct grid_row seen = row_of(row);
    double floor_q = cb_learn_grid_floor(&seen, settings->mis_key), sum = 0;
    if (seen.weak) {
        floor_q *= 1 - settings->weak;
    }
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        for (int k = 0; k < GRID_N; k++) {
            if (view->law.v[s][k] > 1e-12) {
                double q = cb_learn_grid_q(&seen, settings, cb_learn_s[s], grid_theta(k));
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
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        double sd = sqrt(bench_sd * bench_sd + pot_sd * pot_sd + cb_learn_s[s] * cb_learn_s[s]);
        sum += s_prior(s) * exp(cb_learn_log_phi_between(-INFINITY, x / sd));
        weight += s_prior(s);
    }
    return sum / weight;
}
