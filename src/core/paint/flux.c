/* SPDX-License-Identifier: MIT */
#include "core/paint/flux.h"

#include <math.h>

#include "core/air/psychro.h"

/* Physical constants (CODATA 2018). */
#define ZERO_C_K       273.15
#define GAS_J_MOL_K    8.314462618
#define WATER_KG_MOL   0.018015
#define STEFAN_W_M2_K4 5.670374419e-8
/* Gas constant and heat capacity of dry air (mem). */
#define AIR_J_KG_K    287.05
#define AIR_CP_J_KG_K 1006.0
/* Of paint (estimate). */
#define EMISSIVITY 0.93
/* A warm dryer held well off (own estimates): its air, and the share of its flux that is counted
 * on, since nobody holds it still. */
#define DRYER_C     40.0
#define DRYER_SHARE 0.75

static const double speeds_m_s[] = {
    /* own estimates */
    [CB_AIR_STILL] = 0.10,
    [CB_AIR_DRAUGHT] = 0.30,
    [CB_AIR_FAN] = 1.5,
    [CB_AIR_DRYER] = 2,
};
_Static_assert(sizeof speeds_m_s / sizeof *speeds_m_s == CB_AIR_COUNT, "one for each air");

static double vapour_kg_m3(double pressure_pa, double temp_c)
{
    return pressure_pa * WATER_KG_MOL / (GAS_J_MOL_K * (temp_c + ZERO_C_K));
}

static struct cb_exchange exchange_of(double temp_c, double vapour_pa, double air_m_s,
                                      double body_m)
{
    const double kelvin = temp_c + ZERO_C_K;
    const double density = CB_PRESSURE_PA / (AIR_J_KG_K * kelvin);
    /* Sutherland's law (mem). */
    const double viscosity =
        1.716e-5 * pow(kelvin / ZERO_C_K, 1.5) * (ZERO_C_K + 110.4) / (kelvin + 110.4);
    const double conductivity = 0.02436 + 7.1e-5 * temp_c; /* linear fit (estimate) */
    /* Massman 1998, Atmos. Environ. 32, 1111-1127 (mem). */
    const double diffusivity = 2.178e-5 * pow(kelvin / ZERO_C_K, 1.81);
    const double reynolds = density * air_m_s * body_m / viscosity;
    const double prandtl = viscosity * AIR_CP_J_KG_K / conductivity;
    /* Ranz & Marshall 1952, Chem. Eng. Prog. 48 (mem); fitted to Reynolds numbers up to 200, and a
     * fan is beyond it. */
    const double nusselt = 2 + 0.6 * sqrt(reynolds) * cbrt(prandtl);
    const double hc = nusselt * conductivity / body_m;
    /* Chilton & Colburn 1934 (mem). */
    const double lewis = conductivity / (density * AIR_CP_J_KG_K) / diffusivity;
    return (struct cb_exchange){
        .temp_c = temp_c,
        .vapour_kg_m3 = vapour_kg_m3(vapour_pa, temp_c),
        .hc_w_m2_k = hc,
        .hm_m_s = hc / (density * AIR_CP_J_KG_K * pow(lewis, 2.0 / 3)),
        .share = 1,
    };
}

struct cb_exchange cb_flux_exchange_over(double temp_c, double rh_pct, double air_m_s,
                                         double body_m)
{
    return exchange_of(temp_c, cb_psychro_svp_pa(temp_c) * rh_pct / 100, air_m_s, body_m);
}

struct cb_exchange cb_flux_exchange(const struct cb_climate *climate)
{
    const bool dryer = climate->air == CB_AIR_DRYER;
    const double vapour_pa = cb_psychro_svp_pa(climate->temp_c) * climate->rh_pct / 100;
    /* In a room that is hotter still it blows the room's air. */
    const double temp_c = dryer ? fmax(climate->temp_c, DRYER_C) : climate->temp_c;
    struct cb_exchange exchange =
        exchange_of(temp_c, vapour_pa, speeds_m_s[climate->air], CB_FLUX_BODY_M);
    exchange.share = dryer ? DRYER_SHARE : 1;
    return exchange;
}

#define STEPS_MAX 40 /* five are usual */
#define SURE_K    1e-11

struct cb_flux cb_flux_through(const struct cb_exchange *exchange, double skin_s_m)
{
    const double air_k = exchange->temp_c + ZERO_C_K;
    const double transfer_m_s = 1 / (1 / exchange->hm_m_s + skin_s_m);
    double film_c = exchange->temp_c, kg_m2_s = 0;
    /* Heat in by convection and radiation less heat out with the vapour falls, and falls faster,
     * with the film's temperature: from the air's on Newton's steps come down to the balance. */
    for (int i = 0; i < STEPS_MAX; i++) {
        const double film_k = film_c + ZERO_C_K;
        const double latent = 2501e3 - 2361 * film_c; /* FAO-56 annex 3 (mem) */
        const double saturated = vapour_kg_m3(cb_psychro_svp_pa(film_c), film_c);
        /* d ln of it / dT: of Alduchov & Eskridge's formula, less that of the ideal gas */
        const double growth = 17.625 * 243.04 / pow(243.04 + film_c, 2) - 1 / film_k;
        const double radiated = EMISSIVITY * STEFAN_W_M2_K4 * film_k * film_k * film_k;
        kg_m2_s = transfer_m_s * (saturated - exchange->vapour_kg_m3);
        const double heat = exchange->hc_w_m2_k * (exchange->temp_c - film_c) +
                            EMISSIVITY * STEFAN_W_M2_K4 * pow(air_k, 4) - radiated * film_k -
                            latent * kg_m2_s;
        const double slope = exchange->hc_w_m2_k + 4 * radiated +
                             latent * transfer_m_s * saturated * growth - 2361 * kg_m2_s;
        const double step = heat / slope;
        film_c += step;
        if (fabs(step) < SURE_K) {
            break;
        }
    }
    return (struct cb_flux){fmax(kg_m2_s, 0) * exchange->share * 1000 * 60, film_c};
}
