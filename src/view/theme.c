/* SPDX-License-Identifier: MIT */
#include "view/theme.h"

#include <math.h>
#include <stddef.h>

#define OWN (-1)

/* Green is ready, blue is wet, amber wants care, grey is done; no other hue says anything. They
 * follow the palette of Okabe and Ito (Color Universal Design, 2008), whose sky blue, orange and
 * bluish green stay apart in the common kinds of colour blindness; the 256-colour numbers are the
 * nearest of the xterm cube. Greys are light enough for dark grey grounds too. Where there are
 * eight, cyan stands for blue, which is too dark to read on black, and the terminal's own colour
 * for grey. */
const struct cb_style cb_theme_dark[CB_ROLE_COUNT] = {
    [CB_ROLE_PLAIN] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_DIM] = {OWN, OWN, 248, OWN, false, false, false, false},
    [CB_ROLE_STRONG] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_TITLE] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_BIG] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_PAINT] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_WET] = {6, OWN, 117, OWN, false, false, false, false},
    [CB_ROLE_DRY] = {2, OWN, 78, OWN, false, false, false, false},
    [CB_ROLE_READY] = {2, OWN, 78, OWN, true, false, false, false},
    [CB_ROLE_DONE] = {OWN, OWN, 246, OWN, false, false, false, false},
    [CB_ROLE_HELD] = {3, OWN, 214, OWN, true, false, false, false},
    [CB_ROLE_FOCUS] = {OWN, OWN, OWN, OWN, true, false, true, false},
    [CB_ROLE_KEY] = {OWN, OWN, OWN, OWN, true, false, false, true},
    [CB_ROLE_WARN] = {3, OWN, 214, OWN, true, false, false, false},
    [CB_ROLE_ALARM] = {7, 1, 231, 124, true, false, false, false},
    [CB_ROLE_RULE] = {OWN, OWN, 246, OWN, false, false, false, false},
    [CB_ROLE_BANNER] = {0, 2, 16, 78, true, false, false, false},
    [CB_ROLE_INPUT] = {OWN, OWN, 231, 238, false, false, false, true},
    [CB_ROLE_PLOT] = {6, OWN, 117, OWN, false, false, false, false},
};

/* The same hues as dark as they have to be on white. Where there are eight, green and yellow can't
 * be read on white: ready is bold, and red, which the alarm has as its ground, wants care. */
const struct cb_style cb_theme_light[CB_ROLE_COUNT] = {
    [CB_ROLE_PLAIN] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_DIM] = {OWN, OWN, 240, OWN, false, false, false, false},
    [CB_ROLE_STRONG] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_TITLE] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_BIG] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_PAINT] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_WET] = {4, OWN, 26, OWN, false, false, false, false},
    [CB_ROLE_DRY] = {OWN, OWN, 23, OWN, false, false, false, false},
    [CB_ROLE_READY] = {OWN, OWN, 23, OWN, true, false, false, false},
    [CB_ROLE_DONE] = {OWN, OWN, 241, OWN, false, false, false, false},
    [CB_ROLE_HELD] = {1, OWN, 94, OWN, true, false, false, false},
    [CB_ROLE_FOCUS] = {OWN, OWN, OWN, OWN, true, false, true, false},
    [CB_ROLE_KEY] = {OWN, OWN, OWN, OWN, true, false, false, true},
    [CB_ROLE_WARN] = {1, OWN, 94, OWN, true, false, false, false},
    [CB_ROLE_ALARM] = {7, 1, 231, 124, true, false, false, false},
    [CB_ROLE_RULE] = {OWN, OWN, 241, OWN, false, false, false, false},
    [CB_ROLE_BANNER] = {7, 4, 231, 23, true, false, false, false},
    [CB_ROLE_INPUT] = {OWN, OWN, 16, 253, false, false, false, true},
    [CB_ROLE_PLOT] = {4, OWN, 26, OWN, false, false, false, false},
};

const struct cb_style cb_theme_mono[CB_ROLE_COUNT] = {
    [CB_ROLE_PLAIN] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_DIM] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_STRONG] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_TITLE] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_BIG] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_PAINT] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_WET] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_DRY] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_READY] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_DONE] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_HELD] = {OWN, OWN, OWN, OWN, true, false, false, true},
    [CB_ROLE_FOCUS] = {OWN, OWN, OWN, OWN, true, false, true, false},
    [CB_ROLE_KEY] = {OWN, OWN, OWN, OWN, true, false, false, true},
    [CB_ROLE_WARN] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_ALARM] = {OWN, OWN, OWN, OWN, true, false, true, false},
    [CB_ROLE_RULE] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_BANNER] = {OWN, OWN, OWN, OWN, true, false, true, false},
    [CB_ROLE_INPUT] = {OWN, OWN, OWN, OWN, false, false, false, true},
    [CB_ROLE_PLOT] = {OWN, OWN, OWN, OWN, false, false, false, false},
};

double cb_theme_luminance(double red, double green, double blue)
{
    const double parts[] = {red, green, blue};
    static const double weights[] = {0.2126, 0.7152, 0.0722};
    double sum = 0;
    for (size_t i = 0; i < 3; i++) {
        const double part = parts[i];
        sum += weights[i] * (part <= 0.03928 ? part / 12.92 : pow((part + 0.055) / 1.055, 2.4));
    }
    return sum;
}

/* One to four hexadecimal digits, as a part of what so many can say; -1: no such. */
static double read_part(const char **text)
{
    int digits = 0, value = 0, most = 0;
    for (; digits < 4; digits++, *text += 1) {
        const char c = **text;
        const int digit = c >= '0' && c <= '9'   ? c - '0'
                          : c >= 'a' && c <= 'f' ? c - 'a' + 10
                          : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                                 : -1;
        if (digit < 0) {
            break;
        }
        value = value * 16 + digit;
        most = most * 16 + 15;
    }
    return digits > 0 ? (double)value / most : -1;
}

bool cb_theme_is_light(const char *answer, bool *light)
{
    static const char *const begins[] = {"rgb:", "rgba:"};
    for (size_t form = 0; form < 2; form++) {
        double parts[4] = {0};
        const size_t count = 3 + form;
        const char *at = answer;
        bool is = true;
        for (const char *c = begins[form]; *c != '\0' && is; c++) {
            is = *at == *c;
            at += is;
        }
        for (size_t i = 0; i < count && is; i++) {
            parts[i] = read_part(&at);
            is = parts[i] >= 0 && *at == (i + 1 < count ? '/' : '\0');
            at += is && *at != '\0';
        }
        if (is) {
            *light = cb_theme_luminance(parts[0], parts[1], parts[2]) > CB_THEME_MIDDLE;
            return true;
        }
    }
    return false;
}
