/* SPDX-License-Identifier: MIT */
/* What the files of `dry` share: one film and its numbers in one air. */
#ifndef CB_COMMAND_DRY_INTERNAL_H
#define CB_COMMAND_DRY_INTERNAL_H

#include <stdbool.h>
#include <stdint.h>

#include "command/climate_args.h"
#include "command/command.h"
#include "core/recipe/config.h"
#include "core/recipe/gate.h"
#include "shell/json_write.h"

struct cb_dry_film {
    const char *stage; /* NULL without a recipe */
    const char *what; /* "acrylic", or the name of the paint; a technique without paint: its name */
    const char *kind; /* NULL without paint */
    const struct cb_kind *kind_row;
    enum cb_technique technique;
    enum cb_by by;
    const char *mix; /* "" without paint */
    struct cb_drying drying;
    struct cb_gates gates;
    struct cb_caution cautions[6];
    size_t caution_count;
    /* In the air of the call; NAN while held. */
    double climate_factor, air_factor, median_min, ping_min;
    struct cb_phases phases; /* of the median; INFINITY: stands still */
    bool held, floored;      /* floored: the ping is the label's */
};

struct cb_dry {
    const struct cb_args *args;
    struct cb_arena *arena;
    const struct cb_kinds *kinds;
    const struct cb_config *config;
    const struct cb_trade_word *trade; /* NULL: the kind was named by our word */
    struct cb_climate_args air;
};

/* Minutes to the share p in any air; NAN while held. */
double cb_dry_minutes(const struct cb_dry_film *film, const struct cb_climate *climate, double p);

void cb_dry_print(const struct cb_dry *dry, const struct cb_dry_film *film);
void cb_dry_print_air(const struct cb_dry *dry);
void cb_dry_print_table(const struct cb_dry *dry, const struct cb_dry_film *film);
void cb_dry_print_plot(const struct cb_dry *dry, const struct cb_dry_film *film);
void cb_dry_json(const struct cb_dry *dry, const struct cb_dry_film *film, struct cb_json *json);
void cb_dry_json_air(const struct cb_dry *dry, struct cb_json *json);
void cb_dry_json_table(const struct cb_dry *dry, const struct cb_dry_film *film,
                       struct cb_json *json);

/* Counts down on the terminal until the ping and rings. An exit code. */
int cb_dry_ring(const struct cb_dry *dry, const struct cb_dry_film *film);

#endif
