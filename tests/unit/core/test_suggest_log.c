/* SPDX-License-Identifier: MIT */
/* Logs for suggestions, as logs are: of several evenings, with pauses, slips and parked figures. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "core/plan/suggest_internal.h"
#include "support/steady.h"
#include "support/suggested.h"

#define TASKS_MAX 1000

static void a_night_is_no_waiting(void **state)
{
    (void)state;
    static const char slow[] =
        "{coatbell: 1, name: r, change: 1.5, " SUGGESTED_PAINTS ", stages: ["
        "{name: Oilskin, technique: basecoat, paint: green, minutes: 9, wait: 600},"
        "{name: Rope, technique: basecoat, paint: rope, minutes: 11, wait: 600},"
        "{name: Lantern, technique: layer, paint: brass, minutes: 10, wait: 600}]}";
    for (int figures = 1; figures <= 3; figures += 2) {
        struct steady steady;
        steady_begin(&steady, slow, figures);
        for (int stage = 1; stage <= 3; stage++) {
            for (int figure = 1; figure <= figures; figure++) {
                steady_put(&steady, (struct steady_task){stage, figure});
            }
            if (stage < 3) {
                steady_night(&steady, 22 * 60);
            }
        }
        const struct cb_review *review = steady_review(&steady);
        assert_int_equal(review->session_count, 3);
        assert_int_equal(suggested_by(review).count, 0);
        steady_end(&steady);
    }
}

/* Threes, each through all stages on an evening of its own: there is as much to save as in one go.
 */
static void batches_of_evenings_are_found(void **state)
{
    (void)state;
    static struct steady_task tasks[TASKS_MAX];
    struct steady steady;
    steady_begin(&steady, suggested_quick, 12);
    const size_t count =
        steady_batches(cb_bench_unit(steady.world.bench, 0)->recipe, 12, 3, tasks, TASKS_MAX);
    for (size_t i = 0; i < count; i++) {
        steady_put(&steady, tasks[i]);
        if (i % 24 == 23 && i + 1 < count) {
            steady_night(&steady, 22 * 60);
        }
    }
    const struct cb_review *review = steady_review(&steady);
    assert_int_equal(review->session_count, 2);
    const struct cb_suggestions all = suggested_by(review);
    const struct cb_suggestion batch = suggested_found(&all, "batch");
    assert_int_equal(batch.instead_of, 3);
    struct steady other;
    const struct cb_review *better = steady_paint(&other, suggested_quick, 12, batch.figures);
    /* Two evenings begin with a clean brush, and the night dries one film. */
    assert_true(fabs(suggested_min(review->session_ms - better->session_ms) - batch.saves_min) <
                13);
    steady_end(&other);
    steady_end(&steady);
}

/* The same log with something in it that is no coat of it: what is said stays true. */
static void disturbed(const char *what, bool same)
{
    static struct steady_task tasks[TASKS_MAX];
    double saves_min[2];
    for (int with = 0; with < 2; with++) {
        struct steady steady;
        steady_begin(&steady, suggested_chain, 10);
        const size_t count =
            steady_batches(cb_bench_unit(steady.world.bench, 0)->recipe, 10, 3, tasks, TASKS_MAX);
        for (size_t i = 0; i < count; i++) {
            if (with && i == 20) {
                steady_disturb(&steady, what);
            }
            steady_put(&steady, tasks[i]);
        }
        const struct cb_review *review = steady_review(&steady);
        const struct cb_suggestions all = cb_suggest(review, world_kinds());
        const struct cb_suggestion batch = suggested_found(&all, "batch");
        assert_int_equal(batch.instead_of, 3);
        saves_min[with] = batch.saves_min;
        suggested_within(all.replayed_min, all.spent_min, SUGGESTED_SHARE);
        steady_end(&steady);
    }
    if (!(same ? fabs(saves_min[1] - saves_min[0]) < 1e-6
               : saves_min[1] <= saves_min[0] && saves_min[1] > .7 * saves_min[0])) {
        fail_msg("%s: %.2f, without it %.2f", what, saves_min[1], saves_min[0]);
    }
}

static void pauses_slips_and_others_are_left_out(void **state)
{
    (void)state;
    disturbed("undone", true);
    disturbed("chore", false);
    disturbed("pause", false);
    disturbed("other", false);
    disturbed("lifted", false);
}

static const struct cb_review *paint_unevenly(struct steady *steady, int batch)
{
    static struct steady_task tasks[TASKS_MAX];
    steady_begin(steady, suggested_chain, 10);
    steady->noise = .4;
    const size_t count =
        steady_batches(cb_bench_unit(steady->world.bench, 0)->recipe, 10, batch, tasks, TASKS_MAX);
    for (size_t i = 0; i < count; i++) {
        steady_put(steady, tasks[i]);
    }
    return steady_review(steady);
}

/* Coats that take unlike long: the same size, and no more minutes than it would have been. */
static void uneven_hands_change_little(void **state)
{
    (void)state;
    for (int batch = 1; batch <= 4; batch++) {
        struct steady small, large;
        const struct cb_review *review = paint_unevenly(&small, batch);
        const struct cb_suggestions all = cb_suggest(review, world_kinds());
        const struct cb_suggestion one = suggested_found(&all, "batch");
        const struct cb_review *better = paint_unevenly(&large, one.figures);
        assert_int_equal(one.figures, 10);
        assert_int_equal(one.instead_of, batch);
        const double saved_min = suggested_min(review->session_ms - better->session_ms);
        assert_true(one.saves_min <= (1 + SUGGESTED_SHARE) * saved_min &&
                    one.saves_min > .92 * saved_min);
        steady_end(&small);
        steady_end(&large);
    }
}

/* The tenth is parked before its batch comes: there is as much to save as with nine. */
static void a_parked_figure_is_none(void **state)
{
    (void)state;
    static struct steady_task tasks[TASKS_MAX];
    struct steady nine, ten;
    const struct cb_suggestions of_nine = suggested_by(steady_paint(&nine, suggested_chain, 9, 3));
    steady_begin(&ten, suggested_chain, 10);
    const size_t count =
        steady_batches(cb_bench_unit(ten.world.bench, 0)->recipe, 10, 3, tasks, TASKS_MAX);
    for (size_t i = 0; i < count; i++) {
        if (i == 20) {
            steady_disturb(&ten, "parked");
        }
        steady_put(&ten, tasks[i]);
    }
    const struct cb_suggestions of_ten = suggested_by(steady_review(&ten));
    assert_int_equal(of_ten.count, 1);
    suggested_within(suggested_found(&of_ten, "batch").saves_min,
                     suggested_found(&of_nine, "batch").saves_min, SUGGESTED_SHARE);
    steady_end(&nine);
    steady_end(&ten);
}

/* What a log is read as: marks in their order, and the minutes of the recipe, since the painter
 * kept to them. */
static void a_log_is_read_as_it_was_painted(void **state)
{
    (void)state;
    struct steady steady;
    struct cb_suggest_log log;
    const struct cb_review *review = steady_paint(&steady, suggested_chain, 10, 3);
    assert_true(cb_suggest_log_init(&log, review, world_kinds()));
    assert_int_equal(log.mark_count, 2 + 5 * 10);
    assert_int_equal(log.member_count, 7 * 10);
    assert_int_equal(log.batch, 3);
    assert_int_equal(log.sessions, 1);
    for (size_t s = 0; s < review->stage_count; s++) {
        suggested_within(log.model.stage[s].work_min, review->recipe->stages[s].work_min, 1e-6);
        suggested_within(log.model.stage[s].dry_min, review->recipe->stages[s].wait_min, 1e-6);
        suggested_within(log.model.stage[s].change_min, 1.5, 1e-6);
    }
    suggested_within(log.work_min, 6 + 10 * (2 * 3 + 2 + 2.5 + 1) + 5, 1e-6);
    cb_suggest_log_fini(&log);
    steady_end(&steady);
}

/* Who is quicker with the paint than the recipe says has changes of what the review found. */
static void a_change_is_as_long_as_it_was(void **state)
{
    (void)state;
    struct steady steady;
    struct cb_suggest_log log;
    steady_begin(&steady, suggested_apart("1", false), 2);
    steady.change_min = .1;
    steady.slow = .4;
    for (int i = 0; i < 4; i++) {
        steady_put(&steady, (struct steady_task){1 + i % 2, 1 + i / 2});
    }
    assert_true(cb_suggest_log_init(&log, steady_review(&steady), world_kinds()));
    suggested_within(log.model.stage[0].change_min, .1 + .4 * 3, 1e-6); /* under the recipe's 1.5 */
    cb_suggest_log_fini(&log);
    steady_end(&steady);
}

/* What is called waiting is no more than was waited, though changes took longer than is usual. */
static void a_long_change_is_no_waiting(void **state)
{
    (void)state;
    struct steady steady;
    struct cb_suggest_log log;
    const struct cb_suggest_try own = {0}, fan = {.fan = true};
    assert_true(
        cb_suggest_log_init(&log, steady_paint(&steady, suggested_dried, 1, 1), world_kinds()));
    const struct cb_suggest_lost replayed = cb_suggest_replay(&log, &own, true, -1);
    for (int longer = 0; longer <= 4; longer++) { /* the sum is less than the replayed, or more */
        log.spent = replayed;
        log.spent.waiting_min -= 2;
        log.spent.change_min += longer;
        struct cb_suggest_lost saved;
        const double saved_min = cb_suggest_saved(&log, &fan, &saved);
        assert_int_equal(saved.paint_changes, 0);
        assert_true(saved_min >= CB_SUGGEST_MIN);
        suggested_within(saved_min, saved.waiting_min, 1e-9);
        assert_true(saved_min <= log.spent.waiting_min -
                                     cb_suggest_replay(&log, &fan, true, -1).waiting_min + 1e-9);
    }
    cb_suggest_log_fini(&log);
    steady_end(&steady);
}

/* Films of two areas that touch may not be wet together: one who kept to that waited for it. */
static void what_touches_was_waited_for(void **state)
{
    (void)state;
    struct steady steady;
    steady_begin(&steady, suggested_apart("20", true), 1);
    for (int i = 0; i < 4; i++) {
        steady_put(&steady, (struct steady_task){1 + i % 2, 1});
    }
    const struct cb_review *review = steady_review(&steady);
    const struct cb_suggestions all = suggested_by(review);
    suggested_within(all.spent_min, 1.5 + 4 * 3 + 3 * 20, 1e-6);
    suggested_within(all.replayed_min, all.spent_min, 1e-6);
    assert_int_equal(all.count, 0);
    steady_end(&steady);
}

static const char slow_chain[] =
    "{coatbell: 1, name: r, change: 1.5, " SUGGESTED_PAINTS ", stages: ["
    "{name: Oilskin, technique: basecoat, paint: green, minutes: 3, wait: 60},"
    "{name: Rope, technique: basecoat, paint: rope, minutes: 3, wait: 60},"
    "{name: Shade, technique: wash, paint: ebb, minutes: 3, wait: 60},"
    "{name: Lantern, technique: layer, paint: brass, minutes: 3, wait: 60},"
    "{name: Edges, technique: layer, paint: green, minutes: 3, wait: 60}]}";

/* Four films on one evening, one on the next: had the first ended earlier a night would have dried
 * one more, but that is the evening's doing and no other order's. */
static void the_end_of_an_evening_is_no_choice(void **state)
{
    (void)state;
    struct steady steady;
    steady_begin(&steady, slow_chain, 1);
    for (int stage = 1; stage <= 5; stage++) {
        steady_put(&steady, (struct steady_task){stage, 1});
        if (stage == 4) {
            steady_night(&steady, 22 * 60);
        }
    }
    assert_int_equal(suggested_by(steady_review(&steady)).count, 0);
    steady_end(&steady);
}

/* All but the last stage on the first evening, that on the next. */
static const struct cb_review *paint_nightly(struct steady *steady, int batch)
{
    static const char night[] =
        "{coatbell: 1, name: r, change: 1, " SUGGESTED_PAINTS ", stages: ["
        "{name: Oilskin, technique: basecoat, paint: green, coats: 2, minutes: 3, wait: 13},"
        "{name: Rope, technique: basecoat, paint: rope, minutes: 3, wait: 900},"
        "{name: Lantern, technique: layer, paint: brass, minutes: 3, wait: 11}]}";
    static struct steady_task tasks[TASKS_MAX];
    steady_begin(steady, night, 6);
    const size_t count =
        steady_batches(cb_bench_unit(steady->world.bench, 0)->recipe, 6, batch, tasks, TASKS_MAX);
    for (int evening = 0; evening < 2; evening++) {
        for (size_t i = 0; i < count; i++) {
            if ((tasks[i].stage == 3) == (evening == 1)) {
                steady_put(steady, tasks[i]);
            }
        }
        if (evening == 0) {
            steady_night(steady, 22 * 60);
        }
    }
    return steady_review(steady);
}

/* What dries over night in the log does so in what is tried. Of the log's own waits, too, one could
 * have fallen into the night. */
static void nights_dry_what_is_tried(void **state)
{
    (void)state;
    struct steady small, large;
    const struct cb_review *review = paint_nightly(&small, 2);
    const struct cb_suggestions all = suggested_by(review);
    const struct cb_suggestion batch = suggested_found(&all, "batch");
    const double saved_min =
        suggested_min(review->session_ms - paint_nightly(&large, batch.figures)->session_ms);
    assert_int_equal(batch.instead_of, 2);
    assert_true(batch.saves_min <= saved_min + 1e-6 && batch.saves_min > saved_min - 13);
    steady_end(&small);
    steady_end(&large);
}

/* An evening begins with a clean brush, whatever was on it when the last one ended; who sat on
 * after the last coat was packing up. */
static void an_evening_has_a_beginning_and_an_end(void **state)
{
    (void)state;
    struct steady steady;
    steady_begin(&steady, suggested_quick, 4);
    for (int figure = 1; figure <= 4; figure++) {
        steady_put(&steady, (struct steady_task){1, figure});
        if (figure == 2) {
            steady_sit(&steady, 8);
            steady_night(&steady, 22 * 60);
        }
    }
    steady_sit(&steady, 7);
    const struct cb_review *review = steady_review(&steady);
    const struct cb_suggestions all = cb_suggest(review, world_kinds());
    suggested_within(all.spent_min, 2 * 1 + 4 * 3, 1e-6);
    suggested_within(all.replayed_min, 2 * 1 + 4 * 3, 1e-6);
    assert_int_equal(all.count, 0);
    struct cb_suggest_log log;
    assert_true(cb_suggest_log_init(&log, review, world_kinds()));
    assert_int_equal(log.spent.paint_changes, 2);
    suggested_within(log.model.stage[0].work_min, 3, 1e-6);
    cb_suggest_log_fini(&log);
    steady_end(&steady);
}

/* A coat that came up and was put on again, with its own change of paint, is one coat. */
static void a_coat_put_on_again_is_one(void **state)
{
    (void)state;
    struct steady steady;
    struct cb_suggest_log log;
    steady_begin(&steady, suggested_quick, 3);
    for (int i = 0; i < 9; i++) {
        steady_put(&steady, (struct steady_task){i < 6 ? 1 : 2, 1 + i % 3});
    }
    world_do(&steady.world, "lifted u figure=2 stage=1 coat=2");
    steady_put(&steady, (struct steady_task){1, 2});
    steady_put(&steady, (struct steady_task){3, 1});
    assert_true(cb_suggest_log_init(&log, steady_review(&steady), world_kinds()));
    assert_int_equal(log.mark_count, 10);
    suggested_within(log.model.stage[0].work_min, 3, 1e-6);
    cb_suggest_log_fini(&log);
    steady_end(&steady);
}

static void where_nothing_was_painted_nothing_is_said(void **state)
{
    (void)state;
    struct steady steady;
    steady_begin(&steady, suggested_chain, 3);
    const struct cb_review *review = steady_review(&steady);
    const struct cb_suggestions all = cb_suggest(review, world_kinds());
    assert_int_equal(all.count, 0);
    assert_true(all.spent_min <= 0 && all.replayed_min <= 0);
    steady_end(&steady);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_night_is_no_waiting),
        cmocka_unit_test(batches_of_evenings_are_found),
        cmocka_unit_test(pauses_slips_and_others_are_left_out),
        cmocka_unit_test(uneven_hands_change_little),
        cmocka_unit_test(a_parked_figure_is_none),
        cmocka_unit_test(a_log_is_read_as_it_was_painted),
        cmocka_unit_test(a_change_is_as_long_as_it_was),
        cmocka_unit_test(a_long_change_is_no_waiting),
        cmocka_unit_test(what_touches_was_waited_for),
        cmocka_unit_test(the_end_of_an_evening_is_no_choice),
        cmocka_unit_test(nights_dry_what_is_tried),
        cmocka_unit_test(an_evening_has_a_beginning_and_an_end),
        cmocka_unit_test(a_coat_put_on_again_is_one),
        cmocka_unit_test(where_nothing_was_painted_nothing_is_said),
    };
    return cmocka_run_group_tests_name("suggest log", tests, NULL, NULL);
}
