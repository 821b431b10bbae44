/* SPDX-License-Identifier: MIT */
/*
 * Sprayed in a shed and then brought in: the progress of a film through two airs, by the keys of
 * the bench, against make_two_climates.mjs, which computes it on other algebra from the constants
 * that coatbell-model(7) prints.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "support/stage.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define WITHIN   .1 /* standard minutes */

static void brought_in(void **state)
{
    (void)state;
    static const struct {
        const char *paint, *stage;
        double shed_min, room_min, standard_min;
    } cases[] = {
        {"kind: acrylic", "by: airbrush, mix: 1 paint + 1 water", 10, 5, 9.0014},
        {"kind: spray undercoat", "by: can", 20, 15, 23.3900},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        char recipe[512];
        struct stage stage;
        snprintf(recipe, sizeof recipe,
                 "coatbell: 1\nname: Sluice wardens\nfigures: 2\npaints:\n"
                 "  grey: {name: Lock grey, %s}\nstages:\n"
                 "  - {name: Undercoat, technique: undercoat, paint: grey, place: shed, %s}\n",
                 cases[i].paint, cases[i].stage);
        stage_init_text(&stage, recipe, 2, 24, 80, CB_PING_OFF);
        stage_key(&stage, "c");
        stage_type(&stage, "20 50");
        stage_key(&stage, "ENTER");
        stage_key(&stage, "c");
        stage_type(&stage, "12 70 at shed");
        stage_key(&stage, "ENTER");
        stage_key(&stage, "SPACE"); /* the caution */
        stage_key(&stage, "SPACE");
        stage_wait(&stage, cases[i].shed_min);
        stage_key(&stage, "B");
        stage_wait(&stage, cases[i].room_min);
        const struct cb_bench *bench = stage_bench(&stage);
        const struct cb_film *film = cb_bench_film(cb_bench_unit(bench, 0), 1, 1, 1);
        assert_non_null(film);
        const int64_t now_ms =
            film->on_ms + (int64_t)((cases[i].shed_min + cases[i].room_min) * 60000);
        const double standard_min = cb_bench_progress(bench, film, now_ms);
        if (!(fabs(standard_min - cases[i].standard_min) <= WITHIN)) {
            fail_msg("%s: %.4f, wanted %.4f", cases[i].paint, standard_min, cases[i].standard_min);
        }
        stage_fini(&stage);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(brought_in)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
