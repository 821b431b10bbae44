/* SPDX-License-Identifier: MIT */
#include "shell/unsaved.h"

#include <fcntl.h>
#include <inttypes.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <unistd.h>

#include "base/str.h"
#include "shell/jsonl.h"

void cb_unsaved_fini(struct cb_unsaved *unsaved)
{
    cb_vec_free(&unsaved->presses);
    cb_arena_fini(&unsaved->arena);
}

static struct cb_unsaved_press keep(struct cb_unsaved *unsaved, const struct cb_event *const *from,
                                    size_t count)
{
    const struct cb_event **events = cb_arena_alloc(&unsaved->arena, count, sizeof *events);
    for (size_t i = 0; i < count; i++) {
        events[i] = cb_event_copy(&unsaved->arena, from[i]);
    }
    return (struct cb_unsaved_press){.events = events, .count = count};
}

void cb_unsaved_add(struct cb_unsaved *unsaved, const struct cb_event *const *events, size_t count)
{
    const struct cb_unsaved_press press = keep(unsaved, events, count);
    cb_vec_push(&unsaved->presses, press);
}

void cb_unsaved_tidy(struct cb_unsaved *unsaved)
{
    if (unsaved->presses.count == 0) {
        cb_arena_fini(&unsaved->arena);
    }
}

enum cb_status cb_unsaved_save(struct cb_unsaved *unsaved, struct cb_store *store,
                               struct cb_arena *scratch, const struct cb_event ***stored,
                               size_t *count, struct cb_err *err)
{
    struct cb_unsaved_press *first = &unsaved->presses.items[0];
    *stored = NULL;
    *count = first->count;
    const enum cb_status status =
        cb_store_append(store, first->events, first->count, scratch, stored, err);
    if (status == CB_OK) {
        memmove(first, first + 1, --unsaved->presses.count * sizeof *first);
    } else if (*stored != NULL && first->events[0]->id == NULL) {
        *first = keep(unsaved, *stored, first->count);
    }
    return status;
}

enum cb_status cb_unsaved_name(struct cb_unsaved *unsaved, struct cb_store *store,
                               const struct cb_event *const **named, size_t *count)
{
    struct cb_unsaved_press *last = &unsaved->presses.items[unsaved->presses.count - 1];
    const struct cb_event **events = NULL;
    const enum cb_status status =
        cb_store_name(store, last->events, last->count, &unsaved->arena, &events, NULL);
    if (status == CB_OK) {
        last->events = *named = events;
        *count = last->count;
    }
    return status;
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

/* Appends the press as lines and counts them. */
static size_t add_lines(const struct cb_unsaved_press *press, struct cb_str *text)
{
    char name[40];
    make_id(name);
    for (size_t i = 0; i < press->count; i++) {
        struct cb_event event = *press->events[i];
        char id[40];
        if (event.id == NULL) {
            make_id(id);
            event.id = id;
        }
        if (event.press == NULL) {
            event.press = name;
        }
        cb_jsonl_encode(&event, text);
        cb_str_add(text, "\n");
    }
    return press->count;
}

/* The whole text in a new file there, on the disk. */
static bool write_in(const struct cb_str *text, int64_t wall_ms, const char *folder, char path[512])
{
    snprintf(path, 512, "%s/coatbell-unsaved-%" PRId64 ".jsonl", folder, wall_ms);
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (fd < 0) {
        return false;
    }
    size_t done = 0;
    while (done < text->length) {
        ssize_t put = write(fd, text->text + done, text->length - done);
        if (put <= 0) {
            break;
        }
        done += (size_t)put;
    }
    bool good = done == text->length && fsync(fd) == 0;
    good = close(fd) == 0 && good;
    if (!good) {
        unlink(path);
    }
    return good;
}

enum cb_status cb_unsaved_rescue(const struct cb_unsaved *unsaved, int64_t wall_ms,
                                 const char *log_path, struct cb_err *err)
{
    struct cb_str text = {0}; /* whole, so that each folder is tried with all of it */
    size_t count = 0;
    for (size_t i = 0; i < unsaved->presses.count; i++) {
        count += add_lines(&unsaved->presses.items[i], &text);
    }
    const char *const folders[] = {getenv("HOME"), getenv("TMPDIR"), "/tmp", "/var/tmp",
                                   getenv("XDG_RUNTIME_DIR")};
    char path[512];
    bool good = false;
    for (size_t i = 0; i < sizeof folders / sizeof folders[0] && !good; i++) {
        good = folders[i] != NULL && folders[i][0] == '/' &&
               write_in(&text, wall_ms, folders[i], path);
    }
    if (good) {
        cb_err_set(err, CB_IO,
                   "%zu events could not be saved in %s; they stand in %s: "
                   "`coatbell log import` takes them when the log can be written again",
                   count, log_path, path);
    } else {
        cb_err_set(err, CB_IO, "%zu events could not be saved in %s, nor anywhere else", count,
                   log_path);
    }
    cb_str_fini(&text);
    return CB_IO;
}
