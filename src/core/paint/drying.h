/* SPDX-License-Identifier: MIT */
/*
 * The physics of one film: how long in the standard climate, how much slower or faster here.
 * Model and sources: coatbell-model(7).
 *
 * A water-borne film is dry to recoat after three phases in a row: its water leaves, the last of it
 * comes through the skin, the film forms. Its progress is counted in standard minutes: in a climate
 * it gains (all three in the standard climate) / (all three here) a minute. It is dry when its
 * progress reaches its own standard time, whose median is standard_min and whose spread the log
 * teaches.
 *
 * Too cold, a film can't form: it gains (the first two in the standard climate) / (the first two
 * here), up to cb_drying_formless_min, and stands there.
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
    double min_film_c;   /* NAN: no gate */
    double pot_sd;       /* log sd of u */
    double label_min;    /* floor for pings in standard minutes; NAN: none */
    /* Water-borne only; for a film as the median has it, thicker where `dry` says longer. */
    double water_g_m2; /* over the exposure a */
    double pores_g_m2; /* of it, what leaves last, out of the packed film; over a */
    double skin_s_m;   /* resistance of the skin once it has all grown, s/m, times a */
    double form_min;   /* of standard_min, what the forming takes */
};

/* Climate factor: J/J(23, 50) in still air; Arrhenius for solvent (40 kJ/mol) and oil (35, capped
 * at 35 C). 1 exactly at the standard climate. Does not know the gates. */
double cb_drying_climate_factor(enum cb_law law, double temp_c, double rh_pct);
/* J over J in still air of the same climate; for solvent the square root of that at the standard
 * climate; 1 for oil. */
double cb_drying_air_factor(enum cb_law law, const struct cb_climate *climate);

/* The parts of the median in a climate, minutes. form_min INFINITY: too cold; all: too damp. NAN
 * for the other laws and for exact minutes. */
struct cb_phases {
    double leave_min, through_min, form_min;
};
struct cb_phases cb_drying_phases(const struct cb_drying *drying, const struct cb_climate *climate);

/* Share of the water still in the film after so many minutes in that air, 1 to 0. Water-borne
 * only: NAN for the others, and while all stands. */
double cb_drying_water_left(const struct cb_drying *drying, const struct cb_climate *climate,
                            double minutes);

/* Under the film-formation temperature. Under a warm dryer nothing is too cold or too damp. */
bool cb_drying_too_cold(const struct cb_drying *drying, const struct cb_climate *climate);
/* From RH 97: all stands. */
bool cb_drying_too_damp(const struct cb_drying *drying, const struct cb_climate *climate);
/* Either: it does not get dry in this air. */
bool cb_drying_held(const struct cb_drying *drying, const struct cb_climate *climate);
/* Standard minutes gained a minute; 1 for WAIT; 0 while too damp. */
double cb_drying_rate(const struct cb_drying *drying, const struct cb_climate *climate);
/* How far a film of that median gets without forming, standard minutes. */
double cb_drying_formless_min(const struct cb_drying *drying, double median_min);
/* Minutes in that air for so many standard ones; INFINITY while held. */
double cb_drying_minutes(const struct cb_drying *drying, const struct cb_climate *climate,
                         double standard_min);
/* Do both always gain the same? */
bool cb_drying_gain_alike(const struct cb_drying *a, const struct cb_drying *b);

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
/* The median as a recipe says it, with the shares that the phases have in it. */
void cb_drying_say(struct cb_drying *drying, double standard_min);

/* Quantile of the dry time in standard minutes before anything was learned: log-normal with
 * sd^2 = .35^2 + pot_sd^2 + s^2, over the prior of s. At .80 about 1.55 x the median. */
double cb_drying_prior_quantile(const struct cb_drying *drying, double p);

#endif
