/* SPDX-License-Identifier: MIT */
#include "command/wrap.h"

#include <stdio.h>
#include <string.h>

#define COLUMNS 78

void cb_command_wrap(const char *text, int indent)
{
    int left = indent;
    while (*text != '\0') {
        int room = COLUMNS - left;
        int length = (int)strlen(text);
        if (length > room) {
            length = room;
            while (length > 0 && text[length] != ' ') {
                length--;
            }
            length = length > 0 ? length : room;
        }
        printf("%*s%.*s\n", left, "", length, text);
        text += length;
        text += strspn(text, " ");
        left = indent + 2;
    }
}
