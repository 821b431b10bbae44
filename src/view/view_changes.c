/* SPDX-License-Identifier: MIT */
/* What is another in the recipe file that was read again, before it is taken. */
#include "app/changes.h"
#include "app/look.h"
#include "app/nav.h"
#include "view/put.h"

#define LINE_ROWS 6 /* of one line at most */

static const enum cb_role roles[] = {
    [CB_DIFF_FIGURES] = CB_ROLE_PLAIN, [CB_DIFF_CHANGED] = CB_ROLE_PLAIN,
    [CB_DIFF_NEW] = CB_ROLE_STRONG,    [CB_DIFF_GONE] = CB_ROLE_DIM,
    [CB_DIFF_PAINT] = CB_ROLE_PLAIN,   [CB_DIFF_REST] = CB_ROLE_PLAIN,
};

static int columns_of(const struct cb_app *app)
{
    const int columns = cb_app_look(app)->columns - 2;
    return columns < 1 ? 1 : columns;
}

static int line_count(const struct cb_app *app)
{
    struct cb_arena arena = {0};
    const struct cb_recipe_diff diff = cb_changes_lines(app, &arena);
    int lines = 0;
    for (size_t i = 0; i < diff.count; i++) {
        const int rows = cb_grid_rows_of(diff.lines[i].text, columns_of(app));
        lines += rows < LINE_ROWS ? rows : LINE_ROWS;
    }
    cb_arena_fini(&arena);
    return lines;
}

static int room(const struct cb_app *app)
{
    return cb_app_look(app)->rows - 4;
}

static void draw_list(const struct cb_app *app, struct cb_grid *grid, int lines, int top)
{
    struct cb_arena arena = {0};
    struct cb_grid tall;
    const struct cb_recipe_diff diff = cb_changes_lines(app, &arena);
    cb_grid_init(&tall, lines < 1 ? 1 : lines, grid->columns);
    tall.ascii = grid->ascii;
    for (size_t i = 0, line = 0; i < diff.count; i++) {
        line += (size_t)cb_grid_wrap(&tall, (int)line, 1, columns_of(app), LINE_ROWS,
                                     roles[diff.lines[i].kind], diff.lines[i].text);
    }
    if (diff.count == 0 && cb_app_changes(app)->next) {
        cb_grid_cut(&tall, 0, 1, 0, CB_ROLE_DIM, "no stage differs: only how it is written");
    }
    cb_grid_window(grid, 2, 0, room(app), &tall, top);
    cb_grid_fini(&tall);
    cb_arena_fini(&arena);
}

static int last(const struct cb_app *app)
{
    const int rows = line_count(app) - room(app);
    return rows > 0 ? rows : 0;
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    const int lines = line_count(app), most = last(app);
    const int top = cb_app_nav(app)->top > most ? most : cb_app_nav(app)->top;
    const int used = cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "What differs");
    const char *file = cb_app_changes(app)->file;
    cb_grid_cut(grid, 0, 3 + used, grid->columns - used - 4, CB_ROLE_DIM, file ? file : "");
    draw_list(app, grid, lines, top);
    int column = 1;
    column += cb_grid_put(grid, grid->rows - 1, column, 0, CB_ROLE_KEY, "ENTER") + 1;
    column += cb_grid_put(grid, grid->rows - 1, column, 0, CB_ROLE_DIM, "takes it") + 2;
    column += cb_grid_put(grid, grid->rows - 1, column, 0, CB_ROLE_KEY, "ESC") + 1;
    column += cb_grid_put(grid, grid->rows - 1, column, 0, CB_ROLE_DIM, "leaves it") + 2;
    if (lines > room(app)) {
        const int below = lines - room(app) - top;
        if (below > 0) {
            cb_grid_putf(grid, grid->rows - 2, 1, 0, CB_ROLE_DIM, "%d line%s more", below,
                         below == 1 ? "" : "s");
        }
        static const struct cb_view_key keys[] = {
            {CB_ACTION_STAGE_PREV, CB_ACTION_STAGE_NEXT, "more"},
            {CB_ACTION_NONE, CB_ACTION_NONE, NULL},
        };
        cb_put_keys(app, keys, grid, grid->rows - 1, column);
    }
}

const struct cb_view cb_view_changes = {
    .name = "changes",
    .opens = CB_ACTION_NONE,
    .flags = CB_VIEW_HAS_LIST | CB_VIEW_SCROLLS | CB_VIEW_NEEDS_UNIT | CB_VIEW_OF_UNIT |
             CB_VIEW_SAYS_LAST,
    .draw = draw,
    .last = last,
    .key = cb_changes_key,
};
