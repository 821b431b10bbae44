/* SPDX-License-Identifier: MIT */
/* How every program is started that runs beside the bench: by its words, without a shell. */
#ifndef CB_SHELL_SPAWN_H
#define CB_SHELL_SPAWN_H

#include <sys/types.h>

/* words: ends with NULL; the first is looked for in PATH unless there is a slash in it. in and out
 * become its standard input and output, -1: /dev/null, as is its standard error. It inherits what
 * is not closed on exec. No signal is blocked or ignored there. A session and a group of its own:
 * Ctrl-Z stops the bench alone, what it starts can be ended with it, and the bench's terminal is
 * not its own to write on (/dev/tty). Whoever starts it waits for it.
 * Returns 0 or an errno; *pid is set on 0. */
int cb_spawn(pid_t *pid, const char *const *words, int in, int out);

#endif
