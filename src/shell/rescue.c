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
    struct cb_str text; /* whole, so that each folder is tried with all of it */
    size_t count;
    int64_t wall_ms;
};

struct cb_rescue *cb_rescue_open(int64_t wall_ms)
{
    struct cb_rescue *rescue = cb_mem_new(1, sizeof *rescue);
    rescue->wall_ms = wall_ms;
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
        cb_jsonl_encode(&event, &rescue->text);
        cb_str_add(&rescue->text, "\n");
        rescue->count++;
    }
}

/* The whole text in a new file there, on the disk. */
static bool write_in(const struct cb_rescue *rescue, const char *folder, char path[512])
{
    snprintf(path, 512, "%s/coatbell-unsaved-%" PRId64 ".jsonl", folder, rescue->wall_ms);
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (fd < 0) {
        return false;
    }
    size_t done = 0;
    while (done < rescue->text.length) {
        ssize_t put = write(fd, rescue->text.text + done, rescue->text.length - done);
        if (put <= 0) {
            break;
        }
        done += (size_t)put;
    }
    bool good = done == rescue->text.length && fsync(fd) == 0;
    good = close(fd) == 0 && good;
    if (!good) {
        unlink(path);
    }
    return good;
}

enum cb_status cb_rescue_close(struct cb_rescue *rescue, const char *log_path, struct cb_err *err)
{
    const char *const folders[] = {getenv("HOME"), getenv("TMPDIR"), "/tmp", "/var/tmp",
                                   getenv("XDG_RUNTIME_DIR")};
    char path[512];
    bool good = false;
    for (size_t i = 0; i < sizeof folders / sizeof folders[0] && !good; i++) {
        good = folders[i] != NULL && folders[i][0] == '/' && write_in(rescue, folders[i], path);
    }
    if (good) {
        cb_err_set(err, CB_IO,
                   "%zu events could not be saved in %s; they stand in %s: "
                   "`coatbell log import` takes them when the log can be written again",
                   rescue->count, log_path, path);
    } else {
        cb_err_set(err, CB_IO, "%zu events could not be saved in %s, nor anywhere else",
                   rescue->count, log_path);
    }
    cb_str_fini(&rescue->text);
    free(rescue);
    return CB_IO;
}
