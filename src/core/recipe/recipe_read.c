/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "core/recipe/recipe_internal.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

#define DAY_MIN (24.0 * 60)

static const char *const top_keys[] = {"coatbell", "name",   "about",  "figures",
                                       "height",   "change", "groups", "names",
                                       "pictures", "paints", "areas",  "stages"};
static const char *const paint_keys[] = {"name", "kind",  "tone",    "film", "solids",
                                         "dry",  "label", "instead", "drops"};
static const char *const area_keys[] = {"share", "disc", "beside", "near", "apart"};

int cb_recipe_lookup(const struct cb_recipe_reader *reader, const struct cb_tree *at,
                     const char *what, const char *word, const char *const *names, size_t count)
{
    const int found = cb_str_place(names, count, word);
    if (found < 0) {
        cb_schema_add(&reader->schema, at, "unknown %s: %s%s", what,
                      cb_utf8_clean(reader->schema.arena, word, 60),
                      count == 0 ? "; the recipe has none"
                                 : cb_schema_hint(&reader->schema, word, names, count));
    }
    return found;
}

uint64_t cb_recipe_lookup_all(const struct cb_recipe_reader *reader, const struct cb_tree *tree,
                              const char *what, const char *const *names, size_t count)
{
    uint64_t mask = 0;
    size_t items = cb_schema_list(&reader->schema, tree, what);
    for (size_t i = 0; i < items; i++) {
        const struct cb_tree *item = cb_schema_item(tree, i);
        const char *word = cb_schema_line(&reader->schema, item, what);
        if (word != NULL) {
            int index = cb_recipe_lookup(reader, item, what, word, names, count);
            mask |= index < 0 ? 0 : UINT64_C(1) << index;
        }
    }
    return mask;
}

size_t cb_recipe_texts(const struct cb_recipe_reader *reader, const struct cb_tree *tree,
                       const char *what, const char *const **out)
{
    size_t items = cb_schema_list(&reader->schema, tree, what);
    const char **texts = cb_arena_alloc(reader->schema.arena, items, sizeof *texts);
    size_t count = 0;
    for (size_t i = 0; i < items; i++) {
        const char *text = cb_schema_line(&reader->schema, cb_schema_item(tree, i), what);
        if (text != NULL) {
            texts[count++] = text;
        }
    }
    *out = texts;
    return count;
}

/* The map under a top key and how many of its entries are read. */
static size_t open_section(const struct cb_recipe_reader *reader, const struct cb_tree *tree,
                           const char *what)
{
    if (tree == NULL) {
        return 0;
    }
    if (tree->type != CB_TREE_MAP) {
        cb_schema_add(&reader->schema, tree, "%s: must be a map of names, `name: ...` lines", what);
        return 0;
    }
    if (tree->count > CB_RECIPE_MAX) {
        cb_schema_add(&reader->schema, &tree->keys[CB_RECIPE_MAX], "%s: more than %d", what,
                      CB_RECIPE_MAX);
        return CB_RECIPE_MAX;
    }
    return tree->count;
}

/* "3", "3-5": figures first to last; "3-": to the last one that there can be. */
static bool parse_range(const char *text, long long *first, long long *last, bool *open)
{
    const char *dash = strchr(text, '-');
    char left[16];
    *open = false;
    if (dash == NULL) {
        bool ok = cb_str_integer(text, first);
        *last = *first;
        return ok;
    }
    size_t length = (size_t)(dash - text);
    while (length > 0 && text[length - 1] == ' ') {
        length--;
    }
    if (length == 0 || length >= sizeof left) {
        return false;
    }
    memcpy(left, text, length);
    left[length] = '\0';
    dash++;
    dash += strspn(dash, " ");
    *open = *dash == '\0';
    *last = CB_FIGURES_MAX;
    return cb_str_integer(left, first) && (*open || cb_str_integer(dash, last));
}

static void read_range(const struct cb_recipe_reader *reader, const struct cb_tree *item,
                       struct cb_group *group)
{
    const char *text = cb_schema_line(&reader->schema, item, "group");
    int figures = reader->recipe->figures;
    long long first = 0, last = 0;
    bool open = false;
    if (text == NULL) {
        return;
    }
    if (!parse_range(text, &first, &last, &open)) {
        cb_schema_add(&reader->schema, item,
                      "group %s: %s: write figures by their number, as in [1, 4-6] or [4-]",
                      group->name, text);
        return;
    }
    if (last < first && !open) {
        cb_schema_add(&reader->schema, item, "group %s: %s: ends before it begins; write %lld-%lld",
                      group->name, text, last, first);
        return;
    }
    long long most = figures > 0 ? figures : CB_FIGURES_MAX;
    if (first < 1 || (open ? first : last) > most) {
        cb_schema_add(&reader->schema, item,
                      "group %s: figure %lld of %lld; the unit has 1 to %lld", group->name,
                      first < 1 || open ? first : last, most, most);
        return;
    }
    for (long long figure = first; figure <= last; figure++) {
        group->figures[(figure - 1) / 64] |= UINT64_C(1) << ((figure - 1) % 64);
    }
}

static void read_groups(struct cb_recipe_reader *reader, const struct cb_tree *tree)
{
    size_t count = open_section(reader, tree, "groups");
    reader->groups = cb_arena_alloc(reader->schema.arena, count, sizeof *reader->groups);
    for (size_t i = 0; i < count; i++) {
        struct cb_group *group = &reader->groups[i];
        size_t issues = reader->schema.issues->count;
        group->name = tree->keys[i].text;
        reader->group_names[i] = group->name;
        size_t items = cb_schema_list(&reader->schema, &tree->items[i], "group");
        for (size_t item = 0; item < items; item++) {
            read_range(reader, cb_schema_item(&tree->items[i], item), group);
        }
        if (group->figures[0] == 0 && group->figures[1] == 0 &&
            issues == reader->schema.issues->count) {
            cb_schema_add(&reader->schema, &tree->items[i],
                          "group %s: has no figure; name at least one, as in [1]", group->name);
        }
    }
    reader->recipe->groups = reader->groups;
    reader->recipe->group_count = count;
}

/* Two figures of one name would not be told apart by it. */
static int named_so(const struct cb_recipe_reader *reader, const char *name)
{
    struct cb_arena *arena = reader->schema.arena;
    const char *folded = cb_utf8_fold(arena, name);
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        const char *other = reader->recipe->names[figure];
        if (other != NULL && strcmp(cb_utf8_fold(arena, other), folded) == 0) {
            return figure;
        }
    }
    return 0;
}

static void read_figure_name(const struct cb_recipe_reader *reader, const struct cb_tree *key,
                             const struct cb_tree *value)
{
    const struct cb_schema *schema = &reader->schema;
    const int most = reader->recipe->figures > 0 ? reader->recipe->figures : CB_FIGURES_MAX;
    long long figure = 0;
    if (!cb_str_integer(key->text, &figure)) {
        cb_schema_add(schema, key, "names: %s: write the figure's number, as in {1: Serjeant Oake}",
                      cb_utf8_clean(schema->arena, key->text, 60));
        return;
    }
    if (figure < 1 || figure > most) {
        cb_schema_add(schema, key, "names: figure %lld of %d; the unit has 1 to %d", figure, most,
                      most);
        return;
    }
    const char *what = cb_arena_printf(schema->arena, "name of figure %lld", figure);
    const char *name = cb_schema_line(schema, value, what);
    const int other = name != NULL ? named_so(reader, name) : 0;
    if (reader->recipe->names[figure] != NULL) {
        cb_schema_add(schema, key, "names: figure %lld has a name already; keep one of them",
                      figure);
    } else if (other > 0) {
        cb_schema_add(schema, value,
                      "name of figure %lld: it is that of figure %d; make it another", figure,
                      other);
    } else {
        reader->recipe->names[figure] = name;
    }
}

static void read_names(const struct cb_recipe_reader *reader, const struct cb_tree *tree)
{
    if (tree != NULL && tree->type != CB_TREE_MAP) {
        cb_schema_add(&reader->schema, tree, "names: must be a map, as in {1: Serjeant Oake}");
        return;
    }
    for (size_t i = 0; tree != NULL && i < tree->count; i++) {
        read_figure_name(reader, &tree->keys[i], &tree->items[i]);
    }
}

/* "25", "25 um", "0.5 mm" */
static void read_film(const struct cb_recipe_reader *reader, const struct cb_tree *map,
                      double *film_um)
{
    const char *text = cb_schema_text(&reader->schema, map, "film");
    size_t length = text == NULL ? 0 : strlen(text);
    if (length > 2 && strcmp(text + length - 2, "mm") == 0) {
        double film_mm = NAN;
        cb_schema_number(&reader->schema, map, "film", 0.001, 5, "mm", &film_mm);
        *film_um = film_mm * 1000;
    } else if (text != NULL) {
        cb_schema_number(&reader->schema, map, "film", 1, 5000, "um", film_um);
    }
}

static void read_kind(const struct cb_recipe_reader *reader, const struct cb_tree *map,
                      struct cb_paint *paint)
{
    const struct cb_tree *node = cb_tree_get(map, "kind");
    if (node == NULL) {
        /* Most pots of a painter are. A table without acrylic leaves the first kind. */
        (void)cb_kinds_find(reader->kinds, "acrylic", &paint->kind);
        return;
    }
    const char *name = cb_schema_line(&reader->schema, node, "kind");
    if (name != NULL && !cb_kinds_find(reader->kinds, name, &paint->kind)) {
        const struct cb_trade_word *trade = cb_trade_word(name);
        const bool ours = trade != NULL && cb_kinds_find(reader->kinds, trade->kind, &paint->kind);
        cb_schema_add(&reader->schema, node, "unknown kind: %s%s",
                      cb_utf8_clean(reader->schema.arena, name, 60),
                      cb_schema_hint(&reader->schema, ours ? trade->kind : name, reader->kind_names,
                                     reader->kinds->kind_count));
    }
}

static void check_paint_key(const struct cb_recipe_reader *reader, const struct cb_tree *key)
{
    const char *text = key->text;
    if (cb_recipe_is_mix_word(text)) {
        cb_schema_add(&reader->schema, key,
                      "paint %s: the word has a meaning in mixes; name it else", text);
    } else if (*text == '\0' || strchr(text, '+') != NULL || strchr(text, '\n') != NULL ||
               strchr("0123456789.- ", *text) != NULL) {
        cb_schema_add(&reader->schema, key,
                      "paint %s: a mix could not name it; begin with a letter, leave out +", text);
    }
}

static void read_paint(const struct cb_recipe_reader *reader, const struct cb_tree *key,
                       const struct cb_tree *map, struct cb_paint *paint)
{
    static const char *const tones[] = {"dark", "mid", "light"};
    const struct cb_schema *schema = &reader->schema;
    const char *what = cb_arena_printf(schema->arena, "paint %s", key->text);
    double solids_pct = NAN;
    *paint = (struct cb_paint){
        .key = key->text,
        .name = key->text,
        .film_um = NAN,
        .solids = NAN,
        .dry_min = NAN,
        .label_min = NAN,
        .drops_per_ml = NAN,
        .line = key->line,
        .column = key->column,
    };
    check_paint_key(reader, key);
    if (!cb_schema_map(schema, map, what, paint_keys, COUNT(paint_keys))) {
        return;
    }
    const char *name = cb_schema_text(schema, map, "name");
    paint->name = name != NULL ? name : paint->name;
    read_kind(reader, map, paint);
    paint->tone = (enum cb_tone)(CB_TONE_DARK + cb_schema_word(schema, map, "tone", tones, 3));
    read_film(reader, map, &paint->film_um);
    cb_schema_percent(schema, map, "solids", 1, 95, true, &solids_pct);
    paint->solids = solids_pct / 100;
    cb_schema_minutes(schema, map, "dry", 0.1, 30 * DAY_MIN, &paint->dry_min);
    cb_schema_minutes(schema, map, "label", 0.1, 30 * DAY_MIN, &paint->label_min);
    paint->instead = cb_schema_text(schema, map, "instead");
    cb_schema_number(schema, map, "drops", 5, 200, "per ml", &paint->drops_per_ml);
}

static void read_paints(struct cb_recipe_reader *reader, const struct cb_tree *tree)
{
    size_t count = open_section(reader, tree, "paints");
    reader->paints = cb_arena_alloc(reader->schema.arena, count, sizeof *reader->paints);
    for (size_t i = 0; i < count; i++) {
        reader->paint_keys[i] = tree->keys[i].text;
        read_paint(reader, &tree->keys[i], &tree->items[i], &reader->paints[i]);
    }
    reader->recipe->paints = reader->paints;
    reader->recipe->paint_count = count;
}

static void check_not_itself(const struct cb_recipe_reader *reader, const struct cb_tree *map,
                             const char *key, size_t area, uint64_t mask)
{
    if (mask >> area & 1) {
        cb_schema_add(&reader->schema, cb_tree_get(map, key),
                      "area %s: %s itself; name the others only", reader->area_names[area], key);
    }
}

static void read_area(struct cb_recipe_reader *reader, const struct cb_tree *map, size_t index,
                      size_t count)
{
    struct cb_area *area = &reader->areas[index];
    const char *what = cb_arena_printf(reader->schema.arena, "area %s", area->name);
    if (map->type == CB_TREE_TEXT && *map->text == '\0') {
        return; /* `rope:` alone: an area of which nothing more is said */
    }
    if (!cb_schema_map(&reader->schema, map, what, area_keys, COUNT(area_keys))) {
        return;
    }
    cb_schema_percent(&reader->schema, map, "share", 0, 100, false, &area->share_pct);
    area->share_said = !isnan(area->share_pct);
    cb_schema_number(&reader->schema, map, "disc", 5, 200, "mm", &area->disc_mm);
    if (cb_tree_get(map, "share") && cb_tree_get(map, "disc")) {
        cb_schema_add(&reader->schema, cb_tree_get(map, "disc"),
                      "area %s: disc says what share says; keep one of them", area->name);
    }
    area->beside =
        cb_recipe_lookup_all(reader, cb_tree_get(map, "beside"), "area", reader->area_names, count);
    area->near =
        cb_recipe_lookup_all(reader, cb_tree_get(map, "near"), "area", reader->area_names, count);
    check_not_itself(reader, map, "beside", index, area->beside);
    check_not_itself(reader, map, "near", index, area->near);
    cb_schema_bool(&reader->schema, map, "apart", &area->apart);
}

void cb_recipe_split_shares(struct cb_area *areas, size_t count)
{
    double sum = 0;
    size_t missing = 0;
    for (size_t i = 0; i < count; i++) {
        missing += !areas[i].share_said && isnan(areas[i].disc_mm);
        sum += areas[i].share_said ? areas[i].share_pct : 0;
    }
    for (size_t i = 0; i < count; i++) {
        if (!areas[i].share_said) {
            const bool shares = isnan(areas[i].disc_mm) && sum < 100;
            areas[i].share_pct = shares ? (100 - sum) / (double)missing : 0;
        }
    }
}

static void check_shares(const struct cb_recipe_reader *reader, const struct cb_tree *tree,
                         size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        sum += reader->areas[i].share_said ? reader->areas[i].share_pct : 0;
        if (sum > 100 + 1e-9) {
            cb_schema_add(&reader->schema, cb_tree_get(&tree->items[i], "share"),
                          "areas: shares reach %g %%; all together are 100 %%", sum);
            return;
        }
    }
}

static void read_areas(struct cb_recipe_reader *reader, const struct cb_tree *tree)
{
    size_t count = open_section(reader, tree, "areas");
    reader->areas = cb_arena_alloc(reader->schema.arena, count, sizeof *reader->areas);
    for (size_t i = 0; i < count; i++) {
        reader->areas[i].name = tree->keys[i].text;
        reader->areas[i].line = tree->keys[i].line;
        reader->areas[i].column = tree->keys[i].column;
        reader->areas[i].share_pct = reader->areas[i].disc_mm = NAN;
        reader->area_names[i] = tree->keys[i].text;
        if (strcmp(tree->keys[i].text, "whole") == 0) {
            cb_schema_add(&reader->schema, &tree->keys[i],
                          "area whole: the word means all of the figure; name the area else");
        }
    }
    for (size_t i = 0; i < count; i++) {
        read_area(reader, &tree->items[i], i, count);
    }
    for (size_t i = 0; i < count; i++) {
        for (size_t other = 0; other < count; other++) {
            if (reader->areas[i].beside >> other & 1) {
                reader->areas[other].beside |= UINT64_C(1) << i;
            }
        }
    }
    check_shares(reader, tree, count);
    cb_recipe_split_shares(reader->areas, count);
    reader->recipe->areas = reader->areas;
    reader->recipe->area_count = count;
}

static void read_format(const struct cb_recipe_reader *reader, const struct cb_tree *tree)
{
    const char *format = cb_schema_text(&reader->schema, tree, "coatbell");
    if (cb_schema_lacks(tree, "coatbell", top_keys, COUNT(top_keys))) {
        cb_schema_add(&reader->schema, tree,
                      "no key coatbell; begin the recipe with the line `coatbell: 1`");
    }
    if (format != NULL && strcmp(format, "1") != 0) {
        cb_schema_add(&reader->schema, cb_tree_get(tree, "coatbell"),
                      "coatbell: %s: unknown format; this program reads 1", format);
    }
}

static void read_head(struct cb_recipe_reader *reader, const struct cb_tree *tree)
{
    struct cb_recipe *recipe = reader->recipe;
    const struct cb_schema *schema = &reader->schema;
    read_format(reader, tree);
    recipe->name = cb_schema_text(schema, tree, "name");
    if (cb_schema_lacks(tree, "name", top_keys, COUNT(top_keys))) {
        cb_schema_add(schema, tree, "no key name; give the recipe a name, `name: Night watch`");
    }
    recipe->about = cb_schema_text(schema, tree, "about");
    cb_schema_integer(schema, tree, "figures", 1, CB_FIGURES_MAX, &recipe->figures);
    cb_schema_number(schema, tree, "height", 5, 500, "mm", &recipe->height_mm);
    cb_schema_minutes(schema, tree, "change", 0, 60, &recipe->change_min);
    recipe->picture_count =
        cb_recipe_texts(reader, cb_tree_get(tree, "pictures"), "pictures", &recipe->pictures);
}

const struct cb_recipe *cb_recipe_from_tree(const struct cb_tree *tree, const char *text,
                                            const struct cb_kinds *kinds, struct cb_arena *arena,
                                            struct cb_issues *issues)
{
    struct cb_recipe_reader *reader = cb_arena_alloc(arena, 1, sizeof *reader);
    size_t before = issues->count;
    reader->schema = (struct cb_schema){arena, issues};
    reader->kinds = kinds;
    reader->recipe = cb_arena_alloc(arena, 1, sizeof *reader->recipe);
    reader->recipe->height_mm = CB_RECIPE_HEIGHT_MM;
    reader->recipe->change_min = CB_RECIPE_CHANGE_MIN;
    reader->recipe->text = cb_arena_text(arena, text);
    for (size_t i = 0; i < kinds->kind_count && i < CB_KINDS_MAX; i++) {
        reader->kind_names[i] = kinds->kinds[i].name;
    }
    if (!cb_schema_map(&reader->schema, tree, "recipe", top_keys, COUNT(top_keys))) {
        return NULL;
    }
    read_head(reader, tree);
    read_groups(reader, cb_tree_get(tree, "groups"));
    read_names(reader, cb_tree_get(tree, "names"));
    read_paints(reader, cb_tree_get(tree, "paints"));
    read_areas(reader, cb_tree_get(tree, "areas"));
    if (cb_schema_lacks(tree, "stages", top_keys, COUNT(top_keys))) {
        cb_schema_add(&reader->schema, tree, "no key stages; a recipe is a list of stages");
    }
    if (cb_tree_get(tree, "stages") != NULL) {
        cb_recipe_read_stages(reader, cb_tree_get(tree, "stages"));
    }
    return issues->count == before ? reader->recipe : NULL;
}
