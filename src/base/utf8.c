/* SPDX-License-Identifier: MIT */
#include "base/utf8.h"

#include <stdlib.h>
#include <string.h>
#include <utf8proc.h>

#include "base/mem.h"
#include "base/str.h"

#define REPLACEMENT 0xFFFDU
#define ELLIPSIS    "\xE2\x80\xA6"

/* Moves *text past one character; false for a broken byte. Reads no further than the NUL. */
static bool decode(const char **text, uint32_t *cp)
{
    utf8proc_int32_t value = 0;
    utf8proc_ssize_t length = utf8proc_iterate((const utf8proc_uint8_t *)*text, -1, &value);
    if (length <= 0) {
        *text += 1;
        *cp = REPLACEMENT;
        return false;
    }
    *text += length;
    *cp = (uint32_t)value;
    return true;
}

bool cb_utf8_valid(const char *bytes, size_t length)
{
    size_t at = 0;
    while (at < length) {
        utf8proc_int32_t cp = 0;
        utf8proc_ssize_t step = utf8proc_iterate((const utf8proc_uint8_t *)bytes + at,
                                                 (utf8proc_ssize_t)(length - at), &cp);
        if (step <= 0) {
            return false;
        }
        at += (size_t)step;
    }
    return true;
}

uint32_t cb_utf8_next(const char **text)
{
    if (**text == '\0') {
        return 0;
    }
    uint32_t cp = 0;
    decode(text, &cp);
    return cp;
}

size_t cb_utf8_write(uint32_t cp, char out[5])
{
    utf8proc_uint8_t bytes[4] = {0};
    size_t length = 0;
    if (cp != 0) {
        if (cp > 0x10FFFFU || !utf8proc_codepoint_valid((utf8proc_int32_t)cp)) {
            cp = REPLACEMENT;
        }
        length = (size_t)utf8proc_encode_char((utf8proc_int32_t)cp, bytes);
    }
    memcpy(out, bytes, length);
    out[length] = '\0';
    return length;
}

int cb_utf8_width(uint32_t cp)
{
    return cp > 0x10FFFFU ? 1 : utf8proc_charwidth((utf8proc_int32_t)cp);
}

int cb_utf8_text_width(const char *text)
{
    int width = 0;
    for (uint32_t cp = cb_utf8_next(&text); cp != 0; cp = cb_utf8_next(&text)) {
        width += cb_utf8_width(cp);
    }
    return width;
}

/* Default_Ignorable_Code_Point that is not already of category Cf: Unicode 15,
 * DerivedCoreProperties.txt. */
static bool is_ignorable(uint32_t cp)
{
    static const struct {
        uint32_t from, to;
    } ranges[] = {
        {0x034F, 0x034F}, {0x115F, 0x1160}, {0x17B4, 0x17B5}, {0x180B, 0x180F},
        {0x3164, 0x3164}, {0xFE00, 0xFE0F}, {0xFFA0, 0xFFA0}, {0xE0100, 0xE01EF},
    };
    for (size_t i = 0; i < sizeof ranges / sizeof *ranges; i++) {
        if (cp >= ranges[i].from && cp <= ranges[i].to) {
            return true;
        }
    }
    return false;
}

bool cb_utf8_is_safe(uint32_t cp)
{
    if (cp > 0x10FFFFU || is_ignorable(cp)) {
        return false;
    }
    switch (utf8proc_category((utf8proc_int32_t)cp)) {
    case UTF8PROC_CATEGORY_CC:
    case UTF8PROC_CATEGORY_CF:
    case UTF8PROC_CATEGORY_CS:
    case UTF8PROC_CATEGORY_CO:
    case UTF8PROC_CATEGORY_CN: /* its width is not known */
    case UTF8PROC_CATEGORY_ZL:
    case UTF8PROC_CATEGORY_ZP:
        return false;
    case UTF8PROC_CATEGORY_LU:
    case UTF8PROC_CATEGORY_LL:
    case UTF8PROC_CATEGORY_LT:
    case UTF8PROC_CATEGORY_LM:
    case UTF8PROC_CATEGORY_LO:
    case UTF8PROC_CATEGORY_MN:
    case UTF8PROC_CATEGORY_MC:
    case UTF8PROC_CATEGORY_ME:
    case UTF8PROC_CATEGORY_ND:
    case UTF8PROC_CATEGORY_NL:
    case UTF8PROC_CATEGORY_NO:
    case UTF8PROC_CATEGORY_PC:
    case UTF8PROC_CATEGORY_PD:
    case UTF8PROC_CATEGORY_PS:
    case UTF8PROC_CATEGORY_PE:
    case UTF8PROC_CATEGORY_PI:
    case UTF8PROC_CATEGORY_PF:
    case UTF8PROC_CATEGORY_PO:
    case UTF8PROC_CATEGORY_SM:
    case UTF8PROC_CATEGORY_SC:
    case UTF8PROC_CATEGORY_SK:
    case UTF8PROC_CATEGORY_SO:
    case UTF8PROC_CATEGORY_ZS:
        return true;
    }
    return false;
}

char *cb_utf8_clean(struct cb_arena *arena, const char *text, int max_columns)
{
    struct cb_str clean = {0};
    size_t cut = 0; /* bytes that leave the last column free */
    int width = 0;
    while (*text) {
        uint32_t cp = 0;
        char bytes[5] = "?";
        size_t length = 1;
        int columns = 1;
        if (decode(&text, &cp) && cb_utf8_is_safe(cp)) {
            length = cb_utf8_write(cp, bytes);
            columns = cb_utf8_width(cp);
        }
        if (max_columns > 0 && width + columns > max_columns) {
            clean.length = cut;
            cb_str_add(&clean, ELLIPSIS);
            break;
        }
        cb_str_add_n(&clean, bytes, length);
        width += columns;
        if (width < max_columns) {
            cut = clean.length;
        }
    }
    char *copy = cb_arena_text(arena, cb_str_text(&clean));
    cb_str_fini(&clean);
    return copy;
}

char *cb_utf8_line(struct cb_arena *arena, const char *text)
{
    char *line = cb_utf8_clean(arena, text, 0);
    size_t length = 0;
    for (const char *at = line; *at != '\0'; at++) {
        if (*at != ' ' || (length > 0 && line[length - 1] != ' ')) {
            line[length++] = *at;
        }
    }
    length -= length > 0 && line[length - 1] == ' ';
    line[length] = '\0';
    return line;
}

/* What utf8proc_map can read: broken bytes become U+FFFD. */
static void mend(struct cb_str *out, const char *text)
{
    for (uint32_t cp = cb_utf8_next(&text); cp != 0; cp = cb_utf8_next(&text)) {
        char bytes[5];
        cb_str_add_n(out, bytes, cb_utf8_write(cp, bytes));
    }
}

static bool is_blank(uint32_t cp)
{
    return (cp >= 0x09U && cp <= 0x0DU) || cp == 0x85U || cp == 0x2028U || cp == 0x2029U ||
           utf8proc_category((utf8proc_int32_t)cp) == UTF8PROC_CATEGORY_ZS;
}

char *cb_utf8_fold(struct cb_arena *arena, const char *text)
{
    struct cb_str work = {0};
    mend(&work, text);
    /* NFKC_Casefold of Unicode, which also drops what cannot be seen. */
    const utf8proc_option_t options =
        UTF8PROC_STABLE | UTF8PROC_COMPOSE | UTF8PROC_COMPAT | UTF8PROC_CASEFOLD | UTF8PROC_IGNORE;
    utf8proc_uint8_t *mapped = NULL;
    utf8proc_ssize_t length = utf8proc_map((const utf8proc_uint8_t *)cb_str_text(&work),
                                           (utf8proc_ssize_t)work.length, &mapped, options);
    if (length < 0) {
        abort(); /* valid UTF-8 went in, so memory is out */
    }
    cb_str_clear(&work);
    bool gap = false;
    const char *at = (const char *)mapped;
    for (uint32_t cp = cb_utf8_next(&at); cp != 0; cp = cb_utf8_next(&at)) {
        if (is_blank(cp)) {
            gap = work.length > 0;
            continue;
        }
        if (gap) {
            cb_str_add(&work, " ");
            gap = false;
        }
        char bytes[5];
        cb_str_add_n(&work, bytes, cb_utf8_write(cp, bytes));
    }
    free(mapped);
    char *folded = cb_arena_text(arena, cb_str_text(&work));
    cb_str_fini(&work);
    return folded;
}

static int least(int a, int b)
{
    return a < b ? a : b;
}

/* Only the diagonal band within `limit` of the middle can hold an answer worth having, so the
 * cost is length * limit however long the texts are. */
int cb_utf8_distance(const char *a, const char *b, int limit)
{
    size_t a_length = strlen(a);
    size_t b_length = strlen(b);
    size_t apart = a_length > b_length ? a_length - b_length : b_length - a_length;
    if (limit < 0 || apart > (size_t)limit) {
        return limit + 1;
    }
    size_t band = (size_t)limit;
    int *row = cb_mem_new(b_length + 2, sizeof *row);
    for (size_t j = 0; j <= b_length; j++) {
        row[j] = j <= band ? (int)j : limit + 1;
    }
    for (size_t i = 1; i <= a_length; i++) {
        size_t from = i > band ? i - band : 1;
        size_t to = b_length < i + band ? b_length : i + band;
        int diagonal = row[from - 1];
        row[from - 1] = i <= band && from == 1 ? (int)i : limit + 1;
        int best = row[from - 1];
        for (size_t j = from; j <= to; j++) {
            int above = j < i + band ? row[j] : limit + 1;
            int change = diagonal + (a[i - 1] != b[j - 1]);
            diagonal = row[j];
            row[j] = least(least(change, above + 1), least(row[j - 1] + 1, limit + 1));
            best = least(best, row[j]);
        }
        if (best > limit) {
            free(row);
            return limit + 1;
        }
    }
    int distance = least(row[b_length], limit + 1);
    free(row);
    return distance;
}
