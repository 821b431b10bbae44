/* SPDX-License-Identifier: MIT */
/* Figures of a unit that differ: one has a sash, one is parked, one comes late, one is ahead. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "base/time.h"
#include "core/bench/next.h"
#include "support/world.h"

static const char *const wardens =
    "{coatbell: 1, name: Sluice wardens, figures: 4, groups: {warden: [1]},"
    " paints: {mud: {name: Harbour mud, kind: acrylic, dry: 10},"
    "          cloth: {name: Cloth blue, kind: acrylic, dry: 10},"
    "          sash: {name: Gate brass, kind: acrylic, dry: 10}},"
    " areas: {coat: {}, sash: {}},"
    " stages: [{name: Undercoat, technique: undercoat, paint: mud, by: brush, together: yes},"
    "          {name: Coats, technique: basecoat, paint: cloth, on: coat},"
    "          {name: Sash, technique: layer, paint: sash, on: sash, for: warden},"
    "          {name: Varnish, technique: layer, paint: mud, together: yes}]}";
enum { UNDERCOAT = 1, COATS, SASH, VARNISH };

static int setup(void **state)
{
    struct world *world = malloc(sizeof *world);
    world_init(world);
    world_do(world, "session_opened -");
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
    world_begin(world, "u", 4, wardens);
    *state = world;
    return 0;
}

static int teardown(void **state)
{
    world_fini(*state);
    free(*state);
    return 0;
}

static const struct cb_unit *unit_of(const struct world *world)
{
    return cb_bench_unit(world->bench, 0);
}

static struct cb_proposal propose(struct world *world, int figure, int stage)
{
    world_learn(world);
    return cb_next_propose(world->bench, world->learn, unit_of(world), figure, stage,
                           world_ms(world));
}

static enum cb_slot_state state_of(struct world *world, int figure, int stage)
{
    world_learn(world);
    return cb_next_slot(world->bench, world->learn, unit_of(world), figure, stage, world_ms(world))
        .state;
}

static void put_on(struct world *world, int figure, int stage)
{
    world_do(world,
             cb_arena_printf(&world->arena, "coat_on u figure=%d stage=%d coat=1", figure, stage));
}

/* Whoever paints what is named and waits where nothing is: until all is done, or so often. */
static void paint(struct world *world, int most, void (*seen)(const struct cb_proposal *next))
{
    for (int i = 0; i < most && !cb_next_all_done(unit_of(world)); i++) {
        const struct cb_proposal next = propose(world, 0, 0);
        for (int f = 0; next.any && f < (next.together ? next.figure_count : 1); f++) {
            put_on(world, next.figures[f], next.stage);
        }
        if (next.any) {
            seen(&next);
        }
        world_wait(world, next.any ? 1 : 30);
    }
}

static void see_nothing(const struct cb_proposal *next)
{
    (void)next;
}

static void sash_is_on_figure_1_alone(void **state)
{
    struct world *world = *state;
    paint(world, 100, see_nothing);
    assert_true(cb_next_all_done(unit_of(world)));
    assert_int_equal(cb_bench_coats_on(unit_of(world), 1, SASH), 1);
    for (int figure = 2; figure <= 4; figure++) {
        assert_int_equal(cb_bench_coats(unit_of(world), figure, SASH), 0);
        assert_int_equal(state_of(world, figure, SASH), CB_SLOT_NONE);
        assert_int_equal(cb_bench_coats_on(unit_of(world), figure, SASH), 0);
        assert_int_equal(cb_bench_coats_on(unit_of(world), figure, VARNISH), 1);
        assert_false(propose(world, figure, SASH).any);
    }
}

static void see_no_3(const struct cb_proposal *next)
{
    for (int i = 0; i < next->figure_count; i++) {
        assert_int_not_equal(next->figures[i], 3);
    }
}

static void parked_is_never_offered_and_blocks_nothing(void **state)
{
    struct world *world = *state;
    world_do(world, "figure_parked u figure=3");
    assert_false(propose(world, 3, 0).any);
    assert_false(propose(world, 3, UNDERCOAT).any);
    paint(world, 100, see_no_3);
    assert_true(cb_next_all_done(unit_of(world)));
    assert_int_equal(cb_bench_coats_on(unit_of(world), 1, VARNISH), 1);
    for (int stage = UNDERCOAT; stage <= VARNISH; stage++) {
        assert_false(propose(world, 0, stage).any); /* gone to by hand neither */
    }
    const struct cb_proposal next = propose(world, 0, 0);
    assert_false(next.any);
    assert_true(next.ready_ms == CB_TIME_NONE);
    /* broken on the way: what it has stays on it, and it goes on from there */
    world_do(world, "figure_back u figure=3");
    put_on(world, 3, UNDERCOAT);
    world_do(world, "figure_parked u figure=3");
    world_wait(world, 60);
    assert_int_equal(state_of(world, 3, COATS), CB_SLOT_PARKED);
    world_do(world, "figure_back u figure=3");
    assert_int_equal(propose(world, 0, 0).figure, 3);
    assert_int_equal(propose(world, 0, 0).stage, COATS);
    paint(world, 100, see_nothing);
    assert_int_equal(cb_bench_coats_on(unit_of(world), 3, VARNISH), 1);
}

static int order[8], ordered;

static void see_5(const struct cb_proposal *next)
{
    for (int i = 0; i < (next->together ? next->figure_count : 1); i++) {
        if (next->figures[i] == 5 && ordered < 8) {
            order[ordered++] = next->stage;
        }
    }
}

static void late_one_catches_up_in_order(void **state)
{
    struct world *world = *state;
    for (int figure = 1; figure <= 4; figure++) {
        put_on(world, figure, UNDERCOAT);
    }
    world_wait(world, 60);
    for (int figure = 1; figure <= 4; figure++) {
        put_on(world, figure, COATS);
    }
    put_on(world, 1, SASH);
    world_wait(world, 60);
    assert_true(propose(world, 0, 0).together);
    world_do(world, "figure_joined u");
    assert_int_equal(unit_of(world)->figures, 5);
    /* what is done together waits for it, unless it is parked; its undercoat waits for nobody */
    assert_int_equal(state_of(world, 1, VARNISH), CB_SLOT_TOGETHER);
    assert_int_equal(state_of(world, 5, UNDERCOAT), CB_SLOT_READY);
    world_do(world, "figure_parked u figure=5");
    assert_int_equal(state_of(world, 1, VARNISH), CB_SLOT_READY);
    world_do(world, "figure_back u figure=5");
    ordered = 0;
    paint(world, 100, see_5);
    assert_true(cb_next_all_done(unit_of(world)));
    assert_int_equal(ordered, 3);
    assert_int_equal(order[0], UNDERCOAT);
    assert_int_equal(order[1], COATS);
    assert_int_equal(order[2], VARNISH);
    /* it came too late for a group that was not said of it */
    assert_int_equal(cb_bench_coats(unit_of(world), 5, SASH), 0);
}

/* By hand one figure is taken to its end while the others wait; it is then never named again. */
static void see_no_2(const struct cb_proposal *next)
{
    for (int i = 0; i < (next->together ? next->figure_count : 1); i++) {
        assert_int_not_equal(next->figures[i], 2);
    }
}

static void one_may_finish_early(void **state)
{
    struct world *world = *state;
    for (int stage = UNDERCOAT; stage <= VARNISH; stage++) {
        const struct cb_proposal next = propose(world, 2, stage);
        assert_int_equal(next.any, stage != SASH);
        if (next.any) {
            assert_false(next.together && next.figure_count > 1);
            put_on(world, 2, stage);
        }
        world_wait(world, 60);
    }
    assert_int_equal(state_of(world, 2, VARNISH), CB_SLOT_DONE);
    assert_false(cb_next_all_done(unit_of(world)));
    assert_int_equal(propose(world, 0, 0).figure_count, 3);
    paint(world, 100, see_no_2);
    assert_true(cb_next_all_done(unit_of(world)));
    assert_int_equal(cb_bench_coats_on(unit_of(world), 4, VARNISH), 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define TEST(f) cmocka_unit_test_setup_teardown(f, setup, teardown)
        TEST(sash_is_on_figure_1_alone),
        TEST(parked_is_never_offered_and_blocks_nothing),
        TEST(late_one_catches_up_in_order),
        TEST(one_may_finish_early),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
