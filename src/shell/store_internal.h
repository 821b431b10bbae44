/* SPDX-License-Identifier: MIT */
/* What the two halves of the store, writing (store.c) and reading (store_read.c), share. */
#ifndef CB_SHELL_STORE_INTERNAL_H
#define CB_SHELL_STORE_INTERNAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/vec.h"
#include "shell/store.h"

struct sqlite3;
struct sqlite3_stmt;

/* Events without a unit: few in a log, and many. */
#define CB_STORE_RARE                                                                             \
    "('answered','confidence_set','cue_muted','evidence_forgotten','bottle_new','paint_joined')"
#define CB_STORE_OFTEN                                                                            \
    "('session_opened','session_closed','climate_set','pause_begun','pause_ended','away',"        \
    "'chore_done','caution_read','pinged','note','undone')"

/* No undoing of the event's press stands. An undoing may be undone in its turn, and so on: followed
 * six deep, three times to and fro (own judgement); what goes further looks undone. */
#define CB_STORE_UNDOING(of, by, unless)                                                          \
    "NOT EXISTS (SELECT 1 FROM event AS " by " WHERE " by ".of IS NOT NULL AND " by ".of = " of    \
    ".press AND " unless ")"
#define CB_STORE_NOT_UNDONE(alias)                                                                \
    CB_STORE_UNDOING(alias, "u1", CB_STORE_UNDOING("u1", "u2",                                    \
    CB_STORE_UNDOING("u2", "u3", CB_STORE_UNDOING("u3", "u4",                                     \
    CB_STORE_UNDOING("u4", "u5", CB_STORE_UNDOING("u5", "u6", "1"))))))

/* The columns of a row in the order in which both halves name them. */
#define CB_STORE_COLUMNS                                                                          \
    "row,id,at,event,unit,press,origin,seq,boot_ms,figure,stage,coat,found,on_at,on_pm_s,place,"  \
    "temp_c,rh_pct,air,climate_from,of,fields"
enum cb_store_column {
    CB_COL_ROW,
    CB_COL_ID,
    CB_COL_AT,
    CB_COL_EVENT,
    CB_COL_UNIT,
    CB_COL_PRESS,
    CB_COL_ORIGIN,
    CB_COL_SEQ,
    CB_COL_BOOT_MS,
    CB_COL_FIGURE,
    CB_COL_STAGE,
    CB_COL_COAT,
    CB_COL_FOUND,
    CB_COL_ON_AT,
    CB_COL_ON_PM_S,
    CB_COL_PLACE,
    CB_COL_TEMP_C,
    CB_COL_RH_PCT,
    CB_COL_AIR,
    CB_COL_CLIMATE_FROM,
    CB_COL_OF,
    CB_COL_FIELDS,
};

/* The column of a field; 0: it stands in the JSON. `from` has one in climate_set only. */
enum cb_store_column cb_store_column_of(enum cb_event_kind kind, enum cb_field field);

struct cb_store_origin { /* item n has the id n + 1 */
    bool known;
    const char *machine, *boot;
};

/* The file as it was last seen to be the log that was opened. */
struct cb_store_guard {
    bool settled; /* machine and seq stand in the file itself, not in its -wal alone */
    bool lost;    /* it was another when last looked at */
    int64_t size, seq, seen_ns; /* seen_ns: time of its last change; 0: never seen whole */
    uint32_t changes;           /* SQLite's own count */
};

struct cb_store {
    struct sqlite3 *db;
    struct cb_arena arena;
    const char *shown; /* path for messages */
    const char *real;  /* NULL: memory */
    bool writable;
    int lock_fd, watch_fd;
    bool locked;
    const char *machine;
    int64_t named_seq; /* the greatest given to what still waits for the disk */
    int64_t data_version;
    struct cb_store_guard guard;
    CB_VEC(struct cb_store_origin) origins;
    struct sqlite3_stmt *insert, *get_seq, *set_seq, *get_version, *get_row,
        *get_id, *get_origin, *find_origin, *add_origin;
};

/* "file:" and the path as SQLite takes it, and what follows; in the arena. */
const char *cb_store_uri(const struct cb_store *store, const char *tail, struct cb_arena *arena);

/* store_guard.c. begin: after opening. check: CB_IO when what lies there is not the log that was
 * opened, and has not grown out of it; before every transaction, a stat(2) where nothing changed.
 * leave: before SQLite closes; true: lost, its -wal is not put into what lies there. */
void cb_store_guard_begin(struct cb_store *store);
enum cb_status cb_store_guard_check(struct cb_store *store, struct cb_err *err);
bool cb_store_guard_leave(struct cb_store *store);

enum cb_status cb_store_fault(struct cb_store *store, struct cb_err *err);
/* Made when first wanted and kept; NULL: SQLite refused, see cb_store_fault. */
struct sqlite3_stmt *cb_store_statement(struct cb_store *store, struct sqlite3_stmt **kept,
                                        const char *sql);
/* NULL binds null. The text must live until the statement is reset. */
void cb_store_bind_text(struct sqlite3_stmt *stmt, int at, const char *text);
/* Steps once and resets; *value stays as it is when there is no row. An SQLite code. */
int cb_store_ask(struct sqlite3_stmt *stmt, int64_t *value);
void cb_store_keep_origin(struct cb_store *store, int64_t id, const char *machine,
                          const char *boot);
enum cb_status cb_store_read_id(struct cb_store *store, const char *id, struct cb_arena *arena,
                                const struct cb_event **event, struct cb_err *err);

#endif
