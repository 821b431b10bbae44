/* SPDX-License-Identifier: MIT */
/* Pings and their first answers, counted; and when to ask whether to forget. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "core/bench/calibration.h"
#include "core/bench/pots.h"
#include "support/world.h"

static const char *const recipe =
    "{coatbell: 1, name: x, paints: {g: {name: Green, kind: acrylic, dry: 20}}, "
    "areas: {a: {}}, stages: [{name: One, technique: basecoat, paint: g, on: [a], coats: 9}]}";

static int coats;

/* A coat on figures 1 to 99, pinged after 20 minutes, answered. */
static void coat(struct world *world, const char *found)
{
    char line[96];
    int figure = coats % 90 + 1, number = coats / 90 + 1;
    coats++;
    snprintf(line, sizeof line, "coat_on u figure=%d stage=1 coat=%d", figure, number);
    world_do(world, line);
    world_wait(world, 20);
    snprintf(line, sizeof line, "pinged u films=%d/1/%d due_at=0 by=popup", figure, number);
    world_do(world, line);
    world_wait(world, 1);
    if (found) {
        snprintf(line, sizeof line, "checked u figure=%d stage=1 coat=%d found=%s", figure, number,
                 found);
        world_do(world, line);
    }
    world_wait(world, 60);
}

static void begin(struct world *world)
{
    coats = 0;
    world_init(world);
    world_begin(world, "u", 99, recipe);
}

static void first_answers_count(void **state)
{
    (void)state;
    struct world world;
    size_t count;
    begin(&world);
    coat(&world, "dry");
    coat(&world, "wet");
    coat(&world, NULL);                                              /* pinged, never answered */
    world_do(&world, "checked u figure=2 stage=1 coat=1 found=dry"); /* a second answer */
    world_do(&world, "coat_on u figure=60 stage=1 coat=1");
    world_wait(&world, 5);
    world_do(&world, "checked u figure=60 stage=1 coat=1 found=dry"); /* never pinged */
    world_do(&world, "pinged u films=60/1/1 due_at=0 by=popup");
    world_do(&world, "checked u figure=60 stage=1 coat=1 found=dry"); /* answered before */
    world_do(&world, "confidence_set - pct=90");
    coat(&world, "dry");
    const struct cb_ping_answer *answers =
        cb_calibration_answers(world.bench, &world.arena, &count);
    assert_int_equal(count, 3);
    assert_true(answers[0].dry && !answers[1].dry && answers[2].dry);
    assert_true(fabs(answers[0].confidence - .80) < 1e-12);
    assert_true(fabs(answers[2].confidence - .90) < 1e-12);
    assert_int_equal(answers[1].figure, 2);
    world_undo(&world); /* the last answer */
    cb_calibration_answers(world.bench, &world.arena, &count);
    assert_int_equal(count, 2);
    world_fini(&world);
}

/* On, rung, answered. */
static void step(struct world *world, int which, int figure, int coat_number)
{
    char line[96];
    if (which == 1) {
        snprintf(line, sizeof line, "pinged u films=%d/1/%d due_at=0 by=popup", figure,
                 coat_number);
    } else {
        snprintf(line, sizeof line, "%s u figure=%d stage=1 coat=%d%s",
                 which == 0 ? "coat_on" : "checked", figure, coat_number,
                 which == 0 ? "" : " found=dry");
    }
    world_do(world, line);
}

/* Any two figures or coats are two films: all ring first, then all are answered. */
static void each_film_is_one_of_its_own(void **state)
{
    (void)state;
    static const int others[] = {1, 2, 62, 63, 64, 65, 98};
    struct world world;
    size_t count;
    begin(&world);
    for (int which = 0; which < 3; which++) {
        for (int figure = 1; figure <= 99; figure++) {
            step(&world, which, figure, 1);
        }
        for (size_t k = 0; k < sizeof others / sizeof *others; k++) {
            step(&world, which, 1, others[k] + 1);
        }
        world_wait(&world, 20);
    }
    cb_calibration_answers(world.bench, &world.arena, &count);
    assert_int_equal(count, 99 + sizeof others / sizeof *others);
    world_fini(&world);
}

/* A film that rang and is moved is answered for where it is then. */
static void an_answer_finds_a_film_that_was_moved(void **state)
{
    (void)state;
    struct world world;
    size_t count;
    begin(&world);
    world_do(&world, "coat_on u figure=60 stage=1 coat=1");
    const char *id = world.log.items[world.log.count - 1]->id;
    world_wait(&world, 20);
    world_do(&world, "pinged u films=60/1/1 due_at=0 by=popup");
    world_do(&world, cb_arena_printf(&world.arena, "moved u figure=61 coat=1 coat_id=%s", id));
    world_do(&world, "coat_on u figure=60 stage=1 coat=1"); /* that it was meant for is another */
    world_do(&world, "checked u figure=61 stage=1 coat=1 found=dry");
    world_do(&world, "checked u figure=60 stage=1 coat=1 found=dry"); /* it did not ring */
    const struct cb_ping_answer *answers =
        cb_calibration_answers(world.bench, &world.arena, &count);
    assert_int_equal(count, 1);
    assert_true(answers[0].dry && answers[0].figure == 61);
    world_fini(&world);
}

/* What was heard of a ring stands in the film's row: its first answer, none, or that it came up. */
static void the_row_says_what_was_heard(void **state)
{
    (void)state;
    static const struct {
        const char *lines[6]; /* after the coat, twenty minutes apart */
        enum cb_heard heard;
        double confidence;
    } cases[] = {
        {{"pinged u films=1/1/1 due_at=0", "checked u figure=1 stage=1 coat=1 found=dry"},
         CB_HEARD_DRY,
         .8},
        {{"pinged u films=1/1/1 due_at=0", "checked u figure=1 stage=1 coat=1 found=wet",
          "checked u figure=1 stage=1 coat=1 found=dry"},
         CB_HEARD_WET,
         .8},
        {{"pinged u films=1/1/1 due_at=0", "confidence_set - pct=50",
          "coat_on u figure=1 stage=1 coat=2"},
         CB_HEARD_SILENCE,
         .8},
        {{"pinged u films=1/1/1 due_at=0", "coat_on u figure=1 stage=1 coat=2",
          "lifted u figure=1 stage=1 coat=1"},
         CB_HEARD_WET,
         .8},
        /* before its ring */
        {{"checked u figure=1 stage=1 coat=1 found=wet", "pinged u films=1/1/1 due_at=0",
          "checked u figure=1 stage=1 coat=1 found=dry"},
         CB_HEARD_NOTHING,
         0},
        {{"confidence_set - pct=50", "coat_on u figure=1 stage=1 coat=2"}, CB_HEARD_NOTHING, .5},
        /* told later of a film that went under before it rang */
        {{"coat_on u figure=1 stage=1 coat=2",
          "checked u figure=1 stage=1 coat=1 found=dry seen_at=-20"},
         CB_HEARD_NOTHING,
         .8},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct world world;
        begin(&world);
        world_do(&world, "coat_on u figure=1 stage=1 coat=1");
        for (int k = 0; k < 6 && cases[i].lines[k]; k++) {
            world_wait(&world, 20);
            world_do(&world, cases[i].lines[k]);
        }
        size_t count;
        const struct cb_row *rows = cb_bench_rows(world.bench, &count);
        assert_true(count >= 1 && rows[0].coat == 1);
        const bool lifted = cases[i].lines[2] && strncmp(cases[i].lines[2], "lifted", 6) == 0;
        assert_int_equal(rows[0].came_up, lifted);
        if (rows[0].heard != cases[i].heard ||
            fabs(rows[0].confidence - cases[i].confidence) > 1e-9) {
            fail_msg("case %zu: heard %d at %g", i, (int)rows[0].heard, rows[0].confidence);
        }
        assert_true((rows[0].heard_ms != 0) == (rows[0].heard != CB_HEARD_NOTHING));
        world_fini(&world);
    }
}

/* By confidence, those that there are, then by paint; what did not ring is nowhere. */
static void rings_are_counted_apart(void **state)
{
    (void)state;
    static const struct cb_row rows[] = {
        {.paint = "Green", .heard = CB_HEARD_DRY, .confidence = .80},
        {.paint = "Green", .heard = CB_HEARD_WET, .confidence = .80},
        {.paint = "Rope", .heard = CB_HEARD_SILENCE, .confidence = .82},
        {.paint = "Rope", .heard = CB_HEARD_WET, .came_up = true, .confidence = .80},
        {.paint = "Rope", .heard = CB_HEARD_DRY, .confidence = .95},
        {.paint = "Rope", .heard = CB_HEARD_NOTHING},
        {.paint = "Brass", .heard = CB_HEARD_NOTHING},
    };
    struct cb_arena arena = {0};
    const struct cb_rings rings = cb_calibration_rings(rows, sizeof rows / sizeof *rows, &arena);
    assert_int_equal(rings.count, 4);
    assert_int_equal(rings.came_up, 1);
    const struct cb_ring_tally wanted[] = {
        {NULL, .80, 2, 1, 2, 1},
        {NULL, .95, 1, 1, 0, 0},
        {"Green", 0, 2, 1, 0, 0},
        {"Rope", 0, 1, 1, 2, 1},
    };
    for (size_t i = 0; i < 4; i++) {
        const struct cb_ring_tally *got = &rings.tallies[i];
        assert_true((got->paint == NULL) == (wanted[i].paint == NULL));
        if (got->paint) {
            assert_string_equal(got->paint, wanted[i].paint);
        }
        assert_true(fabs(got->confidence - wanted[i].confidence) < 1e-9);
        assert_int_equal(got->answered, wanted[i].answered);
        assert_int_equal(got->dry, wanted[i].dry);
        assert_int_equal(got->silent, wanted[i].silent);
        assert_int_equal(got->came_up, wanted[i].came_up);
    }
    assert_int_equal(cb_calibration_rings(rows + 5, 2, &arena).count, 0);
    cb_arena_fini(&arena);
}

/* An answer is as late as the film dried on after its ring fell due; what came up was wet when the
 * next coat went on. By hand: still air at the standard climate, so a minute dries a minute. */
static void how_late_it_was_heard(void **state)
{
    (void)state;
    static const struct {
        const char *due; /* minutes from now */
        const char *lines[3];
        double late; /* as a factor */
    } cases[] = {
        {"0", {"checked u figure=1 stage=1 coat=1 found=dry"}, 40.0 / 20},
        {"-5", {"checked u figure=1 stage=1 coat=1 found=wet"}, 40.0 / 15},
        {"-50", {"checked u figure=1 stage=1 coat=1 found=dry"}, 40.0 / 20}, /* before it was on */
        {"0", {"coat_on u figure=1 stage=1 coat=2"}, 40.0 / 20},
        {"0", {"coat_on u figure=1 stage=1 coat=2", "lifted u figure=1 stage=1 coat=1"}, 40.0 / 20},
        {"0", {"lifted u figure=1 stage=1 coat=1"}, 40.0 / 20},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct world world;
        char line[96];
        begin(&world);
        world_do(&world, "climate_set - temp_c=23 rh_pct=50 air=still from=typed");
        world_do(&world, "coat_on u figure=1 stage=1 coat=1");
        world_wait(&world, 20);
        snprintf(line, sizeof line, "pinged u films=1/1/1 due_at=%s", cases[i].due);
        world_do(&world, line);
        for (int k = 0; k < 3 && cases[i].lines[k]; k++) {
            world_wait(&world, 20);
            world_do(&world, cases[i].lines[k]);
        }
        size_t count;
        const struct cb_row *rows = cb_bench_rows(world.bench, &count);
        assert_true(count >= 1 && rows[0].coat == 1);
        if (fabs(exp(rows[0].late) - cases[i].late) > 1e-3) {
            fail_msg("case %zu: %g, not %g", i, exp(rows[0].late), cases[i].late);
        }
        world_fini(&world);
    }
}

/* Forgetting is a press like any other. */
static void forgets_and_takes_it_back(void **state)
{
    (void)state;
    struct world world;
    begin(&world);
    for (int i = 0; i < 5; i++) {
        coat(&world, "wet");
    }
    size_t count, why;
    const char *pot = cb_bench_stage_pot(cb_bench_unit(world.bench, 0), 1);
    world_learn(&world);
    assert_true(cb_learn_pot(world.learn, pot, .30).known);
    assert_true(cb_learn_shift(world.learn) > .1);
    world_do(&world, "evidence_forgotten -");
    world_learn(&world);
    assert_false(cb_learn_pot(world.learn, pot, .30).known);
    assert_true(cb_learn_shift(world.learn) == 0);
    const struct cb_row *rows = cb_bench_rows(world.bench, &count);
    cb_pots_why(world.learn, rows, count, pot, 0, &world.arena, &why);
    assert_int_equal(why, 0);
    world_undo(&world);
    world_learn(&world);
    assert_true(cb_learn_pot(world.learn, pot, .30).known);
    assert_true(cb_learn_shift(world.learn) > .1);
    world_fini(&world);
}

static void header_line(void **state)
{
    (void)state;
    struct world world;
    begin(&world);
    for (int i = 0; i < 9; i++) {
        coat(&world, "dry");
    }
    assert_null(cb_calibration_line(world.bench, &world.arena));
    coat(&world, "wet");
    assert_string_equal(cb_calibration_line(world.bench, &world.arena), "my last 10 bells: 9 dry");
    for (int i = 0; i < 45; i++) {
        coat(&world, i % 5 == 0 ? "wet" : "dry");
    }
    assert_string_equal(cb_calibration_line(world.bench, &world.arena), "my last 40 bells: 32 dry");
    world_fini(&world);
}

/* At most 78 columns, 48 when brief; and the higher the surer and the later. */
static void what_confidence_costs(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    for (int pct = 50; pct <= 95; pct++) {
        const char *line = cb_pots_confidence_line(pct / 100.0, false, &arena);
        assert_in_range(strlen(line), 20, 78);
        assert_in_range(strlen(cb_pots_confidence_line(pct / 100.0, true, &arena)), 20, 60);
    }
    assert_non_null(strstr(cb_pots_confidence_line(.95, false, &arena), "half as fast"));
    assert_null(strstr(cb_pots_confidence_line(.80, false, &arena), "fast"));
    cb_arena_fini(&arena);
}

/* Taking an answer back is as if it had never been given, to the bit. */
static void undone_check_was_never_made(void **state)
{
    (void)state;
    struct world plain, undone;
    begin(&plain);
    begin(&undone); /* the same film again */
    for (int i = 0; i < 2; i++) {
        struct world *world = i ? &undone : &plain;
        coats = 0;
        coat(world, "dry");
        coat(world, "wet");
        world_do(world, "coat_on u figure=50 stage=1 coat=1");
        world_wait(world, 31);
        if (i) {
            world_do(world, "checked u figure=50 stage=1 coat=1 found=wet");
            world_learn(world);
            world_undo(world);
        }
        world_learn(world);
    }
    const char *pot = cb_bench_stage_pot(cb_bench_unit(plain.bench, 0), 1);
    for (double p = .05; p < 1; p += .05) {
        double a = cb_learn_quantile(plain.learn, pot, .30, 20, p, 0);
        double b = cb_learn_quantile(undone.learn, pot, .30, 20, p, 0);
        assert_memory_equal(&a, &b, sizeof a);
    }
    world_fini(&plain);
    world_fini(&undone);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(undone_check_was_never_made),
        cmocka_unit_test(first_answers_count),
        cmocka_unit_test(each_film_is_one_of_its_own),
        cmocka_unit_test(an_answer_finds_a_film_that_was_moved),
        cmocka_unit_test(header_line),
        cmocka_unit_test(forgets_and_takes_it_back),
        cmocka_unit_test(the_row_says_what_was_heard),
        cmocka_unit_test(rings_are_counted_apart),
        cmocka_unit_test(how_late_it_was_heard),
        cmocka_unit_test(what_confidence_costs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
