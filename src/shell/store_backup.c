/* SPDX-License-Identifier: MIT */
#include "shell/store_backup.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "shell/store_file.h"
#include "shell/store_internal.h"
#include "shell/store_sum.h"

/* Of one piece, so that it takes a few ms (measured: bench_backup). */
#define STEP_PAGES 64
#define STEP_ROWS  1000

enum part { COPY, LOOK, SETTLE, DONE };

struct cb_backup {
    struct cb_store *store;
    struct cb_arena arena;
    const char *path, *made; /* its own name, and that under which it is made */
    sqlite3 *db;             /* at made */
    sqlite3_backup *work;
    sqlite3_stmt *rows; /* of the copy, as they are looked at */
    int fd;             /* made, so that its pages go to the disk as they come */
    enum part part;
    bool waits; /* the last piece came to nothing */
    int64_t row;
};

static enum cb_status fail(struct cb_backup *backup, struct cb_err *err, const char *why)
{
    return cb_err_set(err, CB_IO, "%s: the backup can't be made: %s",
                      cb_utf8_clean(&backup->arena, backup->path, 200), why);
}

/* Asks nothing of the log, which another program may hold. A file system that can't say is taken to
 * have room. */
static enum cb_status check_room(struct cb_backup *backup, struct cb_err *err)
{
    struct statvfs room;
    struct stat log;
    if (backup->store->real && stat(backup->store->real, &log) == 0 &&
        fstatvfs(backup->fd, &room) == 0 && room.f_frsize > 0 &&
        (int64_t)room.f_bavail < 2 * log.st_size / (int64_t)room.f_frsize) {
        return fail(backup, err, "the disk has less than twice the log's size free");
    }
    return CB_OK;
}

enum cb_status cb_backup_begin(struct cb_store *store, const char *path, struct cb_backup **out,
                               struct cb_err *err)
{
    struct cb_backup *backup = cb_mem_new(1, sizeof *backup);
    enum cb_status status = CB_OK;
    *out = backup;
    backup->store = store;
    backup->fd = -1;
    backup->path = cb_arena_text(&backup->arena, path);
    backup->made = cb_store_file_unused(path, "part", &backup->arena);
    if (cb_store_is_damaged(store)) {
        status = cb_err_set(err, CB_DATA, "%s", cb_store_damage(store, &backup->arena));
    }
    if (status == CB_OK) {
        status = cb_store_file_make(backup->made, err);
    }
    if (status == CB_OK) {
        backup->fd = open(backup->made, O_RDWR | O_NOFOLLOW | O_CLOEXEC);
        status = backup->fd < 0 ? fail(backup, err, strerror(errno)) : check_room(backup, err);
    }
    if (status == CB_OK &&
        (sqlite3_open_v2(backup->made, &backup->db,
                         SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_PRIVATECACHE,
                         NULL) != SQLITE_OK ||
         sqlite3_exec(backup->db, "PRAGMA synchronous=OFF; PRAGMA journal_mode=OFF", NULL, NULL,
                      NULL) != SQLITE_OK ||
         !(backup->work = sqlite3_backup_init(backup->db, "main", store->db, "main")))) {
        status = fail(backup, err, sqlite3_errmsg(backup->db));
    }
    if (status != CB_OK) {
        cb_backup_end(backup);
        *out = NULL;
    }
    return status;
}

/* The pages go to the disk as they come, so that there is little left for the fsync at the end. */
static enum cb_status copy(struct cb_backup *backup, struct cb_err *err)
{
    const int code = sqlite3_backup_step(backup->work, STEP_PAGES);
    (void)sync_file_range(backup->fd, 0, 0, SYNC_FILE_RANGE_WRITE);
    backup->waits = code == SQLITE_BUSY || code == SQLITE_LOCKED;
    if (code == SQLITE_OK || backup->waits) {
        return CB_OK;
    }
    const int ended = sqlite3_backup_finish(backup->work);
    backup->work = NULL;
    if (code != SQLITE_DONE || ended != SQLITE_OK) {
        return fail(backup, err, sqlite3_errstr(code == SQLITE_DONE ? ended : code));
    }
    /* as it lies, without companions of its own */
    sqlite3_close(backup->db);
    backup->db = NULL;
    struct cb_store as = {.real = backup->made};
    const char *uri = cb_store_uri(&as, "?immutable=1", &backup->arena);
    static const char sql[] = "SELECT " CB_STORE_COLUMNS " FROM event WHERE row > ? ORDER BY row"
                              " LIMIT ?";
    if (sqlite3_open_v2(uri, &backup->db,
                        SQLITE_OPEN_READONLY | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX |
                            SQLITE_OPEN_PRIVATECACHE,
                        NULL) != SQLITE_OK ||
        sqlite3_prepare_v2(backup->db, sql, -1, &backup->rows, NULL) != SQLITE_OK) {
        return fail(backup, err, sqlite3_errmsg(backup->db));
    }
    backup->part = LOOK;
    return CB_OK;
}

/* The name is taken only while nobody has it. */
static enum cb_status settle(struct cb_backup *backup, struct cb_err *err)
{
    if (!cb_store_file_settle(backup->made, backup->path)) {
        return errno == EEXIST
                   ? cb_err_set(err, CB_FAILED,
                                "%s: there is a file of that name, and it was left; give another",
                                cb_utf8_clean(&backup->arena, backup->path, 200))
                   : fail(backup, err, strerror(errno));
    }
    backup->part = DONE;
    return CB_OK;
}

/* Machine, count and boots, on which the fold's order rests. */
static bool notes_hold(struct cb_backup *backup)
{
    static const char sql[] =
        "SELECT (SELECT count(*) FROM meta WHERE sum IS NOT row_sum(name, value))"
        " + (SELECT count(*) FROM origin WHERE sum IS NOT row_sum(origin, machine, boot))";
    sqlite3_stmt *stmt = NULL;
    int64_t wrong = 1;
    if (cb_store_sum_functions(backup->db) == SQLITE_OK &&
        sqlite3_prepare_v2(backup->db, sql, -1, &stmt, NULL) == SQLITE_OK) {
        (void)cb_store_ask(stmt, &wrong);
    }
    sqlite3_finalize(stmt);
    return wrong == 0;
}

/* Every row is there and whole. */
static enum cb_status look(struct cb_backup *backup, struct cb_err *err)
{
    int code;
    int64_t seen = 0;
    bool whole = true;
    sqlite3_bind_int64(backup->rows, 1, backup->row);
    sqlite3_bind_int64(backup->rows, 2, STEP_ROWS);
    while (whole && (code = sqlite3_step(backup->rows)) == SQLITE_ROW) {
        const int64_t row = sqlite3_column_int64(backup->rows, CB_COL_ROW);
        whole = row == backup->row + 1 && cb_store_sum_of(backup->rows, 0, CB_COL_SUM) ==
                                              sqlite3_column_int64(backup->rows, CB_COL_SUM);
        backup->row = row;
        seen++;
    }
    sqlite3_reset(backup->rows);
    if (!whole || code != SQLITE_DONE) {
        return cb_err_set(err, CB_DATA,
                          "%s: no backup was made of it, for an event of it is damaged (row "
                          "%lld); see `coatbell log check`",
                          backup->store->shown, (long long)backup->row);
    }
    if (seen == STEP_ROWS) {
        return CB_OK;
    }
    backup->part = SETTLE;
    return notes_hold(backup) ? CB_OK
                              : cb_err_set(err, CB_DATA,
                                           "%s: no backup was made of it, for its notes are "
                                           "damaged; see `coatbell log check`",
                                           backup->store->shown);
}

static enum cb_status step(struct cb_backup *backup, bool *more, struct cb_err *err)
{
    static enum cb_status (*const parts[])(struct cb_backup *, struct cb_err *) = {
        [COPY] = copy, [LOOK] = look, [SETTLE] = settle};
    const enum cb_status status = backup->part == DONE ? CB_OK : parts[backup->part](backup, err);
    *more = status == CB_OK && backup->part != DONE;
    return status;
}

enum cb_status cb_backup_step(struct cb_backup *backup, bool *more, struct cb_err *err)
{
    sqlite3_busy_timeout(backup->store->db, 0);
    const enum cb_status status = step(backup, more, err);
    sqlite3_busy_timeout(backup->store->db, CB_STORE_BUSY_MS);
    return status;
}

bool cb_backup_waits(const struct cb_backup *backup)
{
    return backup->waits;
}

void cb_backup_end(struct cb_backup *backup)
{
    if (!backup) {
        return;
    }
    sqlite3_backup_finish(backup->work);
    sqlite3_finalize(backup->rows);
    sqlite3_close(backup->db);
    if (backup->fd >= 0) {
        close(backup->fd);
        if (backup->part != DONE) {
            unlink(backup->made);
        }
    }
    cb_arena_fini(&backup->arena);
    free(backup);
}

enum cb_status cb_store_backup(struct cb_store *store, const char *path, struct cb_err *err)
{
    struct cb_backup *backup = NULL;
    bool more = true;
    enum cb_status status = cb_backup_begin(store, path, &backup, err);
    while (status == CB_OK && more) {
        status = step(backup, &more, err);
        if (status == CB_OK && backup->waits) {
            status = fail(backup, err, "another program has been writing for over two seconds");
        }
    }
    cb_backup_end(backup);
    return status;
}

/* ---- those beside the log ---- */

struct names {
    CB_VEC(const char *) list;
};

static int by_name(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* Of files named LOG.KIND-DATE, their dates, oldest first; dates are of that length. */
static void find_all(const char *real, const char *kind, size_t length, struct cb_arena *arena,
                     struct names *names)
{
    const char *name = strrchr(real, '/') + 1;
    DIR *folder = opendir(cb_arena_text_n(arena, real, (size_t)(name - real)));
    const char *start = cb_arena_printf(arena, "%s.%s-", name, kind);
    const size_t skip = strlen(start);
    for (const struct dirent *entry; folder && (entry = readdir(folder)) != NULL;) {
        const char *date = entry->d_name + skip;
        if (strncmp(entry->d_name, start, skip) == 0 && strlen(date) == length &&
            strspn(date, "0123456789-") == length) {
            cb_vec_push(&names->list, (const char *)cb_arena_text(arena, date));
        }
    }
    if (folder) {
        closedir(folder);
    }
    if (names->list.count > 1) {
        qsort(names->list.items, names->list.count, sizeof *names->list.items, by_name);
    }
}

/* How far a log goes: its last row, and what tells it from every other log's end. */
struct end {
    int64_t row;
    const char *text; /* NULL: it can't be told */
};

static struct end end_of(sqlite3 *db, struct cb_arena *arena)
{
    static const char sql[] =
        "SELECT row, (SELECT value FROM meta WHERE name = 'machine') || ' ' || id || ' ' || sum"
        " FROM event ORDER BY row DESC LIMIT 1";
    struct end end = {0};
    sqlite3_stmt *stmt = NULL;
    int code = sqlite3_prepare_v2(db, sql, -1, &stmt, NULL);
    if (code == SQLITE_OK && (code = sqlite3_step(stmt)) == SQLITE_ROW) {
        const char *text = (const char *)sqlite3_column_text(stmt, 1);
        end.row = sqlite3_column_int64(stmt, 0);
        end.text = text ? cb_arena_text(arena, text) : NULL;
    } else if (code == SQLITE_DONE) {
        end.text = "";
    }
    sqlite3_finalize(stmt);
    return end;
}

/* Of a backup, as it lies. */
static struct end end_of_daily(const char *real, const char *day, struct cb_arena *arena)
{
    sqlite3 *db = NULL;
    struct end end = {0};
    struct cb_store as = {.real = cb_arena_printf(arena, "%s.daily-%s", real, day)};
    if (sqlite3_open_v2(cb_store_uri(&as, "?immutable=1", arena), &db,
                        SQLITE_OPEN_READONLY | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX |
                            SQLITE_OPEN_PRIVATECACHE,
                        NULL) == SQLITE_OK) {
        end = end_of(db, arena);
    }
    sqlite3_close(db);
    return end;
}

const char *cb_backup_due(struct cb_store *store, const char day[11], struct cb_arena *arena)
{
    struct names days = {0};
    if (!store->real) {
        return NULL;
    }
    const char *month = cb_arena_printf(arena, "%s.monthly-%.7s", store->real, day);
    const char *path = cb_arena_printf(arena, "%s.daily-%s", store->real, day);
    if (access(path, F_OK) == 0) {
        return access(month, F_OK) == 0 ? NULL : month;
    }
    find_all(store->real, "daily", 10, arena, &days);
    sqlite3_busy_timeout(store->db, 0);
    const struct end now = end_of(store->db, arena);
    sqlite3_busy_timeout(store->db, CB_STORE_BUSY_MS);
    const struct end last =
        days.list.count > 0 ? end_of_daily(store->real, days.list.items[days.list.count - 1], arena)
                            : (struct end){.text = ""};
    cb_vec_free(&days.list);
    const bool same = now.text && last.text && strcmp(now.text, last.text) == 0;
    return same ? NULL : path;
}

/* The day of the backup with most events, if that of this day has fewer; else this day. */
static const char *fullest(const char *real, const char *day, struct cb_arena *arena)
{
    struct names names = {0};
    const char *found = day;
    int64_t most = end_of_daily(real, day, arena).row;
    find_all(real, "daily", 10, arena, &names);
    for (size_t i = 0; i < names.list.count; i++) {
        const int64_t row = end_of_daily(real, names.list.items[i], arena).row;
        found = row > most ? names.list.items[i] : found;
        most = row > most ? row : most;
    }
    cb_vec_free(&names.list);
    return found;
}

/* stays: one that is none of those too many. */
static void drop_oldest(const char *real, const char *kind, const char *day, const char *stays,
                        size_t length)
{
    struct cb_arena arena = {0};
    struct names names = {0};
    find_all(real, kind, length, &arena, &names);
    size_t left = names.list.count - (strncmp(day, stays, length) != 0);
    for (size_t i = 0; i < names.list.count && left > CB_BACKUPS_KEPT; i++) {
        const char *date = names.list.items[i];
        if (strncmp(date, day, length) != 0 && strncmp(date, stays, length) != 0) {
            unlink(cb_arena_printf(&arena, "%s.%s-%s", real, kind, date));
            left--;
        }
    }
    cb_vec_free(&names.list);
    cb_arena_fini(&arena);
}

/* Those that were cut off. */
static void drop_parts(const char *real)
{
    struct cb_arena arena = {0};
    const char *name = strrchr(real, '/') + 1;
    const char *folder_name = cb_arena_text_n(&arena, real, (size_t)(name - real));
    DIR *folder = opendir(folder_name);
    for (const struct dirent *entry; folder && (entry = readdir(folder)) != NULL;) {
        const char *rest = entry->d_name + strlen(name);
        if (strncmp(entry->d_name, name, strlen(name)) == 0 &&
            (strncmp(rest, ".daily-", 7) == 0 || strncmp(rest, ".monthly-", 9) == 0 ||
             strncmp(rest, ".backup-v", 9) == 0) &&
            strstr(rest, ".part") != NULL) {
            unlink(cb_arena_printf(&arena, "%s%s", folder_name, entry->d_name));
        }
    }
    if (folder) {
        closedir(folder);
    }
    cb_arena_fini(&arena);
}

void cb_backup_tidy(struct cb_store *store, const char day[11])
{
    struct cb_arena arena = {0};
    drop_parts(store->real);
    drop_oldest(store->real, "daily", day, fullest(store->real, day, &arena), 10);
    drop_oldest(store->real, "monthly", day, day, 7);
    cb_store_file_sync_folder(store->real);
    cb_arena_fini(&arena);
}
