/* SPDX-License-Identifier: MIT */
/*
 * What measures the air: temperature and humidity that the kernel gives as files, both of one
 * device. A read may take the driver a second, so who draws leaves it to another process.
 */
#ifndef CB_SHELL_SENSOR_H
#define CB_SHELL_SENSOR_H

#include <stddef.h>

#include "base/arena.h"
#include "base/err.h"

#define CB_SENSOR_ANY  "any"
#define CB_SENSOR_ROOT "/sys"

struct cb_sensor_reading {
    const char *name;      /* the device's, as the kernel has it, cleaned */
    double temp_c, rh_pct; /* as measured, plausible or not */
};

/* All devices under root that give both, by name and then by folder; in the arena. */
const struct cb_sensor_reading *cb_sensor_list(const char *root, struct cb_arena *arena,
                                               size_t *count);
/* The first of those with that name, or of all by CB_SENSOR_ANY. CB_FAILED, and a line, where there
 * is none. */
enum cb_status cb_sensor_read(const char *root, const char *name, struct cb_arena *arena,
                              struct cb_sensor_reading *reading, struct cb_err *err);
/* As a painter would type it, "19.5C 62.3%": cb_climate_parse takes it whatever the units. In the
 * arena. */
char *cb_sensor_line(const struct cb_sensor_reading *reading, struct cb_arena *arena);

#endif
