/* SPDX-License-Identifier: MIT */
#include "core/review_sum.h"

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
        stages[i] = (struct cb_review_sum_stage){
            review->recipe->stages[review->stages[i].stage - 1].name,
            cb_review_took_ms(review->stages[i].spent_ms)};
    }
    return sum;
}

/* The numbers as they lie in memory, three texts, then each stage's number and text. */
struct kept {
    int64_t figures, begun_ms, spent_ms[CB_SPENT_COUNT];
    uint64_t stages;
};

static void put_text(struct cb_str *out, const char *text)
{
    const char *given = text == NULL ? "" : text;
    cb_str_add_n(out, given, strlen(given) + 1);
}

void cb_review_sum_pack(const struct cb_review_sum *sums, size_t count, struct cb_str *out)
{
    for (size_t i = 0; i < count; i++) {
        struct kept kept = {.figures = sums[i].figures,
                            .begun_ms = sums[i].begun_ms,
                            .stages = sums[i].stage_count};
        memcpy(kept.spent_ms, sums[i].spent_ms, sizeof kept.spent_ms);
        cb_str_add_n(out, (const char *)&kept, sizeof kept);
        put_text(out, sums[i].unit);
        put_text(out, sums[i].name);
        put_text(out, sums[i].recipe);
        for (size_t s = 0; s < sums[i].stage_count; s++) {
            const int64_t took_ms = sums[i].stages[s].took_ms;
            cb_str_add_n(out, (const char *)&took_ms, sizeof took_ms);
            put_text(out, sums[i].stages[s].name);
        }
    }
}

struct in {
    const char *at, *end;
    bool good;
};

static void take(struct in *in, void *into, size_t length)
{
    in->good = in->good && (size_t)(in->end - in->at) >= length;
    if (in->good) {
        memcpy(into, in->at, length);
        in->at += length;
    }
}

static const char *take_text(struct in *in, struct cb_arena *arena)
{
    const char *end = in->good ? memchr(in->at, 0, (size_t)(in->end - in->at)) : NULL;
    in->good = end != NULL;
    if (end == NULL) {
        return "";
    }
    const char *text = cb_arena_text_n(arena, in->at, (size_t)(end - in->at));
    in->at = end + 1;
    return text;
}

static struct cb_review_sum take_sum(struct in *in, struct cb_arena *arena)
{
    struct kept kept = {0};
    take(in, &kept, sizeof kept);
    in->good = in->good && kept.figures >= 0 && kept.figures <= CB_FIGURES_MAX &&
               kept.stages <= CB_RECIPE_MAX;
    struct cb_review_sum sum = {.figures = (int)kept.figures, .begun_ms = kept.begun_ms};
    memcpy(sum.spent_ms, kept.spent_ms, sizeof sum.spent_ms);
    sum.unit = take_text(in, arena);
    sum.name = take_text(in, arena);
    sum.recipe = take_text(in, arena);
    if (in->good) {
        sum.stage_count = (size_t)kept.stages;
    }
    struct cb_review_sum_stage *stages =
        cb_arena_alloc(arena, sum.stage_count + 1, sizeof *stages);
    for (size_t s = 0; s < sum.stage_count; s++) {
        take(in, &stages[s].took_ms, sizeof stages[s].took_ms);
        stages[s].name = take_text(in, arena);
    }
    sum.stages = stages;
    return sum;
}

const struct cb_review_sum *cb_review_sum_unpack(const void *bytes, size_t length,
                                                 struct cb_arena *arena, size_t *count)
{
    struct in in = {bytes, (const char *)bytes + length, true};
    struct cb_review_sum *sums =
        cb_arena_alloc(arena, length / (sizeof(struct kept) + 3) + 1, sizeof *sums);
    *count = 0;
    while (in.good && in.at < in.end) {
        sums[(*count)++] = take_sum(&in, arena);
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
