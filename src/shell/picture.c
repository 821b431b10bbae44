/* SPDX-License-Identifier: MIT */
#include "shell/picture.h"

#include <errno.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/arena.h"
#include "base/utf8.h"
#include "shell/spawn.h"

#define VIEWER       "xdg-open"
#define NAME_COLUMNS 40

/* A recipe from elsewhere names what lies with it, and nothing above. */
static bool leads_up(const char *path)
{
    for (const char *at = path; at != NULL; at = strchr(at, '/')) {
        at += *at == '/';
        if (strncmp(at, "..", 2) == 0 && (at[2] == '/' || at[2] == '\0')) {
            return true;
        }
    }
    return false;
}

static enum cb_status open_file(struct cb_pictures *pictures, const char *path, const char *shown,
                                struct cb_err *err)
{
    struct stat st;
    char *file = realpath(path, NULL); /* so that no name is taken for an option */
    pid_t pid = 0;
    if (file == NULL || stat(file, &st) != 0) {
        const char *why = errno == ENOENT || errno == ENOTDIR ? "no such picture" : "can't be read";
        free(file);
        return cb_err_set(err, CB_IO, "%s: %s", why, shown);
    }
    if (!S_ISREG(st.st_mode)) {
        free(file);
        return cb_err_set(err, CB_IO, "no file, so no picture: %s", shown);
    }
    const int fault = cb_spawn(&pid, (const char *const[]){VIEWER, file, NULL}, -1, -1, false);
    free(file);
    if (fault != 0) {
        return cb_err_set(err, CB_FAILED, VIEWER " is not there to show it: %s", shown);
    }
    cb_vec_push(&pictures->viewers, pid);
    return CB_OK;
}

enum cb_status cb_picture_open(struct cb_pictures *pictures, const char *picture,
                               const char *beside, struct cb_err *err)
{
    struct cb_arena arena = {0};
    const char *shown = cb_utf8_clean(&arena, picture, NAME_COLUMNS);
    const char *path = picture;
    enum cb_status status = CB_OK;
    cb_picture_reap(pictures);
    if (picture[0] != '/') {
        const char *slash = beside != NULL ? strrchr(beside, '/') : NULL;
        path = slash != NULL
                   ? cb_arena_printf(&arena, "%.*s/%s", (int)(slash - beside), beside, picture)
                   : cb_arena_printf(&arena, "./%s", picture);
        if (leads_up(picture)) {
            status =
                cb_err_set(err, CB_DATA, "a picture lies beside its recipe, not above: %s", shown);
        }
    }
    if (status == CB_OK) {
        status = open_file(pictures, path, shown, err);
    }
    cb_arena_fini(&arena);
    return status;
}

void cb_picture_reap(struct cb_pictures *pictures)
{
    for (size_t i = 0; i < pictures->viewers.count;) {
        if (waitpid(pictures->viewers.items[i], NULL, WNOHANG) != 0) {
            pictures->viewers.items[i] = pictures->viewers.items[--pictures->viewers.count];
        } else {
            i++;
        }
    }
}

void cb_picture_fini(struct cb_pictures *pictures)
{
    cb_picture_reap(pictures);
    cb_vec_free(&pictures->viewers);
}
