/* SPDX-License-Identifier: MIT */
/* The fold: what each event does, seen through the queries. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/time.h"
#include "core/bench/bench.h"
#include "core/bench/forecast.h"
#include "core/recipe/amount.h"
#include "core/recipe/drying_stage.h"
#include "support/bench_equal.h"
#include "support/world.h"

#define assert_near(a, b, by) assert_true(fabs((a) - (b)) <= (by))

/* Standard climate, so that minutes and standard minutes are the same; dry 20 as in the log of
 * the learning checks. */
static const char *const plain =
    "{coatbell: 1, name: Plain, figures: 3,"
    " paints: {green: {name: Oilskin green, kind: acrylic, dry: 20},"
    "          rope: {name: Tarred rope, kind: acrylic, dry: 20},"
    "          ebb: {name: Ebb wash, kind: wash}},"
    " areas: {oilskin: {}, rope: {beside: [oilskin]}, lantern: {}},"
    " stages: [{name: Undercoat, technique: undercoat, paint: rope, by: brush},"
    "          {name: Oilskins, technique: basecoat, paint: green, on: oilskin, coats: 2},"
    "          {name: Rope, technique: basecoat, paint: rope, on: rope},"
    "          {name: Recesses, technique: wash, paint: ebb, on: [oilskin, rope]},"
    "          {name: Decals, technique: transfer, on: lantern, wait: 20}]}";

/* Oilskins gone, a stage new in front, Rope behind Recesses. */
static const char *const changed =
    "{coatbell: 1, name: Changed, figures: 3,"
    " paints: {rope: {name: Tarred rope, kind: acrylic, dry: 20},"
    "          ebb: {name: Ebb wash, kind: wash}},"
    " areas: {boots: {}, rope: {}, oilskin: {}},"
    " stages: [{name: Boots, technique: basecoat, paint: rope, on: boots},"
    "          {name: Undercoat, technique: undercoat, paint: rope, by: brush},"
    "          {name: Recesses, technique: wash, paint: ebb, on: [oilskin, rope]},"
    "          {name: Rope, technique: basecoat, paint: rope, on: rope}]}";

static const char *const blended =
    "{coatbell: 1, name: Blended, figures: 3,"
    " paints: {green: {name: Oilskin green, kind: acrylic, dry: 20},"
    "          rope: {name: Tarred rope, kind: acrylic, dry: 20}},"
    " stages: [{name: Cloth, technique: basecoat, mix: 1 green + 2 rope + 1 water},"
    "          {name: Rope, technique: basecoat, mix: 2 rope + 1 water},"
    "          {name: Decals, technique: transfer, wait: 20}]}";

static struct world *begin(void **state)
{
    struct world *world = *state;
    world_do(world, "session_opened -");
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
    world_begin(world, "u", 3, plain);
    return world;
}

static const struct cb_unit *unit_of(const struct world *world)
{
    return cb_bench_unit(world->bench, 0);
}

static int setup(void **state)
{
    struct world *world = malloc(sizeof *world);
    world_init(world);
    *state = world;
    return 0;
}

static int teardown(void **state)
{
    world_fini(*state);
    free(*state);
    return 0;
}

static const struct cb_row *only_row(const struct world *world)
{
    size_t count;
    const struct cb_row *rows = cb_bench_rows(world->bench, &count);
    assert_int_equal(count, 1);
    return rows;
}

static size_t row_count(const struct world *world)
{
    size_t count;
    cb_bench_rows(world->bench, &count);
    return count;
}

static void test_empty(void **state)
{
    struct world *world = *state;
    assert_int_equal(cb_bench_unit_count(world->bench), 0);
    assert_int_equal(cb_bench_front(world->bench), -1);
    assert_null(cb_bench_undoable(world->bench, NULL, NULL));
    assert_near(cb_bench_facts(world->bench).confidence, .8, 0);
    const struct cb_reading air = cb_bench_climate_at(world->bench, 0, world_ms(world));
    assert_int_equal(air.from, CB_FROM_DEFAULT);
    assert_near(air.climate.temp_c, 20, 0);
    assert_int_equal(row_count(world), 0);
}

static void test_unreadable_recipe(void **state)
{
    struct world *world = *state;
    world_begin(world, "u", 3, "nonsense");
    assert_int_equal(cb_bench_unit_count(world->bench), 1);
    assert_int_equal(unit_of(world)->recipe->stage_count, 0);
    assert_int_equal(unit_of(world)->figures, 3);
    world_do(world, "coat_on u figure=1 stage=1 coat=1");
    assert_int_equal(unit_of(world)->film_count, 0);
    world_do(world, cb_arena_printf(&world->arena, "recipe_changed u recipe='%s'", plain));
    assert_int_equal(unit_of(world)->recipe->stage_count, 5);
    world_do(world, "recipe_changed u recipe=nonsense");
    assert_int_equal(unit_of(world)->recipe->stage_count, 5);
}

static void test_meaningless(void **state)
{
    static const char *const lines[] = {
        "coat_on u figure=1 stage=99 coat=1",
        "coat_on u figure=4 stage=1 coat=1",
        "coat_on nobody figure=1 stage=1 coat=1",
        "checked u figure=1 stage=1 coat=1 found=dry",
        "lifted u figure=3 stage=5 coat=9",
        "helped u figure=1 stage=1 coat=1 air=fan seconds=9",
        "coat_added u figure=9 stage=1",
        "stage_left_out u stage=60",
        "swapped u paint=nothing name=X kind=acrylic",
        "swapped u paint=green name=X kind=nothing",
        "figure_parked u figure=90",
        "undone - of=nothing",
        "bottle_new - paint=nothing",
        "paint_joined - from=a to=b",
        ("prior_given - paint=a kind=nothing technique=layer median_min=5 low_min=4 high_min=6 "
         "coats=2"),
        "pinged - films=9/9/9",
    };
    struct world *world = begin(state);
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        world_do(world, lines[i]);
        assert_int_equal(unit_of(world)->film_count, 0);
        assert_int_equal(row_count(world), 0);
        assert_string_equal(cb_bench_stage_paint(unit_of(world), 2), "Oilskin green");
    }
    assert_int_equal(cb_bench_facts(world->bench).event_count, 3 + sizeof lines / sizeof *lines);
}

static void test_coats(void **state)
{
    struct world *world = begin(state);
    world_do(world, "coat_on u figure=1 stage=2 coat=1 on_at=-6 on_pm_s=30");
    world_do(world, "coat_on u figure=1 stage=2 coat=1"); /* again: no effect */
    assert_int_equal(unit_of(world)->film_count, 1);
    const struct cb_film *film = cb_bench_film(unit_of(world), 1, 2, 1);
    assert_int_equal(film->on_ms, world_ms(world) - 6 * CB_MS_PER_MIN);
    assert_string_equal(film->paint, "Oilskin green");
    assert_int_equal(cb_bench_coats(unit_of(world), 1, 2), 2);
    world_do(world, "coat_added u figure=1 stage=2");
    assert_int_equal(cb_bench_coats(unit_of(world), 1, 2), 3);
    assert_int_equal(cb_bench_coats(unit_of(world), 2, 2), 2);
    for (int i = 0; i < 5; i++) {
        world_do(world, "coat_spared u figure=2 stage=2");
    }
    assert_int_equal(cb_bench_coats(unit_of(world), 2, 2), 0);
    world_do(world, "stage_left_out u stage=3 figure=2");
    assert_int_equal(cb_bench_coats(unit_of(world), 2, 3), 0);
    assert_int_equal(cb_bench_coats(unit_of(world), 1, 3), 1);
    world_do(world, "coat_on u figure=1 stage=2 coat=3");
    assert_int_equal(cb_bench_coats_on(unit_of(world), 1, 2), 1); /* coat 2 is missing */
    world_wait(world, 1);
    world_do(world, "coat_on u figure=1 stage=2 coat=2");
    assert_int_equal(cb_bench_coats_on(unit_of(world), 1, 2), 3);
    world_do(world, "lifted u figure=1 stage=2 coat=1");
    assert_int_equal(cb_bench_coats_on(unit_of(world), 1, 2), 0);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    assert_int_equal(cb_bench_coats_on(unit_of(world), 1, 2), 3);
    world_do(world, "figure_joined u");
    assert_int_equal(unit_of(world)->figures, 4);
    assert_int_equal(cb_bench_coats(unit_of(world), 4, 2), 2);
    assert_int_equal(cb_bench_coats_on(unit_of(world), 1, 2), 3);
}

static void test_undo(void **state)
{
    struct world *world = begin(state);
    struct cb_arena *arena = &world->arena;
    char *what;
    world_do(world, "coat_on u figure=1 stage=1 coat=1");
    world_also(world, "coat_on u figure=2 stage=1 coat=1");
    world_do(world, "pinged - films=1/1/1");
    world_do(world, "climate_set - temp_c=20 rh_pct=60 from=sensor");
    assert_non_null(cb_bench_undoable(world->bench, arena, &what));
    assert_string_equal(what, "Tarred rope on 1 to 2");
    world_undo(world);
    assert_null(cb_bench_film(unit_of(world), 1, 1, 1));
    assert_null(cb_bench_film(unit_of(world), 2, 1, 1));
    assert_non_null(cb_bench_redoable(world->bench, arena, &what));
    assert_string_equal(what, "Tarred rope on 1 to 2");
    world_undo(world); /* the unit */
    assert_int_equal(cb_bench_unit_count(world->bench), 0);
    world_undo(world); /* the climate typed */
    assert_null(cb_bench_undoable(world->bench, NULL, NULL));
    assert_true(cb_bench_facts(world->bench).session_open);
    for (int i = 0; i < 3; i++) {
        world_redo(world);
    }
    assert_null(cb_bench_redoable(world->bench, NULL, NULL));
    assert_non_null(cb_bench_film(unit_of(world), 2, 1, 1));
    world_undo(world);
    world_do(world, "pinged - films=1/1/1"); /* a ping is no press: redo stays */
    assert_non_null(cb_bench_redoable(world->bench, NULL, NULL));
    world_do(world, "note - text=tea"); /* a new press ends redo */
    assert_null(cb_bench_redoable(world->bench, NULL, NULL));
    world_undo(world);
    assert_string_equal(cb_bench_undoable(world->bench, arena, &what), "p3");
}

/* What undo would take back, in whatever order the figures of the press came. */
static void test_undo_words(void **state)
{
    static const struct {
        const char *lines[3], *what;
    } cases[] = {
        {{"coat_on u figure=3 stage=2 coat=1", "coat_on u figure=1 stage=2 coat=1",
          "coat_on u figure=2 stage=2 coat=1"},
         "Oilskin green on 1 to 3"},
        {{"coat_on u figure=3 stage=3 coat=1", "coat_on u figure=1 stage=3 coat=1"},
         "Tarred rope on 2 figures"},
        {{"coat_on u figure=2 stage=5 coat=1"}, "Decals done on 2"},
        {{"checked u figure=2 stage=5 coat=1 found=wet"}, "not yet done on 2"},
        {{"checked u figure=2 stage=5 coat=1 found=dry"}, "done on 2"},
        {{"checked u figure=3 stage=2 coat=1 found=wet"}, "still wet on 3"},
        {{"checked u figure=3 stage=2 coat=1 found=dry"}, "dry on 3"},
        {{"figure_parked u figure=2"}, "parked 2"},
        {{"brought_in u figures=3"}, "brought in 3"},
        {{"brought_in u figures=3,1,2"}, "brought in 1 to 3"},
        {{"brought_in u figures=3,1"}, "brought in 2 figures"},
        {{"chore_done - name=rinse minutes=2"}, "chore"},
    };
    struct world *world = begin(state);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *what;
        world->presses++;
        for (size_t j = 0; j < 3 && cases[i].lines[j]; j++) {
            world_also(world, cases[i].lines[j]);
        }
        assert_non_null(cb_bench_undoable(world->bench, &world->arena, &what));
        assert_string_equal(what, cases[i].what);
    }
}

static void test_undone_waits(void **state)
{
    struct world *world = begin(state);
    world_do(world, "coat_on u figure=1 stage=1 coat=1");
    const char *press = world_do(world, "coat_on u figure=2 stage=1 coat=1");
    world_do(world, cb_arena_printf(&world->arena, "undone - of=%s", press));
    struct cb_bench *other = cb_bench_new(world_kinds(), world_read);
    for (size_t i = world->log.count; i-- > 0;) { /* backwards: the undoing comes first */
        cb_bench_add(other, &world->log.items[i], 1);
    }
    struct cb_err err = {0};
    assert_true(bench_equal(world->bench, other, &err));
    assert_null(cb_bench_film(cb_bench_unit(other, 0), 2, 1, 1));
    cb_bench_free(other);
}

static void test_imports_stay(void **state)
{
    struct world *world = begin(state);
    world->machine = NULL;
    world_do(world, "coat_on u figure=1 stage=1 coat=1");
    world->machine = "other";
    const char *press = world_do(world, "coat_on u figure=2 stage=1 coat=1");
    world->machine = "m";
    assert_string_equal(cb_bench_undoable(world->bench, NULL, NULL), "p3"); /* unit_begun */
    world_do(world, cb_arena_printf(&world->arena, "undone - of=%s", press));
    assert_non_null(cb_bench_film(unit_of(world), 1, 1, 1));
    assert_non_null(cb_bench_film(unit_of(world), 2, 1, 1));
}

static void test_recipe_change(void **state)
{
    struct world *world = begin(state);
    world_do(world, "coat_on u figure=1 stage=1 coat=1");
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_do(world, "coat_on u figure=1 stage=3 coat=1");
    world_do(world, "coat_added u figure=2 stage=2");
    world_do(world, "stage_left_out u stage=4");
    world_do(world, cb_arena_printf(&world->arena, "recipe_changed u recipe='%s'", changed));
    const struct cb_unit *unit = unit_of(world);
    assert_int_equal(unit->film_count, 3);
    assert_non_null(cb_bench_film(unit, 1, 2, 1)); /* Undercoat */
    assert_int_equal(unit->films[1].stage, 0);     /* Oilskins: gone, history kept */
    assert_string_equal(unit->films[1].paint, "Oilskin green");
    assert_non_null(cb_bench_film(unit, 1, 4, 1));                  /* Rope */
    assert_int_equal(cb_bench_coats(unit, 1, 3), 0);                /* Recesses: still left out */
    world_do(world, "checked u figure=1 stage=4 coat=1 found=dry"); /* new numbers from now on */
    assert_int_equal(cb_bench_film(unit_of(world), 1, 4, 1)->check, CB_CHECK_DRY);
    world_do(world, cb_arena_printf(&world->arena, "recipe_changed u recipe='%s'", plain));
    unit = unit_of(world);
    assert_non_null(cb_bench_film(unit, 1, 2, 1)); /* Oilskins is back, with its coat */
    assert_int_equal(cb_bench_coats(unit, 2, 2), 3);
    assert_int_equal(cb_bench_coats(unit, 1, 4), 0);
    assert_int_equal(cb_bench_film(unit, 1, 3, 1)->check, CB_CHECK_DRY);
}

/* The recipe of a unit of its stages alone. */
static void change_to(struct world *world, const char *stages)
{
    world_do(world,
             cb_arena_printf(&world->arena,
                             "recipe_changed u recipe='{coatbell: 1, name: x, figures: 3,"
                             " groups: {some: [2-3], first: [1]},"
                             " paints: {green: {name: Oilskin green, kind: acrylic, dry: 20},"
                             "          rope: {name: Tarred rope, kind: acrylic, dry: 20}},"
                             " areas: {oilskin: {}, rope: {}}, stages: [%s]}'",
                             stages));
}
#define OILSKINS(name, more)                                                                       \
    "{name: " name ", technique: basecoat, paint: green, on: oilskin, coats: 2" more "}, "
#define ROPE(name, paint, more)                                                                    \
    "{name: " name ", technique: basecoat, paint: " paint ", on: rope" more "}, "

/* A renamed stage keeps its films, what was added and what was left out, under any name it gets. */
static void test_renamed_stage(void **state)
{
    struct world *world = begin(state);
    change_to(world, OILSKINS("Oilskins", "") ROPE("Rope", "rope", ""));
    world_do(world, "coat_on u figure=1 stage=1 coat=1");
    world_do(world, "coat_on u figure=0 stage=1 coat=1");
    world_do(world, "coat_added u figure=1 stage=1");
    world_do(world, "stage_left_out u figure=2 stage=1");
    world_do(world, "stage_left_out u stage=2");
    static const char *const names[] = {"Cloaks", "Oilskins", "Coats"};
    for (size_t i = 0; i < 3; i++) {
        change_to(world, cb_arena_printf(&world->arena, ROPE("Rope", "rope", "") OILSKINS("%s", ""),
                                         names[i]));
        const struct cb_unit *unit = unit_of(world);
        assert_non_null(cb_bench_film(unit, 1, 2, 1));
        assert_non_null(cb_bench_stroke(unit, 2, 1));
        assert_int_equal(cb_bench_coats(unit, 1, 2), 3);
        assert_int_equal(cb_bench_coats(unit, 2, 2), 0);
        assert_int_equal(cb_bench_coats(unit, 3, 2), 2);
        assert_int_equal(cb_bench_coats(unit, 1, 1), 0);
    }
    world_undo(world);
    assert_string_equal(unit_of(world)->recipe->stages[1].name, "Oilskins");
    assert_non_null(cb_bench_film(unit_of(world), 1, 2, 1));
    world_redo(world);
    /* another stage of the name it had has nothing of it */
    change_to(world, OILSKINS("Coats", "") ROPE("Oilskins", "rope", ", coats: 2"));
    assert_non_null(cb_bench_film(unit_of(world), 1, 1, 1));
    assert_null(cb_bench_film(unit_of(world), 1, 2, 1));
    assert_int_equal(cb_bench_coats(unit_of(world), 1, 2), 2);
    assert_int_equal(cb_bench_coats(unit_of(world), 2, 2), 2);
}

/* What was there before comes back with its own films, and takes no name of another stage. */
static void test_stage_back(void **state)
{
    struct world *world = begin(state);
    change_to(world, OILSKINS("Oilskins", "") OILSKINS("Cloaks", ", optional: yes"));
    world_do(world, "coat_on u figure=1 stage=1 coat=1");
    world_do(world, "coat_on u figure=2 stage=2 coat=1");
    change_to(world, OILSKINS("Oilskins", ""));
    assert_int_equal(unit_of(world)->films[1].stage, 0);
    change_to(world, OILSKINS("Cloaks", ""));
    const struct cb_unit *unit = unit_of(world);
    assert_null(cb_bench_film(unit, 1, 1, 1));
    assert_non_null(cb_bench_film(unit, 2, 1, 1));
    change_to(world, OILSKINS("Oilskins", "") OILSKINS("Cloaks", ""));
    assert_non_null(cb_bench_film(unit_of(world), 1, 1, 1));
    assert_non_null(cb_bench_film(unit_of(world), 2, 2, 1));
}

/* Figures that get a stage of their own take along what they have, and bring it back. */
static void test_stage_of_some(void **state)
{
    struct world *world = begin(state);
    change_to(world, ROPE("Rope", "rope", ", coats: 2"));
    for (int figure = 1; figure <= 2; figure++) {
        world_do(world,
                 cb_arena_printf(&world->arena, "coat_on u figure=%d stage=1 coat=1", figure));
        world_do(world, cb_arena_printf(&world->arena, "coat_added u figure=%d stage=1", figure));
    }
    change_to(world, ROPE("Rope", "rope", ", coats: 2, for: first")
                         ROPE("Rope of some", "green", ", coats: 2, for: some"));
    const struct cb_unit *unit = unit_of(world);
    assert_non_null(cb_bench_film(unit, 1, 1, 1));
    assert_int_equal(cb_bench_coats(unit, 1, 1), 3);
    assert_int_equal(cb_bench_coats(unit, 2, 1), 0);
    assert_string_equal(cb_bench_film(unit, 2, 2, 1)->paint, "Tarred rope");
    assert_int_equal(cb_bench_coats(unit, 2, 2), 3);
    assert_int_equal(cb_bench_coats(unit, 3, 2), 2);
    world_do(world, "coat_on u figure=2 stage=2 coat=2");
    assert_string_equal(cb_bench_film(unit_of(world), 2, 2, 2)->paint, "Oilskin green");
    change_to(world, ROPE("Rope", "rope", ", coats: 2"));
    unit = unit_of(world);
    assert_non_null(cb_bench_film(unit, 2, 1, 1));
    assert_string_equal(cb_bench_film(unit, 2, 1, 2)->paint, "Oilskin green");
    assert_int_equal(cb_bench_coats_on(unit, 2, 1), 2);
    assert_int_equal(cb_bench_coats(unit, 2, 1), 3);
    assert_int_equal(cb_bench_coats(unit, 1, 1), 3);
}

/* A stage that was left out on all is so on the figures that get one of their own. */
static void test_left_out_of_some(void **state)
{
    struct world *world = begin(state);
    change_to(world, ROPE("Rope", "rope", ""));
    world_do(world, "stage_left_out u stage=1");
    change_to(world,
              ROPE("Rope of some", "green", ", for: some") ROPE("Rope", "rope", ", for: first"));
    assert_int_equal(cb_bench_coats(unit_of(world), 2, 1), 0);
    assert_int_equal(cb_bench_coats(unit_of(world), 1, 2), 0);
}

/* The recipe as it is painted: the last swap of each key, with nothing said of the paint before. */
static void test_draft(void **state)
{
    struct world *world = begin(state);
    struct cb_draft draft;
    world_do(world, "swapped u paint=green name=Kelp kind=oil");
    world_do(world, "swapped u paint=green name='Eel grey' kind=wash");
    cb_bench_draft(unit_of(world), &draft);
    assert_string_equal(draft.paints[0].key, "green");
    assert_string_equal(draft.paints[0].name, "Eel grey");
    assert_int_equal(draft.paints[0].kind, 1);
    assert_true(isnan(draft.paints[0].dry_min));
    assert_string_equal(draft.paints[1].name, "Tarred rope");
    assert_near(draft.paints[1].dry_min, 20, 0);
    change_to(world, OILSKINS("Oilskins", ""));
    const char *names[8];
    assert_int_equal(cb_bench_old_stages(unit_of(world), names, 8), 4);
    assert_int_equal(cb_bench_old_stages(unit_of(world), names, 2), 2);
    assert_string_equal(names[0], "Undercoat");
}

/* The recipe names another paint where one was swapped: that is the later word. */
static void test_swap_ends(void **state)
{
    struct world *world = begin(state);
    world_do(world, "swapped u paint=green name='Eel grey' kind=acrylic");
    change_to(world, OILSKINS("Oilskins", "") ROPE("Rope", "rope", ""));
    assert_string_equal(cb_bench_stage_paint(unit_of(world), 1), "Eel grey");
    world_do(world, "recipe_changed u recipe='{coatbell: 1, name: x, paints: {green: {name: Kelp,"
                    " kind: acrylic}}, stages: [{name: Oilskins, technique: basecoat,"
                    " paint: green}]}'");
    assert_string_equal(cb_bench_stage_paint(unit_of(world), 1), "Kelp");
    world_undo(world);
    assert_string_equal(cb_bench_stage_paint(unit_of(world), 1), "Eel grey");
    world_do(world, "recipe_changed u recipe='{coatbell: 1, name: x, paints: {green: {name: Oilskin"
                    " green, kind: wash}}, stages: [{name: Oilskins, technique: wash,"
                    " paint: green}]}'");
    assert_string_equal(cb_bench_stage_paint(unit_of(world), 1), "Oilskin green");
}

/* What was said of a paint is not said of the one that stands in for it. */
static void test_swap_forgets(void **state)
{
    static const char *const said[] = {"dry: 40", "label: 90", "film: 60", "solids: 70 %"};
    struct world world;
    (void)state;
    for (size_t i = 0; i < sizeof said / sizeof *said; i++) {
        struct cb_drying drying[2];
        for (int with = 0; with < 2; with++) {
            world_init(&world);
            world_begin(&world, "u", 1,
                        cb_arena_printf(&world.arena,
                                        "{coatbell: 1, name: x, paints: {a: {kind: acrylic%s%s}}, "
                                        "stages: [{name: A, technique: basecoat, paint: a}]}",
                                        with ? ", " : "", with ? said[i] : ""));
            const double before_min = unit_of(&world)->drying[0].standard_min;
            const double before_label = unit_of(&world)->drying[0].label_min;
            world_do(&world, "swapped u paint=a name=Kelp kind=acrylic");
            drying[with] = unit_of(&world)->drying[0];
            if (with) { /* else nothing was said */
                assert_true(before_min != drying[0].standard_min || before_label == 90);
            }
            world_fini(&world);
        }
        assert_near(drying[1].standard_min, drying[0].standard_min, 1e-9);
        assert_true(isnan(drying[0].label_min) && isnan(drying[1].label_min));
    }
}

/* A film all over lies on an area that a later recipe names, one of an area does not. */
static void test_new_area(void **state)
{
    struct world *world = begin(state);
    static const char stages[] = "stages: [{name: All, technique: basecoat, paint: a}, "
                                 "{name: Hem, technique: layer, paint: a, on: hem}]}";
    world_begin(world, "v", 1,
                cb_arena_printf(&world->arena,
                                "{coatbell: 1, name: x, paints: {a: {}}, areas: "
                                "{hem: {}}, %s",
                                stages));
    world_do(world, "coat_on v figure=1 stage=1 coat=1");
    world_do(world, "coat_on v figure=1 stage=2 coat=1");
    world_do(world, cb_arena_printf(&world->arena,
                                    "recipe_changed v recipe='{coatbell: 1, name: x, paints: {a: "
                                    "{}}, areas: {cuff: {}, hem: {}}, %s'",
                                    stages));
    const struct cb_unit *unit = cb_bench_unit(world->bench, 1);
    assert_int_equal(cb_bench_film(unit, 1, 1, 1)->areas, 3);
    assert_int_equal(cb_bench_film(unit, 1, 2, 1)->areas, 2);
}

static void test_swap(void **state)
{
    struct world *world = begin(state);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_do(world, "swapped u paint=green name='Eel grey' kind=acrylic");
    world_do(world, "coat_on u figure=2 stage=2 coat=1");
    const struct cb_unit *unit = unit_of(world);
    assert_string_equal(cb_bench_film(unit, 1, 2, 1)->paint, "Oilskin green");
    assert_string_equal(cb_bench_film(unit, 2, 2, 1)->paint, "Eel grey");
    assert_string_not_equal(cb_bench_film(unit, 1, 2, 1)->pot, cb_bench_film(unit, 2, 2, 1)->pot);
    assert_near(cb_bench_film(unit, 1, 2, 1)->drying->standard_min, 20, 1e-9);
    /* what was said of green is not said of grey: the table's thin basecoat, physics checks */
    assert_near(cb_bench_film(unit, 2, 2, 1)->drying->standard_min, 6.28, .01);
    world_do(world, cb_arena_printf(&world->arena, "recipe_changed u recipe='%s'", plain));
    assert_string_equal(cb_bench_stage_paint(unit_of(world), 2), "Eel grey");
}

#define GLAZED(name, glow, film)                                                                   \
    "{coatbell: 1, name: " name ", paints: {amber: {kind: acrylic}, rope: {kind: acrylic}}, "      \
    "stages: [{name: Glow, technique: glaze, " glow "}, "                                          \
    "{name: Film, technique: layer, mix: " film "}, "                                              \
    "{name: Hem, technique: layer, mix: 2 rope + 1 retarder}]}"
#define WITH_MEDIUM(name)                                                                          \
    GLAZED(name, "paint: amber", "2 amber + 1 medium + 1 rope + 1 retarder + 1 water")

static void assert_same_mixes(const struct cb_kinds *table, const struct cb_recipe *one,
                              const struct cb_recipe *other)
{
    assert_int_equal(one->stage_count, other->stage_count);
    for (size_t i = 0; i < one->stage_count; i++) {
        const struct cb_amount a = cb_amount_of(table, one, i, 3, NAN);
        const struct cb_amount b = cb_amount_of(table, other, i, 3, NAN);
        const struct cb_mix *mix = &other->stages[i].mix;
        assert_near(a.poured_ml, b.poured_ml, 1e-9);
        assert_near(a.totals.medium, b.totals.medium, 0);
        assert_near(a.totals.retarder, b.totals.retarder, 0);
        assert_near(a.totals.water, b.totals.water, 0);
        assert_int_equal(one->stages[i].mix.count, mix->count);
        for (size_t p = 0; p < mix->count; p++) {
            assert_int_equal(one->stages[i].mix.parts[p].what, mix->parts[p].what);
            assert_near(one->stages[i].mix.parts[p].parts, mix->parts[p].parts, 1e-9);
            assert_near(a.drops[p], b.drops[p], 0);
        }
    }
}

/* Water stands in for medium, in a usual mix too: the unit is as one whose recipe says so itself,
 * from then on. */
static void test_no_medium(void **state)
{
    struct world *world = *state;
    static struct cb_kinds usually; /* a glaze is 1 paint + 3 medium, as in kinds.yaml */
    const struct cb_kinds *table = &usually;
    usually = *world_kinds();
    usually.techniques[CB_TECHNIQUE_GLAZE].usual_medium = 3;
    cb_bench_free(world->bench);
    world->bench = cb_bench_new(table, world_read);
    begin(state);
    world_begin(world, "v", 1, WITH_MEDIUM("v"));
    const struct cb_unit *unit = cb_bench_unit(world->bench, 1);
    const struct cb_parts usual = cb_drying_parts_of_stage(table, unit->recipe, 0);
    assert_true(usual.medium > 0 && usual.retarder == 0);
    world_begin(world, "w", 1,
                cb_arena_printf(&world->arena,
                                GLAZED("w", "mix: %g amber + %g water",
                                       "2 amber + 1 rope + 1 retarder + 2 water"),
                                usual.paint, usual.water + usual.medium));
    unit = cb_bench_unit(world->bench, 1);
    const double before_min = unit->drying[0].standard_min;
    static const char *const nothing[] = {"paint=medium name=Gloss", "paint=retarder name=water",
                                          "paint=water name=medium"};
    for (size_t i = 0; i < sizeof nothing / sizeof *nothing; i++) {
        world_do(world, cb_arena_printf(&world->arena, "swapped v %s", nothing[i]));
        unit = cb_bench_unit(world->bench, 1);
        assert_near(unit->drying[0].standard_min, before_min, 0);
        assert_near(cb_mix_sum(&cb_bench_used(unit)->stages[1].mix, CB_MIX_MEDIUM), 1, 0);
    }
    world_do(world, "coat_on v figure=1 stage=1 coat=1");
    world_do(world, "swapped v paint=medium name=water");
    for (int later = 0; later < 2; later++) { /* another recipe has no medium either */
        unit = cb_bench_unit(world->bench, 1);
        const struct cb_unit *said = cb_bench_unit(world->bench, 2);
        struct cb_draft draft;
        cb_bench_draft(unit, &draft);
        assert_same_mixes(table, cb_bench_used(unit), said->recipe);
        assert_same_mixes(table, &draft.recipe, said->recipe);
        for (size_t i = 0; i < unit->recipe->stage_count; i++) {
            assert_near(unit->drying[i].standard_min, said->drying[i].standard_min, 1e-9);
            assert_near(unit->drying[i].water_g_m2, said->drying[i].water_g_m2, 1e-9);
        }
        assert_true(fabs(unit->drying[0].standard_min - before_min) > 1e-3);
        assert_near(cb_bench_film(unit, 1, 1, 1)->drying->standard_min, before_min, 0);
        world_do(world, "recipe_changed v recipe='" WITH_MEDIUM("later") "'");
    }
    world_undo(world);
    world_undo(world);
    world_undo(world);
    unit = cb_bench_unit(world->bench, 1);
    assert_near(unit->drying[0].standard_min, before_min, 0);
    assert_ptr_equal(cb_bench_used(unit), unit->recipe);
}

/* A blend is all its paints in the order of the recipe; its pot is the one it has most of. */
static void test_blend(void **state)
{
    struct world *world = begin(state);
    world_do(world, cb_arena_printf(&world->arena, "recipe_changed u recipe='%s'", blended));
    assert_string_equal(cb_bench_stage_blend(unit_of(world), 1), "Oilskin green + Tarred rope");
    assert_string_equal(cb_bench_stage_paint(unit_of(world), 1), "Tarred rope");
    assert_string_equal(cb_bench_stage_blend(unit_of(world), 2), "Tarred rope");
    assert_null(cb_bench_stage_blend(unit_of(world), 3));
    assert_null(cb_bench_stage_blend(unit_of(world), 4));
    world_do(world, "swapped u paint=green name='Eel grey' kind=acrylic");
    assert_string_equal(cb_bench_stage_blend(unit_of(world), 1), "Eel grey + Tarred rope");
    world_do(world, "coat_on u figure=1 stage=1 coat=1");
    assert_string_equal(cb_bench_film(unit_of(world), 1, 1, 1)->paint, "Tarred rope");
}

static void test_joined_paints(void **state)
{
    struct world *world = begin(state);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_wait(world, 20);
    world_do(world, "checked u figure=1 stage=2 coat=1 found=dry");
    world_do(world, "bottle_new - paint='OILSKIN  green'");
    world_do(world, "evidence_forgotten - paint='Oilskin green'");
    world_do(world, "evidence_forgotten -");
    size_t count;
    const struct cb_row *rows = cb_bench_rows(world->bench, &count);
    assert_int_equal(count, 4);
    assert_int_equal(rows[1].kind, CB_ROW_BOTTLE);
    assert_string_equal(rows[1].pot, rows[0].pot);
    assert_near(rows[1].pot_sd, .30, 0);
    assert_int_equal(rows[2].kind, CB_ROW_FORGET);
    assert_string_equal(rows[2].pot, rows[0].pot);
    assert_int_equal(rows[3].kind, CB_ROW_FORGET);
    assert_null(rows[3].pot);
    world_do(world, "paint_joined - from='Oilskin green' to='Tarred rope'");
    const char *rope = cb_bench_stage_pot(unit_of(world), 1);
    assert_string_equal(cb_bench_stage_pot(unit_of(world), 2), rope);
    rows = cb_bench_rows(world->bench, &count);
    for (size_t i = 0; i < 3; i++) {
        assert_string_equal(rows[i].pot, rope);
    }
}

/* Two names are one pot wherever either is read, whichever was known when it was said. */
static void test_joined_before_it_is_known(void **state)
{
    struct world *world = begin(state);
    world_do(world, "paint_joined - from='oilskin  GREEN' to='Eel grey'");
    assert_string_equal(cb_bench_stage_pot(unit_of(world), 2), "eel grey\nacrylic");
    world_do(world, "paint_joined - from='Eel grey' to='Mud'"); /* and on */
    assert_string_equal(cb_bench_stage_pot(unit_of(world), 2), "mud\nacrylic");
    world_do(world, "paint_joined - from='Mud' to='Oilskin green'"); /* no way round */
    assert_string_equal(cb_bench_stage_pot(unit_of(world), 2), "mud\nacrylic");
    world_do(world, "swapped u paint=rope name='Oilskin green' kind=wash");
    assert_string_equal(cb_bench_stage_pot(unit_of(world), 1), "mud\nwash"); /* each kind alone */
    world_undo(world);
    world_undo(world);
    world_undo(world);
    assert_string_equal(cb_bench_stage_pot(unit_of(world), 2), "eel grey\nacrylic");
    world_undo(world);
    assert_string_equal(cb_bench_stage_pot(unit_of(world), 2), "oilskin green\nacrylic");
    /* by their keys, one kind joins another */
    world_do(world, "paint_joined - from='oilskin green\nacrylic' to='tarred rope\noil'");
    assert_string_equal(cb_bench_stage_pot(unit_of(world), 2), "tarred rope\noil");
    assert_string_equal(cb_bench_stage_pot(unit_of(world), 1), "tarred rope\nacrylic");
    assert_string_equal(cb_bench_joined(world->bench, "oilskin green\nacrylic", &world->arena),
                        "tarred rope\noil");
    assert_string_equal(cb_bench_joined(world->bench, "oilskin green\nwash", &world->arena),
                        "oilskin green\nwash");
}

/* A new bottle is of the pot by that name, though the pot be read later, or be joined. */
static void test_bottle_of_a_name(void **state)
{
    struct world *world = *state;
    size_t count;
    world_do(world, "bottle_new - paint='Oilskin green'");
    world_do(world, "bottle_new - paint='oilskin green\nwash'");
    world_do(world, "bottle_new - paint='oilskin green\nnothing'");
    world_do(world, "bottle_new - paint='Eel grey'");
    const struct cb_row *rows = cb_bench_rows(world->bench, &count);
    assert_int_equal(count, 1); /* by its key it is known by itself */
    assert_string_equal(rows[0].pot, "oilskin green\nwash");
    assert_near(rows[0].pot_sd, .30, 0);
    world_begin(world, "u", 3, plain);
    rows = cb_bench_rows(world->bench, &count);
    assert_int_equal(count, 2);
    assert_string_equal(rows[0].pot, "oilskin green\nacrylic");
    world_do(world, "paint_joined - from='Eel grey' to='Oilskin green'");
    rows = cb_bench_rows(world->bench, &count);
    assert_int_equal(count, 3);
    assert_string_equal(rows[2].pot, "oilskin green\nacrylic");
    world_do(world, "paint_joined - from='Tarred rope' to='Oilskin green'");
    world_do(world, "bottle_new - paint='Tarred rope'");
    rows = cb_bench_rows(world->bench, &count);
    assert_int_equal(count, 4); /* of one pot one bottle */
    assert_string_equal(rows[3].pot, "oilskin green\nacrylic");
}

static void test_joined_label(void **state)
{
    /* What is printed on a pot holds until five of its films were answered, joined ones too. */
    static const char *const labelled =
        "{coatbell: 1, name: Labels, figures: 3,"
        " paints: {green: {name: Oilskin green, kind: acrylic, dry: 20, label: 600},"
        "          rope: {name: Tarred rope, kind: acrylic, dry: 20, label: 600}},"
        " areas: {oilskin: {}, rope: {}},"
        " stages: [{name: Oilskins, technique: basecoat, paint: green, on: oilskin},"
        "          {name: Rope, technique: basecoat, paint: rope, on: rope, after: []}]}";
    struct world *world = *state;
    world_begin(world, "u", 3, labelled);
    for (int film = 0; film < 5; film++) {
        if (film == 4) {
            world_do(world, "paint_joined - from='Tarred rope' to='Oilskin green'");
        }
        const double min = world_ring_min(world, unit_of(world), 1, .8);
        assert_near(min, 600, 1e-9);
        world_do(world, cb_arena_printf(&world->arena, "coat_on u figure=%d stage=%d coat=1",
                                        1 + film / 2, 1 + film % 2));
        world_wait(world, 20);
        world_do(world,
                 cb_arena_printf(&world->arena, "checked u figure=%d stage=%d coat=1 found=wet",
                                 1 + film / 2, 1 + film % 2));
        world_do(world, cb_arena_printf(&world->arena,
                                        film == 3 ? "lifted u figure=%d stage=%d coat=1"
                                                  : "checked u figure=%d stage=%d coat=1 found=dry",
                                        1 + film / 2, 1 + film % 2));
    }
    assert_true(world_ring_min(world, unit_of(world), 1, .8) < 600);
}

static void test_two_climates(void **state)
{
    /* checks of the physics: 20 standard minutes, ten at 23/50, then 23/80: 33.2 min */
    struct world *world = begin(state);
    const int64_t on_ms = world_ms(world);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_wait(world, 10);
    world_do(world, "climate_set - temp_c=23 rh_pct=80");
    const struct cb_film *film = cb_bench_film(unit_of(world), 1, 2, 1);
    const int64_t at_ms = cb_bench_reaches(world->bench, film, 20);
    assert_near((double)(at_ms - on_ms) / 60000, 33.2, .1);
    assert_near(cb_bench_progress(world->bench, film, at_ms), 20, 1e-4);
    assert_near(cb_bench_progress(world->bench, film, on_ms + 10 * 60000), 10, 1e-9);
    assert_near(cb_bench_progress(world->bench, film, on_ms - 60000), 0, 0);
    world_do(world, "climate_set - temp_c=20 rh_pct=98"); /* held: it stands still */
    film = cb_bench_film(unit_of(world), 1, 2, 1);
    assert_true(cb_bench_reaches(world->bench, film, 20) == CB_TIME_NONE);
    world_wait(world, 600);
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), 10, 1e-9);
    world_do(world, "climate_set - temp_c=23 rh_pct=50");
    film = cb_bench_film(unit_of(world), 1, 2, 1);
    assert_true(cb_bench_reaches(world->bench, film, 20) == world_ms(world) + 600000);
    /* back-dated over the change: the climate then */
    world_do(world, "coat_on u figure=2 stage=2 coat=1 on_at=-5");
    film = cb_bench_film(unit_of(world), 2, 2, 1);
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), 0, 1e-9);
}

/* Of 20 standard minutes what comes before the forming, in a thin basecoat: 5.02 of 6.28. */
#define FORMLESS (20 * 5.02 / 6.28)

static void test_cold_night(void **state)
{
    struct world *world = begin(state);
    world_do(world, "climate_set - temp_c=9.9 rh_pct=60");
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    const struct cb_film *film = cb_bench_film(unit_of(world), 1, 2, 1);
    const int64_t on_ms = world_ms(world);
    const double cold = cb_drying_rate(film->drying, &(struct cb_climate){9.9, 60, CB_AIR_STILL});
    world_wait(world, 10);
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), 10 * cold, 1e-9);
    assert_true(cb_bench_reaches(world->bench, film, 20) == CB_TIME_NONE);
    const double formless = cb_drying_formless_min(film->drying, 20);
    assert_near(formless, FORMLESS, .02);
    assert_near((double)(cb_bench_reaches(world->bench, film, formless - 1e-9) - on_ms),
                formless / cold * 60000, 1);
    world_wait(world, 590);
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), formless, 1e-9);
    /* ten hours later it wants the minutes of its forming in the warm room, and no more */
    world_do(world, "climate_set - temp_c=23 rh_pct=50");
    film = cb_bench_film(unit_of(world), 1, 2, 1);
    assert_near((double)(cb_bench_reaches(world->bench, film, 20) - world_ms(world)),
                (20 - formless) * 60000, 1);
    world_wait(world, 2);
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), formless + 2, 1e-9);
    /* what it has gained beyond that is not lost in the cold, nor added to */
    world_do(world, "climate_set - temp_c=5 rh_pct=60");
    world_wait(world, 60);
    world_do(world, "climate_set - temp_c=9 rh_pct=60"); /* one cold, however often it is read */
    world_wait(world, 60);
    film = cb_bench_film(unit_of(world), 1, 2, 1);
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), formless + 2, 1e-9);
    /* a dryer of its own air ends it */
    world_do(world, "helped u figure=1 stage=2 coat=1 air=dryer seconds=60");
    film = cb_bench_film(unit_of(world), 1, 2, 1);
    const double blown = cb_drying_rate(film->drying, &(struct cb_climate){9, 60, CB_AIR_DRYER});
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), formless + 2 + blown, 1e-9);
    /* back-dated into the cold, over a change to warm air and back */
    world_do(world, "coat_on u figure=2 stage=2 coat=1 on_at=-125");
    film = cb_bench_film(unit_of(world), 2, 2, 1);
    const double five = cb_drying_rate(film->drying, &(struct cb_climate){5, 60, CB_AIR_STILL});
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)),
                fmin(2 + 3 * cold + 60 * five, formless), 1e-9);
}

/* Films in air in which none gets dry, or under a dryer, are left out; before and after it they
 * teach. */
static void test_air_that_teaches_nothing(void **state)
{
    static const struct {
        const char *before, *meanwhile; /* NULL: as it was */
        bool teaches;
    } cases[] = {
        {NULL, NULL, true},
        {NULL, "climate_set - temp_c=9.9 rh_pct=60", false},
        {"climate_set - temp_c=9.9 rh_pct=60", NULL, false},
        {NULL, "climate_set - temp_c=10 rh_pct=60", true},
        {"climate_set - temp_c=10 rh_pct=60", NULL, true},
        {NULL, "climate_set - temp_c=19 rh_pct=97", false},
        {NULL, "climate_set - temp_c=19 rh_pct=96", true},
        {NULL, "climate_set - temp_c=19 rh_pct=50 air=dryer", false},
        {"climate_set - temp_c=19 rh_pct=50 air=dryer", NULL, false},
        {NULL, "climate_set - temp_c=19 rh_pct=50 air=fan", true},
        {NULL, "climate_set - temp_c=9 rh_pct=50 place=shed", true},
        {NULL, "helped u figure=1 stage=2 coat=1 air=dryer seconds=30", false},
    };
    struct world *world = begin(state);
    size_t taught = 0;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *const figures[] = {"1", "2", "3"};
        const char *unit = cb_arena_printf(&world->arena, "v%zu", i);
        world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
        world_begin(world, unit, 3, plain);
        if (cases[i].before) {
            world_do(world, cases[i].before);
        }
        world_do(world, cb_arena_printf(&world->arena, "coat_on %s figure=%s stage=2 coat=1", unit,
                                        figures[0]));
        world_wait(world, 15);
        if (cases[i].meanwhile && strncmp(cases[i].meanwhile, "helped", 6) == 0) {
            world_do(world, cb_arena_printf(&world->arena, "helped %s%s", unit,
                                            cases[i].meanwhile + strlen("helped u")));
        } else if (cases[i].meanwhile) {
            world_do(world, cases[i].meanwhile);
        }
        world_wait(world, 15);
        world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
        world_wait(world, 5);
        world_do(world, cb_arena_printf(&world->arena,
                                        "checked %s figure=1 stage=2 coat=1 found=dry", unit));
        taught += cases[i].teaches;
        assert_int_equal(row_count(world), taught);
        world_do(world, "climate_set - temp_c=5 rh_pct=98 air=dryer"); /* what it lies in since */
        world_wait(world, 60);
        assert_int_equal(row_count(world), taught);
    }
    /* an air that begins at the answer comes too late for it */
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
    world_begin(world, "late", 3, plain);
    world_do(world, "coat_on late figure=1 stage=2 coat=1");
    world_wait(world, 15);
    world_do(world, "climate_set - temp_c=9 rh_pct=60");
    world_do(world, "checked late figure=1 stage=2 coat=1 found=dry");
    assert_int_equal(row_count(world), taught + 1);
}

/* A week in a cold or damp room: the morning finds all dry, or paints on without a word. */
static void test_six_nights(void **state)
{
    static const char *const nights[] = {"climate_set - temp_c=9 rh_pct=60",
                                         "climate_set - temp_c=11 rh_pct=60",
                                         "climate_set - temp_c=19 rh_pct=98"};
    struct world *world = begin(state);
    for (size_t n = 0; n < sizeof nights / sizeof *nights; n++) {
        for (int night = 0; night < 6; night++) {
            const char *unit = cb_arena_printf(&world->arena, "n%zu.%d", n, night);
            world_begin(world, unit, 3, plain);
            world_do(world, nights[n]);
            for (int figure = 1; figure <= 3; figure++) {
                world_do(world,
                         cb_arena_printf(&world->arena, "coat_on %s figure=%d stage=%d coat=1",
                                         unit, figure, figure == 3 ? 1 : 2));
            }
            world_wait(world, 9 * 60);
            world_do(world, "climate_set - temp_c=20 rh_pct=55");
            world_wait(world, 1);
            world_do(world, cb_arena_printf(&world->arena,
                                            "checked %s figure=1 stage=2 coat=1 found=dry", unit));
            world_do(world,
                     cb_arena_printf(&world->arena, "coat_on %s figure=2 stage=2 coat=2", unit));
            world_do(world,
                     cb_arena_printf(&world->arena, "coat_on %s figure=3 stage=3 coat=1", unit));
            world_wait(world, 12 * 60);
        }
        world_learn(world);
        for (int stage = 1; stage <= 3; stage++) {
            const struct cb_unit *unit = unit_of(world);
            const struct cb_drying *drying = &unit->drying[stage - 1];
            const double median = cb_learn_quantile(world->learn, cb_bench_stage_pot(unit, stage),
                                                    drying->pot_sd, drying->standard_min, .5, 0);
            assert_near(median / drying->standard_min, 1, .15);
        }
    }
}

static void test_places(void **state)
{
    struct world *world = begin(state);
    world_do(world, "climate_set - temp_c=9 rh_pct=70 place=shed");
    world_do(world, "coat_on u figure=1 stage=2 coat=1 place=shed");
    world_do(world, "coat_on u figure=2 stage=2 coat=1 place=loft");
    world_wait(world, 30);
    const struct cb_unit *unit = unit_of(world);
    const struct cb_film *film = cb_bench_film(unit, 1, 2, 1);
    assert_string_equal(cb_bench_place_name(world->bench, film->place), "shed");
    const double cold = cb_drying_rate(film->drying, &(struct cb_climate){9, 70, CB_AIR_STILL});
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), 30 * cold, 1e-9);
    /* a place without a reading takes the bench's */
    assert_near(cb_bench_progress(world->bench, cb_bench_film(unit, 2, 2, 1), world_ms(world)), 30,
                1e-9);
    world_do(world, "brought_in u figures=1");
    world_wait(world, 7);
    film = cb_bench_film(unit_of(world), 1, 2, 1);
    assert_true(film->brought_in);
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), 30 * cold + 7, 1e-9);
    assert_near((double)(cb_bench_reaches(world->bench, film, 20) - world_ms(world)),
                (13 - 30 * cold) * 60000, 1);
}

/* Warm air in the shed is the shed's, also when the film has been brought in since; the scrap comes
 * along with the figures. */
static void test_helped_elsewhere(void **state)
{
    struct world *world = begin(state);
    world_do(world, "climate_set - temp_c=9 rh_pct=70 place=shed");
    world_do(world, "coat_on u figure=1 stage=2 coat=1 place=shed");
    world_do(world, "coat_on u figure=0 stage=2 coat=1 place=shed");
    world_wait(world, 2);
    world_do(world, "helped u figure=1 stage=2 coat=1 air=dryer seconds=30");
    const struct cb_film *film = cb_bench_film(unit_of(world), 1, 2, 1);
    const double cold = cb_drying_rate(film->drying, &(struct cb_climate){9, 70, CB_AIR_STILL});
    const double warm = cb_drying_rate(film->drying, &(struct cb_climate){9, 70, CB_AIR_DRYER});
    const double gained = 1.5 * cold + .5 * warm;
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), gained, 1e-9);
    world_do(world, "brought_in u figures=1");
    world_wait(world, 3);
    film = cb_bench_film(unit_of(world), 1, 2, 1);
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), gained + 3, 1e-9);
    const struct cb_film *stroke = cb_bench_stroke(unit_of(world), 2, 1);
    assert_near(cb_bench_progress(world->bench, stroke, world_ms(world)), 2 * cold + 3, 1e-9);
    world_undo(world);
    film = cb_bench_film(unit_of(world), 1, 2, 1);
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), gained + 3 * cold, 1e-9);
}

static void test_helped(void **state)
{
    struct world *world = begin(state);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_wait(world, 2);
    world_do(world, "helped u figure=1 stage=2 coat=1 air=dryer seconds=30");
    const struct cb_film *film = cb_bench_film(unit_of(world), 1, 2, 1);
    const double rate = cb_drying_rate(film->drying, &(struct cb_climate){23, 50, CB_AIR_DRYER});
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), 1.5 + .5 * rate, 1e-9);
    const int64_t at_ms = cb_bench_reaches(world->bench, film, 1.5 + .25 * rate);
    assert_near((double)(at_ms - film->on_ms), 105000, 2);
    world_wait(world, .25);
    world_do(world, "helped u figure=1 stage=2 coat=1 air=dryer seconds=60"); /* no second twice */
    film = cb_bench_film(unit_of(world), 1, 2, 1);
    assert_near(cb_bench_progress(world->bench, film, world_ms(world)), 1.5 + .75 * rate, 1e-9);
    world_do(world, "checked u figure=1 stage=2 coat=1 found=dry");
    assert_int_equal(row_count(world), 0);
}

static void test_facts(void **state)
{
    struct world *world = begin(state);
    world_do(world, "confidence_set - pct=90");
    world_do(world, "cue_muted - cue=shake");
    world_do(world, "caution_read - caution=dust");
    world_do(world, "pause_begun -");
    assert_true(cb_bench_facts(world->bench).paused);
    assert_near(cb_bench_facts(world->bench).confidence, .9, 1e-12);
    assert_true(cb_bench_muted(world->bench, "shake"));
    assert_true(cb_bench_caution_read(world->bench, "dust"));
    assert_false(cb_bench_caution_read(world->bench, "dus"));
    world_begin(world, "other", 2,
                "coatbell: 1\nname: Another recipe\nstages: [{name: Clean, "
                "technique: prepare}]\n");
    assert_false(cb_bench_caution_read(world->bench, "dust")); /* another recipe, read again */
    world_do(world, "unit_opened u");
    assert_true(cb_bench_caution_read(world->bench, "dust"));
    world_do(world, "session_closed -");
    assert_false(cb_bench_facts(world->bench).paused);
    assert_false(cb_bench_facts(world->bench).session_open);
    world_do(world, "session_opened -");
    assert_false(cb_bench_caution_read(world->bench, "dust")); /* a new session, read again */
    assert_true(cb_bench_muted(world->bench, "shake"));
    world_begin(world, "v", 2, plain);
    assert_int_equal(cb_bench_front(world->bench), 2);
    world_do(world, "unit_opened u");
    assert_int_equal(cb_bench_front(world->bench), 0);
    world_do(world, "unit_finished u");
    assert_int_equal(cb_bench_front(world->bench), -1);
    assert_true(unit_of(world)->finished);
}

/* Put aside it is as if finished, until it is opened; what is finished for good stays so. */
static void test_put_aside(void **state)
{
    struct world *world = begin(state);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_do(world, "unit_finished u left=true");
    assert_true(unit_of(world)->finished && unit_of(world)->left);
    assert_int_equal(cb_bench_front(world->bench), -1);
    world_do(world, "unit_opened u");
    assert_false(unit_of(world)->finished || unit_of(world)->left);
    assert_int_equal(cb_bench_front(world->bench), 0);
    assert_non_null(cb_bench_film(unit_of(world), 1, 2, 1));
    world_undo(world);
    assert_true(unit_of(world)->left);
    world_undo(world);
    assert_false(unit_of(world)->finished || unit_of(world)->left);
    world_do(world, "unit_finished u left=false");
    world_do(world, "unit_finished u left=true");
    world_do(world, "unit_opened u");
    assert_true(unit_of(world)->finished && !unit_of(world)->left);
}

/* Who is parked by the very press that begins the unit comes later; who breaks does not. */
static void test_later(void **state)
{
    struct world *world = *state;
    world_begin(world, "u", 3, plain);
    world_also(world, "figure_parked u figure=2");
    world_also(world, "figure_parked u figure=3");
    const struct cb_unit *unit = unit_of(world);
    assert_true(unit->figure[2].later && unit->figure[3].later && !unit->figure[1].later);
    world_do(world, "figure_back u figure=3");
    assert_false(unit_of(world)->figure[3].later);
    world_do(world, "figure_parked u figure=3");
    assert_true(unit_of(world)->figure[3].parked && !unit_of(world)->figure[3].later);
    world_undo(world);
    world_undo(world);
    assert_true(unit_of(world)->figure[3].later);
}

static const char *last_id(const struct world *world)
{
    return world->log.items[world->log.count - 1]->id;
}

/* Everything that is known of the films, and what they teach. */
static const char *films_told(struct world *world)
{
    const struct cb_unit *unit = unit_of(world);
    const char *text = "";
    size_t count;
    const struct cb_row *rows = cb_bench_rows(world->bench, &count);
    for (int figure = 1; figure <= unit->figures; figure++) {
        for (size_t i = 0; i < unit->film_count; i++) {
            const struct cb_film *film = &unit->films[i];
            text = film->figure != figure
                       ? text
                       : cb_arena_printf(&world->arena,
                                         "%s%d/%d/%d on %lld next %lld %d wet %lld dry %lld"
                                         " rang %lld up %lld %d\n",
                                         text, figure, film->stage, film->coat,
                                         (long long)film->on_ms, (long long)film->next_ms,
                                         (int)film->check, (long long)film->wet_ms,
                                         (long long)film->dry_ms, (long long)film->pinged_ms,
                                         (long long)film->lifted_ms, film->helped);
        }
    }
    for (size_t i = 0; i < count; i++) {
        text =
            cb_arena_printf(&world->arena, "%s%d/%d/%d %d %a %a %d %lld %a\n", text, rows[i].figure,
                            rows[i].stage, rows[i].coat, (int)rows[i].kind, rows[i].lo, rows[i].hi,
                            (int)rows[i].heard, (long long)rows[i].heard_ms, rows[i].late);
    }
    return text;
}

/* The evening of a coat that is on figure 2, said to be on `said` until the move tells. */
static const char *evening_of(struct world *world, int said, bool moved)
{
    static const char *const lines[] = {
        "coat_on u figure=1 stage=2 coat=1",
        "coat_on u figure=@ stage=2 coat=1",
        "checked u figure=@ stage=2 coat=1 found=wet",
        "pinged u films=1/2/1,@/2/1 due_at=0",
        "helped u figure=1 stage=2 coat=1 air=fan seconds=20",
        "checked u figure=@ stage=2 coat=1 found=dry",
        "coat_on u figure=2 stage=4 coat=1",
        "coat_on u figure=3 stage=4 coat=1",
    };
    const char *id = NULL;
    begin((void **)&world);
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        world_wait(world, 7);
        char *line = cb_arena_text(&world->arena, lines[i]);
        for (char *at = line; (at = strchr(at, '@')) != NULL;) {
            *at = (char)('0' + said);
        }
        world_do(world, line);
        id = i == 1 ? last_id(world) : id;
    }
    if (moved) {
        world_do(world, cb_arena_printf(&world->arena, "moved u figure=2 coat=1 coat_id=%s", id));
    }
    return films_told(world);
}

/* A coat marked on the wrong figure and moved is as one that was marked rightly, with all that was
 * said of it before; taken back, as it was. */
static void test_moved(void **state)
{
    struct world right, *wrong = *state;
    world_init(&right);
    const char *wanted = evening_of(&right, 2, false);
    assert_string_equal(evening_of(wrong, 3, true), wanted);
    assert_null(cb_bench_film(unit_of(wrong), 3, 2, 1));
    const char *id = cb_bench_film(unit_of(wrong), 2, 2, 1)->on_id;
    assert_int_equal(cb_bench_key(wrong->bench, wrong->log.items[4]).figure, 2);
    char *what = NULL;
    cb_bench_undoable(wrong->bench, &wrong->arena, &what);
    assert_string_equal(what, "moved to 2");
    /* from here on it is where it lies */
    world_wait(wrong, 1);
    world_do(wrong, "lifted u figure=3 stage=2 coat=1");
    assert_true(cb_bench_film(unit_of(wrong), 2, 2, 1) != NULL);
    /* the last move counts, as another coat where it has one */
    world_do(wrong, cb_arena_printf(&wrong->arena, "moved u figure=1 coat=2 coat_id=%s", id));
    assert_null(cb_bench_film(unit_of(wrong), 2, 2, 1));
    assert_int_equal(cb_bench_coats_on(unit_of(wrong), 1, 2), 2);
    world_undo(wrong);
    world_undo(wrong);
    assert_string_equal(films_told(wrong), wanted);
    world_undo(wrong);
    assert_non_null(cb_bench_film(unit_of(wrong), 3, 2, 1));
    assert_null(cb_bench_film(unit_of(wrong), 2, 2, 1));
    /* to where there is no room it does not go */
    world_do(wrong, cb_arena_printf(&wrong->arena, "moved u figure=9 coat=1 coat_id=%s", id));
    assert_non_null(cb_bench_film(unit_of(wrong), 3, 2, 1));
    world_do(wrong, cb_arena_printf(&wrong->arena, "moved u figure=1 coat=1 coat_id=%s", id));
    world_do(wrong, "moved u figure=1 coat=1 coat_id=nothing");
    assert_non_null(cb_bench_film(unit_of(wrong), 3, 2, 1));
    world_fini(&right);
}

static void begin_behind(struct world *world, const char *unit)
{
    world_do(world,
             cb_arena_printf(&world->arena, "unit_begun %s name=%s figures=2 front=no recipe='%s'",
                             unit, unit, plain));
}

static void test_begun_behind(void **state)
{
    struct world *world = *state;
    begin_behind(world, "u");
    assert_int_equal(cb_bench_unit_count(world->bench), 1);
    assert_int_equal(cb_bench_front(world->bench), -1); /* nor where nothing is in front */
    world_do(world, "unit_opened u");
    assert_int_equal(cb_bench_front(world->bench), 0);
    begin_behind(world, "v");
    assert_int_equal(cb_bench_front(world->bench), 0);
    world_do(world, "unit_finished u");
    assert_int_equal(cb_bench_front(world->bench), -1);
    world_do(world, "unit_opened v");
    assert_int_equal(cb_bench_front(world->bench), 1);
    world_undo(world);
    assert_int_equal(cb_bench_front(world->bench), -1);
}

/* "m" sits at the bench; "n" and nobody's events come in by an import. */
static void test_front_of_others(void **state)
{
    struct world *world = begin(state);
    world_do(world, "session_opened - front=u");
    world_wait(world, 1);
    world->machine = "n";
    world_begin(world, "v", 2, plain);
    assert_int_equal(cb_bench_front(world->bench), 0);
    world_wait(world, 1);
    world->machine = NULL;
    world_do(world, "unit_opened v");
    assert_int_equal(cb_bench_front(world->bench), 0);
    world_wait(world, 1);
    world->machine = "m";
    world_do(world, "unit_opened v"); /* by her own hand */
    assert_int_equal(cb_bench_front(world->bench), 1);
    world_do(world, "session_closed -");
    world_wait(world, 1);
    world->machine = "n";
    world_do(world, "unit_opened u"); /* nobody sits there any more */
    assert_int_equal(cb_bench_front(world->bench), 0);
    world_wait(world, 1);
    world->machine = "m";
    world_do(world, "session_opened - front=v"); /* of u this bench did not know */
    assert_int_equal(cb_bench_front(world->bench), 1);
}

/* An evening of another machine that came in and began after ours: its presses are not ours to
 * undo, and while we sit here it puts nothing in front. */
static void test_own_bench(void **state)
{
    struct world *world = *state;
    cb_bench_own(world->bench, "m");
    world_begin(world, "u", 2, plain);
    world_do(world, "session_opened - front=u");
    const char *press = world_do(world, "note - text=tea");
    world_wait(world, 1);
    world->machine = "n";
    world_do(world, "session_opened - front=no");
    world_begin(world, "v", 2, plain);
    assert_int_equal(cb_bench_front(world->bench), 0);
    assert_string_equal(cb_bench_undoable(world->bench, &world->arena, NULL), press);
    world_do(world, "session_closed -");
    world_do(world, "unit_opened v");
    assert_int_equal(cb_bench_front(world->bench), 0);
}

/* Logs in which no session_opened says what is in front keep their meaning: who came last, also
 * where a session of another machine was cut off before and never closed. */
static void test_front_of_before(void **state)
{
    struct world *world = begin(state);
    world_do(world, "session_opened -");
    world_wait(world, 1);
    world->machine = "n";
    world_begin(world, "v", 2, plain);
    world_do(world, "session_opened -");
    assert_int_equal(cb_bench_front(world->bench), 1);
    world_do(world, "session_closed -");
    world_wait(world, 1);
    world->machine = "m";
    world_do(world, "session_opened -");
    assert_int_equal(cb_bench_front(world->bench), 1);
}

/* A review folds one unit: another, of which it knows but that it was opened, is in front then. */
static void test_front_unknown(void **state)
{
    struct world *world = begin(state);
    world_do(world, "unit_opened other");
    assert_int_equal(cb_bench_front(world->bench), -1);
    world_do(world, "unit_opened u");
    assert_int_equal(cb_bench_front(world->bench), 0);
}

/* An undo in a later sitting still moves the front: what the bench found there holds against
 * others only. */
static void test_front_undone_later(void **state)
{
    struct world *world = begin(state);
    world_begin(world, "v", 2, plain);
    world_do(world, "unit_opened u");
    world_do(world, "session_opened - front=u");
    assert_int_equal(cb_bench_front(world->bench), 0);
    world_undo(world);
    assert_int_equal(cb_bench_front(world->bench), 1);
    world_redo(world);
    assert_int_equal(cb_bench_front(world->bench), 0);
    world_do(world, "unit_finished u");
    world_do(world, "session_opened - front=no");
    world_undo(world);
    assert_int_equal(cb_bench_front(world->bench), 0);
}

static void test_rows(void **state)
{
    static const struct {
        const char *lines[6]; /* a number alone: wait so many minutes */
        int rows;
        enum cb_row_kind kind;
        double lo, hi;
    } cases[] = {
        {{"21", "checked u figure=1 stage=2 coat=1 found=dry"}, 1, CB_ROW_FILM, 0, 21},
        {{"15", "checked u figure=1 stage=2 coat=1 found=wet"}, 1, CB_ROW_FILM, 15, INFINITY},
        {{"15", "checked u figure=1 stage=2 coat=1 found=wet", "9",
          "checked u figure=1 stage=2 coat=1 found=dry"},
         1,
         CB_ROW_FILM,
         15,
         24},
        {{"25", "lifted u figure=1 stage=2 coat=1"}, 1, CB_ROW_FILM, 25, INFINITY},
        {{"30", "coat_on u figure=1 stage=2 coat=2"}, 1, CB_ROW_WEAK, 0, 30},
        {{"15", "checked u figure=1 stage=2 coat=1 found=wet", "15",
          "coat_on u figure=1 stage=2 coat=2"},
         1,
         CB_ROW_WEAK,
         15,
         30},
        /* said dry, then wet after all */
        {{"15", "checked u figure=1 stage=2 coat=1 found=dry", "2",
          "checked u figure=1 stage=2 coat=1 found=wet"},
         1,
         CB_ROW_FILM,
         17,
         INFINITY},
        /* answered before the next coat: that says no more */
        {{"15", "checked u figure=1 stage=2 coat=1 found=dry", "9",
          "coat_on u figure=1 stage=2 coat=2"},
         1,
         CB_ROW_FILM,
         0,
         15},
        {{"30", "coat_on u figure=1 stage=3 coat=1"}, 0, CB_ROW_FILM, 0, 0}, /* elsewhere */
        /* under another coat nobody can touch it */
        {{"30", "coat_on u figure=1 stage=2 coat=2", "5",
          "checked u figure=1 stage=2 coat=1 found=wet"},
         1,
         CB_ROW_WEAK,
         0,
         30},
        /* but say how it was until then */
        {{"12", "coat_on u figure=1 stage=2 coat=2", "5",
          "checked u figure=1 stage=2 coat=1 found=dry seen_at=-5"},
         1,
         CB_ROW_FILM,
         0,
         12},
        {{"9", "checked u figure=1 stage=2 coat=1 found=wet", "3",
          "coat_on u figure=1 stage=2 coat=2", "5",
          "checked u figure=1 stage=2 coat=1 found=dry seen_at=-5"},
         1,
         CB_ROW_FILM,
         9,
         12},
        {{"12", "coat_on u figure=1 stage=2 coat=2", "5",
          "checked u figure=1 stage=2 coat=1 found=dry seen_at=-4"},
         1,
         CB_ROW_WEAK,
         0,
         12},
        {{"12", "checked u figure=1 stage=2 coat=1 found=dry seen_at=-13"}, /* not on yet */
         0,
         CB_ROW_FILM,
         0,
         0},
        {{"12", "checked u figure=1 stage=2 coat=1 found=dry seen_at=3"}, /* never to come */
         1,
         CB_ROW_FILM,
         0,
         12},
        {{"0", "coat_on u figure=1 stage=4 coat=1", "9",
          "checked u figure=1 stage=2 coat=1 found=dry"},
         0,
         CB_ROW_FILM,
         0,
         0},
        /* it was wet when the next coat went on, whenever it came up */
        {{"15", "coat_on u figure=1 stage=2 coat=2", "5", "lifted u figure=1 stage=2 coat=1"},
         1,
         CB_ROW_FILM,
         15,
         INFINITY},
        /* the next coat is the first over it, also when that is told later */
        {{"60", "coat_on u figure=1 stage=4 coat=1", "coat_on u figure=1 stage=2 coat=2 on_at=-30"},
         1,
         CB_ROW_WEAK,
         0,
         30},
        {{"5", "helped u figure=1 stage=2 coat=1 air=fan seconds=30", "9",
          "checked u figure=1 stage=2 coat=1 found=dry"},
         0,
         CB_ROW_FILM,
         0,
         0},
        {{"5", "tidied u figure=1 stage=2", "9", "checked u figure=1 stage=2 coat=1 found=dry"},
         0,
         CB_ROW_FILM,
         0,
         0},
        {{"0"}, 0, CB_ROW_FILM, 0, 0},
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct world world;
        void *at = &world;
        world_init(&world);
        begin(&at);
        world_do(&world, "coat_on u figure=1 stage=2 coat=1");
        for (size_t j = 0; j < 6 && cases[i].lines[j]; j++) {
            char *end;
            const double minutes = strtod(cases[i].lines[j], &end);
            if (*end == '\0') {
                world_wait(&world, minutes);
            } else {
                world_do(&world, cases[i].lines[j]);
            }
        }
        assert_int_equal(row_count(&world), cases[i].rows);
        if (cases[i].rows) {
            const struct cb_row *row = only_row(&world);
            assert_int_equal(row->kind, cases[i].kind);
            assert_near(row->lo, cases[i].lo, 1e-9);
            assert_true(isinf(cases[i].hi) ? isinf(row->hi) : fabs(row->hi - cases[i].hi) < 1e-9);
            assert_near(row->median_min, 20, 1e-9);
        }
        world_fini(&world);
    }
}

static void test_rows_back_dated(void **state)
{
    struct world *world = begin(state);
    world_wait(world, 60); /* in the climate that was typed */
    world_do(world, "coat_on u figure=1 stage=2 coat=1 on_at=-6 on_pm_s=60");
    world_wait(world, 9);
    world_do(world, "checked u figure=1 stage=2 coat=1 found=wet");
    assert_int_equal(row_count(world), 0); /* 6 of 15 minutes are more than a third */
    world_wait(world, 6);
    world_do(world, "checked u figure=1 stage=2 coat=1 found=dry");
    const struct cb_row *row = only_row(world);
    assert_near(row->lo, 14, 1e-9); /* a minute later on at most */
    assert_near(row->hi, 22, 1e-9); /* a minute sooner on at most */
    assert_int_equal(row->at_ms, world->now.wall_ms - 21 * 60000);
}

static void test_rows_without_time(void **state)
{
    struct world *world = begin(state);
    world_do(world, "coat_on u figure=1 stage=5 coat=1"); /* wait: exact, never learned */
    world_wait(world, 30);
    world_do(world, "checked u figure=1 stage=5 coat=1 found=dry");
    assert_int_equal(row_count(world), 0);
}

static void test_first_question(void **state)
{
    struct world *world = begin(state);
    world_do(world, "answered - question=" CB_QUESTION_FIRST " value=" CB_QUESTION_UNKNOWN);
    assert_true(cb_bench_facts(world->bench).first_question_answered);
    assert_int_equal(row_count(world), 0);
    world_do(world, "answered - question=" CB_QUESTION_FIRST " value=15");
    size_t acrylic;
    assert_true(cb_kinds_find(world_kinds(), "acrylic", &acrylic));
    const double thin = cb_drying_of(world_kinds(), acrylic, CB_TECHNIQUE_BASECOAT, CB_BY_BRUSH,
                                     &(struct cb_parts){0}, NAN, NAN)
                            .standard_min;
    assert_near(thin, 6.28, .01);
    assert_int_equal(only_row(world)->kind, CB_ROW_ANSWER);
    assert_near(only_row(world)->value, log(15 / thin), 1e-9);
    world_do(world, "climate_set - temp_c=19 rh_pct=62 air=still");
    world_do(world, "answered - question=" CB_QUESTION_FIRST " value=10");
    /* physics checks: a thin basecoat, 6.28 min, at .684 of its rate */
    assert_near(only_row(world)->value, log(10 * .684 / 6.28), .002);
    world_undo(world);
    assert_near(only_row(world)->value, log(15 / thin), 1e-9);
    /* Under a fan the water leaves sooner, and the film forms no sooner. */
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=fan");
    world_do(world, "answered - question=" CB_QUESTION_FIRST " value=10");
    assert_near(only_row(world)->value, log(10 * 1.98 / 6.28), .005);
}

/* A machine that goes off and on again: boot id and boot clock are new. */
static void reboot(struct world *world, const char *boot, double wall_min)
{
    world->now.boot = boot;
    world->now.boot_ms = 5000;
    world->now.wall_ms += (int64_t)(wall_min * 60000);
}

static void test_clocks(void **state)
{
    struct world *world = begin(state);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    const int64_t on_ms = world_ms(world);
    world->now.wall_ms += 3600000; /* somebody sets the clock: nothing ages */
    assert_int_equal(world_ms(world), on_ms);
    world_wait(world, 20);
    world_do(world, "checked u figure=1 stage=2 coat=1 found=dry");
    assert_near(only_row(world)->hi, 20, 1e-9);
    assert_int_equal(cb_bench_wall(world->bench, &world->now, on_ms),
                     world->now.wall_ms - 20 * 60000);
}

static void test_boots(void **state)
{
    static const double year_min = 366 * 1440.0;
    static const struct {
        double set_min; /* the clock, while the machine was on */
        double off_min;
        bool suspect;
    } cases[] = {
        {0, 30, false},       {0, 600, false},          {0, -5, true},  {0, -60, true},
        {0, year_min, false}, {0, year_min + .1, true}, {5, 30, false}, {5.1, 30, true},
        {-5, 30, false},      {-5.1, 30, true},         {50, 30, true},
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct world world;
        void *at = &world;
        world_init(&world);
        begin(&at);
        world_do(&world, "coat_on u figure=1 stage=2 coat=1");
        if (cases[i].set_min < 0 || cases[i].set_min > 0) {
            world.now.wall_ms += (int64_t)(cases[i].set_min * 60000);
            world_do(&world, "note - text=set");
        }
        reboot(&world, "c", cases[i].off_min);
        world_do(&world, "session_opened -");
        const struct cb_film *film = cb_bench_film(unit_of(&world), 1, 2, 1);
        assert_true(film->across_boot);
        assert_int_equal(film->suspect, cases[i].suspect);
        world_do(&world, "checked u figure=1 stage=2 coat=1 found=dry");
        assert_int_equal(row_count(&world), cases[i].suspect ? 0 : 1);
        if (!cases[i].suspect) {
            assert_near(only_row(&world)->hi, cases[i].set_min + cases[i].off_min, 1e-9);
        }
        world_fini(&world);
    }
}

static const struct cb_film *film_on(const struct world *world, int figure)
{
    return cb_bench_film(unit_of(world), figure, 2, 1);
}

static double age_min(const struct world *world, int figure)
{
    return (double)(world_ms(world) - film_on(world, figure)->on_ms) / 60000;
}

/* The wall is two days back after a boot: nothing dries backwards, the air of before is still that
 * of the bench, and the boots after that one are as good as any. */
static void test_wall_set_back(void **state)
{
    struct world *world = begin(state);
    cb_bench_own(world->bench, "m");
    world_do(world, "climate_set - temp_c=25 rh_pct=40");
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_wait(world, 3);
    world_do(world, "note - text=late");
    const double two_days_min = 2880;
    reboot(world, "c", 10 - two_days_min);
    assert_near(age_min(world, 1), 3, 1e-9); /* before a word is in the log, and after */
    world_do(world, "session_opened -");
    assert_near(age_min(world, 1), 3, 1e-9); /* how long it was off nobody knows */
    assert_true(film_on(world, 1)->suspect);
    const struct cb_reading air = cb_bench_climate_at(world->bench, 0, world_ms(world));
    assert_int_equal(air.from, CB_FROM_TYPED);
    assert_near(air.climate.temp_c, 25, 0);
    world_wait(world, 5);
    assert_near(age_min(world, 1), 8, 1e-9);
    assert_int_equal(cb_bench_wall(world->bench, &world->now, film_on(world, 1)->on_ms),
                     world->now.wall_ms - 8 * 60000);
    world_do(world, "checked u figure=1 stage=2 coat=1 found=dry");
    assert_int_equal(row_count(world), 0);

    world_do(world, "coat_on u figure=2 stage=2 coat=1");
    world_wait(world, 7);
    world_do(world, "note - text=bed");
    reboot(world, "d", 10);
    world_do(world, "session_opened -");
    assert_false(film_on(world, 2)->suspect);
    assert_near(age_min(world, 2), 17, 1e-9);
    world_do(world, "checked u figure=2 stage=2 coat=1 found=dry");
    assert_near(only_row(world)->hi, 17 * cb_drying_rate(film_on(world, 2)->drying, &air.climate),
                1e-9);

    world_do(world, "coat_on u figure=3 stage=2 coat=1");
    world_do(world, "note - text=set"); /* and the wall is right again */
    reboot(world, "e", 30 + two_days_min);
    world_do(world, "session_opened -");
    assert_true(film_on(world, 3)->suspect);
    assert_true(age_min(world, 3) >= 0);
}

/* Set while the machine was on, and it was off for less: the wall of before the boot still stands.
 */
static void test_wall_set_back_before_boot(void **state)
{
    struct world *world = begin(state);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_wait(world, 20);
    world->now.wall_ms -= 60 * 60000;
    world_do(world, "note - text=set");
    reboot(world, "c", 30);
    world_do(world, "session_opened -");
    assert_true(film_on(world, 1)->suspect);
    assert_near(age_min(world, 1), 50, 1e-9);
}

/* One boot whose clock goes back while the wall goes on. */
static void test_boot_set_back(void **state)
{
    struct world *world = begin(state);
    world_wait(world, 120);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_wait(world, 10);
    world_do(world, "note - text=kept");
    world->now.boot_ms -= 100 * 60000;
    world->now.wall_ms += 8 * 60000;
    world_do(world, "session_opened -");
    assert_true(film_on(world, 1)->suspect);
    assert_true(film_on(world, 1)->across_boot);
    assert_near(age_min(world, 1), 18, 1e-9);
    world_wait(world, 1);
    assert_near(age_min(world, 1), 19, 1e-9);
    world_do(world, "checked u figure=1 stage=2 coat=1 found=dry");
    assert_int_equal(row_count(world), 0);
    world_do(world, "coat_on u figure=2 stage=2 coat=1");
    world_wait(world, 21);
    world_do(world, "checked u figure=2 stage=2 coat=1 found=dry");
    assert_near(only_row(world)->hi, 21, 1e-9);
}

/* Presses that waited for the disk come behind what another program wrote meanwhile. */
static void test_written_late(void **state)
{
    struct world *world = begin(state);
    world_wait(world, 30);
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    const struct cb_moment later = world->now;
    world->now.boot_ms -= 20 * 60000;
    world->now.wall_ms -= 20 * 60000;
    world_do(world, "coat_on u figure=2 stage=2 coat=1");
    world->now = later;
    world_wait(world, 5);
    assert_near(age_min(world, 1), 5, 1e-9);
    assert_near(age_min(world, 2), 25, 1e-9);
    assert_false(film_on(world, 1)->suspect);
    assert_false(film_on(world, 2)->suspect);
}

static void test_foreign_log(void **state)
{
    /* Without machine and boot, all at one time but for the answers: order by id alone. */
    struct world *world = *state;
    world->machine = NULL;
    world->hold = true;
    world_do(world, "coat_on u figure=1 stage=2 coat=1");
    world_begin(world, "u", 3, plain);
    world_do(world, "climate_set - temp_c=23 rh_pct=50");
    world_wait(world, 21);
    world_do(world, "coat_on u figure=1 stage=2 coat=2"); /* the same time as the answer */
    world_do(world, "checked u figure=1 stage=2 coat=1 found=dry");
    cb_bench_add(world->bench, world->log.items, world->log.count);
    assert_int_equal(unit_of(world)->film_count, 2);
    const struct cb_row *row = only_row(world);
    assert_int_equal(row->kind, CB_ROW_FILM);
    assert_near(row->hi, 21, 1e-9);
    assert_false(cb_bench_film(unit_of(world), 1, 2, 1)->suspect);
    assert_null(cb_bench_undoable(world->bench, NULL, NULL));
    struct cb_bench *other = cb_bench_new(world_kinds(), world_read);
    for (size_t i = 0; i < world->log.count; i++) {
        cb_bench_add(other, &world->log.items[i], 1);
        cb_bench_add(other, &world->log.items[i], 1); /* twice is once */
    }
    struct cb_err err = {0};
    assert_true(bench_equal(world->bench, other, &err));
    cb_bench_free(other);
}

static void test_foreign_go(void **state)
{
    /* A together go from elsewhere: one time, ids as they were given, or as a merge brings them. */
    struct world *world = *state;
    world->machine = NULL;
    world_begin(world, "u", 3, plain);
    world_wait(world, 1);
    for (int figure = 1; figure <= 3; figure++) {
        world_also(world,
                   cb_arena_printf(&world->arena, "coat_on u figure=%d stage=1 coat=1", figure));
        world_also(world, cb_arena_printf(&world->arena,
                                          "checked u figure=%d stage=1 coat=1 found=wet", figure));
    }
    const size_t count = world->log.count;
    assert_int_equal(count, 7);
    for (size_t step = 1; step < count; step++) { /* every step goes round through all seven */
        struct cb_bench *other = cb_bench_new(world_kinds(), world_read);
        for (size_t i = 0; i < count; i++) {
            cb_bench_add(other, &world->log.items[i * step % count], 1);
        }
        struct cb_err err = {0};
        assert_true(bench_equal(world->bench, other, &err));
        cb_bench_free(other);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define TEST(f) cmocka_unit_test_setup_teardown(f, setup, teardown)
        TEST(test_empty),
        TEST(test_unreadable_recipe),
        TEST(test_meaningless),
        TEST(test_coats),
        TEST(test_undo),
        TEST(test_undo_words),
        TEST(test_undone_waits),
        TEST(test_imports_stay),
        TEST(test_recipe_change),
        TEST(test_renamed_stage),
        TEST(test_stage_back),
        TEST(test_stage_of_some),
        TEST(test_left_out_of_some),
        TEST(test_draft),
        TEST(test_swap_ends),
        TEST(test_swap),
        TEST(test_no_medium),
        TEST(test_blend),
        TEST(test_joined_paints),
        TEST(test_joined_before_it_is_known),
        TEST(test_bottle_of_a_name),
        TEST(test_joined_label),
        TEST(test_two_climates),
        TEST(test_cold_night),
        TEST(test_air_that_teaches_nothing),
        TEST(test_six_nights),
        TEST(test_places),
        TEST(test_helped),
        TEST(test_helped_elsewhere),
        TEST(test_facts),
        TEST(test_put_aside),
        TEST(test_later),
        TEST(test_swap_forgets),
        TEST(test_new_area),
        TEST(test_moved),
        TEST(test_begun_behind),
        TEST(test_front_of_others),
        TEST(test_own_bench),
        TEST(test_front_of_before),
        TEST(test_front_unknown),
        TEST(test_front_undone_later),
        TEST(test_rows),
        TEST(test_rows_back_dated),
        TEST(test_rows_without_time),
        TEST(test_first_question),
        TEST(test_clocks),
        TEST(test_boots),
        TEST(test_wall_set_back),
        TEST(test_wall_set_back_before_boot),
        TEST(test_boot_set_back),
        TEST(test_written_late),
        TEST(test_foreign_log),
        TEST(test_foreign_go),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
