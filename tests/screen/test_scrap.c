/* SPDX-License-Identifier: MIT */
/* A stroke on the scrap: what it is to the bench, which answers it takes, and when it asks. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "app/session.h"
#include "core/bench/forecast.h"
#include "core/bench/next.h"
#include "core/review/review.h"
#include "support/stage.h"

static const char watch[] =
    "coatbell: 1\nname: Watch\n"
    "paints:\n  green: {name: Oilskin green, kind: acrylic, dry: 20}\n"
    "  rope: {name: Tarred rope, kind: acrylic}\n"
    "areas:\n  oilskin: {share: 50 %}\n  rope: {share: 50 %}\n"
    "stages:\n"
    "  - {name: Oilskins, technique: basecoat, paint: green, on: [oilskin], coats: 2, minutes: 4}\n"
    "  - {name: Rope, technique: basecoat, paint: rope, on: [rope], minutes: 4}\n";

static const char cleaning[] = "coatbell: 1\nname: Cleaning\nstages:\n"
                               "  - {name: Mould lines, technique: prepare, minutes: 4}\n";

static const struct cb_unit *unit_of(struct stage *stage)
{
    return cb_bench_unit(stage_bench(stage), 0);
}

static const struct cb_learn *learn_of(struct stage *stage)
{
    return cb_app_learn(cb_rehearse_app(stage->rehearse));
}

static size_t rows_of(struct stage *stage)
{
    size_t count;
    cb_bench_rows(stage_bench(stage), &count);
    return count;
}

/* Minutes until the only stroke is dry at even odds, and until its ring. */
static double usual_min(struct stage *stage)
{
    const struct cb_film *stroke = &unit_of(stage)->strokes[0];
    const int64_t ms = cb_forecast_median_ms(stage_bench(stage), learn_of(stage), stroke);
    return (double)(ms - stroke->on_ms) / (double)CB_MS_PER_MIN;
}

static double ring_min(struct stage *stage)
{
    const struct cb_film *stroke = &unit_of(stage)->strokes[0];
    int64_t due_ms;
    cb_forecast_dry(stage_bench(stage), learn_of(stage), stroke, stroke->on_ms, &due_ms);
    return (double)(due_ms - stroke->on_ms) / (double)CB_MS_PER_MIN;
}

/* It is no coat of the unit: nothing waits for it, it takes no time, it never rings. */
static void is_no_coat(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, watch, 2, 24, 80, CB_PING_EVERY);
    stage_wait(&stage, 4);
    stage_key(&stage, "SPACE");
    const struct cb_bench_facts before = cb_bench_facts(stage_bench(&stage));
    struct cb_arena arena = {0};
    stage_wait(&stage, 1);
    stage_key(&stage, "s");
    assert_true(stage_shows(&stage, "Oilskin green on the scrap at 18:05, BKSP takes it back"));
    assert_true(stage_shows(&stage, "SPACE when Oilskin green is on figure 2"));
    assert_int_equal(unit_of(&stage)->film_count, 1);
    assert_int_equal(unit_of(&stage)->stroke_count, 1);
    assert_int_equal(unit_of(&stage)->strokes[0].figure, 0);
    const struct cb_bench_facts after = cb_bench_facts(stage_bench(&stage));
    assert_true(after.last_mark_ms == before.last_mark_ms && after.last_figure == 1);
    stage_wait(&stage, 3);
    stage_key(&stage, "SPACE");
    const struct cb_review *review = cb_review_unit(stage_bench(&stage), 0, CB_TIME_NONE, &arena);
    assert_int_equal(review->spent_ms[CB_SPENT_HANDS_ON] + review->spent_ms[CB_SPENT_CHANGE],
                     8 * CB_MS_PER_MIN);
    assert_int_equal(review->stages[0].coats, 2);
    stage_key(&stage, "s"); /* the second of this stage */
    assert_int_equal(unit_of(&stage)->strokes[1].coat, 2);
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(unit_of(&stage)->stroke_count, 1);
    stage_wait(&stage, 120);
    assert_int_equal(stage.pinged, 2); /* the two coats */
    cb_arena_fini(&arena);
    stage_fini(&stage);
}

/* d and w are about it until it was found dry; on a figure gone to, and with a number, about that.
 */
static void takes_the_answers(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, watch, 3, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "s");
    assert_true(stage_shows(&stage, "d = Oilskin green on the scrap is dry; w still wet"));
    stage_wait(&stage, 8);
    stage_key(&stage, "w");
    assert_int_equal(unit_of(&stage)->strokes[0].check, CB_CHECK_WET);
    assert_int_equal(unit_of(&stage)->films[0].check, CB_CHECK_NONE);
    assert_true(stage_shows(&stage, "still wet on the scrap at 18:08"));
    stage_key(&stage, "LEFT");
    assert_true(stage_shows(&stage, "d = Oilskin green on 1 is dry; w still wet"));
    stage_key(&stage, "w");
    assert_int_equal(unit_of(&stage)->films[0].check, CB_CHECK_WET);
    stage_key(&stage, "ESC");
    stage_wait(&stage, 4);
    const size_t rows = rows_of(&stage);
    stage_key(&stage, "d");
    assert_int_equal(unit_of(&stage)->strokes[0].check, CB_CHECK_DRY);
    assert_true(stage_shows(&stage, "learned: Oilskin green usually "));
    assert_true(stage_shows(&stage, "d = Oilskin green on 1 is dry"));
    size_t count;
    const struct cb_row *row = cb_bench_rows(stage_bench(&stage), &count);
    assert_int_equal(count, rows); /* wet was one already */
    row += count - 1;
    while (row->figure != 0) {
        row--;
    }
    assert_true(fabs(row->lo - 8) < .02 && fabs(row->hi - 12) < .02 && row->stage == 1);
    stage_fini(&stage);
}

/* It asks at its usual time and, found wet, every fifth of it after; past its ring by half it is
 * forgotten. */
static void asks_to_be_touched(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, watch, 3, 24, 80, CB_PING_OFF);
    stage_key(&stage, "s"); /* nothing is on yet: the paint that is offered */
    const double usual = usual_min(&stage);
    assert_true(fabs(usual - 20) < .1);
    stage_wait(&stage, usual - .1);
    assert_false(stage_shows(&stage, "touch the scrap"));
    stage_wait(&stage, .2);
    assert_true(stage_shows(&stage, "touch the scrap, Oilskin green: d dry, w still wet"));
    stage_size(&stage, 50, 15);
    assert_true(stage_shows(&stage, "touch the scrap: d dry, w still wet"));
    stage_size(&stage, 80, 24);
    stage_key(&stage, "w");
    assert_false(stage_shows(&stage, "touch the scrap"));
    /* The usual time is longer now, what is known of the stroke set aside. */
    struct cb_film untouched = unit_of(&stage)->strokes[0];
    untouched.check = CB_CHECK_NONE;
    const int64_t again_ms =
        cb_forecast_median_ms(stage_bench(&stage), learn_of(&stage), &untouched);
    const double again = (double)(again_ms - untouched.on_ms) / (double)CB_MS_PER_MIN;
    const double next = fmax(again, usual + .1 + again / 5);
    stage_wait(&stage, next - usual - .2);
    assert_false(stage_shows(&stage, "touch the scrap"));
    stage_wait(&stage, .2);
    assert_true(stage_shows(&stage, "touch the scrap"));
    const double ring = ring_min(&stage);
    stage_wait(&stage, 1.5 * ring - next - .3);
    assert_true(stage_shows(&stage, "d = Oilskin green on the scrap is dry"));
    stage_wait(&stage, .4);
    assert_false(stage_shows(&stage, "scrap"));
    stage_fini(&stage);
}

/* Offered beside the first coats of a log that has no answer yet, and no longer. */
static void is_offered_once(void **state)
{
    (void)state;
    static const char whole[] =
        "s: a stroke of Oilskin green on a scrap, to be touched in place of a figure";
    struct stage stage;
    stage_init_text(&stage, watch, 9, 24, 80, CB_PING_OFF);
    assert_false(stage_shows(&stage, "on a scrap"));
    for (int coats = 1; coats <= 3; coats++) {
        stage_key(&stage, "SPACE");
        assert_false(stage_shows(&stage, whole)); /* first what was done */
        stage_wait(&stage, .3);
        assert_true(stage_shows(&stage, whole));
    }
    stage_size(&stage, 50, 15);
    assert_true(stage_shows(&stage, "s: a stroke on a scrap, to be touched"));
    stage_key(&stage, "SPACE");
    stage_wait(&stage, .3);
    assert_false(stage_shows(&stage, "on a scrap"));
    stage_fini(&stage);
    stage_init_text(&stage, watch, 9, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 15);
    stage_key(&stage, "w");
    stage_wait(&stage, .3);
    assert_false(stage_shows(&stage, "on a scrap"));
    stage_fini(&stage);
}

static void wants_paint(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, cleaning, 2, 24, 80, CB_PING_OFF);
    const int stores = stage.stores;
    stage_key(&stage, "s");
    assert_true(stage_shows(&stage, "no paint is on the brush: nothing for the scrap"));
    stage_key(&stage, "SPACE");
    stage_wait(&stage, .3);
    assert_false(stage_shows(&stage, "on a scrap"));
    stage_key(&stage, "3");
    stage_key(&stage, "s");
    assert_int_equal(stage.stores, stores + 1);
    stage_fini(&stage);
}

/* The rack shows it, marked while answers are about it. */
static void stands_in_the_rack(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, watch, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "s");
    stage_do(&stage, CB_ACTION_VIEW_RACK);
    assert_true(stage_shows(&stage, ">   \u2248 Oilskin green         on the scrap "));
    assert_true(stage_shows(&stage, "  1 \u2248 Oilskin green 1/2     oilskin "));
    stage_size(&stage, 50, 15);
    assert_true(stage_shows(&stage, ">   \u2248 Oilskin green (scrap)"));
    stage_wait(&stage, 12);
    stage_key(&stage, "d");
    stage_wait(&stage, 1);
    assert_false(stage_shows(&stage, "scrap)"));
    stage_fini(&stage);
}

/* The stage by its name, whatever the recipe becomes. */
static void outlives_its_recipe(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, watch, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "s");
    stage_wait(&stage, 12);
    stage_key(&stage, "d");
    const size_t rows = rows_of(&stage);
    stage_reopen(&stage, 1000);
    assert_int_equal(unit_of(&stage)->stroke_count, 1);
    assert_int_equal(unit_of(&stage)->strokes[0].check, CB_CHECK_DRY);
    assert_int_equal(rows_of(&stage), rows);
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(is_no_coat),          cmocka_unit_test(takes_the_answers),
        cmocka_unit_test(asks_to_be_touched),  cmocka_unit_test(is_offered_once),
        cmocka_unit_test(wants_paint),         cmocka_unit_test(stands_in_the_rack),
        cmocka_unit_test(outlives_its_recipe),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
