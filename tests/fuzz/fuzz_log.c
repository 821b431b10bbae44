/* SPDX-License-Identifier: MIT */
/* Any bytes as the log of a stranger: opened to be read, read to its end, exported, and put
 * together again from what is left of it. What comes out is fit for a terminal, and the file stays
 * as it was. */
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/str.h"
#include "base/utf8.h"
#include "shell/store.h"
#include "shell/store_salvage.h"
#include "shell/transfer.h"
#include "fuzz/must.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { BYTES_MAX = 256 * 1024 };

static char folder[256], path[300];

static void leave(void)
{
    static const char *const endings[] = {"", "-wal", "-shm", "-journal", ".lock"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char name[320];
        snprintf(name, sizeof name, "%s%s", path, endings[i]);
        unlink(name);
    }
}

static void leave_folder(void)
{
    leave();
    rmdir(folder);
}

static void make_folder(void)
{
    const char *base = getenv("TMPDIR");
    struct stat status;
    if (base == NULL || *base == '\0') {
        base = stat("/dev/shm", &status) == 0 ? "/dev/shm" : "/tmp";
    }
    snprintf(folder, sizeof folder, "%.200s/fuzz-log-XXXXXX", base);
    must(mkdtemp(folder) != NULL);
    snprintf(path, sizeof path, "%s/log.db", folder);
    atexit(leave_folder);
}

static bool collect(void *context, const char *bytes, size_t length)
{
    cb_str_add_n(context, bytes, length);
    return true;
}

static void read_all(struct cb_store *store)
{
    struct cb_arena arena = {0};
    struct cb_str out = {0};
    struct cb_transfer_left left;
    const struct cb_store_unit *units;
    size_t count;
    struct cb_err err = {0};
    (void)cb_store_damage(store, &arena);
    (void)cb_store_units(store, &arena, &units, &count, &err);
    if (cb_transfer_out(store, CB_TRANSFER_JSONL, collect, &out, &arena, &count, &left, &err) ==
        CB_OK) {
        for (const char *at = cb_str_text(&out); *at;) {
            const uint32_t cp = cb_utf8_next(&at);
            must(cp == '\n' || cb_utf8_is_safe(cp));
        }
    }
    cb_str_fini(&out);
    cb_arena_fini(&arena);
}

static void check_said(const struct cb_err *err)
{
    must(err->text[0] != '\0');
    for (const char *at = err->text; *at != '\0';) {
        must(cb_utf8_is_safe(cb_utf8_next(&at)));
    }
}

static void check_as_it_was(const uint8_t *data, size_t size)
{
    FILE *file = fopen(path, "rb");
    uint8_t *back = malloc(size + 1);
    must(file != NULL && back != NULL);
    must(fread(back, 1, size + 1, file) == size && memcmp(back, data, size) == 0);
    free(back);
    fclose(file);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_store *store = NULL;
    struct cb_salvage found;
    struct cb_err err = {0};
    if (size > BYTES_MAX) {
        return -1;
    }
    if (folder[0] == '\0') {
        make_folder();
    }
    const int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    must(fd >= 0 && write(fd, data, size) == (ssize_t)size && close(fd) == 0);
    if (cb_store_open(path, CB_STORE_READ, &store, &err) == CB_OK) {
        cb_store_check_pages(store);
        read_all(store);
        cb_store_close(store);
    } else {
        check_said(&err);
    }
    store = NULL;
    err = (struct cb_err){0};
    if (cb_store_salvage(path, NULL, &store, &found, &err) == CB_OK) {
        read_all(store);
        cb_store_close(store);
    } else {
        check_said(&err);
    }
    check_as_it_was(data, size);
    leave();
    return 0;
}
