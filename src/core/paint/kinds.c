/* SPDX-License-Identifier: MIT */
#include "core/paint/kinds.h"

#include <ctype.h>
#include <string.h>

#include "base/brief.h"
#include "base/str.h"

static const char *const technique_names[] = {
#define X(id, word) word,
    CB_TECHNIQUES(X)
#undef X
};
_Static_assert(sizeof technique_names / sizeof *technique_names == CB_TECHNIQUE_COUNT,
               "a word for each technique");

static const char *const by_names[] = {
#define X(id, word) word,
    CB_BYS(X)
#undef X
};
_Static_assert(sizeof by_names / sizeof *by_names == CB_BY_COUNT, "a word for each tool");

const char *cb_technique_name(enum cb_technique technique)
{
    return technique_names[technique];
}

bool cb_technique_from_name(const char *name, enum cb_technique *technique)
{
    const int found = cb_str_place(technique_names, CB_TECHNIQUE_COUNT, name);
    if (found >= 0) {
        *technique = (enum cb_technique)found;
    }
    return found >= 0;
}

bool cb_technique_needs_paint(enum cb_technique technique)
{
    return technique <= CB_TECHNIQUE_VARNISH;
}

bool cb_technique_may_have_paint(enum cb_technique technique)
{
    return technique <= CB_TECHNIQUE_TRANSFER;
}

const char *cb_by_name(enum cb_by by)
{
    return by_names[by];
}

bool cb_by_from_name(const char *name, enum cb_by *by)
{
    const int found = cb_str_place(by_names, CB_BY_COUNT, name);
    if (found >= 0) {
        *by = (enum cb_by)found;
    }
    return found >= 0;
}

bool cb_kinds_find(const struct cb_kinds *kinds, const char *name, size_t *kind)
{
    for (size_t i = 0; i < kinds->kind_count; i++) {
        if (strcmp(kinds->kinds[i].name, name) == 0) {
            *kind = i;
            return true;
        }
    }
    return false;
}

const struct cb_prior *cb_kinds_prior(const struct cb_kinds *kinds, size_t kind,
                                      enum cb_technique technique, enum cb_by by)
{
    const struct cb_prior *any = NULL;
    const struct cb_prior *first = NULL;
    for (size_t i = 0; i < kinds->prior_count; i++) {
        const struct cb_prior *row = &kinds->priors[i];
        if (row->kind != kind || row->technique != technique) {
            continue;
        }
        if (row->by == (int)by) {
            return row;
        }
        if (row->by < 0 && any == NULL) {
            any = row;
        }
        if (first == NULL) {
            first = row;
        }
    }
    return any != NULL ? any : first;
}

/* "2", "1.5", "1/2", or nothing for 1; moves *text past it. */
static bool read_part(const char **text, double *value)
{
    char digits[16];
    size_t n = 0;
    while (**text != '\0' && strchr("0123456789.", **text) != NULL && n + 1 < sizeof digits) {
        digits[n++] = *(*text)++;
    }
    digits[n] = '\0';
    double over = 1;
    *value = 1;
    if (n > 0 && !cb_str_number(digits, value)) {
        return false;
    }
    if (n > 0 && **text == '/' && isdigit((unsigned char)(*text)[1])) {
        over = (*text)[1] - '0'; /* 1/2, 2/3: one digit is enough for drops */
        *text += 2;
    }
    *value /= over;
    return *value > 0 && *value <= 1000;
}

static void skip_blanks(const char **text)
{
    while (isspace((unsigned char)**text)) {
        (*text)++;
    }
}

bool cb_kinds_parse_parts(const char *text, struct cb_parts *parts)
{
    static const char *const words[] = {"paint", "medium", "retarder", "water"};
    struct cb_parts read = {0, 0, 0, 0};
    double *const sums[] = {&read.paint, &read.medium, &read.retarder, &read.water};
    if (strcmp(text, "neat") == 0) {
        *parts = (struct cb_parts){.paint = 1};
        return true;
    }
    for (;;) {
        double value;
        skip_blanks(&text);
        if (!read_part(&text, &value)) {
            return false;
        }
        skip_blanks(&text);
        char word[12];
        size_t n = 0;
        while (islower((unsigned char)*text) && n + 1 < sizeof word) {
            word[n++] = *text++;
        }
        word[n] = '\0';
        int found = cb_str_place(words, 4, word);
        if (found < 0) {
            return false;
        }
        *sums[found] += value;
        skip_blanks(&text);
        if (*text == '\0') {
            *parts = read;
            return true;
        }
        if (*text++ != '+') {
            return false;
        }
    }
}

char *cb_kinds_parts_text(const struct cb_parts *parts, struct cb_arena *arena)
{
    const struct {
        const char *word;
        double parts;
    } all[] = {{"paint", parts->paint},
               {"medium", parts->medium},
               {"retarder", parts->retarder},
               {"water", parts->water}};
    if (parts->paint > 0 && parts->medium + parts->retarder + parts->water <= 0) {
        return cb_arena_text(arena, "neat");
    }
    char *text = cb_arena_text(arena, "");
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        if (all[i].parts > 0) {
            char parts_text[CB_BRIEF_BYTES];
            text = cb_arena_printf(arena, "%s%s%s %s", text, text[0] != '\0' ? " + " : "",
                                   cb_brief(all[i].parts, parts_text), all[i].word);
        }
    }
    return text;
}
