/* SPDX-License-Identifier: MIT */
#include "support/vt52.h"

#include <stdlib.h>
#include <string.h>

void vt52_init(struct vt52 *screen)
{
    *screen = (struct vt52){0};
    for (int row = 0; row < VT52_ROWS; row++) {
        memset(screen->cells[row], ' ', VT52_COLUMNS);
    }
}

static void blank_from(struct vt52 *screen, int row, int column)
{
    memset(&screen->cells[row][column], ' ', (size_t)(VT52_COLUMNS - column));
}

static void scroll(struct vt52 *screen, int up)
{
    size_t bytes = sizeof screen->cells - sizeof screen->cells[0];
    memmove(screen->cells[up ? 0 : 1], screen->cells[up ? 1 : 0], bytes);
    blank_from(screen, up ? VT52_ROWS - 1 : 0, 0);
}

static void command(struct vt52 *screen, char letter)
{
    switch (letter) {
    case 'A':
        screen->row -= screen->row > 0;
        break;
    case 'B':
        screen->row += screen->row < VT52_ROWS - 1;
        break;
    case 'C':
        screen->column += screen->column < VT52_COLUMNS - 1;
        break;
    case 'D':
        screen->column -= screen->column > 0;
        break;
    case 'H':
        screen->row = screen->column = 0;
        break;
    case 'I':
        if (screen->row > 0) {
            screen->row--;
        } else {
            scroll(screen, false);
        }
        break;
    case 'J':
        for (int row = screen->row + 1; row < VT52_ROWS; row++) {
            blank_from(screen, row, 0);
        }
        blank_from(screen, screen->row, screen->column);
        break;
    case 'K':
        blank_from(screen, screen->row, screen->column);
        break;
    default: /* character sets and keypad: nothing to see */
        break;
    }
}

static void escape(struct vt52 *screen, unsigned char byte)
{
    int bound = screen->escape == 2 ? VT52_ROWS : VT52_COLUMNS;
    int place = byte - ' ' < 0 || byte - ' ' >= bound ? bound - 1 : byte - ' ';
    if (screen->escape == 1 && byte == 'Y') {
        screen->escape = 2;
    } else if (screen->escape == 1) {
        command(screen, (char)byte);
        screen->escape = 0;
    } else if (screen->escape == 2) {
        screen->row = place;
        screen->escape = 3;
    } else {
        screen->column = place;
        screen->escape = 0;
    }
}

static void take(struct vt52 *screen, unsigned char byte)
{
    if (screen->escape > 0) {
        escape(screen, byte);
    } else if (byte == 27) {
        screen->escape = 1;
    } else if (byte == '\r') {
        screen->column = 0;
    } else if (byte == '\n') {
        if (screen->row < VT52_ROWS - 1) {
            screen->row++;
        } else {
            scroll(screen, true);
        }
    } else if (byte == '\b') {
        command(screen, 'D');
    } else if (byte == '\t') {
        int next = (screen->column / 8 + 1) * 8;
        screen->column = next < VT52_COLUMNS ? next : VT52_COLUMNS - 1;
    } else if (byte >= ' ' && (byte & 0xC0) != 0x80) { /* not a later byte of a character */
        screen->cells[screen->row][screen->column] = byte < 127 ? (char)byte : '#';
        command(screen, 'C');
    }
}

void vt52_feed(struct vt52 *screen, const char *bytes, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        take(screen, (unsigned char)bytes[i]);
    }
}

bool vt52_has(const struct vt52 *screen, const char *text)
{
    for (int row = 0; row < VT52_ROWS; row++) {
        if (strstr(screen->cells[row], text) != NULL) {
            return true;
        }
    }
    return false;
}

int vt52_number(const struct vt52 *screen, const char *words)
{
    for (int row = 0; row < VT52_ROWS; row++) {
        const char *at = strstr(screen->cells[row], words);
        char *end = NULL;
        const long number = at != NULL ? strtol(at + strlen(words), &end, 10) : -1;
        if (at != NULL && end != at + strlen(words) && number >= 0 && number < 1000) {
            return (int)number;
        }
    }
    return -1;
}
