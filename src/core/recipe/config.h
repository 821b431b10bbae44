/* SPDX-License-Identifier: MIT */
/* config.yaml: the user's settings, read like a recipe, with the same errors. */
#ifndef CB_CORE_RECIPE_CONFIG_H
#define CB_CORE_RECIPE_CONFIG_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/tree.h"

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
};
extern const struct cb_config cb_config_default;

/* NULL tree: the default. NULL and issues when refused. */
const struct cb_config *cb_config_from_tree(const struct cb_tree *tree, struct cb_arena *arena,
                                            struct cb_issues *issues);

#endif
