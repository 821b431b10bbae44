/* SPDX-License-Identifier: MIT */
/* How every program is started that runs beside the bench: by its words, without a shell. */
#ifndef CB_SHELL_SPAWN_H
#define CB_SHELL_SPAWN_H

#include <stdbool.h>
#include <sys/types.h>

/* words: ends with NULL; the first is looked for in PATH unless there is a slash in it. in and out
 * become its standard input and output, -1: /dev/null, as is its standard error. It inherits what
 * is not closed on exec. No signal is blocked or ignored there. A group of its own: Ctrl-Z stops
 * the bench alone, and what it starts can be ended with it. away: a session of its own too, so that
 * the bench's terminal is not its own to write on (/dev/tty); the kernel then no longer wakes it,
 * were it stopped, when the bench is gone. Whoever starts it waits for it.
 * Returns 0 or an errno; *pid is set on 0. */
int cb_spawn(pid_t *pid, const char *const *words, int in, int out, bool away);

#endif
