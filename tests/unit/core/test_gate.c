/* SPDX-License-Identifier: MIT */
/* When the bench warns of the air: each bound from both sides; what it cautions against; and when
 * the room is named as a tool. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "core/air/psychro.h"
#include "core/recipe/gate.h"
#include "support/world.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

enum { ACRYLIC, WASH, PASTE, SPRAY, OIL }; /* as in the kinds of support/world */

static struct cb_drying drying_of(size_t kind, enum cb_technique technique)
{
    return cb_drying_of(world_kinds(), kind, technique, CB_BY_BRUSH, &(struct cb_parts){0}, NAN,
                        NAN);
}

/* The RH at which air of that temperature is so far above its dew point. */
static double rh_above(double temp_c, double margin_k)
{
    double low = 1, high = 100;
    for (int i = 0; i < 60; i++) {
        const double rh = (low + high) / 2;
        if (temp_c - cb_psychro_dew_point_c(temp_c, rh) > margin_k) {
            low = rh;
        } else {
            high = rh;
        }
    }
    return low;
}

/* Worst first: id, level (! red, ? amber, . note), limit. */
static const char *warned(const struct cb_gates *gates, struct cb_arena *arena)
{
    const char *text = "";
    for (size_t i = 0; i < gates->count; i++) {
        const struct cb_gate *gate = &gates->items[i];
        text = cb_arena_printf(arena, "%s%s%s%c%g", text, i ? " " : "", gate->id,
                               ".?!"[gate->level], gate -> limit);
    }
    return text;
}

static void test_bounds(void **state)
{
    (void)state;
    static const struct {
        size_t kind;
        bool spraying;
        double temp_c, rh_pct; /* rh below 0: so far above the dew point, K */
        enum cb_air air;
        const char *warned;
    } cases[] = {
        {ACRYLIC, false, 23, 50, CB_AIR_STILL, ""},
        {ACRYLIC, false, 12, 50, CB_AIR_STILL, ""},
        {ACRYLIC, false, 11.9, 50, CB_AIR_STILL, "film-formation.10"},
        {ACRYLIC, false, 10, 50, CB_AIR_STILL, "film-formation.10"},
        {ACRYLIC, false, 9.9, 50, CB_AIR_STILL, "film-formation!10"},
        {ACRYLIC, false, 9.9, 50, CB_AIR_DRYER, ""},
        {ACRYLIC, false, 23, 97, CB_AIR_DRYER, ""},
        {ACRYLIC, false, 23, 86, CB_AIR_DRYER, ""},
        {OIL, false, 10, 50, CB_AIR_STILL, ""},
        {ACRYLIC, false, 23, 85, CB_AIR_STILL, ""},
        {ACRYLIC, false, 23, 85.1, CB_AIR_STILL, "humidity?85"},
        {ACRYLIC, false, 23, 90, CB_AIR_STILL, "humidity?85"},
        {ACRYLIC, false, 23, 90.1, CB_AIR_STILL, "humidity!90"},
        {ACRYLIC, false, 23, 96.9, CB_AIR_STILL, "humidity!90"},
        {ACRYLIC, false, 23, 97, CB_AIR_STILL, "humidity!97"},
        {OIL, false, 23, 97, CB_AIR_STILL, ""},
        {ACRYLIC, true, 23, 85, CB_AIR_STILL, "dew-point-spray!3"},
        {ACRYLIC, true, 23, 85.1, CB_AIR_STILL, "humidity!85 dew-point-spray!3"},
        {ACRYLIC, true, 23, -3.05, CB_AIR_STILL, ""},
        {ACRYLIC, true, 23, -2.95, CB_AIR_STILL, "dew-point-spray!3"},
        {ACRYLIC, false, 23, -2.95, CB_AIR_STILL, ""},
        {SPRAY, false, 23, -8.05, CB_AIR_STILL, ""},
        {SPRAY, false, 23, -7.95, CB_AIR_STILL, "blushing?8"},
        {SPRAY, false, 23, -5.05, CB_AIR_STILL, "blushing?8"},
        {SPRAY, false, 23, -4.95, CB_AIR_STILL, "blushing!5"},
        {SPRAY, true, 23, -2.95, CB_AIR_STILL, "dew-point-spray!3 blushing!5"},
        {SPRAY, false, 5, 30, CB_AIR_STILL, ""},
        {SPRAY, false, 4.9, 30, CB_AIR_STILL, "temperature!5"},
        {SPRAY, false, 40, 30, CB_AIR_STILL, ""},
        {SPRAY, false, 40.1, 30, CB_AIR_STILL, "temperature!40"},
        {ACRYLIC, false, 23, 35, CB_AIR_FAN, ""},
        {ACRYLIC, false, 23, 34.9, CB_AIR_FAN, "dry-air-fan?35"},
        {ACRYLIC, false, 23, 34.9, CB_AIR_DRYER, "dry-air-fan?35"},
        {ACRYLIC, false, 23, 34.9, CB_AIR_DRAUGHT, ""},
        {SPRAY, false, 23, 34.9, CB_AIR_FAN, ""},
        {ACRYLIC, false, 4.9, 86, CB_AIR_STILL, "film-formation!10 temperature!5 humidity?85"},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        const struct cb_drying drying = drying_of(cases[i].kind, CB_TECHNIQUE_LAYER);
        const double rh =
            cases[i].rh_pct < 0 ? rh_above(cases[i].temp_c, -cases[i].rh_pct) : cases[i].rh_pct;
        const struct cb_climate climate = {cases[i].temp_c, rh, cases[i].air};
        struct cb_gates gates;
        cb_gate_check(&drying, CB_TECHNIQUE_LAYER, cases[i].spraying, &climate, &arena, &gates);
        assert_string_equal(warned(&gates, &arena), cases[i].warned);
        for (size_t g = 0; g < gates.count; g++) {
            assert_in_range(strlen(gates.items[g].text), 20, 78);
        }
        struct cb_drying exact = drying;
        exact.from = CB_TIME_WAIT;
        cb_gate_check(&exact, CB_TECHNIQUE_LAYER, cases[i].spraying, &climate, &arena, &gates);
        assert_int_equal(gates.count, 0);
    }
    cb_arena_fini(&arena);
}

static void test_pools(void **state)
{
    (void)state;
    static const struct {
        size_t kind;
        enum cb_technique technique;
        double times; /* of a thin film; 0: not said */
    } cases[] = {{WASH, CB_TECHNIQUE_WASH, 90.0 / 45},
                 {WASH, CB_TECHNIQUE_RECESS_SHADE, 90.0 / 35},
                 {WASH, CB_TECHNIQUE_GLAZE, 0},
                 {OIL, CB_TECHNIQUE_WASH, 0}};
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        const struct cb_drying drying = drying_of(cases[i].kind, cases[i].technique);
        struct cb_climate climate = cb_climate_standard;
        struct cb_gates gates;
        cb_gate_check(&drying, cases[i].technique, false, &climate, &arena, &gates);
        assert_int_equal(gates.count, cases[i].times > 0);
        if (cases[i].times > 0) {
            assert_int_equal(gates.items[0].level, CB_GATE_NOTE);
            assert_true(fabs(gates.items[0].limit / drying.standard_min - 1) < 1e-9);
            assert_true(fabs(gates.items[0].value / gates.items[0].limit - cases[i].times) < 1e-9);
        }
        climate.rh_pct = 97; /* where nothing dries, no pool does */
        cb_gate_check(&drying, cases[i].technique, false, &climate, &arena, &gates);
        assert_null(strstr(warned(&gates, &arena), "pool"));
    }
    cb_arena_fini(&arena);
}

static void test_cautions(void **state)
{
    (void)state;
    static const struct {
        int kind; /* -1: no paint */
        enum cb_technique technique;
        enum cb_by by;
        enum cb_air air;
        const char *ids;
    } cases[] = {
        {ACRYLIC, CB_TECHNIQUE_LAYER, CB_BY_BRUSH, CB_AIR_FAN, ""},
        {SPRAY, CB_TECHNIQUE_UNDERCOAT, CB_BY_CAN, CB_AIR_STILL, "spray-can "},
        {SPRAY, CB_TECHNIQUE_UNDERCOAT, CB_BY_AIRBRUSH, CB_AIR_STILL, "airbrush solvent "},
        {ACRYLIC, CB_TECHNIQUE_LAYER, CB_BY_AIRBRUSH, CB_AIR_STILL, "airbrush "},
        {OIL, CB_TECHNIQUE_WASH, CB_BY_BRUSH, CB_AIR_DRYER, "solvent dryer "},
        {-1, CB_TECHNIQUE_PREPARE, CB_BY_BRUSH, CB_AIR_DRYER, "dust blade "},
        {-1, CB_TECHNIQUE_MASK, CB_BY_BRUSH, CB_AIR_STILL, "blade "},
        {-1, CB_TECHNIQUE_TRANSFER, CB_BY_CAN, CB_AIR_STILL, "blade "},
        {-1, CB_TECHNIQUE_JOIN, CB_BY_BRUSH, CB_AIR_STILL, ""},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct cb_caution found[8];
        const struct cb_kind *kind =
            cases[i].kind < 0 ? NULL : &world_kinds()->kinds[cases[i].kind];
        const size_t count = cb_gate_cautions_of(kind, cases[i].technique, cases[i].by,
                                                 cases[i].air, found, COUNT(found));
        const char *ids = "";
        for (size_t c = 0; c < count; c++) {
            ids = cb_arena_printf(&arena, "%s%s ", ids, found[c].id);
            assert_in_range(strlen(found[c].text), 1, 240);
            assert_in_range(strlen(found[c].brief), 1, 48);
        }
        assert_string_equal(ids, cases[i].ids);
        assert_int_equal(
            cb_gate_cautions_of(kind, cases[i].technique, cases[i].by, cases[i].air, found, 1),
            count > 0);
    }
    cb_arena_fini(&arena);
}

/* What each danger is met with; every one of them but the blade sends to the label first. */
static void test_dangers(void **state)
{
    (void)state;
    static const struct {
        int kind;
        enum cb_technique technique;
        enum cb_by by;
        enum cb_air air;
        const char *id, *says[8];
    } cases[] = {
        {SPRAY,
         CB_TECHNIQUE_UNDERCOAT,
         CB_BY_CAN,
         CB_AIR_STILL,
         "spray-can",
         {"outdoors or with extraction", "respirator for organic vapour", "no flame or spark",
          "cold can", "neighbours"}},
        {ACRYLIC,
         CB_TECHNIQUE_LAYER,
         CB_BY_AIRBRUSH,
         CB_AIR_STILL,
         "airbrush",
         {"extraction or open air", "respirator", "no flame or spark", "toxic as dust"}},
        {OIL,
         CB_TECHNIQUE_WASH,
         CB_BY_BRUSH,
         CB_AIR_STILL,
         "solvent",
         {"gloves", "none down the drain", "respirator for organic vapour", "no flame or spark"}},
        {OIL,
         CB_TECHNIQUE_WASH,
         CB_BY_BRUSH,
         CB_AIR_DRYER,
         "dryer",
         {"plastic softens", "never on solvents", "low heat"}},
        {-1,
         CB_TECHNIQUE_PREPARE,
         CB_BY_BRUSH,
         CB_AIR_STILL,
         "dust",
         {"sand wet", "mask", "resin dust", "pigments"}},
        {-1, CB_TECHNIQUE_PREPARE, CB_BY_BRUSH, CB_AIR_STILL, "blade", {"cut away from you"}},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct cb_caution found[8];
        const struct cb_kind *kind =
            cases[i].kind < 0 ? NULL : &world_kinds()->kinds[cases[i].kind];
        const size_t count = cb_gate_cautions_of(kind, cases[i].technique, cases[i].by,
                                                 cases[i].air, found, COUNT(found));
        const char *text = NULL;
        for (size_t c = 0; c < count; c++) {
            text = strcmp(found[c].id, cases[i].id) == 0 ? found[c].text : text;
        }
        assert_non_null(text);
        for (size_t k = 0; cases[i].says[k]; k++) {
            if (!strstr(text, cases[i].says[k])) {
                fail_msg("%s does not say: %s", cases[i].id, cases[i].says[k]);
            }
        }
        if (strcmp(cases[i].id, "blade") != 0) {
            assert_non_null(strstr(text, "Label and safety data sheet first"));
            assert_non_null(strstr(text, "local rules"));
        }
    }
}

static const char *named(const struct cb_drying *drying, double left_min,
                         const struct cb_climate *climate, struct cb_arena *arena)
{
    struct cb_room_tool tools[CB_ROOM_MAX];
    const struct cb_zone utc = {0};
    const char *text = "";
    const size_t count = cb_gate_room(drying, "wash", left_min, climate, INT64_C(1767636000000),
                                      &utc, arena, tools, CB_ROOM_MAX);
    for (size_t i = 0; i < count; i++) {
        text = cb_arena_printf(arena, "%s%s\n", text, tools[i].text);
        assert_true(tools[i].saved_min >= CB_ROOM_GAIN_MIN || tools[i].saved_min <= 1);
    }
    return text;
}

static double gain_min(const struct cb_drying *drying, double left_min,
                       const struct cb_climate *climate, enum cb_air air)
{
    struct cb_climate moved = *climate;
    moved.air = air;
    return left_min / cb_drying_rate(drying, climate) - left_min / cb_drying_rate(drying, &moved);
}

static void test_room(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    const struct cb_drying drying = drying_of(ACRYLIC, CB_TECHNIQUE_BASECOAT);
    const struct cb_climate still = cb_climate_standard;
    const double fan = gain_min(&drying, 1, &still, CB_AIR_FAN);
    const double window = gain_min(&drying, 1, &still, CB_AIR_DRAUGHT);
    assert_true(fan > window && window > 0);
    /* five minutes are worth a word */
    assert_string_equal(named(&drying, 4.99 / fan, &still, &arena), "");
    const char *text = named(&drying, 5.01 / fan, &still, &arena);
    assert_true(strncmp(text, "fan: wash dry 18:0", 18) == 0 && strchr(text, '\n')[1] == '\0');
    assert_non_null(strstr(named(&drying, 5.01 / window, &still, &arena), "window open: wash dry"));
    assert_null(strstr(named(&drying, 4.99 / window, &still, &arena), "window open"));
    /* what stands already is not offered */
    struct cb_climate fanned = still;
    fanned.air = CB_AIR_FAN;
    assert_null(strstr(named(&drying, 500, &fanned, &arena), "fan"));
    assert_null(strstr(named(&drying, 500, &fanned, &arena), "window"));
    /* one minute is none; between one and five nothing is said */
    const struct cb_climate damp = {20, 96.5, CB_AIR_STILL};
    const struct cb_drying paste = drying_of(PASTE, CB_TECHNIQUE_TEXTURE);
    const double draught = gain_min(&paste, 1, &damp, CB_AIR_DRAUGHT);
    assert_non_null(strstr(named(&paste, .99 / draught, &damp, &arena), "window open: no gain"));
    text = named(&paste, 1.01 / draught, &damp, &arena);
    assert_non_null(strstr(text, "5 C warmer: wash dry"));
    assert_null(strstr(text, "window"));
    /* no room is made warmer than 40 C */
    const struct cb_climate warm = {35, 50, CB_AIR_STILL}, hot = {35.1, 50, CB_AIR_STILL};
    assert_non_null(strstr(named(&drying, 500, &warm, &arena), "warmer"));
    assert_null(strstr(named(&drying, 500, &hot, &arena), "warmer"));
    /* beyond twelve hours no time of day */
    assert_null(strstr(named(&drying, 719, &still, &arena), " in "));
    assert_non_null(strstr(named(&drying, 721, &still, &arena), "instead of in 12 h"));
    /* from standing still to going on */
    const struct cb_climate held = {20, 98, CB_AIR_STILL};
    assert_non_null(strstr(named(&drying, 20, &held, &arena), "; as it is, never"));
    struct cb_drying exact = drying;
    exact.from = CB_TIME_WAIT;
    assert_string_equal(named(&exact, 500, &still, &arena), "");
    cb_arena_fini(&arena);
}

/* The same vapour in a warmer room. */
static void test_warmer(void **state)
{
    (void)state;
    const struct cb_climate from = {20, 60, CB_AIR_FAN};
    const struct cb_climate warm = cb_gate_warmer(&from, 5);
    assert_true(fabs(warm.temp_c - 25) < 1e-9 && warm.air == CB_AIR_FAN);
    assert_true(fabs(cb_psychro_dew_point_c(25, warm.rh_pct) - cb_psychro_dew_point_c(20, 60)) <
                1e-3);
    assert_true(fabs(cb_gate_warmer(&from, 50).temp_c - 60) < 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bounds),   cmocka_unit_test(test_pools),
        cmocka_unit_test(test_cautions), cmocka_unit_test(test_dangers),
        cmocka_unit_test(test_room),     cmocka_unit_test(test_warmer),
    };
    return cmocka_run_group_tests_name("gate", tests, NULL, NULL);
}
