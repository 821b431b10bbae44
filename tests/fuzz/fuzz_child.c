/* SPDX-License-Identifier: MIT */
/* Any bytes as what the bench says to its child, through the child's own socket: no desktop is
 * there. What would be shown is UTF-8 without controls, its title without markup. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>

#define main bell_main
#include "bell/main.c"
#undef main
#include "fuzz/must.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { BYTES_MAX = 60000 }; /* longer, without the end of a line, ends a child */

static void check_shown(const char *text)
{
    must(g_utf8_validate(text, -1, NULL));
    for (const char *at = text; *at != '\0'; at += g_utf8_skip[(guchar)*at]) {
        const gunichar cp = g_utf8_get_char(at);
        must(cp == '\n' || !g_unichar_iscntrl(cp));
        must(g_unichar_type(cp) != G_UNICODE_FORMAT);
    }
}

bool cb_worker_start(void)
{
    return true;
}

void cb_worker_show(uint32_t id, bool sound, uint32_t answer, const char *title, const char *body)
{
    (void)id, (void)sound, (void)answer;
    check_shown(title);
    check_shown(body);
    must(strpbrk(title, "<>&") == NULL);
}

void cb_worker_close(uint32_t id)
{
    (void)id;
}

bool cb_worker_end(void)
{
    return true;
}

static void gone(void)
{
    abort();
}

static void drain(int fd)
{
    char bytes[4096];
    while (recv(fd, bytes, sizeof bytes, MSG_DONTWAIT) > 0) {
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static int bench = -1;
    if (size > BYTES_MAX) {
        return -1;
    }
    if (bench < 0) {
        int ends[2];
        must(socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0, ends) == 0);
        must(dup2(ends[1], STDIN_FILENO) == STDIN_FILENO);
        close(ends[1]);
        bench = ends[0];
        cb_socket_open(take_line, gone);
    }
    for (size_t at = 0; at < size;) {
        const ssize_t sent = send(bench, data + at, size - at, MSG_DONTWAIT | MSG_NOSIGNAL);
        at += sent > 0 ? (size_t)sent : 0;
        while (g_main_context_iteration(NULL, FALSE)) {
            drain(bench);
        }
        drain(bench);
    }
    must(send(bench, "\n", 1, MSG_NOSIGNAL) == 1);
    while (g_main_context_iteration(NULL, FALSE)) {
        drain(bench);
    }
    return 0;
}
