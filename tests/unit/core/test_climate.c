/* SPDX-License-Identifier: MIT */
/* What a painter types for the air, and for a mix; and that the air's flux is the same whenever it
 * is asked for. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
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
        {"19,5", 19.5},
        {"19,5 C", 19.5},
        {"20 degrees", 20},
        {"70.7 F", 21.5},
        {"55%", NAN},
        {"20 fan", NAN},
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
        {"62", 62},   {"62%", 62},    {"0", 0},           {"100", 100},
        {"-1", NAN},  {"101", NAN},   {"nan", NAN},       {"1e9", NAN},
        {"", NAN},    {"62F", NAN},   {"%", NAN},         {"100.1", NAN},
        {"62 %", 62}, {"62,5", 62.5}, {"62 percent", 62}, {"62% RH", 62},
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
        {"20, 62 window", false, 20, 62, CB_AIR_DRAUGHT},
        {"19.5\xC2\xB0 62%", false, 19.5, 62, CB_AIR_FAN},
        {"20 \xC2\xB0"
         "C 55 %",
         false, 20, 55, CB_AIR_FAN},
        {"20\xC2\xBA"
         "C, 55 %",
         false, 20, 55, CB_AIR_FAN},
        {"20\xC2\xB0\xC2\xA0"
         "C 55\xC2\xA0%",
         false, 20, 55, CB_AIR_FAN},
        {"68\xC2\xB0 55%", true, 20, 55, CB_AIR_FAN},
        {"20/55", false, 20, 55, CB_AIR_FAN},
        {"20 / 55", false, 20, 55, CB_AIR_FAN},
        {"20; 55", false, 20, 55, CB_AIR_FAN},
        {"19,5/62", false, 19.5, 62, CB_AIR_FAN},
        {"20C 55% RH", false, 20, 55, CB_AIR_FAN},
        {"20 C, 55 % rH", true, 20, 55, CB_AIR_FAN},
        {"RH 55, 20", false, 20, 55, CB_AIR_FAN},
        {"20C RH 55", false, 20, 55, CB_AIR_FAN},
        {"55 RH 20C", false, 20, 55, CB_AIR_FAN},
        {"20 55 humidity", false, 20, 55, CB_AIR_FAN},
        {"temperature 20 humidity 55", false, 20, 55, CB_AIR_FAN},
        {"55% 20C", false, 20, 55, CB_AIR_FAN},
        {"55 % 20", false, 20, 55, CB_AIR_FAN},
        {"55 20C", false, 20, 55, CB_AIR_FAN},
        {"62,5% 19,5", false, 19.5, 62.5, CB_AIR_FAN},
        {"55% 68F", false, 20, 55, CB_AIR_FAN},
        {"20C55%", false, 20, 55, CB_AIR_FAN},
        {"20 degrees 55 percent", false, 20, 55, CB_AIR_FAN},
        {"20 degrees C and 55 per cent", false, 20, 55, CB_AIR_FAN},
        {"20 Celsius 55% relative humidity", true, 20, 55, CB_AIR_FAN},
        {"68 Fahrenheit 55", false, 20, 55, CB_AIR_FAN},
        {"-5C 70", true, -5, 70, CB_AIR_FAN},
        {"+20 55", false, 20, 55, CB_AIR_FAN},
        {"19 62 open window", false, 19, 62, CB_AIR_DRAUGHT},
        {"19 62 window open", false, 19, 62, CB_AIR_DRAUGHT},
        {"open window 19 62", false, 19, 62, CB_AIR_DRAUGHT},
        {"19 62 with a hair dryer", false, 19, 62, CB_AIR_DRYER},
        {"19 62 Hairdryer", false, 19, 62, CB_AIR_DRYER},
        {"19,5 62,5 draft", false, 19.5, 62.5, CB_AIR_DRAUGHT},
        {"19 62 still air", false, 19, 62, CB_AIR_STILL},
        {"19,75 62", false, 19.75, 62, CB_AIR_FAN},
        {"19,5,62", false, 19.5, 62, CB_AIR_FAN},
        {"19,62,5", false, 19, 62.5, CB_AIR_FAN},
        {"19,5,62,5", false, 19.5, 62.5, CB_AIR_FAN},
        {"20,100", false, 20, 100, CB_AIR_FAN},
        {"40 55", false, 40, 55, CB_AIR_FAN},
        {"60C 100 %", false, 60, 100, CB_AIR_FAN},
        {"33 55", true, 5.0 / 9, 55, CB_AIR_FAN},
        {"", false, NAN, 0, CB_AIR_FAN},
        {"20", false, NAN, 0, CB_AIR_FAN},
        {"55 %", false, NAN, 0, CB_AIR_FAN},
        {"19,5", false, NAN, 0, CB_AIR_FAN}, /* one number */
        {"20,055", false, NAN, 0, CB_AIR_FAN},
        {"20 62 gale", false, NAN, 0, CB_AIR_FAN},
        {"20 62 no fan", false, NAN, 0, CB_AIR_FAN},
        {"20 62 window shut", false, NAN, 0, CB_AIR_FAN},
        {"20 62 fan fan", false, NAN, 0, CB_AIR_FAN},
        {"20 62 hair", false, NAN, 0, CB_AIR_FAN},
        {"62 20 fan", false, NAN, 0, CB_AIR_FAN},
        {"20 162", false, NAN, 0, CB_AIR_FAN},
        {"20 -5", false, NAN, 0, CB_AIR_FAN},
        {"20-55", false, NAN, 0, CB_AIR_FAN},
        {"19-20 55", false, NAN, 0, CB_AIR_FAN},
        {"hot 20", false, NAN, 0, CB_AIR_FAN},
        {"20 55 68", false, NAN, 0, CB_AIR_FAN},
        {"20,55,62", false, NAN, 0, CB_AIR_FAN},
        {"20C 21C", false, NAN, 0, CB_AIR_FAN},
        {"55% 60%", false, NAN, 0, CB_AIR_FAN},
        {"55% C", false, NAN, 0, CB_AIR_FAN},
        {"20 C F 55", false, NAN, 0, CB_AIR_FAN},
        {"20C% 55", false, NAN, 0, CB_AIR_FAN},
        {"20 RH 55", false, NAN, 0, CB_AIR_FAN}, /* which of them is it? */
        {"20 temp 55", false, NAN, 0, CB_AIR_FAN},
        {"% 20 55", false, NAN, 0, CB_AIR_FAN},
        {"C 20 55", false, NAN, 0, CB_AIR_FAN},
        {"161C 55", false, NAN, 0, CB_AIR_FAN},
        {"-21C 55", false, NAN, 0, CB_AIR_FAN},
        {"1e1 55", false, NAN, 0, CB_AIR_FAN},
        {"0x14 55", false, NAN, 0, CB_AIR_FAN},
        {"20..5 55", false, NAN, 0, CB_AIR_FAN},
        {"20.5.5 55", false, NAN, 0, CB_AIR_FAN},
        {"20 - 55", false, NAN, 0, CB_AIR_FAN},
        {"nan inf", false, NAN, 0, CB_AIR_FAN},
        {"\xD9\xA2\xD9\xA0 \xD9\xA5\xD9\xA0", false, NAN, 0, CB_AIR_FAN},
        {"20 55 \xC2", false, NAN, 0, CB_AIR_FAN},
        {"20 55 windowwindowwindowwindowwindow", false, NAN, 0, CB_AIR_FAN},
        {"20 55 fan fan fan fan fan fan fan fan fan", false, NAN, 0, CB_AIR_FAN},
        {"00000000000000000000000000000000000020 55", false, NAN, 0, CB_AIR_FAN},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_err err = {0};
        struct cb_climate c = {1, 2, CB_AIR_FAN};
        enum cb_status status = cb_climate_parse(rows[i].text, rows[i].bare_f, &c, &err);
        if (isnan(rows[i].c)) {
            assert_int_equal(status, CB_USAGE);
            assert_true(c.temp_c == 1 && c.rh_pct == 2 && c.air == CB_AIR_FAN);
            /* two numbers that would be right, within the smallest screen */
            assert_true(strstr(err.text, "19.5 62") || strstr(err.text, "62C 20%"));
            assert_true(strlen(err.text) <= 47);
            continue;
        }
        assert_int_equal(status, CB_OK);
        assert_true(fabs(c.temp_c - rows[i].c) < 1e-9);
        assert_true(c.rh_pct == rows[i].pct && c.air == rows[i].air);
    }
}

/* A bare number that no bench has is asked about, in either unit; what the other unit takes is
 * always asked about, so that a yes is never a surprise. */
static void other_unit(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool bare_f, asks;
        const char *says;
    } rows[] = {
        {"68 55", false, true, "68 F? write 68F 55% or 68C 55%"},
        {"68 55%", false, true, "68 F? write 68F 55% or 68C 55%"},
        {"68.5\xC2\xB0 55 fan", false, true, "68.5 F? write 68.5F 55% or 68.5C 55%"},
        {"55% 68", false, true, "68 F? write 68F 55% or 68C 55%"},
        {"20 55", true, true, "20 C? write 20F 55% or 20C 55%"},
        {"41 55", false, true, "41 F? write 41F 55% or 41C 55%"},
        {"40 55", false, false, NULL},
        {"33 55", true, false, NULL},
        {"20F 55", false, false, NULL},
        {"20F 55", true, false, NULL},
        {"50C 55", false, false, NULL},
        {"141 55", false, false, "too hot for a room: write 19.5 62"},
        {"-30 55", true, false, "too cold for a room: write 67 62"},
        {"68 55 gale", false, false, "not understood: gale; write 19.5 62"},
        {"68 155", false, false, "humidity is 0 to 100 %: write 19.5 62"},
        {"68", false, false, "and the humidity? write 19.5 62"},
        {"68%", true, false, "and the temperature? write 67 62"},
        {"", true, false, "temperature and humidity: write 67 62"},
        {"1 2 3", false, false, "two numbers are wanted: write 19.5 62"},
        {"20C 21C", false, false, "which is the humidity? write 19.5 62"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_err err = {0};
        struct cb_climate c = cb_climate_standard;
        assert_true(cb_climate_asks(rows[i].text, rows[i].bare_f) == rows[i].asks);
        enum cb_status status = cb_climate_parse(rows[i].text, rows[i].bare_f, &c, &err);
        assert_int_equal(status, rows[i].says ? CB_USAGE : CB_OK);
        assert_string_equal(rows[i].says ? err.text : "", rows[i].says ? rows[i].says : "");
    }
    for (int value = -200; value <= 200; value++) {
        for (int bare_f = 0; bare_f < 2; bare_f++) {
            char text[16];
            struct cb_err err = {0};
            struct cb_climate own, other;
            snprintf(text, sizeof text, "%d 55", value);
            bool good = cb_climate_parse(text, bare_f, &own, &err) == CB_OK;
            bool turned = cb_climate_parse(text, !bare_f, &other, &err) == CB_OK;
            assert_true(cb_climate_asks(text, bare_f) ? !good && turned : good || !turned);
        }
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(temperatures), cmocka_unit_test(humidities), cmocka_unit_test(climates),
        cmocka_unit_test(other_unit),   cmocka_unit_test(parts),      cmocka_unit_test(words),
    };
    return cmocka_run_group_tests_name("climate", tests, NULL, NULL);
}
