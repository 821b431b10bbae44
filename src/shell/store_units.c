/* SPDX-License-Identifier: MIT */
/* The list of units: what `coatbell units` and the review's choice of what to read rest on. */
#include <sqlite3.h>

#include "base/vec.h"
#include "shell/store_internal.h"

/* As the index event_mark says it, or SQLite reads the whole log instead. */
#define MARK(alias) alias ".event IN ('unit_begun','unit_opened','unit_finished') AND " alias

/* From the opening of the session in which it began to the closing of the one in which it ended: what is
 * loaded with a unit (store_read.c), and so what a fold of it rests on. */
#define FROM_SESSION                                                                              \
    "coalesce((SELECT max(o.at) FROM event AS o WHERE o.unit IS NULL"                             \
    " AND o.event = 'session_opened' AND o.at <= s.first_at), s.first_at)"
#define TO_SESSION                                                                                \
    "coalesce((SELECT min(c.at) FROM event AS c WHERE c.unit IS NULL"                             \
    " AND c.event = 'session_closed' AND c.at >= s.last_at), 9223372036854775807)"

/* As times stand in the fields: such texts sort as the times do. */
#define RFC3339(ms) "strftime('%Y-%m-%dT%H:%M:%fZ', " ms " / 1000.0, 'unixepoch')"

/* Away, told later of a time within, or the answer that nobody was. */
static const char begun[] =
    "SELECT w.unit, json_extract(w.fields, '$.name'), json_extract(w.fields, '$.figures'), w.at,"
    " w.last_at, w.events,"
    " w.unit IN (SELECT f.unit FROM event AS f WHERE " MARK("f") ".event = 'unit_finished'"
    " AND " CB_STORE_NOT_UNDONE("f") "),"
    " max(w.last_row,"
    " coalesce((SELECT max(e.row) FROM event AS e WHERE e.unit IS NULL AND e.event IN "
    CB_STORE_OFTEN " AND e.at BETWEEN w.from_at AND w.to_at), 0),"
    " coalesce((SELECT max(e.row) FROM event AS e WHERE " MARK("e")
    ".at BETWEEN w.from_at AND w.to_at), 0),"
    " coalesce((SELECT max(e.row) FROM event AS e WHERE e.unit IS NULL AND e.event IN "
    CB_STORE_RARE " AND (e.at <= w.to_at OR e.event = 'paint_joined')), 0),"
    " coalesce((SELECT max(e.row) FROM event AS e WHERE e.unit IS NULL AND e.event IN "
    "('away','answered') AND e.at > w.to_at AND"
    " coalesce(e.fields ->> '$.from', substr(e.fields ->> '$.question', 6)) BETWEEN "
    RFC3339("w.from_at") " AND " RFC3339("w.to_at") "), 0))"
    " FROM (SELECT b.unit, b.fields, b.at, b.row, s.last_at, s.events, s.last_row, "
    FROM_SESSION " AS from_at, " TO_SESSION " AS to_at"
    " FROM event AS b JOIN unit_sum AS s ON s.unit = b.unit"
    " WHERE " MARK("b") ".event = 'unit_begun' AND " CB_STORE_NOT_UNDONE("b") ") AS w"
    " ORDER BY w.at, w.row";

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
        const struct cb_store_unit unit = {.id = column_text(stmt, 0, arena),
                                           .name = column_text(stmt, 1, arena),
                                           .figures = sqlite3_column_int(stmt, 2),
                                           .finished = sqlite3_column_int(stmt, 6) != 0,
                                           .begun_ms = sqlite3_column_int64(stmt, 3),
                                           .last_ms = sqlite3_column_int64(stmt, 4),
                                           .event_count = (size_t)sqlite3_column_int64(stmt, 5),
                                           .last_row = sqlite3_column_int64(stmt, 7)};
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
