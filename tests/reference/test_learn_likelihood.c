/* SPDX-License-Identifier: MIT */
/*
 * The likelihood of a row against R survival 3.5-3 (survreg, type "interval2") and fitdistrplus,
 * on our own small sets and on published ones. No optimiser: the log-likelihood at the listed
 * optimum, and central differences of zero there. Scripts: make_learn_survreg.R,
 * make_learn_fitdistrplus.R.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/learn/learn.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define PAINTS   3

static void near(const char *what, double got, double want, double tolerance)
{
    if (!(fabs(got - want) <= tolerance)) {
        print_error("%s: %.12g, wanted %.12g within %g\n", what, got, want, tolerance);
    }
    assert_true(fabs(got - want) <= tolerance);
}

struct observation {
    double left, right, weight; /* left = right: exact */
    int paint;
};
struct set {
    size_t count;
    struct observation rows[200];
};

static double bound(const char **text, double none)
{
    if (strncmp(*text, "NA", 2) == 0) {
        *text += 2;
        return none;
    }
    char *end;
    double value = strtod(*text, &end);
    assert_ptr_not_equal(end, *text);
    *text = end;
    return value;
}

static void comma(const char **text)
{
    assert_int_equal(**text, ',');
    ++*text;
}

/* Tests run from the top of the project. */
static void read_csv(struct set *set, const char *name)
{
    char path[256], line[256];
    snprintf(path, sizeof path, "tests/reference/%s", name);
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        print_error("%s: can't be read; run the tests from the top folder\n", path);
    }
    assert_non_null(file);
    set->count = 0;
    assert_non_null(fgets(line, sizeof line, file));
    bool paints = strncmp(line, "paint", 5) == 0;
    while (fgets(line, sizeof line, file) != NULL) {
        const char *text = line;
        struct observation *row = &set->rows[set->count++];
        assert_in_range(set->count, 1, COUNT(set->rows));
        *row = (struct observation){.weight = 1};
        if (paints) {
            row->paint = (int)bound(&text, 0) - 1;
            comma(&text);
        }
        row->left = bound(&text, 0);
        comma(&text);
        row->right = bound(&text, INFINITY);
    }
    fclose(file);
}

static double log_or(double t)
{
    return t <= 0 ? -INFINITY : isinf(t) ? (double)INFINITY : log(t);
}

static double log_likelihood(const struct set *set, const double mu[PAINTS], double sigma)
{
    double sum = 0;
    for (size_t i = 0; i < set->count; i++) {
        const struct observation *row = &set->rows[i];
        double a = (log_or(row->left) - mu[row->paint]) / sigma;
        double b = (log_or(row->right) - mu[row->paint]) / sigma;
        if (row->left < row->right) {
            sum += row->weight * cb_learn_log_phi_between(a, b);
        } else { /* exact: the density, after Delignette-Muller & Dutang of t, not log t */
            sum +=
                row->weight * (-0.5 * a * a - 0.91893853320467274178 - log(sigma) - log(row->left));
        }
    }
    return sum;
}

static void optimum(const char *name, const struct set *set, int paints, const double mu[PAINTS],
                    double sigma, bool sigma_free, double want, double tolerance, double slope)
{
    double m[PAINTS], h = 1e-5;
    memcpy(m, mu, sizeof m);
    near(name, log_likelihood(set, m, sigma), want, tolerance);
    for (int i = 0; i < paints; i++) {
        m[i] = mu[i] + h;
        double up = log_likelihood(set, m, sigma);
        m[i] = mu[i] - h;
        double down = log_likelihood(set, m, sigma);
        m[i] = mu[i];
        near(name, (up - down) / (2 * h), 0, slope);
    }
    if (sigma_free) {
        double up = log_likelihood(set, m, sigma + h), down = log_likelihood(set, m, sigma - h);
        near(name, (up - down) / (2 * h), 0, slope);
    }
}

static void own_sets(void **state)
{
    (void)state;
    struct set set;
    read_csv(&set, "learn_f1.csv");
    assert_int_equal(set.count, 20);
    optimum("f1", &set, 1, (double[]){3.0544416, 0, 0}, .21061187, true, -20.345365, 1e-6, 1e-3);
    optimum("f1 at .2", &set, 1, (double[]){3.0552466, 0, 0}, .2, false, -20.373595, 1e-6, 1e-3);
    read_csv(&set, "learn_f2.csv");
    assert_int_equal(set.count, 12);
    optimum("f2", &set, 1, (double[]){3.0276871, 0, 0}, .15291397, true, -8.3183594, 1e-6, 1e-3);
    read_csv(&set, "learn_f3.csv");
    assert_int_equal(set.count, 13);
    optimum("f3", &set, 3, (double[]){2.8340368, 3.6273802, 2.3487687}, .10986845, true, -8.1946274,
            1e-6, 1e-3);
}

/* P(log-normal <= q) at the listed quantiles. */
static void own_quantiles(void **state)
{
    (void)state;
    static const double p[] = {.10, .50, .80, .90, .95};
    static const struct {
        double mu, sigma, q[5];
    } sets[] = {
        {3.0544416, .21061187, {16.1922, 21.2093, 25.3226, 27.7810, 29.9901}},
        {3.0276871, .15291397, {16.9746, 20.6494, 23.4855, 25.1197, 26.5547}},
    };
    for (size_t i = 0; i < COUNT(sets); i++) {
        for (size_t j = 0; j < COUNT(p); j++) {
            double z = (log(sets[i].q[j]) - sets[i].mu) / sets[i].sigma;
            /* times are listed to 5e-5 */
            near("quantile", exp(cb_learn_log_phi_between(-INFINITY, z)), p[j],
                 5e-5 / sets[i].q[j] / sets[i].sigma);
        }
    }
}

/* Delignette-Muller & Dutang, J. Stat. Softw. 64(4), 2015: meanlog 3.3854, sdlog 0.4961, loglik
 * -139.1; data in the R package fitdistrplus, written out by make_learn_fitdistrplus.R, which fits
 * 3.3854230, .4961333, -139.0549562. */
static void salinity(void **state)
{
    (void)state;
    struct set set;
    read_csv(&set, "learn_salinity.csv");
    assert_int_equal(set.count, 108);
    optimum("salinity, published", &set, 1, (double[]){3.3854, 0, 0}, .4961, true, -139.1, .05,
            .05);
    optimum("salinity", &set, 1, (double[]){3.3854230291, 0, 0}, .4961333496, true, -139.0549562,
            1e-6, 2e-2); /* fitdistrplus stops its search early */
}

/* Nelson, Applied Life Data Analysis, 1982, p. 409; R survival, ?reliability. */
static void turbine(void **state)
{
    (void)state;
    static const double hours[] = {4, 10, 14, 18, 22, 26, 30, 34, 38, 42, 46}; /* hundreds */
    static const int wheels[] = {39, 53, 33, 73, 30, 39, 42, 13, 34, 40, 36};
    static const int failed[] = {0, 4, 2, 7, 5, 9, 9, 6, 22, 21, 21};
    struct set set = {0};
    int sum = 0;
    for (size_t i = 0; i < COUNT(hours); i++) {
        sum += wheels[i];
        set.rows[set.count++] = (struct observation){0, hours[i], failed[i], 0};
        set.rows[set.count++] = (struct observation){hours[i], INFINITY, wheels[i] - failed[i], 0};
    }
    assert_int_equal(sum, 432);
    optimum("turbine", &set, 1, (double[]){3.6999077, 0, 0}, .7198857, true, -190.7315495, 1e-6,
            1e-3);
}

/* Nelson 1982, p. 415; R survival, ?reliability. */
static void cracks(void **state)
{
    (void)state;
    static const double days[] = {0, 186, 606, 902, 1077, 1209, 1377, 1592, 1932, INFINITY};
    static const int parts[] = {5, 16, 12, 18, 18, 2, 6, 17, 73};
    struct set set = {0};
    int sum = 0;
    for (size_t i = 0; i < COUNT(parts); i++) {
        sum += parts[i];
        set.rows[set.count++] = (struct observation){days[i], days[i + 1], parts[i], 0};
    }
    assert_int_equal(sum, 167);
    optimum("cracks", &set, 1, (double[]){7.442418, 0, 0}, .999000, true, -311.882254, 1e-6, 1e-3);
}

/* mpmath, 80 digits. */
static void log_phi(void **state)
{
    (void)state;
    static const struct {
        double a, b, want;
    } rows[] = {
        {-1, 1, -0.381715146302126},         {19, 20, -184.36612867239},
        {-40, -39, -765.083156564378},       {37, 38, -689.030585576891},
        {-INFINITY, -30, -454.321243956343}, {.5, .50005, -10.9474385861315},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        near("log Phi", cb_learn_log_phi_between(rows[i].a, rows[i].b), rows[i].want, 1e-10);
        near("mirrored", cb_learn_log_phi_between(-rows[i].b, -rows[i].a), rows[i].want, 1e-10);
    }
    near("all", cb_learn_log_phi_between(-INFINITY, INFINITY), 0, 0);
    assert_true(isinf(cb_learn_log_phi_between(1, 1)));
    assert_true(isinf(cb_learn_log_phi_between(INFINITY, INFINITY)));
    /* no seams: where the ways of computing meet, they agree */
    for (double a = -45; a < 45; a += .37) {
        for (double w = 1e-6; w < 20; w *= 3.1) {
            double whole = cb_learn_log_phi_between(a, a + w);
            double left = cb_learn_log_phi_between(a, a + w / 3);
            double right = cb_learn_log_phi_between(a + w / 3, a + w);
            double top = fmax(left, right);
            near("parts add up", top + log(exp(left - top) + exp(right - top)), whole, 1e-8);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(own_sets), cmocka_unit_test(own_quantiles), cmocka_unit_test(salinity),
        cmocka_unit_test(turbine),  cmocka_unit_test(cracks),        cmocka_unit_test(log_phi),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
