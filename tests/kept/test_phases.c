/* SPDX-License-Identifier: MIT */
/*
 * The three phases of a film by our own arithmetic, done once on other algebra and kept: every row
 * of priors, rates in other air, the cold, the dryer. What is published stands in
 * tests/reference/test_physics.c.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "core/air/psychro.h"
#include "core/recipe/gate.h"
#include "support/films.h"

/* To 1 %, or to half of the last digit that is kept. */
static void about(const char *what, double got, double want, double digit)
{
    near(what, got, want, fmax(.01 * fabs(want), digit / 2));
}

static struct cb_climate still(double temp_c, double rh_pct)
{
    return (struct cb_climate){temp_c, rh_pct, CB_AIR_STILL};
}

static struct cb_drying usual(const char *kind, enum cb_technique technique, enum cb_by by,
                              double film_um)
{
    size_t index;
    assert_true(cb_kinds_find(kinds, kind, &index));
    return cb_drying_of(kinds, index, technique, by, &(struct cb_parts){0}, film_um, NAN);
}

static struct cb_drying basecoat(void)
{
    return usual("acrylic", CB_TECHNIQUE_BASECOAT, CB_BY_BRUSH, NAN);
}

static double minutes(const struct cb_drying *d, struct cb_climate climate)
{
    return cb_drying_minutes(d, &climate, d->standard_min);
}

static double rate(const struct cb_drying *d, struct cb_climate climate)
{
    return cb_drying_rate(d, &climate);
}

/* The air alone. */

static void climate_factors(void **state)
{
    (void)state;
    static const struct {
        double temp_c, rh_pct, k;
    } rows[] = {{5, 50, .498},   {10, 50, .623},  {15, 50, .760},  {19, 50, .877},
                {20, 50, .908},  {25, 50, 1.063}, {28, 50, 1.159}, {30, 50, 1.224},
                {35, 50, 1.388}, {23, 20, 1.708}, {23, 30, 1.461}, {23, 62, .742},
                {23, 65, .679},  {23, 70, .576},  {23, 80, .377},  {23, 90, .185},
                {19, 62, .653},  {15, 80, .291},  {28, 35, 1.566}, {10.5, 50, .637}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        about("k", cb_drying_climate_factor(CB_LAW_WATER, rows[i].temp_c, rows[i].rh_pct),
              rows[i].k, .001);
    }
}

/* The same balance by halving. */
static double halved(const struct cb_exchange *e, double skin_s_m)
{
    const double kelvin = e->temp_c + 273.15;
    double low = e->temp_c - 60, high = e->temp_c, mass = 0;
    for (int i = 0; i < 60; i++) {
        const double film = (low + high) / 2;
        const double full =
            cb_psychro_svp_pa(film) * .018015 / (8.314462618 * (film + 273.15)) - e->vapour_kg_m3;
        mass = full / (1 / e->hm_m_s + skin_s_m);
        const double heat = e->hc_w_m2_k * (e->temp_c - film) +
                            .93 * 5.670374419e-8 * (pow(kelvin, 4) - pow(film + 273.15, 4));
        if (heat > (2501e3 - 2361 * film) * mass) {
            low = film;
        } else {
            high = film;
        }
    }
    return fmax(mass, 0) * 60e3 * e->share;
}

/* E + I, the mean over the skin by 400 midpoints. */
static double dries(const struct cb_exchange *e, double film_um, double solids, double a)
{
    const double packed_um = film_um * solids / .74, wet = halved(e, 0);
    double mean = 0;
    for (int i = 0; i < 400; i++) {
        mean += 1 / halved(e, (i + .5) / 400 * a * packed_um * 1e-6 / 7e-7) / 400;
    }
    return film_um * (1 - solids) / a / wet + .26 * packed_um / a * (mean - 1 / wet);
}

static void bodies(void **state)
{
    (void)state;
    static const struct {
        double body_m, flux;
    } rows[] = {{.015, 2.75}, {.008, 3.90}, {.004, 5.97}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct cb_exchange e = cb_flux_exchange_over(23, 50, .10, rows[i].body_m);
        const struct cb_exchange cold = cb_flux_exchange_over(10, 50, .10, rows[i].body_m);
        about("flux", cb_flux_through(&e, 0).g_m2_min, rows[i].flux, .01);
        /* Times of coats on other bodies: as the flux for thin ones, somewhat less for pastes. */
        static const struct {
            double film_um, solids, a;
        } films[] = {{25, .22, 1}, {1000, .55, .9}};
        const struct cb_climate at = still(23, 50);
        const struct cb_exchange ours = cb_flux_exchange(&at);
        double longer[2];
        for (size_t f = 0; f < 2; f++) {
            longer[f] = dries(&e, films[f].film_um, films[f].solids, films[f].a) /
                        dries(&ours, films[f].film_um, films[f].solids, films[f].a);
        }
        near("a thin coat", longer[0], 3.90 / rows[i].flux, .01);
        assert_true(fabs(longer[1] - 1) <= fabs(longer[0] - 1) + 1e-9);
        assert_true((longer[1] >= 1) == (longer[0] >= 1));
        near("k hardly depends on the body",
             cb_flux_through(&cold, 0).g_m2_min / cb_flux_through(&e, 0).g_m2_min, .62, .02);
    }
    const struct cb_climate at = still(23, 50), cool = still(15, 50);
    struct cb_exchange e = cb_flux_exchange(&at);
    near("film at 23/50", cb_flux_through(&e, 0).film_c, 16.4, .05);
    about("hm in still air", e.hm_m_s, .0176, .0001);
    e = cb_flux_exchange(&cool);
    near("film at 15/50", cb_flux_through(&e, 0).film_c, 9.9, .05);
}

static void through_the_skin(void **state)
{
    (void)state;
    static const double films_um[] = {25, 500, 1000, 4000};
    static const struct cb_climate climates[] = {{23, 50, CB_AIR_STILL},   {10, 50, CB_AIR_STILL},
                                                 {30, 20, CB_AIR_FAN},     {23, 90, CB_AIR_STILL},
                                                 {15, 80, CB_AIR_DRAUGHT}, {10, 85, CB_AIR_DRYER}};
    for (size_t f = 0; f < COUNT(films_um); f++) {
        struct cb_drying d = usual("texture paste", CB_TECHNIQUE_TEXTURE, CB_BY_BRUSH, films_um[f]);
        near("pores", d.pores_g_m2, .26 * films_um[f] * .55 / .74 / .9, 1e-9);
        for (size_t c = 0; c < COUNT(climates); c++) {
            const struct cb_exchange e = cb_flux_exchange(&climates[c]);
            const struct cb_phases phases = cb_drying_phases(&d, &climates[c]);
            const double leave = films_um[f] * .45 / .9 / halved(&e, 0);
            const double want = dries(&e, films_um[f], .55, .9) - leave;
            near("E", phases.leave_min, leave, 1e-6 * leave);
            near("I", phases.through_min, want, 1e-3 * want);
        }
    }
}

/* Rows of priors. */

static void priors(void **state)
{
    (void)state;
    static const struct {
        const char *kind;
        enum cb_technique technique;
        enum cb_by by;
        double film_um;              /* NAN: the row's */
        double leave, through, form; /* at 23/50, to hundredths */
        double at_23_50, at_19_62, at_15_80, at_28_35, digit, fan;
    } rows[] = {
        {"acrylic", CB_TECHNIQUE_UNDERCOAT, CB_BY_BRUSH, NAN, 8.31, .10, 5.05, 13.5, 18.8, 36.0,
         9.5, .1, 1.62},
        {"acrylic", CB_TECHNIQUE_UNDERCOAT, CB_BY_AIRBRUSH, NAN, 5.77, .03, 2.90, 8.7, 12.3, 24.0,
         6.1, .1, 1.70},
        {"acrylic", CB_TECHNIQUE_BASECOAT, CB_BY_BRUSH, NAN, 5.00, .02, 1.26, 6.3, 9.2, 19.0, 4.2,
         .1, 1.98},
        {"acrylic", CB_TECHNIQUE_LAYER, CB_BY_BRUSH, NAN, 3.00, .01, .60, 3.6, 5.3, 11.2, 2.4, .1,
         2.06},
        {"metallic", CB_TECHNIQUE_BASECOAT, CB_BY_BRUSH, NAN, 4.81, .02, 1.45, 6.3, 9.1, 18.6, 4.3,
         .1, 1.90},
        {"wash", CB_TECHNIQUE_WASH, CB_BY_BRUSH, NAN, 11.80, .01, 2.95, 14.8, 21.6, 44.7, 10.0, .1,
         1.98},
        {"wash", CB_TECHNIQUE_RECESS_SHADE, CB_BY_BRUSH, NAN, 9.18, .00, 1.84, 11.0, 16.2, 34.1,
         7.4, .1, 2.07},
        {"stain", CB_TECHNIQUE_RECESS_SHADE, CB_BY_BRUSH, NAN, 9.18, .00, 1.84, 11.0, 16.2, 34.1,
         7.4, .1, 2.07},
        {"wash", CB_TECHNIQUE_RECESS_SHADE, CB_BY_BRUSH, 90, 23.6, .03, 4.73, 28.4, 41.8, 87.8,
         19.0, .1, 2.07},
        {"acrylic", CB_TECHNIQUE_GLAZE, CB_BY_BRUSH, NAN, 3.08, .00, .77, 3.8, 5.6, 11.6, 2.6, .1,
         1.98},
        {"metallic", CB_TECHNIQUE_EDGE_HIGHLIGHT, CB_BY_BRUSH, NAN, 2.39, .02, .24, 2.7, 4.0, 8.6,
         1.7, .1, 2.26},
        {"acrylic", CB_TECHNIQUE_DRYBRUSH, CB_BY_BRUSH, NAN, .71, .00, .07, .8, 1.2, 2.5, .5, .1,
         2.27},
        {"brush varnish", CB_TECHNIQUE_VARNISH, CB_BY_BRUSH, NAN, 7.39, .08, 11.20, 18.7, 24.7,
         41.3, 13.9, .1, 1.33},
        {"brush varnish", CB_TECHNIQUE_VARNISH, CB_BY_AIRBRUSH, NAN, 4.81, .02, 4.83, 9.7, 13.1,
         23.4, 7.0, .1, 1.45},
        {"texture paste", CB_TECHNIQUE_TEXTURE, CB_BY_BRUSH, 500, 64.1, 43.2, 10.7, 118, 182, 404,
         75, 1, 1.52},
        {"texture paste", CB_TECHNIQUE_TEXTURE, CB_BY_BRUSH, 1000, 128, 170, 29.9, 329, 512, 1154,
         207, 1, 1.33},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_drying d = usual(rows[i].kind, rows[i].technique, rows[i].by, rows[i].film_um);
        const struct cb_phases phases = cb_drying_phases(&d, &cb_climate_standard);
        const char *kind = rows[i].kind;
        about(kind, phases.leave_min, rows[i].leave, .01);
        about(kind, phases.through_min, rows[i].through, .01);
        about(kind, phases.form_min, rows[i].form, .01);
        about(kind, d.standard_min, rows[i].at_23_50, rows[i].digit);
        about(kind, minutes(&d, still(19, 62)), rows[i].at_19_62, rows[i].digit);
        about(kind, minutes(&d, still(15, 80)), rows[i].at_15_80, rows[i].digit);
        about(kind, minutes(&d, still(28, 35)), rows[i].at_28_35, rows[i].digit);
        about(kind, rate(&d, (struct cb_climate){23, 50, CB_AIR_FAN}), rows[i].fan, .01);
        near("rate at the standard climate", rate(&d, cb_climate_standard), 1, 1e-12);
        near("cold-start ping at 80 %", cb_drying_prior_quantile(&d, .80) / d.standard_min,
             d.pot_sd > .5 ? 1.79 : 1.55, .01);
    }
    static const struct {
        const char *kind;
        enum cb_technique technique;
        enum cb_by by;
        double minutes, ping;
    } given[] = {{"spray undercoat", CB_TECHNIQUE_UNDERCOAT, CB_BY_CAN, 30, 1.55}, /* mem */
                 {"spray varnish", CB_TECHNIQUE_VARNISH, CB_BY_CAN, 40, 1.55},     /* mem */
                 {"enamel", CB_TECHNIQUE_WASH, CB_BY_BRUSH, 720, 1.74},            /* judgement */
                 {"oil", CB_TECHNIQUE_WASH, CB_BY_BRUSH, 2160, 1.74}};             /* mem */
    for (size_t i = 0; i < COUNT(given); i++) {
        struct cb_drying d = usual(given[i].kind, given[i].technique, given[i].by, NAN);
        near(given[i].kind, d.standard_min, given[i].minutes, 1e-9);
        near("cold-start ping at 80 %", cb_drying_prior_quantile(&d, .80) / d.standard_min,
             given[i].ping, .01);
        assert_true(isnan(cb_drying_phases(&d, &cb_climate_standard).leave_min));
    }
}

/* Own arithmetic: W0 = 25 x .78 = 19.5 g/m2, / 3.90 = 5.00; + .02; C = .25 x 5.02 = 1.26. */
static void rates(void **state)
{
    (void)state;
    struct cb_drying wash = usual("wash", CB_TECHNIQUE_WASH, CB_BY_BRUSH, NAN);
    about("wash at 19/62", rate(&wash, still(19, 62)), .684, .001);
    about("wash at 15/80", rate(&wash, still(15, 80)), .331, .001);
    about("wash at 28/35", rate(&wash, still(28, 35)), 1.483, .001);
    struct cb_drying paste = usual("texture paste", CB_TECHNIQUE_TEXTURE, CB_BY_BRUSH, 500);
    static const struct {
        double temp_c, rh_pct, rate;
    } rows[] = {{10, 50, .466}, {30, 50, 1.456}, {23, 80, .409}};
    const double standard = cb_drying_phases(&paste, &cb_climate_standard).through_min;
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct cb_climate c = still(rows[i].temp_c, rows[i].rh_pct);
        near("I of a paste alone", standard / cb_drying_phases(&paste, &c).through_min,
             rows[i].rate, .01 * rows[i].rate);
    }
    struct cb_drying thin = basecoat();
    static const struct {
        double temp_c, rate;
    } forms[] = {{10, .572}, {15, .713}, {19, .846}, {28, 1.224}};
    for (size_t i = 0; i < COUNT(forms); i++) {
        for (double rh = 10; rh < 97; rh += 40) {
            const struct cb_climate c = {forms[i].temp_c, rh, CB_AIR_FAN};
            about("forming", thin.form_min / cb_drying_phases(&thin, &c).form_min, forms[i].rate,
                  .001);
        }
    }
}

static void airs(void **state)
{
    (void)state;
    static const struct {
        enum cb_air air;
        double factor;
    } rows[] = {{CB_AIR_STILL, 1}, {CB_AIR_DRAUGHT, 1.417}, {CB_AIR_FAN, 2.631}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        about(cb_air_name(rows[i].air),
              cb_drying_air_factor(CB_LAW_WATER, &(struct cb_climate){23, 50, rows[i].air}),
              rows[i].factor, .001);
    }
    /* The dryer's flux over that of the standard climate. */
    static const struct {
        double temp_c, rh_pct, times;
    } dryer[] = {{23, 50, 6.1}, {23, 80, 5.0}, {15, 80, 6.2}, {10, 85, 6.6}, {28, 35, 6.2}};
    struct cb_drying thin = basecoat();
    for (size_t i = 0; i < COUNT(dryer); i++) {
        const struct cb_climate c = {dryer[i].temp_c, dryer[i].rh_pct, CB_AIR_DRYER};
        const double k = cb_drying_climate_factor(CB_LAW_WATER, c.temp_c, c.rh_pct);
        about("dryer", k * cb_drying_air_factor(CB_LAW_WATER, &c), dryer[i].times, .1);
        about("forming at 40 C", thin.form_min / cb_drying_phases(&thin, &c).form_min, 1.94, .01);
    }
    about("thin basecoat under a dryer", rate(&thin, (struct cb_climate){10.1, 60, CB_AIR_DRYER}),
          4.6, .1);
    assert_false(cb_drying_held(&thin, &(struct cb_climate){4, 99, CB_AIR_DRYER}));
    /* A paste under it: the three quarters count in the skin too. */
    struct cb_drying paste = usual("texture paste", CB_TECHNIQUE_TEXTURE, CB_BY_BRUSH, 1000);
    const struct cb_climate warm = {23, 50, CB_AIR_DRYER};
    struct cb_exchange e = cb_flux_exchange(&warm);
    near("share", e.share, .75, 0);
    near("air of its own", e.temp_c, 40, 0);
    const struct cb_phases part = cb_drying_phases(&paste, &warm);
    near("E under it", part.leave_min, paste.water_g_m2 / halved(&e, 0), 1e-6 * part.leave_min);
}

/* 20 standard minutes, ten of them at 23/50, the rest at 23/80. */
static void two_climates(void **state)
{
    (void)state;
    struct cb_drying d = basecoat();
    const double model = d.standard_min;
    const struct cb_phases before = cb_drying_phases(&d, &cb_climate_standard);
    cb_drying_say(&d, 20);
    const struct cb_phases after = cb_drying_phases(&d, &cb_climate_standard);
    near("leaves its share", after.leave_min / 20, before.leave_min / model, 1e-12);
    near("comes through its share", after.through_min / 20, before.through_min / model, 1e-12);
    near("forms its share", after.form_min / 20, before.form_min / model, 1e-12);
    near("rate", rate(&d, still(23, 80)), .431, .001);
    near("dry after", 10 + 10 / rate(&d, still(23, 80)), 33.2, .1);
    struct cb_drying first = basecoat();
    near("the same rate", rate(&d, still(12, 70)), rate(&first, still(12, 70)), 1e-12);
}

/* A table of one's own may call a film dry before its water has left. */
static void under_one(void **state)
{
    (void)state;
    struct cb_prior half = *cb_kinds_prior(kinds, 0, CB_TECHNIQUE_BASECOAT, CB_BY_BRUSH);
    struct cb_kinds own = *kinds;
    struct cb_drying all = basecoat();
    half.m = .5;
    own.priors = &half;
    own.prior_count = 1;
    struct cb_drying d = cb_drying_of(&own, half.kind, CB_TECHNIQUE_BASECOAT, CB_BY_BRUSH,
                                      &(struct cb_parts){0}, NAN, NAN);
    near("half of what leaves", d.standard_min, .5 * (all.standard_min - all.form_min), 1e-9);
    near("nothing forms", d.form_min, 0, 0);
}

static void too_cold(void **state)
{
    (void)state;
    struct cb_drying d = basecoat();
    const struct cb_climate cold = still(9.9, 60), fair = still(10.1, 60);
    const struct cb_phases below = cb_drying_phases(&d, &cold), above = cb_drying_phases(&d, &fair);
    assert_true(isinf(below.form_min) && isfinite(above.form_min));
    near("water leaves as it does just above", below.leave_min / above.leave_min, 1, .01);
    const struct cb_phases standard = cb_drying_phases(&d, &cb_climate_standard);
    const double dries = standard.leave_min + standard.through_min;
    near("rate in the cold", rate(&d, cold), dries / (below.leave_min + below.through_min), 1e-12);
    near("hardly a step", rate(&d, cold) / rate(&d, fair), 1, .04);
    near("as far as it gets", cb_drying_formless_min(&d, d.standard_min), dries, 1e-12);
    near("of a learned median", cb_drying_formless_min(&d, 100), 100 * dries / d.standard_min,
         1e-12);
    assert_true(isinf(minutes(&d, cold)) && isfinite(minutes(&d, fair)));
    near("too damp: all stands", rate(&d, still(23, 97)), 0, 0);
    assert_true(isinf(cb_drying_phases(&d, &(struct cb_climate){23, 97, CB_AIR_FAN}).leave_min));
    struct cb_drying oil = usual("oil", CB_TECHNIQUE_WASH, CB_BY_BRUSH, NAN);
    assert_false(cb_drying_held(&oil, &(struct cb_climate){4, 98, CB_AIR_STILL}));
}

/* Minutes to the ping at 80 %, before anything was learned. */
static void evenings(void **state)
{
    (void)state;
    static const struct {
        const char *kind;
        enum cb_technique technique;
        struct cb_climate climate;
        double ping;
    } rows[] = {{"acrylic", CB_TECHNIQUE_BASECOAT, {19, 62, CB_AIR_STILL}, 14},
                {"wash", CB_TECHNIQUE_WASH, {19, 62, CB_AIR_STILL}, 33},
                {"wash", CB_TECHNIQUE_RECESS_SHADE, {19, 62, CB_AIR_STILL}, 25},
                {"brush varnish", CB_TECHNIQUE_VARNISH, {19, 62, CB_AIR_STILL}, 38},
                {"brush varnish", CB_TECHNIQUE_VARNISH, {15, 80, CB_AIR_STILL}, 64}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_drying d = usual(rows[i].kind, rows[i].technique, CB_BY_BRUSH, NAN);
        near(rows[i].kind,
             cb_drying_minutes(&d, &rows[i].climate, cb_drying_prior_quantile(&d, .80)),
             rows[i].ping, .5);
    }
    struct cb_gates gates;
    struct cb_drying shade = usual("wash", CB_TECHNIQUE_RECESS_SHADE, CB_BY_BRUSH, NAN);
    cb_gate_check(&shade, CB_TECHNIQUE_RECESS_SHADE, false, &cb_climate_standard, &arena, &gates);
    about("left to pool", gates.items[0].value, 28.4, .1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(climate_factors),
        cmocka_unit_test(bodies),
        cmocka_unit_test(through_the_skin),
        cmocka_unit_test(priors),
        cmocka_unit_test(rates),
        cmocka_unit_test(airs),
        cmocka_unit_test(two_climates),
        cmocka_unit_test(too_cold),
        cmocka_unit_test(under_one),
        cmocka_unit_test(evenings),
    };
    return cmocka_run_group_tests_name("phases", tests, load, unload);
}
