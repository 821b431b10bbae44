/* SPDX-License-Identifier: MIT */
/* What was on the brush when a unit came to the front: a review of it alone has to know. */
#include <sqlite3.h>

#include "shell/store_map.h"

/* The last coat that the other unit was given between these moments, if it is later than what was
 * found. What was done before was on no brush of this sitting. */
static enum cb_status last_coat(struct cb_store *store, size_t other,
                                const struct cb_map_span *span, struct cb_map_brush *brush,
                                struct cb_err *err)
{
    int code;
    sqlite3_stmt *stmt =
        cb_store_query(store,
                       "SELECT row, at FROM event WHERE unit = ?3 AND at BETWEEN ?1 AND ?2"
                       " AND event = 'coat_on' AND figure > 0 AND NOT CASE WHEN json_valid(fields)"
                       " THEN coalesce(fields ->> '$.before', 0) ELSE 0 END"
                       " ORDER BY at DESC, row DESC",
                       span);
    cb_store_bind_text(stmt, 3, store->map->units.items[other - 1].id);
    while (cb_store_next(stmt, &code)) {
        const int64_t row = sqlite3_column_int64(stmt, 0), at_ms = sqlite3_column_int64(stmt, 1);
        if (cb_store_map_stands(store->map, row)) {
            if (brush->row == 0 || at_ms > brush->at_ms) {
                brush->other = other;
                brush->row = row;
                brush->at_ms = at_ms;
            }
            code = SQLITE_DONE;
            break;
        }
    }
    return cb_store_ended(store, stmt, code, err);
}

/* Of all others that are of that session. */
static enum cb_status find_brush(struct cb_store *store, size_t unit,
                                 const struct cb_map_span *session, struct cb_err *err)
{
    struct cb_store_map *map = store->map;
    struct cb_map_brush brush = {.unit = unit};
    enum cb_status status = CB_OK;
    for (size_t i = 0; i < map->units.count && status == CB_OK; i++) {
        const struct cb_map_unit *other = &map->units.items[i];
        if (i + 1 != unit && other->begun_row != 0 && other->first_ms <= session->to &&
            other->last_ms >= session->from) {
            status = last_coat(store, i + 1, session, &brush, err);
        }
    }
    if (brush.row != 0) {
        cb_vec_push(&map->brushes, brush);
    }
    return status;
}

enum cb_status cb_store_map_brushes(struct cb_store *store, struct cb_err *err)
{
    static const char fronts[] = "SELECT unit, at FROM event WHERE " CB_STORE_MARK
                                 " AND event <> 'unit_finished' ORDER BY at, row";
    static const char opened[] = "SELECT max(at) FROM event WHERE unit IS NULL"
                                 " AND event = 'session_opened' AND at <= ?1";
    int code;
    struct {
        CB_VEC(struct cb_map_told) list; /* row: number of the unit */
    } moments = {0};
    sqlite3_stmt *stmt = cb_store_query(store, fronts, NULL);
    while (cb_store_next(stmt, &code)) {
        const char *unit = (const char *)sqlite3_column_text(stmt, 0);
        size_t number = 0;
        if (unit && cb_index_get(store->map->by_id, unit, &number)) {
            cb_vec_push(&moments.list,
                        ((struct cb_map_told){.row = (int64_t)number,
                                              .at_ms = sqlite3_column_int64(stmt, 1)}));
        }
    }
    enum cb_status status = cb_store_ended(store, stmt, code, err);
    for (size_t i = 0; i < moments.list.count && status == CB_OK; i++) {
        const struct cb_map_told *moment = &moments.list.items[i];
        struct cb_map_span session = {moment->at_ms, moment->at_ms};
        status = cb_store_look_up(store, opened, &session, &session.from, err);
        if (status == CB_OK) {
            status = find_brush(store, (size_t)moment->row, &session, err);
        }
    }
    cb_vec_free(&moments.list);
    return status;
}

enum cb_status cb_store_want_brushes(struct cb_store *store, size_t number,
                                     struct cb_store_wanted *wanted, struct cb_err *err)
{
    const struct cb_store_map *map = store->map;
    enum cb_status status = CB_OK;
    for (size_t i = 0; i < map->brushes.count && status == CB_OK; i++) {
        const struct cb_map_brush *brush = &map->brushes.items[i];
        const struct cb_map_unit *other = &map->units.items[brush->other - 1];
        int code;
        if (brush->unit != number) {
            continue;
        }
        /* the other's beginning and recipe tell which pot that stage is of */
        sqlite3_stmt *stmt = cb_store_query(store,
                                            "SELECT row FROM event WHERE unit = ?2 AND at <= ?1"
                                            " AND event IN ('recipe_changed','swapped',"
                                            "'figure_joined')",
                                            &(struct cb_map_span){.from = brush->at_ms});
        cb_store_bind_text(stmt, 2, other->id);
        cb_vec_push(&wanted->rows, brush->row);
        cb_vec_push(&wanted->rows, other->begun_row);
        while (cb_store_next(stmt, &code)) {
            cb_vec_push(&wanted->rows, sqlite3_column_int64(stmt, 0));
        }
        status = cb_store_ended(store, stmt, code, err);
    }
    return status;
}
