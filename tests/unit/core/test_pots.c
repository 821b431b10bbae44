/* SPDX-License-Identifier: MIT */
/* The table of paints: its lines, what each rests on, and what a confidence costs. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "core/bench/pots.h"
#include "support/world.h"

#define COUNT(list)           (sizeof(list) / sizeof *(list))
#define assert_near(a, b, by) assert_true(fabs((a) - (b)) <= (by))

static const char *const recipe =
    "{coatbell: 1, name: r, figures: 9, paints: {green: {name: Oilskin green, kind: acrylic},"
    " grey: {name: Eel grey, kind: acrylic, label: 60}, glue: {name: Glue, kind: acrylic}},"
    " stages: [{name: One, technique: basecoat, paint: green, dry: 20},"
    "{name: Two, technique: layer, paint: green, dry: 15},"
    "{name: Three, technique: basecoat, paint: green, dry: 30},"
    "{name: Four, technique: basecoat, paint: grey, dry: 10},"
    "{name: Five, technique: basecoat, paint: glue, wait: 12},"
    "{name: Six, technique: prepare}]}";

static void dry_after(struct world *world, int figure, int stage, double minutes, const char *found)
{
    world_do(world,
             cb_arena_printf(&world->arena, "coat_on u figure=%d stage=%d coat=1", figure, stage));
    world_wait(world, minutes);
    world_do(world, cb_arena_printf(&world->arena, "checked u figure=%d stage=%d coat=1 found=%s",
                                    figure, stage, found));
}

static void begin(struct world *world)
{
    world_init(world);
    world_do(world, "session_opened -");
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
    world_begin(world, "u", 9, recipe);
}

static const struct cb_pot_line *lines_of(struct world *world, size_t *count)
{
    size_t rows;
    world_learn(world);
    const struct cb_row *list = cb_bench_rows(world->bench, &rows);
    return cb_pots_list(world->bench, world->learn, list, rows, .8, &world->arena, count);
}

static void test_lines(void **state)
{
    (void)state;
    struct world world;
    size_t count;
    begin(&world);
    for (int figure = 1; figure <= 4; figure++) {
        dry_after(&world, figure, 4, 40, "dry");
    }
    dry_after(&world, 1, 1, 14, "dry");
    dry_after(&world, 1, 2, 14, "dry");
    dry_after(&world, 2, 3, 30, "wet");
    const struct cb_pot_line *lines = lines_of(&world, &count);
    static const struct {
        const char *paint;
        enum cb_technique technique;
        double prior_min, floor_min; /* 0: none */
        size_t films, pot_films, answered;
    } wanted[] = {
        {"Oilskin green", CB_TECHNIQUE_BASECOAT, 30, 0, 2, 3, 2}, /* the later stage's time */
        {"Oilskin green", CB_TECHNIQUE_LAYER, 15, 0, 1, 3, 1},
        {"Eel grey", CB_TECHNIQUE_BASECOAT, 10, 60, 4, 4, 4},
        {"Glue", CB_TECHNIQUE_BASECOAT, 12, 0, 0, 0, 0},
    };
    assert_int_equal(count, COUNT(wanted));
    for (size_t i = 0; i < count; i++) {
        assert_string_equal(lines[i].paint, wanted[i].paint);
        assert_string_equal(lines[i].kind, "acrylic");
        assert_int_equal(lines[i].technique, wanted[i].technique);
        assert_near(lines[i].prior_min, wanted[i].prior_min, 1e-9);
        assert_int_equal(lines[i].films, wanted[i].films);
        assert_int_equal(lines[i].pot_films, wanted[i].pot_films);
        assert_int_equal(lines[i].answered, wanted[i].answered);
        assert_int_equal(isnan(lines[i].floor_min), wanted[i].floor_min <= 0);
        assert_true(lines[i].low_min <= lines[i].median_min);
        assert_true(lines[i].median_min <= lines[i].high_min);
    }
    assert_near(lines[2].ping_min, 60, 1e-9);
    assert_true(lines[3].exact && lines[3].high_min <= 12 && lines[3].ping_min >= 12);
    dry_after(&world, 5, 4, 40, "dry"); /* the fifth outweighs what is printed */
    lines = lines_of(&world, &count);
    assert_true(isnan(lines[2].floor_min) && lines[2].ping_min < 60);
    world_fini(&world);
}

/* What was painted before its paint was swapped, or its stage left out, is still a pot of ours. */
static void test_paint_before(void **state)
{
    (void)state;
    struct world world;
    size_t count;
    begin(&world);
    dry_after(&world, 1, 4, 14, "dry");
    dry_after(&world, 1, 2, 14, "dry");
    world_do(&world, "swapped u paint=grey name=Kelp kind=oil");
    const struct cb_pot_line *lines = lines_of(&world, &count);
    assert_int_equal(count, 5);
    assert_string_equal(lines[2].paint, "Kelp");
    assert_string_equal(lines[4].paint, "Eel grey");
    assert_string_equal(lines[4].kind, "acrylic");
    assert_int_equal(lines[4].films, 1);
    assert_int_equal(lines[4].answered, 1);
    assert_near(lines[4].prior_min, 10, 1e-9);
    world_do(&world, "recipe_changed u recipe='{coatbell: 1, name: r, stages: [{name: Six,"
                     " technique: prepare}]}'");
    lines = lines_of(&world, &count);
    assert_int_equal(count, 2);
    assert_string_equal(lines[0].paint, "Eel grey");
    assert_string_equal(lines[1].paint, "Oilskin green");
    assert_int_equal(lines[1].technique, CB_TECHNIQUE_LAYER);
    world_fini(&world);
}

static void test_why(void **state)
{
    (void)state;
    struct world world;
    size_t rows, count;
    begin(&world);
    for (int figure = 1; figure <= 7; figure++) {
        dry_after(&world, figure, 1, 20, "dry");
        dry_after(&world, figure, 4, 20, "dry");
    }
    dry_after(&world, 8, 1, 200, "wet");
    world_learn(&world);
    const struct cb_row *list = cb_bench_rows(world.bench, &rows);
    const char *pot = cb_bench_stage_pot(cb_bench_unit(world.bench, 0), 1);
    static const size_t most[] = {0, 1, 3, 8, 9};
    for (size_t i = 0; i < COUNT(most); i++) {
        const size_t wanted = most[i] == 0 || most[i] > 8 ? 8 : most[i];
        const struct cb_pot_evidence *why =
            cb_pots_why(world.learn, list, rows, pot, most[i], &world.arena, &count);
        assert_int_equal(count, wanted);
        assert_int_equal(why[0].row->figure, 8 - (int)wanted + 1); /* the newest, oldest first */
        for (size_t j = 0; j < count; j++) {
            assert_string_equal(why[j].row->pot, pot);
            assert_int_equal(why[j].looks_off, why[j].row->figure == 8);
            assert_int_equal(why[j].looks_off, why[j].mis_key > .5);
        }
    }
    world_do(&world, "evidence_forgotten - paint='Eel grey'");
    list = cb_bench_rows(world.bench, &rows);
    cb_pots_why(world.learn, list, rows, pot, 0, &world.arena, &count);
    assert_int_equal(count, 8);
    world_do(&world, "evidence_forgotten - paint='Oilskin green'");
    dry_after(&world, 9, 1, 20, "dry");
    list = cb_bench_rows(world.bench, &rows);
    cb_pots_why(world.learn, list, rows, pot, 0, &world.arena, &count);
    assert_int_equal(count, 1);
    assert_int_equal(lines_of(&world, &count)[0].films, 1);
    world_fini(&world);
}

static void test_stage_written_and_read(void **state)
{
    (void)state;
    struct world world;
    size_t count;
    begin(&world);
    dry_after(&world, 1, 1, 20, "dry");
    struct cb_str bytes = {0};
    const struct cb_pot_stage *stages = cb_pots_stages(world.bench, "u", &world.arena, &count);
    assert_int_equal(count, 5);
    assert_int_equal(stages[0].answered, 1);
    assert_int_equal(stages[2].answered, 0); /* counted once */
    cb_pots_stages(world.bench, "v", &world.arena, &count);
    assert_int_equal(count, 0);
    for (size_t i = 0; i < 5; i++) {
        struct cb_pot_stage stage = stages[i], back = {0};
        bytes.length = 0;
        struct cb_coder coder = cb_coder_writer(&bytes, &world.arena);
        cb_pots_code_stage(&coder, &stage);
        coder = cb_coder_reader(bytes.text, bytes.length, &world.arena);
        cb_pots_code_stage(&coder, &back);
        assert_true(cb_coder_done(&coder));
        assert_string_equal(back.paint, stage.paint);
        assert_string_equal(back.pot, stage.pot);
        assert_string_equal(back.kind, stage.kind);
        assert_true(back.technique == stage.technique && back.answered == stage.answered);
        assert_true(back.drying.from == stage.drying.from);
        assert_near(back.drying.standard_min, stage.drying.standard_min, 0);
        assert_near(back.drying.pot_sd, stage.drying.pot_sd, 0);
        assert_int_equal(isnan(back.drying.label_min), isnan(stage.drying.label_min));
    }
    cb_str_fini(&bytes);
    world_fini(&world);
}

static void test_confidence_line(void **state)
{
    (void)state;
    static const struct {
        double confidence;
        const char *line, *brief; /* NULL: as the line says, without the last */
    } cases[] = {
        {.50, "a first guess: 3 min longer; 9 rings in 10 come early; it learns faster",
         "a guess: 3 min longer; 9 rings in 10 come early"},
        {.69, "a first guess: 4 min longer; 4 rings in 10 come early; it learns faster",
         "a guess: 4 min longer; 4 rings in 10 come early"},
        {.71, "a first guess: you wait 4 min longer than needed; 4 rings in 10 come early",
         "a guess: 4 min longer; 4 rings in 10 come early"},
        {.82, "a first guess: you wait 6 min longer than needed; 1 ring in 5 comes early",
         "a guess: 6 min longer; 1 ring in 5 comes early"},
        {.83, "a first guess: 6 min longer; 1 ring in 5 comes early; it learns slower",
         "a guess: 6 min longer; 1 ring in 5 comes early"},
        {.92, "a first guess: 8 min longer; 1 ring in 10 comes early; it learns slower",
         "a guess: 8 min longer; 1 ring in 10 comes early"},
        {.93, "a first guess: 9 min longer; 1 ring in 12 comes early; it learns half as fast",
         "a guess: 9 min longer; 1 ring in 12 comes early"},
        {.99, "a first guess: 10 min longer; 1 ring in 17 comes early; it learns half as fast",
         "a guess: 10 min longer; 1 ring in 17 comes early"},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        assert_string_equal(cb_pots_confidence_line(cases[i].confidence, false, &arena),
                            cases[i].line);
        assert_string_equal(cb_pots_confidence_line(cases[i].confidence, true, &arena),
                            cases[i].brief);
    }
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lines),
        cmocka_unit_test(test_paint_before),
        cmocka_unit_test(test_why),
        cmocka_unit_test(test_stage_written_and_read),
        cmocka_unit_test(test_confidence_line),
    };
    return cmocka_run_group_tests_name("pots", tests, NULL, NULL);
}
