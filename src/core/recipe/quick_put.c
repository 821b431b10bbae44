/* SPDX-License-Identifier: MIT */
/* What a quick line comes to: a sentence, and a stage in a draft. */
#include "base/brief.h"
#include "base/str.h"
#include "base/utf8.h"
#include "core/paint/drying.h"
#include "core/recipe/quick_internal.h"

static const char *shown(const struct cb_quick_line *line, const char *text)
{
    return cb_utf8_clean(line->arena, text, CB_QUICK_COLUMNS);
}

const struct cb_quick_paint *cb_quick_largest(const struct cb_quick *quick)
{
    const struct cb_quick_paint *most = &quick->paints[0];
    for (size_t i = 1; i < quick->paint_count; i++) {
        most = quick->paints[i].parts > most->parts ? &quick->paints[i] : most;
    }
    return most;
}

/* "Oilskin green", "2 Oilskin green + 1 Black" */
static void add_paints(const struct cb_quick_line *line, const struct cb_quick *quick,
                       struct cb_str *out)
{
    for (size_t i = 0; i < quick->paint_count; i++) {
        cb_str_add(out, i > 0 ? " + " : "");
        if (quick->paint_count > 1) {
            char parts[CB_BRIEF_BYTES];
            cb_str_addf(out, "%s ", cb_brief(quick->paints[i].parts, parts));
        }
        cb_str_add(out, shown(line, quick->paints[i].name));
    }
}

/* What is in it beside the paints of a blend. */
static const char *rest_of_mix(const struct cb_quick_line *line, const struct cb_quick *quick)
{
    struct cb_parts parts = {0, quick->medium, quick->retarder, quick->water};
    if (quick->paint_count == 1 && quick->mix_said) {
        parts.paint = quick->paints[0].parts;
    } else if (quick->paint_count == 1) {
        parts =
            cb_drying_usual(line->known->kinds, quick->paints[0].kind, quick->technique, quick->by)
                .parts;
    }
    return cb_kinds_parts_text(&parts, line->arena);
}

/* "Oilskin green, acrylic, basecoat on oilskin, 2 paint + 1 water, 2 coats, by brush" */
const char *cb_quick_say(const struct cb_quick_line *line, const struct cb_quick *quick)
{
    const bool blend = quick->paint_count > 1;
    struct cb_str out = {0};
    add_paints(line, quick, &out);
    if (blend && *rest_of_mix(line, quick) != '\0') {
        cb_str_addf(&out, " + %s", rest_of_mix(line, quick));
    }
    if (quick->paint_count > 0) {
        const struct cb_kind *kinds = line->known->kinds->kinds;
        cb_str_addf(&out, ", %s, ", kinds[cb_quick_largest(quick)->kind].name);
    }
    cb_str_addf(&out, "%s %s", cb_technique_name(quick->technique),
                quick->area_count > 0 ? "on " : "all over");
    for (size_t i = 0; i < quick->area_count; i++) {
        cb_str_addf(&out, "%s%s", i > 0 ? ", " : "", shown(line, quick->areas[i]));
    }
    if (quick->paint_count == 1) {
        cb_str_addf(&out, ", %s", rest_of_mix(line, quick));
    }
    if (quick->coats > 1) {
        cb_str_addf(&out, ", %d coats", quick->coats);
    }
    if (quick->paint_count > 0 || quick->by != CB_BY_BRUSH) {
        cb_str_addf(&out, ", by %s", cb_by_name(quick->by));
    }
    const char *text = cb_arena_text(line->arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

static const char *stage_name(const struct cb_quick *quick, struct cb_arena *arena)
{
    const char *word = cb_technique_name(quick->technique);
    const char *name = "";
    for (size_t i = 0; i < quick->paint_count; i++) {
        name = cb_arena_printf(arena, "%s%s%s", name, i > 0 ? " + " : "", quick->paints[i].name);
    }
    return quick->paint_count > 0 ? cb_arena_printf(arena, "%s %s", name, word)
                                  : cb_arena_printf(arena, "%c%s", *word - 'a' + 'A', word + 1);
}

bool cb_quick_put(const struct cb_quick *quick, struct cb_draft *draft, size_t at,
                  struct cb_arena *arena)
{
    struct cb_stage stage = cb_draft_stage(
        cb_draft_stage_name(draft, stage_name(quick, arena), arena), quick->technique);
    const struct {
        enum cb_mix_what what;
        double parts;
    } thinners[] = {{CB_MIX_MEDIUM, quick->medium},
                    {CB_MIX_RETARDER, quick->retarder},
                    {CB_MIX_WATER, quick->water}};
    for (size_t i = 0; i < quick->paint_count; i++) {
        const struct cb_quick_paint *paint = &quick->paints[i];
        const int index = cb_draft_paint(draft, paint->name, paint->kind, arena);
        if (index < 0) {
            return false;
        }
        stage.mix.parts[stage.mix.count++] =
            (struct cb_mix_part){CB_MIX_PAINT, index, quick->mix_said ? paint->parts : 1};
    }
    for (size_t i = 0; i < sizeof thinners / sizeof *thinners; i++) {
        if (thinners[i].parts > 0) {
            stage.mix.parts[stage.mix.count++] =
                (struct cb_mix_part){thinners[i].what, -1, thinners[i].parts};
        }
    }
    stage.mix_said = quick->mix_said;
    for (size_t i = 0; i < quick->area_count; i++) {
        const int index = cb_draft_area(draft, quick->areas[i], arena);
        if (index < 0) {
            return false;
        }
        stage.on |= UINT64_C(1) << index;
    }
    stage.whole = quick->area_count == 0;
    stage.by = quick->by;
    stage.coats = quick->coats;
    stage.together = quick->by == CB_BY_CAN && quick->paint_count > 0 ? CB_TOGETHER_ALL : 0;
    return cb_draft_insert(draft, &stage, at);
}
