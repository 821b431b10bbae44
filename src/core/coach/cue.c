/* SPDX-License-Identifier: MIT */
#include "core/coach/cue.h"

#include <limits.h>
#include <math.h>

/* "for the technique wash, recess shade" */
static bool misses(struct cb_str *why, const char *what, uint64_t mask, size_t count,
                   const char *const *words)
{
    if (why) {
        const char *between = " ";
        cb_str_addf(why, "for %s", what);
        for (size_t i = 0; i < count; i++) {
            if (mask >> i & 1) {
                cb_str_addf(why, "%s%s", between, words[i]);
                between = ", ";
            }
        }
    }
    return false;
}

static bool misses_technique(struct cb_str *why, uint64_t mask)
{
    const char *words[CB_TECHNIQUE_COUNT];
    for (size_t i = 0; i < CB_TECHNIQUE_COUNT; i++) {
        words[i] = cb_technique_name((enum cb_technique)i);
    }
    return misses(why, "the technique", mask, CB_TECHNIQUE_COUNT, words);
}

static bool misses_kind(struct cb_str *why, uint64_t mask, const struct cb_kinds *kinds)
{
    const char *words[CB_KINDS_MAX];
    const size_t count = kinds->kind_count < CB_KINDS_MAX ? kinds->kind_count : CB_KINDS_MAX;
    for (size_t i = 0; i < count; i++) {
        words[i] = kinds->kinds[i].name;
    }
    return misses(why, "the kind", mask, count, words);
}

static bool misses_tool(struct cb_str *why, uint64_t mask)
{
    const char *words[CB_BY_COUNT];
    for (size_t i = 0; i < CB_BY_COUNT; i++) {
        words[i] = cb_by_name((enum cb_by)i);
    }
    return misses(why, "work by", mask, CB_BY_COUNT, words);
}

static bool beyond(struct cb_str *why, const char *format_what, const char *side, double limit,
                   const char *unit)
{
    if (why) {
        cb_str_addf(why, "for %s %s %g%s", format_what, side, limit, unit);
    }
    return false;
}

bool cb_cue_fits_stage(const struct cb_cue *cue, const struct cb_cue_stage *stage,
                       const struct cb_kinds *kinds, struct cb_str *why)
{
    static const char *const mixes[] = {"neat", "with water", "with medium"};
    static const char *const tones[] = {"lighter than what is beneath",
                                        "darker than what is beneath", "like what is beneath",
                                        "light on dark"};
    const uint64_t technique = stage->any ? UINT64_C(1) << stage->technique : 0;
    const uint64_t kind =
        stage->any && stage->kind >= 0 && stage->kind < 64 ? UINT64_C(1) << stage->kind : 0;
    const unsigned by = stage->any ? 1U << stage->by : 0;
    if (cue->techniques && !(cue->techniques & technique)) {
        return misses_technique(why, cue->techniques);
    }
    if (cue->kinds && !(cue->kinds & kind)) {
        return misses_kind(why, cue->kinds, kinds);
    }
    if (cue->bys && !(cue->bys & by)) {
        return misses_tool(why, cue->bys);
    }
    if (cue->mixes && !(cue->mixes & stage->mix)) {
        return misses(why, "a mix", cue->mixes, 3, mixes);
    }
    if (cue->tones && !(cue->tones & stage->tone)) {
        return misses(why, "paint", cue->tones, 4, tones);
    }
    if (stage->any && stage->coats < cue->coats_from) {
        return beyond(why, "stages of coats", "from", cue->coats_from, "");
    }
    if (stage->any && stage->coats > cue->coats_to) {
        return beyond(why, "stages of coats", "up to", cue->coats_to, "");
    }
    if (stage->figures < cue->figures_from) {
        return beyond(why, "figures", "from", cue->figures_from, "");
    }
    if (stage->figures > cue->figures_to) {
        return beyond(why, "figures", "up to", cue->figures_to, "");
    }
    return true;
}

bool cb_cue_fits_now(const struct cb_cue *cue, const struct cb_cue_now *now, struct cb_str *why)
{
    const struct {
        const char *what, *unit;
        double value, under, over; /* bounds: NAN: none */
    } bounds[] = {
        {"air", " C", now->climate.temp_c, cue->temp_under, cue->temp_over},
        {"air", " %", now->climate.rh_pct, cue->humidity_under, cue->humidity_over},
        {"paint shaken", " min ago", now->shaken_min, NAN, cue->shaken_over},
        {"water", " min old", now->water_min, NAN, cue->water_over},
        {"a palette", " min old", now->palette_min, NAN, cue->palette_over},
    };
    if (now->coat > 0 && now->coat < cue->coat_from) {
        return beyond(why, "coats", "from", cue->coat_from, "");
    }
    if (now->coat > 0 && now->coat > cue->coat_to) {
        return beyond(why, "coats", "up to", cue->coat_to, "");
    }
    for (size_t i = 0; i < sizeof bounds / sizeof *bounds; i++) {
        if (bounds[i].value >= bounds[i].under) {
            return beyond(why, bounds[i].what, "under", bounds[i].under, bounds[i].unit);
        }
        if (bounds[i].value <= bounds[i].over) {
            return beyond(why, bounds[i].what, "over", bounds[i].over, bounds[i].unit);
        }
    }
    return true;
}

bool cb_cue_by_air(const struct cb_cue *cue)
{
    return !isnan(cue->temp_under) || !isnan(cue->temp_over) || !isnan(cue->humidity_under) ||
           !isnan(cue->humidity_over);
}

bool cb_cue_by_age(const struct cb_cue *cue)
{
    return !isnan(cue->shaken_over) || !isnan(cue->water_over) || !isnan(cue->palette_over);
}

bool cb_cue_is_due(const struct cb_cue *cue, const struct cb_cue_now *now, bool first)
{
    const double since_min = cue->moment == CB_CUE_BEFORE_STAGE ? now->begin_min : now->mark_min;
    if (!isnan(cue->water_over)) {
        const double limit = fmax(cue->water_over, 1);
        return floor(now->water_min / limit) > floor(fmax(now->water_min - since_min, 0) / limit);
    }
    return first || now->shaken_min - since_min <= cue->shaken_over ||
           now->palette_min - since_min <= cue->palette_over;
}

bool cb_cue_has_turn(const struct cb_cue *cue, size_t place, int evenings)
{
    if (cue->moment == CB_CUE_AFTER_COAT || evenings < 1) {
        return true;
    }
    const size_t turns = (size_t)evenings + 1;
    size_t period = 1;
    while (period * 2 <= turns) {
        period *= 2;
    }
    return (place + (size_t)evenings) % period == 0;
}
