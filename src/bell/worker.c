/* SPDX-License-Identifier: MIT */
#include "bell/worker.h"

#include <gio/gio.h>
#include <pthread.h>
#include <string.h>

#include "bell/popup.h"
#include "bell/socket.h"

#define BUS_NAME "org.freedesktop.Notifications"
#define ADDRESS  "DBUS_SESSION_BUS_ADDRESS"
#define RETRY_MS 1000 /* after an answer that was none; own judgement */
#define LEAVE_MS 500  /* half of what the bench waits for us, END_MS in shell/bell.c */

/* What both threads touch. */
static struct {
    pthread_mutex_t lock;
    pthread_cond_t ended;
    GQueue wishes;      /* of struct cb_wish, one for each id, the oldest first */
    int64_t busy_since; /* now_ms; 0: it waits for something to do */
    bool leave, gone;
} shared = {.lock = PTHREAD_MUTEX_INITIALIZER, .wishes = G_QUEUE_INIT};

/* What is the worker's alone, but the first two, which stand before it runs. */
static struct {
    GMainContext *context;
    bool has_address;
    GDBusConnection *bus;
    guint watch;
    enum { UNKNOWN, ABSENT, PRESENT, READY } daemon; /* READY: it has answered */
    GSource *retry;
    const char *state; /* last told */
} work;

static pthread_t thread;

static int64_t now_ms(void)
{
    return g_get_monotonic_time() / 1000;
}

static void wish_free(gpointer data)
{
    struct cb_wish *wish = data;
    g_free(wish->title);
    g_free(wish->body);
    g_free(wish);
}

/* Under the lock. */
static GList *waiting(uint32_t id)
{
    GList *at = shared.wishes.head;
    while (at != NULL && ((const struct cb_wish *)at->data)->id != id) {
        at = at->next;
    }
    return at;
}

static void want(struct cb_wish *wish)
{
    pthread_mutex_lock(&shared.lock);
    GList *older = waiting(wish->id);
    if (older != NULL) {
        wish_free(older->data);
        older->data = wish;
    } else {
        g_queue_push_tail(&shared.wishes, wish);
    }
    pthread_mutex_unlock(&shared.lock);
    g_main_context_wakeup(work.context);
}

/* Unless something else is wanted by now. */
static void want_again(struct cb_wish *wish)
{
    pthread_mutex_lock(&shared.lock);
    bool outdated = waiting(wish->id) != NULL;
    if (!outdated) {
        g_queue_push_head(&shared.wishes, wish);
    }
    pthread_mutex_unlock(&shared.lock);
    if (outdated) {
        wish_free(wish);
    }
}

static struct cb_wish *next_wish(void)
{
    pthread_mutex_lock(&shared.lock);
    struct cb_wish *wish = g_queue_pop_head(&shared.wishes);
    pthread_mutex_unlock(&shared.lock);
    return wish;
}

static void tell_state(const char *state)
{
    if (g_strcmp0(work.state, state) != 0) {
        work.state = state;
        cb_socket_tell("state\t%s", state);
    }
}

/* Said again: what was wanted just now was not heard. */
static void tell_state_again(const char *state)
{
    work.state = NULL;
    tell_state(state);
}

static void drop_wishes(void)
{
    struct cb_wish *wish;
    while ((wish = next_wish()) != NULL) {
        work.state = NULL;
        wish_free(wish);
    }
}

static void end_retry(void)
{
    if (work.retry != NULL) {
        g_source_destroy(work.retry);
        g_clear_pointer(&work.retry, g_source_unref);
    }
}

static gboolean on_retry(gpointer data)
{
    (void)data;
    end_retry();
    return G_SOURCE_REMOVE;
}

static void on_appeared(GDBusConnection *bus, const char *name, const char *owner, gpointer data)
{
    (void)bus;
    (void)name;
    (void)owner;
    (void)data;
    work.daemon = PRESENT;
    end_retry();
}

static void on_vanished(GDBusConnection *bus, const char *name, gpointer data)
{
    (void)name;
    (void)data;
    work.daemon = ABSENT;
    cb_popup_forget();
    if (bus != NULL && !g_dbus_connection_is_closed(bus)) {
        drop_wishes();
        tell_state("no-daemon");
    }
}

static void let_go_of_bus(void)
{
    if (work.bus == NULL) {
        return;
    }
    g_bus_unwatch_name(work.watch);
    g_signal_handlers_disconnect_by_data(work.bus, &work);
    cb_popup_shut();
    g_clear_object(&work.bus); /* the last: a connection that is lost would be handed out again */
    work.daemon = UNKNOWN;
}

static void on_bus_closed(GDBusConnection *bus, gboolean remote, GError *error, gpointer data)
{
    (void)bus;
    (void)remote;
    (void)error;
    (void)data;
    let_go_of_bus();
    drop_wishes();
    tell_state("no-bus");
}

/* Waits where a bus hangs. */
static bool connect_bus(void)
{
    GDBusConnection *bus = work.has_address ? g_bus_get_sync(G_BUS_TYPE_SESSION, NULL, NULL) : NULL;
    if (bus == NULL || g_dbus_connection_is_closed(bus)) {
        g_clear_object(&bus);
        return false;
    }
    work.bus = bus;
    g_dbus_connection_set_exit_on_close(bus, FALSE);
    g_signal_connect(bus, "closed", G_CALLBACK(on_bus_closed), &work);
    cb_popup_open();
    /* AUTO_START: many desktops start their daemon with the first notification. */
    work.watch = g_bus_watch_name_on_connection(bus, BUS_NAME, G_BUS_NAME_WATCHER_FLAGS_AUTO_START,
                                                on_appeared, on_vanished, NULL, NULL);
    return true;
}

static void ask_daemon(void)
{
    if (cb_popup_ask()) {
        work.daemon = READY;
        tell_state("ok");
        return;
    }
    work.retry = g_timeout_source_new(RETRY_MS);
    g_source_set_callback(work.retry, on_retry, NULL, NULL);
    g_source_attach(work.retry, work.context);
}

/* Says how it went; true when it is to be tried again. */
static bool tell_fate(struct cb_wish *wish, enum cb_popup_fate fate)
{
    switch (fate) {
    case CB_POPUP_DONE:
        if (wish->show) {
            cb_socket_tell("shown\t%u", wish->id);
        }
        return false;
    case CB_POPUP_NO_DAEMON:
        if (wish->show) {
            tell_state_again("no-daemon");
        }
        return false;
    case CB_POPUP_UNANSWERED:
        work.daemon = PRESENT;
        if (!wish->again) {
            work.state = NULL; /* that it answers again is news */
            wish->again = true;
            return true;
        }
        break; /* it answers, but not to this */
    case CB_POPUP_REFUSED:
        break;
    }
    if (wish->show && !g_dbus_connection_is_closed(work.bus)) {
        cb_socket_tell("refused\t%u", wish->id);
    }
    return false;
}

static void serve(struct cb_wish *wish)
{
    bool again = false;
    if (work.bus == NULL && wish->show) {
        again = connect_bus();
        if (!again) {
            tell_state_again("no-bus");
        }
    } else if (work.daemon == READY || (wish->show && cb_popup_ask())) {
        again = tell_fate(wish, wish->show ? cb_popup_show(wish) : cb_popup_close(wish->id));
    } else {
        again = tell_fate(wish, CB_POPUP_NO_DAEMON);
    }
    if (again) {
        want_again(wish);
    } else {
        wish_free(wish);
    }
}

static void take_signals(void)
{
    while (g_main_context_iteration(work.context, FALSE)) {
    }
}

/* True when there may be more to do at once. */
static bool do_something(void)
{
    take_signals();
    if (work.daemon == PRESENT && work.retry == NULL) {
        ask_daemon();
        return true;
    }
    struct cb_wish *wish = NULL;
    if (work.bus == NULL || work.daemon == READY || work.daemon == ABSENT) {
        wish = next_wish();
    }
    if (wish != NULL) {
        serve(wish);
    }
    return wish != NULL;
}

static bool is_to_leave(int64_t busy_since)
{
    pthread_mutex_lock(&shared.lock);
    shared.busy_since = busy_since;
    bool leave = shared.leave;
    pthread_mutex_unlock(&shared.lock);
    return leave;
}

static void *run(void *data)
{
    (void)data;
    g_main_context_push_thread_default(work.context);
    if (!connect_bus()) {
        drop_wishes();
        tell_state("no-bus");
    }
    while (!is_to_leave(now_ms())) {
        if (!do_something() && !is_to_leave(0)) {
            g_main_context_iteration(work.context, TRUE);
        }
    }
    if (work.bus != NULL) {
        cb_popup_close_buttons();
    }
    let_go_of_bus();
    end_retry();
    drop_wishes();
    take_signals(); /* GDBus frees in it what belonged to its subscriptions */
    g_main_context_pop_thread_default(work.context);
    pthread_mutex_lock(&shared.lock);
    shared.gone = true;
    pthread_cond_signal(&shared.ended);
    pthread_mutex_unlock(&shared.lock);
    return NULL;
}

/* The library would start a bus where it finds none, so it is told where one would be: connecting
 * where nobody listens starts nothing. */
static bool settle_address(void)
{
    const char *address = g_getenv(ADDRESS);
    if (address != NULL && address[0] != '\0') {
        return strstr(address, "autolaunch:") == NULL && g_dbus_is_supported_address(address, NULL);
    }
    const char *folder = g_getenv("XDG_RUNTIME_DIR");
    if (folder == NULL || folder[0] != '/') {
        return false;
    }
    char *path = g_build_filename(folder, "bus", NULL);
    char *escaped = g_dbus_address_escape_value(path);
    char *found = g_strconcat("unix:path=", escaped, NULL);
    bool set = g_setenv(ADDRESS, found, TRUE);
    g_free(found);
    g_free(escaped);
    g_free(path);
    return set;
}

bool cb_worker_start(void)
{
    work.has_address = settle_address();
    /* In a terminal that is a snap it would speak to another name than the one that we watch. */
    g_setenv("NOTIFY_IGNORE_PORTAL", "1", FALSE);
    work.context = g_main_context_new();
    shared.busy_since = now_ms();
    pthread_condattr_t attr;
    pthread_condattr_init(&attr);
    pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
    pthread_cond_init(&shared.ended, &attr);
    pthread_condattr_destroy(&attr);
    return pthread_create(&thread, NULL, run, NULL) == 0;
}

void cb_worker_show(uint32_t id, bool sound, uint32_t answer, const char *title, const char *body)
{
    struct cb_wish *wish = g_new(struct cb_wish, 1);
    *wish = (struct cb_wish){.id = id,
                             .show = true,
                             .sound = sound,
                             .answer = answer,
                             .title = g_strdup(title),
                             .body = g_strdup(body)};
    want(wish);
}

void cb_worker_close(uint32_t id)
{
    struct cb_wish *wish = g_new(struct cb_wish, 1);
    *wish = (struct cb_wish){.id = id};
    want(wish);
}

bool cb_worker_end(void)
{
    pthread_mutex_lock(&shared.lock);
    shared.leave = true;
    g_main_context_wakeup(work.context);
    int64_t end_ms = (shared.busy_since != 0 ? shared.busy_since : now_ms()) + LEAVE_MS;
    const struct timespec end = {.tv_sec = end_ms / 1000, .tv_nsec = end_ms % 1000 * 1000000};
    while (!shared.gone && pthread_cond_timedwait(&shared.ended, &shared.lock, &end) == 0) {
    }
    bool gone = shared.gone;
    pthread_mutex_unlock(&shared.lock);
    if (gone) {
        pthread_join(thread, NULL);
        g_main_context_unref(work.context);
    }
    return gone;
}
