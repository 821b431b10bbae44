/* SPDX-License-Identifier: MIT */
/* Where things are: found relative to /proc/self/exe, links resolved: installed layout, source
 * tree, last the compiled PREFIX. A relative XDG value is ignored. */
#ifndef CB_SHELL_PATHS_H
#define CB_SHELL_PATHS_H

#include <stddef.h>

#include "base/arena.h"
#include "base/err.h"
#include "core/config.h"
#include "core/kinds.h"

/* "kinds.yaml" in the run-time data; NULL when it is nowhere. */
const char *cb_paths_data(struct cb_arena *arena, const char *name);
const char *cb_paths_bell(struct cb_arena *arena);    /* the child program, or NULL */
const char *cb_paths_log(struct cb_arena *arena);     /* XDG_DATA_HOME/coatbell/log.db; NULL: no home */
const char *cb_paths_config(struct cb_arena *arena, const char *name); /* XDG_CONFIG_HOME/coatbell/NAME */
/* Folders searched for recipes, in order: installed, the user's, the current one. */
size_t cb_paths_recipes(struct cb_arena *arena, const char *out[3]);

/* Reads kinds.yaml (and the user's) and config.yaml; on error prints file:line:col blocks to
 * standard error and returns the status; err->text is then empty, for all is said. */
enum cb_status cb_paths_kinds(struct cb_arena *arena, const struct cb_kinds **kinds,
                              struct cb_err *err);
enum cb_status cb_paths_load_config(struct cb_arena *arena, const struct cb_config **config,
                                    struct cb_err *err);

#endif
