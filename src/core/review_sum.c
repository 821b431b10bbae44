/* SPDX-License-Identifier: MIT */
#include "core/review_sum.h"

#include <string.h>

#include "base/bytes.h"

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

/* Then three texts, and each stage's number and text. */
struct kept {
    int64_t figures, begun_ms, spent_ms[CB_SPENT_COUNT];
    uint64_t stages;
};

void cb_review_sum_pack(const struct cb_review_sum *sums, size_t count, struct cb_str *out)
{
    for (size_t i = 0; i < count; i++) {
        struct kept kept = {.figures = sums[i].figures,
                            .begun_ms = sums[i].begun_ms,
                            .stages = sums[i].stage_count};
        memcpy(kept.spent_ms, sums[i].spent_ms, sizeof kept.spent_ms);
        cb_bytes_put(out, &kept, sizeof kept);
        cb_bytes_put_text(out, sums[i].unit);
        cb_bytes_put_text(out, sums[i].name);
        cb_bytes_put_text(out, sums[i].recipe);
        for (size_t s = 0; s < sums[i].stage_count; s++) {
            cb_bytes_put(out, &sums[i].stages[s].took_ms, sizeof sums[i].stages[s].took_ms);
            cb_bytes_put_text(out, sums[i].stages[s].name);
        }
    }
}

static struct cb_review_sum take_sum(struct cb_bytes *in, struct cb_arena *arena)
{
    struct kept kept;
    cb_bytes_take(in, &kept, sizeof kept);
    in->good = in->good && kept.figures >= 0 && kept.figures <= CB_FIGURES_MAX &&
               kept.stages <= CB_RECIPE_MAX;
    struct cb_review_sum sum = {.begun_ms = kept.begun_ms};
    sum.unit = cb_arena_text(arena, cb_bytes_take_text(in));
    sum.name = cb_arena_text(arena, cb_bytes_take_text(in));
    sum.recipe = cb_arena_text(arena, cb_bytes_take_text(in));
    sum.figures = in->good ? (int)kept.figures : 0;
    sum.stage_count = in->good ? (size_t)kept.stages : 0;
    memcpy(sum.spent_ms, kept.spent_ms, sizeof sum.spent_ms);
    struct cb_review_sum_stage *stages = cb_arena_alloc(arena, sum.stage_count + 1, sizeof *stages);
    for (size_t s = 0; s < sum.stage_count; s++) {
        cb_bytes_take(in, &stages[s].took_ms, sizeof stages[s].took_ms);
        stages[s].name = cb_arena_text(arena, cb_bytes_take_text(in));
    }
    sum.stages = stages;
    return sum;
}

const struct cb_review_sum *cb_review_sum_unpack(const void *bytes, size_t length,
                                                 struct cb_arena *arena, size_t *count)
{
    struct cb_bytes in = cb_bytes_of(bytes, length);
    struct cb_review_sum *sums =
        cb_arena_alloc(arena, length / (sizeof(struct kept) + 3) + 1, sizeof *sums);
    *count = 0;
    while (in.good && cb_bytes_left(&in) > 0) {
        sums[*count] = take_sum(&in, arena);
        *count += in.good ? 1 : 0;
    }
    return in.good ? sums : NULL;
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
