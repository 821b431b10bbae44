/* SPDX-License-Identifier: MIT */
#include "core/review/review_sum.h"

#include <string.h>

int64_t cb_review_took_ms(const int64_t spent_ms[CB_SPENT_COUNT])
{
    return spent_ms[CB_SPENT_HANDS_ON] + spent_ms[CB_SPENT_TIDY];
}

struct cb_review_sum cb_review_sum_of(const struct cb_review *review, struct cb_arena *arena)
{
    struct cb_review_sum_stage *stages =
        cb_arena_alloc(arena, review->stage_count + 1, sizeof *stages);
    struct cb_review_sum sum = {.unit = review->unit,
                                .name = review->name,
                                .recipe = review->recipe->name,
                                .figures = review->figures,
                                .begun_ms = review->begun_ms + review->shift_ms,
                                .stage_count = review->stage_count,
                                .stages = stages};
    memcpy(sum.spent_ms, review->spent_ms, sizeof sum.spent_ms);
    for (size_t i = 0; i < review->stage_count; i++) {
        stages[i] =
            (struct cb_review_sum_stage){review->recipe->stages[review->stages[i].stage - 1].name,
                                         cb_review_took_ms(review->stages[i].spent_ms)};
    }
    return sum;
}

void cb_review_sum_code(struct cb_coder *coder, struct cb_review_sum *sum)
{
    cb_code_text(coder, &sum->unit);
    cb_code_text(coder, &sum->name);
    cb_code_text(coder, &sum->recipe);
    cb_code_int(coder, &sum->figures, 0, CB_FIGURES_MAX);
    cb_code_signed(coder, &sum->begun_ms);
    for (size_t i = 0; i < CB_SPENT_COUNT; i++) {
        cb_code_signed(coder, &sum->spent_ms[i]);
    }
    cb_code_length(coder, &sum->stage_count, CB_RECIPE_MAX);
    struct cb_review_sum_stage *stages =
        cb_code_list(coder, sum->stages, sum->stage_count, sizeof *stages);
    for (size_t i = 0; i < sum->stage_count; i++) {
        cb_code_text(coder, &stages[i].name);
        cb_code_signed(coder, &stages[i].took_ms);
    }
    sum->stages = stages;
}

struct cb_review_sum cb_review_sum_copy(const struct cb_review_sum *sum, struct cb_arena *arena)
{
    struct cb_review_sum copy = *sum;
    struct cb_review_sum_stage *stages =
        cb_arena_alloc(arena, sum->stage_count + 1, sizeof *stages);
    copy.unit = cb_arena_text(arena, sum->unit);
    copy.name = cb_arena_text(arena, sum->name);
    copy.recipe = cb_arena_text(arena, sum->recipe);
    for (size_t i = 0; i < sum->stage_count; i++) {
        stages[i] = (struct cb_review_sum_stage){cb_arena_text(arena, sum->stages[i].name),
                                                 sum->stages[i].took_ms};
    }
    copy.stages = stages;
    return copy;
}

static bool is_before(const struct cb_review *review, const struct cb_review_sum *sum)
{
    return sum->figures > 0 && strcmp(sum->unit, review->unit) != 0 &&
           sum->begun_ms <= review->begun_ms + review->shift_ms;
}

const struct cb_review_sum *cb_review_before(const struct cb_review *review,
                                             const struct cb_review_sum *sums, size_t count)
{
    const struct cb_review_sum *last = NULL;
    for (size_t i = count; i-- > 0;) {
        if (!is_before(review, &sums[i])) {
            continue;
        }
        if (strcmp(sums[i].recipe, review->recipe->name) == 0) {
            return &sums[i];
        }
        last = last == NULL ? &sums[i] : last;
    }
    return last;
}

int64_t cb_review_scaled(const struct cb_review *review, const struct cb_review_sum *before,
                         int64_t ms)
{
    return before->figures > 0 ? ms / before->figures * review->figures : 0;
}

int64_t cb_review_stage_before(const struct cb_review *review, const struct cb_review_sum *before,
                               const char *stage)
{
    for (size_t s = 0; s < before->stage_count; s++) {
        if (strcmp(before->stages[s].name, stage) == 0) {
            return cb_review_scaled(review, before, before->stages[s].took_ms);
        }
    }
    return -1;
}

size_t cb_review_trend(const struct cb_review *review, const struct cb_review_sum *sums,
                       size_t count, int64_t figure_ms[CB_REVIEW_TREND])
{
    const int figures = review->figures > 0 ? review->figures : 1;
    size_t shown = 0;
    for (size_t i = count; i-- > 0 && shown + 1 < CB_REVIEW_TREND;) {
        if (is_before(review, &sums[i]) && strcmp(sums[i].recipe, review->recipe->name) == 0) {
            shown++;
            figure_ms[CB_REVIEW_TREND - 1 - shown] =
                sums[i].spent_ms[CB_SPENT_HANDS_ON] / sums[i].figures;
        }
    }
    figure_ms[CB_REVIEW_TREND - 1] = review->spent_ms[CB_SPENT_HANDS_ON] / figures;
    memmove(figure_ms, figure_ms + CB_REVIEW_TREND - 1 - shown, (shown + 1) * sizeof *figure_ms);
    return shown + 1;
}
