/* SPDX-License-Identifier: MIT */
/* A review's spans as coats in their order, with the minutes that were measured. */
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/vec.h"
#include "core/plan/plan_recipe.h"
#include "core/plan/suggest_internal.h"

/* A coat of one figure as the spans have it. */
struct coat {
    int figure, stage, coat; /* figure from 1, stage from 0 */
    int session;
    size_t first_span, end_span;
    int64_t waiting_ms, break_ms, change_ms; /* before it; break: what is not of these coats */
    int64_t night_ms;                        /* of the break, between two sessions */
    bool clean;
};

struct reading {
    const struct cb_review *review;
    CB_VEC(struct coat) coats;
    struct coat next; /* what lies before the next one */
    int *newest;      /* [stage * (figures + 1) + figure]: its last coat */
    int64_t end_ms;
    int session;
};

static bool is_coat(const struct reading *reading, const struct cb_span *span)
{
    return (span->spent == CB_SPENT_HANDS_ON || span->spent == CB_SPENT_CHANGE) &&
           span->figure >= 1 && span->figure <= reading->review->figures && span->stage >= 1 &&
           (size_t)span->stage <= reading->review->recipe->stage_count;
}

/* Time that is nobody's, or not this unit's, lies before what comes next. */
static void pass_to(struct reading *reading, const struct cb_span *span)
{
    struct coat *next = &reading->next;
    if (reading->session >= 0 && span->from_ms > reading->end_ms) {
        const int64_t hole_ms = span->from_ms - reading->end_ms;
        next->break_ms += hole_ms;
        next->night_ms += span->session != reading->session ? hole_ms : 0;
    }
    next->clean |= span->session != reading->session || span->from_ms > reading->end_ms;
    if (span->session != reading->session) { /* what was waited at the end was packing up */
        next->break_ms += next->waiting_ms;
        next->waiting_ms = 0;
    }
    reading->session = span->session;
    reading->end_ms = span->to_ms;
}

/* The coat that the span belongs to, new or the last one; NULL: it was done before, and again. */
static struct coat *coat_of(struct reading *reading, const struct cb_span *span)
{
    struct coat *last =
        reading->coats.count > 0 ? &reading->coats.items[reading->coats.count - 1] : NULL;
    int *newest =
        &reading->newest[(span->stage - 1) * (reading->review->figures + 1) + span->figure];
    if (last && last->figure == span->figure && last->stage == span->stage - 1 &&
        last->coat == span->coat) {
        last->break_ms += reading->next.break_ms;
        last->night_ms += reading->next.night_ms;
        reading->next = (struct coat){0};
        return last;
    }
    if (span->coat <= *newest) {
        return NULL;
    }
    *newest = span->coat;
    struct coat coat = reading->next;
    coat.figure = span->figure;
    coat.stage = span->stage - 1;
    coat.coat = span->coat;
    coat.session = span->session;
    cb_vec_push(&reading->coats, coat);
    reading->next = (struct coat){0};
    return &reading->coats.items[reading->coats.count - 1];
}

static void read_span(struct reading *reading, size_t at)
{
    const struct cb_span *span = &reading->review->spans[at];
    const int64_t ms = span->to_ms - span->from_ms;
    pass_to(reading, span);
    struct coat *coat = is_coat(reading, span) ? coat_of(reading, span) : NULL;
    if (coat) {
        coat->first_span = coat->end_span == 0 && coat->waiting_ms == 0 ? at : coat->first_span;
        coat->end_span = at + 1;
        coat->change_ms += span->spent == CB_SPENT_CHANGE ? ms : 0;
    } else if (span->spent == CB_SPENT_WAITING) {
        reading->next.first_span = reading->next.waiting_ms == 0 ? at : reading->next.first_span;
        reading->next.waiting_ms += ms;
    } else {
        reading->next.break_ms += ms + reading->next.waiting_ms;
        reading->next.waiting_ms = 0;
    }
}

static double minutes(int64_t ms)
{
    return (double)ms / (double)CB_MS_PER_MIN;
}

/* The figures that have coats, from 0; figures without: -1. */
static int number_figures(const struct reading *reading, int index[CB_FIGURES_MAX + 1])
{
    bool has[CB_FIGURES_MAX + 1] = {false};
    int count = 0;
    for (size_t i = 0; i < reading->coats.count; i++) {
        has[reading->coats.items[i].figure] = true;
    }
    for (int figure = 0; figure <= CB_FIGURES_MAX; figure++) {
        index[figure] = has[figure] ? count++ : -1;
    }
    return count;
}

/* Is it of the go that the last mark is? All of one press follow each other without a gap. */
static bool joins_go(const struct cb_suggest_log *log, const struct coat *coat, int figure,
                     int number)
{
    const struct cb_suggest_mark *last =
        log->mark_count > 0 ? &log->marks[log->mark_count - 1] : NULL;
    const int fit = log->problem.stages[coat->stage].together;
    bool joins = last && fit > 0 && last->stage == coat->stage && last->coat == number &&
                 (int)last->count < fit && !coat->clean &&
                 coat->waiting_ms + coat->change_ms + coat->break_ms == 0;
    for (size_t i = 0; joins && i < last->count; i++) {
        joins = log->members[last->first + i] != figure;
    }
    return joins;
}

static void add_mark(struct cb_suggest_log *log, const struct coat *coat, int figure,
                     struct cb_plan_slot *slots)
{
    struct cb_plan_slot *slot =
        &slots[(size_t)coat->stage * log->problem.figure_count + (size_t)figure];
    const int number = slot->coats++;
    if (!joins_go(log, coat, figure, number)) {
        log->marks[log->mark_count++] =
            (struct cb_suggest_mark){.stage = coat->stage,
                                     .coat = number,
                                     .first = log->member_count,
                                     .first_span = coat->first_span,
                                     .break_min = minutes(coat->break_ms),
                                     .clean = coat->clean};
    }
    struct cb_suggest_mark *mark = &log->marks[log->mark_count - 1];
    mark->count++;
    mark->end_span = coat->end_span;
    log->members[log->member_count++] = figure;
}

static void set_evenings(struct cb_suggest_log *log, const struct reading *reading)
{
    int64_t night_ms = 0;
    for (size_t i = 0; i < reading->coats.count; i++) {
        night_ms += reading->coats.items[i].night_ms;
    }
    if (log->sessions > 1) {
        log->problem.evening_min =
            fmax(1, (log->work_min + cb_suggest_sum(&log->spent)) / log->sessions);
        log->problem.night_min = minutes(night_ms) / (log->sessions - 1);
    }
}

static void lay_out(struct cb_suggest_log *log, const struct reading *reading,
                    const struct cb_kinds *kinds)
{
    const struct cb_recipe *recipe = log->review->recipe;
    struct cb_plan_times times[CB_RECIPE_MAX] = {{0}};
    int index[CB_FIGURES_MAX + 1];
    const int figures = number_figures(reading, index);
    log->fan_dry_min =
        cb_arena_alloc(&log->arena, recipe->stage_count + 1, sizeof *log->fan_dry_min);
    for (size_t s = 0; s < recipe->stage_count; s++) {
        const struct cb_review_stage *stage = &log->review->stages[s];
        times[s].dry_min = isfinite(stage->ring_min) ? stage->ring_min : 0;
        log->fan_dry_min[s] = isfinite(stage->fan_ring_min) ? stage->fan_ring_min : 0;
    }
    log->problem = cb_plan_of_recipe(kinds, recipe, figures, times, &log->arena);
    const size_t slot_count = recipe->stage_count * (size_t)figures;
    struct cb_plan_stage *stages =
        cb_arena_alloc(&log->arena, recipe->stage_count + 1, sizeof *stages);
    struct cb_plan_slot *slots = cb_arena_alloc(&log->arena, slot_count + 1, sizeof *slots);
    for (size_t s = 0; s < recipe->stage_count; s++) {
        stages[s] = log->problem.stages[s];
    }
    log->problem.stages = stages;
    log->problem.slots = slots;
    log->marks = cb_arena_alloc(&log->arena, reading->coats.count + 1, sizeof *log->marks);
    log->members = cb_arena_alloc(&log->arena, reading->coats.count + 1, sizeof *log->members);
    for (size_t i = 0; i < reading->coats.count; i++) {
        add_mark(log, &reading->coats.items[i], index[reading->coats.items[i].figure], slots);
    }
    cb_plan_model_init(&log->model, &log->problem);
    cb_suggest_measure(log, stages);
    set_evenings(log, reading);
    cb_plan_model_fini(&log->model);
    cb_plan_model_init(&log->model, &log->problem);
    log->batch = cb_suggest_usual(log);
}

bool cb_suggest_log_init(struct cb_suggest_log *log, const struct cb_review *review,
                         const struct cb_kinds *kinds)
{
    *log = (struct cb_suggest_log){.review = review};
    struct reading reading = {.review = review, .session = -1};
    reading.newest = cb_mem_new(review->recipe->stage_count * ((size_t)review->figures + 1) + 1,
                                sizeof *reading.newest);
    for (size_t i = 0; i < review->span_count; i++) {
        read_span(&reading, i);
    }
    const bool any = reading.coats.count > 0;
    if (any) {
        lay_out(log, &reading, kinds);
    }
    cb_vec_free(&reading.coats);
    free(reading.newest);
    return any;
}

void cb_suggest_log_fini(struct cb_suggest_log *log)
{
    cb_plan_model_fini(&log->model);
    cb_arena_fini(&log->arena);
}
