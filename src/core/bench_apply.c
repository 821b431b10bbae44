/* SPDX-License-Identifier: MIT */
/* What each event does to the bench. A bad or meaningless one does nothing. */
#include "core/bench_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/time.h"
#include "base/utf8.h"

/* What the model says of a thin basecoat, which the first-opening question asks about. */
#define THIN_BASECOAT_MIN 8.9
/* A machine off for longer than this has lost its clock rather than its painter (own judgement). */
#define ABSURD_MS (366 * INT64_C(86400000))
/* Wall and boot clocks that part by more than this while the machine was on: somebody set the
 * wall clock, and the difference across the boots can't be trusted (own judgement). */
#define SET_CLOCK_MS (5 * CB_MS_PER_MIN)

static bool same_text(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

/* The clocks. */

static struct cb_bench_machine *machine_of(struct cb_bench *bench, const char *name)
{
    for (size_t i = 0; i < bench->machines.count; i++) {
        if (same_text(bench->machines.items[i].name, name)) {
            return &bench->machines.items[i];
        }
    }
    return NULL;
}

/* Films that wait for an answer have aged across the boots by a difference of wall clocks. */
static void cross_boot(struct cb_bench *bench, const char *machine, bool absurd)
{
    for (size_t u = 0; u < bench->units.count; u++) {
        struct cb_bench_unit *unit = bench->units.items[u];
        for (size_t i = 0; !unit->unit.finished && i < unit->films.count; i++) {
            struct cb_film *film = &unit->films.items[i];
            if (cb_bench_film_open(film) && same_text(film->more->machine, machine)) {
                film->across_boot = true;
                film->suspect = film->suspect || absurd;
                cb_bench_film_changed(bench, film);
            }
        }
    }
}

int64_t cb_bench_apply_clock(struct cb_bench *bench, const struct cb_event *event)
{
    if (!event->boot) {
        bench->latest_ms = event->at_ms > bench->latest_ms ? event->at_ms : bench->latest_ms;
        return event->at_ms;
    }
    size_t boot;
    if (!cb_index_get(bench->boots, event->boot, &boot)) {
        boot = bench->anchors.count;
        cb_index_set(bench->boots, event->boot, boot);
        cb_vec_push(&bench->anchors, event->at_ms - event->boot_ms);
    }
    const int64_t at_ms = bench->anchors.items[boot] + event->boot_ms;
    bench->latest_ms = at_ms > bench->latest_ms ? at_ms : bench->latest_ms;
    struct cb_bench_machine *machine = machine_of(bench, event->machine);
    if (!machine) {
        cb_vec_push(&bench->machines, ((struct cb_bench_machine){event->machine, event->boot,
                                                                 at_ms, event->at_ms}));
        return at_ms;
    }
    if (strcmp(machine->boot, event->boot) != 0) {
        const int64_t bench_gap = at_ms - machine->bench_ms;
        const int64_t wall_gap = event->at_ms - machine->wall_ms;
        const int64_t apart = bench_gap > wall_gap ? bench_gap - wall_gap : wall_gap - bench_gap;
        cross_boot(bench, event->machine,
                   bench_gap < 0 || wall_gap < 0 || bench_gap > ABSURD_MS || apart > SET_CLOCK_MS);
    }
    *machine = (struct cb_bench_machine){machine->name, event->boot, at_ms, event->at_ms};
    return at_ms;
}

/* The bench. */

static void set_climate(struct cb_bench *bench, const struct cb_event *event, int64_t at_ms)
{
    static const char *const froms[] = {
        [CB_FROM_DEFAULT] = "default",
        [CB_FROM_TYPED] = "typed",
        [CB_FROM_SENSOR] = "sensor",
        [CB_FROM_ESTIMATE] = "estimate",
    };
    const double temp_c = cb_event_number(event, CB_FIELD_TEMP_C, NAN);
    const double rh_pct = cb_event_number(event, CB_FIELD_RH_PCT, NAN);
    if (!(temp_c >= -20 && temp_c <= 60 && rh_pct >= 0 && rh_pct <= 100)) {
        return;
    }
    const int place = cb_bench_place_of(bench, cb_event_text(event, CB_FIELD_PLACE, NULL));
    struct cb_reading reading = cb_bench_climate_at(bench, place, at_ms);
    reading.at_ms = at_ms;
    reading.climate.temp_c = temp_c;
    reading.climate.rh_pct = rh_pct;
    reading.from = CB_FROM_TYPED;
    const char *from = cb_event_text(event, CB_FIELD_FROM, "typed");
    for (size_t i = 0; i < sizeof froms / sizeof *froms; i++) {
        if (strcmp(froms[i], from) == 0) {
            reading.from = (enum cb_climate_from)i;
        }
    }
    const char *air = cb_event_text(event, CB_FIELD_AIR, NULL);
    if (air) {
        cb_air_from_name(air, &reading.climate.air); /* an unknown word leaves it */
    }
    cb_bench_add_reading(bench, place, &reading);
}

static void add_row(struct cb_bench *bench, const struct cb_row *row)
{
    cb_vec_push(&bench->sources, ((struct cb_bench_source){.gives = true, .row = *row}));
}

static void answer(struct cb_bench *bench, const struct cb_event *event, int64_t at_ms)
{
    if (strcmp(cb_event_text(event, CB_FIELD_QUESTION, ""), CB_QUESTION_FIRST) != 0) {
        return;
    }
    bench->first_question_answered = true;
    for (size_t i = 0; i < bench->sources.count; i++) { /* it is one observation */
        if (!bench->sources.items[i].film && bench->sources.items[i].row.kind == CB_ROW_ANSWER) {
            bench->sources.items[i].gives = false;
        }
    }
    const double minutes = cb_event_number(event, CB_FIELD_VALUE, 0);
    const struct cb_climate climate = cb_bench_climate_at(bench, 0, at_ms).climate;
    const double rate =
        cb_drying_climate_factor(CB_LAW_WATER, climate.temp_c, climate.rh_pct) *
        cb_drying_air_factor(CB_LAW_WATER, climate.air);
    if (minutes > 0 && rate > 0) {
        add_row(bench, &(struct cb_row){.kind = CB_ROW_ANSWER,
                                        .value = log(minutes * rate / THIN_BASECOAT_MIN),
                                        .at_ms = event->at_ms});
    }
}

/* The pots that a name means, each kind of it: shown name or the pot's own key. next: start with
 * 0; NULL at the end. */
static const struct cb_bench_pot *next_pot(const struct cb_bench *bench, const char *name,
                                           size_t *next)
{
    struct cb_arena arena = {0};
    const char *folded = cb_utf8_fold(&arena, name);
    const struct cb_bench_pot *found = NULL;
    while (!found && *next < bench->pots.count) {
        const struct cb_bench_pot *pot = &bench->pots.items[(*next)++];
        if (strcmp(pot->name, folded) == 0 || strcmp(pot->key, name) == 0) {
            found = pot;
        }
    }
    cb_arena_fini(&arena);
    return found;
}

static void change_evidence(struct cb_bench *bench, const struct cb_event *event,
                            enum cb_row_kind kind)
{
    const char *name = cb_event_text(event, CB_FIELD_PAINT, NULL);
    struct cb_row row = {.kind = kind, .at_ms = event->at_ms, .paint = name};
    if (!name) {
        if (kind == CB_ROW_FORGET) {
            add_row(bench, &row);
        }
        return;
    }
    size_t next = 0;
    const struct cb_bench_pot *pot;
    while ((pot = next_pot(bench, name, &next)) != NULL) {
        row.pot = cb_bench_pot_of(bench, pot->key);
        row.pot_sd = pot->sd;
        add_row(bench, &row);
    }
}

static void join_paints(struct cb_bench *bench, const struct cb_event *event)
{
    size_t next = 0;
    const struct cb_bench_pot *from =
        next_pot(bench, cb_event_text(event, CB_FIELD_FROM, ""), &next);
    next = 0;
    const struct cb_bench_pot *to = next_pot(bench, cb_event_text(event, CB_FIELD_TO, ""), &next);
    if (!from || !to) {
        return;
    }
    const struct cb_bench_alias alias = {cb_bench_pot_of(bench, from->key),
                                         cb_bench_pot_of(bench, to->key)};
    if (alias.from == alias.to) {
        return;
    }
    cb_vec_push(&bench->aliases, alias);
    for (size_t u = 0; u < bench->units.count; u++) {
        struct cb_bench_unit *unit = bench->units.items[u];
        for (size_t i = 0; i < unit->films.count; i++) {
            unit->films.items[i].pot = cb_bench_pot_of(bench, unit->films.items[i].pot);
        }
        for (size_t i = 0; i < unit->unit.recipe->stage_count; i++) {
            unit->pot[i] = cb_bench_pot_of(bench, unit->pot[i]);
        }
    }
    for (size_t i = 0; i < bench->sources.count; i++) {
        bench->sources.items[i].dirty = true;
        bench->sources.items[i].row.pot = cb_bench_pot_of(bench, bench->sources.items[i].row.pot);
    }
}

static void add_word(struct cb_bench *bench, bool cue, const char *word)
{
    if (!word || (cue ? cb_bench_muted(bench, word) : cb_bench_caution_read(bench, word))) {
        return;
    }
    word = cb_bench_intern(bench, word);
    if (cue) {
        cb_vec_push(&bench->muted, word);
    } else {
        cb_vec_push(&bench->cautions, word);
    }
}

/* Units. */

static void begin_unit(struct cb_bench *bench, const struct cb_event *event, int64_t at_ms)
{
    size_t at;
    if (!event->unit || cb_index_get(bench->unit_ids, event->unit, &at)) {
        return;
    }
    struct cb_bench_unit *unit = cb_arena_alloc(&bench->fold, 1, sizeof *unit);
    const struct cb_bench_recipe *read =
        cb_bench_read_recipe(bench, cb_event_text(event, CB_FIELD_RECIPE, ""));
    unit->unit.id = event->unit;
    unit->unit.name = cb_event_text(event, CB_FIELD_NAME, event->unit);
    const int64_t figures = cb_event_int(event, CB_FIELD_FIGURES, 0);
    unit->unit.figures = figures >= 1 && figures <= CB_FIGURES_MAX ? (int)figures
                         : read->recipe && read->recipe->figures > 0 ? read->recipe->figures
                                                                     : 1;
    unit->unit.begun_ms = unit->unit.last_ms = at_ms;
    at = bench->units.count;
    cb_index_set(bench->unit_ids, event->unit, at);
    cb_vec_push(&bench->units, unit);
    bench->front = (int)at;
    cb_bench_set_recipe(bench, unit, read);
}

static void change_recipe(struct cb_bench *bench, struct cb_bench_unit *unit,
                          const struct cb_event *event)
{
    const char *text = cb_event_text(event, CB_FIELD_RECIPE, NULL);
    const struct cb_bench_recipe *read = text ? cb_bench_read_recipe(bench, text) : NULL;
    if (read && read->recipe) {
        cb_bench_set_recipe(bench, unit, read);
    }
}

static void swap_paint(struct cb_bench *bench, struct cb_bench_unit *unit,
                       const struct cb_event *event)
{
    const char *paint = cb_event_text(event, CB_FIELD_PAINT, NULL);
    const char *name = cb_event_text(event, CB_FIELD_NAME, NULL);
    const struct cb_recipe *recipe = unit->unit.recipe;
    const char *key = NULL;
    for (size_t i = 0; paint && i < recipe->paint_count; i++) {
        if (strcmp(recipe->paints[i].key, paint) == 0) {
            key = recipe->paints[i].key;
        }
    }
    for (size_t i = 0; paint && !key && i < recipe->paint_count; i++) {
        if (strcmp(recipe->paints[i].name, paint) == 0) {
            key = recipe->paints[i].key;
        }
    }
    if (!key || !name) {
        return;
    }
    struct cb_bench_swap swap = {.key = key, .name = cb_bench_intern(bench, name)};
    const char *kind = cb_event_text(event, CB_FIELD_KIND, NULL);
    if (kind && !(swap.has_kind = cb_kinds_find(bench->kinds, kind, &swap.kind))) {
        return;
    }
    cb_vec_push(&unit->swaps, swap);
    cb_bench_set_paints(bench, unit);
}

static void join_figure(struct cb_bench *bench, struct cb_bench_unit *unit)
{
    if (unit->unit.figures < CB_FIGURES_MAX) {
        unit->unit.figures++;
        cb_bench_set_standing(bench, unit);
    }
}

static struct cb_figure *figure_of(struct cb_bench_unit *unit, const struct cb_event *event)
{
    const int64_t figure = cb_event_int(event, CB_FIELD_FIGURE, 0);
    return figure >= 1 && figure <= unit->unit.figures ? &unit->unit.figure[figure] : NULL;
}

/* Index of the stage named, or -1. */
static int stage_of(const struct cb_bench_unit *unit, const struct cb_event *event)
{
    const int64_t stage = cb_event_int(event, CB_FIELD_STAGE, 0);
    return stage >= 1 && (uint64_t)stage <= unit->unit.recipe->stage_count ? (int)stage - 1 : -1;
}

static void park(struct cb_bench_unit *unit, const struct cb_event *event)
{
    struct cb_figure *figure = figure_of(unit, event);
    if (figure) {
        figure->parked = event->kind == CB_EVENT_FIGURE_PARKED;
    }
}

static void bring_in(struct cb_bench *bench, struct cb_bench_unit *unit,
                     const struct cb_event *event, int64_t at_ms)
{
    const struct cb_attr *list = cb_event_get(event, CB_FIELD_FIGURES);
    if (!list || list->type != CB_TYPE_FIGURES) {
        return;
    }
    for (size_t i = 0; i < unit->films.count; i++) {
        struct cb_film *film = &unit->films.items[i];
        bool meant = false;
        for (size_t j = 0; j < list->n; j++) {
            meant = meant || list->figures[j] == film->figure;
        }
        if (!meant || film->place == 0 || film->lifted_ms != CB_TIME_NONE) {
            continue;
        }
        struct cb_film_more *more = cb_bench_more(film);
        cb_vec_push(&more->stays, ((struct cb_film_stay){at_ms, 0}));
        film->place = 0;
        film->brought_in = true;
        cb_bench_film_changed(bench, film);
    }
}

static void count_coats(struct cb_bench_unit *unit, const struct cb_event *event, int more)
{
    struct cb_figure *figure = figure_of(unit, event);
    const int stage = stage_of(unit, event);
    if (figure && stage >= 0) {
        const int extra = figure->extra[stage] + more;
        if (extra >= -CB_EVENT_COATS_MAX && extra <= CB_EVENT_COATS_MAX) {
            figure->extra[stage] = (int8_t)extra;
        }
    }
}

static void leave_out(struct cb_bench_unit *unit, const struct cb_event *event)
{
    const int stage = stage_of(unit, event);
    if (stage < 0) {
        return;
    }
    const uint64_t bit = UINT64_C(1) << stage;
    struct cb_figure *figure = figure_of(unit, event);
    if (!cb_event_get(event, CB_FIELD_FIGURE)) {
        unit->unit.left_out |= bit;
    } else if (figure) {
        figure->left_out |= bit;
    }
}

/* Films. */

static struct cb_film *film_of(struct cb_bench_unit *unit, int64_t figure, int64_t stage,
                               int64_t coat)
{
    if (figure < 1 || figure > CB_FIGURES_MAX || stage < 1 || stage > CB_RECIPE_MAX || coat < 1 ||
        coat > CB_EVENT_COATS_MAX) {
        return NULL;
    }
    const struct cb_film *film = cb_bench_film(&unit->unit, (int)figure, (int)stage, (int)coat);
    return film ? &unit->films.items[film - unit->films.items] : NULL;
}

static struct cb_film *event_film(struct cb_bench_unit *unit, const struct cb_event *event)
{
    return film_of(unit, cb_event_int(event, CB_FIELD_FIGURE, 0),
                   cb_event_int(event, CB_FIELD_STAGE, 0), cb_event_int(event, CB_FIELD_COAT, 0));
}

/* The film goes over what lies on its areas: whoever paints on takes that for dry. */
static void cover(struct cb_bench *bench, struct cb_bench_unit *unit, const struct cb_film *above)
{
    if (!cb_technique_needs_paint(above->technique) &&
        above->technique != CB_TECHNIQUE_TRANSFER) {
        return;
    }
    for (size_t i = 0; i < unit->films.count; i++) {
        struct cb_film *film = &unit->films.items[i];
        if (film != above && film->figure == above->figure && film->lifted_ms == CB_TIME_NONE &&
            film->on_ms <= above->on_ms &&
            (film->next_ms == CB_TIME_NONE || film->next_ms > above->on_ms) &&
            (film->whole || above->whole || (film->areas & above->areas))) {
            film->next_ms = above->on_ms;
            cb_bench_film_changed(bench, film);
        }
    }
}

static void put_on(struct cb_bench *bench, size_t unit_index, const struct cb_event *event,
                   int64_t at_ms)
{
    struct cb_bench_unit *unit = bench->units.items[unit_index];
    const int64_t figure = cb_event_int(event, CB_FIELD_FIGURE, 0);
    const int64_t coat = cb_event_int(event, CB_FIELD_COAT, 0);
    const int index = stage_of(unit, event);
    if (index < 0 || !figure_of(unit, event) || coat < 1 || coat > CB_EVENT_COATS_MAX ||
        event_film(unit, event)) {
        return;
    }
    const struct cb_stage *stage = &unit->unit.recipe->stages[index];
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
    more->film = unit->films.count;
    more->source = bench->sources.count;
    const struct cb_film film = {
        .figure = (int)figure,
        .stage = index + 1,
        .coat = (int)coat,
        .on_ms = at_ms - more->back_ms,
        .on_pm_s = pm_s > 0 ? pm_s : 0,
        .on_press = event->press,
        .place = cb_bench_place_of(bench, cb_event_text(event, CB_FIELD_PLACE, stage->place)),
        .wet_ms = CB_TIME_NONE,
        .dry_ms = CB_TIME_NONE,
        .next_ms = CB_TIME_NONE,
        .lifted_ms = CB_TIME_NONE,
        .pinged_ms = CB_TIME_NONE,
        .pinged_due_ms = CB_TIME_NONE,
        .wet_like_ms = CB_TIME_NONE,
        .work_s = cb_event_number(event, CB_FIELD_WORK_S, NAN),
        .areas = stage->on,
        .whole = stage->whole,
        .drying = &unit->unit.drying[index],
        .pot = unit->pot[index],
        .paint = unit->paint[index],
        .technique = stage->technique,
        .more = more,
    };
    cb_vec_push(&more->stays, ((struct cb_film_stay){film.on_ms, film.place}));
    cb_vec_push(&unit->films, film);
    cb_vec_push(&bench->sources, ((struct cb_bench_source){.film = more, .dirty = true}));
    unit->unit.films = unit->films.items;
    unit->unit.film_count = unit->films.count;
    int *at = &unit->first_same[(size_t)figure * unit->unit.recipe->stage_count + (size_t)index];
    more->next_same = *at;
    *at = (int)more->film;
    cover(bench, unit, &unit->films.items[more->film]);
    bench->last = more;
    bench->last_mark_ms = at_ms;
}

static void check(struct cb_bench *bench, struct cb_bench_unit *unit, const struct cb_event *event,
                  int64_t at_ms)
{
    struct cb_film *film = event_film(unit, event);
    const char *found = cb_event_text(event, CB_FIELD_FOUND, "");
    if (!film || (film->next_ms != CB_TIME_NONE && at_ms > film->next_ms)) {
        return; /* nobody can touch what lies under another coat */
    }
    if (strcmp(found, "dry") == 0) {
        film->check = CB_CHECK_DRY;
        film->dry_ms = film->dry_ms == CB_TIME_NONE ? at_ms : film->dry_ms;
    } else if (strcmp(found, "wet") == 0) {
        film->check = CB_CHECK_WET;
        film->wet_ms = at_ms;
        film->dry_ms = CB_TIME_NONE; /* it was said too soon */
        for (size_t i = 0; i < unit->films.count; i++) {
            struct cb_film *other = &unit->films.items[i];
            if (other != film && other->stage == film->stage && other->coat == film->coat &&
                other->on_ms >= film->on_ms && other->on_ms < at_ms && cb_bench_film_open(other)) {
                other->wet_like_ms = at_ms; /* put on later, it can't be drier */
            }
        }
    }
    cb_bench_film_changed(bench, film);
}

static void lift(struct cb_bench *bench, struct cb_bench_unit *unit, const struct cb_event *event,
                 int64_t at_ms)
{
    struct cb_film *film = event_film(unit, event);
    if (film) {
        film->lifted_ms = at_ms;
        cb_bench_film_changed(bench, film);
        cb_bench_set_standing(bench, unit);
    }
}

static void tidy(struct cb_bench *bench, struct cb_bench_unit *unit, const struct cb_event *event)
{
    for (size_t i = 0; i < unit->films.count; i++) {
        struct cb_film *film = &unit->films.items[i];
        if (film->figure == cb_event_int(event, CB_FIELD_FIGURE, 0) &&
            film->stage - 1 == stage_of(unit, event) && cb_bench_film_open(film)) {
            film->tidied = true; /* part of it is fresh: no evidence of its time */
            cb_bench_film_changed(bench, film);
        }
    }
}

/* The seconds end at the press: marks come when the hand is free again. */
static void help(struct cb_bench *bench, struct cb_bench_unit *unit, const struct cb_event *event,
                 int64_t at_ms)
{
    struct cb_film *film = event_film(unit, event);
    struct cb_film_help row = {.to_ms = at_ms};
    const double seconds = cb_event_number(event, CB_FIELD_SECONDS, 0);
    if (!film || !(seconds >= 0 && seconds <= 86400) ||
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

static void ping(struct cb_bench *bench, const struct cb_event *event, int64_t at_ms)
{
    const int at = event->unit ? cb_bench_find_unit(bench, event->unit) : bench->front;
    const struct cb_attr *list = cb_event_get(event, CB_FIELD_FILMS);
    if (at < 0 || !list || list->type != CB_TYPE_FILMS) {
        return;
    }
    for (size_t i = 0; i < list->n; i++) {
        const struct cb_film_key *key = &list->films[i];
        struct cb_film *film =
            film_of(bench->units.items[at], key->figure, key->stage, key->coat);
        if (film) {
            film->pinged_ms = at_ms;
            film->pinged_due_ms =
                at_ms - (event->at_ms - cb_event_int(event, CB_FIELD_DUE_AT, event->at_ms));
        }
    }
}

static void apply_to_unit(struct cb_bench *bench, size_t at, const struct cb_event *event,
                          int64_t at_ms)
{
    struct cb_bench_unit *unit = bench->units.items[at];
    unit->unit.last_ms = at_ms > unit->unit.last_ms ? at_ms : unit->unit.last_ms;
    switch (event->kind) {
    case CB_EVENT_UNIT_OPENED:
        bench->front = (int)at;
        break;
    case CB_EVENT_UNIT_FINISHED:
        unit->unit.finished = true;
        bench->front = bench->front == (int)at ? -1 : bench->front;
        break;
    case CB_EVENT_RECIPE_CHANGED:
        change_recipe(bench, unit, event);
        break;
    case CB_EVENT_SWAPPED:
        swap_paint(bench, unit, event);
        break;
    case CB_EVENT_FIGURE_PARKED:
    case CB_EVENT_FIGURE_BACK:
        park(unit, event);
        break;
    case CB_EVENT_FIGURE_JOINED:
        join_figure(bench, unit);
        break;
    case CB_EVENT_BROUGHT_IN:
        bring_in(bench, unit, event, at_ms);
        break;
    case CB_EVENT_COAT_ON:
        put_on(bench, at, event, at_ms);
        break;
    case CB_EVENT_CHECKED:
        check(bench, unit, event, at_ms);
        break;
    case CB_EVENT_LIFTED:
        lift(bench, unit, event, at_ms);
        break;
    case CB_EVENT_TIDIED:
        tidy(bench, unit, event);
        break;
    case CB_EVENT_HELPED:
        help(bench, unit, event, at_ms);
        break;
    case CB_EVENT_COAT_ADDED:
        count_coats(unit, event, 1);
        break;
    case CB_EVENT_COAT_SPARED:
        count_coats(unit, event, -1);
        break;
    case CB_EVENT_STAGE_LEFT_OUT:
        leave_out(unit, event);
        break;
    case CB_EVENT_UNIT_BEGUN:
    case CB_EVENT_SESSION_OPENED:
    case CB_EVENT_SESSION_CLOSED:
    case CB_EVENT_CLIMATE_SET:
    case CB_EVENT_PAUSE_BEGUN:
    case CB_EVENT_PAUSE_ENDED:
    case CB_EVENT_AWAY:
    case CB_EVENT_CHORE_DONE:
    case CB_EVENT_ANSWERED:
    case CB_EVENT_CONFIDENCE_SET:
    case CB_EVENT_CUE_MUTED:
    case CB_EVENT_CAUTION_READ:
    case CB_EVENT_EVIDENCE_FORGOTTEN:
    case CB_EVENT_BOTTLE_NEW:
    case CB_EVENT_PAINT_JOINED:
    case CB_EVENT_PINGED:
    case CB_EVENT_NOTE:
    case CB_EVENT_UNDONE:
    case CB_EVENT_UNKNOWN:
        break;
    }
}

static void apply_to_bench(struct cb_bench *bench, const struct cb_event *event, int64_t at_ms)
{
    double pct;
    switch (event->kind) {
    case CB_EVENT_SESSION_OPENED:
        bench->session_open = true;
        bench->session_opened_ms = at_ms;
        bench->cautions.count = 0;
        bench->paused = false;
        break;
    case CB_EVENT_SESSION_CLOSED:
        bench->session_open = bench->paused = false;
        break;
    case CB_EVENT_CLIMATE_SET:
        set_climate(bench, event, at_ms);
        break;
    case CB_EVENT_PAUSE_BEGUN:
        bench->pause_begun_ms = bench->paused ? bench->pause_begun_ms : at_ms;
        bench->paused = true;
        break;
    case CB_EVENT_PAUSE_ENDED:
        bench->paused = false;
        break;
    case CB_EVENT_ANSWERED:
        answer(bench, event, at_ms);
        break;
    case CB_EVENT_CONFIDENCE_SET:
        pct = cb_event_number(event, CB_FIELD_PCT, NAN);
        if (pct >= 50 && pct <= 95) {
            bench->confidence = pct / 100;
        }
        break;
    case CB_EVENT_CUE_MUTED:
        add_word(bench, true, cb_event_text(event, CB_FIELD_CUE, NULL));
        break;
    case CB_EVENT_CAUTION_READ:
        add_word(bench, false, cb_event_text(event, CB_FIELD_CAUTION, NULL));
        break;
    case CB_EVENT_EVIDENCE_FORGOTTEN:
        change_evidence(bench, event, CB_ROW_FORGET);
        break;
    case CB_EVENT_BOTTLE_NEW:
        change_evidence(bench, event, CB_ROW_BOTTLE);
        break;
    case CB_EVENT_PAINT_JOINED:
        join_paints(bench, event);
        break;
    case CB_EVENT_PINGED:
        ping(bench, event, at_ms);
        break;
    case CB_EVENT_AWAY:
    case CB_EVENT_CHORE_DONE:
    case CB_EVENT_NOTE:
    case CB_EVENT_UNDONE:
    case CB_EVENT_UNIT_BEGUN:
    case CB_EVENT_UNIT_OPENED:
    case CB_EVENT_UNIT_FINISHED:
    case CB_EVENT_RECIPE_CHANGED:
    case CB_EVENT_SWAPPED:
    case CB_EVENT_FIGURE_PARKED:
    case CB_EVENT_FIGURE_BACK:
    case CB_EVENT_FIGURE_JOINED:
    case CB_EVENT_BROUGHT_IN:
    case CB_EVENT_COAT_ON:
    case CB_EVENT_CHECKED:
    case CB_EVENT_LIFTED:
    case CB_EVENT_TIDIED:
    case CB_EVENT_HELPED:
    case CB_EVENT_COAT_ADDED:
    case CB_EVENT_COAT_SPARED:
    case CB_EVENT_STAGE_LEFT_OUT:
    case CB_EVENT_UNKNOWN:
        break;
    }
}

void cb_bench_apply(struct cb_bench *bench, const struct cb_event *event, int64_t at_ms)
{
    size_t unit;
    if (event->kind == CB_EVENT_UNKNOWN) {
        return;
    }
    if (event->kind == CB_EVENT_UNIT_BEGUN) {
        begin_unit(bench, event, at_ms);
    } else if (cb_event_is_bench(event->kind)) {
        apply_to_bench(bench, event, at_ms);
    } else if (event->unit && cb_index_get(bench->unit_ids, event->unit, &unit)) {
        apply_to_unit(bench, unit, event, at_ms);
    } else if (event->unit) {
        cb_index_set(bench->orphans, event->unit, 1);
    }
}
