/* SPDX-License-Identifier: MIT */
/* What of the whole log is needed to tell which rows a unit rests on. For the files of the store.
 */
#ifndef CB_SHELL_STORE_MAP_H
#define CB_SHELL_STORE_MAP_H

#include "base/index.h"
#include "base/str.h"
#include "shell/store_internal.h"

/* Word for word what the partial index is on: SQLite takes it only then. */
#define CB_STORE_MARK "event IN ('unit_begun','unit_opened','unit_finished')"

/* Of the row as it stands, to be compared with the sum that it carries. */
#define CB_STORE_ROW_SUM(e)                                                                        \
    "row_sum(" e ".row, " e ".id, " e ".at, " e ".event, " e ".unit, " e ".press, " e              \
    ".origin, " e ".seq, " e ".boot_ms, " e ".figure, " e ".stage, " e ".coat, " e ".found, " e    \
    ".on_at, " e ".on_pm_s, " e ".place, " e ".temp_c, " e ".rh_pct, " e ".air, " e                \
    ".climate_from, " e ".of, " e ".fields)"

/* A press that was taken back: by which rows, and whether one of them stands. */
struct cb_map_press {
    CB_VEC(int64_t) undone_by;
    enum { CB_PRESS_UNKNOWN, CB_PRESS_HALF, CB_PRESS_STANDS, CB_PRESS_UNDONE } state;
};

/* A row of such a press. */
struct cb_map_target {
    int64_t row;
    size_t unit; /* number of its unit, 0: none */
    size_t press;
};

struct cb_map_unit {
    const char *id;
    int64_t begun_ms, begun_row; /* of what begins it and stands; row 0: nothing does */
    int64_t first_ms, last_ms, events, rows_xor;
    bool begun, finished; /* begun: somewhere, maybe taken back */
};

/* Time that was told of later. */
struct cb_map_told {
    int64_t row, at_ms, from_ms;
};

/* What was on the brush when a unit came to the front in the middle of a session: the last coat of
 * another one before. */
struct cb_map_brush {
    size_t unit, other; /* their numbers */
    int64_t row, at_ms; /* of that coat */
};

/* What concerns the whole log, read once and kept until a row comes: rows are only ever added. */
struct cb_store_map {
    int64_t last_row;
    struct cb_arena arena;
    struct cb_index *by_id; /* of units, from 1 */
    CB_VEC(struct cb_map_unit) units;
    CB_VEC(struct cb_map_press) presses;
    CB_VEC(struct cb_map_target) targets; /* by row */
    CB_VEC(struct cb_map_target) by_unit; /* those of units, by unit */
    CB_VEC(struct cb_map_told) told;
    CB_VEC(struct cb_map_brush) brushes;
    struct cb_map_names *names; /* NULL: the map is whole; else as store_open.c leaves it */
};

/* Makes the map of the store, unless no row has come since. Within a read transaction. */
enum cb_status cb_store_map_look(struct cb_store *store, struct cb_err *err);
/* store_open.c: the same as far as the open units go; what begins a unit that is finished, the
 * brushes, and what takes back rows that nobody has met are left out. A whole map will do. */
enum cb_status cb_store_map_open(struct cb_store *store, struct cb_err *err);
/* Then, of all that is wanted: what takes it back, and that in its turn. */
enum cb_status cb_store_map_meet(struct cb_store *store, const struct cb_store_wanted *wanted,
                                 struct cb_err *err);
void cb_store_map_names_free(struct cb_map_names *names);

/* What both are made of. A number for each unit from 1; the key of a press in an index; a row, and
 * the press it belongs to; the order that is looked up in; what the rows of a unit add up to; what
 * was told later. */
size_t cb_store_map_number(struct cb_store_map *map, const char *id);
void cb_store_map_press_key(struct cb_str *key, const char *press, const char *machine);
void cb_store_map_aim(struct cb_store_map *map, struct cb_map_target target, const char *unit);
void cb_store_map_sort(struct cb_store_map *map);
enum cb_status cb_store_map_sums(struct cb_store *store, struct cb_err *err);
enum cb_status cb_store_map_told(struct cb_store *store, struct cb_err *err);

/* Where the targets of a row, those of a unit in by_unit, begin; the others follow. */
size_t cb_store_map_of_row(const struct cb_store_map *map, int64_t row);
size_t cb_store_map_of_unit(const struct cb_store_map *map, size_t number);
/* No undoing of the row stands. */
bool cb_store_map_stands(struct cb_store_map *map, int64_t row);

/* store_brush.c: makes the list of brushes, the rest of the map is there. */
enum cb_status cb_store_map_brushes(struct cb_store *store, struct cb_err *err);
/* The rows that say which paint was on the brush for the unit of that number. */
enum cb_status cb_store_want_brushes(struct cb_store *store, size_t number,
                                     struct cb_store_wanted *wanted, struct cb_err *err);

struct cb_map_span {
    int64_t from, to;
};

/* Bound: ?1 from, ?2 to (ms); NULL: SQLite refused. Prepared once a text, for the list
 * of units asks hundreds of times. */
struct sqlite3_stmt *cb_store_query(struct cb_store *store, const char *sql,
                                    const struct cb_map_span *span);
/* Whether there is another row; code is for ended, which says how it went and resets. */
bool cb_store_next(struct sqlite3_stmt *stmt, int *code);
enum cb_status cb_store_ended(struct cb_store *store, struct sqlite3_stmt *stmt, int code,
                              struct cb_err *err);
/* One number; what it was when there is none. */
enum cb_status cb_store_look_up(struct cb_store *store, const char *sql,
                                const struct cb_map_span *span, int64_t *value, struct cb_err *err);

#endif
