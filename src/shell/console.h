/* SPDX-License-Identifier: MIT */
/* The standard streams and the locale, for commands that print: no ncurses here. */
#ifndef CB_SHELL_CONSOLE_H
#define CB_SHELL_CONSOLE_H

#include <stdbool.h>

#include "base/err.h"

/* Once, first of all: LC_CTYPE from the environment (LC_NUMERIC stays C), a broken pipe is an
 * error of the write and no signal, descriptors 0 to 2 are open. */
void cb_console_start(void);

/* Does the locale's text hold UTF-8? */
bool cb_console_is_utf8(void);

/* Standard input and output are both a terminal: somebody can sit at a bench there. */
bool cb_console_is_terminal(void);
bool cb_console_err_is_terminal(void);

/* Columns of the terminal that standard output is, 80 where it is none. */
int cb_console_columns(void);

/* Flushes standard output; CB_IO when anything written to it was lost, text empty when only
 * the reader went away (`| head`), which nobody wants to hear of, and when it was told before. */
enum cb_status cb_console_finish(struct cb_err *err);

#endif
