/* SPDX-License-Identifier: MIT */
/*
 * What the bench says back to a painter: what became dry meanwhile, what an answer has taught, and
 * the question to who paints before it rings and says nothing.
 */
#ifndef CB_APP_THANKS_H
#define CB_APP_THANKS_H

#include "app/app.h"

struct cb_thanks {
    bool asked, stood; /* the question: by now, and when the last key came */
    size_t ask_at;     /* coats put on before their ring until it is asked again */
};

/* How long a paint usually dries in the air as it is now, before and after an answer. */
struct cb_thanks_usual {
    const char *unit; /* NULL: none */
    struct cb_film_key film;
    double min;
};
/* Of the first film that these events answer for; before and after they are folded. */
struct cb_thanks_usual cb_thanks_usual(const struct cb_app *app,
                                       const struct cb_event *const *events, size_t count);
/* They are folded: thanks for an answer, or asks. */
void cb_thanks_stored(struct cb_app *app, const struct cb_event *const *events, size_t count,
                      const struct cb_thanks_usual *before);

void cb_thanks_key(struct cb_app *app);
/* The question stood and is answered by it: the films of those coats were dry. */
bool cb_thanks_act(struct cb_app *app, enum cb_action action);

/* "; dry now: 1 to 3": what of the unit in front was due between the press before and that one and
 * can still take a coat, the paint where it is another; "" for nothing. */
char *cb_thanks_dried(const struct cb_app *app, const char *press, struct cb_arena *arena);

#endif
