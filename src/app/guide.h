/* SPDX-License-Identifier: MIT */
/*
 * The guided first minute of the demo: a few lines, one at a time, each naming what to look at and
 * which key is next. A line goes when its key was pressed, or when it has been read. It stands only
 * where nothing else is to be said, and takes no key but one that does nothing else.
 */
#ifndef CB_APP_GUIDE_H
#define CB_APP_GUIDE_H

#include "app/app.h"

#define CB_GUIDE_OTHER_MS 5000 /* to read what stands in its place; own judgement */

struct cb_guide {
    double speed;     /* how fast the bench's time goes; 0: there is no guide, or no more */
    size_t step, end; /* of the table in guide.c; where it is over */
    int64_t since_ms; /* wall; when its line came */
    bool hidden;      /* whatever stands in its place */
    bool covered;     /* something else is said in its place, since covered_ms, wall */
    int64_t covered_ms;
};

/* What to say now; NULL: nothing. In the arena. */
char *cb_guide_line(const struct cb_app *app, struct cb_arena *arena);
/* The key that ends it for good; false: it is not that. */
bool cb_guide_key(struct cb_app *app, uint32_t key);
/* Whoever sits here has done that, or, NONE, may have gone to another view. */
void cb_guide_did(struct cb_app *app, enum cb_action action);
/* Time has gone on. */
void cb_guide_read(struct cb_app *app);
/* The answer to a key, or a ring in the terminal, would stand until the next key: unless it asks
 * something it gives way to the line once it was read. */
bool cb_guide_outlasts(const struct cb_app *app);
/* When the line goes by itself, wall; CB_TIME_NONE: there is none. */
int64_t cb_guide_next(const struct cb_app *app);

#endif
