/* SPDX-License-Identifier: MIT */
#include "shell/store_restore.h"

#include <sqlite3.h>
#include <string.h>
#include <unistd.h>

#include "base/str.h"
#include "base/utf8.h"
#include "shell/migrate.h"
#include "shell/store_check.h"
#include "shell/store_file.h"
#include "shell/store_internal.h"
#include "shell/store_salvage.h"
#include "shell/store_swap.h"

struct restoring {
    struct cb_arena *arena;
    const char *shown, *real; /* the log as it was named, and itself */
    const char *fresh;        /* what is to take its place */
    struct cb_store *store;   /* at fresh */
    struct cb_restored *restored;
    struct cb_store_swap swap;
};

/* All pages of the backup, those in its -wal too, into a new file; the backup is only read. */
static enum cb_status copy(const struct restoring *restoring, const char *from, struct cb_err *err)
{
    sqlite3 *source = NULL;
    sqlite3 *into = NULL;
    sqlite3_backup *work = NULL;
    int code = SQLITE_CANTOPEN;
    enum cb_status status = cb_store_file_make(restoring->fresh, err);
    if (status != CB_OK) {
        return status;
    }
    struct cb_store as = {.real = from};
    const char *wal = cb_arena_printf(restoring->arena, "%s-wal", from);
    const char *tail = access(wal, F_OK) == 0 ? "?mode=ro" : "?immutable=1";
    if (sqlite3_open_v2(cb_store_uri(&as, tail, restoring->arena), &source,
                        SQLITE_OPEN_READONLY | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX,
                        NULL) == SQLITE_OK &&
        sqlite3_open_v2(restoring->fresh, &into, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX,
                        NULL) == SQLITE_OK &&
        (work = sqlite3_backup_init(into, "main", source, "main")) != NULL) {
        code = sqlite3_backup_step(work, -1);
    }
    sqlite3_backup_finish(work);
    if (code != SQLITE_DONE) {
        const bool ours = (code & 0xff) == SQLITE_FULL || (code & 0xff) == SQLITE_IOERR;
        status = cb_err_set(
            err, ours ? CB_IO : CB_DATA, "%s: %s: %s", cb_utf8_clean(restoring->arena, from, 200),
            ours ? "it can't be copied" : "no whole coatbell log", sqlite3_errstr(code));
    }
    sqlite3_close(into);
    sqlite3_close(source);
    return status;
}

/* Brought up to date, and read whole. */
static enum cb_status open_copy(struct restoring *restoring, const char *from, struct cb_err *err)
{
    struct cb_err found = {0};
    struct cb_flaws flaws = {0};
    const char *shown = cb_utf8_clean(restoring->arena, from, 200);
    enum cb_status status =
        cb_store_open(restoring->fresh, CB_STORE_APPEND, &restoring->store, &found);
    for (size_t version = 1; version < cb_migrate_step_count; version++) {
        /* what bringing it up to date put by: the backup itself is that */
        unlink(cb_arena_printf(restoring->arena, "%s.backup-v%zu", restoring->fresh, version));
    }
    if (status != CB_OK) {
        const char *why = strstr(found.text, restoring->fresh) == found.text
                              ? found.text + strlen(restoring->fresh)
                              : found.text;
        return cb_err_set(err, status, "%s%s", shown, why);
    }
    (void)cb_store_check_open(restoring->store, restoring->arena, &flaws);
    for (size_t i = 0; i < flaws.list.count && status == CB_OK; i++) {
        if (flaws.list.items[i].mend != CB_MEND_NOTHING) {
            status = cb_err_set(err, CB_DATA,
                                "%s: it is damaged (%s); `coatbell log check --mend --log FILE` "
                                "mends it",
                                shown, flaws.list.items[i].text);
        }
    }
    cb_flaws_fini(&flaws);
    return status;
}

struct counting {
    sqlite3_stmt *find;
    size_t lacking;
};

static bool count_lacking(void *context, const struct cb_event *event)
{
    struct counting *counting = context;
    int64_t there = 0;
    cb_store_bind_text(counting->find, 1, event->id);
    (void)cb_store_ask(counting->find, &there);
    counting->lacking += there == 0;
    return true;
}

static int64_t seq_of(struct cb_store *store)
{
    int64_t seq = 0;
    return cb_store_read_seq(store, &seq, NULL) == CB_OK ? seq : INT64_MAX;
}

/* What the log, as it is kept, has that the copy lacks. *same: it is the same log, and none of its
 * own events are among that. */
static void compare(struct restoring *restoring, bool *same)
{
    struct cb_store *old = NULL;
    struct cb_salvage found;
    struct counting counting = {0};
    *same = false;
    const bool whole = cb_store_open(restoring->swap.kept, CB_STORE_READ, &old, NULL) == CB_OK &&
                       !cb_store_is_damaged(old);
    if (!whole) {
        cb_store_close(old);
        restoring->restored->unknown =
            cb_store_salvage(restoring->swap.kept, NULL, &old, &found, NULL) != CB_OK;
    }
    if (!restoring->restored->unknown &&
        sqlite3_prepare_v2(restoring->store->db, "SELECT 1 FROM event WHERE id = ?", -1,
                           &counting.find, NULL) == SQLITE_OK) {
        restoring->restored->unknown =
            cb_store_each(old, NULL, count_lacking, &counting, NULL) != CB_OK;
        restoring->restored->lacking = counting.lacking;
        *same = whole && !cb_store_is_damaged(old) &&
                strcmp(old->machine, restoring->store->machine) == 0 &&
                seq_of(old) <= seq_of(restoring->store);
    }
    sqlite3_finalize(counting.find);
    cb_store_close(old);
}

static enum cb_status judge(struct restoring *restoring, bool sure, struct cb_err *err)
{
    const struct cb_restored *restored = restoring->restored;
    if (sure || (restored->lacking == 0 && !restored->unknown)) {
        return CB_OK;
    }
    if (restored->unknown) {
        return cb_err_set(
            err, CB_FAILED,
            "%s: it can't be read, so it can't be told what would be lost; --yes puts "
            "the backup in its place all the same, and keeps this log beside it",
            restoring->shown);
    }
    return cb_err_set(err, CB_FAILED,
                      "%s: it holds %zu event%s that the backup has not; --yes puts the backup in "
                      "its place all the same, and keeps this log beside it",
                      restoring->shown, restored->lacking, restored->lacking == 1 ? "" : "s");
}

/* The last of the copy in the file itself. */
static enum cb_status finish(struct restoring *restoring, bool same, struct cb_err *err)
{
    enum cb_status status = same ? CB_OK : cb_store_rename_machine(restoring->store, err);
    sqlite3_stmt *stmt = NULL;
    int64_t events = 0;
    sqlite3_prepare_v2(restoring->store->db, "SELECT count(*) FROM event", -1, &stmt, NULL);
    (void)cb_store_ask(stmt, &events);
    sqlite3_finalize(stmt);
    restoring->restored->events = (size_t)events;
    if (status == CB_OK &&
        sqlite3_wal_checkpoint_v2(restoring->store->db, NULL, SQLITE_CHECKPOINT_TRUNCATE, NULL,
                                  NULL) != SQLITE_OK) {
        status = cb_store_fault(restoring->store, err);
    }
    cb_store_close(restoring->store);
    restoring->store = NULL;
    return status;
}

static enum cb_status put_back(struct restoring *restoring, const char *from, bool sure,
                               struct cb_err *err)
{
    bool same = false;
    enum cb_status status = copy(restoring, from, err);
    if (status == CB_OK) {
        status = open_copy(restoring, from, err);
    }
    if (status == CB_OK && restoring->swap.kept) {
        compare(restoring, &same);
        status = judge(restoring, sure, err);
    }
    if (status == CB_OK) {
        status = finish(restoring, same, err);
    }
    if (status == CB_OK) {
        status = cb_store_swap_commit(&restoring->swap, err);
    }
    restoring->restored->kept = status == CB_OK ? restoring->swap.kept : NULL;
    return status;
}

enum cb_status cb_store_restore(const char *path, const char *from, bool sure,
                                struct cb_arena *arena, struct cb_restored *restored,
                                struct cb_err *err)
{
    struct restoring restoring = {
        .arena = arena, .shown = cb_utf8_clean(arena, path, 200), .restored = restored};
    const char *source;
    *restored = (struct cb_restored){0};
    enum cb_status status = cb_store_file_find(from, false, arena, &source, err);
    if (status == CB_OK) {
        status = cb_store_file_place(path, arena, &restoring.real, err);
    }
    if (status == CB_OK && strcmp(source, restoring.real) == 0) {
        status = cb_err_set(err, CB_USAGE, "%s: that is the log itself", restoring.shown);
    }
    if (status != CB_OK) {
        return status;
    }
    status = cb_store_swap_begin(&restoring.swap, restoring.real, "replaced", arena, err);
    if (status == CB_OK) {
        restoring.fresh = restoring.swap.fresh;
        status = put_back(&restoring, source, sure, err);
        cb_store_close(restoring.store);
    }
    cb_store_swap_end(&restoring.swap);
    return status;
}
