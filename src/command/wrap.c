/* SPDX-License-Identifier: MIT */
#include "command/wrap.h"

#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "shell/console.h"

#define COLUMNS_MAX 79
#define COLUMNS_MIN 20

int cb_command_columns(void)
{
    int columns = cb_console_columns() - 1;
    return columns > COLUMNS_MAX ? COLUMNS_MAX : columns < COLUMNS_MIN ? COLUMNS_MIN : columns;
}

/* A number stays with its unit and with the sign before it: "50 %", "21 C", "3.8 ml". */
static bool may_break(const char *text, const char *blank)
{
    static const char *const units[] = {"%", "C",  "F",  "K",  "min", "h",
                                        "s", "ml", "um", "mm", "cm2"};
    if (blank == text || blank[-1] < '0' || blank[-1] > '9') {
        return true;
    }
    size_t length = strcspn(blank + 1, " ,;:.)");
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        if (strlen(units[i]) == length && strncmp(blank + 1, units[i], length) == 0) {
            return false;
        }
    }
    return true;
}

/* Bytes of the text that fit in columns; *whole: without breaking a word. */
static size_t that_fits(const char *text, int columns, bool *whole)
{
    const char *walk = text, *cut = NULL;
    int width = 0;
    while (*walk != '\0') {
        const char *before = walk;
        int wide = cb_utf8_width(cb_utf8_next(&walk));
        width += wide < 0 ? 0 : wide;
        if (*before == ' ' && may_break(text, before)) {
            cut = before;
        }
        if (width > columns) {
            *whole = cut != NULL;
            return (size_t)((cut != NULL ? cut : before > text ? before : walk) - text);
        }
    }
    *whole = true;
    return (size_t)(walk - text);
}

void cb_command_wrap_after(const char *text, int used, int indent)
{
    int columns = cb_command_columns();
    bool first = true;
    while (*text != '\0' || first) {
        bool whole;
        size_t length = that_fits(text, columns - used, &whole);
        if (!whole && first && used > indent) {
            length = 0; /* on the next line there is more room */
        }
        printf("%.*s\n", (int)length, text);
        text += length;
        text += strspn(text, " ");
        used = indent;
        first = false;
        if (*text != '\0') {
            printf("%*s", indent, "");
        }
    }
}

void cb_command_wrap(const char *text, int indent)
{
    printf("%*s", indent, "");
    cb_command_wrap_after(text, indent, indent + 2);
}
