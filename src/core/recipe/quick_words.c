/* SPDX-License-Identifier: MIT */
/* The words of a quick line: which divides it, which are known, which may come next. */
#include <string.h>

#include "base/utf8.h"
#include "core/recipe/quick_internal.h"

#define NAME_TOKENS 4 /* words of a name that is looked for among others; own judgement */

/* What speaks for a technique word among several. */
enum { KNOWN_PAINT = 16, PAINT_FITS = 8, OWN_WORD = 4, KNOWN_AREAS = 2, NO_AREA = 1 };

char *cb_quick_slice(const struct cb_quick_line *line, size_t first, size_t last)
{
    const size_t at = line->tokens[first].at;
    return cb_arena_text_n(line->arena, line->text + at, line->tokens[last].end - at);
}

const struct cb_recipe *cb_quick_recipe(const struct cb_quick_known *known, size_t index)
{
    if (known->recipe != NULL) {
        if (index == 0) {
            return known->recipe;
        }
        index--;
    }
    return index < known->other_count ? known->others[index] : NULL;
}

const struct cb_paint *cb_quick_paint(const struct cb_quick_known *known, const char *name,
                                      size_t wanted, struct cb_arena *arena)
{
    const char *folded = cb_utf8_fold(arena, name);
    const struct cb_paint *first = NULL;
    const struct cb_recipe *recipe;
    for (size_t r = 0; (recipe = cb_quick_recipe(known, r)) != NULL; r++) {
        for (size_t i = 0; i < recipe->paint_count; i++) {
            const struct cb_paint *paint = &recipe->paints[i];
            if (strcmp(cb_utf8_fold(arena, paint->name), folded) == 0) {
                first = first != NULL ? first : paint;
                if (paint->kind == wanted) {
                    return paint;
                }
            }
        }
    }
    for (size_t i = 0; first == NULL && known->recipe != NULL && i < known->recipe->paint_count;
         i++) {
        const struct cb_paint *paint = &known->recipe->paints[i];
        first = strcmp(cb_utf8_fold(arena, paint->key), folded) == 0 ? paint : NULL;
    }
    return first;
}

const char *cb_quick_area(const struct cb_quick_known *known, const char *name,
                          struct cb_arena *arena)
{
    const char *folded = cb_utf8_fold(arena, name);
    const struct cb_recipe *recipe;
    for (size_t r = 0; (recipe = cb_quick_recipe(known, r)) != NULL; r++) {
        for (size_t i = 0; i < recipe->area_count; i++) {
            if (strcmp(cb_utf8_fold(arena, recipe->areas[i].name), folded) == 0) {
                return recipe->areas[i].name;
            }
        }
    }
    return NULL;
}

size_t cb_quick_area_tokens(const struct cb_quick_line *line, size_t first, size_t end)
{
    size_t most = 0;
    while (most < NAME_TOKENS && first + most < end && !line->tokens[first + most].option) {
        most++;
        if (line->tokens[first + most - 1].comma) {
            break;
        }
    }
    while (most > 0 && cb_quick_area(line->known, cb_quick_slice(line, first, first + most - 1),
                                     line->arena) == NULL) {
        most--;
    }
    return most;
}

bool cb_quick_is_filler(const struct cb_quick_line *line, size_t token)
{
    static const char *const fillers[] = {"on", "the", "a", "an", "and"};
    for (size_t i = 0; i < sizeof fillers / sizeof *fillers; i++) {
        if (strcmp(line->tokens[token].word, fillers[i]) == 0) {
            return cb_quick_area_tokens(line, token, line->count) == 0;
        }
    }
    return false;
}

static bool read_technique(const struct cb_quick_line *line, size_t first, size_t last,
                           struct cb_quick_divide *out, bool *own)
{
    for (size_t i = first; i <= last; i++) {
        if (line->tokens[i].option || (i < last && line->tokens[i].comma)) {
            return false;
        }
    }
    const char *word = last == first
                           ? line->tokens[first].word
                           : cb_arena_printf(line->arena, "%s %s", line->tokens[first].word,
                                             line->tokens[last].word);
    *out = (struct cb_quick_divide){first, last, CB_TECHNIQUE_UNDERCOAT, NULL};
    *own = true;
    if (cb_technique_from_name(word, &out->technique)) {
        return true;
    }
    const struct cb_trade_word *trade = cb_trade_word(word);
    if (trade == NULL) {
        return false;
    }
    out->technique = trade->technique;
    out->kind = trade->kind;
    *own = last > first; /* two words of the trade are hardly part of a name */
    return true;
}

static int weigh_paint(const struct cb_quick_line *line, const struct cb_quick_divide *divide)
{
    size_t first = 0;
    while (first < divide->first && line->tokens[first].option) {
        first++;
    }
    if (first == divide->first) {
        return cb_technique_needs_paint(divide->technique) ? 0 : KNOWN_PAINT + PAINT_FITS;
    }
    if (!cb_technique_may_have_paint(divide->technique)) {
        return 0;
    }
    const char *name = cb_quick_slice(line, first, divide->first - 1);
    return PAINT_FITS +
           (cb_quick_paint(line->known, name, SIZE_MAX, line->arena) != NULL ? KNOWN_PAINT : 0);
}

static int weigh_areas(const struct cb_quick_line *line, size_t from, size_t count)
{
    int areas = 0;
    for (size_t i = from; i < count; i++) {
        if (!line->tokens[i].option && !cb_quick_is_filler(line, i)) {
            const size_t tokens = cb_quick_area_tokens(line, i, count);
            if (tokens == 0) {
                return 0;
            }
            i += tokens - 1;
            areas++;
        }
    }
    return areas > 0 ? KNOWN_AREAS : NO_AREA;
}

struct cb_quick_divide cb_quick_divide(const struct cb_quick_line *line, size_t count)
{
    struct cb_quick_divide best = {1, 0, CB_TECHNIQUE_UNDERCOAT, NULL};
    int most = -1;
    for (size_t first = 0; first < count; first++) {
        struct cb_quick_divide divide;
        bool own;
        const bool two = first + 1 < count && read_technique(line, first, first + 1, &divide, &own);
        if (!two && !read_technique(line, first, first, &divide, &own)) {
            continue;
        }
        const int weight = weigh_paint(line, &divide) + (own ? OWN_WORD : 0) +
                           weigh_areas(line, divide.last + 1, count);
        if (weight >= most) {
            most = weight;
            best = divide;
        }
        first += two; /* `recess shade` is no `shade` */
    }
    return best;
}

static void offer(const struct cb_quick_line *line, struct cb_quick *quick, const char *word,
                  size_t at, const char *typed)
{
    const char *folded = cb_utf8_fold(line->arena, word);
    const size_t length = strlen(typed);
    if (quick->offer_count == CB_QUICK_OFFERS_MAX || strncmp(folded, typed, length) != 0 ||
        folded[length] == '\0') {
        return;
    }
    for (size_t i = 0; i < quick->offer_count; i++) {
        if (strcmp(cb_utf8_fold(line->arena, quick->offers[i].word), folded) == 0) {
            return;
        }
    }
    quick->offers[quick->offer_count++] = (struct cb_quick_offer){word, at, strlen(line->text)};
}

void cb_quick_offer_first(struct cb_quick *quick, struct cb_quick_offer first)
{
    struct cb_quick_offer *offers = quick->offers;
    size_t from = 0; /* it may be among them, as the end of a word */
    while (from < quick->offer_count &&
           (offers[from].at != first.at || strcmp(offers[from].word, first.word) != 0)) {
        from++;
    }
    if (from == quick->offer_count) {
        quick->offer_count += from < CB_QUICK_OFFERS_MAX;
        from = quick->offer_count - 1;
    }
    memmove(offers + 1, offers, from * sizeof *offers);
    offers[0] = first;
    quick->asks = true;
}

/* What stands from that byte on, folded; a blank at its end is a blank. */
static const char *typed_from(const struct cb_quick_line *line, size_t at)
{
    const char *text = line->text + at;
    const char *folded = cb_utf8_fold(line->arena, text);
    const size_t length = strlen(text);
    const bool blank = length > 0 && text[length - 1] == ' ' && *folded != '\0';
    return blank ? cb_arena_printf(line->arena, "%s ", folded) : folded;
}

/* The name of a paint begins the line, or follows a plus and its number. */
static void offer_paints(const struct cb_quick_line *line, struct cb_quick *quick)
{
    const char *plus = strrchr(line->text, '+');
    size_t at = plus != NULL ? (size_t)(plus - line->text) + 1 : 0;
    at += strspn(line->text + at, " ");
    const size_t digits = strspn(line->text + at, "0123456789.");
    at += plus != NULL && digits > 0 ? digits + strspn(line->text + at + digits, " ") : 0;
    const char *typed = typed_from(line, at);
    const struct cb_recipe *recipe;
    for (size_t r = 0; (recipe = cb_quick_recipe(line->known, r)) != NULL; r++) {
        for (size_t i = 0; i < recipe->paint_count; i++) {
            offer(line, quick, recipe->paints[i].name, at, typed);
        }
    }
}

/* tokens: those whose words stand for good before the one typed. */
static void offer_techniques(const struct cb_quick_line *line, struct cb_quick *quick,
                             size_t tokens)
{
    const size_t end = strlen(line->text);
    for (int i = 0; i < CB_TECHNIQUE_COUNT && line->count > 0; i++) {
        const char *name = cb_technique_name((enum cb_technique)i);
        const bool two = strchr(name, ' ') != NULL;
        const size_t here = tokens < line->count ? line->tokens[tokens].at : end;
        if (cb_technique_may_have_paint((enum cb_technique)i) == (tokens > 0)) {
            offer(line, quick, name, here, typed_from(line, here));
        }
        if (two && tokens > 1) {
            const size_t at = line->tokens[tokens - 1].at;
            offer(line, quick, name, at, typed_from(line, at));
        }
    }
}

static bool is_used(const struct cb_quick_line *line, const char *area, size_t from, size_t tokens)
{
    const char *folded = cb_utf8_fold(line->arena, area);
    for (size_t i = from; i < tokens; i++) {
        for (size_t last = i; last < tokens && last < i + NAME_TOKENS; last++) {
            if (strcmp(cb_utf8_fold(line->arena, cb_quick_slice(line, i, last)), folded) == 0) {
                return true;
            }
        }
    }
    return false;
}

static void offer_areas(const struct cb_quick_line *line, struct cb_quick *quick, size_t from,
                        size_t tokens)
{
    const struct cb_recipe *recipe;
    const size_t end = strlen(line->text);
    const size_t here = tokens < line->count ? line->tokens[tokens].at : end;
    for (size_t r = 0; (recipe = cb_quick_recipe(line->known, r)) != NULL; r++) {
        for (size_t i = 0; i < recipe->area_count; i++) {
            const char *area = recipe->areas[i].name;
            if (is_used(line, area, from, tokens)) {
                continue;
            }
            offer(line, quick, area, here, typed_from(line, here));
            for (size_t back = 1; back < NAME_TOKENS && tokens >= from + back; back++) {
                const size_t at = line->tokens[tokens - back].at;
                offer(line, quick, area, at, typed_from(line, at));
            }
        }
    }
}

void cb_quick_offer(const struct cb_quick_line *line, struct cb_quick *quick)
{
    const size_t length = strlen(line->text);
    const bool typing = length > 0 && line->text[length - 1] != ' ' &&
                        line->text[length - 1] != ',' && line->count > 0;
    const size_t tokens = line->count - typing;
    const struct cb_quick_divide divide = cb_quick_divide(line, tokens);
    const size_t here = typing ? line->tokens[tokens].at : length;
    quick->offer_count = 0;
    if (line->too_long) {
        return;
    }
    if (tokens > 0 && strcmp(line->tokens[tokens - 1].word, "by") == 0) {
        for (int i = 0; i < CB_BY_COUNT; i++) {
            offer(line, quick, cb_by_name((enum cb_by)i), here, typed_from(line, here));
        }
    } else if (divide.first <= divide.last) {
        offer_areas(line, quick, divide.last + 1, tokens);
    } else {
        offer_paints(line, quick);
        offer_techniques(line, quick, tokens);
    }
}
