/* SPDX-License-Identifier: MIT */
#include "core/recipe/draft.h"

#include <math.h>
#include <string.h>

#include "base/utf8.h"
#include "core/recipe/recipe_internal.h"

static uint64_t bit(size_t index)
{
    return UINT64_C(1) << index;
}

static uint64_t below(size_t count)
{
    return count >= CB_RECIPE_MAX ? UINT64_MAX : bit(count) - 1;
}

static void point(struct cb_draft *draft)
{
    draft->recipe.groups = draft->groups;
    draft->recipe.paints = draft->paints;
    draft->recipe.areas = draft->areas;
    draft->recipe.stages = draft->stages;
    draft->recipe.text = NULL;
}

void cb_draft_begin(struct cb_draft *draft, const char *name, int figures)
{
    memset(draft, 0, sizeof *draft);
    draft->recipe.name = name;
    draft->recipe.figures = figures;
    draft->recipe.height_mm = CB_RECIPE_HEIGHT_MM;
    draft->recipe.change_min = CB_RECIPE_CHANGE_MIN;
    point(draft);
}

#define COPY(to, from, count)                                                                      \
    do {                                                                                           \
        if ((count) > 0) {                                                                         \
            memcpy(to, from, (count) * sizeof *(to));                                              \
        }                                                                                          \
    } while (0)

void cb_draft_of(struct cb_draft *draft, const struct cb_recipe *recipe)
{
    memset(draft, 0, sizeof *draft);
    draft->recipe = *recipe;
    COPY(draft->groups, recipe->groups, recipe->group_count);
    COPY(draft->paints, recipe->paints, recipe->paint_count);
    COPY(draft->areas, recipe->areas, recipe->area_count);
    COPY(draft->stages, recipe->stages, recipe->stage_count);
    point(draft);
}

/* As the reader would have it. NULL: blanks alone. */
static const char *one_line(const char *text, struct cb_arena *arena)
{
    const char *line = cb_utf8_line(arena, text);
    return *line != '\0' ? line : NULL;
}

static bool same(const char *a, const char *b, struct cb_arena *arena)
{
    return strcmp(cb_utf8_fold(arena, a), cb_utf8_fold(arena, b)) == 0;
}

/* What stands at an index of a table; NULL from its end on. */
typedef const char *name_at(const struct cb_draft *draft, size_t index);

static const char *paint_key(const struct cb_draft *draft, size_t index)
{
    return index < draft->recipe.paint_count ? draft->paints[index].key : NULL;
}

static const char *area_name(const struct cb_draft *draft, size_t index)
{
    return index < draft->recipe.area_count ? draft->areas[index].name : NULL;
}

static const char *group_name(const struct cb_draft *draft, size_t index)
{
    return index < draft->recipe.group_count ? draft->groups[index].name : NULL;
}

static const char *stage_name(const struct cb_draft *draft, size_t index)
{
    return index < draft->recipe.stage_count ? draft->stages[index].name : NULL;
}

static int place_of(const struct cb_draft *draft, name_at *names, const char *name,
                    struct cb_arena *arena)
{
    for (size_t i = 0; names(draft, i) != NULL; i++) {
        if (same(names(draft, i), name, arena)) {
            return (int)i;
        }
    }
    return -1;
}

static char *unused(const struct cb_draft *draft, name_at *names, const char *wanted,
                    struct cb_arena *arena)
{
    char *name = cb_arena_text(arena, wanted);
    for (int number = 2; place_of(draft, names, name, arena) >= 0; number++) {
        name = cb_arena_printf(arena, "%s %d", wanted, number);
    }
    return name;
}

/* The name as a mix can call it. */
static const char *key_of(const char *name, struct cb_arena *arena)
{
    char *folded = cb_utf8_fold(arena, name);
    for (char *at = folded; *at != '\0'; at++) {
        *at = *at == '+' ? ' ' : *at;
    }
    const char *key = one_line(folded + strspn(folded, "0123456789.-: "), arena);
    if (key == NULL) {
        return "paint 1";
    }
    return cb_recipe_is_mix_word(key) ? cb_arena_printf(arena, "%s 1", key) : key;
}

int cb_draft_paint(struct cb_draft *draft, const char *name, size_t kind, struct cb_arena *arena)
{
    struct cb_recipe *recipe = &draft->recipe;
    const char *line = one_line(name, arena);
    if (line == NULL) {
        return -1;
    }
    for (size_t i = 0; i < recipe->paint_count; i++) {
        if (draft->paints[i].kind == kind && same(draft->paints[i].name, line, arena)) {
            return (int)i;
        }
    }
    if (recipe->paint_count == CB_RECIPE_MAX) {
        return -1;
    }
    draft->paints[recipe->paint_count] = (struct cb_paint){
        .key = unused(draft, paint_key, key_of(line, arena), arena),
        .name = line,
        .kind = kind,
        .film_um = NAN,
        .solids = NAN,
        .dry_min = NAN,
        .label_min = NAN,
        .drops_per_ml = NAN,
    };
    return (int)recipe->paint_count++;
}

int cb_draft_area(struct cb_draft *draft, const char *name, struct cb_arena *arena)
{
    struct cb_recipe *recipe = &draft->recipe;
    const char *line = one_line(name, arena);
    if (line == NULL || same(line, "whole", arena)) {
        return -1;
    }
    int found = place_of(draft, area_name, line, arena);
    if (found >= 0 || recipe->area_count == CB_RECIPE_MAX) {
        return found;
    }
    draft->areas[recipe->area_count++] = (struct cb_area){.name = line, .disc_mm = NAN};
    cb_recipe_split_shares(draft->areas, recipe->area_count);
    for (size_t i = 0; i < recipe->stage_count; i++) {
        struct cb_stage *stage = &draft->stages[i];
        stage->on = stage->whole ? below(recipe->area_count) : stage->on;
    }
    return (int)recipe->area_count - 1;
}

int cb_draft_group(struct cb_draft *draft, const uint64_t figures[2], const char *wanted,
                   struct cb_arena *arena)
{
    struct cb_recipe *recipe = &draft->recipe;
    for (size_t i = 0; i < recipe->group_count; i++) {
        const struct cb_group *group = &draft->groups[i];
        if (group->figures[0] == figures[0] && group->figures[1] == figures[1]) {
            return (int)i;
        }
    }
    const char *line = one_line(wanted, arena);
    if (line == NULL || recipe->group_count == CB_RECIPE_MAX) {
        return -1;
    }
    draft->groups[recipe->group_count] = (struct cb_group){
        .name = unused(draft, group_name, line, arena),
        .figures = {figures[0], figures[1]},
    };
    return (int)recipe->group_count++;
}

struct cb_stage cb_draft_stage(const char *name, enum cb_technique technique)
{
    return (struct cb_stage){
        .name = name,
        .technique = technique,
        .whole = true,
        .coats = 1,
        .work_min = NAN,
        .dry_min = NAN,
        .wait_min = NAN,
    };
}

char *cb_draft_stage_name(const struct cb_draft *draft, const char *wanted, struct cb_arena *arena)
{
    const char *line = one_line(wanted, arena);
    return unused(draft, stage_name, line != NULL ? line : "Stage", arena);
}

static uint64_t open_gap(uint64_t mask, size_t at)
{
    const uint64_t above = mask & ~below(at);
    return (mask & below(at)) | above << 1;
}

static uint64_t close_gap(uint64_t mask, size_t at)
{
    const uint64_t above = mask & ~below(at + 1);
    return (mask & below(at)) | above >> 1;
}

bool cb_draft_insert(struct cb_draft *draft, const struct cb_stage *stage, size_t at)
{
    struct cb_recipe *recipe = &draft->recipe;
    if (recipe->stage_count == CB_RECIPE_MAX || at > recipe->stage_count) {
        return false;
    }
    for (size_t i = 0; i < recipe->stage_count; i++) {
        draft->stages[i].after = open_gap(draft->stages[i].after, at);
    }
    memmove(&draft->stages[at + 1], &draft->stages[at],
            (recipe->stage_count - at) * sizeof *draft->stages);
    draft->stages[at] = *stage;
    if (stage->whole) {
        draft->stages[at].on = below(recipe->area_count);
    }
    recipe->stage_count++;
    return true;
}

static void take_out(struct cb_draft *draft, size_t at)
{
    draft->recipe.stage_count--;
    memmove(&draft->stages[at], &draft->stages[at + 1],
            (draft->recipe.stage_count - at) * sizeof *draft->stages);
    for (size_t i = 0; i < draft->recipe.stage_count; i++) {
        draft->stages[i].after = close_gap(draft->stages[i].after, at);
    }
}

void cb_draft_remove(struct cb_draft *draft, size_t at)
{
    if (at >= draft->recipe.stage_count) {
        return;
    }
    const uint64_t waited = cb_recipe_waits_for(&draft->recipe, at);
    for (size_t i = 0; i < draft->recipe.stage_count; i++) {
        struct cb_stage *stage = &draft->stages[i];
        if (stage->after & bit(at)) {
            stage->after = (stage->after | waited) & ~bit(at) & ~bit(i);
        }
    }
    take_out(draft, at);
}

void cb_draft_move(struct cb_draft *draft, size_t from, size_t to)
{
    if (from >= draft->recipe.stage_count || to >= draft->recipe.stage_count) {
        return;
    }
    struct cb_stage stage = draft->stages[from];
    uint64_t waiting = 0; /* who waits for it by `after`, as they stand without it */
    for (size_t i = 0; i < draft->recipe.stage_count; i++) {
        waiting |= draft->stages[i].after & bit(from) ? bit(i) : 0;
    }
    waiting = close_gap(waiting, from);
    stage.after = open_gap(close_gap(stage.after, from), to);
    take_out(draft, from);
    cb_draft_insert(draft, &stage, to);
    waiting = open_gap(waiting, to);
    for (size_t i = 0; i < draft->recipe.stage_count; i++) {
        draft->stages[i].after |= waiting & bit(i) ? bit(to) : 0;
    }
}
