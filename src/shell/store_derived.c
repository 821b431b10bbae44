/* SPDX-License-Identifier: MIT */
/* What is kept beside the events, and can be made of them again. */
#include <sqlite3.h>
#include <string.h>

#include "shell/store_internal.h"

enum cb_status cb_store_derived_put(struct cb_store *store, const char *name, const char *key,
                                    const void *bytes, size_t length, struct cb_err *err)
{
    sqlite3_stmt *stmt = NULL;
    /* a key must not wait for what can be made again */
    sqlite3_busy_timeout(store->db, 0);
    enum cb_status status = cb_store_begin(store, err);
    sqlite3_busy_timeout(store->db, CB_STORE_BUSY_MS);
    if (status != CB_OK) {
        return status;
    }
    if (sqlite3_prepare_v2(store->db, "INSERT OR REPLACE INTO derived VALUES(?, ?, ?)", -1, &stmt,
                           NULL) != SQLITE_OK) {
        return cb_store_end(store, cb_store_fault(store, err), err);
    }
    cb_store_bind_text(stmt, 1, name);
    cb_store_bind_text(stmt, 2, key);
    sqlite3_bind_blob64(stmt, 3, length ? bytes : "", length, SQLITE_STATIC);
    if (sqlite3_step(stmt) != SQLITE_DONE) {
        status = cb_store_fault(store, err);
    }
    sqlite3_finalize(stmt);
    return cb_store_end(store, status, err);
}

enum cb_status cb_store_derived_get(struct cb_store *store, const char *name, const char *key,
                                    struct cb_arena *arena, const void **bytes, size_t *length,
                                    struct cb_err *err)
{
    sqlite3_stmt *stmt = NULL;
    enum cb_status status = CB_OK;
    int code = sqlite3_prepare_v2(store->db, "SELECT bytes FROM derived WHERE name = ? AND key = ?",
                                  -1, &stmt, NULL);
    if (code == SQLITE_OK) {
        cb_store_bind_text(stmt, 1, name);
        cb_store_bind_text(stmt, 2, key);
        code = sqlite3_step(stmt);
    }
    if (code == SQLITE_ROW) {
        *length = (size_t)sqlite3_column_bytes(stmt, 0);
        void *copy = cb_arena_alloc(arena, *length ? *length : 1, 1);
        if (*length > 0) {
            memcpy(copy, sqlite3_column_blob(stmt, 0), *length);
        }
        *bytes = copy;
    } else if (code == SQLITE_DONE) {
        status = cb_err_set(err, CB_FAILED, "nothing derived under that name and key");
    } else {
        status = cb_store_fault(store, err);
    }
    sqlite3_finalize(stmt);
    return status;
}

void cb_store_forget_kept(struct cb_store *store)
{
    static const char name[] = "bad rows";
    struct cb_arena arena = {0};
    const void *known = NULL;
    size_t length = 0;
    const size_t size = store->bad_rows.count * sizeof *store->bad_rows.items;
    const bool same =
        cb_store_derived_get(store, name, name, &arena, &known, &length, NULL) == CB_OK && known &&
        length == size && memcmp(known, store->bad_rows.items, size) == 0;
    if (!same && store->writable && cb_store_begin(store, NULL) == CB_OK) {
        const bool gone =
            sqlite3_exec(store->db, "DELETE FROM derived", NULL, NULL, NULL) == SQLITE_OK;
        if (cb_store_end(store, gone ? CB_OK : CB_IO, NULL) == CB_OK) {
            (void)cb_store_derived_put(store, name, name, store->bad_rows.items, size, NULL);
        }
    }
    cb_arena_fini(&arena);
}
