/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "base/brief.h"
#include "base/str.h"
#include "core/recipe/recipe_internal.h"

#define PARTS_MAX 100.0 /* of one thing in a mix */

static const struct {
    const char *word;
    enum cb_mix_what what;
} mix_words[] = {
    {"paint", CB_MIX_PAINT},
    {"medium", CB_MIX_MEDIUM},
    {"retarder", CB_MIX_RETARDER},
    {"water", CB_MIX_WATER},
};
#define MIX_WORD_COUNT (sizeof mix_words / sizeof mix_words[0])

static int find_mix_word(const char *word)
{
    for (size_t i = 0; i < MIX_WORD_COUNT; i++) {
        if (strcmp(mix_words[i].word, word) == 0) {
            return (int)i;
        }
    }
    return -1;
}

bool cb_recipe_is_mix_word(const char *word)
{
    return find_mix_word(word) >= 0;
}

double cb_mix_sum(const struct cb_mix *mix, enum cb_mix_what what)
{
    double sum = 0;
    for (size_t i = 0; i < mix->count; i++) {
        sum += mix->parts[i].what == what ? mix->parts[i].parts : 0;
    }
    return sum;
}

int cb_mix_paint(const struct cb_mix *mix)
{
    int paint = -1;
    double most = 0;
    for (size_t i = 0; i < mix->count; i++) {
        if (mix->parts[i].what == CB_MIX_PAINT && mix->parts[i].parts > most) {
            most = mix->parts[i].parts;
            paint = mix->parts[i].paint;
        }
    }
    return paint;
}

bool cb_mix_is_blend(const struct cb_mix *mix)
{
    size_t paints = 0;
    for (size_t i = 0; i < mix->count; i++) {
        paints += mix->parts[i].what == CB_MIX_PAINT;
    }
    return paints > 1;
}

/* One part, "2 green": number (1 when there is none) and word. */
static bool read_part(const struct cb_recipe_reader *reader, const struct cb_tree *at,
                      const char *part, int paint, struct cb_mix *mix)
{
    const struct cb_schema *schema = &reader->schema;
    size_t digits = strspn(part, "0123456789.");
    char *number = cb_arena_text_n(schema->arena, part, digits);
    const char *word = part + digits + strspn(part + digits, " ");
    struct cb_mix_part out = {.what = CB_MIX_PAINT, .paint = -1, .parts = 1};
    if (*word == '\0') {
        cb_schema_add(schema, at, "mix: %s: part of what? write it as in 2 paint + 1 water",
                      *part == '\0' ? "+" : part);
        return false;
    }
    if (digits > 0 &&
        (!cb_str_number(number, &out.parts) || !(out.parts > 0) || out.parts > PARTS_MAX)) {
        cb_schema_add(schema, at, "mix: %s: parts are a number above 0, at most %g", part,
                      PARTS_MAX);
        return false;
    }
    int known = find_mix_word(word);
    if (known >= 0) {
        out.what = mix_words[known].what;
        out.paint = out.what == CB_MIX_PAINT ? paint : -1;
        if (out.what == CB_MIX_PAINT && paint < 0) {
            cb_schema_add(schema, at, "mix: paint: which one? name it with the key paint, or here");
            return false;
        }
    } else {
        const char *names[CB_RECIPE_MAX + MIX_WORD_COUNT];
        size_t count = 0;
        for (size_t i = 0; i < reader->recipe->paint_count; i++) {
            names[count++] = reader->paint_keys[i];
        }
        for (size_t i = 0; i < MIX_WORD_COUNT; i++) {
            names[count++] = mix_words[i].word;
        }
        out.paint = cb_recipe_lookup(reader, at, "paint", word, names, count);
        if (out.paint < 0) {
            return false;
        }
    }
    for (size_t i = 0; i < mix->count; i++) {
        if (mix->parts[i].what == out.what && mix->parts[i].paint == out.paint) {
            cb_schema_add(schema, at, "mix: %s stands in it twice; add the parts up", word);
            return false;
        }
    }
    if (mix->count == CB_MIX_PARTS_MAX) {
        cb_schema_add(schema, at, "mix: more than %d things", CB_MIX_PARTS_MAX);
        return false;
    }
    mix->parts[mix->count++] = out;
    return true;
}

/* "2:1", as painters write it, in our words; NULL: it is no such thing. */
static const char *thinned(const char *text, struct cb_arena *arena)
{
    const size_t paint = strspn(text, "0123456789."), gap = strspn(text + paint, ": ");
    const char *water = text + paint + gap;
    const size_t length = strspn(water, "0123456789.");
    if (paint == 0 || length == 0 || memchr(text + paint, ':', gap) == NULL) {
        return NULL;
    }
    return cb_arena_printf(arena, "%.*s paint + %.*s water", (int)paint, text, (int)length, water);
}

bool cb_recipe_read_mix(const struct cb_recipe_reader *reader, const struct cb_tree *at,
                        const char *text, int paint, struct cb_mix *mix)
{
    *mix = (struct cb_mix){0};
    const char *thin = thinned(text, reader->schema.arena);
    if (thin != NULL) {
        cb_schema_add(&reader->schema, at, "mix: %s: of what? did you mean %s?", text, thin);
        return false;
    }
    while (text != NULL) {
        const char *plus = strchr(text, '+');
        size_t length = plus != NULL ? (size_t)(plus - text) : strlen(text);
        const char *next = plus != NULL ? plus + 1 : NULL;
        while (length > 0 && *text == ' ') {
            text++;
            length--;
        }
        while (length > 0 && text[length - 1] == ' ') {
            length--;
        }
        char *part = cb_arena_text_n(reader->schema.arena, text, length);
        if (!read_part(reader, at, part, paint, mix)) {
            return false;
        }
        text = next;
    }
    if (cb_mix_paint(mix) < 0) {
        cb_schema_add(&reader->schema, at, "mix: no paint in it; write it as in 2 paint + 1 water");
        return false;
    }
    return true;
}

char *cb_mix_text(const struct cb_recipe *recipe, const struct cb_mix *mix, bool names,
                  struct cb_arena *arena)
{
    if (mix->count == 0) {
        return cb_arena_text(arena, "");
    }
    if (mix->count == 1 && mix->parts[0].what == CB_MIX_PAINT) {
        return cb_arena_text(arena, "neat");
    }
    struct cb_str text = {0};
    for (size_t i = 0; i < mix->count; i++) {
        const struct cb_mix_part *part = &mix->parts[i];
        const char *word = "paint";
        for (size_t known = 0; known < MIX_WORD_COUNT; known++) {
            word = mix_words[known].what == part->what ? mix_words[known].word : word;
        }
        if (part->what == CB_MIX_PAINT && recipe != NULL && part->paint >= 0 &&
            (size_t)part->paint < recipe->paint_count) {
            const struct cb_paint *paint = &recipe->paints[part->paint];
            word = names ? paint->name : paint->key;
        }
        char parts[CB_BRIEF_BYTES];
        cb_str_addf(&text, "%s%s %s", i > 0 ? " + " : "", cb_brief(part->parts, parts), word);
    }
    char *kept = cb_arena_text(arena, cb_str_text(&text));
    cb_str_fini(&text);
    return kept;
}
