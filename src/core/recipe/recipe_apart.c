/* SPDX-License-Identifier: MIT */
/* Parts of a figure that are painted off it until a join brings them back. */
#include "core/recipe/recipe.h"

static uint64_t bit(size_t index)
{
    return UINT64_C(1) << index;
}

static bool joins(const struct cb_recipe *recipe, size_t stage, size_t area)
{
    const struct cb_stage *row = &recipe->stages[stage];
    return row->technique == CB_TECHNIQUE_JOIN && row->on & bit(area);
}

/* The stages that bring the area back. */
static uint64_t joins_of(const struct cb_recipe *recipe, size_t area)
{
    uint64_t mask = 0;
    for (size_t i = 0; i < recipe->stage_count; i++) {
        mask |= joins(recipe, i, area) ? bit(i) : 0;
    }
    return mask;
}

/* The stages that stand before it: those that `after` names and what stands before these, else the
 * earlier ones. */
static uint64_t before(const struct cb_recipe *recipe, size_t stage)
{
    uint64_t mask = bit(stage), seen = 0;
    while (mask != seen) {
        const uint64_t fresh = mask & ~seen;
        seen = mask;
        for (size_t i = 0; i < recipe->stage_count; i++) {
            const struct cb_stage *row = &recipe->stages[i];
            if (fresh & bit(i)) {
                mask |= row->has_after ? row->after : bit(i) - 1;
            }
        }
    }
    return mask & ~bit(stage);
}

/* Those of the techniques (mask) of which the part has a stage of its own before its join. */
static uint64_t own_techniques(const struct cb_recipe *recipe, const uint64_t *earlier, size_t area,
                               uint64_t back)
{
    uint64_t techniques = 0;
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const struct cb_stage *row = &recipe->stages[i];
        if (!row->whole && row->on & bit(area) && !(earlier[i] & back)) {
            techniques |= bit(row->technique);
        }
    }
    return techniques;
}

void cb_recipe_covers_all(const struct cb_recipe *recipe, uint64_t covers[CB_RECIPE_MAX])
{
    uint64_t earlier[CB_RECIPE_MAX] = {0};
    bool ordered = false;
    for (size_t i = 0; i < recipe->stage_count; i++) {
        covers[i] = recipe->stages[i].on;
    }
    for (size_t area = 0; area < recipe->area_count; area++) {
        if (!recipe->areas[area].apart) {
            continue;
        }
        for (size_t i = 0; i < recipe->stage_count && !ordered; i++) {
            earlier[i] = before(recipe, i);
        }
        ordered = true;
        const uint64_t back = joins_of(recipe, area);
        const uint64_t own = own_techniques(recipe, earlier, area, back);
        for (size_t i = 0; i < recipe->stage_count; i++) {
            const struct cb_stage *row = &recipe->stages[i];
            if (row->whole && own & bit(row->technique) && !(earlier[i] & back)) {
                covers[i] &= ~bit(area);
            }
        }
    }
}

uint64_t cb_recipe_covers(const struct cb_recipe *recipe, size_t stage)
{
    uint64_t covers[CB_RECIPE_MAX];
    cb_recipe_covers_all(recipe, covers);
    return covers[stage];
}

uint64_t cb_recipe_off(const struct cb_recipe *recipe, uint64_t to_do)
{
    uint64_t off = 0;
    for (size_t area = 0; area < recipe->area_count; area++) {
        if (recipe->areas[area].apart) {
            const uint64_t mask = joins_of(recipe, area);
            off |= mask == 0 || mask & to_do ? bit(area) : 0;
        }
    }
    return off;
}

bool cb_recipe_one_piece(const struct cb_recipe *recipe, uint64_t off, size_t a, size_t b)
{
    const bool a_off = off & bit(a), b_off = off & bit(b);
    return a == b || (!a_off && !b_off) ||
           (a_off && b_off && joins_of(recipe, a) == joins_of(recipe, b));
}
