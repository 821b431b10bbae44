/* SPDX-License-Identifier: MIT */
/* Any bytes as what a child says to the bench, on a socket to nobody: no child is started. News
 * are of the kinds there are, a child that says nonsense is replaced, and nothing else is touched.
 */
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include "shell/spawn.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static int peer = -1; /* what the child would have as its standard input */

static int pair(int domain, int type, int protocol, int ends[2])
{
    const int result = socketpair(domain, type, protocol, ends);
    if (peer >= 0) {
        close(peer);
    }
    peer = result == 0 ? dup(ends[1]) : -1;
    return result;
}

static int start(pid_t *pid, const char *const *words, int in, int out, bool away)
{
    (void)words, (void)in, (void)out, (void)away;
    *pid = 1;
    return 0;
}

static int let_be(pid_t pid, int number)
{
    (void)pid, (void)number;
    return 0;
}

static pid_t is_gone(pid_t pid, int *status, int options)
{
    (void)status, (void)options;
    return pid;
}

#define socketpair pair
#define cb_spawn   start
#define kill       let_be
#define waitpid    is_gone
#include "shell/bell.c"
#include "fuzz/must.h"

static void turn(struct cb_bell *bell, int64_t now_ms)
{
    struct cb_bell_news news;
    for (int count = 0; cb_bell_turn(bell, now_ms, &news); count++) {
        must(count < 1 << 17);
        must(news.kind == CB_BELL_NEWS_STATE || news.kind == CB_BELL_NEWS_BUTTON ||
             news.kind == CB_BELL_NEWS_SHOWN);
        must(news.kind != CB_BELL_NEWS_STATE || news.state <= CB_BELL_OFF);
    }
    must(cb_bell_deadline(bell) == CB_TIME_NONE || cb_bell_deadline(bell) >= 0);
}

static void drain(void)
{
    char bytes[4096];
    while (peer >= 0 && recv(peer, bytes, sizeof bytes, MSG_DONTWAIT) > 0) {
    }
}

/* The first byte says in how many pieces, and when a pop-up is asked for. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_bell *bell = cb_bell_new("nobody");
    int64_t now_ms = 1000;
    const size_t piece = size > 0 ? (size_t)1 + data[0] * 16U : 1;
    must(cb_bell_start(bell, now_ms, NULL) == CB_OK);
    for (size_t at = 1; at < size; at += piece) {
        const size_t length = size - at < piece ? size - at : piece;
        if (peer >= 0) {
            (void)send(peer, data + at, length, MSG_DONTWAIT | MSG_NOSIGNAL);
        }
        if (data[at] & 1) {
            cb_bell_show(bell, data[at], data[at] & 2, true, "a\tb\n", "c\\d", now_ms);
        }
        drain();
        turn(bell, now_ms);
        now_ms += data[at] & 4 ? 2500 : 10;
    }
    if (peer >= 0) {
        close(peer);
        peer = -1;
    }
    turn(bell, now_ms);
    if (peer >= 0) {
        close(peer);
        peer = -1;
    }
    cb_bell_free(bell);
    return 0;
}
