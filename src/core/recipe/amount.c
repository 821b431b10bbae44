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
#define DROPS_MOST   40   /* of a part, before the whole is multiplied (own judgement) */
#define NEAR_ENOUGH  .05  /* of its share, a part may be off then (own judgement) */
#define EXACT        1e-6
#define LEAST_ML     .03 /* of a paste: a drop */

static double disc_cm2(const struct cb_area *area)
{
    return isnan(area->disc_mm) ? 0 : 3.141592653589793 / 4 * area->disc_mm * area->disc_mm / 100;
}

/* Of the stage on one figure: its shares of the figure's own area, and its discs. */
static double area_cm2(const struct cb_recipe *recipe, size_t index)
{
    const struct cb_stage *stage = &recipe->stages[index];
    const uint64_t covers = cb_recipe_covers(recipe, index);
    const double height = recipe->height_mm / FIGURE_MM;
    const bool whole = stage->whole || recipe->area_count == 0;
    double pct = whole ? 100 : 0, discs = 0;
    for (size_t i = 0; i < recipe->area_count; i++) {
        if (covers >> i & 1) {
            pct += whole ? 0 : recipe->areas[i].share_pct;
            discs += disc_cm2(&recipe->areas[i]);
        } else {
            pct -= whole ? recipe->areas[i].share_pct : 0;
        }
    }
    return FIGURE_CM2 * height * height * fmin(fmax(pct, 0) / 100, 1) + discs;
}

/* Never short, and never nothing; a hair over a whole drop is arithmetic, not paint. */
static double whole_drops(double drops)
{
    return fmax(1, ceil(drops - 1e-9));
}

struct ratio {
    size_t count;
    double parts[CB_MIX_PARTS_MAX]; /* as written */
    bool retards[CB_MIX_PARTS_MAX];
    double drops[CB_MIX_PARTS_MAX]; /* whole */
};

static double largest(const struct ratio *ratio)
{
    double most = 0;
    for (size_t i = 0; i < ratio->count; i++) {
        most = fmax(most, ratio->parts[i]);
    }
    return most;
}

/* With so many drops of the largest part; how far the share of the one that is furthest off lies
 * from what was written, INFINITY where it can't be. A mix that leaves a retarder out, of which
 * there is no whole drop, is further off than all that have it. */
static double try_drops(const struct ratio *ratio, double most, double drops[CB_MIX_PARTS_MAX])
{
    double sum = 0, written = 0, worst = 0;
    bool without = false;
    for (size_t i = 0; i < ratio->count; i++) {
        const double exact = most * ratio->parts[i] / largest(ratio);
        drops[i] = ratio->retards[i] ? floor(exact + 1e-6) : round(exact);
        if (drops[i] < 1 && !ratio->retards[i]) {
            return (double)INFINITY;
        }
        sum += drops[i];
        written += ratio->parts[i];
    }
    for (size_t i = 0; i < ratio->count; i++) {
        const double off = drops[i] / sum / (ratio->parts[i] / written) - 1;
        if (ratio->retards[i] && off > 1e-9) {
            return (double)INFINITY;
        }
        without = without || drops[i] < 1;
        worst = drops[i] >= 1 ? fmax(worst, fabs(off)) : worst;
    }
    return without ? 1 + worst : worst;
}

/* What the others were rounded down by must not raise a retarder's share. */
static void hold_back(struct ratio *ratio)
{
    double drops = 0, written = 0;
    for (size_t i = 0; i < ratio->count; i++) {
        drops += ratio->drops[i];
        written += ratio->parts[i];
    }
    for (size_t i = 0; i < ratio->count; i++) {
        if (ratio->retards[i]) {
            const double others = drops - ratio->drops[i];
            const double most = others * ratio->parts[i] / (written - ratio->parts[i]);
            ratio->drops[i] = fmin(ratio->drops[i], floor(most + 1e-9));
        }
    }
}

/* False: only nearly. */
static bool find_drops(struct ratio *ratio)
{
    double nearest = (double)INFINITY;
    bool close = false;
    for (int most = 1; most <= DROPS_MOST; most++) {
        double drops[CB_MIX_PARTS_MAX];
        const double off = try_drops(ratio, most, drops);
        if (off < EXACT) {
            memcpy(ratio->drops, drops, sizeof drops);
            return true;
        }
        if (!close && off < nearest) { /* the fewest drops that are close enough */
            nearest = off;
            close = off <= NEAR_ENOUGH;
            memcpy(ratio->drops, drops, sizeof drops);
        }
    }
    if (isinf(nearest)) { /* a part so small that a drop of it wants more than forty of another */
        for (size_t i = 0; i < ratio->count; i++) {
            const double exact = DROPS_MOST * ratio->parts[i] / largest(ratio);
            ratio->drops[i] = ratio->retards[i] ? floor(exact) : fmax(1, round(exact));
        }
        hold_back(ratio);
    }
    return false;
}

/* What is mixed, part by part: as the recipe says, else as is usual for the technique. */
static struct ratio ratio_of(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                             size_t stage)
{
    const struct cb_stage *s = &recipe->stages[stage];
    struct ratio ratio = {0};
    if (s->mix_said) {
        for (size_t i = 0; i < s->mix.count; i++) {
            ratio.retards[ratio.count] = s->mix.parts[i].what == CB_MIX_RETARDER;
            ratio.parts[ratio.count++] = s->mix.parts[i].parts;
        }
        return ratio;
    }
    const struct cb_parts usual = cb_drying_parts_of_stage(kinds, recipe, stage);
    const double parts[] = {usual.paint, usual.medium, usual.retarder, usual.water};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (parts[i] > 0) {
            ratio.retards[ratio.count] = i == 2;
            ratio.parts[ratio.count++] = parts[i];
        }
    }
    return ratio;
}

static void add_total(struct cb_parts *totals, enum cb_mix_what what, double drops)
{
    switch (what) {
    case CB_MIX_PAINT:
        totals->paint += drops;
        break;
    case CB_MIX_MEDIUM:
        totals->medium += drops;
        break;
    case CB_MIX_RETARDER:
        totals->retarder += drops;
        break;
    case CB_MIX_WATER:
        totals->water += drops;
        break;
    }
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
    /* 1 cm2 under 1 um is 1e-4 ml. */
    out.ml =
        area_cm2(recipe, stage) * film_um * 1e-4 * kinds->techniques[s->technique].waste * figures;
    out.drops_per_ml = !isnan(paint->drops_per_ml) ? paint->drops_per_ml
                       : !isnan(drops_per_ml)      ? drops_per_ml
                                                   : DROPS_PER_ML;
    out.drops_needed = out.ml * out.drops_per_ml;
    struct ratio ratio = ratio_of(kinds, recipe, stage);
    out.nearest = !find_drops(&ratio);
    double sum = 0;
    for (size_t i = 0; i < ratio.count; i++) {
        sum += ratio.drops[i];
    }
    const double times = whole_drops(out.drops_needed / sum);
    out.poured_ml = s->by == CB_BY_CAN                      ? 0
                    : cb_amount_in_ml(kinds, recipe, stage) ? fmax(out.ml, LEAST_ML * sum)
                                                            : times * sum / out.drops_per_ml;
    static const enum cb_mix_what usual[] = {CB_MIX_PAINT, CB_MIX_MEDIUM, CB_MIX_RETARDER,
                                             CB_MIX_WATER};
    const struct cb_parts parts = cb_drying_parts_of_stage(kinds, recipe, stage);
    const double there[] = {parts.paint, parts.medium, parts.retarder, parts.water};
    for (size_t i = 0, at = 0; i < (s->mix_said ? ratio.count : sizeof usual / sizeof *usual);
         i++) {
        if (s->mix_said) {
            out.drops[i] = times * ratio.drops[i];
            add_total(&out.totals, s->mix.parts[i].what, out.drops[i]);
        } else if (there[i] > 0) {
            add_total(&out.totals, usual[i], times * ratio.drops[at++]);
        }
    }
    for (size_t i = 0; !s->mix_said && i < s->mix.count; i++) {
        out.drops[i] = s->mix.parts[i].what == CB_MIX_PAINT ? out.totals.paint : 0;
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
        cb_str_addf(&line->text, drops >= 1 ? "%s%.1f %sof %s" : "%s%.2f %sof %s",
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
    double unit = line.ml ? amount.poured_ml / whole : 1;
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
    const char *text = cb_arena_printf(
        arena, "%s for %s %s%s", cb_str_text(&line.text), cb_amount_count(figures, arena),
        figures == 1 ? "figure" : "figures", amount.nearest ? ", as near as drops go" : "");
    cb_str_fini(&line.text);
    return text;
}

/* ", 8 of water"; the measure stands with the first. */
static void add_left(struct cb_str *out, double amount, bool ml, const char *what)
{
    if (amount <= 0) {
        return;
    }
    const bool first = out->length == 0;
    cb_str_add(out, first ? "" : ", ");
    cb_str_addf(out, ml && amount < 1 ? "%.2f" : ml ? "%.1f" : "%.0f", amount);
    cb_str_addf(out, "%s of %s", !first ? "" : ml ? " ml" : amount > 1 ? " drops" : " drop", what);
}

const char *cb_amount_left(const struct cb_kinds *kinds, const struct cb_recipe *recipe,
                           size_t stage, int figures, int coats, double drops_per_ml,
                           struct cb_arena *arena)
{
    const struct cb_stage *s = &recipe->stages[stage];
    if (cb_mix_paint(&s->mix) < 0 || s->by == CB_BY_CAN || figures <= 0 || coats <= 0) {
        return NULL;
    }
    const struct cb_amount amount = cb_amount_of(kinds, recipe, stage, coats, drops_per_ml);
    const struct cb_parts *t = &amount.totals;
    const bool ml = cb_amount_in_ml(kinds, recipe, stage);
    const double unit = ml ? amount.poured_ml / (t->paint + t->medium + t->retarder + t->water) : 1;
    struct cb_str out = {0};
    for (size_t i = 0; i < s->mix.count; i++) {
        const struct cb_mix_part *part = &s->mix.parts[i];
        if (part->what == CB_MIX_PAINT) {
            add_left(&out, amount.drops[i] * unit, ml, recipe->paints[part->paint].name);
        }
    }
    add_left(&out, t->medium * unit, ml, "medium");
    add_left(&out, t->retarder * unit, ml, "retarder");
    add_left(&out, t->water * unit, ml, "water");
    const char *all = coats > figures ? cb_arena_printf(arena, ", %d coats", coats) : "";
    const char *text = cb_arena_printf(arena, "still to mix for %d figure%s%s: %s%s", figures,
                                       figures == 1 ? "" : "s", all, cb_str_text(&out),
                                       amount.nearest ? ", as near as drops go" : "");
    cb_str_fini(&out);
    return text;
}
