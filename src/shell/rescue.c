/* SPDX-License-Identifier: MIT */
#include "shell/rescue.h"

#include <fcntl.h>
#include <inttypes.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/random.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/str.h"
#include "shell/jsonl.h"

struct cb_rescue {
    char path[512];
    FILE *file; /* NULL: nowhere */
    size_t count;
    bool failed;
};

struct cb_rescue *cb_rescue_open(int64_t wall_ms)
{
    struct cb_rescue *rescue = cb_mem_new(1, sizeof *rescue);
    const char *const folders[] = {getenv("HOME"), getenv("TMPDIR"), "/tmp", "/var/tmp",
                                   getenv("XDG_RUNTIME_DIR")};
    for (size_t i = 0; i < sizeof folders / sizeof folders[0] && rescue->file == NULL; i++) {
        if (folders[i] == NULL || folders[i][0] != '/') {
            continue;
        }
        snprintf(rescue->path, sizeof rescue->path, "%s/coatbell-unsaved-%" PRId64 ".jsonl",
                 folders[i], wall_ms);
        int fd = open(rescue->path, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
        if (fd < 0) {
            continue;
        }
        /* A full disk makes the file and refuses what is to go in. */
        if (posix_fallocate(fd, 0, 65536) != 0 || ftruncate(fd, 0) != 0 ||
            (rescue->file = fdopen(fd, "w")) == NULL) {
            close(fd);
            unlink(rescue->path);
        }
    }
    return rescue;
}

/* Opaque and unique, as the log makes its own. */
static void make_id(char id[40])
{
    unsigned char bytes[16] = {0};
    ssize_t got = getrandom(bytes, sizeof bytes, 0);
    (void)got;
    size_t used = 0;
    for (size_t i = 0; i < sizeof bytes; i++) {
        used += (size_t)snprintf(id + used, 40 - used, "%02x", bytes[i]);
    }
}

void cb_rescue_add(struct cb_rescue *rescue, const struct cb_event *const *events, size_t count)
{
    struct cb_str line = {0};
    char press[40];
    make_id(press);
    for (size_t i = 0; i < count; i++) {
        struct cb_event event = *events[i];
        char id[40];
        if (event.id == NULL) {
            make_id(id);
            event.id = id;
        }
        if (event.press == NULL) {
            event.press = press;
        }
        cb_str_clear(&line);
        cb_jsonl_encode(&event, &line);
        rescue->count++;
        if (rescue->file == NULL || fprintf(rescue->file, "%s\n", cb_str_text(&line)) < 0) {
            rescue->failed = true;
        }
    }
    cb_str_fini(&line);
}

enum cb_status cb_rescue_close(struct cb_rescue *rescue, const char *log_path, struct cb_err *err)
{
    bool good = rescue->file != NULL && !rescue->failed;
    if (rescue->file != NULL) {
        good = fflush(rescue->file) == 0 && fsync(fileno(rescue->file)) == 0 && good;
        good = fclose(rescue->file) == 0 && good;
    }
    if (good) {
        cb_err_set(err, CB_IO,
                   "%zu events could not be saved in %s; they stand in %s: "
                   "`coatbell log import` takes them when the log can be written again",
                   rescue->count, log_path, rescue->path);
    } else {
        cb_err_set(err, CB_IO, "%zu events could not be saved in %s, nor anywhere else",
                   rescue->count, log_path);
    }
    free(rescue);
    return CB_IO;
}
