/* SPDX-License-Identifier: MIT */
/* What is typed: the form of a new unit, and the lines for air, note and chore. */
#ifndef CB_APP_FORM_H
#define CB_APP_FORM_H

#include "app/app.h"
#include "app/session.h"

enum cb_form_field {
    CB_FORM_FIGURES,
    CB_FORM_DONE,  /* stages that were done before */
    CB_FORM_FIRST, /* the first-opening question */
    CB_FORM_FIELDS,
};

struct cb_typed {
    char text[CB_APP_TEXT_MAX];
    char error[CB_APP_TEXT_MAX];
    char asked[CB_APP_TEXT_MAX]; /* what the line asked about: the same again is a yes */
};

struct cb_form {
    struct cb_typed fields[CB_FORM_FIELDS];
    int field;
    unsigned asked; /* 1 << field for what it asks */
    struct cb_arena arena;
    const struct cb_recipe *recipe; /* of the unit to be begun, in the arena; NULL: about_begun */
    bool about_begun;               /* the unit in front is begun already */
    struct cb_typed line;
};

const struct cb_form *cb_app_form(const struct cb_app *app);
bool cb_form_asks(const struct cb_app *app, int field);
/* Asks for these fields (1 << each), and what every first opening asks; nothing, where that is
 * none. */
void cb_form_open(struct cb_app *app, unsigned asked, bool about_begun);
bool cb_form_key(struct cb_app *app, uint32_t key);
/* A key within a line that is typed. CB_KEY_PASTE: of a pasted text the first line alone came. */
void cb_form_edit(struct cb_typed *field, uint32_t key);
void cb_form_fini(struct cb_app *app);

void cb_form_open_line(struct cb_app *app);
/* ENTER has it written; write leaves in its error why not. */
bool cb_form_line_key(struct cb_app *app, uint32_t key,
                      bool (*write)(struct cb_app *app, struct cb_typed *line));
bool cb_form_climate_key(struct cb_app *app, uint32_t key);
bool cb_form_note_key(struct cb_app *app, uint32_t key);
bool cb_form_chore_key(struct cb_app *app, uint32_t key);
/* The place of that name that a stage of an open unit has, any for NULL; NULL: none. */
const char *cb_form_place(const struct cb_app *app, const char *name);

#endif
