/* SPDX-License-Identifier: MIT */
/* Where whoever sits here has gone: the view, the figure and stage, the count half typed. */
#ifndef CB_APP_NAV_H
#define CB_APP_NAV_H

#include "app/app.h"
#include "app/view.h"

#define CB_NAV_COUNT_MAX 999

struct cb_nav {
    struct cb_views views;
    const struct cb_view *view, *before;
    int at_figure, at_stage; /* gone to by hand; 0: free */
    int count;               /* typed; 0: none */
    int digits;              /* of it, with noughts before it */
    bool minus;              /* a minus before it */
    int64_t stray_ms;        /* of the last key of a line that nobody asked for; CB_TIME_NONE */
    int top;                 /* first row shown of a long list, or the row chosen */
    int stored_here;         /* presses stored while this view was shown, less those taken back */
};

const struct cb_nav *cb_app_nav(const struct cb_app *app);
/* The view that is seen: the chooser where there is no unit to show. */
const struct cb_view *cb_app_shown(const struct cb_app *app);
/* The view that lies under one that is drawn over it. */
const struct cb_view *cb_app_shown_under(const struct cb_app *app);

/* Shows the view of that name, or that an action opens; false: none. */
bool cb_nav_show(struct cb_app *app, const char *name);
bool cb_nav_open(struct cb_app *app, enum cb_action action);
/* The next of those that take turns. */
void cb_nav_turn(struct cb_app *app);
/* From a view that lay over another, to that one. */
void cb_nav_back(struct cb_app *app);
/* To the bench, where nothing is chosen by hand. */
void cb_nav_home(struct cb_app *app);
/* Another unit is in front, or none: what was chosen or typed for the one before is gone. */
void cb_nav_front_changed(struct cb_app *app);
void cb_nav_top(struct cb_app *app, int top);
/* 0: free. */
void cb_nav_go(struct cb_app *app, int figure, int stage);
/* A digit, a minus, or what mends them; false: none of these. */
bool cb_nav_count_key(struct cb_app *app, uint32_t key);
void cb_nav_clear_count(struct cb_app *app);
/* As if it had been typed. */
void cb_nav_set_count(struct cb_app *app, int count);
/* Is a number, or the minus before it, half typed? */
bool cb_nav_is_counting(const struct cb_app *app);
/* A number that is no count, such as the room's "19.5 62": what is typed does nothing until ENTER,
 * ESC or a while without a key. False: the key is none of it. */
bool cb_nav_stray_key(struct cb_app *app, uint32_t key);
/* Whoever acts by name types no line. */
/* What is typed now belongs to a line that is no row of keys. */
void cb_nav_begin_stray(struct cb_app *app);
void cb_nav_end_stray(struct cb_app *app);
/* That key can do nothing with the number typed: says so, and drops it. */
void cb_nav_refuse_count(struct cb_app *app, const char *key);
/* A press of this view was stored, or taken back. */
void cb_nav_stored(struct cb_app *app, int presses);
/* Whether an action that marks coats may do so in the view shown; why not is said. */
bool cb_nav_lets(struct cb_app *app, enum cb_action action);
/* Moves in the list of the view shown; false: it has none, or the key is not for that. */
bool cb_nav_list(struct cb_app *app, enum cb_action action);
bool cb_nav_scroll_key(struct cb_app *app, uint32_t key);

void cb_nav_init(struct cb_app *app, const struct cb_views *views);

#endif
