/* SPDX-License-Identifier: MIT */
#include "shell/out_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/arena.h"
#include "base/mem.h"
#include "shell/console.h"
#include "shell/store_file.h"

struct cb_out_file {
    struct cb_arena arena;
    FILE *stream;
    const char *path; /* NULL: standard output */
    char *part;       /* its name until it is whole */
    bool failed;
    int why;
};

static bool is_kept_off(const struct stat *file, const char *log, struct cb_arena *arena)
{
    static const char *const endings[] = {"", "-wal", "-shm", ".lock"};
    for (size_t i = 0; log != NULL && i < sizeof endings / sizeof *endings; i++) {
        struct stat other;
        if (stat(cb_arena_printf(arena, "%s%s", log, endings[i]), &other) == 0 &&
            other.st_dev == file->st_dev && other.st_ino == file->st_ino) {
            return true;
        }
    }
    return false;
}

static enum cb_status open_part(struct cb_out_file *file, const char *keep_off, struct cb_err *err)
{
    struct stat status;
    if (stat(file->path, &status) == 0) {
        if (!S_ISREG(status.st_mode)) {
            return cb_err_set(err, CB_IO, "%s: %s; name a file, or - for standard output",
                              file->path, S_ISDIR(status.st_mode) ? "a folder" : "no regular file");
        }
        if (is_kept_off(&status, keep_off, &file->arena)) {
            return cb_err_set(err, CB_USAGE, "%s: that is the log itself; name another file",
                              file->path);
        }
    }
    file->part = cb_arena_printf(&file->arena, "%s.XXXXXX", file->path);
    int fd = mkostemp(file->part, O_CLOEXEC); /* 0600 */
    file->stream = fd >= 0 ? fdopen(fd, "wb") : NULL;
    if (file->stream == NULL) {
        int why = errno;
        if (fd >= 0) {
            close(fd);
            unlink(file->part);
        }
        return cb_err_set(err, CB_IO, "%s: it can't be written: %s", file->path, strerror(why));
    }
    return CB_OK;
}

enum cb_status cb_out_file_open(const char *path, const char *keep_off, struct cb_out_file **out,
                                struct cb_err *err)
{
    struct cb_out_file *file = cb_mem_new(1, sizeof *file);
    enum cb_status status = CB_OK;
    if (strcmp(path, "-") == 0) {
        file->stream = stdout;
    } else {
        file->path = cb_arena_text(&file->arena, path);
        status = open_part(file, keep_off, err);
    }
    if (status != CB_OK) {
        cb_arena_fini(&file->arena);
        free(file);
        file = NULL;
    }
    *out = file;
    return status;
}

static void note_failure(struct cb_out_file *file)
{
    if (!file->failed) {
        file->failed = true;
        file->why = errno;
    }
}

bool cb_out_file_write(void *context, const char *bytes, size_t length)
{
    struct cb_out_file *file = context;
    if (fwrite(bytes, 1, length, file->stream) != length) {
        note_failure(file);
    }
    return !file->failed;
}

enum cb_status cb_out_file_close(struct cb_out_file *file, bool keep, struct cb_err *err)
{
    enum cb_status status = CB_OK;
    if (file == NULL) {
        return CB_OK;
    }
    if (file->path == NULL) {
        status = cb_console_finish(err);
    } else {
        if (fflush(file->stream) != 0 || fsync(fileno(file->stream)) != 0) {
            note_failure(file);
        }
        if (fclose(file->stream) != 0) {
            note_failure(file);
        }
        if (keep && !file->failed) {
            if (rename(file->part, file->path) != 0) {
                note_failure(file);
            } else {
                cb_store_file_sync_folder(file->path);
            }
        }
        if (!keep || file->failed) {
            unlink(file->part);
        }
        if (file->failed) {
            status = cb_err_set(err, CB_IO, "%s: it can't be written: %s", file->path,
                                strerror(file->why));
        }
    }
    cb_arena_fini(&file->arena);
    free(file);
    return status;
}
