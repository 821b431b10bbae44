/* SPDX-License-Identifier: MIT */
#include "core/bench/bench.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/str.h"
#include "base/time.h"
#include "core/bench/bench_internal.h"

static const double default_confidence = 0.80; /* own judgement: the model's design figure */

const char *cb_bench_intern(struct cb_bench *bench, const char *text)
{
    if (!text) {
        return NULL;
    }
    size_t at;
    if (bench->whole && cb_index_get(bench->whole->interned, text, &at)) {
        return bench->whole->names.items[at];
    }
    if (!cb_index_get(bench->interned, text, &at)) {
        at = bench->names.count;
        cb_vec_push(&bench->names, cb_arena_text(&bench->keep, text));
        cb_index_set(bench->interned, text, at);
    }
    return bench->names.items[at];
}

const struct cb_bench_unit *cb_bench_inside(const struct cb_unit *unit)
{
    return (const struct cb_bench_unit *)unit;
}

static void free_unit(struct cb_bench_unit *unit)
{
    for (size_t i = 0; i < cb_bench_all_films(unit); i++) {
        struct cb_film_more *more = cb_bench_more(cb_bench_any_film(unit, i));
        cb_vec_free(&more->stays);
        cb_vec_free(&more->helps);
    }
    cb_vec_free(&unit->swaps);
    cb_vec_free(&unit->films);
    cb_vec_free(&unit->strokes);
    cb_vec_free(&unit->stash);
}

static void begin_fold(struct cb_bench *bench)
{
    for (size_t i = 0; i < bench->units.count; i++) {
        free_unit(bench->units.items[i]);
    }
    for (size_t i = 0; i < bench->places.count; i++) {
        cb_vec_free(&bench->places.items[i].readings);
    }
    cb_arena_fini(&bench->fold);
    cb_index_free(bench->boots);
    cb_index_free(bench->unit_ids);
    cb_index_free(bench->orphans);
    cb_index_free(bench->moved_ids);
    bench->moved_ids = cb_index_new();
    bench->moves.count = 0;
    bench->boots = cb_index_new();
    bench->unit_ids = cb_index_new();
    bench->orphans = cb_index_new();
    bench->anchors.count = 0;
    bench->last_boot = NULL;
    bench->machines.count = 0;
    bench->units.count = 0;
    bench->places.count = 0;
    bench->pots.count = 0;
    bench->aliases.count = 0;
    bench->answered.count = 0;
    bench->sources.count = 0;
    bench->doubts.count = 0;
    bench->muted.count = 0;
    bench->cautions.count = 0;
    bench->front = bench->last_moved = (struct cb_bench_front){-1, NULL};
    bench->sitting = NULL;
    bench->confidence = default_confidence;
    bench->session_open = bench->paused = bench->first_question_answered = false;
    bench->session_opened_ms = bench->pause_begun_ms = bench->pause_ended_ms = bench->last_mark_ms =
        CB_TIME_NONE;
    bench->latest_ms = INT64_MIN;
    bench->edition = 0;
    bench->last = NULL;
    cb_bench_place_of(bench, "bench");
}

struct cb_bench *cb_bench_new(const struct cb_kinds *kinds, cb_tree_reader *read)
{
    struct cb_bench *bench = cb_mem_new(1, sizeof *bench);
    bench->kinds = kinds;
    bench->read = read;
    cb_arena_init(&bench->keep);
    cb_arena_init(&bench->fold);
    bench->ids = cb_index_new();
    bench->interned = cb_index_new();
    bench->recipe_texts = cb_index_new();
    bench->undone_presses = cb_index_new();
    bench->cache = cb_bench_cache_new();
    begin_fold(bench);
    return bench;
}

void cb_bench_own(struct cb_bench *bench, const char *machine)
{
    bench->own = cb_bench_intern(bench, machine);
}

struct cb_bench *cb_bench_again(const struct cb_bench *whole)
{
    struct cb_bench *again = cb_bench_new(whole->kinds, whole->read);
    again->whole = whole;
    again->own = whole->own;
    return again;
}

void cb_bench_free(struct cb_bench *bench)
{
    if (!bench) {
        return;
    }
    begin_fold(bench);
    for (size_t i = 0; i < bench->places.count; i++) {
        cb_vec_free(&bench->places.items[i].readings);
    }
    cb_bench_cache_free(bench->cache);
    cb_index_free(bench->ids);
    cb_index_free(bench->interned);
    cb_index_free(bench->recipe_texts);
    cb_index_free(bench->undone_presses);
    cb_index_free(bench->boots);
    cb_index_free(bench->unit_ids);
    cb_index_free(bench->orphans);
    cb_index_free(bench->moved_ids);
    cb_vec_free(&bench->moves);
    cb_vec_free(&bench->names);
    cb_vec_free(&bench->recipes);
    cb_vec_free(&bench->orders);
    cb_vec_free(&bench->events);
    cb_vec_free(&bench->times);
    cb_vec_free(&bench->in_force);
    cb_vec_free(&bench->anchors);
    cb_vec_free(&bench->machines);
    cb_vec_free(&bench->units);
    cb_vec_free(&bench->places);
    cb_vec_free(&bench->pots);
    cb_vec_free(&bench->aliases);
    cb_vec_free(&bench->answered);
    cb_vec_free(&bench->sources);
    cb_vec_free(&bench->doubts);
    cb_vec_free(&bench->muted);
    cb_vec_free(&bench->cautions);
    cb_arena_fini(&bench->fold);
    cb_arena_fini(&bench->keep);
    free(bench);
}

static struct cb_bench_order *order_of(struct cb_bench *bench, const char *machine)
{
    for (size_t i = 0; i < bench->orders.count; i++) {
        if (strcmp(bench->orders.items[i].machine, machine) == 0) {
            return &bench->orders.items[i];
        }
    }
    return NULL;
}

static void note_order(struct cb_bench *bench, const struct cb_event *event)
{
    if (!event->machine) {
        return;
    }
    struct cb_bench_order *order = order_of(bench, event->machine);
    if (!order) {
        cb_vec_push(&bench->orders, ((struct cb_bench_order){cb_bench_intern(bench, event->machine),
                                                             event->seq, event->at_ms}));
        return;
    }
    order->seq = event->seq > order->seq ? event->seq : order->seq;
    order->at_ms = event->at_ms > order->at_ms ? event->at_ms : order->at_ms;
}

/* The time by which an event is sorted, were it added to those there are. */
static int64_t sort_time(struct cb_bench *bench, const struct cb_event *event)
{
    const struct cb_bench_order *order = event->machine ? order_of(bench, event->machine) : NULL;
    return order && order->at_ms > event->at_ms ? order->at_ms : event->at_ms;
}

/* Does it come after all there are, beyond doubt? When in doubt the long way is right too. */
static bool sorts_last(struct cb_bench *bench, const struct cb_event *event)
{
    if (bench->events.count == 0) {
        return true;
    }
    const struct cb_event *last = bench->events.items[bench->events.count - 1];
    const struct cb_bench_order *order = event->machine ? order_of(bench, event->machine) : NULL;
    if (order && event->seq <= order->seq) {
        return false;
    }
    const int64_t mine = sort_time(bench, event);
    const int64_t before = sort_time(bench, last);
    if (mine != before) {
        return mine > before;
    }
    if (event->machine || last->machine) {
        return cb_str_same(event->machine, last->machine);
    }
    /* A together go of a log from elsewhere: its ids tell. */
    return event->seq == last->seq && event->id && last->id && strcmp(event->id, last->id) > 0;
}

static bool is_step(struct cb_bench *bench, const struct cb_event *event)
{
    if (event->kind == CB_EVENT_UNDONE || event->kind == CB_EVENT_MOVED ||
        !sorts_last(bench, event)) {
        return false;
    }
    size_t ignored;
    if (event->kind == CB_EVENT_UNIT_BEGUN && event->unit &&
        cb_index_get(bench->orphans, event->unit, &ignored)) {
        return false; /* events of that unit were without meaning until now */
    }
    if (event->press && cb_index_count(bench->undone_presses) > 0) {
        struct cb_arena arena = {0};
        const bool undone = cb_index_get(bench->undone_presses,
                                         cb_bench_press_key(event, event->press, &arena), &ignored);
        cb_arena_fini(&arena);
        return !undone;
    }
    return true;
}

static void step(struct cb_bench *bench, const struct cb_event *event)
{
    note_order(bench, event);
    const int64_t at_ms = cb_bench_apply_clock(bench, event);
    cb_vec_push(&bench->events, event);
    cb_vec_push(&bench->times, at_ms);
    cb_vec_push(&bench->in_force, true);
    cb_bench_apply(bench, event, at_ms);
}

/* A unit's first events may share their time with its beginning and sort before it by id alone:
 * it is begun first. */
static void begin_early(struct cb_bench *bench, size_t at)
{
    const struct cb_event *event = bench->events.items[at];
    size_t ignored;
    if (!event->unit || event->kind == CB_EVENT_UNIT_BEGUN ||
        cb_index_get(bench->unit_ids, event->unit, &ignored)) {
        return;
    }
    for (size_t i = at + 1; i < bench->events.count; i++) {
        const struct cb_event *later = bench->events.items[i];
        if (later->at_ms != event->at_ms) {
            return;
        }
        if (later->kind == CB_EVENT_UNIT_BEGUN && cb_str_same(later->unit, event->unit) &&
            bench->in_force.items[i]) {
            cb_bench_apply(bench, later, bench->times.items[at]);
            return;
        }
    }
}

static void fold(struct cb_bench *bench)
{
    begin_fold(bench);
    bench->orders.count = 0;
    bench->times.count = 0;
    cb_bench_settle_undone(bench);
    cb_bench_settle_moves(bench);
    for (size_t i = 0; i < bench->events.count; i++) {
        const struct cb_event *event = bench->events.items[i];
        note_order(bench, event);
        const int64_t at_ms = cb_bench_apply_clock(bench, event);
        cb_vec_push(&bench->times, at_ms);
        if (bench->in_force.items[i]) {
            begin_early(bench, i);
            cb_bench_apply(bench, event, at_ms);
        } else if (event->kind == CB_EVENT_RECIPE_CHANGED) {
            /* a redo names what it would change, whether or not it ever was in force here */
            (void)cb_bench_read_recipe(bench, cb_event_text(event, CB_FIELD_RECIPE, ""));
        }
    }
}

/* Then all is folded anew, once. */
static bool has_undone(const struct cb_event *const *events, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (events[i]->kind == CB_EVENT_UNDONE) {
            return true;
        }
    }
    return false;
}

/* The last one's text when it is the same, else interned: a log says few units and machines. */
static const char *shared_text(struct cb_bench *bench, const char *text, const char *last)
{
    return cb_str_same(text, last) ? last : cb_bench_intern(bench, text);
}

static const struct cb_event *keep_event(struct cb_bench *bench, const struct cb_event *event,
                                         const struct cb_event *last)
{
    struct cb_event bare = *event;
    bare.unit = bare.machine = bare.boot = bare.press = NULL;
    struct cb_event *kept = (struct cb_event *)(uintptr_t)cb_event_copy(&bench->keep, &bare);
    kept->unit = shared_text(bench, event->unit, last ? last->unit : NULL);
    kept->machine = shared_text(bench, event->machine, last ? last->machine : NULL);
    kept->boot = shared_text(bench, event->boot, last ? last->boot : NULL);
    kept->press = last && cb_str_same(event->press, last->press)
                      ? last->press
                      : cb_arena_text(&bench->keep, event->press);
    return kept;
}

/* Events that stay, and were not there yet. */
static void take_in(struct cb_bench *bench, const struct cb_event **added, size_t count)
{
    cb_event_sort(added, count);
    const bool stepwise = !has_undone(added, count);
    size_t done = 0;
    while (stepwise && done < count && is_step(bench, added[done])) {
        step(bench, added[done++]);
    }
    if (done < count) {
        for (size_t i = done; i < count; i++) {
            cb_vec_push(&bench->events, added[i]);
        }
        cb_event_sort(bench->events.items, bench->events.count);
        fold(bench);
    }
    if (count > 0) {
        cb_bench_cache_stale(bench, done < count);
    }
}

void cb_bench_repeat(struct cb_bench *again, size_t event)
{
    const struct cb_event *added = again->whole->events.items[event];
    take_in(again, &added, 1);
}

bool cb_bench_has(const struct cb_bench *bench, const char *id)
{
    size_t ignored;
    return id && cb_index_get(bench->ids, id, &ignored);
}

void cb_bench_add(struct cb_bench *bench, const struct cb_event *const *events, size_t count)
{
    const struct cb_event **added = cb_mem_new(count ? count : 1, sizeof *added);
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        if (cb_bench_has(bench, events[i]->id)) {
            continue;
        }
        if (events[i]->id) {
            cb_index_set(bench->ids, events[i]->id, 1);
        }
        added[kept] = keep_event(bench, events[i], kept > 0 ? added[kept - 1] : NULL);
        kept++;
    }
    take_in(bench, added, kept);
    free(added);
}

int64_t cb_bench_time(const struct cb_bench *bench, const struct cb_moment *moment)
{
    size_t boot;
    if (moment->boot && cb_index_get(bench->boots, moment->boot, &boot)) {
        return bench->anchors.items[boot] + moment->boot_ms;
    }
    for (size_t i = 0; moment->boot && bench->own && i < bench->machines.count; i++) {
        if (cb_str_same(bench->machines.items[i].name, bench->own)) {
            return cb_bench_boot_begins(&bench->machines.items[i], moment->wall_ms);
        }
    }
    return moment->wall_ms;
}

int64_t cb_bench_wall(const struct cb_bench *bench, const struct cb_moment *now, int64_t bench_ms)
{
    return bench_ms == CB_TIME_NONE ? CB_TIME_NONE
                                    : bench_ms - cb_bench_time(bench, now) + now->wall_ms;
}

size_t cb_bench_unit_count(const struct cb_bench *bench)
{
    return bench->units.count;
}

const struct cb_unit *cb_bench_unit(const struct cb_bench *bench, size_t unit)
{
    return unit < bench->units.count ? &bench->units.items[unit]->unit : NULL;
}

int cb_bench_front(const struct cb_bench *bench)
{
    return bench->front.unit;
}

int cb_bench_find_unit(const struct cb_bench *bench, const char *id)
{
    size_t unit;
    return id && cb_index_get(bench->unit_ids, id, &unit) ? (int)unit : -1;
}

const struct cb_kinds *cb_bench_kinds(const struct cb_bench *bench)
{
    return bench->kinds;
}

static bool is_slot(const struct cb_unit *unit, int figure, int stage)
{
    return figure >= 1 && figure <= unit->figures && stage >= 1 &&
           (size_t)stage <= unit->recipe->stage_count;
}

const struct cb_film *cb_bench_film(const struct cb_unit *unit, int figure, int stage, int coat)
{
    if (!is_slot(unit, figure, stage)) {
        return NULL;
    }
    const struct cb_bench_unit *inside = cb_bench_inside(unit);
    int at = inside->first_same[(size_t)figure * unit->recipe->stage_count + (size_t)stage - 1];
    while (at >= 0 && unit->films[at].coat != coat) {
        at = unit->films[at].more->next_same;
    }
    return at >= 0 ? &unit->films[at] : NULL;
}

const struct cb_film *cb_bench_stroke(const struct cb_unit *unit, int stage, int coat)
{
    for (size_t i = unit->stroke_count; stage > 0 && i-- > 0;) {
        if (unit->strokes[i].stage == stage && unit->strokes[i].coat == coat) {
            return &unit->strokes[i];
        }
    }
    return NULL;
}

int cb_bench_coats(const struct cb_unit *unit, int figure, int stage)
{
    if (!is_slot(unit, figure, stage)) {
        return 0;
    }
    const size_t index = (size_t)stage - 1;
    const struct cb_figure *row = &unit->figure[figure];
    if (((unit->left_out | row->left_out) >> index) & 1 ||
        !cb_recipe_applies(unit->recipe, index, figure)) {
        return 0;
    }
    const int coats = unit->recipe->stages[index].coats + row->extra[index];
    return coats < 0 ? 0 : coats > CB_EVENT_COATS_MAX ? CB_EVENT_COATS_MAX : coats;
}

int cb_bench_coats_on(const struct cb_unit *unit, int figure, int stage)
{
    return is_slot(unit, figure, stage)
               ? cb_bench_inside(unit)
                     ->coats_on[(size_t)figure * unit->recipe->stage_count + (size_t)stage - 1]
               : 0;
}

const struct cb_recipe *cb_bench_used(const struct cb_unit *unit)
{
    return cb_bench_inside(unit)->used;
}

const char *cb_bench_stage_pot(const struct cb_unit *unit, int stage)
{
    return is_slot(unit, 1, stage) ? cb_bench_inside(unit)->pot[stage - 1] : NULL;
}

const char *cb_bench_stage_paint(const struct cb_unit *unit, int stage)
{
    return is_slot(unit, 1, stage) ? cb_bench_inside(unit)->paint[stage - 1] : NULL;
}

const char *cb_bench_stage_blend(const struct cb_unit *unit, int stage)
{
    return is_slot(unit, 1, stage) ? cb_bench_inside(unit)->blend[stage - 1] : NULL;
}

struct cb_bench_facts cb_bench_facts(const struct cb_bench *bench)
{
    struct cb_bench_facts facts = {
        .confidence = bench->confidence,
        .session_open = bench->session_open,
        .paused = bench->paused,
        .first_question_answered = bench->first_question_answered,
        .session_opened_ms = bench->session_opened_ms,
        .pause_begun_ms = bench->pause_begun_ms,
        .pause_ended_ms = bench->pause_ended_ms,
        .last_mark_ms = bench->last_mark_ms,
        .event_count = bench->events.count,
        .undone_count = bench->undone_count,
        .edition = bench->edition,
    };
    if (bench->last) {
        const struct cb_film_more *last = bench->last;
        const struct cb_film *film = &bench->units.items[last->unit]->films.items[last->film];
        facts.last_unit = (int)last->unit;
        facts.last_figure = film->figure;
        facts.last_stage = film->stage;
        facts.last_coat = film->coat;
    }
    return facts;
}

static bool is_in(const char *const *list, size_t count, const char *word)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(list[i], word) == 0) {
            return true;
        }
    }
    return false;
}

const char *cb_bench_caution_recipe(const struct cb_bench *bench)
{
    const int front = cb_bench_front(bench);
    const char *name = front < 0 ? NULL : bench->units.items[front]->unit.recipe->name;
    return name ? name : "";
}

bool cb_bench_caution_read(const struct cb_bench *bench, const char *caution)
{
    const char *recipe = cb_bench_caution_recipe(bench);
    const size_t length = strlen(caution);
    for (size_t i = 0; i < bench->cautions.count; i++) {
        const char *read = bench->cautions.items[i];
        if (strncmp(read, caution, length) == 0 && read[length] == '\n' &&
            strcmp(read + length + 1, recipe) == 0) {
            return true;
        }
    }
    return false;
}

bool cb_bench_muted(const struct cb_bench *bench, const char *cue)
{
    return is_in(bench->muted.items, bench->muted.count, cue);
}

const struct cb_event *const *cb_bench_events(const struct cb_bench *bench, size_t *count)
{
    *count = bench->events.count;
    return bench->events.items;
}

int64_t cb_bench_event_ms(const struct cb_bench *bench, size_t event)
{
    return bench->times.items[event];
}

bool cb_bench_in_force(const struct cb_bench *bench, size_t event)
{
    return event < bench->in_force.count && bench->in_force.items[event];
}
