/* SPDX-License-Identifier: MIT */
#include "support/recipe_equal.h"

#include <math.h>
#include <string.h>

static bool texts(const char *a, const char *b)
{
    return a == NULL || b == NULL ? a == b : strcmp(a, b) == 0;
}

static bool numbers(double a, double b)
{
    return isnan(a) ? isnan(b) : a == b;
}

static bool lists(const char *const *a, size_t a_count, const char *const *b, size_t b_count)
{
    for (size_t i = 0; i < a_count && i < b_count; i++) {
        if (!texts(a[i], b[i])) {
            return false;
        }
    }
    return a_count == b_count;
}

static const char *paints(const struct cb_paint *a, const struct cb_paint *b)
{
    return !texts(a->key, b->key)                       ? "key"
           : !texts(a->name, b->name)                   ? "name"
           : a->kind != b->kind                         ? "kind"
           : a->tone != b->tone                         ? "tone"
           : !numbers(a->film_um, b->film_um)           ? "film"
           : !numbers(a->solids, b->solids)             ? "solids"
           : !numbers(a->dry_min, b->dry_min)           ? "dry"
           : !numbers(a->label_min, b->label_min)       ? "label"
           : !numbers(a->drops_per_ml, b->drops_per_ml) ? "drops"
           : !texts(a->instead, b->instead)             ? "instead"
                                                        : NULL;
}

static const char *areas(const struct cb_area *a, const struct cb_area *b)
{
    return !texts(a->name, b->name)               ? "name"
           : !numbers(a->share_pct, b->share_pct) ? "share"
           : a->share_said != b->share_said       ? "share said"
           : !numbers(a->disc_mm, b->disc_mm)     ? "disc"
           : a->beside != b->beside               ? "beside"
           : a->near != b->near                   ? "near"
           : a->apart != b->apart                 ? "apart"
                                                  : NULL;
}

static bool mixes(const struct cb_mix *a, const struct cb_mix *b)
{
    for (size_t i = 0; i < a->count && i < b->count; i++) {
        const struct cb_mix_part *left = &a->parts[i], *right = &b->parts[i];
        if (left->what != right->what || !numbers(left->parts, right->parts) ||
            (left->what == CB_MIX_PAINT && left->paint != right->paint)) {
            return false;
        }
    }
    return a->count == b->count;
}

static const char *stages(const struct cb_stage *a, const struct cb_stage *b)
{
    return !texts(a->name, b->name)                                               ? "name"
           : a->technique != b->technique                                         ? "technique"
           : !mixes(&a->mix, &b->mix)                                             ? "mix"
           : a->mix_said != b->mix_said                                           ? "mix said"
           : a->on != b->on                                                       ? "on"
           : a->whole != b->whole                                                 ? "whole"
           : a->groups != b->groups                                               ? "for"
           : a->by != b->by                                                       ? "by"
           : !texts(a->place, b->place)                                           ? "place"
           : a->coats != b->coats                                                 ? "coats"
           : !numbers(a->work_min, b->work_min)                                   ? "minutes"
           : !numbers(a->dry_min, b->dry_min)                                     ? "dry"
           : !numbers(a->wait_min, b->wait_min)                                   ? "wait"
           : !texts(a->brush, b->brush)                                           ? "brush"
           : a->tidy_with != b->tidy_with                                         ? "tidy_with"
           : a->together != b->together                                           ? "together"
           : a->optional != b->optional                                           ? "optional"
           : a->has_after != b->has_after                                         ? "after said"
           : a->after != b->after                                                 ? "after"
           : !texts(a->say, b->say)                                               ? "say"
           : !lists(a->pictures, a->picture_count, b->pictures, b->picture_count) ? "pictures"
                                                                                  : NULL;
}

static const char *heads(const struct cb_recipe *a, const struct cb_recipe *b)
{
    return !texts(a->name, b->name)                 ? "name"
           : !texts(a->about, b->about)             ? "about"
           : a->figures != b->figures               ? "figures"
           : !numbers(a->height_mm, b->height_mm)   ? "height"
           : !numbers(a->change_min, b->change_min) ? "change"
           : a->group_count != b->group_count       ? "number of groups"
           : a->paint_count != b->paint_count       ? "number of paints"
           : a->area_count != b->area_count         ? "number of areas"
           : a->stage_count != b->stage_count       ? "number of stages"
           : !lists(a->pictures, a->picture_count, b->pictures, b->picture_count) ? "pictures"
                                                                                  : NULL;
}

const char *recipe_difference(const struct cb_recipe *a, const struct cb_recipe *b,
                              struct cb_arena *arena)
{
    const char *what = heads(a, b);
    for (int figure = 1; what == NULL && figure <= CB_FIGURES_MAX; figure++) {
        what = texts(a->names[figure], b->names[figure])
                   ? NULL
                   : cb_arena_printf(arena, "name of figure %d", figure);
    }
    for (size_t i = 0; what == NULL && i < a->group_count; i++) {
        const struct cb_group *left = &a->groups[i], *right = &b->groups[i];
        if (!texts(left->name, right->name) || left->figures[0] != right->figures[0] ||
            left->figures[1] != right->figures[1]) {
            what = cb_arena_printf(arena, "group %zu", i + 1);
        }
    }
    for (size_t i = 0; what == NULL && i < a->paint_count; i++) {
        const char *key = paints(&a->paints[i], &b->paints[i]);
        what = key ? cb_arena_printf(arena, "%s of paint %zu", key, i + 1) : NULL;
    }
    for (size_t i = 0; what == NULL && i < a->area_count; i++) {
        const char *key = areas(&a->areas[i], &b->areas[i]);
        what = key ? cb_arena_printf(arena, "%s of area %zu", key, i + 1) : NULL;
    }
    for (size_t i = 0; what == NULL && i < a->stage_count; i++) {
        const char *key = stages(&a->stages[i], &b->stages[i]);
        what = key ? cb_arena_printf(arena, "%s of stage %zu", key, i + 1) : NULL;
    }
    return what;
}
