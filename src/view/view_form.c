/* SPDX-License-Identifier: MIT */
/* The form: what a new unit needs to know before its first coat. */
#include <stdio.h>

#include "app/form.h"
#include "app/start.h"
#include "app/words.h"
#include "view/put.h"

/* "nothing / Undercoat / Oilskins", as much of it as fits. */
static void list_stages(const struct cb_recipe *recipe, char *out, size_t size)
{
    int used = snprintf(out, size, "ENTER: nothing; RIGHT:");
    for (size_t i = 0; recipe && i < recipe->stage_count && used < (int)size; i++) {
        used += snprintf(out + used, size - (size_t)used, "%s %s", i > 0 ? " /" : "",
                         recipe->stages[i].name);
    }
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    const struct cb_app_recipe *recipe = cb_start_chosen(app);
    char hints[CB_FORM_FIELDS][160];
    snprintf(hints[0], sizeof hints[0], "ENTER: %d", cb_start_default_figures(app));
    list_stages(cb_app_form(app)->recipe, hints[1], sizeof hints[1]);
    snprintf(hints[2], sizeof hints[2], "3, 5, 10, 15, 20, 30; ENTER: not sure");
    static const char *const labels[] = {
        "How many figures?",
        "Already done?",
        "Minutes you leave a thin coat before the next?",
    };
    const struct cb_unit *unit = cb_app_unit(app);
    const char *name = cb_app_form(app)->about_begun ? (unit ? unit->name : "")
                       : recipe && recipe->name      ? recipe->name
                                                     : "";
    int used = cb_grid_put(grid, 0, 1, 0, CB_ROLE_TITLE,
                           cb_app_form(app)->about_begun ? "Begun:" : "Begin");
    cb_grid_cut(grid, 0, 2 + used, 0, CB_ROLE_PAINT, name);
    int step = grid->rows >= 13 ? 4 : 2, row = grid->rows >= 13 ? 2 : 1;
    for (int i = 0; i < CB_FORM_FIELDS; i++) {
        if (!cb_form_asks(app, i)) {
            continue;
        }
        bool active = cb_app_form(app)->field == i;
        if (active) {
            cb_grid_put(grid, row + 1, 1, 0, CB_ROLE_KEY, "\u25B8");
        }
        cb_grid_put(grid, row, 1, 0, active ? CB_ROLE_STRONG : CB_ROLE_DIM, labels[i]);
        cb_put_field(grid, row + 1, 3, cb_app_form(app)->fields[i].text, active);
        const char *text = cb_app_form(app)->fields[i].error;
        int at = step > 2 ? row + 2 : row + 1;
        cb_grid_cut(grid, at, step > 2 ? 3 : 18, 0, text[0] ? CB_ROLE_WARN : CB_ROLE_DIM,
                    text[0] ? text : hints[i]);
        row += step;
    }
    cb_grid_put(grid, grid->rows - 1, 1, 0, CB_ROLE_DIM,
                cb_app_form(app)->about_begun ? "ENTER goes on   Ctrl-U clears   ESC asks no more"
                                              : "ENTER goes on   Ctrl-U clears   ESC back");
}

const struct cb_view cb_view_form = {
    .name = "form",
    .opens = CB_ACTION_NONE,
    .flags = CB_VIEW_TYPES,
    .draw = draw,
    .key = cb_form_key,
};
