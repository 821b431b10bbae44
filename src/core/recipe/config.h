/* SPDX-License-Identifier: MIT */
/* config.yaml: the user's settings, read like a recipe, with the same errors. */
#ifndef CB_CORE_RECIPE_CONFIG_H
#define CB_CORE_RECIPE_CONFIG_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/tree.h"

#define CB_CONFIDENCE_SAME 1e-6 /* a share: less between two is a rounding of their percents */

#define CB_PINGS(X)                                                                                \
    X(NEEDED, "needed") X(EVERY, "every") X(FIRST, "first") X(WHOLE, "whole") X(OFF, "off")
enum cb_ping_policy {
#define X(id, word) CB_PING_##id,
    CB_PINGS(X)
#undef X
        CB_PING_COUNT
};

#define CB_THEMES(X) X(AUTO, "auto") X(DARK, "dark") X(LIGHT, "light") X(MONO, "mono")
enum cb_theme_choice {
#define X(id, word) CB_THEME_##id,
    CB_THEMES(X)
#undef X
        CB_THEME_COUNT
};

/* The keys of the file, in the order in which they are told. */
/* clang-format off */
#define CB_SETTINGS(X) \
    X(PING, "ping") X(CONFIDENCE, "confidence") X(UNITS, "units") X(TIME, "time") \
    X(THEME, "theme") X(ASCII, "ascii") X(QUIET_CLOCK, "quiet_clock") X(TITLE, "title") \
    X(TERMINAL, "terminal") X(BELL, "bell") X(ON_RING, "on_ring") X(CALM, "calm") \
    X(EVENING, "evening") X(SENSOR, "sensor") X(DROPS, "drops") X(KEYS, "keys")
/* clang-format on */
enum cb_setting {
#define X(id, word) CB_SETTING_##id,
    CB_SETTINGS(X)
#undef X
        CB_SETTING_COUNT
};
extern const char *const cb_setting_names[CB_SETTING_COUNT];

/* A program and its arguments, as they stand in the file: no shell reads them. */
struct cb_config_program {
    size_t count; /* 0: none */
    const char *const *words;
};

struct cb_config {
    enum cb_ping_policy ping; /* needed */
    double confidence;        /* 0.80; file: 50 to 95 % */
    bool fahrenheit;          /* units: celsius | fahrenheit */
    bool half_days;           /* time: 24h | 12h */
    enum cb_theme_choice theme;
    bool ascii;
    bool quiet_clock;    /* quiet_clock: the bench counts minutes, not seconds */
    bool title;          /* the terminal's title says when the next coat is due */
    bool pop_ups;        /* terminal: pop-ups by terminals that are known to take them */
    bool bell;           /* false: no child, banner and terminal bell only */
    bool calm;           /* fewer changes of paint, for a little more time */
    double evening_min;  /* its usual length; 0: as the log says */
    double drops_per_ml; /* NAN: 30 */
    const char *sensor;  /* sensor: a device's name, or any; NULL: none */
    struct cb_config_program sensor_program; /* sensor: [program, argument...] */
    struct cb_config_program on_ring;        /* on_ring: [program, argument...] */
    size_t key_count;                        /* keys: {coat-on: [SPACE, PageDown]} */
    const struct cb_config_key {
        const char *action, *key;
        int line, column;
    } * keys;
    int lines[CB_SETTING_COUNT]; /* where each stands in the file; 0: it does not */
};
extern const struct cb_config cb_config_default;

/* NULL tree: the default. NULL and issues when refused. */
const struct cb_config *cb_config_from_tree(const struct cb_tree *tree, struct cb_arena *arena,
                                            struct cb_issues *issues);

/* What is in force, as the file would have it: "needed", "80 %", "[lamp, on]"; NULL: what no value
 * says, the evening as the log has it. In the arena. */
const char *cb_config_value(const struct cb_config *config, enum cb_setting setting,
                            struct cb_arena *arena);
/* Another value than that. */
const char *cb_config_other(const struct cb_config *config, enum cb_setting setting);

#endif
