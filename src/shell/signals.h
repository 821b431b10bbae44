/* SPDX-License-Identifier: MIT */
/* Signals as something to be read, in their order, beside the keys. */
#ifndef CB_SHELL_SIGNALS_H
#define CB_SHELL_SIGNALS_H

#include <signal.h>

#include "base/err.h"

struct cb_signals {
    int fd; /* to be waited for */
    sigset_t before;
};

/* From here on those that a program of the whole screen answers come only from next. To be closed
 * even when it failed. */
enum cb_status cb_signals_open(struct cb_signals *signals, struct cb_err *err);
void cb_signals_close(struct cb_signals *signals);     /* those that wait are taken */
int cb_signals_next(const struct cb_signals *signals); /* 0: none */

#endif
