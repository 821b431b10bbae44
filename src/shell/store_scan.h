/* SPDX-License-Identifier: MIT */
/*
 * The rows of a log one by one as they lie in the file, for what must go on behind a bad one. A row
 * whose cells do not make an event by the schema is handed out with what is wrong with it. From
 * opening to closing it is one read transaction: nothing else may be asked of the store meanwhile.
 */
#ifndef CB_SHELL_STORE_SCAN_H
#define CB_SHELL_STORE_SCAN_H

#include "shell/store.h"

struct cb_scan;

struct cb_scan_row {
    long long row;
    const char *id;               /* as it lies there, fit for no terminal; NULL: none */
    const struct cb_event *event; /* NULL: it is none */
    const char *why;              /* then: the field's name, a colon, what is wrong with it */
};

enum cb_status cb_scan_open(struct cb_store *store, struct cb_scan **scan, struct cb_err *err);
void cb_scan_close(struct cb_scan *scan);

/* The next in row order; NULL: there is none. What is handed out lives until the next call. */
enum cb_status cb_scan_next(struct cb_scan *scan, const struct cb_scan_row **row,
                            struct cb_err *err);
/* That very row. */
enum cb_status cb_scan_at(struct cb_scan *scan, long long number, const struct cb_scan_row **row,
                          struct cb_err *err);

#endif
