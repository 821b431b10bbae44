/* SPDX-License-Identifier: MIT */
#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "core/plan/plan_internal.h"

void cb_plan_sim_init(struct cb_plan_sim *sim, const struct cb_plan_model *model)
{
    const size_t slots = model->stages * model->figures + 1;
    const size_t tasks = model->coats * model->figures + 1;
    *sim = (struct cb_plan_sim){0};
    sim->on = cb_mem_new(slots, sizeof *sim->on);
    sim->lacking = cb_mem_new(slots, sizeof *sim->lacking);
    sim->ready_min = cb_mem_new(slots, sizeof *sim->ready_min);
    sim->queue = cb_mem_new(tasks, sizeof *sim->queue);
    sim->from = cb_mem_new(model->coats + 1, sizeof *sim->from);
    sim->to = cb_mem_new(model->coats + 1, sizeof *sim->to);
    sim->behind = cb_mem_new(model->coats + 1, sizeof *sim->behind);
    sim->open = cb_mem_new(model->coats + 1, sizeof *sim->open);
    sim->place = cb_mem_new(model->coats + 1, sizeof *sim->place);
    sim->gos = cb_mem_new(slots, sizeof *sim->gos);
    sim->free = cb_mem_new((size_t)model->batches + 1, sizeof *sim->free);
    sim->queued = cb_mem_new(model->coats * (size_t)model->batches + 1, sizeof *sim->queued);
    sim->steps = cb_mem_new(tasks, sizeof *sim->steps);
    sim->members = cb_mem_new(tasks, sizeof *sim->members);
}

void cb_plan_sim_fini(struct cb_plan_sim *sim)
{
    free(sim->on);
    free(sim->lacking);
    free(sim->ready_min);
    free(sim->queue);
    free(sim->from);
    free(sim->to);
    free(sim->behind);
    free(sim->open);
    free(sim->place);
    free(sim->gos);
    free(sim->free);
    free(sim->queued);
    free(sim->steps);
    free(sim->members);
    *sim = (struct cb_plan_sim){0};
}

static bool is_after(const double *ready_min, int figure, int other)
{
    if (ready_min[figure] > ready_min[other] || ready_min[figure] < ready_min[other]) {
        return ready_min[figure] > ready_min[other];
    }
    return figure > other;
}

/* The next coat of a slot of which nothing lacks any more. */
static void enqueue(struct cb_plan_sim *sim, const struct cb_plan_model *m, int stage, int figure)
{
    const size_t slot = (size_t)stage * m->figures + (size_t)figure;
    const int coat = m->first_coat[stage] + sim->on[slot];
    const double *ready_min = sim->ready_min + (size_t)stage * m->figures;
    int *queue = sim->queue + (size_t)coat * m->figures;
    int at = sim->to[coat]++;
    for (; at > sim->from[coat] && is_after(ready_min, queue[at - 1], figure); at--) {
        queue[at] = queue[at - 1];
    }
    queue[at] = figure;
    if (m->batch > 0) {
        sim->queued[coat * m->batches + figure / m->batch]++;
    }
    if (sim->place[coat] < 0) {
        sim->place[coat] = sim->open_count;
        sim->open[sim->open_count++] = coat;
    }
}

/* Further back in its queue, if it stands there. */
static void postpone(struct cb_plan_sim *sim, const struct cb_plan_model *m, int stage, int figure,
                     double ready_min)
{
    double *own_min = sim->ready_min + (size_t)stage * m->figures;
    const size_t slot = (size_t)stage * m->figures + (size_t)figure;
    if (ready_min <= own_min[figure]) {
        return;
    }
    own_min[figure] = ready_min;
    if (sim->on[slot] >= m->wanted[slot] || sim->lacking[slot] > 0) {
        return;
    }
    const int coat = m->first_coat[stage] + sim->on[slot];
    int *queue = sim->queue + (size_t)coat * m->figures;
    int at = sim->from[coat];
    while (at < sim->to[coat] && queue[at] != figure) {
        at++;
    }
    for (; at + 1 < sim->to[coat] && is_after(own_min, figure, queue[at + 1]); at++) {
        queue[at] = queue[at + 1];
        queue[at + 1] = figure;
    }
}

static int batch_of(const struct cb_plan_model *m, size_t slot)
{
    return (int)(slot % m->figures) / m->batch;
}

static bool is_go(const struct cb_plan_model *m, size_t slot)
{
    return m->stage[slot / m->figures].together > 0;
}

static void begin_batches(struct cb_plan_sim *sim, const struct cb_plan_model *m)
{
    memcpy(sim->gos, m->gos, m->stages * m->figures * sizeof *sim->gos);
    memset(sim->free, 0, (size_t)m->batches * sizeof *sim->free);
    for (size_t slot = 0; slot < m->stages * m->figures; slot++) {
        if (!is_go(m, slot) && sim->gos[slot] == 0) {
            sim->free[batch_of(m, slot)] += m->wanted[slot] - m->on[slot];
        }
    }
}

/* A coat of the slot is on: if it was a go's last, what lies above may be free of gos now. */
static void count_batches(struct cb_plan_sim *sim, const struct cb_plan_model *m, size_t slot)
{
    const size_t stage = slot / m->figures;
    if (!is_go(m, slot)) {
        sim->free[batch_of(m, slot)] -= sim->gos[slot] == 0 ? 1 : 0;
        return;
    }
    for (size_t s = 0; sim->on[slot] == m->wanted[slot] && s < m->stages; s++) {
        const size_t other = s * m->figures + slot % m->figures;
        if (m->below[stage * m->stages + s] && --sim->gos[other] == 0 && !is_go(m, other)) {
            sim->free[batch_of(m, other)] += m->wanted[other] - sim->on[other];
        }
    }
}

/* The batch in hand: the first that anything can be done to before a go; -1: whichever. */
static int batch_in_hand(const struct cb_plan_sim *sim, const struct cb_plan_model *m)
{
    for (int b = 0; b < m->batches; b++) {
        if (sim->free[b] > 0) {
            return b;
        }
    }
    return -1;
}

/* Where in the coat's queue the first figure of that batch stands; -1: there is none. */
static int place_of_batch(const struct cb_plan_sim *sim, const struct cb_plan_model *m, int coat,
                          int batch)
{
    const int *queue = sim->queue + (size_t)coat * m->figures;
    if (sim->queued[coat * m->batches + batch] == 0) {
        return -1;
    }
    for (int at = sim->from[coat]; at < sim->to[coat]; at++) {
        if (queue[at] / m->batch == batch) {
            return at;
        }
    }
    return -1;
}

static void begin(struct cb_plan_sim *sim, const struct cb_plan_model *m)
{
    const size_t slots = m->stages * m->figures;
    memcpy(sim->on, m->on, slots * sizeof *sim->on);
    memcpy(sim->lacking, m->lacking, slots * sizeof *sim->lacking);
    memcpy(sim->ready_min, m->ready_min, slots * sizeof *sim->ready_min);
    memset(sim->from, 0, m->coats * sizeof *sim->from);
    memset(sim->to, 0, m->coats * sizeof *sim->to);
    memset(sim->behind, 0, m->coats * sizeof *sim->behind);
    memset(sim->queued, 0, m->coats * (size_t)m->batches * sizeof *sim->queued);
    memset(sim->place, -1, m->coats * sizeof *sim->place);
    sim->open_count = sim->changes = sim->turns_away = sim->turns_back = 0;
    sim->leaves = sim->skips = 0;
    sim->linger_min = sim->slow_min = 0;
    sim->step_count = sim->member_count = 0;
    for (size_t slot = 0; slot < slots; slot++) {
        const int stage = (int)(slot / m->figures);
        if (m->on[slot] < m->wanted[slot]) {
            sim->behind[m->first_coat[stage] + m->on[slot]]++;
            if (m->lacking[slot] == 0) {
                enqueue(sim, m, stage, (int)(slot % m->figures));
            }
        }
    }
    if (m->batch > 0) {
        begin_batches(sim, m);
    }
}

/* How many figures of its queue a coat takes in one go; 0: it waits for more. */
static int go_size(const struct cb_plan_sim *sim, const struct cb_plan_model *m, int coat)
{
    const int stage = m->coat[coat].stage;
    const int fit = m->stage[stage].together;
    const int queued = sim->to[coat] - sim->from[coat];
    if (fit == 0) {
        return 1;
    }
    int all = sim->behind[coat];
    for (int before = m->first_coat[stage]; fit == CB_PLAN_ALL && before < coat; before++) {
        all += sim->behind[before];
    }
    all = all < fit ? all : fit;
    return queued < all ? 0 : all;
}

#define LAST_OF_ALL 1e12 /* beyond any priority */

struct choice {
    int coat, first, size; /* first in the coat's queue; coat -1: nothing can go on any more */
    double start_min;
    int first_ready;  /* coat that can go on at once; INT_MAX: none */
    bool brush_ready; /* one of the paint on the brush can */
};

static struct choice choose(const struct cb_plan_sim *sim, const struct cb_plan_model *m,
                            const struct cb_plan_policy *policy, const struct cb_plan_hand *hand)
{
    const int first_paint = sim->step_count == 0 ? m->first_paint : CB_PLAN_NO_PAINT;
    const int first_stage = sim->step_count == 0 ? m->first_stage : 0;
    const int batch = m->batch > 0 ? batch_in_hand(sim, m) : -1;
    const double *priority = policy->priority + (sim->step_count < policy->turn ? 0 : m->coats);
    struct choice best = {.coat = -1};
    int first_ready = INT_MAX;
    bool brush_ready = false;
    double best_score = 0;
    for (int i = 0; i < sim->open_count; i++) {
        const int coat = sim->open[i];
        const size_t at = (size_t)m->coat[coat].stage;
        const struct cb_plan_stage *stage = &m->stage[at];
        const int size = go_size(sim, m, coat);
        const int first = batch >= 0 && stage->together == 0 ? place_of_batch(sim, m, coat, batch)
                                                             : sim->from[coat];
        if (size == 0 || first < 0) {
            continue;
        }
        const int last = sim->queue[(size_t)coat * m->figures + (size_t)(first + size - 1)];
        const double ready_min = sim->ready_min[at * m->figures + (size_t)last];
        const double start_min = cb_plan_hand_start(m, hand, stage, ready_min);
        if (isinf(start_min)) {
            continue;
        }
        const bool changes = cb_plan_hand_changes(hand, stage);
        if (start_min - (changes ? stage->change_min : 0) <= hand->now_min + CB_PLAN_EPSILON) {
            first_ready = coat < first_ready ? coat : first_ready;
            brush_ready = brush_ready || (!changes && stage->paint >= 0);
        }
        double score = priority[coat] - policy->wait * (start_min - hand->now_min) +
                       (changes ? 0 : policy->stay);
        score -= first_paint >= 0 && stage->paint != first_paint ? LAST_OF_ALL : 0;
        score -= first_stage > 0 && (int)at + 1 != first_stage ? LAST_OF_ALL : 0;
        if (best.coat < 0 || score > best_score || (score == best_score && coat < best.coat)) {
            best = (struct choice){coat, first, size, start_min, 0, false};
            best_score = score;
        }
    }
    best.first_ready = first_ready;
    best.brush_ready = brush_ready;
    return best;
}

static void raise_to(double *value, double at_least)
{
    *value = at_least > *value ? at_least : *value;
}

static void put_on(struct cb_plan_sim *sim, const struct cb_plan_model *m, int coat, int figure,
                   double dry_min)
{
    const int stage = m->coat[coat].stage;
    const size_t slot = (size_t)stage * m->figures + (size_t)figure;
    sim->behind[coat]--;
    sim->on[slot]++;
    raise_to(&sim->ready_min[slot], dry_min);
    if (m->batch > 0) {
        count_batches(sim, m, slot);
    }
    if (sim->on[slot] < m->wanted[slot]) {
        sim->behind[coat + 1]++;
        enqueue(sim, m, stage, figure);
    }
    for (int i = m->first_follower[stage]; i < m->first_follower[stage + 1]; i++) {
        const size_t next = (size_t)m->followers[i] * m->figures + (size_t)figure;
        raise_to(&sim->ready_min[next], dry_min);
        if (sim->on[slot] == m->wanted[slot] && --sim->lacking[next] == 0 &&
            sim->on[next] < m->wanted[next]) {
            enqueue(sim, m, m->followers[i], figure);
        }
    }
    for (int i = m->first_touching[stage]; i < m->first_touching[stage + 1]; i++) {
        postpone(sim, m, m->touching[i], figure, dry_min);
    }
}

/* Out of the coat's queue, which is closed when it is empty. */
static int take_out(struct cb_plan_sim *sim, const struct cb_plan_model *m, int coat, int at)
{
    int *queue = sim->queue + (size_t)coat * m->figures;
    const int figure = queue[at];
    if (m->batch > 0) {
        sim->queued[coat * m->batches + figure / m->batch]--;
    }
    for (; at > sim->from[coat]; at--) {
        queue[at] = queue[at - 1];
    }
    if (++sim->from[coat] == sim->to[coat]) {
        const int moved = sim->open[--sim->open_count];
        sim->open[sim->place[coat]] = moved;
        sim->place[moved] = sim->place[coat];
        sim->place[coat] = -1;
    }
    return figure;
}

/* What makes one order plainer than another that finishes as early. */
static void count_turns(struct cb_plan_sim *sim, const struct cb_plan_hand *hand,
                        const struct cb_plan_stage *stage, const struct choice *next)
{
    const int before = sim->step_count > 0 ? sim->steps[sim->step_count - 1].coat : -1;
    const bool changes = cb_plan_hand_changes(hand, stage);
    const double free_min = hand->now_min + (changes ? stage->change_min : 0);
    sim->turns_away += before >= 0 && before != next->coat ? 1 : 0;
    sim->turns_back += next->coat < before ? 1 : 0;
    if (changes && next->brush_ready) {
        sim->leaves++;
    } else if (before != next->coat && next->coat > next->first_ready && !next->brush_ready) {
        sim->skips++;
    }
    if (next->first_ready < INT_MAX && next->start_min > free_min) {
        sim->linger_min += next->start_min - free_min;
    }
}

void cb_plan_sim_run(struct cb_plan_sim *sim, const struct cb_plan_model *m,
                     const struct cb_plan_policy *policy)
{
    struct cb_plan_hand hand = cb_plan_hand_begin(m);
    double dry_before = 0, dry_tonight = 0; /* the last film of the evenings before, and of this */
    begin(sim, m);
    while (true) {
        const struct choice next = choose(sim, m, policy, &hand);
        if (next.coat < 0) {
            break;
        }
        const struct cb_plan_stage *stage = &m->stage[m->coat[next.coat].stage];
        const int evening = hand.evening;
        count_turns(sim, &hand, stage, &next);
        sim->changes += cb_plan_hand_work(m, &hand, stage, next.start_min) ? 1 : 0;
        if (hand.evening != evening) {
            raise_to(&dry_before, dry_tonight - m->night_min);
            dry_tonight = 0;
        }
        raise_to(&sim->slow_min, next.start_min + m->coat[next.coat].tail_min + stage->dry_min);
        raise_to(&dry_tonight, hand.now_min + stage->dry_min);
        const double dry_min = cb_plan_hand_dry(m, &hand, stage->dry_min);
        sim->steps[sim->step_count++] = (struct cb_plan_step){next.coat, next.size, next.start_min};
        for (int k = 0; k < next.size; k++) {
            const int figure = take_out(sim, m, next.coat, next.first + k);
            sim->members[sim->member_count++] = figure;
            put_on(sim, m, next.coat, figure, dry_min);
        }
    }
    sim->finish_min = dry_tonight > dry_before ? dry_tonight : dry_before;
    sim->slow_min = sim->slow_min > sim->finish_min ? sim->slow_min - sim->finish_min : 0;
}
