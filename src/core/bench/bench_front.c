/* SPDX-License-Identifier: MIT */
/* Which unit is in front, and whose hand may change that. */
#include "core/bench/bench_internal.h"

#include "base/str.h"

/* Somebody sits at the bench that this fold is for: what others did does not reach it. */
static bool is_others(const struct cb_bench *bench, const char *machine)
{
    return bench->own && cb_str_same(bench->sitting, bench->own) &&
           !cb_str_same(machine, bench->own);
}

static bool may_move(const struct cb_bench *bench, const char *machine)
{
    return !bench->sitting || cb_str_same(machine, bench->sitting) ||
           (bench->own && cb_str_same(machine, bench->own));
}

static void put(struct cb_bench *bench, int unit, const char *machine)
{
    bench->front = (struct cb_bench_front){unit, machine};
}

void cb_bench_front_move(struct cb_bench *bench, int unit, const struct cb_event *event)
{
    bench->last_moved = (struct cb_bench_front){unit, event->machine};
    if (may_move(bench, event->machine)) {
        bench->front = bench->last_moved;
    }
}

void cb_bench_front_finish(struct cb_bench *bench, int unit, const struct cb_event *event)
{
    if (bench->front.unit == unit) {
        put(bench, -1, event->machine);
    }
    if (bench->last_moved.unit == unit) {
        bench->last_moved = (struct cb_bench_front){-1, event->machine};
    }
}

/* What the bench found in front is pinned only where another hand than its own would have it
 * otherwise: a press of its own may still be undone. A bench of before that did not say had in
 * front what was moved there last, by whomever. */
void cb_bench_front_sit(struct cb_bench *bench, const struct cb_event *event)
{
    if (is_others(bench, event->machine)) {
        return;
    }
    bench->sitting = event->machine;
    const char *found = cb_event_text(event, CB_FIELD_FRONT, NULL);
    if (!found) {
        bench->front = bench->last_moved;
    } else if (!cb_str_same(bench->front.by, event->machine)) {
        const int unit = cb_bench_find_unit(bench, found);
        const bool there = unit >= 0 && !bench->units.items[unit]->unit.finished;
        put(bench, there ? unit : -1, event->machine);
    }
}

void cb_bench_front_rise(struct cb_bench *bench, const struct cb_event *event)
{
    if (cb_str_same(bench->sitting, event->machine)) {
        bench->sitting = NULL;
    }
}
