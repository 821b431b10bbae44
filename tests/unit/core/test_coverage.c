/* SPDX-License-Identifier: MIT */
/* What added and spared coats teach of how many a paint needs. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "core/bench/coverage.h"
#include "support/world.h"

static const char *const text =
    "{coatbell: 1, name: r, figures: 6, paints: {"
    "tar: {name: Tar, kind: acrylic, tone: dark}, fog: {name: Fog, kind: acrylic, tone: light},"
    "green: {name: Green, kind: acrylic, tone: mid}, ebb: {name: Ebb, kind: wash}},"
    "areas: {coat: {}, rope: {}}, stages: ["
    "{name: Under, technique: undercoat, paint: tar},"
    "{name: Charts, technique: basecoat, paint: fog, on: coat, coats: 2},"
    "{name: Ropes, technique: basecoat, mix: 1 fog + 1 green, on: rope, coats: 2},"
    "{name: Ebb, technique: wash, paint: ebb, on: coat}]}";

static void begin(struct world *world)
{
    world_init(world);
    world_begin(world, "u", 6, text);
}

static void on(struct world *world, int figure, int stage, int coats)
{
    for (int coat = 1; coat <= coats; coat++) {
        world_wait(world, 30);
        world_do(world, cb_arena_printf(&world->arena, "coat_on u figure=%d stage=%d coat=%d",
                                        figure, stage, coat));
    }
}

static void extra(struct world *world, const char *kind, int figure, int stage)
{
    world_do(world, cb_arena_printf(&world->arena, "%s u figure=%d stage=%d", kind, figure, stage));
}

static struct cb_cover fog(struct world *world)
{
    size_t count;
    const struct cb_cover *covers = cb_coverage_of(world->bench, NULL, &world->arena, &count);
    return cb_coverage_find(covers, count, "fog\nacrylic", CB_TECHNIQUE_BASECOAT, CB_TONE_DARK);
}

static void test_figures(void **state)
{
    (void)state;
    struct world world;
    size_t count;
    begin(&world);
    on(&world, 1, 2, 2); /* as the recipe has it, and may still have a third */
    assert_int_equal(fog(&world).said[2], 0);
    on(&world, 1, 4, 1); /* it was painted over */
    assert_int_equal(fog(&world).said[2], 1);
    assert_int_equal(cb_coverage_added(&(struct cb_cover){.said = {[2] = 1}}, 3).k, 0);
    extra(&world, "coat_added", 2, 2);
    on(&world, 2, 2, 2); /* the third is wanted and not on */
    assert_int_equal(fog(&world).said[2], 1);
    world_do(&world, "coat_on u figure=2 stage=2 coat=3");
    extra(&world, "coat_spared", 3, 2);
    on(&world, 3, 2, 1);
    struct cb_cover cover = fog(&world);
    assert_int_equal(cover.said[2], 3);
    assert_int_equal(cover.added[3], 1);
    assert_int_equal(cover.spared[2], 1);
    const struct cb_share added = cb_coverage_added(&cover, 3),
                          second = cb_coverage_added(&cover, 2);
    assert_int_equal(added.k, 1);
    assert_int_equal(added.n, 3);
    assert_int_equal(second.n, 0); /* no recipe had fewer than two */
    assert_int_equal(cb_coverage_spared(&cover, 2).n, 3);
    assert_int_equal(cb_coverage_spared(&cover, 3).n, 0);
    world_undo(&world); /* the coat */
    world_undo(&world); /* that one was spared */
    assert_int_equal(fog(&world).spared[2], 0);
    /* finished, a figure has had its coats */
    on(&world, 4, 2, 2);
    assert_int_equal(fog(&world).said[2], 2);
    world_do(&world, "unit_finished u");
    assert_int_equal(fog(&world).said[2], 3);
    /* the mix of two paints teaches nothing of either; the wash is not to hide */
    (void)cb_coverage_of(world.bench, "u", &world.arena, &count);
    assert_int_equal(count, 1);
    (void)cb_coverage_of(world.bench, "other", &world.arena, &count);
    assert_int_equal(count, 0);
    world_fini(&world);
}

static void test_no_evidence(void **state)
{
    (void)state;
    struct world world;
    size_t count;
    begin(&world);
    world_do(&world, "coat_on u figure=1 stage=2 coat=1 before=true");
    world_do(&world, "coat_on u figure=1 stage=2 coat=2");
    world_do(&world, "coat_on u figure=2 stage=2 coat=1");
    world_do(&world, "swapped u paint=fog name=Foam kind=acrylic tone=light");
    world_do(&world, "coat_on u figure=2 stage=2 coat=2");
    on(&world, 3, 3, 2);
    world_do(&world, "coat_on u figure=4 stage=2 coat=1");
    world_do(&world, "coat_on u figure=4 stage=2 coat=2");
    world_do(&world, "stage_left_out u stage=1");
    world_do(&world, "unit_finished u");
    const struct cb_cover *covers = cb_coverage_of(world.bench, "u", &world.arena, &count);
    assert_int_equal(count, 1); /* two pots, one put on before, a mix: only figure 4 */
    assert_string_equal(covers->pot, "foam\nacrylic");
    assert_int_equal(covers->under, CB_TONE_NONE); /* no undercoat */
    assert_int_equal(covers->said[2], 1);
    world_fini(&world);
}

/* Put aside is not finished: its figures may still want a coat. */
static void test_aside(void **state)
{
    (void)state;
    struct world world;
    begin(&world);
    on(&world, 1, 2, 2);
    world_do(&world, "unit_finished u left=true");
    assert_int_equal(fog(&world).said[2], 0);
    world_fini(&world);
}

static struct cb_cover cover_of(uint64_t said, int coat, uint64_t added, uint64_t spared)
{
    struct cb_cover cover = {.pot = "fog\nacrylic", .under = CB_TONE_DARK};
    cover.technique = CB_TECHNIQUE_BASECOAT;
    cover.said[2] = said;
    cover.added[coat] = added;
    cover.spared[coat] = spared;
    return cover;
}

/* By the interval that tests/reference holds against a published formula: 4 of 4 begins at .51. */
static void test_usual(void **state)
{
    (void)state;
    static const struct {
        uint64_t said, added, spared;
        int usual;
        bool enough;
    } rows[] = {
        {0, 0, 0, 2, false},  {3, 3, 0, 2, false},  {4, 4, 0, 3, false},
        {10, 9, 0, 3, false}, {10, 6, 0, 2, false}, {4, 0, 0, 2, true},
        {3, 0, 0, 2, false},  {10, 0, 9, 1, true},  {10, 0, 6, 2, true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct cb_cover cover =
            cover_of(rows[i].said, rows[i].spared > 0 ? 2 : 3, rows[i].added, rows[i].spared);
        assert_int_equal(cb_coverage_usual(&cover, 2), rows[i].usual);
        assert_int_equal(cb_coverage_enough(&cover, 2), rows[i].enough);
    }
    const struct cb_cover three = cover_of(10, 3, 9, 0);
    assert_int_equal(cb_coverage_usual(&three, 3), 3); /* a recipe that has it */
    assert_int_equal(cb_coverage_usual(&three, 1), 1); /* of one coat nothing is known */
}

static void test_words(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    const struct cb_cover covers[] = {cover_of(10, 3, 9, 0), cover_of(8, 2, 0, 7)};
    struct cb_cover none = cover_of(1, 3, 0, 0);
    none.under = CB_TONE_NONE;
    /* Wilson 1927: 9 of 10 is 60 to 98 %, 7 of 8 53 to 98 %, 0 of 1 0 to 79 % */
    assert_string_equal(cb_coverage_text(&covers[0], false, &arena),
                        "a third coat on 9 of 10 figures over dark (60 to 98 %)");
    assert_string_equal(cb_coverage_text(&covers[1], false, &arena),
                        "a second coat spared on 7 of 8 figures over dark (53 to 98 %)");
    assert_string_equal(cb_coverage_text(&none, false, &arena),
                        "no third coat on 1 figure (0 to 79 %)");
    assert_null(cb_coverage_text(&(struct cb_cover){.pot = "x"}, false, &arena));
    const struct cb_cover all[] = {none, covers[0]};
    assert_string_equal(
        cb_coverage_texts(all, 2, "fog\nacrylic", CB_TECHNIQUE_BASECOAT, true, false, &arena),
        "a third coat on 9 of 10 figures over dark (60 to 98 %); "
        "no third coat on 1 figure (0 to 79 %)");
    assert_string_equal(
        cb_coverage_texts(all, 2, "fog\nacrylic", CB_TECHNIQUE_BASECOAT, false, false, &arena),
        "a third coat on 9 of 10 figures over dark (60 to 98 %)");
    assert_string_equal(
        cb_coverage_texts(all, 2, "fog\nacrylic", CB_TECHNIQUE_BASECOAT, true, true, &arena),
        "a third coat on 9 of 10 over dark (60-98 %); no third coat on 1 (0-79 %)");
    assert_null(cb_coverage_texts(all, 2, "fog\nacrylic", CB_TECHNIQUE_LAYER, true, false, &arena));
    assert_string_equal(cb_coverage_a(8), "an eighth");
    cb_arena_fini(&arena);
}

static void test_code(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_str bytes = {0};
    struct cb_cover cover = cover_of(10, 3, 9, 0), back = {0};
    struct cb_coder writer = cb_coder_writer(&bytes, &arena);
    cb_coverage_code(&writer, &cover);
    struct cb_coder reader = cb_coder_reader(bytes.text, bytes.length, &arena);
    cb_coverage_code(&reader, &back);
    assert_true(cb_coder_done(&reader));
    assert_string_equal(back.pot, cover.pot);
    assert_int_equal(back.technique, cover.technique);
    assert_int_equal(back.under, cover.under);
    assert_memory_equal(back.said, cover.said, sizeof cover.said);
    assert_memory_equal(back.added, cover.added, sizeof cover.added);
    assert_memory_equal(back.spared, cover.spared, sizeof cover.spared);
    cb_str_fini(&bytes);
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_figures), cmocka_unit_test(test_no_evidence),
        cmocka_unit_test(test_aside),   cmocka_unit_test(test_usual),
        cmocka_unit_test(test_words),   cmocka_unit_test(test_code),
    };
    return cmocka_run_group_tests_name("coverage", tests, NULL, NULL);
}
