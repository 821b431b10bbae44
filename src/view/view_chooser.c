/* SPDX-License-Identifier: MIT */
/* The chooser, under two headings: the units under way, and the recipes that can be begun. */
#include "app/lines.h"
#include "app/look.h"
#include "app/session.h"
#include "app/start.h"
#include "view/put.h"

static const struct cb_view_key keys[] = {
    {CB_ACTION_HELP, CB_ACTION_NONE, NULL},
    {CB_ACTION_QUIT, CB_ACTION_NONE, NULL},
    {CB_ACTION_NONE, CB_ACTION_NONE, NULL},
};

static void draw_unit_row(const struct cb_app *app, struct cb_grid *grid, int row, int index)
{
    const struct cb_unit *unit =
        cb_bench_unit(cb_app_session(app)->bench, cb_app_open_unit(app, (size_t)index));
    int used = cb_grid_cut(grid, row, 3, grid->columns - 20, CB_ROLE_PAINT, unit->name);
    cb_grid_putf(grid, row, 3 + used + 2, 0, CB_ROLE_PLAIN, "%d figure%s", unit->figures,
                 unit->figures == 1 ? "" : "s");
}

static void draw_quick_row(const struct cb_app *app, struct cb_grid *grid, int row)
{
    const int used = cb_grid_cut(grid, row, 3, grid->columns - 8, CB_ROLE_STRONG,
                                 "paint now, the recipe writes itself");
    cb_grid_put(grid, row, 3 + used + 2, 0, CB_ROLE_KEY, cb_app_key(app, CB_ACTION_QUICK));
}

static void draw_recipe_row(const struct cb_app *app, struct cb_grid *grid, int row, int index)
{
    const struct cb_app_recipe *recipe = &cb_app_start(app)->recipes[index];
    const char *name = recipe->name ? recipe->name : recipe->path;
    int used = cb_grid_cut(grid, row, 3, grid->columns - 14,
                           recipe->text ? CB_ROLE_STRONG : CB_ROLE_DIM, name);
    if (!recipe->text) {
        cb_grid_cut(grid, row, 3 + used + 2, 0, CB_ROLE_WARN, "has a fault");
    } else if (recipe->figures > 0) {
        cb_grid_putf(grid, row, 3 + used + 2, 0, CB_ROLE_DIM, "%d figure%s", recipe->figures,
                     recipe->figures == 1 ? "" : "s");
    }
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    const int units = (int)cb_app_open_units(app), rows = cb_start_rows(app);
    cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "coatbell");
    cb_grid_cut(grid, 0, 11, 0, CB_ROLE_TITLE,
                cb_app_session(app)->scratch ? "scratch log" : "what is on the bench tonight?");
    /* A heading stands before each part, and a blank row between them. */
    const int before_units = units > 0, before_recipes = before_units + (units > 0) + 1;
    const int choice = cb_app_start(app)->choice;
    const int room = grid->rows < 7 ? 2 : grid->rows - 5;
    const int chosen = choice + (choice < units ? before_units : before_recipes);
    const int first = chosen >= room ? chosen - room + 1 : 0;
    for (int line = first; line < rows + before_recipes && line - first < room; line++) {
        const int row = 2 + line - first;
        if (units > 0 && line == 0) {
            cb_grid_put(grid, row, 1, 0, CB_ROLE_DIM, "UNDER WAY");
        } else if (line < units + before_units) {
            draw_unit_row(app, grid, row, line - before_units);
        } else if (line == units + before_recipes - 1) {
            cb_grid_put(grid, row, 1, 0, CB_ROLE_DIM, "BEGIN NEW");
        } else if (line == units + before_recipes) {
            draw_quick_row(app, grid, row);
        } else if (line >= units + before_recipes) {
            draw_recipe_row(app, grid, row, line - units - before_recipes - 1);
        }
        if (line == chosen) {
            cb_grid_put(grid, row, 1, 0, CB_ROLE_KEY, "\u25B8");
        }
    }
    if (cb_app_start(app)->recipe_count == 0) {
        cb_grid_wrap(grid, 3 + rows + before_recipes, 3, grid->columns - 4, 2, CB_ROLE_DIM,
                     cb_app_start(app)->recipes_known
                         ? "No recipe is found. `coatbell new FILE` writes one to start from."
                         : "Looking for recipes.");
    }
    struct cb_arena arena = {0};
    int row = grid->rows - 2;
    if (cb_app_look(app)->flash[0]) {
        cb_grid_cut(grid, row, 1, 0, CB_ROLE_WARN, cb_app_look(app)->flash);
    } else if (!cb_app_session(app)->writer) {
        cb_grid_cut(grid, row, 1, 0, CB_ROLE_WARN, cb_app_why_not(app));
    } else {
        enum cb_role role;
        const char *message = cb_lines_message(app, NULL, &arena, &role);
        char *what = NULL;
        if (!*message && cb_bench_redoable(cb_app_session(app)->bench, &arena, &what)) {
            message =
                cb_arena_printf(&arena, "%s redoes: %s", cb_app_key(app, CB_ACTION_REDO), what);
        }
        cb_grid_cut(grid, row, 1, grid->columns - 2, role, message);
    }
    cb_arena_fini(&arena);
    int used =
        1 + cb_grid_put(grid, grid->rows - 1, 1, 0, CB_ROLE_DIM, "UP DOWN choose  ENTER begin");
    cb_put_keys(app, keys, grid, grid->rows - 1, used + 2);
}

const struct cb_view cb_view_chooser = {
    .name = "open",
    .opens = CB_ACTION_OPEN,
    .flags = CB_VIEW_TAKES_UNDO,
    .keys = keys,
    .draw = draw,
    .open = cb_start_open_chooser,
    .key = cb_start_choose_key,
};
