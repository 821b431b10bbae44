/* SPDX-License-Identifier: MIT */
/* The board of wide screens: figures by stages. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/lines.h"
#include "app/road.h"
#include "app/session.h"
#include "base/utf8.h"
#include "view/bench_parts.h"
#include "view/road_line.h"

#define NAME_COLUMNS 22 /* as a rule */
#define LEFT_COLUMNS 11
#define NAMES_LEFT   3
#define CELLS_LEFT   (NAMES_LEFT + NAME_COLUMNS + 1)
#define CELL_MOST    3
#define NEXT_MIN     120 /* of the plan, beside who has what */
#define NEXT_COLUMNS 40  /* three minutes each */
#define NEXT_LEAST   24  /* five; with fewer it is left out */

enum cell { CELL_DONE, CELL_WET, CELL_READY, CELL_WAITS, CELL_PARKED, CELL_NOT, CELL_COUNT };
static const struct {
    enum cb_words_state look;
    const char *symbol, *word;
} cells[CELL_COUNT] = {
    [CELL_DONE] = {CB_STATE_DONE, "\u2713", "done"},
    [CELL_WET] = {CB_STATE_WET, "\u2248", "wet"},
    [CELL_READY] = {CB_STATE_READY, "\u25B8", "ready"},
    [CELL_WAITS] = {CB_STATE_LATER, "\u00B7", "waits"},
    [CELL_PARKED] = {CB_STATE_PARKED, "\u00D7", "parked"},
    [CELL_NOT] = {CB_STATE_NONE, "-", "not for this one"},
};

/* Is a coat of that stage wet on the figure? */
static bool is_wet(const struct cb_scene *scene, int figure, int stage)
{
    for (size_t i = 0; i < scene->film_count; i++) {
        const struct cb_scene_film *row = &scene->films[i];
        if (row->unit == scene->unit && row->film->figure == figure && row->film->stage == stage &&
            !row->forecast.dry) {
            return true;
        }
    }
    return false;
}

static enum cell cell_of(const struct cb_bench_look *look, int figure, int stage)
{
    const struct cb_session *session = cb_app_session(look->app);
    const struct cb_unit *unit = look->scene->unit;
    if (is_wet(look->scene, figure, stage)) {
        return CELL_WET;
    }
    const struct cb_slot slot =
        cb_next_slot(session->bench, session->learn, unit, figure, stage, look->scene->now_ms);
    switch (slot.state) {
    case CB_SLOT_DONE:
        return CELL_DONE;
    case CB_SLOT_READY:
        return CELL_READY;
    case CB_SLOT_WET:
    case CB_SLOT_BESIDE:
    case CB_SLOT_WAITS:
    case CB_SLOT_TOGETHER:
        return CELL_WAITS;
    case CB_SLOT_PARKED:
        return CELL_PARKED;
    case CB_SLOT_NONE:
        return CELL_NOT;
    }
    return CELL_NOT;
}

struct board {
    int cell;               /* columns of a figure */
    int names;              /* of the stages' names */
    int cells;              /* where the figures begin */
    int next, next_columns; /* where the next two hours begin; 0: no room, or nothing to come */
    struct cb_road_line line;
};

/* As wide as the next two hours leave room for. */
static int cell_width(int room, int figures, bool next)
{
    const int left = room - NEXT_LEAST - 2;
    const int cell = (next && left >= figures ? left : room) / figures;
    return cell > CELL_MOST ? CELL_MOST : cell < 1 ? 1 : cell;
}

static void lay_next(struct board *board, int columns)
{
    static const int places[] = {1, 2, 3, 4, 5};
    struct cb_road_evening *tonight = &board->line.evenings[0];
    size_t i = 0;
    while (i + 1 < sizeof places / sizeof *places && NEXT_MIN / places[i] > columns) {
        i++;
    }
    tonight->to_min = fmin(tonight->to_min, tonight->from_min + NEXT_MIN);
    cb_road_line_cut(&board->line, places[i]);
    board->next_columns = board->line.columns;
}

/* Longer names are given what the figures leave. */
static struct board board_of(const struct cb_bench_look *look)
{
    const struct cb_unit *unit = look->scene->unit;
    const int room = look->grid->columns - CELLS_LEFT - LEFT_COLUMNS - 2;
    const struct cb_road *road = cb_app_road(look->app);
    const bool next = road && road->plan.task_count > 0;
    const int cell = cell_width(room, unit->figures, next);
    const int beside = room - unit->figures * cell - 2;
    int longest = NAME_COLUMNS;
    for (size_t i = 0; i < unit->recipe->stage_count; i++) {
        const int own = cb_utf8_text_width(unit->recipe->stages[i].name);
        longest = own > longest ? own : longest;
    }
    const bool drawn = next && beside >= NEXT_LEAST;
    int spare = room - unit->figures * cell;
    spare -= !drawn ? 0 : beside > NEXT_COLUMNS ? NEXT_COLUMNS + 2 : beside + 2;
    spare = spare > 0 ? spare : 0;
    const int more = longest - NAME_COLUMNS < spare ? longest - NAME_COLUMNS : spare;
    struct board board = {.cell = cell, .names = NAME_COLUMNS + more, .cells = CELLS_LEFT + more};
    if (drawn) {
        board.next = board.cells + unit->figures * cell + 1;
        board.line = cb_road_line_of(look->app, false, look->arena);
        lay_next(&board, beside - more);
    }
    return board;
}

struct to_do {
    double minutes; /* of work, as the recipe has them, on figures that are not parked */
    int wanted;     /* coats in all */
    bool parked;    /* a parked figure lacks some */
};

static struct to_do to_do_at(const struct cb_bench_look *look, int stage)
{
    const struct cb_unit *unit = look->scene->unit;
    const struct cb_stage *row = &unit->recipe->stages[stage - 1];
    struct to_do to_do = {0};
    int left = 0, whom = 0;
    for (int figure = 1; figure <= unit->figures; figure++) {
        const int coats = cb_bench_coats(unit, figure, stage);
        const int on = cb_bench_coats_on(unit, figure, stage);
        to_do.wanted += coats;
        if (unit->figure[figure].parked) {
            to_do.parked = to_do.parked || coats > on;
            continue;
        }
        whom += coats > 0;
        left += coats > on ? coats - on : 0;
    }
    double goes = left;
    if (row->together > 0 && whom > 0) {
        goes = ceil((double)left / (row->together < whom ? row->together : whom));
    }
    to_do.minutes = goes * cb_stage_minutes(row, cb_app_session(look->app)->kinds);
    return to_do;
}

static const char *span_of(const struct cb_bench_look *look, double minutes)
{
    char text[32];
    cb_time_span((int64_t)ceil(minutes) * CB_MS_PER_MIN, text);
    return minutes < 1.5 ? "1 min" : cb_arena_text(look->arena, text);
}

static void put_head(const struct cb_bench_look *look, int row, const struct board *board)
{
    struct cb_grid *grid = look->grid;
    cb_grid_fill(grid, row, 1, 1, grid->columns - 2, CB_ROLE_RULE, 0x2500);
    cb_grid_put(grid, row, 2, 0, CB_ROLE_DIM, " STAGE ");
    cb_grid_put(grid, row, board->cells - 1, 0, CB_ROLE_DIM, " ");
    for (int figure = 1; figure <= look->scene->unit->figures; figure++) {
        const int column = board->cells + (figure - 1) * board->cell;
        if (board->cell == CELL_MOST || figure == 1 || figure % 5 == 0) {
            cb_grid_putf(grid, row, column, 0, CB_ROLE_DIM,
                         board->cell == CELL_MOST ? "%-3d" : "%d ", figure);
        }
    }
    if (board->next > 0) {
        cb_grid_put(grid, row, board->next - 1, 1, CB_ROLE_DIM, " ");
        cb_road_line_clock(look->app, &board->line, 0, grid, row, board->next, board->next_columns);
    }
    cb_grid_put(grid, row, grid->columns - 8, 0, CB_ROLE_DIM, " TO DO ");
}

static void put_stage(const struct cb_bench_look *look, int row, int stage,
                      const struct board *board)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    const bool now = scene->proposal.any && scene->proposal.stage == stage;
    const struct to_do left = to_do_at(look, stage);
    if (now) {
        cb_grid_put(grid, row, 1, 1, CB_ROLE_STRONG, ">");
    }
    cb_grid_cut(grid, row, NAMES_LEFT, board->names,
                now                 ? CB_ROLE_STRONG
                : left.minutes <= 0 ? CB_ROLE_DONE
                                    : CB_ROLE_PLAIN,
                scene->unit->recipe->stages[stage - 1].name);
    for (int figure = 1; figure <= scene->unit->figures; figure++) {
        const enum cell what = cell_of(look, figure, stage);
        cb_grid_put(grid, row, board->cells + (figure - 1) * board->cell, 1,
                    cb_words_looks[cells[what].look].role, cells[what].symbol);
    }
    if (board->next > 0) {
        cb_road_line_draw(&board->line, stage - 1, 0, grid, row, board->next, board->next_columns);
    }
    const char *text = left.wanted == 0   ? "left out"
                       : left.minutes > 0 ? span_of(look, left.minutes)
                       : left.parked      ? "parked"
                                          : "done";
    cb_grid_putf(grid, row, grid->columns - LEFT_COLUMNS - 1, 0,
                 left.minutes <= 0 ? CB_ROLE_DONE : CB_ROLE_PLAIN, "%*s", LEFT_COLUMNS - 1, text);
}

static bool has_parked(const struct cb_unit *unit)
{
    for (int figure = 1; figure <= unit->figures; figure++) {
        if (unit->figure[figure].parked) {
            return true;
        }
    }
    return false;
}

static void put_legend(const struct cb_bench_look *look, int row, const struct board *board,
                       double left)
{
    struct cb_grid *grid = look->grid;
    int column = board->next > 0 ? NAMES_LEFT : CELLS_LEFT;
    for (int i = 0; i < CELL_COUNT; i++) {
        if (i == CELL_PARKED && !has_parked(look->scene->unit)) {
            continue;
        }
        const enum cb_role role = cb_words_looks[cells[i].look].role;
        column += cb_grid_put(grid, row, column, 0, role, cells[i].symbol) + 1;
        column += cb_grid_put(grid, row, column, 0, CB_ROLE_DIM, cells[i].word) + 3;
    }
    if (board->next > 0) {
        column += cb_grid_put(grid, row, column, 0, CB_ROLE_STRONG,
                              cb_time_sign_text(CB_TIME_SIGN_WORK, grid->ascii)) +
                  1;
        column += cb_grid_put(grid, row, column, 0, CB_ROLE_DIM, "hands-on") + 3;
        column += cb_grid_put(grid, row, column, 0, CB_ROLE_WET,
                              cb_time_sign_text(CB_TIME_SIGN_DRIES, grid->ascii)) +
                  1;
        cb_grid_put(grid, row, column, 0, CB_ROLE_DIM, "drying");
    }
    if (left > 0) {
        cb_grid_putf(look->grid, row, look->grid->columns - LEFT_COLUMNS - 9, 0, CB_ROLE_STRONG,
                     "in all  %*s", LEFT_COLUMNS - 1, span_of(look, left));
    }
}

void cb_bench_draw_board(struct cb_bench_look *look, int row, int rows)
{
    const struct cb_scene *scene = look->scene;
    const int stages = (int)scene->unit->recipe->stage_count;
    const int room = rows - 2; /* the heading, and what the signs mean */
    const struct board board = board_of(look);
    if (room < 1) {
        return;
    }
    int first = 1;
    if (stages > room) { /* the one at hand, with some before it */
        first = scene->proposal.stage - room / 3;
        first = first > stages - room + 1 ? stages - room + 1 : first;
        first = first < 1 ? 1 : first;
    }
    put_head(look, row, &board);
    double left = 0;
    for (int stage = 1; stage <= stages; stage++) {
        left += to_do_at(look, stage).minutes;
        if (stage >= first && stage < first + room) {
            put_stage(look, row + 1 + stage - first, stage, &board);
        }
    }
    put_legend(look, row + 1 + (stages < room ? stages : room), &board, left);
}
