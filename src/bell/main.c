/* SPDX-License-Identifier: MIT */
/*
 * The bell: a child of coatbell that speaks the Desktop Notifications Specification 1.2 on the
 * session bus. Protocol on standard input (a socket): see shell/bell.h.
 *
 * It uses GDBus and every call on the bus is asynchronous: notification libraries offer only calls
 * that wait, up to 25 s, for a daemon that hangs; a child blocked there could only be killed, and
 * its pop-up would come up twice when the daemon went on.
 */
#include <errno.h>
#include <gio/gio.h>
#include <glib-unix.h>
#include <signal.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#define BUS_NAME  "org.freedesktop.Notifications"
#define BUS_PATH  "/org/freedesktop/Notifications"
#define SOCKET_FD STDIN_FILENO
#define LINE_MAX_BYTES 65536

/* One pop-up of ours. */
struct popup {
    guint32 id;        /* the parent's */
    guint32 server_id; /* the daemon's; 0: not on the screen */
    gboolean asked;    /* a Notify is on its way */
    gboolean close;    /* to be closed as soon as the daemon has named it */
    gboolean waiting;  /* title and body are to be shown */
    gboolean sound, buttons;
    char *title, *body;
};

static struct {
    GMainLoop *loop;
    GDBusConnection *bus;
    guint watch, out_source;
    GHashTable *popups; /* id to struct popup */
    gboolean connecting, ready, has_markup, has_actions;
    const char *state; /* last told */
    GString *in, *out;
} bell;

static void popup_free(gpointer data)
{
    struct popup *popup = data;
    g_free(popup->title);
    g_free(popup->body);
    g_free(popup);
}

static gboolean on_writable(gint fd, GIOCondition condition, gpointer data);

/* Sends what the socket takes; TRUE when all is gone. A parent that is stopped reads nothing,
 * and must not stop us. */
static gboolean flush_out(void)
{
    while (bell.out->len > 0) {
        ssize_t sent =
            send(SOCKET_FD, bell.out->str, bell.out->len, MSG_DONTWAIT | MSG_NOSIGNAL);
        if (sent < 0) {
            if (errno != EAGAIN && errno != EINTR) {
                g_main_loop_quit(bell.loop);
                return TRUE;
            }
            return FALSE;
        }
        g_string_erase(bell.out, 0, sent);
    }
    return TRUE;
}

static gboolean on_writable(gint fd, GIOCondition condition, gpointer data)
{
    (void)fd;
    (void)condition;
    (void)data;
    if (flush_out()) {
        bell.out_source = 0;
        return G_SOURCE_REMOVE;
    }
    return G_SOURCE_CONTINUE;
}

static void tell(const char *format, ...) G_GNUC_PRINTF(1, 2);
static void tell(const char *format, ...)
{
    va_list list;
    va_start(list, format);
    g_string_append_vprintf(bell.out, format, list);
    va_end(list);
    g_string_append_c(bell.out, '\n');
    if (bell.out_source == 0 && !flush_out()) {
        bell.out_source = g_unix_fd_add(SOCKET_FD, G_IO_OUT, on_writable, NULL);
    }
}

static void tell_state(const char *state)
{
    if (g_strcmp0(bell.state, state) != 0) {
        bell.state = state;
        tell("state\t%s", state);
    }
}

static void call(const char *method, GVariant *arguments, GAsyncReadyCallback done, gpointer data)
{
    g_dbus_connection_call(bell.bus, BUS_NAME, BUS_PATH, BUS_NAME, method, arguments, NULL,
                           G_DBUS_CALL_FLAGS_NONE, G_MAXINT, NULL, done, data);
}

static void close_on_server(guint32 server_id)
{
    call("CloseNotification", g_variant_new("(u)", server_id), NULL, NULL);
}

static void show(struct popup *popup);

static void on_shown(GObject *source, GAsyncResult *result, gpointer data)
{
    guint32 id = GPOINTER_TO_UINT(data);
    GError *error = NULL;
    GVariant *reply = g_dbus_connection_call_finish(G_DBUS_CONNECTION(source), result, &error);
    struct popup *popup = g_hash_table_lookup(bell.popups, GUINT_TO_POINTER(id));
    if (popup != NULL) {
        popup->asked = FALSE;
    }
    if (reply == NULL) {
        if (g_error_matches(error, G_DBUS_ERROR, G_DBUS_ERROR_SERVICE_UNKNOWN) ||
            g_error_matches(error, G_DBUS_ERROR, G_DBUS_ERROR_NAME_HAS_NO_OWNER)) {
            bell.state = NULL; /* said again: this ping was not heard */
            tell_state("no-daemon");
        }
        g_clear_error(&error);
        return;
    }
    guint32 server_id;
    g_variant_get(reply, "(u)", &server_id);
    g_variant_unref(reply);
    if (popup == NULL) {
        close_on_server(server_id);
        return;
    }
    popup->server_id = server_id;
    tell("shown\t%u", id);
    if (popup->close) {
        close_on_server(server_id);
        g_hash_table_remove(bell.popups, GUINT_TO_POINTER(id));
    } else if (popup->waiting) {
        show(popup);
    }
}

static void show(struct popup *popup)
{
    if (popup->asked) { /* what replaces it must know its number first */
        return;
    }
    popup->waiting = FALSE;
    popup->asked = TRUE;
    GVariantBuilder actions;
    g_variant_builder_init(&actions, G_VARIANT_TYPE("as"));
    if (popup->buttons && bell.has_actions) {
        static const char *const words[] = {"dry", "Dry", "wet", "Still wet"};
        for (size_t i = 0; i < G_N_ELEMENTS(words); i++) {
            g_variant_builder_add(&actions, "s", words[i]);
        }
    }
    GVariantBuilder hints;
    g_variant_builder_init(&hints, G_VARIANT_TYPE("a{sv}"));
    g_variant_builder_add(&hints, "{sv}", "desktop-entry", g_variant_new_string("coatbell"));
    g_variant_builder_add(&hints, "{sv}", "urgency", g_variant_new_byte(1)); /* normal */
    if (popup->sound) {
        g_variant_builder_add(&hints, "{sv}", "sound-name",
                              g_variant_new_string("message-new-instant"));
    } else {
        g_variant_builder_add(&hints, "{sv}", "suppress-sound", g_variant_new_boolean(TRUE));
    }
    char *body = bell.has_markup ? g_markup_escape_text(popup->body, -1) : g_strdup(popup->body);
    call("Notify",
         g_variant_new("(susssasa{sv}i)", "coatbell", popup->server_id, "", popup->title, body,
                       &actions, &hints, -1),
         on_shown, GUINT_TO_POINTER(popup->id));
    g_free(body);
}

static void show_waiting(void)
{
    GHashTableIter iter;
    gpointer value;
    g_hash_table_iter_init(&iter, bell.popups);
    while (g_hash_table_iter_next(&iter, NULL, &value)) {
        if (((struct popup *)value)->waiting) {
            show(value);
        }
    }
}

static void on_capabilities(GObject *source, GAsyncResult *result, gpointer data)
{
    (void)data;
    GVariant *reply = g_dbus_connection_call_finish(G_DBUS_CONNECTION(source), result, NULL);
    if (reply == NULL) {
        return; /* it went while it was asked: on_vanished says so */
    }
    char **words;
    g_variant_get(reply, "(^as)", &words);
    bell.has_markup = g_strv_contains((const char *const *)words, "body-markup");
    bell.has_actions = g_strv_contains((const char *const *)words, "actions");
    g_strfreev(words);
    g_variant_unref(reply);
    bell.ready = TRUE;
    tell_state("ok");
    show_waiting();
}

static void on_appeared(GDBusConnection *bus, const char *name, const char *owner, gpointer data)
{
    (void)bus;
    (void)name;
    (void)owner;
    (void)data;
    bell.ready = FALSE;
    call("GetCapabilities", NULL, on_capabilities, NULL);
}

static void forget_shown(void)
{
    GHashTableIter iter;
    gpointer value;
    g_hash_table_iter_init(&iter, bell.popups);
    while (g_hash_table_iter_next(&iter, NULL, &value)) {
        if (!((struct popup *)value)->asked) {
            g_hash_table_iter_remove(&iter);
        }
    }
}

static void on_vanished(GDBusConnection *bus, const char *name, gpointer data)
{
    (void)name;
    (void)data;
    bell.ready = FALSE;
    forget_shown();
    if (bus != NULL && bell.bus != NULL && !g_dbus_connection_is_closed(bus)) {
        tell_state("no-daemon");
    }
}

static struct popup *find_by_server(guint32 server_id)
{
    GHashTableIter iter;
    gpointer value;
    g_hash_table_iter_init(&iter, bell.popups);
    while (g_hash_table_iter_next(&iter, NULL, &value)) {
        struct popup *popup = value;
        if (popup->server_id == server_id) {
            return popup;
        }
    }
    return NULL;
}

static void on_signal(GDBusConnection *bus, const char *sender, const char *path,
                      const char *interface, const char *name, GVariant *arguments, gpointer data)
{
    (void)bus;
    (void)sender;
    (void)path;
    (void)interface;
    (void)data;
    guint32 server_id = 0;
    if (strcmp(name, "ActionInvoked") == 0 &&
        g_variant_is_of_type(arguments, G_VARIANT_TYPE("(us)"))) {
        const char *action;
        g_variant_get(arguments, "(u&s)", &server_id, &action);
        struct popup *popup = server_id != 0 ? find_by_server(server_id) : NULL;
        if (popup != NULL && (strcmp(action, "dry") == 0 || strcmp(action, "wet") == 0)) {
            tell("button\t%u\t%s", popup->id, action);
        }
    } else if (strcmp(name, "NotificationClosed") == 0 &&
               g_variant_is_of_type(arguments, G_VARIANT_TYPE("(uu)"))) {
        g_variant_get(arguments, "(uu)", &server_id, NULL);
        struct popup *popup = server_id != 0 ? find_by_server(server_id) : NULL;
        if (popup != NULL) {
            tell("closed\t%u", popup->id);
            popup->server_id = 0;
            if (!popup->asked && !popup->waiting) {
                g_hash_table_remove(bell.popups, GUINT_TO_POINTER(popup->id));
            }
        }
    }
}

static void lose_bus(void)
{
    if (bell.watch != 0) {
        g_bus_unwatch_name(bell.watch);
        bell.watch = 0;
    }
    bell.ready = FALSE;
    g_hash_table_remove_all(bell.popups);
    g_clear_object(&bell.bus);
    tell_state("no-bus");
}

static void on_bus_closed(GDBusConnection *bus, gboolean remote, GError *error, gpointer data)
{
    (void)remote;
    (void)error;
    (void)data;
    if (bus == bell.bus) {
        lose_bus();
    }
}

static void on_connected(GObject *source, GAsyncResult *result, gpointer data)
{
    (void)source;
    (void)data;
    bell.connecting = FALSE;
    bell.bus = g_dbus_connection_new_for_address_finish(result, NULL);
    if (bell.bus == NULL) {
        lose_bus();
        return;
    }
    g_signal_connect(bell.bus, "closed", G_CALLBACK(on_bus_closed), NULL);
    g_dbus_connection_signal_subscribe(bell.bus, BUS_NAME, BUS_NAME, NULL, BUS_PATH, NULL,
                                       G_DBUS_SIGNAL_FLAGS_NONE, on_signal, NULL, NULL);
    /* AUTO_START: many desktops start their daemon with the first notification. */
    bell.watch = g_bus_watch_name_on_connection(bell.bus, BUS_NAME,
                                                G_BUS_NAME_WATCHER_FLAGS_AUTO_START, on_appeared,
                                                on_vanished, NULL, NULL);
}

/* The address of a bus that runs, never one that would have to be started. */
static char *bus_address(void)
{
    const char *address = g_getenv("DBUS_SESSION_BUS_ADDRESS");
    if (address != NULL && address[0] != '\0') {
        return g_str_has_prefix(address, "autolaunch:") ? NULL : g_strdup(address);
    }
    const char *folder = g_getenv("XDG_RUNTIME_DIR");
    if (folder == NULL || folder[0] != '/') {
        return NULL;
    }
    char *path = g_build_filename(folder, "bus", NULL);
    struct stat st;
    char *escaped = g_dbus_address_escape_value(path);
    char *found = stat(path, &st) == 0 && S_ISSOCK(st.st_mode)
                      ? g_strconcat("unix:path=", escaped, NULL)
                      : NULL;
    g_free(escaped);
    g_free(path);
    return found;
}

static void connect_bus(void)
{
    if (bell.connecting || bell.bus != NULL) {
        return;
    }
    char *address = bus_address();
    if (address == NULL || !g_dbus_is_supported_address(address, NULL)) {
        lose_bus();
    } else {
        bell.connecting = TRUE;
        g_dbus_connection_new_for_address(address,
                                          G_DBUS_CONNECTION_FLAGS_AUTHENTICATION_CLIENT |
                                              G_DBUS_CONNECTION_FLAGS_MESSAGE_BUS_CONNECTION,
                                          NULL, NULL, on_connected, NULL);
    }
    g_free(address);
}

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

/* A bus refuses text that is no UTF-8, and nobody wants control characters in a pop-up. */
static char *shown_text(char *text)
{
    char *valid = g_utf8_make_valid(text, -1);
    g_free(text);
    for (char *p = valid; *p != '\0'; p++) {
        if (((unsigned char)*p < 0x20 && *p != '\n') || *p == 0x7f) {
            *p = ' ';
        }
    }
    return valid;
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
    gboolean good = field != NULL &&
                    g_ascii_string_to_unsigned(field, 10, 0, G_MAXUINT32, &value, NULL);
    g_free(field);
    *number = (guint32)value;
    return good;
}

static void take_show(const char *at)
{
    guint32 id, sound, buttons;
    if (!take_number(&at, &id) || !take_number(&at, &sound) || !take_number(&at, &buttons)) {
        return;
    }
    char *title = next_field(&at);
    char *body = next_field(&at);
    if (title == NULL || body == NULL) {
        g_free(title);
        g_free(body);
        return;
    }
    struct popup *popup = g_hash_table_lookup(bell.popups, GUINT_TO_POINTER(id));
    if (popup == NULL) {
        popup = g_new0(struct popup, 1);
        popup->id = id;
        g_hash_table_insert(bell.popups, GUINT_TO_POINTER(id), popup);
    }
    g_free(popup->title);
    g_free(popup->body);
    popup->title = plain_title(shown_text(title));
    popup->body = shown_text(body);
    popup->sound = sound != 0;
    popup->buttons = buttons != 0;
    popup->close = FALSE;
    popup->waiting = TRUE;
    if (bell.bus == NULL) {
        bell.state = bell.connecting ? bell.state : NULL; /* no-bus is said again */
        connect_bus();
    } else if (bell.ready || g_strcmp0(bell.state, "no-daemon") == 0) {
        show(popup); /* without a daemon: this call starts one where the bus knows how */
    }
}

static void take_close(const char *at)
{
    guint32 id;
    struct popup *popup = NULL;
    if (take_number(&at, &id)) {
        popup = g_hash_table_lookup(bell.popups, GUINT_TO_POINTER(id));
    }
    if (popup == NULL) {
        return;
    }
    popup->waiting = FALSE;
    popup->close = TRUE;
    if (!popup->asked) {
        if (popup->server_id != 0 && bell.bus != NULL) {
            close_on_server(popup->server_id);
        }
        g_hash_table_remove(bell.popups, GUINT_TO_POINTER(id));
    }
}

static void take_line(const char *line)
{
    const char *at = line;
    char *word = next_field(&at);
    if (g_strcmp0(word, "show") == 0) {
        take_show(at);
    } else if (g_strcmp0(word, "close") == 0) {
        take_close(at);
    } else if (g_strcmp0(word, "are-you-there") == 0) {
        guint32 number;
        if (take_number(&at, &number)) {
            tell("here\t%u", number);
        }
    }
    g_free(word);
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
    if (got <= 0 || bell.in->len > LINE_MAX_BYTES) {
        g_main_loop_quit(bell.loop);
        return G_SOURCE_REMOVE;
    }
    g_string_append_len(bell.in, bytes, got);
    char *end;
    while ((end = memchr(bell.in->str, '\n', bell.in->len)) != NULL) {
        *end = '\0';
        take_line(bell.in->str);
        g_string_erase(bell.in, 0, end - bell.in->str + 1);
    }
    return G_SOURCE_CONTINUE;
}

static gboolean on_ended(gpointer data)
{
    (void)data;
    g_main_loop_quit(bell.loop);
    return G_SOURCE_REMOVE;
}

/* The buttons of what is still up would do nothing from now on; what has none may stand. */
static void close_all(void)
{
    if (bell.bus == NULL) {
        return;
    }
    GHashTableIter iter;
    gpointer value;
    guint closed = 0;
    g_hash_table_iter_init(&iter, bell.popups);
    while (g_hash_table_iter_next(&iter, NULL, &value)) {
        struct popup *popup = value;
        if (popup->server_id != 0 && popup->buttons) {
            close_on_server(popup->server_id);
            closed++;
        }
    }
    if (closed > 0) {
        g_dbus_connection_flush_sync(bell.bus, NULL, NULL);
    }
}

int main(void)
{
    struct stat st;
    if (fstat(SOCKET_FD, &st) != 0 || !S_ISSOCK(st.st_mode)) {
        g_printerr("coatbell-bell: it is coatbell that starts this program, see coatbell(1)\n");
        return 2;
    }
    /* However the parent goes, we go: at the end of the socket, or by this. */
    prctl(PR_SET_PDEATHSIG, SIGTERM);
    bell.loop = g_main_loop_new(NULL, FALSE);
    bell.popups = g_hash_table_new_full(NULL, NULL, NULL, popup_free);
    bell.in = g_string_new(NULL);
    bell.out = g_string_new(NULL);
    g_unix_signal_add(SIGTERM, on_ended, NULL);
    g_unix_signal_add(SIGHUP, on_ended, NULL);
    g_unix_fd_add(SOCKET_FD, G_IO_IN | G_IO_HUP | G_IO_ERR, on_readable, NULL);
    connect_bus();
    g_main_loop_run(bell.loop);
    alarm(1); /* a bus that hangs must not keep us */
    close_all();
    return 0;
}
