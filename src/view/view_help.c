/* SPDX-License-Identifier: MIT */
/* All keys, from the one list of actions; what the signs mean. */
#include <stdio.h>
#include <string.h>

#include "view/app_state.h"
#include "view/view.h"
#include "view/words.h"

#define KEYS_COLUMNS 16
#define HELP_ROWS    8              /* of one action at most */
#define ABOUT        "~ may change" /* the sign before a time of drying */

/* The whole list on a grid as tall as it is. */
static void draw_list(const struct cb_app *app, struct cb_grid *grid)
{
    int columns = grid->columns - KEYS_COLUMNS - 2, line = 0;
    for (size_t i = 0; i < CB_ACTION_COUNT; i++) {
        if (!cb_action_is_there((enum cb_action)i)) {
            continue;
        }
        char keys[64];
        const char *help = cb_action_help((enum cb_action)i);
        cb_keymap_names(&app->keymap, (enum cb_action)i, keys, sizeof keys);
        cb_words_put(grid, line, 1, KEYS_COLUMNS - 1, CB_ROLE_KEY, keys);
        line +=
            cb_words_wrap(grid, line, KEYS_COLUMNS + 1, columns, HELP_ROWS, CB_ROLE_PLAIN, help);
    }
}

static int line_count(const struct cb_app *app)
{
    int columns = (app->columns < 1 ? 1 : app->columns) - KEYS_COLUMNS - 2, lines = 0;
    for (size_t i = 0; i < CB_ACTION_COUNT; i++) {
        lines += cb_action_is_there((enum cb_action)i)
                     ? cb_words_rows(cb_action_help((enum cb_action)i), columns)
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
    struct cb_grid tall;
    cb_grid_init(&tall, lines < 1 ? 1 : lines, grid->columns);
    tall.ascii = grid->ascii;
    draw_list(app, &tall);
    for (int row = 0; row < room && top + row < tall.rows; row++) {
        memcpy(&grid->cells[(size_t)(row + 2) * (size_t)grid->columns],
               &tall.cells[(size_t)(top + row) * (size_t)tall.columns],
               (size_t)tall.columns * sizeof *tall.cells);
    }
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
