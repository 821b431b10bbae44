/* SPDX-License-Identifier: MIT */
#include "view/theme.h"

#define OWN (-1)

/* Green is ready, blue is wet, amber wants care, grey is done; no other hue says anything. They
 * follow the palette of Okabe and Ito (Color Universal Design, 2008), whose sky blue, orange and
 * bluish green stay apart in the common kinds of colour blindness; the 256-colour numbers are the
 * nearest of the xterm cube. Where there are eight, cyan stands for blue, which is too dark to read
 * on black, and the terminal's own colour for grey. */
const struct cb_style cb_theme_dark[CB_ROLE_COUNT] = {
    [CB_ROLE_PLAIN] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_DIM] = {OWN, OWN, 247, OWN, false, false, false, false},
    [CB_ROLE_STRONG] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_TITLE] = {OWN, OWN, OWN, OWN, false, false, false, false},
    [CB_ROLE_BIG] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_PAINT] = {OWN, OWN, OWN, OWN, true, false, false, false},
    [CB_ROLE_WET] = {6, OWN, 117, OWN, false, false, false, false},
    [CB_ROLE_DRY] = {2, OWN, 78, OWN, false, false, false, false},
    [CB_ROLE_READY] = {2, OWN, 78, OWN, true, false, false, false},
    [CB_ROLE_DONE] = {OWN, OWN, 245, OWN, false, false, false, false},
    [CB_ROLE_HELD] = {3, OWN, 214, OWN, true, false, false, false},
    [CB_ROLE_FOCUS] = {OWN, OWN, OWN, OWN, true, false, true, false},
    [CB_ROLE_KEY] = {OWN, OWN, OWN, OWN, true, false, false, true},
    [CB_ROLE_WARN] = {3, OWN, 214, OWN, true, false, false, false},
    [CB_ROLE_ALARM] = {7, 1, 231, 124, true, false, false, false},
    [CB_ROLE_RULE] = {OWN, OWN, 243, OWN, false, false, false, false},
    [CB_ROLE_BANNER] = {0, 2, 16, 78, true, false, false, false},
    [CB_ROLE_INPUT] = {OWN, OWN, 231, 238, false, false, false, true},
    [CB_ROLE_PLOT] = {6, OWN, 117, OWN, false, false, false, false},
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
