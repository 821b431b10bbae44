/* SPDX-License-Identifier: MIT */
#include "command/log_scene.h"

#include "core/recipe/config.h"

const struct cb_scene *cb_log_scene(const struct cb_log_read *log, const struct cb_moment *now,
                                    struct cb_road_kept *road)
{
    const int64_t now_ms = cb_bench_time(log->bench, now);
    const int front = cb_bench_front(log->bench);
    const struct cb_proposal *planned = NULL;
    struct cb_hours *hours = NULL;
    if (front >= 0) {
        if (log->taught.unit_count > 0) {
            hours = cb_hours_copy(log->taught.hours);
            cb_hours_new_unit(hours);
        }
        const struct cb_road_from from = {.bench = log->bench,
                                          .learn = log->taught.learn,
                                          .hours = hours,
                                          .unit = cb_bench_unit(log->bench, (size_t)front),
                                          .now_ms = now_ms,
                                          .calm = log->config->calm};
        cb_road_replan(road, &from);
        planned = &cb_road_get(road)->next;
    }
    const struct cb_scene *scene = cb_scene_of(log->bench, log->taught.learn, cb_scene_free,
                                               cb_scene_free, planned, now_ms, log->args->arena);
    cb_hours_free(hours);
    return scene;
}
