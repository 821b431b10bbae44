/* SPDX-License-Identifier: MIT */
/* `set-out`: what to lay out before the first brush is wet. */
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "command/recipe_args.h"
#include "command/wrap.h"
#include "core/recipe/amount.h"
#include "core/recipe/drying_stage.h"
#include "core/recipe/gate.h"
#include "shell/json_write.h"

struct list {
    size_t count;
    const char *items[CB_RECIPE_MAX];
};

struct set_out {
    struct cb_recipe_args in;
    size_t order_count;
    int order[CB_RECIPE_MAX]; /* paints, as they come into use */
    double paint_ml[CB_RECIPE_MAX];
    double medium_ml, retarder_ml, water_ml, total_ml;
    struct list brushes;
    uint64_t tidy;
    size_t caution_count;
    struct cb_caution cautions[16];
};

static void add_text(struct list *list, const char *text)
{
    for (size_t i = 0; i < list->count; i++) {
        if (strcmp(list->items[i], text) == 0) {
            return;
        }
    }
    if (list->count < CB_RECIPE_MAX) {
        list->items[list->count++] = text;
    }
}

static void add_paint(struct set_out *out, int paint, double ml)
{
    size_t i = 0;
    while (i < out->order_count && out->order[i] != paint) {
        i++;
    }
    if (i == out->order_count) {
        out->order[out->order_count++] = paint;
    }
    out->paint_ml[paint] += ml;
}

static void add_amounts(struct set_out *out, size_t stage)
{
    const struct cb_recipe *recipe = out->in.recipe;
    const struct cb_stage *s = &recipe->stages[stage];
    int figures = cb_recipe_args_figures(&out->in, stage);
    if (cb_mix_paint(&s->mix) < 0 || figures == 0) {
        return;
    }
    const struct cb_amount amount =
        cb_amount_of(out->in.kinds, recipe, stage, figures, out->in.config->drops_per_ml);
    const struct cb_parts *t = &amount.totals;
    const double drops = t->paint + t->medium + t->retarder + t->water;
    const double ml = s->coats * amount.poured_ml / drops; /* of what one drop stands for */
    for (size_t i = 0; i < s->mix.count; i++) {
        const struct cb_mix_part *part = &s->mix.parts[i];
        if (part->what == CB_MIX_PAINT) {
            add_paint(out, part->paint, ml * amount.drops[i]);
        }
    }
    out->medium_ml += ml * t->medium;
    out->retarder_ml += ml * t->retarder;
    out->water_ml += ml * t->water;
    out->total_ml += ml * drops;
}

static void add_cautions(struct set_out *out, size_t stage)
{
    struct cb_caution found[8];
    size_t count = cb_gate_cautions(out->in.kinds, out->in.recipe, stage, CB_AIR_STILL, found, 8);
    for (size_t i = 0; i < count; i++) {
        bool known = false;
        for (size_t k = 0; k < out->caution_count; k++) {
            known = known || strcmp(out->cautions[k].id, found[i].id) == 0;
        }
        if (!known && out->caution_count < sizeof out->cautions / sizeof *out->cautions) {
            out->cautions[out->caution_count++] = found[i];
        }
    }
}

static const struct cb_paint *paint_at(const struct set_out *out, size_t i)
{
    return &out->in.recipe->paints[out->order[i]];
}

static bool wants_shaking(const struct set_out *out, const struct cb_paint *paint)
{
    return out->in.kinds->kinds[paint->kind].wants_shaking;
}

/* Tenths from one millilitre up, hundredths below: a drop is the least. */
static const char *ml_text(double ml, struct cb_arena *arena)
{
    return cb_arena_printf(arena, ml >= 1 ? "%.1f ml" : "%.2f ml", ml);
}

static void print_names(const struct set_out *out)
{
    struct cb_str line = {0};
    for (int figure = 1; figure <= out->in.figures; figure++) {
        const char *name = out->in.recipe->names[figure];
        if (name != NULL) {
            cb_str_addf(&line, "%s%d %s", line.length > 0 ? ", " : "Figures with a name: ", figure,
                        cb_utf8_clean(out->in.arena, name, 40));
        }
    }
    if (line.length > 0) {
        cb_command_wrap(cb_str_text(&line), 0);
    }
    cb_str_fini(&line);
}

static void print_picture(const struct set_out *out, const char *picture, const char *stage)
{
    struct cb_arena *arena = out->in.arena;
    const char *shown = cb_utf8_clean(arena, picture, 60);
    cb_command_wrap(
        stage != NULL ? cb_arena_printf(arena, "%s, for %s", shown, cb_utf8_clean(arena, stage, 40))
                      : shown,
        2);
}

static void print_pictures(const struct set_out *out)
{
    const struct cb_recipe *recipe = out->in.recipe;
    size_t count = recipe->picture_count;
    for (size_t i = 0; i < recipe->stage_count; i++) {
        count += recipe->stages[i].picture_count;
    }
    if (count > 0) {
        printf("\nPictures to paint by\n");
    }
    for (size_t i = 0; i < recipe->picture_count; i++) {
        print_picture(out, recipe->pictures[i], NULL);
    }
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const struct cb_stage *stage = &recipe->stages[i];
        for (size_t k = 0; k < stage->picture_count; k++) {
            print_picture(out, stage->pictures[k], stage->name);
        }
    }
}

static void json_picture(struct cb_json *json, const char *picture, const char *stage)
{
    cb_json_object(json, NULL);
    cb_json_text(json, "picture", picture);
    cb_json_text(json, "stage", stage);
    cb_json_end(json);
}

static void json_pictures(struct cb_json *json, const struct cb_recipe *recipe)
{
    cb_json_list(json, "pictures");
    for (size_t i = 0; i < recipe->picture_count; i++) {
        json_picture(json, recipe->pictures[i], NULL);
    }
    for (size_t i = 0; i < recipe->stage_count; i++) {
        for (size_t k = 0; k < recipe->stages[i].picture_count; k++) {
            json_picture(json, recipe->stages[i].pictures[k], recipe->stages[i].name);
        }
    }
    cb_json_end(json);
}

static void print(const struct set_out *out)
{
    const struct cb_recipe *recipe = out->in.recipe;
    struct cb_arena *arena = out->in.arena;
    printf("%s, %s %s\n", cb_utf8_clean(arena, recipe->name, 60),
           cb_amount_count(out->in.figures, arena), out->in.figures == 1 ? "figure" : "figures");
    print_names(out);
    printf("\nPaints, in order of use\n");
    for (size_t i = 0; i < out->order_count; i++) {
        const struct cb_paint *paint = paint_at(out, i);
        const struct cb_kind *kind = &out->in.kinds->kinds[paint->kind];
        const double poured_ml = out->paint_ml[out->order[i]];
        const char *ml = poured_ml > 0 ? cb_arena_printf(arena, ", %s", ml_text(poured_ml, arena))
                                       : ""; /* nobody pours a can */
        cb_command_wrap(
            cb_arena_printf(arena, "%s (%s)%s%s", cb_utf8_clean(arena, paint->name, 40), kind->name,
                            ml, wants_shaking(out, paint) ? "; shake it if it has stood" : ""),
            2);
    }
    printf("\nBeside them\n");
    if (out->medium_ml > 0) {
        printf("  medium, %s\n", ml_text(out->medium_ml, arena));
    }
    if (out->retarder_ml > 0) {
        printf("  retarder, %s\n", ml_text(out->retarder_ml, arena));
    }
    if (out->water_ml > 0) {
        printf("  water, to mix %s and to rinse\n", ml_text(out->water_ml, arena));
    } else {
        printf("  water, to rinse\n");
    }
    for (size_t i = 0; i < out->brushes.count; i++) {
        cb_command_wrap(
            cb_arena_printf(arena, "brush: %s", cb_utf8_clean(arena, out->brushes.items[i], 60)),
            2);
    }
    for (size_t i = 0; i < recipe->paint_count; i++) {
        if (out->tidy >> i & 1) {
            printf("  to tidy up, keep open: %s\n",
                   cb_utf8_clean(arena, recipe->paints[i].name, 40));
        }
    }
    print_pictures(out);
    for (size_t i = 0; i < out->caution_count; i++) {
        if (i == 0) {
            printf("\nFirst of all\n");
        }
        cb_command_wrap(out->cautions[i].text, 2);
    }
    printf("\n%s in all, waste included.\n", ml_text(out->total_ml, arena));
}

static void print_json(const struct set_out *out)
{
    const struct cb_recipe *recipe = out->in.recipe;
    struct cb_json *json = cb_json_new();
    cb_json_text(json, "recipe", recipe->name);
    cb_json_integer(json, "figures", out->in.figures);
    cb_recipe_args_json_names(json, recipe, out->in.figures);
    cb_json_list(json, "paints");
    for (size_t i = 0; i < out->order_count; i++) {
        const struct cb_paint *paint = paint_at(out, i);
        cb_json_object(json, NULL);
        cb_json_text(json, "paint", paint->name);
        cb_json_text(json, "kind", out->in.kinds->kinds[paint->kind].name);
        cb_json_number(json, "ml", out->paint_ml[out->order[i]]);
        cb_json_bool(json, "shake", wants_shaking(out, paint));
        cb_json_text(json, "instead", paint->instead);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_json_object(json, "mediums");
    cb_json_number(json, "medium_ml", out->medium_ml);
    cb_json_number(json, "retarder_ml", out->retarder_ml);
    cb_json_number(json, "water_ml", out->water_ml);
    cb_json_end(json);
    cb_json_list(json, "brushes");
    for (size_t i = 0; i < out->brushes.count; i++) {
        cb_json_text(json, NULL, out->brushes.items[i]);
    }
    cb_json_end(json);
    cb_json_list(json, "tidy_with");
    for (size_t i = 0; i < recipe->paint_count; i++) {
        if (out->tidy >> i & 1) {
            cb_json_text(json, NULL, recipe->paints[i].name);
        }
    }
    cb_json_end(json);
    json_pictures(json, recipe);
    cb_recipe_args_json_cautions(json, out->cautions, out->caution_count);
    cb_json_number(json, "total_ml", out->total_ml);
    cb_command_print_json(json);
}

static int run(const struct cb_args *args)
{
    struct set_out out = {0};
    int code = cb_recipe_args_read(args, &out.in);
    if (code != 0) {
        return code;
    }
    for (size_t i = 0; i < out.in.recipe->stage_count; i++) {
        const struct cb_stage *s = &out.in.recipe->stages[i];
        add_amounts(&out, i);
        add_cautions(&out, i);
        out.tidy |= s->tidy_with;
        if (s->brush != NULL) {
            add_text(&out.brushes, s->brush);
        }
    }
    if (args->json) {
        print_json(&out);
    } else {
        print(&out);
    }
    return 0;
}

static const struct cb_option options[] = {
    {"-n", "FIGURES", "how many figures; without it as the recipe says"},
    {"--use", "KEY=\"NAME\"", "another pot for the recipe's paint KEY; or medium=water"},
    {0},
};

const struct cb_command cb_command_set_out = {
    .name = "set-out",
    .operands = "RECIPE",
    .summary = "What to lay out before starting: paints, brushes, amounts, cautions.",
    .options = options,
    .min_operands = 1,
    .max_operands = 1,
    .run = run,
};
