/* SPDX-License-Identifier: MIT */
/* When films are dry and what goes on next. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/time.h"
#include "core/bench/forecast.h"
#include "core/bench/next.h"
#include "support/world.h"

#define assert_near(a, b, by) assert_true(fabs((a) - (b)) <= (by))

static const char *const watch =
    "{coatbell: 1, name: Watch, figures: 4, groups: {serjeant: [1]},"
    " paints: {green: {name: Oilskin green, kind: acrylic, dry: 20},"
    "          rope: {name: Tarred rope, kind: acrylic, dry: 20},"
    "          grey: {name: Eel grey, kind: acrylic, dry: 10, label: 60},"
    "          ebb: {name: Ebb wash, kind: wash}},"
    " areas: {oilskin: {}, rope: {beside: [oilskin]}, lantern: {near: [rope]}, base: {}},"
    " stages: [{name: Undercoat, technique: undercoat, paint: rope, by: brush, together: yes},"
    "          {name: Oilskins, technique: basecoat, paint: green, on: oilskin, coats: 2},"
    "          {name: Rope, technique: basecoat, paint: rope, on: rope},"
    "          {name: Sash, technique: layer, paint: green, on: lantern, for: serjeant,"
    "           optional: yes},"
    "          {name: Recesses, technique: wash, paint: ebb, on: [oilskin, rope, lantern]},"
    "          {name: Base, technique: basecoat, paint: grey, on: base, after: []},"
    "          {name: Decals, technique: transfer, on: base, wait: 20}]}";
enum { UNDERCOAT = 1, OILSKINS, ROPE, SASH, RECESSES, BASE, DECALS };

static int setup(void **state)
{
    struct world *world = malloc(sizeof *world);
    world_init(world);
    world_do(world, "session_opened -");
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
    world_begin(world, "u", 4, watch);
    *state = world;
    return 0;
}

static int teardown(void **state)
{
    world_fini(*state);
    free(*state);
    return 0;
}

static struct cb_slot slot(struct world *world, int figure, int stage)
{
    world_learn(world);
    return cb_next_slot(world->bench, world->learn, cb_bench_unit(world->bench, 0), figure, stage,
                        world_ms(world));
}

static struct cb_proposal propose(struct world *world, int figure, int stage)
{
    world_learn(world);
    return cb_next_propose(world->bench, world->learn, cb_bench_unit(world->bench, 0), figure,
                           stage, world_ms(world));
}

static struct cb_forecast forecast(struct world *world, int figure, int stage, int coat)
{
    world_learn(world);
    return cb_forecast_film(world->bench, world->learn,
                            cb_bench_film(cb_bench_unit(world->bench, 0), figure, stage, coat),
                            world_ms(world));
}

static void undercoat(struct world *world)
{
    world->presses++;
    world_also(world, "coat_on u figure=1 stage=1 coat=1");
    world_also(world, "coat_on u figure=2 stage=1 coat=1");
    world_also(world, "coat_on u figure=3 stage=1 coat=1");
    world_also(world, "coat_on u figure=4 stage=1 coat=1");
}

static void dry_undercoat(struct world *world)
{
    undercoat(world);
    world_wait(world, 300);
}

static void test_prior_ping(void **state)
{
    struct world *world = *state;
    const int64_t on_ms = world_ms(world);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    struct cb_forecast film = forecast(world, 1, OILSKINS, 1);
    /* learning checks, "no data at all": q80 1.54771 x the median; q50 1 */
    assert_near((double)(film.due_ms - on_ms) / 60000, 20 * 1.54771, .01);
    assert_near((double)(film.median_ms - on_ms) / 60000, 20, .01);
    assert_true(film.median_ms < film.due_ms && film.median_ms > on_ms);
    assert_int_equal(film.from, CB_DUE_DRY);
    assert_false(film.dry);
    assert_int_equal(cb_forecast_next_deadline(world->bench, world->learn, world_ms(world)),
                     film.median_ms);
    world->now.wall_ms += film.due_ms - on_ms;
    world->now.boot_ms += film.due_ms - on_ms;
    film = forecast(world, 1, OILSKINS, 1);
    assert_true(film.dry); /* silence never blocks */
    assert_near(film.chance, .8, 1e-4);
    world_do(world, "checked u figure=1 stage=2 coat=1 found=wet");
    film = forecast(world, 1, OILSKINS, 1);
    assert_false(film.dry);
    assert_true(film.due_ms > world_ms(world));
    assert_near(film.chance, 0, 1e-9);
    assert_int_equal(film.from, CB_DUE_DRY); /* no settled row of that pot yet */
    world_wait(world, 5);
    world_do(world, "checked u figure=1 stage=2 coat=1 found=dry");
    film = forecast(world, 1, OILSKINS, 1);
    assert_true(film.dry && film.answered);
    world_do(world, "coat_on u figure=2 stage=2 coat=1");
    assert_int_equal(forecast(world, 2, OILSKINS, 1).from, CB_DUE_LEARNED);
}

static void test_held(void **state)
{
    struct world *world = *state;
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_do(world, "climate_set - temp_c=8 rh_pct=50");
    const struct cb_forecast film = forecast(world, 1, OILSKINS, 1);
    assert_true(film.held);
    assert_false(film.dry);
    assert_true(film.due_ms == CB_TIME_NONE && film.median_ms == CB_TIME_NONE);
    assert_true(cb_forecast_next_deadline(world->bench, world->learn, world_ms(world)) ==
                CB_TIME_NONE);
}

static void test_label(void **state)
{
    struct world *world = *state;
    for (int i = 1; i <= 6; i++) {
        world_do(world, "coat_on u figure=2 stage=6 coat=1");
        const struct cb_forecast film = forecast(world, 2, BASE, 1);
        assert_int_equal(film.from, i <= 5 ? CB_DUE_LABEL : CB_DUE_DRY);
        if (i <= 5) {
            assert_near(film.standard_due_min, 60, 1e-9);
        } else {
            assert_true(film.standard_due_min < 60);
        }
        world_wait(world, 10);
        world_do(world, "checked u figure=2 stage=6 coat=1 found=wet");
        world_wait(world, 5);
        world_do(world, "lifted u figure=2 stage=6 coat=1");
    }
}

static void test_wait_is_exact(void **state)
{
    struct world *world = *state;
    const int64_t on_ms = world_ms(world);
    world_do(world, "coat_on u figure=1 stage=7 coat=1");
    world_do(world, "climate_set - temp_c=8 rh_pct=99");
    struct cb_forecast film = forecast(world, 1, DECALS, 1);
    assert_int_equal(film.due_ms, on_ms + 20 * 60000);
    assert_int_equal(film.from, CB_DUE_WAIT);
    world_wait(world, 20);
    assert_true(forecast(world, 1, DECALS, 1).dry);
    world_do(world, "checked u figure=1 stage=7 coat=1 found=wet");
    film = forecast(world, 1, DECALS, 1);
    assert_false(film.dry);
    assert_int_equal(film.due_ms, world_ms(world) + 5 * 60000);
}

static void test_wet_tells_of_later_ones(void **state)
{
    struct world *world = *state;
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_wait(world, 2);
    world_do(world, "coat_on u figure=2 stage=2 coat=1");
    world_wait(world, 30);
    world_do(world, "checked u figure=1 stage=2 coat=1 found=wet");
    assert_near(forecast(world, 2, OILSKINS, 1).chance, 0, 1e-9);
    assert_true(forecast(world, 2, OILSKINS, 1).due_ms > world_ms(world));
    size_t count;
    cb_bench_rows(world->bench, &count);
    assert_int_equal(count, 1); /* one touch is one observation */
}

/* What went on earlier may be drier than the one that was found wet. */
static void test_wet_tells_nothing_of_earlier_ones(void **state)
{
    struct world *world = *state;
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_wait(world, 2);
    world_do(world, "coat_on u figure=2 stage=2 coat=1");
    world_wait(world, 30);
    world_do(world, "checked u figure=2 stage=2 coat=1 found=wet");
    const struct cb_film *film = cb_bench_film(cb_bench_unit(world->bench, 0), 1, OILSKINS, 1);
    assert_true(film->wet_like_ms == CB_TIME_NONE);
    assert_true(forecast(world, 1, OILSKINS, 1).chance > 0);
}

static void test_together(void **state)
{
    struct world *world = *state;
    struct cb_proposal next = propose(world, 0, 0);
    assert_int_equal(next.stage, UNDERCOAT);
    assert_true(next.together);
    assert_int_equal(next.figure_count, 4);
    assert_true(next.change_paint);
    world_do(world, "figure_parked u figure=3");
    next = propose(world, 0, 0);
    assert_int_equal(next.figure_count, 3);
    assert_int_equal(next.figures[2], 4);
    assert_int_equal(slot(world, 3, UNDERCOAT).state, CB_SLOT_PARKED);
    /* one of them held up by a wet film of its own holds up all but the parked */
    world_do(world, "coat_on u figure=2 stage=6 coat=1");
    assert_int_equal(slot(world, 2, UNDERCOAT).state, CB_SLOT_WET);
    const struct cb_slot other = slot(world, 1, UNDERCOAT);
    assert_int_equal(other.state, CB_SLOT_TOGETHER);
    assert_int_equal(other.by_figure, 2);
    assert_int_equal(other.by_stage, BASE);
    assert_int_equal(other.until_ms, slot(world, 2, UNDERCOAT).until_ms);
    world_do(world, "figure_parked u figure=2");
    assert_int_equal(slot(world, 1, UNDERCOAT).state, CB_SLOT_READY);
}

static void test_order(void **state)
{
    struct world *world = *state;
    assert_int_equal(slot(world, 1, OILSKINS).state, CB_SLOT_WAITS);
    assert_int_equal(slot(world, 1, OILSKINS).by_stage, UNDERCOAT);
    assert_int_equal(slot(world, 1, BASE).state, CB_SLOT_READY); /* after: [] */
    assert_int_equal(slot(world, 2, SASH).state, CB_SLOT_NONE);  /* the serjeant's alone */
    undercoat(world);
    struct cb_slot wet = slot(world, 1, OILSKINS);
    assert_int_equal(wet.state, CB_SLOT_WET);
    assert_int_equal(wet.by_stage, UNDERCOAT);
    assert_int_equal(slot(world, 1, BASE).state, CB_SLOT_WET); /* wet is wet, whatever after says */
    const struct cb_proposal wait = propose(world, 0, 0);
    assert_int_equal(wait.ready_ms, wet.until_ms);
    assert_int_equal(wait.wait_figure, 1);
    assert_ptr_equal(wait.wait_for, cb_bench_film(cb_bench_unit(world->bench, 0), 1, UNDERCOAT, 1));
    assert_false(wait.any);
    world_wait(world, 300);
    assert_int_equal(slot(world, 1, OILSKINS).state, CB_SLOT_READY);
    assert_int_equal(slot(world, 1, ROPE).state, CB_SLOT_READY);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    wet = slot(world, 1, OILSKINS);
    assert_int_equal(wet.state, CB_SLOT_WET);
    assert_int_equal(wet.coat, 2);
    assert_int_equal(slot(world, 1, ROPE).state, CB_SLOT_BESIDE);
    assert_int_equal(slot(world, 1, ROPE).until_ms, wet.until_ms);
    assert_int_equal(slot(world, 1, RECESSES).state, CB_SLOT_WAITS);
    world_do(world, "coat_on u figure=2 stage=3 coat=1"); /* beside holds both ways */
    assert_int_equal(slot(world, 2, OILSKINS).state, CB_SLOT_BESIDE);
    world_do(world, "stage_left_out u stage=2 figure=3");
    assert_int_equal(slot(world, 3, OILSKINS).state, CB_SLOT_NONE);
}

static void test_brush(void **state)
{
    struct world *world = *state;
    dry_undercoat(world);
    struct cb_proposal next = propose(world, 0, 0);
    assert_int_equal(next.stage, ROPE); /* rope is on the brush */
    assert_false(next.change_paint);
    world_do(world, "coat_on u figure=2 stage=2 coat=1");
    next = propose(world, 0, 0);
    assert_int_equal(next.stage, OILSKINS);
    assert_int_equal(next.figure, 3); /* the next one, then round */
    assert_int_equal(next.figure_count, 3);
    assert_int_equal(next.figures[1], 4);
    assert_int_equal(next.figures[2], 1);
    world_do(world, "coat_on u figure=3 stage=2 coat=1");
    world_do(world, "coat_on u figure=4 stage=2 coat=1");
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    next = propose(world, 0, 0);
    assert_int_equal(next.stage, SASH); /* green stays on the brush */
    assert_int_equal(next.figure, 1);
    world_do(world, "coat_on u figure=1 stage=4 coat=1");
    next = propose(world, 0, 0);
    assert_int_equal(next.stage, BASE); /* all else is wet or beside wet */
    assert_true(next.change_paint);
}

/* The newest unit, of another recipe. */
static const struct cb_unit *begin_other(struct world *world, const char *name, const char *recipe)
{
    world_begin(world, name, 4, recipe);
    return cb_bench_unit(world->bench, cb_bench_unit_count(world->bench) - 1);
}

/* As many as fit, or all; who is a coat behind holds up the others of their coat. */
static void test_together_fits(void **state)
{
    struct world *world = *state;
    static const char *const go =
        "{coatbell: 1, name: v, paints: {rope: {name: Tarred rope, kind: acrylic}}, stages:"
        " [{name: Base, technique: basecoat, paint: rope, wait: 12},"
        "  {name: Go, technique: varnish, paint: rope, wait: 5, coats: 2, together: %s}]}";
    static const struct {
        const char *fits;
        int by_figure; /* who is waited for a quarter of an hour after the first */
        double until_min;
    } cases[] = {{"2", 2, 16}, {"3", 3, 20}, {"4", 4, 24}, {"5", 4, 24}, {"yes", 4, 24}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *name = cb_arena_printf(&world->arena, "v%zu", i);
        const int64_t on_ms = world_ms(world);
        begin_other(world, name, cb_arena_printf(&world->arena, go, cases[i].fits));
        for (int figure = 1; figure <= 4; figure++) {
            world_do(world, cb_arena_printf(&world->arena, "coat_on %s figure=%d stage=1 coat=1",
                                            name, figure));
            world_wait(world, figure < 4 ? 4 : 3);
        }
        const struct cb_unit *unit = cb_bench_unit(world->bench, i + 1);
        struct cb_slot found =
            cb_next_slot(world->bench, world->learn, unit, 1, 2, world_ms(world));
        assert_int_equal(found.state, CB_SLOT_TOGETHER);
        assert_int_equal(found.by_figure, cases[i].by_figure);
        assert_near((double)(found.until_ms - on_ms) / 60000, cases[i].until_min, 1e-6);
        world_wait(world, 60);
        world_do(world, cb_arena_printf(&world->arena, "coat_on %s figure=1 stage=2 coat=1", name));
        world_wait(world, 60);
        unit = cb_bench_unit(world->bench, i + 1);
        found = cb_next_slot(world->bench, world->learn, unit, 1, 2, world_ms(world));
        const bool all = cases[i].fits[0] == 'y';
        assert_int_equal(found.state, all ? CB_SLOT_TOGETHER : CB_SLOT_READY);
        assert_true(found.until_ms == CB_TIME_NONE);
        found = cb_next_slot(world->bench, world->learn, unit, 2, 2, world_ms(world));
        assert_int_equal(found.state, CB_SLOT_READY);
    }
}

/* Of two films in the way the one that is wet longest counts, in whatever order they went on. */
static void test_last_obstacle(void **state)
{
    struct world *world = *state;
    for (int first = 1; first <= 2; first++) {
        const char *name = first == 1 ? "v" : "w";
        begin_other(world, name,
                    "{coatbell: 1, name: v, paints: {rope: {name: Tarred rope, kind: acrylic, dry: "
                    "20}}, areas: {a: {}, b: {}}, stages:"
                    " [{name: A, technique: basecoat, paint: rope, on: a},"
                    "  {name: B, technique: basecoat, paint: rope, on: b},"
                    "  {name: C, technique: basecoat, paint: rope, on: [a, b]}]}");
        for (int i = 0; i < 2; i++) {
            world_do(world, cb_arena_printf(&world->arena, "coat_on %s figure=1 stage=%d coat=1",
                                            name, i == 0 ? first : 3 - first));
            world_wait(world, 10);
        }
        const int64_t now_ms = world_ms(world);
        const struct cb_unit *unit = cb_bench_unit(world->bench, (size_t)first);
        const struct cb_film *last = cb_bench_film(unit, 1, 3 - first, 1);
        const struct cb_forecast wet = cb_forecast_film(world->bench, world->learn, last, now_ms);
        const struct cb_slot found = cb_next_slot(world->bench, world->learn, unit, 1, 3, now_ms);
        assert_int_equal(found.state, CB_SLOT_WET);
        assert_int_equal(found.by_stage, 3 - first);
        assert_int_equal(found.until_ms, wet.due_ms);
        const struct cb_proposal next =
            cb_next_propose(world->bench, world->learn, unit, 1, 3, now_ms);
        assert_true(next.thought_wet);
        assert_near(next.chance, wet.chance, 1e-9);
    }
}

/* Near what is wet holds nothing up; of two figures the other comes first. */
static void test_near_comes_later(void **state)
{
    struct world *world = *state;
    world_begin(world, "v", 2,
                "{coatbell: 1, name: v, paints: {rope: {name: Tarred rope, kind: acrylic}},"
                " areas: {rope: {near: [lantern]}, lantern: {}}, stages:"
                " [{name: Rope, technique: basecoat, paint: rope, on: rope},"
                "  {name: Lamp, technique: basecoat, paint: rope, on: lantern}]}");
    const struct cb_unit *unit = cb_bench_unit(world->bench, 1);
    assert_int_equal(
        cb_next_propose(world->bench, world->learn, unit, 0, 2, world_ms(world)).figure, 1);
    world_do(world, "coat_on v figure=1 stage=1 coat=1");
    unit = cb_bench_unit(world->bench, 1);
    const struct cb_proposal next =
        cb_next_propose(world->bench, world->learn, unit, 0, 2, world_ms(world));
    assert_int_equal(next.figure, 2);
    assert_int_equal(next.figure_count, 2);
    assert_int_equal(cb_next_slot(world->bench, world->learn, unit, 1, 2, world_ms(world)).state,
                     CB_SLOT_READY);
}

/* The paint on the brush is waited for as long as its change and three minutes; a texture comes
 * after what stands before it, unless that is twenty minutes away. */
static void test_worth_waiting(void **state)
{
    struct world *world = *state;
    static const char *const recipe =
        "{coatbell: 1, name: v, change: 2, paints: {rope: {name: Tarred rope, kind: acrylic},"
        " paste: {name: Tideline paste, kind: texture paste}},"
        " areas: {a: {}, b: {}, c: {}}, stages:"
        " [{name: A, technique: basecoat, paint: rope, on: a, coats: 2, wait: %g},"
        "  {name: B, technique: %s, paint: paste, on: b, after: []}]}";
    static const struct {
        const char *technique;
        double wait_min;
        bool waits;
    } cases[] = {
        {"basecoat", 4.9, true}, {"basecoat", 5.1, false}, {"texture", 5.1, true},
        {"texture", 19.9, true}, {"texture", 20.1, false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *name = cb_arena_printf(&world->arena, "v%zu", i);
        begin_other(world, name,
                    cb_arena_printf(&world->arena, recipe, cases[i].wait_min, cases[i].technique));
        for (int figure = 1; figure <= 4; figure++) {
            world_do(world, cb_arena_printf(&world->arena, "coat_on %s figure=%d stage=1 coat=1",
                                            name, figure));
        }
        const struct cb_unit *unit =
            cb_bench_unit(world->bench, cb_bench_unit_count(world->bench) - 1);
        const struct cb_proposal next =
            cb_next_propose(world->bench, world->learn, unit, 0, 0, world_ms(world));
        assert_int_equal(next.any, !cases[i].waits);
        assert_int_equal(next.any ? next.stage : next.wait_stage, cases[i].waits ? 1 : 2);
        assert_int_equal(next.any ? next.figure : next.wait_figure, 1);
        if (cases[i].waits) {
            assert_near((double)(next.ready_ms - world_ms(world)) / 60000, cases[i].wait_min, 1e-3);
            assert_ptr_equal(next.wait_for, cb_bench_film(unit, 1, 1, 1));
        }
    }
}

/* A stage whose paint is another from now on is not what the hand was at: what is on the brush and
 * ready goes on first, and nothing that is ready is waited for. */
static void test_another_paint(void **state)
{
    struct world *world = *state;
    begin_other(world, "v",
                "{coatbell: 1, name: v, paints: {rope: {name: Tarred rope, kind: acrylic},"
                " own: {name: Own rope, kind: acrylic}}, areas: {a: {}, b: {}}, stages:"
                " [{name: A, technique: basecoat, paint: own, on: a},"
                "  {name: B, technique: basecoat, paint: rope, on: b}]}");
    world_do(world, "swapped v paint=own name='Tarred rope' kind=acrylic");
    world_do(world, "coat_on v figure=1 stage=1 coat=1");
    world_do(world, "swapped v paint=own name='Own rope' kind=acrylic");
    const struct cb_unit *unit = cb_bench_unit(world->bench, cb_bench_unit_count(world->bench) - 1);
    const struct cb_proposal next =
        cb_next_propose(world->bench, world->learn, unit, 0, 0, world_ms(world));
    assert_true(next.any);
    assert_int_equal(next.stage, 2);
    assert_false(next.change_paint);
}

/* The coat once named is had again, as long as it is the next there and ready. */
static void test_hold(void **state)
{
    struct world *world = *state;
    struct cb_proposal held;
    begin_other(world, "v",
                "{coatbell: 1, name: v, paints: {rope: {name: Tarred rope, kind: acrylic}}, stages:"
                " [{name: A, technique: basecoat, paint: rope, coats: 2, wait: 10}]}");
    const struct cb_unit *unit = cb_bench_unit(world->bench, 1);
    assert_true(cb_next_hold(world->bench, world->learn, unit, 3, 1, 1, world_ms(world), &held));
    assert_int_equal(held.figure, 3);
    assert_int_equal(held.figure_count, 4);
    assert_false(cb_next_hold(world->bench, world->learn, unit, 3, 1, 2, world_ms(world), &held));
    world_do(world, "coat_on v figure=3 stage=1 coat=1");
    unit = cb_bench_unit(world->bench, 1);
    assert_false(cb_next_hold(world->bench, world->learn, unit, 3, 1, 1, world_ms(world), &held));
    assert_false(cb_next_hold(world->bench, world->learn, unit, 3, 1, 2, world_ms(world), &held));
    world_wait(world, 10);
    assert_true(cb_next_hold(world->bench, world->learn, unit, 3, 1, 2, world_ms(world), &held));
}

static void test_by_hand(void **state)
{
    struct world *world = *state;
    dry_undercoat(world);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_wait(world, 10);
    struct cb_proposal next = propose(world, 1, OILSKINS);
    assert_true(next.any && next.thought_wet);
    assert_int_equal(next.coat, 2);
    assert_true(next.chance > 0 && next.chance < .5);
    next = propose(world, 1, 0);
    assert_int_equal(next.figure, 1);
    assert_int_equal(next.figure_count, 1);
    assert_false(next.thought_wet); /* something is ready there */
    next = propose(world, 0, ROPE);
    assert_int_equal(next.stage, ROPE);
    assert_int_equal(next.figure, 2);
    assert_int_equal(next.figure_count, 3);
    next = propose(world, 2, RECESSES); /* out of order: by hand anything goes */
    assert_true(next.any);
    assert_false(next.thought_wet);
    assert_false(propose(world, 1, UNDERCOAT).any); /* nothing left to do there */
    assert_false(propose(world, 2, SASH).any);
}

/* Of what can't go on, the one gone to by hand is what lacks the least. */
static void test_by_hand_order(void **state)
{
    struct world *world = *state;
    world_do(world, "coat_on u figure=1 stage=6 coat=1");
    world_wait(world, 300);
    world_do(world, "coat_on u figure=2 stage=6 coat=1");
    assert_int_equal(slot(world, 1, UNDERCOAT).state, CB_SLOT_TOGETHER);
    assert_int_equal(slot(world, 1, OILSKINS).state, CB_SLOT_WAITS);
    struct cb_proposal next = propose(world, 1, 0);
    assert_int_equal(next.stage, UNDERCOAT);
    assert_int_equal(propose(world, 2, 0).stage, UNDERCOAT); /* wet, before what waits */
    world_do(world, "figure_parked u figure=1");
    assert_int_equal(slot(world, 1, OILSKINS).state, CB_SLOT_PARKED);
    next = propose(world, 0, OILSKINS);
    assert_int_equal(next.figure, 2);
}

static void test_lifted_is_to_do_again(void **state)
{
    struct world *world = *state;
    dry_undercoat(world);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_wait(world, 100);
    world_do(world, "coat_on u figure=1 stage=2 coat=2");
    world_wait(world, 100);
    assert_int_equal(slot(world, 1, OILSKINS).state, CB_SLOT_DONE);
    world_do(world, "lifted u figure=1 stage=2 coat=2");
    assert_int_equal(slot(world, 1, OILSKINS).state, CB_SLOT_READY);
    assert_int_equal(slot(world, 1, OILSKINS).coat, 2);
}

static void test_all_done(void **state)
{
    struct world *world = *state;
    const struct cb_unit *unit = cb_bench_unit(world->bench, 0);
    assert_false(cb_next_all_done(unit));
    for (int stage = 1; stage <= DECALS; stage++) {
        for (int figure = 1; figure <= 3 && stage != SASH; figure++) {
            for (int coat = 1; coat <= cb_bench_coats(unit, figure, stage); coat++) {
                world_do(world,
                         cb_arena_printf(&world->arena, "coat_on u figure=%d stage=%d coat=%d",
                                         figure, stage, coat));
                world_wait(world, 300);
            }
        }
    }
    unit = cb_bench_unit(world->bench, 0);
    assert_false(cb_next_all_done(unit));
    world_do(world, "figure_parked u figure=4");
    unit = cb_bench_unit(world->bench, 0);
    assert_true(cb_next_all_done(unit)); /* neither parked figures nor optional stages count */
    assert_int_equal(propose(world, 0, 0).stage, SASH);
}

static void test_stage_minutes(void **state)
{
    struct world *world = *state;
    const struct cb_unit *unit = cb_bench_unit(world->bench, 0);
    const struct world unlearned = {.bench = world->bench};
    world_learn(world);
    assert_near(world_ring_min(world, unit, OILSKINS, .5), 20, 1e-6);
    assert_near(world_ring_min(world, unit, BASE, .8), 60, 1e-9);
    assert_near(world_ring_min(world, unit, DECALS, .8), 20, 1e-9);
    assert_near(world_ring_min(&unlearned, unit, OILSKINS, .8), 20 * 1.54771, .05);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define TEST(f) cmocka_unit_test_setup_teardown(f, setup, teardown)
        TEST(test_prior_ping),
        TEST(test_held),
        TEST(test_label),
        TEST(test_wait_is_exact),
        TEST(test_wet_tells_of_later_ones),
        TEST(test_wet_tells_nothing_of_earlier_ones),
        TEST(test_together),
        TEST(test_together_fits),
        TEST(test_last_obstacle),
        TEST(test_order),
        TEST(test_brush),
        TEST(test_near_comes_later),
        TEST(test_worth_waiting),
        TEST(test_hold),
        TEST(test_another_paint),
        TEST(test_by_hand),
        TEST(test_by_hand_order),
        TEST(test_lifted_is_to_do_again),
        TEST(test_all_done),
        TEST(test_stage_minutes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
