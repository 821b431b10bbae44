/* SPDX-License-Identifier: MIT */
/* Quick entry: one typed line becomes a stage of the unit in front, or begins a unit of one figure
 * that is named after the day. */
#ifndef CB_APP_ENTRY_H
#define CB_APP_ENTRY_H

#include "app/app.h"
#include "app/form.h"
#include "core/recipe/quick.h"

struct cb_entry {
    struct cb_typed line;
    const struct cb_quick *read; /* of the line, in the arena */
    size_t mark;                 /* of the words offered */
    bool begins;                 /* a unit: none is in front, or it was asked for */
    struct cb_arena arena;       /* until the line changes */
    /* The stage typed last, after which the next one comes, until a coat goes on; the unit NULL:
     * none. In the app's arena. */
    const char *unit, *stage;
    int64_t mark_ms;     /* the last coat's, as the bench had it then */
    const char *goes_to; /* a stage to go to once it is there; NULL: none */
};

const struct cb_entry *cb_app_entry(const struct cb_app *app);
void cb_entry_open(struct cb_app *app);
bool cb_entry_key(struct cb_app *app, uint32_t key);
/* Events have come: the stage may be there. */
void cb_entry_arrived(struct cb_app *app);
void cb_entry_fini(struct cb_app *app);

#endif
