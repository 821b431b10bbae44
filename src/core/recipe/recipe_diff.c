/* SPDX-License-Identifier: MIT */
#include "core/recipe/recipe_diff.h"

#include <math.h>
#include <string.h>

#include "base/str.h"
#include "base/vec.h"

struct diff {
    const struct cb_recipe *before, *now;
    const struct cb_recipe_match *match;
    const struct cb_kinds *kinds;
    struct cb_arena *arena;
    CB_VEC(struct cb_diff_line) lines;
};

static bool same_text(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

static bool same_number(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static void add_line(struct diff *diff, enum cb_diff_kind kind, int stage, int was,
                     const char *text)
{
    cb_vec_push(&diff->lines, ((struct cb_diff_line){kind, stage, was, text}));
}

char *cb_diff_figures(const uint64_t figures[2], struct cb_arena *arena)
{
    int numbers[CB_FIGURES_MAX];
    size_t count = 0;
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        if (figures[(figure - 1) / 64] >> ((figure - 1) % 64) & 1) {
            numbers[count++] = figure;
        }
    }
    struct cb_str out = {0};
    cb_str_add_numbers(&out, numbers, count);
    char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

/* The phrases of a line: ", " between them. */
static void add_phrase(struct cb_str *out, const char *text)
{
    cb_str_addf(out, "%s%s", out->length ? ", " : "", text);
}

static void add_instead(struct diff *diff, struct cb_str *out, const char *now, const char *before)
{
    add_phrase(out, cb_arena_printf(diff->arena, "%s instead of %s", now, before));
}

static const char *minutes(const struct diff *diff, double value, const char *unsaid)
{
    return isnan(value) ? unsaid : cb_arena_printf(diff->arena, "%g min", value);
}

/* Names of those whose bit is set; nothing: where there is none. */
static const char *list(const struct diff *diff, uint64_t mask, const char *const *names,
                        size_t count, const char *nothing)
{
    struct cb_str out = {0};
    for (size_t i = 0; i < count; i++) {
        if (mask >> i & 1) {
            add_phrase(&out, names[i]);
        }
    }
    const char *text = cb_arena_text(diff->arena, out.length ? cb_str_text(&out) : nothing);
    cb_str_fini(&out);
    return text;
}

static const char *areas(const struct diff *diff, const struct cb_recipe *recipe,
                         const struct cb_stage *stage)
{
    const char *names[CB_RECIPE_MAX];
    for (size_t i = 0; i < recipe->area_count; i++) {
        names[i] = recipe->areas[i].name;
    }
    return stage->whole ? "all over" : list(diff, stage->on, names, recipe->area_count, "nothing");
}

static const char *paints(const struct diff *diff, const struct cb_recipe *recipe, uint64_t mask)
{
    const char *names[CB_RECIPE_MAX];
    for (size_t i = 0; i < recipe->paint_count; i++) {
        names[i] = recipe->paints[i].name;
    }
    return list(diff, mask, names, recipe->paint_count, "nothing");
}

static const char *after(const struct diff *diff, const struct cb_recipe *recipe,
                         const struct cb_stage *stage)
{
    const char *names[CB_RECIPE_MAX];
    for (size_t i = 0; i < recipe->stage_count; i++) {
        names[i] = recipe->stages[i].name;
    }
    return stage->has_after ? list(diff, stage->after, names, recipe->stage_count, "nothing")
                            : "all before it";
}

static const char *figures(const struct diff *diff, const struct cb_recipe *recipe, size_t stage)
{
    uint64_t mask[2];
    cb_recipe_figures_of(recipe, stage, mask);
    return recipe->stages[stage].groups == 0 ? "all" : cb_diff_figures(mask, diff->arena);
}

static const char *together(const struct diff *diff, const struct cb_stage *stage)
{
    return stage->together == 0 ? "one by one"
           : stage->together == CB_TOGETHER_ALL
               ? "all together"
               : cb_arena_printf(diff->arena, "%d together", stage->together);
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
static const char *mix(const struct diff *diff, const struct cb_recipe *recipe,
                       const struct cb_stage *stage)
{
    if (stage->mix.count == 0) {
        return "no paint";
    }
    return stage->mix_said ? cb_mix_text(paint_parts(&stage->mix) > 1 ? recipe : NULL, &stage->mix,
                                         true, diff->arena)
                           : "the usual mix";
}

static const char *paint(const struct diff *diff, const struct cb_recipe *recipe,
                         const struct cb_stage *stage)
{
    if (paint_parts(&stage->mix) > 1) {
        return cb_mix_text(recipe, &stage->mix, true, diff->arena);
    }
    const int row = cb_mix_paint(&stage->mix);
    return row < 0 ? "no paint" : recipe->paints[row].name;
}

/* What is put on, and how thinned. */
static void tell_mix(struct diff *diff, struct cb_str *out, unsigned differs,
                     const struct cb_stage *was, const struct cb_stage *is)
{
    const bool blend = paint_parts(&was->mix) > 1 || paint_parts(&is->mix) > 1;
    if (differs & CB_PART_PAINT) {
        const char *names[2] = {paint(diff, diff->now, is), paint(diff, diff->before, was)};
        const int rows[2] = {cb_mix_paint(&is->mix), cb_mix_paint(&was->mix)};
        if (strcmp(names[0], names[1]) == 0 && rows[0] >= 0 && rows[1] >= 0) {
            names[0] = diff->kinds->kinds[diff->now->paints[rows[0]].kind].name;
            names[1] = diff->kinds->kinds[diff->before->paints[rows[1]].kind].name;
        }
        add_instead(diff, out, names[0], names[1]);
    }
    if (differs & CB_PART_MIX && !(blend && differs & CB_PART_PAINT)) {
        add_instead(diff, out, mix(diff, diff->now, is), mix(diff, diff->before, was));
    }
}

static void tell_parts(struct diff *diff, struct cb_str *out, unsigned differs, size_t before,
                       size_t now)
{
    const struct cb_stage *was = &diff->before->stages[before], *is = &diff->now->stages[now];
    struct cb_arena *arena = diff->arena;
    if (differs & CB_PART_TECHNIQUE) {
        add_instead(diff, out, cb_technique_name(is->technique), cb_technique_name(was->technique));
    }
    tell_mix(diff, out, differs, was, is);
    if (differs & CB_PART_COATS) {
        add_phrase(out, cb_arena_printf(arena, "%d coat%s instead of %d", is->coats,
                                        is->coats == 1 ? "" : "s", was->coats));
    }
    if (differs & CB_PART_ON) {
        add_instead(
            diff, out,
            cb_arena_printf(arena, "%s%s", is->whole ? "" : "on ", areas(diff, diff->now, is)),
            areas(diff, diff->before, was));
    }
    if (differs & CB_PART_FOR) {
        add_instead(diff, out, cb_arena_printf(arena, "for %s", figures(diff, diff->now, now)),
                    figures(diff, diff->before, before));
    }
    if (differs & CB_PART_BY) {
        add_instead(diff, out, cb_arena_printf(arena, "by %s", cb_by_name(is->by)),
                    cb_by_name(was->by));
    }
    if (differs & CB_PART_PLACE) {
        add_instead(diff, out, cb_arena_printf(arena, "place %s", is->place ? is->place : "bench"),
                    was->place ? was->place : "bench");
    }
    if (differs & CB_PART_MINUTES) {
        add_instead(diff, out,
                    cb_arena_printf(arena, "work of %s", minutes(diff, is->work_min, "the usual")),
                    minutes(diff, was->work_min, "the usual"));
    }
    if (differs & CB_PART_DRY) {
        add_instead(diff, out,
                    cb_arena_printf(arena, "dry after %s", minutes(diff, is->dry_min, "the usual")),
                    minutes(diff, was->dry_min, "the usual"));
    }
    if (differs & CB_PART_WAIT) {
        add_instead(diff, out,
                    cb_arena_printf(arena, "waits %s", minutes(diff, is->wait_min, "no time")),
                    minutes(diff, was->wait_min, "none"));
    }
    if (differs & CB_PART_BRUSH) {
        add_instead(diff, out, cb_arena_printf(arena, "brush %s", is->brush ? is->brush : "any"),
                    was->brush ? was->brush : "any");
    }
    if (differs & CB_PART_TIDY) {
        add_instead(
            diff, out,
            cb_arena_printf(arena, "tidied with %s", paints(diff, diff->now, is->tidy_with)),
            paints(diff, diff->before, was->tidy_with));
    }
    if (differs & CB_PART_TOGETHER) {
        add_instead(diff, out, together(diff, is), together(diff, was));
    }
    if (differs & CB_PART_OPTIONAL) {
        add_phrase(out, is->optional ? "optional now" : "optional no more");
    }
    if (differs & CB_PART_AFTER) {
        add_instead(diff, out, cb_arena_printf(arena, "after %s", after(diff, diff->now, is)),
                    after(diff, diff->before, was));
    }
    if (differs & CB_PART_PICTURES) {
        add_phrase(out, "other pictures");
    }
    if (differs & CB_PART_SAY) {
        add_phrase(out, "another hint");
    }
}

/* Stages that kept their order among each other: as many as can be, so that the fewest moved. */
static void find_stayed(const struct cb_recipe_match *match, size_t count,
                        bool stayed[CB_RECIPE_MAX])
{
    int length[CB_RECIPE_MAX] = {0}, before[CB_RECIPE_MAX], best = -1;
    for (int i = 0; i < (int)count; i++) {
        stayed[i] = false;
        before[i] = -1;
        if (match->from[i] < 0) {
            continue;
        }
        length[i] = 1;
        for (int j = 0; j < i; j++) {
            if (match->from[j] >= 0 && match->from[j] < match->from[i] &&
                length[j] + 1 > length[i]) {
                length[i] = length[j] + 1;
                before[i] = j;
            }
        }
        best = best < 0 || length[i] > length[best] ? i : best;
    }
    for (; best >= 0; best = before[best]) {
        stayed[best] = true;
    }
}

static const char *place(const struct diff *diff, size_t stage)
{
    return stage == 0 ? "first"
                      : cb_arena_printf(diff->arena, "after %s", diff->now->stages[stage - 1].name);
}

/* The figures that can be meant: as many as either recipe says, else as are in a group. */
static void known_figures(const struct diff *diff, uint64_t figures[2])
{
    const int before = diff->before->figures, now = diff->now->figures;
    const int most = before > now ? before : now;
    figures[0] = figures[1] = 0;
    for (int figure = 1; figure <= most; figure++) {
        figures[(figure - 1) / 64] |= UINT64_C(1) << ((figure - 1) % 64);
    }
    for (size_t i = 0; most == 0 && i < diff->before->group_count; i++) {
        figures[0] |= diff->before->groups[i].figures[0];
        figures[1] |= diff->before->groups[i].figures[1];
    }
    for (size_t i = 0; most == 0 && i < diff->now->group_count; i++) {
        figures[0] |= diff->now->groups[i].figures[0];
        figures[1] |= diff->now->groups[i].figures[1];
    }
}

/* Is what the stage lost or gained of figures told by the stages made of it or taken back? */
static bool is_told(const struct diff *diff, size_t stage)
{
    uint64_t had[2], has[2], more[2], known[2];
    bool any = false;
    known_figures(diff, known);
    cb_recipe_figures_of(diff->before, (size_t)diff->match->from[stage], had);
    cb_recipe_figures_of(diff->now, stage, has);
    for (size_t i = 0; i < diff->now->stage_count; i++) {
        if (diff->match->part_of[i] == (int)stage) {
            any = true;
            had[0] &= ~diff->match->figures[i][0];
            had[1] &= ~diff->match->figures[i][1];
        }
    }
    for (size_t i = 0; i < diff->before->stage_count; i++) {
        if (diff->match->back_to[i] == (int)stage) {
            any = true;
            cb_recipe_figures_of(diff->before, i, more);
            had[0] |= more[0];
            had[1] |= more[1];
        }
    }
    return any && ((had[0] ^ has[0]) & known[0]) == 0 && ((had[1] ^ has[1]) & known[1]) == 0;
}

static void tell_kept(struct diff *diff, size_t stage, bool moved)
{
    const size_t was = (size_t)diff->match->from[stage];
    const char *name = diff->before->stages[was].name;
    unsigned differs =
        cb_recipe_parts_that_differ(diff->before, was, diff->now, stage, diff->match);
    struct cb_str out = {0};
    if (differs & CB_PART_FOR && is_told(diff, stage)) {
        differs &= ~(unsigned)CB_PART_FOR;
    }
    if (strcmp(name, diff->now->stages[stage].name) != 0) {
        add_phrase(&out, cb_arena_printf(diff->arena, "renamed %s", diff->now->stages[stage].name));
    }
    tell_parts(diff, &out, differs, was, stage);
    if (moved) {
        add_phrase(&out, cb_arena_printf(diff->arena, "now %s", place(diff, stage)));
    }
    if (out.length) {
        add_line(diff, CB_DIFF_CHANGED, (int)stage, (int)was,
                 cb_arena_printf(diff->arena, "%s: %s", name, cb_str_text(&out)));
    }
    cb_str_fini(&out);
}

/* A new stage for some figures of another one: what they have instead. */
static void tell_part(struct diff *diff, size_t stage)
{
    const size_t was = (size_t)diff->match->from[diff->match->part_of[stage]];
    const unsigned differs =
        cb_recipe_parts_that_differ(diff->before, was, diff->now, stage, diff->match);
    struct cb_str out = {0};
    tell_parts(diff, &out, differs & ~(unsigned)CB_PART_FOR, was, stage);
    if (!out.length) {
        add_phrase(&out, cb_arena_printf(diff->arena, "as %s now", diff->now->stages[stage].name));
    }
    add_line(diff, CB_DIFF_CHANGED, (int)stage, (int)was,
             cb_arena_printf(diff->arena, "%s on %s: %s", diff->before->stages[was].name,
                             figures(diff, diff->now, stage), cb_str_text(&out)));
    cb_str_fini(&out);
}

static void tell_gone(struct diff *diff, size_t was)
{
    const int back = diff->match->back_to[was];
    const char *name = diff->before->stages[was].name;
    add_line(diff, back < 0 ? CB_DIFF_GONE : CB_DIFF_CHANGED, back, (int)was,
             back < 0
                 ? cb_arena_printf(diff->arena, "left out: %s", name)
                 : cb_arena_printf(diff->arena, "%s: on %s as on the others again",
                                   diff->now->stages[back].name, figures(diff, diff->before, was)));
}

static void tell_stages(struct diff *diff)
{
    bool stayed[CB_RECIPE_MAX];
    find_stayed(diff->match, diff->now->stage_count, stayed);
    for (size_t i = 0; i < diff->now->stage_count; i++) {
        if (diff->match->from[i] >= 0) {
            tell_kept(diff, i, !stayed[i]);
        } else if (diff->match->part_of[i] >= 0) {
            tell_part(diff, i);
        } else {
            add_line(diff, CB_DIFF_NEW, (int)i, -1,
                     cb_arena_printf(diff->arena, "new: %s %s", diff->now->stages[i].name,
                                     place(diff, i)));
        }
    }
    for (size_t i = 0; i < diff->before->stage_count; i++) {
        if (diff->match->to[i] < 0) {
            tell_gone(diff, i);
        }
    }
}

static void tell_number(struct diff *diff, struct cb_str *out, const char *what, double now,
                        double before, const char *unit)
{
    if (!same_number(now, before)) {
        const char *unsaid = "what is usual";
        add_instead(diff, out,
                    isnan(now) ? cb_arena_printf(diff->arena, "%s %s", what, unsaid)
                               : cb_arena_printf(diff->arena, "%s %g%s", what, now, unit),
                    isnan(before) ? unsaid : cb_arena_printf(diff->arena, "%g%s", before, unit));
    }
}

static void tell_paint(struct diff *diff, const struct cb_paint *was, const struct cb_paint *is)
{
    struct cb_str out = {0};
    if (strcmp(was->name, is->name) != 0) {
        add_instead(diff, &out, is->name, was->name);
    }
    if (was->kind != is->kind) {
        add_instead(diff, &out, diff->kinds->kinds[is->kind].name,
                    diff->kinds->kinds[was->kind].name);
    }
    tell_number(diff, &out, "film", is->film_um, was->film_um, " um");
    tell_number(diff, &out, "solids", is->solids * 100, was->solids * 100, " %");
    tell_number(diff, &out, "dry after", is->dry_min, was->dry_min, " min");
    tell_number(diff, &out, "label", is->label_min, was->label_min, " min");
    tell_number(diff, &out, "drops per ml", is->drops_per_ml, was->drops_per_ml, "");
    if (was->tone != is->tone) {
        add_phrase(&out, "another tone");
    }
    if (!same_text(was->instead, is->instead)) {
        add_phrase(&out, "another substitute");
    }
    if (out.length) {
        add_line(diff, CB_DIFF_PAINT, -1, -1,
                 cb_arena_printf(diff->arena, "%s: %s", is->key, cb_str_text(&out)));
    }
    cb_str_fini(&out);
}

static void tell_paints(struct diff *diff)
{
    for (size_t i = 0; i < diff->now->paint_count; i++) {
        for (size_t j = 0; j < diff->before->paint_count; j++) {
            if (strcmp(diff->now->paints[i].key, diff->before->paints[j].key) == 0) {
                tell_paint(diff, &diff->before->paints[j], &diff->now->paints[i]);
            }
        }
    }
}

static bool same_names(const struct cb_recipe *before, uint64_t a, const struct cb_recipe *now,
                       uint64_t b)
{
    for (size_t i = 0; i < before->area_count; i++) {
        for (size_t j = 0; j < now->area_count; j++) {
            if (strcmp(before->areas[i].name, now->areas[j].name) == 0 &&
                (a >> i & 1) != (b >> j & 1)) {
                return false;
            }
        }
    }
    return true;
}

/* A new area takes of the shares of others; which they are is told where stages are on them. */
static void tell_areas(struct diff *diff)
{
    bool shares = false, neighbours = false, apart = false;
    for (size_t i = 0; i < diff->before->area_count; i++) {
        for (size_t j = 0; j < diff->now->area_count; j++) {
            const struct cb_area *was = &diff->before->areas[i], *is = &diff->now->areas[j];
            if (strcmp(was->name, is->name) == 0) {
                shares |= !same_number(was->share_pct, is->share_pct) ||
                          !same_number(was->disc_mm, is->disc_mm);
                neighbours |= !same_names(diff->before, was->beside, diff->now, is->beside) ||
                              !same_names(diff->before, was->near, diff->now, is->near);
                apart |= was->apart != is->apart;
            }
        }
    }
    struct cb_str out = {0};
    if (shares) {
        add_phrase(&out, "other sizes");
    }
    if (neighbours) {
        add_phrase(&out, "other neighbours");
    }
    if (apart) {
        add_phrase(&out, "other parts apart");
    }
    if (out.length) {
        add_line(diff, CB_DIFF_REST, -1, -1,
                 cb_arena_printf(diff->arena, "areas: %s", cb_str_text(&out)));
    }
    cb_str_fini(&out);
}

static void tell_whole(struct diff *diff)
{
    const struct cb_recipe *was = diff->before, *is = diff->now;
    bool pictures = was->picture_count == is->picture_count;
    for (size_t i = 0; pictures && i < is->picture_count; i++) {
        pictures = same_text(was->pictures[i], is->pictures[i]);
    }
    struct cb_str out = {0};
    if (!same_text(was->name, is->name)) {
        add_instead(diff, &out, cb_arena_printf(diff->arena, "called %s", is->name), was->name);
    }
    tell_number(diff, &out, "height", is->height_mm, was->height_mm, " mm");
    tell_number(diff, &out, "change of paint", is->change_min, was->change_min, " min");
    if (!same_text(was->about, is->about)) {
        add_phrase(&out, "another text about it");
    }
    if (!pictures) {
        add_phrase(&out, "other pictures");
    }
    if (out.length) {
        add_line(diff, CB_DIFF_REST, -1, -1,
                 cb_arena_printf(diff->arena, "the recipe: %s", cb_str_text(&out)));
    }
    cb_str_fini(&out);
}

struct cb_recipe_diff cb_recipe_diff(const struct cb_recipe *before, const struct cb_recipe *now,
                                     const struct cb_recipe_match *match,
                                     const struct cb_kinds *kinds, struct cb_arena *arena)
{
    struct diff diff = {
        .before = before, .now = now, .match = match, .kinds = kinds, .arena = arena};
    if (before->figures != now->figures && now->figures > 0) {
        add_line(&diff, CB_DIFF_FIGURES, -1, -1,
                 before->figures > 0 ? cb_arena_printf(arena, "figures: %d instead of %d",
                                                       now->figures, before->figures)
                                     : cb_arena_printf(arena, "figures: %d", now->figures));
    }
    tell_stages(&diff);
    tell_paints(&diff);
    tell_areas(&diff);
    tell_whole(&diff);
    struct cb_diff_line *kept = cb_arena_alloc(arena, diff.lines.count, sizeof *kept);
    if (diff.lines.count > 0) {
        memcpy(kept, diff.lines.items, diff.lines.count * sizeof *kept);
    }
    const struct cb_recipe_diff told = {diff.lines.count, kept};
    cb_vec_free(&diff.lines);
    return told;
}
