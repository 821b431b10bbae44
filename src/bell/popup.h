/* SPDX-License-Identifier: MIT */
/*
 * The pop-ups of this bench, by libnotify, for the worker's thread only. Presses of buttons come
 * in while its main context turns, and are told to the bench (bell/socket.h). Calls marked "waits"
 * wait for the daemon, at most 25 s each; cb_popup_ask is the first of them, and nothing is shown
 * before it was true.
 */
#ifndef CB_BELL_POPUP_H
#define CB_BELL_POPUP_H

#include <stdbool.h>
#include <stdint.h>

enum cb_popup_fate {
    CB_POPUP_DONE,
    CB_POPUP_NO_DAEMON,
    CB_POPUP_UNANSWERED, /* it may still come: not to be asked again before the daemon answers */
    CB_POPUP_REFUSED
};

/* What is wanted of one pop-up. */
struct cb_wish {
    uint32_t id;     /* the bench's */
    uint32_t answer; /* what its buttons answer for; 0: none */
    bool show;       /* else close; then nothing but id counts */
    bool sound;
    char *title, *body;
    bool again; /* it was asked for once and not answered */
};

/* The library is opened with a bus that is there and closed when it is lost: closing waits for
 * nobody then. */
void cb_popup_open(void);
void cb_popup_shut(void);

/* Asks the daemon what it knows; false when it does not answer. Waits. */
bool cb_popup_ask(void);

/* Shows or brings up to date. Waits. */
enum cb_popup_fate cb_popup_show(const struct cb_wish *wish);
/* Takes down what is there of it; that there is none is no fault. Waits. */
enum cb_popup_fate cb_popup_close(uint32_t id);
/* Takes down all whose buttons would be dead. Waits. */
void cb_popup_close_buttons(void);
/* Their daemon is gone, and they with it. */
void cb_popup_forget(void);

#endif
