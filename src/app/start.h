/* SPDX-License-Identifier: MIT */
/* Which unit is to be painted, and what others begin while the bench is open. */
#ifndef CB_APP_START_H
#define CB_APP_START_H

#include "app/app.h"
#include "app/session.h"
#include "base/vec.h"

/* Where the recipe of a unit begun in this run lies: the log has its text alone. */
struct cb_source {
    char *unit, *path; /* in the arena of the app */
    bool found;        /* by the recipe's name, at a reload */
};

struct cb_start {
    const char *begun, *begun_path; /* the unit that `begin` wrote: of it is asked, once the log is
                                       read */
    uint64_t seed; /* makes the ids of units begun here unlike those of other runs */
    const struct cb_app_recipe *recipes;
    size_t recipe_count;
    bool recipes_known, reloading;
    int choice;
    CB_VEC(struct cb_source) sources;
};

const struct cb_start *cb_app_start(const struct cb_app *app);

/* The chooser: a row for each open unit, one for quick entry, one for each recipe, then one for
 * each unit put aside. */
int cb_start_rows(const struct cb_app *app);
void cb_start_open_chooser(struct cb_app *app);
bool cb_start_choose_key(struct cb_app *app, uint32_t key);
/* Puts the unit chosen aside, or brings it back. */
bool cb_start_choose_act(struct cb_app *app, enum cb_action action);
/* The recipe chosen; NULL: a unit is, or quick entry. */
const struct cb_app_recipe *cb_start_chosen(const struct cb_app *app);
/* The unit chosen; NULL: a recipe is, or quick entry. */
const struct cb_unit *cb_start_chosen_unit(const struct cb_app *app);
/* What the row means: a list that grows must not change what ENTER does. */
struct cb_start_choice {
    const char *unit; /* its id; NULL: a recipe */
    int recipe;       /* -1: quick entry */
};
struct cb_start_choice cb_start_hold_choice(const struct cb_app *app);
void cb_start_find_choice(struct cb_app *app, const struct cb_start_choice *held);

/* Of a unit to be begun, in the frame. */
const char *cb_start_new_id(struct cb_app *app);
int cb_start_default_figures(const struct cb_app *app);
/* The file of the unit's recipe, by which it was begun or which a reload has found; NULL: not known
 * in this run. */
const char *cb_start_source(const struct cb_app *app, const char *unit);
void cb_start_remember(struct cb_app *app, const char *unit, const char *path);

/* The unit `begun` was written just now, from begun_path. */
void cb_start_ask_begun(struct cb_app *app);
void cb_start_reload(struct cb_app *app);
void cb_start_recipes(struct cb_app *app, const struct cb_app_recipe *recipes, size_t count);
/* A line on the units that were begun and did not come to the front. */
void cb_start_tell_begun(struct cb_app *app, const struct cb_event *const *events, size_t count);

void cb_start_init(struct cb_app *app, const struct cb_app_setup *setup);
void cb_start_fini(struct cb_app *app);

#endif
