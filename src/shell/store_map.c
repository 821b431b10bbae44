/* SPDX-License-Identifier: MIT */
#include "shell/store_map.h"

#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/str.h"
#include "base/time.h"

void cb_store_map_free(struct cb_store_map *map)
{
    if (!map) {
        return;
    }
    cb_index_free(map->by_id);
    cb_vec_free(&map->units);
    for (size_t i = 0; i < map->presses.count; i++) {
        cb_vec_free(&map->presses.items[i].undone_by);
    }
    cb_vec_free(&map->presses);
    cb_vec_free(&map->targets);
    cb_vec_free(&map->by_unit);
    cb_vec_free(&map->told);
    cb_vec_free(&map->brushes);
    cb_store_map_names_free(map->names);
    cb_arena_fini(&map->arena);
    free(map);
}

sqlite3_stmt *cb_store_query(struct cb_store *store, const char *sql,
                             const struct cb_map_span *span)
{
    sqlite3_stmt *stmt = NULL;
    for (size_t i = 0; i < store->asked.count && !stmt; i++) {
        stmt = store->asked.items[i].sql == sql ? store->asked.items[i].stmt : NULL;
    }
    if (!stmt) {
        if (sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL) != SQLITE_OK) {
            return NULL;
        }
        cb_vec_push(&store->asked, ((struct cb_store_asked){sql, stmt}));
    }
    const int last = span ? sqlite3_bind_parameter_count(stmt) : 0;
    if (last >= 1) {
        sqlite3_bind_int64(stmt, 1, span->from);
    }
    if (last >= 2) {
        sqlite3_bind_int64(stmt, 2, span->to);
    }
    return stmt;
}

bool cb_store_next(sqlite3_stmt *stmt, int *code)
{
    *code = stmt ? sqlite3_step(stmt) : SQLITE_ERROR;
    return *code == SQLITE_ROW;
}

enum cb_status cb_store_ended(struct cb_store *store, sqlite3_stmt *stmt, int code,
                              struct cb_err *err)
{
    const enum cb_status status = code == SQLITE_DONE ? CB_OK : cb_store_fault(store, err);
    sqlite3_reset(stmt);
    return status;
}

enum cb_status cb_store_look_up(struct cb_store *store, const char *sql,
                                const struct cb_map_span *span, int64_t *value, struct cb_err *err)
{
    int code;
    sqlite3_stmt *stmt = cb_store_query(store, sql, span);
    if (cb_store_next(stmt, &code) && sqlite3_column_type(stmt, 0) != SQLITE_NULL) {
        *value = sqlite3_column_int64(stmt, 0);
        code = SQLITE_DONE;
    } else if (code == SQLITE_ROW) {
        code = SQLITE_DONE;
    }
    return cb_store_ended(store, stmt, code, err);
}

size_t cb_store_map_number(struct cb_store_map *map, const char *id)
{
    size_t number = 0;
    if (id && !cb_index_get(map->by_id, id, &number)) {
        cb_vec_push(&map->units, ((struct cb_map_unit){.id = cb_arena_text(&map->arena, id)}));
        number = map->units.count;
        cb_index_set(map->by_id, id, number);
    }
    return number;
}

static int by_row(const void *left, const void *right)
{
    const struct cb_map_target *a = left;
    const struct cb_map_target *b = right;
    return a->row != b->row ? (a->row > b->row) - (a->row < b->row)
                            : (a->press > b->press) - (a->press < b->press);
}

static int by_unit(const void *left, const void *right)
{
    const struct cb_map_target *a = left;
    const struct cb_map_target *b = right;
    return a->unit != b->unit ? (a->unit > b->unit) - (a->unit < b->unit) : by_row(left, right);
}

void cb_store_map_press_key(struct cb_str *key, const char *press, const char *machine)
{
    cb_str_clear(key);
    cb_str_add(key, press ? press : "");
    cb_str_add(key, "\n");
    cb_str_add(key, machine ? machine : "");
}

void cb_store_map_aim(struct cb_store_map *map, struct cb_map_target target, const char *unit)
{
    target.unit = cb_store_map_number(map, unit);
    cb_vec_push(&map->targets, target);
    if (target.unit != 0) {
        cb_vec_push(&map->by_unit, target);
    }
}

void cb_store_map_sort(struct cb_store_map *map)
{
    if (map->targets.count > 1) {
        qsort(map->targets.items, map->targets.count, sizeof *map->targets.items, by_row);
    }
    if (map->by_unit.count > 1) {
        qsort(map->by_unit.items, map->by_unit.count, sizeof *map->by_unit.items, by_unit);
    }
}

/* The presses that some `undone` names, each once, and by which rows. */
static enum cb_status read_undoings(struct cb_store *store, struct cb_store_map *map,
                                    struct cb_index *presses, struct cb_err *err)
{
    int code;
    sqlite3_stmt *stmt =
        cb_store_query(store,
                       "SELECT u.row, u.of, (SELECT machine FROM origin AS o WHERE"
                       " o.origin = u.origin) FROM event AS u WHERE u.of IS NOT NULL"
                       " AND u.sum IS " CB_STORE_ROW_SUM("u"),
                       NULL);
    struct cb_str key = {0};
    while (cb_store_next(stmt, &code)) {
        cb_store_map_press_key(&key, (const char *)sqlite3_column_text(stmt, 1),
                               (const char *)sqlite3_column_text(stmt, 2));
        size_t at;
        if (!cb_index_get(presses, cb_str_text(&key), &at)) {
            at = map->presses.count;
            cb_vec_push(&map->presses, (struct cb_map_press){0});
            cb_index_set(presses, cb_str_text(&key), at);
        }
        cb_vec_push(&map->presses.items[at].undone_by, sqlite3_column_int64(stmt, 0));
    }
    cb_str_fini(&key);
    return cb_store_ended(store, stmt, code, err);
}

/* Their rows. A press goes by the id of its first event, or has events that an index of its own
 * finds. */
static enum cb_status read_targets(struct cb_store *store, struct cb_store_map *map,
                                   const struct cb_index *presses, struct cb_err *err)
{
#define FROM_NAMED                                                                                 \
    "(SELECT DISTINCT of AS press FROM event WHERE of IS NOT NULL) AS n CROSS JOIN event AS e"
#define MACHINE "(SELECT machine FROM origin AS o WHERE o.origin = e.origin)"
    static const char *const queries[] = {
        "SELECT e.row, e.unit, n.press, " MACHINE " FROM " FROM_NAMED
        " WHERE e.id = n.press AND e.press = n.press",
        "SELECT e.row, e.unit, n.press, " MACHINE " FROM " FROM_NAMED
        " WHERE e.press = n.press AND e.press IS NOT NULL AND e.press <> e.id",
    };
#undef MACHINE
#undef FROM_NAMED
    enum cb_status status = CB_OK;
    struct cb_str key = {0};
    for (size_t i = 0; i < sizeof queries / sizeof *queries && status == CB_OK; i++) {
        int code;
        sqlite3_stmt *stmt = cb_store_query(store, queries[i], NULL);
        while (cb_store_next(stmt, &code)) {
            cb_store_map_press_key(&key, (const char *)sqlite3_column_text(stmt, 2),
                                   (const char *)sqlite3_column_text(stmt, 3));
            struct cb_map_target target = {.row = sqlite3_column_int64(stmt, 0)};
            if (cb_index_get(presses, cb_str_text(&key), &target.press)) {
                cb_store_map_aim(map, target, (const char *)sqlite3_column_text(stmt, 1));
            }
        }
        status = cb_store_ended(store, stmt, code, err);
    }
    cb_str_fini(&key);
    cb_store_map_sort(map);
    return status;
}

static size_t first_of(const struct cb_map_target *items, size_t count,
                       const struct cb_map_target *key, int (*order)(const void *, const void *))
{
    size_t low = 0;
    while (low < count) {
        const size_t middle = low + (count - low) / 2;
        if (order(&items[middle], key) < 0) {
            low = middle + 1;
        } else {
            count = middle;
        }
    }
    return low;
}

size_t cb_store_map_of_row(const struct cb_store_map *map, int64_t row)
{
    return first_of(map->targets.items, map->targets.count, &(struct cb_map_target){.row = row},
                    by_row);
}

size_t cb_store_map_of_unit(const struct cb_store_map *map, size_t number)
{
    return first_of(map->by_unit.items, map->by_unit.count,
                    &(struct cb_map_target){.row = INT64_MIN, .unit = number}, by_unit);
}

/* No undoing of it stands. A ring of undoings, or a chain longer than any hand makes, comes only
 * from a forged log: what lies there counts as taken back. */
static bool stands(struct cb_store_map *map, int64_t row, int depth)
{
    bool good = true;
    for (size_t i = cb_store_map_of_row(map, row);
         good && i < map->targets.count && map->targets.items[i].row == row; i++) {
        struct cb_map_press *press = &map->presses.items[map->targets.items[i].press];
        if (press->state == CB_PRESS_UNKNOWN) {
            bool undone = depth == 0;
            press->state = CB_PRESS_HALF;
            for (size_t u = 0; !undone && u < press->undone_by.count; u++) {
                undone = stands(map, press->undone_by.items[u], depth - 1);
            }
            press->state = undone ? CB_PRESS_UNDONE : CB_PRESS_STANDS;
        }
        good = press->state == CB_PRESS_STANDS;
    }
    return good;
}
#define DEPTH_MAX 2000 /* of undoings of undoings; estimate */

bool cb_store_map_stands(struct cb_store_map *map, int64_t row)
{
    return stands(map, row, DEPTH_MAX);
}

enum cb_status cb_store_map_sums(struct cb_store *store, struct cb_err *err)
{
    struct cb_store_map *map = store->map;
    int code;
    sqlite3_stmt *stmt = cb_store_query(
        store, "SELECT unit, first_at, last_at, events, rows_xor FROM unit_sum", NULL);
    while (cb_store_next(stmt, &code)) {
        const size_t number = cb_store_map_number(map, (const char *)sqlite3_column_text(stmt, 0));
        struct cb_map_unit *unit =
            number ? &map->units.items[number - 1] : &(struct cb_map_unit){0};
        unit->first_ms = sqlite3_column_int64(stmt, 1);
        unit->last_ms = sqlite3_column_int64(stmt, 2);
        unit->events = sqlite3_column_int64(stmt, 3);
        unit->rows_xor = sqlite3_column_int64(stmt, 4);
    }
    return cb_store_ended(store, stmt, code, err);
}

static enum cb_status read_units(struct cb_store *store, struct cb_store_map *map,
                                 struct cb_err *err)
{
    static const char marks[] =
        "SELECT row, unit, at, event,"
        " CASE WHEN json_valid(fields) THEN coalesce(fields ->> '$.left', 0) ELSE 0 END"
        " FROM event AS m WHERE m." CB_STORE_MARK
        " AND m.event <> 'unit_opened' AND m.sum IS " CB_STORE_ROW_SUM("m") " ORDER BY at, row";
    int code;
    enum cb_status status = cb_store_map_sums(store, err);
    sqlite3_stmt *stmt = status == CB_OK ? cb_store_query(store, marks, NULL) : NULL;
    while (status == CB_OK && cb_store_next(stmt, &code)) {
        const int64_t row = sqlite3_column_int64(stmt, 0);
        const size_t number = cb_store_map_number(map, (const char *)sqlite3_column_text(stmt, 1));
        const char *event = (const char *)sqlite3_column_text(stmt, 3);
        if (number == 0 || !event) {
            continue;
        }
        struct cb_map_unit *unit = &map->units.items[number - 1];
        if (strcmp(event, "unit_begun") == 0) {
            unit->begun = true;
            if (unit->begun_row == 0 && cb_store_map_stands(map, row)) {
                unit->begun_row = row;
                unit->begun_ms = sqlite3_column_int64(stmt, 2);
            }
        } else if (strcmp(event, "unit_finished") == 0 && !sqlite3_column_int(stmt, 4) &&
                   cb_store_map_stands(map, row)) {
            unit->finished = true; /* one put aside may be brought back */
        }
    }
    return status == CB_OK ? cb_store_ended(store, stmt, code, err) : status;
}

enum cb_status cb_store_map_told(struct cb_store *store, struct cb_err *err)
{
    struct cb_store_map *map = store->map;
    int code;
    sqlite3_stmt *stmt =
        cb_store_query(store,
                       "SELECT row, at, coalesce(fields ->> '$.from',"
                       " substr(fields ->> '$.question', 6)) FROM event WHERE unit IS NULL"
                       " AND event IN ('away','answered') AND json_valid(fields)",
                       NULL);
    while (cb_store_next(stmt, &code)) {
        struct cb_map_told told = {.row = sqlite3_column_int64(stmt, 0),
                                   .at_ms = sqlite3_column_int64(stmt, 1)};
        const char *from = (const char *)sqlite3_column_text(stmt, 2);
        if (from && cb_time_parse(from, &told.from_ms)) {
            cb_vec_push(&map->told, told);
        }
    }
    return cb_store_ended(store, stmt, code, err);
}

enum cb_status cb_store_map_look(struct cb_store *store, struct cb_err *err)
{
    int64_t last = 0;
    const enum cb_status found =
        cb_store_look_up(store, "SELECT max(row) FROM event", NULL, &last, err);
    if (found != CB_OK || (store->map && !store->map->names && store->map->last_row == last)) {
        return found;
    }
    cb_store_map_free(store->map);
    store->map = cb_mem_new(1, sizeof *store->map);
    store->map->by_id = cb_index_new();
    struct cb_index *presses = cb_index_new();
    enum cb_status status = read_undoings(store, store->map, presses, err);
    if (status == CB_OK) {
        status = read_targets(store, store->map, presses, err);
    }
    cb_index_free(presses);
    if (status == CB_OK) {
        status = read_units(store, store->map, err);
    }
    if (status == CB_OK) {
        status = cb_store_map_told(store, err);
    }
    if (status == CB_OK) {
        status = cb_store_map_brushes(store, err);
    }
    store->map->last_row = status == CB_OK ? last : -1;
    return status;
}
