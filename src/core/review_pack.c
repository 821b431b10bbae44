/* SPDX-License-Identifier: MIT */
/* A review as bytes: the numbers as they lie in memory, the lists, then the texts, each with its
 * NUL. What reads them trusts none. */
#include "core/review.h"

#include <string.h>

enum { TEXT_UNIT, TEXT_NAME, TEXT_RECIPE, TEXTS };

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

/* Writing: the length first, then the same walk again into room of that length. */
struct out {
    char *at; /* NULL: counts only */
    size_t length;
};

static void put(struct out *out, const void *bytes, size_t length)
{
    if (out->at != NULL && length > 0) {
        memcpy(out->at + out->length, bytes, length);
    }
    out->length += length;
}

static void put_text(struct out *out, const char *text)
{
    put(out, text, strlen(text) + 1);
}

static void put_all(struct out *out, const struct cb_review *review)
{
    struct head head;
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
    put(out, &head, sizeof head);
    put(out, review->spans, review->span_count * sizeof *review->spans);
    put(out, review->sessions, review->session_count * sizeof *review->sessions);
    put(out, review->stages, review->stage_count * sizeof *review->stages);
    put(out, review->questions, review->question_count * sizeof *review->questions);
    put(out, review->dryings, review->drying_count * sizeof *review->dryings);
    for (size_t i = 0; i < review->paint_count; i++) {
        const struct cb_review_paint *paint = &review->paints[i];
        const struct kept_paint kept = {paint->standard_min, paint->pot_sd,
                                        (int64_t)paint->technique};
        put(out, &kept, sizeof kept);
    }
    put_text(out, review->unit);
    put_text(out, review->name);
    put_text(out, review->recipe->text);
    for (size_t i = 0; i < review->paint_count; i++) {
        put_text(out, review->paints[i].pot);
        put_text(out, review->paints[i].name);
    }
}

const void *cb_review_pack(const struct cb_review *review, struct cb_arena *arena, size_t *length)
{
    struct out out = {NULL, 0};
    if (review->recipe->text == NULL) {
        return NULL;
    }
    put_all(&out, review);
    *length = out.length;
    out = (struct out){cb_arena_alloc(arena, *length, 1), 0};
    put_all(&out, review);
    return out.at;
}

struct in {
    const char *at, *end;
    bool good;
};

/* A list of so many, copied so that it is aligned; NULL and in->good false when it is not there. */
static void *take(struct in *in, uint64_t count, size_t size, struct cb_arena *arena)
{
    if (!in->good || count > (size_t)(in->end - in->at) / size) {
        in->good = false;
        return NULL;
    }
    char *copy = cb_arena_alloc(arena, (size_t)count + 1, size);
    if (count > 0) {
        memcpy(copy, in->at, (size_t)count * size);
    }
    in->at += (size_t)count * size;
    return copy;
}

static const char *take_text(struct in *in, struct cb_arena *arena)
{
    const char *end = in->good ? memchr(in->at, 0, (size_t)(in->end - in->at)) : NULL;
    if (end == NULL) {
        in->good = false;
        return "";
    }
    const char *text = cb_arena_text_n(arena, in->at, (size_t)(end - in->at));
    in->at = end + 1;
    return text;
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

static void take_paints(struct in *in, const struct kept_paint *kept, uint64_t count,
                        struct cb_arena *arena, struct cb_review *review)
{
    struct cb_review_paint *paints = cb_arena_alloc(arena, (size_t)count + 1, sizeof *paints);
    for (uint64_t i = 0; i < count && in->good; i++) {
        const char *pot = take_text(in, arena);
        const char *name = take_text(in, arena);
        in->good = in->good && kept[i].technique >= 0 && kept[i].technique < CB_TECHNIQUE_COUNT;
        paints[i] = (struct cb_review_paint){pot, name, (enum cb_technique)kept[i].technique,
                                             kept[i].standard_min, kept[i].pot_sd};
    }
    review->paints = paints;
    review->paint_count = (size_t)count;
}

bool cb_review_unpack(const void *bytes, size_t length, cb_review_recipe *read, void *context,
                      struct cb_arena *arena, struct cb_review *review)
{
    struct in in = {bytes, (const char *)bytes + length, true};
    const struct head *head = take(&in, 1, sizeof *head, arena);
    if (head == NULL || head->figures < 0 || head->figures > CB_FIGURES_MAX) {
        return false;
    }
    const struct cb_span *spans = take(&in, head->spans, sizeof *spans, arena);
    const struct cb_review_session *sessions = take(&in, head->sessions, sizeof *sessions, arena);
    const struct cb_review_stage *stages = take(&in, head->stages, sizeof *stages, arena);
    const struct cb_span *questions = take(&in, head->questions, sizeof *questions, arena);
    const struct cb_review_drying *dryings = take(&in, head->dryings, sizeof *dryings, arena);
    const struct kept_paint *paints = take(&in, head->paints, sizeof *paints, arena);
    const char *texts[TEXTS];
    for (int i = 0; i < TEXTS; i++) {
        texts[i] = take_text(&in, arena);
    }
    if (!in.good || !spans_fit(spans, head->spans, head) ||
        !spans_fit(questions, head->questions, head) || !stages_fit(stages, head) ||
        !sessions_fit(sessions, head)) {
        return false;
    }
    *review = (struct cb_review){.unit = texts[TEXT_UNIT],
                                 .name = texts[TEXT_NAME],
                                 .figures = head->figures,
                                 .finished = head->finished != 0,
                                 .begun_ms = head->begun_ms,
                                 .shift_ms = head->shift_ms,
                                 .recipe = read(context, texts[TEXT_RECIPE]),
                                 .session_ms = head->session_ms,
                                 .span_count = (size_t)head->spans,
                                 .session_count = (size_t)head->sessions,
                                 .stage_count = (size_t)head->stages,
                                 .spans = spans,
                                 .sessions = sessions,
                                 .stages = stages,
                                 .question_count = (size_t)head->questions,
                                 .questions = questions,
                                 .ping_count = (size_t)head->pings[0],
                                 .ping_answered = (size_t)head->pings[1],
                                 .ping_dry = (size_t)head->pings[2],
                                 .ping_wet = (size_t)head->pings[3],
                                 .ping_late = (size_t)head->pings[4],
                                 .drying_count = (size_t)head->dryings,
                                 .dryings = dryings,
                                 .film_drying_ms = head->film_drying_ms};
    memcpy(review->spent_ms, head->spent_ms, sizeof review->spent_ms);
    memcpy(review->figure_ms, head->figure_ms, sizeof review->figure_ms);
    take_paints(&in, paints, head->paints, arena, review);
    return in.good && in.at == in.end && review->recipe != NULL &&
           review->recipe->stage_count == review->stage_count;
}
