/* SPDX-License-Identifier: MIT */
#include "core/learn/hours.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

/* Effects of the techniques (painter and technique together), last the unit's factor. */
struct cb_hours {
    size_t size; /* technique_count + 1 */
    double *mean;
    double *cov;  /* size x size, symmetric to the bit */
    double *seen; /* room for what one mark sees of each */
};

#define COV(hours, i, j) ((hours)->cov[(i) * (hours)->size + (j)])

static double square(double x)
{
    return x * x;
}

struct cb_hours *cb_hours_new(size_t technique_count)
{
    struct cb_hours *hours = cb_mem_new(1, sizeof *hours);
    hours->size = technique_count + 1;
    hours->mean = cb_mem_new(hours->size, sizeof *hours->mean);
    hours->cov = cb_mem_new(hours->size * hours->size, sizeof *hours->cov);
    hours->seen = cb_mem_new(hours->size, sizeof *hours->seen);
    for (size_t i = 0; i < technique_count; i++) {
        for (size_t j = 0; j < technique_count; j++) {
            COV(hours, i, j) =
                square(CB_HOURS_PAINTER_SD) + (i == j ? square(CB_HOURS_TECHNIQUE_SD) : 0);
        }
    }
    cb_hours_new_unit(hours);
    return hours;
}

void cb_hours_free(struct cb_hours *hours)
{
    if (hours != NULL) {
        free(hours->mean);
        free(hours->cov);
        free(hours->seen);
        free(hours);
    }
}

struct cb_hours *cb_hours_copy(const struct cb_hours *hours)
{
    struct cb_hours *copy = cb_mem_new(1, sizeof *copy);
    copy->size = hours->size;
    copy->mean = cb_mem_new(hours->size, sizeof *copy->mean);
    copy->cov = cb_mem_new(hours->size * hours->size, sizeof *copy->cov);
    copy->seen = cb_mem_new(hours->size, sizeof *copy->seen);
    memcpy(copy->mean, hours->mean, hours->size * sizeof *copy->mean);
    memcpy(copy->cov, hours->cov, hours->size * hours->size * sizeof *copy->cov);
    return copy;
}

void cb_hours_new_unit(struct cb_hours *hours)
{
    size_t unit = hours->size - 1;
    for (size_t i = 0; i < hours->size; i++) {
        COV(hours, i, unit) = COV(hours, unit, i) = 0;
    }
    hours->mean[unit] = 0;
    COV(hours, unit, unit) = square(CB_HOURS_UNIT_SD);
}

void cb_hours_add_marks(struct cb_hours *hours, size_t technique, double mean_log, double count)
{
    size_t n = hours->size, unit = n - 1;
    if (technique >= unit || !(count > 0) || !isfinite(mean_log)) {
        return;
    }
    /* A mark sees effect + unit; its gain on entry i is (cov(i, technique) + cov(i, unit)) / var.
     */
    double *seen = hours->seen;
    for (size_t i = 0; i < n; i++) {
        seen[i] = COV(hours, i, technique) + COV(hours, i, unit);
    }
    const double figure_var = CB_HOURS_NOISE_VAR - CB_HOURS_SITTING_VAR;
    double var = seen[technique] + seen[unit] + CB_HOURS_SITTING_VAR + figure_var / count;
    double off = mean_log - hours->mean[technique] - hours->mean[unit];
    for (size_t i = 0; i < n; i++) {
        hours->mean[i] += seen[i] / var * off;
        for (size_t j = 0; j <= i; j++) {
            COV(hours, i, j) -= seen[i] * seen[j] / var;
            COV(hours, j, i) = COV(hours, i, j);
        }
    }
}

void cb_hours_effect(const struct cb_hours *hours, size_t technique, double *mean, double *sd)
{
    *mean = hours->mean[technique];
    *sd = sqrt(COV(hours, technique, technique));
}

/* Variance that two cells share: of effect + unit factor. */
static double shared(const struct cb_hours *hours, size_t a, size_t b)
{
    size_t unit = hours->size - 1;
    return COV(hours, a, b) + COV(hours, a, unit) + COV(hours, b, unit) + COV(hours, unit, unit);
}

struct cb_hours_sum cb_hours_to_go(const struct cb_hours *hours, const struct cb_hours_cell *cells,
                                   size_t count, double sitting_var)
{
    size_t unit = hours->size - 1;
    double mean = 0, var = 0;
    double *means = cb_mem_new(count > 0 ? count : 1, sizeof *means);
    for (size_t i = 0; i < count; i++) {
        size_t t = cells[i].technique;
        if (t < unit && cells[i].nominal_min > 0 && cells[i].count > 0) {
            means[i] = cells[i].count * cells[i].nominal_min *
                       exp(hours->mean[t] + hours->mean[unit] +
                           0.5 * (shared(hours, t, t) + CB_HOURS_NOISE_VAR));
        }
        mean += means[i];
    }
    /* A cell is one sitting at one stage: its figures are quick or slow together. */
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j < count; j++) {
            if (means[i] > 0 && means[j] > 0) {
                double both = shared(hours, cells[i].technique, cells[j].technique) + sitting_var;
                var += means[i] * means[j] * expm1(both + (i == j ? CB_HOURS_NOISE_VAR : 0));
            }
        }
    }
    free(means);
    struct cb_hours_sum sum = {0};
    if (mean > 0) {
        double log_var = log1p(var / (mean * mean)), z90 = 1.2815515655446004;
        sum.mean_min = mean;
        sum.sd_min = sqrt(var);
        sum.median_min = mean * exp(-0.5 * log_var);
        sum.low_min = sum.median_min * exp(-z90 * sqrt(log_var));
        sum.high_min = sum.median_min * exp(z90 * sqrt(log_var));
    }
    return sum;
}
