/* SPDX-License-Identifier: MIT */
/* Events into the log: presses, and what is imported. */
#include <errno.h>
#include <sqlite3.h>
#include <string.h>
#include <sys/random.h>

#include "base/str.h"
#include "base/vec.h"
#include "shell/jsonl.h"
#include "shell/store_internal.h"

#define ID_LETTERS   16 /* 80 random bits: a million ids collide once in 10^12 logs */
#define ORIGINS_NEAR 32 /* latest boots looked through before the index is asked */

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

void cb_store_keep_origin(struct cb_store *store, int64_t id, const char *machine, const char *boot)
{
    while ((int64_t)store->origins.count < id) {
        cb_vec_push(&store->origins, (struct cb_store_origin){0});
    }
    store->origins.items[id - 1] =
        (struct cb_store_origin){.known = true,
                                 .machine = cb_arena_text(&store->arena, machine),
                                 .boot = cb_arena_text(&store->arena, boot)};
}

static enum cb_status origin_id(struct cb_store *store, const struct cb_event *event, int64_t *id,
                                struct cb_err *err)
{
    size_t count = store->origins.count;
    for (size_t i = count; i > 0 && i + ORIGINS_NEAR > count; i--) {
        const struct cb_store_origin *origin = &store->origins.items[i - 1];
        if (origin->known && cb_str_same(origin->machine, event->machine) &&
            cb_str_same(origin->boot, event->boot)) {
            *id = (int64_t)i;
            return CB_OK;
        }
    }
    sqlite3_stmt *find = cb_store_statement(
        store, &store->find_origin, "SELECT origin FROM origin WHERE machine IS ? AND boot IS ?");
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
        sqlite3_stmt *add =
            cb_store_statement(store, &store->add_origin,
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
    [CB_FIELD_FIGURE] = CB_COL_FIGURE, [CB_FIELD_STAGE] = CB_COL_STAGE,
    [CB_FIELD_COAT] = CB_COL_COAT,     [CB_FIELD_FOUND] = CB_COL_FOUND,
    [CB_FIELD_ON_AT] = CB_COL_ON_AT,   [CB_FIELD_ON_PM_S] = CB_COL_ON_PM_S,
    [CB_FIELD_PLACE] = CB_COL_PLACE,   [CB_FIELD_TEMP_C] = CB_COL_TEMP_C,
    [CB_FIELD_RH_PCT] = CB_COL_RH_PCT, [CB_FIELD_AIR] = CB_COL_AIR,
    [CB_FIELD_OF] = CB_COL_OF,         [CB_FIELD_FROM] = CB_COL_CLIMATE_FROM,
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
    case CB_TYPE_BOOL: /* no column is for it */
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
    sqlite3_stmt *stmt = cb_store_statement(store, &store->insert,
                                            "INSERT INTO event(" CB_STORE_COLUMNS
                                            ") VALUES(?22," VALUES ",row_sum(?22," VALUES "))"
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

/* It would take the press into nowhere. */
static enum cb_status refuse_moved(const struct cb_store *store, struct cb_err *err)
{
    return cb_err_set(err, CB_IO,
                      "%s: the log was moved or deleted while it was open; put it back, or leave "
                      "and start again",
                      store->shown);
}

enum cb_status cb_store_begin(struct cb_store *store, struct cb_err *err)
{
    if (!store->writable) {
        return cb_err_set(err, CB_IO, "%s: opened for reading only", store->shown);
    }
    if (cb_store_has_moved(store)) {
        return refuse_moved(store, err);
    }
    if (cb_store_guard_check(store, err) != CB_OK) {
        return CB_IO;
    }
    sqlite3_stmt *last =
        cb_store_statement(store, &store->get_last, "SELECT coalesce(max(row), 0) + 1 FROM event");
    if (sqlite3_exec(store->db, "BEGIN IMMEDIATE", NULL, NULL, NULL) != SQLITE_OK) {
        return cb_store_fault(store, err);
    }
    if (cb_store_has_moved(store)) { /* while we waited for another writer */
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
        return refuse_moved(store, err);
    }
    if (cb_store_ask(last, &store->next_row) != SQLITE_OK) {
        const enum cb_status status = cb_store_fault(store, err);
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
        return status;
    }
    return CB_OK;
}

/* Commits when all went well, else takes everything back. */
enum cb_status cb_store_end(struct cb_store *store, enum cb_status status, struct cb_err *err)
{
    if (status == CB_OK && sqlite3_exec(store->db, "COMMIT", NULL, NULL, NULL) != SQLITE_OK) {
        status = cb_store_fault(store, err);
    }
    if (status != CB_OK) {
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
        cb_vec_free(&store->origins);
    }
    return status;
}

enum cb_status cb_store_read_seq(struct cb_store *store, int64_t *seq, struct cb_err *err)
{
    sqlite3_stmt *stmt = cb_store_statement(
        store, &store->get_seq, "SELECT CAST(value AS INTEGER) FROM meta WHERE name='seq'");
    return cb_store_ask(stmt, seq) == SQLITE_OK ? CB_OK : cb_store_fault(store, err);
}

static enum cb_status write_seq(struct cb_store *store, int64_t seq, struct cb_err *err)
{
    sqlite3_stmt *stmt =
        cb_store_statement(store, &store->set_seq,
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
    enum cb_status status = cb_store_read_seq(store, &seq, err);
    int64_t first = seq;
    for (size_t i = 0; i < count && status == CB_OK; i++) {
        struct cb_event event = *named[i];
        bool fresh = false;
        if (event.seq == 0 && cb_str_same(event.machine, store->machine)) {
            event.seq = seq + 1;
        }
        status = insert_event(store, &event, &json, &fresh, err);
        if (status == CB_OK && fresh) {
            seq = event.seq > seq && cb_str_same(event.machine, store->machine) ? event.seq : seq;
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
                             size_t count, struct cb_arena *arena, const struct cb_event ***named,
                             struct cb_err *err)
{
    struct cb_event **copies = cb_arena_alloc(arena, count ? count : 1, sizeof(struct cb_event *));
    const struct cb_event **kept = cb_arena_alloc(arena, count ? count : 1, sizeof *kept);
    int64_t seq = 0;
    enum cb_status status = name_events(store, events, count, arena, copies, err);
    if (status == CB_OK) {
        status = cb_store_read_seq(store, &seq, err);
    }
    seq = seq > store->named_seq ? seq : store->named_seq;
    for (size_t i = 0; i < count && status == CB_OK; i++) {
        if (copies[i]->seq == 0 && cb_str_same(copies[i]->machine, store->machine)) {
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
    status = cb_store_begin(store, err);
    if (status == CB_OK) {
        status = cb_store_end(store, insert_named(store, named, count, arena, kept, err), err);
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
    if (status == CB_OK && event->seq > CB_STORE_SEQ_MAX &&
        cb_str_same(event->machine, store->machine) && !is_there(store, event->id)) {
        status = cb_err_set(err, CB_DATA,
                            "seq: %lld in the name of this very log, which takes at most %lld: it "
                            "counts on from there",
                            (long long)event->seq, (long long)CB_STORE_SEQ_MAX);
    }
    return status;
}

enum cb_status cb_store_import(struct cb_store *store,
                               enum cb_status (*next)(void *context, const struct cb_event **event,
                                                      struct cb_err *err),
                               void *context, size_t *added, struct cb_err *err)
{
    struct cb_str json = {0};
    const struct cb_event *event = NULL;
    int64_t seq = 0;
    *added = 0;
    enum cb_status status = cb_store_begin(store, err);
    if (status != CB_OK) {
        return status;
    }
    /* ids are random, so a long import touches the whole index: most of it stays in these 96 MB,
     * and a million events with what they teach in 200 (measured) */
    sqlite3_exec(store->db, "PRAGMA cache_size=-98304", NULL, NULL, NULL);
    status = cb_store_read_seq(store, &seq, err);
    int64_t first = seq;
    while (status == CB_OK && (status = next(context, &event, err)) == CB_OK && event) {
        bool fresh = false;
        status = cb_store_takes(store, event, err);
        if (status == CB_OK) {
            status = insert_event(store, event, &json, &fresh, err);
        }
        *added += fresh;
        /* our own events coming home: the count goes on behind them */
        if (fresh && event->seq > seq && cb_str_same(event->machine, store->machine)) {
            seq = event->seq;
        }
    }
    if (status == CB_OK && seq != first) {
        status = write_seq(store, seq, err);
    }
    cb_str_fini(&json);
    status = cb_store_end(store, status, err);
    sqlite3_exec(store->db, "PRAGMA cache_size=-2000", NULL, NULL, NULL);
    return status;
}
