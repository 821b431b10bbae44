/* SPDX-License-Identifier: MIT */
#include <math.h>

#include "base/brief.h"
#include "base/str.h"
#include "core/recipe/config.h"
#include "core/recipe/recipe_write.h"

static const char *taken(struct cb_str *out, struct cb_arena *arena)
{
    const char *text = cb_arena_text(arena, cb_str_text(out));
    cb_str_fini(out);
    return text;
}

static const char *yes(bool is)
{
    return is ? "yes" : "no";
}

static const char *number(double value, const char *unit, struct cb_arena *arena)
{
    char text[CB_BRIEF_BYTES];
    return cb_arena_printf(arena, "%s%s", cb_brief(value, text), unit);
}

static const char *program(const struct cb_config_program *words, struct cb_arena *arena)
{
    struct cb_str out = {0};
    cb_str_add(&out, "[");
    for (size_t i = 0; i < words->count; i++) {
        cb_str_add(&out, i > 0 ? ", " : "");
        cb_recipe_write_text(&out, words->words[i], true);
    }
    cb_str_add(&out, "]");
    return taken(&out, arena);
}

static const char *sensor(const struct cb_config *config, struct cb_arena *arena)
{
    if (config->sensor_program.count > 0) {
        return program(&config->sensor_program, arena);
    }
    struct cb_str out = {0};
    cb_recipe_write_text(&out, config->sensor != NULL ? config->sensor : "off", false);
    return taken(&out, arena);
}

/* Keys of one action stand together, as they were read. */
static const char *keys(const struct cb_config *config, struct cb_arena *arena)
{
    struct cb_str out = {0};
    cb_str_add(&out, "{");
    for (size_t i = 0; i < config->key_count; i++) {
        const struct cb_config_key *key = &config->keys[i];
        if (i == 0 || !cb_str_same(key->action, config->keys[i - 1].action)) {
            cb_str_add(&out, i > 0 ? "], " : "");
            cb_recipe_write_text(&out, key->action, true);
            cb_str_add(&out, ": [");
        } else {
            cb_str_add(&out, ", ");
        }
        cb_recipe_write_text(&out, key->key, true);
    }
    cb_str_add(&out, config->key_count > 0 ? "]}" : "}");
    return taken(&out, arena);
}

static const char *const pings[] = {
#define X(id, word) word,
    CB_PINGS(X)
#undef X
};
static const char *const themes[] = {
#define X(id, word) word,
    CB_THEMES(X)
#undef X
};

const char *cb_config_value(const struct cb_config *config, enum cb_setting setting,
                            struct cb_arena *arena)
{
    switch (setting) {
    case CB_SETTING_PING:
        return pings[config->ping];
    case CB_SETTING_CONFIDENCE:
        return number(config->confidence * 100, " %", arena);
    case CB_SETTING_UNITS:
        return config->fahrenheit ? "fahrenheit" : "celsius";
    case CB_SETTING_TIME:
        return config->half_days ? "12h" : "24h";
    case CB_SETTING_THEME:
        return themes[config->theme];
    case CB_SETTING_ASCII:
        return yes(config->ascii);
    case CB_SETTING_QUIET_CLOCK:
        return yes(config->quiet_clock);
    case CB_SETTING_TITLE:
        return yes(config->title);
    case CB_SETTING_TERMINAL:
        return yes(config->pop_ups);
    case CB_SETTING_BELL:
        return yes(config->bell);
    case CB_SETTING_ON_RING:
        return program(&config->on_ring, arena);
    case CB_SETTING_CALM:
        return yes(config->calm);
    case CB_SETTING_EVENING:
        return config->evening_min > 0 ? number(config->evening_min, " min", arena) : NULL;
    case CB_SETTING_SENSOR:
        return sensor(config, arena);
    case CB_SETTING_DROPS:
        return number(isnan(config->drops_per_ml) ? 30 : config->drops_per_ml, "", arena);
    case CB_SETTING_KEYS:
        return keys(config, arena);
    case CB_SETTING_COUNT:
        break;
    }
    return NULL;
}

const char *cb_config_other(const struct cb_config *config, enum cb_setting setting)
{
    switch (setting) {
    case CB_SETTING_PING:
        return config->ping == CB_PING_EVERY ? "needed" : "every";
    case CB_SETTING_CONFIDENCE:
        return config->confidence > 0.85 ? "80 %" : "90 %";
    case CB_SETTING_UNITS:
        return config->fahrenheit ? "celsius" : "fahrenheit";
    case CB_SETTING_TIME:
        return config->half_days ? "24h" : "12h";
    case CB_SETTING_THEME:
        return config->theme == CB_THEME_LIGHT ? "dark" : "light";
    case CB_SETTING_ASCII:
        return yes(!config->ascii);
    case CB_SETTING_QUIET_CLOCK:
        return yes(!config->quiet_clock);
    case CB_SETTING_TITLE:
        return yes(!config->title);
    case CB_SETTING_TERMINAL:
        return yes(!config->pop_ups);
    case CB_SETTING_BELL:
        return yes(!config->bell);
    case CB_SETTING_ON_RING:
        return config->on_ring.count > 0 ? "[]" : "[lamp, blink]";
    case CB_SETTING_CALM:
        return yes(!config->calm);
    case CB_SETTING_EVENING:
        return config->evening_min > 120 ? "2 h" : "2h30m";
    case CB_SETTING_SENSOR:
        return config->sensor != NULL || config->sensor_program.count > 0 ? "off" : "any";
    case CB_SETTING_DROPS:
        return config->drops_per_ml > 20 ? "20" : "25";
    case CB_SETTING_KEYS:
        return config->key_count > 0 ? "{}" : "{coat-on: [SPACE, F9]}";
    case CB_SETTING_COUNT:
        break;
    }
    return NULL;
}
