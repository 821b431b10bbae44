/* SPDX-License-Identifier: MIT */
/* The bell's side of the socket to the bench, which is its standard input; the lines of the
 * protocol stand in shell/bell.h. */
#ifndef CB_BELL_SOCKET_H
#define CB_BELL_SOCKET_H

/* Calls take for each line that comes, without its end, and gone once when nothing more will come;
 * both on the main thread, from its main loop. */
void cb_socket_open(void (*take)(const char *line), void (*gone)(void));

/* One line, the end of it is added. From any thread; never waits. */
void cb_socket_tell(const char *format, ...) __attribute__((format(printf, 1, 2)));

#endif
