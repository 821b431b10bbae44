/* SPDX-License-Identifier: MIT */
#include "core/recipe/quick.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "core/paint/drying.h"
#include "core/recipe/quick_internal.h"

#define PARTS_MAX  100.0 /* of one thing, as in a recipe */
#define SCALE_MAX  12    /* parts in twelfths are still made whole; own judgement */
#define WHOLE_MAX  36.0  /* drops that somebody counts; own judgement */
#define NEAR_BYTES 4     /* a name as long as that may be a slip of a known one */

struct reader {
    struct cb_quick_line line;
    struct cb_quick *quick;
    struct cb_arena *arena;
    struct cb_quick_divide divide;
    double ratio_paint, ratio_thin; /* of N:M; 0: not said */
    bool neat, by_said, coats_said;
    const char *doubt;           /* a new name that is nearly a known one; NULL: none */
    struct cb_quick_offer meant; /* in its place, or that of a technique with a slip; NULL: none */
};

static bool wrong(struct reader *reader, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
static bool wrong(struct reader *reader, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    reader->quick->sentence = cb_arena_vprintf(reader->arena, format, args);
    va_end(args);
    return false;
}

static const char *shown(const struct reader *reader, const char *text)
{
    return cb_utf8_clean(reader->arena, text, CB_QUICK_COLUMNS);
}

static const char *token_text(const struct reader *reader, size_t token)
{
    return shown(reader, cb_quick_slice(&reader->line, token, token));
}

static void split(struct reader *reader, const char *text)
{
    struct cb_quick_line *line = &reader->line;
    for (size_t at = 0; text[at] != '\0';) {
        at += strspn(text + at, " ,");
        const size_t length = strcspn(text + at, " ,");
        if (length == 0) {
            return;
        }
        if (line->count == CB_QUICK_TOKENS_MAX) {
            line->too_long = true;
            return;
        }
        const size_t next = at + length + strspn(text + at + length, " ");
        line->tokens[line->count++] = (struct cb_quick_token){
            .at = at,
            .end = at + length,
            .word = cb_utf8_fold(reader->arena, cb_arena_text_n(reader->arena, text + at, length)),
            .comma = text[next] == ',',
        };
        at += length;
    }
}

/* "2:1": both above nothing. */
static bool read_ratio(const struct reader *reader, const char *word, double *paint, double *thin)
{
    const char *colon = strchr(word, ':');
    return colon != NULL &&
           cb_str_number(cb_arena_text_n(reader->arena, word, (size_t)(colon - word)), paint) &&
           cb_str_number(colon + 1, thin) && *paint > 0 && *paint <= PARTS_MAX && *thin > 0 &&
           *thin <= PARTS_MAX;
}

/* "x2", "2x" */
static bool read_times(const struct reader *reader, const char *word, long long *times)
{
    const size_t length = strlen(word);
    const char *digits = *word == 'x' ? word + 1
                         : length > 1 && word[length - 1] == 'x'
                             ? cb_arena_text_n(reader->arena, word, length - 1)
                             : "";
    return strspn(digits, "0123456789") == strlen(digits) && cb_str_integer(digits, times);
}

static bool take_option(struct reader *reader, size_t at)
{
    struct cb_quick_token *token = &reader->line.tokens[at];
    struct cb_quick *quick = reader->quick;
    double paint, thin;
    long long times;
    if (read_ratio(reader, token->word, &paint, &thin)) {
        token->option = true;
        if (reader->ratio_paint > 0) {
            return wrong(reader, "%s: one mix was said already; write one", token->word);
        }
        reader->ratio_paint = paint;
        reader->ratio_thin = thin;
    } else if (read_times(reader, token->word, &times)) {
        token->option = true;
        if (reader->coats_said || times < 1 || times > CB_COATS_MAX) {
            return wrong(reader, "%s: write the coats once, x1 to x%d", token->word, CB_COATS_MAX);
        }
        reader->coats_said = true;
        quick->coats = (int)times;
    } else if (strcmp(token->word, "by") == 0 && at + 1 < reader->line.count) {
        struct cb_quick_token *tool = &reader->line.tokens[at + 1];
        const bool spray = strcmp(tool->word, "spray") == 0;
        enum cb_by by = CB_BY_CAN;
        if (spray || cb_by_from_name(tool->word, &by)) {
            token->option = tool->option = true;
            if (reader->by_said) {
                return wrong(reader, "by %s: one tool was said already; write one", tool->word);
            }
            reader->by_said = true;
            quick->by = by;
        }
    }
    return true;
}

static bool take_options(struct reader *reader)
{
    for (size_t i = 0; i < reader->line.count; i++) {
        if (!reader->line.tokens[i].option && !take_option(reader, i)) {
            return false;
        }
    }
    return true;
}

/* A word with a slip in it; two in a longer one. */
static const char *nearly_technique(const char *word)
{
    const int slips = strlen(word) > NEAR_BYTES + 1 ? 2 : 1;
    for (int i = 0; i < CB_TECHNIQUE_COUNT && strlen(word) >= NEAR_BYTES; i++) {
        const char *name = cb_technique_name((enum cb_technique)i);
        if (cb_utf8_distance(word, name, slips) <= slips) {
            return name;
        }
    }
    return NULL;
}

static bool no_technique(struct reader *reader)
{
    for (size_t i = 0; i < reader->line.count; i++) {
        for (size_t last = i; last < reader->line.count && last < i + 2; last++) {
            const char *text = cb_quick_slice(&reader->line, i, last);
            const char *name = nearly_technique(cb_utf8_fold(reader->arena, text));
            if (name != NULL) {
                reader->meant = (struct cb_quick_offer){name, reader->line.tokens[i].at,
                                                        reader->line.tokens[last].end};
                return wrong(reader, "%s: did you mean %s?", shown(reader, text), name);
            }
        }
    }
    return reader->line.count == 0
               ? wrong(reader, "PAINT TECHNIQUE [AREA ...] [N:M] [xN] [by TOOL]")
               : wrong(reader, "then the technique: %sbasecoat, layer, wash, glaze, varnish ...",
                       reader->line.known->bare ? "undercoat, " : "");
}

/* The kind that a paint nobody has named before most likely is. */
static size_t likely_kind(const struct reader *reader)
{
    const struct cb_kinds *kinds = reader->line.known->kinds;
    const enum cb_technique technique = reader->divide.technique;
    const bool can = reader->by_said && reader->quick->by == CB_BY_CAN;
    const char *word = "acrylic";
    size_t kind = 0;
    if (technique == CB_TECHNIQUE_WASH || technique == CB_TECHNIQUE_RECESS_SHADE) {
        word = "wash";
    } else if (technique == CB_TECHNIQUE_VARNISH) {
        word = can ? "spray varnish" : "brush varnish";
    } else if (technique == CB_TECHNIQUE_TEXTURE) {
        word = "texture paste";
    } else if (can) {
        word = "spray undercoat";
    }
    if (reader->divide.kind != NULL && cb_kinds_find(kinds, reader->divide.kind, &kind) &&
        (!reader->by_said || kinds->kinds[kind].sprayed == can)) {
        return kind;
    }
    if (!cb_kinds_find(kinds, word, &kind)) {
        (void)cb_kinds_find(kinds, "acrylic", &kind);
    }
    return kind;
}

static const char *large_first(const struct reader *reader, const char *name)
{
    char *text = cb_utf8_clean(reader->arena, name, 0);
    if (*text >= 'a' && *text <= 'z') {
        *text = (char)(*text - 'a' + 'A');
    }
    return text;
}

static void doubt(struct reader *reader, const char *name, const char *known)
{
    const char *typed = cb_utf8_fold(reader->arena, name);
    const int distance = cb_utf8_distance(typed, cb_utf8_fold(reader->arena, known), 1);
    if (reader->doubt == NULL && strlen(typed) >= NEAR_BYTES && distance == 1) {
        reader->doubt = cb_arena_printf(reader->arena, "%s is new, did you mean %s?",
                                        shown(reader, name), shown(reader, known));
        const char *line = reader->line.text;
        const char *at = line; /* as one word of it; more blanks between its words: nowhere */
        while ((at = strstr(at, name)) != NULL && ((at > line && strchr(" ,+", at[-1]) == NULL) ||
                                                   strchr(" ,+", at[strlen(name)]) == NULL)) {
            at++;
        }
        if (at != NULL) {
            const size_t from = (size_t)(at - line);
            reader->meant = (struct cb_quick_offer){known, from, from + strlen(name)};
        }
    }
}

static bool take_paint(struct reader *reader, const char *name, double parts)
{
    struct cb_quick *quick = reader->quick;
    const size_t likely = likely_kind(reader);
    const struct cb_paint *known = cb_quick_paint(reader->line.known, name, likely, reader->arena);
    struct cb_quick_paint paint = {.parts = parts};
    paint.name = known != NULL ? known->name : large_first(reader, name);
    paint.kind = known != NULL ? known->kind : likely;
    if (quick->paint_count == CB_MIX_PARTS_MAX - 3) { /* medium, retarder and water may follow */
        return wrong(reader, "a blend of more than %d paints; write fewer", CB_MIX_PARTS_MAX - 3);
    }
    for (size_t i = 0; i < quick->paint_count; i++) {
        if (quick->paints[i].kind == paint.kind &&
            strcmp(cb_utf8_fold(reader->arena, quick->paints[i].name),
                   cb_utf8_fold(reader->arena, paint.name)) == 0) {
            return wrong(reader, "%s stands in it twice; add the parts up",
                         shown(reader, paint.name));
        }
    }
    const struct cb_recipe *recipe;
    for (size_t r = 0; known == NULL && (recipe = cb_quick_recipe(reader->line.known, r)) != NULL;
         r++) {
        for (size_t i = 0; i < recipe->paint_count; i++) {
            doubt(reader, name, recipe->paints[i].name);
        }
    }
    quick->paints[quick->paint_count++] = paint;
    return true;
}

/* "2 oilskin green", "1 water": a part of a blend. */
static bool take_part(struct reader *reader, const char *part)
{
    struct cb_quick *quick = reader->quick;
    const size_t digits = strspn(part, "0123456789.");
    const char *word = part + digits + strspn(part + digits, " ");
    const struct {
        const char *word;
        double *parts;
    } thinners[] = {
        {"medium", &quick->medium}, {"retarder", &quick->retarder}, {"water", &quick->water}};
    double parts = 1;
    if (*word == '\0') {
        return wrong(reader, "+ stands between two paints: green + black basecoat");
    }
    if (digits > 0 && (!cb_str_number(cb_arena_text_n(reader->arena, part, digits), &parts) ||
                       !(parts > 0 && parts <= PARTS_MAX))) {
        return wrong(reader, "%s: parts are a number above 0, at most %g", shown(reader, part),
                     PARTS_MAX);
    }
    const char *folded = cb_utf8_fold(reader->arena, word);
    for (size_t i = 0; i < sizeof thinners / sizeof *thinners; i++) {
        if (strcmp(folded, thinners[i].word) == 0) {
            if (*thinners[i].parts > 0) {
                return wrong(reader, "%s stands in it twice; add the parts up", thinners[i].word);
            }
            *thinners[i].parts = parts;
            quick->mix_said = true;
            return true;
        }
    }
    return take_paint(reader, word, parts);
}

/* The tokens before the technique, without options, as one text. */
static char *paint_text(const struct reader *reader)
{
    char *text = cb_arena_text(reader->arena, "");
    for (size_t i = 0; i < reader->divide.first; i++) {
        const struct cb_quick_token *token = &reader->line.tokens[i];
        if (!token->option) {
            text = cb_arena_printf(reader->arena, "%s%s%.*s%s", text, *text != '\0' ? " " : "",
                                   (int)(token->end - token->at), reader->line.text + token->at,
                                   token->comma ? "," : "");
        }
    }
    return text;
}

static bool take_paints(struct reader *reader)
{
    const char *word = cb_technique_name(reader->divide.technique);
    char *text = paint_text(reader);
    if (*text == '\0') {
        return !cb_technique_needs_paint(reader->divide.technique) ||
               wrong(reader, "%s needs a paint before it: oilskin green %s", word, word);
    }
    if (!cb_technique_may_have_paint(reader->divide.technique)) {
        return wrong(reader, "%s takes no paint; leave out %s", word, shown(reader, text));
    }
    if (strchr(text, '+') == NULL) {
        return take_paint(reader, text, 1);
    }
    for (char *part = text; part != NULL;) {
        char *plus = strchr(part, '+');
        size_t length = plus != NULL ? (size_t)(plus - part) : strlen(part);
        while (length > 0 && part[length - 1] == ' ') {
            length--;
        }
        const size_t blank = strspn(part, " ");
        const char *one =
            length > blank ? cb_arena_text_n(reader->arena, part + blank, length - blank) : "";
        if (!take_part(reader, one)) {
            return false;
        }
        part = plus != NULL ? plus + 1 : NULL;
    }
    return reader->quick->paint_count > 0 ||
           wrong(reader, "no paint in it: 2 oilskin green + 1 water %s", word);
}

static bool is_whole(const char *word)
{
    return strcmp(word, "whole") == 0 || strcmp(word, "all") == 0 ||
           strcmp(word, "everything") == 0 || strcmp(word, "all over") == 0;
}

/* What can't be the name of an area that nobody has used yet. */
static bool refuse_area(struct reader *reader, size_t at)
{
    const char *word = reader->line.tokens[at].word;
    if (strcmp(word, "by") == 0) {
        return at + 1 < reader->line.count
                   ? wrong(reader, "by %s: no such tool; write brush, can, airbrush or sponge",
                           token_text(reader, at + 1))
                   : wrong(reader, "by what? write brush, can, airbrush or sponge");
    }
    if (strchr(word, ':') != NULL) {
        return wrong(reader, "%s: write paint to water as 2:1", token_text(reader, at));
    }
    if (strspn(word, "0123456789.") > 0) {
        return wrong(reader, "%s: write x2 for two coats, 2:1 for paint to water",
                     token_text(reader, at));
    }
    return strchr(word, '+') == NULL ||
           wrong(reader, "+ stands between two paints, before the technique");
}

static bool take_area(struct reader *reader, size_t first, size_t last)
{
    struct cb_quick *quick = reader->quick;
    char *name = cb_quick_slice(&reader->line, first, last);
    const char *known = cb_quick_area(reader->line.known, name, reader->arena);
    if (known == NULL) {
        for (size_t i = first; i <= last; i++) {
            if (!refuse_area(reader, i)) {
                return false;
            }
        }
        name = cb_utf8_clean(reader->arena, name, 0);
        const struct cb_recipe *recipe;
        for (size_t r = 0; (recipe = cb_quick_recipe(reader->line.known, r)) != NULL; r++) {
            for (size_t i = 0; i < recipe->area_count; i++) {
                doubt(reader, name, recipe->areas[i].name);
            }
        }
    }
    const char *area = known != NULL ? known : name;
    for (size_t i = 0; i < quick->area_count; i++) {
        if (strcmp(cb_utf8_fold(reader->arena, quick->areas[i]),
                   cb_utf8_fold(reader->arena, area)) == 0) {
            return true;
        }
    }
    if (quick->area_count == CB_RECIPE_MAX) {
        return wrong(reader, "more than %d areas; write fewer", CB_RECIPE_MAX);
    }
    quick->areas[quick->area_count++] = area;
    return true;
}

/* A comma anywhere says that words without one between them are one name. */
static size_t name_end(const struct reader *reader, size_t first, bool commas)
{
    const struct cb_quick_line *line = &reader->line;
    const size_t known = cb_quick_area_tokens(line, first, line->count);
    size_t last = first;
    if (known > 0) {
        return first + known - 1;
    }
    while (commas && !line->tokens[last].comma && last + 1 < line->count &&
           !line->tokens[last + 1].option && !cb_quick_is_filler(line, last + 1)) {
        last++;
    }
    return last;
}

static bool take_areas(struct reader *reader)
{
    const struct cb_quick_line *line = &reader->line;
    bool commas = false, whole = false;
    for (size_t i = reader->divide.last + 1; i < line->count; i++) {
        commas |= line->tokens[i].comma && !line->tokens[i].option;
    }
    for (size_t i = reader->divide.last + 1; i < line->count; i++) {
        if (line->tokens[i].option || cb_quick_is_filler(line, i)) {
            continue;
        }
        const size_t last = name_end(reader, i, commas);
        const char *name = cb_utf8_fold(reader->arena, cb_quick_slice(line, i, last));
        const bool over = i + 1 < line->count && strcmp(name, "all") == 0 &&
                          strcmp(line->tokens[i + 1].word, "over") == 0;
        const bool known = cb_quick_area(line->known, name, reader->arena) != NULL;
        if (!known && strcmp(name, "neat") == 0) {
            reader->neat = true;
        } else if (!known && is_whole(name)) {
            whole = true;
        } else if (!take_area(reader, i, last)) {
            return false;
        }
        i = over ? last + 1 : last;
    }
    if (whole && reader->quick->area_count > 0) {
        return wrong(reader, "whole is all of the figure; leave the other areas out");
    }
    return true;
}

/* Is it thinned with medium: where that is usual, in washes, which water makes pool, and where
 * water would do harm (own judgement)? */
static bool takes_medium(const struct cb_kinds *kinds, const struct cb_quick_paint *paint,
                         const struct cb_parts *usual)
{
    const struct cb_kind *kind = &kinds->kinds[paint->kind];
    return (usual->medium > 0 && !(usual->water > 0)) || kind->law != CB_LAW_WATER ||
           strcmp(kind->name, "wash") == 0 || strcmp(kind->name, "stain") == 0;
}

/* A blend in whole parts, where it is one in few. */
static void make_whole(struct cb_quick *quick)
{
    double *parts[CB_MIX_PARTS_MAX + 3] = {&quick->medium, &quick->retarder, &quick->water};
    size_t count = 3;
    for (size_t i = 0; i < quick->paint_count; i++) {
        parts[count++] = &quick->paints[i].parts;
    }
    for (int scale = 1; scale <= SCALE_MAX; scale++) {
        bool whole = true;
        for (size_t i = 0; i < count; i++) {
            const double scaled = *parts[i] * scale;
            whole = whole && scaled <= WHOLE_MAX && fabs(scaled - round(scaled)) < 1e-9;
        }
        for (size_t i = 0; i < count && whole; i++) {
            *parts[i] = round(*parts[i] * scale);
        }
        if (whole) {
            return;
        }
    }
}

static bool settle_mix(struct reader *reader)
{
    struct cb_quick *quick = reader->quick;
    const struct cb_kinds *kinds = reader->line.known->kinds;
    if (quick->paint_count == 0) {
        return (!(reader->ratio_paint > 0) && !reader->neat) ||
               wrong(reader, "%s without paint has no mix; leave it out",
                     cb_technique_name(quick->technique));
    }
    const struct cb_quick_paint *most = cb_quick_largest(quick);
    double sum = 0;
    for (size_t i = 0; i < quick->paint_count; i++) {
        sum += quick->paints[i].parts;
    }
    if (!reader->by_said) {
        quick->by = kinds->kinds[most->kind].sprayed ? CB_BY_CAN : CB_BY_BRUSH;
    }
    const struct cb_parts usual =
        cb_drying_usual(kinds, most->kind, quick->technique, quick->by).parts;
    if (quick->mix_said) {
        return (!(reader->ratio_paint > 0) && !reader->neat) ||
               wrong(reader, "the mix is said twice; write it once");
    }
    if (reader->ratio_paint > 0 && reader->neat) {
        return wrong(reader, "neat and thinned; write one of them");
    }
    if (reader->ratio_paint > 0) {
        double *thinner = takes_medium(kinds, most, &usual) ? &quick->medium : &quick->water;
        const bool blend = quick->paint_count > 1;
        *thinner = blend ? reader->ratio_thin * sum / reader->ratio_paint : reader->ratio_thin;
        quick->paints[0].parts = blend ? quick->paints[0].parts : reader->ratio_paint;
    } else if (quick->paint_count > 1 && !reader->neat && usual.paint > 0) {
        quick->medium = usual.medium * sum / usual.paint;
        quick->retarder = usual.retarder * sum / usual.paint;
        quick->water = usual.water * sum / usual.paint;
    }
    if (quick->paint_count > 1) {
        make_whole(quick);
    }
    quick->mix_said = reader->ratio_paint > 0 || reader->neat || quick->paint_count > 1;
    for (size_t i = 0; i < quick->paint_count; i++) {
        if (!(quick->paints[i].parts > 0 && quick->paints[i].parts <= PARTS_MAX) ||
            quick->medium > PARTS_MAX || quick->water > PARTS_MAX || quick->retarder > PARTS_MAX) {
            return wrong(reader, "parts are a number above 0, at most %g", PARTS_MAX);
        }
    }
    return true;
}

/* A join brings back what was painted apart. */
static bool check_join(struct reader *reader)
{
    const struct cb_recipe *recipe = reader->line.known->recipe;
    const struct cb_quick *quick = reader->quick;
    size_t apart = 0, named = 0;
    for (size_t i = 0; recipe != NULL && i < recipe->area_count; i++) {
        apart += recipe->areas[i].apart;
        for (size_t n = 0; n < quick->area_count && recipe->areas[i].apart; n++) {
            named += strcmp(recipe->areas[i].name, quick->areas[n]) == 0;
        }
    }
    if (quick->technique != CB_TECHNIQUE_JOIN || (apart > 0 && named == quick->area_count)) {
        return true;
    }
    return wrong(reader, "join: what it joins must be painted apart in the recipe");
}

static bool read_all(struct reader *reader)
{
    if (reader->line.too_long) {
        return wrong(reader, "more than %d words; write fewer", CB_QUICK_TOKENS_MAX);
    }
    if (!take_options(reader)) {
        return false;
    }
    reader->divide = cb_quick_divide(&reader->line, reader->line.count);
    if (reader->divide.first > reader->divide.last) {
        return no_technique(reader);
    }
    reader->quick->technique = reader->divide.technique;
    return take_paints(reader) && take_areas(reader) && settle_mix(reader) && check_join(reader);
}

void cb_quick_read(const struct cb_quick_known *known, const char *text, struct cb_arena *arena,
                   struct cb_quick *quick)
{
    struct reader reader = {.quick = quick, .arena = arena};
    memset(quick, 0, sizeof *quick);
    quick->coats = 1;
    quick->sentence = "";
    reader.line.known = known;
    reader.line.arena = arena;
    reader.line.text = cb_utf8_clean(arena, text, 0);
    split(&reader, reader.line.text);
    quick->complete = read_all(&reader);
    if (quick->complete) {
        quick->sentence = cb_quick_say(&reader.line, quick);
        quick->doubt = reader.doubt;
        if (reader.doubt != NULL) {
            quick->sentence = cb_arena_printf(arena, "%s; %s", quick->sentence, reader.doubt);
        }
    }
    cb_quick_offer(&reader.line, quick);
    if (reader.meant.word != NULL) {
        cb_quick_offer_first(quick, reader.meant);
    }
}
