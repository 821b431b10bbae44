/* SPDX-License-Identifier: MIT */
/* All figures at the stage in hand: the strip, and the table of equal rows joined. */
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "app/lines.h"
#include "app/session.h"
#include "view/bench_parts.h"
#include "view/put.h"

#define CELL_COLUMNS 5 /* at least; a blank more where it has room */
#define CELL_GAP     2
#define STRIP_ROWS   2
/* The table's columns, from its first. */
#define STATE_LEFT   6
#define COAT_LEFT    22
#define SPAN_LEFT    47
#define USUAL_LEFT   58
#define RINGS_LEFT   67
#define SPAN_COLUMNS 10
/* Where there is no last coat. */
#define SMALL_SPAN_LEFT    36
#define SMALL_RINGS_LEFT   43
#define SMALL_SPAN_COLUMNS 6

/* Of which the figures' states are shown. */
static int stage_of(struct cb_bench_look *look)
{
    const struct cb_scene *scene = look->scene;
    const int stage = scene->proposal.any
                          ? scene->proposal.stage
                          : cb_bench_facts(cb_app_session(look->app)->bench).last_stage;
    return stage < 1 || stage > (int)scene->unit->recipe->stage_count ? 1 : stage;
}

static enum cb_words_state state_of(struct cb_bench_look *look, int figure)
{
    const struct cb_scene *scene = look->scene;
    const struct cb_session *session = cb_app_session(look->app);
    return cb_scene_state(session->bench, session->learn, scene->unit, figure, stage_of(look),
                          scene->now_ms, NULL);
}

static bool in_proposal(const struct cb_scene *scene, int figure)
{
    const struct cb_proposal *proposal = &scene->proposal;
    const int count = proposal->together ? proposal->figure_count : 1;
    for (int i = 0; proposal->any && i < count; i++) {
        if ((proposal->together ? proposal->figures[i] : proposal->figure) == figure) {
            return true;
        }
    }
    return !proposal->any && scene->hand.figure == figure;
}

/* "4", "[4]", "8-20" */
static const char *cell_name(struct cb_bench_look *look, int first, int last, bool focus)
{
    return last == first ? cb_arena_printf(look->arena, focus ? "[%d]" : " %d", first)
                         : cb_arena_printf(look->arena, focus ? "[%d-%d]" : " %d-%d", first, last);
}

static int cell_width(const char *name, const struct cb_words_look *looks)
{
    const int state = 1 + (int)strlen(looks->brief), own = (int)strlen(name);
    return own > state ? own : state;
}

/* Cells of that width; 0: as wide as need be, equal ones joined. The column after; with draw false
 * it only measures. */
static int put_cells(struct cb_bench_look *look, int row, int column, int width, bool draw)
{
    struct cb_grid *grid = look->grid;
    const int figures = look->scene->unit->figures;
    for (int first = 1, last; first <= figures; first = last + 1) {
        const enum cb_words_state state = state_of(look, first);
        const bool focus = in_proposal(look->scene, first);
        last = first;
        while (width == 0 && last < figures && state_of(look, last + 1) == state &&
               in_proposal(look->scene, last + 1) == focus) {
            last++;
        }
        const struct cb_words_look *looks = &cb_words_looks[state];
        const char *name = cell_name(look, first, last, focus);
        if (draw) {
            cb_grid_put(grid, row, column, 0, focus ? CB_ROLE_FOCUS : CB_ROLE_PLAIN, name);
            const int used = cb_grid_put(grid, row + 1, column, 1, looks->role, looks->symbol);
            cb_grid_put(grid, row + 1, column + used, CELL_COLUMNS - used, looks->role,
                        looks->brief);
        }
        column += width > 0 ? width : cell_width(name, looks) + CELL_GAP;
    }
    return column;
}

/* A part of the two rows from `row` on: where it fits next. false: nowhere. */
struct strip_at {
    int row, end, column;
};
static bool fit(const struct cb_grid *grid, struct strip_at *at, int width)
{
    if (at->column > 1 && at->column + width >= grid->columns) {
        at->column = 1;
        at->row++;
    }
    return at->row < at->end && at->column + width <= grid->columns;
}

/* The figures in brackets, then each state with all its others; whether that fits. */
static bool put_ranges(struct cb_bench_look *look, int row, bool draw)
{
    struct cb_grid *grid = look->grid;
    int lists[CB_STATE_COUNT + 1][CB_FIGURES_MAX]; /* first those in brackets */
    size_t counts[CB_STATE_COUNT + 1] = {0};
    enum cb_words_state bracketed = CB_STATE_NONE;
    struct strip_at at = {row, row + STRIP_ROWS, 1};
    for (int figure = 1; figure <= look->scene->unit->figures; figure++) {
        const enum cb_words_state state = state_of(look, figure);
        const int list = in_proposal(look->scene, figure) ? 0 : 1 + (int)state;
        bracketed = list == 0 && counts[0] == 0 ? state : bracketed;
        lists[list][counts[list]++] = figure;
    }
    for (int list = 0; list <= CB_STATE_COUNT; list++) {
        if (counts[list] == 0) {
            continue;
        }
        const struct cb_words_look *looks = &cb_words_looks[list > 0 ? list - 1 : (int)bracketed];
        const char *figures = cb_words_figures(look->arena, lists[list], counts[list]);
        const char *name = list > 0 ? "" : cb_arena_printf(look->arena, "[%s] ", figures);
        const char *text = cb_arena_printf(look->arena, "%s %s%s%s", looks->symbol, looks->word,
                                           list > 0 ? " " : "", list > 0 ? figures : "");
        const int named = cb_utf8_text_width(name), width = named + cb_utf8_text_width(text);
        if (!fit(grid, &at, width)) {
            return false;
        }
        if (draw) {
            cb_grid_put(grid, at.row, at.column, 0, CB_ROLE_FOCUS, name);
            cb_grid_put(grid, at.row, at.column + named, 0, looks->role, text);
        }
        at.column += width + 3;
    }
    return true;
}

/* A column for each figure, every fifth numbered; the one in brackets has its number above it. Of
 * more figures than columns those about it. */
static void put_ruler(struct cb_bench_look *look, int row)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    const int figures = scene->unit->figures, columns = grid->columns - 2;
    const bool go = scene->proposal.any && scene->proposal.together;
    const int at = go ? 0 : scene->proposal.any ? scene->proposal.figure : scene->hand.figure;
    int first = at - columns / 2;
    first = first > figures - columns + 2 ? figures - columns + 2 : first; /* the last bracket */
    first = first < 1 ? 1 : first;
    const int from = at - first; /* of the brackets */
    const char *name = at > 0 ? cell_name(look, at, at, true) : "";
    const int to = from + (int)strlen(name);
    int end = 0; /* of the last number */
    for (int figure = first; figure <= figures && figure < first + columns; figure++) {
        const struct cb_words_look *looks = &cb_words_looks[state_of(look, figure)];
        const int column = 1 + figure - first, width = figure < 10 ? 1 : 2;
        const bool clear = at == 0 || column + width < from || column > to;
        cb_grid_put(grid, row + 1, column, 1,
                    in_proposal(scene, figure) ? CB_ROLE_FOCUS : looks->role, looks->symbol);
        if ((figure == 1 || figure % 5 == 0) && column >= end && clear) {
            end = column + 1 + cb_grid_putf(grid, row, column, 0, CB_ROLE_DIM, "%d", figure);
        }
    }
    if (at > 0) {
        cb_grid_put(grid, row, from, 0, CB_ROLE_FOCUS, name);
    }
}

/* Is a state so long that the next one would stand against it? */
static bool fills_cell(struct cb_bench_look *look)
{
    for (int figure = 1; figure < look->scene->unit->figures; figure++) {
        if (1 + strlen(cb_words_looks[state_of(look, figure)].brief) >= CELL_COLUMNS) {
            return true;
        }
    }
    return false;
}

void cb_bench_draw_strip(struct cb_bench_look *look, int row)
{
    const int columns = look->grid->columns, figures = look->scene->unit->figures;
    const bool roomy = figures * (CELL_COLUMNS + 1) < columns;
    if (figures * CELL_COLUMNS <= columns && (roomy || !fills_cell(look))) {
        put_cells(look, row, figures * CELL_COLUMNS < columns ? 1 : 0, CELL_COLUMNS + roomy, true);
    } else if (put_cells(look, row, 1, 0, false) - CELL_GAP <= columns) {
        put_cells(look, row, 1, 0, true);
    } else if (put_ranges(look, row, false)) {
        put_ranges(look, row, true);
    } else {
        put_ruler(look, row);
    }
}

struct table_row {
    const char *word, *coat, *span, *usual, *rings;
    int first, last; /* figures */
    enum cb_words_state state;
    enum cb_role role; /* of the times */
};

/* At most so many columns: minutes where they fit. */
static const char *short_span(struct cb_bench_look *look, int64_t left_ms, size_t columns)
{
    char text[32];
    cb_lines_span(look->app, left_ms, text);
    if (strlen(text) > columns && left_ms <= 99 * CB_MS_PER_MIN) {
        snprintf(text, sizeof text, "%d min", (int)((left_ms + CB_MS_PER_MIN - 1) / CB_MS_PER_MIN));
    } else if (strlen(text) > columns) {
        snprintf(text, sizeof text, "%d h",
                 (int)((left_ms + 60 * CB_MS_PER_MIN - 1) / (60 * CB_MS_PER_MIN)));
    }
    return cb_arena_text(look->arena, text);
}

/* The film that the row's times are of: what is wet on the figure, else its last. NULL: nothing is
 * known of it, or there is none. */
static const struct cb_scene_film *film_of(const struct cb_scene *scene, int figure,
                                           const struct cb_film *last)
{
    const struct cb_scene_film *found = NULL;
    for (size_t i = 0; i < scene->film_count; i++) {
        const struct cb_scene_film *row = &scene->films[i];
        if (row->unit != scene->unit || row->film->figure != figure) {
            continue;
        }
        if (row->film == last && !row->forecast.dry) {
            return row;
        }
        if (!found || (found->forecast.dry && !row->forecast.dry) ||
            (found->forecast.dry && row->film == last)) {
            found = row;
        }
    }
    return found;
}

static void find_times(struct cb_bench_look *look, const struct cb_scene_film *film,
                       size_t span_columns, struct table_row *row)
{
    const struct cb_forecast *forecast = &film->forecast;
    const bool painted = cb_words_painted(film->unit, film->film->stage);
    char usual[CB_DUE_SIZE], rings[CB_DUE_SIZE];
    if (forecast->dry) {
        row->span =
            cb_arena_printf(look->arena, "%s%s", cb_lines_sign(look->app, film->film->drying),
                            painted ? "dry" : "done");
        return;
    }
    row->role = CB_ROLE_WET;
    if (forecast->held || forecast->due_ms == CB_TIME_NONE) {
        row->role = CB_ROLE_HELD;
        row->span = " waits";
        return;
    }
    row->span =
        cb_arena_printf(look->arena, "%s%s", cb_lines_sign(look->app, film->film->drying),
                        short_span(look, forecast->due_ms - look->scene->now_ms, span_columns));
    cb_lines_due(look->app, film->film->drying, forecast->due_ms, rings);
    row->rings = cb_arena_text(look->arena, rings);
    if (painted && forecast->median_ms != CB_TIME_NONE && forecast->from != CB_DUE_WAIT) {
        cb_lines_due(look->app, film->film->drying, forecast->median_ms, usual);
        row->usual = cb_arena_text(look->arena, usual);
    }
}

/* A name beside the state, where there is room for it. */
static void add_name(struct cb_bench_look *look, int figure, int columns, struct table_row *row)
{
    const char *name = look->scene->unit->recipe->names[figure];
    const char *word = name ? cb_arena_printf(look->arena, "%s, %s", row->word, name) : NULL;
    if (word && cb_utf8_text_width(word) <= columns) {
        row->word = word;
    }
}

static struct table_row row_of(struct cb_bench_look *look, int figure, bool roomy)
{
    const size_t span_columns = roomy ? SPAN_COLUMNS : SMALL_SPAN_COLUMNS;
    const int word_columns = (roomy ? SPAN_LEFT : SMALL_SPAN_LEFT) - STATE_LEFT - 3;
    const struct cb_scene *scene = look->scene;
    const struct cb_film *last = cb_scene_last_film(scene->unit, figure);
    struct table_row row = {
        .first = figure,
        .last = figure,
        .state = state_of(look, figure),
        .coat = "nothing yet",
        .span = "",
        .usual = "",
        .rings = "",
        .role = CB_ROLE_DIM,
    };
    row.word = cb_words_looks[row.state].word;
    add_name(look, figure, roomy ? COAT_LEFT - STATE_LEFT - 3 : word_columns, &row);
    if (!last) {
        return row;
    }
    const struct cb_scene_film *film = film_of(scene, figure, last);
    const struct cb_film *shown = film && !film->forecast.dry ? film->film : last;
    const int coats = cb_bench_coats(scene->unit, figure, shown->stage);
    const char *paint = cb_words_film(scene->unit, shown);
    row.coat =
        coats > 1 ? cb_arena_printf(look->arena, "%s %d of %d", paint, shown->coat, coats) : paint;
    if (!film) {
        row.span = cb_words_painted(scene->unit, last->stage) && !last->before ? " dry" : " done";
        return row;
    }
    find_times(look, film, span_columns, &row);
    if (row.state == CB_STATE_READY && !film->forecast.dry &&
        !cb_next_is_apart(scene->unit, film->film, stage_of(look))) {
        const int stage = film->film->stage;
        const char *areas = cb_words_areas(look->arena, scene->unit->recipe,
                                           &scene->unit->recipe->stages[stage - 1]);
        const char *still = cb_words_painted(scene->unit, stage) ? "wet" : "not done";
        row.word = cb_arena_printf(look->arena, "ready, mind the %s: %s", areas, still);
        if (cb_utf8_text_width(row.word) > word_columns) {
            row.word = cb_arena_printf(look->arena, "ready, %s: %s", areas, still);
        }
        row.coat = "";
    }
    return row;
}

static bool equal_rows(const struct table_row *a, const struct table_row *b, bool roomy)
{
    return a->state == b->state && strcmp(a->word, b->word) == 0 && strcmp(a->span, b->span) == 0 &&
           strcmp(a->rings, b->rings) == 0 &&
           (!roomy || (strcmp(a->coat, b->coat) == 0 && strcmp(a->usual, b->usual) == 0));
}

static void put_row(struct cb_bench_look *look, int row, int column, const struct table_row *what,
                    bool roomy)
{
    struct cb_grid *grid = look->grid;
    const struct cb_words_look *looks = &cb_words_looks[what->state];
    cb_grid_put(grid, row, column, 0, CB_ROLE_PLAIN,
                cell_name(look, what->first, what->last, false) + 1);
    cb_grid_put(grid, row, column + STATE_LEFT, 1, looks->role, looks->symbol);
    cb_grid_cut(grid, row, column + STATE_LEFT + 2,
                (roomy && what->coat[0] ? COAT_LEFT
                 : roomy                ? SPAN_LEFT
                                        : SMALL_SPAN_LEFT) -
                    STATE_LEFT - 3,
                looks->role, what->word);
    if (roomy) {
        const bool none = strcmp(what->coat, "nothing yet") == 0;
        cb_grid_cut(grid, row, column + COAT_LEFT, SPAN_LEFT - COAT_LEFT - 2,
                    none ? CB_ROLE_DIM : CB_ROLE_PLAIN, what->coat);
        cb_grid_put(grid, row, column + USUAL_LEFT - 1, 0, CB_ROLE_DIM, what->usual);
    }
    /* each begins with its sign or a blank */
    cb_grid_put(grid, row, column + (roomy ? SPAN_LEFT : SMALL_SPAN_LEFT) - 1, 0, what->role,
                what->span);
    cb_grid_put(grid, row, column + (roomy ? RINGS_LEFT : SMALL_RINGS_LEFT) - 1, 0, what->role,
                what->rings);
}

void cb_bench_draw_table(struct cb_bench_look *look, int row, int column, int rows, bool roomy)
{
    struct cb_grid *grid = look->grid;
    struct table_row list[CB_FIGURES_MAX];
    int count = 0, focus = 0;
    for (int figure = 1; figure <= look->scene->unit->figures; figure++) {
        const struct table_row own = row_of(look, figure, roomy);
        if (count > 0 && equal_rows(&list[count - 1], &own, roomy)) {
            list[count - 1].last = figure;
        } else {
            list[count++] = own;
        }
        if (figure <= look->scene->proposal.figure) {
            focus = count - 1;
        }
    }
    cb_grid_fill(grid, row, column, 1, grid->columns - column - 1, CB_ROLE_RULE, 0x2500);
    cb_grid_put(grid, row, column, 0, CB_ROLE_DIM, "FIG ");
    cb_grid_put(grid, row, column + STATE_LEFT - 1, 0, CB_ROLE_DIM, " STATE ");
    if (roomy) {
        cb_grid_put(grid, row, column + COAT_LEFT - 1, 0, CB_ROLE_DIM, " LAST COAT ");
        cb_grid_put(grid, row, column + USUAL_LEFT - 1, 0, CB_ROLE_DIM, " USUALLY ");
    }
    cb_grid_put(grid, row, column + (roomy ? SPAN_LEFT : SMALL_SPAN_LEFT) - 1, 0, CB_ROLE_DIM,
                " DRY IN ");
    cb_grid_put(grid, row, column + (roomy ? RINGS_LEFT : SMALL_RINGS_LEFT) - 1, 0, CB_ROLE_DIM,
                " RINGS ");
    const int room = rows - 1;
    int first = 0;
    if (count > room) { /* the one at hand, with some before it */
        first = focus - room / 3;
        first = first > count - room ? count - room : first;
        first = first < 0 ? 0 : first;
    }
    for (int i = 0; i < room && first + i < count; i++) {
        put_row(look, row + 1 + i, column, &list[first + i], roomy);
    }
}
