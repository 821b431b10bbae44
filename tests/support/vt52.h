/* SPDX-License-Identifier: MIT */
/*
 * The screen of a program that runs with TERM=vt52, the smallest terminal a bench opens on: what it
 * writes goes in, text comes out. Columns are code points, so nothing wide may be shown.
 */
#ifndef CB_TESTS_VT52_H
#define CB_TESTS_VT52_H

#include <stdbool.h>
#include <stddef.h>

enum { VT52_ROWS = 24, VT52_COLUMNS = 80 };

struct vt52 {
    char cells[VT52_ROWS][VT52_COLUMNS + 1]; /* '#': anything beyond ASCII */
    int row, column;
    int escape; /* of an escape sequence so far: 0 none, else one more than its bytes after ESC */
};

void vt52_init(struct vt52 *screen);
void vt52_feed(struct vt52 *screen, const char *bytes, size_t length);
bool vt52_has(const struct vt52 *screen, const char *text); /* within one row */
/* The number after the words; -1: no such words or no number there. */
int vt52_number(const struct vt52 *screen, const char *words);

#endif
