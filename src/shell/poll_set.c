/* SPDX-License-Identifier: MIT */
#include "shell/poll_set.h"

#include <sys/timerfd.h>
#include <unistd.h>

void cb_poll_set_fini(struct cb_poll_set *set)
{
    cb_vec_free(&set->fds);
    cb_vec_free(&set->watchers);
    if (set->has_timer) {
        close(set->timer);
        set->has_timer = false;
    }
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

/* Beside poll's own time, which stands still while the machine sleeps: a laptop that was opened
 * again would show its evening as it was for up to a minute more. False: there is no such timer. */
static bool set_timer(struct cb_poll_set *set, int timeout_ms)
{
    if (!set->has_timer) {
        set->timer = timerfd_create(CLOCK_BOOTTIME, TFD_NONBLOCK | TFD_CLOEXEC);
        set->has_timer = set->timer >= 0;
    }
    const struct itimerspec at = {
        .it_value = {.tv_sec = timeout_ms / 1000, .tv_nsec = timeout_ms % 1000 * 1000000L}};
    return set->has_timer && timerfd_settime(set->timer, 0, &at, NULL) == 0;
}

int cb_poll_set_wait(struct cb_poll_set *set, int timeout_ms)
{
    const bool timed = timeout_ms > 0 && set_timer(set, timeout_ms);
    const size_t count = set->fds.count;
    cb_vec_push(&set->fds, ((struct pollfd){.fd = timed ? set->timer : -1, .events = POLLIN}));
    int ready = poll(set->fds.items, (nfds_t)set->fds.count, timeout_ms);
    set->fds.count = count;
    if (ready > 0 && set->fds.items[count].revents != 0) {
        ready--;
    }
    for (size_t i = 0; ready < 0 && i < count; i++) {
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
