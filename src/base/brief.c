/* SPDX-License-Identifier: MIT */
#include "base/brief.h"

#include <stdio.h>
#include <string.h>

char *cb_brief(double value, char text[CB_BRIEF_BYTES])
{
    snprintf(text, CB_BRIEF_BYTES, "%.2f", value);
    size_t length = strlen(text);
    while (text[length - 1] == '0') {
        length--;
    }
    text[text[length - 1] == '.' ? length - 1 : length] = '\0';
    return text;
}
