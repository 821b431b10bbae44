/* SPDX-License-Identifier: MIT */
/*
 * Usage: scan text|ascii|markup|csv FILE
 * Whether what was written may be seen by a terminal, a browser, a spreadsheet. The first fault on
 * standard error, and 1. Strangers' texts that are looked for in markup have the word "evil" in
 * them.
 */
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"

static int fault(const char *file, const char *text, const char *at, const char *what)
{
    int line = 1;
    for (const char *c = text; c < at; c++) {
        line += *c == '\n';
    }
    fprintf(stderr, "%s:%d: %s\n", file, line, what);
    return 1;
}

static int scan_text(const char *file, const char *text, size_t length, const char *kind)
{
    const bool ascii = strcmp(kind, "ascii") == 0;
    const bool table = strcmp(kind, "csv") == 0; /* its rows end with CR LF, RFC 4180 */
    if (strlen(text) != length) {
        return fault(file, text, text + strlen(text), "a NUL");
    }
    if (!cb_utf8_valid(text, length)) {
        return fault(file, text, text, "no UTF-8");
    }
    for (const char *at = text; *at != '\0';) {
        const char *here = at;
        const uint32_t cp = cb_utf8_next(&at);
        if (cp != '\n' && !cb_utf8_is_safe(cp) && !(table && cp == '\r' && *at == '\n')) {
            return fault(file, text, here, "a character that no terminal may see");
        }
        if (ascii && cp > 126) {
            return fault(file, text, here, "beyond ASCII");
        }
    }
    return 0;
}

/* Of a stranger's text nothing may open a tag, stand in one outside quotes, or end a quote. */
static int scan_markup(const char *file, const char *text)
{
    char quote = '\0';
    bool tag = false;
    for (const char *at = text; *at != '\0'; at++) {
        if (strncmp(at, "&evil", 5) == 0) {
            return fault(file, text, at, "an ampersand as it came");
        }
        if (tag && quote == '\0' && strncmp(at, "evil", 4) == 0) {
            return fault(file, text, at, "markup as it came");
        }
        if (tag && quote != '\0' && *at == '<') {
            return fault(file, text, at, "a tag within a quote");
        }
        if (!tag && *at == '<') {
            tag = true;
        } else if (tag && quote == '\0' && *at == '>') {
            tag = false;
        } else if (tag && (*at == '"' || *at == '\'') && (quote == '\0' || quote == *at)) {
            quote = quote == '\0' ? *at : '\0';
        }
    }
    return tag ? fault(file, text, text + strlen(text), "a tag without an end") : 0;
}

/* OWASP, "CSV Injection": = + - @, tab and carriage return begin a formula; a number may have its
 * sign. */
static bool is_formula(const char *cell)
{
    char *end;
    if (*cell == '-' || *cell == '+') {
        (void)strtod(cell, &end);
        return *end != '\0' || end == cell;
    }
    return *cell == '=' || *cell == '@' || *cell == '\t' || *cell == '\r';
}

static int scan_csv(const char *file, const char *text)
{
    char *cell = malloc(strlen(text) + 1);
    int faults = cell == NULL;
    for (const char *at = text; !faults && *at != '\0';) {
        const char *from = at;
        size_t length = 0;
        bool quoted = *at == '"';
        for (at += quoted; *at != '\0' && (quoted || (*at != ',' && *at != '\r')); at++) {
            if (quoted && *at == '"' && *++at != '"') {
                quoted = false;
                at--;
                continue;
            }
            cell[length++] = *at;
        }
        cell[length] = '\0';
        char *first = cell + strspn(cell, " ");
        if (quoted) {
            faults = fault(file, text, from, "a quote without an end");
        } else if (is_formula(first)) {
            faults = fault(file, text, from, "a formula");
        }
        at += *at == ',' ? 1 : strspn(at, "\r\n");
    }
    free(cell);
    return faults;
}

int main(int argc, char **argv)
{
    FILE *file = argc == 3 ? fopen(argv[2], "rb") : NULL;
    if (file == NULL) {
        fprintf(stderr, "usage: scan text|ascii|markup|csv FILE\n");
        return 2;
    }
    size_t length = 0, room = 1 << 20;
    char *text = malloc(room);
    while (text != NULL) {
        length += fread(text + length, 1, room - 1 - length, file);
        if (length < room - 1) {
            break;
        }
        text = realloc(text, room *= 2);
    }
    fclose(file);
    if (text == NULL) {
        return 2;
    }
    text[length] = '\0';
    int faults = scan_text(argv[2], text, length, argv[1]);
    if (!faults && strcmp(argv[1], "markup") == 0) {
        faults = scan_markup(argv[2], text);
    } else if (!faults && strcmp(argv[1], "csv") == 0) {
        faults = scan_csv(argv[2], text);
    }
    free(text);
    return faults;
}
