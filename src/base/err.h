/* SPDX-License-Identifier: MIT */
/*
 * Errors are values: a status and one caller-owned line of text, written once where the fault
 * is noticed. The status is also the exit code of the program (see coatbell(1)).
 */
#ifndef CB_BASE_ERR_H
#define CB_BASE_ERR_H

enum cb_status {
    CB_OK = 0,
    CB_FAILED = 1, /* ran, and the answer is no */
    CB_USAGE = 2,  /* the call's words are off */
    CB_DATA = 65,  /* input was read and is wrong (sysexits.h, EX_DATAERR) */
    CB_IO = 74,    /* a file, terminal or bus would not (sysexits.h, EX_IOERR) */
};

struct cb_err {
    enum cb_status status;
    char text[1024]; /* no newline at the end; empty while status is CB_OK */
};

/* Writes status and text, returns status, so that `return cb_err_set(err, CB_DATA, ...)` reads.
 * err may be NULL: then only the status is returned. */
enum cb_status cb_err_set(struct cb_err *err, enum cb_status status, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

#endif
