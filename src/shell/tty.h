/* SPDX-License-Identifier: MIT */
/*
 * The terminal without ncurses: its modes, its size, and output that never waits. What draws writes
 * into a pipe of ours; what is gathered from there goes to the terminal, in order, as the terminal
 * takes it. So a terminal that takes nothing (a hung connection, a stopped reader) keeps nobody
 * waiting.
 */
#ifndef CB_SHELL_TTY_H
#define CB_SHELL_TTY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "base/err.h"

struct cb_tty;

/* Standard input and output, which are a terminal. Its modes are as they were until cb_tty_raw. */
enum cb_status cb_tty_open(struct cb_tty **tty, struct cb_err *err);
void cb_tty_close(struct cb_tty *tty); /* what waits is dropped; takes NULL */

void cb_tty_raw(struct cb_tty *tty);  /* keys one by one, no echo, bytes out as they are */
void cb_tty_back(struct cb_tty *tty); /* the modes as they were found */
/* False where the terminal does not know its size. */
bool cb_tty_size(const struct cb_tty *tty, int *rows, int *columns);

/* For what draws, by its descriptor: until cb_tty_catch the terminal itself, to be looked at once
 * (modes, speed, size); from then on the pipe. */
FILE *cb_tty_stream(struct cb_tty *tty);
void cb_tty_catch(struct cb_tty *tty);
/* Bytes in writes of any size that the pipe surely takes before they are gathered; who writes more
 * waits for ever. */
size_t cb_tty_room(const struct cb_tty *tty);
void cb_tty_gather(struct cb_tty *tty);
void cb_tty_add(struct cb_tty *tty, const char *bytes); /* the same for a text of our own */

/* All that was drawn or added, as far as the terminal takes it now. False: it was refused for good
 * and is lost. */
bool cb_tty_send(struct cb_tty *tty);
/* What to wait on with POLLOUT before the next send; -1: nothing waits. */
int cb_tty_out_fd(const struct cb_tty *tty);
/* Sends until nothing waits or so many ms are over; what is left stays first in line. */
void cb_tty_drain(struct cb_tty *tty, int most_ms);

/* From here to cb_tty_close a crash writes these bytes and brings the modes back. */
void cb_tty_guard(struct cb_tty *tty, const char *bytes, size_t length);

#endif
