/* SPDX-License-Identifier: MIT */
#include "core/bench/pots.h"

#include <math.h>
#include <string.h>

#include "base/index.h"
#include "base/time.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "core/bench/forecast.h"

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

static void count_films(struct cb_pot_line *line, const struct cb_learn *learn,
                        const struct cb_row *rows, size_t count)
{
    for (size_t i = remembered_from(rows, count, line->pot); i < count; i++) {
        if (teaches(rows[i].kind) && strcmp(rows[i].pot, line->pot) == 0) {
            line->pot_films++;
            const bool same = rows[i].technique == (int)line->technique;
            line->films += same;
            line->told +=
                same && rows[i].kind == CB_ROW_FILM && cb_learn_is_lesson(learn, &rows[i]);
        }
    }
}

static double quantile(const struct cb_learn *learn, const struct cb_pot_line *line, double p)
{
    return line->exact ? line->prior_min
                       : cb_learn_quantile(learn, line->pot, line->pot_sd, line->prior_min, p, 0);
}

static size_t answered_of(const struct cb_unit *unit, const char *pot, enum cb_technique technique)
{
    size_t count = 0;
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        count += film->pot != NULL && !film->before && film->technique == technique &&
                 strcmp(film->pot, pot) == 0 &&
                 (film->check != CB_CHECK_NONE || film->lifted_ms != CB_TIME_NONE);
    }
    return count;
}

/* All that was wanted of the stage was on before the unit was begun: no paint of this bench. */
static bool was_done_before(const struct cb_unit *unit, int stage)
{
    bool before = false;
    for (size_t i = 0; i < unit->film_count; i++) {
        if (unit->films[i].stage == stage && !unit->films[i].before) {
            return false;
        }
        before = before || unit->films[i].stage == stage;
    }
    for (int figure = 1; before && figure <= unit->figures; figure++) {
        before = cb_bench_coats_on(unit, figure, stage) >= cb_bench_coats(unit, figure, stage);
    }
    return before;
}

static bool stands_before(const struct cb_pot_stage *stages, size_t from, size_t count,
                          const struct cb_pot_stage *stage)
{
    for (size_t i = from; i < count; i++) {
        if (stages[i].technique == stage->technique && strcmp(stages[i].pot, stage->pot) == 0) {
            return true;
        }
    }
    return false;
}

const struct cb_pot_stage *cb_pots_stages(const struct cb_bench *bench, const char *id,
                                          struct cb_arena *arena, size_t *count)
{
    CB_VEC(struct cb_pot_stage) list = {0};
    for (size_t u = 0; u < cb_bench_unit_count(bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(bench, u);
        const size_t first = list.count;
        if (id != NULL && strcmp(unit->id, id) != 0) {
            continue;
        }
        for (size_t s = 0; unit->recipe != NULL && s < unit->recipe->stage_count; s++) {
            const char *pot = cb_bench_stage_pot(unit, (int)s + 1);
            if (pot == NULL || unit->drying[s].from == CB_TIME_ZERO ||
                was_done_before(unit, (int)s + 1)) {
                continue;
            }
            const int paint = cb_mix_paint(&unit->recipe->stages[s].mix);
            const size_t kind = unit->swapped_name[s] != NULL ? unit->swapped_kind[s]
                                : paint >= 0                  ? unit->recipe->paints[paint].kind
                                                              : 0;
            struct cb_pot_stage stage = {.paint = cb_bench_stage_paint(unit, (int)s + 1),
                                         .pot = pot,
                                         .kind = cb_bench_kinds(bench)->kinds[kind].name,
                                         .technique = unit->recipe->stages[s].technique,
                                         .drying = unit->drying[s]};
            if (!stands_before(list.items, first, list.count, &stage)) {
                stage.answered = answered_of(unit, pot, stage.technique);
            }
            cb_vec_push(&list, stage);
        }
        for (size_t i = 0; i < unit->film_count; i++) {
            const struct cb_film *film = &unit->films[i];
            if (film->pot == NULL || film->before || film->drying->from == CB_TIME_ZERO) {
                continue;
            }
            struct cb_pot_stage stage = {.paint = film->paint,
                                         .pot = film->pot,
                                         .kind = strchr(film->pot, '\n') + 1, /* cb_pot_key */
                                         .technique = film->technique,
                                         .drying = *film->drying};
            if (!stands_before(list.items, first, list.count, &stage)) {
                stage.answered = answered_of(unit, film->pot, stage.technique);
                cb_vec_push(&list, stage); /* the recipe has another paint there by now */
            }
        }
    }
    struct cb_pot_stage *out = cb_arena_alloc(arena, list.count + 1, sizeof *out);
    for (size_t i = 0; i < list.count; i++) {
        out[i] = list.items[i];
    }
    *count = list.count;
    cb_vec_free(&list);
    return out;
}

void cb_pots_code_stage(struct cb_coder *coder, struct cb_pot_stage *stage)
{
    int technique = (int)stage->technique;
    int from = (int)stage->drying.from;
    uint64_t answered = stage->answered;
    cb_code_text(coder, &stage->paint);
    cb_code_text(coder, &stage->pot);
    cb_code_text(coder, &stage->kind);
    cb_code_int(coder, &technique, 0, CB_TECHNIQUE_COUNT - 1);
    cb_code_int(coder, &from, 0, CB_TIME_ZERO);
    cb_code_double(coder, &stage->drying.standard_min);
    cb_code_double(coder, &stage->drying.pot_sd);
    cb_code_double(coder, &stage->drying.label_min);
    cb_code_count(coder, &answered, SIZE_MAX);
    stage->technique = (enum cb_technique)technique;
    stage->drying.from = (enum cb_time_from)from;
    stage->answered = (size_t)answered;
}

static void fill(struct cb_pot_line *line, const struct cb_learn *learn, double confidence)
{
    line->median_min = quantile(learn, line, .50);
    line->low_min = quantile(learn, line, .10);
    line->high_min = quantile(learn, line, .90);
    line->ping_min =
        cb_forecast_ring_min(line->drying, learn, line->pot, line->answered, confidence);
    if (!line->exact && line->drying->label_min > 0 &&
        cb_forecast_ring_min(line->drying, learn, line->pot, line->answered, .01) >=
            line->drying->label_min) {
        line->floor_min = line->drying->label_min; /* it holds even where nothing else would */
    }
}

/* Of a joined pot the name that it goes by. */
static const char *shown_name(const struct cb_pot_line *line, const struct cb_pot_stage *stage)
{
    struct cb_arena arena = {0};
    const char *before = line->paint ? cb_utf8_fold(&arena, line->paint) : "";
    const char *now = cb_utf8_fold(&arena, stage->paint);
    const size_t length = strcspn(stage->pot, "\n");
    const bool keeps = strlen(before) == length && memcmp(before, stage->pot, length) == 0 &&
                       strcmp(now, before) != 0;
    cb_arena_fini(&arena);
    return keeps ? line->paint : stage->paint;
}

const struct cb_pot_line *cb_pots_lines(const struct cb_pot_stage *stages, size_t stage_count,
                                        const struct cb_learn *learn, const struct cb_row *rows,
                                        size_t row_count, double confidence, struct cb_arena *arena,
                                        size_t *count)
{
    struct cb_pot_line *lines = cb_arena_alloc(arena, stage_count + 1, sizeof *lines);
    struct cb_index *by_pot = cb_index_new();
    *count = 0;
    for (size_t i = 0; i < stage_count; i++) {
        const struct cb_pot_stage *stage = &stages[i];
        char *key = cb_arena_printf(arena, "%d %s", (int)stage->technique, stage->pot);
        size_t at;
        if (!cb_index_get(by_pot, key, &at)) {
            at = (*count)++;
            cb_index_set(by_pot, key, at);
        }
        lines[at] = (struct cb_pot_line){.paint = shown_name(&lines[at], stage),
                                         .pot = stage->pot,
                                         .kind = stage->kind,
                                         .technique = stage->technique,
                                         .pot_sd = stage->drying.pot_sd,
                                         .prior_min = stage->drying.standard_min,
                                         .floor_min = NAN,
                                         .exact = stage->drying.from == CB_TIME_WAIT,
                                         .answered = lines[at].answered + stage->answered,
                                         .drying = &stage->drying};
    }
    for (size_t i = 0; i < *count; i++) {
        fill(&lines[i], learn, confidence);
        count_films(&lines[i], learn, rows, row_count);
    }
    cb_index_free(by_pot);
    return lines;
}

const struct cb_pot_line *cb_pots_list(const struct cb_bench *bench, const struct cb_learn *learn,
                                       const struct cb_row *rows, size_t row_count,
                                       double confidence, struct cb_arena *arena, size_t *count)
{
    size_t stage_count;
    const struct cb_pot_stage *stages = cb_pots_stages(bench, NULL, arena, &stage_count);
    return cb_pots_lines(stages, stage_count, learn, rows, row_count, confidence, arena, count);
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

#define OFTEN_IN_100 30 /* own judgement */

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
    const char *learns = worth < .26   ? "; it learns half as fast"
                         : worth < .45 ? "; it learns slower"
                         : worth > .55 ? "; it learns faster"
                                       : "";
    /* One in so many while that is small enough to be pictured, else so many in ten. */
    const bool often = early >= OFTEN_IN_100;
    const int rings = often ? (int)lround(early / 10) : 1;
    const int of = often ? 10 : (int)lround(100 / early);
    const char *verb = rings == 1 ? "comes" : "come";
    const bool whole = !brief && learns[0] == '\0';
    return cb_arena_printf(arena, "%s guess: %s%.0f min longer%s; %d ring%s in %d %s early%s",
                           brief ? "a" : "a first", whole ? "you wait " : "", past,
                           whole ? " than needed" : "", rings, rings == 1 ? "" : "s", of, verb,
                           brief ? "" : learns);
}
