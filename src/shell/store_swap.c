/* SPDX-License-Identifier: MIT */
#include "shell/store_swap.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/utf8.h"
#include "shell/migrate.h"
#include "shell/store_file.h"
#include "shell/store_internal.h"

/* sqlite.org/fileformat2.html, 1.4: the lock-byte page; no content is ever stored there. */
#define LOCK_BYTES       0x40000000
#define LOCK_BYTES_COUNT 512
#define NAP_MS           10
#define BLOCK            4096 /* what a bad place of the disk costs */

static const char *const companions[] = {"-wal", "-journal"}; /* that hold what is in the log */
enum { COMPANIONS = sizeof companions / sizeof *companions };

/* Open file description locks, so that SQLite and salvage may open and close files here as they
 * like, fcntl(2). */
static bool take_lock_bytes(int fd)
{
    struct flock lock = {
        .l_type = F_WRLCK, .l_whence = SEEK_SET, .l_start = LOCK_BYTES, .l_len = LOCK_BYTES_COUNT};
    return fcntl(fd, F_OFD_SETLK, &lock) == 0;
}

/* Waits as long as a press would. */
static bool take(int fd, bool (*taken)(int fd))
{
    bool got = taken(fd);
    for (int ms = 0; !got && ms < CB_STORE_BUSY_MS; ms += NAP_MS) {
        nanosleep(&(struct timespec){0, NAP_MS * 1000000}, NULL);
        got = taken(fd);
    }
    return got;
}

static enum cb_status refuse(const struct cb_store_swap *swap, const char *what, struct cb_err *err)
{
    return cb_err_set(err, CB_IO, "%s: %s: %s", swap->shown, what, strerror(errno));
}

static const char *whole_of(const char *real, struct cb_arena *arena)
{
    return cb_arena_printf(arena, "%s.new.whole", real);
}

static bool is_due(const char *whole)
{
    struct stat status;
    return lstat(whole, &status) == 0 && S_ISREG(status.st_mode);
}

bool cb_store_swap_is_due(const char *real)
{
    struct cb_arena arena = {0};
    const bool due = is_due(whole_of(real, &arena));
    cb_arena_fini(&arena);
    return due;
}

static bool gone(const char *path)
{
    return unlink(path) == 0 || errno == ENOENT;
}

/* Step 4, which may have been begun before. */
static bool put_in_place(const char *real, struct cb_arena *arena)
{
    for (size_t i = 0; i < COMPANIONS; i++) {
        if (!gone(cb_arena_printf(arena, "%s%s", real, companions[i]))) {
            return false;
        }
    }
    if (!gone(cb_arena_printf(arena, "%s-shm", real))) { /* tells of that -wal */
        return false;
    }
    cb_store_file_sync_folder(real);
    if (rename(whole_of(real, arena), real) != 0) {
        return false;
    }
    cb_store_file_sync_folder(real);
    return true;
}

void cb_store_swap_finish(const char *real)
{
    struct cb_arena arena = {0};
    const char *whole = whole_of(real, &arena);
    const int lock = is_due(whole) ? cb_store_file_lock_open(real, NULL) : -1;
    if (lock >= 0 && take(lock, cb_store_file_lock_take) && is_due(whole)) {
        const int held = open(real, O_RDWR | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
        if (held < 0 || take(held, take_lock_bytes)) {
            (void)put_in_place(real, &arena);
        }
        if (held >= 0) {
            close(held);
        }
    }
    if (lock >= 0) {
        close(lock);
    }
    cb_arena_fini(&arena);
}

/* What a kill has left of the one before; ours while LOG.lock is. */
static void clear(const struct cb_store_swap *swap)
{
    static const char *const endings[] = {"", "-wal", "-shm", "-journal", ".lock"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        unlink(cb_arena_printf(swap->arena, "%s%s", swap->fresh, endings[i]));
        unlink(cb_arena_printf(swap->arena, "%s.old.part%s", swap->real, endings[i]));
    }
    for (size_t version = 1; version < cb_migrate_step_count; version++) {
        unlink(cb_arena_printf(swap->arena, "%s.backup-v%zu", swap->fresh, version));
    }
}

/* Block by block: one that the disk can't read any more is left empty, and salvage would not have
 * read it either. */
static bool copy(int from, const char *to)
{
    char block[BLOCK];
    struct stat status;
    const int fd = open(to, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    bool good = fd >= 0 && fstat(from, &status) == 0;
    for (off_t at = 0; good && at < status.st_size; at += BLOCK) {
        const ssize_t got = pread(from, block, sizeof block, at);
        good = got < 0 ? errno == EIO : got == 0 || pwrite(fd, block, (size_t)got, at) == got;
    }
    good = good && ftruncate(fd, status.st_size) == 0 && fsync(fd) == 0;
    if (fd >= 0) {
        const int fault = errno;
        close(fd);
        errno = fault;
    }
    return good;
}

static bool copy_named(const char *from, const char *to)
{
    const int fd = open(from, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    const bool good = fd >= 0 ? copy(fd, to) : errno == ENOENT;
    if (fd >= 0) {
        close(fd);
    }
    return good;
}

static enum cb_status refuse_copy(struct cb_store_swap *swap, struct cb_err *err)
{
    if (errno == EEXIST) {
        swap->kept_files = NULL; /* somebody has just taken that name: it is not ours to remove */
    }
    return refuse(swap, "no copy of it can be made beside it", err);
}

/* The log itself comes last, so that what has the name is whole. */
static enum cb_status keep(struct cb_store_swap *swap, const char *kept_as, struct cb_err *err)
{
    const char *part = cb_arena_printf(swap->arena, "%s.old.part", swap->real);
    swap->kept_files = cb_store_file_unused(swap->real, kept_as, swap->arena);
    for (size_t i = 0; i < COMPANIONS; i++) {
        if (!copy_named(cb_arena_printf(swap->arena, "%s%s", swap->real, companions[i]),
                        cb_arena_printf(swap->arena, "%s%s", swap->kept_files, companions[i]))) {
            return refuse_copy(swap, err);
        }
    }
    if (swap->held >= 0) {
        if (!copy(swap->held, part) || !cb_store_file_name(part, swap->kept_files)) {
            return refuse_copy(swap, err);
        }
        swap->kept = swap->kept_files;
    }
    return CB_OK;
}

enum cb_status cb_store_swap_begin(struct cb_store_swap *swap, const char *real,
                                   const char *kept_as, struct cb_arena *arena, struct cb_err *err)
{
    *swap = (struct cb_store_swap){.shown = cb_utf8_clean(arena, real, 200),
                                   .real = real,
                                   .fresh = cb_arena_printf(arena, "%s.new.part", real),
                                   .arena = arena,
                                   .lock = cb_store_file_lock_open(real, err),
                                   .held = -1};
    if (swap->lock < 0) {
        return CB_IO;
    }
    if (!cb_store_file_lock_take(swap->lock)) {
        close(swap->lock);
        swap->lock = -1;
        return cb_err_set(err, CB_FAILED, "%s: another bench is open on this log; leave it first",
                          swap->shown);
    }
    clear(swap);
    swap->held = open(real, O_RDWR | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (swap->held >= 0 && !take(swap->held, take_lock_bytes)) {
        return cb_err_set(err, CB_FAILED,
                          "%s: another program has this log open, or a bench that watches; leave "
                          "it first",
                          swap->shown);
    }
    if (swap->held < 0 && errno != ENOENT) {
        /* it may not be written to, so nobody else does */
        swap->held = open(real, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
        if (swap->held < 0) {
            return refuse(swap, "it can't be read", err);
        }
    }
    return keep(swap, kept_as, err);
}

enum cb_status cb_store_swap_commit(struct cb_store_swap *swap, struct cb_err *err)
{
    const int fd = open(swap->fresh, O_RDONLY | O_CLOEXEC);
    const bool synced = fd >= 0 && fsync(fd) == 0;
    enum cb_status status = synced ? CB_OK : refuse(swap, "the new one can't be written", err);
    if (fd >= 0) {
        close(fd);
    }
    cb_store_file_sync_folder(swap->real); /* kept has its name, and it has no -wal */
    if (status == CB_OK && rename(swap->fresh, whole_of(swap->real, swap->arena)) != 0) {
        status = refuse(swap, "the new one can't take its place", err);
    }
    if (status != CB_OK) {
        return status;
    }
    swap->done = true;
    cb_store_file_sync_folder(swap->real);
    return put_in_place(swap->real, swap->arena)
               ? CB_OK
               : cb_err_set(err, CB_IO,
                            "%s: the new one is whole, and takes its place when the log is opened "
                            "next, which could not be done now: %s; the log as it was is kept: %s",
                            swap->shown, strerror(errno),
                            cb_utf8_clean(swap->arena, swap->kept_files, 0));
}

void cb_store_swap_end(struct cb_store_swap *swap)
{
    if (swap->lock < 0) {
        return;
    }
    clear(swap);
    if (!swap->done && swap->kept_files) {
        static const char *const endings[] = {"", "-wal", "-journal", "-shm"};
        for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
            unlink(cb_arena_printf(swap->arena, "%s%s", swap->kept_files, endings[i]));
        }
    }
    if (swap->held >= 0) {
        close(swap->held);
    }
    close(swap->lock);
}
