/* SPDX-License-Identifier: MIT */
/* What is typed: the form of a new unit, and the lines for air, note and chore. */
#ifndef CB_APP_FORM_H
#define CB_APP_FORM_H

#include "app/app.h"
#include "app/session.h"

#define CB_APP_STALE_MS (90 * CB_MS_PER_MIN) /* a climate older than that is asked about */

enum cb_form_field {
    CB_FORM_FIGURES,
    CB_FORM_CLIMATE,
    CB_FORM_FIRST, /* the first-opening question */
    CB_FORM_FIELDS,
};

struct cb_typed {
    char text[CB_APP_TEXT_MAX];
    char error[CB_APP_TEXT_MAX];
};

struct cb_form {
    struct cb_typed fields[CB_FORM_FIELDS];
    int field;
    unsigned asked;   /* 1 << field for what it asks */
    bool about_begun; /* the unit in front is begun already */
    struct cb_typed line;
};

const struct cb_form *cb_app_form(const struct cb_app *app);
bool cb_form_asks(const struct cb_app *app, int field);
/* Asks for these fields (1 << each), and what every first opening asks; nothing, where that is
 * none. */
void cb_form_open(struct cb_app *app, unsigned asked, bool about_begun);
/* Has somebody told the air of the bench lately, by --temp and --rh or at another bench? */
bool cb_form_knows_climate(const struct cb_app *app);
bool cb_form_key(struct cb_app *app, uint32_t key);

void cb_form_open_line(struct cb_app *app);
bool cb_form_climate_key(struct cb_app *app, uint32_t key);
bool cb_form_note_key(struct cb_app *app, uint32_t key);
bool cb_form_chore_key(struct cb_app *app, uint32_t key);
/* The place of that name that a stage of an open unit has, any for NULL; NULL: none. */
const char *cb_form_place(const struct cb_app *app, const char *name);

#endif
