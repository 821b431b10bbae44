/* SPDX-License-Identifier: MIT */
/* The pots: what the log has taught of each paint; the one gone to with its plot. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "core/bench/calibration.h"
#include "core/bench/coverage.h"
#include "core/bench/pots.h"
#include "app/key.h"
#include "app/look.h"
#include "app/nav.h"
#include "app/pot.h"
#include "app/session.h"
#include "view/pot_plot.h"
#include "view/pot_sentence.h"
#include "view/put.h"

#define NARROW     44 /* columns: no room for more than name, median and ping */
#define PLOT_LEAST 6  /* rows: two laws, a film or two, the axis and its minutes */
#define PLOT_MOST  28
#define FILMS_MOST 24
#define ROOMY      60 /* columns: narrower, the picture alone shows which answers do not fit */

static const struct cb_view_key keys[] = {
    {CB_ACTION_LEAVE_OUT, CB_ACTION_NONE, "forget"},
    {CB_ACTION_BOTTLE_NEW, CB_ACTION_NONE, NULL},
    {CB_ACTION_PAINT_JOIN, CB_ACTION_NONE, NULL},
    {CB_ACTION_VIEW_NEXT, CB_ACTION_NONE, NULL},
    {CB_ACTION_HELP, CB_ACTION_NONE, NULL},
    {CB_ACTION_QUIT, CB_ACTION_NONE, NULL},
    {CB_ACTION_STAGE_PREV, CB_ACTION_STAGE_NEXT, "choose"},
    {CB_ACTION_NONE, CB_ACTION_NONE, NULL},
};

struct table {
    const struct cb_pot_line *lines;
    size_t count;
    const struct cb_row *rows;
    size_t row_count;
};

static bool is_of(const struct cb_unit *unit, const char *pot)
{
    for (size_t s = 0; unit && s < unit->recipe->stage_count; s++) {
        const char *own = cb_bench_stage_pot(unit, (int)s + 1);
        if (own && strcmp(own, pot) == 0) {
            return true;
        }
    }
    return false;
}

/* Those of the bench's units, and of the finished ones that it has not. */
static const struct cb_pot_stage *all_stages(const struct cb_app *app, struct cb_arena *arena,
                                             size_t *count)
{
    const struct cb_session *session = cb_app_session(app);
    size_t own_count;
    const struct cb_pot_stage *own = cb_pots_stages(session->bench, NULL, arena, &own_count);
    struct cb_pot_stage *all =
        cb_arena_alloc(arena, session->taught.stage_count + own_count + 1, sizeof *all);
    for (size_t i = 0; i < session->taught.stage_count; i++) {
        all[i] = session->joined_stages[i];
    }
    for (size_t i = 0; i < own_count; i++) {
        all[session->taught.stage_count + i] = own[i];
    }
    *count = session->taught.stage_count + own_count;
    return all;
}

/* The paints of the unit in front first. */
static struct table table_of(const struct cb_app *app, struct cb_arena *arena)
{
    struct table table = {0};
    size_t stage_count;
    const struct cb_pot_stage *stages = all_stages(app, arena, &stage_count);
    table.rows = cb_app_rows(app, arena, &table.row_count);
    const struct cb_pot_line *lines =
        cb_pots_lines(stages, stage_count, cb_app_session(app)->learn, table.rows, table.row_count,
                      cb_bench_facts(cb_app_session(app)->bench).confidence, arena, &table.count);
    struct cb_pot_line *sorted = cb_arena_alloc(arena, table.count + 1, sizeof *sorted);
    size_t n = 0;
    for (int own = 1; own >= 0; own--) {
        for (size_t i = 0; i < table.count; i++) {
            if (is_of(cb_app_unit(app), lines[i].pot) == (own == 1)) {
                sorted[n++] = lines[i];
            }
        }
    }
    table.lines = sorted;
    return table;
}

static const struct cb_pot_line *marked(const struct cb_app *app, const struct table *table)
{
    const size_t top = cb_app_nav(app)->top < 0 ? 0 : (size_t)cb_app_nav(app)->top;
    return table->count == 0 ? NULL : &table->lines[top < table->count ? top : table->count - 1];
}

static void minutes_text(const char *sign, double min, char out[12])
{
    snprintf(out, 12, min < 9.95 ? "%s%.1f" : "%s%.0f", sign, min);
}

/* The ping in the air at hand: "waits" where the film would stand still; of a paint that only
 * finished units had, nothing. */
static void here_text(const char *sign, const struct cb_pot_line *line,
                      const struct cb_climate *climate, char out[12])
{
    const double minutes = cb_drying_minutes(line->drying, climate, line->ping_min);
    if (minutes <= 0) {
        out[0] = '\0';
    } else if (isfinite(minutes)) {
        minutes_text(sign, minutes, out);
    } else {
        snprintf(out, 12, "waits");
    }
}

static void put_line(const struct cb_app *app, struct cb_grid *grid, int row, int times,
                     const struct cb_pot_line *line, bool chosen, struct cb_arena *arena)
{
    char median[12], ping[12], here[12];
    struct cb_reading reading =
        cb_bench_climate_at(cb_app_session(app)->bench, 0, cb_app_bench_now(app));
    const char *sign = cb_lines_sign(app, line->drying);
    minutes_text(sign, line->median_min, median);
    minutes_text(sign, line->ping_min, ping);
    here_text(sign, line, &reading.climate, here);
    cb_grid_put(grid, row, 0, 1, chosen ? CB_ROLE_FOCUS : CB_ROLE_PLAIN, chosen ? ">" : " ");
    cb_grid_cut(grid, row, 1, times - 2, chosen ? CB_ROLE_FOCUS : CB_ROLE_PLAIN,
                cb_arena_printf(arena, "%s, %s", line->paint, cb_technique_name(line->technique)));
    cb_grid_putf(grid, row, times, 0, CB_ROLE_STRONG, "%5s %7s", median, ping);
    if (grid->columns < NARROW) {
        return;
    }
    cb_grid_putf(grid, row, times + 13, 0, CB_ROLE_PLAIN, "%6s", here);
    enum cb_role role = line->films ? CB_ROLE_PLAIN : CB_ROLE_DIM;
    if (line->exact) {
        cb_grid_put(grid, row, times + 20, 0, CB_ROLE_DIM, " wait");
    } else {
        cb_grid_putf(grid, row, times + 20, 0, role, "%5zu", line->films);
    }
}

/* What was added and spared of it, where it leaves the picture all but one of its least rows; how
 * many it took. */
static int put_coats(const struct cb_app *app, struct cb_grid *grid, int row, int room,
                     const struct cb_pot_line *line, struct cb_arena *arena)
{
    size_t count;
    const struct cb_cover *covers = cb_app_covers(app, &count);
    const char *text = cb_coverage_texts(covers, count, line->pot, line->technique, true,
                                         grid->columns < ROOMY, arena);
    return text && room > 0 ? cb_grid_wrap(grid, row, 1, grid->columns - 2, room > 2 ? 2 : room,
                                           CB_ROLE_PLAIN, text)
                            : 0;
}

/* The sentence on as many rows as it needs, then the picture in what is left. */
static void put_chosen(const struct cb_app *app, struct cb_grid *grid, int row, int rows,
                       const struct table *table, const struct cb_pot_line *line,
                       struct cb_arena *arena)
{
    cb_grid_fill(grid, row, 1, 1, grid->columns - 2, CB_ROLE_RULE, grid->ascii ? '-' : 0x2500);
    size_t count;
    const struct cb_pot_evidence *evidence =
        cb_pots_why(cb_app_session(app)->learn, table->rows, table->row_count, line->pot,
                    FILMS_MOST, arena, &count);
    const char *sign = cb_lines_sign(app, line->drying);
    const bool room = grid->columns >= ROOMY;
    struct cb_pot_seen seen = {
        .count = line->pot_films,
        .given = cb_pot_given_text(table->rows, table->row_count, line->pot, arena)};
    for (size_t i = 0; i < count; i++) {
        seen.off += room && evidence[i].looks_off ? 1 : 0;
        seen.last_ms = evidence[i].row->at_ms;
    }
    for (size_t i = 0; i < table->count; i++) {
        seen.technique |= &table->lines[i] != line && strcmp(table->lines[i].pot, line->pot) == 0;
    }
    const char *said =
        cb_pot_sentence(line, &seen, cb_app_now(app).wall_ms, &cb_app_session(app)->zone, arena);
    cb_grid_put(grid, row + 1, 0, 1, CB_ROLE_STRONG, sign); /* within, it would move the words */
    int used = cb_grid_wrap(grid, row + 1, 1, grid->columns - 2, room ? 3 : 2,
                            line->exact ? CB_ROLE_DIM : CB_ROLE_STRONG, said);
    used += put_coats(app, grid, row + 1 + used, rows - used - PLOT_LEAST, line, arena);
    if (!grid->plain) {
        cb_pot_plot(grid, row + 1 + used, 1, rows - 1 - used, grid->columns - 2,
                    cb_app_session(app)->learn, line, evidence, count);
    }
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    struct table table = table_of(app, &arena);
    double confidence = cb_bench_facts(cb_app_session(app)->bench).confidence;
    cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "Pots");
    int used = 7 + cb_grid_cut(grid, 0, 7, 0, CB_ROLE_TITLE, "minutes at 23 C, 50 %, still air");
    const char *bells = cb_app_session(app)->bells;
    if (bells[0] && used + (int)strlen(bells) + 2 < grid->columns) {
        cb_grid_put(grid, 0, grid->columns - (int)strlen(bells) - 1, 0, CB_ROLE_DIM, bells);
    }
    bool narrow = grid->columns < NARROW;
    int times = grid->columns >= 70 ? 42 : grid->columns - (narrow ? 13 : 27);
    cb_grid_put(grid, 1, 1, times - 4, CB_ROLE_DIM, "PAINT, TECHNIQUE");
    cb_grid_putf(grid, 1, times - 2, 0, CB_ROLE_DIM, narrow ? "%7s %7s" : "%7s %7s %5s %6s",
                 "USUALLY", "RINGS", "HERE", "FILMS");

    int count = (int)table.count, chosen = cb_app_nav(app)->top;
    chosen = chosen >= count ? count - 1 : chosen;
    chosen = chosen < 0 ? 0 : chosen;
    int bottom = grid->rows - 2; /* the message's row, then the keys */
    int plot = bottom - 2 - count - 1;
    plot = plot < PLOT_LEAST + 2 ? PLOT_LEAST + 2 : plot > PLOT_MOST ? PLOT_MOST : plot;
    if (bottom - 2 - plot - 1 < (count < 2 ? count : 2) || count == 0) {
        plot = 0; /* the table alone */
    }
    int room = bottom - 2 - plot, top = chosen - room + 1;
    top = top < 0 ? 0 : top;
    for (int i = top; i < count && i - top < room; i++) {
        put_line(app, grid, 2 + i - top, times, &table.lines[i], i == chosen && plot > 0, &arena);
        if (i == chosen) {
            cb_put_focus(grid, 2 + i - top, 0);
        }
    }
    if (count == 0) {
        cb_grid_put(grid, 3, 1, 0, CB_ROLE_PLAIN, "No paint is in use.");
    }
    if (plot > 0) {
        int shown = count - top < room ? count - top : room;
        put_chosen(app, grid, 2 + shown, bottom - 2 - shown, &table, &table.lines[chosen], &arena);
    }
    const char *said = cb_app_look(app)->flash;
    const char *join = count > 0 ? cb_pot_join_line(app, &table.lines[chosen], &arena) : NULL;
    said = said[0] || !join ? said : join;
    cb_grid_cut(grid, grid->rows - 2, 1, grid->columns - 2, said[0] ? CB_ROLE_STRONG : CB_ROLE_DIM,
                said[0] ? said : cb_pots_confidence_line(confidence, grid->columns < 76, &arena));
    cb_put_keys(app, keys, grid, grid->rows - 1, 1);
    cb_arena_fini(&arena);
}

static int last(const struct cb_app *app)
{
    struct cb_arena arena = {0};
    const int count = (int)table_of(app, &arena).count;
    cb_arena_fini(&arena);
    return count > 0 ? count - 1 : 0;
}

/* Where the line will stand when the pot that waits is one with its own. */
static int joined_place(const struct table *table, const struct cb_pot_line *line, const char *from)
{
    int place = 0;
    for (size_t i = 0; i < table->count; i++) {
        const struct cb_pot_line *row = &table->lines[i];
        const bool joins = strcmp(row->pot, from) == 0 || strcmp(row->pot, line->pot) == 0;
        if (joins && row->technique == line->technique) {
            break;
        }
        bool first = true;
        for (size_t k = 0; joins && k < i; k++) {
            const struct cb_pot_line *before = &table->lines[k];
            first =
                first && (before->technique != row->technique ||
                          (strcmp(before->pot, from) != 0 && strcmp(before->pot, line->pot) != 0));
        }
        place += first;
    }
    return place;
}

static bool act(struct cb_app *app, enum cb_action action)
{
    const bool forgets = action == CB_ACTION_LEAVE_OUT, joins = action == CB_ACTION_PAINT_JOIN;
    const bool bottle = action == CB_ACTION_BOTTLE_NEW || action == CB_ACTION_COAT_ADD;
    if (!joins && action != CB_ACTION_STAGE_PREV && action != CB_ACTION_STAGE_NEXT) {
        cb_pot_join_no_more(app);
    }
    if (!forgets && !bottle && !joins) {
        return false;
    }
    struct cb_arena arena = {0};
    const struct table table = table_of(app, &arena);
    const struct cb_pot_line *line = marked(app, &table);
    if (line && forgets) {
        cb_pot_forget(app, line);
    } else if (line && bottle) {
        cb_pot_new_bottle(app, line);
    } else if (line) {
        const char *from = cb_app_join(app)->pot;
        const int place = from ? joined_place(&table, line, from) : 0;
        if (cb_pot_join(app, line)) {
            cb_nav_top(app, place);
        }
    }
    cb_arena_fini(&arena);
    return true;
}

/* While a pot waits for the other. */
static bool key(struct cb_app *app, uint32_t pressed)
{
    if (!cb_app_join(app)->pot || (pressed != CB_KEY_ENTER && pressed != CB_KEY_ESC)) {
        return false;
    }
    if (pressed == CB_KEY_ENTER) {
        act(app, CB_ACTION_PAINT_JOIN);
    } else {
        cb_pot_join_no_more(app);
    }
    return true;
}

static void begin(struct cb_app *app)
{
    cb_pot_join_no_more(app);
}

const struct cb_view cb_view_pots = {
    .name = "pots",
    .opens = CB_ACTION_VIEW_POTS,
    .flags = CB_VIEW_TURNS | CB_VIEW_UNDOES_OWN | CB_VIEW_HAS_LIST | CB_VIEW_READ_OUT,
    .keys = keys,
    .draw = draw,
    .open = begin,
    .key = key,
    .last = last,
    .act = act,
};
