/* SPDX-License-Identifier: MIT */
/* The list of units: what `coatbell units` and the review's choice of what to read rest on. */
#include <sqlite3.h>

#include "base/vec.h"
#include "shell/store_internal.h"

/* A press that was undone and whose undoing stands. An undoing that was itself undone only makes
 * the unit look as if it were not finished: its derived data are then made again when asked for. */
#define NOT_UNDONE(alias)                                                                         \
    " AND NOT EXISTS (SELECT 1 FROM event AS u WHERE u.of IS NOT NULL AND u.of = " alias ".press)"

/* As the index event_mark says it, or SQLite reads the whole log instead. */
#define MARK(alias) alias ".event IN ('unit_begun','unit_opened','unit_finished') AND " alias

static const char begun[] =
    "SELECT b.unit, json_extract(b.fields, '$.name'), json_extract(b.fields, '$.figures'), b.at,"
    " s.last_at, s.events, s.last_row,"
    " b.unit IN (SELECT f.unit FROM event AS f WHERE " MARK("f") ".event = 'unit_finished'"
    NOT_UNDONE("f") "),"
    " (SELECT max(e.row) FROM event AS e WHERE e.unit IS NULL AND e.event IN ('undone',"
    "'climate_set','paint_joined','session_opened','session_closed','pause_begun','pause_ended',"
    "'away','chore_done','answered') AND e.at BETWEEN s.first_at AND s.last_at + 86400000)"
    " FROM event AS b JOIN unit_sum AS s ON s.unit = b.unit"
    " WHERE " MARK("b") ".event = 'unit_begun'" NOT_UNDONE("b") " ORDER BY b.at, b.row";

static const char *column_text(sqlite3_stmt *stmt, int column, struct cb_arena *arena)
{
    return cb_arena_text(arena, (const char *)sqlite3_column_text(stmt, column));
}

enum cb_status cb_store_units(struct cb_store *store, struct cb_arena *arena,
                              const struct cb_store_unit **units, size_t *count,
                              struct cb_err *err)
{
    CB_VEC(struct cb_store_unit) list = {0};
    sqlite3_stmt *stmt = NULL;
    int code = sqlite3_prepare_v2(store->db, begun, -1, &stmt, NULL);
    while (code == SQLITE_OK || code == SQLITE_ROW) {
        code = sqlite3_step(stmt);
        if (code != SQLITE_ROW) {
            break;
        }
        const long long own = sqlite3_column_int64(stmt, 6);
        const long long bench = sqlite3_column_int64(stmt, 8);
        const struct cb_store_unit unit = {.id = column_text(stmt, 0, arena),
                                           .name = column_text(stmt, 1, arena),
                                           .figures = sqlite3_column_int(stmt, 2),
                                           .finished = sqlite3_column_int(stmt, 7) != 0,
                                           .begun_ms = sqlite3_column_int64(stmt, 3),
                                           .last_ms = sqlite3_column_int64(stmt, 4),
                                           .event_count = (size_t)sqlite3_column_int64(stmt, 5),
                                           .last_row = own > bench ? own : bench};
        cb_vec_push(&list, unit);
    }
    const enum cb_status status = code == SQLITE_DONE ? CB_OK : cb_store_fault(store, err);
    sqlite3_finalize(stmt);
    struct cb_store_unit *copy = cb_arena_alloc(arena, list.count + 1, sizeof *copy);
    for (size_t i = 0; i < list.count; i++) {
        copy[i] = list.items[i];
    }
    *units = copy;
    *count = status == CB_OK ? list.count : 0;
    cb_vec_free(&list);
    return status;
}
