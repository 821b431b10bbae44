/* SPDX-License-Identifier: MIT */
/* One mark for the estimator of hours: a figure's minutes where the recipe says nominal_min. */
#ifndef CB_TESTS_HOURS_H
#define CB_TESTS_HOURS_H

#include <math.h>

#include "core/learn/hours.h"

static inline void hours_add(struct cb_hours *hours, size_t technique, double nominal_min,
                             double min)
{
    cb_hours_add_marks(hours, technique, log(min / nominal_min), 1);
}

#endif
