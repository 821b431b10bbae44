/* SPDX-License-Identifier: MIT */
/* The paint of a stage in hand, and its mix. */
#include "core/recipe/revise_internal.h"

#include <math.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "core/recipe/quick.h"

#define PARTS_MAX 100.0 /* of one thing in a mix, as a recipe has it */

const char *cb_revise_mix_text(const struct cb_recipe *recipe, const struct cb_stage *stage,
                               struct cb_arena *arena)
{
    const bool blend = cb_mix_is_blend(&stage->mix);
    return stage->mix_said || blend ? cb_mix_text(blend ? recipe : NULL, &stage->mix, true, arena)
                                    : "usual";
}

static bool read_kind(struct cb_revising *at, size_t *kind)
{
    const struct cb_kinds *kinds = at->revise->kinds;
    const char *names[CB_KINDS_MAX];
    const char *text = at->texts[CB_REVISE_KIND];
    for (size_t i = 0; i < kinds->kind_count; i++) {
        names[i] = kinds->kinds[i].name;
        if (cb_revise_same(names[i], text)) {
            *kind = i;
            return true;
        }
    }
    const struct cb_trade_word *trade = cb_trade_word(text);
    return cb_revise_fault(
        at, CB_REVISE_KIND, false, "unknown kind: %s%s", text,
        cb_revise_hint(at, trade ? trade->kind : text, names, kinds->kind_count));
}

static int find_paint(const struct cb_recipe *recipe, const char *name, size_t kind)
{
    for (size_t i = 0; i < recipe->paint_count; i++) {
        if (recipe->paints[i].kind == kind && cb_revise_same(recipe->paints[i].name, name)) {
            return (int)i;
        }
    }
    return -1;
}

static bool is_for_others(const struct cb_revise *revise, int paint)
{
    for (size_t i = 0; i < revise->recipe->stage_count; i++) {
        if (i != revise->stage && cb_revise_is_used(&revise->recipe->stages[i], paint)) {
            return true;
        }
    }
    return false;
}

static void put_for(struct cb_mix *mix, int paint, int other)
{
    bool there = false;
    for (size_t i = 0; i < mix->count; i++) {
        there |= mix->parts[i].what == CB_MIX_PAINT && mix->parts[i].paint == other;
    }
    for (size_t i = 0; i < mix->count && !there; i++) {
        if (mix->parts[i].what == CB_MIX_PAINT && mix->parts[i].paint == paint) {
            mix->parts[i].paint = other;
        }
    }
}

/* Another paint under the same key; what was said of the one before is not said of it. */
static void change_in_place(struct cb_paint *paint, const char *name, size_t kind)
{
    paint->name = name;
    paint->kind = kind;
    paint->film_um = paint->solids = paint->dry_min = paint->label_min = NAN;
}

/* The paint that the name and the kind mean, for the stage in hand or for all of the one before. */
static bool find_main(struct cb_revising *at, const char *name, size_t kind, int before, int *now)
{
    const struct cb_recipe *recipe = at->revise->recipe;
    const bool some = !cb_revise_same(at->texts[CB_REVISE_FOR], "all");
    const char *with = at->texts[CB_REVISE_WITH];
    const bool all = with && cb_revise_same(with, "all") && !some;
    const bool same = before >= 0 && recipe->paints[before].kind == kind &&
                      cb_revise_same(recipe->paints[before].name, name);
    *now = same ? before : find_paint(recipe, name, kind);
    if (same) {
        return true;
    }
    if (*now < 0 && before >= 0 && !some && (all || !is_for_others(at->revise, before))) {
        *now = at->revised->swapped = before;
        change_in_place(&at->draft->paints[before], cb_utf8_clean(at->arena, name, 0), kind);
        return true;
    }
    if (*now < 0) {
        *now = cb_draft_paint(at->draft, name, kind, at->arena);
    }
    for (size_t i = 0; all && *now >= 0 && i < recipe->stage_count; i++) {
        if (at->revise->to_do >> i & 1) {
            put_for(&at->draft->stages[i].mix, before, *now);
        }
    }
    return *now >= 0 ||
           cb_revise_fault(at, CB_REVISE_PAINT, false, "no room for another paint: %d are the most",
                           CB_RECIPE_MAX);
}

/* "Oilskin green", "green": a paint of the recipe by its name or key; -1: none. */
static int named_paint(const struct cb_recipe *recipe, const char *word)
{
    int found = -1;
    for (size_t i = recipe->paint_count; i-- > 0;) {
        if (cb_revise_same(recipe->paints[i].name, word) ||
            cb_revise_same(recipe->paints[i].key, word)) {
            found = (int)i;
        }
    }
    return found;
}

/* A paint that no stage had yet: asked about, and then an acrylic, as most pots are. */
static bool add_paint(struct cb_revising *at, const char *word, int *paint)
{
    const char *names[CB_RECIPE_MAX];
    size_t kind = 0;
    for (size_t i = 0; i < at->draft->recipe.paint_count; i++) {
        names[i] = at->draft->paints[i].name;
    }
    if (!(at->yes >> CB_REVISE_MIX & 1)) {
        return cb_revise_ask(at, CB_REVISE_MIX, "paint", word, names, at->draft->recipe.paint_count,
                             "adds it, an acrylic");
    }
    (void)cb_kinds_find(at->revise->kinds, "acrylic", &kind); /* else the first there is */
    *paint = cb_draft_paint(at->draft, word, kind, at->arena);
    return *paint >= 0 ||
           cb_revise_fault(at, CB_REVISE_MIX, false, "no room for another paint: %d are the most",
                           CB_RECIPE_MAX);
}

/* "2 green": a number, 1 when there is none, and what of. */
static bool read_part(struct cb_revising *at, const char *text, int before, int now,
                      struct cb_mix *mix)
{
    static const struct {
        const char *word;
        enum cb_mix_what what;
    } words[] = {{"paint", CB_MIX_PAINT},
                 {"medium", CB_MIX_MEDIUM},
                 {"retarder", CB_MIX_RETARDER},
                 {"water", CB_MIX_WATER}};
    const size_t digits = strspn(text, "0123456789.");
    const char *word = text + digits + strspn(text + digits, " ");
    struct cb_mix_part part = {.what = CB_MIX_PAINT, .paint = -1, .parts = 1};
    bool known = false;
    if (*word == '\0') {
        return cb_revise_fault(at, CB_REVISE_MIX, false,
                               "%s of what? write it as in 2 paint + 1 water",
                               *text == '\0' ? "+" : text);
    }
    if (digits > 0 && (!cb_str_number(cb_arena_text_n(at->arena, text, digits), &part.parts) ||
                       !(part.parts > 0) || part.parts > PARTS_MAX)) {
        return cb_revise_fault(at, CB_REVISE_MIX, false,
                               "%s: parts are a number above 0, at most %g", text, PARTS_MAX);
    }
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (cb_revise_same(word, words[i].word)) {
            part.what = words[i].what;
            known = true;
        }
    }
    if (part.what == CB_MIX_PAINT) {
        part.paint = known ? now : named_paint(at->revise->recipe, word);
        part.paint = part.paint == before ? now : part.paint;
        part.paint = part.paint < 0 ? named_paint(&at->draft->recipe, word) : part.paint;
        if (part.paint < 0 && !add_paint(at, word, &part.paint)) {
            return false;
        }
    }
    for (size_t i = 0; i < mix->count; i++) {
        if (mix->parts[i].what == part.what &&
            (part.what != CB_MIX_PAINT || mix->parts[i].paint == part.paint)) {
            return cb_revise_fault(at, CB_REVISE_MIX, false,
                                   "%s stands in it twice; add the parts up", word);
        }
    }
    if (mix->count == CB_MIX_PARTS_MAX) {
        return cb_revise_fault(at, CB_REVISE_MIX, false, "more than %d things in a mix",
                               CB_MIX_PARTS_MAX);
    }
    mix->parts[mix->count++] = part;
    return true;
}

static bool read_parts(struct cb_revising *at, const char *text, int before, int now,
                       struct cb_mix *mix)
{
    while (text) {
        const char *plus = strchr(text, '+');
        size_t length = plus ? (size_t)(plus - text) : strlen(text);
        while (length > 0 && *text == ' ') {
            text++;
            length--;
        }
        while (length > 0 && text[length - 1] == ' ') {
            length--;
        }
        if (!read_part(at, cb_arena_text_n(at->arena, text, length), before, now, mix)) {
            return false;
        }
        text = plus ? plus + 1 : NULL;
    }
    return true;
}

/* "2:1" as painters write it: paint and water. */
static const char *in_words(struct cb_revising *at, const char *text)
{
    const size_t paint = strspn(text, "0123456789."), gap = strspn(text + paint, ": ");
    const char *water = text + paint + gap;
    const size_t digits = strspn(water, "0123456789.");
    const bool ratio = paint > 0 && digits > 0 && memchr(text + paint, ':', gap) &&
                       water[digits + strspn(water + digits, " ")] == '\0';
    return ratio ? cb_arena_printf(at->arena, "%.*s paint + %.*s water", (int)paint, text,
                                   (int)digits, water)
                 : text;
}

static bool read_mix(struct cb_revising *at, int before, int now)
{
    struct cb_stage *stage = &at->stage;
    const char *text = at->texts[CB_REVISE_MIX] + strspn(at->texts[CB_REVISE_MIX], " ");
    struct cb_mix mix = {0};
    if (!cb_revise_differs(at, CB_REVISE_MIX) && stage->mix.count > 0) {
        put_for(&stage->mix, before, now);
        return true;
    }
    const bool usual = *text == '\0' || cb_revise_same(text, "usual");
    if (usual || cb_revise_same(text, "neat")) {
        mix.count = 1;
        mix.parts[0] = (struct cb_mix_part){CB_MIX_PAINT, now, 1};
    } else if (!read_parts(at, in_words(at, text), before, now, &mix)) {
        return false;
    }
    if (cb_mix_paint(&mix) < 0) {
        return cb_revise_fault(at, CB_REVISE_MIX, false,
                               "no paint in it; write it as in 2 paint + 1 water");
    }
    if (cb_revise_differs(at, CB_REVISE_PAINT)) {
        bool has = false;
        for (size_t i = 0; i < mix.count; i++) {
            has |= mix.parts[i].what == CB_MIX_PAINT && mix.parts[i].paint == now;
        }
        if (!has) {
            return cb_revise_fault(at, CB_REVISE_MIX, false, "nothing of %s in it",
                                   at->texts[CB_REVISE_PAINT]);
        }
    }
    stage->mix = mix;
    stage->mix_said = !usual;
    return true;
}

static enum cb_by usual_by(const struct cb_revising *at, const struct cb_recipe *recipe, int paint)
{
    return paint >= 0 && at->revise->kinds->kinds[recipe->paints[paint].kind].sprayed ? CB_BY_CAN
                                                                                      : CB_BY_BRUSH;
}

/* What stands before the technique in a quick line: a paint, or a blend. */
static void read_as_quick(struct cb_revising *at, const char *text, struct cb_quick *quick)
{
    const struct cb_quick_known known = {.kinds = at->revise->kinds, .recipe = at->revise->recipe};
    cb_quick_read(&known,
                  cb_arena_printf(at->arena, "%s %s", text, cb_technique_name(at->stage.technique)),
                  at->arena, quick);
}

/* A name that is nearly a known one is asked about. */
static bool is_meant(struct cb_revising *at, const struct cb_quick *quick)
{
    return !quick->doubt || (at->yes >> CB_REVISE_PAINT & 1) != 0 ||
           cb_revise_fault(at, CB_REVISE_PAINT, true, "%s ENTER again adds it", quick->doubt);
}

static bool read_blend(struct cb_revising *at, const struct cb_quick *quick)
{
    struct cb_stage *stage = &at->stage;
    const struct {
        enum cb_mix_what what;
        double parts;
    } thinners[] = {{CB_MIX_MEDIUM, quick->medium},
                    {CB_MIX_RETARDER, quick->retarder},
                    {CB_MIX_WATER, quick->water}};
    if (!quick->complete) {
        return cb_revise_fault(at, CB_REVISE_PAINT, false, "%s", quick->sentence);
    }
    if (cb_revise_differs(at, CB_REVISE_MIX)) {
        return cb_revise_fault(at, CB_REVISE_MIX, false,
                               "the mix is said twice; leave it, or name one paint above");
    }
    stage->mix = (struct cb_mix){0};
    for (size_t i = 0; i < quick->paint_count; i++) {
        const struct cb_quick_paint *paint = &quick->paints[i];
        const int index = cb_draft_paint(at->draft, paint->name, paint->kind, at->arena);
        if (index < 0) {
            return cb_revise_fault(at, CB_REVISE_PAINT, false,
                                   "no room for another paint: %d are the most", CB_RECIPE_MAX);
        }
        stage->mix.parts[stage->mix.count++] =
            (struct cb_mix_part){CB_MIX_PAINT, index, paint->parts};
    }
    for (size_t i = 0; i < sizeof thinners / sizeof *thinners; i++) {
        if (thinners[i].parts > 0) {
            stage->mix.parts[stage->mix.count++] =
                (struct cb_mix_part){thinners[i].what, -1, thinners[i].parts};
        }
    }
    stage->mix_said = true;
    return true;
}

bool cb_revise_read_paint(struct cb_revising *at)
{
    struct cb_stage *stage = &at->stage;
    const int before = cb_mix_paint(&stage->mix);
    const char *name = at->texts[CB_REVISE_PAINT];
    size_t kind = 0;
    int now = -1;
    if (!name) {
        return true; /* without paint */
    }
    if (name[strspn(name, " ")] == '\0') {
        if (cb_technique_needs_paint(stage->technique)) {
            return cb_revise_fault(at, CB_REVISE_PAINT, false, "a paint is needed; name it");
        }
        stage->mix = (struct cb_mix){0};
        stage->mix_said = false;
        return true;
    }
    if (cb_revise_differs(at, CB_REVISE_PAINT) && named_paint(at->revise->recipe, name) < 0) {
        struct cb_quick quick;
        read_as_quick(at, name, &quick);
        if (!is_meant(at, &quick)) {
            return false;
        }
        if (strchr(name, '+')) {
            return read_blend(at, &quick);
        }
    }
    if (!read_kind(at, &kind) || !find_main(at, name, kind, before, &now) ||
        !read_mix(at, before, now)) {
        return false;
    }
    if (stage->by == usual_by(at, at->revise->recipe, before)) {
        stage->by = usual_by(at, &at->draft->recipe, cb_mix_paint(&stage->mix));
    }
    return true;
}
