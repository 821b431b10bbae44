/* SPDX-License-Identifier: MIT */
/*
 * The parent's side of the bell: a child program on a socketpair that alone knows the desktop's
 * notifications. Nothing here blocks; a child that is silent for 2 s, or talks without an end, is
 * ended and replaced, and after three that did not last a minute no other is started for a minute.
 * Protocol (one line a message, tab between fields, \t \n \\ escaped):
 *   to child:   show ID SOUND(0|1) ANSWER TITLE BODY · close ID · are-you-there N
 *   from child: state ok|no-bus|no-daemon · shown ID · refused ID · button ID dry|wet ANSWER ·
 *               closed ID · here N
 * ANSWER says what the buttons answer for; 0: there are none. The one that comes back is that of
 * the buttons that were pressed, which may be those of an earlier show of the same ID. The child
 * answers are-you-there also while the notification daemon hangs.
 */
#ifndef CB_SHELL_BELL_H
#define CB_SHELL_BELL_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "app/app.h"

/* now_ms is CLOCK_MONOTONIC throughout. */
struct cb_bell;
/* program NULL: no bell, state NONE forever. */
struct cb_bell *cb_bell_new(const char *program);
void cb_bell_free(struct cb_bell *bell); /* ends the child and waits for it, at most 1 s */

enum cb_status cb_bell_start(struct cb_bell *bell, int64_t now_ms, struct cb_err *err);
/* Queued and written as the socket takes it. answer: see above. */
void cb_bell_show(struct cb_bell *bell, uint32_t id, bool sound, uint32_t answer, const char *title,
                  const char *body, int64_t now_ms);
void cb_bell_close(struct cb_bell *bell, uint32_t id);

int cb_bell_fd(const struct cb_bell *bell);           /* -1: no child */
short cb_bell_events(const struct cb_bell *bell);     /* for poll */
int64_t cb_bell_deadline(const struct cb_bell *bell); /* when it must answer; CB_TIME_NONE */

struct cb_bell_news {
    enum { CB_BELL_NEWS_STATE, CB_BELL_NEWS_BUTTON, CB_BELL_NEWS_SHOWN } kind;
    enum cb_bell_state state;
    uint32_t id, answer;
    bool dry;
};
/* After poll, or at the deadline: reads a little, writes, replaces a silent child. Call until
 * false, and draw before the next turn. */
bool cb_bell_turn(struct cb_bell *bell, int64_t now_ms, struct cb_bell_news *news);

#endif
