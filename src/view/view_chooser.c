/* SPDX-License-Identifier: MIT */
/* The chooser, under three headings: the units under way, the recipes that can be begun, and the
 * units that were put aside. */
#include <string.h>

#include "base/utf8.h"
#include "app/lines.h"
#include "app/look.h"
#include "app/session.h"
#include "app/start.h"
#include "view/pot_sentence.h"
#include "view/put.h"

static const struct cb_view_key keys[] = {
    {CB_ACTION_LEAVE_OUT, CB_ACTION_NONE, "put aside"},
    {CB_ACTION_HELP, CB_ACTION_NONE, NULL},
    {CB_ACTION_QUIT, CB_ACTION_NONE, NULL},
    {CB_ACTION_NONE, CB_ACTION_NONE, NULL},
};

/* "begun on 2026-01-05, 12 of 40 coats on", as much of it as fits. */
static const char *unit_text(const struct cb_app *app, const struct cb_unit *unit, int columns,
                             struct cb_arena *arena)
{
    const struct cb_session *session = cb_app_session(app);
    char day[CB_POT_DAY_SIZE];
    int wanted = 0, on = 0;
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        for (int figure = 1; figure <= unit->figures; figure++) {
            const int coats = cb_bench_coats(unit, figure, stage);
            const int own = cb_bench_coats_on(unit, figure, stage);
            wanted += coats;
            on += own < coats ? own : coats;
        }
    }
    cb_pot_day(cb_bench_wall(session->bench, &session->now, unit->begun_ms), session->now.wall_ms,
               &session->zone, day);
    const char *figures =
        cb_arena_printf(arena, "%d figure%s", unit->figures, unit->figures == 1 ? "" : "s");
    const char *texts[] = {
        cb_arena_printf(arena, "%s, begun %s, %d of %d coats on", figures, day, on, wanted),
        cb_arena_printf(arena, "begun %s, %d of %d coats on", day, on, wanted),
        cb_arena_printf(arena, "begun %s, %d of %d", day, on, wanted),
        cb_arena_printf(arena, "%d of %d coats on", on, wanted),
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        if (cb_utf8_text_width(texts[i]) <= columns) {
            return texts[i];
        }
    }
    return figures;
}

static void draw_unit_row(const struct cb_app *app, struct cb_grid *grid, int row, size_t index)
{
    struct cb_arena arena = {0};
    const struct cb_unit *unit = cb_bench_unit(cb_app_session(app)->bench, index);
    int used = cb_grid_cut(grid, row, 3, grid->columns - 20,
                           unit->left ? CB_ROLE_DONE : CB_ROLE_PAINT, unit->name);
    cb_grid_put(grid, row, 3 + used + 2, 0, unit->left ? CB_ROLE_DIM : CB_ROLE_PLAIN,
                unit_text(app, unit, grid->columns - used - 6, &arena));
    cb_arena_fini(&arena);
}

static void draw_quick_row(const struct cb_app *app, struct cb_grid *grid, int row)
{
    const int used = cb_grid_cut(grid, row, 3, grid->columns - 8, CB_ROLE_STRONG,
                                 "paint now, the recipe writes itself");
    cb_grid_put(grid, row, 3 + used + 2, 0, CB_ROLE_KEY, cb_app_key(app, CB_ACTION_QUICK));
}

static const char *name_of(const struct cb_app_recipe *recipe)
{
    return recipe->name ? recipe->name : recipe->path;
}

/* Has another recipe that name? */
static bool has_namesake(const struct cb_start *start, int index)
{
    for (int i = 0; i < (int)start->recipe_count; i++) {
        if (i != index &&
            strcmp(name_of(&start->recipes[i]), name_of(&start->recipes[index])) == 0) {
            return true;
        }
    }
    return false;
}

static void draw_recipe_row(const struct cb_app *app, struct cb_grid *grid, int row, int index)
{
    const struct cb_app_recipe *recipe = &cb_app_start(app)->recipes[index];
    int used = cb_grid_cut(grid, row, 3, grid->columns - 14,
                           recipe->text ? CB_ROLE_STRONG : CB_ROLE_DIM, name_of(recipe));
    if (has_namesake(cb_app_start(app), index)) {
        const int room = grid->columns - used - 18;
        const char *file = strrchr(recipe->path, '/');
        used += 2 + cb_grid_cut(grid, row, 3 + used + 2, room, CB_ROLE_PLAIN,
                                file && cb_utf8_text_width(recipe->path) > room ? file + 1
                                                                                : recipe->path);
    }
    if (!recipe->text) {
        cb_grid_cut(grid, row, 3 + used + 2, 0, CB_ROLE_WARN, "has a fault");
    } else if (recipe->figures > 0) {
        cb_grid_putf(grid, row, 3 + used + 2, 0, CB_ROLE_DIM, "%d figure%s", recipe->figures,
                     recipe->figures == 1 ? "" : "s");
    }
}

enum part { UNDER_WAY, BEGIN_NEW, PUT_ASIDE, PARTS };

static void draw_row(const struct cb_app *app, struct cb_grid *grid, int row, enum part part,
                     int index)
{
    if (part == BEGIN_NEW && index == 0) {
        draw_quick_row(app, grid, row);
    } else if (part == BEGIN_NEW) {
        draw_recipe_row(app, grid, row, index - 1);
    } else if (part == UNDER_WAY) {
        draw_unit_row(app, grid, row, cb_app_open_unit(app, (size_t)index));
    } else {
        draw_unit_row(app, grid, row, cb_app_aside_unit(app, (size_t)index));
    }
}

/* A heading stands before each part, and a blank row between them. The rows from `first` on; with
 * grid NULL none. How many lines they are; chosen: the line of the row chosen. */
static int draw_parts(const struct cb_app *app, struct cb_grid *grid, int first, int room,
                      int *chosen)
{
    static const char *const headings[PARTS] = {"UNDER WAY", "BEGIN NEW", "PUT ASIDE"};
    const int counts[PARTS] = {(int)cb_app_open_units(app),
                               1 + (int)cb_app_start(app)->recipe_count,
                               (int)cb_app_aside_units(app)};
    int line = 0, before = 0;
    *chosen = 0;
    for (enum part part = 0; part < PARTS; part++) {
        line += counts[part] > 0 && line > 0;
        for (int i = -1; counts[part] > 0 && i < counts[part]; i++, line++) {
            const bool is_chosen = i >= 0 && before + i == cb_app_start(app)->choice;
            const int row = 2 + line - first;
            *chosen = is_chosen ? line : *chosen;
            if (!grid || line < first || line - first >= room) {
                continue;
            }
            if (i < 0) {
                cb_grid_put(grid, row, 1, 0, CB_ROLE_DIM, headings[part]);
            } else {
                draw_row(app, grid, row, part, i);
            }
            if (is_chosen) {
                cb_grid_put(grid, row, 1, 0, CB_ROLE_KEY, "\u25B8");
                cb_put_focus(grid, row, 1);
            }
        }
        before += counts[part];
    }
    return line;
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "coatbell");
    cb_grid_cut(grid, 0, 11, 0, CB_ROLE_TITLE,
                cb_app_session(app)->scratch ? "demo" : "what is on the bench tonight?");
    const int room = grid->rows < 7 ? 2 : grid->rows - 5;
    int chosen, lines = draw_parts(app, NULL, 0, room, &chosen);
    draw_parts(app, grid, chosen >= room ? chosen - room + 1 : 0, room, &chosen);
    if (cb_app_start(app)->recipe_count == 0) {
        cb_grid_wrap(grid, 3 + lines, 3, grid->columns - 4, 2, CB_ROLE_DIM,
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
    const struct cb_unit *unit = cb_start_chosen_unit(app);
    int used = 1 + cb_grid_put(grid, grid->rows - 1, 1, 0, CB_ROLE_DIM,
                               unit ? "UP DOWN choose  ENTER open" : "UP DOWN choose  ENTER begin");
    cb_put_keys(app, unit && !unit->left ? keys : keys + 1, grid, grid->rows - 1, used + 2);
}

const struct cb_view cb_view_chooser = {
    .name = "open",
    .opens = CB_ACTION_OPEN,
    .flags = CB_VIEW_TAKES_UNDO,
    .keys = keys,
    .draw = draw,
    .open = cb_start_open_chooser,
    .key = cb_start_choose_key,
    .act = cb_start_choose_act,
};
