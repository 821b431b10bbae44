/* SPDX-License-Identifier: MIT */
#include "core/bench/pot_share.h"

#include <math.h>
#include <string.h>

#include "core/paint/drying.h"
#include "core/recipe/recipe.h"
#include "core/recipe/schema.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define FORMAT_KEY   "coatbell pots"
#define DIGITS       5

struct cb_pot_given cb_pot_given_of(const struct cb_event *event)
{
    return (struct cb_pot_given){
        .paint = cb_event_text(event, CB_FIELD_PAINT, ""),
        .kind = cb_event_text(event, CB_FIELD_KIND, ""),
        .technique = cb_event_text(event, CB_FIELD_TECHNIQUE, ""),
        .median_min = cb_event_number(event, CB_FIELD_MEDIAN_MIN, 0),
        .low_min = cb_event_number(event, CB_FIELD_LOW_MIN, 0),
        .high_min = cb_event_number(event, CB_FIELD_HIGH_MIN, 0),
        .coats = (int)cb_event_int(event, CB_FIELD_COATS, 0),
    };
}

void cb_pot_given_event(const struct cb_pot_given *given, struct cb_arena *arena,
                        const struct cb_moment *at, struct cb_event_make *make)
{
    cb_event_begin(make, arena, CB_EVENT_PRIOR_GIVEN, NULL, at);
    cb_event_add_text(make, CB_FIELD_PAINT, given->paint);
    cb_event_add_text(make, CB_FIELD_KIND, given->kind);
    cb_event_add_text(make, CB_FIELD_TECHNIQUE, given->technique);
    cb_event_add_number(make, CB_FIELD_MEDIAN_MIN, given->median_min);
    cb_event_add_number(make, CB_FIELD_LOW_MIN, given->low_min);
    cb_event_add_number(make, CB_FIELD_HIGH_MIN, given->high_min);
    cb_event_add_int(make, CB_FIELD_COATS, given->coats);
}

/* The model's own time of the pair at its usual mix: what all shared times are measured by. NAN:
 * there is none. */
static double usual_min(const struct cb_kinds *kinds, size_t kind, enum cb_technique technique)
{
    const struct cb_parts usual = {0};
    const enum cb_by by = kinds->kinds[kind].sprayed ? CB_BY_CAN : CB_BY_BRUSH;
    const struct cb_drying drying = cb_drying_of(kinds, kind, technique, by, &usual, NAN, NAN);
    return drying.from == CB_TIME_MODEL && drying.standard_min > 0 ? drying.standard_min
                                                                   : (double)NAN;
}

bool cb_pot_given_row(const struct cb_pot_given *given, const struct cb_kinds *kinds,
                      struct cb_arena *arena, struct cb_row *row)
{
    size_t kind = 0;
    enum cb_technique technique = CB_TECHNIQUE_COUNT;
    if (!cb_kinds_find(kinds, given->kind, &kind) ||
        !cb_technique_from_name(given->technique, &technique) ||
        !cb_technique_needs_paint(technique) || !(given->low_min > 0) ||
        !(given->high_min > given->low_min) || given->coats < 1) {
        return false;
    }
    *row = (struct cb_row){
        .kind = CB_ROW_GIVEN,
        .pot = cb_pot_key(given->paint, kinds->kinds[kind].name, arena),
        .pot_sd = kinds->kinds[kind].pot_sd,
        .median_min = usual_min(kinds, kind, technique),
        .lo = given->low_min,
        .hi = given->high_min,
        .value = given->coats,
        .technique = (int)technique,
        .paint = given->paint,
    };
    return row->median_min > 0;
}

bool cb_pot_given_is_same(const struct cb_row *a, const struct cb_row *b)
{
    return memcmp(&a->lo, &b->lo, sizeof a->lo) == 0 && memcmp(&a->hi, &b->hi, sizeof a->hi) == 0 &&
           memcmp(&a->value, &b->value, sizeof a->value) == 0 && a->technique == b->technique;
}

const struct cb_row *const *cb_pots_given(const struct cb_row *rows, size_t row_count,
                                          const char *pot, struct cb_arena *arena, size_t *count)
{
    size_t room = 0;
    for (size_t i = 0; i < row_count; i++) {
        room += rows[i].kind == CB_ROW_GIVEN;
    }
    const struct cb_row **out = cb_arena_alloc(arena, room + 1, sizeof(struct cb_row *));
    *count = 0;
    for (size_t i = 0; i < row_count; i++) {
        const bool of_pot = rows[i].pot != NULL && strcmp(rows[i].pot, pot) == 0;
        bool known = false;
        if (rows[i].kind == CB_ROW_FORGET && (rows[i].pot == NULL || of_pot)) {
            *count = 0;
        }
        for (size_t k = 0; k < *count; k++) {
            known = known || cb_pot_given_is_same(out[k], &rows[i]);
        }
        if (rows[i].kind == CB_ROW_GIVEN && of_pot && !known) {
            out[(*count)++] = &rows[i];
        }
    }
    return out;
}

/* ---- Out ---- */

static double rounded(double min)
{
    const double in = fmin(fmax(min, CB_GIVEN_MIN_LOW), CB_GIVEN_MIN_HIGH);
    const double unit = pow(10, floor(log10(in)) + 1 - DIGITS);
    return round(in / unit) * unit;
}

/* The line of the pot under which most of its films went on: the first such one. */
static const struct cb_pot_line *main_line(const struct cb_pot_line *lines, size_t count,
                                           const char *pot)
{
    const struct cb_pot_line *best = NULL;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(lines[i].pot, pot) == 0 && (best == NULL || lines[i].films > best->films)) {
            best = &lines[i];
        }
    }
    return best;
}

const struct cb_pot_given *cb_pot_share_of(const struct cb_pot_line *lines, size_t line_count,
                                           const struct cb_kinds *kinds,
                                           const struct cb_learn *learn, struct cb_arena *arena,
                                           size_t *count)
{
    struct cb_pot_given *out = cb_arena_alloc(arena, line_count + 1, sizeof *out);
    *count = 0;
    for (size_t i = 0; i < line_count; i++) {
        const struct cb_pot_line *line = main_line(lines, line_count, lines[i].pot);
        struct cb_learn_told told;
        size_t kind = 0;
        if (line == NULL || main_line(lines, i, lines[i].pot) != NULL || line->exact ||
            !cb_kinds_find(kinds, line->kind, &kind) || !cb_learn_told(learn, line->pot, &told)) {
            continue;
        }
        const double usual = line->drying->from == CB_TIME_DRY
                                 ? line->prior_min
                                 : usual_min(kinds, kind, line->technique);
        if (usual > 0) {
            out[(*count)++] = (struct cb_pot_given){
                .paint = line->paint,
                .kind = line->kind,
                .technique = cb_technique_name(line->technique),
                .median_min = rounded(usual * told.ratio),
                .low_min = rounded(usual * told.low),
                .high_min = rounded(usual * told.high),
                .coats = told.coats < CB_GIVEN_COATS_MAX ? (int)told.coats : CB_GIVEN_COATS_MAX,
            };
        }
    }
    return out;
}

/* Always in quotes: whatever a name holds, it is one line and comes back as it was. */
static void add_quoted(struct cb_str *out, const char *text)
{
    cb_str_add(out, "\"");
    for (const char *at = text; *at != '\0'; at++) {
        const unsigned char byte = (unsigned char)*at;
        if (byte < ' ' || byte == 0x7f) {
            cb_str_addf(out, "\\x%02X", byte);
        } else {
            cb_str_addf(out, byte == '"' || byte == '\\' ? "\\%c" : "%c", byte);
        }
    }
    cb_str_add(out, "\"");
}

static void add_entry(struct cb_str *out, const struct cb_pot_given *given)
{
    cb_str_add(out, "  - {paint: ");
    add_quoted(out, given->paint);
    cb_str_add(out, ", kind: ");
    add_quoted(out, given->kind);
    cb_str_addf(out,
                ", technique: %s, median_min: %.*g, low_min: %.*g, high_min: %.*g, coats: %d}\n",
                given->technique, DIGITS, given->median_min, DIGITS, given->low_min, DIGITS,
                given->high_min, given->coats);
}

size_t cb_pot_share_write(const struct cb_pot_given *given, size_t count, size_t max,
                          struct cb_str *out)
{
    size_t written = 0;
    cb_str_addf(out,
                FORMAT_KEY
                ": %d\n"
                "# standard minutes (23 C, 50 %%, still air) at the usual mix; each of the"
                " coats counts\n"
                "# as found wet at low_min and dry at high_min\n"
                "paints:%s\n",
                CB_POT_SHARE_EDITION, count > 0 ? "" : " []");
    for (bool fits = true; fits && written < count;) {
        struct cb_str entry = {0};
        add_entry(&entry, &given[written]);
        fits = out->length + entry.length <= max;
        if (fits) {
            cb_str_add(out, cb_str_text(&entry));
            written++;
        }
        cb_str_fini(&entry);
    }
    return written;
}

/* ---- In ---- */

static const char *const entry_keys[] = {"paint",   "kind",     "technique", "median_min",
                                         "low_min", "high_min", "coats"};

static void want(const struct cb_schema *schema, const struct cb_tree *entry, const char *key)
{
    if (cb_schema_lacks(entry, key, entry_keys, COUNT(entry_keys))) {
        cb_schema_add(schema, entry, "%s: must be there, as `pots export` writes it", key);
    }
}

static void read_minutes(const struct cb_schema *schema, const struct cb_tree *entry,
                         const char *key, double *min)
{
    cb_schema_number(schema, entry, key, CB_GIVEN_MIN_LOW, CB_GIVEN_MIN_HIGH, "", min);
}

static void read_entry(const struct cb_schema *schema, const struct cb_tree *entry,
                       struct cb_pot_given *given)
{
    static const char *const techniques[] = {
#define X(id, word) word,
        CB_TECHNIQUES(X)
#undef X
    };
    const size_t painted = CB_TECHNIQUE_TRANSFER;
    if (!cb_schema_map(schema, entry, "a paint", entry_keys, COUNT(entry_keys))) {
        return;
    }
    for (size_t i = 0; i < COUNT(entry_keys); i++) {
        want(schema, entry, entry_keys[i]);
    }
    given->paint = cb_schema_text(schema, entry, "paint");
    given->kind = cb_schema_text(schema, entry, "kind");
    const int technique = cb_schema_word(schema, entry, "technique", techniques, painted);
    given->technique = technique >= 0 ? techniques[technique] : NULL;
    read_minutes(schema, entry, "median_min", &given->median_min);
    read_minutes(schema, entry, "low_min", &given->low_min);
    read_minutes(schema, entry, "high_min", &given->high_min);
    if (given->low_min > 0 && given->high_min > 0 && given->low_min >= given->high_min) {
        cb_schema_add(schema, cb_tree_get(entry, "high_min"),
                      "high_min: %g: must be over low_min, %g", given->high_min, given->low_min);
    }
    cb_schema_integer(schema, entry, "coats", 1, CB_GIVEN_COATS_MAX, &given->coats);
    if (given->paint != NULL && strlen(given->paint) > CB_EVENT_TEXT_MAX) {
        cb_schema_add(schema, cb_tree_get(entry, "paint"), "paint: longer than %d bytes",
                      CB_EVENT_TEXT_MAX);
    }
}

const struct cb_pot_given *cb_pot_share_read(const struct cb_tree *tree, struct cb_arena *arena,
                                             struct cb_issues *issues, size_t *count)
{
    static const char *const keys[] = {FORMAT_KEY, "paints"};
    const struct cb_schema schema = {arena, issues};
    const size_t before = issues->count;
    int edition = 0;
    *count = 0;
    if (!cb_schema_map(&schema, tree, "a table of pots", keys, COUNT(keys))) {
        return NULL;
    }
    cb_schema_integer(&schema, tree, FORMAT_KEY, 1, CB_POT_SHARE_EDITION, &edition);
    const struct cb_tree *list = cb_tree_get(tree, "paints");
    if (issues->count == before && edition == 0) {
        cb_schema_add(&schema, tree, "no table of pots: it begins with \"%s: %d\"", FORMAT_KEY,
                      CB_POT_SHARE_EDITION);
    } else if (issues->count == before && (list == NULL || list->type != CB_TREE_LIST)) {
        cb_schema_add(&schema, list != NULL ? list : tree,
                      "paints: must be a list, as `pots export` writes it");
    }
    if (list == NULL || issues->count > before) {
        return NULL;
    }
    struct cb_pot_given *out = cb_arena_alloc(arena, list->count + 1, sizeof *out);
    for (size_t i = 0; i < list->count && issues->count < CB_ISSUES_MAX; i++) {
        read_entry(&schema, &list->items[i], &out[i]);
    }
    *count = issues->count == before ? list->count : 0;
    return issues->count == before ? out : NULL;
}
