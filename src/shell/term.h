/* SPDX-License-Identifier: MIT */
/* The terminal: the only file with ncurses. */
#ifndef CB_SHELL_TERM_H
#define CB_SHELL_TERM_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "view/grid.h"

struct cb_term;
struct cb_term_options {
    bool ascii;    /* no character beyond ASCII */
    bool mono;     /* NO_COLOR, or a terminal without colour */
};
/* CB_IO when no bench could open on this terminal, such as by an unknown TERM; changes nothing. */
enum cb_status cb_term_check(struct cb_err *err);
enum cb_status cb_term_open(const struct cb_term_options *options, struct cb_term **term,
                            struct cb_err *err);
void cb_term_close(struct cb_term *term); /* restores the screen */
int cb_term_fd(const struct cb_term *term);
void cb_term_size(struct cb_term *term, int *rows, int *columns); /* re-read after SIGWINCH */
/* The next key waiting, CB_KEY_NONE when there is none; *closed at end of file or hang-up. */
uint32_t cb_term_key(struct cb_term *term, bool *closed);
void cb_term_draw(struct cb_term *term, const struct cb_grid *grid); /* one update */
void cb_term_beep(struct cb_term *term);
void cb_term_suspend(struct cb_term *term); /* Ctrl-Z: back when continued */
void cb_term_resume(struct cb_term *term);  /* after SIGCONT: its modes and picture anew */

#endif
