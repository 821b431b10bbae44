/* SPDX-License-Identifier: MIT */
/* What the form of a stage says: its fields, what may stand there, what is still to mix. */
#include "app/edit.h"

#include <string.h>

#include "app/changes.h"
#include "app/state.h"
#include "base/brief.h"
#include "base/str.h"
#include "core/recipe/amount.h"
#include "core/recipe/drying_stage.h"

static bool is_in(const uint64_t mask[2], int figure)
{
    return mask[(figure - 1) / 64] >> ((figure - 1) % 64) & 1;
}

/* Is it painted, once those have come and gone? */
static bool takes_part(const struct cb_unit *unit, const struct cb_changes_figures *come,
                       int figure)
{
    if (figure > unit->figures) {
        return is_in(come->join, figure);
    }
    return (!unit->figure[figure].parked || is_in(come->back, figure)) &&
           !is_in(come->park, figure);
}

int cb_edit_coats_to_do(const struct cb_unit *unit, int stage, int more, const uint64_t these[2],
                        const struct cb_changes_figures *come, int *figures)
{
    static const struct cb_changes_figures nobody = {0};
    int coats = 0;
    *figures = 0;
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        if (!takes_part(unit, come ? come : &nobody, figure) || (these && !is_in(these, figure))) {
            continue;
        }
        const bool there = figure <= unit->figures;
        const int wanted =
            there ? cb_bench_coats(unit, figure, stage) : unit->recipe->stages[stage - 1].coats;
        const int on = there ? cb_bench_coats_on(unit, figure, stage) : 0;
        const int left = wanted + (wanted > 0 ? more : 0) - on;
        if (left > 0) {
            coats += left;
            *figures += 1;
        }
    }
    return coats;
}

void cb_edit_read(const struct cb_edit *edit, struct cb_revised *revised, struct cb_arena *arena)
{
    const char *texts[CB_REVISE_FIELDS];
    unsigned yes = 0;
    for (int i = 0; i < CB_REVISE_FIELDS; i++) {
        const struct cb_typed *field = &edit->fields[i];
        texts[i] = edit->touched[i] ? field->text : NULL;
        yes |= field->asked[0] && strcmp(field->asked, field->text) == 0 ? 1U << i : 0;
    }
    cb_revise_read(&edit->revise, texts, yes, revised, arena);
}

const char *cb_edit_label(const struct cb_app *app, int field, struct cb_arena *arena)
{
    static const char *const labels[CB_REVISE_FIELDS] = {
        [CB_REVISE_PAINT] = "paint",     [CB_REVISE_KIND] = "kind",   [CB_REVISE_WITH] = "stages",
        [CB_REVISE_MIX] = "mix",         [CB_REVISE_COATS] = "coats", [CB_REVISE_AREAS] = "on",
        [CB_REVISE_MINUTES] = "minutes", [CB_REVISE_ORDER] = "order", [CB_REVISE_FOR] = "change on",
        [CB_REVISE_FIGURES] = "figures",
    };
    return field == CB_REVISE_NAME ? cb_arena_printf(arena, "name of %d", app->edit.revise.figure)
                                   : labels[field];
}

static const char *names(const char *const *words, size_t count, struct cb_arena *arena)
{
    struct cb_str out = {0};
    for (size_t i = 0; i < count; i++) {
        cb_str_addf(&out, "%s%s", i > 0 ? ", " : "", words[i]);
    }
    const char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

/* The stages to come that have the paint too. */
static const char *with_hint(const struct cb_revise *revise, struct cb_arena *arena)
{
    const char *words[CB_RECIPE_MAX];
    size_t count = 0;
    const int paint = cb_mix_paint(&revise->recipe->stages[revise->stage].mix);
    for (size_t i = 0; i < revise->recipe->stage_count; i++) {
        const struct cb_stage *stage = &revise->recipe->stages[i];
        for (size_t p = 0; p < stage->mix.count && (revise->to_do >> i & 1); p++) {
            if (i != revise->stage && stage->mix.parts[p].what == CB_MIX_PAINT &&
                stage->mix.parts[p].paint == paint) {
                words[count++] = stage->name;
                break;
            }
        }
    }
    return cb_arena_printf(arena, "another paint here alone; RIGHT, all: for %s too",
                           names(words, count, arena));
}

static const char *usual_mix(const struct cb_revise *revise, struct cb_arena *arena)
{
    struct cb_draft *draft = cb_arena_alloc(arena, 1, sizeof *draft);
    cb_draft_of(draft, revise->recipe);
    draft->stages[revise->stage].mix_said = false;
    const struct cb_parts parts =
        cb_drying_parts_of_stage(revise->kinds, &draft->recipe, revise->stage);
    const struct {
        double parts;
        const char *what;
    } rows[] = {{parts.paint, "paint"},
                {parts.medium, "medium"},
                {parts.retarder, "retarder"},
                {parts.water, "water"}};
    struct cb_str out = {0};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (rows[i].parts > 0) {
            char text[CB_BRIEF_BYTES];
            cb_str_addf(&out, "%s%s %s", out.length ? " + " : "", cb_brief(rows[i].parts, text),
                        rows[i].what);
        }
    }
    const bool neat = parts.medium + parts.retarder + parts.water <= 0;
    const char *text = cb_arena_text(arena, neat ? "neat" : cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

static const char *areas_hint(const struct cb_revise *revise, struct cb_arena *arena)
{
    const char *words[CB_RECIPE_MAX];
    for (size_t i = 0; i < revise->recipe->area_count; i++) {
        words[i] = revise->recipe->areas[i].name;
    }
    return revise->recipe->area_count > 0
               ? cb_arena_printf(arena, "all over, or of: %s",
                                 names(words, revise->recipe->area_count, arena))
               : "all over, or a part, such as rope";
}

static double usual_minutes(const struct cb_revise *revise)
{
    return revise->kinds->techniques[revise->recipe->stages[revise->stage].technique].minutes;
}

const char *cb_edit_unsaid(const struct cb_app *app, int field, struct cb_arena *arena)
{
    return field == CB_REVISE_MINUTES
               ? cb_arena_printf(arena, "%g", usual_minutes(&app->edit.revise))
               : "";
}

static const char *minutes_hint(const struct cb_revise *revise, struct cb_arena *arena)
{
    const struct cb_stage *stage = &revise->recipe->stages[revise->stage];
    return cb_arena_printf(arena, "of work on %s; blank: %g, as is usual",
                           stage->together ? "all of a go" : "a figure, each coat",
                           usual_minutes(revise));
}

static const char *figures_hint(const struct cb_app *app, struct cb_arena *arena)
{
    const struct cb_unit *unit = cb_app_unit(app);
    const struct cb_edit *edit = &app->edit;
    long long number;
    if (!unit || !cb_str_integer(edit->fields[CB_REVISE_FIGURES].text, &number) || number < 1 ||
        number > CB_FIGURES_MAX || number == edit->revise.counted) {
        return "more: the next ones join; fewer: the last ones are parked";
    }
    const struct cb_changes_figures figures =
        cb_changes_figures(unit, (int)number, edit->revise.counted);
    return cb_changes_figures_text(&figures, arena);
}

const char *cb_edit_hint(const struct cb_app *app, int field, struct cb_arena *arena)
{
    const struct cb_revise *revise = &app->edit.revise;
    switch ((enum cb_revise_field)field) {
    case CB_REVISE_PAINT:
        return "another name is another pot; RIGHT: paints of the recipe";
    case CB_REVISE_KIND:
        return "how it dries; RIGHT shows all kinds";
    case CB_REVISE_WITH:
        return with_hint(revise, arena);
    case CB_REVISE_MIX:
        return cb_arena_printf(arena, "2:1, 2 paint + 1 medium, neat; usual: %s",
                               usual_mix(revise, arena));
    case CB_REVISE_COATS:
        return "1 to 9, on each figure";
    case CB_REVISE_AREAS:
        return areas_hint(revise, arena);
    case CB_REVISE_MINUTES:
        return minutes_hint(revise, arena);
    case CB_REVISE_ORDER:
        return "LEFT earlier, RIGHT later";
    case CB_REVISE_FOR:
        return "all that have it, or such as 3 to 5; RIGHT turns";
    case CB_REVISE_FIGURES:
        return figures_hint(app, arena);
    case CB_REVISE_NAME:
        return "such as Serjeant Oake; blank: none";
    case CB_REVISE_FIELDS:
        break;
    }
    return "";
}

const char *cb_edit_left(const struct cb_app *app, struct cb_arena *arena)
{
    const struct cb_edit *edit = &app->edit;
    const struct cb_unit *unit = cb_app_unit(app);
    struct cb_revised revised;
    int figures;
    if (!unit || unit->recipe != edit->from) {
        return NULL;
    }
    cb_edit_read(edit, &revised, arena);
    const struct cb_recipe *recipe = revised.draft ? &revised.draft->recipe : edit->revise.recipe;
    const size_t stage = revised.draft ? revised.stage : edit->revise.stage;
    const int more = recipe->stages[stage].coats - edit->from->stages[edit->revise.stage].coats;
    uint64_t these[2];
    if (revised.draft) {
        memcpy(these, revised.these, sizeof these);
    } else {
        cb_recipe_figures_of(recipe, stage, these);
    }
    const struct cb_changes_figures come =
        revised.draft && revised.figures != edit->revise.counted
            ? cb_changes_figures(unit, revised.figures, edit->revise.counted)
            : (struct cb_changes_figures){0};
    const int coats =
        cb_edit_coats_to_do(unit, (int)edit->revise.stage + 1, more, these, &come, &figures);
    return cb_amount_left(app->session.kinds, recipe, stage, figures, coats,
                          app->session.config->drops_per_ml, arena);
}
