/* SPDX-License-Identifier: MIT */
/*
 * The one thread of the bell that speaks with the desktop. libnotify's calls wait, up to 25 s for
 * a daemon that hangs, and whoever reads the socket must not. What is wanted of a pop-up last is
 * kept until the thread comes to it; what was wanted before and not yet begun is dropped.
 * It tells the bench how it stands by itself (bell/socket.h). All calls are for the main thread and
 * return at once, but the last.
 */
#ifndef CB_BELL_WORKER_H
#define CB_BELL_WORKER_H

#include <stdbool.h>
#include <stdint.h>

/* Before any other thread is there. False: no thread can be had. */
bool cb_worker_start(void);

/* Plain text in UTF-8, copied. The same id again brings its pop-up up to date. */
void cb_worker_show(uint32_t id, bool sound, uint32_t answer, const char *title, const char *body);
void cb_worker_close(uint32_t id);

/* Takes down what would have dead buttons, and ends. False: a call still waits for the desktop, the
 * thread is still there, and the program is to leave without it. */
bool cb_worker_end(void);

#endif
