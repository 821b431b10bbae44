/* SPDX-License-Identifier: MIT */
/* Figures of a unit that differ: one has a sash, one is parked, one comes late, one is ahead; and
 * parts of them that are painted apart. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

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

/* A shield with its boss on a stick of their own, and a lamp on another. */
static const char *const shields =
    "{coatbell: 1, name: Ferry guards, figures: 2,"
    " paints: {mud: {name: Harbour mud, kind: acrylic, dry: 10},"
    "          cloth: {name: Cloth blue, kind: acrylic, dry: 10}},"
    " areas: {coat: {beside: [shield]}, face: {}, shield: {apart: yes, beside: [boss]},"
    "         boss: {apart: yes, near: [face]}, lamp: {apart: yes, beside: [shield, coat]}},"
    " stages: [{name: Undercoat, technique: undercoat, paint: mud, by: brush},"
    "          {name: Lamp primed, technique: undercoat, paint: mud, by: brush, on: lamp},"
    "          {name: Coats, technique: basecoat, paint: cloth, on: coat},"
    "          {name: Shields, technique: basecoat, paint: cloth, on: shield},"
    "          {name: Bosses, technique: layer, paint: mud, on: boss},"
    "          {name: Lamps, technique: basecoat, paint: mud, on: lamp},"
    "          {name: Faces, technique: basecoat, paint: mud, on: face},"
    "          {name: Shields on, technique: join, on: [shield, boss], wait: 5},"
    "          {name: Coats again, technique: layer, paint: mud, on: coat, after: [Coats]},"
    "          {name: Lamps on, technique: join, on: lamp, wait: 5},"
    "          {name: Wash, technique: wash, paint: mud}]}";
enum {
    ALL_PRIMED = 1,
    LAMP_PRIMED,
    GUARD_COATS,
    SHIELDS,
    BOSSES,
    LAMPS,
    FACES,
    SHIELDS_ON,
    COATS_AGAIN,
    LAMPS_ON,
    WASH
};

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

static int setup_shields(void **state)
{
    struct world *world = malloc(sizeof *world);
    world_init(world);
    world_do(world, "session_opened -");
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
    world_begin(world, "u", 2, shields);
    *state = world;
    return 0;
}

/* Stages first to last on figure 1, dry. */
static void paint_stages(struct world *world, int first, int last)
{
    for (int stage = first; stage <= last; stage++) {
        put_on(world, 1, stage);
        world_wait(world, 60);
    }
}

static uint64_t areas(unsigned coat, unsigned face, unsigned shield, unsigned boss, unsigned lamp)
{
    return coat | face << 1 | shield << 2 | boss << 3 | lamp << 4;
}

static void an_undercoat_of_whole_takes_in_parts_that_have_none_of_their_own(void **state)
{
    struct world *world = *state;
    const struct cb_recipe *recipe = unit_of(world)->recipe;
    assert_int_equal(cb_recipe_covers(recipe, ALL_PRIMED - 1), areas(1, 1, 1, 1, 0));
    assert_int_equal(cb_recipe_covers(recipe, WASH - 1), areas(1, 1, 1, 1, 1));
    assert_int_equal(cb_recipe_covers(recipe, SHIELDS_ON - 1), areas(0, 0, 1, 1, 0));
    assert_int_equal(state_of(world, 1, SHIELDS), CB_SLOT_WAITS);
    assert_int_equal(state_of(world, 1, LAMP_PRIMED), CB_SLOT_READY);
    put_on(world, 1, ALL_PRIMED);
    assert_int_equal(state_of(world, 1, SHIELDS), CB_SLOT_WET);
    assert_int_equal(state_of(world, 1, LAMP_PRIMED), CB_SLOT_READY);
    put_on(world, 1, LAMP_PRIMED);
    world_wait(world, 60);
    assert_int_equal(state_of(world, 1, SHIELDS), CB_SLOT_READY);
    /* the lamp's undercoat went over nothing of the figure's: the first one stands unanswered */
    assert_true(cb_bench_film(unit_of(world), 1, ALL_PRIMED, 1)->next_ms == CB_TIME_NONE);
}

/* What is the part's own, and what comes after its join: by the order of the recipe, or by after.
 */
static void what_a_stage_of_whole_takes_in(void **state)
{
    static const struct {
        const char *stages;
        bool takes_in; /* the stage All the shield */
    } cases[] = {
        {"{name: All, technique: layer, paint: mud}, {name: On, technique: join, on: shield}",
         true},
        {"{name: All, technique: layer, paint: mud},"
         " {name: Own, technique: basecoat, paint: mud, on: shield},"
         " {name: On, technique: join, on: shield}",
         true},
        {"{name: All, technique: layer, paint: mud},"
         " {name: Own, technique: layer, paint: mud, on: [shield, coat]},"
         " {name: On, technique: join, on: shield}",
         false},
        {"{name: All, technique: layer, paint: mud}, {name: On, technique: join, on: shield},"
         " {name: Own, technique: layer, paint: mud, on: shield}",
         true},
        {"{name: All, technique: layer, paint: mud}, {name: On, technique: join, on: shield},"
         " {name: Own, technique: layer, paint: mud, on: shield, after: []}",
         false},
        {"{name: Own, technique: layer, paint: mud, on: shield},"
         " {name: On, technique: join, on: shield}, {name: All, technique: layer, paint: mud}",
         true},
        {"{name: Own, technique: layer, paint: mud, on: shield},"
         " {name: On, technique: join, on: shield},"
         " {name: All, technique: layer, paint: mud, after: []}",
         false},
        {"{name: Own, technique: layer, paint: mud, on: shield},"
         " {name: All, technique: layer, paint: mud, after: [Then]},"
         " {name: On, technique: join, on: shield, after: [Own]},"
         " {name: Then, technique: prepare, on: coat, after: [On]}",
         true},
        {"{name: Own, technique: layer, paint: mud, on: shield}, {name: All, technique: layer,"
         " paint: mud}",
         false},
    };
    struct world *world = *state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        world_begin(world, cb_arena_printf(&world->arena, "c%zu", i), 2,
                    cb_arena_printf(&world->arena,
                                    "{coatbell: 1, name: v, paints: {mud: {kind: acrylic}},"
                                    " areas: {coat: {}, shield: {apart: yes}}, stages: [%s]}",
                                    cases[i].stages));
        const struct cb_recipe *recipe =
            cb_bench_unit(world->bench, cb_bench_unit_count(world->bench) - 1)->recipe;
        const int all = cb_recipe_stage(recipe, "All");
        assert_true(all >= 0);
        if ((cb_recipe_covers(recipe, (size_t)all) >> 1 & 1) != cases[i].takes_in) {
            fail_msg("%s", cases[i].stages);
        }
        assert_true(cb_recipe_covers(recipe, (size_t)all) & 1);
        /* with all done, what no stage joins is off the figure still */
        assert_int_equal(cb_recipe_off(recipe, 0) >> 1 & 1, !strstr(cases[i].stages, "join"));
    }
}

static void parts_do_not_meet_the_rest_until_their_join(void **state)
{
    struct world *world = *state;
    paint_stages(world, ALL_PRIMED, LAMP_PRIMED);
    put_on(world, 1, GUARD_COATS);
    assert_int_equal(state_of(world, 1, SHIELDS), CB_SLOT_READY); /* beside, across the gap */
    assert_int_equal(state_of(world, 1, LAMPS), CB_SLOT_READY);
    put_on(world, 1, SHIELDS);
    assert_int_equal(state_of(world, 1, LAMPS), CB_SLOT_READY); /* another part */
    assert_int_equal(state_of(world, 1, FACES), CB_SLOT_READY);
    assert_int_equal(state_of(world, 1, BOSSES), CB_SLOT_BESIDE); /* of the same part */
    world_wait(world, 60);
    put_on(world, 1, BOSSES);
    assert_int_equal(state_of(world, 1, COATS_AGAIN), CB_SLOT_READY); /* it waits for no join */
    assert_int_equal(state_of(world, 1, SHIELDS_ON), CB_SLOT_WET);
    assert_int_equal(state_of(world, 1, WASH), CB_SLOT_WAITS);
    world_wait(world, 60);
    /* the join has waited for its parts, not for what is wet on the figure */
    put_on(world, 1, COATS_AGAIN);
    assert_int_equal(state_of(world, 1, SHIELDS_ON), CB_SLOT_READY);
    put_on(world, 1, SHIELDS_ON);
    world_do(world, "lifted u figure=1 stage=9 coat=1"); /* the coat came up: it goes on again */
    assert_int_equal(state_of(world, 1, COATS_AGAIN), CB_SLOT_BESIDE); /* the glue is fresh */
    assert_int_equal(
        cb_next_slot(world->bench, world->learn, unit_of(world), 1, COATS_AGAIN, world_ms(world))
            .by_stage,
        SHIELDS_ON);
    world_wait(world, 60);
    put_on(world, 1, COATS_AGAIN);
    world_do(world, "lifted u figure=1 stage=4 coat=1");
    assert_int_equal(state_of(world, 1, SHIELDS), CB_SLOT_BESIDE); /* now it is on */
    assert_int_equal(state_of(world, 1, LAMPS), CB_SLOT_READY);    /* and the lamp is not */
    assert_int_equal(state_of(world, 2, SHIELDS), CB_SLOT_WAITS);  /* of figure 2 nothing is said */
}

static void what_comes_after_the_join_waits_for_both(void **state)
{
    struct world *world = *state;
    paint_stages(world, ALL_PRIMED, SHIELDS);
    paint_stages(world, BOSSES, LAMPS_ON);
    assert_int_equal(state_of(world, 1, WASH), CB_SLOT_READY);
    world_do(world, "lifted u figure=1 stage=3 coat=1");
    assert_int_equal(state_of(world, 1, WASH), CB_SLOT_WAITS);
    put_on(world, 1, GUARD_COATS);
    assert_int_equal(state_of(world, 1, WASH), CB_SLOT_WET);
    world_wait(world, 60);
    world_do(world, "lifted u figure=1 stage=5 coat=1");
    assert_int_equal(state_of(world, 1, WASH), CB_SLOT_WAITS);
    put_on(world, 1, BOSSES);
    assert_int_equal(state_of(world, 1, WASH), CB_SLOT_WET);
    world_wait(world, 60);
    assert_int_equal(state_of(world, 1, WASH), CB_SLOT_READY);
    put_on(world, 1, WASH);
    assert_true(cb_bench_film(unit_of(world), 1, BOSSES, 1)->next_ms != CB_TIME_NONE);
    assert_true(cb_bench_film(unit_of(world), 1, GUARD_COATS, 1)->next_ms != CB_TIME_NONE);
}

/* Whoever leaves the join out has the part on the figure. */
static void a_part_without_its_join_is_on_the_figure(void **state)
{
    struct world *world = *state;
    paint_stages(world, ALL_PRIMED, LAMP_PRIMED);
    world_do(world, "stage_left_out u stage=8 figure=1");
    put_on(world, 1, GUARD_COATS);
    assert_int_equal(state_of(world, 1, SHIELDS), CB_SLOT_BESIDE);
    assert_int_equal(state_of(world, 1, LAMPS), CB_SLOT_READY);
}

/* Near is soft, and across the gap nothing at all: the first of two figures goes first. */
static void near_binds_on_one_piece_alone(void **state)
{
    struct world *world = *state;
    for (int figure = 1; figure <= 2; figure++) {
        put_on(world, figure, ALL_PRIMED);
        put_on(world, figure, LAMP_PRIMED);
    }
    world_wait(world, 60);
    put_on(world, 1, BOSSES);
    assert_int_equal(state_of(world, 1, FACES), CB_SLOT_READY);
    assert_int_equal(propose(world, 0, FACES).figure, 1);
    world_do(world, "stage_left_out u stage=8");
    assert_int_equal(state_of(world, 1, FACES), CB_SLOT_READY);
    assert_int_equal(propose(world, 0, FACES).figure, 2);
}

/* Of what runs or drifts, a wash, a stain or a spray, a wet film near it is told; of a brush not,
 * and of what is beside it or on another figure neither. */
static void what_runs_minds_what_is_near(void **state)
{
    static const struct {
        const char *stage;
        bool minds;
    } cases[] = {
        {"technique: basecoat, paint: rope", false},
        {"technique: wash, paint: rope", true},
        {"technique: recess shade, paint: ebb", true},
        {"technique: basecoat, paint: ebb", true},
        {"technique: basecoat, paint: rope, by: airbrush", true},
        {"technique: undercoat, paint: can", true},
        {"technique: prepare", false},
    };
    struct world *world = *state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *unit = cb_arena_printf(&world->arena, "n%zu", i);
        world_begin(world, unit, 2,
                    cb_arena_printf(&world->arena,
                                    "{coatbell: 1, name: v,"
                                    " paints: {rope: {name: Tarred rope, kind: acrylic},"
                                    "  ebb: {name: Ebb wash, kind: wash},"
                                    "  can: {name: Lock grey, kind: spray undercoat}},"
                                    " areas: {rope: {near: [lantern]}, lantern: {}}, stages:"
                                    " [{name: Rope, technique: basecoat, paint: rope, on: rope},"
                                    "  {name: Next, on: lantern, %s}]}",
                                    cases[i].stage));
        const size_t at = cb_bench_unit_count(world->bench) - 1;
        world_do(world, cb_arena_printf(&world->arena, "coat_on %s figure=1 stage=1 coat=1", unit));
        world_learn(world);
        for (int figure = 1; figure <= 2; figure++) {
            const struct cb_unit *own = cb_bench_unit(world->bench, at);
            const struct cb_proposal next =
                cb_next_propose(world->bench, world->learn, own, figure, 2, world_ms(world));
            assert_true(next.any && !next.thought_wet);
            const struct cb_film *mind =
                cb_next_mind(world->bench, world->learn, own, &next, world_ms(world));
            assert_int_equal(mind != NULL, cases[i].minds && figure == 1);
        }
    }
}

/* Whichever of the two areas names the other, and whichever of them is wet. */
static void near_holds_both_ways(void **state)
{
    static const char *const given[] = {"rope: {near: [lantern]}, lantern: {}",
                                        "rope: {}, lantern: {near: [rope]}"};
    struct world *world = *state;
    for (int i = 0; i < 4; i++) {
        const char *unit = cb_arena_printf(&world->arena, "b%d", i);
        const int wet = 1 + i / 2, next = 3 - wet;
        world_begin(world, unit, 2,
                    cb_arena_printf(&world->arena,
                                    "{coatbell: 1, name: v, paints: {ebb: {kind: wash}},"
                                    " areas: {%s}, stages:"
                                    " [{name: Rope, technique: wash, paint: ebb, on: rope},"
                                    "  {name: Lamp, technique: wash, paint: ebb, on: lantern}]}",
                                    given[i % 2]));
        const size_t at = cb_bench_unit_count(world->bench) - 1;
        world_do(world,
                 cb_arena_printf(&world->arena, "coat_on %s figure=1 stage=%d coat=1", unit, wet));
        world_learn(world);
        const struct cb_unit *own = cb_bench_unit(world->bench, at);
        struct cb_proposal proposal =
            cb_next_propose(world->bench, world->learn, own, 0, next, world_ms(world));
        assert_int_equal(proposal.figure, 2);
        assert_null(cb_next_mind(world->bench, world->learn, own, &proposal, world_ms(world)));
        proposal = cb_next_propose(world->bench, world->learn, own, 1, next, world_ms(world));
        assert_non_null(cb_next_mind(world->bench, world->learn, own, &proposal, world_ms(world)));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define TEST(f) cmocka_unit_test_setup_teardown(f, setup, teardown)
        TEST(sash_is_on_figure_1_alone),
        TEST(parked_is_never_offered_and_blocks_nothing),
        TEST(late_one_catches_up_in_order),
        TEST(one_may_finish_early),
#undef TEST
#define TEST(f) cmocka_unit_test_setup_teardown(f, setup_shields, teardown)
        TEST(an_undercoat_of_whole_takes_in_parts_that_have_none_of_their_own),
        TEST(what_a_stage_of_whole_takes_in),
        TEST(parts_do_not_meet_the_rest_until_their_join),
        TEST(what_comes_after_the_join_waits_for_both),
        TEST(a_part_without_its_join_is_on_the_figure),
        TEST(near_binds_on_one_piece_alone),
        TEST(what_runs_minds_what_is_near),
        TEST(near_holds_both_ways),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
