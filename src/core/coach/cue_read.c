/* SPDX-License-Identifier: MIT */
/* cues.yaml: ours and the painter's own. */
#include <limits.h>
#include <math.h>
#include <string.h>

#include "base/utf8.h"
#include "core/coach/cue.h"
#include "core/recipe/schema.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define MINUTES_MAX  (24 * 60.0)
#define UNTIL        0.06 /* of the drying: pools can still be soaked up; own judgement */
#define WEIGHT       60   /* of a painter's own cue that has none; own judgement */

static const char *const file_keys[] = {"coatbell-cues", "cues"};
static const char *const cue_keys[] = {
    "when",          "technique",   "kind",       "by",           "mix",
    "tone",          "coat_from",   "coat_to",    "coats_from",   "coats_to",
    "figures_from",  "figures_to",  "temp_under", "temp_over",    "humidity_under",
    "humidity_over", "shaken_over", "water_over", "palette_over", "until",
    "text",          "source",      "weight"};
static const char *const moment_words[] = {
#define X(id, word) word,
    CB_CUE_MOMENTS(X)
#undef X
};
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
static const char *const mix_words[] = {"neat", "water", "medium"};
static const char *const tone_words[] = {"lighter", "darker", "same", "light over dark"};

const char *cb_cue_moment_name(enum cb_cue_moment moment)
{
    return moment_words[moment];
}

struct reader {
    struct cb_schema schema;
    const struct cb_kinds *kinds;
    const char *kind_words[64];
    size_t kind_count;
    bool own;
};

/* A mask of the words that a key lists. */
static uint64_t read_words(const struct cb_schema *schema, const struct cb_tree *map,
                           const char *key, const char *const *words, size_t count)
{
    const struct cb_tree *list = cb_tree_get(map, key);
    uint64_t mask = 0;
    const size_t length = list ? cb_schema_list(schema, list, key) : 0;
    for (size_t i = 0; i < length; i++) {
        const struct cb_tree *item = cb_schema_item(list, i);
        const char *word = cb_schema_line(schema, item, key);
        const int found = word ? cb_str_place(words, count, word) : -1;
        if (found >= 0) {
            mask |= UINT64_C(1) << found;
        } else if (word) {
            cb_schema_add(schema, item, "%s: unknown word: %s%s", key,
                          cb_utf8_clean(schema->arena, word, 60),
                          cb_schema_hint(schema, word, words, count));
        }
    }
    return mask;
}

static bool is_safe(const char *text)
{
    for (uint32_t cp; (cp = cb_utf8_next(&text)) != 0;) {
        if (!cb_utf8_is_safe(cp)) {
            return false;
        }
    }
    return true;
}

/* A brace that is none of {figure}'s own. */
static bool has_strange_brace(const char *text)
{
    while ((text = strpbrk(text, "{}")) != NULL) {
        if (strncmp(text, CB_CUE_FIGURE, strlen(CB_CUE_FIGURE)) != 0) {
            return true;
        }
        text += strlen(CB_CUE_FIGURE);
    }
    return false;
}

static const char *read_text(const struct reader *reader, const struct cb_tree *map,
                             enum cb_cue_moment moment)
{
    const struct cb_schema *schema = &reader->schema;
    const char *text = cb_schema_text(schema, map, "text");
    if (!text) {
        if (cb_schema_lacks(map, "text", cue_keys, COUNT(cue_keys))) {
            cb_schema_add(schema, map, "text: is missing: say in a line what to do");
        }
        return NULL;
    }
    const struct cb_tree *at = cb_tree_get(map, "text");
    const int width = cb_utf8_text_width(text);
    if (!is_safe(text)) {
        cb_schema_add(schema, at, "text: has characters that no screen shows: write it plain");
    } else if (width > CB_CUE_COLUMNS) {
        cb_schema_add(schema, at, "text: is %d columns wide: at most %d, one line", width,
                      CB_CUE_COLUMNS);
    } else if (moment != CB_CUE_AFTER_COAT && strstr(text, CB_CUE_FIGURE)) {
        cb_schema_add(schema, at, "text: " CB_CUE_FIGURE " is for the moment `after coat` alone");
    } else if (has_strange_brace(text)) {
        cb_schema_add(schema, at, "text: the one word in braces is " CB_CUE_FIGURE);
    }
    return text;
}

static bool is_id(const char *id)
{
    const size_t length = strspn(id, "abcdefghijklmnopqrstuvwxyz0123456789-");
    return length > 0 && length <= CB_CUE_ID_MAX && id[length] == '\0';
}

/* A cue that no moment can meet would be silence that nobody notices. `low` over `high`: as the
 * file has them. */
static void check_order(const struct cb_schema *schema, const struct cb_tree *map, const char *low,
                        const char *high, bool fits)
{
    if (!fits) {
        cb_schema_add(schema, cb_tree_get(map, high), "%s: lies below %s, so it is never said",
                      high, low);
    }
}

static void read_bounds(const struct cb_schema *schema, const struct cb_tree *map,
                        struct cb_cue *cue)
{
    cb_schema_integer(schema, map, "coat_from", 1, 99, &cue->coat_from);
    cb_schema_integer(schema, map, "coat_to", 1, 99, &cue->coat_to);
    cb_schema_integer(schema, map, "coats_from", 1, 99, &cue->coats_from);
    cb_schema_integer(schema, map, "coats_to", 1, 99, &cue->coats_to);
    cb_schema_integer(schema, map, "figures_from", 1, 99, &cue->figures_from);
    cb_schema_integer(schema, map, "figures_to", 1, 99, &cue->figures_to);
    cb_schema_number(schema, map, "temp_under", -20, 60, "C", &cue->temp_under);
    cb_schema_number(schema, map, "temp_over", -20, 60, "C", &cue->temp_over);
    cb_schema_number(schema, map, "humidity_under", 0, 100, "%", &cue->humidity_under);
    cb_schema_number(schema, map, "humidity_over", 0, 100, "%", &cue->humidity_over);
    cb_schema_minutes(schema, map, "shaken_over", 0, MINUTES_MAX, &cue->shaken_over);
    cb_schema_minutes(schema, map, "water_over", 0, MINUTES_MAX, &cue->water_over);
    cb_schema_minutes(schema, map, "palette_over", 0, MINUTES_MAX, &cue->palette_over);
    cb_schema_integer(schema, map, "weight", 0, 100, &cue->weight);
    check_order(schema, map, "coat_from", "coat_to", cue->coat_from <= cue->coat_to);
    check_order(schema, map, "coats_from", "coats_to", cue->coats_from <= cue->coats_to);
    check_order(schema, map, "figures_from", "figures_to", cue->figures_from <= cue->figures_to);
    check_order(schema, map, "temp_over", "temp_under", !(cue->temp_over >= cue->temp_under));
    check_order(schema, map, "humidity_over", "humidity_under",
                !(cue->humidity_over >= cue->humidity_under));
    double until_pct = cue->until * 100;
    cb_schema_percent(schema, map, "until", 0.1, 100, false, &until_pct);
    cue->until = until_pct / 100;
    if (cb_tree_get(map, "until") && cue->moment != CB_CUE_AFTER_COAT) {
        cb_schema_add(schema, cb_tree_get(map, "until"),
                      "until: is for the moment `after coat` alone");
    }
}

static void read_cue(const struct reader *reader, const struct cb_tree *key,
                     const struct cb_tree *map, struct cb_cue *cue)
{
    const struct cb_schema *schema = &reader->schema;
    *cue = (struct cb_cue){
        .id = cb_arena_text(schema->arena, key->text),
        .source = reader->own ? "your own cues.yaml" : "",
        .coat_to = INT_MAX,
        .coats_to = INT_MAX,
        .figures_to = INT_MAX,
        .temp_under = NAN,
        .temp_over = NAN,
        .humidity_under = NAN,
        .humidity_over = NAN,
        .shaken_over = NAN,
        .water_over = NAN,
        .palette_over = NAN,
        .until = UNTIL,
        .weight = WEIGHT,
        .own = reader->own,
    };
    if (!is_id(key->text)) {
        cb_schema_add(schema, key, "%s: no name of a cue: small letters, digits and -, at most %d",
                      cb_utf8_clean(schema->arena, key->text, 40), CB_CUE_ID_MAX);
        return;
    }
    if (!cb_schema_map(schema, map, key->text, cue_keys, COUNT(cue_keys))) {
        return;
    }
    const int moment = cb_schema_word(schema, map, "when", moment_words, COUNT(moment_words));
    if (moment < 0 && cb_schema_lacks(map, "when", cue_keys, COUNT(cue_keys))) {
        cb_schema_add(schema, map, "when: is missing: say at which moment%s",
                      cb_schema_hint(schema, "", moment_words, COUNT(moment_words)));
    }
    cue->moment = moment < 0 ? CB_CUE_BEFORE_STAGE : (enum cb_cue_moment)moment;
    cue->techniques = read_words(schema, map, "technique", technique_words, COUNT(technique_words));
    cue->kinds = read_words(schema, map, "kind", reader->kind_words, reader->kind_count);
    cue->bys = (unsigned)read_words(schema, map, "by", by_words, COUNT(by_words));
    cue->mixes = (unsigned)read_words(schema, map, "mix", mix_words, COUNT(mix_words));
    cue->tones = (unsigned)read_words(schema, map, "tone", tone_words, COUNT(tone_words));
    read_bounds(schema, map, cue);
    cue->text = read_text(reader, map, cue->moment);
    const char *source = cb_schema_text(schema, map, "source");
    if (source) {
        cue->source = cb_utf8_line(schema->arena, source);
    } else if (!reader->own && cb_schema_lacks(map, "source", cue_keys, COUNT(cue_keys))) {
        cb_schema_add(schema, map,
                      "source: is missing: where it is from, or "
                      "`common practice, no source`");
    }
}

static const struct cb_tree *cues_of(const struct reader *reader, const struct cb_tree *tree)
{
    if (!tree || !cb_schema_map(&reader->schema, tree, "cues", file_keys, COUNT(file_keys))) {
        return NULL;
    }
    int format = 0;
    cb_schema_integer(&reader->schema, tree, "coatbell-cues", 1, 1, &format);
    if (cb_schema_lacks(tree, "coatbell-cues", file_keys, COUNT(file_keys))) {
        cb_schema_add(&reader->schema, tree, "coatbell-cues: is missing: write coatbell-cues: 1");
    }
    const struct cb_tree *cues = cb_tree_get(tree, "cues");
    if (cues && cues->type != CB_TREE_MAP) {
        cb_schema_add(&reader->schema, cues, "cues: must be a map, a name of a cue: its keys");
        return NULL;
    }
    if (cues && cues->count > CB_CUES_MAX) {
        cb_schema_add(&reader->schema, cues, "cues: more than %d", CB_CUES_MAX);
        return NULL;
    }
    return cues;
}

static void take(struct cb_cue *cues, size_t *count, const struct cb_cue *cue)
{
    for (size_t i = 0; i < *count; i++) {
        if (strcmp(cues[i].id, cue->id) == 0) {
            cues[i] = *cue;
            return;
        }
    }
    cues[(*count)++] = *cue;
}

const struct cb_cues *cb_cues_from_tree(const struct cb_tree *ours, const struct cb_tree *own,
                                        const struct cb_kinds *kinds, struct cb_arena *arena,
                                        struct cb_issues *ours_issues, struct cb_issues *own_issues)
{
    const struct cb_tree *const trees[] = {ours, own};
    struct reader reader = {.kinds = kinds};
    struct cb_issues *const issues[] = {ours_issues, own_issues};
    const struct cb_tree *maps[COUNT(trees)] = {NULL, NULL};
    struct cb_cues *out = cb_arena_alloc(arena, 1, sizeof *out);
    const size_t before = ours_issues->count + own_issues->count;
    size_t most = 0;
    for (size_t i = 0; i < kinds->kind_count && i < COUNT(reader.kind_words); i++) {
        reader.kind_words[reader.kind_count++] = kinds->kinds[i].name;
    }
    for (size_t t = 0; t < COUNT(trees); t++) {
        reader.schema = (struct cb_schema){arena, issues[t]};
        maps[t] = cues_of(&reader, trees[t]);
        most += maps[t] ? maps[t]->count : 0;
    }
    struct cb_cue *cues = cb_arena_alloc(arena, most, sizeof *cues);
    for (size_t t = 0; t < COUNT(trees); t++) {
        reader.own = t == 1;
        reader.schema = (struct cb_schema){arena, issues[t]};
        for (size_t i = 0; maps[t] && i < maps[t]->count; i++) {
            struct cb_cue cue;
            read_cue(&reader, &maps[t]->keys[i], &maps[t]->items[i], &cue);
            take(cues, &out->count, &cue);
        }
    }
    out->cues = cues;
    return ours_issues->count + own_issues->count == before ? out : NULL;
}
