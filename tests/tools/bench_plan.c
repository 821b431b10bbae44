/* SPDX-License-Identifier: MIT */
/*
 * What the plan is worth and what it costs: how far from proven optima and from the bound, by how
 * many simulations; then the processor time of a forecast and of a decision at 2400 tasks.
 * bench_plan [RECIPES]; seeded, the same table each time but for the times.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "core/plan/plan_recipe.h"
#include "shell/paths.h"
#include "shell/recipe_file.h"
#include "support/bench.h"
#include "support/plan_case.h"

#define SEED 1
enum {
    BUDGETS = 4,
    ROUNDS = 15,
    DECISION = 26 /* strict order, what went before, the weightings */
};
static const size_t budgets[BUDGETS] = {1, 25, 300, 3000};

static struct plan_case recipe;
static struct cb_arena arena;
static const struct cb_kinds *kinds;
static char folder[64];

static double cpu_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

/* The case as the program would have it; its recipe lies in the arena. */
static struct cb_plan_problem problem_of(void)
{
    static const struct cb_climate standard = {23, 50, CB_AIR_STILL};
    static struct cb_plan_times times[CB_RECIPE_MAX];
    const struct cb_plan_taught nothing = {0};
    struct cb_recipe_file file;
    struct cb_err err = {0};
    char path[96];
    snprintf(path, sizeof path, "%s/plan.yaml", folder);
    if (!plan_case_write(&recipe, path) ||
        cb_recipe_file_read(path, kinds, &arena, &file, &err) != CB_OK) {
        fprintf(stderr, "%s\n", err.text);
        exit(1);
    }
    for (size_t s = 0; s < file.recipe->stage_count; s++) {
        times[s] = cb_plan_times_of(kinds, file.recipe, s, &standard, &nothing);
    }
    return cb_plan_of_recipe(kinds, file.recipe, recipe.figures, times, &arena);
}

struct worth {
    double gap_pct[BUDGETS], worst_pct[BUDGETS];
    int paint_changes, paints;
};

/* Adds how far from `least` the plan of each budget is. */
static void add(struct worth *worth, const struct cb_plan_problem *problem, double least_min)
{
    struct cb_plan_search *search = cb_plan_search_new(problem, SEED);
    size_t done = 0;
    for (int b = 0; b < BUDGETS; b++) {
        cb_plan_search_go(search, budgets[b] - done);
        done = budgets[b];
        const struct cb_plan plan = cb_plan_search_best(search, &arena);
        const double gap_pct = 100 * (plan.finish_min / least_min - 1);
        worth->gap_pct[b] += gap_pct;
        worth->worst_pct[b] = gap_pct > worth->worst_pct[b] ? gap_pct : worth->worst_pct[b];
        worth->paint_changes += b == BUDGETS - 1 ? plan.paint_changes : 0;
    }
    for (int p = 0; p < recipe.paint_count; p++) {
        bool used = false;
        for (int s = 0; s < recipe.stage_count; s++) {
            used |= recipe.stages[s].paint == p;
        }
        worth->paints += used ? 1 : 0;
    }
    cb_plan_search_free(search);
    cb_arena_fini(&arena);
}

static void line(const char *what, const struct worth *worth, int count)
{
    printf("%-30s", what);
    for (int b = 0; b < BUDGETS; b++) {
        printf(" %6.2f /%6.2f", worth->gap_pct[b] / count, worth->worst_pct[b]);
    }
    printf("   %.2f\n", (double)worth->paint_changes / worth->paints);
    fflush(stdout);
}

static void instances(void)
{
    static const char *const names[] = {"o1_2s-touch", "o2_3s-free",  "o3_4s-touch",
                                        "o4_4s-free",  "o5_5s-touch", "o6_10m-bound"};
    struct worth all = {0};
    printf("\nabove the proven optimum, %%: mean / worst\n");
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct worth one = {0};
        char path[96];
        snprintf(path, sizeof path, "tests/reference/plan/%s.json", names[i]);
        if (!plan_case_read(&recipe, path)) {
            exit(1);
        }
        const struct cb_plan_problem problem = problem_of();
        add(&one, &problem, recipe.optimum_min);
        line(names[i], &one, 1);
        for (int b = 0; b < BUDGETS; b++) {
            all.gap_pct[b] += one.gap_pct[b];
            all.worst_pct[b] =
                one.gap_pct[b] > all.worst_pct[b] ? one.gap_pct[b] : all.worst_pct[b];
        }
        all.paint_changes += one.paint_changes;
        all.paints += one.paints;
    }
    line("all", &all, (int)(sizeof names / sizeof *names));
}

static void seeded(int recipes)
{
    static const int figures[] = {1, 3, 6, 10, 20, 40};
    printf("\nabove the bound, %%, %d seeded recipes of any shape: mean / worst\n", recipes);
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
        struct worth worth = {0};
        char what[32];
        for (int seed = 1; seed <= recipes; seed++) {
            plan_case_random(&recipe, (uint64_t)seed, figures[i]);
            const struct cb_plan_problem problem = problem_of();
            add(&worth, &problem, cb_plan_bound_min(&problem));
        }
        snprintf(what, sizeof what, "%d figures", figures[i]);
        line(what, &worth, recipes);
    }
}

/* What calm costs: 3 minutes a change. */
static void calm(int recipes)
{
    double later = 0;
    int changes = 0, calm_changes = 0;
    for (int seed = 1; seed <= recipes; seed++) {
        plan_case_random(&recipe, (uint64_t)seed, 10);
        struct cb_plan_problem problem = problem_of();
        struct cb_plan plans[2];
        for (int k = 0; k < 2; k++) {
            problem.calm_min = k * 3.0;
            struct cb_plan_search *search = cb_plan_search_new(&problem, SEED);
            cb_plan_search_go(search, 3000);
            plans[k] = cb_plan_search_best(search, &arena);
            cb_plan_search_free(search);
        }
        later += 100 * (plans[1].finish_min / plans[0].finish_min - 1) / recipes;
        changes += plans[0].paint_changes;
        calm_changes += plans[1].paint_changes;
        cb_arena_fini(&arena);
    }
    printf("\ncalm, ten figures: %.2f %% later, %d changes of paint instead of %d\n", later,
           calm_changes, changes);
}

/* A recipe of about so many coats: the first of the seeds. */
static size_t large(size_t wanted, struct cb_plan_problem *problem)
{
    for (uint64_t seed = 1;; seed++) {
        size_t tasks = 0;
        plan_case_random(&recipe, seed, 99);
        for (int s = 0; s < recipe.stage_count; s++) {
            tasks += (size_t)recipe.stages[s].coats *
                     (recipe.stages[s].together > 0 ? 1 : (size_t)recipe.figures);
        }
        if (tasks >= wanted && tasks < wanted + wanted / 20) {
            *problem = problem_of();
            return tasks;
        }
    }
}

static void times(void)
{
    struct cb_plan_problem problem;
    double forecast[ROUNDS], decision[ROUNDS], bound[ROUNDS];
    const size_t tasks = large(2400, &problem);
    printf("\nprocessor time, %zu tasks (%d stages, %d figures)\n", tasks, recipe.stage_count,
           recipe.figures);
    struct cb_plan_search *before = cb_plan_search_new(&problem, SEED);
    cb_plan_search_go(before, 300);
    for (int i = 0; i < ROUNDS; i++) {
        double start = cpu_ms();
        struct cb_plan_search *search = cb_plan_search_new(&problem, SEED);
        cb_plan_search_follow(search, before);
        cb_plan_search_go(search, 1);
        (void)cb_plan_search_best(search, &arena);
        forecast[i] = cpu_ms() - start;
        cb_plan_search_free(search);
        start = cpu_ms();
        search = cb_plan_search_new(&problem, SEED);
        cb_plan_search_follow(search, before);
        cb_plan_search_go(search, DECISION);
        (void)cb_plan_search_best(search, &arena);
        decision[i] = cpu_ms() - start;
        cb_plan_search_free(search);
        start = cpu_ms();
        (void)cb_plan_bound_min(&problem);
        bound[i] = cpu_ms() - start;
    }
    cb_plan_search_free(before);
    cb_arena_fini(&arena);
    bench_report("a forecast", forecast, ROUNDS, "aim: 2 ms");
    bench_report("a decision, 26 simulations", decision, ROUNDS, "aim: 5 ms");
    bench_report("the bound", bound, ROUNDS, "");
}

int main(int argc, char **argv)
{
    const int recipes = argc > 1 ? atoi(argv[1]) : 60;
    struct cb_arena of_kinds = {0};
    struct cb_err err = {0};
    snprintf(folder, sizeof folder, "/tmp/bench_plan.XXXXXX");
    if (mkdtemp(folder) == NULL || cb_paths_kinds(&of_kinds, &kinds, &err) != CB_OK) {
        fprintf(stderr, "%s\n", err.text);
        return 1;
    }
    printf("simulations:                   ");
    for (int b = 0; b < BUDGETS; b++) {
        printf(" %15zu", budgets[b]);
    }
    printf("  changes a paint\n");
    instances();
    seeded(recipes);
    calm(recipes);
    times();
    char path[96];
    snprintf(path, sizeof path, "%s/plan.yaml", folder);
    unlink(path);
    rmdir(folder);
    cb_arena_fini(&of_kinds);
    return 0;
}
