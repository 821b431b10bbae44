/* SPDX-License-Identifier: MIT */
#include "shell/store_check.h"

#include <sqlite3.h>
#include <string.h>
#include <sys/stat.h>

#include "base/seal.h"
#include "base/utf8.h"
#include "shell/store_backup.h"
#include "shell/store_file.h"
#include "shell/store_internal.h"
#include "shell/store_salvage.h"

#define SHOWN_PAGES 5 /* of what the database itself finds wrong */

/* The sums of a row's columns, and the rows that can be trusted. */
#define ROW_SUM                                                                                    \
    "row_sum(row, id, at, event, unit, press, origin, seq, boot_ms, figure, stage, coat, found,"   \
    " on_at, on_pm_s, place, temp_c, rh_pct, air, climate_from, of, fields)"
#define GOOD_ORIGINS "(SELECT origin FROM origin WHERE sum IS row_sum(origin, machine, boot))"
#define UNIT_LINES                                                                                 \
    "SELECT unit, min(at), max(at), count(*), row_xor(sum) FROM event WHERE unit IS NOT NULL"      \
    " GROUP BY unit"
#define UNIT_SUMS "SELECT unit, first_at, last_at, events, rows_xor FROM unit_sum"

void cb_flaws_fini(struct cb_flaws *flaws)
{
    cb_vec_free(&flaws->list);
}

void cb_flaws_add(struct cb_flaws *flaws, enum cb_mend mend, const char *text)
{
    cb_vec_push(&flaws->list, ((struct cb_flaw){mend, text}));
}

size_t cb_flaws_to_mend(const struct cb_flaws *flaws)
{
    size_t count = 0;
    for (size_t i = 0; i < flaws->list.count; i++) {
        count += flaws->list.items[i].mend != CB_MEND_NOTHING;
    }
    return count;
}

bool cb_flaws_need_fresh(const struct cb_flaws *flaws)
{
    for (size_t i = 0; i < flaws->list.count; i++) {
        if (flaws->list.items[i].mend == CB_MEND_FRESH) {
            return true;
        }
    }
    return false;
}

const char *cb_mend_says(enum cb_mend mend)
{
    static const char *const says[] = {
        [CB_MEND_NOTHING] = NULL,
        [CB_MEND_KEPT] = "what is kept of finished units would be dropped; it is made anew when "
                         "wanted",
        [CB_MEND_SUMS] = "the sums would be made again from the events",
        [CB_MEND_FRESH] = "all events that are whole would go into a fresh log",
    };
    return says[mend];
}

static bool count_by(struct cb_store *store, const char *sql, int64_t *count)
{
    sqlite3_stmt *stmt = NULL;
    *count = 0;
    sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL);
    const bool asked = stmt && cb_store_ask(stmt, count) == SQLITE_OK;
    sqlite3_finalize(stmt);
    return asked;
}

/* What SQLite itself says of its pages, a line each. */
static bool check_pages(struct cb_store *store, struct cb_arena *arena, struct cb_flaws *flaws)
{
    sqlite3_stmt *stmt = NULL;
    int code = sqlite3_prepare_v2(store->db, "PRAGMA integrity_check(5)", -1, &stmt, NULL);
    bool good = code == SQLITE_OK;
    for (int i = 0; code == SQLITE_OK || code == SQLITE_ROW; i++) {
        code = sqlite3_step(stmt);
        const char *text = code == SQLITE_ROW ? (const char *)sqlite3_column_text(stmt, 0) : NULL;
        if (code != SQLITE_ROW || (text && strcmp(text, "ok") == 0) || i == SHOWN_PAGES) {
            break;
        }
        char *line = cb_utf8_clean(arena, text ? text : "unreadable", 100);
        for (char *c = line; *c; c++) {
            *c = *c == '\n' ? ' ' : *c;
        }
        cb_flaws_add(flaws, CB_MEND_FRESH, cb_arena_printf(arena, "the file: %s", line));
        good = false;
    }
    if (code != SQLITE_ROW && code != SQLITE_DONE) {
        cb_flaws_add(flaws, CB_MEND_FRESH,
                     cb_arena_printf(arena, "the file: %s", sqlite3_errmsg(store->db)));
        good = false;
    }
    sqlite3_finalize(stmt);
    return good;
}

/* What is kept carries a seal of its own (shell/history.c); what has lost it is made anew. */
static void check_seals(struct cb_store *store, struct cb_arena *arena, struct cb_flaws *flaws)
{
    static const char sql[] = "SELECT bytes FROM derived WHERE name GLOB 'lesson of *' OR name GLOB"
                              " 'review of *' OR name GLOB 'recipe *'";
    sqlite3_stmt *stmt = NULL;
    size_t broken = 0;
    sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL);
    while (stmt && sqlite3_step(stmt) == SQLITE_ROW) {
        broken +=
            !cb_seal_holds(sqlite3_column_blob(stmt, 0), (size_t)sqlite3_column_bytes(stmt, 0));
    }
    sqlite3_finalize(stmt);
    if (broken > 0) {
        cb_flaws_add(flaws, CB_MEND_KEPT,
                     cb_arena_printf(arena, "%zu of what is kept of finished units %s damaged",
                                     broken, broken == 1 ? "is" : "are"));
    }
}

static bool pass_over(void *context, const struct cb_event *event)
{
    (void)context;
    (void)event;
    return true;
}

bool cb_store_check_open(struct cb_store *store, struct cb_arena *arena, struct cb_flaws *flaws)
{
    static const struct {
        const char *sql, *one, *many;
        enum cb_mend mend;
    } checks[] = {
        {"SELECT count(*) FROM event WHERE sum IS NOT " ROW_SUM,
         "an event whose sum is wrong, left out of all that is shown",
         "events whose sum is wrong, left out of all that is shown", CB_MEND_FRESH},
        {"SELECT count(*) FROM origin WHERE sum IS NOT row_sum(origin, machine, boot)",
         "an origin of events (machine and boot) whose sum is wrong",
         "origins of events (machine and boot) whose sum is wrong", CB_MEND_FRESH},
        {"SELECT count(*) FROM event WHERE origin IS NOT NULL AND origin NOT IN (SELECT origin FROM"
         " origin)",
         "an event whose origin is gone", "events whose origin is gone", CB_MEND_FRESH},
        {"SELECT coalesce(max(row), 0) - count(*) FROM event", "an event is missing",
         "events are missing", CB_MEND_FRESH},
        {"SELECT max(0, s.seq - coalesce((SELECT max(e.seq) FROM origin AS o JOIN event AS e ON"
         " e.origin = o.origin WHERE o.machine = (SELECT value FROM meta WHERE name = 'machine')),"
         " 0)) FROM (SELECT CAST(value AS INTEGER) AS seq FROM meta WHERE name = 'seq') AS s WHERE"
         " s.seq BETWEEN 0 AND (1 << 48) - (1 << 40)",
         "an event is missing at the end", "events are missing at the end", CB_MEND_FRESH},
        {"SELECT count(*) FROM (SELECT unit FROM (" UNIT_LINES " EXCEPT " UNIT_SUMS
         ") UNION SELECT unit FROM (" UNIT_SUMS " EXCEPT " UNIT_LINES "))",
         "a unit whose sum is not that of its events",
         "units whose sums are not those of their events", CB_MEND_SUMS},
    };
    bool good = check_pages(store, arena, flaws);
    if (good && store->damage[0]) {
        cb_flaws_add(flaws, CB_MEND_FRESH, cb_arena_text(arena, store->damage));
    }
    const size_t before = flaws->list.count;
    for (size_t i = 0; i < sizeof checks / sizeof *checks; i++) {
        int64_t count = 0;
        if (!count_by(store, checks[i].sql, &count)) {
            if (good) {
                cb_flaws_add(flaws, CB_MEND_FRESH,
                             cb_arena_printf(arena, "the file: %s", sqlite3_errmsg(store->db)));
            }
            good = false;
        } else if (count > 0 && checks[i].mend == CB_MEND_SUMS && flaws->list.count > before) {
            continue; /* they tell of the events that are gone, and come with the fresh log */
        } else if (count > 0) {
            cb_flaws_add(flaws, checks[i].mend,
                         count == 1
                             ? checks[i].one
                             : cb_arena_printf(arena, "%lld %s", (long long)count, checks[i].many));
        }
    }
    int64_t broken = 0;
    if (good) {
        check_seals(store, arena, flaws);
    }
    if (good && cb_store_each(store, NULL, pass_over, NULL, NULL) != CB_OK) {
        good = false;
    }
    if (good &&
        count_by(store,
                 "SELECT count(*) FROM event WHERE sum IS NOT " ROW_SUM
                 " OR (origin IS NOT NULL AND origin NOT IN " GOOD_ORIGINS ")",
                 &broken) &&
        (int64_t)cb_store_bad_events(store) > broken) {
        cb_flaws_add(flaws, CB_MEND_NOTHING,
                     cb_arena_printf(arena,
                                     "%lld left out: as they stand they are no events, though "
                                     "nothing of them was lost; they stay in the file",
                                     (long long)cb_store_bad_events(store) - (long long)broken));
    }
    return good;
}

enum cb_status cb_store_check(const char *path, struct cb_arena *arena, struct cb_flaws *flaws,
                              struct cb_err *err)
{
    struct cb_store *store = NULL;
    struct cb_salvage found;
    enum cb_status status = cb_store_open(path, CB_STORE_READ, &store, err);
    if (status == CB_OK) {
        (void)cb_store_check_open(store, arena, flaws);
    }
    cb_store_close(store); /* before its file is opened once more: that would let go of its locks */
    const bool unread = status == CB_DATA;
    if (status != CB_OK && !unread) {
        return status;
    }
    if (!unread && !cb_flaws_need_fresh(flaws)) {
        return CB_OK;
    }
    status = cb_store_salvage(path, NULL, &store, &found, NULL);
    cb_store_close(store);
    if (unread && (status != CB_OK || found.newer || (found.older && found.saved == 0))) {
        return CB_DATA;
    }
    if (status != CB_OK) {
        return cb_err_set(err, status, "%s: what is left of the log can't be read",
                          cb_utf8_clean(arena, path, 200));
    }
    if (unread) {
        cb_flaws_add(flaws, CB_MEND_FRESH, cb_arena_text(arena, err->text));
        *err = (struct cb_err){0};
    }
    cb_flaws_add(flaws, CB_MEND_NOTHING, cb_salvage_says(&found, arena));
    return CB_OK;
}

void cb_store_check_kept(struct cb_history *history, struct cb_arena *arena, struct cb_flaws *flaws)
{
    size_t count;
    const struct cb_store_unit *units = cb_history_units(history, &count);
    for (size_t i = 0; i < count; i++) {
        bool kept = false;
        bool same = true;
        if (units[i].finished &&
            cb_history_compare(history, &units[i], &kept, &same, NULL) == CB_OK && !same) {
            cb_flaws_add(flaws, CB_MEND_KEPT,
                         cb_arena_printf(arena, "what is kept of %s is not what its events give",
                                         cb_utf8_clean(arena, units[i].name, 60)));
        }
    }
}

/* ---- mending ---- */

static enum cb_status change(struct cb_store *store, const char *sql, struct cb_err *err)
{
    enum cb_status status = cb_store_begin(store, err);
    if (status == CB_OK) {
        const bool done = sqlite3_exec(store->db, sql, NULL, NULL, NULL) == SQLITE_OK;
        status = cb_store_end(store, done ? CB_OK : cb_store_fault(store, err), err);
    }
    return status;
}

static enum cb_status mend_in_place(const char *path, const bool wanted[CB_MEND_FRESH + 1],
                                    struct cb_arena *arena, const char **kept, struct cb_err *err)
{
    struct cb_store *store = NULL;
    enum cb_status status = cb_store_open(path, CB_STORE_APPEND, &store, err);
    if (status == CB_OK && cb_store_lock(store, NULL) != CB_OK) {
        status = cb_err_set(err, CB_FAILED, "%s: another bench is open on this log; leave it first",
                            store->shown);
    }
    if (status == CB_OK) {
        const char *copy = cb_store_file_unused(store->real, "before-mend", arena);
        status = cb_store_backup(store, copy, err);
        *kept = status == CB_OK ? copy : NULL;
    }
    if (status == CB_OK && wanted[CB_MEND_KEPT]) {
        status = change(store, "DELETE FROM derived", err);
    }
    if (status == CB_OK && wanted[CB_MEND_SUMS]) {
        status = change(store, "DELETE FROM unit_sum; INSERT INTO unit_sum " UNIT_LINES, err);
    }
    cb_store_close(store);
    if (status != CB_OK && *kept) {
        const struct cb_err why = *err;
        cb_err_set(err, status, "%.700s; the log as it was is kept: %s", why.text,
                   cb_utf8_clean(arena, *kept, 200));
    }
    return status;
}

enum cb_status cb_store_mend(const char *path, const struct cb_flaws *flaws, struct cb_arena *arena,
                             const char **kept, struct cb_err *err)
{
    bool wanted[CB_MEND_FRESH + 1] = {false};
    struct cb_salvage found;
    *kept = NULL;
    for (size_t i = 0; i < flaws->list.count; i++) {
        wanted[flaws->list.items[i].mend] = true;
    }
    if (!cb_flaws_need_fresh(flaws)) {
        return mend_in_place(path, wanted, arena, kept, err);
    }
    /* it brings sums of its own, and nothing that was kept */
    return cb_store_replace(path, arena, kept, &found, err);
}
