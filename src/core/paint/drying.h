/* SPDX-License-Identifier: MIT */
/*
 * The physics of one film: how long in the standard climate, how much slower or faster here.
 * Model and sources: coatbell-model(7).
 *
 * A film's progress is counted in standard minutes. In climate c it gains
 *     rate(c) = k(T, RH) / (inner + (1 - inner) / air)
 * standard minutes a minute, where inner = I/(E+I) is the share of its time that moving air does
 * not shorten (falling rate). It is dry to recoat when its progress reaches its own standard
 * time, whose median is standard_min and whose spread the log teaches.
 */
#ifndef CB_CORE_PAINT_DRYING_H
#define CB_CORE_PAINT_DRYING_H

#include <stdbool.h>

#include "core/air/climate.h"
#include "core/paint/kinds.h"

enum cb_time_from {
    CB_TIME_MODEL, /* the prior row through the model */
    CB_TIME_DRY,   /* `dry` of the recipe: stage, paint or row */
    CB_TIME_WAIT,  /* `wait`: exact minutes, unscaled */
    CB_TIME_ZERO,  /* nothing dries: prepare, mask, ... */
};

struct cb_drying {
    enum cb_law law;
    enum cb_time_from from;
    double standard_min; /* median at the standard climate; WAIT: exact minutes; ZERO: 0 */
    double inner_share;  /* 0..1, water-borne only */
    double min_film_c;   /* NAN: no gate */
    double pot_sd;       /* log sd of u */
    double label_min;    /* floor for pings in standard minutes; NAN: none */
    double m;            /* recoat over the time until the water has left; water-borne only */
    double pore_share;   /* of the water, what leaves last, out of the packed film; water-borne */
};

/* Evaporation flux from a water film on a figure, g/m2 min (2.75 at the standard climate,
 * still). Energy balance by bisection; 0 at RH 100. */
double cb_drying_flux(double temp_c, double rh_pct);
double cb_drying_film_temp_c(double temp_c, double rh_pct);
/* The same for any air speed and body, down to its parts. */
struct cb_flux {
    double g_m2_min;
    double film_c;
    double hm_m_s; /* mass transfer coefficient */
};
struct cb_flux cb_drying_flux_over(double temp_c, double rh_pct, double air_m_s, double body_m);
/* Climate factor: J/J(23, 50); Arrhenius for solvent (40 kJ/mol) and oil (35, capped at 35 C).
 * 1 exactly at the standard climate. Does not know the gates. */
double cb_drying_climate_factor(enum cb_law law, double temp_c, double rh_pct);
/* 1 / 1.44 / 2.7 / 6 for water; its square root for solvent; 1 for oil. */
double cb_drying_air_factor(enum cb_law law, enum cb_air air);

/* Drying of a wet film that loses `flux`: outer is E, the water that leaves in the constant-rate
 * stage; inner is I, what then diffuses through the dried skin (Kiil 2006). a: exposure. Times
 * until dry, before the factor m to recoat. */
struct cb_film_times {
    double outer_min, inner_min;
};
struct cb_film_times cb_drying_film_times(double film_um, double solids, double a,
                                          const struct cb_flux *flux);

/* Share of the water still in the film after so many minutes in that air, 1 to 0. Water-borne
 * only: NAN for the others, and while held. */
double cb_drying_water_left(const struct cb_drying *drying, const struct cb_climate *climate,
                            double minutes);

/* Outside the window of the kind: too cold to form a film, or RH from 97. */
bool cb_drying_held(const struct cb_drying *drying, const struct cb_climate *climate);
/* Standard minutes gained a minute; 0 while held; 1 for WAIT. */
double cb_drying_rate(const struct cb_drying *drying, const struct cb_climate *climate);

/* What is usual for a kind under a technique: the parts of its mix, the wet film as applied (um;
 * NAN for laws that have none) and the volume share of solids of the paint as it is in the pot. */
struct cb_drying_usual {
    struct cb_parts parts;
    double film_um, solids;
};
struct cb_drying_usual cb_drying_usual(const struct cb_kinds *kinds, size_t kind,
                                       enum cb_technique technique, enum cb_by by);

/* mix all zero: the usual one; film_um and solids (of the paints as they are in the pot) NAN: the
 * usual ones. */
struct cb_drying cb_drying_of(const struct cb_kinds *kinds, size_t kind,
                              enum cb_technique technique, enum cb_by by,
                              const struct cb_parts *mix, double film_um, double solids);

/* Quantile of the dry time in standard minutes before anything was learned: log-normal with
 * sd^2 = .35^2 + pot_sd^2 + s^2, over the prior of s. At .80 about 1.55 x the median. */
double cb_drying_prior_quantile(const struct cb_drying *drying, double p);

#endif
