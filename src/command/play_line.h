/* SPDX-License-Identifier: MIT */
/* One line of a script of `play`, read and not yet run: no file, no clock, no bench. */
#ifndef CB_COMMAND_PLAY_LINE_H
#define CB_COMMAND_PLAY_LINE_H

#include <stdbool.h>
#include <stdint.h>

#include "app/action.h"
#include "base/err.h"

#define CB_PLAY_SIDE_MAX 1000 /* columns or rows of a screen */
#define CB_PLAY_SPAN_MAX 1e6  /* hours of one step; own judgement: more than a century */

/* Step, word, what else it needs: B a bench that is open, R something after the word. */
#define CB_PLAY_STEPS(X)                                                                           \
    X(BEGIN, "begin", R)                                                                           \
    X(OPEN, "open", R)                                                                             \
    X(RECIPE, "recipe", BR)                                                                        \
    X(BENCH, "bench", NONE)                                                                        \
    X(KEY, "key", BR)                                                                              \
    X(TYPE, "type", BR)                                                                            \
    X(DO, "do", BR)                                                                                \
    X(AT, "at", R)                                                                                 \
    X(WALL, "wall", R)                                                                             \
    X(SLEEP, "sleep", BR)                                                                          \
    X(REBOOT, "reboot", B)                                                                         \
    X(SIZE, "size", R)                                                                             \
    X(VIEW, "view", BR)                                                                            \
    X(DUMP, "dump", BR)                                                                            \
    X(SVG, "svg", BR)                                                                              \
    X(EXPECT, "expect", BR)                                                                        \
    X(REFUSE, "refuse", BR)                                                                        \
    X(EXPORT, "export", BR)                                                                        \
    X(BUTTON, "button", BR)                                                                        \
    X(SENSOR, "sensor", BR)                                                                        \
    X(GUIDE, "guide", B)
enum cb_play_step {
#define X(id, word, needs) CB_PLAY_##id,
    CB_PLAY_STEPS(X)
#undef X
        CB_PLAY_NOTHING /* blank, or a remark */
};

struct cb_play_line {
    enum cb_play_step step;
    bool needs_bench;
    const char *rest;      /* what follows the word, within the line; BEGIN: the file alone */
    int figures, first;    /* BEGIN; 0: not said */
    uint32_t key;          /* KEY */
    enum cb_action action; /* DO */
    int columns, rows;     /* SIZE: 1 to CB_PLAY_SIDE_MAX */
    bool is_moment;        /* AT: ms is a wall clock's, not a span */
    int64_t ms;            /* AT, WALL, SLEEP; below zero in WALL alone, and in a moment */
    bool dry;              /* BUTTON */
};

/* Writes into the line, which has no newline. CB_FAILED, and what is wrong with it. */
enum cb_status cb_play_line_read(char *line, struct cb_play_line *out, struct cb_err *err);

/* "80x24" */
bool cb_play_size_read(const char *text, int *columns, int *rows);

#endif
