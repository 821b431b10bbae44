/* SPDX-License-Identifier: MIT */
/* What a try comes to: the log's order carried out anew, or a plan in batches. */
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "core/plan/suggest_internal.h"

/* Some hundredths of a second: tasks that the simulations of one try may take, and the fewest and
 * most of these (own judgement). */
#define SIMULATED_TASKS 40000
#define SIMULATIONS_MIN 4
#define SIMULATIONS_MAX 400

size_t cb_suggest_simulations(const struct cb_suggest_log *log)
{
    const size_t simulations = SIMULATED_TASKS / (log->mark_count + 1);
    return simulations > SIMULATIONS_MAX   ? SIMULATIONS_MAX
           : simulations < SIMULATIONS_MIN ? SIMULATIONS_MIN
                                           : simulations;
}

struct replay {
    const struct cb_suggest_log *log;
    const struct cb_plan_model *m;
    struct cb_suggest_board board;
    bool *done;          /* by mark */
    size_t first;        /* all marks before it are done */
    size_t *alike;       /* by mark: the next one of its paint; mark_count: none */
    size_t *first_alike; /* by paint */
};

static const struct cb_plan_stage *stage_of(const struct replay *r, size_t mark)
{
    return &r->m->stage[r->log->marks[mark].stage];
}

static void begin(struct replay *r)
{
    const size_t marks = r->log->mark_count;
    cb_suggest_board_init(&r->board, r->m);
    r->done = cb_mem_new(marks + 1, sizeof *r->done);
    r->alike = cb_mem_new(marks + 1, sizeof *r->alike);
    r->first_alike = cb_mem_new(r->m->paints + 1, sizeof *r->first_alike);
    for (size_t paint = 0; paint < r->m->paints; paint++) {
        r->first_alike[paint] = marks;
    }
    for (size_t i = marks; i-- > 0;) {
        const int paint = stage_of(r, i)->paint;
        if (paint >= 0) {
            r->alike[i] = r->first_alike[paint];
            r->first_alike[paint] = i;
        }
    }
}

static void end(struct replay *r)
{
    cb_suggest_board_fini(&r->board);
    free(r->done);
    free(r->alike);
    free(r->first_alike);
}

/* Could it go on at once? */
static bool is_ready(const struct replay *r, const struct cb_suggest_mark *mark, double now_min)
{
    return cb_suggest_board_is_next(&r->board, r->log, mark) &&
           cb_suggest_board_ready(&r->board, r->log, mark) <= now_min + CB_PLAN_EPSILON;
}

/* As it was painted; who stays takes the next that the paint in hand can be put on at once. */
static const struct cb_suggest_mark *next_mark(struct replay *r, const struct cb_plan_hand *hand,
                                               bool stay)
{
    const struct cb_suggest_mark *marks = r->log->marks;
    const size_t count = r->log->mark_count;
    while (r->first + 1 < count && r->done[r->first]) {
        r->first++;
    }
    size_t found = r->first;
    if (stay && hand->brush >= 0 && cb_plan_hand_changes(hand, stage_of(r, found))) {
        size_t *first = &r->first_alike[hand->brush];
        while (*first < count && r->done[*first]) {
            *first = r->alike[*first];
        }
        size_t at = *first;
        while (at < count && (r->done[at] || !is_ready(r, &marks[at], hand->now_min))) {
            at = r->alike[at];
        }
        found = at < count ? at : found;
    }
    r->done[found] = true;
    return &marks[found];
}

/* From when on the painter could have begun: an evening has its beginning. */
static double free_from(const struct cb_plan_model *m, const struct cb_plan_hand *before,
                        const struct cb_plan_hand *hand)
{
    return hand->evening == before->evening
               ? before->now_min
               : fmax(before->now_min, hand->evening_end_min - m->evening_min);
}

struct cb_suggest_lost cb_suggest_replay(const struct cb_suggest_log *log,
                                         const struct cb_suggest_try *try, bool breaks, int fanned)
{
    struct cb_plan_model m = log->model;
    struct replay r = {.log = log, .m = &m};
    struct cb_suggest_lost lost = {0};
    m.evening_min = breaks ? 0 : m.evening_min;
    begin(&r);
    struct cb_plan_hand hand = cb_plan_hand_begin(&m);
    for (size_t i = 0; i < log->mark_count; i++) {
        if (breaks) {
            hand.now_min += log->marks[i].break_min;
            hand.brush = log->marks[i].clean ? CB_PLAN_NO_PAINT : hand.brush;
        }
        const struct cb_suggest_mark *mark = next_mark(&r, &hand, try->stay);
        const struct cb_plan_stage *stage = &m.stage[mark->stage];
        const bool fan = fanned < 0 ? try->fan : fanned == mark->stage;
        const struct cb_plan_hand before = hand;
        const double start_min =
            cb_plan_hand_start(&m, &hand, stage, cb_suggest_board_ready(&r.board, log, mark));
        const bool change = cb_plan_hand_work(&m, &hand, stage, start_min);
        const double change_min = change ? stage->change_min : 0;
        lost.paint_changes += change ? 1 : 0;
        lost.change_min += change_min;
        lost.waiting_min += start_min - change_min - free_from(&m, &before, &hand);
        const double dry_min = fan ? log->fan_dry_min[mark->stage] : stage->dry_min;
        cb_suggest_board_put(&r.board, log, mark, cb_plan_hand_dry(&m, &hand, dry_min));
    }
    end(&r);
    return lost;
}

struct cb_plan cb_suggest_plan(const struct cb_suggest_log *log, const struct cb_suggest_try *try,
                               struct cb_arena *arena)
{
    struct cb_plan_problem problem = log->problem;
    if (try->fan) {
        struct cb_plan_stage *stages =
            cb_arena_alloc(arena, problem.stage_count + 1, sizeof *stages);
        for (size_t s = 0; s < problem.stage_count; s++) {
            stages[s] = problem.stages[s];
            stages[s].dry_min = log->fan_dry_min[s];
        }
        problem.stages = stages;
    }
    return cb_plan_in_batches(&problem, try->batch, try->simulations, arena);
}

static struct cb_suggest_lost lost_of(const struct cb_suggest_log *log,
                                      const struct cb_suggest_try *try)
{
    if (try->batch == 0) {
        return cb_suggest_replay(log, try, true, -1);
    }
    struct cb_arena arena = {0};
    const struct cb_plan plan = cb_suggest_plan(log, try, &arena);
    cb_arena_fini(&arena);
    return (struct cb_suggest_lost){plan.idle_min, plan.change_min, plan.paint_changes};
}

static void less(struct cb_suggest_lost *least, struct cb_suggest_lost lost)
{
    *least = cb_suggest_sum(&lost) < cb_suggest_sum(least) ? lost : *least;
}

/* What it is compared with: what was really lost, and no more than what the simulation loses by
 * the log's own order; and, where the choice is of another kind, as that kind has it. */
static struct cb_suggest_lost reference(const struct cb_suggest_log *log,
                                        const struct cb_suggest_try *try)
{
    const struct cb_suggest_try own = {0};
    struct cb_suggest_lost least = cb_suggest_replay(log, &own, true, -1);
    less(&least, log->spent);
    if (try->batch > 0 && log->sessions > 1) {
        less(&least, cb_suggest_replay(log, &own, false, -1));
    }
    if (try->batch > 0 && try->simulations == 1) {
        const struct cb_suggest_try strict = {.batch = log->batch, .simulations = 1};
        less(&least, lost_of(log, &strict));
    }
    return least;
}

double cb_suggest_saved(const struct cb_suggest_log *log, const struct cb_suggest_try *try,
                        struct cb_suggest_lost *saved)
{
    const struct cb_suggest_lost from = reference(log, try), to = lost_of(log, try);
    const double waited_min = fmin(from.waiting_min, log->spent.waiting_min);
    const int fewer = from.paint_changes - to.paint_changes;
    /* As many changes of paint take as long, whatever this or that one took. */
    *saved = (struct cb_suggest_lost){waited_min - to.waiting_min,
                                      fewer != 0 ? from.change_min - to.change_min : 0, fewer};
    return cb_suggest_sum(saved);
}
