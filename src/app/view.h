/* SPDX-License-Identifier: MIT */
/*
 * A screen as the app knows it: a constant struct that says what it is for and how it is drawn.
 * The app is handed a table of them and knows none by name but the few it opens by itself.
 */
#ifndef CB_APP_VIEW_H
#define CB_APP_VIEW_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "app/action.h"

enum cb_view_flag {
    CB_VIEW_TURNS = 1U << 0,       /* the key for the next view goes round these */
    CB_VIEW_MARKS_COATS = 1U << 1, /* the bench is in sight: what marks coats acts here */
    CB_VIEW_TAKES_UNDO = 1U << 2,  /* undo and redo act here */
    CB_VIEW_UNDOES_OWN = 1U << 3,  /* undo acts here on what was done while it was shown */
    CB_VIEW_HAS_LIST = 1U << 9,    /* up and down move in it, as far as `last` */
    CB_VIEW_SCROLLS = 1U << 10,    /* PageUp, PageDown, Home and End do so too */
    CB_VIEW_OF_UNIT = 1U << 11,    /* left for the bench when another unit comes to the front */
    CB_VIEW_TOGGLES = 1U << 4,     /* its key once more leads back */
    CB_VIEW_NEEDS_UNIT = 1U << 5,  /* without a unit in front the chooser stands in its place */
    CB_VIEW_TYPES = 1U << 6,       /* keys are text */
    CB_VIEW_OVER = 1U << 7,        /* drawn over the one before; may write or is not opened */
    CB_VIEW_SAYS_LAST = 1U << 8,   /* the answer to a key is laid over its last row */
    CB_VIEW_READ_OUT = 1U << 12,   /* to be read without a key: `status --all` prints it */
};

/* What a view says of its keys, most needed first: "p pause"; of two: "UP DOWN stage". */
struct cb_view_key {
    enum cb_action action, other; /* other: CB_ACTION_NONE where it is one key */
    const char *word;             /* NULL: the action's own */
};

struct cb_app;
struct cb_grid;
struct cb_view {
    const char *name;               /* the word in play scripts */
    enum cb_action opens;           /* the action that shows it; CB_ACTION_NONE: none */
    unsigned flags;                 /* of enum cb_view_flag */
    const struct cb_view_key *keys; /* ended by CB_ACTION_NONE; NULL: none */
    void (*draw)(const struct cb_app *app, struct cb_grid *grid);
    /* The rest may be NULL. */
    void (*open)(struct cb_app *app);
    /* A key before it becomes an action; false: not for this view. With TYPES it gets them all. */
    bool (*key)(struct cb_app *app, uint32_t key);
    /* With HAS_LIST: the largest sensible first row, or row chosen (cb_nav.top). */
    int (*last)(const struct cb_app *app);
    /* An action of its own (arrows in a list); false: the app's default. */
    bool (*act)(struct cb_app *app, enum cb_action action);
};

/* The app begins with the first. */
struct cb_views {
    const struct cb_view *const *items;
    size_t count;
};

#endif
