/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/str.h"
#include "base/utf8.h"
#include "shell/yaml.h"

/* Columns of a source line that are shown; a longer one is cut around the fault. */
#define LINE_COLUMNS  76
#define CARET_COLUMNS 60

enum cb_status cb_file_open(const char *path, struct cb_file *file, struct cb_err *err)
{
    struct stat info;
    *file = (struct cb_file){STDIN_FILENO, path};
    if (strcmp(path, "-") == 0) {
        return CB_OK;
    }
    int *fd = &file->fd;
    /* O_NONBLOCK: a FIFO nobody writes to must not hold the program before it is refused. */
    *fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC | O_NOCTTY);
    if (*fd < 0) {
        return cb_err_set(err, CB_IO, "%s: %s", path, strerror(errno));
    }
    if (fstat(*fd, &info) != 0) {
        int why = errno;
        close(*fd);
        return cb_err_set(err, CB_IO, "%s: %s", path, strerror(why));
    }
    if (!S_ISREG(info.st_mode)) {
        close(*fd);
        return cb_err_set(err, CB_IO, "%s: %s; name a file", path,
                          S_ISDIR(info.st_mode) ? "is a folder" : "is no regular file");
    }
    return CB_OK;
}

bool cb_file_is_there(const char *path)
{
    struct stat info;
    return lstat(path, &info) == 0 || (errno != ENOENT && errno != ENOTDIR);
}

long cb_file_part(void *context, char *bytes, size_t size, struct cb_err *err)
{
    const struct cb_file *file = context;
    ssize_t got;
    do {
        got = read(file->fd, bytes, size);
    } while (got < 0 && errno == EINTR);
    if (got < 0) {
        cb_err_set(err, CB_IO, "%s: %s", file->path, strerror(errno));
    }
    return (long)got;
}

void cb_file_close(struct cb_file *file)
{
    if (file->fd != STDIN_FILENO) {
        close(file->fd);
    }
}

enum cb_status cb_file_read_head(const char *path, size_t max, struct cb_arena *arena, char **text,
                                 size_t *length, struct cb_err *err)
{
    struct cb_file file;
    enum cb_status status = cb_file_open(path, &file, err);
    if (status != CB_OK) {
        return status;
    }
    struct cb_str bytes = {0};
    char part[16384];
    while (bytes.length < max) {
        size_t want = max - bytes.length < sizeof part ? max - bytes.length : sizeof part;
        long got = cb_file_part(&file, part, want, err);
        if (got <= 0) {
            status = got < 0 ? CB_IO : CB_OK;
            break;
        }
        cb_str_add_n(&bytes, part, (size_t)got);
    }
    cb_file_close(&file);
    *length = bytes.length;
    *text = cb_arena_text_n(arena, cb_str_text(&bytes), bytes.length);
    cb_str_fini(&bytes);
    return status;
}

enum cb_status cb_file_read(const char *path, size_t max, struct cb_arena *arena, char **text,
                            size_t *length, struct cb_err *err)
{
    enum cb_status status = cb_file_read_head(path, max + 1, arena, text, length, err);
    if (status == CB_OK && *length > max) {
        return cb_err_set(err, CB_IO, "%s: more than %zu bytes", path, max);
    }
    return status;
}

enum cb_status cb_file_create(const char *path, const char *text, struct cb_err *err)
{
    /* O_EXCL: never over something that is there, a link that leads nowhere included. */
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (fd < 0 && errno == EEXIST) {
        return cb_err_set(err, CB_FAILED, "%s: is there already; name another file", path);
    }
    if (fd < 0) {
        return cb_err_set(err, CB_IO, "%s: %s", path, strerror(errno));
    }
    size_t length = strlen(text), written = 0;
    int why = 0;
    while (written < length && why == 0) {
        ssize_t count = write(fd, text + written, length - written);
        why = count < 0 && errno != EINTR ? errno : 0;
        written += count > 0 ? (size_t)count : 0;
    }
    if (close(fd) != 0 && why == 0) {
        why = errno;
    }
    if (why != 0) {
        unlink(path);
        return cb_err_set(err, CB_IO, "%s: %s", path, strerror(why));
    }
    return CB_OK;
}

/* The bytes of line number `line` (from 1), without its end; NULL when there is no such line. */
static const char *find_line(const char *text, int line, size_t *length)
{
    while (line > 1) {
        text = strchr(text, '\n');
        if (text == NULL) {
            return NULL;
        }
        text++;
        line--;
    }
    *length = strcspn(text, "\r\n");
    return text;
}

static void print_source(struct cb_arena *arena, const char *text, int line, int column,
                         struct cb_str *out)
{
    size_t length = 0;
    const char *source = find_line(text, line, &length);
    if (source == NULL) {
        return;
    }
    /* Cut first: the line may have a quarter of a million characters. */
    const char *end = source + length;
    const char *at = source;
    int skipped = 0;
    for (; skipped < column - CARET_COLUMNS && at < end; skipped++) {
        cb_utf8_next(&at);
    }
    size_t left = (size_t)(end - at);
    size_t keep = left < 4 * LINE_COLUMNS ? left : 4 * LINE_COLUMNS;
    char *shown = cb_utf8_clean(arena, cb_arena_text_n(arena, at, keep), LINE_COLUMNS);
    cb_str_addf(out, "    %s%s\n    %s", skipped > 0 ? "..." : "", shown, skipped > 0 ? "   " : "");
    const char *under = shown;
    for (int i = 1; i < column - skipped; i++) {
        uint32_t cp = cb_utf8_next(&under);
        for (int width = cp == 0 ? 1 : cb_utf8_width(cp); width > 0; width--) {
            cb_str_add(out, " ");
        }
    }
    cb_str_add(out, "^\n");
}

void cb_issues_print(const struct cb_issues *issues, const char *file, const char *text,
                     struct cb_str *out)
{
    struct cb_arena arena;
    cb_arena_init(&arena);
    for (size_t i = 0; i < issues->count; i++) {
        const struct cb_issue *issue = &issues->items[i];
        cb_str_addf(out, "%s:%d:%d: %s\n", cb_utf8_clean(&arena, file, 0), issue->line,
                    issue->column, cb_utf8_clean(&arena, issue->message, 0));
        if (text != NULL) {
            print_source(&arena, text, issue->line, issue->column, out);
        }
    }
    cb_arena_fini(&arena);
}
