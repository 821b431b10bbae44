/* SPDX-License-Identifier: MIT */
#include "base/err.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

/* A text cut by its buffer must not end inside a character. */
static void drop_half_character(char *text)
{
    size_t end = strlen(text);
    size_t start = end;
    while (start > 0 && end - start < 4 && ((unsigned char)text[start - 1] & 0xC0U) == 0x80U) {
        start--;
    }
    if (start == 0) {
        return;
    }
    unsigned lead = (unsigned char)text[start - 1];
    size_t want = lead >= 0xF0U ? 3 : lead >= 0xE0U ? 2 : lead >= 0xC0U ? 1 : 0;
    if (want > end - start) {
        text[start - 1] = '\0';
    }
}

enum cb_status cb_err_set(struct cb_err *err, enum cb_status status, const char *format, ...)
{
    if (!err) {
        return status;
    }
    err->status = status;
    va_list args;
    va_start(args, format);
    int length = vsnprintf(err->text, sizeof err->text, format, args);
    va_end(args);
    if (length < 0) {
        err->text[0] = '\0';
    } else if ((size_t)length >= sizeof err->text) {
        drop_half_character(err->text);
    }
    return status;
}
