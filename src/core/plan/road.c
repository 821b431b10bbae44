/* SPDX-License-Identifier: MIT */
#include "core/plan/road.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/time.h"
#include "core/plan/plan_unit.h"

#define RULE_MIN 2.0 /* the paint on the brush first where the plan loses less by it */
#define SAME_MIN 1.0 /* the order of the recipe, where it loses less: own judgement */
/* Tasks that the simulations of a decision, of a piece of idle time, and of one moment in all may
 * take, and the least number of them: own judgement, by make bench. */
#define DECISION_TASKS 12000
#define DECISION_LEAST 4
#define DECISION_MOST  64
#define THINK_TASKS    6000
#define ENOUGH_TASKS   400000
#define ENOUGH_MOST    3000
#define SEED           1
#define DAY_MIN        (24.0 * 60)

struct cb_road_kept {
    struct cb_road road;
    bool made;
    struct cb_road_from from;
    struct cb_arena arena;          /* of the problems and the id */
    struct cb_plan_problem problem; /* of the search */
    struct cb_plan_search *search;  /* what the road goes by: with the rule, where that holds */
    bool thought;                   /* it is that of idle time */
    size_t tasks;
    struct cb_arena plans, nights; /* what was read of searches */
};

struct cb_road_kept *cb_road_new(void)
{
    return cb_mem_new(1, sizeof(struct cb_road_kept));
}

void cb_road_forget(struct cb_road_kept *kept)
{
    kept->made = false;
}

void cb_road_free(struct cb_road_kept *kept)
{
    if (kept) {
        cb_plan_search_free(kept->search);
        cb_arena_fini(&kept->arena);
        cb_arena_fini(&kept->plans);
        cb_arena_fini(&kept->nights);
        free(kept);
    }
}

const struct cb_road *cb_road_get(const struct cb_road_kept *kept)
{
    return kept->made ? &kept->road : NULL;
}

static size_t count_tasks(const struct cb_plan_problem *problem)
{
    size_t tasks = 0;
    for (size_t i = 0; i < problem->stage_count * problem->figure_count; i++) {
        tasks += (size_t)(problem->slots[i].coats - problem->slots[i].on);
    }
    return tasks;
}

static size_t simulations_for(size_t tasks, size_t all_tasks, size_t least, size_t most)
{
    const size_t count = all_tasks / (tasks > 0 ? tasks : 1);
    return count < least ? least : count > most ? most : count;
}

static size_t for_decision(size_t tasks)
{
    return simulations_for(tasks, DECISION_TASKS, DECISION_LEAST, DECISION_MOST);
}

/* How much sooner it could be finished by an order that keeps to nothing. */
static double rule_costs_min(struct cb_road_kept *kept, size_t simulations)
{
    struct cb_plan_problem free_of = kept->problem;
    struct cb_arena arena = {0};
    free_of.leave_min = free_of.skip_min = free_of.linger_price = free_of.slow_price = 0;
    struct cb_plan_search *search = cb_plan_search_new(&free_of, SEED);
    cb_plan_search_follow(search, kept->search);
    cb_plan_search_go(search, simulations);
    const double sooner_min =
        kept->road.plan.finish_min - cb_plan_search_best(search, &arena).finish_min;
    cb_plan_search_free(search);
    cb_arena_fini(&arena);
    return sooner_min > 0 ? sooner_min : 0;
}

/* The order of the plan over evenings, or a better one. */
static void spread(struct cb_road_kept *kept)
{
    kept->road.nights = kept->road.plan;
    if (kept->from.evening_min > 0) {
        struct cb_plan_problem problem = kept->problem;
        problem.evening_min = kept->from.evening_min;
        problem.tonight_min = kept->from.tonight_min;
        problem.night_min = DAY_MIN - kept->from.evening_min;
        struct cb_plan_search *search = cb_plan_search_new(&problem, SEED);
        cb_plan_search_follow(search, kept->search);
        cb_plan_search_go(search, 2);
        cb_arena_fini(&kept->nights);
        kept->road.nights = cb_plan_search_best(search, &kept->nights);
        cb_plan_search_free(search);
    }
}

/* Of a go, the figure that it waits for longest. */
static struct cb_proposal wait_for(const struct cb_road_from *from, const struct cb_plan_task *task)
{
    struct cb_proposal latest = {.ready_ms = CB_TIME_NONE};
    for (size_t i = 0; i < task->member_count; i++) {
        const struct cb_proposal wait =
            cb_next_wait(from->bench, from->learn, from->unit, task->members[i] + 1,
                         task->stage + 1, from->now_ms);
        if (wait.wait_figure > 0 && (latest.wait_figure == 0 || wait.ready_ms > latest.ready_ms)) {
            latest = wait;
        }
    }
    return latest;
}

static void decide(struct cb_road *road, const struct cb_road_from *from)
{
    road->next = (struct cb_proposal){.ready_ms = CB_TIME_NONE};
    if (road->plan.task_count > 0) {
        const struct cb_plan_task *task = &road->plan.tasks[0];
        if (!cb_next_take(from->bench, from->learn, from->unit, task->stage + 1, task->coat,
                          from->now_ms, &road->next)) {
            road->next = wait_for(from, task);
            road->next.wait_for = NULL; /* the bench's, which may move */
        }
    }
}

static struct cb_plan_problem problem_of(struct cb_road_kept *kept, const struct cb_hours *hours)
{
    const struct cb_road_from *from = &kept->from;
    struct cb_plan_problem problem =
        cb_plan_of_unit(from->bench, from->learn, hours, from->unit, from->now_ms, &kept->arena);
    problem.calm_min = from->calm ? CB_PLAN_CALM_MIN : 0;
    problem.leave_min = RULE_MIN;
    problem.skip_min = SAME_MIN;
    problem.linger_price = 1;
    problem.slow_price = 1;
    return problem;
}

void cb_road_replan(struct cb_road_kept *kept, const struct cb_road_from *from)
{
    cb_arena_fini(&kept->arena);
    cb_arena_fini(&kept->plans);
    cb_plan_search_free(kept->search);
    kept->from = *from;
    kept->thought = false;
    kept->problem = problem_of(kept, from->hours);
    kept->tasks = count_tasks(&kept->problem);
    kept->search = cb_plan_search_new(&kept->problem, SEED);
    const size_t simulations = for_decision(kept->tasks);
    cb_plan_search_go(kept->search, simulations);
    kept->road = (struct cb_road){.unit = cb_arena_text(&kept->arena, from->unit->id),
                                  .from_ms = from->now_ms,
                                  .problem = &kept->problem,
                                  .told = cb_plan_search_best(kept->search, &kept->arena),
                                  .plan = cb_plan_search_best(kept->search, &kept->plans),
                                  .simulations = simulations};
    decide(&kept->road, from);
    spread(kept);
    kept->made = true;
}

bool cb_road_is_open(const struct cb_road_kept *kept)
{
    return kept->made && kept->road.plan.task_count > 0 &&
           kept->road.simulations <
               simulations_for(kept->tasks, ENOUGH_TASKS, DECISION_LEAST, ENOUGH_MOST);
}

/* The search of idle time goes on from the other, with what is next given. */
static void begin_thought(struct cb_road_kept *kept, const struct cb_hours *hours)
{
    struct cb_plan_search *before = kept->search;
    kept->problem = problem_of(kept, hours ? hours : kept->from.hours);
    kept->problem.first_stage = kept->road.plan.tasks[0].stage + 1;
    kept->search = cb_plan_search_new(&kept->problem, SEED);
    cb_plan_search_follow(kept->search, before);
    cb_plan_search_free(before);
    kept->thought = true;
}

bool cb_road_think(struct cb_road_kept *kept, const struct cb_unit *unit,
                   const struct cb_hours *hours)
{
    struct cb_road *road = &kept->road;
    kept->from.unit = unit;
    const bool begins = !kept->thought;
    if (begins) {
        begin_thought(kept, hours);
    }
    const size_t more = simulations_for(kept->tasks, THINK_TASKS, 2, DECISION_MOST);
    cb_plan_search_go(kept->search, more);
    road->simulations += more;
    struct cb_arena arena = {0};
    const struct cb_plan better = cb_plan_search_best(kept->search, &arena);
    const bool taken = begins || better.finish_min < road->plan.finish_min ||
                       better.paint_changes < road->plan.paint_changes;
    const bool ends = road->simulations >=
                      simulations_for(kept->tasks, ENOUGH_TASKS, DECISION_LEAST, ENOUGH_MOST);
    if (taken) {
        cb_arena_fini(&kept->plans);
        kept->plans = arena;
        road->plan = better;
        road->nights = kept->from.evening_min > 0 ? road->nights : better; /* what it was is gone */
    } else {
        cb_arena_fini(&arena);
    }
    if (begins) {
        road->rule_min = rule_costs_min(kept, more);
    }
    if (begins || ends) {
        spread(kept);
    }
    return taken || ends;
}

void cb_road_evenings(const struct cb_road_kept *kept, double *evening_min, double *tonight_min)
{
    *evening_min = kept->from.evening_min;
    *tonight_min = kept->from.tonight_min > 0 ? kept->from.tonight_min : kept->from.evening_min;
}
