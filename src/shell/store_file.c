/* SPDX-License-Identifier: MIT */
#include "shell/store_file.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/inotify.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/utf8.h"
#include "shell/store_swap.h"

static const char *shown(struct cb_arena *arena, const char *path)
{
    return cb_utf8_clean(arena, path, 200);
}

/* Makes what is missing of the folder, each part 0700; leaves what is there as it is. */
static enum cb_status make_folders(char *folder, struct cb_arena *arena, struct cb_err *err)
{
    for (char *slash = folder; slash;) {
        slash = strchr(slash + 1, '/');
        if (slash) {
            *slash = '\0';
        }
        int failed = mkdir(folder, 0700) != 0 && errno != EEXIST && errno != EISDIR;
        /* a parent that may not be written but is there is no fault */
        struct stat status;
        if (failed && stat(folder, &status) != 0) {
            return cb_err_set(err, CB_IO, "%s: the folder can't be made: %s", shown(arena, folder),
                              strerror(errno));
        }
        if (slash) {
            *slash = '/';
        }
    }
    return CB_OK;
}

static enum cb_status check_companions(const char *real, struct cb_arena *arena, struct cb_err *err)
{
    static const char *const endings[] = {"-wal", "-shm", "-journal", ".lock"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        const char *path = cb_arena_printf(arena, "%s%s", real, endings[i]);
        struct stat status;
        if (lstat(path, &status) == 0 && !S_ISREG(status.st_mode)) {
            return cb_err_set(err, CB_IO, "%s: no regular file; move it out of the way",
                              shown(arena, path));
        }
    }
    return CB_OK;
}

/* SQLite makes them with the rights of the log, and who may only read leaves them there: once the
 * log may be written again, so must they be. */
static void free_companions(const char *real, struct cb_arena *arena)
{
    static const char *const endings[] = {"-wal", "-shm"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings && access(real, W_OK) == 0; i++) {
        const char *path = cb_arena_printf(arena, "%s%s", real, endings[i]);
        if (access(path, F_OK) == 0 && access(path, W_OK) != 0) {
            chmod(path, S_IRUSR | S_IWUSR); /* where that fails, opening says so */
        }
    }
}

static void sync_folder(const char *folder)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd >= 0) {
        fsync(fd);
        close(fd);
    }
}

void cb_store_file_sync_folder(const char *real)
{
    struct cb_arena arena = {0};
    const char *slash = strrchr(real, '/');
    sync_folder(slash == NULL   ? "."
                : slash == real ? "/"
                                : cb_arena_text_n(&arena, real, (size_t)(slash - real)));
    cb_arena_fini(&arena);
}

enum cb_status cb_store_file_make(const char *path, struct cb_err *err)
{
    struct cb_arena arena = {0};
    enum cb_status status = CB_OK;
    int fd = open(path, O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (fd < 0) {
        status = cb_err_set(err, CB_IO, "%s: it can't be made: %s", shown(&arena, path),
                            strerror(errno));
    } else {
        fsync(fd);
        close(fd);
    }
    cb_arena_fini(&arena);
    return status;
}

enum wanted { THERE, MADE, PLACE }; /* a log; one, made where it is absent; where it would be */

static enum cb_status find(const char *path, enum wanted wanted, struct cb_arena *arena,
                           const char **real, struct cb_err *err)
{
    const char *slash = strrchr(path, '/');
    const char *name = slash ? slash + 1 : path;
    char *folder = slash == path ? cb_arena_text(arena, "/")
                   : slash       ? cb_arena_text_n(arena, path, (size_t)(slash - path))
                                 : cb_arena_text(arena, ".");
    if (!*name || strcmp(name, ".") == 0 || strcmp(name, "..") == 0) {
        return cb_err_set(err, CB_IO, "%s: a folder; the log is a file", shown(arena, path));
    }
    char resolved[PATH_MAX];
    if (wanted != THERE && !realpath(folder, resolved)) {
        enum cb_status status = make_folders(folder, arena, err);
        if (status != CB_OK) {
            return status;
        }
    }
    if (!realpath(folder, resolved)) {
        return cb_err_set(err, CB_IO, "%s: no log there: %s; `coatbell begin RECIPE` starts one",
                          shown(arena, path), strerror(errno));
    }
    const char *full =
        cb_arena_printf(arena, "%s/%s", strcmp(resolved, "/") == 0 ? "" : resolved, name);
    struct stat status;
    cb_store_swap_finish(full);
    if (lstat(full, &status) != 0) {
        if (errno != ENOENT) {
            return cb_err_set(err, CB_IO, "%s: %s", shown(arena, path), strerror(errno));
        }
        if (wanted == PLACE) {
            *real = full;
            return check_companions(full, arena, err);
        }
        if (wanted == THERE) {
            return cb_err_set(err, CB_IO, "%s: no log there; `coatbell begin RECIPE` starts one",
                              shown(arena, path));
        }
        if (check_companions(full, arena, err) != CB_OK) {
            return CB_IO;
        }
        struct cb_err made = {0};
        if (cb_store_file_make(full, &made) != CB_OK && lstat(full, &status) != 0) {
            return cb_err_set(err, CB_IO, "%s", made.text);
        }
        sync_folder(resolved);
        if (lstat(full, &status) != 0) {
            return cb_err_set(err, CB_IO, "%s: %s", shown(arena, path), strerror(errno));
        }
    }
    if (S_ISLNK(status.st_mode)) {
        if (!realpath(full, resolved) || stat(resolved, &status) != 0) {
            return cb_err_set(err, CB_IO,
                              "%s: a link to nothing; remove it, or give another "
                              "log with --log FILE",
                              shown(arena, path));
        }
        full = cb_arena_text(arena, resolved);
    }
    if (!S_ISREG(status.st_mode)) {
        return cb_err_set(err, CB_IO, "%s: no regular file; give another log with --log FILE",
                          shown(arena, path));
    }
    *real = full;
    return check_companions(full, arena, err);
}

enum cb_status cb_store_file_find(const char *path, bool create, struct cb_arena *arena,
                                  const char **real, struct cb_err *err)
{
    const enum cb_status status = find(path, create ? MADE : THERE, arena, real, err);
    if (status == CB_OK && create) {
        free_companions(*real, arena);
    }
    return status;
}

enum cb_status cb_store_file_place(const char *path, struct cb_arena *arena, const char **real,
                                   struct cb_err *err)
{
    return find(path, PLACE, arena, real, err);
}

void cb_store_file_put_aside(const char *real)
{
    struct cb_arena arena = {0};
    const char *aside = cb_arena_printf(&arena, "%s-wal.aside", real);
    for (int n = 2; access(aside, F_OK) == 0 && n < 1000; n++) {
        aside = cb_arena_printf(&arena, "%s-wal.aside-%d", real, n);
    }
    if (rename(cb_arena_printf(&arena, "%s-wal", real), aside) == 0) {
        unlink(cb_arena_printf(&arena, "%s-shm", real)); /* tells of that -wal */
    }
    cb_arena_fini(&arena);
}

static bool is_used(const char *name, struct cb_arena *arena)
{
    static const char *const endings[] = {"", "-wal", "-shm", "-journal"};
    bool used = false;
    for (size_t i = 0; i < sizeof endings / sizeof *endings && !used; i++) {
        struct stat status;
        used = lstat(cb_arena_printf(arena, "%s%s", name, endings[i]), &status) == 0;
    }
    return used;
}

const char *cb_store_file_unused(const char *real, const char *what, struct cb_arena *arena)
{
    const char *name = cb_arena_printf(arena, "%s.%s", real, what);
    for (int n = 2; is_used(name, arena) && n < 1000; n++) {
        name = cb_arena_printf(arena, "%s.%s-%d", real, what, n);
    }
    return name;
}

bool cb_store_file_name(const char *from, const char *to)
{
    if (renameat2(AT_FDCWD, from, AT_FDCWD, to, RENAME_NOREPLACE) == 0) {
        return true;
    }
    if (errno != EINVAL && errno != ENOSYS) { /* the file system has no such rename */
        return false;
    }
    if (access(to, F_OK) == 0) {
        errno = EEXIST;
        return false;
    }
    return rename(from, to) == 0;
}

bool cb_store_file_settle(const char *made, const char *name)
{
    const int fd = open(made, O_RDONLY | O_NOFOLLOW | O_CLOEXEC);
    const bool synced = fd >= 0 && fsync(fd) == 0;
    const int fault = errno;
    if (fd >= 0) {
        close(fd);
    }
    errno = fault;
    if (!synced || !cb_store_file_name(made, name)) {
        return false;
    }
    cb_store_file_sync_folder(name);
    return true;
}

int cb_store_file_lock_open(const char *real, struct cb_err *err)
{
    struct cb_arena arena = {0};
    const char *path = cb_arena_printf(&arena, "%s.lock", real);
    int fd = open(path, O_RDWR | O_CREAT | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC, 0600);
    struct stat status;
    if (fd < 0 || fstat(fd, &status) != 0 || !S_ISREG(status.st_mode)) {
        cb_err_set(err, CB_IO, "%s: the lock can't be opened: %s", shown(&arena, path),
                   fd < 0 ? strerror(errno) : "no regular file");
        if (fd >= 0) {
            close(fd);
        }
        fd = -1;
    }
    cb_arena_fini(&arena);
    return fd;
}

/* Open file description locks: held by the descriptor, so that closing another one of the same
 * file does not let go, and gone with the process however it ends. fcntl(2). */
bool cb_store_file_lock_take(int fd)
{
    struct flock lock = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    return fcntl(fd, F_OFD_SETLK, &lock) == 0;
}

bool cb_store_file_lock_is_free(int fd)
{
    struct flock lock = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    return fcntl(fd, F_OFD_GETLK, &lock) == 0 && lock.l_type == F_UNLCK;
}

bool cb_store_file_is_held(const char *real)
{
    struct cb_arena arena = {0};
    const char *path = cb_arena_printf(&arena, "%s.lock", real);
    const int fd = open(path, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    const bool held = fd >= 0 && !cb_store_file_lock_is_free(fd);
    if (fd >= 0) {
        close(fd);
    }
    cb_arena_fini(&arena);
    return held;
}

int cb_store_file_watch(const char *real)
{
    struct cb_arena arena = {0};
    const char *slash = strrchr(real, '/');
    const char *folder =
        slash == real ? "/" : cb_arena_text_n(&arena, real, (size_t)(slash - real));
    int fd = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
    /* closing the lock tells viewers that the writer has gone */
    if (fd >= 0 &&
        inotify_add_watch(fd, folder,
                          IN_MODIFY | IN_CREATE | IN_MOVED_TO | IN_DELETE | IN_CLOSE_WRITE) < 0) {
        close(fd);
        fd = -1;
    }
    cb_arena_fini(&arena);
    return fd;
}

void cb_store_file_drain(int fd)
{
    union {
        struct inotify_event event;
        char bytes[4096];
    } buffer;
    while (read(fd, &buffer, sizeof buffer) > 0) {
    }
}
