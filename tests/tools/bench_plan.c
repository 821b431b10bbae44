/* SPDX-License-Identifier: MIT */
/*
 * What the plan is worth and what it costs: how far from proven optima and from the bound strict
 * order is, two rules without a plan, and the plan by how many simulations; what calm and noise
 * cost; then the processor time of a forecast and of a decision at 2400 tasks.
 * bench_plan [RECIPES [FIRST SEED]]; the same table each time but for the times. Half a minute of
 * processor time for as many recipes as it takes of itself.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "app/look.h"
#include "core/plan/road.h"
#include "support/bench.h"
#include "support/noisy.h"
#include "support/plan_case.h"
#include "support/plan_problem.h"
#include "support/stage.h"

#define SEED 1
enum { BUDGETS = 5, RULES = 2, WAYS = RULES + BUDGETS, ROUNDS = 15, FEW = 26, SMALL = 60 };
/* Strict order, few, all that are tried before the local search, and that. */
static const size_t budgets[BUDGETS] = {1, FEW, 56, 300, 3000};

static struct plan_case recipe;
static struct cb_arena arena;
static char folder[64];
static int first_seed = 1;

static double cpu_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static struct cb_plan_problem problem_of(void)
{
    return plan_problem_of(&recipe, folder, &arena);
}

struct worth { /* of the budgets, then of the rules */
    double gap_pct[WAYS], worst_pct[WAYS];
    int paint_changes, paints;
};

static void add_way(struct worth *worth, int way, double finish_min, double least_min)
{
    const double gap_pct = 100 * (finish_min / least_min - 1);
    worth->gap_pct[way] += gap_pct;
    worth->worst_pct[way] = gap_pct > worth->worst_pct[way] ? gap_pct : worth->worst_pct[way];
}

/* Adds how far from `least` the plan of each budget is, and each rule. */
static void add(struct worth *worth, const struct cb_plan_problem *problem, double least_min)
{
    static struct noisy_evening evening;
    struct noisy exact;
    struct cb_plan_search *search = cb_plan_search_new(problem, SEED);
    size_t done = 0;
    for (int b = 0; b < BUDGETS; b++) {
        cb_plan_search_go(search, budgets[b] - done);
        done = budgets[b];
        const struct cb_plan plan = cb_plan_search_best(search, &arena);
        add_way(worth, b, plan.finish_min, least_min);
        worth->paint_changes += b == BUDGETS - 1 ? plan.paint_changes : 0;
    }
    noisy_init(&exact, problem, 0, SEED);
    for (int rule = 0; rule < RULES; rule++) {
        noisy_by_rule(&exact, (enum noisy_rule)rule, &evening);
        add_way(worth, BUDGETS + rule, evening.finish_min, least_min);
    }
    noisy_fini(&exact);
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
    static const int order[WAYS] = {0, BUDGETS, BUDGETS + 1, 1, 2, 3, 4};
    printf("%-14s", what);
    for (int i = 0; i < WAYS; i++) {
        printf(" %6.2f /%6.2f", worth->gap_pct[order[i]] / count, worth->worst_pct[order[i]]);
    }
    printf("   %.2f\n", (double)worth->paint_changes / worth->paints);
    fflush(stdout);
}

static struct worth worth_of_instance(const char *name)
{
    struct worth worth = {0};
    char path[96];
    snprintf(path, sizeof path, "tests/reference/plan/%s.json", name);
    if (!plan_case_read(&recipe, path)) {
        exit(1);
    }
    const struct cb_plan_problem problem = problem_of();
    add(&worth, &problem, recipe.optimum_min);
    return worth;
}

static void sum(struct worth *all, const struct worth *one)
{
    for (int w = 0; w < WAYS; w++) {
        all->gap_pct[w] += one->gap_pct[w];
        all->worst_pct[w] =
            one->worst_pct[w] > all->worst_pct[w] ? one->worst_pct[w] : all->worst_pct[w];
    }
    all->paint_changes += one->paint_changes;
    all->paints += one->paints;
}

/* Six of a unit's size, and small ones as the solver was given them. */
static void instances(void)
{
    static const char *const names[] = {"o1_2s-touch", "o2_3s-free",  "o3_4s-touch",
                                        "o4_4s-free",  "o5_5s-touch", "o6_10m-bound"};
    struct worth all = {0}, small = {0};
    char what[32];
    int count = 0;
    printf("\nabove the proven optimum, %%: mean / worst\n");
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const struct worth one = worth_of_instance(names[i]);
        line(names[i], &one, 1);
        sum(&all, &one);
    }
    line("all", &all, (int)(sizeof names / sizeof *names));
    for (int seed = 1; seed <= SMALL; seed++) {
        char path[96];
        snprintf(what, sizeof what, "m%d", seed);
        snprintf(path, sizeof path, "tests/reference/plan/%s.json", what);
        if (access(path, R_OK) == 0) {
            const struct worth one = worth_of_instance(what);
            sum(&small, &one);
            count++;
        }
    }
    snprintf(what, sizeof what, "%d small", count);
    line(what, &small, count);
}

/* figures 0: 10 to 40, by the seed. */
static void row(const char *what, int figures, int recipes)
{
    struct worth worth = {0};
    int count = 0;
    for (int seed = first_seed; count < recipes; seed++) {
        plan_case_random(&recipe, (uint64_t)seed, figures);
        if (recipe.figures >= 10) {
            const struct cb_plan_problem problem = problem_of();
            add(&worth, &problem, cb_plan_bound_min(&problem));
            count++;
        }
    }
    line(what, &worth, recipes);
}

static void seeded(int recipes)
{
    printf("\nabove the bound, %%, %d recipes of any shape from seed %d: mean / worst\n", recipes,
           first_seed);
    row("10 figures", 10, recipes);
    row("20 figures", 20, recipes);
    row("40 figures", 40, recipes);
    row("10 to 40", 0, recipes);
}

/* What calm costs. */
static void calm(int recipes)
{
    double later = 0;
    int changes = 0, calm_changes = 0;
    for (int seed = first_seed; seed < first_seed + recipes; seed++) {
        plan_case_random(&recipe, (uint64_t)seed, 10);
        struct cb_plan_problem problem = problem_of();
        struct cb_plan plans[2];
        for (int k = 0; k < 2; k++) {
            problem.calm_min = k * CB_PLAN_CALM_MIN;
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
    printf("\ncalm, %d recipes of ten figures: %.2f %% later, %d changes of paint instead of %d\n",
           recipes, later, calm_changes, changes);
}

/* What is lost against who knew all times before, log sd .4 on each. */
static void noise(int recipes)
{
    static struct noisy_evening evenings[3], best, other;
    double lost_pct[3] = {0};
    for (int seed = first_seed; seed < first_seed + recipes; seed++) {
        plan_case_random(&recipe, (uint64_t)seed, 10);
        const struct cb_plan_problem problem = problem_of();
        struct noisy noisy;
        noisy_init(&noisy, &problem, 0.4, (uint64_t)seed);
        struct cb_plan_search *search = cb_plan_search_new(&problem, SEED);
        cb_plan_search_go(search, 3000);
        const struct cb_plan plan = cb_plan_search_best(search, &arena);
        const struct cb_plan strict = cb_plan_search_strict(search, &arena);
        noisy_follow(&noisy, 60, &evenings[0]);
        noisy_keep_to(&noisy, &plan, &evenings[1]);
        noisy_keep_to(&noisy, &strict, &evenings[2]);
        noisy_hindsight(&noisy, &evenings[0], 10000, &best);
        noisy_hindsight(&noisy, &evenings[1], 10000, &other);
        const double least =
            best.finish_min < other.finish_min ? best.finish_min : other.finish_min;
        for (int k = 0; k < 3; k++) {
            lost_pct[k] += 100 * (evenings[k].finish_min / least - 1) / recipes;
        }
        cb_plan_search_free(search);
        noisy_fini(&noisy);
        cb_arena_fini(&arena);
    }
    printf(
        "\nnoise on all times, %d recipes of ten figures, later than hindsight: by a new plan each "
        "time %.2f %%, by one plan kept to %.2f %%, in order %.2f %%\n",
        recipes, lost_pct[0], lost_pct[1], lost_pct[2]);
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
        cb_plan_search_go(search, FEW);
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
    bench_report("26 simulations", decision, ROUNDS, "");
    bench_report("the bound", bound, ROUNDS, "");
}

/* What an event costs until it is said what is next, on evenings of a known length. */
static void decide(struct stage *stage, const char *what)
{
    struct cb_road_kept *road = cb_road_new();
    const struct cb_app *app = cb_rehearse_app(stage->rehearse);
    double decision[ROUNDS];
    for (int i = 0; i < ROUNDS; i++) {
        stage_wait(stage, 1);
        const struct cb_road_from from = {.bench = stage_bench(stage),
                                          .learn = cb_app_learn(app),
                                          .unit = cb_bench_unit(stage_bench(stage), 0),
                                          .now_ms = cb_app_bench_now(app),
                                          .evening_min = 150,
                                          .tonight_min = 90};
        const double start = cpu_ms();
        cb_road_replan(road, &from);
        decision[i] = cpu_ms() - start;
    }
    char name[64];
    snprintf(name, sizeof name, "%s, %zu to go", what, cb_road_get(road)->plan.task_count);
    bench_report(name, decision, ROUNDS, "aim: 5 ms");
    cb_road_free(road);
}

/* The same recipe on the bench. */
static void decisions(void)
{
    static char text[16384];
    struct cb_plan_problem problem;
    struct stage stage;
    char path[96];
    snprintf(path, sizeof path, "%s/plan.yaml", folder);
    const size_t tasks = large(2400, &problem);
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        exit(1);
    }
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    stage_init_text(&stage, text, recipe.figures, 24, 80, CB_PING_NEEDED);
    decide(&stage, "a decision on the bench");
    for (size_t pressed = 0; pressed < ROUNDS && stage_events(&stage, CB_EVENT_COAT_ON) < tasks / 2;
         pressed++) {
        stage_do(&stage, CB_ACTION_COAT_ON_REST);
        stage_wait(&stage, 60);
    }
    decide(&stage, "half of it painted");
    stage_fini(&stage);
    cb_arena_fini(&arena);
}

int main(int argc, char **argv)
{
    const int recipes = argc > 1 ? atoi(argv[1]) : 60;
    first_seed = argc > 2 ? atoi(argv[2]) : first_seed;
    snprintf(folder, sizeof folder, "/tmp/bench_plan.XXXXXX");
    if (mkdtemp(folder) == NULL) {
        perror(folder);
        return 1;
    }
    printf("%-14s %15s %15s %15s", "simulations:", "in order", "first ready", "longest tail");
    for (int b = 1; b < BUDGETS; b++) {
        printf(" %15zu", budgets[b]);
    }
    printf("  changes a paint\n");
    instances();
    seeded(recipes);
    calm(recipes / 2);
    noise(recipes / 4);
    times();
    decisions();
    char path[96];
    snprintf(path, sizeof path, "%s/plan.yaml", folder);
    unlink(path);
    rmdir(folder);
    return 0;
}
