/* SPDX-License-Identifier: MIT */
/* The least that libnotify can do, to compare the bell with: one pop-up, then it waits until its
 * standard input ends. Prints "shown" once the pop-up is there. */
#include <libnotify/notify.h>
#include <stdio.h>

int main(void)
{
    notify_init("bare");
    NotifyNotification *note = notify_notification_new("bare", "one pop-up", NULL);
    if (notify_notification_show(note, NULL)) {
        puts("shown");
        fflush(stdout);
    }
    while (getchar() != EOF) {
    }
    g_object_unref(note);
    notify_uninit();
    return 0;
}
