/* SPDX-License-Identifier: MIT */
/* The stage in hand as a form: its paint, mix, coats, areas, minutes and place, for all figures or
 * some, and how many figures there are. */
#ifndef CB_APP_EDIT_H
#define CB_APP_EDIT_H

#include "app/app.h"
#include "app/changes.h"
#include "app/form.h"
#include "core/recipe/revise.h"

struct cb_edit {
    struct cb_arena arena; /* as long as the form is open */
    struct cb_revise revise;
    const char *unit;             /* its id */
    const struct cb_recipe *from; /* its recipe, as it was when the form was opened */
    struct cb_typed fields[CB_REVISE_FIELDS];
    bool there[CB_REVISE_FIELDS], touched[CB_REVISE_FIELDS];
    int field;  /* where one types */
    bool fresh; /* the next sign takes the place of what stands there */
};

const struct cb_edit *cb_app_edit(const struct cb_app *app);
/* Of the stage and figure in brackets; by the count typed, the change is for so many figures. */
void cb_edit_open(struct cb_app *app);
bool cb_edit_key(struct cb_app *app, uint32_t key);
/* What stands in the fields, read; what nobody touched stands as it was, however long. */
void cb_edit_read(const struct cb_edit *edit, struct cb_revised *revised, struct cb_arena *arena);
/* Coats of the stage (from 1) still to do, and on how many figures, were it to have so many coats
 * more. Parked ones do not count. these: on these alone; NULL: on all that are there. come: who
 * would come and go; NULL: nobody. */
int cb_edit_coats_to_do(const struct cb_unit *unit, int stage, int more, const uint64_t these[2],
                        const struct cb_changes_figures *come, int *figures);
/* What a field is called, "name of 3", and what may stand in it. In the arena. */
const char *cb_edit_label(const struct cb_app *app, int field, struct cb_arena *arena);
const char *cb_edit_hint(const struct cb_app *app, int field, struct cb_arena *arena);
/* What holds while nothing stands in a field: the usual minutes; "": nothing. In the arena. */
const char *cb_edit_unsaid(const struct cb_app *app, int field, struct cb_arena *arena);
/* What is still to mix of the stage as the fields have it; NULL: nothing. In the arena. */
const char *cb_edit_left(const struct cb_app *app, struct cb_arena *arena);
void cb_edit_fini(struct cb_app *app);

#endif
