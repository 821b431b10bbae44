/* SPDX-License-Identifier: MIT */
/* What is told of a pot by hand: a new bottle, that what was seen holds no more, that two are one.
 */
#ifndef CB_APP_POT_H
#define CB_APP_POT_H

#include "app/app.h"
#include "core/bench/pots.h"

/* The pot that another is to join, until that one is named. */
struct cb_pot_join {
    const char *pot, *paint, *kind; /* in the app's arena; pot NULL: none */
};
const struct cb_pot_join *cb_app_join(const struct cb_app *app);

/* Each one press, said with the key that takes it back; nothing where this bench may not write. */
void cb_pot_forget(struct cb_app *app, const struct cb_pot_line *line);
void cb_pot_new_bottle(struct cb_app *app, const struct cb_pot_line *line);
/* The first pot of two, or the other: then they are one, under its name, and it is true. */
bool cb_pot_join(struct cb_app *app, const struct cb_pot_line *line);
void cb_pot_join_no_more(struct cb_app *app);
/* What the next of these would do, while the first one waits; NULL: none does. In the arena. */
char *cb_pot_join_line(const struct cb_app *app, const struct cb_pot_line *line,
                       struct cb_arena *arena);

#endif
