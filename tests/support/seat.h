/* SPDX-License-Identifier: MIT */
/* The real program on a pseudo-terminal of its own, of VT52_ROWS x VT52_COLUMNS. */
#ifndef CB_TESTS_SEAT_H
#define CB_TESTS_SEAT_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#include "support/vt52.h"

struct seat {
    int pty; /* the terminal's other side; neither read nor write waits */
    char terminal[128];
    pid_t program; /* 0: none, or waited for */
    struct vt52 screen;
    bool closed; /* the program has left the terminal */
};

enum { SEAT_PATH_SIZE = 600 };
void seat_program(
    char path[SEAT_PATH_SIZE]); /* coatbell of this build; CB_BUILD's where it is set */

/* That program with these arguments, NULL at their end; its
 * home is `home`, TERM is `type`. */
bool seat_start(struct seat *seat, const char *home, const char *type,
                const char *const *arguments);
void seat_press(const struct seat *seat, const char *keys);
/* Reads at most so many bytes that wait, into the screen; 0: none. */
size_t seat_read(struct seat *seat, size_t most);
/* Reads until the text stands in a row, for at most so many ms. */
bool seat_wait(struct seat *seat, const char *text, int most_ms);
void seat_close(struct seat *seat); /* SIGKILL, waited for */

#endif
