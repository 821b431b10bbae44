/* SPDX-License-Identifier: MIT */
/* The lines that are typed over the view before: the air, a note, a chore. */
#include <stdio.h>

#include "app/form.h"
#include "app/move.h"
#include "view/put.h"

static void draw_line(const struct cb_app *app, struct cb_grid *grid, const char *label,
                      const char *hint)
{
    const struct cb_typed *line = &cb_app_form(app)->line;
    const int row = grid->rows - 2;
    cb_grid_fill(grid, row, 0, 2, grid->columns, CB_ROLE_PLAIN, ' ');
    const int used = cb_grid_put(grid, row, 1, 0, CB_ROLE_STRONG, label);
    cb_put_field(grid, row, 2 + used, line->text, true);
    cb_grid_cut(grid, row + 1, 1, 0, line->error[0] ? CB_ROLE_WARN : CB_ROLE_DIM,
                line->error[0] ? line->error : hint);
}

static void draw_climate(const struct cb_app *app, struct cb_grid *grid)
{
    const bool fahrenheit = cb_app_session(app)->config->fahrenheit;
    const char *place = cb_form_place(app, NULL);
    char hint[96];
    if (place) {
        snprintf(hint, sizeof hint, "such as %s at %.24s",
                 fahrenheit ? "67 62; or 48 70" : "19.5 62; or 9 70", place);
    } else {
        snprintf(hint, sizeof hint, "such as %s 55%% fan; ENTER",
                 fahrenheit ? "67 62, or 20C" : "19.5 62, or 67F");
    }
    draw_line(app, grid, "Room", hint);
}

static void draw_note(const struct cb_app *app, struct cb_grid *grid)
{
    draw_line(app, grid, "Note", "ENTER writes it into the log; ESC leaves");
}

static void draw_chore(const struct cb_app *app, struct cb_grid *grid)
{
    draw_line(app, grid, "Chore", "minutes and what for, such as 3 rinse; ENTER");
}

static void draw_move(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    draw_line(app, grid, "To figure",
              cb_arena_printf(&arena, "%s; ENTER", cb_move_line(app, &arena)));
    cb_arena_fini(&arena);
}

const struct cb_view cb_view_move = {
    .name = "move",
    .opens = CB_ACTION_NONE,
    .flags = CB_VIEW_TYPES | CB_VIEW_OVER,
    .draw = draw_move,
    .open = cb_form_open_line,
    .key = cb_move_key,
};
const struct cb_view cb_view_climate = {
    .name = "climate",
    .opens = CB_ACTION_CLIMATE,
    .flags = CB_VIEW_TYPES | CB_VIEW_OVER,
    .draw = draw_climate,
    .open = cb_form_open_line,
    .key = cb_form_climate_key,
};
const struct cb_view cb_view_note = {
    .name = "note",
    .opens = CB_ACTION_NOTE,
    .flags = CB_VIEW_TYPES | CB_VIEW_OVER,
    .draw = draw_note,
    .open = cb_form_open_line,
    .key = cb_form_note_key,
};
const struct cb_view cb_view_chore = {
    .name = "chore",
    .opens = CB_ACTION_CHORE,
    .flags = CB_VIEW_TYPES | CB_VIEW_OVER,
    .draw = draw_chore,
    .open = cb_form_open_line,
    .key = cb_form_chore_key,
};
