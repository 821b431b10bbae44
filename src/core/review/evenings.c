/* SPDX-License-Identifier: MIT */
#include "core/review/evenings.h"

#include <stdlib.h>
#include <string.h>

#include "base/time.h"
#include "base/vec.h"

struct stretch {
    struct cb_evening at; /* bench time */
    bool open, painted;
};

struct stretches {
    CB_VEC(struct cb_evening) list;
};

static void end(struct stretches *found, struct stretch *stretch)
{
    if (stretch->open && stretch->painted) {
        cb_vec_push(&found->list, stretch->at);
    }
    *stretch = (struct stretch){0};
}

/* A bell rings and a sensor tells of the air also when nobody is there. */
static bool is_hand(enum cb_event_kind kind)
{
    return kind != CB_EVENT_PINGED && kind != CB_EVENT_CLIMATE_SET;
}

static void take(struct stretches *found, struct stretch *stretch, enum cb_event_kind kind,
                 int64_t at_ms)
{
    if (kind == CB_EVENT_SESSION_OPENED) {
        end(found, stretch);
        *stretch = (struct stretch){.at = {at_ms, at_ms}, .open = true};
    }
    if (!stretch->open || !is_hand(kind)) {
        return;
    }
    if (at_ms - stretch->at.to_ms > CB_EVENING_SPLIT_MIN * CB_MS_PER_MIN) {
        end(found, stretch);
        *stretch = (struct stretch){.at = {at_ms, at_ms}, .open = true};
    }
    stretch->at.to_ms = at_ms;
    stretch->painted = stretch->painted || kind == CB_EVENT_COAT_ON;
    if (kind == CB_EVENT_SESSION_CLOSED) {
        end(found, stretch);
    }
}

const struct cb_evening *cb_evenings_of(const struct cb_bench *bench, struct cb_arena *arena,
                                        size_t *count)
{
    size_t event_count;
    const struct cb_event *const *events = cb_bench_events(bench, &event_count);
    struct stretches found = {0};
    struct stretch stretch = {0};
    int64_t now_ms = INT64_MIN;
    for (size_t i = 0; i < event_count; i++) {
        const int64_t own_ms = cb_bench_event_ms(bench, i);
        now_ms = own_ms > now_ms ? own_ms : now_ms;
        if (cb_bench_in_force(bench, i)) {
            take(&found, &stretch, events[i]->kind, now_ms);
        }
    }
    end(&found, &stretch);
    struct cb_evening *evenings = cb_arena_alloc(arena, found.list.count + 1, sizeof *evenings);
    for (size_t i = 0; i < found.list.count; i++) {
        const int64_t shift_ms =
            events[event_count - 1]->at_ms - cb_bench_event_ms(bench, event_count - 1);
        evenings[i] = (struct cb_evening){found.list.items[i].from_ms + shift_ms,
                                          found.list.items[i].to_ms + shift_ms};
    }
    *count = cb_evenings_join(evenings, found.list.count);
    cb_vec_free(&found.list);
    return evenings;
}

static int by_start(const void *a, const void *b)
{
    const struct cb_evening *x = a;
    const struct cb_evening *y = b;
    if (x->from_ms != y->from_ms) {
        return x->from_ms < y->from_ms ? -1 : 1;
    }
    return (x->to_ms > y->to_ms) - (x->to_ms < y->to_ms);
}

size_t cb_evenings_join(struct cb_evening *evenings, size_t count)
{
    if (count == 0) {
        return 0;
    }
    qsort(evenings, count, sizeof *evenings, by_start);
    size_t last = 0;
    for (size_t i = 1; i < count; i++) {
        if (evenings[i].from_ms - evenings[last].to_ms < CB_EVENING_JOIN_MIN * CB_MS_PER_MIN) {
            if (evenings[i].to_ms > evenings[last].to_ms) {
                evenings[last].to_ms = evenings[i].to_ms;
            }
        } else {
            evenings[++last] = evenings[i];
        }
    }
    return last + 1;
}

const struct cb_evening *cb_evenings_both(const struct cb_evening *a, size_t a_count,
                                          const struct cb_evening *b, size_t b_count,
                                          struct cb_arena *arena, size_t *count)
{
    struct cb_evening *both = cb_arena_alloc(arena, a_count + b_count + 1, sizeof *both);
    if (a_count > 0) {
        memcpy(both, a, a_count * sizeof *both);
    }
    if (b_count > 0) {
        memcpy(both + a_count, b, b_count * sizeof *both);
    }
    *count = cb_evenings_join(both, a_count + b_count);
    return both;
}

void cb_evenings_code(struct cb_coder *coder, const struct cb_evening **evenings, size_t *count)
{
    cb_code_length(coder, count, SIZE_MAX);
    struct cb_evening *list = cb_code_list(coder, *evenings, *count, sizeof *list);
    for (size_t i = 0; i < *count; i++) {
        cb_code_signed(coder, &list[i].from_ms);
        cb_code_signed(coder, &list[i].to_ms);
    }
    *evenings = list;
}
