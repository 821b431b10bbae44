/* SPDX-License-Identifier: MIT */
#include "shell/signals.h"

#include <errno.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

enum cb_status cb_signals_open(struct cb_signals *signals, struct cb_err *err)
{
    static const int numbers[] = {SIGWINCH, SIGCONT, SIGTSTP, SIGHUP,
                                  SIGTERM,  SIGINT,  SIGQUIT, SIGCHLD};
    sigset_t set;
    sigemptyset(&set);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        sigaddset(&set, numbers[i]);
    }
    sigprocmask(SIG_BLOCK, &set, &signals->before);
    signals->fd = signalfd(-1, &set, SFD_CLOEXEC | SFD_NONBLOCK);
    return signals->fd >= 0
               ? CB_OK
               : cb_err_set(err, CB_IO, "signals can't be waited for: %s", strerror(errno));
}

void cb_signals_close(struct cb_signals *signals)
{
    if (signals->fd >= 0) {
        while (cb_signals_next(signals) != 0) {
            /* A hang-up is told twice, by the terminal and by SIGHUP: the second would kill. */
        }
        close(signals->fd);
    }
    sigprocmask(SIG_SETMASK, &signals->before, NULL);
}

int cb_signals_next(const struct cb_signals *signals)
{
    struct signalfd_siginfo info;
    return read(signals->fd, &info, sizeof info) == (ssize_t)sizeof info ? (int)info.ssi_signo : 0;
}
