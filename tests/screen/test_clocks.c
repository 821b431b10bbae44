/* SPDX-License-Identifier: MIT */
/*
 * Evenings in which a clock is set, a laptop sleeps, a machine is started again: what the rack, the
 * pings, the review and the learner make of them. The paint is dry in 20 min at the standard
 * climate, a coat takes 4. All figures are worked out by hand from the minutes that went by.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/bench/forecast.h"
#include "core/review/review.h"
#include "support/stage.h"

#define HOUR_MS (60 * CB_MS_PER_MIN)

static const char one_pot[] = "coatbell: 1\n"
                              "name: One pot\n"
                              "paints:\n"
                              "  green: {name: Oilskin green, kind: acrylic, dry: 20}\n"
                              "stages:\n"
                              "  - {name: Oilskins, technique: basecoat, paint: green, coats: 3,"
                              " minutes: 4}\n";

static void begin(struct stage *stage, int figures)
{
    stage_init_text(stage, one_pot, figures, 24, 80, CB_PING_EVERY);
}

static const struct cb_film *film(struct stage *stage, int figure, int coat)
{
    return cb_bench_film(cb_bench_unit(stage_bench(stage), 0), figure, 1, coat);
}

static int64_t bench_now(struct stage *stage)
{
    const struct cb_moment now = cb_rehearse_now(stage->rehearse);
    return cb_bench_time(stage_bench(stage), &now);
}

static double age_min(struct stage *stage, int figure, int coat)
{
    return (double)(bench_now(stage) - film(stage, figure, coat)->on_ms) / (double)CB_MS_PER_MIN;
}

static double ring_min(struct stage *stage, int figure, int coat)
{
    const struct cb_film *on = film(stage, figure, coat);
    const struct cb_forecast forecast = cb_forecast_film(
        stage_bench(stage), cb_app_learn(cb_rehearse_app(stage->rehearse)), on, bench_now(stage));
    return (double)(forecast.due_ms - on->on_ms) / (double)CB_MS_PER_MIN;
}

static void assert_age(struct stage *stage, int figure, int coat, double minutes)
{
    assert_true(fabs(age_min(stage, figure, coat) - minutes) < 1e-9);
}

static const struct cb_row *rows_are(struct stage *stage, size_t wanted)
{
    size_t count;
    const struct cb_row *rows = cb_bench_rows(stage_bench(stage), &count);
    assert_int_equal(count, wanted);
    return rows;
}

/* The parts add up to the sessions, whatever the clocks did. */
static const struct cb_review *review(struct stage *stage)
{
    const struct cb_review *review =
        cb_review_unit(stage_bench(stage), 0, bench_now(stage), &stage->arena);
    int64_t spans_ms = 0, parts_ms = 0, sessions_ms = 0;
    for (size_t i = 0; i < review->span_count; i++) {
        assert_true(review->spans[i].to_ms >= review->spans[i].from_ms);
        spans_ms += review->spans[i].to_ms - review->spans[i].from_ms;
    }
    for (int i = 0; i < CB_SPENT_COUNT; i++) {
        assert_true(review->spent_ms[i] >= 0);
        parts_ms += review->spent_ms[i];
    }
    for (size_t i = 0; i < review->session_count; i++) {
        sessions_ms += review->sessions[i].to_ms - review->sessions[i].from_ms;
    }
    assert_int_equal(parts_ms, review->session_ms);
    assert_int_equal(spans_ms, review->session_ms);
    assert_int_equal(sessions_ms, review->session_ms);
    return review;
}

static void assert_session_min(struct stage *stage, double minutes)
{
    assert_int_equal(review(stage)->session_ms, (int64_t)(minutes * (double)CB_MS_PER_MIN));
}

static void reboot(struct stage *stage)
{
    struct cb_err err = {0};
    assert_int_equal(cb_rehearse_reboot(stage->rehearse, &err), CB_OK);
}

static void set_wall(struct stage *stage, int64_t ms)
{
    cb_rehearse_set_wall(stage->rehearse, ms);
}

static void found_dry(struct stage *stage)
{
    stage_key(stage, "F1");
    stage_key(stage, "d");
}

/* Two coats with the wall set between them: ages and rings go by the boot. */
static void the_wall_is_set_between_two_coats(void **state)
{
    static const int64_t sets_ms[] = {-HOUR_MS,           HOUR_MS, -26 * HOUR_MS,
                                      400 * 24 * HOUR_MS, 700,     -700};
    (void)state;
    for (size_t i = 0; i < sizeof sets_ms / sizeof *sets_ms; i++) {
        struct stage stage;
        begin(&stage, 2);
        stage_key(&stage, "SPACE");
        const double ring = ring_min(&stage, 1, 1);
        stage_wait(&stage, 5);
        set_wall(&stage, sets_ms[i]);
        stage_key(&stage, "SPACE");
        assert_age(&stage, 1, 1, 5);
        assert_age(&stage, 2, 1, 0);
        assert_true(fabs(ring_min(&stage, 1, 1) - ring) < .01);
        assert_int_equal(stage.pings, 0);
        assert_true(stage_shows(&stage, "BKSP takes it back"));
        set_wall(&stage,
                 sets_ms[i]); /* and once more: the line of the press is not there for long */
        stage_wait(&stage, .2);
        assert_false(stage_shows(&stage, "BKSP takes it back"));
        stage_wait(&stage, ring - 5 - .2 + .1);
        assert_int_equal(stage.pings, 1); /* neither an hour early nor one late */
        stage_wait(&stage, 25 - age_min(&stage, 1, 1) > 0 ? 25 - age_min(&stage, 1, 1) : 0);
        const double age = age_min(&stage, 1, 1);
        found_dry(&stage);
        const struct cb_row *row = rows_are(&stage, 1);
        assert_true(fabs(row->hi - age) < 1e-6); /* standard climate: its age in minutes */
        assert_false(film(&stage, 1, 1)->suspect);
        assert_false(film(&stage, 1, 1)->across_boot);
        assert_session_min(&stage, age);
        stage_fini(&stage);
    }
}

/* Set back and forth: two wrongs make no film older. */
static void the_wall_goes_back_and_forth(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, 3);
    stage_key(&stage, "SPACE");
    for (int i = 0; i < 4; i++) {
        set_wall(&stage, i % 2 ? 3 * HOUR_MS : -3 * HOUR_MS);
        stage_wait(&stage, 4);
    }
    assert_age(&stage, 1, 1, 16);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 1);
    assert_session_min(&stage, 17);
    assert_true(review(&stage)->spent_ms[CB_SPENT_HANDS_ON] <= 17 * CB_MS_PER_MIN);
    stage_fini(&stage);
}

/* An hour asleep in the middle of a coat: paint dries meanwhile, and what rings says since when. */
static void it_sleeps_in_mid_coat(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, 1);
    stage_key(&stage, "SPACE");
    const double ring = ring_min(&stage, 1, 1);
    assert_true(ring > 20 && ring < 40);
    stage_wait(&stage, 2);
    cb_rehearse_sleep(stage.rehearse, (int64_t)((ring - 2 + 25.5) * (double)CB_MS_PER_MIN));
    assert_age(&stage, 1, 1, ring + 25.5);
    assert_int_equal(stage.pings, 1);
    assert_int_equal(stage.sounds, 1);
    assert_string_equal(stage.title, "Oilskin green: figure 1 can take coat 2");
    assert_non_null(strstr(stage.body, "It is dry for 25 min\n"));
    assert_true(stage_shows(&stage, "dry for 25 min"));
    assert_int_equal(stage_events(&stage, CB_EVENT_PINGED), 1);
    assert_false(film(&stage, 1, 1)->across_boot);
    found_dry(&stage);
    assert_true(fabs(rows_are(&stage, 1)->hi - (ring + 25.5)) < 1e-3);
    stage_fini(&stage);
}

/* Several that dried meanwhile, in one pop-up; one that becomes dry while somebody sits there says
 * nothing of the kind. */
static void several_dry_while_it_sleeps(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, 3);
    for (int i = 0; i < 3; i++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 4);
    }
    const double first = ring_min(&stage, 1, 1);
    cb_rehearse_sleep(stage.rehearse, (int64_t)((first - 12 + 40.5) * (double)CB_MS_PER_MIN));
    assert_int_equal(stage.pings, 1);
    assert_string_equal(stage.title, "Oilskin green: figures 1 to 3 can take coat 2");
    assert_non_null(strstr(stage.body, "The first is dry for 40 min\n"));
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 40);
    assert_int_equal(stage.pings, 2);
    assert_null(strstr(stage.body, "for"));
    stage_fini(&stage);
}

/* Overnight: the rack, the air and the sum of the review in the morning. */
static void it_sleeps_overnight(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, 2);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 4);
    cb_rehearse_sleep(stage.rehearse, 9 * HOUR_MS);
    assert_age(&stage, 1, 1, 544);
    assert_true(stage_shows(&stage, "dry for 8 h"));
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 1);
    assert_session_min(&stage, 545);
    assert_true(review(&stage)->question_count == 1); /* "were you away?" */
    stage_fini(&stage);
}

/* Another boot: by the wall, marked, and as good as any. */
static void it_is_started_again(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, 2);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 4);
    set_wall(&stage, 26 * CB_MS_PER_MIN); /* off for so long: the wall goes on, then another boot */
    reboot(&stage);
    assert_age(&stage, 1, 1, 30);
    assert_true(film(&stage, 1, 1)->across_boot);
    assert_false(film(&stage, 1, 1)->suspect);
    found_dry(&stage);
    assert_true(fabs(rows_are(&stage, 1)->hi - 30) < 1e-6);
    /* the first sitting was cut off at its last word, the coat; the second has just begun */
    assert_session_min(&stage, 0);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 3);
    assert_session_min(&stage, 3);
    stage_fini(&stage);
}

/* Years between two boots, or days back: the film is asked about and teaches nothing, the next one
 * is as any other, the air stays what it was. */
static void the_wall_is_absurd_after_a_boot(void **state)
{
    static const struct {
        int64_t set_ms;
        double age_min; /* of the film then */
    } cases[] = {
        {3 * 366 * 24 * HOUR_MS, 3 * 366 * 24 * 60.0},
        {-48 * HOUR_MS, 0},
        {-30 * 366 * 24 * HOUR_MS, 0},
        {-5 * CB_MS_PER_MIN, 0},
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct stage stage;
        begin(&stage, 3);
        stage_key(&stage, "c");
        stage_type(&stage, "25 40");
        stage_key(&stage, "ENTER");
        stage_key(&stage, "SPACE");
        set_wall(&stage, cases[i].set_ms);
        reboot(&stage);
        assert_true(film(&stage, 1, 1)->suspect);
        assert_age(&stage, 1, 1, cases[i].age_min);
        assert_true(stage_shows(&stage, "25C 40%"));
        assert_true(stage_shows(&stage, "a clock was set: touch figure 1"));
        stage_wait(&stage, 24);
        assert_age(&stage, 1, 1, cases[i].age_min + 24);
        found_dry(&stage);
        assert_int_equal(film(&stage, 1, 1)->check, CB_CHECK_DRY);
        rows_are(&stage, 0);
        assert_false(stage_shows(&stage, "a clock was set"));
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 60);
        assert_age(&stage, 2, 1, 60);
        assert_false(film(&stage, 2, 1)->suspect);
        found_dry(&stage);
        rows_are(&stage, 1);
        assert_session_min(&stage, 84);
        stage_fini(&stage);
    }
}

/* A snapshot: the same boot, whose clock goes back. */
static void the_machine_is_brought_back(void **state)
{
    (void)state;
    struct cb_err err = {0};
    struct stage stage;
    begin(&stage, 3);
    stage_wait(&stage, 60);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 4);
    set_wall(&stage, 10 * CB_MS_PER_MIN); /* meanwhile */
    assert_int_equal(cb_rehearse_restore(stage.rehearse, 30 * CB_MS_PER_MIN, &err), CB_OK);
    assert_age(&stage, 1, 1, 14);
    assert_true(film(&stage, 1, 1)->suspect);
    assert_true(stage_shows(&stage, "a clock was set: touch figure 1"));
    stage_wait(&stage, 2);
    assert_age(&stage, 1, 1, 16);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 30);
    found_dry(&stage);
    assert_int_equal(film(&stage, 1, 1)->check, CB_CHECK_DRY);
    rows_are(&stage, 0);
    assert_age(&stage, 2, 1, 30);
    assert_false(film(&stage, 2, 1)->suspect);
    assert_session_min(&stage, 60 + 32);
    stage_fini(&stage);
}

/* A change to summer time, and from it, in mid-evening: clocks on the screen leap, nothing else. */
static void summer_time_comes_and_goes(void **state)
{
    static const struct {
        int32_t before_s, after_s;
        const char *clock, *later;
    } cases[] = {{3600, 7200, " 19:10", " 20:32"}, {7200, 3600, " 20:10", " 19:32"}};
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct stage stage;
        begin(&stage, 2);
        stage.zone = (struct cb_zone){
            .count = 2,
            .steps = {{0, cases[i].before_s},
                      {CB_REHEARSE_START_MS + 20 * CB_MS_PER_MIN, cases[i].after_s}}};
        stage_reopen(&stage, 0);
        stage_key(&stage, "SPACE");
        const double ring = ring_min(&stage, 1, 1);
        stage_wait(&stage, 10);
        assert_true(stage_shows(&stage, cases[i].clock));
        stage_wait(&stage, 22);
        assert_true(stage_shows(&stage, cases[i].later));
        assert_age(&stage, 1, 1, 32);
        assert_true(fabs(ring_min(&stage, 1, 1) - ring) < 1e-9);
        assert_int_equal(stage.pings, 1);
        found_dry(&stage);
        assert_true(fabs(rows_are(&stage, 1)->hi - 32) < 1e-6);
        assert_session_min(&stage, 32);
        stage_fini(&stage);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_wall_is_set_between_two_coats),
        cmocka_unit_test(the_wall_goes_back_and_forth),
        cmocka_unit_test(it_sleeps_in_mid_coat),
        cmocka_unit_test(several_dry_while_it_sleeps),
        cmocka_unit_test(it_sleeps_overnight),
        cmocka_unit_test(it_is_started_again),
        cmocka_unit_test(the_wall_is_absurd_after_a_boot),
        cmocka_unit_test(the_machine_is_brought_back),
        cmocka_unit_test(summer_time_comes_and_goes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
