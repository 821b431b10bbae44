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
                                        "darker than what is beneath", "like what is beneath"};
    const char *techniques[CB_TECHNIQUE_COUNT], *bys[CB_BY_COUNT], *names[64];
    for (size_t i = 0; i < CB_TECHNIQUE_COUNT; i++) {
        techniques[i] = cb_technique_name((enum cb_technique)i);
    }
    for (size_t i = 0; i < CB_BY_COUNT; i++) {
        bys[i] = cb_by_name((enum cb_by)i);
    }
    const size_t kind_count = kinds->kind_count < 64 ? kinds->kind_count : 64;
    for (size_t i = 0; i < kind_count; i++) {
        names[i] = kinds->kinds[i].name;
    }
    const uint64_t technique = stage->any ? UINT64_C(1) << stage->technique : 0;
    const uint64_t kind = stage->any && stage->kind >= 0 && stage->kind < 64
                              ? UINT64_C(1) << stage->kind
                              : 0;
    const unsigned by = stage->any ? 1U << stage->by : 0;
    if (cue->techniques && !(cue->techniques & technique)) {
        return misses(why, "the technique", cue->techniques, CB_TECHNIQUE_COUNT, techniques);
    }
    if (cue->kinds && !(cue->kinds & kind)) {
        return misses(why, "the kind", cue->kinds, kind_count, names);
    }
    if (cue->bys && !(cue->bys & by)) {
        return misses(why, "work by", cue->bys, CB_BY_COUNT, bys);
    }
    if (cue->mixes && !(cue->mixes & stage->mix)) {
        return misses(why, "a mix", cue->mixes, 3, mixes);
    }
    if (cue->tones && !(cue->tones & stage->tone)) {
        return misses(why, "paint", cue->tones, 3, tones);
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
