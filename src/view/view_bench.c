/* SPDX-License-Identifier: MIT */
/*
 * The bench: what to put on now. 50x15 is the first layout; 80x24 adds the table of figures, wide
 * screens the rack and what is left. The six facts of the ten-second test (which figure; which
 * paint and where; how thinned; which key; when the next film is dry; that nothing is wrong) lie
 * in its first rows.
 */
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "app/look.h"
#include "app/nav.h"
#include "app/session.h"
#include "app/lines.h"
#include "app/scene.h"
#include "view/put.h"

#define FIGURE_COLUMN  1
#define MINUTES_COLUMN 22
#define PANEL_COLUMN   47
#define SIDE_COLUMN    82
#define CELL_COLUMNS   5
#define COMPACT_ROWS   11 /* below, first the tools go, then the mix */
#define CAUTION_ROWS   6

static const struct cb_view_key keys[] = {
    {CB_ACTION_UNDO, CB_ACTION_NONE, NULL},      {CB_ACTION_CLIMATE, CB_ACTION_NONE, NULL},
    {CB_ACTION_VIEW_NEXT, CB_ACTION_NONE, NULL}, {CB_ACTION_PAUSE, CB_ACTION_NONE, NULL},
    {CB_ACTION_HELP, CB_ACTION_NONE, NULL},      {CB_ACTION_QUIT, CB_ACTION_NONE, NULL},
    {CB_ACTION_GLANCE, CB_ACTION_NONE, NULL},    {CB_ACTION_COAT_ON_REST, CB_ACTION_NONE, NULL},
    {CB_ACTION_LEAVE_OUT, CB_ACTION_NONE, NULL}, {CB_ACTION_COAT_ADD, CB_ACTION_NONE, NULL},
    {CB_ACTION_NOTE, CB_ACTION_NONE, NULL},      {CB_ACTION_OPEN, CB_ACTION_NONE, NULL},
    {CB_ACTION_NONE, CB_ACTION_NONE, NULL},
};

struct look {
    const struct cb_app *app;
    struct cb_grid *grid;
    const struct cb_scene *scene;
    struct cb_arena *arena;
    bool table, wide;
};

static void draw_head(struct look *look)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    char clock[6], climate[48], right[80];
    cb_time_clock(cb_app_session(look->app)->now.wall_ms, &cb_app_session(look->app)->zone, clock);
    cb_words_climate(&scene->reading.climate, cb_app_session(look->app)->config->fahrenheit,
                     climate);
    snprintf(right, sizeof right, "%s  %s%s", clock, climate, scene->assumed ? "?" : "");
    if (scene->stale) {
        char ago[16];
        cb_words_ago(scene->now_ms - scene->reading.at_ms, ago);
        if (look->table) {
            snprintf(right, sizeof right, "%s  %s, %s", clock, climate, ago);
        } else {
            snprintf(right, sizeof right, "%s room %s", clock, ago);
        }
    }
    if (grid->columns < 48) { /* beside the labels there is room for the clock alone */
        snprintf(right, sizeof right, "%s", clock);
    }
    int width = (int)strlen(right), column = grid->columns - width - 1;
    if (look->table) {
        int used = cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "Bench");
        used +=
            cb_grid_cut(grid, 0, 3 + used, column - used - 14, CB_ROLE_TITLE, scene->unit->name);
        cb_grid_putf(grid, 0, 5 + used, column - used - 6, CB_ROLE_DIM, "%d figure%s%s",
                     scene->unit->figures, scene->unit->figures == 1 ? "" : "s",
                     cb_app_session(look->app)->scratch ? "  scratch log" : "");
    }
    cb_grid_put(grid, 0, column < 0 ? 0 : column, 0, CB_ROLE_DIM, right);
    cb_grid_style(grid, 0, column, 5, CB_ROLE_STRONG);
}

/* The two numbers that are read from afar. */
static void draw_numbers(struct look *look, int row)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    bool narrow = grid->columns < 48;
    int minutes_column = narrow ? 13 : MINUTES_COLUMN;
    int label_row = look->table ? row : 0;
    bool many = scene->proposal.together && scene->proposal.figure_count > 1;
    bool painted = !scene->next || cb_words_painted(scene->next->unit, scene->next->film->stage);
    cb_grid_put(grid, label_row, minutes_column, 9, CB_ROLE_DIM,
                painted ? "NEXT DRY" : "WAITS FOR");
    row = label_row + 1;
    char figure[16] = "-";
    if (scene->proposal.any) {
        cb_lines_figure(scene, figure);
    }
    const int wide = (int)strlen(figure) * (CB_GRID_BIG_COLUMNS + 1);
    const bool whole = FIGURE_COLUMN + wide < minutes_column;
    cb_grid_putf(grid, label_row, FIGURE_COLUMN, minutes_column - 2, CB_ROLE_DIM, "%s%s%s",
                 many ? "FIGURES" : "FIGURE", whole ? "" : " ", whole ? "" : figure);
    if (!whole) { /* the label has them all; from afar the first has to do */
        figure[strcspn(figure, "-")] = '\0';
    }
    cb_grid_big(grid, row, FIGURE_COLUMN, scene->anyway ? CB_ROLE_DIM : CB_ROLE_BIG, figure);
    char digits[16] = "-";
    const char *unit = "";
    if (scene->next) {
        unit = cb_words_left(scene->next->forecast.due_ms - scene->now_ms, digits);
    }
    int used = cb_grid_big(grid, row, minutes_column, CB_ROLE_BIG, digits);
    cb_put_sign(look->app, scene->next, grid, row + CB_GRID_BIG_ROWS / 2, minutes_column,
                CB_ROLE_BIG);
    int column = minutes_column + used + 2, room = grid->columns - column;
    if (look->table && column < PANEL_COLUMN) {
        room = PANEL_COLUMN - column - 1;
    }
    if (!scene->next) {
        cb_grid_wrap(grid, row + 1, column, room, 3, CB_ROLE_DIM,
                     scene->held_count > 0 ? cb_lines_held(look->app, scene, NULL)
                                           : "nothing is wet");
        return;
    }
    char by[8];
    cb_lines_due(look->app, scene->next->film->drying, scene->next->forecast.due_ms, by);
    cb_grid_put(grid, row, column, room, CB_ROLE_STRONG, unit);
    const char *elsewhere = cb_lines_elsewhere(scene, scene->next);
    cb_grid_wrap(grid, row + 1, column, room, elsewhere ? 1 : 2, CB_ROLE_WET,
                 cb_words_paint(scene->next->unit, scene->next->film->stage));
    cb_grid_putf(grid, row + (elsewhere ? 2 : 3), column, room, CB_ROLE_PLAIN, "figure %d%s",
                 scene->next->film->figure, elsewhere ? "," : "");
    if (elsewhere) {
        cb_grid_cut(grid, row + 3, column, room, CB_ROLE_STRONG, elsewhere);
    }
    cb_grid_putf(grid, row + 4, column, room, CB_ROLE_DIM, "at%s", by);
}

static int draw_paint(struct look *look, int row, int column, int columns)
{
    const struct cb_scene *scene = look->scene;
    struct cb_grid *grid = look->grid;
    char *areas = cb_words_areas(look->arena, scene->unit->recipe, scene->stage);
    const char *paint = cb_words_paint(scene->unit, scene->proposal.stage);
    char *mix = cb_words_mix(look->arena, cb_app_session(look->app)->kinds, scene->unit,
                             scene->proposal.stage);
    char *coat = cb_lines_coat(scene, look->arena);
    char *tools = cb_lines_tools(look->app, scene, look->table ? 0x7fff : columns, look->arena);
    const char *on = scene->stage->whole ? "" : "on ";
    if (look->table) {
        row += cb_grid_wrap(grid, row, column, columns, 2, CB_ROLE_PAINT, paint);
        cb_grid_cut(grid, row++, column, columns, CB_ROLE_PLAIN,
                    cb_arena_printf(look->arena, "%s%s", on, areas));
        cb_grid_cut(grid, row++, column, columns, CB_ROLE_PLAIN,
                    cb_arena_printf(look->arena, "%s \u00B7 %s", coat,
                                    cb_technique_name(scene->stage->technique)));
        if (mix[0]) {
            cb_grid_cut(grid, row++, column, columns, CB_ROLE_STRONG, mix);
        }
        row += cb_grid_wrap(grid, row, column, columns, 2, CB_ROLE_DIM, tools);
        return row;
    }
    int used = cb_grid_cut(grid, row, column, columns, CB_ROLE_PAINT, paint);
    cb_grid_cut(grid, row, column + used + 2, columns - used - 2, CB_ROLE_PLAIN,
                cb_arena_printf(look->arena, "%s%s", on, areas));
    if (grid->rows >= COMPACT_ROWS - 1) {
        used = cb_grid_cut(grid, row + 1, column, columns, CB_ROLE_PLAIN, coat);
        cb_grid_cut(grid, row + 1, column + used + 3, columns - used - 3, CB_ROLE_STRONG, mix);
    }
    if (grid->rows >= COMPACT_ROWS) {
        cb_grid_cut(grid, row + 2, column, columns, CB_ROLE_DIM, tools);
    }
    return row + 3;
}

static void draw_space(struct look *look, int row)
{
    struct cb_grid *grid = look->grid;
    const struct cb_nav *nav = cb_app_nav(look->app);
    enum cb_role role;
    char count[24];
    int column = 1;
    const bool counting = cb_nav_is_counting(look->app);
    if (counting) {
        snprintf(count, sizeof count, "%s%.*d ", nav->minus ? "-" : "", nav->digits > 0,
                 nav->count);
        column += cb_grid_put(grid, row, column, 0, CB_ROLE_INPUT, count);
    }
    if (look->scene->proposal.any && cb_app_session(look->app)->writer) {
        column += cb_grid_put(grid, row, column, 0, CB_ROLE_KEY,
                              cb_app_key(look->app, CB_ACTION_COAT_ON));
        column += counting ? cb_grid_put(grid, row, column, 0, CB_ROLE_PLAIN, ": ") : 1;
    }
    int columns = (look->wide ? SIDE_COLUMN - 3 : grid->columns) - column;
    char *text = cb_lines_space(look->app, look->scene, columns, look->arena, &role);
    cb_grid_cut(grid, row, column, 0, role == CB_ROLE_PLAIN ? CB_ROLE_STRONG : role, text);
}

static void draw_answer(struct look *look, int row)
{
    struct cb_grid *grid = look->grid;
    char *text = cb_lines_answer(look->app, look->scene, look->arena);
    if (!text) {
        return;
    }
    const struct cb_nav *nav = cb_app_nav(look->app);
    int column = 1;
    const bool counted = nav->count > 0 && !nav->minus;
    if (counted) {
        column += cb_grid_putf(grid, row, column, 0, CB_ROLE_INPUT, "%d ", nav->count);
    }
    column += cb_grid_put(grid, row, column, 0, CB_ROLE_KEY, cb_app_key(look->app, CB_ACTION_DRY));
    column += cb_grid_put(grid, row, column, 0, CB_ROLE_PLAIN, counted ? ": " : " = ");
    column += cb_grid_cut(grid, row, column, 0, CB_ROLE_PLAIN, text);
    column += cb_grid_put(grid, row, column, 0, CB_ROLE_PLAIN, "; ");
    column += cb_grid_put(grid, row, column, 0, CB_ROLE_KEY, cb_app_key(look->app, CB_ACTION_WET));
    column += cb_grid_put(
        grid, row, column, 0, CB_ROLE_PLAIN,
        cb_words_painted(look->scene->focus->unit, look->scene->focus->film->stage) ? " still wet"
                                                                                    : " not yet");
    if (look->table) {
        int room = (look->wide ? SIDE_COLUMN - 2 : grid->columns) - column - 4;
        cb_put_film(look->app, look->scene, look->scene->focus, grid, row, column + 3,
                    room < 1 ? 1 : room, CB_ROLE_DIM);
    }
}

static void draw_status(struct look *look, int row)
{
    enum cb_role role;
    char *text = cb_lines_status(look->app, look->scene, look->arena, &role);
    cb_grid_cut(look->grid, row, 1, look->grid->columns - 2, role, text);
}

/* The status line has room for the worst of them: it is not said twice. */
static bool in_status(struct look *look, const struct cb_gate *gate)
{
    enum cb_role role;
    char *status = cb_lines_status(look->app, look->scene, look->arena, &role);
    return strcmp(status, gate->text) == 0 && cb_utf8_text_width(status) <= look->grid->columns - 2;
}

static bool has_warnings(struct look *look)
{
    for (size_t i = 0; i < look->scene->gates.count; i++) {
        if (!in_status(look, &look->scene->gates.items[i])) {
            return true;
        }
    }
    return look->scene->caution_count > 0;
}

/* What must be read before the stage: cautions in full, warnings of the air. The rows used. */
static int draw_warnings(struct look *look, int row, int rows)
{
    const struct cb_scene *scene = look->scene;
    struct cb_grid *grid = look->grid;
    int from = row, end = row + rows;
    for (size_t i = 0; i < scene->caution_count && row < end; i++) {
        const struct cb_caution *caution = &scene->cautions[i];
        if (scene->caution_read[i]) {
            cb_grid_put(grid, row, 1, 2, CB_ROLE_WARN, "! ");
            cb_grid_cut(grid, row++, 3, grid->columns - 4, CB_ROLE_WARN, caution->brief);
        } else {
            cb_grid_put(grid, row, 1, 2, CB_ROLE_WARN, "! ");
            row += cb_grid_wrap(grid, row, 3, grid->columns - 4, end - row, CB_ROLE_WARN,
                                caution->text);
        }
    }
    for (size_t i = 0; i < scene->gates.count && row < end; i++) {
        const struct cb_gate *gate = &scene->gates.items[i];
        if (in_status(look, gate)) {
            continue;
        }
        enum cb_role role = gate->level == CB_GATE_NOTE ? CB_ROLE_PLAIN : CB_ROLE_WARN;
        cb_grid_put(grid, row, 1, 2, role, gate->level == CB_GATE_NOTE ? "\u00B7 " : "! ");
        row += cb_grid_wrap(grid, row, 3, grid->columns - 4, end - row, role, gate->text);
    }
    return row - from;
}

static enum cb_words_state state_of(struct look *look, int figure, struct cb_slot *slot)
{
    int stage = look->scene->proposal.any
                    ? look->scene->proposal.stage
                    : cb_bench_facts(cb_app_session(look->app)->bench).last_stage;
    *slot = (struct cb_slot){.state = CB_SLOT_NONE};
    if (stage < 1 || stage > (int)look->scene->unit->recipe->stage_count) {
        stage = 1;
    }
    return cb_scene_state(cb_app_session(look->app)->bench, cb_app_session(look->app)->learn,
                          look->scene->unit, figure, stage, look->scene->now_ms, slot);
}

static bool in_proposal(const struct cb_scene *scene, int figure)
{
    if (!scene->proposal.any) {
        return false;
    }
    if (!scene->proposal.together) {
        return figure == scene->proposal.figure;
    }
    for (int i = 0; i < scene->proposal.figure_count; i++) {
        if (scene->proposal.figures[i] == figure) {
            return true;
        }
    }
    return false;
}

/* All figures in two rows: number, and state as symbol, word and colour. */
static void draw_cells(struct look *look, int row)
{
    struct cb_grid *grid = look->grid;
    for (int figure = 1; figure <= look->scene->unit->figures; figure++) {
        struct cb_slot slot;
        const struct cb_words_look *looks = &cb_words_looks[state_of(look, figure, &slot)];
        int column = (figure - 1) * CELL_COLUMNS;
        bool focus = in_proposal(look->scene, figure);
        cb_grid_putf(grid, row, column, CELL_COLUMNS, focus ? CB_ROLE_FOCUS : CB_ROLE_PLAIN,
                     focus ? "[%d]" : " %d ", figure);
        int used = cb_grid_put(grid, row + 1, column, 1, looks->role, looks->symbol);
        cb_grid_put(grid, row + 1, column + used, CELL_COLUMNS - used, looks->role, looks->brief);
    }
}

/* More figures than cells: by state, as ranges. */
static void draw_ranges(struct look *look, int row, int rows)
{
    int lists[CB_STATE_COUNT][CB_FIGURES_MAX];
    size_t counts[CB_STATE_COUNT] = {0};
    for (int figure = 1; figure <= look->scene->unit->figures; figure++) {
        struct cb_slot slot;
        enum cb_words_state state = state_of(look, figure, &slot);
        lists[state][counts[state]++] = figure;
    }
    int column = 1, end = row + rows;
    for (int state = 0; state < CB_STATE_COUNT && row < end; state++) {
        if (counts[state] == 0) {
            continue;
        }
        const struct cb_words_look *looks = &cb_words_looks[state];
        char *text = cb_arena_printf(look->arena, "%s %s %s", looks->symbol, looks->word,
                                     cb_words_figures(look->arena, lists[state], counts[state]));
        int width = (int)strlen(text);
        if (column > 1 && column + width >= look->grid->columns) {
            column = 1;
            row++;
        }
        if (row < end) {
            column += cb_grid_cut(look->grid, row, column, 0, looks->role, text) + 3;
        }
    }
}

/* On a small screen: one row, where the key line can say how to take it back; else two, broken
 * before its last clause where that fits. Returns its first row; the last is above `row`. */
static int draw_message(struct look *look, int row, int rows, enum cb_role role, char *message)
{
    int columns = look->grid->columns - 2;
    if (cb_utf8_text_width(message) <= columns || rows < 2) {
        cb_grid_cut(look->grid, row - 1, 1, columns, role, message);
        return row - 1;
    }
    char *cut = NULL;
    for (char *at = message; *at; at++) {
        if ((*at == ';' || *at == ',') && at[1] == ' ') {
            cut = at;
        }
    }
    if (cut) {
        char after = cut[1];
        cut[1] = '\0';
        bool fits = cb_utf8_text_width(message) <= columns;
        bool undo = strstr(cut + 2, "takes it back") != NULL;
        if (fits && undo) {
            cut[0] = '\0';
            cb_grid_cut(look->grid, row - 1, 1, columns, role, message);
            return row - 1;
        }
        if (fits && cb_utf8_text_width(cut + 2) <= columns) {
            cb_grid_cut(look->grid, row - 2, 1, columns, role, message);
            cb_grid_cut(look->grid, row - 1, 1, columns, role, cut + 2);
            return row - 2;
        }
        cut[1] = after;
    }
    cb_grid_wrap(look->grid, row - 2, 1, columns, 2, role, message);
    return row - 2;
}

/* One row for whatever matters most. */
static void draw_last(struct look *look, int row)
{
    enum cb_role role;
    char *text = cb_lines_message(look->app, look->scene, look->arena, &role);
    if (cb_scene_unread(look->scene)) {
        cb_grid_cut(look->grid, row, 1, look->grid->columns - 2, CB_ROLE_WARN,
                    "! a caution: make the window larger");
    } else if (text[0]) {
        cb_grid_cut(look->grid, row, 1, look->grid->columns - 2, role, text);
    } else {
        draw_status(look, row);
    }
}

static void draw_compact(struct look *look)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    int rows = grid->rows;
    draw_head(look);
    draw_numbers(look, 0);
    int row = 6;
    if (!scene->proposal.any) {
        cb_grid_cut(grid, row, 1, 0, CB_ROLE_PAINT, scene->unit->name);
    } else {
        draw_paint(look, row, 1, grid->columns - 2);
    }
    if (rows < COMPACT_ROWS) { /* what is left when nearly nothing fits: the key */
        draw_space(look, rows < COMPACT_ROWS - 1 ? 7 : 8);
        if (rows > 8) {
            draw_last(look, rows - 1);
        }
        return;
    }
    draw_space(look, 9);
    draw_status(look, 10);
    enum cb_role role;
    char *message = cb_lines_message(look->app, scene, look->arena, &role);
    bool warn = has_warnings(look);
    int bottom = rows - 1;
    if (rows >= 12) {
        cb_put_keys(look->app, keys, grid, rows - 1, 1);
    }
    if (cb_scene_unread(scene)) { /* a caution stands in full, whatever else there was to say */
        int needs = 0;
        for (size_t i = 0; i < scene->caution_count; i++) {
            needs += scene->caution_read[i]
                         ? 1
                         : cb_grid_rows_of(scene->cautions[i].text, grid->columns - 4);
        }
        int from = needs > bottom - 10 ? 9 : 10; /* the tools give way */
        cb_grid_fill(grid, from - 1, 0, bottom - from + 1, grid->columns, CB_ROLE_PLAIN, ' ');
        draw_space(look, from - 1);
        draw_warnings(look, from, bottom - from);
        if (cb_app_look(look->app)->flash[0]) { /* yet a key is never without an answer */
            cb_grid_fill(grid, rows - 1, 0, 1, grid->columns, CB_ROLE_PLAIN, ' ');
            cb_grid_cut(grid, rows - 1, 1, grid->columns - 2, CB_ROLE_WARN,
                        cb_app_look(look->app)->flash);
        }
        return;
    }
    if (message[0]) {
        int end = rows >= 12 ? rows - 1 : rows;
        bottom = draw_message(look, end, end >= 14 ? 2 : 1, role, message);
    }
    if (warn && bottom > 11) {
        draw_warnings(look, 11, bottom - 11);
        return;
    }
    char *room = message[0] || rows < 16 ? NULL : cb_lines_room(look->app, scene, look->arena);
    if (room) {
        cb_grid_cut(grid, rows - 2, 1, grid->columns - 2, CB_ROLE_PLAIN, room);
    }
    if (bottom >= 13) {
        if (scene->unit->figures * CELL_COLUMNS <= grid->columns) {
            draw_cells(look, 11);
        } else {
            draw_ranges(look, 11, 2);
        }
    }
    if (bottom >= 14) {
        draw_answer(look, 13);
    }
}

/* "stage 5 of 16, Edges" */
static void draw_stage(struct look *look, int row, int columns)
{
    const struct cb_scene *scene = look->scene;
    if (scene->stage) {
        cb_grid_cut(look->grid, row, 1, columns, CB_ROLE_DIM,
                    cb_arena_printf(look->arena, "stage %d of %zu, %s", scene->proposal.stage,
                                    scene->unit->recipe->stage_count, scene->stage->name));
    }
}

/* At most ten columns: minutes where they fit. */
static void short_span(int64_t left_ms, char out[32])
{
    cb_words_span(left_ms, out);
    if (strlen(out) > 10) {
        snprintf(out, 32, "%d h", (int)((left_ms + 60 * CB_MS_PER_MIN - 1) / (60 * CB_MS_PER_MIN)));
    }
}

static void draw_table_row(struct look *look, int row, int columns, int figure)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    struct cb_slot slot;
    const struct cb_words_look *looks = &cb_words_looks[state_of(look, figure, &slot)];
    bool focus = in_proposal(scene, figure);
    cb_grid_putf(grid, row, 1, 5, focus ? CB_ROLE_FOCUS : CB_ROLE_PLAIN, focus ? "[%2d]" : " %2d ",
                 figure);
    int used = cb_grid_put(grid, row, 7, 2, looks->role, looks->symbol);
    cb_grid_put(grid, row, 7 + used + 1, 11, looks->role, looks->word);
    const struct cb_film *film = cb_scene_last_film(scene->unit, figure);
    if (!film) {
        cb_grid_put(grid, row, 21, 20, CB_ROLE_DIM, "nothing yet");
        return;
    }
    int coats = cb_bench_coats(scene->unit, figure, film->stage);
    char coat[32] = "";
    if (coats > 1) {
        snprintf(coat, sizeof coat, " %d of %d", film->coat, coats);
    }
    used = cb_grid_cut(grid, row, 21, 25 - (int)strlen(coat), CB_ROLE_PLAIN,
                       cb_words_paint(scene->unit, film->stage));
    cb_grid_put(grid, row, 21 + used, 0, CB_ROLE_DIM, coat);
    for (size_t i = 0; i < scene->film_count; i++) {
        if (scene->films[i].film == film) {
            const struct cb_forecast *forecast = &scene->films[i].forecast;
            if (!forecast->held && !forecast->dry && forecast->due_ms != CB_TIME_NONE) {
                char span[32], usually[8] = "", by[8];
                short_span(forecast->due_ms - scene->now_ms, span);
                cb_lines_due(look->app, film->drying, forecast->due_ms, by);
                if (forecast->median_ms != CB_TIME_NONE &&
                    cb_words_painted(scene->unit, film->stage)) {
                    cb_lines_due(look->app, film->drying, forecast->median_ms, usually);
                }
                cb_put_sign(look->app, &scene->films[i], grid, row, 47, CB_ROLE_WET);
                cb_grid_putf(grid, row, 47, columns - 47, CB_ROLE_WET, "%-10s%6s   %6s", span,
                             usually, by);
            } else {
                cb_put_film(look->app, scene, &scene->films[i], grid, row, 47, columns - 47,
                            CB_ROLE_DIM);
            }
            return;
        }
    }
    cb_grid_put(grid, row, 47, columns - 47, CB_ROLE_DIM,
                cb_words_painted(scene->unit, film->stage) && !film->before ? "dry" : "done");
}

static void draw_table(struct look *look, int row, int rows, int columns)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    cb_grid_fill(grid, row, 1, 1, columns - 2, CB_ROLE_RULE, 0x2500);
    cb_grid_put(grid, row, 2, 0, CB_ROLE_DIM, " FIG ");
    cb_grid_put(grid, row, 8, 0, CB_ROLE_DIM, " STATE ");
    cb_grid_put(grid, row, 20, 0, CB_ROLE_DIM, " LAST COAT ");
    cb_grid_put(grid, row, 46, 0, CB_ROLE_DIM, " DRY IN ");
    cb_grid_put(grid, row, 56, 0, CB_ROLE_DIM, " USUALLY ");
    cb_grid_put(grid, row, 66, columns - 67, CB_ROLE_DIM, " RINGS ");
    int figures = scene->unit->figures, first = 1, room = rows - 1;
    if (figures > room) { /* the one at hand, with some before it */
        first = scene->proposal.figure - room / 3;
        first = first > figures - room + 1 ? figures - room + 1 : first;
        first = first < 1 ? 1 : first;
    }
    for (int i = 0; i < room && first + i <= figures; i++) {
        draw_table_row(look, row + 1 + i, columns, first + i);
    }
}

/* Wide screens: what is drying anywhere, and what is left. */
static void draw_side(struct look *look, int row, int rows)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    int column = SIDE_COLUMN, columns = grid->columns - column - 1, end = row + rows;
    for (int r = row; r < end; r++) {
        cb_grid_put(grid, r, column - 2, 1, CB_ROLE_RULE, "\u2502");
    }
    cb_grid_put(grid, row++, column, columns, CB_ROLE_DIM, "RACK");
    int shown = 0, most = rows / 2 - 2;
    for (size_t i = 0; i < scene->film_count && shown < most; i++) {
        const struct cb_scene_film *film = &scene->films[i];
        if (film->forecast.dry) {
            continue;
        }
        char by[8] = " waits";
        if (!film->forecast.held && film->forecast.due_ms != CB_TIME_NONE) {
            cb_lines_due(look->app, film->film->drying, film->forecast.due_ms, by);
        }
        enum cb_words_state state = film->forecast.held ? CB_STATE_HELD
                                    : cb_words_painted(film->unit, film->film->stage)
                                        ? CB_STATE_WET
                                        : CB_STATE_WAITS;
        cb_grid_putf(grid, row, column, columns, cb_words_looks[state].role, "%s%s",
                     cb_words_looks[state].symbol, by);
        cb_grid_putf(grid, row, column + 8, 3, CB_ROLE_PLAIN, "%2d", film->film->figure);
        const char *elsewhere = cb_lines_elsewhere(scene, film);
        cb_grid_cut(grid, row, column + 12, columns - 12, CB_ROLE_PLAIN,
                    cb_arena_printf(look->arena, "%s%s%s",
                                    cb_words_paint(film->unit, film->film->stage),
                                    elsewhere ? ", " : "", elsewhere ? elsewhere : ""));
        row++;
        shown++;
    }
    if (shown == 0) {
        cb_grid_put(grid, row++, column, columns, CB_ROLE_DIM, "nothing is wet");
    } else if (scene->wet_count > (size_t)shown) {
        cb_grid_putf(grid, row++, column, columns, CB_ROLE_DIM, "and %zu more",
                     scene->wet_count - (size_t)shown);
    }
    row++;
    cb_grid_put(grid, row++, column, columns, CB_ROLE_DIM, "WHAT IS LEFT");
    const struct cb_unit *unit = scene->unit;
    for (size_t s = 0; s < unit->recipe->stage_count && row < end; s++) {
        int wanted = 0, on = 0;
        for (int figure = 1; figure <= unit->figures; figure++) {
            wanted += cb_bench_coats(unit, figure, (int)s + 1);
            on += cb_bench_coats_on(unit, figure, (int)s + 1);
        }
        if (wanted == 0) {
            continue;
        }
        bool now = scene->proposal.any && scene->proposal.stage == (int)s + 1;
        bool done = on >= wanted;
        enum cb_words_state state = done ? CB_STATE_DONE : now ? CB_STATE_READY : CB_STATE_LATER;
        cb_grid_put(grid, row, column, 2, cb_words_looks[state].role, cb_words_looks[state].symbol);
        cb_grid_cut(grid, row, column + 2, columns - 12, now ? CB_ROLE_STRONG : CB_ROLE_PLAIN,
                    unit->recipe->stages[s].name);
        if (done) {
            cb_grid_put(grid, row, column + columns - 9, 9, CB_ROLE_DONE, "done");
        } else {
            cb_grid_putf(grid, row, column + columns - 9, 9, CB_ROLE_DIM, "%d of %d", on, wanted);
        }
        row++;
    }
}

static void draw_full(struct look *look)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    int columns = look->wide ? SIDE_COLUMN - 2 : grid->columns;
    draw_head(look);
    draw_numbers(look, 1);
    if (scene->proposal.any) {
        draw_paint(look, 1, PANEL_COLUMN, columns - PANEL_COLUMN - 1);
    }
    draw_stage(look, 7, PANEL_COLUMN - 3);
    draw_space(look, 8);
    draw_answer(look, 9);
    draw_status(look, 10);
    int row = 11, bottom = grid->rows - 2;
    bool said = false;
    if (has_warnings(look)) {
        row++;
        row += draw_warnings(look, row, CAUTION_ROWS) + 1;
    } else if (scene->stage && scene->stage->say && bottom - row > scene->unit->figures + 2) {
        said = true;
        row++;
        row += cb_grid_wrap(grid, row, 1, columns - 2, 2, CB_ROLE_PLAIN, scene->stage->say) + 1;
    } else if (bottom - row > scene->unit->figures + 1) {
        row++;
    }
    draw_table(look, row, bottom - row, columns);
    if (look->wide) {
        draw_side(look, 1, grid->rows - 3);
    }
    enum cb_role role;
    char *message = cb_lines_message(look->app, scene, look->arena, &role);
    char *room = message[0] ? NULL : cb_lines_room(look->app, scene, look->arena);
    if (room) {
        message = room;
    } else if (!message[0] && !said && scene->stage && scene->stage->say) {
        message = cb_arena_text(look->arena, scene->stage->say);
        role = CB_ROLE_DIM;
    }
    cb_grid_cut(grid, bottom, 1, grid->columns - 2, role, message);
    cb_put_keys(look->app, keys, grid, grid->rows - 1, 1);
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    struct look look = {
        .app = app,
        .grid = grid,
        .scene = cb_app_scene(app),
        .arena = &arena,
        .table = grid->columns >= 76 && grid->rows >= 20,
        .wide = grid->columns >= 112 && grid->rows >= 30,
    };
    if (look.scene->unit) {
        if (look.table) {
            draw_full(&look);
        } else {
            draw_compact(&look);
        }
    }
    cb_arena_fini(&arena);
}

const struct cb_view cb_view_bench = {
    .name = "bench",
    .opens = CB_ACTION_VIEW_BENCH,
    .flags = CB_VIEW_TURNS | CB_VIEW_MARKS_COATS | CB_VIEW_NEEDS_UNIT,
    .keys = keys,
    .draw = draw,
};
