/* SPDX-License-Identifier: MIT */
#include "core/review/effort.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/vec.h"

/* A mark shorter than this is a slip of the key, not work (own judgement). */
#define MARK_MIN_MS 2000
#define SITTING_MIN                                                                                \
    120 /* hands-on minutes of a sitting, for how many there are (own judgement)                   \
         */

struct cb_hours *cb_effort_new(void)
{
    return cb_hours_new(CB_TECHNIQUE_COUNT);
}

/* One mark from span i on: its hands-on time and where the next begins. */
static size_t one_mark(const struct cb_review *review, size_t i, bool together, int64_t *ms)
{
    const struct cb_span *span = &review->spans[i];
    size_t next = i;
    *ms = 0;
    for (; next < review->span_count; next++) {
        const struct cb_span *other = &review->spans[next];
        const bool hands_on = other->spent == CB_SPENT_HANDS_ON;
        if (hands_on && (other->stage != span->stage || other->coat != span->coat ||
                         (!together && other->figure != span->figure))) {
            break;
        }
        /* A told pause or a slip inside one figure's work does not make it two marks. */
        if (!hands_on && other->spent != CB_SPENT_PAUSE && other->spent != CB_SPENT_AWAY &&
            other->spent != CB_SPENT_CHORE && other->spent != CB_SPENT_TIDY) {
            break;
        }
        *ms += hands_on ? other->to_ms - other->from_ms : 0;
    }
    return next;
}

bool cb_effort_next_mark(const struct cb_review *review, size_t *at, struct cb_effort_mark *mark)
{
    const struct cb_recipe *recipe = review->recipe;
    while (*at < review->span_count) {
        const struct cb_span *span = &review->spans[*at];
        int64_t ms;
        if (span->spent != CB_SPENT_HANDS_ON || span->stage < 1 ||
            (size_t)span->stage > recipe->stage_count) {
            ++*at;
            continue;
        }
        *at = one_mark(review, *at, recipe->stages[span->stage - 1].together != 0, &ms);
        if (ms >= MARK_MIN_MS) {
            *mark = (struct cb_effort_mark){span->stage, span->session, (double)ms / 60000.0};
            return true;
        }
    }
    return false;
}

struct cb_effort cb_effort_of(const struct cb_review *review, const struct cb_kinds *kinds,
                              struct cb_arena *arena)
{
    const struct cb_recipe *recipe = review->recipe;
    double *lengths = cb_arena_alloc(arena, review->session_count + 1, sizeof *lengths);
    struct cb_effort effort = {.session_min = lengths,
                               .session_count = review->session_count,
                               .all_min = (double)review->session_ms / 60000.0};
    effort.hands_on_min = (double)review->spent_ms[CB_SPENT_HANDS_ON] / 60000.0;
    effort.change_min = (double)review->spent_ms[CB_SPENT_CHANGE] / 60000.0;
    effort.waiting_min = (double)review->spent_ms[CB_SPENT_WAITING] / 60000.0;
    CB_VEC(struct cb_effort_sitting) sittings = {0};
    int session = -1;
    size_t first = 0; /* of this session's sittings */
    struct cb_effort_mark mark;
    for (size_t i = 0; cb_effort_next_mark(review, &i, &mark);) {
        const size_t stage = (size_t)mark.stage - 1;
        first = mark.session == session ? first : sittings.count;
        session = mark.session;
        const double nominal_min = cb_stage_minutes(&recipe->stages[stage], kinds);
        if (nominal_min > 0 && isfinite(nominal_min)) {
            const enum cb_technique technique = recipe->stages[stage].technique;
            size_t at = first;
            while (at < sittings.count && sittings.items[at].technique != (int)technique) {
                at++;
            }
            if (at == sittings.count) {
                cb_vec_push(&sittings, ((struct cb_effort_sitting){(int)technique, 0, 0}));
            }
            sittings.items[at].marks++;
            sittings.items[at].mean_log += log(mark.min / nominal_min);
        }
    }
    struct cb_effort_sitting *kept = cb_arena_alloc(arena, sittings.count + 1, sizeof *kept);
    for (size_t s = 0; s < sittings.count; s++) {
        kept[s] = sittings.items[s];
        kept[s].mean_log /= kept[s].marks;
    }
    effort.sittings = kept;
    effort.sitting_count = sittings.count;
    cb_vec_free(&sittings);
    for (size_t s = 0; s < review->session_count; s++) {
        lengths[s] = (double)(review->sessions[s].to_ms - review->sessions[s].from_ms) / 60000.0;
    }
    return effort;
}

void cb_effort_code(struct cb_coder *coder, struct cb_effort *effort)
{
    cb_code_length(coder, &effort->sitting_count, SIZE_MAX);
    struct cb_effort_sitting *sittings =
        cb_code_list(coder, effort->sittings, effort->sitting_count, sizeof *sittings);
    for (size_t i = 0; i < effort->sitting_count; i++) {
        cb_code_int(coder, &sittings[i].technique, 0, CB_TECHNIQUE_COUNT - 1);
        cb_code_double(coder, &sittings[i].marks);
        cb_code_double(coder, &sittings[i].mean_log);
    }
    effort->sittings = sittings;
    cb_code_double(coder, &effort->all_min);
    cb_code_double(coder, &effort->hands_on_min);
    cb_code_double(coder, &effort->change_min);
    cb_code_double(coder, &effort->waiting_min);
    cb_code_length(coder, &effort->session_count, SIZE_MAX);
    double *lengths =
        cb_code_list(coder, effort->session_min, effort->session_count, sizeof *lengths);
    for (size_t i = 0; i < effort->session_count; i++) {
        cb_code_double(coder, &lengths[i]);
    }
    effort->session_min = lengths;
    cb_evenings_code(coder, &effort->evenings, &effort->evening_count);
}

void cb_effort_learn(struct cb_hours *hours, const struct cb_effort *effort)
{
    cb_hours_new_unit(hours);
    for (size_t i = 0; i < effort->sitting_count; i++) {
        const struct cb_effort_sitting *sitting = &effort->sittings[i];
        cb_hours_add_marks(hours, (size_t)sitting->technique, sitting->mean_log, sitting->marks);
    }
}

static struct cb_hours_sum sum_cells(const struct cb_hours *hours, const struct cb_recipe *recipe,
                                     const double *counts, const struct cb_kinds *kinds)
{
    struct cb_hours_cell cells[CB_RECIPE_MAX];
    size_t count = 0;
    for (size_t stage = 0; stage < recipe->stage_count; stage++) {
        if (counts[stage] > 0) {
            cells[count++] = (struct cb_hours_cell){recipe->stages[stage].technique,
                                                    cb_stage_minutes(&recipe->stages[stage], kinds),
                                                    counts[stage]};
        }
    }
    if (count == 0) {
        return (struct cb_hours_sum){0};
    }
    /* Few sittings are left to make good for a slow one. */
    const double sittings = cb_hours_to_go(hours, cells, count, 0).mean_min / SITTING_MIN;
    return cb_hours_to_go(hours, cells, count,
                          CB_HOURS_SITTING_VAR / (sittings > 1 ? sittings : 1));
}

struct cb_hours_sum cb_effort_to_go(const struct cb_hours *hours, const struct cb_unit *unit,
                                    const struct cb_kinds *kinds)
{
    double counts[CB_RECIPE_MAX] = {0};
    for (size_t stage = 0; stage < unit->recipe->stage_count; stage++) {
        int most = 0;
        for (int figure = 1; figure <= unit->figures; figure++) {
            if (unit->figure[figure].parked) {
                continue;
            }
            const int left = cb_bench_coats(unit, figure, (int)stage + 1) -
                             cb_bench_coats_on(unit, figure, (int)stage + 1);
            most = left > most ? left : most;
            counts[stage] += left > 0 ? left : 0;
        }
        if (unit->recipe->stages[stage].together != 0) {
            counts[stage] = most;
        }
    }
    return sum_cells(hours, unit->recipe, counts, kinds);
}

int cb_effort_figures(const struct cb_review *review, const struct cb_unit *unit,
                      bool figures[CB_FIGURES_MAX + 1])
{
    int count = 0;
    for (int figure = 0; figure <= CB_FIGURES_MAX; figure++) {
        figures[figure] = figure >= 1 && figure <= review->figures &&
                          (review->figure_ms[figure] > 0 ||
                           (!review->finished && unit && !unit->figure[figure].parked));
        count += figures[figure] ? 1 : 0;
    }
    for (int figure = 1; count == 0 && figure <= review->figures; figure++) {
        figures[figure] = true;
    }
    return count > 0 ? count : review->figures;
}

struct cb_hours_sum cb_effort_next(const struct cb_hours *hours, const struct cb_recipe *recipe,
                                   const bool figures[CB_FIGURES_MAX + 1],
                                   const struct cb_kinds *kinds)
{
    double counts[CB_RECIPE_MAX] = {0};
    for (size_t stage = 0; stage < recipe->stage_count; stage++) {
        int on = 0;
        for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
            on += figures[figure] && cb_recipe_applies(recipe, stage, figure) ? 1 : 0;
        }
        if (recipe->stages[stage].together != 0 && on > 0) {
            on = 1;
        }
        counts[stage] = (double)on * recipe->stages[stage].coats;
    }
    struct cb_hours *fresh = cb_hours_copy(hours);
    cb_hours_new_unit(fresh);
    const struct cb_hours_sum sum = sum_cells(fresh, recipe, counts, kinds);
    cb_hours_free(fresh);
    return sum;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

int cb_effort_evenings(double hands_on_min, const struct cb_effort *habits)
{
    const size_t n = habits->session_count;
    if (n == 0 || habits->hands_on_min <= 0) {
        return 0;
    }
    double *lengths = cb_mem_new(n, sizeof *lengths);
    memcpy(lengths, habits->session_min, n * sizeof *lengths);
    qsort(lengths, n, sizeof *lengths, by_value);
    const double usual = lengths[n / 2];
    free(lengths);
    return usual > 0 ? (int)ceil(hands_on_min * habits->all_min / habits->hands_on_min / usual) : 0;
}
