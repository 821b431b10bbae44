/* SPDX-License-Identifier: MIT */
/*
 * A whole unit with one key: SPACE, each time what the screen names has been painted. And the same
 * evening once by the plan and once by the plain rule that stood before it, the earliest stage
 * first.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/look.h"
#include "app/road.h"
#include "base/str.h"
#include "core/bench/forecast.h"
#include "support/stage.h"

#define PRESSES_MAX 2000
#define SECOND_MS   1000
#define SCRIPT      "tests/screen/one-button.play"

struct evening {
    double forecast_min, finish_min; /* of the last film, from the beginning */
    double waiting_min;
    int changes;
    int steps;         /* SPACE, and what was waited before it */
    struct cb_str run; /* the steps as a script for `play` */
};

static const struct cb_app *app_of(struct stage *stage)
{
    return cb_rehearse_app(stage->rehearse);
}

static int64_t in_ms(double minutes)
{
    return (int64_t)(minutes * (double)CB_MS_PER_MIN);
}

static void press(struct stage *stage, struct evening *evening)
{
    stage_key(stage, "SPACE");
    cb_str_add(&evening->run, "key SPACE\n");
    evening->steps++;
}

static void wait_until(struct stage *stage, struct evening *evening, int64_t at_ms)
{
    const int64_t ms = at_ms - cb_app_bench_now(app_of(stage));
    if (ms > 0) {
        cb_rehearse_advance(stage->rehearse, ms);
        cb_str_addf(&evening->run, "at +%llds\n", (long long)(ms / SECOND_MS));
    }
}

/* The sentence says which coat SPACE is about to mark. */
static void assert_said(struct stage *stage, const struct cb_scene *scene)
{
    const struct cb_proposal *named = &scene->proposal;
    const size_t count = named->together ? (size_t)named->figure_count : 1;
    const char *said = cb_arena_printf(
        &stage->arena, "%s figure%s %s", cb_words_upon(scene->unit, named->stage),
        count > 1 ? "s" : "", cb_words_figures(&stage->arena, named->figures, count));
    if (!stage_shows(stage, said) ||
        !stage_shows(stage, cb_words_paint(scene->unit, named->stage))) {
        fail_msg("not said: %s\n%s", said, stage_text(stage));
    }
}

/* When the brush can go to the coat, the paint on it and the film below dry. */
static int64_t begins_ms(const struct cb_scene *scene, int64_t free_ms, struct evening *evening)
{
    const double change_min = scene->proposal.change_paint ? scene->unit->recipe->change_min : 0;
    const int64_t from_ms = free_ms + in_ms(change_min);
    evening->changes += scene->proposal.change_paint;
    if (scene->anyway && scene->ready_ms > from_ms) {
        evening->waiting_min += (double)(scene->ready_ms - from_ms) / (double)CB_MS_PER_MIN;
        return scene->ready_ms;
    }
    return from_ms;
}

static int64_t whole_second(int64_t ms)
{
    return (ms + SECOND_MS - 1) / SECOND_MS * SECOND_MS;
}

/* To the end: what is named before the time is what is named then, and what is written. */
static void paint(struct stage *stage, int64_t until_ms, struct evening *evening)
{
    const struct cb_app *app = app_of(stage);
    const int64_t begun_ms = cb_app_bench_now(app);
    int64_t free_ms = begun_ms;
    *evening = (struct evening){.forecast_min = cb_app_road(app)->plan.finish_min};
    while (!cb_app_scene(app)->all_done && evening->steps < PRESSES_MAX && free_ms < until_ms) {
        const struct cb_scene *scene = cb_app_scene(app);
        if (cb_scene_unread(scene)) {
            press(stage, evening);
            continue;
        }
        assert_true(scene->proposal.any);
        assert_said(stage, scene);
        const struct cb_scene_at named = {scene->proposal.figure, scene->proposal.stage,
                                          scene->proposal.coat};
        const double work_min = cb_stage_minutes(scene->stage, stage->kinds);
        free_ms = whole_second(begins_ms(scene, free_ms, evening) + in_ms(work_min));
        wait_until(stage, evening, free_ms);
        scene = cb_app_scene(app);
        assert_false(scene->anyway || scene->proposal.thought_wet);
        assert_int_equal(scene->proposal.figure, named.figure);
        assert_int_equal(scene->proposal.stage, named.stage);
        assert_int_equal(scene->proposal.coat, named.coat);
        assert_said(stage, scene);
        const size_t films = scene->unit->film_count;
        const size_t count =
            scene->proposal.together ? (size_t)scene->proposal.figure_count : (size_t)1;
        press(stage, evening);
        const struct cb_unit *unit = cb_bench_unit(stage_bench(stage), 0);
        const struct cb_film *film = cb_bench_film(unit, named.figure, named.stage, named.coat);
        assert_non_null(film);
        assert_int_equal(unit->film_count, films + count);
        assert_true(
            cb_scene_chance_below(stage_bench(stage), cb_app_learn(app), unit, film, NULL) >= 1);
    }
    const struct cb_unit *unit = cb_bench_unit(stage_bench(stage), 0);
    for (size_t i = 0; i < unit->film_count; i++) {
        int64_t due_ms;
        cb_forecast_dry(stage_bench(stage), cb_app_learn(app), &unit->films[i],
                        cb_app_bench_now(app), &due_ms);
        const double min = (double)(due_ms - begun_ms) / (double)CB_MS_PER_MIN;
        evening->finish_min = min > evening->finish_min ? min : evening->finish_min;
    }
}

/* As the bench named it before there was a plan: go there by hand. */
static void paint_plainly(struct stage *stage, int64_t until_ms, struct evening *evening)
{
    const struct cb_app *app = app_of(stage);
    int64_t free_ms = cb_app_bench_now(app);
    *evening = (struct evening){0};
    while (!cb_app_scene(app)->all_done && evening->steps < PRESSES_MAX && free_ms < until_ms) {
        const struct cb_unit *unit = cb_bench_unit(stage_bench(stage), 0);
        const struct cb_proposal next = cb_next_propose(stage_bench(stage), cb_app_learn(app), unit,
                                                        0, 0, cb_app_bench_now(app));
        if (!next.any) {
            assert_true(next.ready_ms > cb_app_bench_now(app));
            evening->waiting_min += next.ready_ms > free_ms
                                        ? (double)(next.ready_ms - free_ms) / (double)CB_MS_PER_MIN
                                        : 0;
            free_ms = next.ready_ms > free_ms ? next.ready_ms : free_ms;
            wait_until(stage, evening, whole_second(free_ms));
            continue;
        }
        stage_go(stage, next.stage);
        for (int i = 0; i < unit->figures && !next.together &&
                        cb_app_scene(app)->proposal.figure != next.figure;
             i++) {
            stage_key(stage, "RIGHT");
        }
        const struct cb_scene *scene = cb_app_scene(app);
        if (cb_scene_unread(scene)) {
            press(stage, evening);
            continue;
        }
        const double change_min = next.change_paint ? unit->recipe->change_min : 0;
        evening->changes += next.change_paint;
        free_ms = whole_second(free_ms +
                               in_ms(change_min + cb_stage_minutes(scene->stage, stage->kinds)));
        wait_until(stage, evening, free_ms);
        press(stage, evening);
        stage_key(stage, "ESC");
    }
    evening->finish_min = (double)free_ms / (double)CB_MS_PER_MIN;
}

/* The steps of the script that is kept, which `coatbell play` runs with the other screens. */
static char *kept_steps(struct cb_arena *arena)
{
    struct cb_str steps = {0};
    char line[256];
    FILE *file = fopen(SCRIPT, "r");
    while (file && fgets(line, sizeof line, file)) {
        if (strncmp(line, "key ", 4) == 0 || strncmp(line, "at ", 3) == 0) {
            cb_str_add(&steps, line);
        }
    }
    if (file) {
        assert_int_equal(fclose(file), 0);
    }
    char *text = cb_arena_text(arena, cb_str_text(&steps));
    cb_str_fini(&steps);
    return text;
}

static void keep(const struct evening *evening)
{
    FILE *file = fopen(SCRIPT, "w");
    assert_non_null(file);
    fprintf(file,
            "# SPDX-License-Identifier: MIT\n"
            "# Ten figures with one key: made by tests/property/test_one_button with KEEP=1.\n"
            "begin ../../recipes/night-watch.yaml\n%sexpect every coat is on\ndump "
            "one-button-80x24.txt\n",
            cb_str_text(&evening->run));
    assert_int_equal(fclose(file), 0);
}

static void one_key_is_enough(void **state)
{
    (void)state;
    static const struct {
        const char *recipe;
        int figures;
    } units[] = {{"night-watch.yaml", 10}, {"league-pikemen.yaml", 5}, {"marsh-troll.yaml", 1}};
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        struct stage stage;
        struct evening evening;
        stage_init(&stage, units[i].recipe, units[i].figures, 24, 80, CB_PING_NEEDED);
        paint(&stage, INT64_MAX, &evening);
        print_message("%s, %d: forecast %.1f min, finished after %.1f (%+.2f %%), %d presses\n",
                      units[i].recipe, units[i].figures, evening.forecast_min, evening.finish_min,
                      100 * (evening.finish_min / evening.forecast_min - 1), evening.steps);
        assert_true(cb_app_scene(app_of(&stage))->all_done);
        assert_true(evening.finish_min <= 1.03 * evening.forecast_min);
        assert_true(evening.finish_min >= 0.97 * evening.forecast_min);
        if (i == 0 && getenv("KEEP")) {
            keep(&evening);
        } else if (i == 0) {
            assert_string_equal(kept_steps(&stage.arena), cb_str_text(&evening.run));
        }
        cb_str_fini(&evening.run);
        stage_fini(&stage);
    }
}

/* The demo's evening of four hours, and the whole unit. */
static void the_plan_against_the_plain_rule(void **state)
{
    (void)state;
    static const double minutes[] = {240, 1e6};
    for (size_t i = 0; i < sizeof minutes / sizeof *minutes; i++) {
        struct stage stage;
        struct evening planned, plain;
        stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
        const int64_t until_ms = cb_app_bench_now(app_of(&stage)) + in_ms(minutes[i]);
        paint(&stage, until_ms, &planned);
        stage_fini(&stage);
        stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
        paint_plainly(&stage, until_ms, &plain);
        stage_fini(&stage);
        print_message("%s: %d changes of paint, %.0f min of waiting, %d presses by the plan; %d, "
                      "%.0f and %d by the plain rule\n",
                      i == 0 ? "four hours" : "to the end", planned.changes, planned.waiting_min,
                      planned.steps, plain.changes, plain.waiting_min, plain.steps);
        assert_true(planned.waiting_min <= plain.waiting_min);
        assert_true(i > 0 ? planned.changes <= plain.changes : planned.changes < plain.changes);
        cb_str_fini(&planned.run);
        cb_str_fini(&plain.run);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(one_key_is_enough),
                                       cmocka_unit_test(the_plan_against_the_plain_rule)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
