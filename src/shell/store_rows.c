/* SPDX-License-Identifier: MIT */
/* Which rows a unit, or all units that are open, rest on. */
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/digest.h"
#include "base/index.h"
#include "base/mem.h"
#include "base/str.h"
#include "base/time.h"
#include "base/utf8.h"
#include "shell/store_internal.h"

/* Events without a unit: few in a log, and many. */
#define RARE                                                                                       \
    "('answered','confidence_set','cue_muted','evidence_forgotten','bottle_new','paint_joined')"
#define OFTEN                                                                                      \
    "('session_opened','session_closed','climate_set','pause_begun','pause_ended','away',"         \
    "'chore_done','caution_read','pinged','note','undone')"
/* Of the row as it stands, to be compared with the sum that it carries. */
#define ROW_SUM(e)                                                                                 \
    "row_sum(" e ".row, " e ".id, " e ".at, " e ".event, " e ".unit, " e ".press, " e              \
    ".origin, " e ".seq, " e ".boot_ms, " e ".figure, " e ".stage, " e ".coat, " e ".found, " e    \
    ".on_at, " e ".on_pm_s, " e ".place, " e ".temp_c, " e ".rh_pct, " e ".air, " e                \
    ".climate_from, " e ".of, " e ".fields)"
/* Word for word what the partial index is on: SQLite takes it only then. */
#define MARK "event IN ('unit_begun','unit_opened','unit_finished')"

/* Told times are those of the clock on the wall, which may have been set since (own judgement). */
#define TOLD_SLACK_MS (24 * 60 * CB_MS_PER_MIN)

/* A press that was taken back: by which rows, and whether one of them stands. */
struct press {
    CB_VEC(int64_t) undone_by;
    enum { PRESS_UNKNOWN, PRESS_HALF, PRESS_STANDS, PRESS_UNDONE } state;
};

/* A row of such a press. */
struct target {
    int64_t row;
    size_t unit; /* number of its unit, 0: none */
    size_t press;
};

struct unit {
    const char *id;
    int64_t begun_ms, begun_row; /* of what begins it and stands; row 0: nothing does */
    int64_t first_ms, last_ms, events, rows_xor;
    bool begun, finished; /* begun: somewhere, maybe taken back */
};

/* Time that was told of later. */
struct told {
    int64_t row, at_ms, from_ms;
};

/* What concerns the whole log, read once and kept until a row comes: rows are only ever added. */
struct cb_store_map {
    int64_t last_row;
    struct cb_arena arena;
    struct cb_index *by_id; /* of units, from 1 */
    CB_VEC(struct unit) units;
    CB_VEC(struct press) presses;
    CB_VEC(struct target) targets; /* by row */
    CB_VEC(struct target) by_unit; /* those of units, by unit */
    CB_VEC(struct told) told;
};

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
    cb_arena_fini(&map->arena);
    free(map);
}

/* ---- Queries ---- */

struct span {
    int64_t from, to;
};

/* Bound: ?1 from, ?2 to (ms), ?3 a unit; NULL: SQLite refused. Prepared once a text, for the list
 * of units asks hundreds of times. */
static sqlite3_stmt *ask(struct cb_store *store, const char *sql, const struct span *span,
                         const char *unit)
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
    const int last = sqlite3_bind_parameter_count(stmt);
    if (last >= 1) {
        sqlite3_bind_int64(stmt, 1, span->from);
    }
    if (last >= 2) {
        sqlite3_bind_int64(stmt, 2, span->to);
    }
    if (last >= 3) {
        cb_store_bind_text(stmt, 3, unit);
    }
    return stmt;
}

static bool next(sqlite3_stmt *stmt, int *code)
{
    *code = stmt ? sqlite3_step(stmt) : SQLITE_ERROR;
    return *code == SQLITE_ROW;
}

static enum cb_status ended(struct cb_store *store, sqlite3_stmt *stmt, int code,
                            struct cb_err *err)
{
    const enum cb_status status = code == SQLITE_DONE ? CB_OK : cb_store_fault(store, err);
    sqlite3_reset(stmt);
    return status;
}

static enum cb_status collect(struct cb_store *store, const char *sql, const struct span *span,
                              struct cb_store_wanted *wanted, struct cb_err *err)
{
    int code;
    sqlite3_stmt *stmt = ask(store, sql, span, NULL);
    while (next(stmt, &code)) {
        cb_vec_push(&wanted->rows, sqlite3_column_int64(stmt, 0));
    }
    return ended(store, stmt, code, err);
}

/* One number; what it was when there is none. */
static enum cb_status look_up(struct cb_store *store, const char *sql, const struct span *span,
                              int64_t *value, struct cb_err *err)
{
    int code;
    sqlite3_stmt *stmt = ask(store, sql, span, NULL);
    if (next(stmt, &code) && sqlite3_column_type(stmt, 0) != SQLITE_NULL) {
        *value = sqlite3_column_int64(stmt, 0);
        code = SQLITE_DONE;
    } else if (code == SQLITE_ROW) {
        code = SQLITE_DONE;
    }
    return ended(store, stmt, code, err);
}

/* ---- The map ---- */

static size_t unit_number(struct cb_store_map *map, const char *id)
{
    size_t number = 0;
    if (id && !cb_index_get(map->by_id, id, &number)) {
        cb_vec_push(&map->units, ((struct unit){.id = cb_arena_text(&map->arena, id)}));
        number = map->units.count;
        cb_index_set(map->by_id, id, number);
    }
    return number;
}

static int by_row(const void *left, const void *right)
{
    const struct target *a = left;
    const struct target *b = right;
    return a->row != b->row ? (a->row > b->row) - (a->row < b->row)
                            : (a->press > b->press) - (a->press < b->press);
}

static int by_unit(const void *left, const void *right)
{
    const struct target *a = left;
    const struct target *b = right;
    return a->unit != b->unit ? (a->unit > b->unit) - (a->unit < b->unit) : by_row(left, right);
}

static void set_press_key(struct cb_str *key, const char *press, const char *machine)
{
    cb_str_clear(key);
    cb_str_add(key, press ? press : "");
    cb_str_add(key, "\n");
    cb_str_add(key, machine ? machine : "");
}

/* The presses that some `undone` names, each once, and by which rows. */
static enum cb_status read_undoings(struct cb_store *store, struct cb_store_map *map,
                                    struct cb_index *presses, struct cb_err *err)
{
    int code;
    sqlite3_stmt *stmt = ask(store,
                             "SELECT u.row, u.of, (SELECT machine FROM origin AS o WHERE"
                             " o.origin = u.origin) FROM event AS u WHERE u.of IS NOT NULL"
                             " AND u.sum IS " ROW_SUM("u"),
                             NULL, NULL);
    struct cb_str key = {0};
    while (next(stmt, &code)) {
        set_press_key(&key, (const char *)sqlite3_column_text(stmt, 1),
                      (const char *)sqlite3_column_text(stmt, 2));
        size_t at;
        if (!cb_index_get(presses, cb_str_text(&key), &at)) {
            at = map->presses.count;
            cb_vec_push(&map->presses, (struct press){0});
            cb_index_set(presses, cb_str_text(&key), at);
        }
        cb_vec_push(&map->presses.items[at].undone_by, sqlite3_column_int64(stmt, 0));
    }
    cb_str_fini(&key);
    return ended(store, stmt, code, err);
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
        sqlite3_stmt *stmt = ask(store, queries[i], NULL, NULL);
        while (next(stmt, &code)) {
            set_press_key(&key, (const char *)sqlite3_column_text(stmt, 2),
                          (const char *)sqlite3_column_text(stmt, 3));
            struct target target = {.row = sqlite3_column_int64(stmt, 0)};
            if (cb_index_get(presses, cb_str_text(&key), &target.press)) {
                target.unit = unit_number(map, (const char *)sqlite3_column_text(stmt, 1));
                cb_vec_push(&map->targets, target);
                if (target.unit != 0) {
                    cb_vec_push(&map->by_unit, target);
                }
            }
        }
        status = ended(store, stmt, code, err);
    }
    cb_str_fini(&key);
    if (map->targets.count > 1) {
        qsort(map->targets.items, map->targets.count, sizeof *map->targets.items, by_row);
    }
    if (map->by_unit.count > 1) {
        qsort(map->by_unit.items, map->by_unit.count, sizeof *map->by_unit.items, by_unit);
    }
    return status;
}

/* The first target of that row; the others follow it. */
static size_t targets_of(const struct cb_store_map *map, int64_t row)
{
    size_t low = 0;
    size_t high = map->targets.count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (map->targets.items[middle].row < row) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

/* No undoing of it stands. A ring of undoings, or a chain longer than any hand makes, comes only
 * from a forged log: what lies there counts as taken back. */
static bool stands(struct cb_store_map *map, int64_t row, int depth)
{
    bool good = true;
    for (size_t i = targets_of(map, row);
         good && i < map->targets.count && map->targets.items[i].row == row; i++) {
        struct press *press = &map->presses.items[map->targets.items[i].press];
        if (press->state == PRESS_UNKNOWN) {
            bool undone = depth == 0;
            press->state = PRESS_HALF;
            for (size_t u = 0; !undone && u < press->undone_by.count; u++) {
                undone = stands(map, press->undone_by.items[u], depth - 1);
            }
            press->state = undone ? PRESS_UNDONE : PRESS_STANDS;
        }
        good = press->state == PRESS_STANDS;
    }
    return good;
}
#define DEPTH_MAX 2000 /* of undoings of undoings; estimate */

static enum cb_status read_units(struct cb_store *store, struct cb_store_map *map,
                                 struct cb_err *err)
{
    static const char marks[] =
        "SELECT row, unit, at, event FROM event AS m WHERE m." MARK
        " AND m.event <> 'unit_opened' AND m.sum IS " ROW_SUM("m") " ORDER BY at, row";
    int code;
    sqlite3_stmt *stmt =
        ask(store, "SELECT unit, first_at, last_at, events, rows_xor FROM unit_sum", NULL, NULL);
    while (next(stmt, &code)) {
        const size_t number = unit_number(map, (const char *)sqlite3_column_text(stmt, 0));
        struct unit *unit = number ? &map->units.items[number - 1] : &(struct unit){0};
        unit->first_ms = sqlite3_column_int64(stmt, 1);
        unit->last_ms = sqlite3_column_int64(stmt, 2);
        unit->events = sqlite3_column_int64(stmt, 3);
        unit->rows_xor = sqlite3_column_int64(stmt, 4);
    }
    enum cb_status status = ended(store, stmt, code, err);
    stmt = status == CB_OK ? ask(store, marks, NULL, NULL) : NULL;
    while (status == CB_OK && next(stmt, &code)) {
        const int64_t row = sqlite3_column_int64(stmt, 0);
        const size_t number = unit_number(map, (const char *)sqlite3_column_text(stmt, 1));
        const char *event = (const char *)sqlite3_column_text(stmt, 3);
        if (number == 0 || !event) {
            continue;
        }
        struct unit *unit = &map->units.items[number - 1];
        if (strcmp(event, "unit_begun") == 0) {
            unit->begun = true;
            if (unit->begun_row == 0 && stands(map, row, DEPTH_MAX)) {
                unit->begun_row = row;
                unit->begun_ms = sqlite3_column_int64(stmt, 2);
            }
        } else if (strcmp(event, "unit_finished") == 0 && stands(map, row, DEPTH_MAX)) {
            unit->finished = true;
        }
    }
    return status == CB_OK ? ended(store, stmt, code, err) : status;
}

static enum cb_status read_told(struct cb_store *store, struct cb_store_map *map,
                                struct cb_err *err)
{
    int code;
    sqlite3_stmt *stmt = ask(store,
                             "SELECT row, at, coalesce(fields ->> '$.from',"
                             " substr(fields ->> '$.question', 6)) FROM event WHERE unit IS NULL"
                             " AND event IN ('away','answered') AND json_valid(fields)",
                             NULL, NULL);
    while (next(stmt, &code)) {
        struct told told = {.row = sqlite3_column_int64(stmt, 0),
                            .at_ms = sqlite3_column_int64(stmt, 1)};
        const char *from = (const char *)sqlite3_column_text(stmt, 2);
        if (from && cb_time_parse(from, &told.from_ms)) {
            cb_vec_push(&map->told, told);
        }
    }
    return ended(store, stmt, code, err);
}

static enum cb_status look_at_map(struct cb_store *store, struct cb_err *err)
{
    int64_t last = 0;
    const enum cb_status found = look_up(store, "SELECT max(row) FROM event", NULL, &last, err);
    if (found != CB_OK || (store->map && store->map->last_row == last)) {
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
        status = read_told(store, store->map, err);
    }
    store->map->last_row = status == CB_OK ? last : -1;
    return status;
}

/* ---- What is wanted ---- */

static const char *const session_before =
    "SELECT max(at) FROM event WHERE unit IS NULL AND event = 'session_opened' AND at <= ?1";
static const char *const session_after =
    "SELECT min(at) FROM event WHERE unit IS NULL AND event = 'session_closed' AND at >= ?2";

/* Each query is for row numbers that an index answers by itself. */
static const char *const around[] = {
    /* settings hold from whenever they were made; what was joined is one for all time */
    "SELECT row FROM event WHERE unit IS NULL AND event IN " RARE
    " AND (at <= ?2 OR event = 'paint_joined')",
    "SELECT row FROM event WHERE unit IS NULL AND event IN " OFTEN " AND at BETWEEN ?1 AND ?2",
    /* of every unit: which is in front, and that it is finished, follow from all of them */
    "SELECT row FROM event WHERE " MARK " AND at BETWEEN ?1 AND ?2",
    /* the air of every place from its last reading */
    "SELECT row FROM (SELECT row FROM event WHERE unit IS NULL AND event = 'climate_set'"
    " AND at < ?1 ORDER BY at DESC LIMIT 16)",
    "SELECT row FROM (SELECT row, max(at) FROM event WHERE event = 'climate_set'"
    " AND place IS NOT NULL AND at < ?1 GROUP BY place)",
};

/* From the opening of the session in which it began to the end of the one in which it ended; to the
 * end of time for what is open: it may be in front in every evening to come. */
static enum cb_status find_span(struct cb_store *store, const struct unit *unit,
                                struct span *session, struct cb_err *err)
{
    struct span span = {INT64_MAX, INT64_MAX};
    if (unit) {
        span = (struct span){unit->first_ms, unit->last_ms};
    }
    for (size_t i = 0; !unit && i < store->map->units.count; i++) {
        const struct unit *open = &store->map->units.items[i];
        if (open->begun && !open->finished) {
            span.from = open->first_ms < span.from ? open->first_ms : span.from;
        }
    }
    *session = (struct span){span.from == INT64_MAX ? INT64_MIN : span.from, INT64_MAX};
    enum cb_status status = look_up(store, session_before, &span, &session->from, err);
    if (status == CB_OK && unit && unit->finished) {
        status = look_up(store, session_after, &span, &session->to, err);
    }
    return status;
}

static int by_number(const void *left, const void *right)
{
    const int64_t a = *(const int64_t *)left;
    const int64_t b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

void cb_store_wanted_sort(struct cb_store_wanted *wanted)
{
    size_t kept = 0;
    int64_t *rows = wanted->rows.items;
    if (wanted->rows.count > 1) {
        qsort(rows, wanted->rows.count, sizeof *rows, by_number);
    }
    for (size_t i = 0; i < wanted->rows.count; i++) {
        if (kept == 0 || rows[kept - 1] != rows[i]) {
            rows[kept++] = rows[i];
        }
    }
    wanted->rows.count = kept;
}

static void add_press(const struct cb_store_map *map, size_t press, char *seen,
                      struct cb_store_wanted *wanted)
{
    const struct press *undone = &map->presses.items[press];
    for (size_t i = 0; !seen[press] && i < undone->undone_by.count; i++) {
        cb_vec_push(&wanted->rows, undone->undone_by.items[i]);
    }
    seen[press] = 1;
}

/* Undoings of all that is wanted, and of those in their turn. */
static void add_undoings(const struct cb_store_map *map, struct cb_store_wanted *wanted)
{
    char *seen = cb_mem_new(map->presses.count + 1, 1); /* so that a ring ends */
    for (size_t u = 0; u < wanted->units.count; u++) {
        size_t number = 0;
        cb_index_get(map->by_id, wanted->units.items[u], &number);
        const struct target key = {.row = INT64_MIN, .unit = number};
        size_t low = 0;
        size_t high = map->by_unit.count;
        while (low < high) {
            const size_t middle = low + (high - low) / 2;
            if (by_unit(&map->by_unit.items[middle], &key) < 0) {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        for (; low < map->by_unit.count && map->by_unit.items[low].unit == number; low++) {
            add_press(map, map->by_unit.items[low].press, seen, wanted);
        }
    }
    cb_store_wanted_sort(wanted);
    for (size_t i = 0; i < wanted->rows.count; i++) {
        const int64_t row = wanted->rows.items[i];
        for (size_t at = targets_of(map, row);
             at < map->targets.count && map->targets.items[at].row == row; at++) {
            add_press(map, map->targets.items[at].press, seen, wanted);
        }
    }
    free(seen);
    cb_store_wanted_sort(wanted);
}

static enum cb_status want(struct cb_store *store, const struct cb_store_filter *filter,
                           struct cb_store_wanted *wanted, struct cb_err *err)
{
    const struct cb_store_map *map = store->map;
    const struct unit *unit = NULL;
    size_t number = 0;
    wanted->units.count = wanted->rows.count = 0;
    if (filter->unit) {
        static const struct unit unknown = {.id = "", .first_ms = INT64_MAX, .last_ms = INT64_MAX};
        unit = cb_index_get(map->by_id, filter->unit, &number) ? &map->units.items[number - 1]
                                                               : &unknown;
        cb_vec_push(&wanted->units, unit->id);
    }
    for (size_t i = 0; !unit && i < map->units.count; i++) {
        if (map->units.items[i].begun && !map->units.items[i].finished) {
            cb_vec_push(&wanted->units, map->units.items[i].id);
        }
    }
    struct span span;
    enum cb_status status = find_span(store, unit, &span, err);
    for (size_t i = 0; i < sizeof around / sizeof *around && status == CB_OK; i++) {
        status = collect(store, around[i], &span, wanted, err);
    }
    const int64_t slack = span.to < INT64_MAX - TOLD_SLACK_MS ? TOLD_SLACK_MS : 0;
    for (size_t i = 0; i < map->told.count && status == CB_OK; i++) {
        const struct told *told = &map->told.items[i];
        if (told->at_ms > span.to && told->from_ms >= span.from - slack &&
            told->from_ms <= span.to + slack) {
            cb_vec_push(&wanted->rows, told->row);
        }
    }
    if (status == CB_OK) {
        add_undoings(map, wanted);
    }
    return status;
}

enum cb_status cb_store_want(struct cb_store *store, const struct cb_store_filter *filter,
                             struct cb_store_wanted *wanted, struct cb_err *err)
{
    const enum cb_status status = look_at_map(store, err);
    return status == CB_OK ? want(store, filter, wanted, err) : status;
}

void cb_store_wanted_fini(struct cb_store_wanted *wanted)
{
    cb_vec_free(&wanted->units);
    cb_vec_free(&wanted->rows);
}

void cb_store_check_unit(struct cb_store *store, const char *unit,
                         const struct cb_store_read_of *read)
{
    size_t number;
    const struct unit *there = cb_index_get(store->map->by_id, unit, &number)
                                   ? &store->map->units.items[number - 1]
                                   : &(struct unit){0};
    const bool same = there->events == read->events && there->rows_xor == read->rows_xor &&
                      there->first_ms == read->first_ms && there->last_ms == read->last_ms;
    if (!same && !store->damage[0]) {
        struct cb_arena arena = {0};
        snprintf(store->damage, sizeof store->damage,
                 "of %lld events of the unit %s %lld were found", (long long)there->events,
                 cb_utf8_clean(&arena, unit, 32), (long long)read->events);
        cb_arena_fini(&arena);
    }
}

/* ---- The list of units ---- */

static uint64_t digest_of(const struct cb_store *store, const struct cb_store_wanted *wanted)
{
    uint64_t digest = CB_DIGEST_BEGIN;
    for (size_t i = 0; i < wanted->units.count; i++) {
        size_t number;
        if (cb_index_get(store->map->by_id, wanted->units.items[i], &number)) {
            const struct unit *unit = &store->map->units.items[number - 1];
            digest = cb_digest_number(digest, (uint64_t)unit->events);
            digest = cb_digest_number(digest, (uint64_t)unit->rows_xor);
        }
    }
    for (size_t i = 0; i < wanted->rows.count; i++) {
        digest = cb_digest_number(digest, (uint64_t)wanted->rows.items[i]);
    }
    return digest;
}

static int by_beginning(const void *left, const void *right)
{
    const struct unit *a = *(const struct unit *const *)left;
    const struct unit *b = *(const struct unit *const *)right;
    return a->begun_ms != b->begun_ms
               ? (a->begun_ms > b->begun_ms) - (a->begun_ms < b->begun_ms)
               : (a->begun_row > b->begun_row) - (a->begun_row < b->begun_row);
}

static enum cb_status describe(struct cb_store *store, const struct unit *unit,
                               struct cb_arena *arena, struct cb_store_unit *out,
                               struct cb_err *err)
{
    struct cb_store_wanted wanted = {0};
    *out = (struct cb_store_unit){.id = cb_arena_text(arena, unit->id),
                                  .finished = unit->finished,
                                  .begun_ms = unit->begun_ms,
                                  .last_ms = unit->last_ms,
                                  .event_count = (size_t)unit->events};
    enum cb_status status = want(store, &(struct cb_store_filter){.unit = unit->id}, &wanted, err);
    out->rests_on = digest_of(store, &wanted);
    cb_store_wanted_fini(&wanted);
    int code = SQLITE_DONE;
    sqlite3_stmt *stmt = status == CB_OK
                             ? ask(store,
                                   "SELECT fields ->> '$.name', fields ->> '$.figures' FROM event"
                                   " WHERE row = ?1 AND json_valid(fields)",
                                   &(struct span){.from = unit->begun_row}, NULL)
                             : NULL;
    if (status == CB_OK && next(stmt, &code)) {
        out->name = cb_arena_text(arena, (const char *)sqlite3_column_text(stmt, 0));
        out->figures = sqlite3_column_int(stmt, 1);
        code = SQLITE_DONE;
    }
    return status == CB_OK ? ended(store, stmt, code, err) : status;
}

enum cb_status cb_store_units(struct cb_store *store, struct cb_arena *arena,
                              const struct cb_store_unit **units, size_t *count, struct cb_err *err)
{
    *count = 0;
    if (sqlite3_exec(store->db, "BEGIN", NULL, NULL, NULL) != SQLITE_OK) {
        return cb_store_fault(store, err);
    }
    enum cb_status status = look_at_map(store, err);
    const size_t all = status == CB_OK ? store->map->units.count : 0;
    const struct unit **begun = cb_mem_new(all + 1, sizeof *begun);
    size_t found = 0;
    for (size_t i = 0; i < all; i++) {
        if (store->map->units.items[i].begun_row != 0) {
            begun[found++] = &store->map->units.items[i];
        }
    }
    if (found > 1) {
        qsort(begun, found, sizeof *begun, by_beginning);
    }
    struct cb_store_unit *list = cb_arena_alloc(arena, found + 1, sizeof *list);
    for (size_t i = 0; i < found && status == CB_OK; i++) {
        status = describe(store, begun[i], arena, &list[i], err);
    }
    sqlite3_exec(store->db, "COMMIT", NULL, NULL, NULL);
    free(begun);
    *units = list;
    *count = status == CB_OK ? found : 0;
    return status;
}
