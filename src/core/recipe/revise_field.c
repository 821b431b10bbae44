/* SPDX-License-Identifier: MIT */
/* What the fields of the form of a stage hold, and what the arrows put there. */
#include "core/recipe/revise_internal.h"

#include <math.h>

#include "base/str.h"

const char *cb_revise_figures_text(const uint64_t figures[2], struct cb_arena *arena)
{
    int numbers[CB_FIGURES_MAX];
    size_t count = 0;
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        if (cb_revise_has(figures, figure)) {
            numbers[count++] = figure;
        }
    }
    struct cb_str out = {0};
    cb_str_add_numbers(&out, numbers, count);
    const char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

/* Stages to come that the paint of the one in hand is also for. */
static bool shares_paint(const struct cb_revise *revise)
{
    const struct cb_recipe *recipe = revise->recipe;
    const int paint = cb_mix_paint(&recipe->stages[revise->stage].mix);
    for (size_t i = 0; paint >= 0 && i < recipe->stage_count; i++) {
        if (i != revise->stage && revise->to_do >> i & 1 &&
            cb_revise_is_used(&recipe->stages[i], paint)) {
            return true;
        }
    }
    return false;
}

static const char *areas_text(const struct cb_recipe *recipe, const struct cb_stage *stage,
                              struct cb_arena *arena)
{
    struct cb_str out = {0};
    for (size_t i = 0; !stage->whole && i < recipe->area_count; i++) {
        if (stage->on >> i & 1) {
            cb_str_addf(&out, "%s%s", out.length ? ", " : "", recipe->areas[i].name);
        }
    }
    const char *text = cb_arena_text(arena, out.length ? cb_str_text(&out) : "all over");
    cb_str_fini(&out);
    return text;
}

const char *cb_revise_other_stage(const struct cb_revise *revise, size_t place)
{
    const size_t at = place + (place >= revise->stage);
    return at < revise->recipe->stage_count ? revise->recipe->stages[at].name : NULL;
}

static const char *order_text(const struct cb_revise *revise, size_t place, struct cb_arena *arena)
{
    return place == 0
               ? "first"
               : cb_arena_printf(arena, "after %s", cb_revise_other_stage(revise, place - 1));
}

/* To a tenth; what is below a minute in seconds. */
static const char *minutes_text(double minutes, struct cb_arena *arena)
{
    return isnan(minutes) ? ""
           : minutes < 1  ? cb_arena_printf(arena, "%.2g s", minutes * 60)
                          : cb_arena_printf(arena, "%.15g", round(minutes * 10) / 10);
}

void cb_revise_begin(const struct cb_revise *revise, const char *texts[CB_REVISE_FIELDS],
                     struct cb_arena *arena)
{
    const struct cb_recipe *recipe = revise->recipe;
    const struct cb_stage *stage = &recipe->stages[revise->stage];
    const int paint = cb_mix_paint(&stage->mix);
    for (int i = 0; i < CB_REVISE_FIELDS; i++) {
        texts[i] = NULL;
    }
    if (cb_technique_may_have_paint(stage->technique)) {
        size_t kind = 0;
        (void)cb_kinds_find(revise->kinds, "acrylic", &kind); /* else the first there is */
        kind = paint < 0 ? kind : recipe->paints[paint].kind;
        texts[CB_REVISE_PAINT] = paint < 0 ? "" : recipe->paints[paint].name;
        texts[CB_REVISE_KIND] = revise->kinds->kinds[kind].name;
        texts[CB_REVISE_WITH] = shares_paint(revise) ? "this one" : NULL;
        texts[CB_REVISE_MIX] = cb_revise_mix_text(recipe, stage, arena);
    }
    texts[CB_REVISE_COATS] = cb_arena_printf(arena, "%d", stage->coats);
    texts[CB_REVISE_AREAS] = areas_text(recipe, stage, arena);
    texts[CB_REVISE_MINUTES] = minutes_text(stage->work_min, arena);
    texts[CB_REVISE_ORDER] = order_text(revise, revise->stage, arena);
    texts[CB_REVISE_FOR] =
        cb_revise_none(revise->these) ? "all" : cb_revise_figures_text(revise->these, arena);
    texts[CB_REVISE_FIGURES] = cb_arena_printf(arena, "%d", revise->counted);
    texts[CB_REVISE_NAME] = recipe->names[revise->figure] ? recipe->names[revise->figure] : "";
}

static const char *turned(const char *const *words, size_t count, const char *text, int step)
{
    size_t at = count;
    for (size_t i = 0; i < count; i++) {
        at = cb_revise_same(words[i], text) ? i : at;
    }
    if (count == 0) {
        return text;
    }
    return at == count ? words[step > 0 ? 0 : count - 1]
                       : words[(at + count + (size_t)(step > 0 ? 1 : count - 1)) % count];
}

static const char *number_turned(const char *text, int step, int most, struct cb_arena *arena)
{
    long long number;
    if (!cb_str_integer(text, &number) || number + step < 1 || number + step > most) {
        return text;
    }
    return cb_arena_printf(arena, "%lld", number + step);
}

const char *cb_revise_turn(const struct cb_revise *revise, enum cb_revise_field field,
                           const char *text, int step, struct cb_arena *arena)
{
    const struct cb_recipe *recipe = revise->recipe;
    const char *words[CB_RECIPE_MAX + CB_KINDS_MAX];
    uint64_t one[2] = {0, 0};
    size_t count = 0;
    switch (field) {
    case CB_REVISE_PAINT:
        for (; count < recipe->paint_count; count++) {
            words[count] = recipe->paints[count].name;
        }
        return turned(words, count, text, step);
    case CB_REVISE_KIND:
        for (; count < revise->kinds->kind_count && count < CB_KINDS_MAX; count++) {
            words[count] = revise->kinds->kinds[count].name;
        }
        return turned(words, count, text, step);
    case CB_REVISE_WITH:
        words[0] = "this one";
        words[1] = "all";
        return turned(words, 2, text, step);
    case CB_REVISE_ORDER:
        for (; count < recipe->stage_count; count++) {
            words[count] = order_text(revise, count, arena);
        }
        return turned(words, count, text, step);
    case CB_REVISE_FOR:
        words[count++] = "all";
        if (revise->figure > 0) {
            cb_revise_set(one, revise->figure);
            words[count++] =
                cb_revise_figures_text(cb_revise_none(revise->these) ? one : revise->these, arena);
        }
        return turned(words, count, text, step);
    case CB_REVISE_COATS:
        return number_turned(text, step, CB_COATS_MAX, arena);
    case CB_REVISE_FIGURES:
        return number_turned(text, step, CB_FIGURES_MAX, arena);
    case CB_REVISE_MIX:
    case CB_REVISE_AREAS:
    case CB_REVISE_MINUTES:
    case CB_REVISE_NAME:
    case CB_REVISE_FIELDS:
        break;
    }
    return text;
}
