/* SPDX-License-Identifier: MIT */
#include "core/recipe/recipe.h"

#include <math.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"

const char *cb_tone_name(enum cb_tone tone)
{
    static const char *const names[] = {"", "dark", "mid", "light"};
    return names[tone];
}

enum cb_tone cb_tone_named(const char *name)
{
    enum cb_tone tone = CB_TONE_LIGHT;
    while (tone > CB_TONE_NONE && strcmp(name, cb_tone_name(tone)) != 0) {
        tone--;
    }
    return tone;
}

bool cb_recipe_uses(const struct cb_recipe *recipe, size_t paint)
{
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const struct cb_stage *stage = &recipe->stages[i];
        for (size_t p = 0; p < stage->mix.count; p++) {
            const struct cb_mix_part *part = &stage->mix.parts[p];
            if (part->what == CB_MIX_PAINT && part->paint == (int)paint) {
                return true;
            }
        }
        if (stage->tidy_with >> paint & 1) {
            return true;
        }
    }
    return false;
}

void cb_recipe_doubts(const struct cb_recipe *recipe, struct cb_arena *arena,
                      struct cb_issues *doubts)
{
    for (size_t i = 0; i < recipe->paint_count; i++) {
        const struct cb_paint *paint = &recipe->paints[i];
        if (!cb_recipe_uses(recipe, i)) {
            cb_issues_add(doubts, arena, paint->line, paint->column,
                          "paint %s: no stage uses it; leave it out, or name it in a stage",
                          paint->key);
        }
    }
    for (size_t i = 0; i < recipe->area_count; i++) {
        if (cb_recipe_off(recipe, 0) >> i & 1) {
            cb_issues_add(doubts, arena, recipe->areas[i].line, recipe->areas[i].column,
                          "area %s: apart, and no stage joins it; add one, `technique: join`",
                          recipe->areas[i].name);
        }
    }
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const struct cb_stage *stage = &recipe->stages[i];
        if (stage->by == CB_BY_CAN && stage->mix.count > 0 && stage->together == 0 &&
            recipe->figures != 1) {
            cb_issues_add(doubts, arena, stage->line, stage->column,
                          "stage %s: a can, one figure at a time; `together: yes` sprays all in "
                          "one go",
                          stage->name);
        }
    }
}

bool cb_recipe_applies(const struct cb_recipe *recipe, size_t stage, int figure)
{
    uint64_t groups = recipe->stages[stage].groups;
    if (groups == 0) {
        return true;
    }
    for (size_t i = 0; i < recipe->group_count; i++) {
        if (groups >> i & 1 &&
            recipe->groups[i].figures[(figure - 1) / 64] >> ((figure - 1) % 64) & 1) {
            return true;
        }
    }
    return false;
}

uint64_t cb_recipe_waits_for(const struct cb_recipe *recipe, size_t stage)
{
    const struct cb_stage *self = &recipe->stages[stage];
    uint64_t mask = 0, covers[CB_RECIPE_MAX];
    if (self->has_after) {
        return self->after;
    }
    cb_recipe_covers_all(recipe, covers);
    for (size_t i = 0; i < stage; i++) {
        const bool meet =
            cb_areas_meet(recipe->stages[i].whole, covers[i], self->whole, covers[stage]);
        mask |= meet ? UINT64_C(1) << i : 0;
    }
    return mask;
}

bool cb_recipe_touch(const struct cb_recipe *recipe, size_t a, size_t b)
{
    uint64_t beside = 0;
    for (size_t i = 0; i < recipe->area_count; i++) {
        if (recipe->stages[a].on >> i & 1) {
            beside |= recipe->areas[i].beside;
        }
    }
    return (beside & recipe->stages[b].on) != 0;
}

double cb_stage_minutes(const struct cb_stage *stage, const struct cb_kinds *kinds)
{
    return isnan(stage->work_min) ? kinds->techniques[stage->technique].minutes : stage->work_min;
}

int cb_recipe_stage(const struct cb_recipe *recipe, const char *name)
{
    for (size_t i = 0; i < recipe->stage_count; i++) {
        if (strcmp(recipe->stages[i].name, name) == 0) {
            return (int)i;
        }
    }
    return -1;
}

static const struct {
    const char *word;
    double minutes;
} time_units[] = {
    {"s", 1.0 / 60}, {"sec", 1.0 / 60}, {"seconds", 1.0 / 60}, {"min", 1},   {"m", 1},
    {"minutes", 1},  {"h", 60},         {"hours", 60},         {"hour", 60}, {"minute", 1},
};

static bool unit_minutes(const char *word, size_t length, double *minutes)
{
    for (size_t i = 0; i < sizeof time_units / sizeof time_units[0]; i++) {
        if (strlen(time_units[i].word) == length && memcmp(time_units[i].word, word, length) == 0) {
            *minutes = time_units[i].minutes;
            return true;
        }
    }
    return false;
}

bool cb_recipe_minutes(const char *text, double *minutes)
{
    double sum = 0, smallest = INFINITY;
    text += strspn(text, " ");
    if (*text == '\0') {
        return false;
    }
    for (int parts = 0; *text != '\0'; parts++) {
        char digits[24];
        double value = 0, unit = 0;
        size_t length = strspn(text, "0123456789.");
        if (length == 0 || length >= sizeof digits) {
            return false;
        }
        memcpy(digits, text, length);
        digits[length] = '\0';
        if (!cb_str_number(digits, &value)) {
            return false;
        }
        text += length;
        text += strspn(text, " ");
        if (*text == '\0' && parts == 0) {
            *minutes = value; /* bare: minutes */
            return true;
        }
        length = strspn(text, "abcdefghijklmnopqrstuvwxyz");
        /* Each part smaller than the one before: 2h30m, never 30m2h. */
        if (!unit_minutes(text, length, &unit) || !(unit < smallest)) {
            return false;
        }
        smallest = unit;
        sum += value * unit;
        text += length;
        text += strspn(text, " ");
    }
    *minutes = sum;
    return true;
}

char *cb_pot_key(const char *paint_name, const char *kind_name, struct cb_arena *arena)
{
    /* A line feed can't stand in a folded name, so that no two pairs share a key. */
    return cb_arena_printf(arena, "%s\n%s", cb_utf8_fold(arena, paint_name), kind_name);
}
