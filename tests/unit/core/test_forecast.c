/* SPDX-License-Identifier: MIT */
/* When a film could be, as likely as not is, and is taken to be dry; what an answer puts off. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <cmocka.h>

#include "base/time.h"
#include "core/bench/forecast.h"
#include "support/world.h"

#define COUNT(list)           (sizeof(list) / sizeof *(list))
#define assert_near(a, b, by) assert_true(fabs((a) - (b)) <= (by))

static const char *const recipe =
    "{coatbell: 1, name: r, figures: 9, paints: {green: {name: Oilskin green, kind: acrylic, dry: "
    "22}, grey: {name: Eel grey, kind: acrylic, dry: 10, label: 60}}, stages: ["
    "{name: Coats, technique: basecoat, paint: green},"
    "{name: Base, technique: basecoat, paint: grey},"
    "{name: Decals, technique: transfer, wait: 20}]}";
enum { COATS = 1, BASE, DECALS };

static void begin(struct world *world)
{
    world_init(world);
    world_do(world, "session_opened -");
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
    world_begin(world, "u", 9, recipe);
}

static struct cb_forecast forecast_at(struct world *world, int stage, int64_t now_ms)
{
    world_learn(world);
    const struct cb_film *film = cb_bench_film(cb_bench_unit(world->bench, 0), 1, stage, 1);
    return cb_forecast_film(world->bench, world->learn, film, now_ms);
}

static void test_chances(void **state)
{
    (void)state;
    static const int pcts[] = {50, 80, 95};
    for (size_t i = 0; i < COUNT(pcts); i++) {
        struct world world;
        begin(&world);
        world_do(&world, cb_arena_printf(&world.arena, "confidence_set - pct=%d", pcts[i]));
        world_do(&world, "coat_on u figure=1 stage=1 coat=1");
        const struct cb_forecast film = forecast_at(&world, COATS, world_ms(&world));
        assert_near(forecast_at(&world, COATS, film.median_ms).chance, .50, 1e-3);
        assert_near(forecast_at(&world, COATS, film.due_ms).chance, pcts[i] / 100.0, 1e-3);
        assert_true(forecast_at(&world, COATS, film.due_ms).dry);
        assert_false(forecast_at(&world, COATS, film.due_ms - 1000).dry);
        /* without a learner the same, from the prior */
        const struct cb_film *plain = cb_bench_film(cb_bench_unit(world.bench, 0), 1, COATS, 1);
        assert_near(cb_forecast_film(world.bench, NULL, plain, film.due_ms).chance, pcts[i] / 100.0,
                    1e-2);
        world_fini(&world);
    }
}

/* Found wet: dry then is out of the question; the rest is shared among what is to come. */
static void test_found_wet(void **state)
{
    (void)state;
    struct world world;
    begin(&world);
    world_do(&world, "coat_on u figure=1 stage=1 coat=1");
    world_wait(&world, 25);
    world_do(&world, "checked u figure=1 stage=1 coat=1 found=wet");
    const int64_t wet_ms = world_ms(&world);
    const struct cb_forecast film = forecast_at(&world, COATS, wet_ms);
    assert_near(film.chance, 0, 1e-9);
    assert_true(wet_ms < film.median_ms && film.median_ms < film.due_ms);
    assert_near(forecast_at(&world, COATS, film.median_ms).chance, .50, 1e-3);
    assert_near(forecast_at(&world, COATS, film.due_ms).chance, .80, 1e-3);
    assert_int_equal(cb_forecast_median_ms(world.bench, world.learn,
                                           cb_bench_film(cb_bench_unit(world.bench, 0), 1, 1, 1)),
                     film.median_ms);
    world_do(&world, "checked u figure=1 stage=1 coat=1 found=dry");
    assert_near(forecast_at(&world, COATS, wet_ms).chance, 1, 1e-9);
    world_fini(&world);
}

/* An exact wait goes on by a quarter of itself, and is never shorter than it is. */
static void test_wait_again(void **state)
{
    (void)state;
    static const struct {
        double wet_min, due_min;
    } cases[] = {{14, 20}, {15, 20}, {16, 21}, {20, 25}, {40, 45}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct world world;
        begin(&world);
        const int64_t on_ms = world_ms(&world);
        world_do(&world, "coat_on u figure=1 stage=3 coat=1");
        world_wait(&world, cases[i].wet_min);
        world_do(&world, "checked u figure=1 stage=3 coat=1 found=wet");
        const struct cb_forecast film = forecast_at(&world, DECALS, world_ms(&world));
        assert_near((double)(film.due_ms - on_ms) / 60000, cases[i].due_min, 1e-6);
        assert_true(film.median_ms == film.due_ms);
        assert_int_equal(film.from, CB_DUE_WAIT);
        world_fini(&world);
    }
}

/* What is printed on the pot is a floor until five films outweigh it. */
static void test_label(void **state)
{
    (void)state;
    struct world world;
    begin(&world);
    world_learn(&world);
    const struct cb_unit *unit = cb_bench_unit(world.bench, 0);
    struct cb_drying drying = unit->drying[BASE - 1];
    assert_near(cb_forecast_ring_min(&drying, NULL, NULL, 4, .8), 60, 1e-9);
    assert_near(cb_forecast_ring_min(&drying, NULL, NULL, 5, .8), 10 * 1.548, .05);
    drying.label_min = 12; /* a floor, no ceiling */
    assert_near(cb_forecast_ring_min(&drying, NULL, NULL, 0, .8), 10 * 1.548, .05);
    world_fini(&world);
}

/* Median and ping of each film in turn; then nothing more, and nothing of what is done. */
static void test_deadlines(void **state)
{
    (void)state;
    struct world world;
    begin(&world);
    world_do(&world, "coat_on u figure=1 stage=1 coat=1");
    world_do(&world, "coat_on u figure=2 stage=3 coat=1");
    world_learn(&world);
    const int64_t on_ms = world_ms(&world);
    const struct cb_forecast film = forecast_at(&world, COATS, on_ms);
    const int64_t wanted[] = {on_ms + 20 * CB_MS_PER_MIN, film.median_ms, film.due_ms};
    int64_t at_ms = on_ms;
    for (size_t i = 0; i < COUNT(wanted); i++) {
        at_ms = cb_forecast_next_deadline(world.bench, world.learn, at_ms);
        assert_int_equal(at_ms, wanted[i]);
    }
    assert_true(cb_forecast_next_deadline(world.bench, world.learn, at_ms) == CB_TIME_NONE);
    world_do(&world, "unit_finished u");
    assert_true(cb_forecast_next_deadline(world.bench, world.learn, on_ms) == CB_TIME_NONE);
    world_fini(&world);
}

/* In the cold a film goes as far as its water does, by what is known of its pot by then. */
static void test_cold(void **state)
{
    (void)state;
    for (int learned = 0; learned < 2; learned++) {
        struct world world;
        begin(&world);
        for (int figure = 2; learned && figure <= 9; figure++) {
            world_do(&world,
                     cb_arena_printf(&world.arena, "coat_on u figure=%d stage=1 coat=1", figure));
            world_wait(&world, 32);
            world_do(&world,
                     cb_arena_printf(&world.arena, "checked u figure=%d stage=1 coat=1 found=wet",
                                     figure));
            world_wait(&world, 6);
            world_do(&world,
                     cb_arena_printf(&world.arena, "checked u figure=%d stage=1 coat=1 found=dry",
                                     figure));
        }
        world_learn(&world);
        const double median =
            learned ? cb_learn_quantile(world.learn,
                                        cb_bench_stage_pot(cb_bench_unit(world.bench, 0), 1), .30,
                                        22, .5, 0)
                    : 22;
        assert_near(median, learned ? 34 : 22, 1.5);
        world_do(&world, "climate_set - temp_c=9.9 rh_pct=60 air=still");
        world_do(&world, "coat_on u figure=1 stage=1 coat=1");
        assert_true(forecast_at(&world, COATS, world_ms(&world)).due_ms == CB_TIME_NONE);
        world_wait(&world, 600);
        struct cb_forecast film = forecast_at(&world, COATS, world_ms(&world));
        const struct cb_drying *drying = &cb_bench_unit(world.bench, 0)->drying[0];
        const double formless = cb_drying_formless_min(drying, median);
        assert_true(film.held && !film.dry && film.due_ms == CB_TIME_NONE &&
                    film.median_ms == CB_TIME_NONE);
        assert_near(film.standard_now_min, formless, 1e-6);
        world_do(&world, "climate_set - temp_c=23 rh_pct=50");
        film = forecast_at(&world, COATS, world_ms(&world));
        assert_false(film.held);
        assert_near((double)(film.median_ms - world_ms(&world)) / 60000, median - formless, 1e-3);
        const struct cb_film *on = cb_bench_film(cb_bench_unit(world.bench, 0), 1, COATS, 1);
        assert_int_equal(cb_forecast_median_ms(world.bench, world.learn, on), film.median_ms);
        assert_near((double)(film.due_ms - world_ms(&world)) / 60000,
                    film.standard_due_min - formless, 1e-3);
        world_fini(&world);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_chances),    cmocka_unit_test(test_found_wet),
        cmocka_unit_test(test_wait_again), cmocka_unit_test(test_label),
        cmocka_unit_test(test_deadlines),  cmocka_unit_test(test_cold),
    };
    return cmocka_run_group_tests_name("forecast", tests, NULL, NULL);
}
