/* SPDX-License-Identifier: MIT */
#include "core/recipe/recipe_diff.h"

#include <math.h>
#include <string.h>

#include "base/str.h"
#include "core/recipe/recipe_diff_internal.h"

static bool same_number(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static void add_line(struct cb_differ *differ, enum cb_diff_kind kind, int stage, int was,
                     const char *text)
{
    cb_vec_push(&differ->lines, ((struct cb_diff_line){kind, stage, was, text}));
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
    char *end = strstr(text, " to 99"); /* a group without an end */
    if (end) {
        memcpy(end, " on", sizeof " on");
    }
    cb_str_fini(&out);
    return text;
}

void cb_diff_phrase(struct cb_str *out, const char *text)
{
    cb_str_addf(out, "%s%s", out->length ? ", " : "", text);
}

void cb_diff_instead(const struct cb_differ *differ, struct cb_str *out, const char *now,
                     const char *before)
{
    cb_diff_phrase(out, cb_arena_printf(differ->arena, "%s instead of %s", now, before));
}

/* Stages that kept their order among each other: as many as can be, so that the fewest moved. */
static void find_stayed(const struct cb_recipe_match *match, size_t count,
                        bool stayed[CB_RECIPE_MAX])
{
    int length[CB_RECIPE_MAX] = {0}, before[CB_RECIPE_MAX], best = -1;
    for (int i = 0; i < (int)count; i++) {
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

static const char *place(const struct cb_differ *differ, size_t stage)
{
    return stage == 0
               ? "first"
               : cb_arena_printf(differ->arena, "after %s", differ->now->stages[stage - 1].name);
}

/* The figures that can be meant: as many as either recipe says, else as are in a group. */
static void known_figures(const struct cb_differ *differ, uint64_t figures[2])
{
    const int before = differ->before->figures, now = differ->now->figures;
    const int most = before > now ? before : now;
    figures[0] = figures[1] = 0;
    for (int figure = 1; figure <= most; figure++) {
        figures[(figure - 1) / 64] |= UINT64_C(1) << ((figure - 1) % 64);
    }
    for (size_t i = 0; most == 0 && i < differ->before->group_count; i++) {
        figures[0] |= differ->before->groups[i].figures[0];
        figures[1] |= differ->before->groups[i].figures[1];
    }
    for (size_t i = 0; most == 0 && i < differ->now->group_count; i++) {
        figures[0] |= differ->now->groups[i].figures[0];
        figures[1] |= differ->now->groups[i].figures[1];
    }
}

/* Is what the stage lost or gained of figures told by the stages made of it or taken back? */
static bool is_told(const struct cb_differ *differ, size_t stage)
{
    uint64_t had[2], has[2], more[2], known[2];
    bool any = false;
    known_figures(differ, known);
    cb_recipe_figures_of(differ->before, (size_t)differ->match->from[stage], had);
    cb_recipe_figures_of(differ->now, stage, has);
    for (size_t i = 0; i < differ->now->stage_count; i++) {
        if (differ->match->part_of[i] == (int)stage) {
            any = true;
            had[0] &= ~differ->match->figures[i][0];
            had[1] &= ~differ->match->figures[i][1];
        }
    }
    for (size_t i = 0; i < differ->before->stage_count; i++) {
        if (differ->match->back_to[i] == (int)stage) {
            any = true;
            cb_recipe_figures_of(differ->before, i, more);
            had[0] |= more[0];
            had[1] |= more[1];
        }
    }
    return any && ((had[0] ^ has[0]) & known[0]) == 0 && ((had[1] ^ has[1]) & known[1]) == 0;
}

static void tell_kept(struct cb_differ *differ, size_t stage, bool moved)
{
    const size_t was = (size_t)differ->match->from[stage];
    const char *name = differ->before->stages[was].name;
    unsigned differs =
        cb_recipe_parts_that_differ(differ->before, was, differ->now, stage, differ->match);
    struct cb_str out = {0};
    if (differs & CB_PART_FOR && is_told(differ, stage)) {
        differs &= ~(unsigned)CB_PART_FOR;
    }
    if (strcmp(name, differ->now->stages[stage].name) != 0) {
        cb_diff_phrase(
            &out, cb_arena_printf(differ->arena, "renamed %s", differ->now->stages[stage].name));
    }
    cb_diff_parts(differ, &out, differs, was, stage);
    if (moved) {
        cb_diff_phrase(&out, cb_arena_printf(differ->arena, "now %s", place(differ, stage)));
    }
    if (out.length) {
        add_line(differ, CB_DIFF_CHANGED, (int)stage, (int)was,
                 cb_arena_printf(differ->arena, "%s: %s", name, cb_str_text(&out)));
    }
    cb_str_fini(&out);
}

/* A new stage for some figures of another one: what they have instead. */
static void tell_part(struct cb_differ *differ, size_t stage)
{
    const size_t was = (size_t)differ->match->from[differ->match->part_of[stage]];
    const unsigned differs =
        cb_recipe_parts_that_differ(differ->before, was, differ->now, stage, differ->match);
    struct cb_str out = {0};
    cb_diff_parts(differ, &out, differs & ~(unsigned)CB_PART_FOR, was, stage);
    if (!out.length) {
        cb_diff_phrase(
            &out, cb_arena_printf(differ->arena, "as %s now", differ->now->stages[stage].name));
    }
    add_line(differ, CB_DIFF_CHANGED, (int)stage, (int)was,
             cb_arena_printf(differ->arena, "%s on %s: %s", differ->before->stages[was].name,
                             cb_diff_for(differ, differ->now, stage), cb_str_text(&out)));
    cb_str_fini(&out);
}

static void tell_gone(struct cb_differ *differ, size_t was)
{
    const int back = differ->match->back_to[was];
    const char *name = differ->before->stages[was].name;
    add_line(differ, back < 0 ? CB_DIFF_GONE : CB_DIFF_CHANGED, back, (int)was,
             back < 0 ? cb_arena_printf(differ->arena, "left out: %s", name)
                      : cb_arena_printf(differ->arena, "%s: on %s as on the others again",
                                        differ->now->stages[back].name,
                                        cb_diff_for(differ, differ->before, was)));
}

static void tell_stages(struct cb_differ *differ)
{
    bool stayed[CB_RECIPE_MAX] = {false};
    find_stayed(differ->match, differ->now->stage_count, stayed);
    for (size_t i = 0; i < differ->now->stage_count; i++) {
        if (differ->match->from[i] >= 0) {
            tell_kept(differ, i, !stayed[i]);
        } else if (differ->match->part_of[i] >= 0) {
            tell_part(differ, i);
        } else {
            add_line(differ, CB_DIFF_NEW, (int)i, -1,
                     cb_arena_printf(differ->arena, "new: %s %s", differ->now->stages[i].name,
                                     place(differ, i)));
        }
    }
    for (size_t i = 0; i < differ->before->stage_count; i++) {
        if (differ->match->to[i] < 0) {
            tell_gone(differ, i);
        }
    }
}

static void tell_number(struct cb_differ *differ, struct cb_str *out, const char *what, double now,
                        double before, const char *unit)
{
    if (!same_number(now, before)) {
        const char *unsaid = "what is usual";
        cb_diff_instead(differ, out,
                        isnan(now) ? cb_arena_printf(differ->arena, "%s %s", what, unsaid)
                                   : cb_arena_printf(differ->arena, "%s %g%s", what, now, unit),
                        isnan(before) ? unsaid
                                      : cb_arena_printf(differ->arena, "%g%s", before, unit));
    }
}

static void tell_paint(struct cb_differ *differ, const struct cb_paint *was,
                       const struct cb_paint *is)
{
    struct cb_str out = {0};
    if (strcmp(was->name, is->name) != 0) {
        cb_diff_instead(differ, &out, is->name, was->name);
    }
    if (was->kind != is->kind) {
        cb_diff_instead(differ, &out, differ->kinds->kinds[is->kind].name,
                        differ->kinds->kinds[was->kind].name);
    }
    tell_number(differ, &out, "film", is->film_um, was->film_um, " um");
    tell_number(differ, &out, "solids", is->solids * 100, was->solids * 100, " %");
    tell_number(differ, &out, "dry after", is->dry_min, was->dry_min, " min");
    tell_number(differ, &out, "label", is->label_min, was->label_min, " min");
    tell_number(differ, &out, "drops per ml", is->drops_per_ml, was->drops_per_ml, "");
    if (was->tone != is->tone) {
        cb_diff_phrase(&out, "another tone");
    }
    if (!cb_str_same(was->instead, is->instead)) {
        cb_diff_phrase(&out, "another substitute");
    }
    if (out.length) {
        add_line(differ, CB_DIFF_PAINT, -1, -1,
                 cb_arena_printf(differ->arena, "%s: %s", is->key, cb_str_text(&out)));
    }
    cb_str_fini(&out);
}

static void tell_paints(struct cb_differ *differ)
{
    for (size_t i = 0; i < differ->now->paint_count; i++) {
        for (size_t j = 0; j < differ->before->paint_count; j++) {
            if (strcmp(differ->now->paints[i].key, differ->before->paints[j].key) == 0) {
                tell_paint(differ, &differ->before->paints[j], &differ->now->paints[i]);
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

/* A share that nobody wrote moves with the others. Which areas there are is told where stages are
 * on them. */
static void tell_areas(struct cb_differ *differ)
{
    bool shares = false, neighbours = false, apart = false;
    for (size_t i = 0; i < differ->before->area_count; i++) {
        for (size_t j = 0; j < differ->now->area_count; j++) {
            const struct cb_area *was = &differ->before->areas[i], *is = &differ->now->areas[j];
            if (strcmp(was->name, is->name) == 0) {
                shares |= was->share_said != is->share_said ||
                          (is->share_said && was->share_pct != is->share_pct) ||
                          !same_number(was->disc_mm, is->disc_mm);
                neighbours |= !same_names(differ->before, was->beside, differ->now, is->beside) ||
                              !same_names(differ->before, was->near, differ->now, is->near);
                apart |= was->apart != is->apart;
            }
        }
    }
    struct cb_str out = {0};
    if (shares) {
        cb_diff_phrase(&out, "other sizes");
    }
    if (neighbours) {
        cb_diff_phrase(&out, "other neighbours");
    }
    if (apart) {
        cb_diff_phrase(&out, "other parts apart");
    }
    if (out.length) {
        add_line(differ, CB_DIFF_REST, -1, -1,
                 cb_arena_printf(differ->arena, "areas: %s", cb_str_text(&out)));
    }
    cb_str_fini(&out);
}

static void tell_names(struct cb_differ *differ)
{
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        const char *was = differ->before->names[figure], *is = differ->now->names[figure];
        if (!cb_str_same(was, is)) {
            add_line(differ, CB_DIFF_REST, -1, -1,
                     is ? cb_arena_printf(differ->arena, "figure %d: %s instead of %s", figure, is,
                                          was ? was : "no name")
                        : cb_arena_printf(differ->arena, "figure %d: no name instead of %s", figure,
                                          was));
        }
    }
}

static void tell_whole(struct cb_differ *differ)
{
    const struct cb_recipe *was = differ->before, *is = differ->now;
    bool pictures = was->picture_count == is->picture_count;
    for (size_t i = 0; pictures && i < is->picture_count; i++) {
        pictures = cb_str_same(was->pictures[i], is->pictures[i]);
    }
    struct cb_str out = {0};
    if (!cb_str_same(was->name, is->name)) {
        cb_diff_instead(differ, &out, cb_arena_printf(differ->arena, "called %s", is->name),
                        was->name);
    }
    tell_number(differ, &out, "height", is->height_mm, was->height_mm, " mm");
    tell_number(differ, &out, "change of paint", is->change_min, was->change_min, " min");
    if (!cb_str_same(was->about, is->about)) {
        cb_diff_phrase(&out, "another text about it");
    }
    if (!pictures) {
        cb_diff_phrase(&out, "other pictures");
    }
    if (out.length) {
        add_line(differ, CB_DIFF_REST, -1, -1,
                 cb_arena_printf(differ->arena, "the recipe: %s", cb_str_text(&out)));
    }
    cb_str_fini(&out);
}

struct cb_recipe_diff cb_recipe_diff(const struct cb_recipe *before, const struct cb_recipe *now,
                                     const struct cb_recipe_match *match,
                                     const struct cb_kinds *kinds, struct cb_arena *arena)
{
    struct cb_differ differ = {
        .before = before, .now = now, .match = match, .kinds = kinds, .arena = arena};
    if (before->figures != now->figures && now->figures > 0) {
        add_line(&differ, CB_DIFF_FIGURES, -1, -1,
                 before->figures > 0 ? cb_arena_printf(arena, "figures: %d instead of %d",
                                                       now->figures, before->figures)
                                     : cb_arena_printf(arena, "figures: %d", now->figures));
    }
    tell_stages(&differ);
    tell_paints(&differ);
    tell_areas(&differ);
    tell_names(&differ);
    tell_whole(&differ);
    struct cb_diff_line *kept = cb_arena_alloc(arena, differ.lines.count, sizeof *kept);
    if (differ.lines.count > 0) {
        memcpy(kept, differ.lines.items, differ.lines.count * sizeof *kept);
    }
    const struct cb_recipe_diff told = {differ.lines.count, kept};
    cb_vec_free(&differ.lines);
    return told;
}
