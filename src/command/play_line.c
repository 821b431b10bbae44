/* SPDX-License-Identifier: MIT */
#include "command/play_line.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/key.h"
#include "base/str.h"
#include "base/time.h"
#include "core/recipe/recipe.h"

bool cb_play_size_read(const char *text, int *columns, int *rows)
{
    char *end;
    long wide = strtol(text, &end, 10);
    if (end == text || (*end != 'x' && *end != 'X')) {
        return false;
    }
    const char *second = end + 1;
    long high = strtol(second, &end, 10);
    if (end == second || *end != '\0' || wide < 1 || high < 1 || wide > CB_PLAY_SIDE_MAX ||
        high > CB_PLAY_SIDE_MAX) {
        return false;
    }
    *columns = (int)wide;
    *rows = (int)high;
    return true;
}

/* "+12m", "1h30m", "90 s", "12 min": a sign only where it may be one. */
static bool read_span(const char *text, bool sign, int64_t *ms)
{
    char spaced[64];
    size_t n = 0;
    bool minus = sign && text[0] == '-';
    text += text[0] == '+' || minus;
    /* One letter is the usual short form: h and s are units of recipes too, m is theirs. */
    for (; *text && n + 4 < sizeof spaced; text++) {
        spaced[n++] = *text;
        bool alone = text[1] == '\0' || (text[1] >= '0' && text[1] <= '9') || text[1] == ' ';
        if (*text == 'm' && alone) {
            spaced[n++] = 'i';
            spaced[n++] = 'n';
        }
    }
    spaced[n] = '\0';
    double total = 0, part;
    char *at = spaced;
    if (!*at || *text) {
        return false;
    }
    while (*at) {
        char piece[64];
        size_t length = strspn(at, "0123456789. ");
        length += strcspn(at + length, "0123456789. ");
        snprintf(piece, sizeof piece, "%.*s", (int)length, at);
        if (!cb_recipe_minutes(piece, &part)) {
            return false;
        }
        total += part;
        at += length;
    }
    if (!(total <= CB_PLAY_SPAN_MAX * 60)) {
        return false;
    }
    *ms = (int64_t)(total * (double)CB_MS_PER_MIN + 0.5) * (minus ? -1 : 1);
    return true;
}

/* Cuts " -n 10" off the end of what is given; *figures stays where it is not there. */
static enum cb_status take_figures(char *given, const char *option, int *figures,
                                   struct cb_err *err)
{
    char *at = strstr(given, option);
    if (!at) {
        return CB_OK;
    }
    const char *value = at + strlen(option);
    long long number;
    if (!cb_str_integer(value, &number) || number < 1 || number > CB_FIGURES_MAX) {
        return cb_err_set(err, CB_FAILED, "%s%s: figures are a whole number, 1 to %d", option + 1,
                          value, CB_FIGURES_MAX);
    }
    *figures = (int)number;
    while (at > given && at[-1] == ' ') {
        at--;
    }
    *at = '\0';
    return CB_OK;
}

static enum cb_status read_rest(char *rest, struct cb_play_line *out, struct cb_err *err)
{
    switch (out->step) {
    case CB_PLAY_BEGIN:
        return take_figures(rest, " --first ", &out->first, err) == CB_OK
                   ? take_figures(rest, " -n ", &out->figures, err)
                   : CB_FAILED;
    case CB_PLAY_KEY:
        return cb_key_from_name(rest, &out->key)
                   ? CB_OK
                   : cb_err_set(err, CB_FAILED,
                                "no such key: %s; SPACE, ENTER, F1 or one character", rest);
    case CB_PLAY_DO:
        return cb_action_from_name(rest, &out->action)
                   ? CB_OK
                   : cb_err_set(err, CB_FAILED, "no such action: %s; the help view lists them",
                                rest);
    case CB_PLAY_AT:
        out->is_moment = rest[0] != '+' && cb_time_parse(rest, &out->ms);
        return out->is_moment || (rest[0] == '+' && read_span(rest, false, &out->ms))
                   ? CB_OK
                   : cb_err_set(err, CB_FAILED, "no span of time: %s; +12m, +1h30m, +40s", rest);
    case CB_PLAY_WALL:
        return read_span(rest, true, &out->ms)
                   ? CB_OK
                   : cb_err_set(err, CB_FAILED, "no span of time: %s; +1h or -20m", rest);
    case CB_PLAY_SLEEP:
        return read_span(rest, false, &out->ms)
                   ? CB_OK
                   : cb_err_set(err, CB_FAILED, "no span of time: %s; 1h or 20m", rest);
    case CB_PLAY_SIZE:
        return cb_play_size_read(rest, &out->columns, &out->rows)
                   ? CB_OK
                   : cb_err_set(err, CB_FAILED, "no size: %s; columns x rows, as 80x24", rest);
    case CB_PLAY_BUTTON:
        out->dry = strcmp(rest, "dry") == 0;
        return out->dry || strcmp(rest, "wet") == 0
                   ? CB_OK
                   : cb_err_set(err, CB_FAILED, "no such button: %s; dry or wet", rest);
    case CB_PLAY_OPEN:
    case CB_PLAY_RECIPE:
    case CB_PLAY_BENCH:
    case CB_PLAY_TYPE:
    case CB_PLAY_REBOOT:
    case CB_PLAY_GUIDE:
    case CB_PLAY_VIEW:
    case CB_PLAY_DUMP:
    case CB_PLAY_SVG:
    case CB_PLAY_EXPECT:
    case CB_PLAY_REFUSE:
    case CB_PLAY_EXPORT:
    case CB_PLAY_SENSOR:
    case CB_PLAY_NOTHING:
        return CB_OK;
    }
    return CB_OK;
}

enum cb_status cb_play_line_read(char *line, struct cb_play_line *out, struct cb_err *err)
{
    enum needs { NONE = 0, B = 1, R = 2, BR = 3 };
    static const struct {
        const char *word;
        enum needs needs;
    } steps[] = {
#define X(id, word, needs) [CB_PLAY_##id] = {word, needs},
        CB_PLAY_STEPS(X)
#undef X
    };
    *out = (struct cb_play_line){.step = CB_PLAY_NOTHING, .rest = ""};
    size_t length = strlen(line);
    while (length > 0 && strchr(" \r\t", line[length - 1]) != NULL) {
        line[--length] = '\0';
    }
    line += strspn(line, " \t");
    if (*line == '\0' || *line == '#') {
        return CB_OK;
    }
    size_t word = strcspn(line, " \t");
    char *rest = line + word + strspn(line + word, " \t");
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        if (strlen(steps[i].word) == word && strncmp(steps[i].word, line, word) == 0) {
            if ((steps[i].needs & R) && *rest == '\0') {
                return cb_err_set(err, CB_FAILED, "%s of what? a word must follow", steps[i].word);
            }
            out->step = (enum cb_play_step)i;
            out->needs_bench = (steps[i].needs & B) != 0;
            out->rest = rest;
            return read_rest(rest, out, err);
        }
    }
    return cb_err_set(err, CB_FAILED, "no such step: %.*s; begin, key, at, dump, expect, ...",
                      (int)(word > 60 ? 60 : word), line);
}
