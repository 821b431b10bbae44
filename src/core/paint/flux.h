/* SPDX-License-Identifier: MIT */
/*
 * How fast water leaves a figure: mass transfer and heat balance of a film on a small body, with or
 * without a dried skin over it. Model and sources: coatbell-model(7).
 */
#ifndef CB_CORE_PAINT_FLUX_H
#define CB_CORE_PAINT_FLUX_H

#include "core/air/climate.h"

/* A 28 to 32 mm figure's limb, fold or head across (estimate, and the largest one of all). */
#define CB_FLUX_BODY_M 0.008

/* What the air does to a body in it. */
struct cb_exchange {
    double temp_c;       /* of the air and of what the body sees */
    double vapour_kg_m3; /* in the air */
    double hc_w_m2_k;    /* heat by convection */
    double hm_m_s;       /* mass transfer coefficient */
    double share;        /* of the flux that is counted on, 0 to 1 */
};
/* On a figure. A warm dryer brings air of its own, 40 C with the room's vapour. */
struct cb_exchange cb_flux_exchange(const struct cb_climate *climate);
/* Any air speed and body, all of the flux. */
struct cb_exchange cb_flux_exchange_over(double temp_c, double rh_pct, double air_m_s,
                                         double body_m);

struct cb_flux {
    double g_m2_min; /* 3.90 at the standard climate, still, without a skin; 0 at RH 100 */
    double film_c;   /* between wet bulb and air */
};
/* skin_s_m: resistance of the skin, s/m; 0: a wet film. */
struct cb_flux cb_flux_through(const struct cb_exchange *exchange, double skin_s_m);

#endif
