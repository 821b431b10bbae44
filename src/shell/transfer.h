/* SPDX-License-Identifier: MIT */
/*
 * The log as text, in and out: JSON Lines both ways, CSV (RFC 4180) outwards. What is written is
 * in fold order, so that equal sets of events give equal bytes whatever way they came together.
 * Whatever goes out as lines comes in again: what could not is left, and said.
 */
#ifndef CB_SHELL_TRANSFER_H
#define CB_SHELL_TRANSFER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/tree.h"
#include "shell/store.h"

/* What was neither taken nor written: how many, and of the first ones which and why. */
struct cb_transfer_left {
    size_t count;
    struct cb_issues first; /* in: line and column; out: line 0, the message names row and id */
};

/* Fills bytes, at most size of them; 0: the end; -1: err says why not. */
typedef long cb_transfer_read(void *context, char *bytes, size_t size, struct cb_err *err);

struct cb_transfer_in {
    cb_transfer_read *read;
    void *context;
    bool strict;                            /* all or nothing */
    void (*tell)(void *told, size_t lines); /* now and then, how many were read; may be NULL */
    void *told;
};
struct cb_transfer_taken {
    size_t lines;                 /* that are not blank */
    size_t added;                 /* the others were there already, or are left */
    struct cb_transfer_left left; /* its messages in the arena */
};
/* In one transaction, of which nothing stands when it fails or is cut off; lines whose id is known
 * are skipped, bad ones left. strict: CB_DATA when one was left, and nothing is taken. CB_DATA also
 * of what begins as an SQLite file does. No more than a line is held in memory. */
enum cb_status cb_transfer_in(struct cb_store *store, const struct cb_transfer_in *in,
                              struct cb_arena *arena, struct cb_transfer_taken *taken,
                              struct cb_err *err);

/* A text in memory as what is read. */
struct cb_transfer_text {
    const char *at;
    size_t left;
};
cb_transfer_read cb_transfer_read_text;

enum cb_transfer_format { CB_TRANSFER_JSONL, CB_TRANSFER_CSV };
/* Hands out whole lines; stops with CB_IO when write returns false (err is write's to set). What
 * stands in the log and is no event by the schema, or has the id of an earlier one, is left. */
enum cb_status cb_transfer_out(struct cb_store *store, enum cb_transfer_format format,
                               bool (*write)(void *context, const char *bytes, size_t length),
                               void *context, struct cb_arena *arena, size_t *events,
                               struct cb_transfer_left *left, struct cb_err *err);

#endif
