/* SPDX-License-Identifier: MIT */
#include "core/review/trail.h"

#include "base/time.h"

/* Less waiting between two coats does not part them (own judgement). */
#define APART_MS (2 * CB_MS_PER_MIN)

static double minutes(int64_t ms)
{
    return (double)ms / (double)CB_MS_PER_MIN;
}

static struct cb_trail_stage *copy_stages(const struct cb_recipe *recipe, struct cb_arena *arena)
{
    struct cb_trail_stage *stages = cb_arena_alloc(arena, recipe->stage_count + 1, sizeof *stages);
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const struct cb_stage *stage = &recipe->stages[i];
        const int paint = cb_mix_paint(&stage->mix);
        stages[i] = (struct cb_trail_stage){
            .name = cb_arena_text(arena, stage->name),
            .paint = paint < 0 ? NULL : cb_arena_text(arena, recipe->paints[paint].name),
            .together = stage->together != 0,
        };
    }
    return stages;
}

/* Texts that the rows share stay shared. */
static const struct cb_row *copy_rows(const struct cb_row *rows, size_t count, const char *unit,
                                      struct cb_arena *arena)
{
    struct cb_row *copy = cb_arena_alloc(arena, count + 1, sizeof *copy);
    for (size_t i = 0; i < count; i++) {
        copy[i] = rows[i];
        copy[i].unit = unit;
        copy[i].pot = i > 0 && rows[i].pot == rows[i - 1].pot ? copy[i - 1].pot
                                                              : cb_arena_text(arena, rows[i].pot);
        copy[i].paint = i > 0 && rows[i].paint == rows[i - 1].paint
                            ? copy[i - 1].paint
                            : cb_arena_text(arena, rows[i].paint);
    }
    return copy;
}

/* The span belongs to the coat before it: one figure's work goes on after a slip or a pause. */
static bool goes_on(const struct cb_span *span, const struct cb_trail_coat *coat, bool together)
{
    return coat->session == span->session && coat->stage == span->stage &&
           coat->coat == span->coat && (together || coat->figure == span->figure);
}

static size_t list_coats(const struct cb_review *review, struct cb_trail_coat *coats)
{
    size_t count = 0;
    int64_t waited_ms = 0, change_ms = 0;
    for (size_t i = 0; i < review->span_count; i++) {
        const struct cb_span *span = &review->spans[i];
        const int64_t ms = span->to_ms - span->from_ms;
        const bool known = span->stage >= 1 && (size_t)span->stage <= review->recipe->stage_count;
        if (span->spent == CB_SPENT_CHANGE) {
            change_ms += ms;
        } else if (span->spent != CB_SPENT_HANDS_ON) {
            waited_ms += ms;
        } else if (known && count > 0 && change_ms == 0 && waited_ms < APART_MS &&
                   goes_on(span, &coats[count - 1],
                           review->recipe->stages[span->stage - 1].together != 0)) {
            coats[count - 1].took_min += minutes(ms);
            coats[count - 1].at_ms = span->to_ms + review->shift_ms;
            waited_ms = 0;
        } else if (known) {
            coats[count] = (struct cb_trail_coat){
                .at_ms = span->to_ms + review->shift_ms,
                .took_min = minutes(ms),
                .change_min = minutes(change_ms),
                .stage = span->stage,
                .coat = span->coat,
                .figure = span->figure,
                .session = span->session,
                .apart = count == 0 || coats[count - 1].session != span->session ||
                         waited_ms >= APART_MS,
            };
            count++;
            waited_ms = change_ms = 0;
        }
    }
    return count;
}

static void add_waits(const struct cb_review *review, struct cb_trail_stage *stages)
{
    int last = 0;
    for (size_t i = 0; i < review->span_count; i++) {
        const struct cb_span *span = &review->spans[i];
        if (span->spent == CB_SPENT_WAITING && last > 0) {
            stages[last - 1].waited_min += minutes(span->to_ms - span->from_ms);
        } else if (span->spent == CB_SPENT_HANDS_ON && span->stage >= 1 &&
                   (size_t)span->stage <= review->recipe->stage_count) {
            last = span->stage;
        }
    }
}

struct cb_trail cb_trail_of(const struct cb_review *review, const struct cb_row *rows,
                            size_t row_count, struct cb_arena *arena)
{
    struct cb_trail_coat *coats = cb_arena_alloc(arena, review->span_count + 1, sizeof *coats);
    const char *unit = cb_arena_text(arena, review->unit);
    struct cb_trail_stage *stages = copy_stages(review->recipe, arena);
    add_waits(review, stages);
    return (struct cb_trail){
        .unit = unit,
        .figures = review->figures,
        .stage_count = review->recipe->stage_count,
        .stages = stages,
        .coat_count = list_coats(review, coats),
        .coats = coats,
        .row_count = row_count,
        .rows = copy_rows(rows, row_count, unit, arena),
    };
}
