/* SPDX-License-Identifier: MIT */
/*
 * The bench: what to put on now. One order of rows at every size: the figure and its paint, what
 * is dry next, the key, whether anything is wrong. 50x15 is the first layout; 80x24 adds the table
 * of figures, wide screens the board. The six facts of the ten-second test (which figure; which
 * paint and where; how thinned; which key; when the next film is dry; that nothing is wrong) lie
 * in its first rows.
 */
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "app/coach.h"
#include "app/look.h"
#include "app/nav.h"
#include "app/session.h"
#include "app/films.h"
#include "app/guide.h"
#include "app/lines.h"
#include "app/scene.h"
#include "app/sensor.h"
#include "app/then.h"
#include "view/bench_parts.h"
#include "view/put.h"

#define FACTS_ROW    1
#define WIDE_COLUMN  71  /* the table of wide screens; by half days its times are wider */
#define WIDE_COLUMNS 120 /* the first at which that table is whole */
#define WIDE_SCALE   2   /* of their digits */
#define COMPACT_ROWS 11  /* below, first the next film goes, then the line that nothing is wrong */
#define CAUTION_ROWS 6
/* On a small screen a cue shares its row, and stands so long after the last coat (own judgement).
 */
#define CUE_MS CB_MS_PER_MIN

static const struct cb_view_key keys[] = {
    {CB_ACTION_UNDO, CB_ACTION_NONE, NULL},      {CB_ACTION_CLIMATE, CB_ACTION_NONE, NULL},
    {CB_ACTION_VIEW_NEXT, CB_ACTION_NONE, NULL}, {CB_ACTION_PAUSE, CB_ACTION_NONE, NULL},
    {CB_ACTION_HELP, CB_ACTION_NONE, NULL},      {CB_ACTION_QUIT, CB_ACTION_NONE, NULL},
    {CB_ACTION_GLANCE, CB_ACTION_NONE, NULL},    {CB_ACTION_COAT_ON_REST, CB_ACTION_NONE, NULL},
    {CB_ACTION_LEAVE_OUT, CB_ACTION_NONE, NULL}, {CB_ACTION_COAT_ADD, CB_ACTION_NONE, NULL},
    {CB_ACTION_NOTE, CB_ACTION_NONE, NULL},      {CB_ACTION_OPEN, CB_ACTION_NONE, NULL},
    {CB_ACTION_NONE, CB_ACTION_NONE, NULL},
};

static bool is_table(const struct cb_grid *grid)
{
    return grid->columns >= 76 && grid->rows >= 20;
}

static bool is_wide(const struct cb_grid *grid)
{
    return grid->columns >= WIDE_COLUMNS && grid->rows >= 30;
}

static void draw_head(struct cb_bench_look *look)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    char clock[CB_CLOCK_SIZE], climate[48], right[80];
    cb_time_clock(cb_app_session(look->app)->now.wall_ms, &cb_app_session(look->app)->zone, clock);
    cb_words_climate(&scene->reading.climate, cb_app_session(look->app)->config->fahrenheit,
                     climate);
    snprintf(right, sizeof right, "%s  %s%s", clock, climate, cb_sensor_mark(look->app, scene));
    if (scene->stale) {
        char ago[16];
        cb_words_ago(scene->now_ms - scene->reading.at_ms, ago);
        if (is_table(grid)) {
            snprintf(right, sizeof right, "%s  %s, %s", clock, climate, ago);
        } else {
            snprintf(right, sizeof right, "%s room %s", clock, ago);
        }
    }
    if (grid->columns < 48) { /* beside the name there is room for the clock alone */
        snprintf(right, sizeof right, "%s", clock);
    }
    const int width = (int)strlen(right), column = grid->columns - width - 1;
    int used = 1;
    if (is_table(grid)) {
        used += cb_grid_put(grid, 0, used, 0, CB_ROLE_STRONG, "Bench") + 2;
    }
    used += cb_grid_cut(grid, 0, used, column - used - 1, CB_ROLE_TITLE, scene->unit->name) + 2;
    const char *scratch = cb_app_session(look->app)->scratch ? "demo  " : "";
    const char *stage = "", *short_stage = "";
    if (scene->stage) {
        short_stage = cb_arena_printf(look->arena, "stage %d of %zu", scene->proposal.stage,
                                      scene->unit->recipe->stage_count);
        stage = cb_arena_printf(look->arena, "%s, %s", short_stage, scene->stage->name);
    }
    if (is_table(grid)) {
        const int room = column - used - 1;
        used += cb_grid_put(grid, 0, used, room < 1 ? 1 : room, CB_ROLE_DIM, scratch);
        const bool whole = used + cb_utf8_text_width(stage) < column;
        if (whole || used + cb_utf8_text_width(short_stage) < column) {
            cb_grid_put(grid, 0, used, 0, CB_ROLE_DIM, whole ? stage : short_stage);
        }
    }
    cb_grid_put(grid, 0, column < 0 ? 0 : column, 0, CB_ROLE_DIM, right);
    cb_grid_style(grid, 0, column, (int)strlen(clock), CB_ROLE_STRONG);
}

static void draw_space(struct cb_bench_look *look, int row)
{
    struct cb_grid *grid = look->grid;
    const struct cb_nav *nav = cb_app_nav(look->app);
    enum cb_role role;
    char count[24];
    int column = 1;
    const bool counting = cb_nav_is_counting(look->app);
    cb_put_focus(grid, row, column);
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
    int columns = grid->columns - column;
    char *text = cb_lines_space(look->app, look->scene, columns, look->arena, &role);
    cb_grid_cut(grid, row, column, 0, role == CB_ROLE_PLAIN ? CB_ROLE_STRONG : role, text);
}

static void draw_answer(struct cb_bench_look *look, int row)
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
    const struct cb_scene_film *asked = cb_films_asked(look->app, look->scene);
    column +=
        cb_grid_put(grid, row, column, 0, CB_ROLE_PLAIN,
                    cb_words_painted(asked->unit, asked->film->stage) ? " still wet" : " not yet");
    if (is_table(grid) && asked->film->figure == 0) { /* it does not ring */
        char usually[CB_DUE_SIZE];
        cb_lines_due(look->app, asked->film->drying, look->scene->touch_ms, usually);
        cb_grid_putf(grid, row, column + 3, 0, CB_ROLE_DIM, "touch it at%s", usually);
    } else if (is_table(grid)) {
        int room = grid->columns - column - 4;
        cb_put_film(look->app, look->scene, asked, grid, row, column + 3, room < 1 ? 1 : room,
                    CB_ROLE_DIM);
    }
}

/* What a wait is good for, else what comes after it, by the plan; NULL: neither. */
static char *then_line(struct cb_bench_look *look, int columns)
{
    char *gap = cb_then_gap_line(look->app, look->scene, columns, look->arena);
    return gap ? gap : cb_then_line(look->app, look->scene, columns, look->arena);
}

/* A row that is there even when it is empty, so that nothing moves. */
static void draw_then(struct cb_bench_look *look, int row)
{
    const int columns = look->grid->columns - 2;
    char *line = then_line(look, columns);
    if (line) {
        cb_grid_cut(look->grid, row, 1, columns, CB_ROLE_PLAIN, line);
    }
}

static void draw_status(struct cb_bench_look *look, int row)
{
    enum cb_role role;
    char *text = cb_lines_status(look->app, look->scene, look->arena, &role);
    cb_grid_cut(look->grid, row, 1, look->grid->columns - 2, role, text);
}

/* The status line has room for the worst of them: it is not said twice. */
static bool in_status(struct cb_bench_look *look, const struct cb_gate *gate)
{
    enum cb_role role;
    char *status = cb_lines_status(look->app, look->scene, look->arena, &role);
    return strcmp(status, gate->text) == 0 && cb_utf8_text_width(status) <= look->grid->columns - 2;
}

static bool has_warnings(struct cb_bench_look *look)
{
    for (size_t i = 0; i < look->scene->gates.count; i++) {
        if (!in_status(look, &look->scene->gates.items[i])) {
            return true;
        }
    }
    return look->scene->caution_count > 0;
}

/* What must be read before the stage: cautions in full, warnings of the air. The rows used. */
static int draw_warnings(struct cb_bench_look *look, int row, int rows)
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

/* On a small screen: one row, where the key line can say how to take it back; else two, broken
 * before its last clause where that fits. Returns its first row; the last is above `row`. */
static int draw_message(struct cb_bench_look *look, int row, int rows, enum cb_role role,
                        char *message)
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
static void draw_last(struct cb_bench_look *look, int row)
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

/* What the one row of a screen without another blank one says in place of the message; NULL: the
 * message stands. */
static const char *small_cue(struct cb_bench_look *look, const char *message, enum cb_role role)
{
    struct cb_coach_line lines[CB_COACH_LINES];
    const struct cb_bench_facts facts = cb_bench_facts(cb_app_session(look->app)->bench);
    const size_t count = cb_coach_lines(look->app, look->scene, look->arena, lines);
    if (cb_guide_line(look->app, look->arena)) {
        return NULL; /* it speaks of cues when it comes to them */
    }
    const bool said = message[0] && (role == CB_ROLE_WARN || role == CB_ROLE_BANNER);
    const int64_t mark_ms =
        facts.last_mark_ms > facts.session_opened_ms ? facts.last_mark_ms : facts.session_opened_ms;
    if (count > 0 && !said && lines[0].cue->moment == CB_CUE_AFTER_COAT) {
        return lines[0].text;
    }
    if (said || (message[0] && cb_lines_pressed(look->app)) ||
        look->scene->now_ms - mark_ms > CUE_MS) {
        return NULL;
    }
    return count > 0 ? lines[0].text : cb_coach_say(look->scene);
}

/* At most so many, in the rows above `end`, from `row` on. The row of the first. */
static int draw_cues(struct cb_bench_look *look, int row, int end, int most)
{
    struct cb_coach_line lines[CB_COACH_LINES];
    const int due = (int)cb_coach_lines(look->app, look->scene, look->arena, lines);
    const int fit = most < end - row ? most : end - row;
    const int count = due < fit ? due : fit;
    for (int i = 0; i < count; i++) {
        const int at = end - count + i;
        cb_grid_put(look->grid, at, 1, 2, CB_ROLE_PLAIN, "\u00B7 ");
        cb_grid_cut(look->grid, at, 3, look->grid->columns - 4, CB_ROLE_PLAIN, lines[i].text);
    }
    return count > 0 ? end - count : end;
}

static void draw_compact(struct cb_bench_look *look)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    const int rows = grid->rows;
    draw_head(look);
    int row = FACTS_ROW + cb_bench_draw_facts(look, FACTS_ROW, grid->columns - 1, 1);
    if (rows < COMPACT_ROWS) { /* what is left when nearly nothing fits: the key */
        row = rows == COMPACT_ROWS - 1 ? row : 7;
        if (row == 7 && rows == COMPACT_ROWS - 1) {
            cb_bench_draw_next(look, row++);
        }
        cb_grid_fill(grid, row, 0, 1, grid->columns, CB_ROLE_PLAIN, ' ');
        draw_space(look, row);
        if (rows > 8) {
            draw_last(look, rows - 1);
        }
        return;
    }
    if (row == 7) {
        cb_bench_draw_next(look, row);
    }
    draw_space(look, 8);
    draw_status(look, 9);
    enum cb_role role;
    char *message = cb_lines_message(look->app, scene, look->arena, &role);
    const bool warn = has_warnings(look);
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
        const int from = needs > bottom - 9 ? 8 : 9; /* what dries gives way */
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
    const char *cue = rows >= 15 ? small_cue(look, message, role) : NULL;
    if (cue) {
        message = cb_arena_text(look->arena, cue);
        role = CB_ROLE_PLAIN;
    }
    if (message[0]) {
        const int end = rows >= 12 ? rows - 1 : rows;
        bottom = draw_message(look, end, end >= 13 ? 2 : 1, role, message);
    }
    if (warn && bottom > 10) {
        draw_warnings(look, 10, bottom - 10);
        return;
    }
    char *room = message[0] || rows < 15 ? NULL : cb_lines_room(look->app, scene, look->arena);
    if (!room && !message[0] && rows >= 15 && !cb_app_session(look->app)->history_due) {
        room = then_line(look, grid->columns - 2);
    }
    if (room) {
        cb_grid_cut(grid, rows - 2, 1, grid->columns - 2, CB_ROLE_PLAIN, room);
    }
    if (bottom >= 12) {
        cb_bench_draw_strip(look, 10);
    }
    if (bottom >= 13) {
        draw_answer(look, 12);
    }
}

static void draw_full(struct cb_bench_look *look)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    const bool wide = is_wide(grid);
    const int bottom = grid->rows - 2;
    const int table = WIDE_COLUMN - cb_app_session(look->app)->zone.half_days;
    draw_head(look);
    int row = FACTS_ROW + cb_bench_draw_facts(look, FACTS_ROW, wide ? table - 1 : grid->columns - 1,
                                              wide ? WIDE_SCALE : 1);
    if (wide) {
        cb_bench_draw_table(look, FACTS_ROW, table, row - FACTS_ROW, false);
    }
    cb_bench_draw_next(look, row++);
    draw_space(look, row++);
    draw_then(look, row++);
    draw_status(look, row++);
    if (!wide) {
        cb_bench_draw_strip(look, row);
        row += 2;
    }
    draw_answer(look, row++);
    if (has_warnings(look)) {
        row += draw_warnings(look, row + 1, CAUTION_ROWS) + 1;
    }
    row += wide ? 1 : 0;
    enum cb_role role;
    char *message = cb_lines_message(look->app, scene, look->arena, &role);
    char *room = message[0] ? NULL : cb_lines_room(look->app, scene, look->arena);
    if (!room && !message[0]) {
        room = cb_then_evening_line(look->app, scene, grid->columns - 2, look->arena);
    }
    bool says = wide && scene->stage && scene->stage->say;
    if (room) {
        message = room;
    } else if (!message[0] && !wide && scene->stage && scene->stage->say) {
        message = cb_arena_text(look->arena, scene->stage->say);
        role = CB_ROLE_DIM;
        says = true;
    }
    int end = draw_message(look, bottom + 1, wide ? 1 : 2, role, message);
    end = draw_cues(look, row, end, says ? 1 : CB_COACH_LINES); /* the rest may be cut short */
    if (wide) {
        cb_bench_draw_board(look, row, end - row);
    } else {
        cb_bench_draw_table(look, row, 1, end - row, true);
    }
    cb_put_keys(look->app, keys, grid, grid->rows - 1, 1);
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    struct cb_bench_look look = {app, grid, cb_app_scene(app), &arena};
    if (look.scene->unit && is_table(grid)) {
        draw_full(&look);
    } else if (look.scene->unit) {
        draw_compact(&look);
    }
    cb_arena_fini(&arena);
}

const struct cb_view cb_view_bench = {
    .name = "bench",
    .opens = CB_ACTION_VIEW_BENCH,
    .flags = CB_VIEW_TURNS | CB_VIEW_MARKS_COATS | CB_VIEW_NEEDS_UNIT | CB_VIEW_READ_OUT,
    .keys = keys,
    .draw = draw,
};
