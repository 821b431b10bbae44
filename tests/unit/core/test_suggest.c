/* SPDX-License-Identifier: MIT */
/* What would have saved time: against logs of a steady painter, who then paints it that way, too.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "core/plan/plan_recipe.h"
#include "core/plan/suggest.h"
#include "support/steady.h"

#define SHARE     .01 /* what a replay may be off by */
#define TASKS_MAX 1000

#define PAINTS                                                                                     \
    "paints: {rope: {name: Tarred rope, kind: acrylic}, green: {name: Oilskin green, kind: "       \
    "acrylic}, brass: {name: Lantern brass, kind: acrylic}, ebb: {name: Ebb wash, kind: wash}}"

/* One after the other on the whole figure, by exact waits. */
static const char chain[] =
    "{coatbell: 1, name: r, change: 1.5, " PAINTS ", stages: ["
    "{name: Prime, technique: undercoat, paint: rope, together: yes, minutes: 6, wait: 20},"
    "{name: Oilskin, technique: basecoat, paint: green, coats: 2, minutes: 3, wait: 14},"
    "{name: Rope, technique: basecoat, paint: rope, minutes: 2, wait: 12},"
    "{name: Lantern, technique: layer, paint: brass, minutes: 2.5, wait: 10},"
    "{name: Shade, technique: wash, paint: ebb, minutes: 1, wait: 25},"
    "{name: Varnish, technique: layer, paint: green, together: yes, minutes: 5, wait: 20}]}";

/* What dries soon: half of them are enough at a time. */
static const char quick[] =
    "{coatbell: 1, name: r, change: 1, " PAINTS ", stages: ["
    "{name: Oilskin, technique: basecoat, paint: green, coats: 2, minutes: 3, wait: 13},"
    "{name: Rope, technique: basecoat, paint: rope, minutes: 4, wait: 12},"
    "{name: Lantern, technique: layer, paint: brass, minutes: 3, wait: 11}]}";

/* By what paints take in the air of the room. */
static const char dried[] =
    "{coatbell: 1, name: r, change: 1.5, " PAINTS ", stages: ["
    "{name: Oilskin, technique: basecoat, paint: green, coats: 2, minutes: 3},"
    "{name: Rope, technique: basecoat, paint: rope, minutes: 2},"
    "{name: Shade, technique: wash, paint: ebb, minutes: 1.5},"
    "{name: Lantern, technique: layer, paint: brass, minutes: 2.5}]}";

/* Two stages that don't wait for each other; %s: how long each coat dries. */
static const char apart[] =
    "{coatbell: 1, name: r, change: 1.5, " PAINTS ", areas: {coat: {}, belt: {}}, stages: ["
    "{name: Oilskin, technique: basecoat, paint: green, on: coat, coats: 2, minutes: 3, wait: %s},"
    "{name: Rope, technique: basecoat, paint: rope, on: belt, coats: 2, minutes: 3, wait: %s}]}";

static double minutes(int64_t ms)
{
    return (double)ms / 60000;
}

static const struct cb_suggestion *find(const struct cb_suggestions *all, const char *choice)
{
    for (size_t i = 0; i < all->count; i++) {
        if (strcmp(all->items[i].choice, choice) == 0) {
            return &all->items[i];
        }
    }
    return NULL;
}

/* That of a choice, which must be there. */
static struct cb_suggestion found(const struct cb_suggestions *all, const char *choice)
{
    const struct cb_suggestion *one = find(all, choice);
    if (one == NULL) {
        fail_msg("no %s", choice);
        return (struct cb_suggestion){0};
    }
    return *one;
}

static void within(double got, double wanted, double share)
{
    if (!(fabs(got - wanted) <= share * fabs(wanted) + 1e-6)) {
        fail_msg("%.3f, wanted %.3f", got, wanted);
    }
}

/* What all logs of one who neither paused nor tarried hold to. */
static struct cb_suggestions suggest(const struct cb_review *review)
{
    const struct cb_suggestions all = cb_suggest(review, world_kinds());
    const double spent_min =
        minutes(review->spent_ms[CB_SPENT_HANDS_ON] + review->spent_ms[CB_SPENT_CHANGE] +
                review->spent_ms[CB_SPENT_WAITING]);
    within(all.spent_min, spent_min, 0);
    within(all.replayed_min, spent_min, SHARE);
    double sum_min = 0;
    for (size_t i = 0; i < all.count; i++) {
        const struct cb_suggestion *one = &all.items[i];
        assert_true(one->saves_min >= CB_SUGGEST_MIN && one->saves_min < spent_min);
        assert_true(i == 0 || one->saves_min <= all.items[i - 1].saves_min);
        sum_min += one->saves_min;
    }
    if (all.count > 0) {
        assert_true(all.together_min >=
                    all.items[0].saves_min + CB_SUGGEST_MIN * (double)(all.count - 1));
        assert_true(all.together_min <= sum_min + SHARE * spent_min);
    }
    return all;
}

static void says(const struct cb_suggestion *one, const struct cb_review *review, const char *text)
{
    struct cb_str out = {0};
    assert_non_null(one);
    cb_suggest_say(one, review->recipe, &out);
    assert_string_equal(cb_str_text(&out), text);
    cb_str_fini(&out);
}

/* Painted by every size: the fewest that wait no longer than any other and 1 % of all. */
static void finds_what_painting_finds(const char *recipe, int figures, int fewer_than,
                                      int found_size)
{
    double session_min[CB_FIGURES_MAX + 1], waiting_min[CB_FIGURES_MAX + 1];
    struct cb_suggestions all[CB_FIGURES_MAX + 1];
    double least = INFINITY;
    int best = 1;
    for (int size = 1; size <= figures; size++) {
        struct steady steady;
        const struct cb_review *review = steady_paint(&steady, recipe, figures, size);
        all[size] = suggest(review);
        session_min[size] = minutes(review->session_ms);
        waiting_min[size] = session_min[size] - steady.worked_min;
        least = fmin(least, waiting_min[size]);
        steady_end(&steady);
    }
    while (waiting_min[best] > least + SHARE * session_min[best]) {
        best++;
    }
    assert_int_equal(best, found_size);
    for (int size = 1; size < fewer_than; size++) {
        const struct cb_suggestion batch = found(&all[size], "batch");
        assert_int_equal(batch.figures, best);
        assert_int_equal(batch.instead_of, size);
        within(batch.saves_min, session_min[size] - session_min[best], SHARE);
        within(batch.waiting_min, waiting_min[size] - waiting_min[best], SHARE);
    }
    assert_null(find(&all[best], "batch"));
}

static void the_batch_size_is_the_one_that_painting_finds(void **state)
{
    (void)state;
    finds_what_painting_finds(chain, 10, 5, 10);
    finds_what_painting_finds(dried, 10, 5, 10);
    finds_what_painting_finds(quick, 12, 5, 6);
    finds_what_painting_finds(quick, 7, 4, 7);
}

static void a_batch_is_said_in_words(void **state)
{
    (void)state;
    struct steady steady;
    const struct cb_review *review = steady_paint(&steady, chain, 10, 3);
    const struct cb_suggestions all = suggest(review);
    assert_int_equal(all.count, 1);
    says(&all.items[0], review,
         "Ten at a time instead of three would have saved 2 h 29 min: 2 h 11 min less waiting, "
         "twelve fewer changes of paint");
    struct cb_str out = {0};
    cb_suggest_say_together(&all, &out);
    assert_string_equal(cb_str_text(&out), "");
    steady_end(&steady);
}

/* Two coats of each, one stage after the other, or in turn. */
static double paint_apart(struct steady *steady, const char *wait, bool in_turn,
                          const struct cb_review **review)
{
    static char text[2048];
    snprintf(text, sizeof text, apart, wait, wait);
    steady_begin(steady, text, 1);
    for (int i = 0; i < 4; i++) {
        steady_put(steady, (struct steady_task){1 + (in_turn ? i % 2 : i / 2), 1});
    }
    *review = steady_review(steady);
    return minutes((*review)->session_ms);
}

static void an_order_is_the_plans(void **state)
{
    (void)state;
    struct steady steady;
    const struct cb_review *review;
    const double in_turn_min = paint_apart(&steady, "20", true, &review);
    assert_int_equal(suggest(review).count, 0);
    steady_end(&steady);
    const double after_min = paint_apart(&steady, "20", false, &review);
    const struct cb_suggestions all = suggest(review);
    assert_int_equal(all.count, 1);
    within(all.items[0].saves_min, after_min - in_turn_min, SHARE);
    assert_int_equal(all.items[0].stages[0][0], 1);
    assert_int_equal(all.items[0].stages[0][1], 2);
    assert_int_equal(all.items[0].stages[1][0], 0);
    says(&all.items[0], review,
         "Oilskin and Rope in turn would have saved 23 min: 26 min less waiting, two more changes "
         "of paint");
    steady_end(&steady);
}

static void under_five_minutes_nothing_is_said(void **state)
{
    (void)state;
    static const struct {
        const char *wait;
        size_t count;
    } rows[] = {{"1", 0}, {"2", 0}, {"3.5", 0}, {"3.99", 0}, {"4.01", 1}, {"5", 1}, {"12", 1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct steady steady;
        const struct cb_review *review;
        const double in_turn_min = paint_apart(&steady, rows[i].wait, true, &review);
        steady_end(&steady);
        const double after_min = paint_apart(&steady, rows[i].wait, false, &review);
        assert_int_equal(after_min - in_turn_min >= CB_SUGGEST_MIN, rows[i].count);
        assert_int_equal(suggest(review).count, rows[i].count);
        steady_end(&steady);
    }
}

static void a_fan_saves_what_it_does(void **state)
{
    (void)state;
    struct steady steady;
    const struct cb_review *review = steady_paint_in(&steady, dried, 1, 1, "fan");
    const double fanned_min = minutes(review->session_ms);
    assert_int_equal(suggest(review).count, 0);
    steady_end(&steady);
    review = steady_paint_in(&steady, dried, 1, 1, "draught");
    assert_int_equal(suggest(review).count, 0);
    steady_end(&steady);
    review = steady_paint(&steady, dried, 1, 1);
    const struct cb_suggestions all = suggest(review);
    assert_int_equal(all.count, 1);
    within(all.items[0].saves_min, minutes(review->session_ms) - fanned_min, SHARE);
    says(&all.items[0], review,
         "A fan on the films would have saved 26 min of waiting; Shade dry after 12 min, not 23 "
         "min");
    steady_end(&steady);
    review = steady_paint(&steady, chain, 1, 1); /* exact waits know no air */
    assert_int_equal(suggest(review).count, 0);
    steady_end(&steady);
}

/* Now one paint, now the other, on figures that would have taken either. */
static void staying_saves_changes(void **state)
{
    (void)state;
    static char text[2048];
    snprintf(text, sizeof text, apart, "1", "1");
    double session_min[2];
    for (int stays = 1; stays >= 0; stays--) {
        struct steady steady;
        steady_begin(&steady, text, 4);
        for (int i = 0; i < 16; i++) {
            const int figure = stays ? i % 4 : i / 2 % 4;
            const int stage = stays ? i / 8 : i % 2;
            steady_put(&steady, (struct steady_task){stage + 1, figure + 1});
        }
        const struct cb_review *review = steady_review(&steady);
        session_min[stays] = minutes(review->session_ms);
        const struct cb_suggestions all = suggest(review);
        assert_int_equal(all.count, stays ? 0 : 1);
        if (!stays) {
            within(all.items[0].saves_min, session_min[0] - session_min[1], SHARE);
            says(&all.items[0], review,
                 "Staying with a paint while more of it could go on would have saved 21 min: 14 "
                 "fewer changes of paint");
        }
        steady_end(&steady);
    }
}

/* A batch and a fan take the same waiting away: the one is said. */
static void one_saving_has_one_name(void **state)
{
    (void)state;
    struct steady steady;
    const struct cb_review *review = steady_paint(&steady, dried, 10, 3);
    const struct cb_suggestions all = suggest(review);
    assert_int_equal(all.count, 1);
    assert_string_equal(all.items[0].choice, "batch");
    steady_end(&steady);
}

/* Paints that were changed too often, and a wash that four figures wait for: both are said, and
 * what comes of both. */
static const struct cb_review *paint_mixed(struct steady *steady, bool stays, const char *air)
{
    static const char mixed[] =
        "{coatbell: 1, name: r, change: 1.5, " PAINTS ", areas: {coat: {}, belt: {}}, stages: ["
        "{name: Oilskin, technique: basecoat, paint: green, on: coat, minutes: 3, wait: 1},"
        "{name: Rope, technique: basecoat, paint: rope, on: belt, minutes: 3, wait: 1},"
        "{name: Shade, technique: wash, paint: ebb, minutes: 1},"
        "{name: Lantern, technique: layer, paint: brass, minutes: 2}]}";
    steady_begin(steady, mixed, 4);
    world_do(&steady->world, cb_arena_printf(&steady->world.arena,
                                             "climate_set - temp_c=23 rh_pct=50 air=%s", air));
    for (int i = 0; i < 8; i++) {
        steady_put(steady, stays ? (struct steady_task){1 + i / 4, 1 + i % 4}
                                 : (struct steady_task){1 + i % 2, 1 + i / 2});
    }
    for (int i = 0; i < 8; i++) {
        steady_put(steady, (struct steady_task){3 + i / 4, 1 + i % 4});
    }
    return steady_review(steady);
}

static void what_comes_of_all_is_said(void **state)
{
    (void)state;
    struct steady steady;
    double session_min[2][2];
    static const char *const airs[] = {"still", "fan"};
    for (int stays = 1; stays >= 0; stays--) {
        for (int fan = 1; fan >= 0; fan--) {
            const struct cb_review *review = paint_mixed(&steady, stays, airs[fan]);
            session_min[stays][fan] = minutes(review->session_ms);
            const struct cb_suggestions all = suggest(review);
            assert_int_equal(all.count, !stays + !fan);
            if (!stays && !fan) {
                struct cb_str out = {0};
                cb_suggest_say_together(&all, &out);
                assert_string_equal(cb_str_text(&out),
                                    "Each of these is judged by itself; all at once would have "
                                    "saved 20 min");
                cb_str_fini(&out);
                within(found(&all, "stay").saves_min, session_min[0][0] - session_min[1][0], SHARE);
                within(found(&all, "fan").saves_min, session_min[0][0] - session_min[0][1], SHARE);
                within(all.together_min, session_min[0][0] - session_min[1][1], SHARE);
            }
            steady_end(&steady);
        }
    }
}

static void by_the_plan(const char *recipe_text, int figures)
{
    struct steady steady;
    struct cb_arena arena = {0};
    struct cb_plan_times times[CB_RECIPE_MAX] = {{0}};
    steady_begin(&steady, recipe_text, figures);
    const struct cb_unit *unit = cb_bench_unit(steady.world.bench, 0);
    const struct cb_recipe *recipe = unit->recipe;
    for (size_t s = 0; s < recipe->stage_count; s++) {
        times[s].work_min = recipe->stages[s].work_min;
        times[s].dry_min = world_ring_min(&steady.world, unit, (int)s + 1, .8);
    }
    const struct cb_plan_problem problem =
        cb_plan_of_recipe(world_kinds(), recipe, figures, times, &arena);
    struct cb_plan_search *search = cb_plan_search_new(&problem, 1);
    cb_plan_search_go(search, 2000);
    const struct cb_plan plan = cb_plan_search_best(search, &arena);
    for (size_t i = 0; i < plan.task_count; i++) {
        steady_put(&steady,
                   (struct steady_task){plan.tasks[i].stage + 1, plan.tasks[i].figure + 1});
    }
    const struct cb_review *review = steady_review(&steady);
    within(minutes(review->session_ms), plan.tasks[plan.task_count - 1].end_min, SHARE);
    const struct cb_suggestions all = suggest(review);
    if (all.count > 0) {
        fail_msg("%s saves %.1f min", all.items[0].choice, all.items[0].saves_min);
    }
    cb_plan_search_free(search);
    cb_arena_fini(&arena);
    steady_end(&steady);
}

static void what_is_painted_by_the_plan_is_left_alone(void **state)
{
    (void)state;
    static char text[2048];
    snprintf(text, sizeof text, apart, "20", "20");
    by_the_plan(chain, 10);
    by_the_plan(dried, 10);
    by_the_plan(quick, 12);
    by_the_plan(text, 1);
    by_the_plan(text, 10);
}

static void a_night_is_no_waiting(void **state)
{
    (void)state;
    static const char slow[] =
        "{coatbell: 1, name: r, change: 1.5, " PAINTS ", stages: ["
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
        assert_int_equal(suggest(review).count, 0);
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
    steady_begin(&steady, quick, 12);
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
    const struct cb_suggestions all = suggest(review);
    const struct cb_suggestion batch = found(&all, "batch");
    assert_int_equal(batch.instead_of, 3);
    struct steady other;
    const struct cb_review *better = steady_paint(&other, quick, 12, batch.figures);
    /* Two evenings begin with a clean brush, and the night dries one film. */
    assert_true(fabs(minutes(review->session_ms - better->session_ms) - batch.saves_min) < 13);
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
        steady_begin(&steady, chain, 10);
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
        const struct cb_suggestion batch = found(&all, "batch");
        assert_int_equal(batch.instead_of, 3);
        saves_min[with] = batch.saves_min;
        within(all.replayed_min, all.spent_min, SHARE);
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
    steady_begin(steady, chain, 10);
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
        const struct cb_suggestion one = found(&all, "batch");
        const struct cb_review *better = paint_unevenly(&large, one.figures);
        assert_int_equal(one.figures, 10);
        assert_int_equal(one.instead_of, batch);
        const double saved_min = minutes(review->session_ms - better->session_ms);
        assert_true(one.saves_min <= (1 + SHARE) * saved_min && one.saves_min > .92 * saved_min);
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
    const struct cb_suggestions of_nine = suggest(steady_paint(&nine, chain, 9, 3));
    steady_begin(&ten, chain, 10);
    const size_t count =
        steady_batches(cb_bench_unit(ten.world.bench, 0)->recipe, 10, 3, tasks, TASKS_MAX);
    for (size_t i = 0; i < count; i++) {
        if (i == 20) {
            steady_disturb(&ten, "parked");
        }
        steady_put(&ten, tasks[i]);
    }
    const struct cb_suggestions of_ten = suggest(steady_review(&ten));
    assert_int_equal(of_ten.count, 1);
    within(found(&of_ten, "batch").saves_min, found(&of_nine, "batch").saves_min, SHARE);
    steady_end(&nine);
    steady_end(&ten);
}

static void where_nothing_was_painted_nothing_is_said(void **state)
{
    (void)state;
    struct steady steady;
    steady_begin(&steady, chain, 3);
    const struct cb_review *review = steady_review(&steady);
    const struct cb_suggestions all = cb_suggest(review, world_kinds());
    assert_int_equal(all.count, 0);
    assert_true(all.spent_min <= 0 && all.replayed_min <= 0);
    steady_end(&steady);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_batch_size_is_the_one_that_painting_finds),
        cmocka_unit_test(a_batch_is_said_in_words),
        cmocka_unit_test(an_order_is_the_plans),
        cmocka_unit_test(under_five_minutes_nothing_is_said),
        cmocka_unit_test(a_fan_saves_what_it_does),
        cmocka_unit_test(staying_saves_changes),
        cmocka_unit_test(one_saving_has_one_name),
        cmocka_unit_test(what_comes_of_all_is_said),
        cmocka_unit_test(what_is_painted_by_the_plan_is_left_alone),
        cmocka_unit_test(a_night_is_no_waiting),
        cmocka_unit_test(batches_of_evenings_are_found),
        cmocka_unit_test(pauses_slips_and_others_are_left_out),
        cmocka_unit_test(uneven_hands_change_little),
        cmocka_unit_test(a_parked_figure_is_none),
        cmocka_unit_test(where_nothing_was_painted_nothing_is_said),
    };
    return cmocka_run_group_tests_name("suggest", tests, NULL, NULL);
}
