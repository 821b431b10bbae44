/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "core/recipe/recipe_internal.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define DAY_MIN      (24.0 * 60)

static const char *const stage_keys[] = {
    "name",     "technique", "paint",   "mix",      "on",   "for",   "by",
    "place",    "coats",     "minutes", "dry",      "wait", "brush", "tidy_with",
    "together", "optional",  "after",   "pictures", "say"};

static const char *const technique_words[] = {
#define X(id, word) word,
    CB_TECHNIQUES(X)
#undef X
};
static const char *const by_words[] = {
#define X(id, word) word,
    CB_BYS(X)
#undef X
};

/* The stage at hand: what its issues need. */
struct stage_place {
    const struct cb_tree *map;
    const char *what; /* "stage Oilskins" */
};

/* What others call by another word than we do: says which is ours. */
static bool other_word(const struct cb_recipe_reader *reader, const struct cb_tree *at,
                       const char *what, const char *word, const char *ours)
{
    if (at == NULL || at->type != CB_TREE_TEXT || strcmp(at->text, word) != 0) {
        return false;
    }
    cb_schema_add(&reader->schema, at, "%s: unknown word: %s; %s", what, word, ours);
    return true;
}

static void read_paint_and_mix(const struct cb_recipe_reader *reader, struct stage_place place,
                               struct cb_stage *stage)
{
    const struct cb_schema *schema = &reader->schema;
    const struct cb_tree *paint_node = cb_tree_get(place.map, "paint");
    const struct cb_tree *mix_node = cb_tree_get(place.map, "mix");
    const char *word = technique_words[stage->technique];
    if (!cb_technique_may_have_paint(stage->technique) &&
        (paint_node != NULL || mix_node != NULL)) {
        cb_schema_add(schema, paint_node != NULL ? paint_node : mix_node,
                      "%s: %s takes no paint; leave the key out", place.what, word);
        return;
    }
    if (cb_technique_needs_paint(stage->technique) && paint_node == NULL && mix_node == NULL) {
        if (cb_schema_lacks(place.map, "paint", stage_keys, COUNT(stage_keys)) &&
            cb_schema_lacks(place.map, "mix", stage_keys, COUNT(stage_keys))) {
            cb_schema_add(schema, place.map,
                          "%s: %s needs a paint; name it with the key paint or mix", place.what,
                          word);
        }
        return;
    }
    int paint = -1;
    if (paint_node != NULL) {
        const char *key = cb_schema_text(schema, place.map, "paint");
        paint = key == NULL ? -1
                            : cb_recipe_lookup(reader, paint_node, "paint", key, reader->paint_keys,
                                               reader->recipe->paint_count);
        if (paint < 0) {
            return;
        }
        stage->mix.count = 1;
        stage->mix.parts[0] =
            (struct cb_mix_part){.what = CB_MIX_PAINT, .paint = paint, .parts = 1};
    }
    const char *mix = cb_schema_text(schema, place.map, "mix");
    if (mix == NULL || !cb_recipe_read_mix(reader, mix_node, mix, paint, &stage->mix)) {
        return;
    }
    stage->mix_said = true;
    bool used = paint < 0;
    for (size_t i = 0; i < stage->mix.count; i++) {
        used |= stage->mix.parts[i].paint == paint && stage->mix.parts[i].what == CB_MIX_PAINT;
    }
    if (!used) {
        cb_schema_add(schema, mix_node, "mix: %s: has nothing of the stage's paint %s", mix,
                      reader->paint_keys[paint]);
    }
}

static uint64_t all_of(size_t count)
{
    return count >= 64 ? UINT64_MAX : (UINT64_C(1) << count) - 1;
}

static void read_on(const struct cb_recipe_reader *reader, struct stage_place place,
                    struct cb_stage *stage)
{
    const struct cb_tree *node = cb_tree_get(place.map, "on");
    const char *names[CB_RECIPE_MAX + 1] = {NULL};
    size_t count = reader->recipe->area_count;
    uint64_t everything = all_of(count);
    memcpy(names, reader->area_names, sizeof reader->area_names);
    stage->whole = node == NULL;
    stage->on = everything;
    size_t items = cb_schema_list(&reader->schema, node, "on");
    if (node != NULL && items == 0 && node->type == CB_TREE_LIST) {
        cb_schema_add(&reader->schema, node, "%s: on: is empty; name an area, or whole",
                      place.what);
    }
    uint64_t on = 0;
    for (size_t i = 0; i < items; i++) {
        const struct cb_tree *item = cb_schema_item(node, i);
        const char *word = cb_schema_line(&reader->schema, item, "on");
        if (word == NULL || (cb_str_place(names, count, "all") < 0 &&
                             other_word(reader, item, "on", "all", "did you mean whole?"))) {
            continue;
        }
        if (strcmp(word, "whole") == 0) {
            stage->whole = true;
            if (items > 1) {
                cb_schema_add(&reader->schema, item,
                              "%s: on: whole is all of the figure; leave the other areas out",
                              place.what);
            }
            continue;
        }
        names[count] = "whole";
        int area = cb_recipe_lookup(reader, item, "area", word, names, count + 1);
        on |= area < 0 || (size_t)area >= count ? 0 : UINT64_C(1) << area;
    }
    if (!stage->whole) {
        stage->on = on;
    }
}

/* yes, no, or how many figures fit. */
static void read_together(const struct cb_recipe_reader *reader, struct stage_place place,
                          struct cb_stage *stage)
{
    const struct cb_tree *node = cb_tree_get(place.map, "together");
    const char *text = cb_schema_text(&reader->schema, place.map, "together");
    long long fit = 0;
    if (text == NULL || other_word(reader, node, "together", "all", "did you mean yes?") ||
        strcmp(text, "no") == 0 || strcmp(text, "false") == 0) {
        return;
    }
    if (strcmp(text, "yes") == 0 || strcmp(text, "true") == 0) {
        stage->together = CB_TOGETHER_ALL;
    } else if (cb_str_integer(text, &fit) && fit >= 2 && fit <= CB_FIGURES_MAX) {
        stage->together = (int)fit;
    } else {
        cb_schema_add(&reader->schema, node,
                      "together: %s: write yes, no, or how many figures fit, 2 to %d", text,
                      CB_FIGURES_MAX);
    }
}

static void read_by(const struct cb_recipe_reader *reader, struct stage_place place,
                    struct cb_stage *stage)
{
    int paint = cb_mix_paint(&stage->mix);
    bool sprayed = paint >= 0 && reader->kinds->kinds[reader->paints[paint].kind].sprayed;
    stage->by = sprayed ? CB_BY_CAN : CB_BY_BRUSH;
    const struct cb_tree *node = cb_tree_get(place.map, "by");
    if (other_word(reader, node, "by", "spray", "did you mean can?") ||
        other_word(reader, node, "by", "spray can", "did you mean can?")) {
        return;
    }
    int by = cb_schema_word(&reader->schema, place.map, "by", by_words, COUNT(by_words));
    if (by >= 0) {
        stage->by = (enum cb_by)by;
    }
}

static void read_technique(const struct cb_recipe_reader *reader, struct stage_place place,
                           struct cb_stage *stage)
{
    if (cb_schema_lacks(place.map, "technique", stage_keys, COUNT(stage_keys))) {
        cb_schema_add(&reader->schema, place.map, "%s: has no technique%s", place.what,
                      cb_schema_hint(&reader->schema, "", technique_words, COUNT(technique_words)));
    }
    const struct cb_tree *node = cb_tree_get(place.map, "technique");
    const bool is_text = node != NULL && node->type == CB_TREE_TEXT;
    const struct cb_trade_word *trade = is_text ? cb_trade_word(node->text) : NULL;
    if (trade != NULL && cb_str_place(technique_words, COUNT(technique_words), node->text) < 0) {
        cb_schema_add(&reader->schema, node, "technique: unknown word: %s; did you mean %s?",
                      node->text, technique_words[trade->technique]);
        return;
    }
    int technique = cb_schema_word(&reader->schema, place.map, "technique", technique_words,
                                   COUNT(technique_words));
    if (technique >= 0) {
        stage->technique = (enum cb_technique)technique;
        read_paint_and_mix(reader, place, stage);
    }
}

/* A join brings back what was painted apart; there is nothing else it could mean. */
static void check_join(const struct cb_recipe_reader *reader, struct stage_place place,
                       const struct cb_stage *stage)
{
    uint64_t apart = 0;
    for (size_t i = 0; i < reader->recipe->area_count; i++) {
        apart |= reader->areas[i].apart ? UINT64_C(1) << i : 0;
    }
    if (stage->technique != CB_TECHNIQUE_JOIN) {
        return;
    }
    const struct cb_tree *node = cb_tree_get(place.map, "on");
    node = node != NULL ? node : cb_tree_get(place.map, "technique");
    if (stage->whole && apart == 0) {
        cb_schema_add(&reader->schema, node,
                      "%s: join of what was never apart; give an area `apart: yes`", place.what);
    }
    for (size_t i = 0; i < reader->recipe->area_count && !stage->whole; i++) {
        if (stage->on >> i & 1 && !(apart >> i & 1)) {
            cb_schema_add(&reader->schema, node,
                          "%s: join of what was never apart: %s; give the area `apart: yes`",
                          place.what, reader->area_names[i]);
        }
    }
}

static void read_stage(const struct cb_recipe_reader *reader, const struct cb_tree *map,
                       size_t index, struct cb_stage *stage)
{
    const struct cb_schema *schema = &reader->schema;
    struct stage_place place = {map, cb_arena_printf(schema->arena, "stage %zu", index + 1)};
    *stage = (struct cb_stage){
        .coats = 1,
        .work_min = NAN,
        .dry_min = NAN,
        .wait_min = NAN,
        .line = map->line,
        .column = map->column,
    };
    if (reader->stage_names[index] != NULL) {
        stage->name = reader->stage_names[index];
        place.what = cb_arena_printf(schema->arena, "stage %s", stage->name);
    }
    if (!cb_schema_map(schema, map, place.what, stage_keys, COUNT(stage_keys))) {
        return;
    }
    read_technique(reader, place, stage);
    read_by(reader, place, stage);
    read_on(reader, place, stage);
    check_join(reader, place, stage);
    const struct cb_tree *whom = cb_tree_get(map, "for");
    if (cb_str_place(reader->group_names, reader->recipe->group_count, "all") >= 0 ||
        !other_word(reader, whom, "for", "all", "leave the key out, all figures are meant")) {
        stage->groups = cb_recipe_lookup_all(reader, whom, "group", reader->group_names,
                                             reader->recipe->group_count);
    }
    stage->place = cb_schema_text(schema, map, "place");
    cb_schema_integer(schema, map, "coats", 1, CB_COATS_MAX, &stage->coats);
    cb_schema_minutes(schema, map, "minutes", 0, DAY_MIN, &stage->work_min);
    cb_schema_minutes(schema, map, "dry", 0.1, 30 * DAY_MIN, &stage->dry_min);
    cb_schema_minutes(schema, map, "wait", 0, 30 * DAY_MIN, &stage->wait_min);
    stage->brush = cb_schema_text(schema, map, "brush");
    stage->tidy_with = cb_recipe_lookup_all(reader, cb_tree_get(map, "tidy_with"), "paint",
                                            reader->paint_keys, reader->recipe->paint_count);
    read_together(reader, place, stage);
    cb_schema_bool(schema, map, "optional", &stage->optional);
    stage->picture_count =
        cb_recipe_texts(reader, cb_tree_get(map, "pictures"), "pictures", &stage->pictures);
    stage->say = cb_schema_text(schema, map, "say");
}

static void read_after(const struct cb_recipe_reader *reader, const struct cb_tree *map,
                       size_t index, size_t count)
{
    struct cb_stage *stage = &reader->stages[index];
    const struct cb_tree *after = map->type == CB_TREE_MAP ? cb_tree_get(map, "after") : NULL;
    if (after == NULL) {
        return;
    }
    stage->has_after = true;
    stage->after = cb_recipe_lookup_all(reader, after, "stage", reader->stage_names, count);
    if (stage->after >> index & 1) {
        cb_schema_add(&reader->schema, after, "stage %s: after itself; name other stages",
                      stage->name != NULL ? stage->name : "?");
        stage->after &= ~(UINT64_C(1) << index);
    }
}

/* `after` may name later stages, so that a ring is possible; nothing in it could ever begin. */
static void check_rings(const struct cb_recipe_reader *reader, const struct cb_tree *list,
                        size_t count)
{
    uint64_t waits[CB_RECIPE_MAX];
    uint64_t settled = 0, before = 1;
    for (size_t i = 0; i < count; i++) {
        waits[i] = cb_recipe_waits_for(reader->recipe, i);
    }
    while (settled != before) {
        before = settled;
        for (size_t i = 0; i < count; i++) {
            if ((waits[i] & ~settled) == 0) {
                settled |= UINT64_C(1) << i;
            }
        }
    }
    for (size_t i = 0; i < count; i++) {
        if (!(settled >> i & 1) && reader->stages[i].has_after) {
            cb_schema_add(&reader->schema, cb_tree_get(&list->items[i], "after"),
                          "stage %s: waits for itself in a ring of `after`; break the ring",
                          reader->stage_names[i]);
            return;
        }
    }
}

static void read_name(struct cb_recipe_reader *reader, const struct cb_tree *map, size_t index)
{
    const struct cb_schema *schema = &reader->schema;
    if (map->type != CB_TREE_MAP) {
        return; /* read_stage says so */
    }
    const struct cb_tree *node = cb_tree_get(map, "name");
    if (node == NULL && !cb_schema_lacks(map, "name", stage_keys, COUNT(stage_keys))) {
        return;
    }
    if (node == NULL) {
        cb_schema_add(schema, map, "stage %zu: has no name; give it one, `name: Oilskins`",
                      index + 1);
        return;
    }
    const char *name = cb_schema_text(schema, map, "name");
    if (name == NULL) {
        return;
    }
    const char *folded = cb_utf8_fold(schema->arena, name);
    for (size_t i = 0; i < index; i++) {
        if (reader->stage_names[i] != NULL &&
            strcmp(cb_utf8_fold(schema->arena, reader->stage_names[i]), folded) == 0) {
            cb_schema_add(schema, node, "stage %s: the name is taken by stage %zu; make it another",
                          name, i + 1);
            return;
        }
    }
    reader->stage_names[index] = name;
}

void cb_recipe_read_stages(struct cb_recipe_reader *reader, const struct cb_tree *list)
{
    size_t issues = reader->schema.issues->count;
    if (list->type != CB_TREE_LIST || list->count == 0) {
        cb_schema_add(&reader->schema, list,
                      "stages: must be a list, a `- name: ...` for each stage");
        return;
    }
    size_t count = list->count;
    if (count > CB_RECIPE_MAX) {
        cb_schema_add(&reader->schema, &list->items[CB_RECIPE_MAX], "stages: more than %d",
                      CB_RECIPE_MAX);
        count = CB_RECIPE_MAX;
    }
    reader->stages = cb_arena_alloc(reader->schema.arena, count, sizeof *reader->stages);
    for (size_t i = 0; i < count; i++) {
        read_name(reader, &list->items[i], i);
    }
    for (size_t i = 0; i < count; i++) {
        read_stage(reader, &list->items[i], i, &reader->stages[i]);
    }
    for (size_t i = 0; i < count; i++) {
        read_after(reader, &list->items[i], i, count);
    }
    reader->recipe->stages = reader->stages;
    reader->recipe->stage_count = count;
    if (reader->schema.issues->count == issues) {
        check_rings(reader, list, count);
    }
}
