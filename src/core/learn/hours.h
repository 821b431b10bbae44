/* SPDX-License-Identifier: MIT */
/*
 * Hands-on minutes learned: log minutes per figure = log nominal + painter + technique + unit
 * factor + noise; recursive least squares with the full covariance.
 */
#ifndef CB_CORE_LEARN_HOURS_H
#define CB_CORE_LEARN_HOURS_H

#include <stddef.h>

/* s2, checks of the learning tables: own design figures. Of one mark: a sitting's part, which all
 * figures of it share, and a figure's own (split by own judgement: the sums of units hold best). */
#define CB_HOURS_NOISE_VAR    0.09
#define CB_HOURS_SITTING_VAR  0.06
#define CB_HOURS_PAINTER_SD   0.40
#define CB_HOURS_TECHNIQUE_SD 0.35
#define CB_HOURS_UNIT_SD      0.30

struct cb_hours;
/* technique_count effects and one unit factor, all at their priors. */
struct cb_hours *cb_hours_new(size_t technique_count);
void cb_hours_free(struct cb_hours *hours);
struct cb_hours *cb_hours_copy(const struct cb_hours *hours);
/* So many marks (a figure's minutes each) of one technique in one sitting are one observation:
 * whole sittings are quick or slow together. mean_log: of took / nominal, what the recipe says. */
void cb_hours_add_marks(struct cb_hours *hours, size_t technique, double mean_log, double count);
/* A new unit: its factor starts at the prior again, independent of the rest. */
void cb_hours_new_unit(struct cb_hours *hours);
/* Of log minutes over nominal; technique_count for technique: the unit's own. */
void cb_hours_effect(const struct cb_hours *hours, size_t technique, double *mean, double *sd);

struct cb_hours_cell {
    size_t technique;
    double nominal_min, count; /* figures x coats */
};
struct cb_hours_sum {
    double mean_min, sd_min, median_min, low_min, high_min; /* 10 and 90 % */
};
/* Log-normal sum with cross terms; count cells of one technique share their effect. sitting_var:
 * what all of it shares beside, because it is done in a few sittings; 0: nothing. */
struct cb_hours_sum cb_hours_to_go(const struct cb_hours *hours, const struct cb_hours_cell *cells,
                                   size_t count, double sitting_var);

#endif
