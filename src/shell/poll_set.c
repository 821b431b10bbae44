/* SPDX-License-Identifier: MIT */
#include "shell/poll_set.h"

void cb_poll_set_fini(struct cb_poll_set *set)
{
    cb_vec_free(&set->fds);
    cb_vec_free(&set->watchers);
}

void cb_poll_set_watch(struct cb_poll_set *set, int fd, short events, cb_poll_handler *handler,
                       void *data)
{
    /* no revents: what was ready at the descriptor of before is not this one's */
    const struct pollfd watched = {.fd = fd, .events = events};
    for (size_t i = 0; i < set->watchers.count; i++) {
        if (set->watchers.items[i].handler == handler && set->watchers.items[i].data == data) {
            set->fds.items[i] = watched;
            return;
        }
    }
    const struct cb_poll_watcher watcher = {.handler = handler, .data = data};
    cb_vec_push(&set->fds, watched);
    cb_vec_push(&set->watchers, watcher);
}

int cb_poll_set_wait(struct cb_poll_set *set, int timeout_ms)
{
    const int ready = poll(set->fds.items, (nfds_t)set->fds.count, timeout_ms);
    for (size_t i = 0; ready < 0 && i < set->fds.count; i++) {
        set->fds.items[i].revents = 0; /* poll leaves them as they were */
    }
    return ready;
}

void cb_poll_set_call(struct cb_poll_set *set)
{
    for (size_t i = 0; i < set->fds.count; i++) {
        if (set->fds.items[i].revents != 0) {
            set->watchers.items[i].handler(set->watchers.items[i].data);
        }
    }
}
