/* SPDX-License-Identifier: MIT */
#include "command/plan_internal.h"
#include "shell/json_write.h"

static void tasks(const struct cb_plan_call *call, struct cb_json *json)
{
    cb_json_list(json, "tasks");
    for (size_t i = 0; i < call->plan.task_count; i++) {
        const struct cb_plan_task *task = &call->plan.tasks[i];
        cb_json_object(json, NULL);
        cb_json_integer(json, "figure", task->figure + 1);
        cb_json_integer(json, "stage", task->stage + 1);
        cb_json_integer(json, "coat", task->coat);
        cb_json_number(json, "start_min", task->start_min);
        cb_json_number(json, "end_min", task->end_min);
        cb_json_number(json, "dry_min", task->dry_min);
        cb_json_text(json, "name", call->in.recipe->stages[task->stage].name);
        cb_json_bool(json, "change", task->change);
        if (call->problem.evening_min > 0) {
            cb_json_integer(json, "evening", task->evening + 1);
        }
        if (task->figure < 0) {
            cb_json_list(json, "figures");
            for (size_t k = 0; k < task->member_count; k++) {
                cb_json_integer(json, NULL, task->members[k] + 1);
            }
            cb_json_end(json);
        }
        cb_json_end(json);
    }
    cb_json_end(json);
}

static void batches(const struct cb_plan_call *call, struct cb_json *json)
{
    cb_json_object(json, "batch");
    cb_json_integer(json, "advised", call->advised);
    cb_json_list(json, "table");
    for (int figures = 1; figures <= call->in.figures; figures++) {
        const struct cb_plan_batch *batch = &call->batches[figures - 1];
        cb_json_object(json, NULL);
        cb_json_integer(json, "figures", figures);
        cb_json_number(json, "idle_min", batch->idle_min);
        cb_json_number(json, "finish_min", batch->finish_min);
        cb_json_integer(json, "paint_changes", batch->paint_changes);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_json_end(json);
}

static void stages(const struct cb_plan_call *call, struct cb_json *json)
{
    cb_json_list(json, "stages");
    for (size_t s = 0; s < call->in.recipe->stage_count; s++) {
        cb_json_object(json, NULL);
        cb_json_text(json, "stage", call->in.recipe->stages[s].name);
        cb_json_number(json, "work_min", call->times[s].work_min);
        cb_json_number(json, "dry_min", call->times[s].dry_min);
        cb_json_bool(json, "learned", call->times[s].learned);
        cb_json_end(json);
    }
    cb_json_end(json);
}

static void finish_at(const struct cb_plan_call *call, struct cb_json *json)
{
    const struct cb_finish *finish = &call->finish;
    if (finish->from == CB_FINISH_UNKNOWN) {
        cb_json_text(json, "finish_at", NULL);
        return;
    }
    cb_json_object(json, "finish_at");
    cb_json_time(json, "median", finish->median_ms);
    cb_json_time(json, "low", finish->low_ms);
    cb_json_time(json, "high", finish->high_ms);
    cb_json_integer(json, "sittings", (long long)finish->known_evenings);
    cb_json_bool(json, "learned", finish->from == CB_FINISH_LEARNED);
    cb_json_end(json);
}

void cb_plan_print_json(const struct cb_plan_call *call)
{
    struct cb_json *json = cb_json_new();
    cb_json_text(json, "recipe", call->in.recipe->name);
    cb_json_integer(json, "figures", call->in.figures);
    cb_json_number(json, "temp_c", call->air.climate.temp_c);
    cb_json_number(json, "rh_pct", call->air.climate.rh_pct);
    cb_json_text(json, "air", cb_air_name(call->air.climate.air));
    cb_json_bool(json, "assumed", call->air.assumed);
    cb_json_number(json, "work_min", call->plan.work_min);
    cb_json_number(json, "finish_min", call->plan.finish_min);
    cb_json_number(json, "idle_min", call->plan.idle_min);
    cb_json_number(json, "change_min", call->plan.change_min);
    cb_json_integer(json, "paint_changes", call->plan.paint_changes);
    cb_json_number(json, "lower_bound_min", call->bound_min);
    cb_json_number(json, "strict_order_min", call->strict.finish_min);
    if (call->problem.evening_min > 0) {
        cb_json_object(json, "evenings");
        cb_json_number(json, "evening_min", call->problem.evening_min);
        cb_json_integer(json, "count", call->plan.evenings);
        cb_json_number(json, "last_min", call->plan.last_evening_min);
        cb_json_end(json);
    }
    batches(call, json);
    stages(call, json);
    tasks(call, json);
    cb_json_object(json, "hours");
    cb_json_number(json, "median_h", call->hours.median_min / 60);
    cb_json_number(json, "low_h", call->hours.low_min / 60);
    cb_json_number(json, "high_h", call->hours.high_min / 60);
    cb_json_end(json);
    finish_at(call, json);
    cb_command_print_json(json);
}
