/* SPDX-License-Identifier: MIT */
#include "core/plan/plan_bound.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

/* Those of the loads that anybody wants, the longest tail first, into rank; how many. */
static size_t rank_by_tail(const struct cb_plan_bound *b, const struct cb_plan_load *loads)
{
    size_t count = 0;
    for (size_t i = 0; i < b->count; i++) {
        if (loads[i].work_min < 0) {
            continue;
        }
        size_t at = count++;
        for (; at > 0 && loads[b->rank[at - 1]].tail_min < loads[i].tail_min; at--) {
            b->rank[at] = b->rank[at - 1];
        }
        b->rank[at] = i;
    }
    return count;
}

double cb_plan_bound_one_hand(const struct cb_plan_bound *b, const struct cb_plan_load *loads,
                              int brush)
{
    const size_t count = rank_by_tail(b, loads);
    double bound = 0;
    for (size_t h = 0; h < count; h++) {
        const double head_min = loads[b->rank[h]].head_min;
        double sum = head_min, largest = 0, on_brush = 0;
        memset(b->paint_seen, 0, b->m->paints * sizeof *b->paint_seen);
        for (size_t i = 0; i < count; i++) {
            const struct cb_plan_load *load = &loads[b->rank[i]];
            if (load->head_min < head_min) {
                continue;
            }
            const int paint = cb_plan_bound_stage(b, b->rank[i])->paint;
            sum += load->work_min;
            if (paint >= 0 && !b->paint_seen[paint]) {
                b->paint_seen[paint] = true;
                sum += b->paint_change[paint];
                cb_plan_bound_raise(&largest, b->paint_change[paint]);
                on_brush = paint == brush ? b->paint_change[paint] : on_brush;
            }
            /* The first of these paints may have come on the brush before. */
            double spared = largest;
            if (brush != CB_PLAN_ANY_PAINT && spared > head_min) {
                spared = head_min;
            }
            cb_plan_bound_raise(&bound,
                                sum - (spared > on_brush ? spared : on_brush) + load->tail_min);
        }
    }
    return bound;
}

void cb_plan_bound_marked(const struct cb_plan_bound *b)
{
    const struct cb_plan_model *m = b->m;
    for (size_t i = 0; i < b->count; i++) {
        b->part[i] = b->loads[i];
        b->part[i].work_min = 0;
    }
    for (size_t c = 0; c < m->coats; c++) {
        for (size_t f = 0; f < m->figures; f++) {
            if (cb_plan_bound_wants(m, m->coat[c].stage, m->coat[c].coat, f) &&
                b->mark[cb_plan_bound_slot(m, m->coat[c].stage, f)]) {
                b->part[cb_plan_bound_load(b, c, f)].work_min++;
            }
        }
    }
    for (size_t i = 0; i < b->count; i++) {
        const struct cb_plan_stage *stage = cb_plan_bound_stage(b, i);
        const double figures = b->part[i].work_min;
        const double gos = stage->together > 0 ? ceil(figures / stage->together) : figures;
        b->part[i].work_min = figures > 0 ? gos * stage->work_min : -1;
    }
}

/* As if there were a painter for every figure; a go of all waits for the last of them. */
static void heads(const struct cb_plan_bound *b)
{
    const struct cb_plan_model *m = b->m;
    memcpy(b->slot, m->ready_min, m->stages * m->figures * sizeof *b->slot);
    for (size_t n = 0; n < m->stages; n++) {
        const int s = m->order[n];
        const struct cb_plan_stage *stage = &m->stage[s];
        const bool all = stage->together == CB_PLAN_ALL;
        double *own = b->slot + cb_plan_bound_slot(m, s, 0);
        const double change =
            stage->paint >= 0 && stage->paint != m->brush ? b->paint_change[stage->paint] : 0;
        double most = all ? cb_plan_bound_before_go(b, s) : 0;
        for (int c = m->first_coat[s]; c < m->first_coat[s + 1]; c++) {
            const int coat = c - m->first_coat[s];
            for (size_t f = 0; f < m->figures; f++) {
                if (cb_plan_bound_wants(m, s, coat, f)) {
                    cb_plan_bound_raise(&own[f], change);
                    cb_plan_bound_raise(&most, own[f]);
                }
            }
            for (size_t f = 0; f < m->figures; f++) {
                if (cb_plan_bound_wants(m, s, coat, f)) {
                    own[f] = all ? most : own[f];
                    cb_plan_bound_lower(&b->loads[cb_plan_bound_load(b, (size_t)c, f)].head_min,
                                        own[f]);
                    own[f] += stage->work_min + stage->dry_min;
                }
            }
        }
        for (int i = m->first_follower[s]; i < m->first_follower[s + 1]; i++) {
            for (size_t f = 0; f < m->figures; f++) {
                if (cb_plan_bound_wants_any(m, cb_plan_bound_slot(m, s, f))) {
                    cb_plan_bound_raise(&b->slot[cb_plan_bound_slot(m, m->followers[i], f)],
                                        own[f]);
                }
            }
        }
    }
}

/* What follows the end of each coat: the chain of the figure that has least, after a go of all that
 * of the figure that has most. */
static void tails(const struct cb_plan_bound *b)
{
    const struct cb_plan_model *m = b->m;
    memset(b->slot, 0, m->stages * m->figures * sizeof *b->slot); /* from its next coat's start */
    for (size_t n = m->stages; n-- > 0;) {
        const int s = m->order[n];
        const struct cb_plan_stage *stage = &m->stage[s];
        const bool all = stage->together == CB_PLAN_ALL;
        double *own = b->slot + cb_plan_bound_slot(m, s, 0);
        for (size_t f = 0; f < m->figures; f++) {
            for (int i = m->first_follower[s];
                 cb_plan_bound_wants_any(m, cb_plan_bound_slot(m, s, f)) &&
                 i < m->first_follower[s + 1];
                 i++) {
                cb_plan_bound_raise(&own[f], b->slot[cb_plan_bound_slot(m, m->followers[i], f)]);
            }
        }
        double most = all ? cb_plan_bound_after_go(b, s) - stage->dry_min : 0;
        for (int c = m->first_coat[s + 1]; c-- > m->first_coat[s];) {
            const int coat = c - m->first_coat[s];
            for (size_t f = 0; f < m->figures; f++) {
                if (cb_plan_bound_wants(m, s, coat, f)) {
                    cb_plan_bound_raise(&most, own[f]);
                }
            }
            for (size_t f = 0; f < m->figures; f++) {
                if (cb_plan_bound_wants(m, s, coat, f)) {
                    own[f] = stage->dry_min + (all ? most : own[f]);
                    cb_plan_bound_lower(&b->loads[cb_plan_bound_load(b, (size_t)c, f)].tail_min,
                                        own[f]);
                    own[f] += stage->work_min;
                }
            }
        }
    }
}

/* The night dries what it will: only hands-on, paints and the last film are sure. */
static void evenings(const struct cb_plan_bound *b)
{
    double least = INFINITY;
    for (size_t i = 0; i < b->count; i++) {
        if (b->loads[i].work_min >= 0) {
            cb_plan_bound_lower(&least, cb_plan_bound_stage(b, i)->dry_min);
        }
    }
    for (size_t i = 0; i < b->count; i++) {
        b->loads[i].head_min = 0;
        b->loads[i].tail_min = least;
    }
}

static bool are_alike(const struct cb_plan_model *m, size_t a, size_t b)
{
    for (size_t s = 0; s < m->stages; s++) {
        const size_t one = cb_plan_bound_slot(m, (int)s, a);
        const size_t other = cb_plan_bound_slot(m, (int)s, b);
        if (m->wanted[one] != m->wanted[other] || m->on[one] != m->on[other] ||
            m->ready_min[one] < m->ready_min[other] || m->ready_min[one] > m->ready_min[other]) {
            return false;
        }
    }
    return true;
}

static void classes(struct cb_plan_bound *b)
{
    b->class_of = cb_mem_new(b->m->figures + 1, sizeof *b->class_of);
    for (size_t f = 0; f < b->m->figures; f++) {
        size_t first = 0;
        while (!are_alike(b->m, first, f)) {
            first++;
        }
        b->class_of[f] = first < f ? b->class_of[first] : (int)b->classes++;
    }
    b->classes = b->classes > 0 ? b->classes : 1;
    b->count = b->m->coats * b->classes;
}

static void paints(const struct cb_plan_bound *b)
{
    const struct cb_plan_model *m = b->m;
    for (size_t p = 0; p < m->paints; p++) {
        b->paint_change[p] = INFINITY;
    }
    for (size_t s = 0; s < m->stages; s++) {
        if (m->stage[s].paint >= 0) {
            cb_plan_bound_lower(&b->paint_change[m->stage[s].paint], m->stage[s].change_min);
        }
    }
}

static bool stands_still(const struct cb_plan_bound *b)
{
    for (size_t i = 0; i < b->count; i++) {
        if (b->loads[i].work_min >= 0 && isinf(cb_plan_bound_stage(b, i)->dry_min)) {
            return true;
        }
    }
    for (size_t slot = 0; slot < b->m->stages * b->m->figures; slot++) {
        if (cb_plan_bound_wants_any(b->m, slot) && isinf(b->m->ready_min[slot])) {
            return true;
        }
    }
    return false;
}

static double bound_of(const struct cb_plan_bound *b)
{
    paints(b);
    memset(b->mark, 1, b->m->stages * b->m->figures * sizeof *b->mark);
    cb_plan_bound_marked(b);
    for (size_t i = 0; i < b->count; i++) {
        b->loads[i] = (struct cb_plan_load){INFINITY, INFINITY, b->part[i].work_min};
    }
    if (stands_still(b)) {
        return INFINITY;
    }
    if (b->m->evening_min > 0) {
        evenings(b);
        return cb_plan_bound_one_hand(b, b->loads, b->m->brush);
    }
    heads(b);
    tails(b);
    double bound = cb_plan_bound_one_hand(b, b->loads, b->m->brush);
    cb_plan_bound_raise(&bound, cb_plan_bound_windows(b));
    return bound;
}

double cb_plan_bound_min(const struct cb_plan_problem *problem)
{
    struct cb_plan_model m;
    struct cb_plan_bound b = {.m = &m};
    cb_plan_model_init(&m, problem);
    classes(&b);
    const size_t slots = m.stages * m.figures + 1;
    b.loads = cb_mem_new(b.count + 1, sizeof *b.loads);
    b.part = cb_mem_new(b.count + 1, sizeof *b.part);
    b.slot = cb_mem_new(slots, sizeof *b.slot);
    b.chain = cb_mem_new(slots, sizeof *b.chain);
    b.mark = cb_mem_new(slots, sizeof *b.mark);
    b.clash = cb_mem_new(slots, sizeof *b.clash);
    b.paint_change = cb_mem_new(m.paints + 1, sizeof *b.paint_change);
    b.paint_seen = cb_mem_new(m.paints + 1, sizeof *b.paint_seen);
    b.rank = cb_mem_new(b.count + 1, sizeof *b.rank);
    const double bound = bound_of(&b);
    free(b.class_of);
    free(b.loads);
    free(b.part);
    free(b.slot);
    free(b.chain);
    free(b.mark);
    free(b.clash);
    free(b.paint_change);
    free(b.paint_seen);
    free(b.rank);
    cb_plan_model_fini(&m);
    return bound;
}
