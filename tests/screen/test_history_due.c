/* SPDX-License-Identifier: MIT */
/* The bench before what finished units taught has come: its times are marked, its pings wait. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "app/look.h"
#include "core/bench/forecast.h"
#include "support/stage.h"

#define DRY_MIN 20 /* of the recipe below: the median */

static const char one_pot[] = "coatbell: 1\n"
                              "name: One pot\n"
                              "paints:\n"
                              "  green: {name: Oilskin green, kind: acrylic, dry: 20}\n"
                              "stages:\n"
                              "  - {name: Oilskins, technique: basecoat, paint: green, coats: 2,"
                              " minutes: 4}\n";
static const char glued[] = "coatbell: 1\n"
                            "name: Glued\n"
                            "paints:\n"
                            "  green: {name: Oilskin green, kind: acrylic}\n"
                            "stages:\n"
                            "  - {name: Oilskins, technique: basecoat, paint: green, coats: 2,"
                            " minutes: 4, wait: 30}\n";

static const char *const views[] = {"bench", "rack", "glance", "pots"};
#define VIEW_COUNT (sizeof views / sizeof *views)
static const struct {
    int columns, rows;
} sizes[] = {{50, 15}, {80, 24}, {120, 40}};
#define SIZE_COUNT (sizeof sizes / sizeof *sizes)

static void history(struct stage *stage, const struct cb_row *rows, size_t count)
{
    struct cb_taught taught;
    const struct cb_lesson lesson = {
        .rows = rows, .row_count = count, .sum = {.unit = "before", .name = "", .recipe = ""}};
    cb_taught_begin(&taught);
    cb_taught_add(&taught, &lesson);
    while (cb_taught_step(&taught)) {
    }
    cb_rehearse_feed(stage->rehearse,
                     (struct cb_input){.kind = CB_INPUT_HISTORY, .taught = &taught});
    cb_taught_fini(&taught);
}

/* What finished units may have taught: the pot takes some three times as long as it says. */
static void slow_history(struct stage *stage)
{
    struct cb_row rows[8];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        rows[i] = (struct cb_row){.kind = CB_ROW_FILM,
                                  .pot = cb_pot_key("Oilskin green", "acrylic", &stage->arena),
                                  .pot_sd = .3,
                                  .median_min = DRY_MIN,
                                  .lo = 2.8 * DRY_MIN,
                                  .hi = 3.2 * DRY_MIN,
                                  .unit = "before",
                                  .figure = (int)i + 1,
                                  .stage = 1,
                                  .coat = 1,
                                  .paint = "Oilskin green"};
    }
    history(stage, rows, sizeof rows / sizeof *rows);
}

static const char *look(struct stage *stage, size_t view, size_t size)
{
    stage_size(stage, sizes[size].columns, sizes[size].rows);
    assert_true(cb_rehearse_show(stage->rehearse, views[view]));
    return stage_text(stage);
}

/* A sign stands where else a blank is. Rows that were empty may have got advice on the room. */
static void assert_nothing_moved(const char *before, const char *after)
{
    while (*before && *after) {
        size_t width = strcspn(before, "\n"), width_after = strcspn(after, "\n");
        for (size_t i = 0; width > 0 && i < width; i++) {
            char now = i < width_after ? after[i] : ' ';
            assert_true(before[i] == now || (before[i] == '~' && now == ' '));
        }
        assert_true(width == 0 || width_after <= width);
        before += width + (before[width] == '\n');
        after += width_after + (after[width_after] == '\n');
    }
    assert_true(*before == *after);
}

static void look_before_and_after(struct stage *stage)
{
    const char *before[VIEW_COUNT][SIZE_COUNT];
    for (size_t v = 0; v < VIEW_COUNT; v++) {
        for (size_t s = 0; s < SIZE_COUNT; s++) {
            before[v][s] = look(stage, v, s);
            assert_non_null(strchr(before[v][s], '~'));
        }
    }
    history(stage, NULL, 0);
    for (size_t v = 0; v < VIEW_COUNT; v++) {
        for (size_t s = 0; s < SIZE_COUNT; s++) {
            const char *after = look(stage, v, s);
            assert_null(strchr(after, '~'));
            assert_nothing_moved(before[v][s], after);
        }
    }
}

static void times_are_marked_until_history_comes(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 12, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE"); /* the caution */
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 30);
    for (int i = 0; i < 3; i++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 5);
    }
    stage_reopen(&stage, 1000);
    assert_true(stage_shows(&stage, "~dry for"));
    look_before_and_after(&stage);
    stage_fini(&stage);
}

static void so_they_are_where_nothing_is_ready(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 2, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 3);
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "nothing is ready until 18:"));
    stage_wait(&stage, 3);
    stage_reopen(&stage, 1000);
    assert_true(stage_shows(&stage, "is on figure 1 (dry in~"));
    assert_true(stage_shows(&stage, "nothing is ready until~18:"));
    assert_true(stage_shows(&stage, "usually dry~18:"));
    assert_true(stage_shows(&stage, "at~18:"));
    assert_false(stage_shows(&stage, "instead of")); /* advice on the room waits */
    stage_size(&stage, 50, 15);
    assert_true(stage_shows(&stage, "all well \u00B7 rings~18:"));
    stage_size(&stage, 29, 7); /* where nothing stands beside it, it may move */
    assert_true(stage_shows(&stage, "~25 min dry Oilskin green"));
    /* a line for scripts has no sign to get used to */
    const struct cb_app *app = cb_rehearse_app(stage.rehearse);
    struct cb_moment now = cb_app_now(app);
    struct cb_zone utc = {0};
    assert_null(strchr(
        cb_app_status_line(cb_app_bench(app), cb_app_scene(app), &now, &utc, &stage.arena), '~'));
    look_before_and_after(&stage);
    stage_size(&stage, 80, 24);
    cb_rehearse_show(stage.rehearse, "bench");
    assert_true(stage_shows(&stage, "instead of"));
    stage_fini(&stage);
}

static void an_exact_wait_is_never_marked(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, glued, 1, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 3);
    stage_reopen(&stage, 1000);
    for (size_t v = 0; v < VIEW_COUNT; v++) {
        for (size_t s = 0; s < SIZE_COUNT; s++) {
            assert_null(strchr(look(&stage, v, s), '~'));
        }
    }
    stage_fini(&stage);
}

/* The bench is opened five seconds after its one film fell due by what is known without history. */
static void open_at_a_due_film(struct stage *stage)
{
    stage_init_text(stage, one_pot, 1, 24, 80, CB_PING_EVERY);
    stage_key(stage, "SPACE");
    stage_wait(stage, DRY_MIN);
    const struct cb_app *app = cb_rehearse_app(stage->rehearse);
    const struct cb_film *film = cb_bench_film(cb_bench_unit(cb_app_bench(app), 0), 1, 1, 1);
    struct cb_moment now = cb_app_now(app);
    int64_t now_ms = cb_bench_time(cb_app_bench(app), &now), due_ms;
    assert_false(cb_forecast_dry(cb_app_bench(app), cb_app_learn(app), film, now_ms, &due_ms));
    assert_int_equal(stage->pings, 0);
    stage_reopen(stage, due_ms - now_ms + 5000);
    assert_int_equal(stage->pinged, 0);
}

static void a_due_film_waits_for_history(void **state)
{
    (void)state;
    struct stage stage;
    open_at_a_due_film(&stage);
    cb_rehearse_advance(stage.rehearse, 200);
    assert_int_equal(stage.pinged, 0);
    history(&stage, NULL, 0);
    assert_int_equal(stage.pings, 1);
    assert_int_equal(stage.pinged, 1);
    stage_fini(&stage);
}

static void but_for_half_a_second(void **state)
{
    (void)state;
    struct stage stage;
    open_at_a_due_film(&stage);
    const struct cb_app *app = cb_rehearse_app(stage.rehearse);
    int64_t opened_ms = cb_app_now(app).wall_ms;
    assert_int_equal(cb_app_next_deadline(app), opened_ms + 500);
    stage_key(&stage, "g"); /* a key does not end the wait */
    assert_int_equal(stage.pinged, 0);
    cb_rehearse_advance(stage.rehearse, 499);
    assert_int_equal(stage.pinged, 0);
    cb_rehearse_advance(stage.rehearse, 1);
    assert_int_equal(stage.pings, 1);
    assert_int_equal(stage.ping_at_ms, opened_ms + 500);
    stage_key(&stage, "F1");
    assert_true(stage_shows(&stage, "~dry now"));
    history(&stage, NULL, 0);
    stage_wait(&stage, 5);
    assert_int_equal(stage.pinged, 1); /* once */
    stage_fini(&stage);
}

static void what_history_puts_off_does_not_ring(void **state)
{
    (void)state;
    struct stage stage;
    open_at_a_due_film(&stage);
    slow_history(&stage);
    stage_wait(&stage, 10);
    assert_int_equal(stage.pinged, 0);
    assert_true(stage_shows(&stage, "nothing is ready until 19:"));
    stage_wait(&stage, 60);
    assert_int_equal(stage.pings, 1);
    stage_fini(&stage);
}

/* Of the pot over no tone that is known: two coats said, a third added on each of those figures. */
static void coats_history(struct stage *stage, const char *unit, uint64_t figures)
{
    struct cb_cover cover = {.pot = cb_pot_key("Oilskin green", "acrylic", &stage->arena),
                             .technique = CB_TECHNIQUE_BASECOAT};
    cover.said[2] = cover.added[3] = figures;
    struct cb_taught taught;
    const struct cb_lesson lesson = {
        .covers = &cover, .cover_count = 1, .sum = {.unit = unit, .name = "", .recipe = ""}};
    cb_taught_begin(&taught);
    cb_taught_add(&taught, &lesson);
    while (cb_taught_step(&taught)) {
    }
    cb_rehearse_feed(stage->rehearse,
                     (struct cb_input){.kind = CB_INPUT_HISTORY, .taught = &taught});
    cb_taught_fini(&taught);
}

static void what_history_counted_of_coats_is_said(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 60);
    assert_true(stage_shows(&stage, "coat 2 of 2"));
    assert_false(stage_shows(&stage, "usual here"));
    coats_history(&stage, "before", 3);
    assert_false(stage_shows(&stage, "usual here")); /* too few */
    coats_history(&stage, "before", 4);
    assert_true(
        stage_shows(&stage, "coat 2 of 2 \u00B7 basecoat \u00B7 a third coat is usual here"));
    stage_key(&stage, "+");
    assert_false(stage_shows(&stage, "usual here")); /* it is there already */
    stage_fini(&stage);
}

static void a_unit_finished_here_counts_once(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "+");
    for (int coat = 1; coat <= 3; coat++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 60);
    }
    stage_key(&stage, "F4");
    assert_true(stage_shows(&stage, "a third coat on 1 of 1 figure ("));
    stage_do(&stage, CB_ACTION_FINISH);
    stage_do(&stage, CB_ACTION_FINISH);
    assert_true(cb_bench_unit(stage_bench(&stage), 0)->finished);
    assert_true(cb_rehearse_show(stage.rehearse, "pots"));
    assert_true(stage_shows(&stage, "a third coat on 1 of 1 figure ("));
    coats_history(&stage, cb_bench_unit(stage_bench(&stage), 0)->id, 1);
    assert_true(stage_shows(&stage, "a third coat on 1 of 1 figure ("));
    coats_history(&stage, "another", 1);
    assert_true(stage_shows(&stage, "a third coat on 2 of 2 figures ("));
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(times_are_marked_until_history_comes),
        cmocka_unit_test(so_they_are_where_nothing_is_ready),
        cmocka_unit_test(an_exact_wait_is_never_marked),
        cmocka_unit_test(a_due_film_waits_for_history),
        cmocka_unit_test(but_for_half_a_second),
        cmocka_unit_test(what_history_puts_off_does_not_ring),
        cmocka_unit_test(what_history_counted_of_coats_is_said),
        cmocka_unit_test(a_unit_finished_here_counts_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
