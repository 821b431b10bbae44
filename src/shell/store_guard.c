/* SPDX-License-Identifier: MIT */
/*
 * Is the file below still the log that was opened? Whoever copies another file over it, or cuts it
 * short, leaves inode and lock as they were, and SQLite, which reads the log's head from its -wal,
 * goes on writing to what is gone.
 *
 * Only a checkpoint writes to the file while it is open, so as long as size and time are those last
 * seen there is nothing to look at. When they differ, the file is read as it lies, without its
 * -wal: a checkpoint only ever takes it forward, the machine stays and neither the count of events
 * nor SQLite's own of changes goes back, as it does in an older copy.
 */
#include <sqlite3.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include "shell/store_internal.h"

#define TRIES  4 /* a page may be read while a checkpoint writes it */
#define NAP_NS 10000000

enum whole { WHOLE, UNREAD, LOST };

/* The head of the file, sqlite.org/fileformat2.html, 1.3. */
struct head {
    int64_t size, pages_size; /* of the file; of the pages that it is to have, 0: not said */
    uint32_t changes;
    bool good;
};

static uint32_t number_at(const unsigned char *bytes)
{
    return (uint32_t)bytes[0] << 24 | (uint32_t)bytes[1] << 16 | (uint32_t)bytes[2] << 8 | bytes[3];
}

/* By the descriptor that SQLite has: closing another one would let go of its locks, fcntl(2). */
static struct head read_head(struct cb_store *store)
{
    struct head head = {0};
    unsigned char bytes[100];
    sqlite3_file *file = NULL;
    sqlite3_int64 size = 0;
    if (sqlite3_file_control(store->db, NULL, SQLITE_FCNTL_FILE_POINTER, &file) != SQLITE_OK ||
        file->pMethods->xFileSize(file, &size) != SQLITE_OK ||
        file->pMethods->xRead(file, bytes, sizeof bytes, 0) != SQLITE_OK) {
        return head;
    }
    const int64_t page = bytes[16] << 8 | bytes[17];
    head.size = size;
    head.changes = number_at(bytes + 24);
    head.pages_size = head.changes == number_at(bytes + 92)
                          ? (page == 1 ? 65536 : page) * (int64_t)number_at(bytes + 28)
                          : 0;
    head.good = memcmp(bytes, "SQLite format 3", 16) == 0 && bytes[18] == 2 && bytes[19] == 2;
    return head;
}

/* The log's machine and count of events as they stand in the file. */
static enum whole read_meta(struct cb_store *store, const char **machine, int64_t *seq,
                            struct cb_arena *arena)
{
    static const char sql[] = "SELECT (SELECT value FROM meta WHERE name = 'machine'),"
                              " (SELECT CAST(value AS INTEGER) FROM meta WHERE name = 'seq')";
    sqlite3 *db = NULL;
    sqlite3_stmt *stmt = NULL;
    enum whole found = UNREAD;
    const char *uri = cb_store_uri(store, "?immutable=1", arena);
    if (sqlite3_open_v2(uri, &db,
                        SQLITE_OPEN_READONLY | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX |
                            SQLITE_OPEN_PRIVATECACHE,
                        NULL) == SQLITE_OK) {
        const int code = sqlite3_prepare_v2(db, sql, -1, &stmt, NULL);
        *machine = NULL;
        if (code == SQLITE_ERROR) { /* no such table */
            found = WHOLE;
        } else if (code == SQLITE_OK && sqlite3_step(stmt) == SQLITE_ROW) {
            found = WHOLE;
            *machine = cb_arena_text(arena, (const char *)sqlite3_column_text(stmt, 0));
            *seq = sqlite3_column_int64(stmt, 1);
        }
        sqlite3_finalize(stmt);
    }
    sqlite3_close(db);
    return found;
}

/* Not a page of ours is in the file yet: so it stays until the first checkpoint. */
static bool is_bare(const struct cb_store_guard *guard, const struct head *head)
{
    return !guard->settled &&
           (guard->seen_ns == 0 || (head->size == guard->size && head->changes == guard->changes));
}

static int64_t changed_ns(const struct stat *status)
{
    return status->st_mtim.tv_sec * INT64_C(1000000000) + status->st_mtim.tv_nsec;
}

static enum whole look(struct cb_store *store)
{
    struct cb_store_guard *guard = &store->guard;
    struct stat status;
    if (stat(store->real, &status) != 0) { /* first: what changes meanwhile is looked at again */
        return UNREAD;
    }
    const struct head head = read_head(store);
    if (!head.good || head.changes < guard->changes) {
        return LOST;
    }
    if (head.size < head.pages_size) { /* a checkpoint under way: the head first, nothing cut off */
        return head.size < guard->size ? LOST : WHOLE;
    }
    struct cb_arena arena = {0};
    const char *machine = NULL;
    int64_t seq = 0;
    enum whole whole = read_meta(store, &machine, &seq, &arena);
    const bool ours =
        machine ? strcmp(machine, store->machine) == 0 && seq >= guard->seq : is_bare(guard, &head);
    if (whole == WHOLE && ours) {
        *guard = (struct cb_store_guard){.begun = true,
                                         .settled = machine != NULL,
                                         .size = head.size,
                                         .seq = seq,
                                         .changes = head.changes,
                                         .seen_ns = changed_ns(&status)};
    }
    cb_arena_fini(&arena);
    return whole == WHOLE && !ours ? LOST : whole;
}

static enum whole look_again(struct cb_store *store)
{
    enum whole whole = look(store);
    for (int i = 1; i < TRIES && whole != WHOLE; i++) {
        nanosleep(&(struct timespec){0, NAP_NS}, NULL);
        whole = look(store);
    }
    return whole;
}

void cb_store_guard_begin(struct cb_store *store)
{
    store->guard = (struct cb_store_guard){.begun = true};
    if (store->real && store->writable) {
        (void)look(store);
    }
}

enum cb_status cb_store_guard_check(struct cb_store *store, struct cb_err *err)
{
    struct cb_store_guard *guard = &store->guard;
    struct stat status;
    if (!store->real || !guard->begun ||
        (guard->seen_ns != 0 && stat(store->real, &status) == 0 && status.st_size == guard->size &&
         changed_ns(&status) == guard->seen_ns)) {
        guard->lost = false;
        return CB_OK;
    }
    const enum whole whole = look_again(store);
    guard->lost = whole == LOST;
    return whole == WHOLE ? CB_OK
                          : cb_err_set(err, CB_IO,
                                       "%s: the log was written over or cut short: put it back, "
                                       "or leave and start again",
                                       store->shown);
}

bool cb_store_has_moved(struct cb_store *store)
{
    int moved = 0;
    return store->real &&
           sqlite3_file_control(store->db, NULL, SQLITE_FCNTL_HAS_MOVED, &moved) == SQLITE_OK &&
           moved != 0;
}

bool cb_store_guard_leave(struct cb_store *store)
{
    const bool lost = store->guard.lost && look_again(store) == LOST;
    if (lost) {
        sqlite3_db_config(store->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, NULL);
    }
    return lost;
}
