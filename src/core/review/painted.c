/* SPDX-License-Identifier: MIT */
#include "core/review/painted.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/vec.h"
#include "core/bench/pots.h"
#include "core/review/effort.h"

#define ROUND_TO 10.0 /* parts of a minute: a hand cannot time itself to the second */

static double rounded(double min)
{
    return round(min * ROUND_TO) / ROUND_TO;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The median of the marks of a stage, from 1. */
static void measure(const struct cb_review *review, int stage, struct cb_painted_stage *out)
{
    CB_VEC(double) marks = {0};
    struct cb_effort_mark mark;
    for (size_t at = 0; cb_effort_next_mark(review, &at, &mark);) {
        if (mark.stage == stage) {
            cb_vec_push(&marks, mark.min);
        }
    }
    out->marks = marks.count;
    out->minutes = NAN;
    if (marks.count > 0) {
        qsort(marks.items, marks.count, sizeof *marks.items, by_value);
        const double low = marks.items[(marks.count - 1) / 2], high = marks.items[marks.count / 2];
        out->minutes = rounded((low + high) / 2);
    }
    cb_vec_free(&marks);
}

/* Of what was said of films of that paint and technique: silence alone is no figure to keep.
 * Standard minutes as this stage is mixed. */
static void learned(const struct cb_unit *unit, int stage, const struct cb_learn *learn,
                    const struct cb_pot_line *lines, size_t count, struct cb_painted_stage *out)
{
    const char *pot = cb_bench_stage_pot(unit, stage);
    const struct cb_drying *drying = &unit->drying[stage - 1];
    out->dry_min = NAN;
    for (size_t i = 0; pot != NULL && i < count; i++) {
        if (strcmp(lines[i].pot, pot) == 0 && !lines[i].exact && lines[i].told > 0 &&
            lines[i].technique == unit->recipe->stages[stage - 1].technique) {
            out->films = lines[i].told;
            out->dry_min =
                cb_learn_quantile(learn, pot, drying->pot_sd, drying->standard_min, .5, 0);
        }
    }
}

/* Is a film of it on any figure? */
static bool is_on(const struct cb_unit *unit, int stage)
{
    for (size_t i = 0; i < unit->film_count; i++) {
        if (unit->films[i].stage == stage && unit->films[i].lifted_ms == CB_TIME_NONE) {
            return true;
        }
    }
    return false;
}

/* The coats of the stage where every figure that has it and is not parked wants as many; else as
 * the recipe has it.
 * 0: no figure wants it, and none has a film of it. */
static int coats_of(const struct cb_unit *unit, int stage)
{
    const int said = unit->recipe->stages[stage - 1].coats;
    int all = -1;
    for (int figure = 1; figure <= unit->figures; figure++) {
        if (unit->figure[figure].parked ||
            !cb_recipe_applies(unit->recipe, (size_t)stage - 1, figure)) {
            continue;
        }
        const int coats = cb_bench_coats(unit, figure, stage);
        if (all >= 0 && coats != all) {
            return said;
        }
        all = coats;
    }
    if (all < 0 || (all == 0 && is_on(unit, stage))) {
        return said;
    }
    return all < CB_COATS_MAX ? all : CB_COATS_MAX;
}

/* The index of each paint once those that no stage uses are gone. */
static void drop_paints(struct cb_draft *draft)
{
    struct cb_recipe *recipe = &draft->recipe;
    for (size_t at = recipe->paint_count; at-- > 0;) {
        if (cb_recipe_uses(recipe, at)) {
            continue;
        }
        recipe->paint_count--;
        memmove(&draft->paints[at], &draft->paints[at + 1],
                (recipe->paint_count - at) * sizeof *draft->paints);
        for (size_t i = 0; i < recipe->stage_count; i++) {
            struct cb_stage *stage = &draft->stages[i];
            const uint64_t below = (UINT64_C(1) << at) - 1;
            stage->tidy_with = (stage->tidy_with & below) | (stage->tidy_with >> 1 & ~below);
            for (size_t p = 0; p < stage->mix.count; p++) {
                stage->mix.parts[p].paint -= stage->mix.parts[p].paint > (int)at;
            }
        }
    }
}

static int last_named(const struct cb_recipe *recipe)
{
    int last = 0;
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        for (size_t i = 0; i < recipe->group_count; i++) {
            const uint64_t members = recipe->groups[i].figures[(figure - 1) / 64];
            last = members >> (figure - 1) % 64 & 1 ? figure : last;
        }
        last = recipe->names[figure] != NULL ? figure : last;
    }
    return last;
}

void cb_painted_of(const struct cb_bench *bench, size_t unit, const struct cb_review *review,
                   const struct cb_learn *learn, const struct cb_row *rows, size_t row_count,
                   struct cb_arena *arena, struct cb_painted *painted)
{
    const struct cb_unit *of = cb_bench_unit(bench, unit);
    struct cb_draft *draft = &painted->draft;
    size_t pot_count = 0, line_count = 0;
    const struct cb_pot_stage *pots = cb_pots_stages(bench, of->id, arena, &pot_count);
    const struct cb_pot_line *lines =
        cb_pots_lines(pots, pot_count, learn, rows, row_count, cb_bench_facts(bench).confidence,
                      arena, &line_count);
    memset(painted, 0, sizeof *painted);
    cb_bench_draft(of, draft);
    for (int stage = (int)of->recipe->stage_count; stage > 0; stage--) {
        const size_t at = (size_t)stage - 1;
        const int coats = coats_of(of, stage);
        if (coats == 0) {
            cb_draft_remove(draft, at);
            memmove(&painted->stages[at], &painted->stages[at + 1],
                    (draft->recipe.stage_count - at) * sizeof *painted->stages);
            continue;
        }
        draft->stages[at].coats = coats;
        measure(review, stage, &painted->stages[at]);
        learned(of, stage, learn, lines, line_count, &painted->stages[at]);
        if (painted->stages[at].marks > 0) {
            draft->stages[at].work_min = painted->stages[at].minutes;
        }
    }
    drop_paints(draft);
    if (of->figures >= last_named(&draft->recipe)) {
        draft->recipe.figures = of->figures;
    }
    for (size_t i = 0; i < draft->recipe.stage_count; i++) {
        const struct cb_painted_stage *row = &painted->stages[i];
        if (!isnan(row->dry_min)) {
            painted->remarks.stages[i] =
                cb_arena_printf(arena, "dry: %.3g # learned of %zu film%s, at 23 C and 50 %%",
                                row->dry_min, row->films, row->films == 1 ? "" : "s");
        }
    }
}
