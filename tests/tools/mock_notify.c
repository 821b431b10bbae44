/* SPDX-License-Identifier: MIT */
/*
 * A notification daemon without a screen, for tests: takes the name on the session bus, prints
 * each call as a line with its wall time in ms, and does as its standard input says:
 *   press ID dry|wet    the painter presses a button: ActionInvoked, then NotificationClosed
 *   dismiss ID          the pop-up is clicked away
 *   quit
 * Argument: the capabilities, blank between ("actions body-markup" without).
 */
#include <gio/gio.h>
#include <glib-unix.h>
#include <stdio.h>
#include <string.h>

#define NAME "org.freedesktop.Notifications"
#define PATH "/org/freedesktop/Notifications"

static const char *const introspection =
    "<node><interface name='" NAME "'>"
    "<method name='Notify'><arg type='s' direction='in'/><arg type='u' direction='in'/>"
    "<arg type='s' direction='in'/><arg type='s' direction='in'/><arg type='s' direction='in'/>"
    "<arg type='as' direction='in'/><arg type='a{sv}' direction='in'/>"
    "<arg type='i' direction='in'/><arg type='u' direction='out'/></method>"
    "<method name='CloseNotification'><arg type='u' direction='in'/></method>"
    "<method name='GetCapabilities'><arg type='as' direction='out'/></method>"
    "<method name='GetServerInformation'><arg type='s' direction='out'/>"
    "<arg type='s' direction='out'/><arg type='s' direction='out'/>"
    "<arg type='s' direction='out'/></method>"
    "<signal name='ActionInvoked'><arg type='u'/><arg type='s'/></signal>"
    "<signal name='NotificationClosed'><arg type='u'/><arg type='u'/></signal>"
    "</interface></node>";

static GMainLoop *loop;
static GDBusConnection *bus;
static char **capabilities;
static guint32 last_id;

static void say(const char *format, ...) G_GNUC_PRINTF(1, 2);
static void say(const char *format, ...)
{
    va_list list;
    va_start(list, format);
    printf("%" G_GINT64_FORMAT " ", g_get_real_time() / 1000);
    vprintf(format, list);
    putchar('\n');
    fflush(stdout);
    va_end(list);
}

static void emit(const char *signal, GVariant *arguments)
{
    g_dbus_connection_emit_signal(bus, NULL, PATH, NAME, signal, arguments, NULL);
}

static void on_notify(GVariant *arguments, GDBusMethodInvocation *invocation)
{
    const char *app, *icon, *title, *body;
    guint32 replaces;
    char **actions;
    GVariant *hints;
    gint32 timeout;
    g_variant_get(arguments, "(&su&s&s&s^as@a{sv}i)", &app, &replaces, &icon, &title, &body,
                  &actions, &hints, &timeout);
    guint32 id = replaces != 0 ? replaces : ++last_id;
    const char *sound = "-", *entry = "-";
    g_variant_lookup(hints, "sound-name", "&s", &sound);
    g_variant_lookup(hints, "desktop-entry", "&s", &entry);
    char *joined = g_strjoinv(",", actions);
    char *flat = g_strdup(body);
    g_strdelimit(flat, "\n", '|');
    say("notify %u replaces=%u sound=%s entry=%s actions=%s title=[%s] body=[%s]", id, replaces,
        sound, entry, joined, title, flat);
    g_dbus_method_invocation_return_value(invocation, g_variant_new("(u)", id));
    g_free(flat);
    g_free(joined);
    g_strfreev(actions);
    g_variant_unref(hints);
}

static void on_call(GDBusConnection *connection, const char *sender, const char *path,
                    const char *interface, const char *method, GVariant *arguments,
                    GDBusMethodInvocation *invocation, gpointer data)
{
    (void)connection;
    (void)sender;
    (void)path;
    (void)interface;
    (void)data;
    if (strcmp(method, "Notify") == 0) {
        on_notify(arguments, invocation);
    } else if (strcmp(method, "CloseNotification") == 0) {
        guint32 id;
        g_variant_get(arguments, "(u)", &id);
        say("close %u", id);
        g_dbus_method_invocation_return_value(invocation, NULL);
        emit("NotificationClosed", g_variant_new("(uu)", id, 3));
    } else if (strcmp(method, "GetCapabilities") == 0) {
        g_dbus_method_invocation_return_value(invocation,
                                              g_variant_new("(^as)", capabilities));
    } else {
        g_dbus_method_invocation_return_value(
            invocation, g_variant_new("(ssss)", "mock", "coatbell", "1", "1.2"));
    }
}

static void on_bus(GDBusConnection *connection, const char *name, gpointer data)
{
    (void)name;
    (void)data;
    static const GDBusInterfaceVTable table = {.method_call = on_call};
    bus = connection;
    GDBusNodeInfo *info = g_dbus_node_info_new_for_xml(introspection, NULL);
    g_dbus_connection_register_object(bus, PATH, info->interfaces[0], &table, NULL, NULL, NULL);
    g_dbus_node_info_unref(info);
}

static void on_name(GDBusConnection *connection, const char *name, gpointer data)
{
    (void)connection;
    (void)name;
    (void)data;
    say("ready");
}

static void on_lost(GDBusConnection *connection, const char *name, gpointer data)
{
    (void)connection;
    (void)name;
    (void)data;
    g_main_loop_quit(loop);
}

static gboolean on_line(gint fd, GIOCondition condition, gpointer data)
{
    (void)fd;
    (void)condition;
    (void)data;
    char line[256];
    if (fgets(line, sizeof line, stdin) == NULL) {
        g_main_loop_quit(loop);
        return G_SOURCE_REMOVE;
    }
    char **words = g_strsplit(g_strchomp(line), " ", 3);
    if (g_strv_length(words) == 3 && strcmp(words[0], "press") == 0) {
        guint32 id = (guint32)g_ascii_strtoull(words[1], NULL, 10);
        emit("ActionInvoked", g_variant_new("(us)", id, words[2]));
        emit("NotificationClosed", g_variant_new("(uu)", id, 2));
    } else if (g_strv_length(words) == 2 && strcmp(words[0], "dismiss") == 0) {
        emit("NotificationClosed",
             g_variant_new("(uu)", (guint32)g_ascii_strtoull(words[1], NULL, 10), 2));
    } else {
        g_main_loop_quit(loop);
    }
    g_strfreev(words);
    return G_SOURCE_CONTINUE;
}

int main(int argc, char **argv)
{
    loop = g_main_loop_new(NULL, FALSE);
    setvbuf(stdin, NULL, _IONBF, 0);
    capabilities = g_strsplit(argc > 1 ? argv[1] : "actions body-markup", " ", 0);
    guint owner = g_bus_own_name(G_BUS_TYPE_SESSION, NAME, G_BUS_NAME_OWNER_FLAGS_NONE, on_bus,
                                 on_name, on_lost, NULL, NULL);
    g_unix_fd_add(0, G_IO_IN | G_IO_HUP, on_line, NULL);
    g_main_loop_run(loop);
    g_bus_unown_name(owner);
    g_strfreev(capabilities);
    g_main_loop_unref(loop);
    return 0;
}
