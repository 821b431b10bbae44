/* SPDX-License-Identifier: MIT */
#include "app/outlook.h"

#include <math.h>
#include <stdlib.h>

#include "app/state.h"
#include "base/mem.h"
#include "core/review/effort.h"

struct cb_outlook_kept {
    bool made;
    int64_t minute, from_ms;
    double finish_min, work_min; /* of the plan it was made from */
    struct cb_finish finish;
    struct cb_hours_sum to_go;
};

const struct cb_outlook *cb_app_outlook(const struct cb_app *app)
{
    return &app->outlook;
}

void cb_outlook_zoom(struct cb_app *app, int column_min, int left)
{
    app->outlook.column_min = column_min;
    app->outlook.left = left < 0 ? 0 : left;
}

double cb_outlook_gone_min(const struct cb_app *app)
{
    const struct cb_road *road = cb_app_road(app);
    const double gone_min = (double)(cb_app_bench_now(app) - road->from_ms) / (double)CB_MS_PER_MIN;
    return gone_min > 0 ? gone_min : 0;
}

double cb_outlook_late_min(const struct cb_app *app, const struct cb_plan *plan)
{
    const double late_min =
        plan->task_count > 0 ? cb_outlook_gone_min(app) - plan->tasks[0].end_min : 0;
    return late_min > 0 ? late_min : 0;
}

double cb_outlook_wet_min(const struct cb_road *road)
{
    const struct cb_plan_problem *problem = road->problem;
    double wet_min = 0;
    for (size_t i = 0; i < problem->stage_count * problem->figure_count; i++) {
        wet_min = fmax(wet_min, problem->slots[i].dry_min);
    }
    return wet_min;
}

int cb_outlook_still(const struct cb_road *road)
{
    const struct cb_plan_problem *problem = road->problem;
    for (size_t s = 0; s < problem->stage_count; s++) {
        for (size_t f = 0; f < problem->figure_count; f++) {
            const struct cb_plan_slot *slot = &problem->slots[s * problem->figure_count + f];
            if (isinf(slot->dry_min) ||
                (slot->on < slot->coats && isinf(problem->stages[s].dry_min))) {
                return (int)s;
            }
        }
    }
    return -1;
}

static struct cb_finish finish_of(const struct cb_app *app, const struct cb_road *road,
                                  const struct cb_hours_sum *to_go)
{
    const struct cb_session *session = &app->session;
    const struct cb_bench_facts facts = cb_bench_facts(session->bench);
    const int64_t late_ms =
        (int64_t)(cb_outlook_late_min(app, &road->nights) * (double)CB_MS_PER_MIN);
    struct cb_arena arena = {0};
    struct cb_plan plan = road->nights;
    if (plan.evenings <= 1) { /* what was put on before it may dry longer than all that follows */
        plan.finish_min = fmax(plan.finish_min, cb_outlook_wet_min(road));
    }
    struct cb_finish_ask ask = {
        .plan = &plan,
        .hours = *to_go,
        .habits = &session->taught.habits,
        .zone = &session->zone,
        .now_ms = cb_bench_wall(session->bench, &session->now, road->from_ms + late_ms),
        .session_ms = CB_TIME_NONE,
        .evening_min = session->config->evening_min};
    ask.evenings = cb_evenings_of(session->bench, &arena, &ask.evening_count);
    if (facts.session_open) {
        ask.session_ms = cb_bench_wall(session->bench, &session->now, facts.session_opened_ms);
    }
    const struct cb_finish finish = cb_finish_of(&ask);
    cb_arena_fini(&arena);
    return finish;
}

static const struct cb_outlook_kept *look_ahead(const struct cb_app *app)
{
    struct cb_outlook_kept *kept = app->outlook.kept;
    const struct cb_road *road = cb_app_road(app);
    const int64_t minute = cb_app_bench_now(app) / CB_MS_PER_MIN;
    if (!kept->made || kept->minute != minute || kept->from_ms != road->from_ms ||
        kept->finish_min != road->nights.finish_min || kept->work_min != road->nights.work_min) {
        const size_t front = (size_t)cb_bench_front(app->session.bench);
        struct cb_hours *hours = cb_hindsight_hours(app, cb_app_review(app, front));
        kept->to_go = cb_effort_to_go(hours, cb_app_unit(app), app->session.kinds);
        cb_hours_free(hours);
        kept->finish = finish_of(app, road, &kept->to_go);
        kept->minute = minute;
        kept->from_ms = road->from_ms;
        kept->finish_min = road->nights.finish_min;
        kept->work_min = road->nights.work_min;
        kept->made = true;
    }
    return kept;
}

const struct cb_finish *cb_app_finish(const struct cb_app *app)
{
    return &look_ahead(app)->finish;
}

const struct cb_hours_sum *cb_app_to_go(const struct cb_app *app)
{
    return &look_ahead(app)->to_go;
}

void cb_outlook_forget(struct cb_app *app)
{
    app->outlook.kept->made = false;
}

void cb_outlook_init(struct cb_app *app)
{
    app->outlook.kept = cb_mem_new(1, sizeof *app->outlook.kept);
}

void cb_outlook_fini(struct cb_app *app)
{
    free(app->outlook.kept);
}
