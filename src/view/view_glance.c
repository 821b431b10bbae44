/* SPDX-License-Identifier: MIT */
/*
 * The glance: to read from two metres. FIGURE on the left, white and as large as the screen bears;
 * on the right, in the colour of wet, DRY IN: as large where it is what one waits for, else
 * smaller, and nothing where nothing is wet. Below it the mix, and above the time.
 */
#include <stdio.h>
#include <string.h>

#include "app/look.h"
#include "app/session.h"
#include "app/lines.h"
#include "app/scene.h"
#include "view/bench_parts.h"
#include "view/put.h"

#define TEXT_ROWS 5  /* the labels; paint, mix, key, status */
#define GAP       3  /* columns of the face */
#define SIDE      19 /* the least columns of DRY IN and the clock beside it */

static int face_width(const char *text)
{
    return (int)strlen(text) * (CB_GRID_BIG_COLUMNS + 1) - 1;
}

/* The film that DRY IN is about; false: nothing is wet. */
static bool find_wet(const struct cb_scene *scene, struct cb_bench_hold *hold,
                     const char **elsewhere, bool *painted, bool *waits)
{
    *elsewhere = NULL;
    *waits = scene->unit && cb_bench_held_up(scene, hold);
    if (*waits) {
        *painted = cb_words_painted(scene->unit, hold->film->stage);
    } else if (scene->next) {
        *hold = (struct cb_bench_hold){scene->next->film, scene->next->forecast.due_ms};
        *elsewhere = cb_lines_elsewhere(scene, scene->next);
        *painted = cb_words_painted(scene->next->unit, scene->next->film->stage);
    }
    return *waits || scene->next;
}

static void draw_minutes(const struct cb_app *app, const struct cb_bench_hold *hold, bool painted,
                         struct cb_grid *grid, int column, int scale, const char *digits,
                         const char *unit)
{
    cb_grid_putf(grid, 0, column, 0, CB_ROLE_WET, "%s IN, %s", painted ? "DRY" : "DONE", unit);
    cb_grid_put(grid, 1 + CB_GRID_BIG_ROWS * scale / 2, column - 1, 1, CB_ROLE_WET,
                cb_lines_sign(app, hold->film->drying));
    const int spare = digits[1] == '\0' ? (face_width("00") - face_width("0")) * scale : 0;
    cb_grid_scaled(grid, 1, column + spare, scale, CB_ROLE_WET, digits); /* ones under ones */
}

/* Where nothing else stands. */
static void put_aside(struct cb_grid *grid, int row, int column, const char *text)
{
    for (int c = column - 2; row < grid->rows && c < grid->columns; c++) {
        if (grid->cells[row * grid->columns + c].cp != ' ') {
            return;
        }
    }
    cb_grid_cut(grid, row, column, 0, CB_ROLE_WET, text);
}

/* Paint, mix and key. */
static void draw_lines(const struct cb_app *app, struct cb_grid *grid, int row,
                       struct cb_arena *arena)
{
    const struct cb_scene *scene = cb_app_scene(app);
    enum cb_role role;
    if (scene->unit && scene->proposal.any) {
        int used = cb_grid_cut(grid, row, 2, 0, CB_ROLE_PAINT,
                               cb_words_paint(scene->unit, scene->proposal.stage));
        cb_grid_cut(grid, row, 4 + used, 0, CB_ROLE_PLAIN,
                    cb_arena_printf(arena, "%s%s", scene->stage->whole ? "" : "on ",
                                    cb_words_areas(arena, scene->unit->recipe, scene->stage)));
        used = cb_grid_cut(
            grid, row + 1, 2, 0, CB_ROLE_STRONG,
            cb_words_mix(arena, cb_app_session(app)->kinds, scene->unit, scene->proposal.stage));
        if (grid->columns >= 76) {
            cb_grid_cut(grid, row + 1, 5 + used, 0, CB_ROLE_PLAIN, cb_lines_coat(scene, arena));
        }
    }
    row += 2;
    if (row < grid->rows) {
        char *space = cb_lines_space(app, scene, grid->columns - 12, arena, &role);
        int used = 0;
        cb_put_focus(grid, row, 2);
        if (scene->proposal.any && cb_app_session(app)->writer) {
            used = cb_grid_put(grid, row, 2, 0, CB_ROLE_KEY, cb_app_key(app, CB_ACTION_COAT_ON));
            used++;
        }
        cb_grid_cut(grid, row, 2 + used, 0, role, space);
    }
    if (grid->rows - 1 > row) {
        char *message = cb_lines_message(app, scene, arena, &role);
        message = message[0] ? message : cb_lines_status(app, scene, arena, &role);
        cb_grid_cut(grid, grid->rows - 1, 2, 0, role, message);
    }
}

/* Of the one figure that is shown; "": it has none. */
static const char *name_of(const struct cb_scene *scene)
{
    const struct cb_proposal *proposal = &scene->proposal;
    const bool many = proposal->together && proposal->figure_count > 1;
    const int figure = !proposal->any ? scene->hand.figure : many ? 0 : proposal->figure;
    const char *name = scene->unit && figure > 0 ? scene->unit->recipe->names[figure] : NULL;
    return name ? name : "";
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    const struct cb_scene *scene = cb_app_scene(app);
    struct cb_bench_hold hold = {0};
    const char *unit = "", *elsewhere = NULL, *by = "";
    bool painted = false, waits = false;
    char figure[16] = "", digits[16] = "", clock[CB_CLOCK_SIZE];
    const bool wet = find_wet(scene, &hold, &elsewhere, &painted, &waits);
    if (scene->proposal.any) {
        cb_lines_figure(scene, figure);
    } else if (scene->hand.figure > 0) {
        snprintf(figure, sizeof figure, "%d", scene->hand.figure);
    }
    const bool range = strchr(figure, '-') != NULL;
    if (wet) {
        char due[CB_DUE_SIZE];
        unit = cb_lines_left(app, hold.due_ms - scene->now_ms, digits);
        cb_lines_due(app, hold.film->drying, hold.due_ms, due);
        by = cb_arena_printf(&arena, "at%s", due);
    }
    /* The place of DRY IN is kept, so that FIGURE does not grow and shrink. */
    const int minutes_width = face_width(strlen(digits) > 2 ? digits : "00");
    const char *whole = cb_arena_text(&arena, figure);
    const int room = grid->columns - 4, tall = (grid->rows - TEXT_ROWS) / CB_GRID_BIG_ROWS;
    int scale = room / (face_width(figure) + GAP + minutes_width);
    scale = scale > tall ? tall : scale;
    const int least = SIDE + 3 * cb_app_session(app)->zone.half_days; /* a longer clock */
    while (scale > 0 && 2 + (face_width(figure) + 1) * scale > grid->columns - least) {
        scale--;
    }
    if (scale < 1) {
        scale = 1;
        figure[strcspn(figure, "-")] = '\0'; /* the first of a range, which does not fit */
    }
    const int small = waits ? scale : scale > 1 ? scale / 2 : 1;
    const int side = minutes_width * scale + 2;
    const int column = grid->columns - (side < least ? least : side);
    if (figure[0]) {
        const char *label = cb_arena_printf(&arena, "%sFIGURE%s%s", scene->anyway ? "THEN " : "",
                                            range ? "S " : "", range ? whole : "");
        const int used = cb_grid_put(grid, 0, 2, 0, CB_ROLE_DIM, label);
        cb_grid_cut(grid, 0, 3 + used, column - used - 5, CB_ROLE_STRONG, name_of(scene));
    }
    cb_grid_scaled(grid, 1, 2, scale, CB_ROLE_BIG, figure);
    cb_time_clock(cb_app_session(app)->now.wall_ms, &cb_app_session(app)->zone, clock);
    cb_grid_put(grid, 0, grid->columns - 2 - (int)strlen(clock), 0, CB_ROLE_STRONG, clock);
    const int row = 1 + CB_GRID_BIG_ROWS * scale;
    const int text = row + (row + 4 < grid->rows);
    draw_lines(app, grid, text, &arena);
    if (wet) {
        draw_minutes(app, &hold, painted, grid, column, small, digits, unit);
        /* when, and in which unit: below the number */
        const bool below = small < scale;
        put_aside(grid, below ? 1 + CB_GRID_BIG_ROWS * small : text + 1, column, by);
        if (elsewhere) {
            put_aside(grid, below ? 2 + CB_GRID_BIG_ROWS * small : text, column, elsewhere);
        }
    }
    cb_arena_fini(&arena);
}

const struct cb_view cb_view_glance = {
    .name = "glance",
    .opens = CB_ACTION_GLANCE,
    .flags = CB_VIEW_MARKS_COATS | CB_VIEW_NEEDS_UNIT | CB_VIEW_TOGGLES | CB_VIEW_READ_OUT,
    .draw = draw,
};
