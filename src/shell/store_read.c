/* SPDX-License-Identifier: MIT */
#include "shell/store_internal.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "shell/jsonl.h"
#include "shell/store_sum.h"

#define SCRATCH_ROWS 512 /* rows whose JSON is unpacked before the scratch is emptied */

struct row_reader {
    struct cb_arena scratch;
    unsigned unpacked; /* since the scratch was emptied */
    struct cb_event event;
    struct cb_attr attrs[CB_EVENT_ATTRS_MAX + 24];
};

static const char *text_at(sqlite3_stmt *stmt, int column)
{
    return (const char *)sqlite3_column_text(stmt, column);
}

/* false: it can't be told where the event came from. */
static bool read_origin(struct cb_store *store, int64_t id, struct cb_event *event)
{
    if (id < 1 || id > CB_STORE_ORIGINS) {
        return false;
    }
    if ((int64_t)store->origins.count < id || !store->origins.items[id - 1].known) {
        sqlite3_stmt *stmt =
            cb_store_statement(store, &store->get_origin,
                               "SELECT origin, machine, boot, sum FROM origin WHERE origin = ?");
        sqlite3_bind_int64(stmt, 1, id);
        const bool good = stmt && sqlite3_step(stmt) == SQLITE_ROW &&
                          cb_store_sum_of(stmt, 0, 3) == sqlite3_column_int64(stmt, 3);
        cb_store_keep_origin(store, id, good ? text_at(stmt, 1) : NULL,
                             good ? text_at(stmt, 2) : NULL);
        store->origins.items[id - 1].bad = !good;
        sqlite3_reset(stmt);
    }
    event->machine = store->origins.items[id - 1].machine;
    event->boot = store->origins.items[id - 1].boot;
    return !store->origins.items[id - 1].bad;
}

static bool read_column(sqlite3_stmt *stmt, enum cb_event_kind kind,
                        const struct cb_event_field *row, struct cb_attr *attr)
{
    int column = (int)cb_store_column_of(kind, row->field);
    if (column == 0 || sqlite3_column_type(stmt, column) == SQLITE_NULL) {
        return false;
    }
    attr->field = row->field;
    attr->type = row->type;
    attr->name = NULL;
    switch (row->type) {
    case CB_TYPE_INT:
    case CB_TYPE_TIME:
        attr->i = sqlite3_column_int64(stmt, column);
        return true;
    case CB_TYPE_NUMBER:
        attr->d = sqlite3_column_double(stmt, column);
        return true;
    case CB_TYPE_TEXT:
        attr->s = text_at(stmt, column);
        return attr->s != NULL;
    case CB_TYPE_BOOL: /* no column is for it */
    case CB_TYPE_FILMS:
    case CB_TYPE_FIGURES:
    case CB_TYPE_RAW:
        break;
    }
    return false;
}

/* What stands in the columns, whether or not it can be trusted. The event points into the statement
 * and the reader until the next step. */
static bool read_columns(struct cb_store *store, sqlite3_stmt *stmt, struct row_reader *reader)
{
    struct cb_event *event = &reader->event;
    const bool whole =
        cb_store_sum_of(stmt, 0, CB_COL_SUM) == sqlite3_column_int64(stmt, CB_COL_SUM) &&
        sqlite3_column_type(stmt, CB_COL_SUM) == SQLITE_INTEGER;
    *event = (struct cb_event){
        .id = text_at(stmt, CB_COL_ID),
        .at_ms = sqlite3_column_int64(stmt, CB_COL_AT),
        .name = text_at(stmt, CB_COL_EVENT),
        .unit = text_at(stmt, CB_COL_UNIT),
        .press = text_at(stmt, CB_COL_PRESS),
        .seq = sqlite3_column_int64(stmt, CB_COL_SEQ),
        .boot_ms = sqlite3_column_int64(stmt, CB_COL_BOOT_MS),
        .attrs = reader->attrs,
    };
    const int64_t origin = sqlite3_column_int64(stmt, CB_COL_ORIGIN);
    if (!whole || (origin && !read_origin(store, origin, event))) {
        store->lost = true;
        return false;
    }
    if (!event->id || !event->name) {
        return false;
    }
    event->kind = cb_event_kind_of(event->name);
    size_t count;
    const struct cb_event_field *schema = cb_event_schema(event->kind, &count);
    for (size_t i = 0; i < count; i++) {
        if (read_column(stmt, event->kind, &schema[i], &reader->attrs[event->attr_count])) {
            event->attr_count++;
        }
    }
    const char *json = text_at(stmt, CB_COL_FIELDS);
    if (!json) {
        return true;
    }
    if (++reader->unpacked > SCRATCH_ROWS) {
        cb_arena_fini(&reader->scratch);
        reader->unpacked = 0;
    }
    const struct cb_attr *rest;
    size_t rest_count;
    if (cb_jsonl_decode_fields(json, (size_t)sqlite3_column_bytes(stmt, CB_COL_FIELDS), event->kind,
                               &reader->scratch, &rest, &rest_count, NULL) != CB_OK ||
        rest_count > CB_EVENT_ATTRS_MAX + 9) {
        return false;
    }
    memcpy(&reader->attrs[event->attr_count], rest, rest_count * sizeof *rest);
    event->attr_count += rest_count;
    cb_event_order_attrs(event->kind, reader->attrs, event->attr_count);
    return true;
}

/* false: the row is damaged, and noted. */
static bool read_row(struct cb_store *store, sqlite3_stmt *stmt, struct row_reader *reader)
{
    const bool good = read_columns(store, stmt, reader);
    if (!good) {
        cb_store_note_bad(store, sqlite3_column_int64(stmt, CB_COL_ROW));
    }
    return good;
}

enum cb_status cb_store_read_id(struct cb_store *store, const char *id, struct cb_arena *arena,
                                const struct cb_event **event, struct cb_err *err)
{
    struct row_reader reader = {0};
    enum cb_status status;
    sqlite3_stmt *stmt = cb_store_statement(store, &store->get_id,
                                            "SELECT " CB_STORE_COLUMNS " FROM event WHERE id = ?");
    if (!stmt) {
        return cb_store_fault(store, err);
    }
    cb_store_bind_text(stmt, 1, id);
    if (sqlite3_step(stmt) != SQLITE_ROW) {
        status = cb_store_fault(store, err);
    } else if (!read_row(store, stmt, &reader)) {
        status =
            cb_err_set(err, CB_DATA, "%s: an event of that id is there and damaged", store->shown);
    } else {
        status = CB_OK;
        *event = cb_event_copy(arena, &reader.event);
    }
    sqlite3_reset(stmt);
    cb_arena_fini(&reader.scratch);
    return status;
}

typedef bool each_callback(void *context, const struct cb_event *event);

/* Rows of one unit lie together: *last is where the one before was found. */
static void count_row(sqlite3_stmt *stmt, const struct cb_store_wanted *wanted,
                      struct cb_store_read_of *checks, size_t *last)
{
    const char *unit = text_at(stmt, CB_COL_UNIT);
    for (size_t i = 0; unit && i < wanted->units.count; i++) {
        const size_t at = (*last + i) % wanted->units.count;
        if (strcmp(wanted->units.items[at], unit) == 0) {
            struct cb_store_read_of *check = &checks[at];
            const int64_t at_ms = sqlite3_column_int64(stmt, CB_COL_AT);
            check->first_ms =
                check->events == 0 || at_ms < check->first_ms ? at_ms : check->first_ms;
            check->last_ms = check->events == 0 || at_ms > check->last_ms ? at_ms : check->last_ms;
            check->events++;
            check->rows_xor ^= sqlite3_column_int64(stmt, CB_COL_SUM);
            *last = at;
            return;
        }
    }
}

/* What was painted in one sitting lies in rows one after the other: one question for all of them.
 */
static size_t end_of_run(const struct cb_store_wanted *wanted, size_t at)
{
    do {
        at++;
    } while (at < wanted->rows.count && wanted->rows.items[at] == wanted->rows.items[at - 1] + 1);
    return at;
}

static enum cb_status each_wanted(struct cb_store *store, struct cb_store_wanted *wanted,
                                  each_callback *each, void *context, struct cb_err *err)
{
    sqlite3_stmt *of_unit = NULL;
    enum cb_status status = CB_OK;
    if (sqlite3_prepare_v2(store->db, "SELECT row FROM event WHERE unit = ?", -1, &of_unit, NULL) !=
        SQLITE_OK) {
        return cb_store_fault(store, err);
    }
    for (size_t i = 0; i < wanted->units.count && status == CB_OK; i++) {
        int code;
        cb_store_bind_text(of_unit, 1, wanted->units.items[i]);
        while ((code = sqlite3_step(of_unit)) == SQLITE_ROW) {
            cb_vec_push(&wanted->rows, sqlite3_column_int64(of_unit, 0));
        }
        status = code == SQLITE_DONE ? CB_OK : cb_store_fault(store, err);
        sqlite3_reset(of_unit);
    }
    sqlite3_finalize(of_unit);
    cb_store_wanted_sort(wanted);
    struct row_reader *reader = cb_mem_new(1, sizeof *reader);
    size_t last_unit = 0;
    struct cb_store_read_of *checks = cb_mem_new(wanted->units.count + 1, sizeof *checks);
    sqlite3_stmt *stmt = cb_store_statement(store, &store->get_rows,
                                            "SELECT " CB_STORE_COLUMNS
                                            " FROM event WHERE row BETWEEN ? AND ? ORDER BY row");
    if (!stmt && status == CB_OK) {
        status = cb_store_fault(store, err);
    }
    const int64_t *rows = wanted->rows.items;
    bool go = true;
    for (size_t i = 0, end; i < wanted->rows.count && status == CB_OK && go; i = end) {
        end = end_of_run(wanted, i);
        sqlite3_bind_int64(stmt, 1, rows[i]);
        sqlite3_bind_int64(stmt, 2, rows[end - 1]);
        size_t at = i;
        int code = SQLITE_DONE;
        while (go && (code = sqlite3_step(stmt)) == SQLITE_ROW) {
            const int64_t row = sqlite3_column_int64(stmt, CB_COL_ROW);
            for (; at < end && rows[at] < row; at++) {
                cb_store_note_lost(store, rows[at]);
            }
            at += at < end;
            count_row(stmt, wanted, checks, &last_unit);
            go = !read_row(store, stmt, reader) || each(context, &reader->event);
        }
        for (; at < end && code == SQLITE_DONE; at++) {
            cb_store_note_lost(store, rows[at]);
        }
        if (code != SQLITE_DONE && code != SQLITE_ROW) {
            status = cb_store_fault(store, err);
        }
        sqlite3_reset(stmt);
    }
    for (size_t i = 0; i < wanted->units.count && status == CB_OK && go; i++) {
        cb_store_check_unit(store, wanted->units.items[i], &checks[i]);
    }
    free(checks);
    cb_arena_fini(&reader->scratch);
    free(reader);
    return status;
}

/* A log that is read whole holds every row up to the last, for rows are only ever added; and the
 * last number that this machine gave. */
struct whole_check {
    int64_t rows, seq;
};

static void judge_whole(struct cb_store *store, int64_t last, const struct whole_check *check)
{
    sqlite3_stmt *stmt = NULL;
    int64_t seq = 0;
    sqlite3_prepare_v2(store->db, "SELECT CAST(value AS INTEGER) FROM meta WHERE name = 'seq'", -1,
                       &stmt, NULL);
    const bool asked = cb_store_ask(stmt, &seq) == SQLITE_OK;
    sqlite3_finalize(stmt);
    if (store->damage[0]) {
        return;
    }
    if (check->rows < last) {
        snprintf(store->damage, sizeof store->damage, "missing events: %lld of %lld",
                 (long long)(last - check->rows), (long long)last);
    } else if (asked && seq <= CB_STORE_SEQ_MAX && check->seq < seq && store->bad_rows.count == 0) {
        snprintf(store->damage, sizeof store->damage, "missing events at its end: %lld",
                 (long long)(seq - check->seq));
    }
}

static enum cb_status each_after(struct cb_store *store, long long after, long long last,
                                 each_callback *each, void *context, struct cb_err *err)
{
    struct whole_check check = {0};
    struct row_reader *reader = cb_mem_new(1, sizeof *reader);
    sqlite3_stmt *stmt = NULL;
    int code = sqlite3_prepare_v2(
        store->db, "SELECT " CB_STORE_COLUMNS " FROM event WHERE row > ? AND row <= ? ORDER BY row",
        -1, &stmt, NULL);
    if (code == SQLITE_OK) {
        sqlite3_bind_int64(stmt, 1, after);
        sqlite3_bind_int64(stmt, 2, last);
        bool go = true;
        while (go && (code = sqlite3_step(stmt)) == SQLITE_ROW) {
            const bool good = read_row(store, stmt, reader);
            const struct cb_event *event = &reader->event;
            check.rows++;
            if (good && event->machine && strcmp(event->machine, store->machine) == 0) {
                check.seq = event->seq > check.seq ? event->seq : check.seq;
            }
            go = !good || each(context, &reader->event);
        }
    }
    if (code == SQLITE_DONE && after == 0) {
        judge_whole(store, last, &check);
    }
    const enum cb_status status =
        code == SQLITE_DONE || code == SQLITE_ROW ? CB_OK : cb_store_fault(store, err);
    sqlite3_finalize(stmt);
    cb_arena_fini(&reader->scratch);
    free(reader);
    return status;
}

/* One read transaction, so that the rows and the greatest of them belong together. */
static enum cb_status each_in(struct cb_store *store, const struct cb_store_filter *filter,
                              each_callback *each, void *context, long long *last_row,
                              struct cb_err *err)
{
    static const struct cb_store_filter everything = {0};
    struct cb_store_wanted wanted = {0};
    const size_t bad = store->bad_rows.count;
    sqlite3_stmt *stmt = NULL;
    int64_t last = 0;
    filter = filter ? filter : &everything;
    if (sqlite3_exec(store->db, "BEGIN", NULL, NULL, NULL) != SQLITE_OK) {
        return cb_store_fault(store, err);
    }
    sqlite3_prepare_v2(store->db, "SELECT coalesce(max(row), 0) FROM event", -1, &stmt, NULL);
    enum cb_status status =
        cb_store_ask(stmt, &last) == SQLITE_OK ? CB_OK : cb_store_fault(store, err);
    sqlite3_finalize(stmt);
    if (status == CB_OK && filter->after_row == 0 && (filter->open_units || filter->unit)) {
        status = cb_store_want(store, filter, &wanted, err);
        if (status == CB_OK) {
            status = each_wanted(store, &wanted, each, context, err);
        }
    } else if (status == CB_OK) {
        status = each_after(store, filter->after_row, last, each, context, err);
    }
    sqlite3_exec(store->db, "COMMIT", NULL, NULL, NULL);
    if (store->bad_rows.count > bad) {
        cb_store_forget_kept(store);
    }
    cb_store_wanted_fini(&wanted);
    if (last_row) {
        *last_row = last;
    }
    return status;
}

struct loading {
    struct cb_arena *arena;
    CB_VEC(const struct cb_event *) events;
};

static bool load_one(void *context, const struct cb_event *event)
{
    struct loading *loading = context;
    cb_vec_push(&loading->events, cb_event_copy(loading->arena, event));
    return true;
}

enum cb_status cb_store_load(struct cb_store *store, const struct cb_store_filter *filter,
                             struct cb_arena *arena, const struct cb_event ***events, size_t *count,
                             long long *last_row, struct cb_err *err)
{
    struct loading loading = {.arena = arena};
    enum cb_status status = each_in(store, filter, load_one, &loading, last_row, err);
    size_t size = loading.events.count;
    const struct cb_event **list = cb_arena_alloc(arena, size ? size : 1, sizeof *list);
    if (size > 0) {
        memcpy(list, loading.events.items, size * sizeof *list);
    }
    cb_vec_free(&loading.events);
    *events = list;
    *count = status == CB_OK ? size : 0;
    return status;
}

enum cb_status cb_store_each(struct cb_store *store, const struct cb_store_filter *filter,
                             bool (*each)(void *context, const struct cb_event *event),
                             void *context, struct cb_err *err)
{
    return each_in(store, filter, each, context, NULL, err);
}
