/* SPDX-License-Identifier: MIT */
#include "shell/store.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/str.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "shell/migrate.h"
#include "shell/store_file.h"
#include "shell/store_internal.h"
#include "shell/store_sum.h"
#include "shell/store_swap.h"

#define OPEN_TRIES 8 /* swaps during one opening, and more; own judgement */

enum cb_status cb_store_fault(struct cb_store *store, struct cb_err *err)
{
    return cb_migrate_fault(store->db, store->shown, err);
}

/* Statements are made when first wanted and kept. */
sqlite3_stmt *cb_store_statement(struct cb_store *store, sqlite3_stmt **kept, const char *sql)
{
    if (!*kept) {
        sqlite3_prepare_v3(store->db, sql, -1, SQLITE_PREPARE_PERSISTENT, kept, NULL);
    }
    return *kept;
}

int cb_store_ask(sqlite3_stmt *stmt, int64_t *value)
{
    int code = stmt ? sqlite3_step(stmt) : SQLITE_ERROR;
    if (code == SQLITE_ROW) {
        *value = sqlite3_column_int64(stmt, 0);
    }
    int closed = sqlite3_reset(stmt);
    return code == SQLITE_ROW || code == SQLITE_DONE ? closed : code;
}

static int64_t data_version(struct cb_store *store)
{
    int64_t version = -1;
    cb_store_ask(cb_store_statement(store, &store->get_version, "PRAGMA data_version"), &version);
    return version;
}

static enum cb_status read_machine(struct cb_store *store, struct cb_err *err)
{
    sqlite3_stmt *stmt = NULL;
    enum cb_status status = CB_OK;
    if (sqlite3_prepare_v2(store->db, "SELECT value FROM meta WHERE name='machine'", -1, &stmt,
                           NULL) != SQLITE_OK) {
        status = cb_store_fault(store, err);
    } else {
        const int code = sqlite3_step(stmt);
        if (code == SQLITE_ROW) {
            store->machine =
                cb_arena_text(&store->arena, (const char *)sqlite3_column_text(stmt, 0));
        } else if (code != SQLITE_DONE) {
            status = cb_store_fault(store, err);
        }
    }
    sqlite3_finalize(stmt);
    store->machine = store->machine ? store->machine : "";
    return status;
}

const char *cb_store_uri(const struct cb_store *store, const char *tail, struct cb_arena *arena)
{
    struct cb_str uri = {0};
    cb_str_add(&uri, "file:");
    for (const char *c = store->real; *c; c++) {
        cb_str_addf(&uri, strchr("?#%", *c) ? "%%%02x" : "%c", (unsigned char)*c);
    }
    cb_str_add(&uri, tail);
    const char *text = cb_arena_text(arena, cb_str_text(&uri));
    cb_str_fini(&uri);
    return text;
}

static int open_file(struct cb_store *store, bool writable)
{
    const char *name = store->real ? store->real : ":memory:";
    int flags = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_PRIVATECACHE;
    int code = sqlite3_open_v2(name, &store->db, flags | SQLITE_OPEN_READWRITE, NULL);
    if (code == SQLITE_OK && store->real && !writable && access(store->real, W_OK) != 0) {
        /* a log on a read-only medium: without its -wal it can be read as it lies */
        sqlite3_close(store->db);
        const char *wal = cb_arena_printf(&store->arena, "%s-wal", store->real);
        const char *tail = access(wal, F_OK) == 0 ? "?mode=ro" : "?immutable=1";
        code = sqlite3_open_v2(cb_store_uri(store, tail, &store->arena), &store->db,
                               flags | SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, NULL);
    }
    return code;
}

static int set_up(struct cb_store *store, bool writable)
{
    sqlite3_extended_result_codes(store->db, 1);
    sqlite3_busy_timeout(store->db, CB_STORE_BUSY_MS);
    sqlite3_db_config(store->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    sqlite3_db_config(store->db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
    sqlite3_db_config(store->db, SQLITE_DBCONFIG_ENABLE_VIEW, 0, NULL);
    const int code = cb_store_sum_functions(store->db);
    return code != SQLITE_OK
               ? code
               : sqlite3_exec(store->db,
                              writable ? "PRAGMA synchronous=FULL" : "PRAGMA query_only=1", NULL,
                              NULL, NULL);
}

/* A log is put in the place of another while nobody has that open (store_swap.h), and SQLite has it
 * open from the first read on. Who had to wait for that read may have the old file in hand, and
 * opens again. */
static enum cb_status open_the_one(struct cb_store *store, bool writable, struct cb_err *err)
{
    for (int i = 0; i < OPEN_TRIES; i++) {
        int code = open_file(store, writable);
        if (code == SQLITE_OK) {
            code = set_up(store, writable);
        }
        if (code == SQLITE_OK && store->real) {
            code = sqlite3_exec(store->db, "PRAGMA schema_version", NULL, NULL, NULL);
            code = (code & 0xff) == SQLITE_BUSY ? code : SQLITE_OK; /* all else: cb_migrate */
        }
        if (code != SQLITE_OK) {
            return cb_store_fault(store, err);
        }
        if (!store->real || !(cb_store_swap_is_due(store->real) || cb_store_has_moved(store))) {
            return CB_OK;
        }
        sqlite3_close(store->db);
        store->db = NULL;
        cb_store_swap_finish(store->real);
    }
    return cb_err_set(err, CB_IO,
                      "%s: another log is about to take its place, and can't; check the "
                      "permissions of it and of its folder",
                      store->shown);
}

static bool rename_machine(struct cb_store *store)
{
    return sqlite3_exec(store->db,
                        "UPDATE meta SET value = lower(hex(randomblob(8))) WHERE name = 'machine';"
                        "UPDATE meta SET value = '0' WHERE name = 'seq';"
                        "UPDATE meta SET sum = row_sum(name, value)",
                        NULL, NULL, NULL) == SQLITE_OK;
}

enum cb_status cb_store_rename_machine(struct cb_store *store, struct cb_err *err)
{
    enum cb_status status = cb_store_begin(store, err);
    if (status == CB_OK) {
        status = rename_machine(store) ? CB_OK : cb_store_fault(store, err);
        status = cb_store_end(store, status, err);
    }
    return status == CB_OK ? read_machine(store, err) : status;
}

/* A count at its end, or that never was one, would name events that no log takes: it goes on from 1
 * under another name, as if the log had moved to another machine. */
static enum cb_status renew_machine(struct cb_store *store, struct cb_err *err)
{
    int64_t seq = 0;
    enum cb_status status = cb_store_read_seq(store, &seq, err);
    if (status != CB_OK || (seq >= 0 && seq <= CB_STORE_SEQ_MAX)) {
        return status;
    }
    status = cb_store_begin(store, err);
    if (status != CB_OK) {
        return status;
    }
    status = cb_store_read_seq(store, &seq, err); /* another one may have been quicker */
    if (status == CB_OK && (seq < 0 || seq > CB_STORE_SEQ_MAX) && !rename_machine(store)) {
        status = cb_store_fault(store, err);
    }
    status = cb_store_end(store, status, err);
    /* the file itself is to say whose log it is (store_guard.c) */
    sqlite3_exec(store->db, "PRAGMA wal_checkpoint(PASSIVE)", NULL, NULL, NULL);
    return status == CB_OK ? read_machine(store, err) : status;
}

enum cb_status cb_store_open(const char *path, enum cb_store_mode mode, struct cb_store **out,
                             struct cb_err *err)
{
    struct cb_store *store = cb_mem_new(1, sizeof *store);
    bool writable = mode == CB_STORE_APPEND || !path;
    enum cb_status status = CB_OK;
    *out = NULL;
    store->lock_fd = store->watch_fd = -1;
    store->writable = writable;
    store->shown = path ? cb_utf8_clean(&store->arena, path, 200) : "log in memory";
    if (path) {
        status = cb_store_file_find(path, writable, &store->arena, &store->real, err);
    }
    if (status == CB_OK) {
        status = open_the_one(store, writable, err);
    }
    if (status == CB_OK) {
        status = cb_migrate(store->db, store->shown, store->real, writable, cb_migrate_steps,
                            cb_migrate_step_count, err);
    }
    if (status == CB_OK) {
        status = read_machine(store, err);
    }
    if (status == CB_OK) {
        status = cb_store_look_for_damage(store, err);
    }
    if (status == CB_OK && writable && store->damage[0]) {
        status = cb_err_set(err, CB_DATA,
                            "%s: the log is damaged (%s), so nothing is written to it; "
                            "`coatbell log check --mend` goes on with what can be read",
                            store->shown, store->damage);
    }
    if (status == CB_OK && writable) {
        status = renew_machine(store, err);
    }
    if (status != CB_OK) {
        cb_store_close(store);
        return status;
    }
    store->data_version = data_version(store);
    cb_store_guard_begin(store);
    *out = store;
    return CB_OK;
}

void cb_store_close(struct cb_store *store)
{
    if (!store) {
        return;
    }
    sqlite3_stmt *const statements[] = {
        store->insert, store->get_seq,    store->set_seq,     store->get_version, store->get_rows,
        store->get_id, store->get_origin, store->find_origin, store->add_origin,  store->get_last,
    };
    for (size_t i = 0; i < sizeof statements / sizeof *statements; i++) {
        sqlite3_finalize(statements[i]);
    }
    for (size_t i = 0; i < store->asked.count; i++) {
        sqlite3_finalize(store->asked.items[i].stmt);
    }
    const bool lost = store->db && cb_store_guard_leave(store);
    sqlite3_close(store->db);
    if (lost) {
        cb_store_file_put_aside(store->real);
    }
    if (store->watch_fd >= 0) {
        close(store->watch_fd);
    }
    if (store->lock_fd >= 0) {
        close(store->lock_fd);
    }
    cb_store_map_free(store->map);
    cb_vec_free(&store->asked);
    cb_vec_free(&store->origins);
    cb_vec_free(&store->bad_rows);
    cb_arena_fini(&store->arena);
    free(store);
}

enum cb_status cb_store_open_anew(const char *path, struct cb_store **out, struct cb_err *err)
{
    static const char *const ends[] = {"", "-wal", "-shm", "-journal"};
    struct cb_arena arena = {0};
    const char *real = NULL;
    *out = NULL;
    enum cb_status status = cb_store_file_place(path, &arena, &real, err);
    const int lock = status == CB_OK ? cb_store_file_lock_open(real, err) : -1;
    if (status == CB_OK && lock < 0) {
        status = CB_IO;
    } else if (status == CB_OK && !cb_store_file_lock_take(lock)) {
        status = cb_err_set(err, CB_FAILED, "%s: another bench is open on this log",
                            cb_utf8_clean(&arena, path, 200));
    }
    for (size_t i = 0; status == CB_OK && i < sizeof ends / sizeof *ends; i++) {
        (void)remove(cb_arena_printf(&arena, "%s%s", real, ends[i]));
    }
    status = status == CB_OK ? cb_store_open(real, CB_STORE_APPEND, out, err) : status;
    if (status == CB_OK) {
        (*out)->lock_fd = lock;
        (*out)->locked = true;
    } else if (lock >= 0) {
        close(lock);
    }
    cb_arena_fini(&arena);
    return status;
}

const char *cb_store_shown(const struct cb_store *store)
{
    return store->shown;
}

static enum cb_status open_lock(struct cb_store *store, struct cb_err *err)
{
    if (store->lock_fd < 0) {
        store->lock_fd = cb_store_file_lock_open(store->real, err);
    }
    return store->lock_fd < 0 ? CB_IO : CB_OK;
}

enum cb_status cb_store_lock(struct cb_store *store, struct cb_err *err)
{
    if (store->locked || !store->real) {
        store->locked = true;
        return CB_OK;
    }
    enum cb_status status = open_lock(store, err);
    if (status != CB_OK) {
        return status;
    }
    if (!cb_store_file_lock_take(store->lock_fd)) {
        return cb_err_set(err, CB_FAILED, "%s: another bench is open on this log; this one watches",
                          store->shown);
    }
    store->locked = true;
    return CB_OK;
}

bool cb_store_is_locked(const struct cb_store *store)
{
    return store->locked;
}

bool cb_store_is_free(struct cb_store *store)
{
    if (!store->real || store->locked) {
        return false;
    }
    return open_lock(store, NULL) == CB_OK && cb_store_file_lock_is_free(store->lock_fd);
}

bool cb_store_is_held(struct cb_store *store)
{
    return store->locked || (store->real && cb_store_file_is_held(store->real));
}

const char *cb_store_machine(const struct cb_store *store)
{
    return store->machine;
}

int cb_store_watch_fd(struct cb_store *store)
{
    if (store->watch_fd < 0 && store->real) {
        store->watch_fd = cb_store_file_watch(store->real);
    }
    return store->watch_fd;
}

bool cb_store_changed(struct cb_store *store)
{
    if (store->watch_fd >= 0) {
        cb_store_file_drain(store->watch_fd);
    }
    int64_t version = data_version(store);
    bool changed = version != store->data_version;
    store->data_version = version;
    return changed;
}
