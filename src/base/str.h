/* SPDX-License-Identifier: MIT */
/* A growing text. Zeroed struct = empty; text is NULL or NUL-terminated. */
#ifndef CB_BASE_STR_H
#define CB_BASE_STR_H

#include <stdbool.h>
#include <stddef.h>

struct cb_str {
    char *text;
    size_t length;
    size_t capacity;
};

void cb_str_fini(struct cb_str *str);
void cb_str_clear(struct cb_str *str);
void cb_str_add(struct cb_str *str, const char *text);
void cb_str_add_n(struct cb_str *str, const char *bytes, size_t length);
void cb_str_addf(struct cb_str *str, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* "4", "1 to 4", "1, 3 and 5 to 7": ascending whole numbers. */
void cb_str_add_numbers(struct cb_str *str, const int *numbers, size_t count);
const char *cb_str_text(const struct cb_str *str); /* "" when empty, never NULL */

/* Either may be NULL, which is the same as NULL alone. */
bool cb_str_same(const char *a, const char *b);

/* Index of the word among words, NULL entries of which are skipped, or -1. */
int cb_str_place(const char *const *words, size_t count, const char *word);

/* The whole of text as a plain decimal number (no hex, no inf, no nan, C locale). */
bool cb_str_number(const char *text, double *value);
bool cb_str_integer(const char *text, long long *value);

#endif
