/* SPDX-License-Identifier: MIT */
/* The air at a place: what a painter types or a sensor reads. */
#ifndef CB_CORE_AIR_CLIMATE_H
#define CB_CORE_AIR_CLIMATE_H

#include <stdbool.h>

#include "base/err.h"

/* Air movement over the film. DRYER is a warm hand dryer held well off. */
enum cb_air { CB_AIR_STILL, CB_AIR_DRAUGHT, CB_AIR_FAN, CB_AIR_DRYER, CB_AIR_COUNT };

struct cb_climate {
    double temp_c; /* -20 to 60 */
    double rh_pct; /* 0 to 100 */
    enum cb_air air;
};

/* ISO 554, ISO 3270, ASTM D3924: 23 C, 50 %, still air. */
extern const struct cb_climate cb_climate_standard;
/* What holds until anybody says: 20 C, 50 %, still air; shown as "assumed". */
extern const struct cb_climate cb_climate_assumed;

const char *cb_air_name(enum cb_air air); /* still, draught, fan, dryer */
/* What may be typed for a room where a bare number is in Fahrenheit, or not. */
const char *cb_climate_such(bool fahrenheit);
bool cb_air_from_name(const char *name, enum cb_air *air);

/* "23", "23C", "23 degrees", "73.4F": CB_USAGE with one line when it is no number or outside
 * -20..60 C. A comma is as good as a point. */
enum cb_status cb_climate_parse_temp(const char *text, double *temp_c, struct cb_err *err);
/* "62", "62%", "62 percent": 0..100. */
enum cb_status cb_climate_parse_rh(const char *text, double *rh_pct, struct cb_err *err);
/* "19.5 62", "20/55", "67F 62", "55% 20C", "20 degrees 55 percent", "19,5 62 open window": climate
 * keeps its air where none is said. bare_f: bare numbers are Fahrenheit (the user's unit). What is
 * refused shows two numbers that would be right. Leaves *climate alone on error. */
enum cb_status cb_climate_parse(const char *text, bool bare_f, struct cb_climate *climate,
                                struct cb_err *err);
/* Is what cb_climate_parse refused most likely the other unit: "68 55" where bare numbers are C,
 * "20 55" where they are F? Asked, and answered yes, it is parsed with bare_f turned. */
bool cb_climate_asks(const char *text, bool bare_f);

#endif
