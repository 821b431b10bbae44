/* SPDX-License-Identifier: MIT */
/* What is read from afar: the figure, its paint and mix, and what is waited for. */
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "app/lines.h"
#include "app/pictures.h"
#include "app/session.h"
#include "view/bench_parts.h"

#define NARROW_COLUMNS  76
#define NAME_ROWS       2  /* of a paint's name or a mix, at most */
#define WHO_COLUMNS     20 /* of a figure's name, at most */
#define FIGURES_COLUMNS 10 /* of a list in the line on the next film */

bool cb_bench_held_up(const struct cb_scene *scene, struct cb_bench_hold *hold)
{
    *hold = (struct cb_bench_hold){.due_ms = CB_TIME_NONE};
    if (scene->proposal.any && scene->proposal.thought_wet) {
        *hold = (struct cb_bench_hold){scene->below, scene->below_ms};
    } else if (scene->anyway || !scene->proposal.any) {
        *hold = (struct cb_bench_hold){scene->ready_by, scene->ready_ms};
    }
    return hold->film && hold->due_ms != CB_TIME_NONE;
}

static int face_width(const char *text, int scale)
{
    return ((int)strlen(text) * (CB_GRID_BIG_COLUMNS + 1) - 1) * scale;
}

/* Where the parts of the row stand. */
struct places {
    char figure[16];          /* as far as it is drawn big */
    const char *label, *name; /* of the figure; "": none, or no room */
    int scale, panel, panel_columns;
    int minutes; /* -1: no countdown */
    bool below;  /* no room for the paint beside: a line below has to do */
};

static void find_places(struct cb_bench_look *look, int right, int scale, bool held,
                        const char *digits, struct places *places)
{
    const struct cb_scene *scene = look->scene;
    const bool narrow = look->grid->columns < NARROW_COLUMNS;
    const int least = narrow ? 13 : scale > 1 ? 24 : 22, needs = narrow ? 16 : 20;
    const bool many = scene->proposal.together && scene->proposal.figure_count > 1;
    char whole[16] = "";
    const char *label = "";
    if (scene->proposal.any) {
        cb_lines_figure(scene, whole);
        label = cb_arena_printf(look->arena, "%sFIGURE%s", scene->anyway ? "THEN " : "",
                                many ? "S" : "");
    } else if (scene->hand.figure > 0) {
        snprintf(whole, sizeof whole, "%d", scene->hand.figure);
        label = "FIGURE";
    }
    const int at = !scene->proposal.any ? scene->hand.figure : many ? 0 : scene->proposal.figure;
    const char *name = at > 0 ? scene->unit->recipe->names[at] : NULL;
    bool with_name = name != NULL;
    *places = (struct places){.minutes = -1};
    for (int turn = scale; turn >= 0; turn--) { /* 0: the first alone, all of them in the label */
        snprintf(places->figure, sizeof places->figure, "%s", whole);
        places->label = label;
        places->name = with_name ? cb_utf8_clean(look->arena, name, WHO_COLUMNS) : "";
        places->scale = turn < 1 ? 1 : turn;
        if (turn == 0 && strchr(whole, '-')) {
            places->label = cb_arena_printf(look->arena, "%s %s", label, whole);
            places->figure[strcspn(places->figure, "-")] = '\0';
        }
        const int face = face_width(places->figure, places->scale);
        const int named =
            cb_utf8_text_width(places->label) + with_name + cb_utf8_text_width(places->name);
        places->panel = face > named - 1 ? face + 4 : named + 3;
        places->panel = places->panel < least ? least : places->panel;
        places->minutes = -1;
        int end = right;
        if (held) {
            const int two = face_width("00", places->scale),
                      own = face_width(digits, places->scale);
            places->minutes = right - 5 - (own > two ? own : two);
            end = places->minutes - 1; /* where its sign stands */
        }
        places->panel_columns = end - places->panel;
        if (places->panel_columns >= needs) {
            break;
        }
        turn += with_name; /* without it first */
        with_name = false;
    }
    places->below = places->panel_columns < needs;
    if (places->below && held) {
        places->minutes = places->panel;
    }
}

static int rows_of(const char *text, int columns)
{
    const int rows = text[0] ? cb_grid_rows_of(text, columns) : 0;
    return rows > NAME_ROWS ? NAME_ROWS : rows;
}

/* Which coat, the technique, and what the log says of coats here: as much as there is room for. */
static const char *coat_of(struct cb_bench_look *look, int columns)
{
    const struct cb_scene *scene = look->scene;
    const char *coat = cb_lines_coat(scene, look->arena);
    const char *how = cb_arena_printf(look->arena, "%s \u00B7 %s", coat,
                                      cb_technique_name(scene->stage->technique));
    const char *usual = cb_lines_usual(look->app, scene, false, look->arena);
    const char *brief = cb_lines_usual(look->app, scene, true, look->arena);
    const char *texts[] = {
        usual ? cb_arena_printf(look->arena, "%s \u00B7 %s", how, usual) : how,
        usual ? cb_arena_printf(look->arena, "%s \u00B7 %s", coat, usual) : how,
        brief ? cb_arena_printf(look->arena, "%s \u00B7 %s", coat, brief) : how,
        how,
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        if (cb_utf8_text_width(texts[i]) <= columns) {
            return texts[i];
        }
    }
    return coat;
}

/* The paint, where it goes, which coat, the mix; then the tools and what the recipe says, where
 * there is room for all of it. */
static void draw_panel(struct cb_bench_look *look, int row, int column, int columns, int rows,
                       const char *say)
{
    const struct cb_scene *scene = look->scene;
    struct cb_grid *grid = look->grid;
    const char *paint = cb_words_paint(scene->unit, scene->proposal.stage);
    const char *areas = cb_words_areas(look->arena, scene->unit->recipe, scene->stage);
    areas = cb_arena_printf(look->arena, "%s%s", scene->stage->whole ? "" : "on ", areas);
    const char *mix = cb_words_mix(look->arena, cb_app_session(look->app)->kinds, scene->unit,
                                   scene->proposal.stage);
    const int paint_rows = rows_of(paint, columns), mix_rows = rows_of(mix, columns);
    const int spare = rows - paint_rows - mix_rows - 2;
    const int end = row + rows;
    row += cb_grid_wrap(grid, row, column, columns, NAME_ROWS, CB_ROLE_PAINT, paint);
    row +=
        cb_grid_wrap(grid, row, column, columns, spare > 0 ? NAME_ROWS : 1, CB_ROLE_PLAIN, areas);
    cb_grid_cut(grid, row++, column, columns, CB_ROLE_PLAIN, coat_of(look, columns));
    row += cb_grid_wrap(grid, row, column, columns, NAME_ROWS, CB_ROLE_STRONG, mix);
    const char *tools = cb_lines_tools(look->app, scene, columns * (end - row), look->arena);
    if (cb_grid_rows_of(tools, columns) <= end - row) {
        row += cb_grid_wrap(grid, row, column, columns, end - row, CB_ROLE_DIM, tools);
    }
    const char *pictures = cb_pictures_line(look->app, scene, look->arena);
    if (pictures[0] && row < end) {
        cb_grid_cut(grid, row++, column, columns, CB_ROLE_DIM, pictures);
    }
    if (say && cb_grid_rows_of(say, columns) < end - row) {
        cb_grid_wrap(grid, row + 1, column, columns, end - row - 1, CB_ROLE_PLAIN, say);
    }
}

int cb_bench_draw_facts(struct cb_bench_look *look, int row, int right, int scale)
{
    struct cb_grid *grid = look->grid;
    const struct cb_scene *scene = look->scene;
    struct cb_bench_hold hold;
    struct places places;
    char digits[16] = "";
    const char *unit = "";
    const bool held = cb_bench_held_up(scene, &hold);
    if (held) {
        unit = cb_lines_left(look->app, hold.due_ms - scene->now_ms, digits);
    }
    find_places(look, right, scale, held, digits, &places);
    const int labelled = cb_grid_put(grid, row, 1, 0, CB_ROLE_DIM, places.label);
    cb_grid_put(grid, row, 2 + labelled, 0, CB_ROLE_STRONG, places.name);
    cb_grid_scaled(grid, row + 1, 1, places.scale, CB_ROLE_BIG, places.figure);
    if (held) {
        cb_grid_put(grid, row, places.minutes, 0, CB_ROLE_WET,
                    cb_words_painted(scene->unit, hold.film->stage) ? "NEXT DRY" : "WAITS FOR");
        const int two = face_width("00", places.scale), own = face_width(digits, places.scale);
        const int used = own > two ? own : two;
        cb_grid_scaled(grid, row + 1, places.minutes + used - own, places.scale, CB_ROLE_WET,
                       digits);
        cb_grid_put(grid, row + 1 + CB_GRID_BIG_ROWS * places.scale / 2, places.minutes - 1, 1,
                    CB_ROLE_WET, cb_lines_sign(look->app, hold.film->drying));
        cb_grid_put(grid, row + 1, places.minutes + used + 1, 0, CB_ROLE_WET, unit);
    }
    const int rows = CB_GRID_BIG_ROWS * scale + 1;
    if (!scene->proposal.any) {
        const int named =
            cb_grid_wrap(grid, row, places.panel, places.panel_columns, NAME_ROWS, CB_ROLE_PAINT,
                         scene->hand.stage > 0 ? cb_words_paint(scene->unit, scene->hand.stage)
                                               : scene->unit->name);
        if (scene->hand.figure > 0) {
            const bool parked = cb_scene_parked(scene) > 0;
            cb_grid_put(grid, row + named, places.panel, places.panel_columns,
                        parked ? CB_ROLE_PLAIN : CB_ROLE_DONE,
                        parked                  ? "parked"
                        : scene->hand.stage > 0 ? "it has all its coats"
                                                : "nothing to put on");
        }
    } else if (!places.below) {
        draw_panel(look, row, places.panel, places.panel_columns, rows,
                   scale > 1 ? scene->stage->say : NULL);
    } else {
        cb_grid_cut(grid, row + rows, 1, grid->columns - 2, CB_ROLE_PAINT,
                    cb_words_paint(scene->unit, scene->proposal.stage));
    }
    return rows + places.below;
}

/* The figures whose film of that coat is due at that moment: a go together is one. In so many
 * columns. */
static const char *figures_of(struct cb_bench_look *look, const struct cb_unit *unit,
                              const struct cb_film *film, int64_t due_ms, int columns)
{
    int figures[CB_FIGURES_MAX];
    size_t count = 0;
    for (size_t i = 0; i < look->scene->film_count && count < CB_FIGURES_MAX; i++) {
        const struct cb_scene_film *row = &look->scene->films[i];
        if (row->unit == unit && row->film->stage == film->stage && row->film->coat == film->coat &&
            row->forecast.due_ms == due_ms && !row->forecast.dry) {
            figures[count++] = row->film->figure;
        }
    }
    if (count == 0) {
        figures[count++] = film->figure;
    }
    const char *text = cb_words_figures(look->arena, figures, count);
    return cb_utf8_text_width(text) <= columns ? text
                                               : cb_arena_printf(look->arena, "%zu figures", count);
}

void cb_bench_draw_next(struct cb_bench_look *look, int row)
{
    const struct cb_scene *scene = look->scene;
    const int columns = look->grid->columns - 2;
    const struct cb_scene_film *next = scene->next;
    struct cb_bench_hold hold;
    char by[CB_DUE_SIZE], span[32];
    if (cb_bench_held_up(scene, &hold)) {
        cb_lines_due(look->app, hold.film->drying, hold.due_ms, by);
        const bool painted = cb_words_painted(scene->unit, hold.film->stage);
        cb_grid_cut(
            look->grid, row, 1, columns, CB_ROLE_WET,
            cb_arena_printf(look->arena, "%s %s on %s is %s at%s",
                            cb_words_looks[painted ? CB_STATE_WET : CB_STATE_WAITS].symbol,
                            cb_words_film(scene->unit, hold.film),
                            figures_of(look, scene->unit, hold.film, hold.due_ms, FIGURES_COLUMNS),
                            painted ? "dry" : "done", by));
        return;
    }
    if (!next) {
        if (scene->held_count > 0 && scene->gates.count > 0) { /* else the status line says it */
            cb_grid_cut(look->grid, row, 1, columns, CB_ROLE_HELD,
                        "\u2016 what is wet waits: too cold or too damp");
        }
        return;
    }
    const bool painted = cb_words_painted(next->unit, next->film->stage);
    const char *elsewhere = cb_lines_elsewhere(scene, next);
    cb_lines_span(look->app, next->forecast.due_ms - scene->now_ms, span);
    cb_lines_due(look->app, next->film->drying, next->forecast.due_ms, by);
    const char *symbol = cb_words_looks[painted ? CB_STATE_WET : CB_STATE_WAITS].symbol;
    const char *figures =
        figures_of(look, next->unit, next->film, next->forecast.due_ms, FIGURES_COLUMNS);
    const char *in =
        cb_arena_printf(look->arena, "%s next %s in%s%s", symbol, painted ? "dry" : "done",
                        cb_lines_sign(look->app, next->film->drying), span);
    const char *text =
        cb_arena_printf(look->arena, "%s: %s on %s%s%s", in, cb_words_film(next->unit, next->film),
                        figures, elsewhere ? " of " : "", elsewhere ? elsewhere : "");
    const char *full = cb_arena_printf(look->arena, "%s,%s", text, by);
    if (cb_utf8_text_width(full) <= columns) {
        text = full;
    } else if (elsewhere && cb_utf8_text_width(text) > columns) { /* the unit before the paint */
        text = cb_arena_printf(look->arena, "%s: %s of %s", in, figures, elsewhere);
    }
    cb_grid_cut(look->grid, row, 1, columns, CB_ROLE_WET, text);
}
