/* SPDX-License-Identifier: MIT */
/* What each event does to the bench. A bad or meaningless one does nothing. */
#include "core/bench/bench_internal.h"
#include "core/recipe/drying_stage.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/str.h"
#include "base/time.h"
#include "base/utf8.h"

/* A machine off for longer than this has lost its clock rather than its painter (own judgement). */
#define ABSURD_MS (366 * INT64_C(86400000))
/* Wall and boot clocks that part by more than this while the machine was on: somebody set the
 * wall clock, and the difference across the boots can't be trusted (own judgement). */
#define SET_CLOCK_MS (5 * CB_MS_PER_MIN)

/* The clocks. */

static struct cb_bench_machine *machine_of(struct cb_bench *bench, const char *name)
{
    for (size_t i = 0; i < bench->machines.count; i++) {
        if (cb_str_same(bench->machines.items[i].name, name)) {
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
        const bool over = unit->unit.finished && !unit->unit.left;
        for (size_t i = 0; !over && i < cb_bench_all_films(unit); i++) {
            struct cb_film *film = cb_bench_any_film(unit, i);
            if (cb_bench_film_open(film) && cb_str_same(film->more->machine, machine)) {
                film->across_boot = true;
                film->suspect = film->suspect || absurd;
                cb_bench_film_changed(bench, film);
            }
        }
    }
}

/* By the wall, but never back: what has dried has dried. */
int64_t cb_bench_boot_begins(const struct cb_bench_machine *machine, int64_t wall_ms)
{
    const int64_t off_ms = wall_ms - machine->wall_ms;
    return wall_ms >= machine->bench_ms ? wall_ms : machine->bench_ms + (off_ms > 0 ? off_ms : 0);
}

/* Was the wall set between the machine's last event and this one of another boot? */
static bool wall_was_set(const struct cb_bench_machine *machine, int64_t wall_ms, int64_t at_ms)
{
    const int64_t off_ms = wall_ms - machine->wall_ms;
    const int64_t gap_ms = at_ms - machine->bench_ms;
    const int64_t set_ms = wall_ms < machine->bench_ms
                               ? machine->bench_ms - machine->wall_ms - machine->ahead_ms
                               : gap_ms - off_ms;
    return off_ms < 0 || gap_ms > ABSURD_MS || set_ms > SET_CLOCK_MS || set_ms < -SET_CLOCK_MS;
}

/* The same boot, and its clock went back where the wall did not: a machine brought back as it was
 * (a snapshot), or another time namespace. What was to wait for the disk is told by the wall. */
static bool boot_went_back(const struct cb_bench_machine *machine, const struct cb_event *event,
                           int64_t at_ms)
{
    const int64_t gap_ms = at_ms - machine->bench_ms;
    return gap_ms < 0 && event->at_ms - machine->wall_ms - gap_ms > SET_CLOCK_MS;
}

int64_t cb_bench_apply_clock(struct cb_bench *bench, const struct cb_event *event)
{
    if (!event->boot) {
        bench->latest_ms = event->at_ms > bench->latest_ms ? event->at_ms : bench->latest_ms;
        return event->at_ms;
    }
    struct cb_bench_machine *machine = machine_of(bench, event->machine);
    const bool other = machine && strcmp(machine->boot, event->boot) != 0;
    size_t boot = bench->last_anchor;
    bool begins = false;
    if (event->boot != bench->last_boot && !cb_index_get(bench->boots, event->boot, &boot)) {
        boot = bench->anchors.count;
        cb_index_set(bench->boots, event->boot, boot);
        cb_vec_push(&bench->anchors, event->at_ms - event->boot_ms);
        begins = true;
    }
    bench->last_boot = event->boot;
    bench->last_anchor = boot;
    int64_t at_ms = bench->anchors.items[boot] + event->boot_ms;
    const bool back = machine && !other && boot_went_back(machine, event, at_ms);
    if (machine && (begins || back)) {
        at_ms = cb_bench_boot_begins(machine, event->at_ms);
        bench->anchors.items[boot] = at_ms - event->boot_ms;
    }
    bench->latest_ms = at_ms > bench->latest_ms ? at_ms : bench->latest_ms;
    if (!machine) {
        cb_vec_push(&bench->machines, ((struct cb_bench_machine){event->machine, event->boot, at_ms,
                                                                 event->at_ms, 0}));
        return at_ms;
    }
    if (other || back) {
        cross_boot(bench, event->machine, back || wall_was_set(machine, event->at_ms, at_ms));
        machine->ahead_ms = at_ms - event->at_ms;
    }
    *machine = (struct cb_bench_machine){machine->name, event->boot, at_ms, event->at_ms,
                                         machine->ahead_ms};
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
    const enum cb_air before = cb_bench_climate_at(bench, place, at_ms).climate.air;
    struct cb_reading reading = {at_ms, {temp_c, rh_pct, before}, CB_FROM_TYPED};
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

/* "2-93f1...": what stands before the tables' own sum; a later one is as good as ours. */
static void note_edition(struct cb_bench *bench, const char *edition)
{
    const long number = strtol(edition, NULL, 10);
    if (number > bench->edition) {
        bench->edition = number < CB_KINDS_EDITION ? (int)number : CB_KINDS_EDITION;
    }
}

/* The thin coat that the first-opening question asks about. */
static struct cb_drying thin_basecoat(const struct cb_kinds *kinds)
{
    size_t kind = 0;
    (void)cb_kinds_find(kinds, "acrylic", &kind); /* else the first there is */
    return cb_drying_of(kinds, kind, CB_TECHNIQUE_BASECOAT, CB_BY_BRUSH, &(struct cb_parts){0}, NAN,
                        NAN);
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
    const struct cb_reading air = cb_bench_climate_at(bench, 0, at_ms);
    const struct cb_drying thin = thin_basecoat(bench->kinds);
    const double rate = cb_drying_rate(&thin, &air.climate);
    if (minutes > 0 && rate > 0) {
        cb_bench_add_row(bench, &(struct cb_row){.kind = CB_ROW_ANSWER,
                                                 .value = log(minutes * rate / thin.standard_min),
                                                 .at_ms = event->at_ms});
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
        char *key = cb_arena_printf(&bench->fold, "%s\n%s", word, cb_bench_caution_recipe(bench));
        cb_vec_push(&bench->cautions, (const char *)key);
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
    unit->unit.figures = figures >= 1 && figures <= CB_FIGURES_MAX   ? (int)figures
                         : read->recipe && read->recipe->figures > 0 ? read->recipe->figures
                                                                     : 1;
    unit->unit.begun_ms = unit->unit.last_ms = at_ms;
    unit->begun_press = event->press;
    unit->begun_by = event->machine;
    at = bench->units.count;
    cb_index_set(bench->unit_ids, event->unit, at);
    cb_vec_push(&bench->units, unit);
    if (strcmp(cb_event_text(event, CB_FIELD_FRONT, ""), CB_FRONT_NONE) != 0) {
        cb_bench_front_move(bench, (int)at, event);
    }
    cb_bench_set_recipe(bench, unit, read);
    if (!read->recipe) {
        cb_bench_note_doubt(bench, event, CB_DOUBT_NO_RECIPE);
    }
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
    const char *key =
        paint && name && strcmp(paint, CB_MEDIUM) == 0 && strcmp(name, CB_FOR_MEDIUM) == 0
            ? CB_MEDIUM
            : NULL;
    for (size_t i = 0; paint && !key && i < recipe->paint_count; i++) {
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
    struct cb_bench_swap swap = {.key = key,
                                 .name = cb_bench_intern(bench, name),
                                 .tone = cb_tone_named(cb_event_text(event, CB_FIELD_TONE, ""))};
    const char *kind = cb_event_text(event, CB_FIELD_KIND, NULL);
    if (kind && !(swap.has_kind = cb_kinds_find(bench->kinds, kind, &swap.kind))) {
        return;
    }
    cb_vec_push(&unit->swaps, swap);
    cb_bench_set_paints(bench, unit);
}

static void join_figure(struct cb_bench *bench, struct cb_bench_unit *unit, int64_t at_ms)
{
    if (unit->unit.figures < CB_FIGURES_MAX) {
        unit->unit.figure[++unit->unit.figures].joined_ms = at_ms;
        cb_bench_set_standing(bench, unit);
    }
}

static void park(struct cb_bench_unit *unit, const struct cb_event *event)
{
    struct cb_figure *figure = cb_bench_figure_of(unit, event);
    if (figure) {
        figure->parked = event->kind == CB_EVENT_FIGURE_PARKED;
        figure->later = figure->parked && event->press &&
                        cb_str_same(event->press, unit->begun_press) &&
                        cb_str_same(event->machine, unit->begun_by);
    }
}

/* The scrap comes along. */
static void bring_in(struct cb_bench *bench, struct cb_bench_unit *unit,
                     const struct cb_event *event, int64_t at_ms)
{
    const struct cb_attr *list = cb_event_get(event, CB_FIELD_FIGURES);
    if (!list || list->type != CB_TYPE_FIGURES) {
        return;
    }
    for (size_t i = 0; i < cb_bench_all_films(unit); i++) {
        struct cb_film *film = cb_bench_any_film(unit, i);
        bool meant = film->figure == 0;
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
    struct cb_figure *figure = cb_bench_figure_of(unit, event);
    const int stage = cb_bench_stage_of(unit, event);
    if (figure && stage >= 0) {
        const int extra = figure->extra[stage] + more;
        if (extra >= -CB_EVENT_COATS_MAX && extra <= CB_EVENT_COATS_MAX) {
            figure->extra[stage] = (int8_t)extra;
            cb_bench_set_wants(unit, (int)(figure - unit->unit.figure), (size_t)stage);
        }
    }
}

static void leave_out(struct cb_bench_unit *unit, const struct cb_event *event)
{
    const int stage = cb_bench_stage_of(unit, event);
    if (stage < 0) {
        return;
    }
    const uint64_t bit = UINT64_C(1) << stage;
    struct cb_figure *figure = cb_bench_figure_of(unit, event);
    if (!cb_event_get(event, CB_FIELD_FIGURE)) {
        unit->unit.left_out |= bit;
    } else if (figure) {
        figure->left_out |= bit;
    }
    for (int f = 1; f <= unit->unit.figures; f++) {
        cb_bench_set_wants(unit, f, (size_t)stage);
    }
}

static void apply_to_unit(struct cb_bench *bench, size_t at, const struct cb_event *event,
                          int64_t at_ms)
{
    struct cb_bench_unit *unit = bench->units.items[at];
    unit->unit.last_ms = at_ms > unit->unit.last_ms ? at_ms : unit->unit.last_ms;
    switch (event->kind) {
    case CB_EVENT_UNIT_OPENED:
        unit->unit.finished = unit->unit.finished && !unit->unit.left;
        unit->unit.left = false;
        cb_bench_front_move(bench, (int)at, event);
        break;
    case CB_EVENT_UNIT_FINISHED:
        unit->unit.left =
            cb_event_is(event, CB_FIELD_LEFT) && (unit->unit.left || !unit->unit.finished);
        unit->unit.finished = true;
        cb_bench_front_finish(bench, (int)at, event);
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
        join_figure(bench, unit, at_ms);
        break;
    case CB_EVENT_BROUGHT_IN:
        bring_in(bench, unit, event, at_ms);
        break;
    case CB_EVENT_COAT_ON:
        cb_bench_put_on(bench, at, event, at_ms);
        break;
    case CB_EVENT_CHECKED:
        cb_bench_check(bench, unit, event, at_ms);
        break;
    case CB_EVENT_LIFTED:
        cb_bench_lift(bench, unit, event, at_ms);
        break;
    case CB_EVENT_TIDIED:
        cb_bench_tidy(bench, unit, event);
        break;
    case CB_EVENT_HELPED:
        cb_bench_help(bench, unit, event, at_ms);
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
    case CB_EVENT_MOVED: /* its coat was put on there from the first: cb_bench_settle_moves */
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
    case CB_EVENT_PRIOR_GIVEN:
    case CB_EVENT_PINGED:
    case CB_EVENT_NOTE:
    case CB_EVENT_UNDONE:
    case CB_EVENT_UNKNOWN:
        break;
    }
}

/* The same, and what meant nothing is noted. */
static void apply_watched(struct cb_bench *bench, size_t at, const struct cb_event *event,
                          int64_t at_ms)
{
    struct cb_bench_unit *unit = bench->units.items[at];
    const size_t films = cb_bench_all_films(unit);
    enum cb_doubt_kind why = cb_bench_doubt_of(bench, unit, event);
    apply_to_unit(bench, at, event, at_ms);
    if (why == CB_DOUBT_COUNT && event->kind == CB_EVENT_COAT_ON &&
        cb_bench_all_films(unit) == films) {
        why = CB_DOUBT_ON_ALREADY;
    }
    if (why != CB_DOUBT_COUNT) {
        cb_bench_note_doubt(bench, event, why);
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
        note_edition(bench, cb_event_text(event, CB_FIELD_EDITION, ""));
        cb_bench_front_sit(bench, event);
        break;
    case CB_EVENT_SESSION_CLOSED:
        bench->session_open = bench->paused = false;
        cb_bench_front_rise(bench, event);
        break;
    case CB_EVENT_CLIMATE_SET:
        set_climate(bench, event, at_ms);
        break;
    case CB_EVENT_PAUSE_BEGUN:
        bench->pause_begun_ms = bench->paused ? bench->pause_begun_ms : at_ms;
        bench->paused = true;
        break;
    case CB_EVENT_PAUSE_ENDED:
        bench->pause_ended_ms = bench->paused ? at_ms : bench->pause_ended_ms;
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
        cb_bench_change_evidence(bench, event, CB_ROW_FORGET);
        break;
    case CB_EVENT_BOTTLE_NEW:
        cb_bench_change_evidence(bench, event, CB_ROW_BOTTLE);
        break;
    case CB_EVENT_PAINT_JOINED:
        cb_bench_join_paints(bench, event);
        break;
    case CB_EVENT_PRIOR_GIVEN:
        cb_bench_give(bench, event);
        break;
    case CB_EVENT_PINGED:
        cb_bench_ping(bench, event, at_ms);
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
    case CB_EVENT_MOVED:
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
        (bench->watches ? apply_watched : apply_to_unit)(bench, unit, event, at_ms);
    } else if (event->unit) {
        cb_bench_note_doubt(bench, event, CB_DOUBT_NO_UNIT);
        if (event->kind == CB_EVENT_UNIT_OPENED) { /* of a unit whose beginning was not loaded */
            cb_bench_front_move(bench, -1, event);
        }
        cb_index_set(bench->orphans, event->unit, 1);
    }
}
