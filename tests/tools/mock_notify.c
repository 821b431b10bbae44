/* SPDX-License-Identifier: MIT */
/*
 * A notification daemon without a screen, for tests: takes the name on the session bus, prints
 * each call as a line with its wall time in ms, after each change what stands on the screen
 * ("stands 1=[BODY] 3=[BODY]"), and does as its standard input says:
 *   press ID dry|wet    the painter presses a button: ActionInvoked, then NotificationClosed
 *   act ID ACTION       ActionInvoked alone, of whatever it may be
 *   end ID              NotificationClosed alone, of whatever it may be
 *   rave ID             signals by these names with what does not belong in them
 *   dismiss ID          the pop-up is clicked away
 *   lose ID             it is gone, and nobody is told
 *   late MS             from now on a pop-up is shown at once and its call answered so much later
 *   fail COUNT ERROR    the next calls show their pop-ups and are answered with that D-Bus error
 *   refuse COUNT ERROR  the same, and show nothing
 *   quit
 * What was said is printed when it is heard. Argument: the capabilities, blank between ("actions
 * body-markup" without); with x-dunst-stack-tag a new pop-up takes the place of one with its tag.
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
static guint late_ms, fail_count;
static gboolean fail_shows;
static char *fail_error;

struct pop_up {
    guint32 id;
    char *tag, *body;
};
static GSList *standing; /* of struct pop_up, by id */

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

static void say_standing(void)
{
    GString *line = g_string_new("stands");
    for (const GSList *at = standing; at != NULL; at = at->next) {
        const struct pop_up *pop_up = at->data;
        g_string_append_printf(line, " %u=[%s]", pop_up->id, pop_up->body);
    }
    say("%s", line->str);
    g_string_free(line, TRUE);
}

static gboolean take_down(guint32 id)
{
    for (GSList *at = standing; at != NULL; at = at->next) {
        struct pop_up *pop_up = at->data;
        if (pop_up->id == id) {
            standing = g_slist_delete_link(standing, at);
            g_free(pop_up->tag);
            g_free(pop_up->body);
            g_free(pop_up);
            return TRUE;
        }
    }
    return FALSE;
}

/* reason: as the specification numbers them; 0: nobody is told. */
static gboolean close_pop_up(guint32 id, guint32 reason)
{
    if (!take_down(id)) {
        return FALSE;
    }
    if (reason != 0) {
        emit("NotificationClosed", g_variant_new("(uu)", id, reason));
    }
    say_standing();
    return TRUE;
}

static gint by_id(gconstpointer left, gconstpointer right)
{
    return (gint)((const struct pop_up *)left)->id - (gint)((const struct pop_up *)right)->id;
}

static void put_up(guint32 id, const char *tag, const char *body)
{
    take_down(id);
    for (const GSList *at = standing; at != NULL; at = at->next) {
        const struct pop_up *old = at->data;
        if (g_strv_contains((const char *const *)capabilities, "x-dunst-stack-tag") &&
            tag[0] != '-' && g_str_equal(old->tag, tag)) {
            guint32 old_id = old->id;
            take_down(old_id);
            emit("NotificationClosed", g_variant_new("(uu)", old_id, 1));
            break;
        }
    }
    struct pop_up *pop_up = g_new(struct pop_up, 1);
    *pop_up = (struct pop_up){.id = id, .tag = g_strdup(tag), .body = g_strdup(body)};
    standing = g_slist_insert_sorted(standing, pop_up, by_id);
    say_standing();
}

static gboolean answer_late(gpointer data)
{
    GDBusMethodInvocation *invocation = data;
    guint32 id = GPOINTER_TO_UINT(g_object_get_data(G_OBJECT(invocation), "id"));
    g_dbus_method_invocation_return_value(invocation, g_variant_new("(u)", id));
    return G_SOURCE_REMOVE;
}

static void answer(GDBusMethodInvocation *invocation, guint32 id)
{
    if (fail_count > 0) {
        fail_count--;
        g_dbus_method_invocation_return_dbus_error(invocation, fail_error, "as it was told to");
    } else {
        g_object_set_data(G_OBJECT(invocation), "id", GUINT_TO_POINTER(id));
        g_timeout_add(late_ms, answer_late, invocation);
    }
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
    const char *sound = "-", *entry = "-", *tag = "-";
    g_variant_lookup(hints, "sound-name", "&s", &sound);
    g_variant_lookup(hints, "desktop-entry", "&s", &entry);
    g_variant_lookup(hints, "x-dunst-stack-tag", "&s", &tag);
    char *joined = g_strjoinv(",", actions);
    char *flat = g_strdup(body);
    g_strdelimit(flat, "\n", '|');
    say("notify %u replaces=%u sound=%s entry=%s actions=%s title=[%s] body=[%s] tag=%s", id,
        replaces, sound, entry, joined, title, flat, tag);
    if (fail_count == 0 || fail_shows) {
        put_up(id, tag, flat);
    }
    answer(invocation, id);
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
        if (close_pop_up(id, 3)) {
            g_dbus_method_invocation_return_value(invocation, NULL);
        } else {
            g_dbus_method_invocation_return_dbus_error(invocation, NAME ".Error", "it is gone");
        }
    } else if (strcmp(method, "GetCapabilities") == 0) {
        g_dbus_method_invocation_return_value(invocation, g_variant_new("(^as)", capabilities));
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

/* What the specification does not know, each once. */
static void rave(guint32 id)
{
    enum { HUGE_BYTES = 1000000 };
    char *huge = g_strnfill(HUGE_BYTES, 'x');
    emit("ActionInvoked", g_variant_new("(us)", id, huge));
    emit("ActionInvoked", g_variant_new("(us)", id, "dry\nbutton\t1\tdry\t1"));
    emit("ActionInvoked", g_variant_new("(us)", id, "default"));
    emit("ActionInvoked", g_variant_new("(us)", G_MAXUINT32, "dry"));
    emit("ActionInvoked", g_variant_new("(us)", 0, "dry"));
    emit("ActionInvoked", g_variant_new("(ss)", "1", "dry"));
    emit("ActionInvoked", g_variant_new("(uss)", id, "dry", "dry"));
    emit("ActionInvoked", g_variant_new("(xs)", (gint64)id, "dry"));
    emit("ActionInvoked", g_variant_new("(u)", id));
    emit("ActionInvoked", NULL);
    emit("NotificationClosed", g_variant_new("(uu)", G_MAXUINT32, 1));
    emit("NotificationClosed", g_variant_new("(uu)", 0, 1));
    emit("NotificationClosed", g_variant_new("(s)", huge));
    emit("NotificationClosed", NULL);
    emit("ActivationToken", g_variant_new("(us)", id, huge));
    emit("ActivationToken", NULL);
    emit("NoSuchSignal", g_variant_new("(us)", id, "dry"));
    g_free(huge);
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
    guint count = g_strv_length(words);
    guint32 number = count > 1 ? (guint32)g_ascii_strtoull(words[1], NULL, 10) : 0;
    if (count == 3 && strcmp(words[0], "press") == 0) {
        emit("ActionInvoked", g_variant_new("(us)", number, words[2]));
        close_pop_up(number, 2);
    } else if (count == 3 && strcmp(words[0], "act") == 0) {
        emit("ActionInvoked", g_variant_new("(us)", number, words[2]));
    } else if (count == 2 && strcmp(words[0], "end") == 0) {
        emit("NotificationClosed", g_variant_new("(uu)", number, 2));
    } else if (count == 2 && strcmp(words[0], "rave") == 0) {
        rave(number);
    } else if (count == 2 && strcmp(words[0], "dismiss") == 0) {
        close_pop_up(number, 2);
    } else if (count == 2 && strcmp(words[0], "lose") == 0) {
        close_pop_up(number, 0);
    } else if (count == 2 && strcmp(words[0], "late") == 0) {
        late_ms = number;
    } else if (count == 3 && (strcmp(words[0], "fail") == 0 || strcmp(words[0], "refuse") == 0)) {
        fail_count = number;
        fail_shows = strcmp(words[0], "fail") == 0;
        g_free(fail_error);
        fail_error = g_strdup(words[2]);
    } else {
        g_main_loop_quit(loop);
    }
    say("heard: %s", line);
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
    while (standing != NULL) {
        take_down(((const struct pop_up *)standing->data)->id);
    }
    g_free(fail_error);
    g_strfreev(capabilities);
    g_main_loop_unref(loop);
    return 0;
}
