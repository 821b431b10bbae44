/* SPDX-License-Identifier: MIT */
/* A recipe is changed in the middle: what becomes of films, of coats added and spared, of stages
 * left out, and of swaps. */
#include "core/bench/bench_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "core/recipe/recipe_match.h"

static struct cb_bench_stash *stash_of(struct cb_bench_unit *unit, const char *name)
{
    for (size_t i = 0; i < unit->stash.count; i++) {
        if (strcmp(unit->stash.items[i].name, name) == 0) {
            return &unit->stash.items[i];
        }
    }
    return NULL;
}

static struct cb_bench_stash *stash_for(struct cb_bench_unit *unit, const char *name)
{
    struct cb_bench_stash *stash = stash_of(unit, name);
    if (stash) {
        return stash;
    }
    cb_vec_push(&unit->stash, (struct cb_bench_stash){.name = name});
    return &unit->stash.items[unit->stash.count - 1];
}

size_t cb_bench_old_stages(const struct cb_unit *unit, const char **names, size_t most)
{
    const struct cb_bench_unit *inside = cb_bench_inside(unit);
    size_t count = 0;
    for (size_t i = 0; i < inside->stash.count && count < most; i++) {
        if (cb_recipe_stage(unit->recipe, inside->stash.items[i].name) < 0) {
            names[count++] = inside->stash.items[i].name;
        }
    }
    return count;
}

void cb_bench_match(const struct cb_unit *unit, const struct cb_recipe *next,
                    struct cb_recipe_match *match)
{
    const size_t most = cb_bench_inside(unit)->stash.count;
    const char **names = cb_mem_new(most + 1, sizeof *names);
    cb_recipe_match(unit->recipe, next, names, cb_bench_old_stages(unit, names, most), match);
    free(names);
}

void cb_bench_draft(const struct cb_unit *unit, struct cb_draft *draft)
{
    cb_draft_of(draft, cb_bench_used(unit));
}

static void keep_figure(struct cb_bench_stash *stash, const struct cb_unit *unit, size_t stage,
                        int figure)
{
    const uint64_t bit = UINT64_C(1) << ((figure - 1) % 64);
    uint64_t *left_out = &stash->figures_left_out[(figure - 1) / 64];
    stash->extra[figure] = unit->figure[figure].extra[stage];
    *left_out = unit->figure[figure].left_out >> stage & 1 ? *left_out | bit : *left_out & ~bit;
}

/* Do figures of that stage go elsewhere than the stage itself? */
static bool gives_figures(const struct cb_recipe_match *match, size_t stage)
{
    bool gives = match->back_to[stage] >= 0;
    for (size_t i = 0; i < CB_RECIPE_MAX && match->to[stage] >= 0; i++) {
        gives = gives || match->part_of[i] == match->to[stage];
    }
    return gives;
}

/* What the figures' stages have is kept by name while another recipe rules: by the name that the
 * stage has there, so that a name that it had is free again. */
static void put_away(struct cb_bench_unit *unit, const struct cb_recipe *next,
                     const struct cb_recipe_match *match)
{
    const struct cb_recipe *recipe = unit->unit.recipe;
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const char *name = recipe->stages[i].name;
        struct cb_bench_stash *stash = stash_of(unit, name);
        if (match->to[i] >= 0 && strcmp(next->stages[match->to[i]].name, name) != 0) {
            if (stash) {
                *stash = unit->stash.items[--unit->stash.count];
            }
            name = next->stages[match->to[i]].name;
        }
        stash = stash_for(unit, name);
        stash->left_out = unit->unit.left_out >> i & 1;
        for (int f = 1; f <= CB_FIGURES_MAX; f++) {
            keep_figure(stash, &unit->unit, i, f);
        }
    }
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const int figures = gives_figures(match, i) ? CB_FIGURES_MAX : 0;
        for (int f = 1; f <= figures; f++) {
            const int home = cb_recipe_home(match, i, f);
            if (home >= 0 && home != match->to[i] && cb_recipe_applies(recipe, i, f)) {
                struct cb_bench_stash *stash = stash_for(unit, next->stages[home].name);
                stash->left_out |= match->from[home] < 0 && (unit->unit.left_out >> i & 1);
                keep_figure(stash, &unit->unit, i, f);
            }
        }
    }
}

static void take_out(struct cb_bench_unit *unit)
{
    unit->unit.left_out = 0;
    for (int f = 1; f <= CB_FIGURES_MAX; f++) {
        unit->unit.figure[f].left_out = 0;
        memset(unit->unit.figure[f].extra, 0, sizeof unit->unit.figure[f].extra);
    }
    for (size_t i = 0; i < unit->unit.recipe->stage_count; i++) {
        const struct cb_bench_stash *stash = stash_of(unit, unit->unit.recipe->stages[i].name);
        if (!stash) {
            continue;
        }
        const uint64_t bit = UINT64_C(1) << i;
        unit->unit.left_out |= stash->left_out ? bit : 0;
        for (int f = 1; f <= CB_FIGURES_MAX; f++) {
            unit->unit.figure[f].extra[i] = stash->extra[f];
            if ((stash->figures_left_out[(f - 1) / 64] >> ((f - 1) % 64)) & 1) {
                unit->unit.figure[f].left_out |= bit;
            }
        }
    }
}

/* The film's areas under another recipe, by their names; all over, it lies on those that are new.
 */
static uint64_t areas_in(const struct cb_recipe *recipe, const struct cb_film_more *more)
{
    const struct cb_recipe *old = more->read->recipe;
    const uint64_t covers = more->read->covers[more->read_stage];
    uint64_t areas = 0;
    for (size_t j = 0; j < recipe->area_count; j++) {
        bool on = old->stages[more->read_stage].whole;
        for (size_t i = 0; i < old->area_count; i++) {
            if (strcmp(old->areas[i].name, recipe->areas[j].name) == 0) {
                on = covers >> i & 1;
            }
        }
        areas |= on ? UINT64_C(1) << j : 0;
    }
    return areas;
}

static const struct cb_paint *paint_of(const struct cb_recipe *recipe, const char *key)
{
    for (size_t i = 0; i < recipe->paint_count; i++) {
        if (strcmp(recipe->paints[i].key, key) == 0) {
            return &recipe->paints[i];
        }
    }
    return NULL;
}

/* What another paint stood in for is itself another one now: the recipe's word is the later. */
static void end_swaps(struct cb_bench_unit *unit, const struct cb_recipe *next)
{
    size_t kept = 0;
    for (size_t i = 0; i < unit->swaps.count; i++) {
        const struct cb_bench_swap *swap = &unit->swaps.items[i];
        const struct cb_paint *before = paint_of(unit->unit.recipe, swap->key);
        const struct cb_paint *now = paint_of(next, swap->key);
        if (!before || !now ||
            (strcmp(before->name, now->name) == 0 && before->kind == now->kind)) {
            unit->swaps.items[kept++] = *swap;
        }
    }
    unit->swaps.count = kept;
}

static void change(struct cb_bench_unit *unit, const struct cb_recipe *next)
{
    struct cb_recipe_match match;
    cb_bench_match(&unit->unit, next, &match);
    put_away(unit, next, &match);
    end_swaps(unit, next);
    for (size_t i = 0; i < cb_bench_all_films(unit); i++) {
        const struct cb_film *film = cb_bench_any_film(unit, i);
        const int home =
            film->stage > 0 ? cb_recipe_home(&match, (size_t)film->stage - 1, film->figure) : -1;
        if (home >= 0) {
            cb_bench_more(film)->stage_name = next->stages[home].name;
        }
    }
}

void cb_bench_set_recipe(struct cb_bench *bench, struct cb_bench_unit *unit,
                         const struct cb_bench_recipe *read)
{
    if (unit->unit.recipe && read->recipe) {
        change(unit, read->recipe);
    }
    unit->read = read;
    unit->unit.recipe = read->recipe;
    if (!read->recipe) {
        struct cb_recipe *empty = cb_arena_alloc(&bench->fold, 1, sizeof *empty);
        empty->name = unit->unit.name;
        empty->figures = unit->unit.figures;
        empty->height_mm = CB_RECIPE_HEIGHT_MM;
        empty->change_min = CB_RECIPE_CHANGE_MIN;
        unit->unit.recipe = empty;
    }
    take_out(unit);
    for (size_t i = 0; i < cb_bench_all_films(unit); i++) {
        struct cb_film *film = cb_bench_any_film(unit, i);
        film->stage = cb_recipe_stage(unit->unit.recipe, film->more->stage_name) + 1;
        film->areas = areas_in(unit->unit.recipe, film->more);
        cb_bench_film_changed(bench, film);
    }
    cb_bench_set_paints(bench, unit);
    cb_bench_set_standing(bench, unit);
}
