/* SPDX-License-Identifier: MIT */
#include "shell/migrate.h"

#include <errno.h>
#include <sqlite3.h>
#include <stdio.h>
#include <time.h>
#include <unistd.h>

#include "base/arena.h"
#include "base/utf8.h"
#include "shell/store_file.h"

/* Fields that many events have stand in columns, the rest is JSON in `fields`. The partial
 * indices are what opening a bench on a log of years asks for; unit_sum spares the list of units
 * a walk over all events (events are only ever added). */
static const char version_1[] =
    "CREATE TABLE meta(name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;"
    "CREATE TABLE origin(origin INTEGER PRIMARY KEY, machine TEXT, boot TEXT) STRICT;"
    "CREATE INDEX origin_name ON origin(machine, boot);"
    "CREATE TABLE event("
    " row INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, at INTEGER NOT NULL,"
    " event TEXT NOT NULL, unit TEXT, figure INTEGER, stage INTEGER, coat INTEGER, found TEXT,"
    " on_at INTEGER, on_pm_s REAL, place TEXT, temp_c REAL, rh_pct REAL, air TEXT,"
    " climate_from TEXT, of TEXT, fields TEXT, press TEXT, origin INTEGER, seq INTEGER,"
    " boot_ms INTEGER) STRICT;"
    "CREATE INDEX event_unit ON event(unit, at) WHERE unit IS NOT NULL;"
    "CREATE INDEX event_bench ON event(event, at) WHERE unit IS NULL;"
    "CREATE INDEX event_mark ON event(event, at, unit, press)"
    " WHERE event IN ('unit_begun','unit_opened','unit_finished');"
    "CREATE INDEX event_undone ON event(of) WHERE of IS NOT NULL;"
    "CREATE INDEX event_place ON event(place, at)"
    " WHERE event = 'climate_set' AND place IS NOT NULL;"
    "CREATE TABLE unit_sum(unit TEXT PRIMARY KEY, first_at INTEGER NOT NULL,"
    " last_at INTEGER NOT NULL, events INTEGER NOT NULL, last_row INTEGER NOT NULL)"
    " STRICT, WITHOUT ROWID;"
    "CREATE TRIGGER event_sum AFTER INSERT ON event WHEN NEW.unit IS NOT NULL BEGIN"
    " INSERT INTO unit_sum VALUES(NEW.unit, NEW.at, NEW.at, 1, NEW.row)"
    " ON CONFLICT(unit) DO UPDATE SET first_at = min(first_at, NEW.at),"
    " last_at = max(last_at, NEW.at), events = events + 1, last_row = NEW.row; END;"
    "CREATE TABLE derived(name TEXT PRIMARY KEY, key TEXT NOT NULL, bytes BLOB NOT NULL) STRICT;"
    "INSERT INTO meta VALUES('machine', lower(hex(randomblob(8)))), ('seq', '0');";

/* Every row carries a sum over all its columns (shell/store_sum.h), the unit's line the sums of its
 * rows taken together by exclusive or: (a | b) - (a & b), for SQLite has no operator for it. A
 * press goes by the id of its first event, so that few events need to be found by their press. */
static const char version_2[] =
    "ALTER TABLE meta ADD COLUMN sum INTEGER;"
    "ALTER TABLE origin ADD COLUMN sum INTEGER;"
    "ALTER TABLE event ADD COLUMN sum INTEGER;"
    "CREATE INDEX event_press ON event(press) WHERE press IS NOT NULL AND press <> id;"
    "UPDATE meta SET sum = row_sum(name, value);"
    "UPDATE origin SET sum = row_sum(origin, machine, boot);"
    "UPDATE event SET sum = row_sum(row, id, at, event, unit, press, origin, seq, boot_ms, figure,"
    " stage, coat, found, on_at, on_pm_s, place, temp_c, rh_pct, air, climate_from, of, fields);"
    "DROP TRIGGER event_sum;"
    "DROP TABLE unit_sum;"
    "CREATE TABLE unit_sum(unit TEXT PRIMARY KEY, first_at INTEGER NOT NULL,"
    " last_at INTEGER NOT NULL, events INTEGER NOT NULL, rows_xor INTEGER NOT NULL)"
    " STRICT, WITHOUT ROWID;"
    "INSERT INTO unit_sum SELECT unit, min(at), max(at), count(*), row_xor(sum) FROM event"
    " WHERE unit IS NOT NULL GROUP BY unit;"
    "CREATE TRIGGER event_sum AFTER INSERT ON event WHEN NEW.unit IS NOT NULL BEGIN"
    " INSERT INTO unit_sum VALUES(NEW.unit, NEW.at, NEW.at, 1, NEW.sum)"
    " ON CONFLICT(unit) DO UPDATE SET first_at = min(first_at, NEW.at),"
    " last_at = max(last_at, NEW.at), events = events + 1,"
    " rows_xor = (rows_xor | NEW.sum) - (rows_xor & NEW.sum); END;"
    "DELETE FROM derived;"
    "INSERT INTO meta SELECT 'shape', shape, row_sum('shape', shape) FROM ("
    "SELECT CAST(" CB_MIGRATE_SHAPE " AS TEXT) AS shape);";

const struct cb_migrate_step cb_migrate_steps[] = {{version_1}, {version_2}};
const size_t cb_migrate_step_count = sizeof cb_migrate_steps / sizeof *cb_migrate_steps;

static enum cb_status fault(sqlite3 *db, const char *shown, const char *said, struct cb_err *err)
{
    int code = sqlite3_extended_errcode(db);
    switch (code & 0xff) {
    case SQLITE_FULL:
        return cb_err_set(err, CB_IO, "%s: the disk is full: free some space", shown);
    case SQLITE_READONLY:
        return cb_err_set(err, CB_IO,
                          "%s: no right to write the log or its folder: mend their "
                          "permissions",
                          shown);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return cb_err_set(err, CB_IO,
                          "%s: another program has been writing for over two seconds; "
                          "try again",
                          shown);
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
    case SQLITE_AUTH:
        return cb_err_set(err, CB_IO,
                          "%s: the log can't be opened; check the permissions of it "
                          "and of its folder",
                          shown);
    case SQLITE_NOTADB:
        return cb_err_set(err, CB_DATA,
                          "%s: no coatbell log; give another with --log FILE (if it was one, "
                          "`coatbell log check --mend` goes on with what can be read)",
                          shown);
    case SQLITE_CORRUPT:
        return cb_err_set(err, CB_DATA,
                          "%s: the log is damaged (%s); `coatbell log check --mend` goes "
                          "on with what can be read",
                          shown, said);
    case SQLITE_IOERR:
        return cb_err_set(err, CB_IO, "%s: the disk would not (%s, code %d)", shown,
                          code == SQLITE_IOERR_FSYNC ? "fsync" : said, code);
    default:
        return cb_err_set(err, CB_IO, "%s: %s (code %d)", shown, said, code);
    }
}

/* What the library says may quote the file, and that may be anybody's. */
enum cb_status cb_migrate_fault(sqlite3 *db, const char *shown, struct cb_err *err)
{
    struct cb_arena arena = {0};
    const enum cb_status status =
        fault(db, shown, cb_utf8_clean(&arena, sqlite3_errmsg(db), 100), err);
    cb_arena_fini(&arena);
    return status;
}

static int ask(sqlite3 *db, const char *sql, sqlite3_int64 *value)
{
    sqlite3_stmt *statement = NULL;
    int code = sqlite3_prepare_v2(db, sql, -1, &statement, NULL);
    if (code == SQLITE_OK) {
        code = sqlite3_step(statement);
        *value = code == SQLITE_ROW ? sqlite3_column_int64(statement, 0) : 0;
    }
    int closed = sqlite3_finalize(statement);
    return code == SQLITE_ROW                         ? closed
           : code == SQLITE_OK || code == SQLITE_DONE ? SQLITE_ERROR
                                                      : code;
}

struct identity {
    sqlite3_int64 application, version, tables;
};

static int identify(sqlite3 *db, struct identity *identity)
{
    int code = ask(db, "PRAGMA application_id", &identity->application);
    if (code == SQLITE_OK) {
        code = ask(db, "PRAGMA user_version", &identity->version);
    }
    return code == SQLITE_OK ? ask(db, "SELECT count(*) FROM sqlite_schema", &identity->tables)
                             : code;
}

static bool is_empty(const struct identity *identity)
{
    return identity->application == 0 && identity->version == 0 && identity->tables == 0;
}

/* The backup is there, whole and on the disk, before anything is changed. It has another name until
 * it is, so that one cut off in the middle is never taken for it. */
static enum cb_status back_up(sqlite3 *db, const char *shown, const char *real,
                              sqlite3_int64 version, struct cb_err *err)
{
    struct cb_arena arena = {0};
    struct cb_err made = {0};
    const char *path = cb_store_file_unused(
        real, cb_arena_printf(&arena, "backup-v%lld", (long long)version), &arena);
    const char *part = cb_arena_printf(&arena, "%s.part-%ld", path, (long)getpid());
    unlink(part); /* of a process that had the same number */
    enum cb_status status = cb_store_file_make(part, &made);
    if (status == CB_OK) {
        sqlite3_stmt *statement = NULL;
        if (sqlite3_prepare_v2(db, "VACUUM INTO ?", -1, &statement, NULL) != SQLITE_OK ||
            sqlite3_bind_text(statement, 1, part, -1, SQLITE_STATIC) != SQLITE_OK ||
            sqlite3_step(statement) != SQLITE_DONE) {
            status = cb_migrate_fault(db, shown, &made);
        }
        sqlite3_finalize(statement);
    }
    /* who was quicker copied the log as it was: that one stays */
    if (status == CB_OK && !cb_store_file_settle(part, path) && errno != EEXIST) {
        status = cb_err_set(&made, CB_IO, "the backup can't be synced");
    }
    unlink(part); /* where it has no other name */
    if (status != CB_OK) {
        cb_err_set(err, status, "%s: no backup before the update, so it was left as it is: %.400s",
                   shown, made.text);
    }
    cb_arena_fini(&arena);
    return status;
}

static int run_steps(sqlite3 *db, const struct cb_migrate_step *steps, size_t from, size_t count)
{
    int code = SQLITE_OK;
    for (size_t i = from; i < count && code == SQLITE_OK; i++) {
        code = sqlite3_exec(db, steps[i].sql, NULL, NULL, NULL);
    }
    char tail[96];
    sqlite3_snprintf(sizeof tail, tail, "PRAGMA application_id=%d; PRAGMA user_version=%d",
                     CB_LOG_APPLICATION_ID, (int)count);
    return code == SQLITE_OK ? sqlite3_exec(db, tail, NULL, NULL, NULL) : code;
}

/* Turning to WAL wants the file alone for a moment, and SQLite does not wait for that by itself. */
static int turn_to_wal(sqlite3 *db)
{
    int code = SQLITE_BUSY;
    for (int tries = 0; tries < 200 && (code & 0xff) == SQLITE_BUSY; tries++) {
        code = sqlite3_exec(db, "PRAGMA journal_mode=WAL", NULL, NULL, NULL);
        if ((code & 0xff) == SQLITE_BUSY) {
            nanosleep(&(struct timespec){0, 10000000}, NULL);
        }
    }
    return code;
}

static enum cb_status bring_up(sqlite3 *db, const char *shown, const char *real,
                               const struct identity *before, const struct cb_migrate_step *steps,
                               size_t step_count, struct cb_err *err)
{
    if (real && !is_empty(before)) {
        enum cb_status status = back_up(db, shown, real, before->version, err);
        if (status != CB_OK) {
            return status;
        }
    }
    /* looked at again under the lock: another one may have been quicker */
    struct identity now = {0};
    int code = sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL);
    if (code == SQLITE_OK) {
        code = identify(db, &now);
    }
    if (code == SQLITE_OK && now.version < (sqlite3_int64)step_count) {
        code = run_steps(db, steps, (size_t)now.version, step_count);
    }
    if (code == SQLITE_OK) {
        code = sqlite3_exec(db, "COMMIT", NULL, NULL, NULL);
    }
    if (code != SQLITE_OK) {
        enum cb_status status = cb_migrate_fault(db, shown, err);
        sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL);
        return status;
    }
    return CB_OK;
}

enum cb_status cb_migrate(sqlite3 *db, const char *shown, const char *real, bool writable,
                          const struct cb_migrate_step *steps, size_t step_count,
                          struct cb_err *err)
{
    struct identity found = {0};
    if (identify(db, &found) != SQLITE_OK) {
        return cb_migrate_fault(db, shown, err);
    }
    if (is_empty(&found) && !writable) {
        return cb_err_set(err, CB_IO,
                          "%s: an empty file, no log yet; `coatbell begin RECIPE` "
                          "starts one",
                          shown);
    }
    if (!is_empty(&found) && found.application != CB_LOG_APPLICATION_ID) {
        return cb_err_set(err, CB_DATA,
                          "%s: a database of another program, no coatbell log; it "
                          "was left as it is; give another log with --log FILE",
                          shown);
    }
    if (found.version > (sqlite3_int64)step_count) {
        return cb_err_set(err, CB_DATA,
                          "%s: written by a newer coatbell (log version %lld, this one knows %zu);"
                          " use that one, or its `log export` and `log import` here",
                          shown, (long long)found.version, step_count);
    }
    if (found.version < (sqlite3_int64)step_count && !writable) {
        return cb_err_set(err, CB_DATA,
                          "%s: an older log (version %lld of %zu); open the bench "
                          "on it once to bring it up to date",
                          shown, (long long)found.version, step_count);
    }
    if (writable && real && turn_to_wal(db) != SQLITE_OK) {
        return cb_migrate_fault(db, shown, err);
    }
    return found.version < (sqlite3_int64)step_count
               ? bring_up(db, shown, real, &found, steps, step_count, err)
               : CB_OK;
}
