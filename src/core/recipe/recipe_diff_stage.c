/* SPDX-License-Identifier: MIT */
/* What a stage says now instead of what it said, part by part. */
#include "core/recipe/recipe_diff_internal.h"

#include <math.h>
#include <string.h>

static const char *minutes(const struct cb_differ *differ, double value, const char *unsaid)
{
    return isnan(value) ? unsaid : cb_arena_printf(differ->arena, "%g min", value);
}

/* Names of those whose bit is set; nothing: where there is none. */
static const char *list(const struct cb_differ *differ, uint64_t mask, const char *const *names,
                        size_t count, const char *nothing)
{
    struct cb_str out = {0};
    for (size_t i = 0; i < count; i++) {
        if (mask >> i & 1) {
            cb_diff_phrase(&out, names[i]);
        }
    }
    const char *text = cb_arena_text(differ->arena, out.length ? cb_str_text(&out) : nothing);
    cb_str_fini(&out);
    return text;
}

static const char *areas(const struct cb_differ *differ, const struct cb_recipe *recipe,
                         const struct cb_stage *stage)
{
    const char *names[CB_RECIPE_MAX];
    for (size_t i = 0; i < recipe->area_count; i++) {
        names[i] = recipe->areas[i].name;
    }
    return stage->whole ? "all over"
                        : list(differ, stage->on, names, recipe->area_count, "nothing");
}

static const char *paints(const struct cb_differ *differ, const struct cb_recipe *recipe,
                          uint64_t mask)
{
    const char *names[CB_RECIPE_MAX];
    for (size_t i = 0; i < recipe->paint_count; i++) {
        names[i] = recipe->paints[i].name;
    }
    return list(differ, mask, names, recipe->paint_count, "nothing");
}

static const char *after(const struct cb_differ *differ, const struct cb_recipe *recipe,
                         const struct cb_stage *stage)
{
    const char *names[CB_RECIPE_MAX];
    for (size_t i = 0; i < recipe->stage_count; i++) {
        names[i] = recipe->stages[i].name;
    }
    return stage->has_after ? list(differ, stage->after, names, recipe->stage_count, "nothing")
                            : "all before it";
}

const char *cb_diff_for(const struct cb_differ *differ, const struct cb_recipe *recipe,
                        size_t stage)
{
    uint64_t mask[2];
    cb_recipe_figures_of(recipe, stage, mask);
    return recipe->stages[stage].groups == 0 ? "all" : cb_diff_figures(mask, differ->arena);
}

static const char *together(const struct cb_differ *differ, const struct cb_stage *stage)
{
    return stage->together == 0 ? "one by one"
           : stage->together == CB_TOGETHER_ALL
               ? "all together"
               : cb_arena_printf(differ->arena, "%d together", stage->together);
}

static size_t paint_parts(const struct cb_mix *mix)
{
    size_t count = 0;
    for (size_t i = 0; i < mix->count; i++) {
        count += mix->parts[i].what == CB_MIX_PAINT;
    }
    return count;
}

/* "2 paint + 1 water"; a blend names its paints. */
static const char *mix(const struct cb_differ *differ, const struct cb_recipe *recipe,
                       const struct cb_stage *stage)
{
    if (stage->mix.count == 0) {
        return "no paint";
    }
    return stage->mix_said ? cb_mix_text(paint_parts(&stage->mix) > 1 ? recipe : NULL, &stage->mix,
                                         true, differ->arena)
                           : "the usual mix";
}

static const char *paint(const struct cb_differ *differ, const struct cb_recipe *recipe,
                         const struct cb_stage *stage)
{
    if (paint_parts(&stage->mix) > 1) {
        return cb_mix_text(recipe, &stage->mix, true, differ->arena);
    }
    const int row = cb_mix_paint(&stage->mix);
    return row < 0 ? "no paint" : recipe->paints[row].name;
}

/* What is put on, and how thinned. */
static void tell_mix(const struct cb_differ *differ, struct cb_str *out, unsigned differs,
                     const struct cb_stage *was, const struct cb_stage *is)
{
    const bool blend = paint_parts(&was->mix) > 1 || paint_parts(&is->mix) > 1;
    if (differs & CB_PART_PAINT) {
        const char *names[2] = {paint(differ, differ->now, is), paint(differ, differ->before, was)};
        const int rows[2] = {cb_mix_paint(&is->mix), cb_mix_paint(&was->mix)};
        if (strcmp(names[0], names[1]) == 0 && rows[0] >= 0 && rows[1] >= 0) {
            names[0] = differ->kinds->kinds[differ->now->paints[rows[0]].kind].name;
            names[1] = differ->kinds->kinds[differ->before->paints[rows[1]].kind].name;
        }
        cb_diff_instead(differ, out, names[0], names[1]);
    }
    if (differs & CB_PART_MIX && !(blend && differs & CB_PART_PAINT)) {
        cb_diff_instead(differ, out, mix(differ, differ->now, is),
                        mix(differ, differ->before, was));
    }
}

void cb_diff_parts(const struct cb_differ *differ, struct cb_str *out, unsigned differs,
                   size_t before, size_t now)
{
    const struct cb_stage *was = &differ->before->stages[before], *is = &differ->now->stages[now];
    struct cb_arena *arena = differ->arena;
    if (differs & CB_PART_TECHNIQUE) {
        cb_diff_instead(differ, out, cb_technique_name(is->technique),
                        cb_technique_name(was->technique));
    }
    tell_mix(differ, out, differs, was, is);
    if (differs & CB_PART_COATS) {
        cb_diff_phrase(out, cb_arena_printf(arena, "%d coat%s instead of %d", is->coats,
                                            is->coats == 1 ? "" : "s", was->coats));
    }
    if (differs & CB_PART_ON) {
        cb_diff_instead(
            differ, out,
            cb_arena_printf(arena, "%s%s", is->whole ? "" : "on ", areas(differ, differ->now, is)),
            areas(differ, differ->before, was));
    }
    if (differs & CB_PART_FOR) {
        cb_diff_instead(differ, out,
                        cb_arena_printf(arena, "for %s", cb_diff_for(differ, differ->now, now)),
                        cb_diff_for(differ, differ->before, before));
    }
    if (differs & CB_PART_BY) {
        cb_diff_instead(differ, out, cb_arena_printf(arena, "by %s", cb_by_name(is->by)),
                        cb_by_name(was->by));
    }
    if (differs & CB_PART_PLACE) {
        cb_diff_instead(differ, out,
                        cb_arena_printf(arena, "place %s", is->place ? is->place : "bench"),
                        was->place ? was->place : "bench");
    }
    if (differs & CB_PART_MINUTES) {
        cb_diff_instead(
            differ, out,
            cb_arena_printf(arena, "work of %s", minutes(differ, is->work_min, "the usual")),
            minutes(differ, was->work_min, "the usual"));
    }
    if (differs & CB_PART_DRY) {
        cb_diff_instead(
            differ, out,
            cb_arena_printf(arena, "dry after %s", minutes(differ, is->dry_min, "the usual")),
            minutes(differ, was->dry_min, "the usual"));
    }
    if (differs & CB_PART_WAIT) {
        cb_diff_instead(
            differ, out,
            cb_arena_printf(arena, "waits %s", minutes(differ, is->wait_min, "no time")),
            minutes(differ, was->wait_min, "none"));
    }
    if (differs & CB_PART_BRUSH) {
        cb_diff_instead(differ, out,
                        cb_arena_printf(arena, "brush %s", is->brush ? is->brush : "any"),
                        was->brush ? was->brush : "any");
    }
    if (differs & CB_PART_TIDY) {
        cb_diff_instead(
            differ, out,
            cb_arena_printf(arena, "tidied with %s", paints(differ, differ->now, is->tidy_with)),
            paints(differ, differ->before, was->tidy_with));
    }
    if (differs & CB_PART_TOGETHER) {
        cb_diff_instead(differ, out, together(differ, is), together(differ, was));
    }
    if (differs & CB_PART_OPTIONAL) {
        cb_diff_phrase(out, is->optional ? "optional now" : "optional no more");
    }
    if (differs & CB_PART_AFTER) {
        cb_diff_instead(differ, out,
                        cb_arena_printf(arena, "after %s", after(differ, differ->now, is)),
                        after(differ, differ->before, was));
    }
    if (differs & CB_PART_PICTURES) {
        cb_diff_phrase(out, "other pictures");
    }
    if (differs & CB_PART_SAY) {
        cb_diff_phrase(out, "another hint");
    }
}
