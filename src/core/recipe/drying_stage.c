/* SPDX-License-Identifier: MIT */
#include "core/recipe/drying_stage.h"

#include <math.h>

#define TRANSFER_MIN 20.0 /* own judgement */

static struct cb_parts parts_said(const struct cb_mix *mix)
{
    return (struct cb_parts){cb_mix_sum(mix, CB_MIX_PAINT), cb_mix_sum(mix, CB_MIX_MEDIUM),
                             cb_mix_sum(mix, CB_MIX_RETARDER), cb_mix_sum(mix, CB_MIX_WATER)};
}

struct cb_parts cb_drying_parts_of_stage(const struct cb_kinds *kinds,
                                         const struct cb_recipe *recipe, size_t stage)
{
    const struct cb_stage *s = &recipe->stages[stage];
    int paint = cb_mix_paint(&s->mix);
    if (s->mix_said || paint < 0) {
        return parts_said(&s->mix);
    }
    return cb_drying_usual(kinds, recipe->paints[paint].kind, s->technique, s->by).parts;
}

double cb_drying_film_of_stage(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                               size_t stage)
{
    const struct cb_stage *s = &recipe->stages[stage];
    int paint = cb_mix_paint(&s->mix);
    if (paint < 0) {
        return NAN;
    }
    const struct cb_paint *p = &recipe->paints[paint];
    return isnan(p->film_um) ? cb_drying_usual(kinds, p->kind, s->technique, s->by).film_um
                             : p->film_um;
}

/* Neat solids of the paints of a blend, by their parts; under this technique. */
static double blend_solids(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                           const struct cb_stage *stage)
{
    double solid = 0;
    double parts = 0;
    for (size_t i = 0; i < stage->mix.count; i++) {
        const struct cb_mix_part *part = &stage->mix.parts[i];
        if (part->what != CB_MIX_PAINT) {
            continue;
        }
        const struct cb_paint *paint = &recipe->paints[part->paint];
        double own = paint->solids;
        if (isnan(own)) {
            own = cb_drying_usual(kinds, paint->kind, stage->technique, stage->by).solids;
        }
        if (!isnan(own)) {
            solid += part->parts * own;
            parts += part->parts;
        }
    }
    return solid / parts;
}

struct cb_drying cb_drying_of_stage(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                                    size_t stage)
{
    const struct cb_stage *s = &recipe->stages[stage];
    int index = cb_mix_paint(&s->mix);
    const struct cb_paint *paint = index >= 0 ? &recipe->paints[index] : NULL;
    struct cb_drying out = {.law = CB_LAW_WATER,
                            .from = CB_TIME_ZERO,
                            .min_film_c = NAN,
                            .pot_sd = 0.30,
                            .label_min = NAN};
    if (paint != NULL) {
        const struct cb_parts parts = cb_drying_parts_of_stage(kinds, recipe, stage);
        out = cb_drying_of(kinds, paint->kind, s->technique, s->by, &parts, paint->film_um,
                           blend_solids(kinds, recipe, s));
        out.label_min = paint->label_min;
    }
    double dry = !isnan(s->dry_min) ? s->dry_min : paint != NULL ? paint->dry_min : (double)NAN;
    if (!isnan(s->wait_min) || (isnan(dry) && s->technique == CB_TECHNIQUE_TRANSFER)) {
        out.from = CB_TIME_WAIT;
        out.standard_min = !isnan(s->wait_min) ? s->wait_min : TRANSFER_MIN;
        out.label_min = NAN;
    } else if (!isnan(dry)) {
        cb_drying_say(&out, dry);
    } else if (paint == NULL) {
        out.from = CB_TIME_ZERO;
        out.standard_min = 0;
    }
    return out;
}

static void add_part(struct cb_mix *mix, enum cb_mix_what what, double parts)
{
    if (parts > 0) {
        mix->parts[mix->count++] = (struct cb_mix_part){.what = what, .paint = -1, .parts = parts};
    }
}

void cb_recipe_without_medium(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                              struct cb_stage *stages)
{
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const struct cb_parts parts = cb_drying_parts_of_stage(kinds, recipe, i);
        struct cb_stage stage = recipe->stages[i];
        struct cb_mix *mix = &stage.mix;
        if (parts.medium > 0) {
            const struct cb_mix said = *mix;
            mix->count = 0;
            for (size_t p = 0; p < said.count; p++) {
                if (said.parts[p].what == CB_MIX_PAINT) {
                    mix->parts[mix->count++] = said.parts[p];
                }
            }
            if (!stage.mix_said) {
                mix->parts[0].parts = parts.paint;
            }
            add_part(mix, CB_MIX_RETARDER, parts.retarder);
            add_part(mix, CB_MIX_WATER, parts.water + parts.medium);
            stage.mix_said = true;
        }
        stages[i] = stage;
    }
}
