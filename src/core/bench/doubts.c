/* SPDX-License-Identifier: MIT */
#include "core/bench/doubts.h"

#include <string.h>

#include "base/str.h"
#include "base/time.h"
#include "core/bench/bench_internal.h"

/* As the fold judges its clocks (bench_apply.c). */
#define APART_MS  (5 * CB_MS_PER_MIN)
#define GAP_MS    (366 * INT64_C(86400000))
#define FUTURE_MS (5 * CB_MS_PER_MIN)

void cb_bench_watch_doubts(struct cb_bench *bench)
{
    bench->watches = true;
}

void cb_bench_note_doubt(struct cb_bench *bench, const struct cb_event *event,
                         enum cb_doubt_kind why)
{
    if (bench->watches) {
        cb_vec_push(&bench->doubts, ((struct cb_bench_doubt){event, why}));
    }
}

static bool lacks_figure(const struct cb_bench_unit *unit, const struct cb_event *event)
{
    const int64_t figure = cb_event_int(event, CB_FIELD_FIGURE, 0);
    return cb_event_get(event, CB_FIELD_FIGURE) && (figure < 0 || figure > unit->unit.figures);
}

static bool is_refused(struct cb_bench *bench, const struct cb_event *event)
{
    return !cb_bench_read_recipe(bench, cb_event_text(event, CB_FIELD_RECIPE, ""))->recipe;
}

enum cb_doubt_kind cb_bench_doubt_of(struct cb_bench *bench, struct cb_bench_unit *unit,
                                     const struct cb_event *event)
{
    const bool of_film = event->kind == CB_EVENT_CHECKED || event->kind == CB_EVENT_LIFTED ||
                         event->kind == CB_EVENT_HELPED;
    if (event->kind == CB_EVENT_RECIPE_CHANGED) {
        return is_refused(bench, event) ? CB_DOUBT_NO_RECIPE : CB_DOUBT_COUNT;
    }
    if (of_film && cb_bench_event_film(bench, unit, event)) {
        return CB_DOUBT_COUNT;
    }
    if (event->kind != CB_EVENT_MOVED && cb_event_get(event, CB_FIELD_STAGE) &&
        cb_bench_stage_of(unit, event) < 0) {
        return CB_DOUBT_NO_STAGE;
    }
    if (event->kind != CB_EVENT_MOVED && lacks_figure(unit, event)) {
        return CB_DOUBT_NO_FIGURE;
    }
    return of_film ? CB_DOUBT_NOT_ON : CB_DOUBT_COUNT;
}

/* ---- what is asked afterwards ---- */

static void add(struct cb_doubts *doubts, enum cb_doubt_kind kind, const struct cb_event *event,
                int64_t by_ms)
{
    struct cb_doubt *doubt = &doubts->of[kind];
    doubt->first = doubt->count++ == 0 ? event : doubt->first;
    doubt->most_ms = by_ms > doubt->most_ms ? by_ms : doubt->most_ms;
}

/* Where the last event of the machine stands; NULL: it has none yet. */
static const struct cb_event **last_of(const struct cb_event **last, size_t count,
                                       const char *machine)
{
    for (size_t i = 0; i < count; i++) {
        if (last[i]->machine == machine) { /* interned */
            return &last[i];
        }
    }
    return NULL;
}

static void judge_clocks(struct cb_doubts *doubts, const struct cb_event *before,
                         const struct cb_event *event)
{
    const int64_t wall_ms = event->at_ms - before->at_ms;
    if (wall_ms < 0) {
        add(doubts, CB_DOUBT_SET_BACK, event, -wall_ms);
    }
    if (wall_ms > GAP_MS) {
        add(doubts, CB_DOUBT_GAP, event, wall_ms);
    }
    if (event->boot && event->boot == before->boot) {
        const int64_t boot_ms = event->boot_ms - before->boot_ms;
        const int64_t apart_ms = wall_ms > boot_ms ? wall_ms - boot_ms : boot_ms - wall_ms;
        if (boot_ms < 0) {
            add(doubts, CB_DOUBT_BOOT_BACK, event, -boot_ms);
        } else if (apart_ms > APART_MS) {
            add(doubts, CB_DOUBT_APART, event, apart_ms);
        }
    }
}

static void look_at_clocks(const struct cb_bench *bench, int64_t now_ms, struct cb_doubts *doubts)
{
    CB_VEC(const struct cb_event *) last = {0}; /* of each machine */
    for (size_t i = 0; i < bench->events.count; i++) {
        const struct cb_event *event = bench->events.items[i];
        if (event->at_ms > now_ms + FUTURE_MS) {
            add(doubts, CB_DOUBT_FUTURE, event, event->at_ms - now_ms);
        }
        if (!event->machine) {
            continue;
        }
        const struct cb_event **before = last_of(last.items, last.count, event->machine);
        if (before) {
            judge_clocks(doubts, *before, event);
            *before = event;
        } else {
            cb_vec_push(&last, event);
        }
    }
    cb_vec_free(&last);
}

static void look_for_targets(const struct cb_bench *bench, struct cb_doubts *doubts)
{
    struct cb_index *presses = cb_index_new();
    struct cb_arena arena = {0};
    size_t ignored;
    for (size_t i = 0; i < bench->events.count; i++) {
        const struct cb_event *event = bench->events.items[i];
        if (event->press) {
            cb_index_set(presses, cb_bench_press_key(event, event->press, &arena), 1);
        }
    }
    for (size_t i = 0; i < bench->events.count; i++) {
        const struct cb_event *event = bench->events.items[i];
        const char *of =
            event->kind == CB_EVENT_UNDONE ? cb_event_text(event, CB_FIELD_OF, "") : NULL;
        const char *coat =
            event->kind == CB_EVENT_MOVED ? cb_event_text(event, CB_FIELD_COAT_ID, "") : NULL;
        if ((of && !cb_index_get(presses, cb_bench_press_key(event, of, &arena), &ignored)) ||
            (coat && !cb_index_get(bench->ids, coat, &ignored))) {
            add(doubts, CB_DOUBT_NO_TARGET, event, 0);
        }
    }
    cb_index_free(presses);
    cb_arena_fini(&arena);
}

void cb_bench_doubts(const struct cb_bench *bench, int64_t now_ms, struct cb_doubts *doubts)
{
    *doubts = (struct cb_doubts){0};
    for (size_t i = 0; i < bench->doubts.count; i++) {
        add(doubts, bench->doubts.items[i].why, bench->doubts.items[i].event, 0);
    }
    look_for_targets(bench, doubts);
    look_at_clocks(bench, now_ms, doubts);
}
