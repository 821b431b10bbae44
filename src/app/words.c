/* SPDX-License-Identifier: MIT */
#include "app/words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/brief.h"
#include "base/str.h"
#include "base/utf8.h"
#include "core/paint/drying.h"
#include "core/recipe/drying_stage.h"

const struct cb_words_look cb_words_looks[CB_STATE_COUNT] = {
    [CB_STATE_READY] = {"\u25B8", "ready", "go", CB_ROLE_READY},
    [CB_STATE_WET] = {"\u2248", "wet", "wet", CB_ROLE_WET},
    [CB_STATE_DRY] = {"\u25CF", "dry", "dry", CB_ROLE_DRY},
    [CB_STATE_HAS] = {"\u2713", "has it", "has", CB_ROLE_DONE},
    [CB_STATE_DONE] = {"\u2713", "done", "all", CB_ROLE_DONE},
    [CB_STATE_HELD] = {"\u2016", "waits", "wait", CB_ROLE_HELD},
    [CB_STATE_LATER] = {"\u00B7", "later", "not", CB_ROLE_DIM},
    [CB_STATE_ALL] = {"\u25CF", "dry, waits", "dry", CB_ROLE_DRY},
    [CB_STATE_PARKED] = {"\u00D7", "parked", "park", CB_ROLE_DIM},
    [CB_STATE_NONE] = {"\u00B7", "not here", "-", CB_ROLE_DIM},
    [CB_STATE_WAITS] = {"\u2248", "waits", "due", CB_ROLE_WET},
    [CB_STATE_SET] = {"\u25CF", "done", "done", CB_ROLE_DRY},
};

char *cb_words_figures(struct cb_arena *arena, const int *figures, size_t count)
{
    struct cb_str out = {0};
    cb_str_add_numbers(&out, figures, count);
    char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

char *cb_words_areas(struct cb_arena *arena, const struct cb_recipe *recipe,
                     const struct cb_stage *stage)
{
    struct cb_str out = {0};
    const uint64_t covers = cb_recipe_covers(recipe, (size_t)(stage - recipe->stages));
    const uint64_t named = stage->whole ? ~covers : covers;
    const char *between = stage->whole ? " but " : "";
    cb_str_add(&out, stage->whole ? "all over" : "");
    for (size_t i = 0; i < recipe->area_count && i < CB_RECIPE_MAX; i++) {
        if (named >> i & 1) {
            cb_str_addf(&out, "%s%s", between, recipe->areas[i].name);
            between = ", ";
        }
    }
    char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

const char *cb_words_paint(const struct cb_unit *unit, int stage)
{
    const char *paint = cb_bench_stage_blend(unit, stage);
    return paint ? paint : unit->recipe->stages[stage - 1].name;
}

const char *cb_words_coat(struct cb_arena *arena, const struct cb_unit *unit, int stage, int coat)
{
    const char *paint = cb_words_paint(unit, stage);
    return coat > 1 ? cb_arena_printf(arena, "coat %d of %s", coat, paint) : paint;
}

const char *cb_words_film(const struct cb_unit *unit, const struct cb_film *film)
{
    const char *paint = cb_bench_stage_paint(unit, film->stage);
    return film->paint && paint && strcmp(film->paint, paint) != 0
               ? film->paint
               : cb_words_paint(unit, film->stage);
}

bool cb_words_painted(const struct cb_unit *unit, int stage)
{
    return cb_bench_stage_paint(unit, stage) != NULL;
}

const char *cb_words_laid(const struct cb_unit *unit, int stage)
{
    return cb_words_painted(unit, stage) ? "on" : "done";
}

const char *cb_words_dried(const struct cb_unit *unit, int stage)
{
    return cb_words_painted(unit, stage) ? "dry" : "done";
}

const char *cb_words_upon(const struct cb_unit *unit, int stage)
{
    return cb_words_painted(unit, stage) ? "on" : "done on";
}

static void add_part(struct cb_str *out, double parts, const char *what)
{
    if (parts > 0) {
        char text[CB_BRIEF_BYTES];
        cb_str_addf(out, "%s%s %s", out->length ? " + " : "", cb_brief(parts, text), what);
    }
}

char *cb_words_mix(struct cb_arena *arena, const struct cb_kinds *kinds, const struct cb_unit *unit,
                   int stage)
{
    const struct cb_stage *row = &cb_bench_used(unit)->stages[stage - 1];
    int paint = cb_mix_paint(&row->mix);
    if (paint < 0) {
        return cb_arena_text(arena, "");
    }
    struct cb_str out = {0};
    size_t paints = 0;
    for (size_t i = 0; i < row->mix.count; i++) {
        paints += row->mix.parts[i].what == CB_MIX_PAINT;
    }
    if (row->mix_said) {
        for (size_t i = 0; i < row->mix.count; i++) {
            const struct cb_mix_part *part = &row->mix.parts[i];
            const char *what = "paint";
            switch (part->what) {
            case CB_MIX_PAINT:
                what = paints > 1 ? cb_bench_used(unit)->paints[part->paint].name : "paint";
                break;
            case CB_MIX_MEDIUM:
                what = "medium";
                break;
            case CB_MIX_RETARDER:
                what = "retarder";
                break;
            case CB_MIX_WATER:
                what = "water";
                break;
            }
            add_part(&out, part->parts, what);
        }
        if (row->mix.count == 1) {
            cb_str_clear(&out);
        }
    } else {
        struct cb_parts parts =
            cb_drying_parts_of_stage(kinds, cb_bench_used(unit), (size_t)stage - 1);
        if (parts.medium > 0 || parts.water > 0) {
            add_part(&out, parts.paint, "paint");
            add_part(&out, parts.medium, "medium");
            add_part(&out, parts.water, "water");
        }
    }
    char *text = cb_arena_text(arena, out.length ? cb_str_text(&out) : "neat");
    cb_str_fini(&out);
    return text;
}

const char *cb_words_left(int64_t left_ms, char digits[16])
{
    if (left_ms < 0) {
        left_ms = 0;
    }
    if (left_ms <= CB_MS_PER_MIN) {
        snprintf(digits, 16, "%d", (int)((left_ms + 999) / 1000));
        return "s";
    }
    int64_t minutes = (left_ms + CB_MS_PER_MIN - 1) / CB_MS_PER_MIN;
    if (minutes < 100) {
        snprintf(digits, 16, "%d", (int)minutes);
        return "min";
    }
    int64_t hours = (minutes + 59) / 60;
    snprintf(digits, 16, "%d", (int)(hours < 1000 ? hours : 999));
    return "h";
}

void cb_words_span(int64_t left_ms, char out[32])
{
    if (left_ms > CB_MS_PER_MIN) {
        left_ms = (left_ms + CB_MS_PER_MIN - 1) / CB_MS_PER_MIN * CB_MS_PER_MIN;
    } else {
        left_ms = (left_ms + 999) / 1000 * 1000;
        if (left_ms >= 0) {
            snprintf(out, 32, "%d s", (int)(left_ms / 1000));
            return;
        }
    }
    cb_time_span(left_ms, out);
}

void cb_words_since(int64_t ms, char out[32])
{
    if (ms < 2 * CB_MS_PER_MIN) {
        snprintf(out, 32, "%s", "1 min");
        return;
    }
    cb_time_span(ms / CB_MS_PER_MIN * CB_MS_PER_MIN, out);
}

void cb_words_ago(int64_t ms, char out[16])
{
    const int64_t hours = (ms + 30 * CB_MS_PER_MIN) / (60 * CB_MS_PER_MIN);
    if (hours < 48) {
        snprintf(out, 16, "%d h ago", (int)hours);
    } else {
        snprintf(out, 16, "%d d ago", (int)(hours / 24 < 9999 ? hours / 24 : 9999));
    }
}

void cb_words_chance(double chance, char out[8])
{
    int pct = isfinite(chance) ? (int)lround(chance * 100) : 0;
    pct = pct < 1 ? 1 : pct > 99 ? 99 : pct;
    snprintf(out, 8, "%d %%", pct);
}

void cb_words_climate(const struct cb_climate *climate, bool fahrenheit, char out[48])
{
    double temp = fahrenheit ? climate->temp_c * 1.8 + 32 : climate->temp_c;
    char number[16];
    snprintf(number, sizeof number, "%.1f", temp);
    size_t length = strlen(number);
    if (length > 2 && strcmp(number + length - 2, ".0") == 0) {
        number[length - 2] = '\0';
    }
    snprintf(out, 48, "%s%c %.0f%%%s%s", number, fahrenheit ? 'F' : 'C', climate->rh_pct,
             climate->air == CB_AIR_STILL ? "" : " ",
             climate->air == CB_AIR_STILL ? "" : cb_air_name(climate->air));
}
