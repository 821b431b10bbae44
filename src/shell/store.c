/* SPDX-License-Identifier: MIT */
#include "shell/store.h"

#include <errno.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/str.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "shell/jsonl.h"
#include "shell/migrate.h"
#include "shell/store_file.h"
#include "shell/store_internal.h"
#include "shell/store_sum.h"

#define BUSY_MS      2000 /* a press waits that long for another writer; estimate */
#define ID_LETTERS   16   /* 80 random bits: a million ids collide once in 10^12 logs */
#define ORIGINS_NEAR 32   /* latest boots looked through before the index is asked */
#define SMALL_PAGES  256  /* of 4 KiB: some 3000 events, read through in a few ms (measured) */
/* How far our own count may go when a log is opened or a line comes in; what is left of the range
 * is for the events of the one session that goes on behind it. */
#define OWN_SEQ_MAX  (CB_EVENT_SEQ_MAX - (INT64_C(1) << 40))

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
    } else if (sqlite3_step(stmt) == SQLITE_ROW) {
        store->machine = cb_arena_text(&store->arena, (const char *)sqlite3_column_text(stmt, 0));
    }
    sqlite3_finalize(stmt);
    store->machine = store->machine ? store->machine : "";
    return status;
}

/* What is wrong with the file beside single events. A whole check reads every page: it is made
 * where nobody feels it. */
static enum cb_status look_for_damage(struct cb_store *store, struct cb_err *err)
{
    static const struct {
        const char *sql, *what;
    } checks[] = {
        {"SELECT count(*) FROM meta WHERE sum IS NOT row_sum(name, value)",
         "its own notes have changed"},
        {"SELECT 3 - count(*) FROM meta WHERE name IN ('machine', 'seq', 'shape')",
         "its own notes are gone"},
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
    }
    return CB_OK;
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
    sqlite3_busy_timeout(store->db, BUSY_MS);
    sqlite3_db_config(store->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    sqlite3_db_config(store->db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
    const int code = cb_store_sum_functions(store->db);
    return code != SQLITE_OK ? code : sqlite3_exec(store->db, writable ? "PRAGMA synchronous=FULL" : "PRAGMA query_only=1",
                        NULL, NULL, NULL);
}

static enum cb_status begin(struct cb_store *store, struct cb_err *err);
static enum cb_status end(struct cb_store *store, enum cb_status status, struct cb_err *err);
static enum cb_status read_seq(struct cb_store *store, int64_t *seq, struct cb_err *err);

/* A count at its end, or that never was one, would name events that no log takes: it goes on from 1
 * under another name, as if the log had moved to another machine. */
static enum cb_status renew_machine(struct cb_store *store, struct cb_err *err)
{
    int64_t seq = 0;
    enum cb_status status = read_seq(store, &seq, err);
    if (status != CB_OK || (seq >= 0 && seq <= OWN_SEQ_MAX)) {
        return status;
    }
    status = begin(store, err);
    if (status != CB_OK) {
        return status;
    }
    status = read_seq(store, &seq, err); /* another one may have been quicker */
    if (status == CB_OK && (seq < 0 || seq > OWN_SEQ_MAX) &&
        sqlite3_exec(store->db,
                     "UPDATE meta SET value = lower(hex(randomblob(8))) WHERE name = 'machine';"
                     "UPDATE meta SET value = '0' WHERE name = 'seq';"
                     "UPDATE meta SET sum = row_sum(name, value)",
                     NULL, NULL, NULL) != SQLITE_OK) {
        status = cb_store_fault(store, err);
    }
    status = end(store, status, err);
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
    if (status == CB_OK && open_file(store, writable) != SQLITE_OK) {
        status = cb_store_fault(store, err);
    }
    if (status == CB_OK && set_up(store, writable) != SQLITE_OK) {
        status = cb_store_fault(store, err);
    }
    if (status == CB_OK) {
        status = cb_migrate(store->db, store->shown, store->real, writable, cb_migrate_steps,
                            cb_migrate_step_count, err);
    }
    if (status == CB_OK) {
        status = read_machine(store, err);
    }
    if (status == CB_OK) {
        status = look_for_damage(store, err);
    }
    if (status == CB_OK && writable && store->damage[0]) {
        status = cb_err_set(err, CB_DATA,
                            "%s: the log is damaged (%s), so nothing is written to it; "
                            "`coatbell log export` saves what can be read",
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
        store->insert,  store->get_seq,     store->set_seq,    store->get_version,
        store->get_row, store->get_id,      store->get_origin, store->find_origin,
        store->add_origin, store->get_last,
    };
    for (size_t i = 0; i < sizeof statements / sizeof *statements; i++) {
        sqlite3_finalize(statements[i]);
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
    cb_vec_free(&store->origins);
    cb_vec_free(&store->bad_rows);
    cb_arena_fini(&store->arena);
    free(store);
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
    for (size_t i = 0; i < store->bad_rows.count; i++) {
        if (store->bad_rows.items[i] == row) {
            return;
        }
    }
    cb_vec_push(&store->bad_rows, row);
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
        return cb_arena_printf(arena, "%s: the log is damaged (%s); `coatbell log export` saves "
                               "what can be read", store->shown, store->damage);
    }
    return cb_arena_printf(arena, "%s: %zu event%s damaged (row %lld%s) and left out%s%s; `coatbell log "
                           "export` saves the others", store->shown, bad, bad == 1 ? " is" : "s are",
                           (long long)store->bad_rows.items[0], bad == 1 ? "" : " first",
                           store->damage[0] ? "; " : "", store->damage);
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
    return store->locked || (store->real && open_lock(store, NULL) == CB_OK &&
                             !cb_store_file_lock_is_free(store->lock_fd));
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

/* ---- Writing ---- */

/* Letters that can't be mistaken for each other: Crockford's base 32, in small letters. */
static bool new_id(char id[ID_LETTERS + 1])
{
    static const char letters[] = "0123456789abcdefghjkmnpqrstvwxyz";
    unsigned char bytes[ID_LETTERS];
    size_t got = 0;
    while (got < sizeof bytes) {
        ssize_t more = getrandom(bytes + got, sizeof bytes - got, 0);
        if (more < 0 && errno != EINTR) {
            return false;
        }
        got += more > 0 ? (size_t)more : 0;
    }
    for (size_t i = 0; i < ID_LETTERS; i++) {
        id[i] = letters[bytes[i] % 32];
    }
    id[ID_LETTERS] = '\0';
    return true;
}

void cb_store_bind_text(sqlite3_stmt *stmt, int at, const char *text)
{
    if (text) {
        sqlite3_bind_text(stmt, at, text, -1, SQLITE_STATIC);
    } else {
        sqlite3_bind_null(stmt, at);
    }
}

static bool same(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

void cb_store_keep_origin(struct cb_store *store, int64_t id, const char *machine,
                        const char *boot)
{
    while ((int64_t)store->origins.count < id) {
        cb_vec_push(&store->origins, (struct cb_store_origin){0});
    }
    store->origins.items[id - 1] = (struct cb_store_origin){
        .known = true,
        .machine = cb_arena_text(&store->arena, machine),
        .boot = cb_arena_text(&store->arena, boot)};
}

static enum cb_status origin_id(struct cb_store *store, const struct cb_event *event,
                                int64_t *id, struct cb_err *err)
{
    size_t count = store->origins.count;
    for (size_t i = count; i > 0 && i + ORIGINS_NEAR > count; i--) {
        const struct cb_store_origin *origin = &store->origins.items[i - 1];
        if (origin->known && same(origin->machine, event->machine) &&
            same(origin->boot, event->boot)) {
            *id = (int64_t)i;
            return CB_OK;
        }
    }
    sqlite3_stmt *find = cb_store_statement(store, &store->find_origin,
                                   "SELECT origin FROM origin WHERE machine IS ? AND boot IS ?");
    if (!find) {
        return cb_store_fault(store, err);
    }
    cb_store_bind_text(find, 1, event->machine);
    cb_store_bind_text(find, 2, event->boot);
    *id = 0;
    if (cb_store_ask(find, id) != SQLITE_OK) {
        return cb_store_fault(store, err);
    }
    if (*id == 0) {
        sqlite3_stmt *add = cb_store_statement(store, &store->add_origin,
                                      "INSERT INTO origin SELECT row, ?1, ?2, row_sum(row, ?1, ?2)"
                                      " FROM (SELECT coalesce(max(origin), 0) + 1 AS row FROM origin)");
        if (!add) {
            return cb_store_fault(store, err);
        }
        cb_store_bind_text(add, 1, event->machine);
        cb_store_bind_text(add, 2, event->boot);
        int code = sqlite3_step(add);
        enum cb_status status = code == SQLITE_DONE ? CB_OK : cb_store_fault(store, err);
        sqlite3_reset(add);
        if (status != CB_OK) {
            return status;
        }
        *id = sqlite3_last_insert_rowid(store->db);
    }
    cb_store_keep_origin(store, *id, event->machine, event->boot);
    return CB_OK;
}

/* Which field has a column of its own; 0: it stands in the JSON. */
static const unsigned char columns_by_field[CB_FIELD_COUNT] = {
    [CB_FIELD_FIGURE] = CB_COL_FIGURE,
    [CB_FIELD_STAGE] = CB_COL_STAGE,
    [CB_FIELD_COAT] = CB_COL_COAT,
    [CB_FIELD_FOUND] = CB_COL_FOUND,
    [CB_FIELD_ON_AT] = CB_COL_ON_AT,
    [CB_FIELD_ON_PM_S] = CB_COL_ON_PM_S,
    [CB_FIELD_PLACE] = CB_COL_PLACE,
    [CB_FIELD_TEMP_C] = CB_COL_TEMP_C,
    [CB_FIELD_RH_PCT] = CB_COL_RH_PCT,
    [CB_FIELD_AIR] = CB_COL_AIR,
    [CB_FIELD_OF] = CB_COL_OF,
    [CB_FIELD_FROM] = CB_COL_CLIMATE_FROM,
};

enum cb_store_column cb_store_column_of(enum cb_event_kind kind, enum cb_field field)
{
    if (field == CB_FIELD_OTHER || (field == CB_FIELD_FROM && kind != CB_EVENT_CLIMATE_SET)) {
        return 0;
    }
    return columns_by_field[field];
}

static void bind_attr(sqlite3_stmt *stmt, int at, const struct cb_attr *attr)
{
    switch (attr->type) {
    case CB_TYPE_INT:
    case CB_TYPE_TIME:
        sqlite3_bind_int64(stmt, at, attr->i);
        break;
    case CB_TYPE_NUMBER:
        sqlite3_bind_double(stmt, at, attr->d);
        break;
    case CB_TYPE_TEXT:
        cb_store_bind_text(stmt, at, attr->s);
        break;
    case CB_TYPE_FILMS:
    case CB_TYPE_FIGURES:
    case CB_TYPE_RAW:
        break;
    }
}

/* Fields with a column are bound; the others become JSON. */
static void bind_fields(sqlite3_stmt *stmt, const struct cb_event *event, struct cb_str *json)
{
    struct cb_event rest = *event;
    struct cb_attr attrs[CB_EVENT_ATTRS_MAX + 16];
    rest.attrs = attrs;
    rest.attr_count = 0;
    for (size_t i = 0; i < event->attr_count; i++) {
        int column = (int)cb_store_column_of(event->kind, event->attrs[i].field);
        if (column != 0) {
            bind_attr(stmt, column, &event->attrs[i]);
        } else {
            attrs[rest.attr_count++] = event->attrs[i];
        }
    }
    if (rest.attr_count > 0) {
        cb_str_clear(json);
        cb_jsonl_encode_fields(&rest, json);
        cb_store_bind_text(stmt, CB_COL_FIELDS, json->text);
    }
}

/* true in *fresh: it was not there yet. */
static enum cb_status insert_event(struct cb_store *store, const struct cb_event *event,
                                   struct cb_str *json, bool *fresh, struct cb_err *err)
{
    /* parameter n is column n of CB_STORE_COLUMNS, the row itself the last */
#define VALUES "?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,?13,?14,?15,?16,?17,?18,?19,?20,?21"
    sqlite3_stmt *stmt = cb_store_statement(
        store, &store->insert,
        "INSERT INTO event(" CB_STORE_COLUMNS ") VALUES(?22," VALUES ",row_sum(?22," VALUES "))"
        " ON CONFLICT(id) DO NOTHING");
#undef VALUES
    if (!stmt) {
        return cb_store_fault(store, err);
    }
    sqlite3_clear_bindings(stmt);
    cb_store_bind_text(stmt, CB_COL_ID, event->id);
    sqlite3_bind_int64(stmt, CB_COL_AT, event->at_ms);
    cb_store_bind_text(stmt, CB_COL_EVENT, event->name);
    cb_store_bind_text(stmt, CB_COL_UNIT, event->unit);
    cb_store_bind_text(stmt, CB_COL_PRESS, event->press);
    if (event->machine || event->boot) {
        int64_t origin = 0;
        enum cb_status status = origin_id(store, event, &origin, err);
        if (status != CB_OK) {
            return status;
        }
        sqlite3_bind_int64(stmt, CB_COL_ORIGIN, origin);
    }
    if (event->machine) {
        sqlite3_bind_int64(stmt, CB_COL_SEQ, event->seq);
    }
    if (event->boot) {
        sqlite3_bind_int64(stmt, CB_COL_BOOT_MS, event->boot_ms);
    }
    bind_fields(stmt, event, json);
    sqlite3_bind_int64(stmt, CB_COL_SUM, store->next_row);
    int code = sqlite3_step(stmt);
    enum cb_status status = code == SQLITE_DONE ? CB_OK : cb_store_fault(store, err);
    *fresh = status == CB_OK && sqlite3_changes(store->db) > 0;
    store->next_row += *fresh;
    sqlite3_reset(stmt);
    return status;
}

static enum cb_status begin(struct cb_store *store, struct cb_err *err)
{
    if (!store->writable) {
        return cb_err_set(err, CB_IO, "%s: opened for reading only", store->shown);
    }
    /* a log that was moved or deleted would take the press into nowhere */
    int moved = 0;
    if (store->real && sqlite3_file_control(store->db, NULL, SQLITE_FCNTL_HAS_MOVED, &moved) ==
                           SQLITE_OK && moved) {
        return cb_err_set(err, CB_IO, "%s: the log was moved or deleted while it was open; put it "
                          "back, or leave and start again", store->shown);
    }
    if (cb_store_guard_check(store, err) != CB_OK) {
        return CB_IO;
    }
    sqlite3_stmt *last = cb_store_statement(store, &store->get_last,
                                            "SELECT coalesce(max(row), 0) + 1 FROM event");
    if (sqlite3_exec(store->db, "BEGIN IMMEDIATE", NULL, NULL, NULL) != SQLITE_OK) {
        return cb_store_fault(store, err);
    }
    if (cb_store_ask(last, &store->next_row) != SQLITE_OK) {
        const enum cb_status status = cb_store_fault(store, err);
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
        return status;
    }
    return CB_OK;
}

/* Commits when all went well, else takes everything back. */
static enum cb_status end(struct cb_store *store, enum cb_status status, struct cb_err *err)
{
    if (status == CB_OK &&
        sqlite3_exec(store->db, "COMMIT", NULL, NULL, NULL) != SQLITE_OK) {
        status = cb_store_fault(store, err);
    }
    if (status != CB_OK) {
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
        cb_vec_free(&store->origins);
    }
    return status;
}

static enum cb_status read_seq(struct cb_store *store, int64_t *seq, struct cb_err *err)
{
    sqlite3_stmt *stmt = cb_store_statement(store, &store->get_seq,
                                   "SELECT CAST(value AS INTEGER) FROM meta WHERE name='seq'");
    return cb_store_ask(stmt, seq) == SQLITE_OK ? CB_OK : cb_store_fault(store, err);
}

static enum cb_status write_seq(struct cb_store *store, int64_t seq, struct cb_err *err)
{
    sqlite3_stmt *stmt = cb_store_statement(store, &store->set_seq,
                                   "UPDATE meta SET value = CAST(?1 AS TEXT),"
                                   " sum = row_sum(name, CAST(?1 AS TEXT)) WHERE name='seq'");
    if (!stmt) {
        return cb_store_fault(store, err);
    }
    sqlite3_bind_int64(stmt, 1, seq);
    int code = sqlite3_step(stmt);
    enum cb_status status = code == SQLITE_DONE ? CB_OK : cb_store_fault(store, err);
    sqlite3_reset(stmt);
    return status;
}

/* Copies with ids; one press for all that have none. seq 0 of our own machine: not given yet, so
 * that a press that failed to be written can be tried again without becoming two. */
static enum cb_status name_events(struct cb_store *store, const struct cb_event *const *events,
                                  size_t count, struct cb_arena *arena, struct cb_event **named,
                                  struct cb_err *err)
{
    const char *press = NULL;
    const char *machine = cb_arena_text(arena, store->machine);
    for (size_t i = 0; i < count; i++) {
        enum cb_status status = cb_event_validate(events[i], err);
        if (status != CB_OK) {
            return status;
        }
        const struct cb_event *copy = cb_event_copy(arena, events[i]);
        named[i] = cb_arena_alloc(arena, 1, sizeof **named);
        *named[i] = *copy;
        if (!copy->id) {
            char id[ID_LETTERS + 1];
            if (!new_id(id)) {
                return cb_err_set(err, CB_IO, "the system gives no random bytes: %s",
                                  strerror(errno));
            }
            named[i]->id = cb_arena_text(arena, id);
            press = press ? press : named[i]->id;
            named[i]->press = copy->press ? copy->press : press;
            named[i]->machine = machine;
            named[i]->seq = 0;
        }
    }
    return CB_OK;
}

static enum cb_status insert_named(struct cb_store *store, struct cb_event **named, size_t count,
                                   struct cb_arena *arena, const struct cb_event **stored,
                                   struct cb_err *err)
{
    int64_t seq = 0;
    struct cb_str json = {0};
    enum cb_status status = read_seq(store, &seq, err);
    int64_t first = seq;
    for (size_t i = 0; i < count && status == CB_OK; i++) {
        struct cb_event event = *named[i];
        bool fresh = false;
        if (event.seq == 0 && same(event.machine, store->machine)) {
            event.seq = seq + 1;
        }
        status = insert_event(store, &event, &json, &fresh, err);
        if (status == CB_OK && fresh) {
            seq = event.seq > seq && same(event.machine, store->machine) ? event.seq : seq;
            struct cb_event *kept = cb_arena_alloc(arena, 1, sizeof *kept);
            *kept = event;
            stored[i] = kept;
        } else if (status == CB_OK) {
            status = cb_store_read_id(store, event.id, arena, &stored[i], err);
        }
    }
    if (status == CB_OK && seq != first) {
        status = write_seq(store, seq, err);
    }
    cb_str_fini(&json);
    return status;
}

enum cb_status cb_store_name(struct cb_store *store, const struct cb_event *const *events,
                             size_t count, struct cb_arena *arena,
                             const struct cb_event ***named, struct cb_err *err)
{
    struct cb_event **copies = cb_arena_alloc(arena, count ? count : 1, sizeof(struct cb_event *));
    const struct cb_event **kept = cb_arena_alloc(arena, count ? count : 1, sizeof *kept);
    int64_t seq = 0;
    enum cb_status status = name_events(store, events, count, arena, copies, err);
    if (status == CB_OK) {
        status = read_seq(store, &seq, err);
    }
    seq = seq > store->named_seq ? seq : store->named_seq;
    for (size_t i = 0; i < count && status == CB_OK; i++) {
        if (copies[i]->seq == 0 && same(copies[i]->machine, store->machine)) {
            copies[i]->seq = ++seq;
        }
        kept[i] = copies[i];
    }
    store->named_seq = status == CB_OK ? seq : store->named_seq;
    *named = status == CB_OK ? kept : NULL;
    return status;
}

enum cb_status cb_store_append(struct cb_store *store, const struct cb_event *const *events,
                               size_t count, struct cb_arena *arena,
                               const struct cb_event ***stored, struct cb_err *err)
{
    struct cb_event **named = cb_arena_alloc(arena, count ? count : 1, sizeof(struct cb_event *));
    const struct cb_event **kept = cb_arena_alloc(arena, count ? count : 1, sizeof *kept);
    *stored = kept;
    enum cb_status status = name_events(store, events, count, arena, named, err);
    if (status != CB_OK) {
        *stored = NULL;
        return status;
    }
    if (count == 0) {
        return CB_OK;
    }
    status = begin(store, err);
    if (status == CB_OK) {
        status = end(store, insert_named(store, named, count, arena, kept, err), err);
    }
    for (size_t i = 0; i < count && status != CB_OK; i++) {
        kept[i] = named[i];
    }
    return status;
}

static bool is_there(struct cb_store *store, const char *id)
{
    sqlite3_stmt *stmt = NULL;
    int64_t found = 0;
    if (sqlite3_prepare_v2(store->db, "SELECT 1 FROM event WHERE id = ?", -1, &stmt, NULL) ==
        SQLITE_OK) {
        cb_store_bind_text(stmt, 1, id);
        cb_store_ask(stmt, &found);
    }
    sqlite3_finalize(stmt);
    return found != 0;
}

enum cb_status cb_store_takes(struct cb_store *store, const struct cb_event *event,
                              struct cb_err *err)
{
    if (!event->id) {
        return cb_err_set(err, CB_DATA, "id: missing, every event has it");
    }
    enum cb_status status = cb_event_validate(event, err);
    if (status == CB_OK && event->seq > OWN_SEQ_MAX && same(event->machine, store->machine) &&
        !is_there(store, event->id)) {
        status = cb_err_set(err, CB_DATA,
                            "seq: %lld in the name of this very log, which takes at most %lld: it "
                            "counts on from there",
                            (long long)event->seq, (long long)OWN_SEQ_MAX);
    }
    return status;
}

enum cb_status cb_store_import(struct cb_store *store,
                               enum cb_status (*next)(void *context,
                                                      const struct cb_event **event,
                                                      struct cb_err *err),
                               void *context, size_t *added, struct cb_err *err)
{
    struct cb_str json = {0};
    const struct cb_event *event = NULL;
    int64_t seq = 0;
    *added = 0;
    enum cb_status status = begin(store, err);
    if (status != CB_OK) {
        return status;
    }
    /* ids are random, so a long import touches the whole index: most of it stays in these 96 MB, and
     * a million events with what they teach in 200 (measured) */
    sqlite3_exec(store->db, "PRAGMA cache_size=-98304", NULL, NULL, NULL);
    status = read_seq(store, &seq, err);
    int64_t first = seq;
    while (status == CB_OK && (status = next(context, &event, err)) == CB_OK && event) {
        bool fresh = false;
        status = cb_store_takes(store, event, err);
        if (status == CB_OK) {
            status = insert_event(store, event, &json, &fresh, err);
        }
        *added += fresh;
        /* our own events coming home: the count goes on behind them */
        if (fresh && event->seq > seq && same(event->machine, store->machine)) {
            seq = event->seq;
        }
    }
    if (status == CB_OK && seq != first) {
        status = write_seq(store, seq, err);
    }
    cb_str_fini(&json);
    status = end(store, status, err);
    sqlite3_exec(store->db, "PRAGMA cache_size=-2000", NULL, NULL, NULL);
    return status;
}

/* ---- Derived data ---- */

enum cb_status cb_store_derived_put(struct cb_store *store, const char *name, const char *key,
                                    const void *bytes, size_t length, struct cb_err *err)
{
    sqlite3_stmt *stmt = NULL;
    enum cb_status status = begin(store, err);
    if (status != CB_OK) {
        return status;
    }
    if (sqlite3_prepare_v2(store->db, "INSERT OR REPLACE INTO derived VALUES(?, ?, ?)", -1, &stmt,
                           NULL) != SQLITE_OK) {
        return end(store, cb_store_fault(store, err), err);
    }
    cb_store_bind_text(stmt, 1, name);
    cb_store_bind_text(stmt, 2, key);
    sqlite3_bind_blob64(stmt, 3, length ? bytes : "", length, SQLITE_STATIC);
    if (sqlite3_step(stmt) != SQLITE_DONE) {
        status = cb_store_fault(store, err);
    }
    sqlite3_finalize(stmt);
    return end(store, status, err);
}

enum cb_status cb_store_derived_get(struct cb_store *store, const char *name, const char *key,
                                    struct cb_arena *arena, const void **bytes, size_t *length,
                                    struct cb_err *err)
{
    sqlite3_stmt *stmt = NULL;
    enum cb_status status = CB_OK;
    int code = sqlite3_prepare_v2(store->db,
                                  "SELECT bytes FROM derived WHERE name = ? AND key = ?", -1,
                                  &stmt, NULL);
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
