/* SPDX-License-Identifier: MIT */
#include "core/recipe/gate.h"
#include "core/recipe/drying_stage.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "core/air/psychro.h"

#define HELD_RH_PCT   97.0 /* as cb_drying_too_damp */
#define DAMP_RH_PCT   90.0 /* "extremely slow above 90 %", industry education page */
#define SPRAY_RH_PCT  85.0 /* ISO 8502-4, ISO 12944-7 */
#define DRY_RH_PCT    35.0 /* estimate */
#define DEW_MARGIN_K  3.0  /* ISO 8502-4, ISO 12944-7 */
#define BLUSH_AMBER_K 8.0  /* own judgement */
#define BLUSH_RED_K   5.0
#define COLD_C        5.0 /* outside 5 to 40 C the factors were not checked against print */
#define HOT_C         40.0
#define POOL_UM       90.0 /* a wash left to pool (estimate); against the film of its row */
#define WASH_UM       45.0
#define RECESS_UM     35.0
#define WARMER_K      5.0
#define NEAR_K        2.0 /* own judgement */
#define NO_GAIN_MIN   1.0
#define CLOCK_MIN     720.0

static void __attribute__((format(printf, 8, 9)))
add(struct cb_arena *arena, struct cb_gates *gates, enum cb_gate_level level, const char *id,
    double value, double limit, const char *unit, const char *format, ...)
{
    if (gates->count == CB_GATES_MAX) {
        return;
    }
    va_list args;
    va_start(args, format);
    const char *text = cb_arena_vprintf(arena, format, args);
    va_end(args);
    size_t at = gates->count++;
    while (at > 0 && gates->items[at - 1].level < level) {
        gates->items[at] = gates->items[at - 1];
        at--;
    }
    gates->items[at] = (struct cb_gate){id, level, value, limit, unit, text};
}

static void check_humidity(double rh, bool water, bool spraying, struct cb_arena *arena,
                           struct cb_gates *gates)
{
    if (water && rh >= HELD_RH_PCT) {
        add(arena, gates, CB_GATE_RED, "humidity", rh, HELD_RH_PCT, "%",
            "air %.3g %%, from 97 %% nothing dries: wait, heat, close the window", rh);
    } else if (spraying && rh > SPRAY_RH_PCT) {
        add(arena, gates, CB_GATE_RED, "humidity", rh, SPRAY_RH_PCT, "%",
            "air %.3g %%, over 85 %%: do not spray, wait for drier air", rh);
    } else if (water && rh > DAMP_RH_PCT) {
        add(arena, gates, CB_GATE_RED, "humidity", rh, DAMP_RH_PCT, "%",
            "air %.3g %%, over 90 %%: hardly dries, heat, close the window, wait", rh);
    } else if (water && rh > SPRAY_RH_PCT) {
        add(arena, gates, CB_GATE_AMBER, "humidity", rh, SPRAY_RH_PCT, "%",
            "air %.3g %%, over 85 %%: dries slowly, heat or close the window", rh);
    }
}

static void check_dew(double margin, bool solvent, bool spraying, struct cb_arena *arena,
                      struct cb_gates *gates)
{
    if (spraying && margin < DEW_MARGIN_K) {
        add(arena, gates, CB_GATE_RED, "dew-point-spray", margin, DEW_MARGIN_K, "K",
            "damp may settle: do not spray, warm the figure (%.2g K above dew point)",
            fmax(margin, 0));
    }
    if (solvent && margin < BLUSH_AMBER_K) {
        bool red = margin < BLUSH_RED_K;
        double limit = red ? BLUSH_RED_K : BLUSH_AMBER_K;
        add(arena, gates, red ? CB_GATE_RED : CB_GATE_AMBER, "blushing", margin, limit, "K",
            "may turn white: warm the figure (%.2g K above dew point)", fmax(margin, 0));
    }
}

/* What the air does to any film of ours. */
static void check_air(const struct cb_drying *drying, bool spraying,
                      const struct cb_climate *climate, struct cb_arena *arena,
                      struct cb_gates *gates)
{
    bool water = drying->law == CB_LAW_WATER;
    double t = climate->temp_c;
    double rh = climate->rh_pct;
    if (cb_drying_too_cold(drying, climate)) {
        add(arena, gates, CB_GATE_RED, "film-formation", t, drying->min_film_c, "C",
            "too cold: paint does not set under %.3g C", drying->min_film_c);
    } else if (water && climate->air != CB_AIR_DRYER && t < drying->min_film_c + NEAR_K) {
        add(arena, gates, CB_GATE_NOTE, "film-formation", t, drying->min_film_c, "C",
            "%.3g C: paint does not set under %.3g C", t, drying->min_film_c);
    }
    check_humidity(rh, water && climate->air != CB_AIR_DRYER, spraying, arena, gates);
    check_dew(t - cb_psychro_dew_point_c(t, rh), drying->law == CB_LAW_SOLVENT, spraying, arena,
              gates);
    if (t < COLD_C) {
        add(arena, gates, CB_GATE_RED, "temperature", t, COLD_C, "C",
            "%.3g C, below 5 C: too cold to paint, warm the room", t);
    } else if (t > HOT_C) {
        add(arena, gates, CB_GATE_RED, "temperature", t, HOT_C, "C",
            "%.3g C, above 40 C: dries on the brush, cool the room", t);
    }
    if (water && rh < DRY_RH_PCT && climate->air >= CB_AIR_FAN) {
        add(arena, gates, CB_GATE_AMBER, "dry-air-fan", rh, DRY_RH_PCT, "%",
            "air %.3g %%, under 35 %%, %s: skins on the brush, turn it off to paint", rh,
            cb_air_name(climate->air));
    }
}

static void check_pool(const struct cb_drying *drying, enum cb_technique technique,
                       const struct cb_climate *climate, struct cb_arena *arena,
                       struct cb_gates *gates)
{
    double thin = cb_drying_minutes(drying, climate, drying->standard_min);
    bool recess = technique == CB_TECHNIQUE_RECESS_SHADE;
    if (drying->law != CB_LAW_WATER || isinf(thin) || (!recess && technique != CB_TECHNIQUE_WASH)) {
        return;
    }
    double pooled = thin * POOL_UM / (recess ? RECESS_UM : WASH_UM);
    add(arena, gates, CB_GATE_NOTE, "pool", pooled, thin, "min",
        "a pool takes %.0f min, a thin film %.0f: soak pools up with a damp brush", pooled, thin);
}

void cb_gate_check(const struct cb_drying *drying, enum cb_technique technique, bool spraying,
                   const struct cb_climate *climate, struct cb_arena *arena, struct cb_gates *gates)
{
    gates->count = 0;
    if (drying->from == CB_TIME_WAIT || drying->from == CB_TIME_ZERO) {
        return;
    }
    check_air(drying, spraying, climate, arena, gates);
    check_pool(drying, technique, climate, arena, gates);
}

static bool is_sprayed(enum cb_by by)
{
    return by == CB_BY_CAN || by == CB_BY_AIRBRUSH;
}

void cb_gate_check_stage(const struct cb_kinds *kinds, const struct cb_recipe *recipe, size_t stage,
                         const struct cb_climate *climate, struct cb_arena *arena,
                         struct cb_gates *gates)
{
    const struct cb_stage *s = &recipe->stages[stage];
    struct cb_drying drying = cb_drying_of_stage(kinds, recipe, stage);
    cb_gate_check(&drying, s->technique, is_sprayed(s->by) && cb_mix_paint(&s->mix) >= 0, climate,
                  arena, gates);
}

/* Usual practice of the trade and of safety data sheets; they replace neither. */
static const struct cb_caution caution_can = {
    "spray-can",
    "Spray can: outdoors or with extraction, away from neighbours, respirator for organic vapour, "
    "gloves, no flame or spark; never heat a cold can. It may soften plastic. Label and safety "
    "data sheet first; keep to local rules.",
    "Can: outdoors, respirator, no flame or spark"};
static const struct cb_caution caution_airbrush = {
    "airbrush",
    "Airbrush: extraction or open air, respirator for mist and organic vapour, gloves, no flame "
    "or spark near solvents, no pigment that is toxic as dust. Label and safety data sheet first; "
    "keep to local rules.",
    "Airbrush: extraction and respirator"};
static const struct cb_caution caution_solvent = {
    "solvent",
    "Solvent: open window or extraction, respirator for organic vapour, gloves, no flame or "
    "spark, none down the drain; it softens some plastic; oily rags dry flat outdoors. Label and "
    "safety data sheet first; keep to local rules.",
    "Solvent: air, gloves, no flame, not down drain"};
static const struct cb_caution caution_dryer = {
    "dryer",
    "Warm dryer: low heat, well off and moving, never on solvents or their vapour; plastic "
    "softens and warps. Let the figure cool before the next coat. Label and safety data sheet "
    "first; keep to local rules.",
    "Dryer: low heat, well off, never on solvents"};
static const struct cb_caution caution_dust = {
    "dust",
    "Dust: sand wet, wear a dust mask, wipe up wet; resin dust and some pigments harm the lungs. "
    "Label and safety data sheet first; keep to local rules.",
    "Dust: sand wet, wear a mask"};
static const struct cb_caution caution_blade = {
    "blade",
    "Blade: a sharp one, cut away from you and your holding hand, cap it when you put it down.",
    "Blade: cut away from your hand"};

struct caution_list {
    struct cb_caution *out;
    size_t count, max;
};

static void caution_if(struct caution_list *list, bool holds, const struct cb_caution *caution)
{
    if (holds && list->count < list->max) {
        list->out[list->count++] = *caution;
    }
}

size_t cb_gate_cautions_of(const struct cb_kind *kind, enum cb_technique technique, enum cb_by by,
                           enum cb_air air, struct cb_caution *out, size_t max)
{
    struct caution_list list = {.out = out, .max = max};
    bool paint = kind != NULL;
    bool can = paint && by == CB_BY_CAN;
    bool solvent = paint && (kind->solvent_caution || kind->law != CB_LAW_WATER);
    bool prepares = technique == CB_TECHNIQUE_PREPARE;
    caution_if(&list, can, &caution_can);
    caution_if(&list, paint && by == CB_BY_AIRBRUSH, &caution_airbrush);
    caution_if(&list, solvent && !can, &caution_solvent);
    caution_if(&list, paint && air == CB_AIR_DRYER, &caution_dryer);
    caution_if(&list, prepares, &caution_dust);
    caution_if(&list,
               prepares || technique == CB_TECHNIQUE_MASK || technique == CB_TECHNIQUE_TRANSFER,
               &caution_blade);
    return list.count;
}

size_t cb_gate_cautions(const struct cb_kinds *kinds, const struct cb_recipe *recipe, size_t stage,
                        enum cb_air air, struct cb_caution *out, size_t max)
{
    const struct cb_stage *s = &recipe->stages[stage];
    int paint = cb_mix_paint(&s->mix);
    const struct cb_kind *kind = paint >= 0 ? &kinds->kinds[recipe->paints[paint].kind] : NULL;
    return cb_gate_cautions_of(kind, s->technique, s->by, air, out, max);
}

struct cb_climate cb_gate_warmer(const struct cb_climate *climate, double degrees)
{
    struct cb_climate warm = *climate;
    warm.temp_c = fmin(climate->temp_c + degrees, 60);
    warm.rh_pct =
        climate->rh_pct * cb_psychro_svp_pa(climate->temp_c) / cb_psychro_svp_pa(warm.temp_c);
    return warm;
}

/* Minutes saved: 0 when none; INFINITY from standing still to going on. */
static double gain_min(const struct cb_drying *drying, double left_min,
                       const struct cb_climate *now, const struct cb_climate *then)
{
    const double better = cb_drying_minutes(drying, then, left_min);
    return left_min > 0 && isfinite(better)
               ? fmax(cb_drying_minutes(drying, now, left_min) - better, 0)
               : 0;
}

/* A time of day, or over half a day away how long it takes. */
static void moment_text(double minutes, bool far, int64_t now_ms, const struct cb_zone *zone,
                        char out[40])
{
    if (far) {
        memcpy(out, "in ", 4);
        cb_time_span(llround(minutes) * CB_MS_PER_MIN, out + 3);
    } else {
        cb_time_clock(now_ms + llround(minutes * (double)CB_MS_PER_MIN), zone, out);
    }
}

size_t cb_gate_room(const struct cb_drying *drying, const char *what, double standard_left_min,
                    const struct cb_climate *climate, int64_t now_ms, const struct cb_zone *zone,
                    struct cb_arena *arena, struct cb_room_tool *out, size_t max)
{
    struct tool {
        const char *id, *words;
        struct cb_climate air;
        bool applies;
    } tools[CB_ROOM_MAX] = {
        {"fan", "fan", *climate, climate->air < CB_AIR_FAN},
        {"window", "window open", *climate, climate->air < CB_AIR_DRAUGHT},
        {"warmth", "5 C warmer", cb_gate_warmer(climate, WARMER_K),
         climate->temp_c + WARMER_K <= HOT_C},
    };
    tools[0].air.air = CB_AIR_FAN;
    tools[1].air.air = CB_AIR_DRAUGHT; /* what stands outside is not known: only the draught */
    const double plain = cb_drying_minutes(drying, climate, standard_left_min);
    size_t count = 0;
    bool worth = false;
    if (drying->from == CB_TIME_WAIT || drying->from == CB_TIME_ZERO) {
        return 0;
    }
    for (size_t i = 0; i < CB_ROOM_MAX && count < max; i++) {
        const struct tool *tool = &tools[i];
        if (!tool->applies) {
            continue;
        }
        double saved = gain_min(drying, standard_left_min, climate, &tool->air);
        if (saved > NO_GAIN_MIN && saved < CB_ROOM_GAIN_MIN) {
            continue;
        }
        const char *text = cb_arena_printf(arena, "%s: no gain", tool->words);
        if (saved >= CB_ROOM_GAIN_MIN) {
            const double better = cb_drying_minutes(drying, &tool->air, standard_left_min);
            const bool far = fmax(better, isinf(plain) ? 0 : plain) > CLOCK_MIN;
            char then[40], now[40];
            worth = true;
            moment_text(better, far, now_ms, zone, then);
            if (isfinite(plain)) {
                moment_text(plain, far, now_ms, zone, now);
            }
            text = isfinite(plain) ? cb_arena_printf(arena, "%s: %s dry %s instead of %s",
                                                     tool->words, what, then, now)
                                   : cb_arena_printf(arena, "%s: %s dry %s; as it is, never",
                                                     tool->words, what, then);
        }
        out[count++] = (struct cb_room_tool){tool->id, text, saved};
    }
    return worth ? count : 0;
}
