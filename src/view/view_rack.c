/* SPDX-License-Identifier: MIT */
/* The rack: every film of every open unit that is not yet known to be dry. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "core/recipe/gate.h"
#include "app/look.h"
#include "app/move.h"
#include "app/nav.h"
#include "app/session.h"
#include "app/films.h"
#include "app/lines.h"
#include "app/scene.h"
#include "app/sensor.h"
#include "view/put.h"

#define ROOMY_COLUMNS 76
#define NAMED_COLUMNS 100 /* from here on there is room for names of figures */
#define NAME_LEFT     84

static const struct cb_view_key keys[] = {
    {CB_ACTION_VIEW_NEXT, CB_ACTION_NONE, NULL},
    {CB_ACTION_DRY, CB_ACTION_NONE, "> dry"},
    {CB_ACTION_WET, CB_ACTION_NONE, "> wet"},
    {CB_ACTION_EDIT, CB_ACTION_NONE, "> move"},
    {CB_ACTION_HELP, CB_ACTION_NONE, NULL},
    {CB_ACTION_QUIT, CB_ACTION_NONE, NULL},
    {CB_ACTION_UNDO, CB_ACTION_NONE, NULL},
    {CB_ACTION_BROUGHT_IN, CB_ACTION_NONE, NULL},
    {CB_ACTION_STAGE_PREV, CB_ACTION_STAGE_NEXT, ">"},
    {CB_ACTION_VIEW_BENCH, CB_ACTION_NONE, NULL},
    {CB_ACTION_NONE, CB_ACTION_NONE, NULL},
};

static void put_times(const struct cb_app *app, const struct cb_scene *scene, struct cb_grid *grid,
                      int row, int column, const struct cb_scene_film *film)
{
    const struct cb_forecast *forecast = &film->forecast;
    bool painted = cb_words_painted(film->unit, film->film->stage);
    if (forecast->held || forecast->dry || forecast->due_ms == CB_TIME_NONE || !painted) {
        enum cb_words_state state = forecast->held  ? CB_STATE_HELD
                                    : forecast->dry ? CB_STATE_DRY
                                                    : CB_STATE_WAITS;
        cb_put_film(app, scene, film, grid, row, column, grid->columns - column - 1,
                    cb_words_looks[state].role);
        return;
    }
    char usually[CB_DUE_SIZE] = "", by[CB_DUE_SIZE], chance[8];
    cb_lines_due(app, film->film->drying, forecast->due_ms, by);
    if (forecast->median_ms != CB_TIME_NONE) {
        cb_lines_due(app, film->film->drying, forecast->median_ms, usually);
    }
    cb_words_chance(forecast->chance, chance);
    const bool half = cb_app_session(app)->zone.half_days;
    const int wide = half ? 8 : 6;
    int used = cb_grid_putf(grid, row, column - 1, 0, CB_ROLE_PLAIN, "%*s ", wide, usually) - 1;
    used += cb_grid_putf(grid, row, column + used, 0, CB_ROLE_STRONG, "%-*s", wide,
                         film->film->figure > 0 ? by : ""); /* a stroke does not ring */
    used = grid->columns >= ROOMY_COLUMNS ? 18 : used + (half ? 0 : 3);
    cb_grid_putf(grid, row, column + used, 0, CB_ROLE_DIM, "%5s", chance);
}

/* A line of the rack: a film, or the name of the unit that those below are of. */
struct rack_row {
    const struct cb_scene_film *film; /* NULL: heading */
    const struct cb_unit *unit, *front;
};

/* The unit in front, then the others; in each what is wet comes first, soonest dry on top; then
 * what is dry, the latest on top. */
static int by_interest(const void *a, const void *b)
{
    const struct rack_row *first = a, *second = b;
    const struct cb_scene_film *x = first->film, *y = second->film;
    if (first->unit != second->unit) {
        bool front = first->unit == first->front || second->unit == first->front;
        return front ? (first->unit == first->front ? -1 : 1)
                     : (first->unit->begun_ms < second->unit->begun_ms ? -1 : 1);
    }
    if (x->forecast.dry != y->forecast.dry) {
        return x->forecast.dry ? 1 : -1;
    }
    if (x->forecast.dry && x->forecast.due_ms != y->forecast.due_ms) {
        return x->forecast.due_ms > y->forecast.due_ms ? -1 : 1;
    }
    return x < y ? -1 : x > y; /* as the scene has them: by time, then figure */
}

/* Headings stand only where there are films of several units. */
static const struct rack_row *rack_rows(const struct cb_scene *scene, struct cb_arena *arena,
                                        int *count)
{
    struct rack_row *films = cb_arena_alloc(arena, scene->film_count + 1, sizeof *films);
    struct rack_row *rows = cb_arena_alloc(arena, 2 * scene->film_count + 2, sizeof *rows);
    bool several = false;
    *count = 0;
    for (size_t i = 0; i < scene->film_count; i++) {
        films[i] = (struct rack_row){&scene->films[i], scene->films[i].unit, scene->unit};
        several = several || films[i].unit != scene->unit;
    }
    if (scene->film_count > 1) {
        qsort(films, scene->film_count, sizeof *films, by_interest);
    }
    for (size_t i = 0; i < scene->film_count; i++) {
        if (several && (i == 0 || films[i].unit != films[i - 1].unit)) {
            rows[(*count)++] = (struct rack_row){NULL, films[i].unit, scene->unit};
        }
        rows[(*count)++] = films[i];
    }
    if (scene->stroke.film) {
        rows[(*count)++] = (struct rack_row){&scene->stroke, scene->unit, scene->unit};
    }
    return rows;
}

/* The room as a tool: what would bring on the film that is wet longest, where it is worth it
 * and the times are learned. */
static void draw_room(const struct cb_app *app, const struct cb_scene *scene, struct cb_grid *grid,
                      int row, struct cb_arena *arena)
{
    const struct cb_scene_film *last = NULL;
    for (size_t i = 0; i < scene->film_count; i++) {
        const struct cb_scene_film *film = &scene->films[i];
        const struct cb_forecast *forecast = &film->forecast;
        if (!forecast->dry &&
            (last == NULL || forecast->held ||
             (!last->forecast.held && forecast->due_ms > last->forecast.due_ms))) {
            last = film;
        }
    }
    if (last == NULL || last->film->drying == NULL || cb_app_session(app)->history_due) {
        return;
    }
    struct cb_climate climate =
        cb_bench_climate_at(cb_app_session(app)->bench, last->film->place, cb_app_bench_now(app))
            .climate;
    struct cb_room_tool tools[CB_ROOM_MAX];
    double left = last->forecast.standard_due_min - last->forecast.standard_now_min;
    size_t count =
        cb_gate_room(last->film->drying, "all", left, &climate, cb_app_session(app)->now.wall_ms,
                     &cb_app_session(app)->zone, arena, tools, CB_ROOM_MAX);
    for (size_t i = 0; i < count && row < grid->rows - 3; i++, row++) {
        cb_grid_cut(grid, row, 1, grid->columns - 2, CB_ROLE_DIM, tools[i].text);
    }
}

static bool has_names(const struct cb_scene *scene)
{
    for (size_t i = 0; i < scene->film_count; i++) {
        if (scene->films[i].unit->recipe->names[scene->films[i].film->figure]) {
            return true;
        }
    }
    return false;
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    const struct cb_scene *scene = cb_app_scene(app);
    char clock[CB_CLOCK_SIZE], climate[48];
    cb_time_clock(cb_app_session(app)->now.wall_ms, &cb_app_session(app)->zone, clock);
    cb_words_climate(&scene->reading.climate, cb_app_session(app)->config->fahrenheit, climate);
    bool roomy = grid->columns >= ROOMY_COLUMNS;
    cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "Rack");
    if (roomy) {
        cb_grid_put(grid, 0, 7, 0, CB_ROLE_TITLE, "what is drying");
    }
    char *right = cb_arena_printf(&arena, "%s  %s%s", clock, climate, cb_sensor_mark(app, scene));
    const int at = grid->columns - cb_utf8_text_width(right) - 1;
    cb_grid_put(grid, 0, at, 0, CB_ROLE_DIM, right);
    cb_grid_style(grid, 0, at, (int)strlen(clock), CB_ROLE_STRONG);
    int times = roomy ? 54 : grid->columns - 21, name_columns = roomy ? 20 : times - 8;
    cb_grid_put(grid, 1, 1, 0, CB_ROLE_DIM, "FIG  PAINT");
    if (roomy) {
        cb_grid_put(grid, 1, 28, 0, CB_ROLE_DIM, "ON");
    }
    cb_grid_put(grid, 1, times - 1, 0, CB_ROLE_DIM, "USUALLY");
    cb_grid_put(grid, 1, times + 7, 0, CB_ROLE_DIM, "RINGS");
    cb_grid_put(grid, 1, times + 17, 0, CB_ROLE_DIM, roomy ? "DRY NOW" : "NOW");
    const bool named = grid->columns >= NAMED_COLUMNS && has_names(scene);
    if (named) {
        cb_grid_put(grid, 1, NAME_LEFT, 0, CB_ROLE_DIM, "NAME");
    }
    int room = grid->rows - 4, top = cb_app_nav(app)->top;
    room = room < 1 ? 1 : room;
    int count;
    const struct rack_row *rows = rack_rows(scene, &arena, &count);
    const struct cb_scene_film *asked = cb_films_asked(app, scene);
    top = top > count - room ? count - room : top;
    top = top < 0 ? 0 : top;
    for (int i = top; i < count && i - top < room; i++) {
        const struct cb_scene_film *film = rows[i].film;
        int row = 2 + i - top;
        if (film == NULL) {
            cb_grid_cut(grid, row, 1, grid->columns - 2, CB_ROLE_TITLE,
                        cb_arena_printf(&arena, "%s%s", rows[i].unit->name,
                                        rows[i].unit == scene->unit ? ", in front" : ""));
            continue;
        }
        bool painted = cb_words_painted(film->unit, film->film->stage);
        const bool scrap = film == &scene->stroke;
        enum cb_words_state state = film->forecast.held  ? CB_STATE_HELD
                                    : film->forecast.dry ? (painted ? CB_STATE_DRY : CB_STATE_SET)
                                    : painted            ? CB_STATE_WET
                                                         : CB_STATE_WAITS;
        bool focus = film == asked;
        cb_grid_put(grid, row, 0, 1, focus ? CB_ROLE_FOCUS : CB_ROLE_PLAIN, focus ? ">" : " ");
        if (focus) {
            cb_put_focus(grid, row, 0);
        }
        if (!scrap) {
            cb_grid_putf(grid, row, 1, 3, focus ? CB_ROLE_FOCUS : CB_ROLE_PLAIN, "%2d",
                         film->film->figure);
        }
        cb_grid_put(grid, row, 4, 1, cb_words_looks[state].role, cb_words_looks[state].symbol);
        int coats = cb_bench_coats(film->unit, film->film->figure, film->film->stage);
        const char *coat = coats > 1 ? cb_arena_printf(&arena, " %d/%d", film->film->coat, coats)
                           : scrap && !roomy ? " (scrap)"
                                             : "";
        int used = cb_grid_cut(grid, row, 6, name_columns - (int)strlen(coat), CB_ROLE_PLAIN,
                               cb_words_film(film->unit, film->film));
        cb_grid_put(grid, row, 6 + used, 0, CB_ROLE_DIM, coat);
        if (roomy) {
            const struct cb_stage *stage = &film->unit->recipe->stages[film->film->stage - 1];
            const char *on =
                scrap ? "on the scrap" : cb_words_areas(&arena, film->unit->recipe, stage);
            const char *place = cb_bench_place_name(cb_app_session(app)->bench, film->film->place);
            cb_grid_cut(grid, row, 28, 17, CB_ROLE_DIM,
                        film->film->place ? cb_arena_printf(&arena, "%s: %s", place, on) : on);
            cb_grid_put(grid, row, 46, 6, cb_words_looks[state].role, cb_words_looks[state].word);
        }
        put_times(app, scene, grid, row, times, film);
        if (named && !scrap && film->unit->recipe->names[film->film->figure]) {
            cb_grid_cut(grid, row, NAME_LEFT, grid->columns - NAME_LEFT - 1, CB_ROLE_PLAIN,
                        film->unit->recipe->names[film->film->figure]);
        }
    }
    draw_room(app, scene, grid, 3 + (count - top < room ? count - top : room), &arena);
    if (count == 0) {
        cb_grid_put(grid, 3, 1, 0, CB_ROLE_PLAIN, "Nothing is wet.");
    } else if (count > room) {
        cb_grid_putf(grid, grid->rows - 2, 1, 0, CB_ROLE_DIM, "%d to %d of %d rows, %s %s", top + 1,
                     top + room, count, cb_app_key(app, CB_ACTION_STAGE_PREV),
                     cb_app_key(app, CB_ACTION_STAGE_NEXT));
    }
    enum cb_role role;
    char *message = cb_lines_message(app, scene, &arena, &role);
    if (message[0]) {
        cb_grid_cut(grid, grid->rows - 2, 1, 0, role, message);
    }
    cb_put_keys(app, keys, grid, grid->rows - 1, 1);
    cb_arena_fini(&arena);
}

static int last(const struct cb_app *app)
{
    struct cb_arena arena = {0};
    int count;
    rack_rows(cb_app_scene(app), &arena, &count);
    cb_arena_fini(&arena);
    count -= cb_app_look(app)->rows - 4;
    return count > 0 ? count : 0;
}

/* > goes to the next film that an answer can be about, that way; false: there is none, and the list
 * moves under it. */
static bool choose(struct cb_app *app, int way)
{
    struct cb_arena arena = {0};
    const struct cb_scene *scene = cb_app_scene(app);
    const struct cb_scene_film *asked = cb_films_asked(app, scene);
    const struct cb_nav *nav = cb_app_nav(app);
    const int room = cb_app_look(app)->rows - 4;
    int steps = nav->count > 0 ? nav->count : 1;
    int count, chosen = -1, at = 0;
    const struct rack_row *rows = rack_rows(scene, &arena, &count);
    while (at < count && rows[at].film != asked) {
        at++;
    }
    for (int i = at + way; i >= 0 && i < count && steps > 0; i += way) {
        const struct cb_scene_film *film = rows[i].film;
        if (film && film != &scene->stroke && cb_scene_focus(scene, film->film->figure) == film) {
            chosen = i;
            steps--;
        }
    }
    if (chosen >= 0) {
        const int top = nav->top;
        cb_nav_top(app, chosen < top ? chosen : chosen >= top + room ? chosen - room + 1 : top);
        cb_nav_go(app, rows[chosen].film->film->figure, nav->at_stage);
    }
    cb_arena_fini(&arena);
    return chosen >= 0;
}

static bool act(struct cb_app *app, enum cb_action action)
{
    if (action == CB_ACTION_STAGE_NEXT || action == CB_ACTION_STAGE_PREV) {
        return choose(app, action == CB_ACTION_STAGE_NEXT ? 1 : -1);
    }
    if (action == CB_ACTION_EDIT && cb_nav_is_counting(app)) {
        cb_nav_refuse_count(app, cb_app_key(app, action));
    } else if (action == CB_ACTION_EDIT) {
        cb_move_begin(app);
    }
    return action == CB_ACTION_EDIT;
}

const struct cb_view cb_view_rack = {
    .name = "rack",
    .opens = CB_ACTION_VIEW_RACK,
    .flags = CB_VIEW_TURNS | CB_VIEW_MARKS_COATS | CB_VIEW_HAS_LIST | CB_VIEW_READ_OUT,
    .keys = keys,
    .draw = draw,
    .last = last,
    .act = act,
};
