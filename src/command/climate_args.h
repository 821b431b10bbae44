/* SPDX-License-Identifier: MIT */
/* The air that a call is about: --temp, --rh and --air, else the last of the bench's log, else what
 * is assumed. */
#ifndef CB_COMMAND_CLIMATE_ARGS_H
#define CB_COMMAND_CLIMATE_ARGS_H

#include <stdbool.h>
#include <stdint.h>

#include "base/time.h"
#include "command/command.h"
#include "core/air/climate.h"
#include "core/paint/kinds.h"
#include "core/recipe/config.h"

struct cb_climate_args {
    struct cb_climate climate;
    bool assumed;   /* neither given nor in the log */
    int64_t log_ms; /* when it was set, where it comes from the log; else CB_TIME_NONE */
    int64_t now_ms;
    struct cb_zone zone;
};

/* Complaints are printed. 0 or an exit code. */
int cb_climate_args_read(const struct cb_args *args, const struct cb_kinds *kinds,
                         const struct cb_config *config, struct cb_climate_args *air);
/* "20 C, 50 %, still air (assumed)"; in the arena of args. */
const char *cb_climate_args_text(const struct cb_args *args, const struct cb_climate_args *air);

#endif
