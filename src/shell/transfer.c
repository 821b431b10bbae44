/* SPDX-License-Identifier: MIT */
#include "shell/transfer.h"

#include <limits.h>
#include <stdbool.h>
#include <string.h>

#include "base/str.h"
#include "base/vec.h"
#include "shell/csv.h"
#include "shell/jsonl.h"

#define LINES_A_SCRATCH 256

/* ---- In ---- */

struct lines {
    const char *at, *end;
    const char *line; /* the one found, without its newline */
    size_t length;
    int number;
};

static struct lines lines_of(const char *text, size_t length)
{
    struct lines lines = {.at = text, .end = text + length};
    if (length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0) {
        lines.at += 3; /* a byte order mark, as some editors put it */
    }
    return lines;
}

static bool next_line(struct lines *lines)
{
    while (lines->at < lines->end) {
        const char *newline = memchr(lines->at, '\n', (size_t)(lines->end - lines->at));
        lines->line = lines->at;
        lines->length = (size_t)((newline ? newline : lines->end) - lines->at);
        lines->at = newline ? newline + 1 : lines->end;
        lines->number++;
        for (size_t i = 0; i < lines->length; i++) {
            char c = lines->line[i];
            if (c != ' ' && c != '\t' && c != '\r') {
                return true;
            }
        }
    }
    return false;
}

enum cb_status cb_transfer_check(const char *text, size_t length, struct cb_arena *arena,
                                 struct cb_issues *issues, size_t *events)
{
    struct lines lines = lines_of(text, length);
    struct cb_arena scratch = {0};
    *events = 0;
    while (issues->count < CB_ISSUES_MAX && next_line(&lines)) {
        const struct cb_event *event;
        struct cb_err fault = {0};
        int column;
        if (cb_jsonl_decode_at(lines.line, lines.length, &scratch, &event, &column, &fault) !=
            CB_OK) {
            cb_issues_add(issues, arena, lines.number, column, "%s", fault.text);
        }
        if (++*events % LINES_A_SCRATCH == 0) {
            cb_arena_fini(&scratch);
        }
    }
    cb_arena_fini(&scratch);
    return issues->count == 0 ? CB_OK : CB_DATA;
}

struct taking {
    struct lines lines;
    struct cb_arena scratch;
    size_t count;
};

static enum cb_status take_next(void *context, const struct cb_event **event, struct cb_err *err)
{
    struct taking *taking = context;
    *event = NULL;
    if (!next_line(&taking->lines)) {
        return CB_OK;
    }
    if (++taking->count % LINES_A_SCRATCH == 0) {
        cb_arena_fini(&taking->scratch);
    }
    return cb_jsonl_decode(taking->lines.line, taking->lines.length, &taking->scratch, event, err);
}

enum cb_status cb_transfer_in(struct cb_store *store, const char *text, size_t length,
                              size_t *added, struct cb_err *err)
{
    struct taking taking = {.lines = lines_of(text, length)};
    enum cb_status status = cb_store_import(store, take_next, &taking, added, err);
    cb_arena_fini(&taking.scratch);
    return status;
}

/* ---- Out ---- */

struct writing {
    enum cb_transfer_format format;
    bool (*write)(void *context, const char *bytes, size_t length);
    void *context;
    struct cb_str line;
    size_t count;
    bool failed;
};

static bool write_event(void *context, const struct cb_event *event)
{
    struct writing *writing = context;
    cb_str_clear(&writing->line);
    switch (writing->format) {
    case CB_TRANSFER_JSONL:
        cb_jsonl_encode(event, &writing->line);
        cb_str_add_n(&writing->line, "\n", 1);
        break;
    case CB_TRANSFER_CSV:
        cb_csv_event(&writing->line, event);
        break;
    }
    writing->count++;
    writing->failed = !writing->write(writing->context, writing->line.text, writing->line.length);
    return !writing->failed;
}

/* Most logs lie in fold order already; then they are streamed and never held whole. */
struct order {
    struct cb_arena arena;
    CB_VEC(const struct cb_event *) keys;
};

static bool note_key(void *context, const struct cb_event *event)
{
    struct order *order = context;
    struct cb_event *key = cb_arena_alloc(&order->arena, 1, sizeof *key);
    const struct cb_event *last =
        order->keys.count ? order->keys.items[order->keys.count - 1] : NULL;
    key->id = cb_arena_text(&order->arena, event->id);
    key->at_ms = event->at_ms;
    key->seq = event->seq;
    key->machine = last && last->machine && event->machine &&
                           strcmp(last->machine, event->machine) == 0
                       ? last->machine
                       : cb_arena_text(&order->arena, event->machine);
    cb_vec_push(&order->keys, key);
    return true;
}

static enum cb_status is_in_fold_order(struct cb_store *store, bool *sorted, struct cb_err *err)
{
    struct order order = {0};
    enum cb_status status = cb_store_each(store, NULL, note_key, &order, err);
    size_t count = order.keys.count;
    *sorted = true;
    if (status == CB_OK && count > 1) {
        const struct cb_event **before =
            cb_arena_alloc(&order.arena, count, sizeof(const struct cb_event *));
        memcpy(before, order.keys.items, count * sizeof *before);
        cb_event_sort(order.keys.items, count);
        for (size_t i = 0; i < count && *sorted; i++) {
            *sorted = before[i] == order.keys.items[i];
        }
    }
    cb_vec_free(&order.keys);
    cb_arena_fini(&order.arena);
    return status;
}

static enum cb_status write_sorted(struct cb_store *store, struct writing *writing,
                                   struct cb_err *err)
{
    struct cb_arena arena = {0};
    const struct cb_event **events;
    size_t count;
    enum cb_status status = cb_store_load(store, NULL, &arena, &events, &count, NULL, err);
    if (status == CB_OK) {
        cb_event_sort(events, count);
        for (size_t i = 0; i < count && write_event(writing, events[i]); i++) {
        }
    }
    cb_arena_fini(&arena);
    return status;
}

enum cb_status cb_transfer_out(struct cb_store *store, enum cb_transfer_format format,
                               bool (*write)(void *context, const char *bytes, size_t length),
                               void *context, size_t *events, struct cb_err *err)
{
    struct writing writing = {.format = format, .write = write, .context = context};
    bool sorted;
    enum cb_status status = is_in_fold_order(store, &sorted, err);
    if (status == CB_OK && format == CB_TRANSFER_CSV) {
        cb_csv_event_head(&writing.line);
        writing.failed = !write(context, writing.line.text, writing.line.length);
    }
    if (status == CB_OK && !writing.failed) {
        status = sorted ? cb_store_each(store, NULL, write_event, &writing, err)
                        : write_sorted(store, &writing, err);
    }
    cb_str_fini(&writing.line);
    *events = writing.count;
    return status == CB_OK && writing.failed ? CB_IO : status;
}
