/* SPDX-License-Identifier: MIT */
/*
 * Does the 80 % interval of "hours to go" hold? Through the front door: logs of simulated painters
 * in, the forecast of their reviews out. Each paints four units of ten figures and eleven stages;
 * whole sittings are quick or slow together, and recipes are wrong stage by stage. Drawn from laws
 * of our own; only the bounds are wanted of them. test_hours_front [PAINTERS]: `make sweep` has
 * fifty, two hundred units a world.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "core/review/effort.h"
#include "core/review/review.h"
#include "support/events.h"
#include "support/world.h"

#define STAGES      11
#define FIGURES     10
#define UNITS       4
#define SITTING_MIN 120
#define FIGURE_SD   .17 /* what the model leaves to a figure: sqrt(.03) */

static int painters = 10;

static const char recipe[] =
    "{coatbell: 1, name: Watch, figures: 10, change: 1 s,"
    " paints: {rope: {name: Tarred rope, kind: acrylic, dry: 2}, ebb: {name: Ebb wash, kind: wash,"
    "          dry: 2}},"
    " stages: [{name: A, technique: undercoat, paint: rope, by: brush, minutes: 2},"
    "          {name: B, technique: basecoat, paint: rope, minutes: 4},"
    "          {name: C, technique: basecoat, paint: rope, minutes: 3},"
    "          {name: D, technique: basecoat, paint: rope, minutes: 5},"
    "          {name: E, technique: wash, paint: ebb, minutes: 3},"
    "          {name: F, technique: recess shade, paint: ebb, minutes: 5},"
    "          {name: G, technique: layer, paint: rope, minutes: 6},"
    "          {name: H, technique: layer, paint: rope, minutes: 4},"
    "          {name: I, technique: edge highlight, paint: rope, minutes: 8},"
    "          {name: J, technique: drybrush, paint: rope, minutes: 2},"
    "          {name: K, technique: glaze, paint: rope, minutes: 3}]}";

static double normal(struct dice *dice)
{
    /* Box and Muller, Ann. Math. Stat. 29 (1958) 610 */
    const double u = ((double)(dice_next(dice) >> 11) + 1) / 9007199254740993.0;
    const double v = (double)(dice_next(dice) >> 11) / 9007199254740992.0;
    return sqrt(-2 * log(u)) * cos(6.283185307179586 * v);
}

struct laws {
    const char *name;
    double sitting_sd, recipe_sd;
    double least; /* of the intervals, per cent */
};

/* At 0, 3, 6 and 9 stages: how many intervals held what it took, and how wide they were. */
struct tally {
    int held[4], all[4];
    double width[4];
};

struct sitting {
    double effect, spent_min;
};

static void sit_down(struct world *world, struct dice *dice, const struct laws *laws,
                     struct sitting *sitting)
{
    if (sitting->spent_min > 0) {
        world_do(world, "session_closed -");
        world_wait(world, 22 * 60.0);
    }
    world_do(world, "session_opened -");
    *sitting = (struct sitting){laws->sitting_sd * normal(dice), 0};
}

/* What the review would say now, and what it said is remembered until the unit is done. */
static struct cb_hours_sum forecast(const struct world *world, size_t unit,
                                    const struct cb_hours *taught)
{
    struct cb_arena arena = {0};
    const struct cb_review *review = cb_review_unit(world->bench, unit, CB_TIME_NONE, &arena);
    const struct cb_effort own = cb_effort_of(review, world_kinds(), &arena);
    struct cb_hours *hours = cb_hours_copy(taught);
    cb_effort_learn(hours, &own);
    const struct cb_hours_sum sum =
        cb_effort_to_go(hours, cb_bench_unit(world->bench, unit), world_kinds());
    cb_hours_free(hours);
    cb_arena_fini(&arena);
    return sum;
}

static void teach(const struct world *world, size_t unit, struct cb_hours *taught)
{
    struct cb_arena arena = {0};
    const struct cb_review *review = cb_review_unit(world->bench, unit, CB_TIME_NONE, &arena);
    const struct cb_effort own = cb_effort_of(review, world_kinds(), &arena);
    cb_effort_learn(taught, &own);
    cb_arena_fini(&arena);
}

static void paint_units(const struct laws *laws, uint64_t seed, struct tally *tally)
{
    static const double nominal[STAGES] = {2, 4, 3, 5, 3, 5, 6, 4, 8, 2, 3};
    static const int technique_of[STAGES] = {0, 1, 1, 1, 2, 3, 4, 4, 5, 6, 7};
    struct dice dice = {seed * 7919 + 13};
    struct world world;
    struct cb_hours *taught = cb_effort_new();
    struct sitting sitting = {0};
    double hand[8], wrong[STAGES];
    const double painter = CB_HOURS_PAINTER_SD * normal(&dice);
    world_init(&world);
    for (int t = 0; t < 8; t++) {
        hand[t] = painter + CB_HOURS_TECHNIQUE_SD * normal(&dice);
    }
    for (int s = 0; s < STAGES; s++) {
        wrong[s] = laws->recipe_sd * normal(&dice);
    }
    for (int u = 0; u < UNITS; u++) {
        struct cb_hours_sum said[4];
        double left_min[4] = {0};
        const double factor = CB_HOURS_UNIT_SD * normal(&dice);
        char id[8];
        snprintf(id, sizeof id, "u%d", u);
        sit_down(&world, &dice, laws, &sitting);
        world_begin(&world, id, FIGURES, recipe);
        for (int s = 0; s < STAGES; s++) {
            if (s % 3 == 0) {
                said[s / 3] = forecast(&world, (size_t)u, taught);
            }
            for (int f = 1; f <= FIGURES; f++) {
                if (sitting.spent_min > SITTING_MIN) {
                    sit_down(&world, &dice, laws, &sitting);
                }
                const double min = nominal[s] * exp(hand[technique_of[s]] + factor + wrong[s] +
                                                    sitting.effect + FIGURE_SD * normal(&dice));
                world_wait(&world, min);
                sitting.spent_min += min;
                world_do(&world,
                         cb_arena_printf(&world.arena, "coat_on %s figure=%d stage=%d coat=1", id,
                                         f, s + 1));
                for (int k = 0; k <= s / 3; k++) {
                    left_min[k] += min;
                }
            }
        }
        for (int k = 0; k < 4; k++) {
            tally->all[k]++;
            tally->held[k] += left_min[k] >= said[k].low_min && left_min[k] <= said[k].high_min;
            tally->width[k] += said[k].high_min / said[k].low_min;
        }
        world_do(&world, cb_arena_printf(&world.arena, "unit_finished %s", id));
        teach(&world, (size_t)u, taught);
    }
    cb_hours_free(taught);
    world_fini(&world);
}

static void intervals_hold(void **state)
{
    (void)state;
    static const struct laws worlds[] = {
        {"sittings of sd .2, recipes right", .2, 0, 70},
        {"sittings of sd .3, recipes right", .3, 0, 70},
        {"sittings of sd .2, recipes wrong by sd .3", .2, .3, 70},
        {"sittings of sd .3, recipes wrong by sd .3", .3, .3, 70},
        {"no sittings, recipes right", 0, 0, 70},
        {"no sittings, recipes wrong by sd .3", 0, .3, 70},
    };
    bool good = true;
    for (size_t w = 0; w < sizeof worlds / sizeof *worlds; w++) {
        struct tally tally = {{0}, {0}, {0}};
        for (int p = 0; p < painters; p++) {
            paint_units(&worlds[w], (uint64_t)p + 1, &tally);
        }
        print_message("%-44s", worlds[w].name);
        for (int k = 0; k < 4; k++) {
            const double share = 100.0 * tally.held[k] / tally.all[k];
            print_message("  %4.1f %% (x %.2f)", share, tally.width[k] / tally.all[k]);
            const bool sits = worlds[w].sitting_sd > 0;
            good = good && share >= worlds[w].least && (!sits || share <= 95);
        }
        print_message("\n");
    }
    assert_true(good);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(intervals_hold),
    };
    if (argc > 1) {
        painters = (int)strtol(argv[1], NULL, 10);
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
