/* SPDX-License-Identifier: MIT */
/* All keys, from the one list of actions; what the signs mean. */
#include <stdio.h>
#include <string.h>

#include "app/look.h"
#include "app/nav.h"
#include "app/session.h"
#include "view/put.h"

#define KEYS_COLUMNS 16
#define HELP_ROWS    8              /* of one action at most */
#define ABOUT        "~ may change" /* the sign before a time of drying */

static const struct cb_view_key keys[] = {
    {CB_ACTION_STAGE_PREV, CB_ACTION_STAGE_NEXT, "more"},
    {CB_ACTION_HELP, CB_ACTION_NONE, "back"},
    {CB_ACTION_NONE, CB_ACTION_NONE, NULL},
};

/* The whole list on a grid as tall as it is. */
static void draw_list(const struct cb_app *app, struct cb_grid *grid)
{
    int columns = grid->columns - KEYS_COLUMNS - 2, line = 0;
    for (size_t i = 0; i < CB_ACTION_COUNT; i++) {
        char names[64];
        const char *help = cb_action_help((enum cb_action)i);
        cb_keymap_names(&cb_app_session(app)->keymap, (enum cb_action)i, names, sizeof names);
        cb_grid_cut(grid, line, 1, KEYS_COLUMNS - 1, CB_ROLE_KEY, names);
        line += cb_grid_wrap(grid, line, KEYS_COLUMNS + 1, columns, HELP_ROWS, CB_ROLE_PLAIN, help);
    }
}

static int line_count(const struct cb_app *app)
{
    int columns =
            (cb_app_look(app)->columns < 1 ? 1 : cb_app_look(app)->columns) - KEYS_COLUMNS - 2,
        lines = 0;
    for (size_t i = 0; i < CB_ACTION_COUNT; i++) {
        lines += cb_grid_rows_of(cb_action_help((enum cb_action)i), columns);
    }
    return lines;
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    int bottom = grid->rows - 2, room = bottom - 2;
    cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "Keys");
    cb_grid_cut(grid, 0, 7, 0, CB_ROLE_TITLE, "a digit before a key is a count");
    int top = cb_app_nav(app)->top, lines = line_count(app);
    top = top > lines - room ? lines - room : top;
    top = top < 0 ? 0 : top;
    struct cb_grid tall;
    cb_grid_init(&tall, lines < 1 ? 1 : lines, grid->columns);
    tall.ascii = grid->ascii;
    tall.plain = grid->plain;
    draw_list(app, &tall);
    cb_grid_window(grid, 2, 0, room, &tall, top);
    cb_grid_fini(&tall);
    int column = 1, gap = grid->columns < 60 ? 2 : 3;
    for (int state = CB_STATE_READY; state <= CB_STATE_LATER; state++) {
        const struct cb_words_look *look = &cb_words_looks[state];
        if (column + (int)strlen(look->word) + 2 >= grid->columns) {
            break;
        }
        column += cb_grid_put(grid, bottom, column, 0, look->role, look->symbol) + 1;
        column += cb_grid_put(grid, bottom, column, 0, look->role, look->word) + gap;
    }
    if (column + (int)strlen(ABOUT) < grid->columns) {
        cb_grid_put(grid, bottom, column, 0, CB_ROLE_PLAIN, ABOUT);
    }
    cb_put_keys(app, lines > room ? keys : keys + 1, grid, grid->rows - 1, 1);
    const char *version = cb_app_session(app)->version;
    cb_grid_putf(grid, grid->rows - 1, grid->columns - 10 - (int)strlen(version), 0, CB_ROLE_DIM,
                 "coatbell %s", version);
}

static int last(const struct cb_app *app)
{
    const int rows = line_count(app) - (cb_app_look(app)->rows - 4);
    return rows > 0 ? rows : 0;
}

const struct cb_view cb_view_help = {
    .name = "help",
    .opens = CB_ACTION_HELP,
    .flags =
        CB_VIEW_TOGGLES | CB_VIEW_HAS_LIST | CB_VIEW_SCROLLS | CB_VIEW_SAYS_LAST | CB_VIEW_READ_OUT,
    .keys = keys,
    .draw = draw,
    .last = last,
};
