/* SPDX-License-Identifier: MIT */
/* A review as bytes: its numbers and lists, its texts, then paint by paint. */
#include "core/review.h"

#include <string.h>

#include "base/bytes.h"

struct head {
    int64_t begun_ms, shift_ms, session_ms, spent_ms[CB_SPENT_COUNT];
    int64_t figure_ms[CB_FIGURES_MAX + 1];
    int64_t film_drying_ms;
    uint64_t pings[5];
    uint64_t spans, sessions, stages, questions, dryings, paints;
    int32_t figures, finished;
};

struct kept_paint {
    double standard_min, pot_sd;
    int64_t technique;
};

const void *cb_review_pack(const struct cb_review *review, struct cb_arena *arena, size_t *length)
{
    struct cb_str out = {0};
    struct head head;
    if (review->recipe->text == NULL) {
        return NULL;
    }
    memset(&head, 0, sizeof head);
    head.begun_ms = review->begun_ms;
    head.shift_ms = review->shift_ms;
    head.session_ms = review->session_ms;
    memcpy(head.spent_ms, review->spent_ms, sizeof head.spent_ms);
    memcpy(head.figure_ms, review->figure_ms, sizeof head.figure_ms);
    head.pings[0] = review->ping_count;
    head.pings[1] = review->ping_answered;
    head.pings[2] = review->ping_dry;
    head.pings[3] = review->ping_wet;
    head.pings[4] = review->ping_late;
    head.film_drying_ms = review->film_drying_ms;
    head.spans = review->span_count;
    head.sessions = review->session_count;
    head.stages = review->stage_count;
    head.questions = review->question_count;
    head.dryings = review->drying_count;
    head.paints = review->paint_count;
    head.figures = review->figures;
    head.finished = review->finished;
    cb_bytes_put(&out, &head, sizeof head);
    cb_bytes_put(&out, review->spans, review->span_count * sizeof *review->spans);
    cb_bytes_put(&out, review->sessions, review->session_count * sizeof *review->sessions);
    cb_bytes_put(&out, review->stages, review->stage_count * sizeof *review->stages);
    cb_bytes_put(&out, review->questions, review->question_count * sizeof *review->questions);
    cb_bytes_put(&out, review->dryings, review->drying_count * sizeof *review->dryings);
    cb_bytes_put_text(&out, review->unit);
    cb_bytes_put_text(&out, review->name);
    cb_bytes_put_text(&out, review->recipe->text);
    for (size_t i = 0; i < review->paint_count; i++) {
        const struct cb_review_paint *paint = &review->paints[i];
        const struct kept_paint kept = {paint->standard_min, paint->pot_sd,
                                        (int64_t)paint->technique};
        cb_bytes_put(&out, &kept, sizeof kept);
        cb_bytes_put_text(&out, paint->pot);
        cb_bytes_put_text(&out, paint->name);
    }
    return cb_bytes_done(&out, arena, length);
}

static bool span_fits(const struct cb_span *span, const struct head *head)
{
    return (unsigned)span->spent < CB_SPENT_COUNT && span->session >= 0 &&
           (uint64_t)span->session < head->sessions && span->figure >= 0 &&
           span->figure <= CB_FIGURES_MAX && span->stage >= 0 &&
           (uint64_t)span->stage <= head->stages;
}

static bool spans_fit(const struct cb_span *spans, uint64_t count, const struct head *head)
{
    for (uint64_t i = 0; i < count; i++) {
        if (!span_fits(&spans[i], head)) {
            return false;
        }
    }
    return true;
}

static bool stages_fit(const struct cb_review_stage *stages, const struct head *head)
{
    for (uint64_t i = 0; i < head->stages; i++) {
        if (stages[i].stage < 1 || (uint64_t)stages[i].stage > head->stages) {
            return false;
        }
    }
    return true;
}

static bool sessions_fit(const struct cb_review_session *sessions, const struct head *head)
{
    for (uint64_t i = 0; i < head->sessions; i++) {
        unsigned char cut_off; /* a bool that is neither may not even be looked at */
        memcpy(&cut_off, &sessions[i].cut_off, sizeof cut_off);
        if (cut_off > 1) {
            return false;
        }
    }
    return true;
}

static const char *take_text(struct cb_bytes *in, struct cb_arena *arena)
{
    return cb_arena_text(arena, cb_bytes_take_text(in));
}

static void take_paints(struct cb_bytes *in, uint64_t count, struct cb_arena *arena,
                        struct cb_review *review)
{
    in->good = in->good && count <= CB_RECIPE_MAX;
    review->paint_count = in->good ? (size_t)count : 0;
    struct cb_review_paint *paints = cb_arena_alloc(arena, review->paint_count + 1, sizeof *paints);
    for (size_t i = 0; i < review->paint_count && in->good; i++) {
        struct kept_paint kept;
        cb_bytes_take(in, &kept, sizeof kept);
        const char *pot = take_text(in, arena);
        const char *name = take_text(in, arena);
        in->good = in->good && kept.technique >= 0 && kept.technique < CB_TECHNIQUE_COUNT;
        paints[i] = (struct cb_review_paint){
            pot, name, in->good ? (enum cb_technique)kept.technique : (enum cb_technique)0,
            kept.standard_min, kept.pot_sd};
    }
    review->paints = paints;
}

bool cb_review_unpack(const void *bytes, size_t length, cb_review_recipe *read, void *context,
                      struct cb_arena *arena, struct cb_review *review)
{
    struct cb_bytes in = cb_bytes_of(bytes, length);
    struct head head;
    cb_bytes_take(&in, &head, sizeof head);
    const struct cb_span *spans = cb_bytes_take_list(&in, head.spans, sizeof *spans, arena);
    const struct cb_review_session *sessions =
        cb_bytes_take_list(&in, head.sessions, sizeof *sessions, arena);
    const struct cb_review_stage *stages =
        cb_bytes_take_list(&in, head.stages, sizeof *stages, arena);
    const struct cb_span *questions =
        cb_bytes_take_list(&in, head.questions, sizeof *questions, arena);
    const struct cb_review_drying *dryings =
        cb_bytes_take_list(&in, head.dryings, sizeof *dryings, arena);
    const char *unit = take_text(&in, arena);
    const char *name = take_text(&in, arena);
    const char *recipe = take_text(&in, arena);
    if (!in.good || head.figures < 0 || head.figures > CB_FIGURES_MAX ||
        !spans_fit(spans, head.spans, &head) || !spans_fit(questions, head.questions, &head) ||
        !stages_fit(stages, &head) || !sessions_fit(sessions, &head)) {
        return false;
    }
    *review = (struct cb_review){.unit = unit,
                                 .name = name,
                                 .figures = head.figures,
                                 .finished = head.finished != 0,
                                 .begun_ms = head.begun_ms,
                                 .shift_ms = head.shift_ms,
                                 .recipe = read(context, recipe),
                                 .session_ms = head.session_ms,
                                 .span_count = (size_t)head.spans,
                                 .session_count = (size_t)head.sessions,
                                 .stage_count = (size_t)head.stages,
                                 .spans = spans,
                                 .sessions = sessions,
                                 .stages = stages,
                                 .question_count = (size_t)head.questions,
                                 .questions = questions,
                                 .ping_count = (size_t)head.pings[0],
                                 .ping_answered = (size_t)head.pings[1],
                                 .ping_dry = (size_t)head.pings[2],
                                 .ping_wet = (size_t)head.pings[3],
                                 .ping_late = (size_t)head.pings[4],
                                 .drying_count = (size_t)head.dryings,
                                 .dryings = dryings,
                                 .film_drying_ms = head.film_drying_ms};
    memcpy(review->spent_ms, head.spent_ms, sizeof review->spent_ms);
    memcpy(review->figure_ms, head.figure_ms, sizeof review->figure_ms);
    take_paints(&in, head.paints, arena, review);
    return cb_bytes_end(&in) && review->recipe != NULL &&
           review->recipe->stage_count == review->stage_count;
}
