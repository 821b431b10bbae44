/* SPDX-License-Identifier: MIT */
/* The one poll(2) of the program: who is called when which descriptor is ready. */
#ifndef CB_SHELL_POLL_SET_H
#define CB_SHELL_POLL_SET_H

#include <poll.h>
#include <stdbool.h>

#include "base/vec.h"

typedef void cb_poll_handler(void *data);

struct cb_poll_set {
    CB_VEC(struct pollfd) fds; /* each with its watcher at the same place */
    CB_VEC(struct cb_poll_watcher {
        cb_poll_handler *handler;
        void *data;
    })
    watchers;
    int timer; /* where has_timer */
    bool has_timer;
};

void cb_poll_set_fini(struct cb_poll_set *set);

/* A handler with its data watches one descriptor, which stays the caller's: said again, it is this
 * one from now on. fd -1: none. Any handler may say so of itself and of others. */
void cb_poll_set_watch(struct cb_poll_set *set, int fd, short events, cb_poll_handler *handler,
                       void *data);

/* Waits at most timeout_ms, those in which the machine slept too (CLOCK_BOOTTIME, where the kernel
 * has such a timer); -1: without end. What poll(2) gives: how many are ready; -1: errno says
 * why, and nothing is ready. */
int cb_poll_set_wait(struct cb_poll_set *set, int timeout_ms);
/* Calls the handlers of what was ready, a hang-up and a fault too, in the order they were first
 * told of. */
void cb_poll_set_call(struct cb_poll_set *set);

#endif
