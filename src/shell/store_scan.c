/* SPDX-License-Identifier: MIT */
#include "shell/store_scan.h"

#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "shell/jsonl.h"
#include "shell/store_internal.h"
#include "shell/store_sum.h"

#define SCRATCH_ROWS 256 /* rows between two emptyings of the scratch */

/* The origin that the last row named: rows of one boot lie together. */
struct origin {
    bool known;
    int64_t id;
    struct cb_arena arena;
    const char *machine, *boot;
    struct cb_err why; /* CB_OK: machine and boot can be read */
};

struct cb_scan {
    struct cb_store *store;
    sqlite3_stmt *next, *at, *get_origin;
    struct origin origin;
    struct cb_arena scratch; /* what the row's JSON became */
    unsigned read;           /* since the scratch was emptied */
    struct cb_event event;
    struct cb_attr attrs[CB_EVENT_ATTRS_MAX + 24];
    struct cb_err why;
    struct cb_scan_row row;
};

/* ---- Cells ---- */

/* NULL in *text: nothing there. */
static enum cb_status take_text(sqlite3_stmt *stmt, int column, const char *name, const char **text,
                                struct cb_err *why)
{
    *text = NULL;
    int type = sqlite3_column_type(stmt, column);
    if (type == SQLITE_NULL) {
        return CB_OK;
    }
    if (type != SQLITE_TEXT) {
        return cb_err_set(why, CB_DATA, "%s: no text lies there", name);
    }
    const char *found = (const char *)sqlite3_column_text(stmt, column);
    if (!found || strlen(found) != (size_t)sqlite3_column_bytes(stmt, column)) {
        return cb_err_set(why, CB_DATA, "%s: a NUL in the text", name);
    }
    *text = found;
    return CB_OK;
}

static enum cb_status take_whole(sqlite3_stmt *stmt, int column, const char *name, int64_t *number,
                                 struct cb_err *why)
{
    if (sqlite3_column_type(stmt, column) != SQLITE_INTEGER) {
        return cb_err_set(why, CB_DATA, "%s: no whole number lies there", name);
    }
    *number = sqlite3_column_int64(stmt, column);
    return CB_OK;
}

/* A number that stands beside a text: both there or none. */
static enum cb_status take_beside(sqlite3_stmt *stmt, int column, const char *name,
                                  const char *text, int64_t *number, struct cb_err *why)
{
    if (text) {
        return take_whole(stmt, column, name, number, why);
    }
    return sqlite3_column_type(stmt, column) == SQLITE_NULL
               ? CB_OK
               : cb_err_set(why, CB_DATA, "%s: it belongs to nothing", name);
}

static enum cb_status take_attr(sqlite3_stmt *stmt, int column, const struct cb_event_field *row,
                                struct cb_attr *attr, struct cb_err *why)
{
    const char *name = cb_field_name(row->field);
    *attr = (struct cb_attr){.field = row->field, .type = row->type};
    switch (row->type) {
    case CB_TYPE_INT:
    case CB_TYPE_TIME:
        return take_whole(stmt, column, name, &attr->i, why);
    case CB_TYPE_NUMBER:
        attr->d = sqlite3_column_double(stmt, column);
        return sqlite3_column_type(stmt, column) == SQLITE_FLOAT
                   ? CB_OK
                   : cb_err_set(why, CB_DATA, "%s: no number lies there", name);
    case CB_TYPE_TEXT:
        return take_text(stmt, column, name, &attr->s, why);
    case CB_TYPE_BOOL: /* no column is for it */
    case CB_TYPE_FILMS:
    case CB_TYPE_FIGURES:
    case CB_TYPE_RAW:
        break;
    }
    return cb_err_set(why, CB_DATA, "%s: it lies in the wrong place", name);
}

/* ---- Rows ---- */

static void find_origin(struct cb_scan *scan, int64_t id)
{
    struct origin *origin = &scan->origin;
    if (origin->known && origin->id == id) {
        return;
    }
    cb_arena_fini(&origin->arena);
    *origin = (struct origin){.known = true, .id = id};
    sqlite3_bind_int64(scan->get_origin, 1, id);
    if (sqlite3_step(scan->get_origin) == SQLITE_ROW) {
        const char *machine;
        const char *boot;
        if (take_text(scan->get_origin, 0, "machine", &machine, &origin->why) == CB_OK &&
            take_text(scan->get_origin, 1, "boot", &boot, &origin->why) == CB_OK) {
            origin->machine = cb_arena_text(&origin->arena, machine);
            origin->boot = cb_arena_text(&origin->arena, boot);
        }
    } else {
        cb_err_set(&origin->why, CB_DATA, "machine: the log no longer knows which");
    }
    sqlite3_reset(scan->get_origin);
}

static enum cb_status take_origin(struct cb_scan *scan, sqlite3_stmt *stmt)
{
    struct cb_event *event = &scan->event;
    int64_t id = 0;
    enum cb_status status = CB_OK;
    if (sqlite3_column_type(stmt, CB_COL_ORIGIN) != SQLITE_NULL) {
        status = take_whole(stmt, CB_COL_ORIGIN, "machine", &id, &scan->why);
        if (status == CB_OK) {
            find_origin(scan, id);
            event->machine = scan->origin.machine;
            event->boot = scan->origin.boot;
            scan->why = scan->origin.why;
            status = scan->why.status;
        }
    }
    if (status == CB_OK) {
        status = take_beside(stmt, CB_COL_SEQ, "seq", event->machine, &event->seq, &scan->why);
    }
    if (status == CB_OK) {
        status =
            take_beside(stmt, CB_COL_BOOT_MS, "boot_ms", event->boot, &event->boot_ms, &scan->why);
    }
    return status;
}

static enum cb_status take_head(struct cb_scan *scan, sqlite3_stmt *stmt)
{
    struct cb_event *event = &scan->event;
    const struct {
        int column;
        const char *name, **text;
    } texts[] = {
        {CB_COL_ID, "id", &event->id},
        {CB_COL_EVENT, "event", &event->name},
        {CB_COL_UNIT, "unit", &event->unit},
        {CB_COL_PRESS, "press", &event->press},
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        enum cb_status status =
            take_text(stmt, texts[i].column, texts[i].name, texts[i].text, &scan->why);
        if (status != CB_OK) {
            return status;
        }
        if (i == 0) {
            scan->row.id = event->id;
        }
    }
    if (!event->id || !event->name) {
        return cb_err_set(&scan->why, CB_DATA, "%s: missing, every event has it",
                          event->id ? "event" : "id");
    }
    event->kind = cb_event_kind_of(event->name);
    enum cb_status status = take_whole(stmt, CB_COL_AT, "at", &event->at_ms, &scan->why);
    return status == CB_OK ? take_origin(scan, stmt) : status;
}

static const struct cb_event_field *field_in(enum cb_event_kind kind, int column)
{
    size_t count;
    const struct cb_event_field *schema = cb_event_schema(kind, &count);
    for (size_t i = 0; i < count; i++) {
        if ((int)cb_store_column_of(kind, schema[i].field) == column) {
            return &schema[i];
        }
    }
    return NULL;
}

static enum cb_status take_columns(struct cb_scan *scan, sqlite3_stmt *stmt)
{
    struct cb_event *event = &scan->event;
    for (int column = CB_COL_FIGURE; column <= CB_COL_OF; column++) {
        if (sqlite3_column_type(stmt, column) == SQLITE_NULL) {
            continue;
        }
        const struct cb_event_field *row = field_in(event->kind, column);
        enum cb_status status =
            row ? take_attr(stmt, column, row, &scan->attrs[event->attr_count], &scan->why)
                : cb_err_set(&scan->why, CB_DATA, "%s: %s has no such field",
                             sqlite3_column_name(stmt, column), cb_event_name(event->kind));
        if (status != CB_OK) {
            return status;
        }
        event->attr_count++;
    }
    return CB_OK;
}

static enum cb_status take_json(struct cb_scan *scan, sqlite3_stmt *stmt)
{
    struct cb_event *event = &scan->event;
    const char *json;
    enum cb_status status = take_text(stmt, CB_COL_FIELDS, "fields", &json, &scan->why);
    if (status != CB_OK || !json) {
        return status;
    }
    const struct cb_attr *rest;
    size_t count = 0;
    struct cb_err fault = {0};
    if (cb_jsonl_decode_fields(json, strlen(json), event->kind, &scan->scratch, &rest, &count,
                               &fault) != CB_OK) {
        return cb_err_set(&scan->why, CB_DATA, "fields: %.900s", fault.text);
    }
    if (event->attr_count + count > sizeof scan->attrs / sizeof *scan->attrs) {
        return cb_err_set(&scan->why, CB_DATA, "fields: more than one event has");
    }
    memcpy(&scan->attrs[event->attr_count], rest, count * sizeof *rest);
    event->attr_count += count;
    return CB_OK;
}

static const struct cb_scan_row *read_row(struct cb_scan *scan, sqlite3_stmt *stmt)
{
    if (++scan->read % SCRATCH_ROWS == 0) {
        cb_arena_fini(&scan->scratch);
    }
    scan->row = (struct cb_scan_row){.row = sqlite3_column_int64(stmt, CB_COL_ROW)};
    scan->event = (struct cb_event){.attrs = scan->attrs};
    enum cb_status status = CB_OK;
    if (cb_store_sum_of(stmt, 0, CB_COL_SUM) != sqlite3_column_int64(stmt, CB_COL_SUM)) {
        cb_store_note_lost(scan->store, scan->row.row);
        status = cb_err_set(&scan->why, CB_DATA, "sum: the row is damaged");
    }
    if (status == CB_OK) {
        status = take_head(scan, stmt);
    }
    if (status == CB_OK) {
        status = take_columns(scan, stmt);
    }
    if (status == CB_OK) {
        status = take_json(scan, stmt);
    }
    if (status == CB_OK) {
        cb_event_order_attrs(scan->event.kind, scan->attrs, scan->event.attr_count);
        status = cb_event_validate(&scan->event, &scan->why);
    }
    if (status == CB_OK) {
        scan->row.event = &scan->event;
    } else {
        scan->row.why = scan->why.text;
    }
    return &scan->row;
}

static enum cb_status step(struct cb_scan *scan, sqlite3_stmt *stmt, const struct cb_scan_row **row,
                           struct cb_err *err)
{
    *row = NULL;
    switch (sqlite3_step(stmt)) {
    case SQLITE_ROW:
        *row = read_row(scan, stmt);
        return CB_OK;
    case SQLITE_DONE:
        return CB_OK;
    default:
        return cb_store_fault(scan->store, err);
    }
}

enum cb_status cb_scan_next(struct cb_scan *scan, const struct cb_scan_row **row,
                            struct cb_err *err)
{
    return step(scan, scan->next, row, err);
}

enum cb_status cb_scan_at(struct cb_scan *scan, long long number, const struct cb_scan_row **row,
                          struct cb_err *err)
{
    sqlite3_reset(scan->at);
    sqlite3_bind_int64(scan->at, 1, number);
    return step(scan, scan->at, row, err);
}

enum cb_status cb_scan_open(struct cb_store *store, struct cb_scan **out, struct cb_err *err)
{
    static const char next[] = "SELECT " CB_STORE_COLUMNS " FROM event NOT INDEXED ORDER BY row";
    static const char at[] = "SELECT " CB_STORE_COLUMNS " FROM event NOT INDEXED WHERE row = ?";
    static const char origin[] = "SELECT machine, boot FROM origin NOT INDEXED WHERE origin = ?"
                                 " AND sum IS row_sum(origin, machine, boot)";
    struct cb_scan *scan = cb_mem_new(1, sizeof *scan);
    scan->store = store;
    *out = scan;
    if (sqlite3_exec(store->db, "BEGIN", NULL, NULL, NULL) == SQLITE_OK &&
        sqlite3_prepare_v2(store->db, next, -1, &scan->next, NULL) == SQLITE_OK &&
        sqlite3_prepare_v2(store->db, at, -1, &scan->at, NULL) == SQLITE_OK &&
        sqlite3_prepare_v2(store->db, origin, -1, &scan->get_origin, NULL) == SQLITE_OK) {
        return CB_OK;
    }
    enum cb_status status = cb_store_fault(store, err);
    cb_scan_close(scan);
    *out = NULL;
    return status;
}

void cb_scan_close(struct cb_scan *scan)
{
    if (!scan) {
        return;
    }
    sqlite3_finalize(scan->next);
    sqlite3_finalize(scan->at);
    sqlite3_finalize(scan->get_origin);
    sqlite3_exec(scan->store->db, "COMMIT", NULL, NULL, NULL);
    cb_arena_fini(&scan->origin.arena);
    cb_arena_fini(&scan->scratch);
    free(scan);
}
