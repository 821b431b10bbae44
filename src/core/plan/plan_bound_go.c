/* SPDX-License-Identifier: MIT */
#include "core/plan/plan_bound.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

/* All remaining coats of a stage on one figure, to the last one dry. */
static double chain_min(const struct cb_plan_model *m, int stage, size_t slot)
{
    return (m->wanted[slot] - m->on[slot]) * (m->stage[stage].work_min + m->stage[stage].dry_min);
}

/* The coats of a stage that are to come to anybody, from the first to before the last. */
struct to_come {
    int from, to;
};

static struct to_come to_come(const struct cb_plan_bound *b, int stage)
{
    const struct cb_plan_model *m = b->m;
    struct to_come coats = {INT_MAX, 0};
    for (size_t f = 0; f < m->figures; f++) {
        const size_t slot = cb_plan_bound_slot(m, stage, f);
        if (cb_plan_bound_wants_any(m, slot)) {
            coats.from = m->on[slot] < coats.from ? m->on[slot] : coats.from;
            coats.to = m->wanted[slot] > coats.to ? m->wanted[slot] : coats.to;
        }
    }
    return coats;
}

/* Does the figure take part in every go of the stage that is to come? */
static bool takes_all(const struct cb_plan_bound *b, int stage, size_t figure)
{
    const struct to_come coats = to_come(b, stage);
    return cb_plan_bound_wants(b->m, stage, coats.from, figure) &&
           cb_plan_bound_wants(b->m, stage, coats.to - 1, figure);
}

/* Marks what must lie below the first go to come, with the chain from its own last coat's dry to
 * the go. */
static void mark_below(const struct cb_plan_bound *b, int go)
{
    const struct cb_plan_model *m = b->m;
    const struct to_come coats = to_come(b, go);
    memset(b->mark, 0, m->stages * m->figures * sizeof *b->mark);
    for (size_t n = m->stages; n-- > 0;) {
        const int s = m->order[n];
        for (size_t f = 0; f < m->figures; f++) {
            const size_t slot = cb_plan_bound_slot(m, s, f);
            b->chain[slot] = 0;
            for (int i = m->first_follower[s];
                 cb_plan_bound_wants_any(m, slot) && i < m->first_follower[s + 1]; i++) {
                const int next = m->followers[i];
                const size_t other = cb_plan_bound_slot(m, next, f);
                if (next == go && cb_plan_bound_wants(m, go, coats.from, f)) {
                    b->mark[slot] = true;
                } else if (b->mark[other]) {
                    b->mark[slot] = true;
                    cb_plan_bound_raise(&b->chain[slot],
                                        b->chain[other] + chain_min(m, next, other));
                }
            }
        }
    }
}

double cb_plan_bound_before_go(const struct cb_plan_bound *b, int go)
{
    const struct cb_plan_model *m = b->m;
    mark_below(b, go);
    cb_plan_bound_marked(b);
    for (size_t i = 0; i < b->count; i++) {
        b->part[i].tail_min = INFINITY;
    }
    for (size_t c = 0; c < m->coats; c++) {
        const int s = m->coat[c].stage;
        const double one_min = m->stage[s].work_min + m->stage[s].dry_min;
        for (size_t f = 0; f < m->figures; f++) {
            const size_t slot = cb_plan_bound_slot(m, s, f);
            if (b->mark[slot] && cb_plan_bound_wants(m, s, m->coat[c].coat, f)) {
                cb_plan_bound_lower(&b->part[cb_plan_bound_load(b, c, f)].tail_min,
                                    b->chain[slot] + m->stage[s].dry_min +
                                        (m->wanted[slot] - m->coat[c].coat - 1) * one_min);
            }
        }
    }
    return cb_plan_bound_one_hand(b, b->part, m->brush);
}

/* Marks what must lie above the last go to come, with the chain from the go's end to its own next
 * coat. */
static void mark_above(const struct cb_plan_bound *b, int go)
{
    const struct cb_plan_model *m = b->m;
    const struct to_come coats = to_come(b, go);
    memset(b->mark, 0, m->stages * m->figures * sizeof *b->mark);
    memset(b->chain, 0, m->stages * m->figures * sizeof *b->chain);
    for (size_t n = 0; n < m->stages; n++) {
        const int s = m->order[n];
        for (size_t f = 0; f < m->figures; f++) {
            const size_t slot = cb_plan_bound_slot(m, s, f);
            if (s == go ? !cb_plan_bound_wants(m, go, coats.to - 1, f)
                        : !cb_plan_bound_wants_any(m, slot) || !b->mark[slot]) {
                continue;
            }
            const double dry_min =
                s == go ? m->stage[s].dry_min : b->chain[slot] + chain_min(m, s, slot);
            for (int i = m->first_follower[s]; i < m->first_follower[s + 1]; i++) {
                const size_t other = cb_plan_bound_slot(m, m->followers[i], f);
                b->mark[other] = true;
                cb_plan_bound_raise(&b->chain[other], dry_min);
            }
        }
    }
}

double cb_plan_bound_after_go(const struct cb_plan_bound *b, int go)
{
    const struct cb_plan_model *m = b->m;
    mark_above(b, go);
    cb_plan_bound_marked(b);
    for (size_t i = 0; i < b->count; i++) {
        b->part[i].head_min = INFINITY;
    }
    for (size_t c = 0; c < m->coats; c++) {
        const int s = m->coat[c].stage;
        const double one_min = m->stage[s].work_min + m->stage[s].dry_min;
        for (size_t f = 0; f < m->figures; f++) {
            const size_t slot = cb_plan_bound_slot(m, s, f);
            if (b->mark[slot] && cb_plan_bound_wants(m, s, m->coat[c].coat, f)) {
                cb_plan_bound_lower(&b->part[cb_plan_bound_load(b, c, f)].head_min,
                                    b->chain[slot] + (m->coat[c].coat - m->on[slot]) * one_min);
            }
        }
    }
    return cb_plan_bound_one_hand(b, b->part,
                                  m->stage[go].paint >= 0 ? m->stage[go].paint : CB_PLAN_ANY_PAINT);
}

/* Adds to clash what can't be put on a figure while any go of the stage is put on and dries: on
 * those that take them all. Keeps of it only what clashed before, unless it is the first. */
static void clash_with(const struct cb_plan_bound *b, int go, bool first)
{
    const struct cb_plan_model *m = b->m;
    bool *own = cb_mem_new(m->stages * m->figures + 1, sizeof *own);
    mark_below(b, go);
    memcpy(own, b->mark, m->stages * m->figures * sizeof *own);
    mark_above(b, go);
    for (size_t slot = 0; slot < m->stages * m->figures; slot++) {
        own[slot] |= b->mark[slot];
    }
    for (int i = m->first_touching[go]; i < m->first_touching[go + 1]; i++) {
        for (size_t f = 0; f < m->figures; f++) {
            own[cb_plan_bound_slot(m, m->touching[i], f)] = true;
        }
    }
    for (size_t f = 0; f < m->figures; f++) {
        const bool in_all = takes_all(b, go, f);
        for (size_t s = 0; s < m->stages; s++) {
            const size_t slot = cb_plan_bound_slot(m, (int)s, f);
            b->clash[slot] = own[slot] && in_all && cb_plan_bound_wants_any(m, slot) &&
                             (first || b->clash[slot]);
        }
    }
    free(own);
}

/* Does a figure take all gos of the stage, so that none of them is put on while another dries? */
static bool is_row(const struct cb_plan_bound *b, int stage)
{
    bool some = false;
    for (size_t f = 0; f < b->m->figures; f++) {
        some = some || takes_all(b, stage, f);
    }
    return some;
}

/* The same, of a figure that takes all gos before it too and on which they clash with these. */
static bool is_same_row(const struct cb_plan_bound *b, int stage)
{
    bool some = false;
    for (size_t f = 0; f < b->m->figures; f++) {
        some = some || (b->clash[cb_plan_bound_slot(b->m, stage, f)] && takes_all(b, stage, f));
    }
    return some;
}

/* Do all of its figures that want it clash? Else some gos of the stage may be elsewhere. */
static bool clashes_everywhere(const struct cb_plan_bound *b, int stage)
{
    for (size_t f = 0; f < b->m->figures; f++) {
        const size_t slot = cb_plan_bound_slot(b->m, stage, f);
        if (cb_plan_bound_wants_any(b->m, slot) && !b->clash[slot]) {
            return false;
        }
    }
    return true;
}

struct span {
    double sum_min, head_min, changes_min, largest_min;
    double go_tail_min, tail_min, dry_min; /* of a window; of the rest: after and when it is dry */
    int windows;
};

static void add(const struct cb_plan_bound *b, struct span *span, size_t load, double min)
{
    const int paint = cb_plan_bound_stage(b, load)->paint;
    span->sum_min += min;
    cb_plan_bound_lower(&span->head_min, b->loads[load].head_min);
    if (paint >= 0 && !b->paint_seen[paint]) {
        b->paint_seen[paint] = true;
        span->changes_min += b->paint_change[paint];
        cb_plan_bound_raise(&span->largest_min, b->paint_change[paint]);
    }
}

/* The gos' windows and what clashes with every one of them come one after the other; before a
 * window the last film is dry. Each window may hide a change of paint, and one may lie before all.
 */
static double one_after_the_other(const struct cb_plan_bound *b, const bool *is_go)
{
    const struct cb_plan_model *m = b->m;
    struct span span = {
        .head_min = INFINITY, .go_tail_min = INFINITY, .tail_min = INFINITY, .dry_min = INFINITY};
    memset(b->paint_seen, 0, m->paints * sizeof *b->paint_seen);
    for (size_t stage = 0; stage < m->stages; stage++) {
        const bool counts = m->stage[stage].together == 0 || clashes_everywhere(b, (int)stage);
        for (size_t slot = stage * m->figures; slot < (stage + 1) * m->figures; slot++) {
            b->mark[slot] = b->clash[slot] && counts;
        }
    }
    cb_plan_bound_marked(b);
    for (size_t i = 0; i < b->count; i++) {
        const struct cb_plan_stage *stage = cb_plan_bound_stage(b, i);
        if (is_go[m->coat[i / b->classes].stage] && b->loads[i].work_min >= 0) {
            span.windows++;
            add(b, &span, i, stage->work_min + stage->dry_min);
            cb_plan_bound_lower(&span.go_tail_min, b->loads[i].tail_min - stage->dry_min);
        } else if (!is_go[m->coat[i / b->classes].stage] && b->part[i].work_min >= 0) {
            add(b, &span, i, b->part[i].work_min);
            cb_plan_bound_lower(&span.tail_min, b->loads[i].tail_min);
            cb_plan_bound_lower(&span.dry_min, stage->dry_min);
        }
    }
    span.go_tail_min += isinf(span.dry_min) ? 0 : span.dry_min;
    const double changes = span.changes_min - (span.windows + 1) * span.largest_min;
    return span.head_min + span.sum_min + fmin(span.go_tail_min, span.tail_min) +
           (changes > 0 ? changes : 0);
}

/* Figures that still want the stage; 0 where they are not all at the same coat of it. */
static int want_alike(const struct cb_plan_bound *b, int stage)
{
    const struct cb_plan_model *m = b->m;
    int count = 0, on = -1;
    for (size_t f = 0; f < m->figures; f++) {
        const size_t slot = cb_plan_bound_slot(m, stage, f);
        if (cb_plan_bound_wants_any(m, slot)) {
            if (on >= 0 && m->on[slot] != on) {
                return 0;
            }
            on = m->on[slot];
            count++;
        }
    }
    return count;
}

/* A coat outside the window of a go that leaves out so many figures: on all that are marked, else
 * on those at least that the go takes. */
static void add_outside(const struct cb_plan_bound *b, struct span *span, size_t coat, int left_out)
{
    const struct cb_plan_model *m = b->m;
    const struct cb_plan_stage *stage = &m->stage[m->coat[coat].stage];
    int sure = 0, clashing = 0;
    size_t load = 0;
    double head_min = INFINITY, tail_min = INFINITY;
    for (size_t f = 0; f < m->figures; f++) {
        const size_t slot = cb_plan_bound_slot(m, m->coat[coat].stage, f);
        if (b->clash[slot] && cb_plan_bound_wants(m, m->coat[coat].stage, m->coat[coat].coat, f)) {
            load = cb_plan_bound_load(b, coat, f);
            cb_plan_bound_lower(&head_min, b->loads[load].head_min);
            cb_plan_bound_lower(&tail_min, b->loads[load].tail_min);
            sure += b->mark[slot] ? 1 : 0;
            clashing += b->mark[slot] ? 0 : 1;
        }
    }
    const int figures = sure + (clashing > left_out ? clashing - left_out : 0);
    if (figures > 0) {
        const double gos = stage->together > 0 ? ceil((double)figures / stage->together) : figures;
        add(b, span, load, gos * stage->work_min);
        cb_plan_bound_lower(&span->head_min, head_min);
        cb_plan_bound_lower(&span->tail_min, tail_min);
    }
}

/* Of gos that don't take all: in the window of the first nothing has what lies above it, in that of
 * the last what lies below it, and its own figures nothing that clashes. */
static double around_one(const struct cb_plan_bound *b, int go, bool first)
{
    const struct cb_plan_model *m = b->m;
    const struct cb_plan_stage *stage = &m->stage[go];
    const int wanting = want_alike(b, go);
    const int fit = stage->together < wanting ? stage->together : wanting;
    if (wanting == 0) {
        return 0;
    }
    size_t any = 0;
    while (!cb_plan_bound_wants_any(m, cb_plan_bound_slot(m, go, any))) {
        any++;
    }
    const size_t slot = cb_plan_bound_slot(m, go, any);
    const size_t load = cb_plan_bound_load(b, (size_t)m->first_coat[go] + (size_t)m->on[slot], any);
    if (!first && m->wanted[slot] - m->on[slot] > 1) {
        return 0;
    }
    struct span span = {.head_min = INFINITY, .tail_min = INFINITY};
    memset(b->paint_seen, 0, m->paints * sizeof *b->paint_seen);
    clash_with(b, go, true);                            /* what lies above is marked */
    const int before = first ? 0 : (wanting - 1) / fit; /* gos */
    const int left_out = wanting - (first ? fit : wanting - before * fit);
    if (!first) {
        mark_below(b, go);
    }
    add(b, &span, load, (before + 1) * stage->work_min + stage->dry_min);
    for (size_t c = 0; c < m->coats; c++) {
        add_outside(b, &span, c, left_out);
    }
    const double changes = span.changes_min - 2 * span.largest_min;
    return span.head_min + span.sum_min +
           fmin(b->loads[load].tail_min - stage->dry_min, span.tail_min) +
           (changes > 0 ? changes : 0);
}

double cb_plan_bound_windows(const struct cb_plan_bound *b)
{
    const struct cb_plan_model *m = b->m;
    bool *is_go = cb_mem_new(m->stages + 1, sizeof *is_go);
    double bound = 0;
    for (size_t first = 0; first < m->stages; first++) {
        if (m->stage[first].together > 0 && m->stage[first].together != CB_PLAN_ALL) {
            cb_plan_bound_raise(&bound, around_one(b, (int)first, true));
            cb_plan_bound_raise(&bound, around_one(b, (int)first, false));
        }
        if (m->stage[first].together != CB_PLAN_ALL || !is_row(b, (int)first)) {
            continue;
        }
        memset(is_go, 0, m->stages * sizeof *is_go);
        is_go[first] = true;
        clash_with(b, (int)first, true);
        cb_plan_bound_raise(&bound, one_after_the_other(b, is_go));
        /* Every further go that clashes with those taken so far. */
        for (size_t next = first + 1; next < m->stages; next++) {
            if (m->stage[next].together == CB_PLAN_ALL && is_same_row(b, (int)next)) {
                is_go[next] = true;
                clash_with(b, (int)next, false);
                cb_plan_bound_raise(&bound, one_after_the_other(b, is_go));
            }
        }
    }
    free(is_go);
    return bound;
}
