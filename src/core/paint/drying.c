/* SPDX-License-Identifier: MIT */
#include "core/paint/drying.h"

#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include "core/air/psychro.h"

/* Physical constants (CODATA 2018; steam: R over 18.015 g/mol). */
#define ZERO_C_K       273.15
#define GAS_J_MOL_K    8.314462618
#define VAPOUR_J_KG_K  461.52
#define STEFAN_W_M2_K4 5.670374419e-8
/* Air: ideal gas, molar mass 28.965 g/mol; heat capacity and Prandtl number of dry air (mem). */
#define AIR_J_KG_K    287.05
#define AIR_CP_J_KG_K 1006.0
#define AIR_PRANDTL   0.71
/* Constants of the flux; the estimates are own judgement. */
#define EMISSIVITY 0.93
#define BODY_M     0.015 /* a 28 to 32 mm figure across (estimate) */
/* Kiil 2006, Prog. Org. Coat. 57, 236-250. */
#define PACKING   0.74
#define SKIN_M2_S 7e-7
/* Arrhenius, at 23 C = 1. 35 C: beyond it a skin forms on oil before the depth is dry (estimate).
 */
#define SOLVENT_J_MOL 40e3
#define OIL_J_MOL     35e3
#define OIL_CAP_C     35.0
#define HELD_RH_PCT   97.0
#define BENCH_SD      0.35
#define MODEL_M       1.25 /* where there is no row (estimate) */

/* The flux at .10, .30, 1.5 m/s and, for the dryer, 8 (own estimates) over that in still air,
 * rounded; dryer: cautious. */
#define STILL_M_S 0.10
static const double air_factors[] = {
    [CB_AIR_STILL] = 1,
    [CB_AIR_DRAUGHT] = 1.44,
    [CB_AIR_FAN] = 2.7,
    [CB_AIR_DRYER] = 6,
};
_Static_assert(sizeof air_factors / sizeof *air_factors == CB_AIR_COUNT, "one for each air");

static double vapour_kg_m3(double temp_c, double rh_pct)
{
    return cb_psychro_svp_pa(temp_c) * rh_pct / 100 / (VAPOUR_J_KG_K * (temp_c + ZERO_C_K));
}

static double fourth_power(double x)
{
    return x * x * x * x;
}

struct cb_flux cb_drying_flux_over(double temp_c, double rh_pct, double air_m_s, double body_m)
{
    double kelvin = temp_c + ZERO_C_K;
    double density = CB_PRESSURE_PA / (AIR_J_KG_K * kelvin);
    /* Sutherland's law for air (White, Viscous Fluid Flow; mem). */
    double viscosity = 1.716e-5 * pow(kelvin / ZERO_C_K, 1.5) * (ZERO_C_K + 111) / (kelvin + 111);
    double conductivity = viscosity * AIR_CP_J_KG_K / AIR_PRANDTL;
    /* Massman 1998, Atmos. Environ. 32, 1111-1127 (mem). */
    double diffusivity = 2.178e-5 * pow(kelvin / ZERO_C_K, 1.81);
    double reynolds = density * air_m_s * body_m / viscosity;
    /* Ranz & Marshall 1952, Chem. Eng. Prog. 48 (mem). */
    double nusselt = 2 + 0.6 * sqrt(reynolds) * cbrt(AIR_PRANDTL);
    double hc = nusselt * conductivity / body_m;
    /* Chilton & Colburn 1934 (mem). */
    double lewis = conductivity / (density * AIR_CP_J_KG_K) / diffusivity;
    double hm = hc / (density * AIR_CP_J_KG_K * pow(lewis, 2.0 / 3));
    struct cb_flux flux = {.film_c = temp_c, .hm_m_s = hm};
    double vapour = vapour_kg_m3(temp_c, rh_pct);
    if (rh_pct >= 100) {
        return flux;
    }
    /* Heat in by convection and radiation = heat out with the vapour; 46 halvings of 60 K are
     * 1e-12 K. */
    double low = temp_c - 60;
    double high = temp_c;
    for (int i = 0; i < 46; i++) {
        double film = (low + high) / 2;
        double mass = hm * (vapour_kg_m3(film, 100) - vapour); /* kg/m2 s */
        double latent = 2501e3 - 2361 * film;                  /* FAO-56 annex 3 (mem) */
        double heat =
            hc * (temp_c - film) +
            EMISSIVITY * STEFAN_W_M2_K4 * (fourth_power(kelvin) - fourth_power(film + ZERO_C_K));
        if (heat > latent * mass) {
            low = film;
        } else {
            high = film;
        }
    }
    flux.film_c = (low + high) / 2;
    flux.g_m2_min = fmax(hm * (vapour_kg_m3(flux.film_c, 100) - vapour), 0) * 1000 * 60;
    return flux;
}

static struct cb_flux flux_on_figure(double temp_c, double rh_pct)
{
    return cb_drying_flux_over(temp_c, rh_pct, STILL_M_S, BODY_M);
}

#define FLUXES 4096 /* what twelve bits of a hash reach: a room has some thousand climates */

/* The bisection is the dear part of all drying, and a log asks for the same climates again and
 * again. What was found is kept under both of its arguments, to the bit: nothing can make it stale.
 */
double cb_drying_flux(double temp_c, double rh_pct)
{
    static struct {
        double temp_c, rh_pct, g_m2_min;
        bool known;
    } found[FLUXES];
    uint64_t bits[2];
    memcpy(&bits[0], &temp_c, sizeof bits[0]);
    memcpy(&bits[1], &rh_pct, sizeof bits[1]);
    /* Multiplicative hashing, Knuth, The Art of Computer Programming, vol. 3, 6.4. */
    const size_t at = (size_t)(((bits[0] ^ (bits[1] << 1)) * UINT64_C(11400714819323198485)) >> 52);
    if (!found[at].known || memcmp(&found[at].temp_c, &temp_c, sizeof temp_c) != 0 ||
        memcmp(&found[at].rh_pct, &rh_pct, sizeof rh_pct) != 0) {
        found[at].temp_c = temp_c;
        found[at].rh_pct = rh_pct;
        found[at].g_m2_min = flux_on_figure(temp_c, rh_pct).g_m2_min;
        found[at].known = true;
    }
    return found[at].g_m2_min;
}

double cb_drying_film_temp_c(double temp_c, double rh_pct)
{
    return flux_on_figure(temp_c, rh_pct).film_c;
}

static struct cb_flux standard_flux(void)
{
    static struct cb_flux flux; /* of constants alone */
    if (!(flux.g_m2_min > 0)) {
        flux = flux_on_figure(cb_climate_standard.temp_c, cb_climate_standard.rh_pct);
    }
    return flux;
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
        return cb_drying_flux(temp_c, rh_pct) / standard_flux().g_m2_min;
    case CB_LAW_SOLVENT:
        return arrhenius(SOLVENT_J_MOL, temp_c);
    case CB_LAW_OIL:
        return arrhenius(OIL_J_MOL, fmin(temp_c, OIL_CAP_C));
    }
    return 1;
}

double cb_drying_air_factor(enum cb_law law, enum cb_air air)
{
    switch (law) {
    case CB_LAW_WATER:
        return air_factors[air];
    case CB_LAW_SOLVENT:
        return sqrt(air_factors[air]);
    case CB_LAW_OIL:
        return 1;
    }
    return 1;
}

struct cb_film_times cb_drying_film_times(double film_um, double solids, double a,
                                          const struct cb_flux *flux)
{
    double rate = flux->g_m2_min * a;
    double water = film_um * (1 - solids); /* g/m2: 1 um of water is 1 g/m2 */
    double packed_um = film_um * solids / PACKING;
    double pores = fmin((1 - PACKING) * packed_um, water);
    double biot = flux->hm_m_s * a * packed_um * 1e-6 / SKIN_M2_S;
    return (struct cb_film_times){.outer_min = water / rate, .inner_min = pores / rate * biot / 2};
}

bool cb_drying_held(const struct cb_drying *drying, const struct cb_climate *climate)
{
    if (drying->from == CB_TIME_WAIT || drying->from == CB_TIME_ZERO ||
        drying->law != CB_LAW_WATER) {
        return false;
    }
    return climate->rh_pct >= HELD_RH_PCT ||
           (!isnan(drying->min_film_c) && climate->temp_c < drying->min_film_c);
}

double cb_drying_water_left(const struct cb_drying *drying, const struct cb_climate *climate,
                            double minutes)
{
    double k = cb_drying_climate_factor(drying->law, climate->temp_c, climate->rh_pct);
    if (drying->law != CB_LAW_WATER || drying->from == CB_TIME_WAIT ||
        drying->from == CB_TIME_ZERO || cb_drying_held(drying, climate) || k <= 0 ||
        !(drying->m > 0)) {
        return NAN;
    }
    double air = cb_drying_air_factor(drying->law, climate->air);
    double gone = drying->standard_min / drying->m / k; /* until the water has left, still air */
    double outer = gone * (1 - drying->inner_share) / air;
    double inner = gone * drying->inner_share;
    double pores = drying->pore_share;
    double steady = outer * (1 - pores);
    if (minutes <= steady || pores <= 0) {
        return fmax(1 - minutes / outer, 0);
    }
    /* Of the pore water the share x has left after outer pores x + inner x^2. */
    double left = minutes - steady;
    double slope = outer * pores;
    double x = 2 * left / (slope + sqrt(slope * slope + 4 * inner * left));
    return pores * fmax(1 - x, 0);
}

double cb_drying_rate(const struct cb_drying *drying, const struct cb_climate *climate)
{
    if (drying->from == CB_TIME_WAIT || drying->from == CB_TIME_ZERO) {
        return 1;
    }
    if (cb_drying_held(drying, climate)) {
        return 0;
    }
    double k = cb_drying_climate_factor(drying->law, climate->temp_c, climate->rh_pct);
    double air = cb_drying_air_factor(drying->law, climate->air);
    return k / (drying->inner_share + (1 - drying->inner_share) / air);
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
    if (drying->from == CB_TIME_WAIT || drying->from == CB_TIME_ZERO) {
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
    struct cb_flux flux = standard_flux();
    struct cb_film_times times = cb_drying_film_times(film_um, solids, a, &flux);
    out->standard_min = basis->m * (times.outer_min + times.inner_min);
    out->inner_share = times.inner_min / (times.outer_min + times.inner_min);
    out->m = basis->m;
    double water = film_um * (1 - solids);
    out->pore_share =
        water > 0 ? fmin((1 - PACKING) * film_um * solids / PACKING, water) / water : 0;
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
