/* SPDX-License-Identifier: MIT */
/* What was learned of pots as a table: out of one bench and into another. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "core/bench/pot_share.h"
#include "support/world.h"

#define COUNT(list)           (sizeof(list) / sizeof *(list))
#define assert_near(a, b, by) assert_true(fabs((a) - (b)) <= (by))

static const char *const recipe =
    "{coatbell: 1, name: r, figures: 60, paints: {green: {name: Oilskin green, kind: acrylic},"
    " grey: {name: Eel grey, kind: acrylic}, mud: {name: Mud, kind: acrylic, dry: 30},"
    " glue: {name: Glue, kind: acrylic}, foam: {name: Foam, kind: acrylic}},"
    " stages: [{name: One, technique: basecoat, paint: green},"
    "{name: Two, technique: basecoat, paint: grey, after: []},"
    "{name: Three, technique: basecoat, paint: mud, after: []},"
    "{name: Four, technique: basecoat, paint: glue, wait: 12, after: []},"
    "{name: Five, technique: basecoat, paint: foam, after: []},"
    "{name: Six, technique: layer, paint: green, after: []}]}";

static void begin(struct world *world)
{
    world_init(world);
    world_do(world, "session_opened -");
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
    world_begin(world, "u", 60, recipe);
}

/* So many coats, each wet at min - 1 and dry at min + 1. */
static void paint(struct world *world, int stage, double min, int coats)
{
    for (int i = 1; i <= coats; i++) {
        world_do(world,
                 cb_arena_printf(&world->arena, "coat_on u figure=%d stage=%d coat=1", i, stage));
        world_wait(world, min - 1);
        world_do(world, cb_arena_printf(&world->arena,
                                        "checked u figure=%d stage=%d coat=1 found=wet", i, stage));
        world_wait(world, 2);
        world_do(world, cb_arena_printf(&world->arena,
                                        "checked u figure=%d stage=%d coat=1 found=dry", i, stage));
    }
}

static const struct cb_pot_line *lines_of(struct world *world, size_t *count)
{
    size_t rows;
    world_learn(world);
    const struct cb_row *list = cb_bench_rows(world->bench, &rows);
    return cb_pots_list(world->bench, world->learn, list, rows, .8, &world->arena, count);
}

static const struct cb_pot_given *share(struct world *world, size_t *count)
{
    size_t lines;
    const struct cb_pot_line *list = lines_of(world, &lines);
    return cb_pot_share_of(list, lines, world_kinds(), world->learn, &world->arena, count);
}

static void take(struct world *world, const struct cb_pot_given *given, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        world_do(world, cb_arena_printf(&world->arena,
                                        "prior_given - paint='%s' kind='%s' technique='%s' "
                                        "median_min=%.9g low_min=%.9g high_min=%.9g coats=%d",
                                        given[i].paint, given[i].kind, given[i].technique,
                                        given[i].median_min, given[i].low_min, given[i].high_min,
                                        given[i].coats));
    }
}

/* The rings that another painter's coats leave are those of as many coats of one's own, at most
 * three: for pots with 1, 2, 3 and 40 coats, all at once, within 3 %. */
static void test_rings(void **state)
{
    (void)state;
    static const int coats[] = {1, 2, 3, 40};
    static const double min[] = {14, 6, 45, 9};
    static const int stages[] = {1, 2, 3, 5};
    struct world theirs, mine, real;
    begin(&theirs);
    begin(&mine);
    begin(&real);
    for (size_t i = 0; i < COUNT(coats); i++) {
        paint(&theirs, stages[i], min[i], coats[i]);
        paint(&real, stages[i], min[i], coats[i] < 3 ? coats[i] : 3);
    }
    size_t given_count, count;
    const struct cb_pot_given *given = share(&theirs, &given_count);
    assert_int_equal(given_count, 4); /* and nothing of what is exact or was never seen */
    for (size_t i = 0; i < given_count; i++) {
        assert_int_equal(given[i].coats, coats[i]);
        assert_string_equal(given[i].technique, "basecoat");
        assert_true(given[i].low_min < given[i].high_min);
    }
    take(&mine, given, given_count);
    const struct cb_pot_line *by_given = lines_of(&mine, &count);
    const struct cb_pot_line *by_real = lines_of(&real, &count);
    for (size_t i = 0; i < count; i++) {
        assert_near(by_given[i].ping_min / by_real[i].ping_min, 1, .03);
        assert_near(by_given[i].median_min / by_real[i].median_min, 1, .03);
        assert_near(by_given[i].high_min / by_real[i].high_min, 1, .03);
        assert_int_equal(by_given[i].films, 0); /* they are no films of this bench */
        assert_true(by_given[i].exact ||
                    cb_learn_pot(mine.learn, by_given[i].pot, .3).sd >=
                        cb_learn_pot(real.learn, by_given[i].pot, .3).sd - .01);
    }
    /* the order of what was given is that of what was learned */
    for (size_t i = 0; i < given_count; i++) {
        for (size_t k = 0; k < given_count; k++) {
            const struct cb_pot_line *a = &by_given[stages[i] - 1], *b = &by_given[stages[k] - 1];
            assert_true(given[i].median_min <= given[k].median_min ||
                        a->median_min > b->median_min);
        }
    }
    /* and nothing of it is passed on as one's own */
    (void)share(&mine, &given_count);
    assert_int_equal(given_count, 0);
    world_undo(&mine);
    world_undo(&mine);
    world_undo(&mine);
    world_undo(&mine);
    struct world fresh;
    begin(&fresh);
    by_given = lines_of(&mine, &count);
    by_real = lines_of(&fresh, &count);
    for (size_t i = 0; i < count; i++) {
        assert_true(by_given[i].ping_min == by_real[i].ping_min);
    }
    world_fini(&theirs);
    world_fini(&mine);
    world_fini(&real);
    world_fini(&fresh);
}

/* It waits for a pot of that name and kind, whatever its letters' case, and follows its joins. */
static void test_names(void **state)
{
    (void)state;
    struct world world;
    size_t count;
    world_init(&world);
    static const char *const given = "prior_given - paint='OILSKIN  green' kind='%s' "
                                     "technique='%s' median_min=60 low_min=58 high_min=62 coats=9";
    char line[256];
    const struct {
        const char *kind, *technique;
        size_t rows;
    } cases[] = {{"acrylic", "basecoat", 1},
                 {"no such kind", "basecoat", 1},
                 {"acrylic", "no such technique", 1},
                 {"acrylic", "prepare", 1}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        snprintf(line, sizeof line, given, cases[i].kind, cases[i].technique);
        world_do(&world, line);
        (void)cb_bench_rows(world.bench, &count);
        assert_int_equal(count, cases[i].rows);
    }
    const struct cb_row *rows = cb_bench_rows(world.bench, &count);
    assert_string_equal(rows[0].pot, "oilskin green\nacrylic");
    assert_true(rows[0].waits);
    world_begin(&world, "u", 9, recipe);
    rows = cb_bench_rows(world.bench, &count);
    assert_false(rows[0].waits);
    world_do(&world, "unit_finished u");
    rows = cb_bench_rows(world.bench, &count);
    assert_true(rows[0].waits);
    world_undo(&world);
    world_do(&world, "paint_joined - from='Oilskin green' to='Eel grey'");
    rows = cb_bench_rows(world.bench, &count);
    assert_string_equal(rows[0].pot, "eel grey\nacrylic");
    size_t found;
    (void)cb_pots_given(rows, count, "eel grey\nacrylic", &world.arena, &found);
    assert_int_equal(found, 1);
    snprintf(line, sizeof line, given, "acrylic", "basecoat");
    world_do(&world, line); /* the same once more */
    rows = cb_bench_rows(world.bench, &count);
    (void)cb_pots_given(rows, count, "eel grey\nacrylic", &world.arena, &found);
    assert_int_equal(found, 1);
    world_do(&world, "evidence_forgotten - paint='Eel grey'");
    rows = cb_bench_rows(world.bench, &count);
    (void)cb_pots_given(rows, count, "eel grey\nacrylic", &world.arena, &found);
    assert_int_equal(found, 0);
    world_fini(&world);
}

/* Where a recipe says a time of its own, films are measured by it, and so is what was given. */
static void test_said_time(void **state)
{
    (void)state;
    struct world world;
    size_t count;
    begin(&world);
    world_do(&world, "prior_given - paint=Mud kind=acrylic technique=basecoat median_min=30 "
                     "low_min=29 high_min=31 coats=9");
    const struct cb_pot_line *lines = lines_of(&world, &count);
    assert_string_equal(lines[2].paint, "Mud");
    assert_near(lines[2].median_min, 30, .5);
    world_fini(&world);
}

/* "Wet" at once, or "dry" after hours, could be foreseen: no paint goes out for that, nor does it
 * count beside a lesson. */
static void test_foreseen(void **state)
{
    (void)state;
    struct world world;
    size_t count, line_count;
    begin(&world);
    world_do(&world, "coat_on u figure=1 stage=1 coat=1");
    world_wait(&world, 1 / 60.);
    world_do(&world, "checked u figure=1 stage=1 coat=1 found=wet");
    world_do(&world, "coat_on u figure=1 stage=2 coat=1");
    world_wait(&world, 180);
    world_do(&world, "checked u figure=1 stage=2 coat=1 found=dry");
    (void)share(&world, &count);
    assert_int_equal(count, 0);
    world_do(&world, "coat_on u figure=2 stage=1 coat=1");
    world_wait(&world, 6);
    world_do(&world, "checked u figure=2 stage=1 coat=1 found=wet");
    const struct cb_pot_given *given = share(&world, &count);
    assert_int_equal(count, 1);
    assert_string_equal(given[0].paint, "Oilskin green");
    assert_int_equal(given[0].coats, 1);
    const struct cb_pot_line *lines = lines_of(&world, &line_count);
    assert_int_equal(lines[0].told, 1);
    assert_int_equal(lines[1].told, 0);
    world_fini(&world);
}

static void test_text(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    struct cb_str out = {0};
    const struct cb_pot_given given[] = {
        {"Foam \"7\" \\ {a: b} # no", "acrylic", "edge highlight", 4.25, .5, 12, 1},
        {"Eel: grey, 'x' \xc3\xa9", "oil", "layer", 1440, 1300.5, 1500, 40},
    };
    assert_int_equal(cb_pot_share_write(given, 2, SIZE_MAX, &out), 2);
    assert_non_null(strstr(cb_str_text(&out), "coatbell pots: 1\n"));
    const size_t length = out.length;
    cb_str_clear(&out);
    assert_int_equal(cb_pot_share_write(given, 2, length - 1, &out), 1);
    assert_true(out.length < length);
    cb_str_clear(&out);
    assert_int_equal(cb_pot_share_write(given, 0, SIZE_MAX, &out), 0);
    assert_non_null(strstr(cb_str_text(&out), "paints: []"));
    cb_str_fini(&out);
    static const struct {
        const char *text, *says;
    } bad[] = {
        {"{paints: []}", "no table of pots: it begins with \"coatbell pots: 1\""},
        {"{coatbell pots: 2, paints: []}", "coatbell pots: 2: must be a whole number, 1 to 1"},
        {"{coatbell pots: 1}", "paints: must be a list, as `pots export` writes it"},
        {"{coatbell pots: 1, paints: [{paint: a, kind: acrylic, technique: layer, median_min: 5,"
         " low_min: 6, high_min: 4, coats: 2}]}",
         "high_min: 4: must be over low_min, 6"},
        {"{coatbell pots: 1, paints: [{paint: a, kind: acrylic, technique: prepare, median_min: 5,"
         " low_min: 3, high_min: 6, coats: 2}]}",
         NULL},
        {"{coatbell pots: 1, paints: [{paint: a, technique: layer, median_min: 5, low_min: 3,"
         " high_min: 6, coats: 2}]}",
         "kind: must be there, as `pots export` writes it"},
        {"{coatbell pots: 1, paints: [{paint: a, kind: b, technique: layer, median_min: 5,"
         " low_min: 3, high_min: 6, coats: 0}]}",
         "coats: 0: must be a whole number, 1 to 1000000"},
    };
    for (size_t i = 0; i < COUNT(bad); i++) {
        size_t count;
        issues.count = 0;
        const struct cb_tree *tree = world_read(bad[i].text, strlen(bad[i].text), &arena, &issues);
        assert_non_null(tree);
        assert_null(cb_pot_share_read(tree, &arena, &issues, &count));
        assert_int_equal(count, 0);
        assert_int_equal(issues.count, 1);
        if (bad[i].says) {
            assert_string_equal(issues.items[0].message, bad[i].says);
        }
    }
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rings),     cmocka_unit_test(test_names),
        cmocka_unit_test(test_said_time), cmocka_unit_test(test_foreseen),
        cmocka_unit_test(test_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
