/* SPDX-License-Identifier: MIT */
/* Presses that are not on disk yet. They reach it in the order they were made; the last way out is
 * a file of JSON Lines elsewhere, which `coatbell log import` takes when the disk is well again. */
#ifndef CB_SHELL_UNSAVED_H
#define CB_SHELL_UNSAVED_H

#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/vec.h"
#include "shell/store.h"

struct cb_unsaved {
    CB_VEC(struct cb_unsaved_press {
        const struct cb_event *const *events;
        size_t count;
    })
    presses;
    struct cb_arena arena; /* what they lie in */
};

void cb_unsaved_fini(struct cb_unsaved *unsaved);
/* A copy of one press. */
void cb_unsaved_add(struct cb_unsaved *unsaved, const struct cb_event *const *events, size_t count);
/* Drops what the presses of before lay in, once none is left. What was stored may point there. */
void cb_unsaved_tidy(struct cb_unsaved *unsaved);

/* Stores the first press, of which there is one; stored lies in scratch and in the presses' own
 * arena. What failed keeps the ids it was given, so that it is never there twice. */
enum cb_status cb_unsaved_save(struct cb_unsaved *unsaved, struct cb_store *store,
                               struct cb_arena *scratch, const struct cb_event ***stored,
                               size_t *count, struct cb_err *err);
/* The last press as it will be stored, so that the bench can go on with it. */
enum cb_status cb_unsaved_name(struct cb_unsaved *unsaved, struct cb_store *store,
                               const struct cb_event *const **named, size_t *count);

/* All of them into a new file in the run-time, temporary or home folder, whichever takes it. Always
 * CB_IO: err says what was not saved in the log of that path and where it stands now. */
enum cb_status cb_unsaved_rescue(const struct cb_unsaved *unsaved, int64_t wall_ms,
                                 const char *log_path, struct cb_err *err);

#endif
