/* SPDX-License-Identifier: MIT */
/* A whole unit with one key: SPACE, each time what the screen names has been painted. */
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
#include "core/bench/forecast.h"
#include "support/events.h"
#include "support/stage.h"

#define PRESSES_MAX 2000

static const struct cb_app *app_of(struct stage *stage)
{
    return cb_rehearse_app(stage->rehearse);
}

struct evening {
    double forecast_min, finish_min; /* of the last film, from the beginning */
    int presses, changes;
    double waiting_min;
};

/* Hands-on as the recipe has it, a change of paint before, from when the coat can go on. */
static void paint(struct stage *stage, struct evening *out)
{
    const struct cb_app *app = app_of(stage);
    const int64_t begun_ms = cb_app_bench_now(app);
    const struct cb_road *road = cb_app_road(app);
    *out = (struct evening){.forecast_min = road->plan.finish_min};
    int64_t free_ms = begun_ms;
    for (; out->presses < PRESSES_MAX; out->presses++) {
        const struct cb_scene *scene = cb_app_scene(app);
        if (scene->all_done) {
            break;
        }
        if (cb_scene_unread(scene)) {
            stage_key(stage, "SPACE");
            continue;
        }
        assert_true(scene->proposal.any);
        const struct cb_scene_at named = {scene->proposal.figure, scene->proposal.stage,
                                          scene->proposal.coat};
        const double work_min = cb_stage_minutes(scene->stage, stage->kinds);
        const bool change = scene->proposal.change_paint;
        const int64_t change_ms =
            change ? (int64_t)(scene->unit->recipe->change_min * (double)CB_MS_PER_MIN) : 0;
        int64_t from_ms = free_ms + change_ms;
        if (scene->anyway && scene->ready_ms > from_ms) {
            out->waiting_min += (double)(scene->ready_ms - from_ms) / (double)CB_MS_PER_MIN;
            from_ms = scene->ready_ms;
        }
        const int64_t press_ms = from_ms + (int64_t)(work_min * (double)CB_MS_PER_MIN);
        cb_rehearse_advance(stage->rehearse, press_ms - cb_app_bench_now(app));
        const struct cb_scene *now = cb_app_scene(app);
        assert_false(now->anyway);
        assert_false(now->proposal.thought_wet);
        assert_int_equal(now->proposal.figure, named.figure);
        assert_int_equal(now->proposal.stage, named.stage);
        assert_int_equal(now->proposal.coat, named.coat);
        out->changes += change;
        stage_key(stage, "SPACE");
        free_ms = press_ms;
        assert_non_null(cb_bench_film(cb_bench_unit(stage_bench(stage), 0), named.figure,
                                      named.stage, named.coat));
    }
    const struct cb_unit *unit = cb_bench_unit(stage_bench(stage), 0);
    for (size_t i = 0; i < unit->film_count; i++) {
        int64_t due_ms;
        cb_forecast_dry(stage_bench(stage), cb_app_learn(app), &unit->films[i],
                        cb_app_bench_now(app), &due_ms);
        const double min = (double)(due_ms - begun_ms) / (double)CB_MS_PER_MIN;
        out->finish_min = min > out->finish_min ? min : out->finish_min;
    }
}

static void ten_figures(void **state)
{
    (void)state;
    static const char *const recipes[] = {"night-watch.yaml", "league-pikemen.yaml",
                                          "marsh-troll.yaml"};
    for (size_t i = 0; i < sizeof recipes / sizeof *recipes; i++) {
        struct stage stage;
        struct evening evening;
        stage_init(&stage, recipes[i], i == 2 ? 1 : 10, 24, 80, CB_PING_NEEDED);
        paint(&stage, &evening);
        print_message(
            "%s: forecast %.1f, finished %.1f (%+.2f %%), %d presses, %d changes, %.0f min "
            "of waiting\n",
            recipes[i], evening.forecast_min, evening.finish_min,
            100 * (evening.finish_min / evening.forecast_min - 1), evening.presses, evening.changes,
            evening.waiting_min);
        stage_fini(&stage);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(ten_figures)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
