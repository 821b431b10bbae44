/* SPDX-License-Identifier: MIT */
/*
 * What one stroke on the scrap is worth on a first evening: four hundred painters (a seed each) put
 * their undercoat on it and touch it every two minutes until it is dry, at a bench that is 1.5
 * times slower or faster than the prior. The painters are drawn from the model's own laws; only the
 * bounds are wanted of them. Where touches lie further apart for what is painted, a thin coat or
 * another air, the quick bench comes out at up to 28 %.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "core/bench/forecast.h"
#include "support/events.h"
#include "support/world.h"

#define PAINTERS  400
#define TOUCH_MIN 2.0
#define POT_SD    .30 /* of the model: core/learn/learn.h, core/paint/kinds.h */
#define FILM_SD   .22

static const char two_pots[] =
    "{coatbell: 1, name: Two pots, figures: 3,"
    " paints: {green: {name: Oilskin green, kind: acrylic}, rope: "
    "{name: Tarred rope, kind: acrylic}},"
    " stages: [{name: Undercoat, technique: undercoat, paint: green, by: brush},"
    "          {name: Rope, technique: basecoat, paint: rope}]}";

static double uniform(struct dice *dice)
{
    return ((double)dice_below(dice, 1u << 30) + .5) / (double)(1u << 30);
}

static double normal(struct dice *dice)
{
    return sqrt(-2 * log(uniform(dice))) * cos(6.283185307179586 * uniform(dice));
}

static void begin(struct world *world)
{
    world_init(world);
    world_do(world, "session_opened -");
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still from=typed");
    world_begin(world, "u", 3, two_pots);
    world_learn(world);
}

/* Standard minutes at which a basecoat of the pot of that stage is usually dry. */
static double usually(struct world *world, int stage)
{
    const struct cb_unit *unit = cb_bench_unit(world->bench, 0);
    const struct cb_drying *drying = &unit->drying[stage - 1];
    world_learn(world);
    return cb_learn_quantile(world->learn, cb_bench_stage_pot(unit, stage), drying->pot_sd,
                             drying->standard_min, .5, 0);
}

/* Touches the stroke until it has gained so many standard minutes. */
static void touch(struct world *world, double dry_min)
{
    world_do(world, "coat_on u figure=0 stage=1 coat=1");
    for (;;) {
        world_wait(world, TOUCH_MIN);
        const struct cb_unit *unit = cb_bench_unit(world->bench, 0);
        if (cb_bench_progress(world->bench, &unit->strokes[0], world_ms(world)) >= dry_min) {
            break;
        }
        world_do(world, "checked u figure=0 stage=1 coat=1 found=wet");
    }
    world_do(world, "checked u figure=0 stage=1 coat=1 found=dry");
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* How far off the time of a pot that was never used is, of the bench's true median: of all
 * painters the middle one. */
static double median_error(double slower, bool scrap)
{
    double errors[PAINTERS];
    for (int i = 0; i < PAINTERS; i++) {
        struct dice dice = {.state = 0x5c4a9 + (uint64_t)i};
        struct world world;
        begin(&world);
        const double prior_min = usually(&world, 2);
        const double dry_min =
            usually(&world, 1) * slower * exp(POT_SD * normal(&dice) + FILM_SD * normal(&dice));
        if (scrap) {
            touch(&world, dry_min);
        }
        errors[i] = fabs(usually(&world, 2) / (prior_min * slower) - 1);
        world_fini(&world);
    }
    qsort(errors, PAINTERS, sizeof *errors, by_size);
    return (errors[PAINTERS / 2 - 1] + errors[PAINTERS / 2]) / 2;
}

static void a_stroke_sets_the_pots_not_used_yet(void **state)
{
    (void)state;
    const double slow = median_error(1.5, true), quick = median_error(1 / 1.5, true);
    print_message("off by %.0f %% at a slow bench (33 without), %.0f %% at a quick one (50)\n",
                  100 * slow, 100 * quick);
    assert_true(fabs(median_error(1.5, false) - 1 / 3.) < 1e-6);
    assert_true(fabs(median_error(1 / 1.5, false) - .5) < 1e-6);
    assert_true(slow <= .25);
    assert_true(quick <= .25);
}

/* Nobody knows for how long it had been dry already. */
static void dry_alone_brings_no_time_up(void **state)
{
    (void)state;
    for (double after_min = 1; after_min <= 64; after_min *= 1.3) {
        struct world world;
        begin(&world);
        const double own = usually(&world, 1), other = usually(&world, 2);
        world_do(&world, "coat_on u figure=0 stage=1 coat=1");
        world_wait(&world, after_min);
        world_do(&world, "checked u figure=0 stage=1 coat=1 found=dry");
        assert_true(usually(&world, 1) <= own * (1 + 1e-9));
        assert_true(usually(&world, 2) <= other * (1 + 1e-9));
        world_fini(&world);
    }
}

/* A stroke and a figure's film that were found alike teach alike. */
static void it_teaches_like_a_film(void **state)
{
    (void)state;
    static const char *const figures[] = {"0", "1"};
    double minutes[2][2];
    for (int way = 0; way < 2; way++) {
        struct world world;
        begin(&world);
        world_do(&world,
                 cb_arena_printf(&world.arena, "coat_on u figure=%s stage=1 coat=1", figures[way]));
        for (int i = 0; i < 2; i++) {
            world_wait(&world, 9);
            world_do(&world,
                     cb_arena_printf(&world.arena, "checked u figure=%s stage=1 coat=1 found=%s",
                                     figures[way], i == 0 ? "wet" : "dry"));
        }
        minutes[way][0] = usually(&world, 1);
        minutes[way][1] = usually(&world, 2);
        world_fini(&world);
    }
    assert_true(minutes[0][0] == minutes[1][0]);
    assert_true(minutes[0][1] == minutes[1][1]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stroke_sets_the_pots_not_used_yet),
        cmocka_unit_test(dry_alone_brings_no_time_up),
        cmocka_unit_test(it_teaches_like_a_film),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
