/* SPDX-License-Identifier: MIT */
#include "view/screen.h"

#include "app/guide.h"
#include "app/lines.h"
#include "app/look.h"
#include "app/nav.h"
#include "app/session.h"

/* One row a screen; its file is view_NAME.c, the lines for air, note and chore share one. */
/* clang-format off */
#define SCREENS(X) \
    X(bench) X(rack) X(road) X(pots) X(review) X(glance) X(help) X(chooser) X(form) \
    X(climate) X(note) X(chore) X(move) X(changes) X(edit) X(quick)
/* clang-format on */
#define X(name) extern const struct cb_view cb_view_##name;
SCREENS(X)
#undef X
static const struct cb_view *const items[] = {
#define X(name) &cb_view_##name,
    SCREENS(X)
#undef X
};
const struct cb_views cb_screens = {items, sizeof items / sizeof *items};

/* Below 30x8 nothing but the countdown is left. */
static void draw_small(const struct cb_app *app, struct cb_grid *grid)
{
    const struct cb_scene *scene = cb_app_scene(app);
    char span[32] = "-";
    if (scene->next) {
        cb_lines_span(app, scene->next->forecast.due_ms - scene->now_ms, span);
    }
    int row = 0;
    if (cb_app_session(app)->unsaved) {
        cb_grid_fill(grid, row, 0, 1, grid->columns, CB_ROLE_ALARM, ' ');
        cb_grid_put(grid, row++, 0, 0, CB_ROLE_ALARM, "NOT SAVED");
    }
    if (scene->next) {
        const char *sign = cb_lines_sign(app, scene->next->film->drying);
        cb_grid_putf(grid, row++, 0, 0, CB_ROLE_STRONG, "%s%s %s %s", sign[0] == ' ' ? "" : sign,
                     span, cb_words_dried(scene->next->unit, scene->next->film->stage),
                     cb_words_film(scene->next->unit, scene->next->film));
    } else {
        cb_grid_put(grid, row++, 0, 0, CB_ROLE_STRONG,
                    scene->held_count > 0 ? "waits: too cold or damp" : "nothing is wet");
    }
    cb_grid_put(grid, row, 0, 0, CB_ROLE_DIM, "wants 30x8");
}

/* Over the row above the keys, where a view has no line of its own for what is said. */
static void draw_guide(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    const char *line = cb_guide_line(app, &arena);
    if (line != NULL) {
        const int row = grid->rows - 3;
        cb_grid_fill(grid, row, 0, 2, grid->columns, CB_ROLE_PLAIN, ' ');
        cb_grid_wrap(grid, row, 1, grid->columns - 2, 2, CB_ROLE_PLAIN, line);
    }
    cb_arena_fini(&arena);
}

static void draw_unsaved(const struct cb_app *app, struct cb_grid *grid)
{
    cb_grid_fill(grid, 0, 0, 1, grid->columns, CB_ROLE_ALARM, ' ');
    int used = cb_grid_put(grid, 0, 1, 0, CB_ROLE_ALARM, "NOT SAVED  ");
    cb_grid_cut(grid, 0, 1 + used, 0, CB_ROLE_ALARM,
                cb_app_session(app)->unsaved_why[0] ? cb_app_session(app)->unsaved_why
                                                    : "the log can't be written; trying on");
}

void cb_screen_draw(const struct cb_app *app, struct cb_grid *grid)
{
    const struct cb_session *session = cb_app_session(app);
    const struct cb_look *look = cb_app_look(app);
    const struct cb_view *view = cb_app_shown(app);
    const bool plain = grid->plain;
    const bool ascii = grid->ascii || session->config->ascii;
    const int rows = look->rows < 1 ? 1 : look->rows,
              columns = look->columns < 1 ? 1 : look->columns;
    if (grid->rows != rows || grid->columns != columns || !grid->cells) {
        cb_grid_fini(grid);
        cb_grid_init(grid, rows, columns);
    }
    grid->ascii = ascii;
    grid->plain = plain;
    cb_grid_clear(grid);
    if (columns < 30 || rows < 8) {
        draw_small(app, grid);
        return;
    }
    if (!session->loaded) {
        cb_grid_put(grid, 0, 1, 0, CB_ROLE_DIM, "reading the log");
    } else {
        if (view->flags & CB_VIEW_OVER) {
            cb_app_shown_under(app)->draw(app, grid);
        }
        view->draw(app, grid);
    }
    if (session->loaded && view->flags & CB_VIEW_TURNS && view->flags & CB_VIEW_SAYS_LAST) {
        draw_guide(app, grid);
    }
    if (look->flash[0] && view->flags & CB_VIEW_SAYS_LAST) {
        cb_grid_fill(grid, rows - 1, 0, 1, columns, CB_ROLE_PLAIN, ' ');
        cb_grid_cut(grid, rows - 1, 1, columns - 2, CB_ROLE_WARN, look->flash);
    }
    if (session->unsaved) {
        draw_unsaved(app, grid);
    }
}
