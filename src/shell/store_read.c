/* SPDX-License-Identifier: MIT */
#include "shell/store_internal.h"

#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "shell/jsonl.h"

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

static enum cb_status read_origin(struct cb_store *store, int64_t id, struct cb_event *event,
                                  struct cb_err *err)
{
    if (id < 1 || id > 100000000) {
        return cb_err_set(err, CB_DATA, "%s: the log is damaged (origin)", store->shown);
    }
    if ((int64_t)store->origins.count < id || !store->origins.items[id - 1].known) {
        sqlite3_stmt *stmt = cb_store_statement(store, &store->get_origin,
                                       "SELECT machine, boot FROM origin WHERE origin = ?");
        if (!stmt) {
            return cb_store_fault(store, err);
        }
        sqlite3_bind_int64(stmt, 1, id);
        if (sqlite3_step(stmt) != SQLITE_ROW) {
            sqlite3_reset(stmt);
            return cb_err_set(err, CB_DATA, "%s: the log is damaged (origin)", store->shown);
        }
        cb_store_keep_origin(store, id, text_at(stmt, 0), text_at(stmt, 1));
        sqlite3_reset(stmt);
    }
    event->machine = store->origins.items[id - 1].machine;
    event->boot = store->origins.items[id - 1].boot;
    return CB_OK;
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
    case CB_TYPE_FILMS:
    case CB_TYPE_FIGURES:
    case CB_TYPE_RAW:
        break;
    }
    return false;
}

/* The event points into the statement and the reader until the next step. */
static enum cb_status read_row(struct cb_store *store, sqlite3_stmt *stmt,
                               struct row_reader *reader, struct cb_err *err)
{
    struct cb_event *event = &reader->event;
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
    if (!event->id || !event->name) {
        return cb_err_set(err, CB_DATA, "%s: the log is damaged (row)", store->shown);
    }
    int64_t origin = sqlite3_column_int64(stmt, CB_COL_ORIGIN);
    enum cb_status status = origin ? read_origin(store, origin, event, err) : CB_OK;
    event->kind = cb_event_kind_of(event->name);
    size_t count;
    const struct cb_event_field *schema = cb_event_schema(event->kind, &count);
    for (size_t i = 0; i < count; i++) {
        if (read_column(stmt, event->kind, &schema[i], &reader->attrs[event->attr_count])) {
            event->attr_count++;
        }
    }
    const char *json = text_at(stmt, CB_COL_FIELDS);
    if (status != CB_OK || !json) {
        return status;
    }
    if (++reader->unpacked > SCRATCH_ROWS) {
        cb_arena_fini(&reader->scratch);
        reader->unpacked = 0;
    }
    const struct cb_attr *rest;
    size_t rest_count;
    status = cb_jsonl_decode_fields(json, (size_t)sqlite3_column_bytes(stmt, CB_COL_FIELDS), event->kind,
                                    &reader->scratch, &rest, &rest_count, err);
    if (status != CB_OK || rest_count > CB_EVENT_ATTRS_MAX + 9) {
        return cb_err_set(err, CB_DATA, "%s: the log is damaged (fields of %s)", store->shown,
                          cb_event_name(event->kind));
    }
    memcpy(&reader->attrs[event->attr_count], rest, rest_count * sizeof *rest);
    event->attr_count += rest_count;
    cb_event_order_attrs(event->kind, reader->attrs, event->attr_count);
    return CB_OK;
}

enum cb_status cb_store_read_id(struct cb_store *store, const char *id, struct cb_arena *arena,
                                 const struct cb_event **event, struct cb_err *err)
{
    struct row_reader reader = {0};
    enum cb_status status;
    sqlite3_stmt *stmt =
        cb_store_statement(store, &store->get_id, "SELECT " CB_STORE_COLUMNS " FROM event WHERE id = ?");
    if (!stmt) {
        return cb_store_fault(store, err);
    }
    cb_store_bind_text(stmt, 1, id);
    if (sqlite3_step(stmt) != SQLITE_ROW) {
        status = cb_store_fault(store, err);
    } else {
        status = read_row(store, stmt, &reader, err);
    }
    if (status == CB_OK) {
        *event = cb_event_copy(arena, &reader.event);
    }
    sqlite3_reset(stmt);
    cb_arena_fini(&reader.scratch);
    return status;
}

struct rows {
    CB_VEC(int64_t) list;
};

static int by_number(const void *left, const void *right)
{
    int64_t a = *(const int64_t *)left;
    int64_t b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

/* What a filter wants, each a query for row numbers that an index answers by itself.
 * ?1 from, ?2 to (ms), ?3 the unit. */
/* Word for word what the partial index is on: SQLite takes it only then. */
#define MARK "event IN ('unit_begun','unit_opened','unit_finished') AND "
#define OPEN_UNITS                                                                                \
    "SELECT unit FROM event WHERE " MARK "event = 'unit_begun' EXCEPT SELECT unit FROM event AS f" \
    " WHERE " MARK "event = 'unit_finished' AND " CB_STORE_NOT_UNDONE("f")

static const char *const span_of_open =
    "SELECT min(at), max(at) FROM event WHERE " MARK "event = 'unit_begun' AND unit IN (" OPEN_UNITS
    ")";
static const char *const span_of_unit =
    "SELECT min(at), max(at) FROM event WHERE unit = ?3 AND unit IS NOT NULL";
static const char *const finish_of_unit =
    "SELECT f.at, f.at FROM event AS f WHERE f." MARK "f.event = 'unit_finished' AND f.unit = ?3"
    " AND " CB_STORE_NOT_UNDONE("f") " LIMIT 1";
static const char *const session_before =
    "SELECT max(at) FROM event WHERE unit IS NULL AND event = 'session_opened' AND at <= ?1";
static const char *const session_after =
    "SELECT min(at) FROM event WHERE unit IS NULL AND event = 'session_closed' AND at >= ?2";

/* Settings hold from whenever they were made; the air of every place from its last reading. */
static const char *const standing[] = {
    "SELECT row FROM event WHERE unit IS NULL AND event IN " CB_STORE_RARE,
    "SELECT row FROM event WHERE unit IS NULL AND event IN " CB_STORE_OFTEN
    " AND at BETWEEN ?1 AND ?2",
    /* told later, of a time within */
    "SELECT row FROM event WHERE unit IS NULL AND event = 'away' AND at > ?2",
    /* of every unit: which is in front, and that it is finished, follow from all of them */
    "SELECT row FROM event WHERE " MARK "at BETWEEN ?1 AND ?2",
    "SELECT row FROM (SELECT row FROM event WHERE unit IS NULL AND event = 'climate_set'"
    " AND at < ?1 ORDER BY at DESC LIMIT 16)",
    "SELECT row FROM (SELECT row, max(at) FROM event WHERE event = 'climate_set'"
    " AND place IS NOT NULL AND at < ?1 GROUP BY place)",
};
static const char *const rows_of_open =
    "SELECT row FROM event WHERE unit IS NOT NULL AND unit IN (" OPEN_UNITS ")";
static const char *const rows_of_unit =
    "SELECT row FROM event WHERE unit IS NOT NULL AND unit = ?3";
/* Undoings of what was found so far, and of those. */
static const char *const undoings =
    "SELECT u.row FROM event AS e JOIN event AS u ON u.of = e.press AND u.of IS NOT NULL"
    " WHERE e.row = ?1";

struct span {
    int64_t from, to;
};

static void bind_span(sqlite3_stmt *stmt, const struct span *span, const char *unit)
{
    int last = sqlite3_bind_parameter_count(stmt);
    if (last >= 1) {
        sqlite3_bind_int64(stmt, 1, span->from);
    }
    if (last >= 2) {
        sqlite3_bind_int64(stmt, 2, span->to);
    }
    if (last >= 3) {
        cb_store_bind_text(stmt, 3, unit);
    }
}

static enum cb_status collect(struct cb_store *store, const char *sql, const struct span *span,
                              const char *unit, struct rows *rows, struct cb_err *err)
{
    sqlite3_stmt *stmt = NULL;
    int code = sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL);
    if (code == SQLITE_OK) {
        bind_span(stmt, span, unit);
        while ((code = sqlite3_step(stmt)) == SQLITE_ROW) {
            cb_vec_push(&rows->list, sqlite3_column_int64(stmt, 0));
        }
    }
    enum cb_status status = code == SQLITE_DONE ? CB_OK : cb_store_fault(store, err);
    sqlite3_finalize(stmt);
    return status;
}

/* Two numbers; false when the first is null. */
static bool ask_span(struct cb_store *store, const char *sql, const struct span *bound,
                     const char *unit, struct span *span)
{
    sqlite3_stmt *stmt = NULL;
    bool found = false;
    if (sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL) == SQLITE_OK) {
        bind_span(stmt, bound, unit);
        found = sqlite3_step(stmt) == SQLITE_ROW && sqlite3_column_type(stmt, 0) != SQLITE_NULL;
        if (found) {
            span->from = sqlite3_column_int64(stmt, 0);
            span->to = sqlite3_column_int64(stmt, 1);
        }
    }
    sqlite3_finalize(stmt);
    return found;
}

/* From the opening of the session in which it began to the end of the one in which it ended. */
static struct span find_span(struct cb_store *store, const struct cb_store_filter *filter)
{
    struct span span = {INT64_MAX, INT64_MAX};
    struct span session;
    if (!ask_span(store, filter->unit ? span_of_unit : span_of_open, &span, filter->unit, &span)) {
        /* no unit at all: the last session is enough, if there ever was one */
        bool found = ask_span(store, session_before, &span, NULL, &session);
        return (struct span){found ? session.from : INT64_MIN, INT64_MAX};
    }
    if (ask_span(store, session_before, &span, NULL, &session)) {
        span.from = session.from;
    }
    /* It may be in front in every evening to come. */
    const bool open = filter->unit && !ask_span(store, finish_of_unit, &span, filter->unit, &session);
    span.to = filter->unit && !open && ask_span(store, session_after, &span, NULL, &session) ? session.from
                                                                                   : INT64_MAX;
    return span;
}

static void sort_rows(struct rows *rows)
{
    size_t kept = 0;
    if (rows->list.count > 1) {
        qsort(rows->list.items, rows->list.count, sizeof *rows->list.items, by_number);
    }
    for (size_t i = 0; i < rows->list.count; i++) {
        if (kept == 0 || rows->list.items[kept - 1] != rows->list.items[i]) {
            rows->list.items[kept++] = rows->list.items[i];
        }
    }
    rows->list.count = kept;
}

static enum cb_status add_undoings(struct cb_store *store, struct rows *rows, struct cb_err *err)
{
    sqlite3_stmt *stmt = NULL;
    enum cb_status status = CB_OK;
    if (sqlite3_prepare_v2(store->db, undoings, -1, &stmt, NULL) != SQLITE_OK) {
        status = cb_store_fault(store, err);
    }
    /* those found are looked at in their turn; a press is older than its undoing, so it ends, and
     * a ring in a forged log is stopped by the bound */
    size_t bound = rows->list.count * 2 + 1000;
    for (size_t i = 0; status == CB_OK && i < rows->list.count && i < bound; i++) {
        int code;
        sqlite3_bind_int64(stmt, 1, rows->list.items[i]);
        while ((code = sqlite3_step(stmt)) == SQLITE_ROW) {
            cb_vec_push(&rows->list, sqlite3_column_int64(stmt, 0));
        }
        status = code == SQLITE_DONE ? CB_OK : cb_store_fault(store, err);
        sqlite3_reset(stmt);
    }
    sqlite3_finalize(stmt);
    return status;
}

static enum cb_status find_rows(struct cb_store *store, const struct cb_store_filter *filter,
                                struct rows *rows, struct cb_err *err)
{
    struct span span = find_span(store, filter);
    enum cb_status status = CB_OK;
    for (size_t i = 0; i < sizeof standing / sizeof *standing && status == CB_OK; i++) {
        status = collect(store, standing[i], &span, NULL, rows, err);
    }
    if (status == CB_OK) {
        status = collect(store, filter->unit ? rows_of_unit : rows_of_open, &span, filter->unit,
                         rows, err);
    }
    if (status == CB_OK) {
        sort_rows(rows);
        status = add_undoings(store, rows, err);
        sort_rows(rows);
    }
    return status;
}

typedef bool each_callback(void *context, const struct cb_event *event);

static enum cb_status each_of(struct cb_store *store, const struct rows *rows,
                              each_callback *each, void *context, struct cb_err *err)
{
    struct row_reader *reader = cb_mem_new(1, sizeof *reader);
    enum cb_status status = CB_OK;
    sqlite3_stmt *stmt =
        cb_store_statement(store, &store->get_row, "SELECT " CB_STORE_COLUMNS " FROM event WHERE row = ?");
    if (!stmt) {
        status = cb_store_fault(store, err);
    }
    bool go = true;
    for (size_t i = 0; i < rows->list.count && status == CB_OK && go; i++) {
        sqlite3_bind_int64(stmt, 1, rows->list.items[i]);
        int code = sqlite3_step(stmt);
        if (code == SQLITE_ROW) {
            status = read_row(store, stmt, reader, err);
            go = status == CB_OK && each(context, &reader->event);
        } else if (code != SQLITE_DONE) {
            status = cb_store_fault(store, err);
        }
        sqlite3_reset(stmt);
    }
    cb_arena_fini(&reader->scratch);
    free(reader);
    return status;
}

static enum cb_status each_after(struct cb_store *store, long long after, long long last,
                                 each_callback *each, void *context, struct cb_err *err)
{
    struct row_reader *reader = cb_mem_new(1, sizeof *reader);
    sqlite3_stmt *stmt = NULL;
    int code = sqlite3_prepare_v2(
        store->db, "SELECT " CB_STORE_COLUMNS " FROM event WHERE row > ? AND row <= ? ORDER BY row", -1,
        &stmt, NULL);
    enum cb_status status = CB_OK;
    if (code == SQLITE_OK) {
        sqlite3_bind_int64(stmt, 1, after);
        sqlite3_bind_int64(stmt, 2, last);
        bool go = true;
        while (go && status == CB_OK && (code = sqlite3_step(stmt)) == SQLITE_ROW) {
            status = read_row(store, stmt, reader, err);
            go = status == CB_OK && each(context, &reader->event);
        }
    }
    if (status == CB_OK && code != SQLITE_DONE && code != SQLITE_ROW) {
        status = cb_store_fault(store, err);
    }
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
    struct rows rows = {0};
    sqlite3_stmt *stmt = NULL;
    int64_t last = 0;
    filter = filter ? filter : &everything;
    if (sqlite3_exec(store->db, "BEGIN", NULL, NULL, NULL) != SQLITE_OK) {
        return cb_store_fault(store, err);
    }
    sqlite3_prepare_v2(store->db, "SELECT coalesce(max(row), 0) FROM event", -1, &stmt, NULL);
    enum cb_status status = cb_store_ask(stmt, &last) == SQLITE_OK ? CB_OK : cb_store_fault(store, err);
    sqlite3_finalize(stmt);
    if (status == CB_OK && filter->after_row == 0 && (filter->open_units || filter->unit)) {
        status = find_rows(store, filter, &rows, err);
        if (status == CB_OK) {
            status = each_of(store, &rows, each, context, err);
        }
    } else if (status == CB_OK) {
        status = each_after(store, filter->after_row, last, each, context, err);
    }
    sqlite3_exec(store->db, "COMMIT", NULL, NULL, NULL);
    cb_vec_free(&rows.list);
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
                             struct cb_arena *arena, const struct cb_event ***events,
                             size_t *count, long long *last_row, struct cb_err *err)
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
