/* SPDX-License-Identifier: MIT */
/* Rows for spreadsheets (RFC 4180): cells of text from a log, and the events as a table. */
#ifndef CB_SHELL_CSV_H
#define CB_SHELL_CSV_H

#include "base/str.h"
#include "core/log/event.h"

/* One cell of text, quoted where that is needed; NULL: empty. What a terminal should not see is ?,
 * and what a spreadsheet would run as a formula gets an apostrophe before it, which makes it text:
 * whatever starts with = + - or @, ASCII or fullwidth, behind any blanks or marks of no width. */
void cb_csv_cell(struct cb_str *out, const char *text);

/* The names of the columns, and an event under them; each with the end of its line. */
void cb_csv_event_head(struct cb_str *out);
void cb_csv_event(struct cb_str *out, const struct cb_event *event);

#endif
