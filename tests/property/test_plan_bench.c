/* SPDX-License-Identifier: MIT */
/*
 * Planner and bench mean the same by "can go on". Seeded recipes of every shape are planned, and a
 * painter carries the plans out on a bench: at its start each coat is ready, by what the bench
 * says, and where the painter waited for it, it was not ready before. In between the bench is asked
 * what is ready, and a new plan can begin with that and with nothing else. A number is how many
 * recipes.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/str.h"
#include "base/time.h"
#include "core/bench/next.h"
#include "core/plan/plan_unit.h"
#include "support/events.h"
#include "support/world.h"

enum { AREAS = 6, PAINTS = 4, STAGES = 10, FIGURES = 7, SIMULATIONS = 40 };
#define TOLERANCE_MIN (1.0 / 60)

static int seeds = 400;
static struct dice dice;
static struct cb_arena arena;

static int below(int limit)
{
    return (int)dice_below(&dice, (uint64_t)limit);
}

static bool one_in(int times)
{
    return below(times) == 0;
}

/* "[a0, a2]": so many of the first `limit`, at least one. */
static void add_some(struct cb_str *out, const char *key, const char *letter, int limit, int most)
{
    cb_str_addf(out, ", %s: [%s%d", key, letter, below(limit));
    for (int more = below(most); more > 0; more--) {
        cb_str_addf(out, ", %s%d", letter, below(limit));
    }
    cb_str_add(out, "]");
}

/* What a recipe may have. Parts whose join does not wait for all that is on them, is not waited
 * for, or is only for some are off a figure or on it as the painter goes: then a plan waits where
 * the bench need not. */
struct shape {
    bool apart, after;
};

static struct shape shape_of(uint64_t seed)
{
    return (struct shape){.apart = seed % 3 != 1, .after = seed % 3 != 2};
}

static bool is_strict(const struct shape *shape)
{
    return !shape->apart || !shape->after;
}

static uint64_t add_areas(struct cb_str *out, int areas, const struct shape *shape)
{
    uint64_t apart = 0;
    cb_str_add(out, ", areas: {");
    for (int a = 0; a < areas; a++) {
        cb_str_addf(out, "a%d: {share: 5", a);
        if (a > 0 && one_in(3)) {
            add_some(out, "beside", "a", a, 2);
        }
        if (a > 0 && one_in(4)) {
            add_some(out, "near", "a", a, 2);
        }
        if (shape->apart && one_in(3)) {
            cb_str_add(out, ", apart: yes");
            apart |= UINT64_C(1) << a;
        }
        cb_str_add(out, "}, ");
    }
    cb_str_add(out, "}");
    return apart;
}

static void add_join(struct cb_str *out, int areas, uint64_t apart)
{
    const char *comma = "";
    cb_str_add(out, "technique: join, on: [");
    for (int a = 0; a < areas; a++) {
        if (apart >> a & 1 && (comma[0] == '\0' || one_in(2))) {
            cb_str_addf(out, "%sa%d", comma, a);
            comma = ", ";
        }
    }
    cb_str_add(out, "]");
}

static void add_stage(struct cb_str *out, int stage, int areas, uint64_t apart,
                      const struct shape *shape)
{
    static const char *const painted[] = {"undercoat", "basecoat", "layer", "wash", "varnish"};
    static const char *const others[] = {"transfer", "prepare", "mask", "unmask"};
    cb_str_addf(out, "{name: s%d, ", stage);
    const bool join = apart != 0 && stage > 0 && one_in(4);
    if (join) {
        add_join(out, areas, apart);
    } else {
        if (one_in(5)) {
            cb_str_addf(out, "technique: %s", others[below(4)]);
        } else {
            cb_str_addf(out, "technique: %s, by: brush, paint: p%d, coats: %d", painted[below(5)],
                        below(PAINTS), one_in(3) ? 2 + below(2) : 1);
        }
        if (!one_in(4)) {
            add_some(out, "on", "a", areas, 2);
        }
    }
    cb_str_addf(out, ", minutes: %d, ", 1 + below(6));
    if (one_in(6)) {
        cb_str_addf(out, "wait: %d", below(40));
    } else {
        cb_str_addf(out, "dry: %d", 4 + below(40));
    }
    if (one_in(5)) {
        cb_str_add(out, ", together: yes");
    } else if (one_in(6)) {
        cb_str_addf(out, ", together: %d", 2 + below(3));
    }
    if (shape->after && stage > 0 && one_in(5)) {
        if (one_in(2)) {
            cb_str_add(out, ", after: []");
        } else {
            add_some(out, "after", "s", stage, 2);
        }
    }
    const bool for_some = one_in(6) && (!join || !is_strict(shape));
    cb_str_addf(out, "%s%s}, ", one_in(6) ? ", optional: yes" : "", for_some ? ", for: some" : "");
}

static const char *recipe_text(uint64_t seed)
{
    struct cb_str out = {0};
    const struct shape shape = shape_of(seed);
    dice = (struct dice){seed};
    const int areas = 1 + below(AREAS), stages = 1 + below(STAGES);
    cb_str_addf(&out, "{coatbell: 1, name: r, change: %d, groups: {some: [1, 3]}, paints: {",
                below(3));
    for (int p = 0; p < PAINTS; p++) {
        cb_str_addf(&out, "p%d: {name: Paint %d, kind: %s}, ", p, p, p == 3 ? "wash" : "acrylic");
    }
    cb_str_add(&out, "}");
    const uint64_t apart = add_areas(&out, areas, &shape);
    cb_str_add(&out, ", stages: [");
    for (int stage = 0; stage < stages; stage++) {
        add_stage(&out, stage, areas, apart, &shape);
    }
    cb_str_add(&out, "]}");
    const char *text = cb_arena_text(&arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

struct evening {
    uint64_t seed;
    const char *text;
    struct world world;
    int64_t begun_ms;
    int asked;
};

static const struct cb_unit *unit_of(const struct evening *evening)
{
    return cb_bench_unit(evening->world.bench, 0);
}

static void wait_until(struct evening *evening, double min)
{
    const int64_t at_ms = evening->begun_ms + llround(min * (double)CB_MS_PER_MIN);
    world_wait(&evening->world,
               (double)(at_ms - world_ms(&evening->world)) / (double)CB_MS_PER_MIN);
}

static struct cb_slot slot_of(const struct evening *evening, int figure, int stage)
{
    return cb_next_slot(evening->world.bench, evening->world.learn, unit_of(evening), figure, stage,
                        world_ms(&evening->world));
}

static bool is_ready(const struct evening *evening, int figure, int stage)
{
    return slot_of(evening, figure, stage).state == CB_SLOT_READY;
}

static struct cb_plan_problem problem_of(const struct evening *evening)
{
    return cb_plan_of_unit(evening->world.bench, evening->world.learn, NULL, unit_of(evening),
                           world_ms(&evening->world), &arena);
}

static struct cb_plan plan_of(const struct cb_plan_problem *problem, uint64_t seed, int simulations)
{
    struct cb_plan_search *search = cb_plan_search_new(problem, seed);
    cb_plan_search_go(search, (size_t)simulations);
    const struct cb_plan plan = cb_plan_search_best(search, &arena);
    cb_plan_search_free(search);
    return plan;
}

/* A part can be joined beside what is wet, by the bench; a plan waits. */
static bool may_wait(const struct evening *evening, int stage)
{
    const struct shape shape = shape_of(evening->seed);
    return !is_strict(&shape) ||
           unit_of(evening)->recipe->stages[stage - 1].technique == CB_TECHNIQUE_JOIN;
}

static void judge_start(struct evening *evening, const struct cb_plan_task *task, double free_min)
{
    if (task->start_min - free_min > 3 * TOLERANCE_MIN && !may_wait(evening, task->stage + 1)) {
        wait_until(evening, task->start_min - TOLERANCE_MIN);
        for (size_t i = 0; i < task->member_count; i++) {
            if (is_ready(evening, task->members[i] + 1, task->stage + 1)) {
                fail_msg("seed %d: stage %d on %d waits until %g and need not\n%s",
                         (int)evening->seed, task->stage + 1, task->members[i] + 1, task->start_min,
                         evening->text);
            }
        }
    }
    wait_until(evening, task->start_min + TOLERANCE_MIN);
    for (size_t i = 0; i < task->member_count; i++) {
        const struct cb_slot slot = slot_of(evening, task->members[i] + 1, task->stage + 1);
        if (slot.state != CB_SLOT_READY || slot.coat != task->coat) {
            fail_msg("seed %d: stage %d coat %d on %d at %g is not ready: state %d, coat %d, by "
                     "stage %d\n%s",
                     (int)evening->seed, task->stage + 1, task->coat, slot.figure, task->start_min,
                     (int)slot.state, slot.coat, slot.by_stage, evening->text);
        }
    }
}

static void put_on(struct evening *evening, const struct cb_plan_task *task)
{
    wait_until(evening, task->end_min);
    for (size_t i = 0; i < task->member_count; i++) {
        const char *line = cb_arena_printf(&arena, "coat_on u figure=%d stage=%d coat=%d",
                                           task->members[i] + 1, task->stage + 1, task->coat);
        if (i == 0) {
            world_do(&evening->world, line);
        } else {
            world_also(&evening->world, line);
        }
    }
}

/* Does the stage wait for an optional one on that figure? The bench lets it go on all the same, a
 * plan keeps the order of the recipe. */
static bool waits_for_optional(const struct evening *evening, int figure, int stage)
{
    const struct cb_unit *unit = unit_of(evening);
    const uint64_t waits = cb_recipe_waits_for(unit->recipe, (size_t)stage - 1);
    for (int other = 1; other <= (int)unit->recipe->stage_count; other++) {
        if (waits >> (other - 1) & 1 && unit->recipe->stages[other - 1].optional &&
            cb_bench_coats_on(unit, figure, other) < cb_bench_coats(unit, figure, other)) {
            return true;
        }
    }
    return false;
}

/* Can a plan begin with the stage at once? On that figure, where it is no go. */
static bool plan_begins(const struct evening *evening, int figure, int stage)
{
    struct cb_plan_problem problem = problem_of(evening);
    const size_t figures = problem.figure_count;
    struct cb_plan_slot *slots =
        cb_arena_alloc(&arena, problem.stage_count * figures + 1, sizeof *slots);
    memcpy(slots, problem.slots, problem.stage_count * figures * sizeof *slots);
    for (size_t f = 0; f < figures; f++) {
        struct cb_plan_slot *slot = &slots[(size_t)(stage - 1) * figures + f];
        if (problem.stages[stage - 1].together == 0 && (int)f + 1 != figure) {
            slot->coats = slot->on;
        }
    }
    problem.slots = slots;
    problem.first_stage = stage;
    problem.brush = problem.stages[stage - 1].paint; /* no change of paint hides a wait */
    const struct cb_plan plan = plan_of(&problem, 1, 1);
    return plan.task_count > 0 && plan.tasks[0].stage == stage - 1 && plan.tasks[0].start_min <= 0;
}

static void ask_of(struct evening *evening, int figure, int stage, bool ready, bool optional)
{
    const bool begins = plan_begins(evening, figure, stage);
    evening->asked++;
    if (begins != ready && !(ready && optional)) {
        print_message("%s\n", evening->text);
        fail_msg("seed %d: stage %d on %d is %sready, and a plan can%s begin with it",
                 (int)evening->seed, stage, figure, ready ? "" : "not ", begins ? "" : "not");
    }
}

/* Are all figures that want the go at the same coat of it? Else it is one coat's go or the other's.
 */
static bool is_one_go(const struct evening *evening, int stage)
{
    const struct cb_unit *unit = unit_of(evening);
    int coat = 0;
    for (int figure = 1; figure <= unit->figures; figure++) {
        const int on = cb_bench_coats_on(unit, figure, stage);
        if (on < cb_bench_coats(unit, figure, stage)) {
            if (coat > 0 && coat != on + 1) {
                return false;
            }
            coat = on + 1;
        }
    }
    return true;
}

static void ask_what_is_ready(struct evening *evening)
{
    const struct cb_unit *unit = unit_of(evening);
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        const bool go = unit->recipe->stages[stage - 1].together != 0;
        bool ready = false, optional = false;
        for (int figure = 1; figure <= unit->figures; figure++) {
            ready |= is_ready(evening, figure, stage);
            const bool skips =
                waits_for_optional(evening, figure, stage) || may_wait(evening, stage);
            optional |= skips;
            if (!go) {
                ask_of(evening, figure, stage, is_ready(evening, figure, stage), skips);
            }
        }
        if (go && is_one_go(evening, stage)) {
            ask_of(evening, 0, stage, ready, optional);
        }
    }
}

static void carry_out(struct evening *evening)
{
    const struct cb_plan_problem problem = problem_of(evening);
    const struct cb_plan plan =
        plan_of(&problem, evening->seed, evening->seed % 3 == 0 ? 1 : SIMULATIONS);
    double free_min = 0;
    assert_int_equal(plan.left_count, 0);
    ask_what_is_ready(evening);
    for (size_t i = 0; i < plan.task_count; i++) {
        const struct cb_plan_task *task = &plan.tasks[i];
        const double change_min = task->change ? problem.stages[task->stage].change_min : 0;
        judge_start(evening, task, free_min + change_min);
        put_on(evening, task);
        free_min = task->end_min;
        if (one_in(4)) {
            world_wait(&evening->world, TOLERANCE_MIN);
            ask_what_is_ready(evening);
        }
    }
    for (int stage = 1; stage <= (int)problem.stage_count; stage++) {
        for (int figure = 1; figure <= unit_of(evening)->figures; figure++) {
            assert_int_equal(cb_bench_coats_on(unit_of(evening), figure, stage),
                             cb_bench_coats(unit_of(evening), figure, stage));
        }
    }
}

static void what_is_planned_is_ready(void **state)
{
    (void)state;
    int asked = 0;
    for (int seed = 1; seed <= seeds; seed++) {
        struct evening evening = {.seed = (uint64_t)seed, .text = recipe_text((uint64_t)seed)};
        world_init(&evening.world);
        world_do(&evening.world, "session_opened -");
        world_do(&evening.world, "climate_set - temp_c=23 rh_pct=50 air=still");
        world_begin(&evening.world, "u", 1 + below(FIGURES), evening.text);
        evening.begun_ms = world_ms(&evening.world);
        if (!unit_of(&evening) || unit_of(&evening)->recipe->stage_count == 0) {
            fail_msg("seed %d: no recipe: %s", seed, evening.text);
        }
        carry_out(&evening);
        asked += evening.asked;
        world_fini(&evening.world);
        cb_arena_fini(&arena);
    }
    assert_true(asked > 5 * seeds);
}

int main(int argc, char **argv)
{
    seeds = argc > 1 ? atoi(argv[1]) : seeds;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_planned_is_ready),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
