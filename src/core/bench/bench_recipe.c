/* SPDX-License-Identifier: MIT */
/* Recipes of units: read once, paints swapped and joined, films standing at their stages. */
#include "core/bench/bench_internal.h"
#include "core/recipe/drying_stage.h"

#include <math.h>
#include <string.h>

#include "base/utf8.h"

static void read_masks(struct cb_bench_recipe *read)
{
    cb_recipe_covers_all(read->recipe, read->covers);
    for (size_t i = 0; i < read->recipe->stage_count; i++) {
        read->waits[i] = cb_recipe_waits_for(read->recipe, i) & ~(UINT64_C(1) << i);
    }
    read->has_parts = cb_recipe_off(read->recipe, UINT64_MAX) != 0;
}

static const char *pot_key(struct cb_bench *bench, const char *paint, size_t kind)
{
    struct cb_arena arena = {0};
    const char *pot =
        cb_bench_intern(bench, cb_pot_key(paint, bench->kinds->kinds[kind].name, &arena));
    cb_arena_fini(&arena);
    return pot;
}

const struct cb_bench_recipe *cb_bench_read_recipe(struct cb_bench *bench, const char *text)
{
    size_t at;
    if (bench->whole && cb_index_get(bench->whole->recipe_texts, text, &at)) {
        return bench->whole->recipes.items[at];
    }
    if (cb_index_get(bench->recipe_texts, text, &at)) {
        return bench->recipes.items[at];
    }
    struct cb_bench_recipe *read = cb_arena_alloc(&bench->keep, 1, sizeof *read);
    struct cb_issues issues = {0};
    const struct cb_tree *tree = bench->read(text, strlen(text), &bench->keep, &issues);
    if (tree) {
        read->recipe = cb_recipe_from_tree(tree, text, bench->kinds, &bench->keep, &issues);
    }
    if (read->recipe) {
        read_masks(read);
        for (size_t i = 0; i < read->recipe->stage_count; i++) {
            const int paint = cb_mix_paint(&read->recipe->stages[i].mix);
            read->drying[i] = cb_drying_of_stage(bench->kinds, read->recipe, i);
            if (paint >= 0) {
                const struct cb_paint *row = &read->recipe->paints[paint];
                read->pot[i] = pot_key(bench, row->name, row->kind);
            }
        }
    }
    cb_index_set(bench->recipe_texts, text, bench->recipes.count);
    cb_vec_push(&bench->recipes, read);
    return read;
}

/* The last that stands in for the one of that key; NULL: none. */
static const struct cb_bench_swap *swap_of(const struct cb_unit *unit, const char *key)
{
    const struct cb_bench_unit *inside = cb_bench_inside(unit);
    for (size_t i = inside->swaps.count; i-- > 0;) {
        if (strcmp(inside->swaps.items[i].key, key) == 0) {
            return &inside->swaps.items[i];
        }
    }
    return NULL;
}

/* What was said of the old paint is not said of the new one. */
static void swap_paint(struct cb_paint *paint, const struct cb_bench_swap *swap)
{
    paint->name = swap->name;
    paint->kind = swap->has_kind ? swap->kind : paint->kind;
    paint->tone = swap->tone;
    paint->film_um = paint->solids = paint->dry_min = paint->label_min = paint->drops_per_ml = NAN;
    paint->instead = NULL;
}

/* The recipe by what was swapped. */
static const struct cb_recipe *used_recipe(struct cb_bench *bench, const struct cb_bench_unit *unit)
{
    const struct cb_recipe *recipe = unit->unit.recipe;
    if (unit->swaps.count == 0) {
        return recipe;
    }
    struct cb_recipe *used = cb_arena_alloc(&bench->fold, 1, sizeof *used);
    struct cb_paint *paints = cb_arena_alloc(&bench->fold, recipe->paint_count + 1, sizeof *paints);
    *used = *recipe;
    for (size_t i = 0; i < recipe->paint_count; i++) {
        const struct cb_bench_swap *swap = swap_of(&unit->unit, recipe->paints[i].key);
        paints[i] = recipe->paints[i];
        if (swap) {
            swap_paint(&paints[i], swap);
        }
    }
    used->paints = paints;
    if (swap_of(&unit->unit, CB_MEDIUM)) {
        struct cb_stage *stages =
            cb_arena_alloc(&bench->fold, recipe->stage_count + 1, sizeof *stages);
        cb_recipe_without_medium(bench->kinds, used, stages);
        used->stages = stages;
    }
    return used;
}

/* The paints of a mix in the recipe's order, after swaps. */
static const char *blend_of(struct cb_bench *bench, const struct cb_bench_unit *unit,
                            const struct cb_mix *mix)
{
    const char *blend = NULL;
    for (size_t i = 0; i < mix->count; i++) {
        if (mix->parts[i].what == CB_MIX_PAINT) {
            const char *name = unit->used->paints[mix->parts[i].paint].name;
            blend = blend ? cb_arena_printf(&bench->fold, "%s + %s", blend, name) : name;
        }
    }
    return blend;
}

void cb_bench_set_paints(struct cb_bench *bench, struct cb_bench_unit *unit)
{
    const struct cb_recipe *recipe = unit->unit.recipe;
    const size_t count = recipe->stage_count + 1; /* never none */
    unit->used = used_recipe(bench, unit);
    unit->unit.drying = cb_arena_alloc(&bench->fold, count, sizeof *unit->unit.drying);
    unit->unit.swapped_name = cb_arena_alloc(&bench->fold, count, sizeof *unit->unit.swapped_name);
    unit->unit.swapped_kind = cb_arena_alloc(&bench->fold, count, sizeof *unit->unit.swapped_kind);
    unit->pot = cb_arena_alloc(&bench->fold, count, sizeof *unit->pot);
    unit->paint = cb_arena_alloc(&bench->fold, count, sizeof *unit->paint);
    unit->blend = cb_arena_alloc(&bench->fold, count, sizeof *unit->blend);
    for (size_t i = 0; i < recipe->stage_count; i++) {
        unit->unit.drying[i] = unit->read->drying[i];
        const int paint = cb_mix_paint(&recipe->stages[i].mix);
        if (paint < 0) {
            continue;
        }
        const struct cb_paint *row = &recipe->paints[paint];
        const struct cb_bench_swap *swap = swap_of(&unit->unit, row->key);
        size_t kind = row->kind;
        unit->pot[i] = unit->read->pot[i];
        unit->paint[i] = row->name;
        if (swap) {
            kind = unit->used->paints[paint].kind;
            unit->unit.swapped_name[i] = unit->paint[i] = swap->name;
            unit->pot[i] = pot_key(bench, swap->name, kind);
        }
        if (swap || unit->used->stages != recipe->stages) {
            unit->unit.drying[i] = cb_drying_of_stage(bench->kinds, unit->used, i);
        }
        unit->unit.swapped_kind[i] = kind;
        unit->blend[i] = blend_of(bench, unit, &recipe->stages[i].mix);
        unit->pot[i] = cb_bench_note_pot(bench, unit->pot[i], kind);
    }
}

void cb_bench_set_wants(struct cb_bench_unit *unit, int figure, size_t stage)
{
    const uint64_t bit = UINT64_C(1) << stage;
    const bool wants = cb_bench_coats(&unit->unit, figure, (int)stage + 1) >
                       cb_bench_coats_on(&unit->unit, figure, (int)stage + 1);
    const bool holds = wants && !unit->unit.recipe->stages[stage].optional;
    unit->wants[figure] = (unit->wants[figure] & ~bit) | (wants ? bit : 0);
    unit->holds[figure] = (unit->holds[figure] & ~bit) | (holds ? bit : 0);
}

void cb_bench_set_standing(struct cb_bench *bench, struct cb_bench_unit *unit)
{
    const size_t stages = unit->unit.recipe->stage_count;
    const size_t count = ((size_t)unit->unit.figures + 1) * stages;
    unit->first_same = cb_arena_alloc(&bench->fold, count + 1, sizeof *unit->first_same);
    unit->coats_on = cb_arena_alloc(&bench->fold, count + 1, sizeof *unit->coats_on);
    for (size_t i = 0; i < count; i++) {
        unit->first_same[i] = -1;
    }
    for (size_t i = unit->films.count; i-- > 0;) {
        const struct cb_film *film = &unit->films.items[i];
        struct cb_film_more *more = cb_bench_more(film);
        more->next_same = -1;
        if (film->stage > 0 && film->lifted_ms == CB_TIME_NONE) {
            int *first = &unit->first_same[(size_t)film->figure * stages + (size_t)film->stage - 1];
            more->next_same = *first;
            *first = (int)i;
        }
    }
    memset(unit->wants, 0, sizeof unit->wants);
    memset(unit->holds, 0, sizeof unit->holds);
    for (size_t i = stages; i < count; i++) {
        const int figure = (int)(i / stages);
        while (cb_bench_film(&unit->unit, figure, (int)(i % stages) + 1, unit->coats_on[i] + 1)) {
            unit->coats_on[i]++;
        }
        cb_bench_set_wants(unit, figure, i % stages);
    }
}
