/* SPDX-License-Identifier: MIT */
/* What of the log can't be trusted any more. */
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "shell/migrate.h"
#include "shell/store_internal.h"

#define SMALL_PAGES 256 /* of 4 KiB: some 3000 events, read through in a few ms (measured) */

/* Rows are numbered without a gap, and the last that this machine wrote is there. */
static void check_rows(struct cb_store *store)
{
    static const char *const sql[] = {
        "SELECT coalesce(max(row), 0) - count(*) FROM event",
        "SELECT s.seq - coalesce((SELECT max(e.seq) FROM origin AS o JOIN event AS e"
        " ON e.origin = o.origin WHERE o.machine ="
        " (SELECT value FROM meta WHERE name = 'machine')), 0)"
        " FROM (SELECT CAST(value AS INTEGER) AS seq FROM meta WHERE name = 'seq') AS s"
        " WHERE s.seq BETWEEN 0 AND ?1", /* beyond it begins anew (store.c) */
    };
    for (size_t i = 0; i < sizeof sql / sizeof *sql && !store->damage[0]; i++) {
        sqlite3_stmt *stmt = NULL;
        int64_t missing = 0;
        sqlite3_prepare_v2(store->db, sql[i], -1, &stmt, NULL);
        if (stmt && sqlite3_bind_parameter_count(stmt) > 0) {
            sqlite3_bind_int64(stmt, 1, CB_STORE_SEQ_MAX);
        }
        if (cb_store_ask(stmt, &missing) == SQLITE_OK && missing > 0) {
            snprintf(store->damage, sizeof store->damage, "missing events: %lld",
                     (long long)missing);
        }
        sqlite3_finalize(stmt);
    }
}

/* What is wrong with the file beside single events. A whole check reads every page: it is made
 * where nobody feels it. */
enum cb_status cb_store_look_for_damage(struct cb_store *store, struct cb_err *err)
{
    static const struct {
        const char *sql, *what;
    } checks[] = {
        {"SELECT count(*) FROM meta WHERE sum IS NOT row_sum(name, value)",
         "its own notes have changed"},
        {"SELECT 3 - count(*) FROM meta WHERE name IN ('machine', 'seq', 'shape')",
         "its own notes are gone"},
        {"SELECT count(*) FROM sqlite_schema WHERE type IN ('trigger', 'view') AND"
         " name <> 'event_sum'",
         "it holds a trigger or a view that is none of its own"},
        {"SELECT max(coalesce((SELECT max(origin) FROM origin), 0) > 1000000,"
         " coalesce((SELECT max(row) FROM event), 0) > 1000000000000)",
         "its rows are numbered as none of ours are"},
        {"SELECT count(*) FROM meta WHERE name = 'shape' AND"
         " value IS NOT CAST(" CB_MIGRATE_SHAPE " AS TEXT)",
         "a table or an index is not as it was made"},
    };
    for (size_t i = 0; i < sizeof checks / sizeof *checks && !store->damage[0]; i++) {
        sqlite3_stmt *stmt = NULL;
        int64_t bad = 0;
        sqlite3_prepare_v2(store->db, checks[i].sql, -1, &stmt, NULL);
        const bool asked = cb_store_ask(stmt, &bad) == SQLITE_OK;
        sqlite3_finalize(stmt);
        if (!asked) {
            return cb_store_fault(store, err);
        }
        if (bad != 0) {
            snprintf(store->damage, sizeof store->damage, "%s", checks[i].what);
        }
    }
    sqlite3_stmt *stmt = NULL;
    int64_t pages = 0;
    sqlite3_prepare_v2(store->db, "PRAGMA page_count", -1, &stmt, NULL);
    const bool asked = cb_store_ask(stmt, &pages) == SQLITE_OK;
    sqlite3_finalize(stmt);
    if (!asked) {
        return cb_store_fault(store, err);
    }
    if (!store->damage[0] && pages <= SMALL_PAGES) {
        cb_store_check_pages(store);
        if (!store->damage[0]) {
            check_rows(store);
        }
    }
    return CB_OK;
}

void cb_store_check_pages(struct cb_store *store)
{
    sqlite3_stmt *stmt = NULL;
    const int code = sqlite3_prepare_v2(store->db, "PRAGMA integrity_check(1)", -1, &stmt, NULL);
    const char *found = code == SQLITE_OK && sqlite3_step(stmt) == SQLITE_ROW
                            ? (const char *)sqlite3_column_text(stmt, 0)
                            : sqlite3_errmsg(store->db);
    if (!found || strcmp(found, "ok") != 0) {
        struct cb_arena arena = {0};
        snprintf(store->damage, sizeof store->damage, "%s",
                 cb_utf8_clean(&arena, found ? found : "unreadable", 100));
        for (char *c = store->damage; *c; c++) {
            *c = *c == '\n' ? ' ' : *c;
        }
        cb_arena_fini(&arena);
    }
    sqlite3_finalize(stmt);
}

void cb_store_note_bad(struct cb_store *store, int64_t row)
{
    size_t at = store->bad_rows.count; /* rows are read upwards */
    while (at > 0 && store->bad_rows.items[at - 1] > row) {
        at--;
    }
    if (at > 0 && store->bad_rows.items[at - 1] == row) {
        return;
    }
    cb_vec_push(&store->bad_rows, row);
    memmove(store->bad_rows.items + at + 1, store->bad_rows.items + at,
            (store->bad_rows.count - 1 - at) * sizeof row);
    store->bad_rows.items[at] = row;
}

void cb_store_note_lost(struct cb_store *store, int64_t row)
{
    store->lost = true;
    cb_store_note_bad(store, row);
}

bool cb_store_is_damaged(const struct cb_store *store)
{
    return store->lost || store->damage[0];
}

size_t cb_store_bad_events(const struct cb_store *store)
{
    return store->bad_rows.count;
}

const char *cb_store_damage(const struct cb_store *store, struct cb_arena *arena)
{
    const size_t bad = store->bad_rows.count;
    if (bad == 0 && !store->damage[0]) {
        return NULL;
    }
    if (bad == 0) {
        return cb_arena_printf(arena,
                               "%s: the log is damaged (%s); `coatbell log check --mend` "
                               "goes on with what can be read",
                               store->shown, store->damage);
    }
    return cb_arena_printf(arena,
                           "%s: %zu event%s damaged (row %lld%s) and left out%s%s; `coatbell log "
                           "check --mend` goes on with the others",
                           store->shown, bad, bad == 1 ? " is" : "s are",
                           (long long)store->bad_rows.items[0], bad == 1 ? "" : " first",
                           store->damage[0] ? "; " : "", store->damage);
}
