/* SPDX-License-Identifier: MIT */
#include "core/air/psychro.h"

#include <math.h>

double cb_psychro_svp_pa(double temp_c)
{
    return 610.94 * exp(17.625 * temp_c / (243.04 + temp_c));
}

double cb_psychro_dew_point_c(double temp_c, double rh_pct)
{
    if (rh_pct <= 0) {
        return -INFINITY;
    }
    double x = log(rh_pct / 100) + 17.625 * temp_c / (243.04 + temp_c);
    return 243.04 * x / (17.625 - x);
}

/* ASHRAE Fundamentals 2017, ch. 1, eq. 20; .621945 is the ratio of the molar masses. */
static double ratio_at(double vapour_pa, double pressure_pa)
{
    return 0.621945 * vapour_pa / (pressure_pa - vapour_pa);
}

/* ASHRAE Fundamentals 2017, ch. 1, eq. 33; may fall below zero for impossible pairs. */
static double ratio_from_wet_bulb(double temp_c, double wet_c, double pressure_pa)
{
    double saturated = ratio_at(cb_psychro_svp_pa(wet_c), pressure_pa);
    return ((2501 - 2.326 * wet_c) * saturated - 1.006 * (temp_c - wet_c)) /
           (2501 + 1.86 * temp_c - 4.186 * wet_c);
}

double cb_psychro_wet_bulb_c(double temp_c, double rh_pct, double pressure_pa)
{
    if (rh_pct >= 100) {
        return temp_c;
    }
    double ratio = ratio_at(cb_psychro_svp_pa(temp_c) * rh_pct / 100, pressure_pa);
    double low = temp_c - 60; /* bone-dry air at 60 C still has a wet bulb near 20 C */
    double high = temp_c;
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        if (ratio_from_wet_bulb(temp_c, middle, pressure_pa) < ratio) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return (low + high) / 2;
}
