/* SPDX-License-Identifier: MIT */
#include "bell/socket.h"

#include <errno.h>
#include <glib-unix.h>
#include <pthread.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#define SOCKET_FD      STDIN_FILENO
#define LINE_MAX_BYTES 65536

static struct {
    void (*take)(const char *line);
    void (*gone)(void);
    GString *in;
    pthread_mutex_t lock; /* of the two below */
    GString *out;
    gboolean waits; /* the main loop tells when the socket takes more */
} line = {.lock = PTHREAD_MUTEX_INITIALIZER};

/* Sends what the socket takes; TRUE when nothing more is to be sent. A parent that is stopped reads
 * nothing, and must not stop us; one that is gone is noticed where we read. */
static gboolean flush_out(void)
{
    while (line.out->len > 0) {
        ssize_t sent = send(SOCKET_FD, line.out->str, line.out->len, MSG_DONTWAIT | MSG_NOSIGNAL);
        if (sent < 0 && errno == EINTR) {
            continue;
        }
        if (sent < 0) {
            return errno != EAGAIN;
        }
        g_string_erase(line.out, 0, sent);
    }
    return TRUE;
}

static gboolean on_writable(gint fd, GIOCondition condition, gpointer data)
{
    (void)fd;
    (void)condition;
    (void)data;
    pthread_mutex_lock(&line.lock);
    line.waits = !flush_out();
    gboolean waits = line.waits;
    pthread_mutex_unlock(&line.lock);
    return waits ? G_SOURCE_CONTINUE : G_SOURCE_REMOVE;
}

void cb_socket_tell(const char *format, ...)
{
    va_list list;
    va_start(list, format);
    pthread_mutex_lock(&line.lock);
    g_string_append_vprintf(line.out, format, list);
    g_string_append_c(line.out, '\n');
    if (!line.waits && !flush_out()) {
        line.waits = TRUE;
        g_unix_fd_add(SOCKET_FD, G_IO_OUT, on_writable, NULL);
    }
    pthread_mutex_unlock(&line.lock);
    va_end(list);
}

static gboolean on_readable(gint fd, GIOCondition condition, gpointer data)
{
    (void)condition;
    (void)data;
    char bytes[4096];
    ssize_t got = recv(fd, bytes, sizeof bytes, MSG_DONTWAIT);
    if (got < 0 && (errno == EAGAIN || errno == EINTR)) {
        return G_SOURCE_CONTINUE;
    }
    if (got <= 0 || line.in->len > LINE_MAX_BYTES) {
        line.gone();
        return G_SOURCE_REMOVE;
    }
    g_string_append_len(line.in, bytes, got);
    char *end;
    while ((end = memchr(line.in->str, '\n', line.in->len)) != NULL) {
        *end = '\0';
        line.take(line.in->str);
        g_string_erase(line.in, 0, end - line.in->str + 1);
    }
    return G_SOURCE_CONTINUE;
}

void cb_socket_open(void (*take)(const char *line), void (*gone)(void))
{
    line.take = take;
    line.gone = gone;
    line.in = g_string_new(NULL);
    line.out = g_string_new(NULL);
    g_unix_fd_add(SOCKET_FD, G_IO_IN | G_IO_HUP | G_IO_ERR, on_readable, NULL);
}
