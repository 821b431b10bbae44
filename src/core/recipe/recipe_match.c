/* SPDX-License-Identifier: MIT */
#include "core/recipe/recipe_match.h"

#include <math.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"

static bool same_number(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static bool same_folded(const char *a, const char *b)
{
    struct cb_arena arena = {0};
    const bool same = strcmp(cb_utf8_fold(&arena, a), cb_utf8_fold(&arena, b)) == 0;
    cb_arena_fini(&arena);
    return same;
}

bool cb_recipe_same_paint(const struct cb_recipe *before, int paint, const struct cb_recipe *now,
                          int other)
{
    if (paint < 0 || other < 0) {
        return paint < 0 && other < 0;
    }
    const struct cb_paint *a = &before->paints[paint], *b = &now->paints[other];
    return strcmp(a->key, b->key) == 0 || (a->kind == b->kind && same_folded(a->name, b->name));
}

void cb_recipe_figures_of(const struct cb_recipe *recipe, size_t stage, uint64_t figures[2])
{
    const uint64_t groups = recipe->stages[stage].groups;
    figures[0] = figures[1] = groups == 0 ? UINT64_MAX : 0;
    for (size_t i = 0; i < recipe->group_count; i++) {
        if (groups >> i & 1) {
            figures[0] |= recipe->groups[i].figures[0];
            figures[1] |= recipe->groups[i].figures[1];
        }
    }
}

static const struct cb_mix_part *part_of(const struct cb_recipe *before,
                                         const struct cb_mix_part *part,
                                         const struct cb_recipe *now, const struct cb_mix *mix)
{
    for (size_t i = 0; i < mix->count; i++) {
        if (mix->parts[i].what == part->what &&
            (part->what != CB_MIX_PAINT ||
             cb_recipe_same_paint(before, part->paint, now, mix->parts[i].paint))) {
            return &mix->parts[i];
        }
    }
    return NULL;
}

/* The only paint of a mix; NULL: none, or a blend. */
static const struct cb_mix_part *lone_paint(const struct cb_mix *mix)
{
    const struct cb_mix_part *found = NULL;
    for (size_t i = 0; i < mix->count; i++) {
        if (mix->parts[i].what == CB_MIX_PAINT) {
            if (found) {
                return NULL;
            }
            found = &mix->parts[i];
        }
    }
    return found;
}

static unsigned mix_differs(const struct cb_recipe *before, const struct cb_stage *a,
                            const struct cb_recipe *now, const struct cb_stage *b)
{
    const struct cb_mix_part *lone[2] = {lone_paint(&a->mix), lone_paint(&b->mix)};
    unsigned differs = a->mix_said != b->mix_said || a->mix.count != b->mix.count ? CB_PART_MIX : 0;
    if (!lone[0] != !lone[1]) {
        differs |= CB_PART_PAINT;
    }
    for (size_t i = 0; i < a->mix.count; i++) {
        const struct cb_mix_part *part = &a->mix.parts[i];
        const struct cb_mix_part *other = part_of(before, part, now, &b->mix);
        if (!other && part->what == CB_MIX_PAINT) {
            differs |= CB_PART_PAINT;
            other = lone[0] && lone[1] ? lone[1] : NULL; /* another one, thinned as before? */
        }
        differs |= !other || other->parts != part->parts ? CB_PART_MIX : 0;
    }
    return differs;
}

static bool same_areas(const struct cb_recipe *before, const struct cb_stage *a,
                       const struct cb_recipe *now, const struct cb_stage *b)
{
    size_t count[2] = {0, 0};
    if (a->whole || b->whole) {
        return a->whole == b->whole;
    }
    for (size_t j = 0; j < now->area_count; j++) {
        count[1] += b->on >> j & 1;
    }
    for (size_t i = 0; i < before->area_count; i++) {
        bool found = false;
        for (size_t j = 0; j < now->area_count; j++) {
            found |= (b->on >> j & 1) && cb_str_same(before->areas[i].name, now->areas[j].name);
        }
        if (a->on >> i & 1) {
            count[0]++;
            if (!found) {
                return false;
            }
        }
    }
    return count[0] == count[1];
}

static bool same_tidy(const struct cb_recipe *before, const struct cb_stage *a,
                      const struct cb_recipe *now, const struct cb_stage *b)
{
    size_t count[2] = {0, 0};
    for (size_t j = 0; j < now->paint_count; j++) {
        count[1] += b->tidy_with >> j & 1;
    }
    for (size_t i = 0; i < before->paint_count; i++) {
        if (!(a->tidy_with >> i & 1)) {
            continue;
        }
        bool found = false;
        for (size_t j = 0; j < now->paint_count; j++) {
            found |= (b->tidy_with >> j & 1) && cb_recipe_same_paint(before, (int)i, now, (int)j);
        }
        count[0]++;
        if (!found) {
            return false;
        }
    }
    return count[0] == count[1];
}

/* Waiting for a stage is waiting for the parts of it. Of stages whose own match is not known yet
 * the number alone is compared. */
static bool same_after(const struct cb_stage *a, const struct cb_stage *b,
                       const struct cb_recipe_match *match)
{
    size_t count[2] = {0, 0};
    for (size_t i = 0; i < CB_RECIPE_MAX; i++) {
        const bool waited = a->after >> i & 1, waits = b->after >> i & 1;
        const int whole = match->part_of[i], to = match->to[i], back = match->back_to[i];
        count[0] += waited && !(back >= 0 && (b->after >> back & 1));
        count[1] += waits && !(whole >= 0 && (b->after >> whole & 1));
        if (waited && to >= 0 && !(b->after >> to & 1)) {
            return false;
        }
    }
    return a->has_after == b->has_after && count[0] == count[1];
}

static bool same_pictures(const struct cb_stage *a, const struct cb_stage *b)
{
    bool same = a->picture_count == b->picture_count;
    for (size_t i = 0; same && i < a->picture_count; i++) {
        same = cb_str_same(a->pictures[i], b->pictures[i]);
    }
    return same;
}

unsigned cb_recipe_parts_that_differ(const struct cb_recipe *before, size_t stage,
                                     const struct cb_recipe *now, size_t other,
                                     const struct cb_recipe_match *match)
{
    const struct cb_stage *a = &before->stages[stage], *b = &now->stages[other];
    uint64_t figures[2][2];
    cb_recipe_figures_of(before, stage, figures[0]);
    cb_recipe_figures_of(now, other, figures[1]);
    const struct {
        bool same;
        enum cb_stage_part part;
    } rows[] = {
        {a->technique == b->technique, CB_PART_TECHNIQUE},
        {same_areas(before, a, now, b), CB_PART_ON},
        {memcmp(figures[0], figures[1], sizeof figures[0]) == 0, CB_PART_FOR},
        {a->by == b->by, CB_PART_BY},
        {cb_str_same(a->place, b->place), CB_PART_PLACE},
        {a->coats == b->coats, CB_PART_COATS},
        {same_number(a->work_min, b->work_min), CB_PART_MINUTES},
        {same_number(a->dry_min, b->dry_min), CB_PART_DRY},
        {same_number(a->wait_min, b->wait_min), CB_PART_WAIT},
        {cb_str_same(a->brush, b->brush), CB_PART_BRUSH},
        {same_tidy(before, a, now, b), CB_PART_TIDY},
        {a->together == b->together, CB_PART_TOGETHER},
        {a->optional == b->optional, CB_PART_OPTIONAL},
        {same_after(a, b, match), CB_PART_AFTER},
        {same_pictures(a, b), CB_PART_PICTURES},
        {cb_str_same(a->say, b->say), CB_PART_SAY},
    };
    unsigned differs = mix_differs(before, a, now, b);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        differs |= rows[i].same ? 0 : rows[i].part;
    }
    return differs;
}

static void match_names(const struct cb_recipe *before, const struct cb_recipe *now,
                        struct cb_recipe_match *match)
{
    for (size_t i = 0; i < before->stage_count; i++) {
        match->to[i] = cb_recipe_stage(now, before->stages[i].name);
        if (match->to[i] >= 0) {
            match->from[match->to[i]] = (int)i;
        }
    }
}

static bool is_known(const char *const *known, size_t known_count, const char *name)
{
    for (size_t i = 0; i < known_count; i++) {
        if (strcmp(known[i], name) == 0) {
            return true;
        }
    }
    return false;
}

const char *cb_recipe_name_after_paint(const struct cb_recipe *recipe, size_t stage)
{
    const struct cb_mix *mix = &recipe->stages[stage].mix;
    const char *at = recipe->stages[stage].name;
    bool any = false;
    for (size_t i = 0; i < mix->count; i++) {
        if (mix->parts[i].what != CB_MIX_PAINT) {
            continue;
        }
        const char *paint = recipe->paints[mix->parts[i].paint].name;
        if (any && strncmp(at, " + ", 3) != 0) {
            return NULL;
        }
        at += any ? 3 : 0;
        if (strncmp(at, paint, strlen(paint)) != 0) {
            return NULL;
        }
        at += strlen(paint);
        any = true;
    }
    return any && *at == ' ' ? at : NULL;
}

static bool is_same(const struct cb_recipe *before, size_t stage, const struct cb_recipe *now,
                    size_t other, const struct cb_recipe_match *match)
{
    return cb_recipe_parts_that_differ(before, stage, now, other, match) == 0;
}

/* The same with another paint, by which both are called. */
static bool is_repainted(const struct cb_recipe *before, size_t stage, const struct cb_recipe *now,
                         size_t other, const struct cb_recipe_match *match)
{
    static const unsigned may =
        CB_PART_PAINT | CB_PART_MIX | CB_PART_BY | CB_PART_COATS | CB_PART_MINUTES;
    const char *had = cb_recipe_name_after_paint(before, stage);
    const char *has = cb_recipe_name_after_paint(now, other);
    return had && has && strcmp(had, has) == 0 &&
           (cb_recipe_parts_that_differ(before, stage, now, other, match) & ~may) == 0;
}

/* As many that are gone as are new are alike: each is the next of them, in order. */
static void match_renamed(const struct cb_recipe *before, const struct cb_recipe *now,
                          const bool *fresh,
                          bool (*alike)(const struct cb_recipe *, size_t, const struct cb_recipe *,
                                        size_t, const struct cb_recipe_match *),
                          struct cb_recipe_match *match)
{
    for (size_t i = 0; i < before->stage_count; i++) {
        size_t gone[CB_RECIPE_MAX], found[CB_RECIPE_MAX], gone_count = 0, found_count = 0;
        if (match->to[i] >= 0) {
            continue;
        }
        for (size_t j = 0; j < now->stage_count; j++) {
            if (fresh[j] && match->from[j] < 0 && alike(before, i, now, j, match)) {
                found[found_count++] = j;
            }
        }
        for (size_t k = 0; k < before->stage_count && found_count > 0; k++) {
            if (match->to[k] < 0 && alike(before, k, now, found[0], match)) {
                gone[gone_count++] = k;
            }
        }
        for (size_t k = 0; k < found_count && gone_count == found_count; k++) {
            match->to[gone[k]] = (int)found[k];
            match->from[found[k]] = (int)gone[k];
        }
    }
}

/* Do they share an area, by its name? */
static bool meet(const struct cb_recipe *before, const struct cb_stage *a,
                 const struct cb_recipe *now, const struct cb_stage *b)
{
    bool found = a->whole || b->whole;
    for (size_t i = 0; i < before->area_count; i++) {
        for (size_t j = 0; (a->on >> i & 1) && j < now->area_count; j++) {
            found |= (b->on >> j & 1) && cb_str_same(before->areas[i].name, now->areas[j].name);
        }
    }
    return found;
}

/* Is the one a part of the other: the same work on the same place? */
static bool are_alike(const struct cb_recipe *before, int stage, const struct cb_recipe *now,
                      int other)
{
    return stage >= 0 && other >= 0 &&
           before->stages[stage].technique == now->stages[other].technique &&
           meet(before, &before->stages[stage], now, &now->stages[other]);
}

static bool are_within(const uint64_t inner[2], const uint64_t outer[2])
{
    return (inner[0] & ~outer[0]) == 0 && (inner[1] & ~outer[1]) == 0;
}

/* Has a stage of before that is still there given up all figures of that new one? */
static bool has_given_up(const struct cb_recipe *before, const struct cb_recipe *now, int kept,
                         size_t made, const struct cb_recipe_match *match)
{
    uint64_t had[2], has[2], made_for[2];
    const int was = kept < 0 ? -1 : match->from[kept];
    if (!are_alike(before, was, now, (int)made)) {
        return false;
    }
    cb_recipe_figures_of(before, (size_t)was, had);
    cb_recipe_figures_of(now, (size_t)kept, has);
    cb_recipe_figures_of(now, made, made_for);
    const uint64_t lost[2] = {had[0] & ~has[0], had[1] & ~has[1]};
    return are_within(made_for, lost);
}

/* And has one taken back all figures of that one which is gone? */
static bool has_taken_back(const struct cb_recipe *before, const struct cb_recipe *now, int kept,
                           size_t gone, const struct cb_recipe_match *match)
{
    uint64_t had[2], has[2], gone_for[2];
    const int is = kept < 0 ? -1 : match->to[kept];
    if (!are_alike(before, (int)gone, now, is)) {
        return false;
    }
    cb_recipe_figures_of(before, (size_t)kept, had);
    cb_recipe_figures_of(now, (size_t)is, has);
    cb_recipe_figures_of(before, gone, gone_for);
    const uint64_t gained[2] = {has[0] & ~had[0], has[1] & ~had[1]};
    return are_within(gone_for, gained);
}

/* The next one before or after that is in both recipes; -1: none. */
static int neighbour(const int *match, size_t count, size_t at, int step)
{
    int next = (int)at + step;
    while (next >= 0 && next < (int)count && match[next] < 0) {
        next += step;
    }
    return next >= 0 && next < (int)count ? next : -1;
}

static void match_parts(const struct cb_recipe *before, const struct cb_recipe *now,
                        const bool *fresh, struct cb_recipe_match *match)
{
    for (size_t i = 0; i < now->stage_count; i++) {
        for (int step = -1; step <= 1 && fresh[i] && match->from[i] < 0; step += 2) {
            const int kept = neighbour(match->from, now->stage_count, i, step);
            if (match->part_of[i] < 0 && has_given_up(before, now, kept, i, match)) {
                match->part_of[i] = kept;
                cb_recipe_figures_of(now, i, match->figures[i]);
            }
        }
    }
    for (size_t i = 0; i < before->stage_count; i++) {
        for (int step = -1; step <= 1 && match->to[i] < 0; step += 2) {
            const int kept = neighbour(match->to, before->stage_count, i, step);
            if (match->back_to[i] < 0 && has_taken_back(before, now, kept, i, match)) {
                match->back_to[i] = match->to[kept];
            }
        }
    }
}

void cb_recipe_match(const struct cb_recipe *before, const struct cb_recipe *now,
                     const char *const *known, size_t known_count, struct cb_recipe_match *match)
{
    bool fresh[CB_RECIPE_MAX] = {false};
    *match = (struct cb_recipe_match){0};
    for (size_t i = 0; i < CB_RECIPE_MAX; i++) {
        match->to[i] = match->from[i] = match->part_of[i] = match->back_to[i] = -1;
    }
    for (size_t i = 0; i < now->stage_count; i++) {
        fresh[i] = !is_known(known, known_count, now->stages[i].name);
    }
    match_names(before, now, match);
    match_renamed(before, now, fresh, is_same, match);
    match_renamed(before, now, fresh, is_repainted, match);
    match_parts(before, now, fresh, match);
}

int cb_recipe_home(const struct cb_recipe_match *match, size_t stage, int figure)
{
    const int to = match->to[stage];
    if (to < 0) {
        return match->back_to[stage];
    }
    for (size_t i = 0; i < CB_RECIPE_MAX && figure > 0; i++) {
        if (match->part_of[i] == to &&
            match->figures[i][(figure - 1) / 64] >> ((figure - 1) % 64) & 1) {
            return (int)i;
        }
    }
    return to;
}
