/* SPDX-License-Identifier: MIT */
/*
 * Text from outside: is it UTF-8, how wide is it, what of it may a terminal see.
 * Widths, folding and validity come from utf8proc. It knows nothing of locales.
 */
#ifndef CB_BASE_UTF8_H
#define CB_BASE_UTF8_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

bool cb_utf8_valid(const char *bytes, size_t length);

/* The code point at *text, which is moved past it; 0 at the end. A broken byte gives U+FFFD. */
uint32_t cb_utf8_next(const char **text);

/* Writes cp as UTF-8 with a NUL, returns the number of bytes before it. */
size_t cb_utf8_write(uint32_t cp, char out[5]);

int cb_utf8_width(uint32_t cp);           /* columns: 0, 1 or 2 */
int cb_utf8_text_width(const char *text); /* columns of the whole */

/* May stand on a screen: no control (C0, C1, DEL), no bidi control, no zero-width or other
 * format character, no surrogate, no private-use, no line or paragraph separator. */
bool cb_utf8_is_safe(uint32_t cp);

/* A copy in which every unsafe code point and broken byte is '?'; at most max_columns wide
 * (0: no bound), an ellipsis (U+2026) in the last column where it was cut. */
char *cb_utf8_clean(struct cb_arena *arena, const char *text, int max_columns);
/* Such a copy of any length, as a reader of recipes has a line: single blanks, none at its ends.
 * "": there was nothing else. */
char *cb_utf8_line(struct cb_arena *arena, const char *text);

/* The form under which two names are the same: NFKC, case-folded, inner blanks single, trimmed. */
char *cb_utf8_fold(struct cb_arena *arena, const char *text);

/* Levenshtein distance over bytes, bounded: returns limit + 1 when it is more. For "did you
 * mean". */
int cb_utf8_distance(const char *a, const char *b, int limit);

#endif
