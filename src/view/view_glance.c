/* SPDX-License-Identifier: MIT */
/* The glance: figure and minutes alone, as large as the screen bears, to read from two metres. */
#include <stdio.h>
#include <string.h>

#include "app/look.h"
#include "app/nav.h"
#include "app/session.h"
#include "app/lines.h"
#include "app/scene.h"
#include "view/put.h"

/* The big face, each of its cells scale times as large. */
static int put_scaled(struct cb_grid *grid, int row, int column, int scale, enum cb_role role,
                      const char *text)
{
    struct cb_grid face;
    cb_grid_init(&face, CB_GRID_BIG_ROWS, (CB_GRID_BIG_COLUMNS + 1) * 8);
    int used = cb_grid_big(&face, 0, 0, role, text);
    for (int r = 0; r < face.rows; r++) {
        for (int c = 0; c < used; c++) {
            if (face.cells[r * face.columns + c].cp != ' ') {
                cb_grid_fill(grid, row + r * scale, column + c * scale, scale, scale, role, 0x2588);
            }
        }
    }
    cb_grid_fini(&face);
    return used * scale;
}

static int face_width(const char *text)
{
    return (int)strlen(text) * (CB_GRID_BIG_COLUMNS + 1) - 1;
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    const struct cb_scene *scene = cb_app_scene(app);
    char figure[16] = "-", digits[16] = "-";
    const char *unit = "";
    if (scene->proposal.any) {
        cb_lines_figure(scene, figure);
    }
    if (scene->next) {
        unit = cb_words_left(scene->next->forecast.due_ms - scene->now_ms, digits);
    }
    int width = face_width(figure) + 3 + face_width(digits);
    int scale = (grid->columns - 4) / width, tall = (grid->rows - 5) / CB_GRID_BIG_ROWS;
    scale = scale > tall ? tall : scale;
    if (scale < 1) {
        scale = 1;
        figure[strcspn(figure, "-")] = '\0'; /* the first of a range, where it would not fit */
    }
    int row = 1, minutes = 2 + (face_width(figure[0] ? figure : "-") + 3) * scale;
    cb_grid_put(grid, 0, 2, 0, CB_ROLE_DIM, "FIGURE");
    cb_grid_put(grid, 0, minutes, 0, CB_ROLE_DIM,
                !scene->next                                                    ? "NOTHING IS WET"
                : cb_words_painted(scene->next->unit, scene->next->film->stage) ? "NEXT DRY"
                                                                                : "WAITS FOR");
    if (scene->next) {
        const char *elsewhere = cb_lines_elsewhere(scene, scene->next);
        int label = cb_words_painted(scene->next->unit, scene->next->film->stage) ? 9 : 10;
        int used = cb_grid_putf(grid, 0, minutes + label, 0, CB_ROLE_DIM, "in %s", unit);
        if (elsewhere) {
            cb_grid_cut(grid, 0, minutes + label + 2 + used, 0, CB_ROLE_DIM, elsewhere);
        }
    }
    put_scaled(grid, row, 2, scale, scene->anyway ? CB_ROLE_DIM : CB_ROLE_BIG, figure);
    put_scaled(grid, row, minutes, scale, CB_ROLE_BIG, digits);
    cb_put_sign(app, scene->next, grid, row + CB_GRID_BIG_ROWS * scale / 2, minutes, CB_ROLE_BIG);
    row += CB_GRID_BIG_ROWS * scale + 1;
    if (scene->unit && scene->proposal.any) {
        int used = cb_grid_cut(grid, row, 2, 0, CB_ROLE_PAINT,
                               cb_words_paint(scene->unit, scene->proposal.stage));
        cb_grid_cut(grid, row, 4 + used, 0, CB_ROLE_PLAIN,
                    cb_words_areas(&arena, scene->unit->recipe, scene->stage));
        row++;
    }
    enum cb_role role;
    if (row < grid->rows) {
        char *space = cb_lines_space(app, scene, grid->columns - 12, &arena, &role);
        int used = 0;
        if (scene->proposal.any && cb_app_session(app)->writer) {
            used = cb_grid_put(grid, row, 2, 0, CB_ROLE_KEY, cb_app_key(app, CB_ACTION_COAT_ON));
            used++;
        }
        cb_grid_cut(grid, row, 2 + used, 0, role, space);
    }
    char *message = cb_lines_message(app, scene, &arena, &role);
    if (message[0] && grid->rows - 1 > row) {
        cb_grid_cut(grid, grid->rows - 1, 2, 0, role, message);
    } else if (grid->rows - 1 > row) {
        char *status = cb_lines_status(app, scene, &arena, &role);
        cb_grid_cut(grid, grid->rows - 1, 2, 0, role, status);
    }
    cb_arena_fini(&arena);
}

const struct cb_view cb_view_glance = {
    .name = "glance",
    .opens = CB_ACTION_GLANCE,
    .flags = CB_VIEW_MARKS_COATS | CB_VIEW_NEEDS_UNIT | CB_VIEW_TOGGLES,
    .draw = draw,
};
