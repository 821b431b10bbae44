/* SPDX-License-Identifier: MIT */
#include "core/review/advice.h"

#include <math.h>
#include <string.h>

#include "base/vec.h"
#include "core/recipe/drying_stage.h"
#include "core/recipe/gate.h"

#define TOLD_LEAST 5 /* answers before a log is heard on a dry time: own judgement, as `label` */
#define EVER       .01 /* of films that a model gives: what it would hardly ever give; own judgement */

struct advising {
    const struct cb_recipe *recipe;
    const struct cb_advice_known *known;
    struct cb_arena *arena;
    uint64_t covers[CB_RECIPE_MAX];
};

static const struct cb_stage *stage_of(const struct advising *on, size_t stage)
{
    return &on->recipe->stages[stage];
}

static uint64_t bit(size_t index)
{
    return UINT64_C(1) << index;
}

static int figures_of(const struct cb_recipe *recipe)
{
    return recipe->figures > 0 ? recipe->figures : CB_FIGURES_MAX;
}

/* Is there a figure that has both stages? */
static bool share_figure(const struct cb_recipe *recipe, size_t a, size_t b)
{
    for (int figure = 1; figure <= figures_of(recipe); figure++) {
        if (cb_recipe_applies(recipe, a, figure) && cb_recipe_applies(recipe, b, figure)) {
            return true;
        }
    }
    return false;
}

static const struct cb_paint *paint_of(const struct advising *on, size_t stage)
{
    const int paint = cb_mix_paint(&stage_of(on, stage)->mix);
    return paint >= 0 ? &on->recipe->paints[paint] : NULL;
}

static const char *kind_of(const struct advising *on, size_t stage)
{
    const struct cb_paint *paint = paint_of(on, stage);
    return paint != NULL ? on->known->kinds->kinds[paint->kind].name : "";
}

/* Its pot by the joins in force; NULL: no paint. */
static const char *pot_of(const struct advising *on, size_t stage)
{
    const struct cb_paint *paint = paint_of(on, stage);
    if (paint == NULL) {
        return NULL;
    }
    const char *pot = cb_pot_key(paint->name, kind_of(on, stage), on->arena);
    return on->known->bench != NULL ? cb_bench_joined(on->known->bench, pot, on->arena) : pot;
}

/* The darkest that lies under it on any of its figures. */
static enum cb_tone under_of(const struct advising *on, size_t stage)
{
    enum cb_tone darkest = CB_TONE_NONE;
    for (int figure = 1; figure <= figures_of(on->recipe); figure++) {
        if (cb_recipe_applies(on->recipe, stage, figure)) {
            const enum cb_tone tone = cb_tone_under(on->recipe, on->covers, stage, figure, 0);
            darkest = tone != CB_TONE_NONE && (darkest == CB_TONE_NONE || tone < darkest) ? tone
                                                                                          : darkest;
        }
    }
    return darkest;
}

/* What the log says of its coats. */
static struct cb_cover cover_of(const struct advising *on, size_t stage)
{
    const char *pot = pot_of(on, stage);
    if (pot == NULL || cb_mix_is_blend(&stage_of(on, stage)->mix)) {
        pot = ""; /* of which nothing is known */
    }
    return cb_coverage_find(on->known->covers, on->known->cover_count, pot,
                            stage_of(on, stage)->technique, under_of(on, stage));
}

static bool few_coats(const struct advising *on, size_t stage, struct cb_advice *out)
{
    const struct cb_stage *row = stage_of(on, stage);
    const enum cb_tone over = cb_tone_of_stage(on->recipe, stage), under = under_of(on, stage);
    const int coats = cb_tone_coats(over, under);
    if (row->technique != CB_TECHNIQUE_BASECOAT || row->coats >= coats) {
        return false;
    }
    const struct cb_cover cover = cover_of(on, stage);
    if (cb_coverage_enough(&cover, row->coats) ||
        cb_coverage_usual(&cover, row->coats) != row->coats) {
        return false; /* the log knows better */
    }
    out->text = cb_arena_printf(on->arena, "%s over %s in %d coat%s: what is under it may show",
                                cb_tone_name(over), cb_tone_name(under), row->coats,
                                row->coats == 1 ? "" : "s");
    out->act = cb_arena_printf(on->arena, "say `coats: %d`", coats);
    return true;
}

static bool log_coats(const struct advising *on, size_t stage, struct cb_advice *out)
{
    const struct cb_stage *row = stage_of(on, stage);
    if (!cb_tone_hides(row->technique)) {
        return false;
    }
    const struct cb_cover cover = cover_of(on, stage);
    const int usual = cb_coverage_usual(&cover, row->coats);
    if (usual == row->coats) {
        return false;
    }
    out->text =
        cb_arena_printf(on->arena, "your log has %s", cb_coverage_text(&cover, false, on->arena));
    out->act = cb_arena_printf(on->arena, "say `coats: %d`", usual);
    return true;
}

static bool is_wash(enum cb_technique technique)
{
    return technique == CB_TECHNIQUE_WASH || technique == CB_TECHNIQUE_RECESS_SHADE;
}

/* A basecoat that goes over it later: all that it shades was not on. */
static bool early_wash(const struct advising *on, size_t stage, struct cb_advice *out)
{
    const struct cb_stage *row = stage_of(on, stage);
    const uint64_t later = ~(bit(stage) - 1);
    const uint64_t off = row->whole ? cb_recipe_off(on->recipe, later) : 0;
    const char *last = NULL;
    for (size_t i = stage + 1; is_wash(row->technique) && i < on->recipe->stage_count; i++) {
        const struct cb_stage *over = stage_of(on, i);
        if (over->technique == CB_TECHNIQUE_BASECOAT &&
            cb_areas_meet(row->whole, on->covers[stage] & ~off, over->whole, on->covers[i]) &&
            share_figure(on->recipe, stage, i)) {
            last = over->name;
        }
    }
    if (last == NULL) {
        return false;
    }
    out->text = cb_arena_printf(on->arena, "%s goes over it later and hides what it shades", last);
    out->act = cb_arena_printf(on->arena, "put it after %s", last);
    return true;
}

static bool bare_transfer(const struct advising *on, size_t stage, struct cb_advice *out)
{
    const struct cb_stage *row = stage_of(on, stage);
    if (row->technique != CB_TECHNIQUE_TRANSFER) {
        return false;
    }
    for (size_t i = 0; i < stage; i++) {
        const struct cb_stage *under = stage_of(on, i);
        if (under->technique == CB_TECHNIQUE_VARNISH && share_figure(on->recipe, stage, i) &&
            cb_areas_meet(row->whole, on->covers[stage], under->whole, on->covers[i])) {
            return false;
        }
    }
    out->text = "no varnish under it: on matt paint the film shows";
    out->act = "put a gloss varnish before it";
    return true;
}

/* The recipe's own `dry`, standard minutes; NAN: it says none. */
static double dry_of(const struct advising *on, size_t stage)
{
    const struct cb_drying drying = cb_drying_of_stage(on->known->kinds, on->recipe, stage);
    return drying.from == CB_TIME_DRY ? drying.standard_min : (double)NAN;
}

/* What the log says of the paint under the technique; NULL: not enough. */
static const struct cb_pot_line *told_of(const struct advising *on, size_t stage)
{
    const char *pot = pot_of(on, stage);
    for (size_t i = 0; pot != NULL && i < on->known->line_count; i++) {
        const struct cb_pot_line *line = &on->known->lines[i];
        if (line->technique == stage_of(on, stage)->technique && !line->exact &&
            line->told >= TOLD_LEAST && strcmp(line->pot, pot) == 0) {
            return line;
        }
    }
    return NULL;
}

/* As a recipe would say it: no more digits than a watch gives. */
static const char *minutes(const struct advising *on, double min)
{
    return cb_arena_printf(on->arena, min < 9.95 ? "%.1f" : "%.0f", min);
}

static bool short_dry(const struct advising *on, size_t stage, struct cb_advice *out)
{
    const double dry_min = dry_of(on, stage);
    if (isnan(dry_min) || told_of(on, stage) != NULL) {
        return false;
    }
    struct cb_stage *stages = cb_arena_alloc(on->arena, on->recipe->stage_count, sizeof *stages);
    struct cb_paint *paints = cb_arena_alloc(on->arena, on->recipe->paint_count, sizeof *paints);
    memcpy(stages, on->recipe->stages, on->recipe->stage_count * sizeof *stages);
    memcpy(paints, on->recipe->paints, on->recipe->paint_count * sizeof *paints);
    stages[stage].dry_min = NAN;
    paints[cb_mix_paint(&stages[stage].mix)].dry_min = NAN;
    struct cb_recipe silent = *on->recipe;
    silent.stages = stages;
    silent.paints = paints;
    const struct cb_drying model = cb_drying_of_stage(on->known->kinds, &silent, stage);
    if (!(dry_min < cb_drying_prior_quantile(&model, EVER))) {
        return false;
    }
    out->text =
        cb_arena_printf(on->arena,
                        "`dry: %.3g` is shorter than such a film would ever take; as a rule "
                        "it is %s min",
                        dry_min, minutes(on, model.standard_min));
    out->act = "leave `dry` out until you have timed it";
    return true;
}

static bool log_dry(const struct advising *on, size_t stage, struct cb_advice *out)
{
    const double dry_min = dry_of(on, stage);
    const struct cb_pot_line *line = isnan(dry_min) ? NULL : told_of(on, stage);
    if (line == NULL || (dry_min >= line->low_min && dry_min <= line->high_min)) {
        return false;
    }
    out->text =
        cb_arena_printf(on->arena, "`dry: %.3g`, and your log has %s min as a rule, from %zu films",
                        dry_min, minutes(on, line->median_min), line->told);
    out->act = cb_arena_printf(on->arena, "say `dry: %s`", minutes(on, line->median_min));
    return true;
}

/* What our samples use; own judgement. */
static const char *brush_for(enum cb_technique technique)
{
    switch (technique) {
    case CB_TECHNIQUE_UNDERCOAT:
    case CB_TECHNIQUE_VARNISH:
        return "large flat";
    case CB_TECHNIQUE_WASH:
        return "large round";
    case CB_TECHNIQUE_RECESS_SHADE:
    case CB_TECHNIQUE_EDGE_HIGHLIGHT:
        return "fine liner";
    case CB_TECHNIQUE_DRYBRUSH:
    case CB_TECHNIQUE_TEXTURE:
        return "old flat";
    case CB_TECHNIQUE_GLAZE:
        return "small round";
    case CB_TECHNIQUE_BASECOAT:
    case CB_TECHNIQUE_LAYER:
    case CB_TECHNIQUE_TRANSFER:
    case CB_TECHNIQUE_PREPARE:
    case CB_TECHNIQUE_MASK:
    case CB_TECHNIQUE_UNMASK:
    case CB_TECHNIQUE_JOIN:
    case CB_TECHNIQUE_COUNT:
        break;
    }
    return "medium round";
}

static bool no_brush(const struct advising *on, size_t stage, struct cb_advice *out)
{
    const struct cb_stage *row = stage_of(on, stage);
    if (paint_of(on, stage) == NULL || row->by != CB_BY_BRUSH || row->brush != NULL) {
        return false;
    }
    out->text = "no brush is named for it";
    out->act =
        cb_arena_printf(on->arena, "name one, such as `brush: %s`", brush_for(row->technique));
    return true;
}

/* Does metal on the one splash on the other? A drybrush throws its flakes further than a basecoat,
 * which only runs over an edge. */
static bool splashes(const struct advising *on, size_t metal, size_t matt)
{
    const struct cb_recipe *recipe = on->recipe;
    const uint64_t off = cb_recipe_off(recipe, ~(bit(metal) - 1));
    const bool far = stage_of(on, metal)->technique == CB_TECHNIQUE_DRYBRUSH;
    for (size_t a = 0; a < recipe->area_count; a++) {
        for (size_t b = 0; b < recipe->area_count; b++) {
            const bool near = recipe->areas[a].near & bit(b) || recipe->areas[b].near & bit(a);
            if (on->covers[metal] & bit(a) && on->covers[matt] & bit(b) &&
                (recipe->areas[a].beside & bit(b) || (far && near)) &&
                cb_recipe_one_piece(recipe, off, a, b)) {
                return true;
            }
        }
    }
    return false;
}

static bool is_metallic(const struct advising *on, size_t stage)
{
    return strcmp(kind_of(on, stage), "metallic") == 0;
}

/* Is the paint of that stage at hand to tidy up with? */
static bool tidies(const struct advising *on, size_t stage, size_t with)
{
    const struct cb_mix *mix = &stage_of(on, with)->mix;
    for (size_t i = 0; i < mix->count; i++) {
        if (mix->parts[i].what == CB_MIX_PAINT &&
            stage_of(on, stage)->tidy_with & bit((size_t)mix->parts[i].paint)) {
            return true;
        }
    }
    return false;
}

static bool late_metal(const struct advising *on, size_t stage, struct cb_advice *out)
{
    const struct cb_stage *row = stage_of(on, stage);
    if (!is_metallic(on, stage) || row->whole ||
        (row->technique != CB_TECHNIQUE_DRYBRUSH && row->technique != CB_TECHNIQUE_BASECOAT)) {
        return false;
    }
    for (size_t i = 0; i < stage; i++) {
        const struct cb_stage *matt = stage_of(on, i);
        if (cb_tone_hides(matt->technique) && !is_metallic(on, i) && !matt->whole &&
            (on->covers[i] & on->covers[stage]) == 0 && share_figure(on->recipe, stage, i) &&
            splashes(on, stage, i) && !tidies(on, stage, i)) {
            out->text =
                cb_arena_printf(on->arena, "metal after %s, which it will splash", matt->name);
            out->act = cb_arena_printf(on->arena, "put it before %s", matt->name);
            return true;
        }
    }
    return false;
}

static bool no_air_to_spray(const struct advising *on, size_t stage, struct cb_advice *out)
{
    const struct cb_stage *row = stage_of(on, stage);
    const struct cb_climate *air = on->known->airs != NULL ? on->known->airs[stage] : NULL;
    if (air == NULL || paint_of(on, stage) == NULL ||
        (row->by != CB_BY_CAN && row->by != CB_BY_AIRBRUSH)) {
        return false;
    }
    struct cb_gates gates = {0};
    cb_gate_check_stage(on->known->kinds, on->recipe, stage, air, on->arena, &gates);
    if (gates.count == 0 || gates.items[0].level != CB_GATE_RED) {
        return false;
    }
    const struct cb_gate *gate = &gates.items[0];
    out->text = cb_arena_printf(
        on->arena, "%sair of %.3g C and %.3g %% is not for spraying: %.3g %s%s, the limit is %.3g",
        on->known->usual ? "your usual " : "", air->temp_c, air->rh_pct, fmax(gate->value, 0),
        gate->unit, strcmp(gate->unit, "K") == 0 ? " above the dew point" : "", gate->limit);
    out->act = strcmp(gate->id, "temperature") == 0 && gate->value > gate->limit
                   ? "name a cooler `place`, or wait for a cooler day"
                   : "name a warmer or drier `place`, or wait for a better day";
    return true;
}

static const struct {
    const char *id;
    bool (*find)(const struct advising *on, size_t stage, struct cb_advice *out);
} rows[] = {
    {"coats", few_coats},        {"log-coats", log_coats}, {"wash-early", early_wash},
    {"transfer", bare_transfer}, {"dry", short_dry},       {"log-dry", log_dry},
    {"brush", no_brush},         {"metal", late_metal},    {"spray", no_air_to_spray},
};

const struct cb_advice *cb_advice_of(const struct cb_recipe *recipe,
                                     const struct cb_advice_known *known, struct cb_arena *arena,
                                     size_t *count)
{
    struct advising on = {.recipe = recipe, .known = known, .arena = arena};
    const size_t most = recipe->stage_count * (sizeof rows / sizeof *rows);
    struct cb_advice *out = cb_arena_alloc(arena, most + 1, sizeof *out);
    cb_recipe_covers_all(recipe, on.covers);
    *count = 0;
    for (size_t stage = 0; stage < recipe->stage_count; stage++) {
        for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
            struct cb_advice *advice = &out[*count];
            *advice = (struct cb_advice){.id = rows[i].id,
                                         .stage = stage,
                                         .line = recipe->stages[stage].line,
                                         .column = recipe->stages[stage].column};
            *count += rows[i].find(&on, stage, advice);
        }
    }
    return out;
}
