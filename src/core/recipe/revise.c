/* SPDX-License-Identifier: MIT */
#include "core/recipe/revise_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "core/recipe/recipe_match.h"
#include "core/recipe/schema.h"

#define MINUTES_MOST (24.0 * 60) /* of a stage, as a recipe has it */

bool cb_revise_fault(struct cb_revising *at, enum cb_revise_field field, bool asks,
                     const char *format, ...)
{
    if (at->revised->field < 0) {
        va_list args;
        va_start(args, format);
        at->revised->field = (int)field;
        at->revised->fault = cb_arena_vprintf(at->arena, format, args);
        at->revised->asks = asks;
        va_end(args);
    }
    return false;
}

bool cb_revise_same(const char *a, const char *b)
{
    struct cb_arena arena = {0};
    const bool same = strcmp(cb_utf8_fold(&arena, a), cb_utf8_fold(&arena, b)) == 0;
    cb_arena_fini(&arena);
    return same;
}

bool cb_revise_differs(const struct cb_revising *at, enum cb_revise_field field)
{
    const char *text = at->texts[field], *first = at->first[field];
    return text && first && strcmp(text, first) != 0;
}

const char *cb_revise_hint(struct cb_revising *at, const char *word, const char *const *names,
                           size_t count)
{
    struct cb_issues none = {0};
    const struct cb_schema schema = {at->arena, &none};
    return cb_schema_hint(&schema, word, names, count);
}

bool cb_revise_ask(struct cb_revising *at, enum cb_revise_field field, const char *what,
                   const char *word, const char *const *names, size_t count, const char *yes)
{
    const char *hint = cb_revise_hint(at, word, names, count);
    const bool asks = hint[0] != '\0' && hint[strlen(hint) - 1] == '?';
    return cb_revise_fault(at, field, true, "no %s %s%s%s ENTER again %s", what, word, hint,
                           asks ? "" : ";", yes);
}

bool cb_revise_is_used(const struct cb_stage *stage, int paint)
{
    for (size_t i = 0; i < stage->mix.count; i++) {
        if (stage->mix.parts[i].what == CB_MIX_PAINT && stage->mix.parts[i].paint == paint) {
            return true;
        }
    }
    return false;
}

/* The figures of the unit that the stage is for. */
static void figures_of(const struct cb_revise *revise, uint64_t figures[2])
{
    figures[0] = figures[1] = 0;
    for (int figure = 1; figure <= revise->figures; figure++) {
        if (cb_recipe_applies(revise->recipe, revise->stage, figure)) {
            cb_revise_set(figures, figure);
        }
    }
}

static bool read_coats(struct cb_revising *at)
{
    long long coats;
    const char *text = at->texts[CB_REVISE_COATS];
    if (!cb_str_integer(text, &coats) || coats < 1 || coats > CB_COATS_MAX) {
        return cb_revise_fault(at, CB_REVISE_COATS, false, "%s: coats are a whole number, 1 to %d",
                               text, CB_COATS_MAX);
    }
    at->stage.coats = (int)coats;
    return true;
}

/* "4,5" as it is written in many countries. */
static const char *with_point(const char *text, struct cb_arena *arena)
{
    char *out = cb_arena_text(arena, text);
    for (char *comma = strchr(out, ','); comma; comma = strchr(comma + 1, ',')) {
        *comma = comma > out && strspn(comma - 1, "0123456789") == 1 &&
                         strspn(comma + 1, "0123456789") > 0
                     ? '.'
                     : ',';
    }
    return out;
}

static bool read_minutes(struct cb_revising *at)
{
    double minutes = NAN;
    const char *text = at->texts[CB_REVISE_MINUTES];
    if (text[0] != '\0' &&
        (!cb_recipe_minutes(with_point(text, at->arena), &minutes) || minutes > MINUTES_MOST)) {
        return cb_revise_fault(
            at, CB_REVISE_MINUTES, false,
            "%s: minutes, such as 4 or 90 s, a day at most; blank: what is usual", text);
    }
    if (cb_revise_differs(at, CB_REVISE_MINUTES)) {
        at->stage.work_min = minutes;
    }
    return true;
}

static int known_area(const struct cb_revising *at, const char *word)
{
    for (size_t i = 0; i < at->draft->recipe.area_count; i++) {
        if (cb_revise_same(at->draft->areas[i].name, word)) {
            return (int)i;
        }
    }
    return -1;
}

/* "coat belt", where each word, or words together, are areas; 0: they are not. */
static uint64_t areas_by_blanks(const struct cb_revising *at, const char *text)
{
    uint64_t on = 0;
    while (*text != '\0') {
        size_t length = strlen(text);
        int area;
        while ((area = known_area(at, cb_arena_text_n(at->arena, text, length))) < 0) {
            while (length > 0 && text[length - 1] != ' ') {
                length--;
            }
            if (length == 0) {
                return 0;
            }
            length--;
        }
        on |= UINT64_C(1) << area;
        text += length + (text[length] == ' ');
    }
    return on;
}

/* The area of that name; one that is not there is asked about, and then added. -1: a fault. */
static int find_area(struct cb_revising *at, const char *word)
{
    const char *names[CB_RECIPE_MAX];
    const size_t count = at->draft->recipe.area_count;
    for (size_t i = 0; i < count; i++) {
        names[i] = at->draft->areas[i].name;
    }
    if (!(at->yes >> CB_REVISE_AREAS & 1)) {
        cb_revise_ask(at, CB_REVISE_AREAS, "area", word, names, count, "adds it");
        return -1;
    }
    const int area = cb_draft_area(at->draft, word, at->arena);
    if (area < 0) {
        cb_revise_fault(at, CB_REVISE_AREAS, false,
                        "%s: whole is all of the figure, and %d areas are the most", word,
                        CB_RECIPE_MAX);
    }
    return area;
}

static bool read_areas(struct cb_revising *at)
{
    const char *text = at->texts[CB_REVISE_AREAS];
    at->stage.whole =
        text[0] == '\0' || cb_revise_same(text, "all over") || cb_revise_same(text, "whole");
    uint64_t on = 0;
    while (!at->stage.whole && *text != '\0') {
        const size_t length = strcspn(text, ",");
        const char *word = cb_utf8_line(at->arena, cb_arena_text_n(at->arena, text, length));
        text += length + (text[length] == ',');
        const uint64_t known = areas_by_blanks(at, word);
        const int area = word[0] == '\0' || known != 0 ? -2 : find_area(at, word);
        on |= known;
        if (area == -1) {
            return false;
        }
        on |= area >= 0 ? UINT64_C(1) << area : 0;
    }
    if (!at->stage.whole && on == 0) {
        return cb_revise_fault(at, CB_REVISE_AREAS, false, "name an area, or all over");
    }
    const size_t count = at->draft->recipe.area_count;
    at->stage.on = !at->stage.whole         ? on
                   : count >= CB_RECIPE_MAX ? UINT64_MAX
                                            : (UINT64_C(1) << count) - 1;
    return true;
}

/* Where it stands among the others, by "first", "last", "after NAME", "before NAME"; -1: a fault.
 */
static int read_order(struct cb_revising *at)
{
    const struct cb_revise *revise = at->revise;
    const char *text = at->texts[CB_REVISE_ORDER];
    const int last = (int)revise->recipe->stage_count - 1;
    const bool after = strncmp(text, "after ", 6) == 0, before = strncmp(text, "before ", 7) == 0;
    if (!cb_revise_differs(at, CB_REVISE_ORDER)) {
        return (int)revise->stage;
    }
    if (cb_revise_same(text, "first") || cb_revise_same(text, "last")) {
        return cb_revise_same(text, "first") ? 0 : last;
    }
    for (int i = 0; i < last && (after || before); i++) {
        if (cb_revise_same(cb_revise_other_stage(revise, (size_t)i), text + (after ? 6 : 7))) {
            return i + after;
        }
    }
    cb_revise_fault(at, CB_REVISE_ORDER, false,
                    after || before ? "no other stage %s; RIGHT and LEFT show them"
                                    : "%s: write first, last, after or before a stage, such as "
                                      "after Undercoat",
                    after    ? text + 6
                    : before ? text + 7
                             : text);
    return -1;
}

static bool add_range(uint64_t mask[2], long long first, long long last)
{
    for (long long figure = first; figure <= last && last <= CB_FIGURES_MAX; figure++) {
        if (figure >= 1) {
            cb_revise_set(mask, (int)figure);
        }
    }
    return first >= 1 && last <= CB_FIGURES_MAX && first <= last;
}

/* "3 to 5", "1, 3-5 and 9" */
static bool parse_figures(const char *text, uint64_t mask[2])
{
    long long before = 0;
    bool range = false, any = false;
    mask[0] = mask[1] = 0;
    while (*(text += strspn(text, " ,")) != '\0') {
        char word[8];
        const size_t length = *text == '-' ? 1 : strcspn(text, " ,-");
        long long number;
        snprintf(word, sizeof word, "%.*s", (int)length, text);
        text += length;
        if (strcmp(word, "and") == 0) {
            continue;
        }
        if (strcmp(word, "to") == 0 || strcmp(word, "-") == 0) {
            if (range || before == 0) {
                return false;
            }
            range = true;
            continue;
        }
        if (length >= sizeof word || !cb_str_integer(word, &number) ||
            !add_range(mask, range ? before : number, number)) {
            return false;
        }
        before = range ? 0 : number;
        range = false;
        any = true;
    }
    return any && !range;
}

/* Whom the change is for, of those that have the stage; all of them: *some is false. */
static bool read_for(struct cb_revising *at, uint64_t these[2], uint64_t rest[2], bool *some)
{
    const char *text = at->texts[CB_REVISE_FOR];
    uint64_t own[2];
    figures_of(at->revise, own);
    *some = false;
    these[0] = own[0];
    these[1] = own[1];
    if (text[0] == '\0' || cb_revise_same(text, "all")) {
        return true;
    }
    if (!parse_figures(text, these)) {
        return cb_revise_fault(at, CB_REVISE_FOR, false,
                               "%s: all, or figures by their numbers, such as 3 to 5", text);
    }
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        if (cb_revise_has(these, figure) && !cb_revise_has(own, figure)) {
            return figure > at->revise->figures
                       ? cb_revise_fault(at, CB_REVISE_FOR, false,
                                         "figure %d of %d; the unit has 1 to %d", figure,
                                         at->revise->figures, at->revise->figures)
                       : cb_revise_fault(at, CB_REVISE_FOR, false,
                                         "figure %d has no %s; it is for %s", figure,
                                         at->stage.name, cb_revise_figures_text(own, at->arena));
        }
    }
    rest[0] = own[0] & ~these[0];
    rest[1] = own[1] & ~these[1];
    *some = !cb_revise_none(rest);
    for (int figure = at->revise->figures + 1; figure <= CB_FIGURES_MAX; figure++) {
        if (cb_recipe_applies(at->revise->recipe, at->revise->stage, figure)) {
            cb_revise_set(rest, figure); /* whoever is not there yet is one of the others */
        }
    }
    return true;
}

/* No name of one that was there. */
static const char *unused_name(struct cb_revising *at, const char *wanted)
{
    const struct cb_revise *revise = at->revise;
    const char *found = cb_draft_stage_name(at->draft, wanted, at->arena);
    for (size_t i = 0; i < revise->known_count; i++) {
        if (cb_revise_same(revise->known[i], found)) {
            wanted = cb_arena_printf(at->arena, "%s again", found);
            found = cb_draft_stage_name(at->draft, wanted, at->arena);
            i = SIZE_MAX; /* from the first once more */
        }
    }
    return found;
}

/* The new stage's name: of the stage and whom it is for. */
static const char *name_of_part(struct cb_revising *at, const char *figures)
{
    const char *name = at->stage.name, *tail = strstr(name, " on ");
    while (tail && strstr(tail + 1, " on ")) {
        tail = strstr(tail + 1, " on ");
    }
    uint64_t ignored[2];
    const bool part = tail && parse_figures(tail + 4, ignored);
    return unused_name(at, cb_arena_printf(at->arena, "%.*s on %s",
                                           part ? (int)(tail - name) : (int)strlen(name), name,
                                           figures));
}

/* A stage that is called by its paint is called by the one it has now, while all else by which it
 * is known again stands. */
static void follow_paint(struct cb_revising *at)
{
    const struct cb_stage *was = &at->revise->recipe->stages[at->revise->stage];
    const char *tail = cb_recipe_name_after_paint(at->revise->recipe, at->revise->stage);
    const bool same_place = at->stage.whole == was->whole &&
                            (at->stage.whole || at->stage.on == was->on) &&
                            (was->groups == 0 || !cb_revise_differs(at, CB_REVISE_FIGURES));
    const char *name = "";
    for (size_t i = 0; i < at->stage.mix.count; i++) {
        const struct cb_mix_part *part = &at->stage.mix.parts[i];
        if (part->what == CB_MIX_PAINT) {
            name = cb_arena_printf(at->arena, "%s%s%s", name, name[0] ? " + " : "",
                                   at->draft->paints[part->paint].name);
        }
    }
    if (tail && same_place && name[0]) {
        at->stage.name = cb_arena_printf(at->arena, "%s%s", name, tail);
    }
}

/* These figures get a stage of their own behind it; whoever waited for it waits for both. */
static bool split(struct cb_revising *at, const uint64_t these[2], const uint64_t rest[2])
{
    const size_t stage = at->revise->stage;
    const char *text = cb_revise_figures_text(these, at->arena);
    const int own = cb_draft_group(at->draft, these, text, at->arena);
    const int others =
        cb_draft_group(at->draft, rest, cb_arena_printf(at->arena, "not %s", text), at->arena);
    if (cb_revise_differs(at, CB_REVISE_ORDER)) {
        return cb_revise_fault(at, CB_REVISE_ORDER, false,
                               "the order is for all figures; leave it, or change on all");
    }
    if (own < 0 || others < 0) {
        return cb_revise_fault(at, CB_REVISE_FOR, false,
                               "no room for another group: %d are the most", CB_RECIPE_MAX);
    }
    at->stage.name = name_of_part(at, text);
    at->stage.groups = UINT64_C(1) << own;
    at->draft->stages[stage].groups = UINT64_C(1) << others;
    at->stage.after &= (UINT64_C(2) << stage) - 1; /* by the numbers that the others then have */
    at->stage.after |= (at->revise->recipe->stages[stage].after & ~at->stage.after) << 1;
    if (!cb_draft_insert(at->draft, &at->stage, stage + 1)) {
        return cb_revise_fault(at, CB_REVISE_FOR, false,
                               "no room for another stage: %d are the most", CB_RECIPE_MAX);
    }
    for (size_t i = 0; i < at->draft->recipe.stage_count; i++) {
        at->draft->stages[i].after |=
            at->draft->stages[i].after >> stage & 1 ? UINT64_C(2) << stage : 0;
    }
    at->revised->stage = stage + 1;
    return true;
}

/* Is there a group for all after the last figure, that has none of the figures of this one? */
static bool is_told_who_comes(const struct cb_revising *at, const uint64_t group[2])
{
    bool found = false;
    for (size_t i = 0; i < at->draft->recipe.group_count && !found; i++) {
        const uint64_t *other = at->draft->groups[i].figures;
        found = cb_revise_has(other, CB_FIGURES_MAX) && (other[0] & group[0]) == 0 &&
                (other[1] & group[1]) == 0;
    }
    return found;
}

/* A new figure is painted as the last one is, where no group says otherwise. */
static void join_groups(struct cb_revising *at, int figures)
{
    for (size_t i = 0; i < at->draft->recipe.group_count; i++) {
        uint64_t *group = at->draft->groups[i].figures;
        const bool joins =
            cb_revise_has(group, at->revise->figures) && !is_told_who_comes(at, group);
        for (int f = at->revise->figures + 1; f <= figures && joins; f++) {
            cb_revise_set(group, f);
        }
    }
}

/* Is the figure one of those that a group without an end has, and not the first of them? */
static bool goes_on(const uint64_t group[2], int figure)
{
    int first = CB_FIGURES_MAX + 1;
    while (first > 1 && cb_revise_has(group, first - 1)) {
        first--;
    }
    return figure > first;
}

/* A recipe that says how many it is for may name no figure beyond. */
static void raise_figures(struct cb_recipe *recipe)
{
    for (int figure = recipe->figures + 1; recipe->figures > 0 && figure <= CB_FIGURES_MAX;
         figure++) {
        bool named = recipe->names[figure] != NULL;
        for (size_t i = 0; i < recipe->group_count; i++) {
            const uint64_t *group = recipe->groups[i].figures;
            named |= cb_revise_has(group, figure) && !goes_on(group, figure);
        }
        recipe->figures = named ? figure : recipe->figures;
    }
}

static bool read_figures(struct cb_revising *at)
{
    long long figures;
    const char *text = at->texts[CB_REVISE_FIGURES];
    if (!cb_str_integer(text, &figures) || figures < 1 || figures > CB_FIGURES_MAX) {
        return cb_revise_fault(at, CB_REVISE_FIGURES, false,
                               "%s: figures are a whole number, 1 to %d", text, CB_FIGURES_MAX);
    }
    at->revised->figures = (int)figures;
    join_groups(at, (int)figures);
    return true;
}

static bool read_name(struct cb_revising *at)
{
    const char *text = at->texts[CB_REVISE_NAME];
    const int figure = at->revise->figure;
    const char **names = at->draft->recipe.names;
    for (int other = 1; text[0] != '\0' && other <= CB_FIGURES_MAX; other++) {
        if (other != figure && names[other] && cb_revise_same(names[other], text)) {
            return cb_revise_fault(at, CB_REVISE_NAME, false,
                                   "%s is the name of figure %d; make it another", text, other);
        }
    }
    if (cb_revise_differs(at, CB_REVISE_NAME)) {
        names[figure] = text[0] == '\0' ? NULL : text;
    }
    return true;
}

/* Is anything of the stage itself another? The order is told apart. */
static bool stage_differs(const struct cb_revising *at)
{
    const struct cb_stage *is = &at->stage, *was = &at->revise->recipe->stages[at->revise->stage];
    bool same = is->mix.count == was->mix.count && is->mix_said == was->mix_said &&
                is->coats == was->coats && is->whole == was->whole && is->by == was->by &&
                (is->whole || is->on == was->on) &&
                (is->work_min == was->work_min || (isnan(is->work_min) && isnan(was->work_min)));
    for (size_t i = 0; same && i < is->mix.count; i++) {
        const struct cb_mix_part *a = &is->mix.parts[i], *b = &was->mix.parts[i];
        same = a->what == b->what && a->paint == b->paint && a->parts == b->parts;
    }
    return !same;
}

static bool read_all(struct cb_revising *at)
{
    uint64_t these[2], rest[2] = {0, 0};
    bool some;
    if (!cb_revise_read_paint(at) || !read_coats(at) || !read_areas(at) || !read_minutes(at)) {
        return false;
    }
    const int order = read_order(at);
    if (order < 0 || !read_for(at, these, rest, &some)) {
        return false;
    }
    follow_paint(at);
    const bool splits = some && (stage_differs(at) || cb_revise_differs(at, CB_REVISE_ORDER));
    if (splits && !split(at, these, rest)) {
        return false;
    }
    if (!splits) {
        const struct cb_stage *was = &at->draft->stages[at->revise->stage];
        at->stage.name =
            strcmp(at->stage.name, was->name) == 0 ? was->name : unused_name(at, at->stage.name);
        at->draft->stages[at->revise->stage] = at->stage;
        cb_draft_move(at->draft, at->revise->stage, (size_t)order);
        at->revised->stage = (size_t)order;
    }
    if (!read_figures(at) || !read_name(at)) {
        return false;
    }
    cb_recipe_figures_of(&at->draft->recipe, at->revised->stage, at->revised->these);
    if (some) {
        memcpy(at->revised->these, these, sizeof these);
    }
    return true;
}

void cb_revise_read(const struct cb_revise *revise, const char *const texts[CB_REVISE_FIELDS],
                    unsigned yes, struct cb_revised *revised, struct cb_arena *arena)
{
    const char *lines[CB_REVISE_FIELDS];
    struct cb_revising at = {.revise = revise,
                             .texts = lines,
                             .yes = yes,
                             .revised = revised,
                             .draft = cb_arena_alloc(arena, 1, sizeof *at.draft),
                             .stage = revise->recipe->stages[revise->stage],
                             .arena = arena};
    *revised = (struct cb_revised){.field = -1, .stage = revise->stage, .swapped = -1};
    cb_revise_begin(revise, at.first, arena);
    for (int i = 0; i < CB_REVISE_FIELDS; i++) {
        lines[i] = at.first[i] ? cb_utf8_line(arena, texts[i] ? texts[i] : at.first[i]) : NULL;
    }
    cb_draft_of(at.draft, revise->recipe);
    if (read_all(&at)) {
        raise_figures(&at.draft->recipe);
        revised->draft = at.draft;
    }
}
