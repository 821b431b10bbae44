/* SPDX-License-Identifier: MIT */
/* What the marks of a log took. */
#include <math.h>

#include "core/plan/suggest_internal.h"

static double minutes(int64_t ms)
{
    return (double)ms / (double)CB_MS_PER_MIN;
}

/* The mark's time, and what of it was a change of paint and before the coat could go on. */
struct measured {
    double all_min, change_min, waiting_min, end_min;
};

static struct measured measure_mark(const struct cb_suggest_log *log,
                                    const struct cb_suggest_mark *mark, double ready_min)
{
    struct measured out = {0};
    for (size_t i = mark->first_span; i < mark->end_span; i++) {
        const struct cb_span *span = &log->review->spans[i];
        if (span->spent != CB_SPENT_WAITING && span->stage != mark->stage + 1) {
            continue;
        }
        if (span->spent != CB_SPENT_WAITING && span->spent != CB_SPENT_HANDS_ON &&
            span->spent != CB_SPENT_CHANGE) {
            continue;
        }
        const double from_min = minutes(span->from_ms - log->review->spans[0].from_ms);
        const double min = minutes(span->to_ms - span->from_ms);
        out.all_min += min;
        out.change_min += span->spent == CB_SPENT_CHANGE ? min : 0;
        out.waiting_min += fmin(min, fmax(0, ready_min - from_min));
        out.end_min = from_min + min;
    }
    return out;
}

/* The time of every mark given out: waiting for that coat, whatever else could have gone on; its
 * change of paint, made in that wait if there was one; the rest is its stage's work. */
void cb_suggest_measure(struct cb_suggest_log *log, struct cb_plan_stage *stages)
{
    const double recipe_min = log->review->recipe->change_min;
    double change_min = 0;
    int changes = 0, brush = CB_PLAN_NO_PAINT, session = -1;
    int marks[CB_RECIPE_MAX] = {0};
    struct cb_suggest_board board;
    cb_suggest_board_init(&board, &log->model);
    for (size_t i = 0; i < log->mark_count; i++) {
        const struct cb_suggest_mark *mark = &log->marks[i];
        struct cb_plan_stage *stage = &stages[mark->stage];
        const struct measured found =
            measure_mark(log, mark, cb_suggest_board_ready(&board, log, mark));
        brush = mark->clean ? CB_PLAN_NO_PAINT : brush;
        const bool changed = stage->paint >= 0 && stage->paint != brush;
        const double own_min = changed ? fmin(found.change_min, recipe_min) : 0;
        const double idle_min = fmax(0, found.waiting_min - own_min);
        const double work_min = found.all_min - idle_min - own_min;
        const bool plain = changed && found.waiting_min <= 0;
        stage->work_min += work_min;
        marks[mark->stage]++;
        log->work_min += work_min;
        log->spent.waiting_min += idle_min;
        log->spent.change_min += own_min;
        log->spent.paint_changes += changed ? 1 : 0;
        change_min += plain ? own_min : 0;
        changes += plain ? 1 : 0;
        brush = stage->paint >= 0 ? stage->paint : brush;
        const int own_session = log->review->spans[mark->end_span - 1].session;
        log->sessions += own_session != session ? 1 : 0;
        session = own_session;
        cb_suggest_board_put(&board, log, mark, found.end_min + stage->dry_min);
    }
    cb_suggest_board_fini(&board);
    for (size_t s = 0; s < log->problem.stage_count; s++) {
        stages[s].work_min /= marks[s] > 0 ? marks[s] : 1;
        stages[s].change_min = changes > 0 ? change_min / changes : recipe_min;
    }
}
