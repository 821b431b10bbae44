/* SPDX-License-Identifier: MIT */
/* A recipe file was edited: what differs is shown before it is taken. */
#ifndef CB_APP_CHANGES_H
#define CB_APP_CHANGES_H

#include "app/app.h"
#include "core/recipe/recipe_diff.h"

struct cb_changes {
    struct cb_arena arena;
    const struct cb_recipe *next; /* as the file has it now, in the arena; NULL: none was read */
    const char *file;             /* its name, in the arena */
};

const struct cb_changes *cb_app_changes(const struct cb_app *app);

/* Shows what differs between the recipe of the unit in front and that one, which has a text. */
void cb_changes_open(struct cb_app *app, const struct cb_app_recipe *recipe);
/* What differs as things stand now, and what that means for coats and figures. In the arena. */
struct cb_recipe_diff cb_changes_lines(const struct cb_app *app, struct cb_arena *arena);
/* ENTER takes it, ESC leaves it. */
bool cb_changes_key(struct cb_app *app, uint32_t key);
void cb_changes_fini(struct cb_app *app);

/* What it takes for a unit to have that many figures: the next numbers join, those beyond are
 * parked, and those up to it that were left out by the number before (0: not known) come back. */
struct cb_changes_figures {
    uint64_t join[2], back[2], park[2]; /* bit figure-1 */
};
struct cb_changes_figures cb_changes_figures(const struct cb_unit *unit, int figures, int before);
/* "11 and 12 join"; "" where nobody does. In the arena. */
char *cb_changes_figures_text(const struct cb_changes_figures *figures, struct cb_arena *arena);
/* An event each, CB_FIGURES_MAX at most, in the frame of the app; their number. */
size_t cb_changes_figures_events(struct cb_app *app, const struct cb_unit *unit,
                                 const struct cb_changes_figures *figures,
                                 const struct cb_event **events);

#endif
