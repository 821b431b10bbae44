/* SPDX-License-Identifier: MIT */
/* A review as bytes. Most of it are spans of one session that touch, each by the next figure. */
#include "core/review/review.h"

#include "base/coder.h"

enum {
    SPAN_TOUCHES = 1, /* begins where the one before ends, in the same session */
    SPAN_SAME = 2,    /* figure, stage and coat of the one before */
    SPAN_NEXT = 4,    /* the next figure at the same stage and coat */
    SPAN_FLAGS = 8,   /* then what it was spent on */
};

static uint64_t flags_of(const struct cb_span *span, const struct cb_span *before)
{
    const bool stage = span->stage == before->stage && span->coat == before->coat;
    uint64_t flags = SPAN_FLAGS * (uint64_t)span->spent;
    flags += span->from_ms == before->to_ms && span->session == before->session ? SPAN_TOUCHES : 0;
    flags += stage && span->figure == before->figure ? SPAN_SAME : 0;
    flags += stage && span->figure == before->figure + 1 ? SPAN_NEXT : 0;
    return flags;
}

static void code_spans(struct cb_coder *coder, const struct cb_review *review,
                       const struct cb_span **list, size_t *count)
{
    struct cb_span before = {.from_ms = review->begun_ms, .to_ms = review->begun_ms};
    cb_code_length(coder, count, SIZE_MAX);
    struct cb_span *spans = cb_code_list(coder, *list, *count, sizeof *spans);
    for (size_t i = 0; i < *count; i++) {
        struct cb_span *span = &spans[i];
        uint64_t flags = flags_of(span, &before);
        cb_code_count(coder, &flags, SPAN_FLAGS * CB_SPENT_COUNT - 1);
        span->spent = (enum cb_spent)(flags / SPAN_FLAGS);
        int64_t from_ms = (int64_t)((uint64_t)span->from_ms - (uint64_t)before.to_ms);
        int64_t length_ms = (int64_t)((uint64_t)span->to_ms - (uint64_t)span->from_ms);
        if (flags & SPAN_TOUCHES) {
            from_ms = 0;
            span->session = before.session;
        } else {
            cb_code_signed(coder, &from_ms);
            cb_code_int(coder, &span->session, 0, INT32_MAX);
        }
        cb_code_signed(coder, &length_ms);
        span->from_ms = (int64_t)((uint64_t)before.to_ms + (uint64_t)from_ms);
        span->to_ms = (int64_t)((uint64_t)span->from_ms + (uint64_t)length_ms);
        if (flags & (SPAN_SAME | SPAN_NEXT)) {
            span->figure = before.figure + (flags & SPAN_NEXT ? 1 : 0);
            span->stage = before.stage;
            span->coat = before.coat;
        } else {
            cb_code_int(coder, &span->figure, 0, CB_FIGURES_MAX);
            cb_code_int(coder, &span->stage, 0, CB_RECIPE_MAX);
            cb_code_int(coder, &span->coat, 0, CB_EVENT_COATS_MAX);
        }
        before = *span;
    }
    *list = spans;
}

static void code_spent(struct cb_coder *coder, int64_t spent_ms[CB_SPENT_COUNT])
{
    for (size_t i = 0; i < CB_SPENT_COUNT; i++) {
        cb_code_signed(coder, &spent_ms[i]);
    }
}

static void code_sessions(struct cb_coder *coder, struct cb_review *review)
{
    cb_code_length(coder, &review->session_count, SIZE_MAX);
    struct cb_review_session *sessions =
        cb_code_list(coder, review->sessions, review->session_count, sizeof *sessions);
    for (size_t i = 0; i < review->session_count; i++) {
        cb_code_signed(coder, &sessions[i].from_ms);
        cb_code_signed(coder, &sessions[i].to_ms);
        cb_code_bool(coder, &sessions[i].cut_off);
        cb_code_signed(coder, &sessions[i].drying_ms);
        code_spent(coder, sessions[i].spent_ms);
    }
    review->sessions = sessions;
}

static void code_stages(struct cb_coder *coder, struct cb_review *review)
{
    cb_code_length(coder, &review->stage_count, CB_RECIPE_MAX);
    struct cb_review_stage *stages =
        cb_code_list(coder, review->stages, review->stage_count, sizeof *stages);
    for (size_t i = 0; i < review->stage_count; i++) {
        cb_code_int(coder, &stages[i].stage, 1, CB_RECIPE_MAX);
        code_spent(coder, stages[i].spent_ms);
        cb_code_int(coder, &stages[i].coats, 0, INT32_MAX);
        cb_code_double(coder, &stages[i].planned_min);
        cb_code_double(coder, &stages[i].ring_min);
        cb_code_double(coder, &stages[i].fan_ring_min);
    }
    review->stages = stages;
}

static void code_dryings(struct cb_coder *coder, struct cb_review *review)
{
    int64_t before_ms = review->begun_ms;
    cb_code_length(coder, &review->drying_count, SIZE_MAX);
    struct cb_review_drying *dryings =
        cb_code_list(coder, review->dryings, review->drying_count, sizeof *dryings);
    for (size_t i = 0; i < review->drying_count; i++) {
        int64_t *const moments[] = {&dryings[i].from_ms, &dryings[i].to_ms};
        for (size_t m = 0; m < 2; m++) {
            int64_t later_ms = (int64_t)((uint64_t)*moments[m] - (uint64_t)before_ms);
            cb_code_signed(coder, &later_ms);
            before_ms = (int64_t)((uint64_t)before_ms + (uint64_t)later_ms);
            *moments[m] = before_ms;
        }
    }
    review->dryings = dryings;
}

static void code_paints(struct cb_coder *coder, struct cb_review *review)
{
    cb_code_length(coder, &review->paint_count, CB_RECIPE_MAX);
    struct cb_review_paint *paints =
        cb_code_list(coder, review->paints, review->paint_count, sizeof *paints);
    for (size_t i = 0; i < review->paint_count; i++) {
        int technique = (int)paints[i].technique;
        cb_code_int(coder, &technique, 0, CB_TECHNIQUE_COUNT - 1);
        paints[i].technique = (enum cb_technique)technique;
        cb_code_double(coder, &paints[i].standard_min);
        cb_code_double(coder, &paints[i].pot_sd);
        cb_code_text(coder, &paints[i].pot);
        cb_code_text(coder, &paints[i].name);
    }
    review->paints = paints;
}

static void code_review(struct cb_coder *coder, struct cb_review *review)
{
    size_t *const pings[] = {&review->ping_count, &review->ping_answered, &review->ping_dry,
                             &review->ping_wet, &review->ping_late};
    cb_code_text(coder, &review->unit);
    cb_code_text(coder, &review->name);
    cb_code_int(coder, &review->figures, 0, CB_FIGURES_MAX);
    cb_code_bool(coder, &review->finished);
    cb_code_signed(coder, &review->begun_ms);
    cb_code_signed(coder, &review->shift_ms);
    cb_code_signed(coder, &review->session_ms);
    code_spent(coder, review->spent_ms);
    for (int i = 0; i <= CB_FIGURES_MAX; i++) {
        cb_code_signed(coder, &review->figure_ms[i]);
    }
    for (size_t i = 0; i < sizeof pings / sizeof *pings; i++) {
        uint64_t number = *pings[i];
        cb_code_count(coder, &number, SIZE_MAX);
        *pings[i] = (size_t)number;
    }
    cb_code_signed(coder, &review->film_drying_ms);
    code_sessions(coder, review);
    code_stages(coder, review);
    code_dryings(coder, review);
    code_paints(coder, review);
    code_spans(coder, review, &review->spans, &review->span_count);
    code_spans(coder, review, &review->questions, &review->question_count);
}

void cb_review_pack(const struct cb_review *review, struct cb_str *out)
{
    struct cb_arena arena = {0};
    struct cb_coder coder = cb_coder_writer(out, &arena);
    struct cb_review copy = *review;
    code_review(&coder, &copy);
    cb_arena_fini(&arena);
}

static bool spans_fit(const struct cb_review *review, const struct cb_span *spans, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if ((size_t)spans[i].session >= review->session_count || spans[i].figure > CB_FIGURES_MAX ||
            (size_t)spans[i].stage > review->stage_count) {
            return false;
        }
    }
    return true;
}

bool cb_review_unpack(const void *bytes, size_t length, const struct cb_recipe *recipe,
                      struct cb_arena *arena, struct cb_review *review)
{
    struct cb_coder coder = cb_coder_reader(bytes, length, arena);
    *review = (struct cb_review){.recipe = recipe};
    code_review(&coder, review);
    bool fits = cb_coder_done(&coder) && recipe->stage_count == review->stage_count &&
                spans_fit(review, review->spans, review->span_count) &&
                spans_fit(review, review->questions, review->question_count);
    for (size_t i = 0; fits && i < review->stage_count; i++) {
        fits = (size_t)review->stages[i].stage <= review->stage_count;
    }
    return fits;
}
