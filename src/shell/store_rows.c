/* SPDX-License-Identifier: MIT */
/* Which rows a unit, or all units that are open, rest on. */
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/digest.h"
#include "base/mem.h"
#include "base/time.h"
#include "base/utf8.h"
#include "shell/store_map.h"

/* Events without a unit: few in a log, and many. */
#define RARE                                                                                       \
    "('answered','confidence_set','cue_muted','evidence_forgotten','bottle_new','paint_joined',"   \
    "'prior_given')"
#define OFTEN                                                                                      \
    "('session_opened','session_closed','climate_set','pause_begun','pause_ended','away',"         \
    "'chore_done','caution_read','pinged','note','undone')"
/* Told times are those of the clock on the wall, which may have been set since (own judgement). */
#define TOLD_SLACK_MS (24 * 60 * CB_MS_PER_MIN)

static enum cb_status collect(struct cb_store *store, const char *sql,
                              const struct cb_map_span *span, struct cb_store_wanted *wanted,
                              struct cb_err *err)
{
    int code;
    sqlite3_stmt *stmt = cb_store_query(store, sql, span);
    while (cb_store_next(stmt, &code)) {
        cb_vec_push(&wanted->rows, sqlite3_column_int64(stmt, 0));
    }
    return cb_store_ended(store, stmt, code, err);
}

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
    "SELECT row FROM event WHERE " CB_STORE_MARK " AND at BETWEEN ?1 AND ?2",
    /* the air of every place from its last reading */
    "SELECT row FROM (SELECT row FROM event WHERE unit IS NULL AND event = 'climate_set'"
    " AND at < ?1 ORDER BY at DESC LIMIT 16)",
    "SELECT row FROM (SELECT row, max(at) FROM event WHERE event = 'climate_set'"
    " AND place IS NOT NULL AND at < ?1 GROUP BY place)",
};

/* From the opening of the session in which it began to the end of the one in which it ended; to the
 * end of time for what is open: it may be in front in every evening to come. */
static enum cb_status find_span(struct cb_store *store, const struct cb_map_unit *unit,
                                struct cb_map_span *session, struct cb_err *err)
{
    struct cb_map_span span = {INT64_MAX, INT64_MAX};
    if (unit) {
        span = (struct cb_map_span){unit->first_ms, unit->last_ms};
    }
    for (size_t i = 0; !unit && i < store->map->units.count; i++) {
        const struct cb_map_unit *open = &store->map->units.items[i];
        if (open->begun && !open->finished) {
            span.from = open->first_ms < span.from ? open->first_ms : span.from;
        }
    }
    *session = (struct cb_map_span){span.from == INT64_MAX ? INT64_MIN : span.from, INT64_MAX};
    enum cb_status status = cb_store_look_up(store, session_before, &span, &session->from, err);
    if (status == CB_OK && unit && unit->finished) {
        status = cb_store_look_up(store, session_after, &span, &session->to, err);
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
    const struct cb_map_press *undone = &map->presses.items[press];
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
        for (size_t at = cb_store_map_of_unit(map, number);
             at < map->by_unit.count && map->by_unit.items[at].unit == number; at++) {
            add_press(map, map->by_unit.items[at].press, seen, wanted);
        }
    }
    cb_store_wanted_sort(wanted);
    for (size_t i = 0; i < wanted->rows.count; i++) {
        const int64_t row = wanted->rows.items[i];
        for (size_t at = cb_store_map_of_row(map, row);
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
    const struct cb_map_unit *unit = NULL;
    size_t number = 0;
    wanted->units.count = wanted->rows.count = 0;
    if (filter->unit) {
        static const struct cb_map_unit unknown = {
            .id = "", .first_ms = INT64_MAX, .last_ms = INT64_MAX};
        unit = cb_index_get(map->by_id, filter->unit, &number) ? &map->units.items[number - 1]
                                                               : &unknown;
        cb_vec_push(&wanted->units, unit->id);
    }
    for (size_t i = 0; !unit && i < map->units.count; i++) {
        if (map->units.items[i].begun && !map->units.items[i].finished) {
            cb_vec_push(&wanted->units, map->units.items[i].id);
        }
    }
    struct cb_map_span span;
    enum cb_status status = find_span(store, unit, &span, err);
    for (size_t i = 0; i < sizeof around / sizeof *around && status == CB_OK; i++) {
        status = collect(store, around[i], &span, wanted, err);
    }
    const int64_t slack = span.to < INT64_MAX - TOLD_SLACK_MS ? TOLD_SLACK_MS : 0;
    for (size_t i = 0; i < map->told.count && status == CB_OK; i++) {
        const struct cb_map_told *told = &map->told.items[i];
        if (told->at_ms > span.to && told->from_ms >= span.from - slack &&
            told->from_ms <= span.to + slack) {
            cb_vec_push(&wanted->rows, told->row);
        }
    }
    if (status == CB_OK && number != 0) {
        status = cb_store_want_brushes(store, number, wanted, err);
    }
    if (status == CB_OK) {
        status = cb_store_map_meet(store, wanted, err);
    }
    if (status == CB_OK) {
        add_undoings(map, wanted);
    }
    return status;
}

enum cb_status cb_store_want(struct cb_store *store, const struct cb_store_filter *filter,
                             struct cb_store_wanted *wanted, struct cb_err *err)
{
    const enum cb_status status =
        filter->unit ? cb_store_map_look(store, err) : cb_store_map_open(store, err);
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
    const struct cb_map_unit *there = cb_index_get(store->map->by_id, unit, &number)
                                          ? &store->map->units.items[number - 1]
                                          : &(struct cb_map_unit){0};
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
            const struct cb_map_unit *unit = &store->map->units.items[number - 1];
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
    const struct cb_map_unit *a = *(const struct cb_map_unit *const *)left;
    const struct cb_map_unit *b = *(const struct cb_map_unit *const *)right;
    return a->begun_ms != b->begun_ms
               ? (a->begun_ms > b->begun_ms) - (a->begun_ms < b->begun_ms)
               : (a->begun_row > b->begun_row) - (a->begun_row < b->begun_row);
}

static enum cb_status describe(struct cb_store *store, const struct cb_map_unit *unit,
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
    sqlite3_stmt *stmt =
        status == CB_OK
            ? cb_store_query(store,
                             "SELECT fields ->> '$.name', fields ->> '$.figures' FROM event"
                             " WHERE row = ?1 AND json_valid(fields)",
                             &(struct cb_map_span){.from = unit->begun_row})
            : NULL;
    if (status == CB_OK && cb_store_next(stmt, &code)) {
        out->name = cb_arena_text(arena, (const char *)sqlite3_column_text(stmt, 0));
        out->figures = sqlite3_column_int(stmt, 1);
        code = SQLITE_DONE;
    }
    return status == CB_OK ? cb_store_ended(store, stmt, code, err) : status;
}

enum cb_status cb_store_units(struct cb_store *store, struct cb_arena *arena,
                              const struct cb_store_unit **units, size_t *count, struct cb_err *err)
{
    *count = 0;
    if (sqlite3_exec(store->db, "BEGIN", NULL, NULL, NULL) != SQLITE_OK) {
        return cb_store_fault(store, err);
    }
    enum cb_status status = cb_store_map_look(store, err);
    const size_t all = status == CB_OK ? store->map->units.count : 0;
    const struct cb_map_unit **begun = cb_mem_new(all + 1, sizeof *begun);
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
