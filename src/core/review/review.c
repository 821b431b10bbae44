/* SPDX-License-Identifier: MIT */
#include "core/review/review.h"

#include <stdlib.h>
#include <string.h>

#include "core/bench/calibration.h"

#include "base/mem.h"
#include "core/review/review_drying.h"
#include "core/review/review_walk.h"

#define LATE_MS    CB_MS_PER_MIN /* own judgement */
#define STAGES_MAX (CB_RECIPE_MAX + 1)

/* What ten milliseconds are enough for (measured; they only have to be short): a unit of a usual
 * size is learned from at once. */
#define STEP_ROWS   1500
#define STEP_EVENTS 1500

static void sum_up(const struct cb_review_walk *walk, const struct cb_unit *unit, int64_t end_ms,
                   struct cb_review *review, struct cb_arena *arena)
{
    struct cb_review_session *sessions =
        cb_arena_alloc(arena, walk->sessions.count + 1, sizeof *sessions);
    struct cb_review_stage *stages = cb_arena_alloc(arena, STAGES_MAX, sizeof *stages);
    int *place = cb_arena_alloc(arena, walk->sessions.count + 1, sizeof *place);
    struct cb_span *spans = cb_arena_alloc(arena, walk->spans.count + 1, sizeof *spans);
    const struct cb_recipe *recipe = walk->final_recipe;
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const struct cb_stage *stage = &recipe->stages[i];
        stages[i].stage = (int)i + 1;
        double goes = 0;
        for (int figure = 1; figure <= unit->figures; figure++) {
            goes += cb_bench_coats(unit, figure, (int)i + 1);
        }
        for (size_t f = 0; f < unit->film_count; f++) {
            goes -= unit->films[f].before && unit->films[f].stage == (int)i + 1 ? 1 : 0;
        }
        if (stage->together != 0 && unit->figures > 0) {
            goes /= unit->figures;
        }
        stages[i].planned_min = stage->work_min * goes;
    }
    review->stage_count = recipe->stage_count;
    for (size_t i = 0; i < unit->film_count; i++) {
        const int stage = unit->films[i].stage;
        if (stage >= 1 && (size_t)stage <= recipe->stage_count && !unit->films[i].before) {
            stages[stage - 1].coats++;
        }
    }
    for (size_t i = 0; i < walk->sessions.count; i++) {
        place[i] = -1;
    }
    for (size_t i = 0; i < walk->spans.count; i++) {
        struct cb_span span = walk->spans.items[i];
        const int64_t ms = span.to_ms - span.from_ms;
        if (place[span.session] < 0) {
            const struct cb_review_sitting *session = &walk->sessions.items[span.session];
            place[span.session] = (int)review->session_count;
            sessions[review->session_count++] = (struct cb_review_session){
                .from_ms = session->from_ms, .to_ms = session->to_ms, .cut_off = session->cut_off};
        }
        span.session = place[span.session];
        sessions[span.session].spent_ms[span.spent] += ms;
        review->spent_ms[span.spent] += ms;
        review->session_ms += ms;
        if (span.stage >= 1 && (size_t)span.stage <= recipe->stage_count) {
            stages[span.stage - 1].spent_ms[span.spent] += ms;
        }
        if (span.spent == CB_SPENT_HANDS_ON && span.figure >= 1 && span.figure <= CB_FIGURES_MAX) {
            review->figure_ms[span.figure] += ms;
        }
        spans[i] = span;
    }
    struct cb_span *questions = cb_arena_alloc(arena, walk->questions.count + 1, sizeof *questions);
    for (size_t i = 0; i < walk->questions.count; i++) {
        questions[i] = walk->questions.items[i];
        const int session = place[questions[i].session];
        questions[i].session = session < 0 ? 0 : session;
    }
    cb_review_list_dryings(walk->bench, walk->back.learn, unit, end_ms, review, arena);
    cb_review_time_rings(walk->bench, walk->back.learn, unit, stages, recipe->stage_count);
    for (size_t i = 0; i < walk->spans.count; i++) {
        sessions[spans[i].session].drying_ms +=
            cb_review_drying_ms(review, spans[i].from_ms, spans[i].to_ms);
    }
    review->sessions = sessions;
    review->stages = stages;
    review->spans = spans;
    review->span_count = walk->spans.count;
    review->questions = questions;
    review->question_count = walk->questions.count;
}

/* What falls due while nobody sits at the bench is not late when the bench is opened again. */
static bool in_session(const struct cb_review *review, int64_t at_ms)
{
    for (size_t i = 0; i < review->session_count; i++) {
        if (at_ms >= review->sessions[i].from_ms && at_ms <= review->sessions[i].to_ms) {
            return true;
        }
    }
    return false;
}

/* The answers are the first ones, as everywhere. */
static void count_pings(const struct cb_bench *bench, const struct cb_unit *unit,
                        struct cb_review *review, struct cb_arena *arena)
{
    size_t answers;
    const struct cb_ping_answer *first = cb_calibration_answers(bench, arena, &answers);
    for (size_t i = 0; i < answers; i++) {
        if (first[i].unit && strcmp(first[i].unit, unit->id) == 0) {
            review->ping_answered++;
            review->ping_dry += first[i].dry;
            review->ping_wet += !first[i].dry;
        }
    }
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        if (film->pinged_ms == CB_TIME_NONE) {
            continue;
        }
        review->ping_count++;
        review->ping_late += film->pinged_ms - film->pinged_due_ms > LATE_MS &&
                                     in_session(review, film->pinged_due_ms)
                                 ? 1
                                 : 0;
    }
}

static void list_paints(const struct cb_unit *unit, struct cb_review *review,
                        struct cb_arena *arena)
{
    struct cb_review_paint *paints = cb_arena_alloc(arena, CB_RECIPE_MAX, sizeof *paints);
    for (size_t i = 0; i < unit->film_count && review->paint_count < CB_RECIPE_MAX; i++) {
        const struct cb_film *film = &unit->films[i];
        bool new = film->pot != NULL && !film->before && film->drying->standard_min > 0 &&
                   film->drying->from != CB_TIME_WAIT;
        for (size_t j = 0; new &&j < review->paint_count; j++) {
            new = strcmp(paints[j].pot, film->pot) != 0;
        }
        if (new) {
            paints[review->paint_count++] = (struct cb_review_paint){
                cb_arena_text(arena, film->pot), cb_arena_text(arena, film->paint), film->technique,
                film->drying->standard_min, film->drying->pot_sd};
        }
    }
    review->paints = paints;
}

void cb_review_question(int64_t from_ms, char out[CB_REVIEW_QUESTION_SIZE])
{
    memcpy(out, "away ", sizeof "away ");
    cb_time_format(from_ms, out + 5);
}

struct cb_review_work {
    const struct cb_bench *bench;
    const struct cb_unit *unit;
    int64_t until_ms;
    struct cb_arena *arena;
    struct cb_review *review;
    struct cb_row *rows; /* what the unit's own films teach */
    size_t row_count, learned;
    struct cb_learn *learn;
    struct cb_review_walk walk;
    bool done;
};

struct cb_review_work *cb_review_begin(const struct cb_bench *bench, size_t number,
                                       int64_t until_ms, struct cb_arena *arena)
{
    struct cb_review_work *work = cb_mem_new(1, sizeof *work);
    const struct cb_unit *unit = cb_bench_unit(bench, number);
    size_t count;
    const struct cb_row *rows = cb_bench_rows(bench, &count);
    work->bench = bench;
    work->unit = unit;
    work->until_ms = until_ms;
    work->arena = arena;
    work->review = cb_arena_alloc(arena, 1, sizeof *work->review);
    *work->review = (struct cb_review){.unit = unit->id,
                                       .name = unit->name,
                                       .figures = unit->figures,
                                       .finished = unit->finished && !unit->left,
                                       .begun_ms = unit->begun_ms,
                                       .recipe = unit->recipe};
    work->rows = cb_mem_new(count + 1, sizeof *work->rows);
    for (size_t i = 0; i < count; i++) {
        if (rows[i].unit != NULL && strcmp(rows[i].unit, unit->id) == 0) {
            work->rows[work->row_count++] = rows[i];
        }
    }
    work->learn = cb_learn_new(NULL);
    return work;
}

static void finish(struct cb_review_work *work)
{
    const struct cb_review_walk *walk = &work->walk;
    int64_t end_ms = 0;
    if (walk->event_count > 0) {
        const size_t last = walk->event_count - 1;
        work->review->shift_ms = walk->events[last]->at_ms - cb_bench_event_ms(work->bench, last);
        end_ms = walk->at_ms[last];
    }
    if (work->until_ms != CB_TIME_NONE && work->until_ms > end_ms) {
        end_ms = work->until_ms;
    }
    sum_up(walk, work->unit, end_ms, work->review, work->arena);
    count_pings(work->bench, work->unit, work->review, work->arena);
    list_paints(work->unit, work->review, work->arena);
    work->done = true;
}

bool cb_review_step(struct cb_review_work *work)
{
    if (work->learned < work->row_count) {
        const size_t left = work->row_count - work->learned;
        work->learned += left < STEP_ROWS ? left : STEP_ROWS;
        cb_learn_sync(work->learn, work->rows, work->learned);
    } else if (work->walk.replay == NULL) {
        cb_review_walk_begin(&work->walk, work->bench, work->unit, work->learn, work->until_ms);
    } else if (!work->done && !cb_review_walk_on(&work->walk, STEP_EVENTS)) {
        finish(work);
    }
    return !work->done;
}

const struct cb_review *cb_review_end(struct cb_review_work *work)
{
    const struct cb_review *review = work->done ? work->review : NULL;
    cb_review_walk_fini(&work->walk);
    cb_learn_free(work->learn);
    free(work->rows);
    free(work);
    return review;
}

const struct cb_review *cb_review_unit(const struct cb_bench *bench, size_t number,
                                       int64_t until_ms, struct cb_arena *arena)
{
    struct cb_review_work *work = cb_review_begin(bench, number, until_ms, arena);
    while (cb_review_step(work)) {
    }
    return cb_review_end(work);
}
