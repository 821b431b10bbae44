/* SPDX-License-Identifier: MIT */
/* Pots by their names: which are one, of which a bottle is new, of which all is forgotten. */
#include "core/bench/bench_internal.h"

#include <string.h>

#include "base/str.h"
#include "base/utf8.h"

#define KIND_AFTER '\n' /* in a pot's key, as cb_pot_key makes it */

/* A pot as an event names it: by the name that is shown, or by its key. */
struct named {
    const char *name, *kind; /* name folded; kind NULL: any */
};

static struct named named_by(const char *text, struct cb_arena *arena)
{
    const char *kind = strchr(text, KIND_AFTER);
    return (struct named){kind ? cb_arena_text_n(arena, text, (size_t)(kind - text))
                               : cb_utf8_fold(arena, text),
                          kind ? kind + 1 : NULL};
}

/* Through the joins in their order; later ones alone, so that there is no way round. */
static struct named after_joins(const struct cb_bench *bench, struct named pot)
{
    for (size_t i = 0; i < bench->aliases.count; i++) {
        const struct cb_bench_alias *alias = &bench->aliases.items[i];
        if (strcmp(alias->from, pot.name) == 0 &&
            (!alias->from_kind || cb_str_same(alias->from_kind, pot.kind))) {
            pot.name = alias->to;
            pot.kind = alias->to_kind ? alias->to_kind : pot.kind;
        }
    }
    return pot;
}

const char *cb_bench_joined(const struct cb_bench *bench, const char *pot, struct cb_arena *arena)
{
    if (!pot || bench->aliases.count == 0) {
        return pot;
    }
    const struct named own = named_by(pot, arena), joined = after_joins(bench, own);
    return !own.kind || (cb_str_same(own.name, joined.name) && cb_str_same(own.kind, joined.kind))
               ? pot
               : cb_arena_printf(arena, "%s%c%s", joined.name, KIND_AFTER, joined.kind);
}

const char *cb_bench_pot_of(struct cb_bench *bench, const char *pot)
{
    struct cb_arena arena = {0};
    const char *joined = cb_bench_joined(bench, pot, &arena);
    joined = joined == pot ? pot : cb_bench_intern(bench, joined);
    cb_arena_fini(&arena);
    return joined;
}

const char *cb_bench_note_pot(struct cb_bench *bench, const char *pot, size_t kind)
{
    for (size_t i = 0; i < bench->pots.count; i++) {
        if (bench->pots.items[i].key == pot) {
            return bench->pots.items[i].joined;
        }
    }
    const struct cb_bench_pot noted = {pot, cb_bench_pot_of(bench, pot),
                                       bench->kinds->kinds[kind].pot_sd};
    cb_vec_push(&bench->pots, noted);
    return noted.joined;
}

void cb_bench_add_row(struct cb_bench *bench, const struct cb_row *row)
{
    cb_vec_push(&bench->sources, ((struct cb_bench_source){.gives = true, .row = *row}));
}

const struct cb_bench_pot *cb_bench_pot_named(const struct cb_bench *bench, const char *name,
                                              size_t *next)
{
    const struct cb_bench_pot *found = NULL;
    while (!found && *next < bench->pots.count) {
        struct cb_arena arena = {0};
        const struct cb_bench_pot *pot = &bench->pots.items[(*next)++];
        const char *kind = strchr(pot->key, KIND_AFTER) + 1;
        const char *meant = cb_arena_printf(&arena, "%s%c%s", name, KIND_AFTER, kind);
        bool first = strcmp(cb_bench_joined(bench, meant, &arena), pot->joined) == 0;
        for (size_t i = 0; first && &bench->pots.items[i] < pot; i++) {
            first = bench->pots.items[i].joined != pot->joined;
        }
        found = first ? pot : NULL;
        cb_arena_fini(&arena);
    }
    return found;
}

void cb_bench_change_evidence(struct cb_bench *bench, const struct cb_event *event,
                              enum cb_row_kind kind)
{
    const char *paint = cb_event_text(event, CB_FIELD_PAINT, NULL);
    struct cb_bench_source source = {
        .row = {.kind = kind, .at_ms = event->at_ms, .paint = paint},
    };
    struct cb_arena arena = {0};
    size_t of = 0;
    const struct named named = named_by(paint ? paint : "", &arena);
    if (!paint) {
        source.gives = kind == CB_ROW_FORGET;
    } else if (!named.kind) {
        source.name = cb_bench_intern(bench, named.name);
    } else if (cb_kinds_find(bench->kinds, named.kind, &of)) {
        source.gives = true;
        source.row.pot = cb_bench_pot_of(bench, cb_bench_intern(bench, paint));
        source.row.pot_sd = bench->kinds->kinds[of].pot_sd;
    }
    if (source.gives || source.name) {
        cb_vec_push(&bench->sources, source);
    }
    cb_arena_fini(&arena);
}

static const char *kept(struct cb_bench *bench, const char *text)
{
    return text ? cb_bench_intern(bench, text) : NULL;
}

void cb_bench_join_paints(struct cb_bench *bench, const struct cb_event *event)
{
    struct cb_arena arena = {0};
    const struct named from =
        after_joins(bench, named_by(cb_event_text(event, CB_FIELD_FROM, ""), &arena));
    const struct named to =
        after_joins(bench, named_by(cb_event_text(event, CB_FIELD_TO, ""), &arena));
    const bool joins = from.name[0] && to.name[0] &&
                       (strcmp(from.name, to.name) != 0 || !cb_str_same(from.kind, to.kind));
    if (joins) {
        cb_vec_push(&bench->aliases,
                    ((struct cb_bench_alias){kept(bench, from.name), kept(bench, from.kind),
                                             kept(bench, to.name), kept(bench, to.kind)}));
    }
    cb_arena_fini(&arena);
    if (!joins) {
        return;
    }
    bench->answered.count = 0;
    for (size_t i = 0; i < bench->pots.count; i++) {
        bench->pots.items[i].joined = cb_bench_pot_of(bench, bench->pots.items[i].key);
    }
    for (size_t u = 0; u < bench->units.count; u++) {
        struct cb_bench_unit *unit = bench->units.items[u];
        for (size_t i = 0; i < cb_bench_all_films(unit); i++) {
            struct cb_film *film = cb_bench_any_film(unit, i);
            film->pot = cb_bench_pot_of(bench, film->pot);
            if (film->check != CB_CHECK_NONE || film->lifted_ms != CB_TIME_NONE) {
                cb_bench_count_answered(bench, film);
            }
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
