/* SPDX-License-Identifier: MIT */
#include "core/log/event.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/vec.h"

struct key {
    int64_t at;     /* the greatest so far on the machine */
    size_t machine; /* rank by name; 0: none */
    const struct cb_event *event;
};

struct names {
    CB_VEC(const char *) list;
};

static int by_name(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static int compare(int64_t a, int64_t b)
{
    return (a > b) - (a < b);
}

static int by_id(const struct cb_event *a, const struct cb_event *b)
{
    return strcmp(a->id ? a->id : "", b->id ? b->id : "");
}

/* Two events of one machine and seq exist only where a log was copied and written on in both
 * places; their own time and id still give one order. */
static int by_machine(const void *left, const void *right)
{
    const struct key *a = left;
    const struct key *b = right;
    if (a->machine != b->machine) {
        return a->machine < b->machine ? -1 : 1;
    }
    int order = compare(a->event->seq, b->event->seq);
    if (order == 0) {
        order = compare(a->event->at_ms, b->event->at_ms);
    }
    return order ? order : by_id(a->event, b->event);
}

static int by_fold(const void *left, const void *right)
{
    const struct key *a = left;
    const struct key *b = right;
    int order = compare(a->at, b->at);
    return order ? order : by_machine(left, right);
}

static bool is_sorted(const struct key *keys, size_t count,
                      int (*order)(const void *, const void *))
{
    for (size_t i = 1; i < count; i++) {
        if (order(&keys[i - 1], &keys[i]) > 0) {
            return false;
        }
    }
    return true;
}

static void collect_machines(struct names *names, const struct cb_event *const *events,
                             size_t count)
{
    const char *last = NULL;
    for (size_t i = 0; i < count; i++) {
        const char *machine = events[i]->machine;
        if (machine && (!last || strcmp(last, machine) != 0)) {
            cb_vec_push(&names->list, machine);
            last = machine;
        }
    }
    if (names->list.count < 2) {
        return;
    }
    qsort(names->list.items, names->list.count, sizeof *names->list.items, by_name);
    size_t kept = 1;
    for (size_t i = 1; i < names->list.count; i++) {
        if (strcmp(names->list.items[kept - 1], names->list.items[i]) != 0) {
            names->list.items[kept++] = names->list.items[i];
        }
    }
    names->list.count = kept;
}

static size_t machine_rank(const struct names *names, const char *machine)
{
    size_t low = 0;
    size_t high = names->list.count;
    while (machine && low < high) {
        size_t middle = low + (high - low) / 2;
        int order = strcmp(names->list.items[middle], machine);
        if (order == 0) {
            return middle + 1;
        }
        if (order < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return 0;
}

void cb_event_sort(const struct cb_event **events, size_t count)
{
    if (count < 2) {
        return;
    }
    struct names names = {0};
    collect_machines(&names, events, count);
    struct key *keys = cb_mem_new(count, sizeof *keys);
    for (size_t i = 0; i < count; i++) {
        keys[i] =
            (struct key){events[i]->at_ms, machine_rank(&names, events[i]->machine), events[i]};
    }
    if (!is_sorted(keys, count, by_machine)) {
        qsort(keys, count, sizeof *keys, by_machine);
    }
    for (size_t i = 1; i < count; i++) {
        if (keys[i].machine != 0 && keys[i].machine == keys[i - 1].machine &&
            keys[i].at < keys[i - 1].at) {
            keys[i].at = keys[i - 1].at;
        }
    }
    if (!is_sorted(keys, count, by_fold)) {
        qsort(keys, count, sizeof *keys, by_fold);
    }
    for (size_t i = 0; i < count; i++) {
        events[i] = keys[i].event;
    }
    free(keys);
    cb_vec_free(&names.list);
}
