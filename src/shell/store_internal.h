/* SPDX-License-Identifier: MIT */
/* What the files of the store share: opening (store.c), writing, reading, and what is beside them.
 */
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

/* The columns of a row in the order in which both halves name them. */
#define CB_STORE_COLUMNS                                                                           \
    "row,id,at,event,unit,press,origin,seq,boot_ms,figure,stage,coat,found,on_at,on_pm_s,place,"   \
    "temp_c,rh_pct,air,climate_from,of,fields,sum"
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
    CB_COL_SUM, /* of all before */
};

/* The column of a field; 0: it stands in the JSON. `from` has one in climate_set only. */
enum cb_store_column cb_store_column_of(enum cb_event_kind kind, enum cb_field field);

struct cb_store_origin { /* item n has the id n + 1 */
    bool known, bad;     /* bad: its row is damaged or missing */
    const char *machine, *boot;
};

struct cb_store_map; /* store_map.h */

struct cb_store_asked { /* the text itself is the key: a literal has one place */
    const char *sql;
    struct sqlite3_stmt *stmt;
};
/* The file as it was last seen to be the log that was opened. */
struct cb_store_guard {
    bool begun;   /* the log is open */
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
    int64_t next_row; /* within a transaction that writes: of the next event */
    struct cb_store_map *map;
    CB_VEC(struct cb_store_asked) asked;
    CB_VEC(int64_t) bad_rows; /* those met so far, each once */
    bool lost;        /* a sum was wrong, or a row was gone: the disk's doing, not a writer's */
    char damage[160]; /* what else is wrong with it; empty: nothing */
    struct cb_store_guard guard;
    CB_VEC(struct cb_store_origin) origins;
    struct sqlite3_stmt *insert, *get_seq, *set_seq, *get_version, *get_rows, *get_id, *get_origin,
        *find_origin, *add_origin, *get_last;
};

/* "file:" and the path as SQLite takes it, and what follows; in the arena. */
const char *cb_store_uri(const struct cb_store *store, const char *tail, struct cb_arena *arena);

/* store_guard.c. begin: after opening. check: CB_IO when what lies there is not the log that was
 * opened, and has not grown out of it; before every transaction, a stat(2) where nothing changed.
 * leave: before SQLite closes; true: lost, its -wal is not put into what lies there. */
void cb_store_guard_begin(struct cb_store *store);
enum cb_status cb_store_guard_check(struct cb_store *store, struct cb_err *err);
bool cb_store_guard_leave(struct cb_store *store);
/* What has its name now is another file, or none. */
bool cb_store_has_moved(struct cb_store *store);

/* It counts on from 1 under another name, as if the log had moved to another machine. */
enum cb_status cb_store_rename_machine(struct cb_store *store, struct cb_err *err);

enum cb_status cb_store_fault(struct cb_store *store, struct cb_err *err);
/* A transaction that writes; end commits it when all went well, else takes everything back. */
enum cb_status cb_store_begin(struct cb_store *store, struct cb_err *err);
enum cb_status cb_store_end(struct cb_store *store, enum cb_status status, struct cb_err *err);
#define CB_STORE_BUSY_MS 2000 /* a press waits that long for another writer; estimate */
#define CB_STORE_ORIGINS                                                                           \
    1000000 /* boots in a log at most: more are no log of ours (own judgement) */
/* How far our own count may go when a log is opened or a line comes in; what is left of the range
 * is for the events of the one session that goes on behind it. */
#define CB_STORE_SEQ_MAX (CB_EVENT_SEQ_MAX - (INT64_C(1) << 40))
enum cb_status cb_store_read_seq(struct cb_store *store, int64_t *seq, struct cb_err *err);
/* store_damage.c: what is wrong with the file beside single events, into damage. */
enum cb_status cb_store_look_for_damage(struct cb_store *store, struct cb_err *err);
/* Made when first wanted and kept; NULL: SQLite refused, see cb_store_fault. */
struct sqlite3_stmt *cb_store_statement(struct cb_store *store, struct sqlite3_stmt **kept,
                                        const char *sql);
/* NULL binds null. The text must live until the statement is reset. */
void cb_store_bind_text(struct sqlite3_stmt *stmt, int at, const char *text);
/* Steps once and resets; *value stays as it is when there is no row. An SQLite code. */
int cb_store_ask(struct sqlite3_stmt *stmt, int64_t *value);
void cb_store_keep_origin(struct cb_store *store, int64_t id, const char *machine,
                          const char *boot);
/* Row of the log that can't be trusted: its sum is wrong, or an index has it and the table does
 * not. */
void cb_store_note_bad(struct cb_store *store, int64_t row); /* what it says is no event */
void cb_store_note_lost(struct cb_store *store, int64_t row);

/* All rows of these units and those rows: what a fold of the filter reads, by way of every undoing.
 * For whoever reads them and for whoever wants to know whether they are still the same. */
struct cb_store_wanted {
    CB_VEC(const char *) units; /* live as long as the store's map: until the next want */
    CB_VEC(int64_t) rows;       /* ascending, each once; may hold rows of the units too */
};
/* Within a read transaction. filter: open_units or unit. */
enum cb_status cb_store_want(struct cb_store *store, const struct cb_store_filter *filter,
                             struct cb_store_wanted *wanted, struct cb_err *err);
void cb_store_wanted_fini(struct cb_store_wanted *wanted);
void cb_store_wanted_sort(struct cb_store_wanted *wanted);
/* Notes as damage that the rows read of a unit are not all that were ever written of it: an index
 * may lack one. */
struct cb_store_read_of {
    int64_t events, rows_xor, first_ms, last_ms; /* rows_xor: of their sums */
};
void cb_store_check_unit(struct cb_store *store, const char *unit,
                         const struct cb_store_read_of *read);
/* store_derived.c: rows were found to be bad; what was kept may have been made of them while they
 * were whole. Once for the same rows. */
void cb_store_forget_kept(struct cb_store *store);
void cb_store_map_free(struct cb_store_map *map);

enum cb_status cb_store_read_id(struct cb_store *store, const char *id, struct cb_arena *arena,
                                const struct cb_event **event, struct cb_err *err);

#endif
