/* SPDX-License-Identifier: MIT */
/* Films that lie elsewhere, and those that had warm air. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "app/app.h"
#include "support/stage.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static const char recipe[] = "coatbell: 1\nname: Ferry hands\nfigures: 3\npaints:\n"
                             "  mud: {name: Harbour mud}\n  ebb: {name: Ebb wash, kind: wash}\n"
                             "stages:\n"
                             "  - {name: Coats, technique: basecoat, paint: mud, minutes: 1}\n"
                             "  - {name: Shade, technique: wash, paint: ebb, minutes: 1}\n";

static const char shed[] = "coatbell: 1\nname: Ferry hands\nfigures: 2\npaints:\n"
                           "  grey: {name: Lock grey, kind: spray undercoat}\nstages:\n"
                           "  - {name: Undercoat, technique: undercoat, paint: grey,\n"
                           "     place: shed, together: yes}\n"
                           "  - {name: Again, technique: undercoat, paint: grey}\n";

/* What the bench thinks of both paints: when as good as none, half and nearly all are dry. */
static void times(struct stage *stage, double out[6])
{
    static const double chances[] = {.05, .5, .95};
    const struct cb_unit *unit = cb_bench_unit(stage_bench(stage), 0);
    const struct cb_learn *learn = cb_app_learn(cb_rehearse_app(stage->rehearse));
    for (int i = 0; i < 6; i++) {
        const struct cb_drying *drying = &unit->drying[i / 3];
        out[i] = cb_learn_quantile(learn, cb_bench_stage_pot(unit, i / 3 + 1), drying->pot_sd,
                                   drying->standard_min, chances[i % 3], 0);
    }
}

/* "Dry" of a film at two minutes, which had warm air or had not: does any time move by it? */
static bool moves(bool helped)
{
    struct stage stage;
    double before[6], after[6];
    bool moved = false;
    stage_init_text(&stage, recipe, 3, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 2);
    times(&stage, before);
    if (helped) {
        stage_key(&stage, "h");
        assert_true(stage_shows(&stage, "warm air: Harbour mud on 1; BKSP takes it back"));
    }
    stage_key(&stage, "d");
    if (stage_shows(&stage, "d again")) { /* hardly possible without */
        stage_key(&stage, "d");
    }
    const struct cb_film *film = cb_bench_film(cb_bench_unit(stage_bench(&stage), 0), 1, 1, 1);
    assert_int_equal(film->check, CB_CHECK_DRY);
    assert_int_equal(film->helped, helped);
    times(&stage, after);
    for (int i = 0; i < 6; i++) {
        moved = moved || fabs(after[i] - before[i]) > 0;
    }
    stage_fini(&stage);
    return moved;
}

static void warm_air_teaches_nothing(void **state)
{
    (void)state;
    assert_true(moves(false)); /* else nothing was looked at */
    assert_false(moves(true));
}

/* It brings the ring nearer, by what half a minute in warm air is worth. */
static void warm_air_brings_the_ring_nearer(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, recipe, 3, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 2);
    const struct cb_bench *bench = stage_bench(&stage);
    const struct cb_film *film = cb_bench_film(cb_bench_unit(bench, 0), 1, 1, 1);
    const int64_t before_ms = cb_bench_reaches(bench, film, 6);
    const int64_t now_ms = film->on_ms + 120000;
    const double before_min = cb_bench_progress(bench, film, now_ms);
    stage_key(&stage, "h");
    bench = stage_bench(&stage);
    film = cb_bench_film(cb_bench_unit(bench, 0), 1, 1, 1);
    const double gained_min = cb_bench_progress(bench, film, now_ms) - before_min;
    const struct cb_climate warm = {23, 50, CB_AIR_DRYER};
    assert_true(fabs(gained_min - .5 * (cb_drying_rate(film->drying, &warm) - 1)) < 1e-9);
    assert_true(gained_min > 1); /* some six times the still air: coatbell-model(7) */
    assert_true(fabs((double)(before_ms - cb_bench_reaches(bench, film, 6)) / 60000 - gained_min) <
                .001);
    stage_fini(&stage);
}

/* What was typed for a place is said of it, and of the room else. */
static void air_of_a_place(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, shed, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "c");
    stage_type(&stage, "12 70 at shed");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, " shed: 12 C, 70 %; BKSP takes it back"));
    stage_key(&stage, "c");
    stage_type(&stage, "20 50");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, " room: 20 C, 50 %; BKSP takes it back"));
    stage_fini(&stage);
}

/* A unit behind whose figures lie in the shed is brought in from the rack. */
static void figures_of_another_unit(void **state)
{
    (void)state;
    struct stage stage;
    struct cb_err err = {0};
    stage_init_text(&stage, shed, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE"); /* the caution */
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 1);
    assert_int_equal(cb_rehearse_begin(stage.rehearse, "Others", 3, recipe, &err), CB_OK);
    stage_wait(&stage, 1);
    stage_key(&stage, "F2");
    assert_true(stage_shows(&stage, "shed: all over"));
    stage_key(&stage, "B");
    assert_true(stage_shows(&stage, "brought in from shed: 1 and 2 of sample; BKSP takes it back"));
    assert_int_equal(stage_events(&stage, CB_EVENT_BROUGHT_IN), 1);
    assert_false(stage_shows(&stage, "shed: all over"));
    stage_key(&stage, "B");
    assert_true(stage_shows(&stage, "nothing dries elsewhere"));
    assert_int_equal(stage_events(&stage, CB_EVENT_BROUGHT_IN), 1);
    stage_fini(&stage);
}

/* What was brought in rings as any other film does, and no sooner. */
static void brought_in_rings(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, shed, 2, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE"); /* the caution */
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 10);
    stage_key(&stage, "B");
    stage_wait(&stage, 10);
    assert_int_equal(stage.pings, 0);
    stage_wait(&stage, 60);
    assert_int_equal(stage.pings, 1);
    assert_non_null(strstr(stage.title, "Lock grey: figures 1 and 2 are dry"));
    stage_fini(&stage);
}

/* What runs is told of what is wet near it, as long as it is. */
static void what_is_wet_near_a_wash(void **state)
{
    (void)state;
    static const char near[] = "coatbell: 1\nname: Ferry hands\nfigures: 1\npaints:\n"
                               "  mud: {name: Harbour mud}\n  ebb: {name: Ebb wash, kind: wash}\n"
                               "areas: {rope: {near: [lamp]}, lamp: {}}\nstages:\n"
                               "  - {name: Rope, technique: basecoat, paint: mud, on: rope}\n"
                               "  - {name: Lamp, technique: wash, paint: ebb, on: lamp}\n";
    struct stage stage;
    stage_init_text(&stage, near, 1, 15, 50, CB_PING_OFF);
    assert_false(stage_shows(&stage, "do not let it run"));
    stage_go(&stage, 1);
    stage_key(&stage, "SPACE");
    stage_go(&stage, 2);
    assert_true(stage_shows(&stage, "do not let it run: Harbour mud is wet near it"));
    stage_wait(&stage, 60);
    assert_false(stage_shows(&stage, "do not let it run"));
    stage_fini(&stage);
}

/* A coat is moved to no figure that has no such stage. */
static void a_coat_of_some_stays_with_them(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage,
                    "{coatbell: 1, name: sample, figures: 3, groups: {warden: [1, 3]}, paints: "
                    "{brass: {name: Gate brass, kind: acrylic}}, stages: [{name: Sash, technique: "
                    "layer, paint: brass, for: warden, minutes: 4}]}",
                    3, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "F2");
    stage_key(&stage, "e");
    stage_type(&stage, "2");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "Sash is not for figure 2"));
    assert_int_equal(stage_events(&stage, CB_EVENT_MOVED), 0);
    stage_key(&stage, "BACKSPACE");
    stage_type(&stage, "3");
    stage_key(&stage, "ENTER");
    assert_int_equal(stage_events(&stage, CB_EVENT_MOVED), 1);
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_coat_of_some_stays_with_them),
        cmocka_unit_test(warm_air_teaches_nothing),
        cmocka_unit_test(warm_air_brings_the_ring_nearer),
        cmocka_unit_test(figures_of_another_unit),
        cmocka_unit_test(air_of_a_place),
        cmocka_unit_test(brought_in_rings),
        cmocka_unit_test(what_is_wet_near_a_wash),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
