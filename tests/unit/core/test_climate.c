/* SPDX-License-Identifier: MIT */
/* What a painter types for the air, and for a mix; and that the air's flux is the same whenever it
 * is asked for. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "core/air/climate.h"
#include "core/paint/drying.h"
#include "core/paint/kinds.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static void temperatures(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double c; /* NAN: refused */
    } rows[] = {
        {"23", 23},
        {"19.5", 19.5},
        {"-20", -20},
        {"60", 60},
        {"73.4F", 23},
        {"73.4f", 23},
        {"23C", 23},
        {"23c", 23},
        {"140F", 60},
        {"-4F", -20},
        {"21\xC2\xB0"
         "C",
         21},
        {"", NAN},
        {"abc", NAN},
        {"nan", NAN},
        {"inf", NAN},
        {"1e9", NAN},
        {"0x14", NAN},
        {"-20.1", NAN},
        {"60.1", NAN},
        {"23K", NAN},
        {"23CC", NAN},
        {"2 3", NAN},
        {"1..2", NAN},
        {"-", NAN},
        {"141F", NAN},
        {"99999999999999999999999999999999999999999", NAN},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_err err = {0};
        double c = -99;
        enum cb_status status = cb_climate_parse_temp(rows[i].text, &c, &err);
        if (isnan(rows[i].c)) {
            assert_int_equal(status, CB_USAGE);
            assert_true(c == -99);
            assert_true(err.text[0] != '\0' && strchr(err.text, '\n') == NULL);
        } else {
            assert_int_equal(status, CB_OK);
            assert_true(c == rows[i].c);
        }
    }
}

static void humidities(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double pct;
    } rows[] = {
        {"62", 62},   {"62%", 62},  {"0", 0},  {"100", 100}, {"-1", NAN}, {"101", NAN},
        {"nan", NAN}, {"1e9", NAN}, {"", NAN}, {"62F", NAN}, {"%", NAN},  {"100.1", NAN},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_err err = {0};
        double pct = -99;
        enum cb_status status = cb_climate_parse_rh(rows[i].text, &pct, &err);
        assert_int_equal(status, isnan(rows[i].pct) ? CB_USAGE : CB_OK);
        assert_true(pct == (isnan(rows[i].pct) ? -99 : rows[i].pct));
    }
}

static void climates(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool bare_f;
        double c, pct;
        enum cb_air air; /* the climate before has a fan */
    } rows[] = {
        {"19.5 62", false, 19.5, 62, CB_AIR_FAN},
        {"  19.5   62  ", false, 19.5, 62, CB_AIR_FAN},
        {"68F 62", false, 20, 62, CB_AIR_FAN},
        {"68 62", true, 20, 62, CB_AIR_FAN},
        {"20C 62", true, 20, 62, CB_AIR_FAN},
        {"20c 55% still", false, 20, 55, CB_AIR_STILL},
        {"20 C 55 % dryer", false, 20, 55, CB_AIR_DRYER},
        {"20, 55", false, 20, 55, CB_AIR_FAN},
        {"19,5 62", false, 19.5, 62, CB_AIR_FAN},
        {"19,5C 62,5 window", false, 19.5, 62.5, CB_AIR_DRAUGHT},
        {"19,5, 62", false, 19.5, 62, CB_AIR_FAN},
        {"67,1F 62", false, 19.5, 62, CB_AIR_FAN},
        {"20,55", false, 20, 55, CB_AIR_FAN},
        {"20,55,still", false, 20, 55, CB_AIR_STILL},
        {"19.5,62", false, 19.5, 62, CB_AIR_FAN},
        {"19,5", false, 19, 5, CB_AIR_FAN},
        {"20, 62 window", false, 20, 62, CB_AIR_DRAUGHT},
        {"", false, NAN, 0, CB_AIR_FAN},
        {"20", false, NAN, 0, CB_AIR_FAN},
        {"20 62 gale", false, NAN, 0, CB_AIR_FAN},
        {"20 62 fan fan", false, NAN, 0, CB_AIR_FAN},
        {"62 20 fan", false, NAN, 0, CB_AIR_FAN},
        {"20 162", false, NAN, 0, CB_AIR_FAN},
        {"hot 20", false, NAN, 0, CB_AIR_FAN},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_err err = {0};
        struct cb_climate c = {1, 2, CB_AIR_FAN};
        enum cb_status status = cb_climate_parse(rows[i].text, rows[i].bare_f, &c, &err);
        if (isnan(rows[i].c)) {
            assert_int_equal(status, CB_USAGE);
            assert_true(c.temp_c == 1 && c.rh_pct == 2 && c.air == CB_AIR_FAN);
            assert_true(err.text[0] != '\0');
            continue;
        }
        assert_int_equal(status, CB_OK);
        assert_true(c.temp_c == rows[i].c && c.rh_pct == rows[i].pct && c.air == rows[i].air);
    }
}

static void parts(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        struct cb_parts parts; /* all zero: refused */
        const char *back;
    } rows[] = {
        {"neat", {1, 0, 0, 0}, "neat"},
        {"2 paint + 1 water", {2, 0, 0, 1}, "2 paint + 1 water"},
        {"2 paint+1 water", {2, 0, 0, 1}, "2 paint + 1 water"},
        {"paint + water", {1, 0, 0, 1}, "1 paint + 1 water"},
        {" 1 paint + 1/2 medium + .5 retarder ",
         {1, .5, .5, 0},
         "1 paint + 0.5 medium + 0.5 retarder"},
        {"3 paint", {3, 0, 0, 0}, "neat"},
        {"", {0, 0, 0, 0}, NULL},
        {"2 paint +", {0, 0, 0, 0}, NULL},
        {"2 paint 1 water", {0, 0, 0, 0}, NULL},
        {"0 paint", {0, 0, 0, 0}, NULL},
        {"-1 paint", {0, 0, 0, 0}, NULL},
        {"1/0 paint", {0, 0, 0, 0}, NULL},
        {"2 oil", {0, 0, 0, 0}, NULL},
        {"nan paint", {0, 0, 0, 0}, NULL},
        {"9999 paint", {0, 0, 0, 0}, NULL},
        {"1 paintwaterpaintwater", {0, 0, 0, 0}, NULL},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_parts p = {9, 9, 9, 9};
        bool good = cb_kinds_parse_parts(rows[i].text, &p);
        assert_true(good == (rows[i].back != NULL));
        if (!good) {
            assert_true(p.paint == 9);
            continue;
        }
        assert_true(p.paint == rows[i].parts.paint && p.medium == rows[i].parts.medium &&
                    p.retarder == rows[i].parts.retarder && p.water == rows[i].parts.water);
        assert_string_equal(cb_kinds_parts_text(&p, &arena), rows[i].back);
    }
    cb_arena_fini(&arena);
}

static void words(void **state)
{
    (void)state;
    for (int i = 0; i < CB_TECHNIQUE_COUNT; i++) {
        enum cb_technique technique;
        assert_true(cb_technique_from_name(cb_technique_name((enum cb_technique)i), &technique));
        assert_int_equal(technique, i);
        assert_true(!cb_technique_needs_paint(technique) || cb_technique_may_have_paint(technique));
    }
    for (int i = 0; i < CB_BY_COUNT; i++) {
        enum cb_by by;
        assert_true(cb_by_from_name(cb_by_name((enum cb_by)i), &by) && (int)by == i);
    }
    for (int i = 0; i < CB_AIR_COUNT; i++) {
        enum cb_air air;
        assert_true(cb_air_from_name(cb_air_name((enum cb_air)i), &air) && (int)air == i);
    }
    enum cb_technique technique;
    assert_false(cb_technique_from_name("Wash", &technique));
}

/* More climates than are remembered, at some temperatures and then at some humidities. */
static void fluxes(void **state)
{
    (void)state;
    enum { FEW = 10, MANY = 2500 };
    const double still_m_s = .10;
    for (int i = 0; i < 2 * FEW * MANY; i++) {
        const int few = i / MANY % FEW, many = i % MANY;
        const double temp_c = i < FEW * MANY ? 5.0 * few : .02 * many;
        const double rh_pct = i < FEW * MANY ? .04 * many : 9.0 * few;
        const double asked = cb_drying_flux(temp_c, rh_pct);
        const double fresh = cb_drying_flux_over(temp_c, rh_pct, still_m_s, .015).g_m2_min;
        assert_memory_equal(&asked, &fresh, sizeof asked);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(temperatures), cmocka_unit_test(humidities), cmocka_unit_test(climates),
        cmocka_unit_test(parts),        cmocka_unit_test(words),      cmocka_unit_test(fluxes),
    };
    return cmocka_run_group_tests_name("climate", tests, NULL, NULL);
}
