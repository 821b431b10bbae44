/* SPDX-License-Identifier: MIT */
#include "core/recipe/amount.h"
#include "core/recipe/drying_stage.h"

#include <math.h>
#include <string.h>

#include "base/str.h"

#define FIGURE_CM2   15.0 /* at FIGURE_MM (estimate) */
#define FIGURE_MM    32.0
#define DROPS_PER_ML 30.0 /* until calibrated: paint's drops are smaller than water's 18 to 22 */
#define SPRAY_UM     30.0 /* solvent and oil laws have no film of their own (estimate) */

static double share_of(const struct cb_recipe *recipe, const struct cb_stage *stage)
{
    double pct = 0;
    if (stage->whole || recipe->area_count == 0) {
        return 1;
    }
    for (size_t i = 0; i < recipe->area_count; i++) {
        if (stage->on >> i & 1) {
            pct += recipe->areas[i].share_pct;
        }
    }
    return fmin(pct / 100, 1);
}

/* Never short; a hair over a whole drop is arithmetic, not paint. */
static double whole_drops(double drops)
{
    return ceil(drops - 1e-9);
}

struct cb_amount cb_amount_of(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                              size_t stage, int figures, double drops_per_ml)
{
    const struct cb_stage *s = &recipe->stages[stage];
    struct cb_amount out = {.ml = 0};
    int index = cb_mix_paint(&s->mix);
    if (index < 0 || figures <= 0) {
        return out;
    }
    const struct cb_paint *paint = &recipe->paints[index];
    double film_um = cb_drying_film_of_stage(kinds, recipe, stage);
    if (isnan(film_um)) {
        film_um = SPRAY_UM;
    }
    double height = recipe->height_mm / FIGURE_MM;
    double area_cm2 = FIGURE_CM2 * height * height * share_of(recipe, s);
    /* 1 cm2 under 1 um is 1e-4 ml. */
    out.ml = area_cm2 * film_um * 1e-4 * kinds->techniques[s->technique].waste * figures;
    double per_ml = !isnan(paint->drops_per_ml) ? paint->drops_per_ml
                    : !isnan(drops_per_ml)      ? drops_per_ml
                                                : DROPS_PER_ML;
    out.drops_needed = out.ml * per_ml;
    struct cb_parts parts = cb_drying_parts_of_stage(kinds, recipe, stage);
    double sum = parts.paint + parts.medium + parts.retarder + parts.water;
    double per_part = whole_drops(out.drops_needed / sum);
    if (!s->mix_said) {
        out.totals = (struct cb_parts){
            whole_drops(per_part * parts.paint), whole_drops(per_part * parts.medium),
            whole_drops(per_part * parts.retarder), whole_drops(per_part * parts.water)};
        for (size_t i = 0; i < s->mix.count; i++) {
            out.drops[i] = s->mix.parts[i].what == CB_MIX_PAINT ? out.totals.paint : 0;
        }
        return out;
    }
    for (size_t i = 0; i < s->mix.count; i++) {
        out.drops[i] = whole_drops(per_part * s->mix.parts[i].parts);
        switch (s->mix.parts[i].what) {
        case CB_MIX_PAINT:
            out.totals.paint += out.drops[i];
            break;
        case CB_MIX_MEDIUM:
            out.totals.medium += out.drops[i];
            break;
        case CB_MIX_RETARDER:
            out.totals.retarder += out.drops[i];
            break;
        case CB_MIX_WATER:
            out.totals.water += out.drops[i];
            break;
        }
    }
    return out;
}

const char *cb_amount_count(int count, struct cb_arena *arena)
{
    static const char *const words[] = {"no",    "one",   "two",  "three", "four",   "five",  "six",
                                        "seven", "eight", "nine", "ten",   "eleven", "twelve"};
    if (count >= 0 && count < (int)(sizeof words / sizeof *words)) {
        return words[count];
    }
    return cb_arena_printf(arena, "%d", count);
}

struct line {
    struct cb_str text;
    int count, total;
    bool ml; /* a paste does not come in drops */
};

static void add_drops(struct line *line, double drops, const char *what)
{
    if (drops <= 0) {
        return;
    }
    const char *join = line->count == 0                 ? (line->total > 1 ? "mix " : "pour out ")
                       : line->count == line->total - 1 ? " and "
                                                        : ", ";
    if (line->ml) {
        cb_str_addf(&line->text, "%s%.2g %sof %s",
                    line->count == 0 && line->total == 1 ? "take " : join, drops,
                    line->count > 0 ? "" : "ml ", what);
    } else {
        cb_str_addf(&line->text, "%s%.0f %sof %s", join, drops,
                    line->count > 0 ? ""
                    : drops > 1     ? "drops "
                                    : "drop ",
                    what);
    }
    line->count++;
}

bool cb_amount_in_ml(const struct cb_kinds *kinds, const struct cb_recipe *recipe, size_t stage)
{
    const struct cb_stage *s = &recipe->stages[stage];
    int paint = cb_mix_paint(&s->mix);
    return paint >= 0 &&
           (s->technique == CB_TECHNIQUE_TEXTURE ||
            strcmp(kinds->kinds[recipe->paints[paint].kind].name, "texture paste") == 0);
}

const char *cb_amount_line(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                           size_t stage, int figures, double drops_per_ml, struct cb_arena *arena)
{
    const struct cb_stage *s = &recipe->stages[stage];
    if (cb_mix_paint(&s->mix) < 0 || s->by == CB_BY_CAN || figures <= 0) {
        return NULL;
    }
    struct cb_amount amount = cb_amount_of(kinds, recipe, stage, figures, drops_per_ml);
    int paints = 0;
    for (size_t i = 0; i < s->mix.count; i++) {
        paints += s->mix.parts[i].what == CB_MIX_PAINT;
    }
    const struct cb_parts *t = &amount.totals;
    struct line line = {.total = paints + (t->medium > 0) + (t->retarder > 0) + (t->water > 0),
                        .ml = cb_amount_in_ml(kinds, recipe, stage)};
    double whole = t->paint + t->medium + t->retarder + t->water;
    double unit = line.ml && whole > 0 ? amount.ml / whole : 1;
    for (size_t i = 0; i < s->mix.count; i++) {
        const struct cb_mix_part *part = &s->mix.parts[i];
        if (part->what == CB_MIX_PAINT) {
            add_drops(&line, amount.drops[i] * unit,
                      paints > 1 ? recipe->paints[part->paint].name
                      : line.ml  ? "paste"
                                 : "paint");
        }
    }
    add_drops(&line, t->medium * unit, "medium");
    add_drops(&line, t->retarder * unit, "retarder");
    add_drops(&line, t->water * unit, "water");
    const char *text =
        cb_arena_printf(arena, "%s for %s %s", cb_str_text(&line.text),
                        cb_amount_count(figures, arena), figures == 1 ? "figure" : "figures");
    cb_str_fini(&line.text);
    return text;
}
