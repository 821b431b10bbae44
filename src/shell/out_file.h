/* SPDX-License-Identifier: MIT */
/* A file that is written whole or not at all: under another name first, 0600, on the disk before
 * it takes the name (and the place of an older file of that name). */
#ifndef CB_SHELL_OUT_FILE_H
#define CB_SHELL_OUT_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"

struct cb_out_file;

/* "-": standard output. keep_off: a log that must not be written over, under whatever name, nor
 * its companions; may be NULL. */
enum cb_status cb_out_file_open(const char *path, const char *keep_off, struct cb_out_file **file,
                                struct cb_err *err);
/* void for use as a callback; false once anything failed. */
bool cb_out_file_write(void *file, const char *bytes, size_t length);
/* keep: it takes its name; else it vanishes. CB_IO when any write failed; frees; takes NULL. */
enum cb_status cb_out_file_close(struct cb_out_file *file, bool keep, struct cb_err *err);

#endif
