/* SPDX-License-Identifier: MIT */
#include "shell/pilot.h"

#include "core/bench/painter.h"

#define AGAIN_MS 1000 /* of the demo's time, after a press */

bool cb_pilot_press(const struct cb_app *app, const struct cb_moment *now, int64_t *again_ms)
{
    const struct cb_bench *bench = cb_app_bench(app);
    const struct cb_proposal next = cb_app_offer(app);
    bool press = false;
    const int64_t next_ms =
        cb_painter_steady(bench, cb_app_learn(app), &next, cb_bench_time(bench, now), &press);
    *again_ms = press                     ? now->wall_ms + AGAIN_MS
                : next_ms != CB_TIME_NONE ? cb_bench_wall(bench, now, next_ms)
                                          : CB_TIME_NONE;
    return press;
}
