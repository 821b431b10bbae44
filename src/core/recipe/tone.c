/* SPDX-License-Identifier: MIT */
#include "core/recipe/tone.h"

#include <math.h>

enum cb_tone cb_tone_of_stage(const struct cb_recipe *recipe, size_t stage)
{
    const struct cb_mix *mix = &recipe->stages[stage].mix;
    double sum = 0, parts = 0;
    for (size_t i = 0; i < mix->count; i++) {
        if (mix->parts[i].what != CB_MIX_PAINT) {
            continue;
        }
        const enum cb_tone tone = recipe->paints[mix->parts[i].paint].tone;
        if (tone == CB_TONE_NONE) {
            return CB_TONE_NONE;
        }
        sum += mix->parts[i].parts * (double)tone;
        parts += mix->parts[i].parts;
    }
    return parts > 0 ? (enum cb_tone)(int)ceil(sum / parts - .5) : CB_TONE_NONE;
}

bool cb_tone_hides(enum cb_technique technique)
{
    return technique == CB_TECHNIQUE_BASECOAT || technique == CB_TECHNIQUE_LAYER;
}

static bool is_ground(enum cb_technique technique)
{
    return cb_tone_hides(technique) || technique == CB_TECHNIQUE_UNDERCOAT ||
           technique == CB_TECHNIQUE_TEXTURE;
}

enum cb_tone cb_tone_under(const struct cb_recipe *recipe, const uint64_t covers[CB_RECIPE_MAX],
                           size_t stage, int figure, uint64_t left_out)
{
    const bool whole = recipe->stages[stage].whole;
    uint64_t bare = covers[stage]; /* areas whose ground has not been found */
    enum cb_tone darkest = CB_TONE_NONE;
    for (size_t i = stage; i-- > 0;) {
        const struct cb_stage *below = &recipe->stages[i];
        if (!is_ground(below->technique) || left_out >> i & 1 ||
            !cb_recipe_applies(recipe, i, figure) ||
            !cb_areas_meet(below->whole, covers[i], whole, bare)) {
            continue;
        }
        const enum cb_tone tone = cb_tone_of_stage(recipe, i);
        if (tone != CB_TONE_NONE && (darkest == CB_TONE_NONE || tone < darkest)) {
            darkest = tone;
        }
        bare &= ~covers[i];
        if (bare == 0) {
            break;
        }
    }
    return darkest;
}

int cb_tone_coats(enum cb_tone over, enum cb_tone under)
{
    return over == CB_TONE_NONE || under == CB_TONE_NONE || over <= under
               ? 1
               : 1 + (int)over - (int)under;
}
