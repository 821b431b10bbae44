/* SPDX-License-Identifier: MIT */
#include "base/str.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

void cb_str_fini(struct cb_str *str)
{
    if (!str) {
        return;
    }
    free(str->text);
    *str = (struct cb_str){0};
}

void cb_str_clear(struct cb_str *str)
{
    str->length = 0;
    if (str->text) {
        str->text[0] = '\0';
    }
}

/* Room for `more` bytes and the NUL. */
static void reserve(struct cb_str *str, size_t more)
{
    if (more > SIZE_MAX / 4 || str->length > SIZE_MAX / 4) {
        abort();
    }
    size_t need = str->length + more + 1;
    if (need <= str->capacity) {
        return;
    }
    size_t capacity = str->capacity > 0 ? str->capacity : 32;
    while (capacity < need) {
        capacity *= 2;
    }
    str->text = cb_mem_resize(str->text, capacity, 1);
    str->capacity = capacity;
}

void cb_str_add_n(struct cb_str *str, const char *bytes, size_t length)
{
    reserve(str, length);
    if (length > 0) {
        memcpy(str->text + str->length, bytes, length);
    }
    str->length += length;
    str->text[str->length] = '\0';
}

void cb_str_add(struct cb_str *str, const char *text)
{
    cb_str_add_n(str, text, strlen(text));
}

void cb_str_addf(struct cb_str *str, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    va_list again;
    va_copy(again, args);
    int length = vsnprintf(NULL, 0, format, args);
    va_end(args);
    if (length > 0) {
        reserve(str, (size_t)length);
        vsnprintf(str->text + str->length, (size_t)length + 1, format, again);
        str->length += (size_t)length;
    }
    va_end(again);
}

void cb_str_add_numbers(struct cb_str *str, const int *numbers, size_t count)
{
    for (size_t i = 0; i < count;) {
        size_t last = i;
        while (last + 1 < count && numbers[last + 1] == numbers[last] + 1) {
            last++;
        }
        last = last >= i + 2 ? last : i; /* two are no range */
        if (i > 0) {
            cb_str_add(str, last + 1 == count ? " and " : ", ");
        }
        cb_str_addf(str, "%d", numbers[i]);
        if (last > i) {
            cb_str_addf(str, " to %d", numbers[last]);
        }
        i = last + 1;
    }
}

const char *cb_str_text(const struct cb_str *str)
{
    return str->text ? str->text : "";
}

bool cb_str_same(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

int cb_str_place(const char *const *words, size_t count, const char *word)
{
    for (size_t i = 0; i < count; i++) {
        if (words[i] != NULL && strcmp(words[i], word) == 0) {
            return (int)i;
        }
    }
    return -1;
}

static const char *skip_digits(const char *text)
{
    while (*text >= '0' && *text <= '9') {
        text++;
    }
    return text;
}

bool cb_str_number(const char *text, double *value)
{
    const char *whole = text + (*text == '-' || *text == '+');
    const char *end = skip_digits(whole);
    bool any = end > whole;
    if (*end == '.') {
        const char *fraction = end + 1;
        end = skip_digits(fraction);
        if (end == fraction) {
            return false;
        }
        any = true;
    }
    if (!any || *end != '\0') {
        return false;
    }
    double number = strtod(text, NULL);
    if (!isfinite(number)) {
        return false;
    }
    *value = number;
    return true;
}

bool cb_str_integer(const char *text, long long *value)
{
    const char *digits = text + (*text == '-' || *text == '+');
    const char *end = skip_digits(digits);
    if (end == digits || *end != '\0') {
        return false;
    }
    errno = 0;
    long long number = strtoll(text, NULL, 10);
    if (errno != 0) {
        return false;
    }
    *value = number;
    return true;
}
