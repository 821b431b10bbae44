/* SPDX-License-Identifier: MIT */
/* `plan`: what next and when it is finished, for a recipe that nobody has begun. */
#include <math.h>

#include "base/utf8.h"
#include "command/log_read.h"
#include "command/plan_internal.h"
#include "core/bench/rows.h"
#include "core/plan/road.h"
#include "shell/clock.h"
#include "shell/out_file.h"
#include "shell/yaml.h"

/* Some tenths of a second: tasks that all simulations together may take (own judgement; that
 * more of them gain little: make bench). */
#define SIMULATED_TASKS       2000000
#define SIMULATIONS_MIN       200
#define SIMULATIONS_MAX       20000
#define BATCH_SIMULATIONS_MIN 8
#define SEED                  1
#define DAY_MIN               (24.0 * 60)

static void learn_times(struct cb_plan_call *call, const struct cb_plan_taught *taught)
{
    for (size_t s = 0; s < call->in.recipe->stage_count; s++) {
        call->times[s] =
            cb_plan_times_of(call->in.kinds, call->in.recipe, s, &call->air.climate, taught);
    }
}

/* The evenings of units under way count too; of the list, what is needed once the plan is there. */
static void learn_evenings(struct cb_plan_call *call, const struct cb_taught *taught,
                           const struct cb_bench *bench)
{
    struct cb_effort *habits = &call->habits;
    size_t count;
    *habits = taught->habits;
    const struct cb_evening *own = cb_evenings_of(bench, call->arena, &count);
    habits->evenings = cb_evenings_both(habits->evenings, habits->evening_count, own, count,
                                        call->arena, &habits->evening_count);
    habits->session_count = habits->sitting_count = 0;
    habits->session_min = NULL;
    habits->sittings = NULL;
    const struct cb_bench_facts facts = cb_bench_facts(bench);
    if (facts.session_open) {
        const struct cb_moment now = cb_clock_now();
        call->session_ms = cb_bench_wall(bench, &now, facts.session_opened_ms);
    }
}

static void learn_hours(struct cb_plan_call *call, const struct cb_taught *taught)
{
    bool figures[CB_FIGURES_MAX + 1] = {false};
    for (int figure = 1; figure <= call->in.figures; figure++) {
        figures[figure] = true;
    }
    call->hours = cb_effort_next(taught->hours, call->in.recipe, figures, call->in.kinds);
    call->hours_learned = taught->unit_count > 0;
    call->usual_evenings = cb_effort_evenings(call->hours.mean_min, &taught->habits);
}

/* As the log has taught, where there is one. 0 or an exit code. */
static int read_times(struct cb_plan_call *call)
{
    struct cb_plan_taught taught = {.confidence = call->in.config->confidence};
    if (!cb_log_read_is_there(call->args)) {
        struct cb_taught nothing = {0};
        cb_taught_begin(&nothing);
        learn_times(call, &taught);
        learn_hours(call, &nothing);
        cb_taught_fini(&nothing);
        return 0;
    }
    struct cb_err err = {0};
    struct cb_log_read log = {0};
    enum cb_status status = cb_log_read_open(&log, call->args, &err);
    if (status == CB_OK) {
        status = cb_history_teach(log.history, log.bench, &log.taught, &err);
    }
    if (status == CB_OK) {
        size_t own_count;
        const struct cb_row *own = cb_bench_rows(log.bench, &own_count);
        taught.rows = cb_rows_merge(log.taught.rows, log.taught.row_count, own, own_count,
                                    call->arena, &taught.row_count);
        taught.learn = log.taught.learn;
        taught.hours = log.taught.hours;
        taught.confidence = cb_bench_facts(log.bench).confidence;
        learn_times(call, &taught);
        learn_hours(call, &log.taught);
        learn_evenings(call, &log.taught, log.bench);
    }
    return cb_log_read_close(&log, status, &err);
}

/* 0 or an exit code. */
static int read_wishes(struct cb_plan_call *call)
{
    const char *evening = cb_args_get(call->args, "--evening");
    double minutes = 0;
    if (evening != NULL &&
        !(cb_recipe_minutes(evening, &minutes) && minutes >= 1 && minutes <= DAY_MIN)) {
        return cb_command_failf(CB_USAGE, "not the length of an evening: %s (such as 2h30m, or 90)",
                                evening);
    }
    call->problem.evening_min = minutes;
    call->problem.night_min = DAY_MIN - minutes;
    call->problem.calm_min = cb_args_has(call->args, "--calm") ? CB_PLAN_CALM_MIN : 0;
    return 0;
}

/* The stage that never dries in this air, or -1. */
static int that_stands_still(const struct cb_plan_call *call)
{
    for (size_t s = 0; s < call->in.recipe->stage_count; s++) {
        if (isinf(call->times[s].dry_min) && cb_recipe_args_figures(&call->in, s) > 0) {
            return (int)s;
        }
    }
    return -1;
}

static size_t tasks_of(const struct cb_plan_call *call)
{
    size_t tasks = 1;
    for (size_t s = 0; s < call->in.recipe->stage_count; s++) {
        const struct cb_stage *stage = &call->in.recipe->stages[s];
        const int figures = cb_recipe_args_figures(&call->in, s);
        tasks += (size_t)stage->coats * (size_t)(stage->together > 0 ? 1 : figures);
    }
    return tasks;
}

/* As one sitting, whatever the evenings are; a batch of all is the plan, where that is one too. */
static void batches(struct cb_plan_call *call, size_t simulations)
{
    struct cb_plan_problem one_sitting = call->problem;
    one_sitting.evening_min = 0;
    const int all = call->in.figures;
    for (int figures = 1; figures < all; figures++) {
        const size_t own = simulations / (size_t)all;
        call->batches[figures - 1] = cb_plan_batch_of(
            &one_sitting, figures, own > BATCH_SIMULATIONS_MIN ? own : BATCH_SIMULATIONS_MIN);
    }
    call->batches[all - 1] = (struct cb_plan_batch){call->plan.idle_min, call->plan.finish_min,
                                                    call->plan.paint_changes};
    if (call->problem.evening_min > 0) {
        call->batches[all - 1] = cb_plan_batch_of(&one_sitting, all, simulations);
    }
}

static void reckon(struct cb_plan_call *call)
{
    struct cb_plan_search *search = cb_plan_search_new(&call->problem, SEED);
    size_t simulations = SIMULATED_TASKS / tasks_of(call);
    simulations = simulations > SIMULATIONS_MAX   ? SIMULATIONS_MAX
                  : simulations < SIMULATIONS_MIN ? SIMULATIONS_MIN
                                                  : simulations;
    cb_plan_search_go(search, simulations);
    call->plan = cb_plan_search_best(search, call->arena);
    call->strict = cb_plan_search_strict(search, call->arena);
    cb_plan_search_free(search);
    call->bound_min = cb_plan_bound_min(&call->problem);
    batches(call, simulations);
    call->advised = cb_plan_batch_advised(call->batches, call->in.figures);
}

static void foresee(struct cb_plan_call *call)
{
    const struct cb_finish_ask ask = {.plan = &call->plan,
                                      .hours = call->hours,
                                      .habits = &call->habits,
                                      .zone = &call->air.zone,
                                      .now_ms = call->air.now_ms,
                                      .session_ms = call->session_ms,
                                      .evening_min = call->problem.evening_min};
    call->finish = cb_finish_of(&ask);
    if (call->finish.from == CB_FINISH_LEARNED) {
        call->usual_evenings = call->finish.evenings;
    }
}

static int write_svg(const struct cb_plan_call *call, const char *path)
{
    struct cb_err err = {0};
    struct cb_str svg = {0};
    struct cb_out_file *file;
    cb_plan_svg(call, &svg);
    enum cb_status status = cb_out_file_open(path, cb_args_log(call->args, &err), &file, &err);
    if (status == CB_OK) {
        const bool written = cb_out_file_write(file, cb_str_text(&svg), svg.length);
        status = cb_out_file_close(file, written, &err);
    }
    cb_str_fini(&svg);
    return status == CB_OK ? 0 : cb_command_fail(&err);
}

static int run(const struct cb_args *args)
{
    struct cb_plan_call *call = cb_arena_alloc(args->arena, 1, sizeof *call);
    call->args = args;
    call->arena = args->arena;
    call->session_ms = CB_TIME_NONE;
    int code = cb_recipe_args_read(args, &call->in);
    if (code == 0) {
        code = cb_climate_args_read(args, call->in.kinds, call->in.config, &call->air);
    }
    if (code == 0) {
        code = read_wishes(call);
    }
    if (code == 0) {
        code = read_times(call);
    }
    if (code != 0) {
        return code;
    }
    const int still = that_stands_still(call);
    if (still >= 0) {
        return cb_command_failf(CB_FAILED, "no plan: %s does not dry in %s",
                                cb_utf8_clean(call->arena, call->in.recipe->stages[still].name, 48),
                                cb_climate_args_text(args, &call->air));
    }
    const struct cb_plan_problem wishes = call->problem;
    call->problem = cb_plan_of_recipe(call->in.kinds, call->in.recipe, call->in.figures,
                                      call->times, call->arena);
    call->problem.evening_min = wishes.evening_min;
    call->problem.night_min = wishes.night_min;
    call->problem.calm_min = wishes.calm_min;
    reckon(call);
    foresee(call);
    const char *svg = cb_args_get(args, "--svg");
    code = svg != NULL ? write_svg(call, svg) : 0;
    if (code == 0 && args->json) {
        cb_plan_print_json(call);
    } else if (code == 0 && svg == NULL) {
        cb_plan_print(call);
    }
    return code;
}

static const struct cb_option options[] = {
    {"-n", "FIGURES", "how many figures; without it as the recipe says"},
    {"--temp", "C|F",
     "air temperature, such as 21 or 70F; without both that of your bench, else 20 C, 50 %"},
    {"--rh", "PCT", "relative humidity"},
    {"--air", "AIR", "still, draught, fan or dryer"},
    {"--evening", "TIME", "length of an evening, such as 2h30m: over how many it goes"},
    {"--calm", NULL, "fewer changes of paint, for a little more time"},
    {"--compare", NULL, "beside it one stage after the other"},
    {"--svg", "FILE", "the time line as a picture, into FILE"},
    {0},
};

const struct cb_command cb_command_plan = {
    .name = "plan",
    .operands = "RECIPE",
    .summary = "What to put on in which order, when it is finished, how many figures at once.",
    .options = options,
    .min_operands = 1,
    .max_operands = 1,
    .run = run,
};
