/* SPDX-License-Identifier: MIT */
#include "core/plan/road.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/time.h"
#include "core/plan/plan_unit.h"

#define RULE_MIN 2.0 /* the paint on the brush first where the plan loses less by it */
/* Tasks that the simulations of a decision, of a piece of idle time, and of one moment in all may
 * take, and the least number of them: own judgement, by make bench. */
#define DECISION_TASKS  6000
#define DECISION_LEAST  3
#define DECISION_MOST   120
#define THINK_TASKS     6000
#define ENOUGH_TASKS    400000
#define ENOUGH_MOST     3000
#define SEED            1
#define DAY_MIN         (24.0 * 60)

struct cb_road_kept {
    struct cb_road road;
    bool made;
    struct cb_arena arena; /* of the problem and the id */
    struct cb_plan_problem problem;
    double evening_min, tonight_min;
    struct cb_plan_search *search; /* what the road goes by: with the rule, where that holds */
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

static bool wants_paint(const struct cb_plan_problem *problem, int paint)
{
    for (size_t s = 0; s < problem->stage_count; s++) {
        for (size_t f = 0; f < problem->figure_count && problem->stages[s].paint == paint; f++) {
            const struct cb_plan_slot *slot = &problem->slots[s * problem->figure_count + f];
            if (slot->on < slot->coats) {
                return true;
            }
        }
    }
    return false;
}

/* The plan that begins with the paint on the brush, where no more is lost by it than the rule
 * allows. */
static void hold_to_rule(struct cb_road_kept *kept, size_t simulations)
{
    struct cb_plan_problem problem = kept->problem;
    const struct cb_plan *best = &kept->road.plan;
    if (best->task_count == 0 || !best->tasks[0].change || problem.brush < 0 ||
        !wants_paint(&problem, problem.brush)) {
        return;
    }
    problem.first_paint = problem.brush;
    struct cb_plan_search *search = cb_plan_search_new(&problem, SEED);
    cb_plan_search_follow(search, kept->search);
    cb_plan_search_go(search, simulations);
    const struct cb_plan plan = cb_plan_search_best(search, &kept->plans);
    const double change_min = problem.stages[best->tasks[0].stage].change_min;
    if (plan.task_count > 0 && !plan.tasks[0].change &&
        plan.finish_min < best->finish_min + RULE_MIN &&
        plan.tasks[0].start_min <= change_min + RULE_MIN) {
        kept->road.rule_min =
            plan.finish_min > best->finish_min ? plan.finish_min - best->finish_min : 0;
        kept->road.plan = plan;
        cb_plan_search_free(kept->search);
        kept->search = search;
    } else {
        cb_plan_search_free(search);
    }
}

/* The order of the plan over evenings, or a better one. */
static void spread(struct cb_road_kept *kept)
{
    kept->road.nights = kept->road.plan;
    if (kept->evening_min > 0) {
        struct cb_plan_problem problem = kept->problem;
        problem.evening_min = kept->evening_min;
        problem.tonight_min = kept->tonight_min;
        problem.night_min = DAY_MIN - kept->evening_min;
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
        if (wait.wait_figure > 0 &&
            (latest.wait_figure == 0 || wait.ready_ms > latest.ready_ms)) {
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
        }
    }
}

void cb_road_replan(struct cb_road_kept *kept, const struct cb_road_from *from)
{
    struct cb_plan_search *before = kept->search;
    const bool same = before && strcmp(kept->road.unit, from->unit->id) == 0;
    cb_arena_fini(&kept->arena);
    cb_arena_fini(&kept->plans);
    kept->problem = cb_plan_of_unit(from->bench, from->learn, from->hours, from->unit,
                                    from->now_ms, &kept->arena);
    kept->problem.calm_min = from->calm ? CB_PLAN_CALM_MIN : 0;
    kept->tasks = count_tasks(&kept->problem);
    kept->evening_min = from->evening_min;
    kept->tonight_min = from->tonight_min;
    kept->search = cb_plan_search_new(&kept->problem, SEED);
    if (same) {
        cb_plan_search_follow(kept->search, before);
    }
    cb_plan_search_free(before);
    const size_t simulations = for_decision(kept->tasks);
    cb_plan_search_go(kept->search, simulations);
    kept->road = (struct cb_road){.unit = cb_arena_text(&kept->arena, from->unit->id),
                                  .from_ms = from->now_ms,
                                  .problem = &kept->problem,
                                  .plan = cb_plan_search_best(kept->search, &kept->plans),
                                  .simulations = simulations};
    hold_to_rule(kept, simulations);
    decide(&kept->road, from);
    spread(kept);
    kept->made = true;
}

bool cb_road_is_open(const struct cb_road_kept *kept)
{
    return kept->made && kept->tasks > 0 &&
           kept->road.simulations <
               simulations_for(kept->tasks, ENOUGH_TASKS, DECISION_LEAST, ENOUGH_MOST);
}

bool cb_road_think(struct cb_road_kept *kept)
{
    struct cb_road *road = &kept->road;
    const size_t more = simulations_for(kept->tasks, THINK_TASKS, 1, DECISION_MOST);
    cb_plan_search_go(kept->search, more);
    road->simulations += more;
    struct cb_arena arena = {0};
    const struct cb_plan better = cb_plan_search_best(kept->search, &arena);
    const bool taken = better.task_count > 0 && better.finish_min <= road->plan.finish_min &&
                       better.tasks[0].stage == road->plan.tasks[0].stage &&
                       better.tasks[0].coat == road->plan.tasks[0].coat;
    if (taken) {
        cb_arena_fini(&kept->plans);
        kept->plans = arena;
        road->plan = better;
        road->nights = kept->evening_min > 0 ? road->nights : better; /* what it was is gone */
    } else {
        cb_arena_fini(&arena);
    }
    const bool ends = !cb_road_is_open(kept);
    if (ends) {
        spread(kept);
    }
    return taken || ends;
}

void cb_road_evenings(const struct cb_road_kept *kept, double *evening_min, double *tonight_min)
{
    *evening_min = kept->evening_min;
    *tonight_min = kept->tonight_min > 0 ? kept->tonight_min : kept->evening_min;
}
