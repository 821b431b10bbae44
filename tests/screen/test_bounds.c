/* SPDX-License-Identifier: MIT */
/* Bounds of our own choice that a painter meets on the screen: what is on each side of them. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/look.h"
#include "core/bench/forecast.h"
#include "support/stage.h"
#include "support/world.h"
#include "view/review_page.h"
#include "view/screen.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* A recipe of one paint that dries in so many minutes. */
static const char *recipe_of(const char *paint, double dry_min, int coats)
{
    static char text[512];
    snprintf(text, sizeof text,
             "coatbell: 1\nname: One pot\npaints:\n  green: {name: %s, kind: acrylic, dry: %g}\n"
             "stages:\n  - {name: Coats, technique: basecoat, paint: green, coats: %d,"
             " minutes: 4}\n",
             paint, dry_min, coats);
    return text;
}

static void begin(struct stage *stage, double dry_min, int coats, int figures)
{
    stage_init_text(stage, recipe_of("Oilskin green", dry_min, coats), figures, 24, 80,
                    CB_PING_EVERY);
}

static const struct cb_film *film(struct stage *stage, int figure)
{
    return cb_bench_film(cb_bench_unit(stage_bench(stage), 0), figure, 1, 1);
}

static const struct cb_event *newest(struct stage *stage, enum cb_event_kind kind)
{
    size_t count;
    const struct cb_event *const *events = cb_bench_events(stage_bench(stage), &count);
    while (count > 0 && events[count - 1]->kind != kind) {
        count--;
    }
    assert_true(count > 0);
    return events[count - 1];
}

/* A count is four minutes a coat here, less where there is less since the last press. */
static void how_far_back_a_count_goes(void **state)
{
    (void)state;
    static const struct {
        double gap_min, three_min;
    } cases[] = {{600, 12}, {12, 12}, {11.9, 11.9 * 3 / 4}, {1, .75}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct stage stage;
        begin(&stage, 20, 1, 5);
        stage_key(&stage, "SPACE");
        stage_wait(&stage, cases[i].gap_min);
        stage_key(&stage, "4");
        stage_key(&stage, "SPACE");
        const int64_t three_ms = film(&stage, 5)->on_ms - film(&stage, 2)->on_ms;
        assert_int_equal(three_ms, (int64_t)round(cases[i].three_min * 60000));
        stage_fini(&stage);
    }
}

static void what_a_count_means(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, 20, 1, 5);
    stage_wait(&stage, 10);
    stage_key(&stage, "-");
    stage_key(&stage, "6");
    stage_key(&stage, "SPACE");
    assert_true(fabs(film(&stage, 1)->on_pm_s - 30) < 1e-9); /* half a minute of six */
    stage_key(&stage, "h");
    assert_true(fabs(cb_event_number(newest(&stage, CB_EVENT_HELPED), CB_FIELD_SECONDS, 0) - 30) <
                1e-9);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "2"); /* figures, not minutes */
    stage_key(&stage, "h");
    assert_true(fabs(cb_event_number(newest(&stage, CB_EVENT_HELPED), CB_FIELD_SECONDS, 0) - 30) <
                1e-9);
    assert_true(stage_shows(&stage, "warm air: Oilskin green on 1 and 2; BKSP takes it back"));
    stage_fini(&stage);
}

/* What config.yaml says of it is an event of the session that begins with it; said again it is
 * none, and where it is said no more the log's holds. */
static void confidence_of_the_settings(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, 20, 1, 5);
    stage_key(&stage, "SPACE");
    const double default_min =
        (double)cb_app_scene(cb_rehearse_app(stage.rehearse))->next->forecast.due_ms;
    stage.config.confidence = .60;
    stage_reopen(&stage, 1000);
    assert_int_equal(stage_events(&stage, CB_EVENT_CONFIDENCE_SET), 0); /* nobody said it */
    stage.config.lines[CB_SETTING_CONFIDENCE] = 3;
    for (int opening = 0; opening < 2; opening++) {
        stage_reopen(&stage, 1000);
        assert_int_equal(stage_events(&stage, CB_EVENT_CONFIDENCE_SET), 1);
        assert_true(fabs(cb_bench_facts(stage_bench(&stage)).confidence - .60) < 1e-9);
        assert_true((double)cb_app_scene(cb_rehearse_app(stage.rehearse))->next->forecast.due_ms <
                    default_min - 60000);
    }
    stage.config.lines[CB_SETTING_CONFIDENCE] = 0;
    stage_reopen(&stage, 1000);
    assert_int_equal(stage_events(&stage, CB_EVENT_CONFIDENCE_SET), 1);
    assert_true(fabs(cb_bench_facts(stage_bench(&stage)).confidence - .60) < 1e-9);
    stage_fini(&stage);
}

/* It comes with the opening, by no key: undo is of the last press before, and redo still stands. */
static void confidence_is_no_press(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, 20, 1, 5);
    stage_key(&stage, "SPACE");
    stage.config.confidence = .60;
    stage.config.lines[CB_SETTING_CONFIDENCE] = 3;
    stage_reopen(&stage, 1000);
    assert_int_equal(stage_events(&stage, CB_EVENT_CONFIDENCE_SET), 1);
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(stage_events(&stage, CB_EVENT_UNDONE), 0);
    assert_true(
        stage_shows(&stage, "takes back what was done before this sitting: Oilskin green on 1"));
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(stage_events(&stage, CB_EVENT_UNDONE), 1);
    assert_true(fabs(cb_bench_facts(stage_bench(&stage)).confidence - .60) < 1e-9);
    assert_null(film(&stage, 1));
    stage.config.confidence = .70;
    stage_reopen(&stage, 1000);
    assert_int_equal(stage_events(&stage, CB_EVENT_CONFIDENCE_SET), 2);
    stage_do(&stage, CB_ACTION_REDO);
    assert_non_null(film(&stage, 1));
    assert_true(fabs(cb_bench_facts(stage_bench(&stage)).confidence - .70) < 1e-9);
    stage_fini(&stage);
}

/* Nor is the opening itself, where a bench takes over: a view that undoes its own alone has none.
 */
static void taking_over_is_no_press(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, 20, 1, 5);
    stage_key(&stage, "SPACE");
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_ROLE});
    stage_key(&stage, "F4");
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_ROLE, .writer = true});
    stage_key(&stage, "BACKSPACE");
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(stage_events(&stage, CB_EVENT_UNDONE), 0);
    stage_fini(&stage);
}

static void the_last_press_stays_ten_seconds(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, 20, 1, 5);
    stage_key(&stage, "SPACE");
    cb_rehearse_advance(stage.rehearse, 9900);
    assert_true(stage_shows(&stage, "BKSP takes it back"));
    cb_rehearse_advance(stage.rehearse, 200);
    assert_false(stage_shows(&stage, "BKSP takes it back"));
    stage_fini(&stage);
}

/* What fell due over a minute before the bench was opened is shown, not rung. */
static void how_old_news_rings(void **state)
{
    (void)state;
    static const struct {
        int late_s, pings;
    } cases[] = {{59, 1}, {61, 0}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct stage stage;
        struct cb_err err = {0};
        int64_t due_ms;
        begin(&stage, 20, 2, 1);
        stage_key(&stage, "SPACE");
        const struct cb_app *app = cb_rehearse_app(stage.rehearse);
        cb_forecast_dry(cb_app_bench(app), cb_app_learn(app), film(&stage, 1),
                        film(&stage, 1)->on_ms, &due_ms);
        const int64_t off_ms = due_ms - film(&stage, 1)->on_ms + cases[i].late_s * INT64_C(1000);
        stage_key(&stage, "q");
        cb_rehearse_advance(stage.rehearse, off_ms);
        assert_int_equal(cb_rehearse_reboot(stage.rehearse, &err), CB_OK);
        assert_int_equal(stage.pings, cases[i].pings);
        assert_int_equal(stage.pinged, 1);
        stage_fini(&stage);
    }
}

/* For its last two minutes a film is counted down by seconds, and the bell is made ready. */
static void when_seconds_count(void **state)
{
    (void)state;
    struct stage stage;
    int64_t due_ms;
    begin(&stage, 20, 2, 1);
    stage_key(&stage, "SPACE");
    const struct cb_app *app = cb_rehearse_app(stage.rehearse);
    const int64_t on_ms = film(&stage, 1)->on_ms;
    cb_forecast_dry(cb_app_bench(app), cb_app_learn(app), film(&stage, 1), on_ms, &due_ms);
    cb_rehearse_advance(stage.rehearse, due_ms - on_ms - 121500);
    assert_int_equal(stage.bell_ready, 0);
    assert_int_equal(cb_app_next_deadline(app) - cb_app_now(app).wall_ms, 1500);
    cb_rehearse_advance(stage.rehearse, 2000);
    assert_int_equal(stage.bell_ready, 1);
    assert_int_equal(cb_app_next_deadline(app) - cb_app_now(app).wall_ms, 500);
    stage_fini(&stage);
}

static void type_climate(struct stage *stage)
{
    stage_key(stage, "c");
    stage_type(stage, "23 50");
    stage_key(stage, "ENTER");
}

/* From ninety minutes on a climate is old. It is asked for when the bench was opened in the last
 * ten, or no coat was marked since, or a film takes over an hour. */
static void when_the_climate_is_asked_for(void **state)
{
    (void)state;
    static const struct {
        double climate_min, dry_min; /* how old; of a film that went on a minute ago */
        bool old, asked;
    } films[] = {
        {89.9, 100, false, false},
        {90.1, 100, true, true},
        {90.1, 39, true, true}, /* rings after 60.4 minutes */
        {90.1, 38.5, true, false},
    };
    for (size_t i = 0; i < COUNT(films); i++) {
        struct stage stage;
        begin(&stage, films[i].dry_min, 1, 2);
        type_climate(&stage);
        stage_wait(&stage, films[i].climate_min - 1);
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 1);
        assert_int_equal(stage_shows(&stage, "23C 50%, 2 h ago"), films[i].old);
        assert_int_equal(stage_shows(&stage, "the room? c, then 19.5 62"), films[i].asked);
        stage_fini(&stage);
    }
    struct stage stage;
    struct cb_err err = {0};
    begin(&stage, 20, 1, 2);
    type_climate(&stage);
    stage_key(&stage, "q");
    stage_wait(&stage, 600);
    assert_int_equal(cb_rehearse_reboot(stage.rehearse, &err), CB_OK);
    stage_wait(&stage, 9.9);
    assert_true(stage_shows(&stage, "the room? c, then 19.5 62 (23C 50%, 10 h 9 min ago)"));
    stage_wait(&stage, 20);
    assert_true(stage_shows(&stage, "the room? c, then 19.5 62"));
    stage_key(&stage, "SPACE");
    assert_false(stage_shows(&stage, "the room?"));
    stage_fini(&stage);
}

static const char *text_of(struct cb_grid *grid, struct cb_arena *arena)
{
    struct cb_str out = {0};
    cb_grid_dump(grid, &out);
    const char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    cb_grid_fini(grid);
    return text;
}

/* Who begins a unit is asked for the air, beside the first coat, unless it was told with it. */
static void whether_a_begun_unit_asks_for_the_air(void **state)
{
    (void)state;
    static const double ages_min[] = {0, 5, 90.1};
    for (size_t i = 0; i < COUNT(ages_min); i++) {
        struct world world;
        struct cb_grid grid;
        world_init(&world);
        world_do(&world, "session_opened -");
        world_do(&world, "climate_set - temp_c=23 rh_pct=50");
        world_do(&world, "answered - question=first-dry value=unknown");
        world_wait(&world, ages_min[i]);
        world_begin(&world, "u", 2, "{coatbell: 1, name: r, stages: [{name: A, technique: mask}]}");
        const struct cb_app_setup setup = {.views = cb_screens,
                                           .kinds = world_kinds(),
                                           .config = &cb_config_default,
                                           .read = world_read,
                                           .rows = 24,
                                           .columns = 80,
                                           .writer = true,
                                           .begun = "u"};
        struct cb_app *app = cb_app_new(&setup, world.now);
        cb_app_step(app, &(struct cb_input){.kind = CB_INPUT_EVENTS,
                                            .now = world.now,
                                            .events = world.log.items,
                                            .event_count = world.log.count});
        cb_grid_init(&grid, 24, 80);
        cb_screen_draw(app, &grid);
        const char *text = text_of(&grid, &world.arena);
        assert_int_equal(strstr(text, "the room? c, then 19.5 62") != NULL, ages_min[i] > 0);
        assert_non_null(strstr(text, "SPACE when "));
        cb_app_free(app);
        world_fini(&world);
    }
}

/* A pop-up keeps forty columns of a paint's name, and 120 of a unit's. */
static void how_long_a_popup_is(void **state)
{
    (void)state;
    static const struct {
        int paint, unit; /* letters */
        bool paint_whole, unit_whole;
    } cases[] = {{40, 120, true, true}, {41, 121, false, false}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct stage stage;
        struct cb_err err = {0};
        char paint[64], unit[160];
        memset(paint, 'p', sizeof paint);
        memset(unit, 'u', sizeof unit);
        paint[cases[i].paint] = unit[cases[i].unit] = '\0';
        begin(&stage, 20, 1, 0);
        assert_int_equal(cb_rehearse_begin(stage.rehearse, unit, 1, recipe_of(paint, 20, 1), &err),
                         CB_OK);
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 60);
        assert_int_equal(stage.pings, 1);
        assert_int_equal(strstr(stage.title, paint) != NULL, cases[i].paint_whole);
        assert_int_equal(strcmp(stage.body, unit) == 0, cases[i].unit_whole);
        stage_fini(&stage);
    }
}

/* What the first question takes for minutes of drying. */
static void what_the_first_question_takes(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool taken;
    } cases[] = {{"0.9", false}, {"1", true}, {"240", true}, {"241", false}, {"", true}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct stage stage;
        begin(&stage, 20, 1, 0);
        stage_key(&stage, "DOWN");
        stage_key(&stage, "ENTER");
        assert_true(stage_shows(&stage, "10")); /* figures, where the recipe does not say */
        stage_key(&stage, "ENTER");
        stage_key(&stage, "ENTER");
        stage_type(&stage, cases[i].text);
        stage_key(&stage, "ENTER");
        assert_int_equal(stage_shows(&stage, "minutes, such as 10"), !cases[i].taken);
        if (cases[i].taken) {
            assert_int_equal(cb_bench_unit(stage_bench(&stage), 0)->figures, 10);
        }
        stage_fini(&stage);
    }
}

static bool page_says(const struct cb_review_page *page, const char *text)
{
    struct cb_grid grid;
    struct cb_arena arena = {0};
    cb_grid_init(&grid, 100, 80);
    cb_review_page_draw(page, 80, &grid, NULL);
    const bool found = strstr(text_of(&grid, &arena), text) != NULL;
    cb_arena_fini(&arena);
    return found;
}

/* A figure is slow over 1.3 times the usual; a paint is worth a word from five in a hundred on. */
static void what_a_review_remarks(void **state)
{
    (void)state;
    static const struct cb_recipe recipe = {.name = "r"};
    static const struct cb_zone utc = {0};
    struct cb_learn *learn = cb_learn_new(NULL);
    struct cb_review_paint paint = {"green", "Oilskin green", CB_TECHNIQUE_BASECOAT, 9, .3};
    struct cb_review review = {.unit = "u",
                               .name = "u",
                               .figures = 3,
                               .finished = true,
                               .recipe = &recipe,
                               .session_ms = 60 * CB_MS_PER_MIN,
                               .paint_count = 1,
                               .paints = &paint};
    const struct cb_review_page page = {
        .learn = learn, .review = &review, .zone = &utc, .focus = -1};
    review.figure_ms[1] = review.figure_ms[2] = 10 * CB_MS_PER_MIN;
    review.figure_ms[3] = 13 * CB_MS_PER_MIN;
    assert_false(page_says(&page, "slow"));
    review.figure_ms[3] = 13 * CB_MS_PER_MIN + 1000;
    assert_true(page_says(&page, "slow"));
    review.finished = false;
    assert_false(page_says(&page, "slow"));
    int below = 0, above = 0;
    for (int i = 0; i < 100; i++) { /* found dry a little later each time */
        const double shift = 1 + i * .002;
        struct cb_row row = {.kind = CB_ROW_FILM,
                             .pot = "green",
                             .pot_sd = .3,
                             .median_min = 9,
                             .lo = 8 * shift,
                             .hi = 10 * shift};
        cb_learn_sync(learn, &row, 1);
        const double off = fabs(cb_learn_quantile(learn, "green", .3, 9, .5, 0) / 9 - 1);
        if (fabs(off - .05) < .005) {
            assert_int_equal(page_says(&page, "Oilskin green, basecoat: "), off >= .05);
            assert_int_equal(page_says(&page, ": 9 min, 5 % longer than was thought"), off >= .05);
            assert_int_equal(page_says(&page, "every paint dries within 5 %"), off < .05);
            below += off < .05;
            above += off >= .05;
        }
    }
    assert_true(below > 0 && above > 0);
    cb_learn_free(learn);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(how_far_back_a_count_goes),
        cmocka_unit_test(what_a_count_means),
        cmocka_unit_test(confidence_of_the_settings),
        cmocka_unit_test(confidence_is_no_press),
        cmocka_unit_test(taking_over_is_no_press),
        cmocka_unit_test(the_last_press_stays_ten_seconds),
        cmocka_unit_test(how_old_news_rings),
        cmocka_unit_test(when_seconds_count),
        cmocka_unit_test(when_the_climate_is_asked_for),
        cmocka_unit_test(whether_a_begun_unit_asks_for_the_air),
        cmocka_unit_test(how_long_a_popup_is),
        cmocka_unit_test(what_the_first_question_takes),
        cmocka_unit_test(what_a_review_remarks),
    };
    return cmocka_run_group_tests_name("bounds", tests, NULL, NULL);
}
