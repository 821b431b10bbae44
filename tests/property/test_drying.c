/* SPDX-License-Identifier: MIT */
/* What holds for all air and all films, whatever the figures. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "core/air/psychro.h"
#include "support/films.h"

static void climate_over_the_grid(void **state)
{
    (void)state;
    for (double t = 5; t <= 40; t += 1) {
        for (double rh = 10; rh <= 95; rh += 1) {
            assert_true(k(t, rh) > k(t, rh + 1));
            assert_true(k(t + 1, rh) > k(t, rh));
            double film = flux(t, rh).film_c;
            /* ASHRAE's wet bulb is the thermodynamic one, of a Lewis number of 1: hundredths */
            between("film below the air", film, cb_psychro_wet_bulb_c(t, rh, CB_PRESSURE_PA) - .025,
                    t);
        }
    }
}

/* Drier, warmer or faster air never lengthens a wait; whatever the film. */
static void better_air_never_lengthens(void **state)
{
    (void)state;
    for (size_t kind = 0; kind < kinds->kind_count; kind++) {
        for (int technique = 0; technique <= CB_TECHNIQUE_VARNISH; technique++) {
            struct cb_drying d = cb_drying_of(kinds, kind, (enum cb_technique)technique,
                                              CB_BY_BRUSH, &(struct cb_parts){0}, NAN, NAN);
            assert_true(d.standard_min > 0 && isfinite(d.standard_min));
            between("what forms", d.form_min, 0, .9 * d.standard_min);
            for (double t = 0; t <= 45; t += 2.5) {
                for (double rh = 0; rh <= 100; rh += 5) {
                    struct cb_climate c = {t, rh, CB_AIR_STILL};
                    struct cb_climate warmer = {t + 2.5, rh, CB_AIR_STILL};
                    struct cb_climate damper = {t, fmin(rh + 5, 100), CB_AIR_STILL};
                    double minutes = cb_drying_minutes(&d, &c, 1);
                    assert_true(cb_drying_minutes(&d, &warmer, 1) <= minutes);
                    assert_true(cb_drying_minutes(&d, &damper, 1) >= minutes);
                    for (int air = CB_AIR_DRAUGHT; air < CB_AIR_COUNT; air++) {
                        struct cb_climate moved = {t, rh, (enum cb_air)air};
                        assert_true(cb_drying_minutes(&d, &moved, 1) <= minutes);
                    }
                }
            }
        }
    }
}

static void more_water_never_lengthens(void **state)
{
    (void)state;
    for (size_t kind = 0; kind < kinds->kind_count; kind++) {
        for (int t = 0; t <= CB_TECHNIQUE_VARNISH; t++) {
            enum cb_technique technique = (enum cb_technique)t;
            struct cb_parts u = cb_drying_usual(kinds, kind, technique, CB_BY_BRUSH).parts;
            double at_usual =
                cb_drying_of(kinds, kind, technique, CB_BY_BRUSH, &(struct cb_parts){0}, NAN, NAN)
                    .standard_min;
            double before = at_usual;
            for (double more = 0; more <= 20; more += .25) {
                double now =
                    cb_drying_of(kinds, kind, technique, CB_BY_BRUSH,
                                 &(struct cb_parts){u.paint, u.medium, 0, u.water + more}, NAN, NAN)
                        .standard_min;
                between("more water", now, 0, before + 1e-9);
                before = now;
            }
            near("the usual mix said aloud",
                 cb_drying_of(kinds, kind, technique, CB_BY_BRUSH,
                              &(struct cb_parts){2 * u.paint, 2 * u.medium, 0, 2 * u.water}, NAN,
                              NAN)
                     .standard_min,
                 at_usual, 1e-9);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(climate_over_the_grid),
        cmocka_unit_test(better_air_never_lengthens),
        cmocka_unit_test(more_water_never_lengthens),
    };
    return cmocka_run_group_tests_name("drying", tests, load, unload);
}
