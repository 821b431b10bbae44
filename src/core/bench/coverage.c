/* SPDX-License-Identifier: MIT */
#include "core/bench/coverage.h"

#include <string.h>

#include "base/str.h"
#include "base/time.h"
#include "base/vec.h"
#include "core/bench/calibration.h"

#define HALF .5

static int at_most(int coats)
{
    return coats < CB_COATS_MAX ? coats : CB_COATS_MAX;
}

/* The one pot that all its coats came out of; NULL: there are others, or it is not for us. */
static const char *pot_of(const struct cb_unit *unit, int figure, int stage, int coats,
                          const struct cb_film **last)
{
    const char *pot = NULL;
    for (int coat = 1; coat <= coats; coat++) {
        const struct cb_film *film = cb_bench_film(unit, figure, stage, coat);
        if (film == NULL || film->before || film->pot == NULL ||
            (pot != NULL && strcmp(pot, film->pot) != 0)) {
            return NULL;
        }
        pot = film->pot;
        *last = film;
    }
    return pot;
}

/* What the figure says of the stage, from 1; false: nothing yet. */
static bool says(const struct cb_unit *unit, const uint64_t *covers, int figure, int stage,
                 struct cb_cover *cover)
{
    const int said = unit->recipe->stages[stage - 1].coats;
    const int wanted = cb_bench_coats(unit, figure, stage);
    const struct cb_film *last = NULL;
    if (wanted < 1 || cb_bench_coats_on(unit, figure, stage) < wanted) {
        return false;
    }
    const char *pot = pot_of(unit, figure, stage, wanted, &last);
    const bool closed = (unit->finished && !unit->left) ||
                        (last != NULL && last->next_ms != CB_TIME_NONE) || wanted != said;
    if (pot == NULL || !closed) {
        return false;
    }
    const uint64_t left_out = unit->left_out | unit->figure[figure].left_out;
    *cover = (struct cb_cover){
        .pot = pot,
        .technique = unit->recipe->stages[stage - 1].technique,
        .under = cb_tone_under(cb_bench_used(unit), covers, (size_t)stage - 1, figure, left_out)};
    cover->said[at_most(said)] = 1;
    for (int coat = said + 1; coat <= at_most(wanted); coat++) {
        cover->added[coat] = 1;
    }
    for (int coat = wanted + 1; coat <= at_most(said); coat++) {
        cover->spared[coat] = 1;
    }
    return true;
}

static bool is_of(const struct cb_cover *cover, const char *pot, enum cb_technique technique,
                  enum cb_tone under)
{
    return cover->technique == technique && cover->under == under && strcmp(cover->pot, pot) == 0;
}

struct covers {
    CB_VEC(struct cb_cover) list;
};

static void add_unit(struct covers *covers, const struct cb_unit *unit)
{
    uint64_t areas[CB_RECIPE_MAX];
    cb_recipe_covers_all(unit->recipe, areas);
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        const struct cb_stage *row = &unit->recipe->stages[stage - 1];
        for (int figure = 1; figure <= unit->figures && cb_tone_hides(row->technique) &&
                             !cb_mix_is_blend(&row->mix);
             figure++) {
            struct cb_cover cover;
            if (!says(unit, areas, figure, stage, &cover)) {
                continue;
            }
            size_t at = 0;
            while (at < covers->list.count &&
                   !is_of(&covers->list.items[at], cover.pot, cover.technique, cover.under)) {
                at++;
            }
            if (at < covers->list.count) {
                cb_coverage_add(&covers->list.items[at], &cover);
            } else {
                cb_vec_push(&covers->list, cover);
            }
        }
    }
}

const struct cb_cover *cb_coverage_of(const struct cb_bench *bench, const char *unit,
                                      struct cb_arena *arena, size_t *count)
{
    struct covers covers = {0};
    for (size_t i = 0; i < cb_bench_unit_count(bench); i++) {
        const struct cb_unit *row = cb_bench_unit(bench, i);
        if (row->recipe != NULL && (unit == NULL || strcmp(row->id, unit) == 0)) {
            add_unit(&covers, row);
        }
    }
    struct cb_cover *out = cb_arena_alloc(arena, covers.list.count + 1, sizeof *out);
    for (size_t i = 0; i < covers.list.count; i++) {
        out[i] = covers.list.items[i];
    }
    *count = covers.list.count;
    cb_vec_free(&covers.list);
    return out;
}

void cb_coverage_add(struct cb_cover *cover, const struct cb_cover *more)
{
    for (int coat = 1; coat <= CB_COATS_MAX; coat++) {
        cover->said[coat] += more->said[coat];
        cover->added[coat] += more->added[coat];
        cover->spared[coat] += more->spared[coat];
    }
}

struct cb_cover cb_coverage_find(const struct cb_cover *covers, size_t count, const char *pot,
                                 enum cb_technique technique, enum cb_tone under)
{
    struct cb_cover sum = {.pot = pot, .technique = technique, .under = under};
    for (size_t i = 0; i < count; i++) {
        if (is_of(&covers[i], pot, technique, under)) {
            cb_coverage_add(&sum, &covers[i]);
        }
    }
    return sum;
}

void cb_coverage_code(struct cb_coder *coder, struct cb_cover *cover)
{
    int technique = (int)cover->technique, under = (int)cover->under;
    cb_code_text(coder, &cover->pot);
    cb_code_int(coder, &technique, 0, CB_TECHNIQUE_COUNT - 1);
    cb_code_int(coder, &under, CB_TONE_NONE, CB_TONE_LIGHT);
    for (int coat = 1; coat <= CB_COATS_MAX; coat++) {
        cb_code_count(coder, &cover->said[coat], CB_FIGURES_MAX * CB_RECIPE_MAX);
        cb_code_count(coder, &cover->added[coat], CB_FIGURES_MAX * CB_RECIPE_MAX);
        cb_code_count(coder, &cover->spared[coat], CB_FIGURES_MAX * CB_RECIPE_MAX);
    }
    cover->technique = (enum cb_technique)technique;
    cover->under = (enum cb_tone)under;
}

static struct cb_share share_of(uint64_t k, uint64_t n)
{
    struct cb_share share = {.k = k, .n = n};
    cb_calibration_wilson((size_t)k, (size_t)n, &share.low, &share.high);
    return share;
}

struct cb_share cb_coverage_added(const struct cb_cover *cover, int coat)
{
    uint64_t fewer = 0;
    for (int said = 1; said < coat; said++) {
        fewer += cover->said[said];
    }
    return share_of(cover->added[coat], fewer);
}

struct cb_share cb_coverage_spared(const struct cb_cover *cover, int coat)
{
    uint64_t had = 0;
    for (int said = coat; said <= CB_COATS_MAX; said++) {
        had += cover->said[said];
    }
    return share_of(cover->spared[coat], had);
}

int cb_coverage_usual(const struct cb_cover *cover, int said)
{
    int coats = said;
    while (coats < CB_COATS_MAX && cb_coverage_added(cover, coats + 1).low > HALF) {
        coats++;
    }
    while (coats <= said && coats > 1 && cb_coverage_spared(cover, coats).low > HALF) {
        coats--;
    }
    return coats;
}

bool cb_coverage_enough(const struct cb_cover *cover, int said)
{
    return said >= CB_COATS_MAX || cb_coverage_added(cover, said + 1).high < HALF;
}

const char *cb_coverage_a(int coat)
{
    static const char *const words[CB_COATS_MAX] = {"a first",   "a second",  "a third",
                                                    "a fourth",  "a fifth",   "a sixth",
                                                    "a seventh", "an eighth", "a ninth"};
    return words[coat - 1];
}

/* The coat that was added, or spared, most often; 0: none was. */
static int most(const uint64_t *counts)
{
    int best = 0;
    for (int coat = 1; coat <= CB_COATS_MAX; coat++) {
        if (counts[coat] > 0 && (best == 0 || counts[coat] > counts[best])) {
            best = coat;
        }
    }
    return best;
}

/* " figures over dark (60 to 98 %)", brief " over dark (60-98 %)". */
static const char *of_text(const struct cb_cover *cover, const struct cb_share *share, bool brief,
                           struct cb_arena *arena)
{
    static const char *const over[] = {"", " over dark", " over mid", " over light"};
    return cb_arena_printf(arena, brief ? "%s%s (%.0f-%.0f %%)" : "%s%s (%.0f to %.0f %%)",
                           brief           ? ""
                           : share->n == 1 ? " figure"
                                           : " figures",
                           over[cover->under], 100 * share->low, 100 * share->high);
}

const char *cb_coverage_text(const struct cb_cover *cover, bool brief, struct cb_arena *arena)
{
    const int added = most(cover->added), spared = most(cover->spared), said = most(cover->said);
    if (said == 0) {
        return NULL;
    }
    const bool less = spared > 0 && (added == 0 || cover->spared[spared] > cover->added[added]);
    const int coat = less ? spared : added > 0 ? added : said < CB_COATS_MAX ? said + 1 : said;
    const struct cb_share share =
        less ? cb_coverage_spared(cover, coat) : cb_coverage_added(cover, coat);
    const char *a_coat = cb_coverage_a(coat);
    const char *of = of_text(cover, &share, brief, arena);
    return share.k == 0
               ? cb_arena_printf(arena, "no %s coat on %zu%s", strchr(a_coat, ' ') + 1,
                                 (size_t)share.n, of)
               : cb_arena_printf(arena, "%s coat %s %zu of %zu%s", a_coat,
                                 less ? "spared on" : "on", (size_t)share.k, (size_t)share.n, of);
}

const char *cb_coverage_texts(const struct cb_cover *covers, size_t count, const char *pot,
                              enum cb_technique technique, bool all, bool brief,
                              struct cb_arena *arena)
{
    static const enum cb_tone order[] = {CB_TONE_DARK, CB_TONE_MID, CB_TONE_LIGHT, CB_TONE_NONE};
    struct cb_str out = {0};
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        const struct cb_cover cover = cb_coverage_find(covers, count, pot, technique, order[i]);
        const char *text = all || most(cover.added) > 0 || most(cover.spared) > 0
                               ? cb_coverage_text(&cover, brief, arena)
                               : NULL;
        if (text != NULL) {
            cb_str_addf(&out, "%s%s", out.length > 0 ? "; " : "", text);
        }
    }
    const char *texts = out.length > 0 ? cb_arena_text(arena, cb_str_text(&out)) : NULL;
    cb_str_fini(&out);
    return texts;
}
