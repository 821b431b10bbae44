/* SPDX-License-Identifier: MIT */
#include "core/recipe/recipe_write.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"

#define KEY_BYTES     1000 /* a longer one needs a `?`: YAML 1.2.2, section 8.2.2, 1024 characters */
#define MINUTES_BYTES 23   /* as long a number as the reader of durations takes */
#define DECIMALS_MAX  1074 /* none of the doubles has more (IEEE 754) */

/* The reader folds blanks of a value and trims it; a key it takes as it is. */
static bool is_line(const char *text)
{
    const size_t length = strlen(text);
    return length > 0 && text[0] != ' ' && text[length - 1] != ' ' && strstr(text, "  ") == NULL &&
           strchr(text, '\n') == NULL;
}

/* May it stand without quotes? flow: within brackets or before a colon. */
static bool is_plain(const char *text, bool flow)
{
    return is_line(text) && strchr("-?:,[]{}#&*!|>'\"%@`", *text) == NULL &&
           text[strlen(text) - 1] != ':' && strstr(text, " #") == NULL &&
           strstr(text, ": ") == NULL && !(flow && strpbrk(text, ":?,[]{}") != NULL);
}

void cb_recipe_write_text(struct cb_str *out, const char *text, bool flow)
{
    if (is_plain(text, flow)) {
        cb_str_add(out, text);
        return;
    }
    cb_str_add(out, "\"");
    for (const char *at = text; *at != '\0'; at++) {
        if (*at == '\n') {
            cb_str_add(out, "\\n");
        } else {
            cb_str_addf(out, *at == '"' || *at == '\\' ? "\\%c" : "%c", *at);
        }
    }
    cb_str_add(out, "\"");
}

/* The name before a colon, one level down. */
static void add_name(struct cb_str *out, const char *name)
{
    const bool is_long = strlen(name) > KEY_BYTES;
    cb_str_add(out, is_long ? "  ? " : "  ");
    cb_recipe_write_text(out, name, true);
    cb_str_add(out, is_long ? "\n  : " : ": ");
}

/* The shortest decimal that is this number again. */
static char *number(double value, struct cb_arena *arena)
{
    for (int decimals = 0;; decimals++) {
        char *text = cb_arena_printf(arena, "%.*f", decimals, value);
        double again = NAN;
        if (decimals == DECIMALS_MAX || (cb_str_number(text, &again) && again == value)) {
            return text;
        }
    }
}

/* A number near value that scale turns back into it. */
static double unscaled(double value, double scale, double (*apply)(double, double))
{
    const double near = scale * value;
    double low = near, high = near;
    for (int step = 0; step < 4; step++) {
        if (apply(low, scale) == value) {
            return low;
        }
        if (apply(high, scale) == value) {
            return high;
        }
        low = nextafter(low, -INFINITY);
        high = nextafter(high, INFINITY);
    }
    return near;
}

static double by_division(double value, double scale)
{
    return value / scale;
}

/* How the reader makes minutes of seconds. */
static double by_factor(double value, double scale)
{
    return value * (1 / scale);
}

static bool reads_as(const char *text, double minutes)
{
    double again = NAN;
    return cb_recipe_minutes(text, &again) && again == minutes;
}

static char *duration(double minutes, struct cb_arena *arena)
{
    char *plain = number(minutes, arena);
    char *seconds = cb_arena_printf(arena, "%s s", number(unscaled(minutes, 60, by_factor), arena));
    const bool is_short = strlen(plain) <= strlen(seconds) && strlen(plain) <= MINUTES_BYTES;
    return is_short || !reads_as(seconds, minutes) ? plain : seconds;
}

static char *percent(double share, struct cb_arena *arena)
{
    return cb_arena_printf(arena, "%s %%", number(unscaled(share, 100, by_division), arena));
}

/* Keys of a map within braces, or of a stage, line by line. */
struct keys {
    struct cb_str *out;
    struct cb_arena *arena;
    bool flow;
    int count;
};

static void add_key(struct keys *keys, const char *key)
{
    if (keys->flow) {
        cb_str_addf(keys->out, "%s%s: ", keys->count > 0 ? ", " : "{", key);
    } else {
        cb_str_addf(keys->out, "%s%s: ", keys->count > 0 ? "\n    " : "  - ", key);
    }
    keys->count++;
}

static void add_plain(struct keys *keys, const char *key, const char *text)
{
    add_key(keys, key);
    cb_str_add(keys->out, text);
}

static void add_said(struct keys *keys, const char *key, const char *text)
{
    if (text != NULL) {
        add_key(keys, key);
        cb_recipe_write_text(keys->out, text, keys->flow);
    }
}

static void add_duration(struct keys *keys, const char *key, double minutes)
{
    if (!isnan(minutes)) {
        add_plain(keys, key, duration(minutes, keys->arena));
    }
}

static void add_list(struct cb_str *out, const char *const *words, size_t count, uint64_t mask)
{
    const char *between = "[";
    for (size_t i = 0; i < count; i++) {
        if (mask >> i & 1) {
            cb_str_add(out, between);
            cb_recipe_write_text(out, words[i], true);
            between = ", ";
        }
    }
    cb_str_add(out, *between == '[' ? "[]" : "]");
}

static void add_words(struct keys *keys, const char *key, const char *const *words, size_t count,
                      uint64_t mask)
{
    if (mask != 0) {
        add_key(keys, key);
        add_list(keys->out, words, count, mask);
    }
}

struct writer {
    struct cb_str out;
    struct cb_arena *arena;
    const struct cb_recipe *recipe;
    const struct cb_kinds *kinds;
    const char *paints[CB_RECIPE_MAX], *areas[CB_RECIPE_MAX], *groups[CB_RECIPE_MAX],
        *stages[CB_RECIPE_MAX];
};

static void add_top(struct writer *writer, const char *key, const char *text)
{
    if (text != NULL) {
        cb_str_addf(&writer->out, "%s: ", key);
        cb_recipe_write_text(&writer->out, text, false);
        cb_str_add(&writer->out, "\n");
    }
}

static void add_remarks(struct cb_str *out, const char *remarks, const char *indent)
{
    for (const char *at = remarks; at != NULL && *at != '\0';) {
        const size_t length = strcspn(at, "\n");
        cb_str_addf(out, "%s# ", indent);
        cb_str_add_n(out, at, length);
        cb_str_add(out, "\n");
        at += length + (at[length] == '\n');
    }
}

static void add_pictures(struct cb_str *out, const char *const *pictures, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        cb_str_add(out, i == 0 ? "[" : ", ");
        cb_recipe_write_text(out, pictures[i], true);
    }
    cb_str_add(out, "]");
}

static void add_head(struct writer *writer, const char *remarks)
{
    const struct cb_recipe *recipe = writer->recipe;
    add_remarks(&writer->out, remarks, "");
    cb_str_add(&writer->out, "coatbell: 1\n");
    add_top(writer, "name", recipe->name);
    add_top(writer, "about", recipe->about);
    if (recipe->figures > 0) {
        cb_str_addf(&writer->out, "figures: %d\n", recipe->figures);
    }
    if (recipe->height_mm != CB_RECIPE_HEIGHT_MM) {
        cb_str_addf(&writer->out, "height: %s mm\n", number(recipe->height_mm, writer->arena));
    }
    if (recipe->change_min != CB_RECIPE_CHANGE_MIN) {
        cb_str_addf(&writer->out, "change: %s\n", duration(recipe->change_min, writer->arena));
    }
}

static bool has_figure(const struct cb_group *group, int figure)
{
    return figure <= CB_FIGURES_MAX && group->figures[(figure - 1) / 64] >> (figure - 1) % 64 & 1;
}

static void add_figures(struct cb_str *out, const struct cb_group *group)
{
    const char *between = "[";
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        int last = figure;
        if (!has_figure(group, figure)) {
            continue;
        }
        while (has_figure(group, last + 1)) {
            last++;
        }
        cb_str_addf(out, "%s%d", between, figure);
        if (last == CB_FIGURES_MAX) { /* and all that there will ever be */
            cb_str_add(out, "-");
        } else if (last > figure) {
            cb_str_addf(out, "-%d", last);
        }
        between = ", ";
        figure = last;
    }
    cb_str_add(out, "]");
}

static void add_groups(struct writer *writer)
{
    cb_str_add(&writer->out, writer->recipe->group_count > 0 ? "groups:\n" : "");
    for (size_t i = 0; i < writer->recipe->group_count; i++) {
        add_name(&writer->out, writer->groups[i]);
        add_figures(&writer->out, &writer->recipe->groups[i]);
        cb_str_add(&writer->out, "\n");
    }
}

static void add_names(struct writer *writer)
{
    const char *head = "names:\n";
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        const char *name = writer->recipe->names[figure];
        if (name != NULL) {
            cb_str_addf(&writer->out, "%s  %d: ", head, figure);
            cb_recipe_write_text(&writer->out, name, false);
            cb_str_add(&writer->out, "\n");
            head = "";
        }
    }
}

static void add_paint(struct writer *writer, const struct cb_paint *paint)
{
    struct keys keys = {&writer->out, writer->arena, true, 0};
    add_name(&writer->out, paint->key);
    add_said(&keys, "name", strcmp(paint->name, paint->key) == 0 ? NULL : paint->name);
    add_said(&keys, "kind", writer->kinds->kinds[paint->kind].name);
    add_said(&keys, "tone", paint->tone == CB_TONE_NONE ? NULL : cb_tone_name(paint->tone));
    if (!isnan(paint->film_um)) {
        add_plain(&keys, "film", number(paint->film_um, writer->arena));
    }
    if (!isnan(paint->solids)) {
        add_plain(&keys, "solids", percent(paint->solids, writer->arena));
    }
    add_duration(&keys, "dry", paint->dry_min);
    add_duration(&keys, "label", paint->label_min);
    add_said(&keys, "instead", paint->instead);
    if (!isnan(paint->drops_per_ml)) {
        add_plain(&keys, "drops", number(paint->drops_per_ml, writer->arena));
    }
    cb_str_add(&writer->out, "}\n");
}

/* Of the two that touch the earlier one says so, unless a list could not name the other. */
static uint64_t told_beside(const struct writer *writer, size_t area)
{
    uint64_t told = 0;
    for (size_t other = 0; other < writer->recipe->area_count; other++) {
        const bool earlier = area < other || !is_line(writer->areas[area]);
        const bool touch = writer->recipe->areas[area].beside >> other & 1;
        told |= touch && earlier && is_line(writer->areas[other]) ? UINT64_C(1) << other : 0;
    }
    return told;
}

static void add_area(struct writer *writer, size_t index)
{
    const struct cb_area *area = &writer->recipe->areas[index];
    const size_t count = writer->recipe->area_count;
    struct keys keys = {&writer->out, writer->arena, true, 0};
    add_name(&writer->out, area->name);
    if (area->share_said) {
        add_plain(&keys, "share",
                  cb_arena_printf(writer->arena, "%s %%", number(area->share_pct, writer->arena)));
    }
    if (!isnan(area->disc_mm)) {
        add_plain(&keys, "disc",
                  cb_arena_printf(writer->arena, "%s mm", number(area->disc_mm, writer->arena)));
    }
    add_words(&keys, "beside", writer->areas, count, told_beside(writer, index));
    add_words(&keys, "near", writer->areas, count, area->near);
    if (area->apart) {
        add_plain(&keys, "apart", "yes");
    }
    cb_str_add(&writer->out, keys.count > 0 ? "}\n" : "{}\n");
}

/* A mix of one paint calls it `paint`, so that the key stands once. */
static void add_mix(struct writer *writer, struct keys *keys, const struct cb_mix *mix)
{
    const bool blend = cb_mix_is_blend(mix);
    struct cb_str text = {0};
    for (size_t i = 0; i < mix->count; i++) {
        static const char *const words[] = {"paint", "medium", "retarder", "water"};
        const struct cb_mix_part *part = &mix->parts[i];
        const bool named = part->what == CB_MIX_PAINT && blend;
        const char *word = named ? writer->paints[part->paint] : words[part->what];
        cb_str_add(&text, i > 0 ? " + " : "");
        if (part->parts != 1 || *word != ':') { /* `1 :9` would be read as 1:9 */
            cb_str_addf(&text, "%s ", number(part->parts, writer->arena));
        }
        cb_str_add(&text, word);
    }
    add_said(keys, "mix", cb_str_text(&text));
    cb_str_fini(&text);
}

static void add_paint_and_mix(struct writer *writer, struct keys *keys,
                              const struct cb_stage *stage)
{
    const int paint = cb_mix_paint(&stage->mix);
    const bool blend = cb_mix_is_blend(&stage->mix);
    if (paint >= 0 && !blend) {
        add_said(keys, "paint", writer->paints[paint]);
    }
    if (paint >= 0 && (stage->mix_said || blend)) {
        add_mix(writer, keys, &stage->mix);
    }
}

static void add_together(struct keys *keys, int together)
{
    if (together == CB_TOGETHER_ALL) {
        add_plain(keys, "together", "yes");
    } else if (together > 0) {
        add_plain(keys, "together", cb_arena_printf(keys->arena, "%d", together));
    }
}

static enum cb_by usual_by(const struct writer *writer, const struct cb_stage *stage)
{
    const int paint = cb_mix_paint(&stage->mix);
    const bool sprayed =
        paint >= 0 && writer->kinds->kinds[writer->recipe->paints[paint].kind].sprayed;
    return sprayed ? CB_BY_CAN : CB_BY_BRUSH;
}

static void add_stage(struct writer *writer, const struct cb_stage *stage, const char *remarks)
{
    const struct cb_recipe *recipe = writer->recipe;
    struct keys keys = {&writer->out, writer->arena, false, 0};
    add_said(&keys, "name", stage->name);
    add_plain(&keys, "technique", cb_technique_name(stage->technique));
    add_paint_and_mix(writer, &keys, stage);
    add_words(&keys, "on", writer->areas, recipe->area_count, stage->whole ? 0 : stage->on);
    add_words(&keys, "for", writer->groups, recipe->group_count, stage->groups);
    add_said(&keys, "by", stage->by == usual_by(writer, stage) ? NULL : cb_by_name(stage->by));
    add_said(&keys, "place", stage->place);
    if (stage->coats != 1) {
        add_plain(&keys, "coats", cb_arena_printf(writer->arena, "%d", stage->coats));
    }
    add_duration(&keys, "minutes", stage->work_min);
    add_duration(&keys, "dry", stage->dry_min);
    add_duration(&keys, "wait", stage->wait_min);
    add_said(&keys, "brush", stage->brush);
    add_words(&keys, "tidy_with", writer->paints, recipe->paint_count, stage->tidy_with);
    add_together(&keys, stage->together);
    if (stage->optional) {
        add_plain(&keys, "optional", "yes");
    }
    if (stage->has_after) {
        add_key(&keys, "after");
        add_list(&writer->out, writer->stages, recipe->stage_count, stage->after);
    }
    if (stage->picture_count > 0) {
        add_key(&keys, "pictures");
        add_pictures(&writer->out, stage->pictures, stage->picture_count);
    }
    add_said(&keys, "say", stage->say);
    cb_str_add(&writer->out, "\n");
    add_remarks(&writer->out, remarks, "    ");
}

static void add_sections(struct writer *writer, const struct cb_recipe_remarks *remarks)
{
    const struct cb_recipe *recipe = writer->recipe;
    add_head(writer, remarks->head);
    add_groups(writer);
    add_names(writer);
    if (recipe->picture_count > 0) {
        cb_str_add(&writer->out, "pictures: ");
        add_pictures(&writer->out, recipe->pictures, recipe->picture_count);
        cb_str_add(&writer->out, "\n");
    }
    cb_str_add(&writer->out, recipe->paint_count > 0 ? "paints:\n" : "");
    for (size_t i = 0; i < recipe->paint_count; i++) {
        add_remarks(&writer->out, remarks->paints[i], "  ");
        add_paint(writer, &recipe->paints[i]);
    }
    cb_str_add(&writer->out, recipe->area_count > 0 ? "areas:\n" : "");
    for (size_t i = 0; i < recipe->area_count; i++) {
        add_area(writer, i);
    }
    cb_str_add(&writer->out, "stages:\n");
    for (size_t i = 0; i < recipe->stage_count; i++) {
        add_stage(writer, &recipe->stages[i], remarks->stages[i]);
    }
}

char *cb_recipe_write(const struct cb_recipe *recipe, const struct cb_kinds *kinds,
                      const struct cb_recipe_remarks *remarks, struct cb_arena *arena)
{
    static const struct cb_recipe_remarks none;
    struct writer writer = {.arena = arena, .recipe = recipe, .kinds = kinds};
    for (size_t i = 0; i < recipe->paint_count; i++) {
        writer.paints[i] = recipe->paints[i].key;
    }
    for (size_t i = 0; i < recipe->area_count; i++) {
        writer.areas[i] = recipe->areas[i].name;
    }
    for (size_t i = 0; i < recipe->group_count; i++) {
        writer.groups[i] = recipe->groups[i].name;
    }
    for (size_t i = 0; i < recipe->stage_count; i++) {
        writer.stages[i] = recipe->stages[i].name;
    }
    add_sections(&writer, remarks != NULL ? remarks : &none);
    char *text = cb_arena_text(arena, cb_str_text(&writer.out));
    cb_str_fini(&writer.out);
    return text;
}
