/* SPDX-License-Identifier: MIT */
#include <inttypes.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "core/paint/kinds.h"

static const char *const law_names[] = {"water", "solvent", "oil"};

struct reader {
    struct cb_arena *arena;
    struct cb_issues *issues;
    bool own; /* the user's file: a source may be left out */
    bool failed;
    struct cb_kind *kinds;
    size_t kind_count;
    struct cb_prior *priors;
    size_t prior_count, prior_capacity;
    struct cb_kinds *out;
};

#define complain(reader, node, ...)                                                                \
    do {                                                                                           \
        (reader)->failed = true;                                                                   \
        cb_issues_add((reader)->issues, (reader)->arena, (node)->line, (node)->column,             \
                      __VA_ARGS__);                                                                \
    } while (0)

static const char *clean(const struct reader *r, const char *text)
{
    return cb_utf8_clean(r->arena, text, 32);
}

static bool is_map(struct reader *r, const struct cb_tree *node, const char *what)
{
    if (node->type != CB_TREE_MAP) {
        complain(r, node, "%s is not a map: write key: value pairs", what);
    }
    return node->type == CB_TREE_MAP;
}

/* Refuses keys outside the list, with the nearest one. */
static void check_keys(struct reader *r, const struct cb_tree *map, const char *const *keys,
                       size_t count)
{
    for (size_t i = 0; i < map->count; i++) {
        const char *key = map->keys[i].text;
        if (cb_str_place(keys, count, key) >= 0) {
            continue;
        }
        const char *nearest = NULL;
        int best = 3;
        for (size_t k = 0; k < count; k++) {
            int distance = cb_utf8_distance(key, keys[k], 3);
            if (distance < best) {
                best = distance;
                nearest = keys[k];
            }
        }
        if (nearest != NULL) {
            complain(r, &map->keys[i], "unknown key: %s (did you mean %s?)", clean(r, key),
                     nearest);
        } else {
            complain(r, &map->keys[i], "unknown key: %s", clean(r, key));
        }
    }
}

/* The text of a key; NULL when absent or no text (which is an issue). */
static const char *get_text(struct reader *r, const struct cb_tree *map, const char *key)
{
    const struct cb_tree *node = cb_tree_get(map, key);
    if (node == NULL) {
        return NULL;
    }
    if (node->type != CB_TREE_TEXT) {
        complain(r, node, "%s is not a word or number", key);
        return NULL;
    }
    return node->text;
}

static double get_number(struct reader *r, const struct cb_tree *map, const char *key, double low,
                         double high, double missing)
{
    const char *text = get_text(r, map, key);
    double value;
    if (text == NULL) {
        return missing;
    }
    if (!cb_str_number(text, &value) || !(value >= low && value <= high)) {
        complain(r, cb_tree_get(map, key), "%s: %s (a number from %g to %g)", key, clean(r, text),
                 low, high);
        return missing;
    }
    return value;
}

static bool get_yes(struct reader *r, const struct cb_tree *map, const char *key)
{
    const char *text = get_text(r, map, key);
    if (text == NULL || strcmp(text, "no") == 0) {
        return false;
    }
    if (strcmp(text, "yes") != 0) {
        complain(r, cb_tree_get(map, key), "%s: %s (yes or no)", key, clean(r, text));
    }
    return true;
}

static const char *get_source(struct reader *r, const struct cb_tree *map)
{
    const char *text = get_text(r, map, "source");
    if (text == NULL) {
        if (!r->own) {
            complain(r, map, "no source: every row says where its figures come from");
        }
        return "your own kinds.yaml";
    }
    return cb_arena_text(r->arena, text);
}

static bool get_parts(struct reader *r, const struct cb_tree *map, struct cb_parts *parts)
{
    const char *text = get_text(r, map, "mix");
    *parts = (struct cb_parts){.paint = 1};
    if (text == NULL) {
        return false;
    }
    if (!cb_kinds_parse_parts(text, parts) || parts->paint <= 0) {
        complain(r, cb_tree_get(map, "mix"), "mix: %s (neat, or such as 2 paint + 1 water)",
                 clean(r, text));
        *parts = (struct cb_parts){.paint = 1};
    }
    return true;
}

static void read_medium(struct reader *r, const struct cb_tree *map, const char *name,
                        double *solids, double *slows)
{
    static const char *const keys[] = {"solids", "slows", "source"};
    const struct cb_tree *node = cb_tree_get(map, name);
    if (node == NULL || !is_map(r, node, name)) {
        return;
    }
    check_keys(r, node, keys, 3);
    get_source(r, node);
    *solids = get_number(r, node, "solids", 0, 0.9, *solids);
    if (slows != NULL) {
        *slows = get_number(r, node, "slows", 0, 100, *slows);
    }
}

/* Rows of another law say nothing about the kind any more. */
static void drop_priors(struct reader *r, size_t kind)
{
    size_t kept = 0;
    for (size_t i = 0; i < r->prior_count; i++) {
        if (r->priors[i].kind != kind) {
            r->priors[kept++] = r->priors[i];
        }
    }
    r->prior_count = kept;
}

static void read_kind(struct reader *r, const struct cb_tree *name, const struct cb_tree *map)
{
    static const char *const keys[] = {"law",     "solids",  "min_film", "pot_sd",
                                       "sprayed", "solvent", "shake",    "source"};
    if (!is_map(r, map, "a kind")) {
        return;
    }
    check_keys(r, map, keys, sizeof keys / sizeof *keys);
    struct cb_kind kind = {.name = cb_arena_text(r->arena, name->text)};
    const char *law = get_text(r, map, "law");
    int found = law != NULL ? cb_str_place(law_names, 3, law) : -1;
    if (found < 0) {
        complain(r, map, "%s: no law (water, solvent or oil)", clean(r, name->text));
        found = 0;
    }
    kind.law = (enum cb_law)found;
    bool water = kind.law == CB_LAW_WATER;
    kind.solids = get_number(r, map, "solids", 0.01, 0.9, NAN);
    if (water && isnan(kind.solids)) {
        complain(r, map, "%s: no solids (volume share of the neat paint, 0.01 to 0.9)",
                 clean(r, name->text));
    }
    kind.min_film_c = get_number(r, map, "min_film", -20, 60, NAN);
    kind.pot_sd = get_number(r, map, "pot_sd", 0.05, 1.5, kind.law == CB_LAW_OIL ? 0.50 : 0.30);
    kind.sprayed = get_yes(r, map, "sprayed");
    kind.solvent_caution = get_yes(r, map, "solvent");
    kind.wants_shaking = get_yes(r, map, "shake");
    kind.source = get_source(r, map);
    for (size_t i = 0; i < r->kind_count; i++) {
        if (strcmp(r->kinds[i].name, kind.name) == 0) {
            if (r->kinds[i].law != kind.law) {
                drop_priors(r, i);
            }
            r->kinds[i] = kind;
            return;
        }
    }
    if (r->kind_count == CB_KINDS_MAX) {
        complain(r, name, "too many kinds: at most %d", CB_KINDS_MAX);
        return;
    }
    r->kinds[r->kind_count++] = kind;
}

static void add_prior(struct reader *r, const struct cb_prior *row)
{
    for (size_t i = 0; i < r->prior_count; i++) {
        struct cb_prior *old = &r->priors[i];
        if (old->kind == row->kind && old->technique == row->technique && old->by == row->by) {
            *old = *row;
            return;
        }
    }
    if (r->prior_count == r->prior_capacity) {
        size_t capacity = r->prior_capacity == 0 ? 32 : 2 * r->prior_capacity;
        struct cb_prior *grown = cb_arena_alloc(r->arena, capacity, sizeof *grown);
        if (r->prior_count > 0) {
            memcpy(grown, r->priors, r->prior_count * sizeof *grown);
        }
        r->priors = grown;
        r->prior_capacity = capacity;
    }
    r->priors[r->prior_count++] = *row;
}

static void add_prior_of_kind(struct reader *r, const struct cb_tree *node, struct cb_prior row)
{
    const struct cb_kinds so_far = {.kind_count = r->kind_count, .kinds = r->kinds};
    if (node->type != CB_TREE_TEXT || !cb_kinds_find(&so_far, node->text, &row.kind)) {
        complain(r, node, "unknown kind: %s (name one listed under kinds)",
                 node->type == CB_TREE_TEXT ? clean(r, node->text) : "no word");
        return;
    }
    bool water = r->kinds[row.kind].law == CB_LAW_WATER;
    if (water ? isnan(row.film_um) || isnan(row.solids) || isnan(row.a) || isnan(row.m)
              : isnan(row.median_min)) {
        complain(r, node, "%s: the row lacks %s", r->kinds[row.kind].name,
                 water ? "film, solids, a or m" : "minutes");
        return;
    }
    if (water) {
        row.median_min = NAN;
    }
    add_prior(r, &row);
}

static void read_prior(struct reader *r, const struct cb_tree *map)
{
    static const char *const keys[] = {"kind",   "technique", "by", "mix",     "film",
                                       "solids", "a",         "m",  "minutes", "source"};
    if (!is_map(r, map, "a row of priors")) {
        return;
    }
    check_keys(r, map, keys, sizeof keys / sizeof *keys);
    struct cb_prior row = {.by = -1};
    const char *technique = get_text(r, map, "technique");
    if (technique == NULL || !cb_technique_from_name(technique, &row.technique)) {
        complain(r, map, "no technique, or an unknown one: %s",
                 technique != NULL ? clean(r, technique) : "missing");
        return;
    }
    const char *by = get_text(r, map, "by");
    enum cb_by tool;
    if (by != NULL && !cb_by_from_name(by, &tool)) {
        complain(r, cb_tree_get(map, "by"), "by: %s (brush, can, airbrush or sponge)",
                 clean(r, by));
        return;
    }
    row.by = by != NULL ? (int)tool : -1;
    struct cb_parts usual;
    get_parts(r, map, &usual);
    row.usual_paint = usual.paint;
    row.usual_medium = usual.medium + usual.retarder;
    row.usual_water = usual.water;
    row.film_um = get_number(r, map, "film", 0.5, 10000, NAN);
    row.solids = get_number(r, map, "solids", 0.005, 0.9, NAN);
    row.a = get_number(r, map, "a", 0.05, 10, NAN);
    row.m = get_number(r, map, "m", 0.1, 20, NAN);
    row.median_min = get_number(r, map, "minutes", 0.1, 1e5, NAN);
    row.source = get_source(r, map);
    const struct cb_tree *kind = cb_tree_get(map, "kind");
    if (kind == NULL) {
        complain(r, map, "no kind: a row of priors names one, or a list of them");
    } else if (kind->type == CB_TREE_LIST) {
        for (size_t i = 0; i < kind->count; i++) {
            add_prior_of_kind(r, &kind->items[i], row);
        }
    } else {
        add_prior_of_kind(r, kind, row);
    }
}

static void read_technique(struct reader *r, const struct cb_tree *name, const struct cb_tree *map)
{
    static const char *const keys[] = {"film", "a", "mix", "minutes", "waste", "source"};
    enum cb_technique technique;
    if (!cb_technique_from_name(name->text, &technique)) {
        complain(r, name, "unknown technique: %s", clean(r, name->text));
        return;
    }
    if (!is_map(r, map, "a technique")) {
        return;
    }
    check_keys(r, map, keys, sizeof keys / sizeof *keys);
    struct cb_technique_row *row = &r->out->techniques[technique];
    struct cb_parts usual;
    if (get_parts(r, map, &usual)) {
        row->usual_paint = usual.paint;
        row->usual_medium = usual.medium + usual.retarder;
        row->usual_water = usual.water;
    }
    row->film_um = get_number(r, map, "film", 0.5, 10000, row->film_um);
    row->a = get_number(r, map, "a", 0.05, 10, row->a);
    row->minutes = get_number(r, map, "minutes", 0.05, 600, row->minutes);
    row->waste = get_number(r, map, "waste", 1, 20, row->waste);
    row->source = get_source(r, map);
}

static void read_tables(struct reader *r, const struct cb_tree *tree)
{
    static const char *const keys[] = {"coatbell-kinds", "mediums", "kinds", "techniques",
                                       "priors"};
    if (!is_map(r, tree, "the file of kinds")) {
        return;
    }
    check_keys(r, tree, keys, sizeof keys / sizeof *keys);
    const char *format = get_text(r, tree, "coatbell-kinds");
    if (format == NULL || strcmp(format, "1") != 0) {
        complain(r, tree, "the file does not say coatbell-kinds: 1");
    }
    const struct cb_tree *mediums = cb_tree_get(tree, "mediums");
    if (mediums != NULL && is_map(r, mediums, "mediums")) {
        static const char *const names[] = {"medium", "retarder"};
        check_keys(r, mediums, names, 2);
        read_medium(r, mediums, "medium", &r->out->medium_solids, NULL);
        read_medium(r, mediums, "retarder", &r->out->retarder_solids, &r->out->retarder_slows);
    }
    const struct cb_tree *node = cb_tree_get(tree, "kinds");
    if (node != NULL && is_map(r, node, "kinds")) {
        for (size_t i = 0; i < node->count; i++) {
            read_kind(r, &node->keys[i], &node->items[i]);
        }
    }
    node = cb_tree_get(tree, "techniques");
    if (node != NULL && is_map(r, node, "techniques")) {
        for (size_t i = 0; i < node->count; i++) {
            read_technique(r, &node->keys[i], &node->items[i]);
        }
    }
    node = cb_tree_get(tree, "priors");
    if (node != NULL && node->type != CB_TREE_LIST) {
        complain(r, node, "priors is not a list: write - and the keys of a row");
    } else if (node != NULL) {
        for (size_t i = 0; i < node->count; i++) {
            read_prior(r, &node->items[i]);
        }
    }
}

/* Solvent and oil have no model to fall back on: at least one row must give minutes. */
static void check_rows(struct reader *r, const struct cb_tree *tree)
{
    for (size_t k = 0; k < r->kind_count; k++) {
        bool found = r->kinds[k].law == CB_LAW_WATER;
        for (size_t i = 0; i < r->prior_count && !found; i++) {
            found = r->priors[i].kind == k;
        }
        if (!found) {
            complain(r, tree, "%s: a solvent or oil kind wants a row of priors with minutes",
                     clean(r, r->kinds[k].name));
        }
    }
    for (int t = 0; t < CB_TECHNIQUE_COUNT; t++) {
        const struct cb_technique_row *row = &r->out->techniques[t];
        if (!(row->film_um > 0 && row->a > 0 && row->usual_paint > 0 && row->minutes > 0 &&
              row->waste > 0)) {
            complain(r, tree, "%s: the technique lacks film, a, mix, minutes or waste",
                     cb_technique_name((enum cb_technique)t));
        }
    }
}

/* FNV-1a over the meaning of a tree: places and comments do not count. */
static uint64_t hash_text(uint64_t hash, const char *text)
{
    for (; text != NULL && *text != '\0'; text++) {
        hash = (hash ^ (unsigned char)*text) * UINT64_C(1099511628211);
    }
    return (hash ^ 0xFF) * UINT64_C(1099511628211);
}

static uint64_t hash_tree(uint64_t hash, const struct cb_tree *tree)
{
    if (tree == NULL) {
        return hash_text(hash, "none");
    }
    hash = hash_text(hash, tree->type == CB_TREE_TEXT ? tree->text : "");
    for (size_t i = 0; i < tree->count; i++) {
        if (tree->type == CB_TREE_MAP) {
            hash = hash_text(hash, tree->keys[i].text);
        }
        hash = hash_tree(hash, &tree->items[i]);
    }
    return hash_text(hash, "end");
}

const struct cb_kinds *cb_kinds_from_tree(const struct cb_tree *tree, const struct cb_tree *more,
                                          struct cb_arena *arena, struct cb_issues *issues,
                                          struct cb_issues *more_issues)
{
    struct cb_kinds *out = cb_arena_alloc(arena, 1, sizeof *out);
    struct reader r = {.arena = arena, .issues = issues, .out = out};
    r.kinds = cb_arena_alloc(arena, CB_KINDS_MAX, sizeof *r.kinds);
    read_tables(&r, tree);
    if (!r.failed) {
        check_rows(&r, tree);
    }
    if (!r.failed && more != NULL) {
        r.own = true;
        r.issues = more_issues;
        read_tables(&r, more);
        if (!r.failed) {
            check_rows(&r, more);
        }
    }
    if (r.failed) {
        return NULL;
    }
    out->kind_count = r.kind_count;
    out->kinds = r.kinds;
    out->prior_count = r.prior_count;
    out->priors = r.priors;
    uint64_t hash = hash_tree(hash_tree(UINT64_C(14695981039346656037), tree), more);
    out->edition = cb_arena_printf(arena, "%d-%016" PRIx64, CB_KINDS_EDITION, hash);
    return out;
}
