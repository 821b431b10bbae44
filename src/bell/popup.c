/* SPDX-License-Identifier: MIT */
#include "bell/popup.h"

#include <libnotify/notify.h>

#include "bell/socket.h"

/* Both names of one thing: a new pop-up takes the place of the one with the same tag. Daemons know
 * one of them, or none. */
static const char *const tag_hints[] = {"x-dunst-stack-tag", "x-canonical-private-synchronous"};

struct popup {
    uint32_t id; /* the bench's */
    NotifyNotification *note;
    bool buttons;
    uint32_t answer; /* what they answer for, once the daemon has them */
    bool mixed;      /* the screen may still have buttons that answer for something else */
    bool lost;       /* asked for, and the daemon did not say its number in time */
    bool pressed;    /* and so it goes, though that may not have been told yet */
};

static struct {
    GHashTable *popups; /* id to struct popup */
    bool knows;         /* the daemon has said what it can do: */
    bool markup, actions, tags;
} desk;

static void popup_free(gpointer data)
{
    struct popup *popup = data;
    g_object_unref(popup->note);
    g_free(popup);
}

void cb_popup_open(void)
{
    notify_init("coatbell");
    desk.popups = g_hash_table_new_full(NULL, NULL, NULL, popup_free);
    desk.knows = false;
}

void cb_popup_shut(void)
{
    g_clear_pointer(&desk.popups, g_hash_table_unref);
    notify_uninit();
}

void cb_popup_forget(void)
{
    g_hash_table_remove_all(desk.popups);
    desk.knows = false;
}

bool cb_popup_ask(void)
{
    char *words[4] = {NULL, NULL, NULL, NULL};
    if (!notify_get_server_info(&words[0], &words[1], &words[2], &words[3])) {
        return false;
    }
    for (size_t i = 0; i < G_N_ELEMENTS(words); i++) {
        g_free(words[i]);
    }
    if (desk.knows) {
        return true;
    }
    desk.markup = desk.actions = desk.tags = false;
    GList *can = notify_get_server_caps();
    for (const GList *at = can; at != NULL; at = at->next) {
        desk.markup = desk.markup || g_str_equal(at->data, "body-markup");
        desk.actions = desk.actions || g_str_equal(at->data, "actions");
        for (size_t i = 0; i < G_N_ELEMENTS(tag_hints); i++) {
            desk.tags = desk.tags || g_str_equal(at->data, tag_hints[i]);
        }
    }
    desk.knows = can != NULL;
    g_list_free_full(can, g_free);
    return true;
}

static enum cb_popup_fate fate_of(GError *error)
{
    static const struct {
        int code;
        enum cb_popup_fate fate;
    } fates[] = {{G_DBUS_ERROR_NO_REPLY, CB_POPUP_UNANSWERED},
                 {G_DBUS_ERROR_TIMEOUT, CB_POPUP_UNANSWERED},
                 {G_DBUS_ERROR_TIMED_OUT, CB_POPUP_UNANSWERED},
                 {G_DBUS_ERROR_SERVICE_UNKNOWN, CB_POPUP_NO_DAEMON},
                 {G_DBUS_ERROR_NAME_HAS_NO_OWNER, CB_POPUP_NO_DAEMON}};
    enum cb_popup_fate fate = CB_POPUP_REFUSED;
    if (g_error_matches(error, G_IO_ERROR, G_IO_ERROR_TIMED_OUT)) {
        fate = CB_POPUP_UNANSWERED;
    }
    for (size_t i = 0; i < G_N_ELEMENTS(fates); i++) {
        if (g_error_matches(error, G_DBUS_ERROR, fates[i].code)) {
            fate = fates[i].fate;
        }
    }
    g_error_free(error);
    return fate;
}

static void on_button(NotifyNotification *note, char *action, gpointer data)
{
    (void)note;
    struct popup *popup = g_hash_table_lookup(desk.popups, data);
    if (popup == NULL || popup->pressed) {
        return;
    }
    popup->pressed = true;
    if (!popup->mixed) {
        cb_socket_tell("button\t%u\t%s\t%u", popup->id, action, popup->answer);
    }
}

/* The library tells it of each notification once, so the next pop-up gets one of its own. */
static void on_closed(NotifyNotification *note, gpointer data)
{
    (void)note;
    cb_socket_tell("closed\t%u", GPOINTER_TO_UINT(data));
    g_hash_table_remove(desk.popups, data);
}

static void put_hints(NotifyNotification *note, uint32_t id, bool sound)
{
    notify_notification_clear_hints(note);
    notify_notification_set_urgency(note, NOTIFY_URGENCY_NORMAL);
    notify_notification_set_hint(note, "desktop-entry", g_variant_new_string("coatbell"));
    if (sound) {
        notify_notification_set_hint(note, "sound-name",
                                     g_variant_new_string("message-new-instant"));
    } else {
        notify_notification_set_hint(note, "suppress-sound", g_variant_new_boolean(TRUE));
    }
    /* Of the bench, not of this child: who replaces it takes over what it left. */
    char *tag = g_strdup_printf("coatbell-%ld-%u", (long)getppid(), id);
    for (size_t i = 0; i < G_N_ELEMENTS(tag_hints); i++) {
        notify_notification_set_hint(note, tag_hints[i], g_variant_new_string(tag));
    }
    g_free(tag);
}

static struct popup *popup_for(uint32_t id)
{
    gpointer key = GUINT_TO_POINTER(id);
    struct popup *popup = g_hash_table_lookup(desk.popups, key);
    if (popup != NULL && popup->pressed) {
        g_hash_table_remove(desk.popups, key);
        popup = NULL;
    }
    if (popup == NULL) {
        popup = g_new0(struct popup, 1);
        popup->id = id;
        popup->note = notify_notification_new("coatbell", NULL, NULL);
        g_signal_connect(popup->note, "closed", G_CALLBACK(on_closed), key);
        g_hash_table_insert(desk.popups, key, popup);
    }
    return popup;
}

/* What was pressed while a call waited may have been what stood there before, or what it brought:
 * where that makes a difference it counts for neither. */
static void settle_presses(uint32_t id)
{
    while (g_main_context_iteration(g_main_context_get_thread_default(), FALSE)) {
    }
    struct popup *popup = g_hash_table_lookup(desk.popups, GUINT_TO_POINTER(id));
    if (popup != NULL) {
        popup->mixed = false;
    }
}

enum cb_popup_fate cb_popup_show(const struct cb_wish *wish)
{
    struct popup *popup = popup_for(wish->id);
    char *body = desk.markup ? g_markup_escape_text(wish->body, -1) : g_strdup(wish->body);
    notify_notification_update(popup->note, wish->title[0] != '\0' ? wish->title : "coatbell", body,
                               NULL);
    g_free(body);
    put_hints(popup->note, wish->id, wish->sound);
    notify_notification_clear_actions(popup->note);
    popup->mixed = popup->mixed || (popup->answer != 0 && popup->answer != wish->answer);
    popup->answer = wish->answer;
    popup->buttons = wish->answer != 0 && desk.actions;
    if (popup->buttons) {
        gpointer key = GUINT_TO_POINTER(wish->id);
        notify_notification_add_action(popup->note, "dry", "Dry", on_button, key, NULL);
        notify_notification_add_action(popup->note, "wet", "Still wet", on_button, key, NULL);
    }
    GError *error = NULL;
    if (notify_notification_show(popup->note, &error)) {
        popup->lost = false;
        settle_presses(wish->id);
        return CB_POPUP_DONE;
    }
    enum cb_popup_fate fate = fate_of(error);
    popup->lost = popup->lost || fate == CB_POPUP_UNANSWERED;
    return fate;
}

static bool is_up(const struct popup *popup)
{
    int server_id = 0;
    g_object_get(popup->note, "id", &server_id, NULL);
    return server_id != 0;
}

static enum cb_popup_fate close_note(const struct popup *popup)
{
    GError *error = NULL;
    return notify_notification_close(popup->note, &error) ? CB_POPUP_DONE : fate_of(error);
}

enum cb_popup_fate cb_popup_close(uint32_t id)
{
    gpointer key = GUINT_TO_POINTER(id);
    const struct popup *popup = g_hash_table_lookup(desk.popups, key);
    if (popup == NULL) {
        return CB_POPUP_DONE;
    }
    enum cb_popup_fate fate = CB_POPUP_DONE;
    if (!is_up(popup) && popup->lost && desk.tags) {
        /* Its number is not known: what takes its place has one. */
        char title[] = "coatbell", body[] = "";
        fate = cb_popup_show(&(struct cb_wish){.id = id, .title = title, .body = body});
        if (fate == CB_POPUP_UNANSWERED) {
            return fate;
        }
    }
    if (is_up(popup)) {
        fate = close_note(popup);
    }
    g_hash_table_remove(desk.popups, key);
    return fate;
}

void cb_popup_close_buttons(void)
{
    GHashTableIter iter;
    gpointer value;
    g_hash_table_iter_init(&iter, desk.popups);
    while (g_hash_table_iter_next(&iter, NULL, &value)) {
        const struct popup *popup = value;
        if (popup->buttons && is_up(popup)) {
            close_note(popup);
        }
    }
}
