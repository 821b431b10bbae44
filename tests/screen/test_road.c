/* SPDX-License-Identifier: MIT */
/* The road: its line against the tasks of the plan, what its head says against the forecast, and
 * how it is moved. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/road.h"
#include "app/session.h"
#include "app/words.h"
#include "base/utf8.h"
#include "core/review/review.h"
#include "support/stage.h"
#include "view/grid.h"

#define SAMPLES 400 /* of a column */
#define CLOSE   .02 /* of it: so near to its half either sign will do */

static const char two_coats[] =
    "{coatbell: 1, name: Two coats, paints: {green: {name: Oilskin green}, rope: {name: Tarred "
    "rope}}, areas: {oilskin: {}, rope: {}}, stages: [{name: Oilskins, technique: basecoat, paint: "
    "green, on: oilskin, minutes: 4}, {name: Ropes, technique: basecoat, paint: rope, on: rope, "
    "minutes: 4}]}";

static const struct cb_app *app_of(struct stage *stage)
{
    return cb_rehearse_app(stage->rehearse);
}

static const struct cb_road *road_of(struct stage *stage)
{
    const struct cb_road *road = cb_app_road(app_of(stage));
    assert_non_null(road);
    return road;
}

static void look(struct stage *stage, int columns, int rows)
{
    stage_size(stage, columns, rows);
    stage_key(stage, "F3");
    assert_true(stage_shows(stage, " Road  "));
}

static uint32_t sign_at(const struct cb_grid *grid, int row, int column)
{
    return grid->cells[row * grid->columns + column].cp;
}

static const char *line_text(struct stage *stage, int row)
{
    const char *at = stage_text(stage);
    for (; row > 0; row--) {
        at = strchr(at, '\n') + 1;
    }
    return cb_arena_printf(&stage->arena, "%.*s", (int)strcspn(at, "\n"), at);
}

/* The row whose stage has that name; -1: it is not in sight. */
static int row_of(struct stage *stage, const char *name)
{
    const int rows = cb_rehearse_grid(stage->rehearse)->rows;
    for (int row = 1; row < rows - 2; row++) {
        const char *line = line_text(stage, row);
        if (line[0] && strncmp(line + 1, name, strlen(name)) == 0 &&
            strstr(line, "finished") == NULL) {
            return row;
        }
    }
    return -1;
}

/* Where the line begins: at the first label of the clock, in the row above the stages. */
static int line_column(struct stage *stage, int *clock_row)
{
    const int rows = cb_rehearse_grid(stage->rehearse)->rows;
    for (int row = 2; row < rows - 2; row++) {
        const char *line = line_text(stage, row);
        const size_t blanks = strspn(line, " ");
        if (line[0] == ' ' && blanks > 8 && line[blanks + 2] == ':') {
            *clock_row = row;
            return (int)blanks;
        }
    }
    fail_msg("no clock in:\n%s", stage_text(stage));
    return 0;
}

static int column_minutes(struct stage *stage)
{
    const char *said = strstr(stage_text(stage), "a column ");
    assert_non_null(said);
    return atoi(said + strcspn(said, "0123456789"));
}

/* How much of a column the stage is worked on, and how much its film that dries longest dries. */
static void sample(const struct cb_road *road, const struct cb_plan *plan, int stage,
                   double from_min, double column_min, double *work, double *dry)
{
    *work = *dry = 0;
    for (size_t i = 0; i < plan->task_count; i++) {
        const struct cb_plan_task *task = &plan->tasks[i];
        int working = 0, drying = 0;
        for (int k = 0; k < SAMPLES && task->stage == stage; k++) {
            const double min = from_min + (k + .5) * column_min / SAMPLES;
            working += min >= task->start_min && min < task->end_min;
            drying += min >= task->end_min && min < task->dry_min;
        }
        *work += (double)working / SAMPLES;
        *dry = fmax(*dry, (double)drying / SAMPLES);
    }
    const struct cb_plan_problem *problem = road->problem;
    for (size_t f = 0; f < problem->figure_count; f++) {
        const double wet_min = problem->slots[(size_t)stage * problem->figure_count + f].dry_min;
        *dry = fmax(*dry, fmin(1, (wet_min - from_min) / column_min));
    }
}

/* Does a coat of it begin or end so near that sampling may miss it? */
static bool is_near(const struct cb_plan *plan, int stage, double from_min, double column_min)
{
    const double near_min = CLOSE * column_min;
    for (size_t i = 0; i < plan->task_count; i++) {
        const struct cb_plan_task *task = &plan->tasks[i];
        if (task->stage == stage && task->start_min < from_min + column_min + near_min &&
            task->end_min > from_min - near_min) {
            return true;
        }
    }
    return false;
}

/* One cell, by the plan; true: it says something. */
static bool check_cell(struct stage *stage, const struct cb_plan *plan, int at, double from_min,
                       double column_min, int row, int column)
{
    const struct cb_grid *grid = cb_rehearse_grid(stage->rehearse);
    const uint32_t shown = sign_at(grid, row, column);
    double work, dry;
    sample(road_of(stage), plan, at, from_min, column_min, &work, &dry);
    if (fabs(work - .5) < CLOSE || (work < CLOSE && is_near(plan, at, from_min, column_min)) ||
        (work <= 0 && fabs(dry - .5) < CLOSE)) {
        return false;
    }
    const bool ascii = grid->ascii;
    const uint32_t expected = work > .5  ? (ascii ? '#' : 0x2588)
                              : work > 0 ? (ascii ? '-' : 0x2584)
                              : dry > .5 ? (ascii ? '.' : 0x2591)
                                         : ' ';
    if (shown != expected) {
        fail_msg("stage %d, minute %.1f, column %d: U+%04X, not U+%04X (%.2f, %.2f)\n%s", at + 1,
                 from_min, column, shown, expected, work, dry, stage_text(stage));
    }
    return shown != ' ';
}

/* Every cell in sight of a plan of one evening that begins now; how many of them say something. */
static int check_line(struct stage *stage)
{
    const struct cb_road *road = road_of(stage);
    const struct cb_recipe *recipe = cb_app_unit(app_of(stage))->recipe;
    int clock_row, said = 0;
    const int left = line_column(stage, &clock_row), column_min = column_minutes(stage);
    const int columns = cb_rehearse_grid(stage->rehearse)->columns;
    for (int s = 0; s < (int)recipe->stage_count; s++) {
        const int row = row_of(stage, recipe->stages[s].name);
        for (int c = 0; row > 0 && left + c < columns - 1; c++) {
            said += check_cell(stage, &road->nights, s, c * column_min, column_min, row, left + c);
        }
    }
    return said;
}

static void its_line_is_the_plan(void **state)
{
    (void)state;
    static const int sizes[][2] = {{120, 40}, {80, 24}};
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 40, 120, CB_PING_OFF);
    stage_key(&stage, "SPACE"); /* the caution */
    for (int round = 0; round < 3; round++) {
        for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
            look(&stage, sizes[i][0], sizes[i][1]);
            assert_true(check_line(&stage) > 40);
            for (int zoom = 0; zoom < 8; zoom++) {
                stage_key(&stage, "+");
                assert_true(check_line(&stage) > 20);
            }
            assert_int_equal(column_minutes(&stage), 1);
            assert_true(stage_shows(&stage, "closer than a minute a column it does not go"));
            for (int zoom = 0; zoom < 8; zoom++) {
                stage_key(&stage, "_");
            }
            assert_true(stage_shows(&stage, "farther away there is nothing more to see"));
        }
        stage_key(&stage, "F1");
        stage_key(&stage, "SPACE");
    }
    stage_fini(&stage);
}

/* As wide as lets all be seen: one step closer would not. */
static void at_first_all_of_it_is_in_sight(void **state)
{
    (void)state;
    static const int sizes[][2] = {{120, 40}, {80, 24}, {50, 15}};
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 40, 120, CB_PING_OFF);
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        look(&stage, sizes[i][0], sizes[i][1]);
        int clock_row;
        const int room = sizes[i][0] - 1 - line_column(&stage, &clock_row);
        const int column_min = column_minutes(&stage);
        const double finish_min = road_of(&stage)->nights.finish_min;
        assert_true(finish_min <= room * column_min);
        stage_key(&stage, "RIGHT");
        assert_true(stage_shows(&stage, "all of the time is in sight; + zooms in"));
        stage_key(&stage, "+");
        assert_true(finish_min > room * column_minutes(&stage));
        stage_key(&stage, "_");
        assert_int_equal(column_minutes(&stage), column_min);
    }
    stage_fini(&stage);
}

/* Along the time and along the stages; the last coat is the last thing to be seen. */
static void it_scrolls(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 15, 50, CB_PING_OFF);
    look(&stage, 50, 15);
    assert_true(stage_shows(&stage, "Undercoat"));
    assert_false(stage_shows(&stage, "Varnish"));
    stage_key(&stage, "DOWN");
    assert_false(stage_shows(&stage, "Undercoat"));
    stage_key(&stage, "END");
    const int row = row_of(&stage, "Varnish");
    assert_true(row > 0);
    assert_int_equal(row_of(&stage, "Panes"), row - 4);
    stage_key(&stage, "DOWN"); /* no farther */
    assert_int_equal(row_of(&stage, "Varnish"), row);
    stage_key(&stage, "+");
    assert_null(strstr(line_text(&stage, row), "\u2588"));
    for (int i = 0; i < 20; i++) {
        stage_key(&stage, "RIGHT");
    }
    assert_true(stage_shows(&stage, "the line ends here"));
    const char *line = line_text(&stage, row);
    assert_non_null(strstr(line, "\u2588\u2588"));
    assert_int_equal(sign_at(cb_rehearse_grid(stage.rehearse), row, 48), 0x2591);
    stage_key(&stage, "HOME");
    stage_key(&stage, "+"); /* nearer, and still at the end of it */
    assert_null(strstr(line_text(&stage, row_of(&stage, "Undercoat")), "\u2588"));
    stage_key(&stage, "_");
    assert_null(strstr(line_text(&stage, row_of(&stage, "Undercoat")), "\u2588"));
    for (int i = 0; i < 20; i++) {
        stage_key(&stage, "LEFT");
    }
    assert_true(row_of(&stage, "Undercoat") > 0);
    assert_non_null(strstr(line_text(&stage, row_of(&stage, "Undercoat")), "\u2588"));
    stage_fini(&stage);
}

static void set_evening(struct stage *stage, double minutes)
{
    stage->config.evening_min = minutes;
    stage_key(stage, "SPACE"); /* the caution, or a coat: planned anew */
    stage_key(stage, "u");
}

/* Each evening has columns of its own behind a divider, and what is put on in it stands there. */
static void evening_stands_beside_evening(void **state)
{
    (void)state;
    static const int sizes[][2] = {{120, 40}, {80, 24}};
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 40, 120, CB_PING_OFF);
    set_evening(&stage, 150);
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        look(&stage, sizes[i][0], sizes[i][1]);
        const struct cb_plan *plan = &road_of(&stage)->nights;
        const struct cb_grid *grid = cb_rehearse_grid(stage.rehearse);
        const int column_min = column_minutes(&stage);
        int clock_row, begins[16], evenings = 1, said = 0;
        begins[0] = line_column(&stage, &clock_row);
        for (int c = begins[0]; c < grid->columns; c++) {
            if (sign_at(grid, clock_row, c) == 0x2502) {
                begins[evenings++] = c + 1;
            }
        }
        assert_int_equal(evenings, plan->evenings);
        assert_true(evenings >= 3);
        assert_non_null(strstr(line_text(&stage, clock_row - 1), "tonight"));
        assert_non_null(
            strstr(line_text(&stage, clock_row - 1), sizes[i][0] == 120 ? "evening 3" : "\u25023"));
        double from_min = 0;
        const struct cb_recipe *recipe = cb_app_unit(app_of(&stage))->recipe;
        double evening_min, tonight_min;
        cb_roads_nights(app_of(&stage), &evening_min, &tonight_min);
        assert_true(evening_min == 150);
        for (int e = 0; e < evenings; e++) {
            const double to_min = tonight_min + e * evening_min;
            for (int s = 0; s < (int)recipe->stage_count; s++) {
                const int row = row_of(&stage, recipe->stages[s].name);
                const int columns = (int)((to_min - from_min) / column_min);
                for (int c = 0; row > 0 && c < columns && begins[e] + c < grid->columns - 1; c++) {
                    said += check_cell(&stage, plan, s, from_min + c * column_min, column_min, row,
                                       begins[e] + c);
                }
            }
            from_min = to_min;
        }
        assert_true(said > 20); /* the smallest shows half of the stages */
    }
    stage_fini(&stage);
}

static const char *about_of(const char *text, const char *before)
{
    const char *at = strstr(text, before);
    assert_non_null(at);
    return at + strlen(before);
}

/* When, from the plan; hands-on minutes, as the review says them. */
static void its_head_says_when(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
    look(&stage, 80, 24);
    char expected[64], clock[CB_CLOCK_SIZE];
    const struct cb_road *road = road_of(&stage);
    cb_time_clock(CB_REHEARSE_START_MS + (int64_t)(road->nights.finish_min * 60000), NULL, clock);
    snprintf(expected, sizeof expected, "Without a break finished tomorrow, at %s", clock);
    if (!stage_shows(&stage, expected)) {
        fail_msg("not there: %s\n%s", expected, stage_text(&stage));
    }
    assert_true(stage_shows(&stage, "The day is named once 3 evenings are on record"));
    char *about = cb_arena_text(&stage.arena, about_of(stage_text(&stage), "Hands-on to go: "));
    about[strcspn(about, "\n;")] = '\0';
    stage_key(&stage, "F5");
    assert_true(stage_shows(&stage, cb_arena_printf(&stage.arena, "hands-on: %s", about)));
    stage_key(&stage, "F1");
    /* with the length of an evening, by the calendar: Monday and about nine hours of work */
    set_evening(&stage, 150);
    look(&stage, 80, 24);
    assert_true(stage_shows(&stage, " Finished on Thursday 8 January, about "));
    assert_true(stage_shows(&stage, "(likely "));
    assert_true(stage_shows(&stage, " evenings, one a day"));
    assert_false(stage_shows(&stage, "The day is named"));
    stage_fini(&stage);
}

/* From three evenings on the day is named by them, a range beside it. */
static void evenings_on_record_name_the_day(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    for (int evening = 0; evening < 5; evening++) {
        look(&stage, 80, 24);
        if (evening < 3) {
            assert_true(stage_shows(&stage, "The day is named once 3 evenings are on record"));
        }
        if (evening > 3) { /* the one under way is no habit yet */
            assert_true(stage_shows(&stage, " Finished on "));
            assert_true(stage_shows(&stage, ", about "));
            assert_true(stage_shows(&stage, " (likely "));
            assert_true(stage_shows(&stage, " evenings"));
            assert_false(stage_shows(&stage, "one a day"));
            assert_false(stage_shows(&stage, "The day is named"));
        }
        stage_key(&stage, "F1");
        for (int coat = 0; coat < 5; coat++) {
            stage_key(&stage, "SPACE");
            stage_wait(&stage, 20);
        }
        stage_reopen(&stage, 22 * 60 * CB_MS_PER_MIN);
        stage_key(&stage, "ESC");
    }
    stage_fini(&stage);
}

/* What keeping to the paint on the brush and to the order of the recipe costs is said from half a
 * minute on, as it is. */
static void it_says_what_the_rule_of_the_brush_costs(void **state)
{
    (void)state;
    struct stage stage;
    int said = 0, unsaid = 0;
    stage_init(&stage, "night-watch.yaml", 4, 24, 80, CB_PING_OFF);
    for (int press = 0; press < 60; press++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 1);
        look(&stage, 80, 24);
        const struct cb_road *road = road_of(&stage);
        if (road->rule_min > .5) {
            assert_true(stage_shows(
                &stage, cb_arena_printf(&stage.arena,
                                        " Keeping to brush and recipe order ends %.0f min later",
                                        fmax(1, round(road->rule_min)))));
            said++;
        } else {
            assert_false(stage_shows(&stage, "Keeping to brush"));
            unsaid++;
        }
        stage_key(&stage, "F1");
    }
    assert_true(said > 0 && unsaid > 0);
    stage_fini(&stage);
}

/* Who has not marked the first coat when its time is over moves all of it along. */
static void who_is_late_moves_it_along(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, two_coats, 2, 24, 80, CB_PING_OFF);
    look(&stage, 80, 24);
    int clock_row;
    const struct cb_road *road = road_of(&stage);
    const int64_t from_ms = road->from_ms;
    const double finish_min = road->nights.finish_min, end_min = road->nights.tasks[0].end_min;
    const int before = line_column(&stage, &clock_row);
    assert_non_null(strstr(line_text(&stage, clock_row), "18:00"));
    for (int late = 0; late < 3; late++) {
        char begins[CB_CLOCK_SIZE], ends[CB_CLOCK_SIZE];
        stage_wait(&stage, late == 0 ? end_min : 7);
        assert_true(road_of(&stage)->from_ms == from_ms);
        const int64_t moved_ms = CB_REHEARSE_START_MS + late * 7 * CB_MS_PER_MIN;
        cb_time_clock(moved_ms + (int64_t)(road_of(&stage)->nights.tasks[0].start_min * 60000),
                      NULL, begins);
        cb_time_clock(moved_ms + (int64_t)(finish_min * 60000), NULL, ends);
        assert_non_null(strstr(line_text(&stage, clock_row), begins));
        assert_int_equal(line_column(&stage, &clock_row), before);
        assert_true(
            stage_shows(&stage, cb_arena_printf(&stage.arena, "finished today, at %s", ends)));
        /* the coat in hand is seen whole: two figures of four minutes */
        const char *line = line_text(&stage, row_of(&stage, "Oilskins"));
        assert_non_null(strstr(line, "2 left \u2588\u2588\u2588\u2588\u2588\u2588\u2588\u2588"
                                     "\u2591"));
    }
    stage_fini(&stage);
}

/* The day and the minute move along too; what is wet dries by the clock all the same. */
static void what_is_wet_is_not_late(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, two_coats, 2, 24, 80, CB_PING_OFF);
    stage.config.evening_min = 150;
    stage_key(&stage, "SPACE");
    stage_key(&stage, "SPACE");
    look(&stage, 80, 24);
    const struct cb_plan_task first = road_of(&stage)->nights.tasks[0];
    assert_int_equal(first.stage, 1);
    const double dry_min = road_of(&stage)->problem->slots[0].dry_min;
    stage_wait(&stage, first.end_min);
    int ends[2];
    for (int late = 0; late < 2; late++) {
        const char *line = line_text(&stage, row_of(&stage, "Oilskins"));
        int dries = 0;
        for (const char *at = line; (at = strstr(at, "\u2591")); at++) {
            dries++;
        }
        assert_int_equal(dries, (int)floor(dry_min - first.start_min - 2 * late + .5));
        const char *said = strstr(stage_text(&stage), "Finished today, about ");
        assert_non_null(said);
        ends[late] = atoi(said + 22) * 60 + atoi(said + 25);
        stage_wait(&stage, 2);
    }
    assert_int_equal(ends[1] - ends[0], 2);
    stage_fini(&stage);
}

static void where_nothing_is_to_plan_it_says_why(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, two_coats, 0, 24, 80, CB_PING_OFF);
    look(&stage, 80, 24);
    assert_true(stage_shows(&stage, "No unit is on the bench; o begins one"));
    stage_key(&stage, "+");
    assert_true(stage_shows(&stage, "there is no time line to look at"));
    stage_fini(&stage);

    stage_init_text(&stage, two_coats, 1, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 20);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 1);
    look(&stage, 80, 24);
    char due[CB_CLOCK_SIZE];
    cb_time_clock(CB_REHEARSE_START_MS + 20 * CB_MS_PER_MIN +
                      (int64_t)((cb_app_road(app_of(&stage))->problem->slots[1].dry_min) * 60000),
                  NULL, due);
    assert_true(stage_shows(
        &stage, cb_arena_printf(&stage.arena, "Every coat is on; dry today, at %s", due)));
    assert_non_null(strstr(line_text(&stage, row_of(&stage, "Ropes")), "all on \u2591\u2591"));
    stage_wait(&stage, 60);
    assert_true(stage_shows(&stage, "Every coat is on and dry; f finishes the unit"));
    assert_int_equal(row_of(&stage, "Ropes"), -1);
    stage_fini(&stage);

    stage_init_text(&stage, two_coats, 1, 24, 80, CB_PING_OFF);
    stage_key(&stage, "k");
    look(&stage, 80, 24);
    assert_true(stage_shows(&stage, "Nothing is left but what parked figures lack"));
    stage_fini(&stage);

    stage_init_text(&stage, two_coats, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "c");
    stage_type(&stage, "3 50");
    stage_key(&stage, "ENTER");
    look(&stage, 80, 24);
    assert_true(
        stage_shows(&stage, "No end in sight: Oilskins stands still, too cold or too damp"));
    assert_false(stage_shows(&stage, "inished"));
    assert_false(stage_shows(&stage, "The day is named"));
    stage_fini(&stage);
}

static void other_units_are_not_in_it(void **state)
{
    (void)state;
    struct stage stage;
    struct cb_err err = {0};
    stage_init_text(&stage, two_coats, 2, 24, 80, CB_PING_OFF);
    look(&stage, 80, 24);
    assert_false(stage_shows(&stage, "not in this"));
    for (int i = 0; i < 2; i++) {
        stage_wait(&stage, 1);
        const char *name = i == 0 ? "Orchard wardens" : "Gate wardens";
        assert_int_equal(cb_rehearse_begin(stage.rehearse, name, 2, two_coats, &err), CB_OK);
        look(&stage, 80, 24);
        assert_true(stage_shows(&stage, i == 0 ? "sample waits as well: not in this"
                                               : " and 1 more wait as well: not in this"));
    }
    stage_fini(&stage);
}

/* In one colour too: hands-on, in part and drying are signs of their own. */
static void ascii_says_the_same(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 40, 120, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage.config.ascii = true;
    look(&stage, 80, 24);
    assert_true(check_line(&stage) > 40);
    assert_true(stage_shows(&stage, " # hands-on  - in part  . drying  a column is "));
    for (const char *at = stage_text(&stage); *at; at++) {
        assert_true((unsigned char)*at < 0x80);
    }
    stage_fini(&stage);
    stage_init(&stage, "night-watch.yaml", 10, 40, 120, CB_PING_OFF);
    look(&stage, 80, 24);
    assert_true(stage_shows(&stage, " \u2588 hands-on  \u2584 in part  \u2591 drying"));
    stage_fini(&stage);
}

/* Beside the board at 120x40, two hours of what is next, in columns of three minutes. */
static void the_wide_bench_shows_the_next_two_hours(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 40, 120, CB_PING_OFF);
    stage.config.evening_min = 60; /* the bench sits on */
    stage_key(&stage, "SPACE");
    for (int round = 0; round < 2; round++) {
        const struct cb_plan *plan = &road_of(&stage)->plan;
        const struct cb_grid *grid = cb_rehearse_grid(stage.rehearse);
        const struct cb_recipe *recipe = cb_app_unit(app_of(&stage))->recipe;
        int head = 0, said = 0;
        while (!strstr(line_text(&stage, head), " STAGE ")) {
            head++;
        }
        const char *line = line_text(&stage, head);
        const char *clock = strchr(line, ':') - 2;
        char *before = cb_arena_printf(&stage.arena, "%.*s", (int)(clock - line), line);
        const int left = cb_utf8_text_width(before);
        for (int s = 0; s < (int)recipe->stage_count; s++) {
            for (int c = 0; c < 40; c++) {
                said += check_cell(&stage, plan, s, 3 * c, 3, head + 1 + s, left + c);
            }
            for (int c = 40; left + c < grid->columns - 12; c++) {
                assert_int_equal(sign_at(grid, head + 1 + s, left + c), ' ');
            }
        }
        assert_true(said > 40);
        stage_key(&stage, "SPACE");
    }
    stage_size(&stage, 80, 24);
    assert_false(stage_shows(&stage, "\u2591\u2591"));
    stage_fini(&stage);
}

/* What idle time finds takes the place of the line: it holds nothing of the one before. */
static void idle_time_betters_it(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 40, 120, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "SPACE");
    look(&stage, 120, 40);
    for (int i = 0; i < 20; i++) {
        stage_wait(&stage, .05);
        assert_true(road_of(&stage)->nights.task_count > 0);
        stage_text(&stage);
    }
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(its_line_is_the_plan),
        cmocka_unit_test(at_first_all_of_it_is_in_sight),
        cmocka_unit_test(it_scrolls),
        cmocka_unit_test(evening_stands_beside_evening),
        cmocka_unit_test(its_head_says_when),
        cmocka_unit_test(evenings_on_record_name_the_day),
        cmocka_unit_test(it_says_what_the_rule_of_the_brush_costs),
        cmocka_unit_test(who_is_late_moves_it_along),
        cmocka_unit_test(what_is_wet_is_not_late),
        cmocka_unit_test(where_nothing_is_to_plan_it_says_why),
        cmocka_unit_test(other_units_are_not_in_it),
        cmocka_unit_test(ascii_says_the_same),
        cmocka_unit_test(the_wide_bench_shows_the_next_two_hours),
        cmocka_unit_test(idle_time_betters_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
