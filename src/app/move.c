/* SPDX-License-Identifier: MIT */
#include "app/move.h"

#include <stdio.h>
#include <string.h>

#include "app/films.h"
#include "app/state.h"
#include "base/str.h"

/* Other presses may have come meanwhile: NULL where it is no more. */
static const struct cb_film *find(const struct cb_app *app, const struct cb_unit **unit)
{
    const int at = cb_bench_find_unit(app->session.bench, app->move.unit);
    *unit = at < 0 ? NULL : cb_bench_unit(app->session.bench, (size_t)at);
    for (size_t i = *unit ? (*unit)->film_count : 0; i-- > 0;) {
        const struct cb_film *film = &(*unit)->films[i];
        if (film->stage > 0 && film->lifted_ms == CB_TIME_NONE && film->on_id &&
            strcmp(film->on_id, app->move.coat_id) == 0) {
            return film;
        }
    }
    return NULL;
}

void cb_move_begin(struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    const struct cb_scene_film *asked = cb_films_asked(app, scene);
    if (!cb_app_may_write(app)) {
        return;
    }
    if (!asked || !asked->film->on_id) {
        cb_app_flash(app, "no coat here to move to another figure");
    } else if (asked == &scene->stroke) {
        cb_app_flash(app, "a stroke on the scrap is on no figure");
    } else {
        app->move.unit = cb_arena_text(&app->arena, asked->unit->id);
        app->move.coat_id = cb_arena_text(&app->arena, asked->film->on_id);
        cb_nav_show(app, "move");
    }
}

char *cb_move_line(const struct cb_app *app, struct cb_arena *arena)
{
    const struct cb_unit *unit;
    const struct cb_film *film = find(app, &unit);
    if (!film) {
        return cb_arena_text(arena, "the coat is no more");
    }
    return cb_arena_printf(arena, "%s, coat %d, is on %d", cb_words_paint(unit, film->stage),
                           film->coat, film->figure);
}

/* Why it can't be on that figure; "": it can. */
static char *why_not(struct cb_app *app, const struct cb_unit *unit, const struct cb_film *film,
                     int figure)
{
    const char *name = unit->recipe->stages[film->stage - 1].name;
    const int wanted = cb_bench_coats(unit, figure, film->stage);
    if (figure == film->figure) {
        return cb_arena_printf(&app->frame, "it is on %d", figure);
    }
    if (film->pressed_ms < unit->figure[figure].joined_ms) {
        return cb_arena_printf(&app->frame, "figure %d joined after it went on", figure);
    }
    if (cb_bench_coats_on(unit, film->figure, film->stage) > film->coat) {
        return cb_arena_printf(&app->frame, "coat %d lies over it on %d: that one first",
                               film->coat + 1, film->figure);
    }
    if (wanted == 0) {
        return cb_arena_printf(&app->frame, "%.80s is not for figure %d", name, figure);
    }
    if (cb_bench_coats_on(unit, figure, film->stage) >= wanted) {
        return cb_arena_printf(&app->frame,
                               wanted == 1 ? "figure %d has its coat already"
                                           : "figure %d has its %d coats already",
                               figure, wanted);
    }
    return cb_arena_text(&app->frame, "");
}

static bool write(struct cb_app *app, struct cb_typed *line)
{
    const struct cb_unit *unit;
    const struct cb_film *film = find(app, &unit);
    long long figure;
    if (!film) {
        return true;
    }
    if (!cb_str_integer(line->text, &figure) || figure < 1 || figure > unit->figures) {
        snprintf(line->error, sizeof line->error, "the number of a figure, 1 to %d", unit->figures);
        return false;
    }
    snprintf(line->error, sizeof line->error, "%s", why_not(app, unit, film, (int)figure));
    if (line->error[0]) {
        return false;
    }
    char clock[CB_CLOCK_SIZE];
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_MOVED, unit->id, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_COAT_ID, film->on_id);
    cb_event_add_int(&make, CB_FIELD_FIGURE, figure);
    cb_event_add_int(&make, CB_FIELD_COAT, cb_bench_coats_on(unit, (int)figure, film->stage) + 1);
    cb_lines_clock(app, film->on_ms, clock);
    cb_app_flash(app, "%s is on %lld, not on %d, since %s; %s takes it back",
                 cb_words_paint(unit, film->stage), figure, film->figure, clock,
                 cb_app_key(app, CB_ACTION_UNDO));
    cb_app_store_one(app, &make);
    return true;
}

bool cb_move_key(struct cb_app *app, uint32_t key)
{
    return cb_form_line_key(app, key, write);
}
