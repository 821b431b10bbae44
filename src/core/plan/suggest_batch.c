/* SPDX-License-Identifier: MIT */
/* How many figures at a time: as it was painted, and as the simulation advises. */
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/vec.h"
#include "core/plan/suggest_internal.h"

static int by_size(const void *a, const void *b)
{
    const int x = *(const int *)a;
    const int y = *(const int *)b;
    return (x > y) - (x < y);
}

/* Of two coats of which the second waits for the first: how many figures took the first in a row
 * before any of them took the second. Each row is listed once for every figure of it. */
static size_t list_rows(const struct cb_suggest_log *log, int first, int second, int *list)
{
    const struct cb_plan_coat *coats = log->model.coat;
    size_t count = 0;
    int row = 0;
    for (size_t i = 0; i <= log->mark_count; i++) {
        const struct cb_suggest_mark *mark = &log->marks[i];
        const bool end = i == log->mark_count;
        if (!end && mark->stage == coats[first].stage && mark->coat == coats[first].coat) {
            row++;
        } else if (end ||
                   (mark->stage == coats[second].stage && mark->coat == coats[second].coat)) {
            for (int k = 0; k < row; k++) {
                list[count++] = row;
            }
            row = 0;
        }
    }
    return count;
}

/* The middle of all such rows; all figures where nothing waits for anything. */
int cb_suggest_usual(const struct cb_suggest_log *log)
{
    const struct cb_plan_model *m = &log->model;
    const int figures = (int)log->problem.figure_count;
    CB_VEC(int) rows = {0};
    int *list = cb_mem_new(m->figures + 1, sizeof *list);
    for (int c = 0; c < (int)m->coats; c++) {
        const int s = m->coat[c].stage;
        const bool again = c + 1 < m->first_coat[s + 1];
        const int from = again ? 0 : m->first_follower[s];
        const int to = again ? 1 : m->first_follower[s + 1];
        for (int i = from; m->stage[s].together == 0 && i < to; i++) {
            const int next = again ? c + 1 : m->first_coat[m->followers[i]];
            const bool comes = again || next < m->first_coat[m->followers[i] + 1];
            if (!comes || m->stage[m->coat[next].stage].together > 0) {
                continue;
            }
            const size_t count = list_rows(log, c, next, list);
            for (size_t k = 0; k < count; k++) {
                cb_vec_push(&rows, list[k]);
            }
        }
    }
    if (rows.count > 0) {
        qsort(rows.items, rows.count, sizeof *rows.items, by_size);
    }
    const int batch = rows.count > 0 ? rows.items[rows.count / 2] : figures;
    cb_vec_free(&rows);
    free(list);
    return batch;
}

/* Where not all sizes can be tried, the least for each number of batches. */
static bool is_even(int figures, int size)
{
    const int batches = (figures + size - 1) / size;
    return (figures + batches - 1) / batches == size;
}

int cb_suggest_advised(struct cb_suggest_log *log)
{
    const int figures = (int)log->problem.figure_count;
    if (log->advised > 0) {
        return log->advised;
    }
    struct cb_plan_batch batches[CB_FIGURES_MAX];
    size_t tries = cb_suggest_simulations(log);
    for (int size = figures; size > 0; size--) {
        const bool tried =
            (size_t)figures <= cb_suggest_simulations(log) || (is_even(figures, size) && tries > 0);
        tries -= tried && tries > 0 ? 1 : 0;
        batches[size - 1] = (struct cb_plan_batch){.idle_min = INFINITY};
        if (tried) {
            batches[size - 1] = cb_plan_batch_of(&log->problem, size, 1);
        }
    }
    log->advised = cb_plan_batch_advised(batches, figures);
    return log->advised;
}
