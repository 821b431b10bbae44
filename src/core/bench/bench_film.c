/* SPDX-License-Identifier: MIT */
/* What the events of a film do to it. */
#include "core/bench/bench_internal.h"

#include <math.h>
#include <string.h>

struct cb_figure *cb_bench_figure_of(struct cb_bench_unit *unit, const struct cb_event *event)
{
    const int64_t figure = cb_event_int(event, CB_FIELD_FIGURE, 0);
    return figure >= 1 && figure <= unit->unit.figures ? &unit->unit.figure[figure] : NULL;
}

/* Index of the stage named, or -1. */
int cb_bench_stage_of(const struct cb_bench_unit *unit, const struct cb_event *event)
{
    const int64_t stage = cb_event_int(event, CB_FIELD_STAGE, 0);
    return stage >= 1 && (uint64_t)stage <= unit->unit.recipe->stage_count ? (int)stage - 1 : -1;
}

static struct cb_film *film_of(struct cb_bench_unit *unit, int64_t figure, int64_t stage,
                               int64_t coat)
{
    if (figure < 0 || figure > CB_FIGURES_MAX || stage < 1 || stage > CB_RECIPE_MAX || coat < 1 ||
        coat > CB_EVENT_COATS_MAX) {
        return NULL;
    }
    if (figure == 0) {
        const struct cb_film *stroke = cb_bench_stroke(&unit->unit, (int)stage, (int)coat);
        return stroke ? &unit->strokes.items[stroke - unit->strokes.items] : NULL;
    }
    const struct cb_film *film = cb_bench_film(&unit->unit, (int)figure, (int)stage, (int)coat);
    return film ? &unit->films.items[film - unit->films.items] : NULL;
}

/* As it was said to lie when the event was written. */
static struct cb_film *film_then(const struct cb_bench *bench, struct cb_bench_unit *unit,
                                 int64_t figure, int64_t stage, int64_t coat)
{
    struct cb_film *moved = NULL;
    if (figure >= 1 && figure <= CB_FIGURES_MAX && stage >= 1 && stage <= CB_RECIPE_MAX &&
        coat >= 1 && coat <= CB_EVENT_COATS_MAX) {
        moved = cb_bench_film_moved_later(bench, unit, (int)figure, (int)stage, (int)coat);
    }
    return moved ? moved : film_of(unit, figure, stage, coat);
}

struct cb_film *cb_bench_event_film(const struct cb_bench *bench, struct cb_bench_unit *unit,
                                    const struct cb_event *event)
{
    return film_then(bench, unit, cb_event_int(event, CB_FIELD_FIGURE, 0),
                     cb_event_int(event, CB_FIELD_STAGE, 0), cb_event_int(event, CB_FIELD_COAT, 0));
}

void cb_bench_count_answered(struct cb_bench *bench, const struct cb_film *film)
{
    for (size_t i = 0; film->pot && i < bench->answered.count; i++) {
        struct cb_bench_tally *tally = &bench->answered.items[i];
        if (tally->pot == film->pot && tally->technique == film->technique) {
            tally->count++;
            return;
        }
    }
    if (film->pot) {
        cb_vec_push(&bench->answered, ((struct cb_bench_tally){film->pot, film->technique, 1}));
    }
}

size_t cb_bench_answered(const struct cb_bench *bench, const char *pot, enum cb_technique technique)
{
    for (size_t i = 0; pot && i < bench->answered.count; i++) {
        const struct cb_bench_tally *tally = &bench->answered.items[i];
        if (tally->pot == pot && tally->technique == technique) {
            return tally->count;
        }
    }
    return 0;
}

/* The first word on a film that had rung, or that the next coat went on without one. */
static void answer_ring(struct cb_film *film, enum cb_heard heard, int64_t at_ms, int64_t wall_ms)
{
    struct cb_film_more *more = cb_bench_more(film);
    if (more->rang && (more->heard == CB_HEARD_NOTHING || more->heard == CB_HEARD_SILENCE)) {
        /* What came up was wet when the next coat went on. */
        more->heard_ms = more->heard == CB_HEARD_SILENCE ? more->heard_ms : at_ms;
        more->heard = heard;
        more->heard_wall_ms = wall_ms;
    }
}

/* The film goes over what lies on its areas: whoever paints on takes that for dry. */
static void cover(struct cb_bench *bench, struct cb_bench_unit *unit, const struct cb_film *above)
{
    if (!cb_technique_needs_paint(above->technique) && above->technique != CB_TECHNIQUE_TRANSFER) {
        return;
    }
    for (size_t at = above->more->older; at > 0; at = unit->films.items[at - 1].more->older) {
        struct cb_film *film = &unit->films.items[at - 1];
        if (film->lifted_ms == CB_TIME_NONE && film->on_ms <= above->on_ms &&
            (film->next_ms == CB_TIME_NONE || film->next_ms > above->on_ms) &&
            cb_areas_meet(film->whole, film->areas, above->whole, above->areas)) {
            film->next_ms = above->on_ms;
            if (film->check == CB_CHECK_NONE) {
                struct cb_film_more *more = cb_bench_more(film);
                more->confidence = more->rang ? more->confidence : bench->confidence;
                answer_ring(film, CB_HEARD_SILENCE, above->on_ms, above->more->wall_on_ms);
            }
            cb_bench_film_changed(bench, film);
        }
    }
}

/* What the event puts on, and its source of a row; it stands nowhere yet. */
static struct cb_film make_film(struct cb_bench *bench, size_t unit_index,
                                const struct cb_event *event, const struct cb_film_key *key,
                                int64_t at_ms)
{
    struct cb_bench_unit *unit = bench->units.items[unit_index];
    const int index = cb_bench_stage_of(unit, event);
    const struct cb_stage *stage = &unit->unit.recipe->stages[index];
    const bool before = cb_event_is(event, CB_FIELD_BEFORE);
    const int64_t on_at_ms = cb_event_int(event, CB_FIELD_ON_AT, event->at_ms);
    const double pm_s = cb_event_number(event, CB_FIELD_ON_PM_S, 0);
    struct cb_film_more *more = cb_arena_alloc(&bench->fold, 1, sizeof *more);
    more->stage_name = stage->name;
    more->read = unit->read;
    more->read_stage = (size_t)index;
    more->machine = event->machine;
    more->back_ms = on_at_ms < event->at_ms ? event->at_ms - on_at_ms : 0;
    more->wall_on_ms = event->at_ms - more->back_ms;
    more->unit = unit_index;
    more->source = before ? CB_BENCH_TEACHES_NOT : bench->sources.count;
    const struct cb_film film = {
        .figure = key->figure,
        .stage = index + 1,
        .coat = key->coat,
        .on_ms = before ? unit->unit.begun_ms : at_ms - more->back_ms,
        .pressed_ms = at_ms,
        .on_pm_s = pm_s > 0 ? pm_s : 0,
        .on_press = event->press,
        .on_id = event->id,
        .place = cb_bench_place_of(bench, cb_event_text(event, CB_FIELD_PLACE, stage->place)),
        .check = before ? CB_CHECK_DRY : CB_CHECK_NONE,
        .wet_ms = CB_TIME_NONE,
        .dry_ms = before ? unit->unit.begun_ms : CB_TIME_NONE,
        .next_ms = CB_TIME_NONE,
        .lifted_ms = CB_TIME_NONE,
        .before = before,
        .pinged_ms = CB_TIME_NONE,
        .pinged_due_ms = CB_TIME_NONE,
        .wet_like_ms = CB_TIME_NONE,
        .work_s = cb_event_number(event, CB_FIELD_WORK_S, NAN),
        .areas = unit->read->covers[index],
        .whole = stage->whole,
        .drying = &unit->unit.drying[index],
        .pot = unit->pot[index],
        .paint = unit->paint[index],
        .technique = stage->technique,
        .more = more,
    };
    cb_vec_push(&more->stays, ((struct cb_film_stay){film.on_ms, film.place}));
    if (!before) {
        cb_vec_push(&bench->sources, ((struct cb_bench_source){.film = more, .dirty = true}));
    }
    return film;
}

/* It lies on nothing, holds up nothing, and no brush work of the unit was spent on it. */
static void stroke_on(struct cb_bench_unit *unit, struct cb_film film)
{
    struct cb_film_more *more = cb_bench_more(&film);
    more->stroke = true;
    more->film = unit->strokes.count;
    cb_vec_push(&unit->strokes, film);
    unit->unit.strokes = unit->strokes.items;
    unit->unit.stroke_count = unit->strokes.count;
}

/* Where it lies: as it was said, or as it was moved to later, where that is free. */
static struct cb_film_key place_of(const struct cb_bench *bench, const struct cb_bench_unit *unit,
                                   const struct cb_event *event, const struct cb_bench_move **move)
{
    struct cb_film_key key = {(int)cb_event_int(event, CB_FIELD_FIGURE, 0),
                              cb_bench_stage_of(unit, event) + 1,
                              (int)cb_event_int(event, CB_FIELD_COAT, 0)};
    *move = cb_bench_move_of(bench, event);
    if (*move && (*move)->figure <= unit->unit.figures &&
        !cb_bench_film(&unit->unit, (*move)->figure, key.stage, (*move)->coat)) {
        key.figure = (*move)->figure;
        key.coat = (*move)->coat;
    } else {
        *move = NULL;
    }
    return key;
}

void cb_bench_put_on(struct cb_bench *bench, size_t unit_index, const struct cb_event *event,
                     int64_t at_ms)
{
    struct cb_bench_unit *unit = bench->units.items[unit_index];
    const struct cb_bench_move *move;
    const struct cb_film_key key = place_of(bench, unit, event, &move);
    const int figure = key.figure, index = key.stage - 1;
    const bool scrap = cb_event_is_stroke(event);
    if (index < 0 || (!scrap && (figure < 1 || figure > unit->unit.figures)) || key.coat < 1 ||
        key.coat > CB_EVENT_COATS_MAX || film_of(unit, figure, key.stage, key.coat)) {
        return;
    }
    const struct cb_film film = make_film(bench, unit_index, event, &key, at_ms);
    if (scrap) {
        stroke_on(unit, film);
        return;
    }
    if (move) {
        struct cb_film_more *moved = cb_bench_more(&film);
        moved->said_figure = (int)cb_event_int(event, CB_FIELD_FIGURE, 0);
        moved->said_coat = (int)cb_event_int(event, CB_FIELD_COAT, 0);
        moved->moved = (size_t)(move - bench->moves.items) + 1;
    }
    struct cb_film_more *more = cb_bench_more(&film);
    more->film = unit->films.count;
    more->older = unit->newest[figure];
    unit->newest[figure] = more->film + 1;
    cb_vec_push(&unit->films, film);
    unit->unit.films = unit->films.items;
    unit->unit.film_count = unit->films.count;
    const size_t slot = (size_t)figure * unit->unit.recipe->stage_count + (size_t)index;
    more->next_same = unit->first_same[slot];
    unit->first_same[slot] = (int)more->film;
    while (cb_bench_film(&unit->unit, figure, index + 1, unit->coats_on[slot] + 1)) {
        unit->coats_on[slot]++;
    }
    cb_bench_set_wants(unit, figure, (size_t)index);
    if (!film.before) { /* it lies beneath all that was put on here, no brush of this bench had it
                         */
        cover(bench, unit, &unit->films.items[more->film]);
        bench->last = more;
        bench->last_mark_ms = at_ms;
    }
}

void cb_bench_check(struct cb_bench *bench, struct cb_bench_unit *unit,
                    const struct cb_event *event, int64_t at_ms)
{
    struct cb_film *film = cb_bench_event_film(bench, unit, event);
    const char *found = cb_event_text(event, CB_FIELD_FOUND, "");
    const int64_t seen_at_ms = cb_event_int(event, CB_FIELD_SEEN_AT, event->at_ms);
    const bool told_later = seen_at_ms < event->at_ms;
    at_ms -= told_later ? event->at_ms - seen_at_ms : 0;
    if (!film || film->before || (told_later && at_ms < film->on_ms) ||
        (film->next_ms != CB_TIME_NONE && at_ms > film->next_ms)) {
        return; /* nobody can touch what is not on yet, or lies under another coat */
    }
    const bool first = film->check == CB_CHECK_NONE;
    if (first && !told_later) {
        answer_ring(film, strcmp(found, "dry") == 0 ? CB_HEARD_DRY : CB_HEARD_WET, at_ms,
                    event->at_ms);
    }
    if (strcmp(found, "dry") == 0) {
        film->check = CB_CHECK_DRY;
        film->dry_ms = film->dry_ms == CB_TIME_NONE ? at_ms : film->dry_ms;
    } else if (strcmp(found, "wet") == 0) {
        film->check = CB_CHECK_WET;
        film->wet_ms = at_ms;
        film->dry_ms = CB_TIME_NONE; /* it was said too soon */
        for (size_t i = 0; film->figure > 0 && i < unit->films.count; i++) {
            struct cb_film *other = &unit->films.items[i];
            if (other != film && other->stage == film->stage && other->coat == film->coat &&
                other->on_ms >= film->on_ms && other->on_ms < at_ms && cb_bench_film_open(other)) {
                other->wet_like_ms = at_ms; /* put on later, it can't be drier */
            }
        }
    }
    if (first && film->check != CB_CHECK_NONE) {
        cb_bench_count_answered(bench, film);
    }
    cb_bench_film_changed(bench, film);
}

void cb_bench_lift(struct cb_bench *bench, struct cb_bench_unit *unit, const struct cb_event *event,
                   int64_t at_ms)
{
    struct cb_film *film = cb_bench_event_film(bench, unit, event);
    if (film) {
        film->lifted_ms = at_ms;
        if (film->check == CB_CHECK_NONE) {
            answer_ring(film, CB_HEARD_WET, at_ms, event->at_ms);
            cb_bench_count_answered(bench, film);
        }
        cb_bench_film_changed(bench, film);
        cb_bench_set_standing(bench, unit);
    }
}

void cb_bench_tidy(struct cb_bench *bench, struct cb_bench_unit *unit, const struct cb_event *event)
{
    for (size_t i = 0; i < unit->films.count; i++) {
        struct cb_film *film = &unit->films.items[i];
        if (film->figure == cb_event_int(event, CB_FIELD_FIGURE, 0) &&
            film->stage - 1 == cb_bench_stage_of(unit, event) && cb_bench_film_open(film)) {
            film->tidied = true; /* part of it is fresh: no evidence of its time */
            cb_bench_film_changed(bench, film);
        }
    }
}

/* The seconds end at the press: marks come when the hand is free again. */
void cb_bench_help(struct cb_bench *bench, struct cb_bench_unit *unit, const struct cb_event *event,
                   int64_t at_ms)
{
    struct cb_film *film = cb_bench_event_film(bench, unit, event);
    struct cb_film_help row = {.to_ms = at_ms};
    const double seconds = cb_event_number(event, CB_FIELD_SECONDS, 0);
    if (!film || film->before || !(seconds >= 0 && seconds <= 86400) ||
        !cb_air_from_name(cb_event_text(event, CB_FIELD_AIR, ""), &row.air)) {
        return;
    }
    struct cb_film_more *more = cb_bench_more(film);
    row.from_ms = at_ms - (int64_t)llround(seconds * 1000);
    if (row.from_ms < film->on_ms) {
        row.from_ms = film->on_ms;
    }
    if (more->helps.count && row.from_ms < more->helps.items[more->helps.count - 1].to_ms) {
        row.from_ms = more->helps.items[more->helps.count - 1].to_ms;
    }
    film->helped = true;
    if (row.from_ms < row.to_ms) {
        cb_vec_push(&more->helps, row);
    }
    cb_bench_film_changed(bench, film);
}

void cb_bench_ping(struct cb_bench *bench, const struct cb_event *event, int64_t at_ms)
{
    const int at = event->unit ? cb_bench_find_unit(bench, event->unit) : bench->front.unit;
    const struct cb_attr *list = cb_event_get(event, CB_FIELD_FILMS);
    if (at < 0 || !list || list->type != CB_TYPE_FILMS) {
        return;
    }
    for (size_t i = 0; i < list->n; i++) {
        const struct cb_film_key *key = &list->films[i];
        struct cb_film *film =
            film_then(bench, bench->units.items[at], key->figure, key->stage, key->coat);
        if (film) {
            struct cb_film_more *more = cb_bench_more(film);
            if (!more->rang && film->check == CB_CHECK_NONE && film->next_ms == CB_TIME_NONE) {
                const int64_t late_ms =
                    event->at_ms - cb_event_int(event, CB_FIELD_DUE_AT, event->at_ms);
                const bool told_late = late_ms > 0 && at_ms - late_ms > film->on_ms;
                more->rang = true;
                more->ring_ms = told_late ? at_ms - late_ms : at_ms;
                more->confidence = bench->confidence;
                cb_bench_film_changed(bench, film);
            }
            film->pinged_ms = at_ms;
            film->pinged_due_ms =
                at_ms - (event->at_ms - cb_event_int(event, CB_FIELD_DUE_AT, event->at_ms));
        }
    }
}
