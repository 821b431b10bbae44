/* SPDX-License-Identifier: MIT */
/*
 * The log as text, in and out: JSON Lines both ways, CSV (RFC 4180) outwards. What is written is
 * in fold order, so that equal sets of events give equal bytes whatever way they came together.
 */
#ifndef CB_SHELL_TRANSFER_H
#define CB_SHELL_TRANSFER_H

#include <stddef.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/tree.h"
#include "shell/store.h"

/* Every line that is not blank must hold an event. CB_DATA: issues name lines and columns. */
enum cb_status cb_transfer_check(const char *text, size_t length, struct cb_arena *arena,
                                 struct cb_issues *issues, size_t *events);
/* After the check: all in one transaction, those whose id is known are skipped. */
enum cb_status cb_transfer_in(struct cb_store *store, const char *text, size_t length,
                              size_t *added, struct cb_err *err);

enum cb_transfer_format { CB_TRANSFER_JSONL, CB_TRANSFER_CSV };
/* Hands out whole lines; stops with CB_IO when write returns false (err is write's to set). */
enum cb_status cb_transfer_out(struct cb_store *store, enum cb_transfer_format format,
                               bool (*write)(void *context, const char *bytes, size_t length),
                               void *context, size_t *events, struct cb_err *err);

#endif
