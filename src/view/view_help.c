/* SPDX-License-Identifier: MIT */
/* All keys, from the one list of actions; what the signs mean. */
#include <stdio.h>
#include <string.h>

#include "view/app_state.h"
#include "view/view.h"
#include "view/words.h"

#define KEYS_COLUMNS 16

static int rows_of(const char *text, int columns)
{
    struct cb_grid grid;
    cb_grid_init(&grid, 8, columns < 1 ? 1 : columns);
    int rows = cb_words_wrap(&grid, 0, 0, columns, 8, CB_ROLE_PLAIN, text);
    cb_grid_fini(&grid);
    return rows;
}

/* Draws from the row `top` of the whole text on; returns how many rows there are in all. */
static int draw_list(const struct cb_app *app, struct cb_grid *grid, int top, int from, int to)
{
    int columns = grid->columns - KEYS_COLUMNS - 2, line = 0;
    for (size_t i = 0; i < CB_ACTION_COUNT; i++) {
        if (!cb_action_is_there((enum cb_action)i)) {
            continue;
        }
        char keys[64];
        const char *help = cb_action_help((enum cb_action)i);
        cb_keymap_names(&app->keymap, (enum cb_action)i, keys, sizeof keys);
        int rows = rows_of(help, columns), row = from + line - top;
        if (row >= from && row + rows <= to) {
            cb_words_put(grid, row, 1, KEYS_COLUMNS - 1, CB_ROLE_KEY, keys);
            cb_words_wrap(grid, row, KEYS_COLUMNS + 1, columns, rows, CB_ROLE_PLAIN, help);
        }
        line += rows;
    }
    return line;
}

static int line_count(const struct cb_app *app)
{
    int columns = (app->columns < 1 ? 1 : app->columns) - KEYS_COLUMNS - 2, lines = 0;
    for (size_t i = 0; i < CB_ACTION_COUNT; i++) {
        lines += cb_action_is_there((enum cb_action)i)
                     ? rows_of(cb_action_help((enum cb_action)i), columns)
                     : 0;
    }
    return lines;
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    int bottom = grid->rows - 2, room = bottom - 2;
    cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "Keys");
    cb_words_put(grid, 0, 7, 0, CB_ROLE_TITLE, "a digit before a key is a count");
    int top = app->top, lines = line_count(app);
    top = top > lines - room ? lines - room : top;
    top = top < 0 ? 0 : top;
    draw_list(app, grid, top, 2, bottom);
    int column = 1;
    for (int state = CB_STATE_READY; state <= CB_STATE_LATER; state++) {
        const struct cb_words_look *look = &cb_words_looks[state];
        if (column + (int)strlen(look->word) + 2 >= grid->columns) {
            break;
        }
        column += cb_grid_put(grid, bottom, column, 0, look->role, look->symbol) + 1;
        column += cb_grid_put(grid, bottom, column, 0, look->role, look->word) + 3;
    }
    cb_grid_putf(grid, grid->rows - 1, 1, 0, CB_ROLE_DIM,
                 lines > room ? "UP DOWN more   ? back   coatbell %s" : "? back   coatbell %s",
                 app->version);
}

static bool act(struct cb_app *app, enum cb_action action)
{
    if (action == CB_ACTION_STAGE_NEXT || action == CB_ACTION_STAGE_PREV) {
        int most = line_count(app) - (app->rows - 4);
        app->top += action == CB_ACTION_STAGE_NEXT ? 1 : -1;
        app->top = app->top > most ? most : app->top;
        app->top = app->top < 0 ? 0 : app->top;
        return true;
    }
    return false;
}

const struct cb_view cb_view_help = {"help", draw, act};
