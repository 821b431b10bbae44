/* SPDX-License-Identifier: MIT */
/*
 * The bell: a child of coatbell that speaks the Desktop Notifications Specification 1.2 on the
 * session bus. It reads its standard input (a socket, protocol in shell/bell.h) on the main thread;
 * the desktop is spoken to by a thread of its own, see bell/worker.h.
 */
#include <glib-unix.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "bell/socket.h"
#include "bell/worker.h"

static GMainLoop *loop;

/* The field of the line after *at, unescaped; NULL when there is none. Free it. */
static char *next_field(const char **at)
{
    if (*at == NULL) {
        return NULL;
    }
    GString *field = g_string_new(NULL);
    const char *p = *at;
    for (; *p != '\0' && *p != '\t'; p++) {
        if (*p == '\\' && p[1] != '\0') {
            p++;
            g_string_append_c(field, *p == 't' ? '\t' : *p == 'n' ? '\n' : *p);
        } else {
            g_string_append_c(field, *p);
        }
    }
    *at = *p == '\t' ? p + 1 : NULL;
    return g_string_free(field, FALSE);
}

static gboolean is_shown(gunichar cp)
{
    static const GUnicodeType hidden[] = {
        G_UNICODE_CONTROL,
        G_UNICODE_FORMAT, /* turns the direction of writing, or has no width */
        G_UNICODE_LINE_SEPARATOR,
        G_UNICODE_PARAGRAPH_SEPARATOR,
        G_UNICODE_PRIVATE_USE,
    };
    for (size_t i = 0; i < G_N_ELEMENTS(hidden); i++) {
        if (g_unichar_type(cp) == hidden[i]) {
            return cp == '\n';
        }
    }
    return TRUE;
}

/* A bus refuses text that is no UTF-8, and nobody wants in a pop-up what is no letter. */
static char *shown_text(char *text)
{
    char *valid = g_utf8_make_valid(text, -1);
    GString *shown = g_string_new(NULL);
    for (char *p = valid; *p != '\0'; p = g_utf8_next_char(p)) {
        const gunichar cp = g_utf8_get_char(p);
        g_string_append_unichar(shown, is_shown(cp) ? cp : ' ');
    }
    g_free(valid);
    g_free(text);
    return g_string_free(shown, FALSE);
}

/* A summary is plain text by the specification, and yet daemons differ: some take it for markup,
 * some show what was escaped as it came. So none of its characters gets there. */
static char *plain_title(char *text)
{
    GString *plain = g_string_new(NULL);
    for (const char *p = text; *p != '\0'; p++) {
        switch (*p) {
        case '<':
            g_string_append(plain, "\u2039");
            break;
        case '>':
            g_string_append(plain, "\u203A");
            break;
        case '&':
            g_string_append_c(plain, '+');
            break;
        default:
            g_string_append_c(plain, *p);
            break;
        }
    }
    g_free(text);
    return g_string_free(plain, FALSE);
}

static gboolean take_number(const char **at, guint32 *number)
{
    char *field = next_field(at);
    guint64 value = 0;
    gboolean good =
        field != NULL && g_ascii_string_to_unsigned(field, 10, 0, G_MAXUINT32, &value, NULL);
    g_free(field);
    *number = (guint32)value;
    return good;
}

static void take_show(const char *at)
{
    guint32 id, sound, answer;
    if (!take_number(&at, &id) || !take_number(&at, &sound) || !take_number(&at, &answer)) {
        return;
    }
    char *title = next_field(&at);
    char *body = next_field(&at);
    if (title != NULL && body != NULL) {
        title = plain_title(shown_text(title));
        body = shown_text(body);
        cb_worker_show(id, sound != 0, answer, title, body);
    }
    g_free(title);
    g_free(body);
}

static void take_line(const char *line)
{
    const char *at = line;
    char *word = next_field(&at);
    guint32 number;
    if (g_strcmp0(word, "show") == 0) {
        take_show(at);
    } else if (g_strcmp0(word, "close") == 0 && take_number(&at, &number)) {
        cb_worker_close(number);
    } else if (g_strcmp0(word, "are-you-there") == 0 && take_number(&at, &number)) {
        cb_socket_tell("here\t%u", number);
    }
    g_free(word);
}

static void end(void)
{
    g_main_loop_quit(loop);
}

static gboolean on_signal(gpointer data)
{
    (void)data;
    end();
    return G_SOURCE_REMOVE;
}

int main(void)
{
    struct stat st;
    if (fstat(STDIN_FILENO, &st) != 0 || !S_ISSOCK(st.st_mode)) {
        g_printerr("coatbell-bell: it is coatbell that starts this program, see coatbell(1)\n");
        return 2;
    }
    /* However the parent goes, we go: at the end of the socket, or by this. */
    prctl(PR_SET_PDEATHSIG, SIGTERM);
    loop = g_main_loop_new(NULL, FALSE);
    cb_socket_open(take_line, end);
    if (!cb_worker_start()) {
        return 1;
    }
    g_unix_signal_add(SIGTERM, on_signal, NULL);
    g_unix_signal_add(SIGHUP, on_signal, NULL);
    g_main_loop_run(loop);
    if (!cb_worker_end()) {
        _exit(0);
    }
    g_main_loop_unref(loop);
    return 0;
}
