/* SPDX-License-Identifier: MIT */
#include "core/learn/learn.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "core/learn/learn_internal.h"

const struct cb_learn_settings cb_learn_default = {
    .fade = .95,
    .mis_key = .03,
    .weak = NAN,
    .bench_sd = .35,
    .step = .06,
};

#define ANSWER_SD .30 /* of the first-opening question: estimate */

const struct grid_kernel *cb_learn_kernel(const struct cb_learn *learn, double sd)
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
double cb_learn_s_prior(int s)
{
    int below = s > 0 ? s - 1 : s, above = s < GRID_S - 1 ? s + 1 : s;
    double gap = log(cb_learn_grid_s[above] / cb_learn_grid_s[below]);
    if (below != s && above != s) {
        gap /= 2;
    }
    double z = log(cb_learn_grid_s[s] / .22) / .35;
    return exp(-0.5 * z * z) * gap;
}

static void total_anew(struct cb_learn *learn)
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
    for (int s = 0; s < GRID_S; s++) {
        double prior = log(cb_learn_s_prior(s));
        for (int b = 0; b < GRID_LINE; b++) {
            learn->total.v[s][b] = line[b] + prior;
        }
    }
    for (size_t i = 0; i < learn->pots.count; i++) {
        const struct learn_pot *pot = learn->pots.items[i];
        if (pot->counts) {
            cb_learn_grid_sum(&learn->total, &pot->up, 1);
        }
    }
}

struct cb_learn *cb_learn_new(const struct cb_learn_settings *settings)
{
    struct cb_learn *learn = cb_mem_new(1, sizeof *learn);
    learn->settings = settings != NULL ? *settings : cb_learn_default;
    learn->kernels = cb_mem_new(1, sizeof *learn->kernels);
    learn->nobody = cb_learn_pot_new("");
    total_anew(learn);
    cb_learn_heard_all(learn);
    return learn;
}

void cb_learn_free(struct cb_learn *learn)
{
    if (learn == NULL) {
        return;
    }
    for (size_t i = 0; i < learn->pots.count; i++) {
        cb_learn_pot_free(learn->pots.items[i]);
    }
    cb_learn_pot_free(learn->nobody);
    for (size_t i = 0; i < learn->kernels->count; i++) {
        free(learn->kernels->items[i]);
    }
    cb_vec_free(learn->kernels);
    free(learn->kernels);
    cb_vec_free(&learn->pots);
    cb_vec_free(&learn->rows);
    cb_vec_free(&learn->answers);
    cb_vec_free(&learn->answer_rows);
    cb_vec_free(&learn->before);
    cb_vec_free(&learn->before_rungs);
    cb_vec_free(&learn->rings);
    free(learn);
}

bool cb_learn_row_teaches(const struct cb_row *row)
{
    return row->pot != NULL && row->median_min > 0 && isfinite(row->median_min) &&
           row->pot_sd > 0 && row->lo >= 0 && row->hi > row->lo &&
           (row->lo > 0 || isfinite(row->hi));
}

static bool is_word(const struct cb_heard_before *a, const struct cb_heard_before *b)
{
    return a->at_ms == b->at_ms && a->heard_ms == b->heard_ms && learn_same(a->late, b->late) &&
           learn_same(a->confidence, b->confidence) && a->heard == b->heard && a->wet == b->wet &&
           a->silent == b->silent;
}

static bool is_kept(const struct learn_kept *kept, const struct cb_row *row)
{
    const struct cb_heard_before word = cb_learn_before_of(row);
    return kept->kind == row->kind && learn_same(kept->lo, row->lo) &&
           learn_same(kept->hi, row->hi) && learn_same(kept->median_min, row->median_min) &&
           learn_same(kept->pot_sd, row->pot_sd) && learn_same(kept->value, row->value) &&
           kept->waits == row->waits && kept->technique == row->technique &&
           is_word(&kept->word, &word) &&
           (kept->pot == NULL ? row->pot == NULL
                              : row->pot != NULL && strcmp(kept->pot->key, row->pot) == 0);
}

static double log_ratio(double t_min, double median_min)
{
    if (t_min <= 0) {
        return -INFINITY;
    }
    return isinf(t_min) ? t_min : log(t_min / median_min);
}

struct grid_row cb_learn_row_of(const struct cb_row *row)
{
    return (struct grid_row){.a = log_ratio(row->lo, row->median_min),
                             .c = log_ratio(row->hi, row->median_min)};
}

/* One more row, kept and into the lists of the pots. */
static void take(struct cb_learn *learn, const struct cb_row *row)
{
    const size_t i = learn->rows.count;
    struct learn_pot *pot = row->pot != NULL ? cb_learn_pot_get(learn, row->pot) : NULL;
    struct learn_silence silence =
        i > 0 ? learn->rows.items[i - 1].silence : (struct learn_silence){0};
    size_t before = i > 0 ? learn->rows.items[i - 1].before : 0;
    const struct cb_heard_before word = cb_learn_before_of(row);
    cb_learn_hear_before(learn, &silence, &before, row->at_ms);
    const double rho = cb_learn_rho(learn, &silence);
    cb_learn_hear(learn, &silence, &word);
    cb_vec_push(&learn->rows, ((struct learn_kept){.kind = row->kind,
                                                   .pot = pot,
                                                   .pot_sd = row->pot_sd,
                                                   .median_min = row->median_min,
                                                   .lo = row->lo,
                                                   .hi = row->hi,
                                                   .value = row->value,
                                                   .technique = row->technique,
                                                   .waits = row->waits,
                                                   .word = word,
                                                   .rho = rho,
                                                   .silence = silence,
                                                   .before = before}));
    if (row->heard != CB_HEARD_NOTHING || (row->kind == CB_ROW_FORGET && row->pot == NULL)) {
        cb_vec_push(&learn->rings, i);
    }
    switch (row->kind) {
    case CB_ROW_FILM:
    case CB_ROW_WEAK:
        if (cb_learn_row_teaches(row)) {
            struct grid_row seen = cb_learn_row_of(row);
            cb_learn_pot_push(pot, &(struct learn_op){i, row->kind, seen.a, seen.c,
                                                      row->kind == CB_ROW_WEAK ? 1 - rho : 0,
                                                      row->pot_sd});
        }
        break;
    case CB_ROW_ANSWER:
        if (isfinite(row->value)) {
            cb_vec_push(&learn->answers, row->value);
            cb_vec_push(&learn->answer_rows, i);
        }
        break;
    case CB_ROW_BOTTLE:
        if (pot != NULL && pot->cursor > 0) {
            cb_learn_pot_push(pot, &(struct learn_op){.row = i, .kind = row->kind});
        }
        break;
    case CB_ROW_GIVEN:
        if (cb_learn_row_teaches(row) && row->value >= 1) {
            const struct grid_row seen = cb_learn_row_of(row);
            cb_learn_pot_give(pot, &(struct learn_given){i, seen.a, seen.c, row->value, row->pot_sd,
                                                         row->technique, row->waits});
        }
        break;
    case CB_ROW_FORGET:
        for (size_t p = 0; p < learn->pots.count; p++) {
            struct learn_pot *one = learn->pots.items[p];
            if (row->pot == NULL || one == pot) {
                one->cursor = one->given.count = 0;
            }
        }
        if (row->pot == NULL) {
            learn->answers.count = learn->answer_rows.count = 0;
        }
        break;
    }
}

static void drop_rings(struct cb_learn *learn, size_t from_row)
{
    size_t kept = 0;
    for (size_t i = 0; i < learn->rings.count; i++) {
        if (learn->rings.items[i] < from_row) {
            learn->rings.items[kept++] = learn->rings.items[i];
        }
    }
    learn->rings.count = kept;
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
        cb_learn_pot_rewind(learn->pots.items[p], same);
    }
    while (learn->answers.count > 0 &&
           learn->answer_rows.items[learn->answer_rows.count - 1] >= same) {
        learn->answers.count--;
        learn->answer_rows.count--;
    }
    drop_rings(learn, same);
    learn->rows.count = same;
    for (size_t i = same; i < count; i++) {
        take(learn, &rows[i]);
    }
    for (size_t p = 0; p < learn->pots.count; p++) {
        cb_learn_pot_settle(learn, learn->pots.items[p]);
    }
    cb_learn_pot_drop_views(learn->nobody);
    total_anew(learn);
    cb_learn_heard_all(learn);
    learn->generation++;
}

uint64_t cb_learn_generation(const struct cb_learn *learn)
{
    return learn->generation;
}
