/* SPDX-License-Identifier: MIT */
#include "shell/paths.h"

#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <pwd.h>

#include "base/str.h"
#include "shell/yaml.h"

/* From the folder of the program to what it needs, in the order tried. */
struct layout {
    const char *data, *recipes, *bell;
};
static const struct layout layouts[] = {
    {"../share/coatbell", "../share/coatbell/recipes", "../libexec/coatbell/coatbell-bell"},
    {"../../shared", "../../recipes", "coatbell-bell"},
    /* a test program in build/FLAVOUR/tests/..: the tree's own data, at both depths */
    {"../../../../shared", "../../../../recipes", "../../coatbell-bell"},
    {"../../../../../shared", "../../../../../recipes", "../../../coatbell-bell"},
};
static const struct layout last_layout = {
    CB_PREFIX "/share/coatbell",
    CB_PREFIX "/share/coatbell/recipes",
    CB_PREFIX "/libexec/coatbell/coatbell-bell",
};
#define LAYOUT_COUNT (sizeof layouts / sizeof layouts[0])

/* The folder of the running program, links resolved; NULL where /proc is missing. */
static const char *program_folder(struct cb_arena *arena)
{
    char path[PATH_MAX];
    ssize_t length = readlink("/proc/self/exe", path, sizeof path - 1);
    if (length <= 0) {
        return NULL;
    }
    path[length] = '\0';
    char *slash = strrchr(path, '/');
    if (slash == NULL || slash == path) {
        return NULL;
    }
    *slash = '\0';
    return cb_arena_text(arena, path);
}

static bool exists(const char *path, bool folder)
{
    struct stat st;
    return stat(path, &st) == 0 && (folder ? S_ISDIR(st.st_mode) : S_ISREG(st.st_mode));
}

/* The layout whose data folder holds kinds.yaml, as three whole paths. */
static bool find_layout(struct cb_arena *arena, struct layout *found)
{
    const char *folder = program_folder(arena);
    for (size_t i = 0; folder != NULL && i < LAYOUT_COUNT; i++) {
        const char *data = cb_arena_printf(arena, "%s/%s", folder, layouts[i].data);
        if (exists(cb_arena_printf(arena, "%s/kinds.yaml", data), false)) {
            found->data = data;
            found->recipes = cb_arena_printf(arena, "%s/%s", folder, layouts[i].recipes);
            found->bell = cb_arena_printf(arena, "%s/%s", folder, layouts[i].bell);
            return true;
        }
    }
    if (exists(CB_PREFIX "/share/coatbell/kinds.yaml", false)) {
        *found = last_layout;
        return true;
    }
    return false;
}

/* `found` in a shape that reads well and stays right when the current folder changes. */
static const char *resolved(struct cb_arena *arena, const char *path)
{
    char *real = realpath(path, NULL);
    const char *copy = cb_arena_text(arena, real != NULL ? real : path);
    free(real);
    return copy;
}

const char *cb_paths_data(struct cb_arena *arena, const char *name)
{
    struct layout layout;
    if (!find_layout(arena, &layout)) {
        return NULL;
    }
    const char *path = cb_arena_printf(arena, "%s/%s", layout.data, name);
    return exists(path, false) ? resolved(arena, path) : NULL;
}

const char *cb_paths_bell(struct cb_arena *arena)
{
    struct layout layout;
    if (find_layout(arena, &layout) && access(layout.bell, X_OK) == 0) {
        return resolved(arena, layout.bell);
    }
    const char *folder = program_folder(arena);
    if (folder != NULL) {
        const char *beside = cb_arena_printf(arena, "%s/coatbell-bell", folder);
        if (access(beside, X_OK) == 0) {
            return beside;
        }
    }
    return NULL;
}

/* HOME, else that of the account. A slip in it must not lead to another log than is meant, nor past
 * the settings. NULL: none, and err says why. */
static const char *home_folder(struct cb_err *err)
{
    const char *home = getenv("HOME");
    if (home != NULL && home[0] != '/') {
        cb_err_set(err, CB_IO, "HOME: %s%s; it takes the whole path of your home folder",
                   home[0] == '\0' ? "empty" : "a relative path: ", home);
        return NULL;
    }
    if (home == NULL) {
        const struct passwd *entry = getpwuid(getuid());
        home = entry != NULL && entry->pw_dir != NULL && entry->pw_dir[0] == '/' ? entry->pw_dir
                                                                                 : NULL;
    }
    return home;
}

/* XDG base directory specification 0.8: a relative path is invalid and ignored. NULL: none; err is
 * set when that is somebody's slip. */
static const char *xdg(struct cb_arena *arena, const char *variable, const char *below_home,
                       struct cb_err *err)
{
    const char *value = getenv(variable);
    if (value != NULL && value[0] == '/') {
        return cb_arena_text(arena, value);
    }
    const char *home = home_folder(err);
    return home != NULL
               ? cb_arena_printf(arena, "%s/%s", strcmp(home, "/") == 0 ? "" : home, below_home)
               : NULL;
}

const char *cb_paths_log(struct cb_arena *arena, struct cb_err *err)
{
    struct cb_err slip = {0};
    const char *data = xdg(arena, "XDG_DATA_HOME", ".local/share", &slip);
    if (data == NULL) {
        cb_err_set(err, CB_IO, "%s",
                   slip.status != CB_OK ? slip.text
                                        : "no home folder is known; say where "
                                          "the log is: --log FILE");
        return NULL;
    }
    return cb_arena_printf(arena, "%s/coatbell/log.db", data);
}

size_t cb_paths_recipes(struct cb_arena *arena, const char *out[3])
{
    size_t count = 0;
    struct layout layout;
    if (find_layout(arena, &layout) && exists(layout.recipes, true)) {
        out[count++] = resolved(arena, layout.recipes);
    }
    const char *data = xdg(arena, "XDG_DATA_HOME", ".local/share", NULL);
    if (data != NULL) {
        const char *own = cb_arena_printf(arena, "%s/coatbell/recipes", data);
        if (exists(own, true)) {
            out[count++] = own;
        }
    }
    out[count++] = ".";
    return count;
}

/* One file to a tree; *tree NULL and CB_OK when it is not there and need not be. */
struct source {
    const char *path;
    char *text;
    size_t length;
    const struct cb_tree *tree;
    struct cb_issues issues;
};

static enum cb_status read_source(struct cb_arena *arena, struct source *source, struct cb_err *err)
{
    enum cb_status status =
        cb_file_read(source->path, CB_YAML_BYTES_MAX, arena, &source->text, &source->length, err);
    if (status == CB_OK) {
        source->tree = cb_yaml_read(source->text, source->length, arena, &source->issues);
    }
    return status;
}

/* XDG_CONFIG_HOME/coatbell/NAME, when it is there. */
static enum cb_status read_own(struct cb_arena *arena, const char *name, bool homeless,
                               struct source *source, struct cb_err *err)
{
    struct cb_err slip = {0};
    const char *config = xdg(arena, "XDG_CONFIG_HOME", ".config", &slip);
    const char *home = getenv("HOME");
    if (slip.status != CB_OK && !(homeless && home != NULL && home[0] == '\0')) {
        return cb_err_set(err, slip.status, "%s", slip.text);
    }
    if (config == NULL) {
        return CB_OK;
    }
    source->path = cb_arena_printf(arena, "%s/coatbell/%s", config, name);
    return access(source->path, F_OK) == 0 ? read_source(arena, source, err) : CB_OK;
}

static enum cb_status refuse(struct source *const sources[], size_t count, struct cb_err *err)
{
    struct cb_str out = {0};
    for (size_t i = 0; i < count; i++) {
        if (sources[i]->issues.count > 0) {
            cb_issues_print(&sources[i]->issues, sources[i]->path, sources[i]->text, &out);
        }
    }
    fputs(cb_str_text(&out), stderr);
    cb_str_fini(&out);
    return cb_err_set(err, CB_DATA, "%s", ""); /* all is said */
}

/* A table of ours, and the user's own beside config.yaml. */
static enum cb_status read_both(struct cb_arena *arena, const char *name, bool homeless,
                                struct source *ours, struct source *user, struct cb_err *err)
{
    ours->path = cb_paths_data(arena, name);
    if (ours->path == NULL) {
        return cb_err_set(err, CB_IO,
                          "%s is not found beside the program nor in %s; "
                          "install coatbell again, or run it from its source tree",
                          name, CB_PREFIX "/share/coatbell");
    }
    enum cb_status status = read_own(arena, name, homeless, user, err);
    if (status == CB_OK) {
        status = read_source(arena, ours, err);
    }
    if (status == CB_OK && (ours->tree == NULL || user->issues.count > 0)) {
        struct source *const both[] = {ours, user};
        status = refuse(both, 2, err);
    }
    return status;
}

static enum cb_status read_kinds(struct cb_arena *arena, bool homeless,
                                 const struct cb_kinds **kinds, struct cb_err *err)
{
    struct cb_arena files = {0}; /* the texts and trees are some ten times what is made of them */
    struct source ours = {0}, user = {0};
    struct source *const both[] = {&ours, &user};
    enum cb_status status = read_both(&files, "kinds.yaml", homeless, &ours, &user, err);
    if (status == CB_OK) {
        *kinds = cb_kinds_from_tree(ours.tree, user.tree, arena, &ours.issues, &user.issues);
        status = *kinds != NULL ? CB_OK : refuse(both, 2, err);
    }
    cb_arena_fini(&files);
    return status;
}

const char *cb_paths_config(struct cb_arena *arena, bool *there)
{
    struct cb_err slip = {0};
    const char *config = xdg(arena, "XDG_CONFIG_HOME", ".config", &slip);
    const char *path =
        config != NULL ? cb_arena_printf(arena, "%s/coatbell/config.yaml", config) : NULL;
    *there = path != NULL && access(path, F_OK) == 0;
    return path;
}

static enum cb_status read_config(struct cb_arena *arena, bool homeless,
                                  const struct cb_config **config, struct cb_err *err)
{
    struct source user = {0};
    const enum cb_status status = read_own(arena, "config.yaml", homeless, &user, err);
    if (status != CB_OK) {
        return status;
    }
    struct source *const one[] = {&user};
    *config = user.issues.count == 0 ? cb_config_from_tree(user.tree, arena, &user.issues) : NULL;
    return *config != NULL ? CB_OK : refuse(one, 1, err);
}

bool cb_paths_ascii(struct cb_arena *arena, bool homeless)
{
    struct cb_err err = {0};
    struct source user = {0};
    const struct cb_config *config = NULL;
    if (read_own(arena, "config.yaml", homeless, &user, &err) == CB_OK && user.issues.count == 0) {
        config = cb_config_from_tree(user.tree, arena, &user.issues);
    }
    return config != NULL && config->ascii;
}

enum cb_status cb_paths_settings(struct cb_arena *arena, bool homeless,
                                 const struct cb_kinds **kinds, const struct cb_config **config,
                                 struct cb_err *err)
{
    const enum cb_status status = read_kinds(arena, homeless, kinds, err);
    return status == CB_OK && config != NULL ? read_config(arena, homeless, config, err) : status;
}

enum cb_status cb_paths_cues(struct cb_arena *arena, bool homeless, const struct cb_kinds *kinds,
                             const struct cb_cues **cues, struct cb_err *err)
{
    struct cb_arena files = {0};
    struct source ours = {0}, user = {0};
    struct source *const both[] = {&ours, &user};
    enum cb_status status = read_both(&files, "cues.yaml", homeless, &ours, &user, err);
    if (status == CB_OK) {
        *cues = cb_cues_from_tree(ours.tree, user.tree, kinds, arena, &ours.issues, &user.issues);
        status = *cues != NULL ? CB_OK : refuse(both, 2, err);
    }
    cb_arena_fini(&files);
    return status;
}

enum cb_status cb_paths_kinds(struct cb_arena *arena, const struct cb_kinds **kinds,
                              struct cb_err *err)
{
    return cb_paths_settings(arena, false, kinds, NULL, err);
}
