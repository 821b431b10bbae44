/* SPDX-License-Identifier: MIT */
/* Where things are: found relative to /proc/self/exe, links resolved: installed layout, source
 * tree, last the compiled PREFIX. A relative XDG value is ignored; where HOME is asked for and is
 * empty or relative, that is a fault, CB_IO; where it is not set, it is the account's. */
#ifndef CB_SHELL_PATHS_H
#define CB_SHELL_PATHS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/err.h"
#include "core/coach/cue.h"
#include "core/recipe/config.h"
#include "core/paint/kinds.h"

/* "kinds.yaml" in the run-time data; NULL when it is nowhere. */
const char *cb_paths_data(struct cb_arena *arena, const char *name);
const char *cb_paths_bell(struct cb_arena *arena); /* the child program, or NULL */
/* XDG_DATA_HOME/coatbell/log.db; NULL: no home, and err says why. */
const char *cb_paths_log(struct cb_arena *arena, struct cb_err *err);
/* Folders searched for recipes, in order: installed, the user's, the current one. */
size_t cb_paths_recipes(struct cb_arena *arena, const char *out[3]);

/* Reads kinds.yaml (and the user's) and, unless config is NULL, config.yaml; on error prints
 * file:line:col blocks to standard error and returns the status; err->text is then empty, for all
 * is said. homeless: where HOME is empty the user has none of both, and that is no fault. */
enum cb_status cb_paths_settings(struct cb_arena *arena, bool homeless,
                                 const struct cb_kinds **kinds, const struct cb_config **config,
                                 struct cb_err *err);
/* `ascii` of config.yaml alone, for what is printed without any other setting; false, and nothing
 * is said, where it is not there or refused. */
bool cb_paths_ascii(struct cb_arena *arena, bool homeless);
/* Where config.yaml is looked for, whether it is there or not; NULL: no home folder is known. */
const char *cb_paths_config(struct cb_arena *arena, bool *there);
enum cb_status cb_paths_kinds(struct cb_arena *arena, const struct cb_kinds **kinds,
                              struct cb_err *err); /* those alone, not homeless */
/* Reads cues.yaml and the user's, in the same way. */
enum cb_status cb_paths_cues(struct cb_arena *arena, bool homeless, const struct cb_kinds *kinds,
                             const struct cb_cues **cues, struct cb_err *err);

#endif
