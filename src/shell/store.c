/* SPDX-License-Identifier: MIT */
#include "shell/store.h"

#include <errno.h>
#include <sqlite3.h>
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

#define BUSY_MS      2000 /* a press waits that long for another writer; estimate */
#define ID_LETTERS   16   /* 80 random bits: a million ids collide once in 10^12 logs */
#define SCRATCH_ROWS 512  /* rows whose JSON is unpacked before the scratch is emptied */
#define ORIGINS_NEAR 32   /* latest boots looked through before the index is asked */

enum { COLUMNS = 22 };
#define COLUMN_LIST                                                                               \
    "row,id,at,event,unit,press,origin,seq,boot_ms,figure,stage,coat,found,on_at,on_pm_s,place,"  \
    "temp_c,rh_pct,air,climate_from,of,fields"
enum column {
    ROW, ID, AT, EVENT, UNIT, PRESS, ORIGIN, SEQ, BOOT_MS, FIGURE, STAGE, COAT, FOUND, ON_AT,
    ON_PM_S, PLACE, TEMP_C, RH_PCT, AIR, CLIMATE_FROM, OF, FIELDS,
};

/* Which field has a column of its own; 0: it stands in the JSON. */
static const unsigned char columns_by_field[CB_FIELD_COUNT] = {
    [CB_FIELD_FIGURE] = FIGURE,   [CB_FIELD_STAGE] = STAGE,   [CB_FIELD_COAT] = COAT,
    [CB_FIELD_FOUND] = FOUND,     [CB_FIELD_ON_AT] = ON_AT,   [CB_FIELD_ON_PM_S] = ON_PM_S,
    [CB_FIELD_PLACE] = PLACE,     [CB_FIELD_TEMP_C] = TEMP_C, [CB_FIELD_RH_PCT] = RH_PCT,
    [CB_FIELD_AIR] = AIR,         [CB_FIELD_OF] = OF,         [CB_FIELD_FROM] = CLIMATE_FROM,
};

struct origin { /* item n has the id n + 1 */
    bool known;
    const char *machine, *boot;
};

struct cb_store {
    sqlite3 *db;
    struct cb_arena arena;
    const char *shown; /* path for messages */
    const char *real;  /* NULL: memory */
    bool writable;
    int lock_fd, watch_fd;
    bool locked;
    const char *machine;
    sqlite3_int64 data_version;
    CB_VEC(struct origin) origins;
    sqlite3_stmt *insert, *get_seq, *set_seq, *get_version, *get_row, *get_id, *get_origin, *find_origin, *add_origin;
};

static enum cb_status fault(struct cb_store *store, struct cb_err *err)
{
    return cb_migrate_fault(store->db, store->shown, err);
}

/* Statements are made when first wanted and kept. */
static sqlite3_stmt *statement(struct cb_store *store, sqlite3_stmt **kept, const char *sql)
{
    if (!*kept) {
        sqlite3_prepare_v3(store->db, sql, -1, SQLITE_PREPARE_PERSISTENT, kept, NULL);
    }
    return *kept;
}

static int ask_number(sqlite3_stmt *stmt, sqlite3_int64 *value)
{
    int code = stmt ? sqlite3_step(stmt) : SQLITE_ERROR;
    if (code == SQLITE_ROW) {
        *value = sqlite3_column_int64(stmt, 0);
    }
    int closed = sqlite3_reset(stmt);
    return code == SQLITE_ROW || code == SQLITE_DONE ? closed : code;
}

static sqlite3_int64 data_version(struct cb_store *store)
{
    sqlite3_int64 version = -1;
    ask_number(statement(store, &store->get_version, "PRAGMA data_version"), &version);
    return version;
}

static enum cb_status read_machine(struct cb_store *store, struct cb_err *err)
{
    sqlite3_stmt *stmt = NULL;
    enum cb_status status = CB_OK;
    if (sqlite3_prepare_v2(store->db, "SELECT value FROM meta WHERE name='machine'", -1, &stmt,
                           NULL) != SQLITE_OK ||
        sqlite3_step(stmt) != SQLITE_ROW) {
        status = fault(store, err);
    } else {
        store->machine = cb_arena_text(&store->arena, (const char *)sqlite3_column_text(stmt, 0));
    }
    sqlite3_finalize(stmt);
    return status;
}

static int open_file(struct cb_store *store, bool writable)
{
    const char *name = store->real ? store->real : ":memory:";
    int flags = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_PRIVATECACHE;
    int code = sqlite3_open_v2(name, &store->db, flags | SQLITE_OPEN_READWRITE, NULL);
    if (code == SQLITE_OK && store->real && !writable && access(store->real, W_OK) != 0) {
        /* a log on a read-only medium: without its -wal it can be read as it lies */
        sqlite3_close(store->db);
        struct cb_str uri = {0};
        cb_str_add(&uri, "file:");
        for (const char *c = store->real; *c; c++) {
            cb_str_addf(&uri, strchr("?#%", *c) ? "%%%02x" : "%c", (unsigned char)*c);
        }
        const char *wal = cb_arena_printf(&store->arena, "%s-wal", store->real);
        cb_str_add(&uri, access(wal, F_OK) == 0 ? "?mode=ro" : "?immutable=1");
        code = sqlite3_open_v2(cb_str_text(&uri), &store->db,
                               flags | SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, NULL);
        cb_str_fini(&uri);
    }
    return code;
}

static int set_up(struct cb_store *store, bool writable)
{
    sqlite3_extended_result_codes(store->db, 1);
    sqlite3_busy_timeout(store->db, BUSY_MS);
    sqlite3_db_config(store->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    sqlite3_db_config(store->db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
    if (!writable) {
        sqlite3_db_config(store->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, NULL);
    }
    return sqlite3_exec(store->db, writable ? "PRAGMA synchronous=FULL" : "PRAGMA query_only=1",
                        NULL, NULL, NULL);
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
        status = fault(store, err);
    }
    if (status == CB_OK && set_up(store, writable) != SQLITE_OK) {
        status = fault(store, err);
    }
    if (status == CB_OK) {
        status = cb_migrate(store->db, store->shown, store->real, writable, cb_migrate_steps,
                            cb_migrate_step_count, err);
    }
    if (status == CB_OK) {
        status = read_machine(store, err);
    }
    if (status != CB_OK) {
        cb_store_close(store);
        return status;
    }
    store->data_version = data_version(store);
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
        store->add_origin,
    };
    for (size_t i = 0; i < sizeof statements / sizeof *statements; i++) {
        sqlite3_finalize(statements[i]);
    }
    sqlite3_close(store->db);
    if (store->watch_fd >= 0) {
        close(store->watch_fd);
    }
    if (store->lock_fd >= 0) {
        close(store->lock_fd);
    }
    cb_vec_free(&store->origins);
    cb_arena_fini(&store->arena);
    free(store);
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
    sqlite3_int64 version = data_version(store);
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

static void bind_text(sqlite3_stmt *stmt, int at, const char *text)
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

static void keep_origin(struct cb_store *store, sqlite3_int64 id, const char *machine,
                        const char *boot)
{
    while ((sqlite3_int64)store->origins.count < id) {
        cb_vec_push(&store->origins, (struct origin){0});
    }
    store->origins.items[id - 1] = (struct origin){
        true, cb_arena_text(&store->arena, machine), cb_arena_text(&store->arena, boot)};
}

static enum cb_status origin_id(struct cb_store *store, const struct cb_event *event,
                                sqlite3_int64 *id, struct cb_err *err)
{
    size_t count = store->origins.count;
    for (size_t i = count; i > 0 && i + ORIGINS_NEAR > count; i--) {
        const struct origin *origin = &store->origins.items[i - 1];
        if (origin->known && same(origin->machine, event->machine) &&
            same(origin->boot, event->boot)) {
            *id = (sqlite3_int64)i;
            return CB_OK;
        }
    }
    sqlite3_stmt *find = statement(store, &store->find_origin,
                                   "SELECT origin FROM origin WHERE machine IS ? AND boot IS ?");
    if (!find) {
        return fault(store, err);
    }
    bind_text(find, 1, event->machine);
    bind_text(find, 2, event->boot);
    *id = 0;
    if (ask_number(find, id) != SQLITE_OK) {
        return fault(store, err);
    }
    if (*id == 0) {
        sqlite3_stmt *add = statement(store, &store->add_origin,
                                      "INSERT INTO origin(machine, boot) VALUES(?, ?)");
        if (!add) {
            return fault(store, err);
        }
        bind_text(add, 1, event->machine);
        bind_text(add, 2, event->boot);
        int code = sqlite3_step(add);
        enum cb_status status = code == SQLITE_DONE ? CB_OK : fault(store, err);
        sqlite3_reset(add);
        if (status != CB_OK) {
            return status;
        }
        *id = sqlite3_last_insert_rowid(store->db);
    }
    keep_origin(store, *id, event->machine, event->boot);
    return CB_OK;
}

static bool has_column(const struct cb_event *event, const struct cb_attr *attr)
{
    if (attr->field == CB_FIELD_OTHER || columns_by_field[attr->field] == 0) {
        return false;
    }
    return attr->field != CB_FIELD_FROM || event->kind == CB_EVENT_CLIMATE_SET;
}

static void bind_attr(sqlite3_stmt *stmt, const struct cb_attr *attr)
{
    int at = columns_by_field[attr->field];
    switch (attr->type) {
    case CB_TYPE_INT:
    case CB_TYPE_TIME:
        sqlite3_bind_int64(stmt, at, attr->i);
        break;
    case CB_TYPE_NUMBER:
        sqlite3_bind_double(stmt, at, attr->d);
        break;
    case CB_TYPE_TEXT:
        bind_text(stmt, at, attr->s);
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
        if (has_column(event, &event->attrs[i])) {
            bind_attr(stmt, &event->attrs[i]);
        } else {
            attrs[rest.attr_count++] = event->attrs[i];
        }
    }
    if (rest.attr_count > 0) {
        cb_str_clear(json);
        cb_jsonl_encode_fields(&rest, json);
        bind_text(stmt, FIELDS, json->text);
    }
}

/* true in *fresh: it was not there yet. */
static enum cb_status insert_event(struct cb_store *store, const struct cb_event *event,
                                   struct cb_str *json, bool *fresh, struct cb_err *err)
{
    /* parameter n is column n of COLUMN_LIST, the row itself left out */
    sqlite3_stmt *stmt = statement(
        store, &store->insert,
        "INSERT INTO event(id,at,event,unit,press,origin,seq,boot_ms,figure,stage,coat,found,"
        "on_at,on_pm_s,place,temp_c,rh_pct,air,climate_from,of,fields)"
        " VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,?13,?14,?15,?16,?17,?18,?19,?20,?21)"
        " ON CONFLICT(id) DO NOTHING");
    if (!stmt) {
        return fault(store, err);
    }
    sqlite3_clear_bindings(stmt);
    bind_text(stmt, ID, event->id);
    sqlite3_bind_int64(stmt, AT, event->at_ms);
    bind_text(stmt, EVENT, event->name);
    bind_text(stmt, UNIT, event->unit);
    bind_text(stmt, PRESS, event->press);
    if (event->machine || event->boot) {
        sqlite3_int64 origin = 0;
        enum cb_status status = origin_id(store, event, &origin, err);
        if (status != CB_OK) {
            return status;
        }
        sqlite3_bind_int64(stmt, ORIGIN, origin);
    }
    if (event->machine) {
        sqlite3_bind_int64(stmt, SEQ, event->seq);
    }
    if (event->boot) {
        sqlite3_bind_int64(stmt, BOOT_MS, event->boot_ms);
    }
    bind_fields(stmt, event, json);
    int code = sqlite3_step(stmt);
    enum cb_status status = code == SQLITE_DONE ? CB_OK : fault(store, err);
    *fresh = status == CB_OK && sqlite3_changes(store->db) > 0;
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
    return sqlite3_exec(store->db, "BEGIN IMMEDIATE", NULL, NULL, NULL) == SQLITE_OK
               ? CB_OK
               : fault(store, err);
}

/* Commits when all went well, else takes everything back. */
static enum cb_status end(struct cb_store *store, enum cb_status status, struct cb_err *err)
{
    if (status == CB_OK &&
        sqlite3_exec(store->db, "COMMIT", NULL, NULL, NULL) != SQLITE_OK) {
        status = fault(store, err);
    }
    if (status != CB_OK) {
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
        cb_vec_free(&store->origins);
    }
    return status;
}

static enum cb_status read_seq(struct cb_store *store, sqlite3_int64 *seq, struct cb_err *err)
{
    sqlite3_stmt *stmt = statement(store, &store->get_seq,
                                   "SELECT CAST(value AS INTEGER) FROM meta WHERE name='seq'");
    return ask_number(stmt, seq) == SQLITE_OK ? CB_OK : fault(store, err);
}

static enum cb_status write_seq(struct cb_store *store, sqlite3_int64 seq, struct cb_err *err)
{
    sqlite3_stmt *stmt = statement(store, &store->set_seq,
                                   "UPDATE meta SET value = CAST(? AS TEXT) WHERE name='seq'");
    if (!stmt) {
        return fault(store, err);
    }
    sqlite3_bind_int64(stmt, 1, seq);
    int code = sqlite3_step(stmt);
    enum cb_status status = code == SQLITE_DONE ? CB_OK : fault(store, err);
    sqlite3_reset(stmt);
    return status;
}

static enum cb_status read_by_id(struct cb_store *store, const char *id, struct cb_arena *arena,
                                 const struct cb_event **event, struct cb_err *err);

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
    sqlite3_int64 seq = 0;
    struct cb_str json = {0};
    enum cb_status status = read_seq(store, &seq, err);
    sqlite3_int64 first = seq;
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
            status = read_by_id(store, event.id, arena, &stored[i], err);
        }
    }
    if (status == CB_OK && seq != first) {
        status = write_seq(store, seq, err);
    }
    cb_str_fini(&json);
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

enum cb_status cb_store_import(struct cb_store *store,
                               const struct cb_event *(*next)(void *context), void *context,
                               size_t *added, struct cb_err *err)
{
    struct cb_str json = {0};
    const struct cb_event *event;
    sqlite3_int64 seq = 0;
    *added = 0;
    enum cb_status status = begin(store, err);
    if (status != CB_OK) {
        return status;
    }
    status = read_seq(store, &seq, err);
    sqlite3_int64 first = seq;
    while (status == CB_OK && (event = next(context)) != NULL) {
        bool fresh = false;
        status = event->id ? insert_event(store, event, &json, &fresh, err)
                           : cb_err_set(err, CB_DATA, "id: missing, every event has it");
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
    return end(store, status, err);
}

/* ---- Reading ---- */

struct row_reader {
    struct cb_arena scratch;
    unsigned unpacked; /* since the scratch was emptied */
    struct cb_event event;
    struct cb_attr attrs[CB_EVENT_ATTRS_MAX + 24];
};

static const char *text_at(sqlite3_stmt *stmt, int column)
{
    return (const char *)sqlite3_column_text(stmt, column);
}

static enum cb_status read_origin(struct cb_store *store, sqlite3_int64 id, struct cb_event *event,
                                  struct cb_err *err)
{
    if (id < 1 || id > 100000000) {
        return cb_err_set(err, CB_DATA, "%s: the log is damaged (origin)", store->shown);
    }
    if ((sqlite3_int64)store->origins.count < id || !store->origins.items[id - 1].known) {
        sqlite3_stmt *stmt = statement(store, &store->get_origin,
                                       "SELECT machine, boot FROM origin WHERE origin = ?");
        if (!stmt) {
            return fault(store, err);
        }
        sqlite3_bind_int64(stmt, 1, id);
        if (sqlite3_step(stmt) != SQLITE_ROW) {
            sqlite3_reset(stmt);
            return cb_err_set(err, CB_DATA, "%s: the log is damaged (origin)", store->shown);
        }
        keep_origin(store, id, text_at(stmt, 0), text_at(stmt, 1));
        sqlite3_reset(stmt);
    }
    event->machine = store->origins.items[id - 1].machine;
    event->boot = store->origins.items[id - 1].boot;
    return CB_OK;
}

static bool read_column(sqlite3_stmt *stmt, const struct cb_event_field *row,
                        struct cb_attr *attr)
{
    int column = columns_by_field[row->field];
    if (sqlite3_column_type(stmt, column) == SQLITE_NULL) {
        return false;
    }
    attr->field = row->field;
    attr->type = row->type;
    attr->name = NULL;
    switch (row->type) {
    case CB_TYPE_INT:
    case CB_TYPE_TIME:
        attr->i = sqlite3_column_int64(stmt, column);
        return true;
    case CB_TYPE_NUMBER:
        attr->d = sqlite3_column_double(stmt, column);
        return true;
    case CB_TYPE_TEXT:
        attr->s = text_at(stmt, column);
        return attr->s != NULL;
    case CB_TYPE_FILMS:
    case CB_TYPE_FIGURES:
    case CB_TYPE_RAW:
        break;
    }
    return false;
}

/* The event points into the statement and the reader until the next step. */
static enum cb_status read_row(struct cb_store *store, sqlite3_stmt *stmt,
                               struct row_reader *reader, struct cb_err *err)
{
    struct cb_event *event = &reader->event;
    *event = (struct cb_event){
        .id = text_at(stmt, ID),
        .at_ms = sqlite3_column_int64(stmt, AT),
        .name = text_at(stmt, EVENT),
        .unit = text_at(stmt, UNIT),
        .press = text_at(stmt, PRESS),
        .seq = sqlite3_column_int64(stmt, SEQ),
        .boot_ms = sqlite3_column_int64(stmt, BOOT_MS),
        .attrs = reader->attrs,
    };
    if (!event->id || !event->name) {
        return cb_err_set(err, CB_DATA, "%s: the log is damaged (row)", store->shown);
    }
    sqlite3_int64 origin = sqlite3_column_int64(stmt, ORIGIN);
    enum cb_status status = origin ? read_origin(store, origin, event, err) : CB_OK;
    event->kind = cb_event_kind_of(event->name);
    size_t count;
    const struct cb_event_field *schema = cb_event_schema(event->kind, &count);
    for (size_t i = 0; i < count; i++) {
        if (columns_by_field[schema[i].field] != 0 &&
            (schema[i].field != CB_FIELD_FROM || event->kind == CB_EVENT_CLIMATE_SET) &&
            read_column(stmt, &schema[i], &reader->attrs[event->attr_count])) {
            event->attr_count++;
        }
    }
    const char *json = text_at(stmt, FIELDS);
    if (status != CB_OK || !json) {
        return status;
    }
    if (++reader->unpacked > SCRATCH_ROWS) {
        cb_arena_fini(&reader->scratch);
        reader->unpacked = 0;
    }
    const struct cb_attr *rest;
    size_t rest_count;
    status = cb_jsonl_decode_fields(json, (size_t)sqlite3_column_bytes(stmt, FIELDS), event->kind,
                                    &reader->scratch, &rest, &rest_count, err);
    if (status != CB_OK || rest_count > CB_EVENT_ATTRS_MAX + 9) {
        return cb_err_set(err, CB_DATA, "%s: the log is damaged (fields of %s)", store->shown,
                          cb_event_name(event->kind));
    }
    memcpy(&reader->attrs[event->attr_count], rest, rest_count * sizeof *rest);
    event->attr_count += rest_count;
    cb_event_order_attrs(event->kind, reader->attrs, event->attr_count);
    return CB_OK;
}

static enum cb_status read_by_id(struct cb_store *store, const char *id, struct cb_arena *arena,
                                 const struct cb_event **event, struct cb_err *err)
{
    struct row_reader reader = {0};
    enum cb_status status;
    sqlite3_stmt *stmt =
        statement(store, &store->get_id, "SELECT " COLUMN_LIST " FROM event WHERE id = ?");
    if (!stmt) {
        return fault(store, err);
    }
    bind_text(stmt, 1, id);
    if (sqlite3_step(stmt) != SQLITE_ROW) {
        status = fault(store, err);
    } else {
        status = read_row(store, stmt, &reader, err);
    }
    if (status == CB_OK) {
        *event = cb_event_copy(arena, &reader.event);
    }
    sqlite3_reset(stmt);
    cb_arena_fini(&reader.scratch);
    return status;
}

typedef CB_VEC(sqlite3_int64) row_list;

static int by_number(const void *left, const void *right)
{
    sqlite3_int64 a = *(const sqlite3_int64 *)left;
    sqlite3_int64 b = *(const sqlite3_int64 *)right;
    return (a > b) - (a < b);
}

/* What a filter wants, each a query for row numbers that an index answers by itself.
 * ?1 from, ?2 to (ms), ?3 the unit. */
#define RARE                                                                                      \
    "('answered','confidence_set','cue_muted','evidence_forgotten','bottle_new','paint_joined')"
#define OFTEN                                                                                     \
    "('session_opened','session_closed','climate_set','pause_begun','pause_ended','away',"        \
    "'chore_done','caution_read','pinged','note','undone')"
/* A finishing that was undone counts as none; that the undoing may be undone in its turn only
 * makes the answer larger. */
#define OPEN_UNITS                                                                                \
    "SELECT unit FROM event WHERE event = 'unit_begun' EXCEPT SELECT unit FROM event AS f"        \
    " WHERE event = 'unit_finished' AND NOT EXISTS"                                               \
    " (SELECT 1 FROM event WHERE of IS NOT NULL AND of = f.press)"

static const char *const span_of_open =
    "SELECT min(at), max(at) FROM event WHERE event = 'unit_begun' AND unit IN (" OPEN_UNITS ")";
static const char *const span_of_unit =
    "SELECT min(at), max(at) FROM event WHERE unit = ?3 AND unit IS NOT NULL";
static const char *const session_before =
    "SELECT max(at) FROM event WHERE unit IS NULL AND event = 'session_opened' AND at <= ?1";
static const char *const session_after =
    "SELECT min(at) FROM event WHERE unit IS NULL AND event = 'session_closed' AND at >= ?2";

/* Settings hold from whenever they were made; the air of every place from its last reading. */
static const char *const standing[] = {
    "SELECT row FROM event WHERE unit IS NULL AND event IN " RARE,
    "SELECT row FROM event WHERE unit IS NULL AND event IN " OFTEN " AND at BETWEEN ?1 AND ?2",
    "SELECT row FROM event WHERE event IN ('unit_begun','unit_opened') AND at BETWEEN ?1 AND ?2",
    "SELECT row FROM (SELECT row FROM event WHERE unit IS NULL AND event = 'climate_set'"
    " AND at < ?1 ORDER BY at DESC LIMIT 16)",
    "SELECT row FROM (SELECT row, max(at) FROM event WHERE event = 'climate_set'"
    " AND place IS NOT NULL AND at < ?1 GROUP BY place)",
};
static const char *const rows_of_open =
    "SELECT row FROM event WHERE unit IS NOT NULL AND unit IN (" OPEN_UNITS ")";
static const char *const rows_of_unit =
    "SELECT row FROM event WHERE unit IS NOT NULL AND unit = ?3";
/* Undoings of what was found so far, and of those. */
static const char *const undoings =
    "SELECT u.row FROM event AS e JOIN event AS u ON u.of = e.press AND u.of IS NOT NULL"
    " WHERE e.row = ?1";

struct span {
    sqlite3_int64 from, to;
};

static void bind_span(sqlite3_stmt *stmt, const struct span *span, const char *unit)
{
    int last = sqlite3_bind_parameter_count(stmt);
    if (last >= 1) {
        sqlite3_bind_int64(stmt, 1, span->from);
    }
    if (last >= 2) {
        sqlite3_bind_int64(stmt, 2, span->to);
    }
    if (last >= 3) {
        bind_text(stmt, 3, unit);
    }
}

static enum cb_status collect(struct cb_store *store, const char *sql, const struct span *span,
                              const char *unit, row_list *rows, struct cb_err *err)
{
    sqlite3_stmt *stmt = NULL;
    int code = sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL);
    if (code == SQLITE_OK) {
        bind_span(stmt, span, unit);
        while ((code = sqlite3_step(stmt)) == SQLITE_ROW) {
            cb_vec_push(rows, sqlite3_column_int64(stmt, 0));
        }
    }
    enum cb_status status = code == SQLITE_DONE ? CB_OK : fault(store, err);
    sqlite3_finalize(stmt);
    return status;
}

/* Two numbers; false when the first is null. */
static bool ask_span(struct cb_store *store, const char *sql, const struct span *bound,
                     const char *unit, struct span *span)
{
    sqlite3_stmt *stmt = NULL;
    bool found = false;
    if (sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL) == SQLITE_OK) {
        bind_span(stmt, bound, unit);
        found = sqlite3_step(stmt) == SQLITE_ROW && sqlite3_column_type(stmt, 0) != SQLITE_NULL;
        if (found) {
            span->from = sqlite3_column_int64(stmt, 0);
            span->to = sqlite3_column_int64(stmt, 1);
        }
    }
    sqlite3_finalize(stmt);
    return found;
}

/* From the opening of the session in which it began to the end of the one in which it ended. */
static struct span find_span(struct cb_store *store, const struct cb_store_filter *filter)
{
    struct span span = {INT64_MAX, INT64_MAX};
    struct span session;
    if (!ask_span(store, filter->unit ? span_of_unit : span_of_open, &span, filter->unit, &span)) {
        /* no unit at all: the last session is enough */
        if (ask_span(store, session_before, &span, NULL, &session)) {
            span.from = session.from;
        }
        return (struct span){span.from, INT64_MAX};
    }
    if (ask_span(store, session_before, &span, NULL, &session)) {
        span.from = session.from;
    }
    span.to = filter->unit && ask_span(store, session_after, &span, NULL, &session) ? session.from
                                                                                   : INT64_MAX;
    return span;
}

static void sort_rows(row_list *rows)
{
    size_t kept = 0;
    if (rows->count > 1) {
        qsort(rows->items, rows->count, sizeof *rows->items, by_number);
    }
    for (size_t i = 0; i < rows->count; i++) {
        if (kept == 0 || rows->items[kept - 1] != rows->items[i]) {
            rows->items[kept++] = rows->items[i];
        }
    }
    rows->count = kept;
}

static enum cb_status add_undoings(struct cb_store *store, row_list *rows, struct cb_err *err)
{
    sqlite3_stmt *stmt = NULL;
    enum cb_status status = CB_OK;
    if (sqlite3_prepare_v2(store->db, undoings, -1, &stmt, NULL) != SQLITE_OK) {
        status = fault(store, err);
    }
    /* those found are looked at in their turn; a press is older than its undoing, so it ends, and
     * a ring in a forged log is stopped by the bound */
    size_t bound = rows->count * 2 + 1000;
    for (size_t i = 0; status == CB_OK && i < rows->count && i < bound; i++) {
        int code;
        sqlite3_bind_int64(stmt, 1, rows->items[i]);
        while ((code = sqlite3_step(stmt)) == SQLITE_ROW) {
            cb_vec_push(rows, sqlite3_column_int64(stmt, 0));
        }
        status = code == SQLITE_DONE ? CB_OK : fault(store, err);
        sqlite3_reset(stmt);
    }
    sqlite3_finalize(stmt);
    return status;
}

static enum cb_status find_rows(struct cb_store *store, const struct cb_store_filter *filter,
                                row_list *rows, struct cb_err *err)
{
    struct span span = find_span(store, filter);
    enum cb_status status = CB_OK;
    for (size_t i = 0; i < sizeof standing / sizeof *standing && status == CB_OK; i++) {
        status = collect(store, standing[i], &span, NULL, rows, err);
    }
    if (status == CB_OK) {
        status = collect(store, filter->unit ? rows_of_unit : rows_of_open, &span, filter->unit,
                         rows, err);
    }
    if (status == CB_OK) {
        sort_rows(rows);
        status = add_undoings(store, rows, err);
        sort_rows(rows);
    }
    return status;
}

typedef bool each_callback(void *context, const struct cb_event *event);

static enum cb_status each_of(struct cb_store *store, const row_list *rows,
                              each_callback *each, void *context, struct cb_err *err)
{
    struct row_reader *reader = cb_mem_new(1, sizeof *reader);
    enum cb_status status = CB_OK;
    sqlite3_stmt *stmt =
        statement(store, &store->get_row, "SELECT " COLUMN_LIST " FROM event WHERE row = ?");
    if (!stmt) {
        status = fault(store, err);
    }
    bool go = true;
    for (size_t i = 0; i < rows->count && status == CB_OK && go; i++) {
        sqlite3_bind_int64(stmt, 1, rows->items[i]);
        int code = sqlite3_step(stmt);
        if (code == SQLITE_ROW) {
            status = read_row(store, stmt, reader, err);
            go = status == CB_OK && each(context, &reader->event);
        } else if (code != SQLITE_DONE) {
            status = fault(store, err);
        }
        sqlite3_reset(stmt);
    }
    cb_arena_fini(&reader->scratch);
    free(reader);
    return status;
}

static enum cb_status each_after(struct cb_store *store, long long after, long long last,
                                 each_callback *each, void *context, struct cb_err *err)
{
    struct row_reader *reader = cb_mem_new(1, sizeof *reader);
    sqlite3_stmt *stmt = NULL;
    int code = sqlite3_prepare_v2(
        store->db, "SELECT " COLUMN_LIST " FROM event WHERE row > ? AND row <= ? ORDER BY row", -1,
        &stmt, NULL);
    enum cb_status status = CB_OK;
    if (code == SQLITE_OK) {
        sqlite3_bind_int64(stmt, 1, after);
        sqlite3_bind_int64(stmt, 2, last);
        bool go = true;
        while (go && status == CB_OK && (code = sqlite3_step(stmt)) == SQLITE_ROW) {
            status = read_row(store, stmt, reader, err);
            go = status == CB_OK && each(context, &reader->event);
        }
    }
    if (status == CB_OK && code != SQLITE_DONE && code != SQLITE_ROW) {
        status = fault(store, err);
    }
    sqlite3_finalize(stmt);
    cb_arena_fini(&reader->scratch);
    free(reader);
    return status;
}

/* One read transaction, so that the rows and the greatest of them belong together. */
static enum cb_status each_in(struct cb_store *store, const struct cb_store_filter *filter,
                              each_callback *each, void *context, long long *last_row,
                              struct cb_err *err)
{
    static const struct cb_store_filter everything = {0};
    row_list rows = {0};
    sqlite3_stmt *stmt = NULL;
    sqlite3_int64 last = 0;
    filter = filter ? filter : &everything;
    if (sqlite3_exec(store->db, "BEGIN", NULL, NULL, NULL) != SQLITE_OK) {
        return fault(store, err);
    }
    sqlite3_prepare_v2(store->db, "SELECT coalesce(max(row), 0) FROM event", -1, &stmt, NULL);
    enum cb_status status = ask_number(stmt, &last) == SQLITE_OK ? CB_OK : fault(store, err);
    sqlite3_finalize(stmt);
    if (status == CB_OK && filter->after_row == 0 && (filter->open_units || filter->unit)) {
        status = find_rows(store, filter, &rows, err);
        if (status == CB_OK) {
            status = each_of(store, &rows, each, context, err);
        }
    } else if (status == CB_OK) {
        status = each_after(store, filter->after_row, last, each, context, err);
    }
    sqlite3_exec(store->db, "COMMIT", NULL, NULL, NULL);
    cb_vec_free(&rows);
    if (last_row) {
        *last_row = last;
    }
    return status;
}

struct loading {
    struct cb_arena *arena;
    CB_VEC(const struct cb_event *) events;
};

static bool load_one(void *context, const struct cb_event *event)
{
    struct loading *loading = context;
    cb_vec_push(&loading->events, cb_event_copy(loading->arena, event));
    return true;
}

enum cb_status cb_store_load(struct cb_store *store, const struct cb_store_filter *filter,
                             struct cb_arena *arena, const struct cb_event ***events,
                             size_t *count, long long *last_row, struct cb_err *err)
{
    struct loading loading = {.arena = arena};
    enum cb_status status = each_in(store, filter, load_one, &loading, last_row, err);
    size_t size = loading.events.count;
    const struct cb_event **list = cb_arena_alloc(arena, size ? size : 1, sizeof *list);
    if (size > 0) {
        memcpy(list, loading.events.items, size * sizeof *list);
    }
    cb_vec_free(&loading.events);
    *events = list;
    *count = status == CB_OK ? size : 0;
    return status;
}

enum cb_status cb_store_each(struct cb_store *store, const struct cb_store_filter *filter,
                             bool (*each)(void *context, const struct cb_event *event),
                             void *context, struct cb_err *err)
{
    return each_in(store, filter, each, context, NULL, err);
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
        return end(store, fault(store, err), err);
    }
    bind_text(stmt, 1, name);
    bind_text(stmt, 2, key);
    sqlite3_bind_blob64(stmt, 3, length ? bytes : "", length, SQLITE_STATIC);
    if (sqlite3_step(stmt) != SQLITE_DONE) {
        status = fault(store, err);
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
        bind_text(stmt, 1, name);
        bind_text(stmt, 2, key);
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
        status = fault(store, err);
    }
    sqlite3_finalize(stmt);
    return status;
}
