/* SPDX-License-Identifier: MIT */
/*
 * Is the log whole? All of it is read: every page, the sum of every row, what the list of units
 * says of them, the numbers that rows were given. What is wrong is told with what would mend it;
 * what is whole is never dropped or changed.
 */
#ifndef CB_SHELL_STORE_CHECK_H
#define CB_SHELL_STORE_CHECK_H

#include <stddef.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/vec.h"
#include "shell/history.h"
#include "shell/store.h"

enum cb_mend {
    CB_MEND_NOTHING, /* a notice: it stays as it is */
    CB_MEND_KEPT,    /* what is kept of finished units is dropped, and made anew when wanted */
    CB_MEND_SUMS,    /* the sums over the rows of units are made again */
    CB_MEND_FRESH,   /* a fresh log of all events that are whole takes the place of this one */
};

struct cb_flaw {
    enum cb_mend mend;
    const char *text; /* one line */
};
struct cb_flaws {
    CB_VEC(struct cb_flaw) list;
};
void cb_flaws_fini(struct cb_flaws *flaws);
/* Each of them that is no notice. */
size_t cb_flaws_to_mend(const struct cb_flaws *flaws);
/* One of them is mended by a fresh log only. */
bool cb_flaws_need_fresh(const struct cb_flaws *flaws);
/* The text is the caller's, and lives as long as the flaws. */
void cb_flaws_add(struct cb_flaws *flaws, enum cb_mend mend, const char *text);

/* What --mend does for it, as a sentence's end; NULL for a notice. */
const char *cb_mend_says(enum cb_mend mend);

/* Of the file. Texts in the arena. CB_IO or CB_DATA: it can't be read at all, or is no log that
 * this program could mend; a damaged one is a flaw. */
enum cb_status cb_store_check(const char *path, struct cb_arena *arena, struct cb_flaws *flaws,
                              struct cb_err *err);
/* Of one that is open; returns whether all of it could be read. */
bool cb_store_check_open(struct cb_store *store, struct cb_arena *arena, struct cb_flaws *flaws);
/* Of what is kept of finished units: kept equals fresh. */
void cb_store_check_kept(struct cb_history *history, struct cb_arena *arena,
                         struct cb_flaws *flaws);

/* Mends what the flaws ask for. *kept: the log as it was, beside it, 0600, in the arena.
 * CB_FAILED: somebody has it open. */
enum cb_status cb_store_mend(const char *path, const struct cb_flaws *flaws, struct cb_arena *arena,
                             const char **kept, struct cb_err *err);

#endif
