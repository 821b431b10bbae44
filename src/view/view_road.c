/* SPDX-License-Identifier: MIT */
/* The road: what is left of the unit in front, evening by evening, and when it is finished. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/look.h"
#include "app/nav.h"
#include "app/outlook.h"
#include "app/road.h"
#include "app/session.h"
#include "base/utf8.h"
#include "view/put.h"
#include "view/road_line.h"
#include "view/road_said.h"

#define ROOMY_COLUMNS 70  /* the coats that are left stand beside the stage */
#define WIDE_COLUMNS  112 /* and their minutes */
#define TALL_ROWS     20  /* evenings and clock have a row each */

static const struct cb_view_key keys[] = {
    {CB_ACTION_VIEW_NEXT, CB_ACTION_NONE, NULL},
    {CB_ACTION_COAT_ADD, CB_ACTION_COAT_SPARE, "zoom"},
    {CB_ACTION_HELP, CB_ACTION_NONE, NULL},
    {CB_ACTION_QUIT, CB_ACTION_NONE, NULL},
    {CB_ACTION_FIGURE_PREV, CB_ACTION_FIGURE_NEXT, "time"},
    {CB_ACTION_STAGE_PREV, CB_ACTION_STAGE_NEXT, "stages"},
    {CB_ACTION_VIEW_BENCH, CB_ACTION_NONE, NULL},
    {CB_ACTION_NONE, CB_ACTION_NONE, NULL},
};

static const int zooms[] = {1, 2, 5, 10, 20, 30, 60};
#define ZOOMS ((int)(sizeof zooms / sizeof *zooms))

struct page {
    struct cb_road_said said;
    bool drawn; /* there is a line below it */
    struct cb_road_line line;
    int zoom, widest;           /* index of zooms; the first that shows it all */
    int names, column, columns; /* of the names; where the line begins, and how much has room */
    int first_row, rows;        /* of the stages */
    int left, top;              /* as far as there is something to see */
};

static int gutter_of(const struct page *page, int columns)
{
    return page->names + (columns >= WIDE_COLUMNS ? 22 : columns >= ROOMY_COLUMNS ? 10 : 1);
}

static void lay_out(const struct cb_app *app, struct page *page, int rows, int columns,
                    struct cb_arena *arena)
{
    const int most = columns >= WIDE_COLUMNS ? 24 : columns >= ROOMY_COLUMNS ? 18 : 13;
    page->line = cb_road_line_of(app, true, arena);
    page->drawn = page->line.row_count > 0;
    for (int i = 0; i < page->line.row_count; i++) {
        const int width =
            cb_utf8_text_width(cb_app_unit(app)->recipe->stages[page->line.rows[i].stage].name);
        page->names = width > page->names ? width : page->names;
    }
    page->names = page->names > most ? most : page->names;
    page->column = 1 + gutter_of(page, columns);
    page->columns = columns - page->column - 1;
    page->columns = page->columns < 1 ? 1 : page->columns;
    for (page->widest = 0; page->widest < ZOOMS - 1; page->widest++) {
        cb_road_line_cut(&page->line, zooms[page->widest]);
        if (page->line.columns <= page->columns) {
            break;
        }
    }
    page->zoom = page->widest;
    for (int i = 0; i < page->widest; i++) {
        page->zoom = zooms[i] == cb_app_outlook(app)->column_min ? i : page->zoom;
    }
    cb_road_line_cut(&page->line, zooms[page->zoom]);
    const int most_left = page->line.columns - page->columns;
    page->left = cb_app_outlook(app)->left;
    page->left = page->left > most_left ? most_left : page->left;
    page->left = page->left < 0 ? 0 : page->left;
    const bool many = page->line.evening_count > 1;
    page->first_row += rows >= TALL_ROWS ? 2 + many : 1; /* a blank one, evenings, the clock */
    page->rows = rows - 2 - page->first_row;             /* below: the signs, the keys */
    page->rows = page->rows < 1 ? 1 : page->rows;
    const int most_top = page->line.row_count - page->rows;
    page->top = cb_app_nav(app)->top;
    page->top = page->top > most_top ? most_top : page->top;
    page->top = page->top < 0 ? 0 : page->top;
}

static struct page page_of(const struct cb_app *app, int rows, int columns, struct cb_arena *arena)
{
    struct page page = {.first_row = 1};
    page.said = cb_road_say(app, columns >= ROOMY_COLUMNS, arena);
    for (int i = 0; i < page.said.count; i++) {
        page.first_row += cb_grid_rows_of(page.said.sentences[i].text, columns - 2);
    }
    if (cb_app_road(app)) {
        lay_out(app, &page, rows, columns, arena);
    }
    return page;
}

static void draw_head(const struct cb_app *app, const struct page *page, struct cb_grid *grid)
{
    char clock[CB_CLOCK_SIZE];
    cb_time_clock(cb_app_session(app)->now.wall_ms, &cb_app_session(app)->zone, clock);
    const int column = grid->columns - (int)strlen(clock) - 1;
    int used = 1 + cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "Road") + 2;
    if (cb_app_unit(app)) {
        used +=
            cb_grid_cut(grid, 0, used, column - used - 1, CB_ROLE_TITLE, cb_app_unit(app)->name) +
            2;
    }
    char rows[48];
    snprintf(rows, sizeof rows, "stages %d to %d of %d", page->top + 1, page->top + page->rows,
             page->line.row_count);
    const char *text = used + (int)strlen(rows) < column ? rows : rows + strlen("stages ");
    if (page->line.row_count > page->rows && used + (int)strlen(text) < column) {
        cb_grid_put(grid, 0, used, 0, CB_ROLE_DIM, text);
    }
    cb_grid_put(grid, 0, column, 0, CB_ROLE_STRONG, clock);
}

/* "tonight", "evening 2", where each of them is in sight. */
static void draw_evenings(const struct page *page, struct cb_grid *grid, int row)
{
    for (int i = 0; i < page->line.evening_count; i++) {
        const struct cb_road_evening *evening = &page->line.evenings[i];
        char name[24];
        snprintf(name, sizeof name, i > 0 ? "evening %d" : "tonight", i + 1);
        const int from = evening->column > page->left ? evening->column - page->left : 0;
        int to = evening->column + evening->columns - page->left;
        to = to > page->columns ? page->columns : to;
        const char *text = (int)strlen(name) <= to - from ? name : i > 0 ? name + 8 : "";
        if (i > 0 && evening->column > page->left && evening->column - page->left <= to) {
            cb_grid_put(grid, row, page->column + from - 1, 1, CB_ROLE_RULE,
                        cb_time_sign_text(CB_TIME_SIGN_NIGHT, grid->ascii));
        }
        if (to > from && (int)strlen(text) <= to - from) {
            cb_grid_put(grid, row, page->column + from, to - from, CB_ROLE_DIM, text);
        }
    }
}

static void draw_row(const struct cb_app *app, const struct page *page, struct cb_grid *grid,
                     int row, const struct cb_road_row *stage)
{
    const struct cb_scene *scene = cb_app_scene(app);
    const bool next = scene->stage && scene->proposal.stage == stage->stage + 1;
    cb_grid_put(grid, row, 0, 1, CB_ROLE_STRONG, next ? ">" : " ");
    if (next) {
        cb_put_focus(grid, row, 0);
    }
    cb_grid_cut(grid, row, 1, page->names,
                next              ? CB_ROLE_STRONG
                : stage->left > 0 ? CB_ROLE_PLAIN
                                  : CB_ROLE_DONE,
                cb_app_unit(app)->recipe->stages[stage->stage].name);
    if (grid->columns >= ROOMY_COLUMNS && stage->left > 0) {
        cb_grid_putf(grid, row, page->names + 2, 8, CB_ROLE_DIM, "%3d left", stage->left);
    } else if (grid->columns >= ROOMY_COLUMNS) {
        cb_grid_put(grid, row, page->names + 2, 8, CB_ROLE_DIM, "  all on");
    }
    if ((grid->columns >= WIDE_COLUMNS || grid->plain) && stage->planned > 0) {
        char span[32];
        cb_time_span((int64_t)fmax(1, round(stage->work_min)) * CB_MS_PER_MIN, span);
        cb_grid_putf(grid, row, page->names + 10, 11, CB_ROLE_DIM, "%11s", span);
    }
    if (!grid->plain) {
        cb_road_line_draw(&page->line, stage->stage, page->left, grid, row, page->column,
                          page->columns);
    }
    if (stage->left > stage->planned && stage->planned == 0) {
        cb_grid_put(grid, row, page->column, page->columns, CB_ROLE_HELD, "waits");
    }
}

static void draw_signs(const struct page *page, struct cb_grid *grid, int row)
{
    static const struct {
        enum cb_time_sign sign;
        enum cb_role role;
        const char *text;
    } signs[] = {{CB_TIME_SIGN_WORK, CB_ROLE_STRONG, "hands-on"},
                 {CB_TIME_SIGN_SOME, CB_ROLE_STRONG, "in part"},
                 {CB_TIME_SIGN_DRIES, CB_ROLE_WET, "drying"}};
    int column = 1;
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        column += cb_grid_put(grid, row, column, 1, signs[i].role,
                              cb_time_sign_text(signs[i].sign, grid->ascii)) +
                  1;
        column += cb_grid_put(grid, row, column, 0, CB_ROLE_DIM, signs[i].text) + 2;
    }
    cb_grid_putf(grid, row, column, 0, CB_ROLE_DIM,
                 grid->columns < ROOMY_COLUMNS ? "a column %d min" : "a column is %d min",
                 zooms[page->zoom]);
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    const struct page page = page_of(app, grid->rows, grid->columns, &arena);
    draw_head(app, &page, grid);
    int row = 1;
    for (int i = 0; i < page.said.count && row < grid->rows - 1; i++) {
        row += cb_grid_wrap(grid, row, 1, grid->columns - 2, grid->rows - 1 - row,
                            page.said.sentences[i].role, page.said.sentences[i].text);
    }
    if (page.drawn && page.first_row < grid->rows - 2) {
        row = page.first_row - 1;
        const bool tall = grid->rows >= TALL_ROWS, many = page.line.evening_count > 1;
        if (tall && many && !grid->plain) { /* to be read aloud, the stages' minutes stand for it */
            draw_evenings(&page, grid, row - 1);
        }
        if ((tall || !many) && !grid->plain) {
            cb_road_line_clock(app, &page.line, page.left, grid, row, page.column, page.columns);
        } else if (!grid->plain) {
            draw_evenings(&page, grid, row);
        }
        for (int i = 0; i < page.rows && page.top + i < page.line.row_count; i++) {
            draw_row(app, &page, grid, page.first_row + i, &page.line.rows[page.top + i]);
        }
        if (!grid->plain) {
            draw_signs(&page, grid, grid->rows - 2);
        }
    }
    cb_put_keys(app, keys, grid, grid->rows - 1, 1);
    cb_arena_fini(&arena);
}

static struct page page_now(const struct cb_app *app, struct cb_arena *arena)
{
    return page_of(app, cb_app_look(app)->rows, cb_app_look(app)->columns, arena);
}

static int last(const struct cb_app *app)
{
    struct cb_arena arena = {0};
    const struct page page = page_now(app, &arena);
    const int most = page.drawn ? page.line.row_count - page.rows : 0;
    cb_arena_fini(&arena);
    return most > 0 ? most : 0;
}

/* The first minute in sight stays about where it is. */
static void zoom(struct cb_app *app, const struct page *page, int step)
{
    const int to = page->zoom + step;
    if (to < 0 || to > page->widest) {
        cb_app_flash(app, step < 0 ? "closer than a minute a column it does not go"
                                   : "farther away there is nothing more to see");
        return;
    }
    cb_outlook_zoom(app, to == page->widest ? 0 : zooms[to],
                    page->left * zooms[page->zoom] / zooms[to]);
}

static void go(struct cb_app *app, const struct page *page, int way)
{
    const int most = page->line.columns - page->columns;
    int left = page->left + way * (page->columns / 3 + 1);
    left = left > most ? most : left;
    left = left < 0 ? 0 : left;
    if (left == page->left) {
        cb_app_flash(app,
                     most <= 0 ? "all of the time is in sight; %s zooms in"
                               : "the line ends here; %s zooms in",
                     cb_app_key(app, CB_ACTION_COAT_ADD));
    }
    cb_outlook_zoom(app, cb_app_outlook(app)->column_min, left);
}

static bool act(struct cb_app *app, enum cb_action action)
{
    const bool zooms_it = action == CB_ACTION_COAT_ADD || action == CB_ACTION_COAT_SPARE;
    const bool goes = action == CB_ACTION_FIGURE_PREV || action == CB_ACTION_FIGURE_NEXT;
    if (!zooms_it && !goes) {
        return false;
    }
    struct cb_arena arena = {0};
    const struct page page = page_now(app, &arena);
    if (page.drawn && zooms_it) {
        zoom(app, &page, action == CB_ACTION_COAT_ADD ? -1 : 1);
    } else if (page.drawn) {
        go(app, &page, action == CB_ACTION_FIGURE_NEXT ? 1 : -1);
    } else {
        cb_app_flash(app, "there is no time line to look at");
    }
    cb_arena_fini(&arena);
    return true;
}

const struct cb_view cb_view_road = {
    .name = "road",
    .opens = CB_ACTION_VIEW_ROAD,
    .flags =
        CB_VIEW_TURNS | CB_VIEW_HAS_LIST | CB_VIEW_SCROLLS | CB_VIEW_SAYS_LAST | CB_VIEW_READ_OUT,
    .keys = keys,
    .draw = draw,
    .last = last,
    .act = act,
};
