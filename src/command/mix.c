/* SPDX-License-Identifier: MIT */
/* `mix`: how many drops for each stage, for all figures and one coat. */

#include "base/utf8.h"
#include "command/recipe_args.h"
#include "command/wrap.h"
#include "core/recipe/amount.h"
#include "shell/json_write.h"

static void json_stage(struct cb_json *json, const struct cb_recipe *recipe, size_t stage,
                       int figures, const struct cb_amount *amount)
{
    const struct cb_stage *s = &recipe->stages[stage];
    int paint = cb_mix_paint(&s->mix);
    cb_json_object(json, NULL);
    cb_json_text(json, "stage", s->name);
    cb_json_text(json, "paint", recipe->paints[paint].name);
    cb_json_integer(json, "figures", figures);
    cb_json_integer(json, "coats", s->coats);
    cb_json_object(json, "drops");
    cb_json_number(json, "paint", amount->totals.paint);
    cb_json_number(json, "medium", amount->totals.medium);
    cb_json_number(json, "water", amount->totals.water);
    cb_json_number(json, "retarder", amount->totals.retarder);
    cb_json_end(json);
    cb_json_list(json, "paints");
    for (size_t i = 0; i < s->mix.count; i++) {
        const struct cb_mix_part *part = &s->mix.parts[i];
        if (part->what == CB_MIX_PAINT) {
            cb_json_object(json, NULL);
            cb_json_text(json, "paint", recipe->paints[part->paint].name);
            cb_json_number(json, "drops", amount->drops[i]);
            cb_json_end(json);
        }
    }
    cb_json_end(json);
    cb_json_number(json, "drops_needed", amount->drops_needed);
    cb_json_number(json, "ml", amount->ml);
    cb_json_number(json, "poured_ml", amount->poured_ml);
    cb_json_end(json);
}

/* What the drops come to: a drop is the least. */
static const char *poured(const struct cb_amount *amount, struct cb_arena *arena)
{
    return cb_arena_printf(arena, amount->poured_ml >= 1 ? "%.1f ml" : "%.2f ml",
                           amount->poured_ml);
}

static void print_stage(const struct cb_recipe_args *in, size_t stage, int figures,
                        const struct cb_amount *amount)
{
    const struct cb_stage *s = &in->recipe->stages[stage];
    const char *line =
        cb_amount_line(in->kinds, in->recipe, stage, figures, in->config->drops_per_ml, in->arena);
    if (line == NULL) {
        line = cb_arena_printf(
            in->arena, "%s from the can for %s %s", in->recipe->paints[cb_mix_paint(&s->mix)].name,
            cb_amount_count(figures, in->arena), figures == 1 ? "figure" : "figures");
    }
    bool ml = s->by != CB_BY_CAN && !cb_amount_in_ml(in->kinds, in->recipe, stage);
    const char *each = s->coats > 1 ? cb_arena_printf(in->arena, "each of %d coats", s->coats) : "";
    const char *text = cb_arena_printf(in->arena, "%s: %s", s->name, line);
    if (ml || each[0] != '\0') {
        text = cb_arena_printf(in->arena, "%s (%s%s%s)", text, ml ? poured(amount, in->arena) : "",
                               ml && each[0] != '\0' ? ", " : "", each);
    }
    cb_command_wrap(cb_utf8_clean(in->arena, text, 0), 0);
}

static int run(const struct cb_args *args)
{
    struct cb_recipe_args in;
    int only = -1;
    int code = cb_recipe_args_read(args, &in);
    if (code != 0) {
        return code;
    }
    const char *name = cb_args_get(args, "--stage");
    if (name != NULL && (only = cb_recipe_stage(in.recipe, name)) < 0) {
        return cb_command_failf(CB_USAGE, "no stage of that name: %s (the recipe lists them)",
                                name);
    }
    struct cb_json *json = args->json ? cb_json_new() : NULL;
    if (json != NULL) {
        cb_json_list(json, "stages");
    }
    for (size_t i = 0; i < in.recipe->stage_count; i++) {
        int figures = cb_recipe_args_figures(&in, i);
        if ((only >= 0 && only != (int)i) || cb_mix_paint(&in.recipe->stages[i].mix) < 0 ||
            figures == 0) {
            continue;
        }
        struct cb_amount amount =
            cb_amount_of(in.kinds, in.recipe, i, figures, in.config->drops_per_ml);
        if (json != NULL) {
            json_stage(json, in.recipe, i, figures, &amount);
        } else {
            print_stage(&in, i, figures, &amount);
        }
    }
    if (json != NULL) {
        cb_json_end(json);
        cb_command_print_json(json);
    }
    return 0;
}

static const struct cb_option options[] = {
    {"-n", "FIGURES", "how many figures; without it as the recipe says"},
    {"--use", "KEY=\"NAME\"", "another pot for the recipe's paint KEY; or medium=water"},
    {"--stage", "NAME", "only that stage"},
    {0},
};

const struct cb_command cb_command_mix = {
    .name = "mix",
    .operands = "RECIPE",
    .summary = "How many drops to mix for each stage, for one coat on all figures.",
    .options = options,
    .min_operands = 1,
    .max_operands = 1,
    .run = run,
};
