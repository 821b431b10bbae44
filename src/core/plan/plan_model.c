/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "core/plan/plan_internal.h"

/* Of each stage, those that need it: as one list, and where each one's part begins. */
static void followers(struct cb_plan_model *m, const bool *needs)
{
    size_t count = 0;
    for (size_t s = 0; s < m->stages; s++) {
        m->first_follower[s] = (int)count;
        for (size_t t = 0; t < m->stages; t++) {
            if (needs[t * m->stages + s]) {
                m->followers[count++] = (int)t;
            }
        }
    }
    m->first_follower[m->stages] = (int)count;
}

static bool names(const struct cb_plan_stage *stage, size_t other)
{
    for (size_t i = 0; i < stage->touch_count; i++) {
        if (stage->touches[i] == (int)other) {
            return true;
        }
    }
    return false;
}

static void touching(struct cb_plan_model *m, const struct cb_plan_problem *problem)
{
    m->touching = cb_mem_new(m->stages * m->stages + 1, sizeof *m->touching);
    m->first_touching = cb_mem_new(m->stages + 1, sizeof *m->first_touching);
    size_t count = 0;
    for (size_t s = 0; s < m->stages; s++) {
        m->first_touching[s] = (int)count;
        for (size_t t = 0; t < m->stages; t++) {
            if (s != t && (names(&problem->stages[s], t) || names(&problem->stages[t], s))) {
                m->touching[count++] = (int)t;
            }
        }
    }
    m->first_touching[m->stages] = (int)count;
}

static void order(struct cb_plan_model *m, const struct cb_plan_problem *problem)
{
    m->order = cb_mem_new(m->stages + 1, sizeof *m->order);
    bool *placed = cb_mem_new(m->stages + 1, sizeof *placed);
    for (size_t n = 0; n < m->stages; n++) {
        for (size_t s = 0; s < m->stages; s++) {
            bool free_to_go = !placed[s];
            for (size_t i = 0; free_to_go && i < problem->stages[s].need_count; i++) {
                free_to_go = placed[problem->stages[s].needs[i]];
            }
            if (free_to_go) {
                m->order[n] = (int)s;
                placed[s] = true;
                break;
            }
        }
    }
    free(placed);
}

static void slots(struct cb_plan_model *m, const struct cb_plan_problem *problem)
{
    const size_t count = m->stages * m->figures;
    m->wanted = cb_mem_new(count + 1, sizeof *m->wanted);
    m->on = cb_mem_new(count + 1, sizeof *m->on);
    m->lacking = cb_mem_new(count + 1, sizeof *m->lacking);
    m->ready_min = cb_mem_new(count + 1, sizeof *m->ready_min);
    for (size_t i = 0; i < count; i++) {
        const struct cb_plan_slot *slot = &problem->slots[i];
        m->wanted[i] = slot->coats > slot->on ? slot->coats : slot->on;
        m->on[i] = slot->on;
        m->ready_min[i] = slot->from_min > slot->dry_min ? slot->from_min : slot->dry_min;
    }
}

/* What is wet already holds up what needs it or touches it. */
static void wet(struct cb_plan_model *m, const struct cb_plan_problem *problem, const bool *needs)
{
    for (size_t s = 0; s < m->stages; s++) {
        for (size_t t = 0; t < m->stages; t++) {
            const struct cb_plan_stage *stage = &problem->stages[s];
            if (!needs[s * m->stages + t] && !names(stage, t) && !names(&problem->stages[t], s)) {
                continue;
            }
            for (size_t f = 0; f < m->figures; f++) {
                const double dry_min = problem->slots[t * m->figures + f].dry_min;
                double *ready_min = &m->ready_min[s * m->figures + f];
                *ready_min = dry_min > *ready_min ? dry_min : *ready_min;
            }
        }
    }
}

/* Has the one something to come wherever the other has? */
static bool comes_wherever(const struct cb_plan_model *m, size_t one, size_t other)
{
    for (size_t f = 0; f < m->figures; f++) {
        if (m->on[other * m->figures + f] < m->wanted[other * m->figures + f] &&
            m->on[one * m->figures + f] == m->wanted[one * m->figures + f]) {
            return false;
        }
    }
    return true;
}

/* What is needed by something that is needed need not be counted twice. In the order, so that what
 * is left out of a stage's needs is known when the next one asks. */
static void thin_out(const struct cb_plan_model *m, bool *needs)
{
    bool *all = cb_mem_new(m->stages * m->stages + 1, sizeof *all); /* and needs of needs */
    for (size_t n = 0; n < m->stages; n++) {
        const size_t s = (size_t)m->order[n];
        bool *own = needs + s * m->stages;
        bool *own_all = all + s * m->stages;
        for (size_t k = n; k-- > 0;) { /* the nearest first */
            const size_t t = (size_t)m->order[k];
            if (!own[t] || own_all[t]) {
                own[t] = false;
                continue;
            }
            for (size_t u = 0; u < m->stages && comes_wherever(m, t, s); u++) {
                own_all[u] |= all[t * m->stages + u];
            }
        }
        for (size_t t = 0; t < m->stages; t++) {
            own_all[t] |= own[t];
        }
    }
    free(all);
}

static void needed(struct cb_plan_model *m, const struct cb_plan_problem *problem)
{
    bool *needs = cb_mem_new(m->stages * m->stages + 1, sizeof *needs);
    for (size_t s = 0; s < m->stages; s++) {
        for (size_t i = 0; i < problem->stages[s].need_count; i++) {
            needs[s * m->stages + (size_t)problem->stages[s].needs[i]] = true;
        }
    }
    wet(m, problem, needs);
    thin_out(m, needs);
    m->followers = cb_mem_new(m->stages * m->stages + 1, sizeof *m->followers);
    m->first_follower = cb_mem_new(m->stages + 1, sizeof *m->first_follower);
    followers(m, needs);
    free(needs);
    for (size_t s = 0; s < m->stages; s++) {
        for (int i = m->first_follower[s]; i < m->first_follower[s + 1]; i++) {
            for (size_t f = 0; f < m->figures; f++) {
                m->lacking[(size_t)m->followers[i] * m->figures + f] +=
                    m->on[s * m->figures + f] < m->wanted[s * m->figures + f] ? 1 : 0;
            }
        }
    }
}

static void coats(struct cb_plan_model *m)
{
    m->first_coat = cb_mem_new(m->stages + 1, sizeof *m->first_coat);
    for (size_t s = 0; s < m->stages; s++) {
        int most = 0;
        for (size_t f = 0; f < m->figures; f++) {
            const int wanted = m->wanted[s * m->figures + f];
            most = wanted > most ? wanted : most;
        }
        m->first_coat[s] = (int)m->coats;
        m->coats += (size_t)most;
    }
    m->first_coat[m->stages] = (int)m->coats;
    m->coat = cb_mem_new(m->coats + 1, sizeof *m->coat);
    for (size_t s = 0; s < m->stages; s++) {
        for (int c = m->first_coat[s]; c < m->first_coat[s + 1]; c++) {
            m->coat[c] = (struct cb_plan_coat){(int)s, c - m->first_coat[s], 0};
        }
    }
    for (size_t n = m->stages; n-- > 0;) {
        const int s = m->order[n];
        double after = 0;
        for (int i = m->first_follower[s]; i < m->first_follower[s + 1]; i++) {
            const int next = m->first_coat[m->followers[i]];
            if (next < m->first_coat[m->followers[i] + 1] && m->coat[next].tail_min > after) {
                after = m->coat[next].tail_min;
            }
        }
        for (int c = m->first_coat[s + 1]; c-- > m->first_coat[s];) {
            after += m->stage[s].work_min + m->stage[s].dry_min;
            m->coat[c].tail_min = after;
        }
    }
}

/* Paints by the first stage that uses them, so that they can be counted. */
static void number_paints(struct cb_plan_model *m, const struct cb_plan_problem *problem)
{
    m->brush = m->first_paint = CB_PLAN_NO_PAINT;
    for (size_t s = 0; s < m->stages; s++) {
        const int paint = problem->stages[s].paint;
        size_t first = 0;
        while (problem->stages[first].paint != paint) {
            first++;
        }
        if (paint >= 0) {
            m->stage[s].paint = first < s ? m->stage[first].paint : (int)m->paints++;
            m->brush = paint == problem->brush ? m->stage[s].paint : m->brush;
            m->first_paint = paint == problem->first_paint ? m->stage[s].paint : m->first_paint;
        }
    }
}

void cb_plan_model_init(struct cb_plan_model *m, const struct cb_plan_problem *problem)
{
    *m = (struct cb_plan_model){.stages = problem->stage_count,
                                .figures = problem->figure_count,
                                .first_stage = problem->first_stage,
                                .calm_min = problem->calm_min,
                                .leave_min = problem->leave_min,
                                .skip_min = problem->skip_min,
                                .linger_price = problem->linger_price,
                                .slow_price = problem->slow_price,
                                .evening_min = problem->evening_min,
                                .tonight_min = problem->tonight_min,
                                .night_min = problem->night_min};
    m->stage = cb_mem_new(m->stages, sizeof *m->stage);
    for (size_t s = 0; s < m->stages; s++) {
        m->stage[s] = problem->stages[s];
        m->stage[s].needs = m->stage[s].touches = NULL;
    }
    number_paints(m, problem);
    touching(m, problem);
    order(m, problem);
    slots(m, problem);
    needed(m, problem);
    coats(m);
}

/* All that comes after a stage, on the way up the order. */
static void mark_below(struct cb_plan_model *m, size_t stage)
{
    bool *below = m->below + stage * m->stages;
    for (size_t n = 0; n < m->stages; n++) {
        const size_t s = (size_t)m->order[n];
        for (int i = m->first_follower[s]; i < m->first_follower[s + 1]; i++) {
            below[m->followers[i]] |= s == stage || below[s];
        }
    }
}

void cb_plan_model_batches(struct cb_plan_model *m, int figures)
{
    m->batch = figures;
    m->batches = ((int)m->figures + figures - 1) / figures;
    m->below = cb_mem_new(m->stages * m->stages + 1, sizeof *m->below);
    m->gos = cb_mem_new(m->stages * m->figures + 1, sizeof *m->gos);
    for (size_t s = 0; s < m->stages; s++) {
        if (m->stage[s].together == 0) {
            continue;
        }
        mark_below(m, s);
        for (size_t slot = 0; slot < m->stages * m->figures; slot++) {
            const size_t go = s * m->figures + slot % m->figures;
            m->gos[slot] +=
                m->below[s * m->stages + slot / m->figures] && m->on[go] < m->wanted[go] ? 1 : 0;
        }
    }
}

void cb_plan_model_fini(struct cb_plan_model *m)
{
    free(m->stage);
    free(m->coat);
    free(m->first_coat);
    free(m->followers);
    free(m->first_follower);
    free(m->touching);
    free(m->first_touching);
    free(m->order);
    free(m->wanted);
    free(m->on);
    free(m->lacking);
    free(m->ready_min);
    free(m->below);
    free(m->gos);
    *m = (struct cb_plan_model){0};
}
