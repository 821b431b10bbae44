/* SPDX-License-Identifier: MIT */
/* What was taken back, and what can be. */
#include "core/bench/bench_internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/str.h"
#include "base/utf8.h"
#include "core/recipe/recipe_diff.h"

#define CHANGE_COLUMNS 50 /* of what differs in a recipe, within a line; own judgement */

/* Kinds that no `undone` takes back. */
static bool is_immune(const struct cb_event *event)
{
    return event->kind == CB_EVENT_SESSION_OPENED || event->kind == CB_EVENT_SESSION_CLOSED ||
           event->kind == CB_EVENT_PINGED || !event->press;
}

/* A sensor writes by itself, and the settings at an opening: taking those back is not what a
 * painter means by undo. */
static bool may_be_undone(const struct cb_event *event)
{
    return !is_immune(event) && event->kind != CB_EVENT_CONFIDENCE_SET &&
           !(event->kind == CB_EVENT_CLIMATE_SET &&
             strcmp(cb_event_text(event, CB_FIELD_FROM, ""), "sensor") == 0);
}

char *cb_bench_press_key(const struct cb_event *event, const char *press, struct cb_arena *arena)
{
    return cb_arena_printf(arena, "%s\n%s", press, event->machine ? event->machine : "");
}

void cb_bench_settle_undone(struct cb_bench *bench)
{
    const size_t count = bench->events.count;
    struct cb_arena arena = {0};
    struct cb_index *cancelled = cb_index_new();
    struct cb_index *named =
        cb_index_new(); /* the same whatever the machine: most are in neither */
    bench->in_force.count = 0;
    for (size_t i = 0; i < count; i++) {
        cb_vec_push(&bench->in_force, true);
    }
    size_t ignored;
    /* Backwards: whether an `undone` holds is up to later ones only. */
    for (size_t i = count; i-- > 0;) {
        const struct cb_event *event = bench->events.items[i];
        const char *of = cb_event_text(event, CB_FIELD_OF, NULL);
        if (event->kind != CB_EVENT_UNDONE || !of) {
            continue;
        }
        char *key = cb_bench_press_key(event, of, &arena);
        cb_index_set(named, of, 1);
        cb_index_set(bench->undone_presses, key, 1);
        if (event->press &&
            cb_index_get(cancelled, cb_bench_press_key(event, event->press, &arena), &ignored)) {
            bench->in_force.items[i] = false;
        } else {
            cb_index_set(cancelled, key, 1);
        }
    }
    bench->undone_count = 0;
    for (size_t i = 0; i < count; i++) {
        const struct cb_event *event = bench->events.items[i];
        if (event->kind != CB_EVENT_UNDONE && !is_immune(event) &&
            cb_index_get(named, event->press, &ignored) &&
            cb_index_get(cancelled, cb_bench_press_key(event, event->press, &arena), &ignored)) {
            bench->in_force.items[i] = false;
        }
        bench->undone_count += !bench->in_force.items[i];
    }
    cb_index_free(cancelled);
    cb_index_free(named);
    cb_arena_fini(&arena);
}

/* A press that was taken back, by the press that did it. */
struct redo {
    const char *by, *press;
    size_t first; /* first event of the press */
};
struct undo {
    const char *press;
    size_t first;
};
struct cb_bench_undo_cache {
    CB_VEC(struct undo) undo;
    CB_VEC(struct redo) redo;
    CB_VEC(const char *) waiting; /* taken back before they came */
    /* What differs between those two recipes, in the arena; every look at the screen asks. */
    const struct cb_recipe *before, *now;
    const char *differs;
    struct cb_arena arena;
};

struct cb_bench_undo_cache *cb_bench_undo_cache_new(void)
{
    return cb_mem_new(1, sizeof(struct cb_bench_undo_cache));
}

void cb_bench_undo_cache_free(struct cb_bench_undo_cache *cache)
{
    cb_vec_free(&cache->undo);
    cb_vec_free(&cache->redo);
    cb_vec_free(&cache->waiting);
    cb_arena_fini(&cache->arena);
    free(cache);
}

/* The machine whose bench this is; not said, the one that last opened a session. */
static const char *own_machine(const struct cb_bench *bench)
{
    if (bench->own) {
        return bench->own;
    }
    for (size_t i = bench->events.count; i-- > 0;) {
        const struct cb_event *event = bench->events.items[i];
        if (event->kind == CB_EVENT_SESSION_OPENED && event->machine) {
            return event->machine;
        }
    }
    return NULL;
}

static void take_back(struct cb_bench_undo_cache *cache, const struct cb_event *event)
{
    const char *of = cb_event_text(event, CB_FIELD_OF, "");
    for (size_t i = cache->undo.count; i-- > 0;) {
        struct undo *undo = &cache->undo.items[i];
        if (strcmp(undo->press, of) == 0) {
            cb_vec_push(&cache->redo, ((struct redo){event->press, undo->press, undo->first}));
            memmove(undo, undo + 1, (cache->undo.count - i - 1) * sizeof *undo);
            cache->undo.count--;
            return;
        }
    }
    for (size_t i = cache->redo.count; i-- > 0;) {
        struct redo *redo = &cache->redo.items[i];
        if (strcmp(redo->by, of) == 0) {
            cb_vec_push(&cache->undo, ((struct undo){redo->press, redo->first}));
            memmove(redo, redo + 1, (cache->redo.count - i - 1) * sizeof *redo);
            cache->redo.count--;
            return;
        }
    }
    cb_vec_push(&cache->waiting, of);
}

static bool is_waited_for(const struct cb_bench_undo_cache *cache, const char *press)
{
    for (size_t i = 0; i < cache->waiting.count; i++) {
        if (strcmp(cache->waiting.items[i], press) == 0) {
            return true;
        }
    }
    return false;
}

static const struct cb_bench_undo_cache *history(const struct cb_bench *bench)
{
    struct cb_bench_undo_cache *cache = bench->cache->undo;
    if (!bench->cache->undo_stale) {
        return cache;
    }
    bench->cache->undo_stale = false;
    cache->undo.count = cache->redo.count = cache->waiting.count = 0;
    const char *own = own_machine(bench);
    const char *press = NULL;
    for (size_t i = 0; i < bench->events.count; i++) {
        const struct cb_event *event = bench->events.items[i];
        if (!event->press || (own && !cb_str_same(event->machine, own))) {
            continue;
        }
        if (event->kind == CB_EVENT_UNDONE) {
            take_back(cache, event);
            press = NULL;
        } else if (may_be_undone(event) && !cb_str_same(press, event->press)) {
            press = event->press;
            cache->redo.count = 0;
            if (!is_waited_for(cache, press)) {
                cb_vec_push(&cache->undo, ((struct undo){press, i}));
            }
        }
    }
    return cache;
}

/* A few words on each kind of event, for the line that says what undo takes back. */
static const char *const words[] = {
    [CB_EVENT_SESSION_OPENED] = "opened",
    [CB_EVENT_SESSION_CLOSED] = "closed",
    [CB_EVENT_CLIMATE_SET] = "the room",
    [CB_EVENT_PAUSE_BEGUN] = "pause",
    [CB_EVENT_PAUSE_ENDED] = "end of the pause",
    [CB_EVENT_AWAY] = "away",
    [CB_EVENT_CHORE_DONE] = "chore",
    [CB_EVENT_ANSWERED] = "answer",
    [CB_EVENT_CONFIDENCE_SET] = "confidence",
    [CB_EVENT_CUE_MUTED] = "cue muted",
    [CB_EVENT_CAUTION_READ] = "caution read",
    [CB_EVENT_EVIDENCE_FORGOTTEN] = "older answers forgotten",
    [CB_EVENT_BOTTLE_NEW] = "new bottle",
    [CB_EVENT_PAINT_JOINED] = "paints joined",
    [CB_EVENT_PRIOR_GIVEN] = "another painter's times",
    [CB_EVENT_PINGED] = "ping",
    [CB_EVENT_NOTE] = "note",
    [CB_EVENT_UNDONE] = "undo",
    [CB_EVENT_UNIT_BEGUN] = "unit begun",
    [CB_EVENT_UNIT_OPENED] = "unit opened",
    [CB_EVENT_UNIT_FINISHED] = "unit finished",
    [CB_EVENT_RECIPE_CHANGED] = "recipe changed",
    [CB_EVENT_SWAPPED] = "paint swapped",
    [CB_EVENT_FIGURE_PARKED] = "parked",
    [CB_EVENT_FIGURE_BACK] = "back",
    [CB_EVENT_FIGURE_JOINED] = "figure joined",
    [CB_EVENT_BROUGHT_IN] = "brought in",
    [CB_EVENT_COAT_ON] = "coat",
    [CB_EVENT_CHECKED] = "answer",
    [CB_EVENT_LIFTED] = "lifted",
    [CB_EVENT_TIDIED] = "tidied",
    [CB_EVENT_HELPED] = "helped",
    [CB_EVENT_COAT_ADDED] = "coat added",
    [CB_EVENT_COAT_SPARED] = "coat spared",
    [CB_EVENT_STAGE_LEFT_OUT] = "left out",
    [CB_EVENT_MOVED] = "moved to",
};
_Static_assert(sizeof words / sizeof *words == CB_EVENT_COUNT, "a word for every event");

/* What the coat is called: its paint, else its stage. */
static const char *coat_word(const struct cb_bench *bench, const struct cb_event *event)
{
    const int unit = cb_bench_find_unit(bench, event->unit);
    const int stage = (int)cb_event_int(event, CB_FIELD_STAGE, 0);
    if (unit < 0) {
        return words[event->kind];
    }
    const struct cb_bench_unit *inside = bench->units.items[unit];
    const struct cb_unit *row = &inside->unit;
    for (size_t i = cb_bench_all_films(inside); i-- > 0;) {
        const struct cb_film *film = cb_bench_any_film(inside, i);
        if (film->on_press && strcmp(film->on_press, event->press) == 0) {
            const char *own = film->stage > 0 ? cb_bench_stage_paint(row, film->stage) : NULL;
            return !film->paint                    ? film->more->stage_name
                   : cb_str_same(film->paint, own) ? cb_bench_stage_blend(row, film->stage)
                                                   : film->paint;
        }
    }
    if (stage < 1 || (size_t)stage > row->recipe->stage_count) {
        return words[event->kind];
    }
    const char *paint = cb_bench_stage_blend(row, stage);
    return paint ? paint : row->recipe->stages[stage - 1].name;
}

/* Of a stage that has no paint nothing is on, wet or dry. */
static bool is_painted(const struct cb_bench *bench, const struct cb_event *event)
{
    const int unit = event->unit ? cb_bench_find_unit(bench, event->unit) : -1;
    const int stage = (int)cb_event_int(event, CB_FIELD_STAGE, 0);
    if (unit < 0) {
        return true;
    }
    const struct cb_unit *row = &bench->units.items[unit]->unit;
    return stage < 1 || (size_t)stage > row->recipe->stage_count ||
           cb_bench_stage_paint(row, stage);
}

/* The recipe that the event brought; NULL: none, or not read. */
static const struct cb_recipe *recipe_of(const struct cb_bench *bench, const struct cb_event *event)
{
    size_t at;
    const struct cb_bench *read = bench->whole ? bench->whole : bench;
    const char *text = cb_event_text(event, CB_FIELD_RECIPE, NULL);
    return text && cb_index_get(read->recipe_texts, text, &at) ? read->recipes.items[at]->recipe
                                                               : NULL;
}

/* The first thing that the event at that index made another in its recipe; NULL: not known. */
static const char *first_change(const struct cb_bench *bench, size_t index)
{
    const struct cb_event *event = bench->events.items[index];
    const struct cb_recipe *now = recipe_of(bench, event), *before = NULL;
    for (size_t i = index; i-- > 0 && !before;) {
        const struct cb_event *earlier = bench->events.items[i];
        before = bench->in_force.items[i] && cb_str_same(earlier->unit, event->unit)
                     ? recipe_of(bench, earlier)
                     : NULL;
    }
    if (!now || !before) {
        return NULL;
    }
    struct cb_bench_undo_cache *cache = bench->cache->undo;
    if (cache->before != before || cache->now != now) {
        struct cb_recipe_match match;
        cb_arena_fini(&cache->arena);
        cb_recipe_match(before, now, NULL, 0, &match);
        const struct cb_recipe_diff diff =
            cb_recipe_diff(before, now, &match, bench->kinds, &cache->arena);
        cache->differs = NULL;
        if (diff.count > 0) {
            const char *line = cb_utf8_clean(&cache->arena, diff.lines[0].text, CHANGE_COLUMNS);
            cache->differs = diff.count == 1 ? line
                                             : cb_arena_printf(&cache->arena, "%s and %zu more",
                                                               line, diff.count - 1);
        }
        cache->before = before;
        cache->now = now;
    }
    return cache->differs;
}

/* "Kelp rope instead of Tarred rope"; NULL: not said. */
static const char *swap_word(const struct cb_bench *bench, const struct cb_event *event,
                             struct cb_arena *arena)
{
    const int unit = event->unit ? cb_bench_find_unit(bench, event->unit) : -1;
    const char *name = cb_event_text(event, CB_FIELD_NAME, NULL);
    const char *old = cb_event_text(event, CB_FIELD_PAINT, NULL);
    if (unit < 0 || !name || !old) {
        return NULL;
    }
    const struct cb_recipe *recipe = bench->units.items[unit]->unit.recipe;
    for (size_t i = 0; i < recipe->paint_count; i++) {
        if (strcmp(recipe->paints[i].key, old) == 0) {
            old = recipe->paints[i].name;
            break;
        }
    }
    return cb_utf8_clean(arena, cb_arena_printf(arena, "%s instead of %s", name, old),
                         CHANGE_COLUMNS);
}

static char *describe(const struct cb_bench *bench, const char *press, size_t first,
                      struct cb_arena *arena)
{
    const struct cb_event *event = bench->events.items[first];
    for (size_t i = first;
         i < bench->events.count && cb_str_same(bench->events.items[i]->press, press); i++) {
        if (bench->events.items[i]->kind == CB_EVENT_UNIT_BEGUN) {
            event = bench->events.items[i]; /* whatever else was said of the room with it */
        }
    }
    const char *word = (size_t)event->kind < CB_EVENT_COUNT ? words[event->kind] : event->name;
    const char *join = " ";
    const bool painted = is_painted(bench, event);
    if (event->kind == CB_EVENT_COAT_ON) {
        word = coat_word(bench, event);
        join = painted ? " on " : " done on ";
    } else if (event->kind == CB_EVENT_CHECKED) {
        const bool dry = strcmp(cb_event_text(event, CB_FIELD_FOUND, ""), "dry") == 0;
        word = painted ? (dry ? "dry" : "still wet") : dry ? "done" : "not yet done";
        join = " on ";
    } else if (event->kind == CB_EVENT_RECIPE_CHANGED) {
        const char *change = first_change(bench, first);
        word = change ? change : word;
    } else if (event->kind == CB_EVENT_SWAPPED) {
        const char *swap = swap_word(bench, event, arena);
        word = swap ? swap : word;
    }
    int from = 0;
    int to = 0;
    int count = 0;
    bool counted[CB_FIGURES_MAX + 1] = {false};
    for (size_t i = first;
         i < bench->events.count && cb_str_same(bench->events.items[i]->press, press); i++) {
        const int figure = event->kind == CB_EVENT_COAT_ON
                               ? cb_bench_key(bench, bench->events.items[i]).figure
                               : (int)cb_event_int(bench->events.items[i], CB_FIELD_FIGURE, 0);
        if (bench->events.items[i]->kind != event->kind || figure < 1 || figure > CB_FIGURES_MAX ||
            counted[figure]) {
            continue;
        }
        counted[figure] = true;
        from = count == 0 || figure < from ? figure : from;
        to = count == 0 || figure > to ? figure : to;
        count++;
    }
    const struct cb_attr *list =
        event->kind == CB_EVENT_BROUGHT_IN ? cb_event_get(event, CB_FIELD_FIGURES) : NULL;
    for (size_t i = 0; list && list->type == CB_TYPE_FIGURES && i < list->n; i++) {
        from = i == 0 || list->figures[i] < from ? list->figures[i] : from;
        to = i == 0 || list->figures[i] > to ? list->figures[i] : to;
        count++;
    }
    if (cb_event_int(event, CB_FIELD_FIGURE, -1) == 0) {
        return cb_arena_printf(arena, "%s on the scrap", word);
    }
    if (event->kind == CB_EVENT_UNIT_FINISHED && cb_event_is(event, CB_FIELD_LEFT)) {
        word = "unit put aside";
    }
    if (count == 0) {
        return cb_arena_text(arena, word);
    }
    if (from == to) {
        return cb_arena_printf(arena, "%s%s%d", word, join, from);
    }
    return count == to - from + 1 ? cb_arena_printf(arena, "%s%s%d to %d", word, join, from, to)
                                  : cb_arena_printf(arena, "%s%s%d figures", word, join, count);
}

const char *cb_bench_undoable(const struct cb_bench *bench, struct cb_arena *arena, char **what)
{
    const struct cb_bench_undo_cache *cache = history(bench);
    if (cache->undo.count == 0) {
        return NULL;
    }
    const struct undo *top = &cache->undo.items[cache->undo.count - 1];
    if (what) {
        *what = describe(bench, top->press, top->first, arena);
    }
    return top->press;
}

const char *cb_bench_redoable(const struct cb_bench *bench, struct cb_arena *arena, char **what)
{
    const struct cb_bench_undo_cache *cache = history(bench);
    if (cache->redo.count == 0) {
        return NULL;
    }
    const struct redo *top = &cache->redo.items[cache->redo.count - 1];
    if (what) {
        *what = describe(bench, top->press, top->first, arena);
    }
    return top->by;
}
