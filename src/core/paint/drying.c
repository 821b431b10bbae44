/* SPDX-License-Identifier: MIT */
#include "core/paint/drying.h"

#include <math.h>
#include <stddef.h>

#include "core/paint/flux.h"

/* Physical constants (CODATA 2018). */
#define ZERO_C_K    273.15
#define GAS_J_MOL_K 8.314462618
/* Kiil 2006, Prog. Org. Coat. 57, 236-250: where the constant-rate stage ends, and how vapour
 * wanders through the dried skin; fitted to films of 89 to 1322 um. */
#define PACKING   0.74
#define SKIN_M2_S 7e-7
/* Arrhenius, at 23 C = 1. Forming: so that 10 C against 24 C at equal humidity comes out as trade
 * guidance has it, 6 h against 4 (estimate). 35 C: beyond it a skin forms on oil before the depth
 * is dry (estimate). */
#define FORM_J_MOL    30e3
#define SOLVENT_J_MOL 40e3
#define OIL_J_MOL     35e3
#define OIL_CAP_C     35.0
#define HELD_RH_PCT   97.0
#define BENCH_SD      0.35
#define MODEL_M       1.25 /* where there is no row (estimate) */

static double flux_of(const struct cb_climate *climate)
{
    const struct cb_exchange exchange = cb_flux_exchange(climate);
    return cb_flux_through(&exchange, 0).g_m2_min;
}

static double standard_flux(void)
{
    static double g_m2_min; /* of constants alone */
    if (!(g_m2_min > 0)) {
        g_m2_min = flux_of(&cb_climate_standard);
    }
    return g_m2_min;
}

static double arrhenius(double energy_j_mol, double temp_c)
{
    double standard_k = cb_climate_standard.temp_c + ZERO_C_K;
    return exp(energy_j_mol / GAS_J_MOL_K * (1 / standard_k - 1 / (temp_c + ZERO_C_K)));
}

double cb_drying_climate_factor(enum cb_law law, double temp_c, double rh_pct)
{
    switch (law) {
    case CB_LAW_WATER:
        return flux_of(&(struct cb_climate){temp_c, rh_pct, CB_AIR_STILL}) / standard_flux();
    case CB_LAW_SOLVENT:
        return arrhenius(SOLVENT_J_MOL, temp_c);
    case CB_LAW_OIL:
        return arrhenius(OIL_J_MOL, fmin(temp_c, OIL_CAP_C));
    }
    return 1;
}

double cb_drying_air_factor(enum cb_law law, const struct cb_climate *climate)
{
    const struct cb_climate still = {climate->temp_c, climate->rh_pct, CB_AIR_STILL};
    const struct cb_climate moved = {cb_climate_standard.temp_c, cb_climate_standard.rh_pct,
                                     climate->air};
    if (climate->air == CB_AIR_STILL) {
        return 1;
    }
    switch (law) {
    case CB_LAW_WATER:
        return flux_of(climate) / flux_of(&still);
    case CB_LAW_SOLVENT:
        return sqrt(flux_of(&moved) / standard_flux()); /* estimate */
    case CB_LAW_OIL:
        return 1;
    }
    return 1;
}

/* Is there anything for the air to do? */
static bool is_exact(const struct cb_drying *drying)
{
    return drying->from == CB_TIME_WAIT || drying->from == CB_TIME_ZERO;
}

static bool is_water(const struct cb_drying *drying)
{
    return drying->law == CB_LAW_WATER && !is_exact(drying);
}

bool cb_drying_too_cold(const struct cb_drying *drying, const struct cb_climate *climate)
{
    return is_water(drying) && climate->air != CB_AIR_DRYER && !isnan(drying->min_film_c) &&
           climate->temp_c < drying->min_film_c;
}

bool cb_drying_too_damp(const struct cb_drying *drying, const struct cb_climate *climate)
{
    return is_water(drying) && climate->air != CB_AIR_DRYER && climate->rh_pct >= HELD_RH_PCT;
}

bool cb_drying_held(const struct cb_drying *drying, const struct cb_climate *climate)
{
    return cb_drying_too_cold(drying, climate) || cb_drying_too_damp(drying, climate);
}

/* The pore water leaves through a skin that grows from nothing to skin_s_m, and the film warms as
 * less of it goes: minutes beyond those at the flux of the wet film, for 1 g/m2. */
static double minutes_through(const struct cb_exchange *exchange, double wet_g_m2_min,
                              double skin_s_m)
{
    /* Gauss and Legendre's five points and weights on 0 to 1 (Abramowitz & Stegun, table 25.4). */
    static const double points[] = {.046910077030668, .230765344947158, .5, .769234655052842,
                                    .953089922969332};
    static const double weights[] = {.118463442528095, .239314335249683, .284444444444444,
                                     .239314335249683, .118463442528095};
    double sum = 0;
    for (size_t i = 0; i < sizeof points / sizeof *points; i++) {
        sum += weights[i] / cb_flux_through(exchange, points[i] * skin_s_m).g_m2_min;
    }
    return sum - 1 / wet_g_m2_min;
}

/* Whatever the gates say of forming. */
static struct cb_phases phases_of(const struct cb_drying *drying, const struct cb_climate *climate)
{
    const struct cb_exchange exchange = cb_flux_exchange(climate);
    const double flux = cb_flux_through(&exchange, 0).g_m2_min;
    struct cb_phases phases = {
        .leave_min = drying->water_g_m2 / flux,
        .form_min = drying->form_min / arrhenius(FORM_J_MOL, exchange.temp_c),
    };
    if (drying->pores_g_m2 > 0) {
        phases.through_min =
            drying->pores_g_m2 * minutes_through(&exchange, flux, drying->skin_s_m);
    }
    return phases;
}

struct cb_phases cb_drying_phases(const struct cb_drying *drying, const struct cb_climate *climate)
{
    if (!is_water(drying)) {
        return (struct cb_phases){NAN, NAN, NAN};
    }
    if (cb_drying_too_damp(drying, climate)) {
        return (struct cb_phases){INFINITY, INFINITY, INFINITY};
    }
    struct cb_phases phases = phases_of(drying, climate);
    if (cb_drying_too_cold(drying, climate)) {
        phases.form_min = INFINITY;
    }
    return phases;
}

double cb_drying_water_left(const struct cb_drying *drying, const struct cb_climate *climate,
                            double minutes)
{
    if (!is_water(drying) || cb_drying_too_damp(drying, climate) || !(drying->water_g_m2 > 0)) {
        return NAN;
    }
    const struct cb_phases phases = phases_of(drying, climate);
    const double pores = drying->pores_g_m2 / drying->water_g_m2;
    const double steady = phases.leave_min * (1 - pores);
    if (minutes <= steady || pores <= 0) {
        return fmax(1 - minutes / phases.leave_min, 0);
    }
    /* Of the pore water the share x has left after slope x + through x^2: the flux through the
     * growing skin falls nearly as one over its thickness. */
    const double left = minutes - steady;
    const double slope = phases.leave_min * pores;
    const double x = 2 * left / (slope + sqrt(slope * slope + 4 * phases.through_min * left));
    return pores * fmax(1 - x, 0);
}

double cb_drying_formless_min(const struct cb_drying *drying, double median_min)
{
    return drying->standard_min > 0 ? median_min * (1 - drying->form_min / drying->standard_min)
                                    : 0;
}

double cb_drying_rate(const struct cb_drying *drying, const struct cb_climate *climate)
{
    if (is_exact(drying)) {
        return 1;
    }
    if (drying->law != CB_LAW_WATER) {
        return cb_drying_climate_factor(drying->law, climate->temp_c, climate->rh_pct) *
               cb_drying_air_factor(drying->law, climate);
    }
    if (cb_drying_too_damp(drying, climate)) {
        return 0;
    }
    const struct cb_phases here = phases_of(drying, climate);
    const double dried = here.leave_min + here.through_min;
    return cb_drying_too_cold(drying, climate) ? (drying->standard_min - drying->form_min) / dried
                                               : drying->standard_min / (dried + here.form_min);
}

double cb_drying_minutes(const struct cb_drying *drying, const struct cb_climate *climate,
                         double standard_min)
{
    const double rate = cb_drying_held(drying, climate) ? 0 : cb_drying_rate(drying, climate);
    return rate > 0 ? standard_min / rate : (double)INFINITY;
}

static bool same_number(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

bool cb_drying_gain_alike(const struct cb_drying *a, const struct cb_drying *b)
{
    return a->law == b->law && is_exact(a) == is_exact(b) &&
           same_number(a->min_film_c, b->min_film_c) &&
           (!is_water(a) || (a->standard_min == b->standard_min && a->water_g_m2 == b->water_g_m2 &&
                             a->pores_g_m2 == b->pores_g_m2 && a->skin_s_m == b->skin_s_m &&
                             a->form_min == b->form_min));
}

/* The spread of single films under its prior, as the learner has it before its first row:
 * log-normal around .22 with log sd .35, times the log spacing of the grid. */
static double cold_share_below(double log_ratio, double pot_sd)
{
    static const double s[] = {.10, .14, .18, .22, .28, .36, .48};
    const int last = (int)(sizeof s / sizeof *s) - 1;
    double share = 0;
    double sum = 0;
    for (int i = 0; i <= last; i++) {
        double spacing = i == 0      ? log(s[1] / s[0])
                         : i == last ? log(s[last] / s[last - 1])
                                     : log(s[i + 1] / s[i - 1]) / 2;
        double z = log(s[i] / 0.22) / 0.35;
        double weight = spacing * exp(-z * z / 2);
        double sd = sqrt(BENCH_SD * BENCH_SD + pot_sd * pot_sd + s[i] * s[i]);
        share += weight * erfc(-log_ratio / sd / sqrt(2)) / 2;
        sum += weight;
    }
    return share / sum;
}

double cb_drying_prior_quantile(const struct cb_drying *drying, double p)
{
    if (is_exact(drying)) {
        return drying->standard_min;
    }
    /* ln of the ratio to the median, by bisection: plain, exact to the last bits, off hot paths. */
    double low = -9;
    double high = 9;
    for (int i = 0; i < 60; i++) {
        double x = (low + high) / 2;
        if (cold_share_below(x, drying->pot_sd) < p) {
            low = x;
        } else {
            high = x;
        }
    }
    return drying->standard_min * exp((low + high) / 2);
}

/* What holds for a kind under a technique: the prior row, or what stands in for it. */
struct basis {
    double film_um, solids_neat, a, m;
    struct cb_parts usual;
    double median_min; /* NAN: from the model */
};

static double parts_sum(const struct cb_parts *parts)
{
    return parts->paint + parts->medium + parts->retarder + parts->water;
}

/* A solvent or oil kind under a technique without a row takes its first one. */
static const struct cb_prior *first_row(const struct cb_kinds *kinds, size_t kind)
{
    for (size_t i = 0; i < kinds->prior_count; i++) {
        if (kinds->priors[i].kind == kind) {
            return &kinds->priors[i];
        }
    }
    return NULL;
}

static struct basis basis_of(const struct cb_kinds *kinds, size_t kind, enum cb_technique technique,
                             enum cb_by by)
{
    const struct cb_kind *k = &kinds->kinds[kind];
    const struct cb_prior *row = cb_kinds_prior(kinds, kind, technique, by);
    const struct cb_technique_row *t = &kinds->techniques[technique];
    if (row == NULL && k->law != CB_LAW_WATER) {
        row = first_row(kinds, kind);
    }
    if (row == NULL) {
        return (struct basis){t->film_um,
                              k->solids,
                              t->a,
                              MODEL_M,
                              {t->usual_paint, t->usual_medium, 0, t->usual_water},
                              NAN};
    }
    struct basis out = {row->film_um,
                        NAN,
                        row->a,
                        row->m,
                        {row->usual_paint, row->usual_medium, 0, row->usual_water},
                        row->median_min};
    out.solids_neat =
        (row->solids * parts_sum(&out.usual) - kinds->medium_solids * row->usual_medium) /
        row->usual_paint;
    return out;
}

/* solids_paint: volume share of the paint parts taken together. */
static double mix_solids(const struct cb_kinds *kinds, const struct cb_parts *parts,
                         double solids_paint)
{
    double solid = parts->paint * solids_paint + parts->medium * kinds->medium_solids +
                   parts->retarder * kinds->retarder_solids;
    return solid / parts_sum(parts);
}

static void time_by_model(const struct cb_kinds *kinds, const struct basis *basis,
                          const struct cb_parts *parts, double film_um, double solids_paint,
                          struct cb_drying *out)
{
    double total = parts_sum(parts);
    double rest = total - parts->water;
    double solids = mix_solids(kinds, parts, solids_paint);
    /* Water beyond the usual share runs out thinner and carries no more water to the figure. */
    double usual_rest = parts_sum(&basis->usual) - basis->usual.water;
    double usual_water = basis->usual.water / usual_rest * rest;
    if (rest > 0 && parts->water > usual_water) {
        struct cb_parts usual = *parts;
        usual.water = usual_water;
        film_um *= (1 - mix_solids(kinds, &usual, solids_paint)) / (1 - solids);
    }
    double a = basis->a / (1 + kinds->retarder_slows * parts->retarder / total);
    /* 1 um of water is 1 g/m2. */
    const double water = film_um * (1 - solids);
    const double packed_um = film_um * solids / PACKING;
    /* An m under one, which a kinds.yaml of one's own may have: dry before the water has left. */
    const double all = fmin(basis->m, 1);
    out->water_g_m2 = all * water / a;
    out->pores_g_m2 = all * fmin((1 - PACKING) * packed_um, water) / a;
    out->skin_s_m = a * packed_um * 1e-6 / SKIN_M2_S;
    const struct cb_phases phases = phases_of(out, &cb_climate_standard);
    const double dried = phases.leave_min + phases.through_min;
    out->form_min = fmax(basis->m - 1, 0) * dried;
    out->standard_min = dried + out->form_min;
}

static struct cb_drying of_kind(const struct cb_kinds *kinds, size_t kind)
{
    const struct cb_kind *k = &kinds->kinds[kind];
    return (struct cb_drying){.law = k->law,
                              .from = CB_TIME_MODEL,
                              .min_film_c = k->min_film_c,
                              .pot_sd = k->pot_sd,
                              .label_min = NAN};
}

static void time_of(const struct cb_kinds *kinds, const struct basis *basis,
                    const struct cb_parts *parts, double film_um, double solids_paint,
                    struct cb_drying *out)
{
    if (!isnan(basis->median_min)) {
        out->standard_min = basis->median_min;
        return;
    }
    time_by_model(kinds, basis, parts, isnan(film_um) ? basis->film_um : film_um, solids_paint,
                  out);
}

struct cb_drying_usual cb_drying_usual(const struct cb_kinds *kinds, size_t kind,
                                       enum cb_technique technique, enum cb_by by)
{
    const struct basis basis = basis_of(kinds, kind, technique, by);
    return (struct cb_drying_usual){
        basis.usual, isnan(basis.median_min) ? basis.film_um : (double)NAN, basis.solids_neat};
}

struct cb_drying cb_drying_of(const struct cb_kinds *kinds, size_t kind,
                              enum cb_technique technique, enum cb_by by,
                              const struct cb_parts *mix, double film_um, double solids)
{
    const struct basis basis = basis_of(kinds, kind, technique, by);
    const struct cb_parts *parts = parts_sum(mix) > 0 ? mix : &basis.usual;
    struct cb_drying out = of_kind(kinds, kind);
    time_of(kinds, &basis, parts, film_um, isnan(solids) ? basis.solids_neat : solids, &out);
    return out;
}

void cb_drying_say(struct cb_drying *drying, double standard_min)
{
    drying->from = CB_TIME_DRY;
    if (drying->law == CB_LAW_WATER) {
        if (drying->standard_min > 0 && drying->water_g_m2 > 0) {
            const double longer = standard_min / drying->standard_min;
            drying->water_g_m2 *= longer;
            drying->pores_g_m2 *= longer;
            drying->form_min *= longer;
        } else { /* of no paint that is known: water that leaves */
            drying->water_g_m2 = standard_min * standard_flux();
        }
    }
    drying->standard_min = standard_min;
}
