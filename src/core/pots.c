/* SPDX-License-Identifier: MIT */
#include "core/pots.h"

#include <math.h>
#include <string.h>

#include "base/vec.h"
#include "core/forecast.h"

static const struct cb_pot_line *find(const struct cb_pot_line *lines, size_t count,
                                      const char *pot, enum cb_technique technique)
{
    for (size_t i = 0; i < count; i++) {
        if (lines[i].technique == technique && strcmp(lines[i].pot, pot) == 0) {
            return &lines[i];
        }
    }
    return NULL;
}

static bool teaches(enum cb_row_kind kind)
{
    return kind == CB_ROW_FILM || kind == CB_ROW_WEAK;
}

/* Index of the first row that still counts for the pot. */
static size_t remembered_from(const struct cb_row *rows, size_t count, const char *pot)
{
    for (size_t i = count; i-- > 0;) {
        if (rows[i].kind == CB_ROW_FORGET && (!rows[i].pot || strcmp(rows[i].pot, pot) == 0)) {
            return i + 1;
        }
    }
    return 0;
}

static void count_films(struct cb_pot_line *line, const struct cb_row *rows, size_t count)
{
    for (size_t i = remembered_from(rows, count, line->pot); i < count; i++) {
        if (teaches(rows[i].kind) && strcmp(rows[i].pot, line->pot) == 0) {
            line->pot_films++;
            line->films += rows[i].technique == (int)line->technique;
        }
    }
}

static double quantile(const struct cb_learn *learn, const struct cb_pot_line *line, double p)
{
    return line->exact ? line->prior_min
                       : cb_learn_quantile(learn, line->pot, line->pot_sd, line->prior_min, p, 0);
}

static void fill(struct cb_pot_line *line, const struct cb_bench *bench,
                 const struct cb_learn *learn, const struct cb_unit *unit, size_t stage,
                 double confidence)
{
    const struct cb_drying *drying = &unit->drying[stage];
    int paint = cb_mix_paint(&unit->recipe->stages[stage].mix);
    size_t kind = unit->swapped_name[stage] != NULL ? unit->swapped_kind[stage]
                  : paint >= 0                      ? unit->recipe->paints[paint].kind
                                                    : 0;
    *line = (struct cb_pot_line){
        .paint = cb_bench_stage_paint(unit, (int)stage + 1),
        .pot = cb_bench_stage_pot(unit, (int)stage + 1),
        .kind = cb_bench_kinds(bench)->kinds[kind].name,
        .technique = unit->recipe->stages[stage].technique,
        .pot_sd = drying->pot_sd,
        .prior_min = drying->standard_min,
        .floor_min = NAN,
        .exact = drying->from == CB_TIME_WAIT,
        .drying = drying,
    };
    line->median_min = quantile(learn, line, .50);
    line->low_min = quantile(learn, line, .10);
    line->high_min = quantile(learn, line, .90);
    line->ping_min = cb_forecast_stage_min(bench, learn, unit, (int)stage + 1, confidence);
    if (!line->exact && drying->label_min > 0 &&
        cb_forecast_stage_min(bench, learn, unit, (int)stage + 1, .01) >= drying->label_min) {
        line->floor_min = drying->label_min; /* it holds even where nothing else would */
    }
}

const struct cb_pot_line *cb_pots_list(const struct cb_bench *bench, const struct cb_learn *learn,
                                       const struct cb_row *rows, size_t row_count,
                                       double confidence, struct cb_arena *arena, size_t *count)
{
    CB_VEC(struct cb_pot_line) lines = {0};
    for (size_t u = 0; u < cb_bench_unit_count(bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(bench, u);
        for (size_t s = 0; unit->recipe != NULL && s < unit->recipe->stage_count; s++) {
            const char *pot = cb_bench_stage_pot(unit, (int)s + 1);
            if (pot == NULL || unit->drying[s].from == CB_TIME_ZERO) {
                continue;
            }
            struct cb_pot_line line;
            const struct cb_pot_line *old =
                find(lines.items, lines.count, pot, unit->recipe->stages[s].technique);
            fill(&line, bench, learn, unit, s, confidence);
            if (old == NULL) {
                cb_vec_push(&lines, line);
            } else {
                lines.items[old - lines.items] = line;
            }
        }
    }
    struct cb_pot_line *out = cb_arena_alloc(arena, lines.count + 1, sizeof *out);
    for (size_t i = 0; i < lines.count; i++) {
        out[i] = lines.items[i];
        count_films(&out[i], rows, row_count);
    }
    *count = lines.count;
    cb_vec_free(&lines);
    return out;
}

const struct cb_pot_evidence *cb_pots_why(const struct cb_learn *learn, const struct cb_row *rows,
                                          size_t row_count, const char *pot, size_t most,
                                          struct cb_arena *arena, size_t *count)
{
    size_t from = remembered_from(rows, row_count, pot), n = 0;
    for (size_t i = from; i < row_count; i++) {
        n += teaches(rows[i].kind) && strcmp(rows[i].pot, pot) == 0;
    }
    size_t skip = most > 0 && n > most ? n - most : 0;
    struct cb_pot_evidence *out = cb_arena_alloc(arena, n - skip + 1, sizeof *out);
    *count = 0;
    for (size_t i = from; i < row_count; i++) {
        if (!teaches(rows[i].kind) || strcmp(rows[i].pot, pot) != 0) {
            continue;
        }
        if (skip > 0) {
            skip--;
            continue;
        }
        double mis_key = cb_learn_mis_key(learn, &rows[i]);
        out[(*count)++] = (struct cb_pot_evidence){&rows[i], mis_key, mis_key > .5};
    }
    return out;
}

/* The frontier of tests/tools/bench_learn.c over simulated years, rounded: pings too early per 100
 * coats; and how much one check there teaches against an exact time (.64, .50, .22: checks of the
 * learner; between them by line). */
static const struct {
    double confidence, early, past, worth;
} costs[] = {
    {.50, 92, 2.6, .64}, {.60, 62, 3.2, .60}, {.70, 40, 4.0, .55},
    {.80, 24, 5.2, .50}, {.90, 12, 7.4, .31}, {.95, 6, 9.8, .22},
};

const char *cb_pots_confidence_line(double confidence, bool brief, struct cb_arena *arena)
{
    size_t last = sizeof costs / sizeof *costs - 1, i = 0;
    while (i + 1 < last && confidence > costs[i + 1].confidence) {
        i++;
    }
    double f = (confidence - costs[i].confidence) / (costs[i + 1].confidence - costs[i].confidence);
    f = f < 0 ? 0 : f > 1 ? 1 : f;
    double early = costs[i].early + f * (costs[i + 1].early - costs[i].early);
    double past = costs[i].past + f * (costs[i + 1].past - costs[i].past);
    double worth = costs[i].worth + f * (costs[i + 1].worth - costs[i].worth);
    const char *learns = worth < .26   ? "; learns half as fast"
                         : worth < .45 ? "; learns slower"
                         : worth > .55 ? "; learns faster"
                                       : "";
    if (brief) {
        return cb_arena_printf(arena, "%.0f %%: %.0f min past dry, %.0f in 100 too early%s",
                               100 * confidence, past, early, worth < .26 ? "; learns slowly" : "");
    }
    return cb_arena_printf(arena,
                           "%.0f %%: %.0f min past dry a coat, %.0f pings in 100 too early%s",
                           100 * confidence, past, early, learns);
}
