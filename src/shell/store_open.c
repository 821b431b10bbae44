/* SPDX-License-Identifier: MIT */
/* Which units are open, and what takes back rows of theirs: as much of the map as the first screen
 * waits for. The undoings of fourteen years are thousands, those of an open unit a few. */
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/str.h"
#include "shell/store_map.h"

/* A row that may have been taken back. */
struct met {
    int64_t row;
    const char *unit, *press, *machine; /* in the map's arena, or NULL */
};

struct cb_map_names {
    struct cb_index *by_name; /* a press that some `undone` names: its first link */
    CB_VEC(struct link {
        int64_t row; /* of the undone */
        size_t next; /* one more than its place; 0: none */
    })
    links;
    struct cb_index *presses; /* press and machine: its place in the map */
    CB_VEC(struct met) waiting;
};

void cb_store_map_names_free(struct cb_map_names *names)
{
    if (names) {
        cb_index_free(names->by_name);
        cb_index_free(names->presses);
        cb_vec_free(&names->links);
        cb_vec_free(&names->waiting);
        free(names);
    }
}

/* From the index alone. */
static enum cb_status read_names(struct cb_store *store, struct cb_map_names *names,
                                 struct cb_err *err)
{
    int code;
    sqlite3_stmt *stmt =
        cb_store_query(store, "SELECT row, of FROM event WHERE of IS NOT NULL", NULL);
    while (cb_store_next(stmt, &code)) {
        const char *of = (const char *)sqlite3_column_text(stmt, 1);
        size_t next = 0;
        if (of) {
            cb_index_get(names->by_name, of, &next);
            cb_vec_push(&names->links, ((struct link){sqlite3_column_int64(stmt, 0), next}));
            cb_index_set(names->by_name, of, names->links.count);
        }
    }
    return cb_store_ended(store, stmt, code, err);
}

static const char *column(struct cb_store_map *map, sqlite3_stmt *stmt, int at)
{
    return cb_arena_text(&map->arena, (const char *)sqlite3_column_text(stmt, at));
}

/* What may be taken back waits until it is looked at who does. */
static enum cb_status meet_row(struct cb_store *store, int64_t row, struct cb_err *err)
{
    struct cb_store_map *map = store->map;
    const size_t at = cb_store_map_of_row(map, row);
    if (at < map->targets.count && map->targets.items[at].row == row) {
        return CB_OK; /* met before: an opened log is read many times */
    }
    int code;
    sqlite3_stmt *stmt = cb_store_query(
        store,
        "SELECT unit, press, (SELECT machine FROM origin AS o WHERE o.origin = e.origin)"
        " FROM event AS e WHERE row = ?1",
        &(struct cb_map_span){.from = row});
    if (cb_store_next(stmt, &code)) {
        const char *press = (const char *)sqlite3_column_text(stmt, 1);
        size_t link;
        if (press && cb_index_get(map->names->by_name, press, &link)) {
            const struct met met = {row, column(map, stmt, 0), column(map, stmt, 1),
                                    column(map, stmt, 2)};
            cb_vec_push(&map->names->waiting, met);
        }
        code = SQLITE_DONE;
    }
    return cb_store_ended(store, stmt, code, err);
}

/* The undoings of a press by its own machine, which may be taken back in their turn. */
static enum cb_status read_undoings(struct cb_store *store, const struct met *met, size_t place,
                                    struct cb_err *err)
{
    struct cb_store_map *map = store->map;
    enum cb_status status = CB_OK;
    size_t link = 0;
    cb_index_get(map->names->by_name, met->press, &link);
    for (; link != 0 && status == CB_OK; link = map->names->links.items[link - 1].next) {
        const int64_t row = map->names->links.items[link - 1].row;
        int code;
        sqlite3_stmt *stmt = cb_store_query(
            store,
            "SELECT u.of, (SELECT machine FROM origin AS o WHERE o.origin = u.origin)"
            " FROM event AS u WHERE u.row = ?1 AND u.sum IS " CB_STORE_ROW_SUM("u"),
            &(struct cb_map_span){.from = row});
        bool undoes = false;
        if (cb_store_next(stmt, &code)) {
            const char *of = (const char *)sqlite3_column_text(stmt, 0);
            const char *machine = (const char *)sqlite3_column_text(stmt, 1);
            undoes = of && strcmp(of, met->press) == 0 &&
                     strcmp(machine ? machine : "", met->machine ? met->machine : "") == 0;
            code = SQLITE_DONE;
        }
        status = cb_store_ended(store, stmt, code, err);
        if (undoes && status == CB_OK) {
            cb_vec_push(&map->presses.items[place].undone_by, row);
            status = meet_row(store, row, err);
        }
    }
    return status;
}

static enum cb_status take_waiting(struct cb_store *store, struct cb_err *err)
{
    struct cb_store_map *map = store->map;
    struct cb_map_names *names = map->names;
    enum cb_status status = CB_OK;
    struct cb_str key = {0};
    for (size_t i = 0; i < names->waiting.count && status == CB_OK; i++) {
        const struct met met = names->waiting.items[i]; /* the list may move below */
        struct cb_map_target target = {.row = met.row};
        cb_store_map_press_key(&key, met.press, met.machine);
        if (!cb_index_get(names->presses, cb_str_text(&key), &target.press)) {
            target.press = map->presses.count;
            cb_vec_push(&map->presses, (struct cb_map_press){0});
            cb_index_set(names->presses, cb_str_text(&key), target.press);
            status = read_undoings(store, &met, target.press, err);
        }
        cb_store_map_aim(map, target, met.unit);
    }
    names->waiting.count = 0;
    cb_str_fini(&key);
    cb_store_map_sort(map);
    return status;
}

/* The rows of a list of marks, and the units they are of; a mark that does not hold is skipped. */
#define MARKS(word)                                                                                \
    "SELECT m.row, m.unit, CASE WHEN json_valid(m.fields) THEN coalesce(m.fields ->> '$.left', 0)" \
    " ELSE 0 END FROM event AS m WHERE m." CB_STORE_MARK " AND m.event = '" word                   \
    "' AND m.sum IS " CB_STORE_ROW_SUM("m")

struct mark {
    int64_t row;
    size_t unit;
};

static enum cb_status read_finished(struct cb_store *store, struct cb_err *err)
{
    struct cb_store_map *map = store->map;
    struct {
        CB_VEC(struct mark) list;
    } marks = {0};
    int code;
    sqlite3_stmt *stmt = cb_store_query(store, MARKS("unit_finished"), NULL);
    while (cb_store_next(stmt, &code)) {
        const size_t unit = cb_store_map_number(map, (const char *)sqlite3_column_text(stmt, 1));
        if (unit != 0 && !sqlite3_column_int(stmt, 2)) {
            cb_vec_push(&marks.list, ((struct mark){sqlite3_column_int64(stmt, 0), unit}));
        }
    }
    enum cb_status status = cb_store_ended(store, stmt, code, err);
    for (size_t i = 0; i < marks.list.count && status == CB_OK; i++) {
        status = meet_row(store, marks.list.items[i].row, err);
    }
    status = status == CB_OK ? take_waiting(store, err) : status;
    for (size_t i = 0; i < marks.list.count && status == CB_OK; i++) {
        const struct mark *mark = &marks.list.items[i];
        if (cb_store_map_stands(map, mark->row)) {
            map->units.items[mark->unit - 1].finished = true;
        }
    }
    cb_vec_free(&marks.list);
    return status;
}

/* Only of those that are not finished: the row of a beginning holds a whole recipe. */
static enum cb_status read_begun(struct cb_store *store, struct cb_err *err)
{
    struct cb_store_map *map = store->map;
    struct {
        CB_VEC(struct mark) list;
    } marks = {0};
    int code;
    sqlite3_stmt *stmt = cb_store_query(
        store, "SELECT row, unit FROM event WHERE " CB_STORE_MARK " AND event = 'unit_begun'",
        NULL);
    while (cb_store_next(stmt, &code)) {
        const size_t unit = cb_store_map_number(map, (const char *)sqlite3_column_text(stmt, 1));
        if (unit != 0 && !map->units.items[unit - 1].finished) {
            cb_vec_push(&marks.list, ((struct mark){sqlite3_column_int64(stmt, 0), unit}));
        }
    }
    enum cb_status status = cb_store_ended(store, stmt, code, err);
    for (size_t i = 0; i < marks.list.count && status == CB_OK; i++) {
        int64_t good = 0;
        status =
            cb_store_look_up(store,
                             "SELECT 1 FROM event AS m WHERE m.row = ?1"
                             " AND m.event = 'unit_begun' AND m.sum IS " CB_STORE_ROW_SUM("m"),
                             &(struct cb_map_span){.from = marks.list.items[i].row}, &good, err);
        if (good) {
            map->units.items[marks.list.items[i].unit - 1].begun = true;
        }
    }
    cb_vec_free(&marks.list);
    return status;
}

enum cb_status cb_store_map_open(struct cb_store *store, struct cb_err *err)
{
    int64_t last = 0;
    const enum cb_status found =
        cb_store_look_up(store, "SELECT max(row) FROM event", NULL, &last, err);
    if (found != CB_OK || (store->map && store->map->last_row == last)) {
        return found;
    }
    cb_store_map_free(store->map);
    store->map = cb_mem_new(1, sizeof *store->map);
    store->map->by_id = cb_index_new();
    store->map->names = cb_mem_new(1, sizeof *store->map->names);
    store->map->names->by_name = cb_index_new();
    store->map->names->presses = cb_index_new();
    static enum cb_status (*const steps[])(struct cb_store * store, struct cb_err * err) = {
        cb_store_map_sums, read_finished, read_begun, cb_store_map_told};
    enum cb_status status = read_names(store, store->map->names, err);
    for (size_t i = 0; i < sizeof steps / sizeof *steps && status == CB_OK; i++) {
        status = steps[i](store, err);
    }
    store->map->last_row = status == CB_OK ? last : -1;
    return status;
}

enum cb_status cb_store_map_meet(struct cb_store *store, const struct cb_store_wanted *wanted,
                                 struct cb_err *err)
{
    struct cb_store_map *map = store->map;
    enum cb_status status = CB_OK;
    if (!map->names) {
        return CB_OK;
    }
    for (size_t i = 0; i < wanted->units.count && status == CB_OK; i++) {
        int code;
        sqlite3_stmt *stmt =
            cb_store_query(store, "SELECT row, press FROM event WHERE unit = ?1", NULL);
        cb_store_bind_text(stmt, 1, wanted->units.items[i]);
        while (status == CB_OK && cb_store_next(stmt, &code)) {
            const char *press = (const char *)sqlite3_column_text(stmt, 1);
            size_t link;
            if (press && cb_index_get(map->names->by_name, press, &link)) {
                status = meet_row(store, sqlite3_column_int64(stmt, 0), err);
            }
        }
        if (status == CB_OK) {
            status = cb_store_ended(store, stmt, code, err);
        } else {
            sqlite3_reset(stmt);
        }
    }
    for (size_t i = 0; i < wanted->rows.count && status == CB_OK; i++) {
        status = meet_row(store, wanted->rows.items[i], err);
    }
    return status == CB_OK ? take_waiting(store, err) : status;
}
