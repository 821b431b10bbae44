/* SPDX-License-Identifier: MIT */
/*
 * An evening of ten figures at the bench on which no coat takes or dries as long as it should: each
 * time is a log-normal number of its own. One key, for what the bench names, as soon as it can
 * truly go on; beside it one stage after the other, gone to by hand, and who knew all times before.
 * The bench is told nothing but what is on: who sees what is dry as well loses less
 * (test_plan_noise). Both evenings are kept as scripts for `play`.
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
#include "support/noisy.h"
#include "support/stage.h"

enum { SEEDS = 1, TRIES = 10000, TASKS = 1000, KEYS_MAX = 4000 };
#define SD        0.4
#define SECOND_MS 1000

/* The coats in the order in which they went on. */
struct order {
    struct cb_plan_task tasks[TASKS];
    int members[TASKS][CB_FIGURES_MAX];
    size_t count;
    struct cb_str run; /* as a script */
};

static struct order order;
static struct noisy_evening evening, hindsight, other;

static void key(struct stage *stage, const char *name)
{
    stage_key(stage, name);
    cb_str_addf(&order.run, "key %s\n", name);
}

static const struct cb_scene *scene_of(struct stage *stage)
{
    return cb_app_scene(cb_rehearse_app(stage->rehearse));
}

/* What is named is next; when it is on, by the true times. */
static double add_named(struct stage *stage, const struct noisy *noisy)
{
    const struct cb_proposal *next = &scene_of(stage)->proposal;
    const bool go = noisy->problem->stages[next->stage - 1].together != 0;
    const int count = go ? next->figure_count : 1;
    assert_true(order.count < TASKS);
    for (int i = 0; i < count; i++) {
        order.members[order.count][i] = next->figures[i] - 1;
    }
    order.tasks[order.count] = (struct cb_plan_task){.stage = next->stage - 1,
                                                     .coat = next->coat,
                                                     .figure = go ? -1 : next->figure - 1,
                                                     .member_count = (size_t)count,
                                                     .members = order.members[order.count]};
    order.count++;
    const struct cb_plan done = {.task_count = order.count, .tasks = order.tasks};
    noisy_keep_to(noisy, &done, &evening);
    return evening.tasks[evening.task_count - 1].end_min;
}

static void paint(struct stage *stage, const struct noisy *noisy, bool in_order)
{
    const struct cb_app *app = cb_rehearse_app(stage->rehearse);
    const int64_t begun_ms = cb_app_bench_now(app);
    cb_str_fini(&order.run);
    order.count = 0;
    for (int keys = 0; keys < KEYS_MAX && !scene_of(stage)->all_done;) {
        const struct cb_unit *unit = scene_of(stage)->unit;
        int wanted = 1, figure = 0;
        for (; in_order && figure == 0; wanted += figure == 0 ? 1 : 0) {
            int least = 99;
            for (int f = 1; f <= unit->figures; f++) {
                const int on = cb_bench_coats_on(unit, f, wanted);
                if (on < cb_bench_coats(unit, f, wanted) && on < least) {
                    least = on;
                    figure = f;
                }
            }
        }
        while (in_order && scene_of(stage)->proposal.stage != wanted && keys++ < KEYS_MAX) {
            key(stage, "DOWN");
        }
        while (in_order && unit->recipe->stages[wanted - 1].together == 0 &&
               scene_of(stage)->proposal.figure != figure && keys++ < KEYS_MAX) {
            key(stage, "RIGHT");
        }
        if (cb_scene_unread(scene_of(stage))) {
            key(stage, "SPACE");
            continue;
        }
        const double end_min = add_named(stage, noisy);
        const int64_t seconds = (begun_ms + (int64_t)(end_min * (double)CB_MS_PER_MIN) -
                                 cb_app_bench_now(app) + SECOND_MS - 1) /
                                SECOND_MS;
        if (seconds > 0) {
            cb_rehearse_advance(stage->rehearse, seconds * SECOND_MS);
            cb_str_addf(&order.run, "at +%llds\n", (long long)seconds);
        }
        key(stage, "SPACE");
        keys++;
    }
    assert_true(scene_of(stage)->all_done);
}

/* The road's own is gone at the next key. */
static struct cb_plan_problem copy_of(const struct cb_plan_problem *problem, struct cb_arena *arena)
{
    struct cb_plan_problem copy = *problem;
    const size_t slots = problem->stage_count * problem->figure_count;
    struct cb_plan_stage *stages = cb_arena_alloc(arena, problem->stage_count, sizeof *stages);
    struct cb_plan_slot *own = cb_arena_alloc(arena, slots, sizeof *own);
    memcpy(own, problem->slots, slots * sizeof *own);
    for (size_t s = 0; s < problem->stage_count; s++) {
        const struct cb_plan_stage *from = &problem->stages[s];
        int *needs = cb_arena_alloc(arena, from->need_count + 1, sizeof *needs);
        int *touches = cb_arena_alloc(arena, from->touch_count + 1, sizeof *touches);
        memcpy(needs, from->needs, from->need_count * sizeof *needs);
        memcpy(touches, from->touches, from->touch_count * sizeof *touches);
        stages[s] = *from;
        stages[s].needs = needs;
        stages[s].touches = touches;
    }
    copy.stages = stages;
    copy.slots = own;
    return copy;
}

static void keep(const char *name, const char *what)
{
    char path[64];
    snprintf(path, sizeof path, "tests/screen/%s.play", name);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fprintf(file,
            "# %s: made by tests/property/test_noise with KEEP=1.\n"
            "begin ../../recipes/night-watch.yaml\n%sexpect every coat is on\ndump %s-80x24.txt\n",
            what, cb_str_text(&order.run), name);
    assert_int_equal(fclose(file), 0);
}

static void the_plan_loses_far_less_than_order(void **state)
{
    (void)state;
    double followed_pct = 0, in_order_pct = 0;
    for (int seed = 1; seed <= SEEDS; seed++) {
        struct stage stage;
        struct noisy noisy;
        stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
        struct cb_arena arena = {0};
        const struct cb_road *road = cb_app_road(cb_rehearse_app(stage.rehearse));
        const struct cb_plan_problem problem = copy_of(road->problem, &arena);
        noisy_init(&noisy, &problem, SD, (uint64_t)seed);
        paint(&stage, &noisy, false);
        const double followed_min = evening.finish_min;
        noisy_hindsight(&noisy, &evening, TRIES, &hindsight);
        stage_fini(&stage);
        if (seed == 1 && getenv("KEEP")) {
            keep("noise-plan", "No time is as planned, and the bench says what to do");
        }
        stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
        paint(&stage, &noisy, true);
        if (seed == 1 && getenv("KEEP")) {
            keep("noise-order", "The same times, one stage after the other");
        }
        noisy_hindsight(&noisy, &evening, TRIES, &other);
        const double least_min =
            other.finish_min < hindsight.finish_min ? other.finish_min : hindsight.finish_min;
        print_message("evening %d: %.1f min by the plan, %.1f in order, %.1f in hindsight\n", seed,
                      followed_min, evening.finish_min, least_min);
        followed_pct += 100 * (followed_min / least_min - 1) / SEEDS;
        in_order_pct += 100 * (evening.finish_min / least_min - 1) / SEEDS;
        noisy_fini(&noisy);
        cb_arena_fini(&arena);
        cb_str_fini(&order.run);
        stage_fini(&stage);
    }
    print_message("later than in hindsight: %.2f %% by the plan, %.2f %% in order\n", followed_pct,
                  in_order_pct);
    assert_true(followed_pct < in_order_pct / 3);
    assert_true(in_order_pct > 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_plan_loses_far_less_than_order)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
