/* SPDX-License-Identifier: MIT */
/*
 * Is the air right for this coat? One list of warnings, used by `dry`, `check --climate`, the
 * bench before a stage, and the pings. And the cautions that come before work that can hurt.
 */
#ifndef CB_CORE_RECIPE_GATE_H
#define CB_CORE_RECIPE_GATE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/time.h"
#include "core/air/climate.h"
#include "core/paint/drying.h"
#include "core/recipe/recipe.h"

enum cb_gate_level { CB_GATE_NOTE, CB_GATE_AMBER, CB_GATE_RED };

struct cb_gate {
    const char *id; /* stable word, for JSON: "film-formation", "humidity", "dew-point-spray",
                       "blushing", "temperature", "dry-air-fan", "pool" */
    enum cb_gate_level level;
    double value, limit; /* the number against its limit, in unit */
    const char *unit;    /* "C", "%", "K" */
    const char *text;    /* what it is, value against limit, what to do: one line */
};

#define CB_GATES_MAX 8
struct cb_gates {
    size_t count;
    struct cb_gate items[CB_GATES_MAX]; /* worst first */
};

/* spraying: can or airbrush. Texts live in the arena. */
void cb_gate_check(const struct cb_drying *drying, enum cb_technique technique, bool spraying,
                   const struct cb_climate *climate, struct cb_arena *arena,
                   struct cb_gates *gates);

/* Cautions of a stage, most severe first; each one line; static text. id is stable (for the
 * caution_read event): "spray-can", "airbrush", "solvent", "dryer", "dust", "blade". Returns how
 * many of at most max were written. */
struct cb_caution {
    const char *id, *text; /* text: full, one line of at most 240 columns */
    const char *brief;     /* at most 48 columns */
};
size_t cb_gate_cautions(const struct cb_kinds *kinds, const struct cb_recipe *recipe, size_t stage,
                        enum cb_air air, struct cb_caution *out, size_t max);

/* The climate of a room some degrees warmer that holds the same vapour (so its RH falls). */
struct cb_climate cb_gate_warmer(const struct cb_climate *climate, double degrees);

/* The room as a tool: another air or a few degrees, for one film, where at least one of them saves
 * five minutes: "fan: wash dry 20:51 instead of 21:25", "window open: no gain" (a minute or less;
 * what lies between is left out). saved_min INFINITY: the film stands still now and would go on.
 * what: a word for the film. Returns how many of at most max were written; texts in the arena. */
#define CB_ROOM_GAIN_MIN 5.0
#define CB_ROOM_MAX      3
struct cb_room_tool {
    const char *id; /* "fan", "window", "warmth" */
    const char *text;
    double saved_min;
};
size_t cb_gate_room(const struct cb_drying *drying, const char *what, double standard_left_min,
                    const struct cb_climate *climate, int64_t now_ms, const struct cb_zone *zone,
                    struct cb_arena *arena, struct cb_room_tool *out, size_t max);

/* The gates of a stage of a recipe: what `check --climate` and the bench show. */
void cb_gate_check_stage(const struct cb_kinds *kinds, const struct cb_recipe *recipe, size_t stage,
                         const struct cb_climate *climate, struct cb_arena *arena,
                         struct cb_gates *gates);
/* Cautions where there is no recipe. */
size_t cb_gate_cautions_of(const struct cb_kind *kind, enum cb_technique technique, enum cb_by by,
                           enum cb_air air, struct cb_caution *out, size_t max);

#endif
