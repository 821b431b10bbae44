/* SPDX-License-Identifier: MIT */
/*
 * The learner against R (survival, fitdistrplus), JAGS and quadrature. The scripts that make the
 * figures lie beside this file: make_learn_survreg.R, make_learn_fitdistrplus.R,
 * make_learn_posterior.R, make_learn_jags.sh; `make reference` runs them where R is there.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "core/learn/learn.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static void near(double got, double want, double tolerance)
{
    if (!(fabs(got - want) <= tolerance)) {
        print_error("%.9g, wanted %.9g within %g\n", got, want, tolerance);
    }
    assert_true(fabs(got - want) <= tolerance);
}

/* h1.csv */
static const struct {
    const char *pot;
    double lo, hi;
} h1[] = {
    {"1", 0, 1.30},    {"1", 1.05, 1.25},     {"1", 1.20, 1.45}, {"1", 0, 1.60},
    {"1", 1.10, 1.35}, {"1", 1.50, INFINITY}, {"2", 0, 1.10},    {"2", .60, .85},
    {"2", 0, .95},     {"2", .80, 1.00},      {"3", 1.40, 1.90}, {"3", 0, 2.00},
};

static struct cb_row film(const char *pot, double lo, double hi)
{
    return (struct cb_row){
        .kind = CB_ROW_FILM, .pot = pot, .pot_sd = .30, .median_min = 1, .lo = lo, .hi = hi};
}

static size_t h1_rows(struct cb_row rows[20])
{
    for (size_t i = 0; i < COUNT(h1); i++) {
        rows[i] = film(h1[i].pot, h1[i].lo, h1[i].hi);
    }
    return COUNT(h1);
}

static struct cb_learn *learn_of(double fade, double mis_key, const struct cb_row *rows, size_t n)
{
    struct cb_learn_settings settings = cb_learn_default;
    settings.fade = fade;
    settings.mis_key = mis_key;
    settings.weak = .5; /* as the figures were made */
    struct cb_learn *learn = cb_learn_new(&settings);
    cb_learn_sync(learn, rows, n);
    return learn;
}

static void h1_posterior(void **state)
{
    (void)state;
    /* quadrature of 400 Gauss-Legendre nodes; JAGS 4.3.1, 400 000 draws */
    static const struct {
        const char *pot;
        double fade, mis_key, q50, q80, q95, tolerance;
    } want[] = {
        {"1", 1, 0, 1.25419, 1.48614, 1.78122, 2e-4},
        {"2", 1, 0, .81467, .97881, 1.19113, 2e-4},
        {"3", 1, 0, 1.41126, 1.73362, 2.11850, 2e-4},
        {"4", 1, 0, 1.09919, 1.53357, 2.11119, 2e-4},
        {"1", 1, .03, 1.24640, 1.47769, 1.77258, 2e-4},
        {"2", 1, .03, .81509, .97815, 1.18987, 2e-4},
        {"3", 1, .03, 1.40691, 1.72929, 2.11273, 2e-4},
        {"4", 1, .03, 1.09563, 1.52830, 2.10354, 2e-4},
        {"1", 1, 0, 1.2548, 1.4866, 1.7827, 3e-3},
        {"2", 1, 0, .8147, .9797, 1.1922, 3e-3},
        {"3", 1, 0, 1.4109, 1.7338, 2.1170, 3e-3},
        {"4", 1, 0, 1.0996, 1.5334, 2.1111, 3e-3},
        {"1", .95, .03, 1.25699, 1.50118, 1.81607, 2e-4},
        {"2", .95, .03, .82051, .99150, 1.21708, 2e-4},
        {"3", .95, .03, 1.39343, 1.72532, 2.12269, 2e-4},
        {"4", .95, .03, 1.09703, 1.53528, 2.12057, 2e-4},
    };
    struct cb_row rows[20];
    size_t n = h1_rows(rows);
    for (size_t i = 0; i < COUNT(want); i++) {
        struct cb_learn *learn = learn_of(want[i].fade, want[i].mis_key, rows, n);
        near(cb_learn_quantile(learn, want[i].pot, .30, 1, .50, 0), want[i].q50, want[i].tolerance);
        near(cb_learn_quantile(learn, want[i].pot, .30, 1, .80, 0), want[i].q80, want[i].tolerance);
        near(cb_learn_quantile(learn, want[i].pot, .30, 1, .95, 0), want[i].q95, want[i].tolerance);
        cb_learn_free(learn);
    }
    struct cb_learn *learn = learn_of(1, 0, rows, n);
    double mean, sd;
    cb_learn_bench(learn, &mean, &sd);
    near(mean, .09310, 1e-5);
    near(sd, .16934, 1e-5);
    near(mean, .0927, 2e-3); /* JAGS */
    near(sd, .1683, 2e-3);
    cb_learn_free(learn);
}

static void h1_weak_and_still_wet(void **state)
{
    (void)state;
    struct cb_row rows[20];
    size_t n = h1_rows(rows);
    rows[n] = film("1", 0, 1.15);
    rows[n++].kind = CB_ROW_WEAK;
    rows[n] = film("3", 0, 1.25);
    rows[n++].kind = CB_ROW_WEAK;
    struct cb_learn *learn = learn_of(1, .03, rows, n);
    near(cb_learn_quantile(learn, "1", .30, 1, .50, 0), 1.23054, 2e-4);
    near(cb_learn_quantile(learn, "1", .30, 1, .80, 0), 1.46682, 2e-4);
    near(cb_learn_quantile(learn, "1", .30, 1, .95, 0), 1.76797, 2e-4);
    near(cb_learn_quantile(learn, "1", .30, 1, .80, 1.3), 1.66909, 2e-4);
    near(cb_learn_quantile(learn, "3", .30, 1, .80, 0), 1.68158, 2e-4);
    near(cb_learn_quantile(learn, "3", .30, 1, .80, 1.3), 1.84898, 2e-4);
    cb_learn_free(learn);

    static const struct {
        const char *pot;
        double again;
    } faded[] = {{"1", 1.69018}, {"2", 1.60588}, {"3", 1.87564}, {"4", 1.99819}};
    learn = learn_of(.95, .03, rows, COUNT(h1));
    for (size_t i = 0; i < COUNT(faded); i++) {
        near(cb_learn_quantile(learn, faded[i].pot, .30, 1, .80, 1.3), faded[i].again, 2e-4);
    }
    cb_learn_free(learn);
}

static void no_data(void **state)
{
    (void)state;
    struct cb_learn *learn = cb_learn_new(NULL);
    near(cb_learn_quantile(learn, "any", .30, 1, .50, 0), 1.0000, 2e-4);
    near(cb_learn_quantile(learn, "any", .30, 1, .80, 0), 1.54771, 2e-4);
    near(cb_learn_quantile(learn, "any", .30, 1, .95, 0), 2.35845, 2e-4);
    near(cb_learn_quantile(learn, "any", .30, 20, .80, 0), 20 * 1.54771, 20 * 2e-4);
    near(cb_learn_cdf(learn, NULL, .30, 20, 20 * 2.35845), .95, 1e-4);
    cb_learn_free(learn);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(h1_posterior),
        cmocka_unit_test(h1_weak_and_still_wet),
        cmocka_unit_test(no_data),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
