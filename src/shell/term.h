/* SPDX-License-Identifier: MIT */
/* The terminal: the only file with ncurses. */
#ifndef CB_SHELL_TERM_H
#define CB_SHELL_TERM_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "core/recipe/config.h"
#include "view/grid.h"

struct cb_term;
struct cb_term_options {
    bool ascii; /* no character beyond ASCII */
    /* AUTO: the terminal is asked for its background; dark until it answers, if it does, and what
     * is drawn does not wait for that. A terminal without colour is mono whatever is asked. */
    enum cb_theme_choice theme;
};
/* CB_IO when no bench could open on this terminal, such as by an unknown TERM; changes nothing. */
enum cb_status cb_term_check(struct cb_err *err);
enum cb_status cb_term_open(const struct cb_term_options *options, struct cb_term **term,
                            struct cb_err *err);
/* Restores the screen; what a terminal does not take in 0.15 s is given up. */
void cb_term_close(struct cb_term *term);
int cb_term_fd(const struct cb_term *term); /* keys */
/* -1, or what to wait on with POLLOUT for cb_term_send: the terminal has not taken all. */
int cb_term_out_fd(const struct cb_term *term);
/* As much of what waits as the terminal takes now. Nothing here but the end ever waits for it. */
void cb_term_send(struct cb_term *term);
void cb_term_size(struct cb_term *term, int *rows, int *columns); /* re-read after SIGWINCH */
/* The next key waiting, CB_KEY_NONE when there is none; *closed at end of file or hang-up.
 * CB_KEY_PASTE: no key, a text was pasted. */
uint32_t cb_term_key(struct cb_term *term, bool *closed);
/* As it came, its beginning; until the next. */
const char *cb_term_pasted(const struct cb_term *term);
/* What the terminal shows is not known: it is to be drawn to though nothing has changed. */
bool cb_term_is_stale(const struct cb_term *term);
/* One update, and a beep: only while nothing waits for the terminal, or what waits grows. */
void cb_term_draw(struct cb_term *term, const struct cb_grid *grid);
void cb_term_beep(struct cb_term *term);
/* The window's title, where the terminal is known to have one; written when it is another. The old
 * one comes back at the end. */
void cb_term_title(struct cb_term *term, const char *text);
/* Can it show a pop-up on the desktop where it stands? Then that is one; id: of a newer one that
 * takes its place. */
bool cb_term_pops_up(const struct cb_term *term);
void cb_term_pop_up(struct cb_term *term, uint32_t id, const char *title, const char *body);
void cb_term_suspend(struct cb_term *term); /* Ctrl-Z: back when continued */
void cb_term_resume(struct cb_term *term);  /* after SIGCONT: its modes anew, and it is stale */

#endif
