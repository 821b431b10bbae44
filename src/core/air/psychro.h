/* SPDX-License-Identifier: MIT */
/*
 * Moist air. Saturation vapour pressure after Alduchov & Eskridge 1996, J. Appl. Meteor. 35,
 * 601-609, eq. 21: 610.94 exp(17.625 T / (243.04 + T)) Pa. Valid here from -20 to 60 C.
 */
#ifndef CB_CORE_AIR_PSYCHRO_H
#define CB_CORE_AIR_PSYCHRO_H

#define CB_PRESSURE_PA 101325.0 /* standard atmosphere, ISO 2533 */

double cb_psychro_svp_pa(double temp_c);
double cb_psychro_dew_point_c(double temp_c, double rh_pct); /* rh 0 gives -INFINITY */
double cb_psychro_wet_bulb_c(double temp_c, double rh_pct, double pressure_pa);

#endif
