/* SPDX-License-Identifier: MIT */
#include "fault/shim.h"

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/inotify.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <time.h>
#include <unistd.h>

enum how { NONE, KILL, TORN, POWER, FULL, SYNC, STOP };

/* A write that no sync has followed yet, and what stood there before. */
struct pending {
    struct pending *before;
    char *path;
    off_t at, size; /* size: of the file before */
    size_t length;
    char bytes[];
};

/* A name that the folder has got or lost, and no sync of it has followed yet. */
struct renamed {
    struct renamed *before;
    char *from, *to; /* NULL: it came from nowhere, or is gone */
    char *gone;      /* another name of what `to` was, or of what is gone; NULL: nothing was */
    ino_t moved;
};

static struct shim_shared *shared;
static const char *folder;
static enum how how;
static int fault_at;
static bool full, unsynced;
static struct pending *pending;
static struct renamed *renamed;
static int saved;

__attribute__((constructor)) static void begin(void)
{
    static const char *const names[] = {"", "kill", "torn", "power", "full", "sync", "stop"};
    const char *path = getenv("CB_FAULT_SHARED"), *at = getenv("CB_FAULT_AT"),
               *word = getenv("CB_FAULT_HOW");
    folder = getenv("CB_FAULT_FOLDER");
    const int fd = path != NULL ? open(path, O_RDWR | O_CLOEXEC) : -1;
    if (fd >= 0) {
        void *map = mmap(NULL, sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
        shared = map == MAP_FAILED ? NULL : map;
        close(fd);
    }
    fault_at = at != NULL ? (int)strtol(at, NULL, 10) : 0;
    for (int i = 1; word != NULL && i <= (int)STOP; i++) {
        how = strcmp(word, names[i]) == 0 ? (enum how)i : how;
    }
}

static bool is_ours(const char *path)
{
    const size_t length = strlen(path), head = folder != NULL ? strlen(folder) : 0;
    return shared != NULL && head > 0 && strncmp(path, folder, head) == 0 && path[head] == '/' &&
           !(length > 4 && strcmp(path + length - 4, "-shm") == 0);
}

static bool path_of(int fd, char path[PATH_MAX])
{
    char name[64];
    snprintf(name, sizeof name, "/proc/self/fd/%d", fd);
    const ssize_t length = readlink(name, path, PATH_MAX - 1);
    path[length > 0 ? length : 0] = '\0';
    return length > 0 && is_ours(path);
}

static void die(void)
{
    shared->hits++;
    kill(getpid(), SIGKILL);
    for (;;) {
        pause();
    }
}

static void take_back(const struct renamed *one)
{
    struct stat status;
    if (one->to != NULL) {
        if (syscall(SYS_newfstatat, AT_FDCWD, one->to, &status, 0) != 0 ||
            status.st_ino != one->moved) {
            return; /* it has another file since */
        }
        if (one->from != NULL) {
            (void)syscall(SYS_rename, one->to, one->from);
        } else {
            (void)syscall(SYS_unlink, one->to);
        }
    }
    if (one->gone != NULL) {
        (void)syscall(SYS_link, one->gone, one->to != NULL ? one->to : one->from);
    }
}

/* What the disk had not been told to keep is gone. */
static void power_cut(void)
{
    int n = 0;
    for (const struct pending *one = pending; one != NULL; one = one->before, n++) {
        if (shared->bytes % 2 == 1 && n % 2 == 1) {
            continue;
        }
        const int fd = open(one->path, O_WRONLY | O_CLOEXEC);
        if (fd >= 0) {
            (void)!syscall(SYS_pwrite64, fd, one->bytes, one->length, one->at);
            /* where a later write stays, so does the size it gave the file */
            if (shared->bytes % 2 == 0) {
                (void)!syscall(SYS_ftruncate, fd, one->size);
            }
            close(fd);
        }
    }
    n = 0;
    for (const struct renamed *one = renamed; one != NULL; one = one->before, n++) {
        if (shared->bytes % 2 == 0 || (n + shared->bytes / 2) % 2 == 0) {
            take_back(one);
        }
    }
    die();
}

/* Before the call: what a name stands for is kept under another one, outside of the folder. */
static void rename_remember(const char *from, const char *to)
{
    struct stat status = {0};
    if (how != POWER) {
        return;
    }
    struct renamed *one = calloc(1, sizeof *one);
    char gone[PATH_MAX];
    snprintf(gone, sizeof gone, "%s/../gone-%d-%d", folder, (int)getpid(), saved++);
    one->from = from != NULL ? strdup(from) : NULL;
    one->to = to != NULL ? strdup(to) : NULL;
    if (syscall(SYS_link, to != NULL ? to : from, gone) == 0) {
        one->gone = strdup(gone);
    }
    if (from != NULL && syscall(SYS_newfstatat, AT_FDCWD, from, &status, 0) == 0) {
        one->moved = status.st_ino;
    }
    one->before = renamed;
    renamed = one;
    for (struct pending *write = pending; from != NULL && to != NULL && write != NULL;
         write = write->before) {
        if (strcmp(write->path, from) == 0) {
            free(write->path);
            write->path = strdup(to);
        }
    }
}

static void forget_names(void)
{
    while (renamed != NULL) {
        struct renamed *one = renamed;
        renamed = one->before;
        if (one->gone != NULL) {
            (void)syscall(SYS_unlink, one->gone);
        }
        free(one->from);
        free(one->to);
        free(one->gone);
        free(one);
    }
}

static void remember(const char *path, int fd, off_t at, size_t length)
{
    struct stat status;
    if (how != POWER || fstat(fd, &status) != 0) {
        return;
    }
    struct pending *one = calloc(1, sizeof *one + length);
    one->path = strdup(path);
    one->at = at;
    one->size = status.st_size;
    /* by its own descriptor: closing another one would let go of SQLite's locks, fcntl(2) */
    const ssize_t had = syscall(SYS_pread64, fd, one->bytes, length, at);
    one->length = had > 0 ? (size_t)had : 0;
    one->before = pending;
    pending = one;
}

static void forget(const char *path)
{
    for (struct pending **link = &pending; *link != NULL;) {
        struct pending *one = *link;
        if (strcmp(one->path, path) == 0) {
            *link = one->before;
            free(one->path);
            free(one);
        } else {
            link = &one->before;
        }
    }
}

/* Counts the call; true: this is the one. */
static bool count(char kind)
{
    if (shared->points < SHIM_POINTS_MAX) {
        shared->kinds[shared->points] = kind;
    }
    const bool now = ++shared->points == fault_at;
    if (now && (how == KILL || (how == TORN && kind != 'w'))) {
        die();
    }
    if (now && how == POWER) {
        power_cut();
    }
    if (now && how == STOP) {
        shared->stopped = getpid();
        raise(SIGSTOP);
    }
    full = full || (now && how == FULL);
    unsynced = unsynced || (now && how == SYNC);
    return now;
}

/* A write to one of the files. length: what may be written of it; -1: nothing, errno says why. */
static ssize_t allow(const char *path, int fd, size_t length, off_t at)
{
    struct stat status;
    const bool now = count('w');
    if (full && !shared->heal && fstat(fd, &status) == 0 && at + (off_t)length > status.st_size) {
        shared->hits++;
        if (now && length > 1) {
            return (ssize_t)(length / 2);
        }
        errno = ENOSPC;
        return -1;
    }
    remember(path, fd, at, length);
    return now && how == TORN && (size_t)shared->bytes < length ? shared->bytes : (ssize_t)length;
}

static void torn(size_t asked, ssize_t done)
{
    if (how == TORN && shared->points == fault_at && done < (ssize_t)asked) {
        die();
    }
}

static ssize_t put_at(int fd, const void *bytes, size_t length, off_t at)
{
    char path[PATH_MAX];
    if (!path_of(fd, path)) {
        return syscall(SYS_pwrite64, fd, bytes, length, at);
    }
    const ssize_t may = allow(path, fd, length, at);
    const ssize_t done = may > 0 ? syscall(SYS_pwrite64, fd, bytes, (size_t)may, at) : may;
    torn(length, may);
    return done;
}

ssize_t pwrite(int fd, const void *bytes, size_t length, off_t at)
{
    return put_at(fd, bytes, length, at);
}

ssize_t pwrite64(int fd, const void *bytes, size_t length, off64_t at)
{
    return put_at(fd, bytes, length, at);
}

ssize_t write(int fd, const void *bytes, size_t length)
{
    char path[PATH_MAX];
    if (!path_of(fd, path)) {
        return syscall(SYS_write, fd, bytes, length);
    }
    const ssize_t may = allow(path, fd, length, lseek(fd, 0, SEEK_CUR));
    const ssize_t done = may > 0 ? syscall(SYS_write, fd, bytes, (size_t)may) : may;
    torn(length, may);
    return done;
}

static int sync_file(int fd, long number)
{
    char path[PATH_MAX];
    if (!path_of(fd, path)) {
        if (shared != NULL && folder != NULL && strcmp(path, folder) == 0) {
            (void)count('d');
            forget_names();
        }
        return (int)syscall(number, fd);
    }
    (void)count('s');
    if (unsynced && !shared->heal && (shared->bytes == 0 || shared->hits < shared->bytes)) {
        shared->hits++;
        errno = EIO;
        return -1;
    }
    forget(path);
    return 0;
}

int inotify_init1(int flags)
{
    if (getenv("CB_FAULT_NO_WATCH") != NULL) {
        errno = EMFILE;
        return -1;
    }
    return (int)syscall(SYS_inotify_init1, flags);
}

int clock_gettime(clockid_t clock, struct timespec *now)
{
    char text[16] = "";
    const char *path = getenv("CB_FAULT_SLEPT");
    const int fd =
        path != NULL ? (int)syscall(SYS_openat, AT_FDCWD, path, O_RDONLY | O_CLOEXEC) : -1;
    const int code = (int)syscall(SYS_clock_gettime, clock, now);
    if (fd >= 0 && read(fd, text, sizeof text - 1) > 0 &&
        (clock == CLOCK_BOOTTIME || clock == CLOCK_REALTIME)) {
        now->tv_sec += strtol(text, NULL, 10);
    }
    if (fd >= 0) {
        close(fd);
    }
    return code;
}

int fsync(int fd)
{
    return sync_file(fd, SYS_fsync);
}

int fdatasync(int fd)
{
    return sync_file(fd, SYS_fdatasync);
}

static int cut(int fd, off_t size)
{
    char path[PATH_MAX];
    struct stat status;
    if (path_of(fd, path)) {
        (void)count('t');
        if (fstat(fd, &status) == 0 && size < status.st_size) {
            remember(path, fd, size, (size_t)(status.st_size - size));
        } else if (full && !shared->heal) {
            shared->hits++;
            errno = ENOSPC;
            return -1;
        }
    }
    return (int)syscall(SYS_ftruncate, fd, size);
}

int ftruncate(int fd, off_t size)
{
    return cut(fd, size);
}

int ftruncate64(int fd, off64_t size)
{
    return cut(fd, size);
}

int rename(const char *from, const char *to)
{
    if (is_ours(from) || is_ours(to)) {
        (void)count('r');
        rename_remember(from, to);
    }
    return (int)syscall(SYS_rename, from, to);
}

int renameat2(int from_fd, const char *from, int to_fd, const char *to, unsigned flags)
{
    if (is_ours(from) || is_ours(to)) {
        (void)count('r');
        if (flags == 0 || access(to, F_OK) != 0) {
            rename_remember(from, to);
        }
    }
    return (int)syscall(SYS_renameat2, from_fd, from, to_fd, to, flags);
}

int link(const char *from, const char *to)
{
    if (!is_ours(to)) {
        return (int)syscall(SYS_link, from, to);
    }
    (void)count('l');
    const int code = (int)syscall(SYS_link, from, to);
    struct stat status;
    if (code == 0 && how == POWER && stat(to, &status) == 0) {
        struct renamed *one = calloc(1, sizeof *one);
        one->to = strdup(to);
        one->moved = status.st_ino;
        one->before = renamed;
        renamed = one;
    }
    return code;
}

int unlink(const char *path)
{
    if (is_ours(path) && access(path, F_OK) == 0) {
        (void)count('u');
        rename_remember(path, NULL);
        forget(path);
    }
    return (int)syscall(SYS_unlink, path);
}

static int opened(const char *path, int fd)
{
    if (how == STOP && fd >= 0 && is_ours(path)) {
        (void)count('o');
    }
    return fd;
}

static int open_at(const char *path, int flags, mode_t mode)
{
    return opened(path, (int)syscall(SYS_openat, AT_FDCWD, path, flags, mode));
}

int open(const char *path, int flags, ...)
{
    va_list rest;
    va_start(rest, flags);
    const mode_t mode = (flags & (O_CREAT | O_TMPFILE)) != 0 ? va_arg(rest, mode_t) : 0;
    va_end(rest);
    return open_at(path, flags, mode);
}

int open64(const char *path, int flags, ...)
{
    va_list rest;
    va_start(rest, flags);
    const mode_t mode = (flags & (O_CREAT | O_TMPFILE)) != 0 ? va_arg(rest, mode_t) : 0;
    va_end(rest);
    return open_at(path, flags, mode);
}
