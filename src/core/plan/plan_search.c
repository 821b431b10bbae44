/* SPDX-License-Identifier: MIT */
#include "core/plan/plan_search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

/* Own judgement, tried on seeded recipes: with fewer the local search begins too low. The best of
 * few first, for who has time for no more. */
static const double waits[] = {4, 1, 8, 2, 0.5, 1e6};
static const double stays[] = {4, 1e3, 1, 8};
/* Plans that keep to the order of the recipe at first, and what a coat out of it is worth there:
 * own judgement. */
enum { NATURALS = 7 };
#define IN_ORDER_MIN 20.0
enum { WAITS = sizeof waits / sizeof *waits, STAYS = sizeof stays / sizeof *stays };

/* How often a move is of both parts of a plan, how often the turn between them moves, and how often
 * the time in which a go dries is filled: own judgement, tried in the same way. */
#define BOTH_PARTS 0.6
#define MOVE_TURN  0.1
#define FILL       0.1

static double uniform(struct cb_plan_search *search)
{
    /* The constants of Knuth's MMIX generator (The Art of Computer Programming, vol. 2). */
    search->random = search->random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(search->random >> 11) / 9007199254740992.0;
}

void cb_plan_search_init(struct cb_plan_search *search, uint64_t seed)
{
    const size_t coats = search->model.coats;
    search->random = seed;
    cb_plan_sim_init(&search->sim, &search->model);
    search->best.priority = cb_mem_new(2 * coats + 1, sizeof *search->best.priority);
    search->tried.priority = cb_mem_new(2 * coats + 1, sizeof *search->tried.priority);
    search->strict_finish_min = search->finish_min = search->cost_min = INFINITY;
    for (size_t c = 0; c < coats; c++) {
        const double tail = search->model.coat[c].tail_min;
        search->longest_min =
            tail > search->longest_min && !isinf(tail) ? tail : search->longest_min;
    }
}

struct cb_plan_search *cb_plan_search_new(const struct cb_plan_problem *problem, uint64_t seed)
{
    struct cb_plan_search *search = cb_mem_new(1, sizeof *search);
    cb_plan_model_init(&search->model, problem);
    cb_plan_search_init(search, seed);
    return search;
}

void cb_plan_search_fini(struct cb_plan_search *search)
{
    free(search->best.priority);
    free(search->tried.priority);
    free(search->followed.priority);
    cb_plan_sim_fini(&search->sim);
    cb_plan_model_fini(&search->model);
}

void cb_plan_search_free(struct cb_plan_search *search)
{
    if (search) {
        cb_plan_search_fini(search);
        free(search);
    }
}

/* For all of the plan. */
static void set(struct cb_plan_policy *policy, size_t coats, size_t coat, double priority)
{
    policy->priority[coat] = policy->priority[coats + coat] = priority;
}

/* A priority that no other reaches. */
static double before_all(const struct cb_plan_search *search, const struct cb_plan_policy *policy)
{
    return 2 * search->longest_min + policy->stay;
}

/* Nothing but the order counts: the painter waits for what comes next in it. */
static void strict(const struct cb_plan_model *m, struct cb_plan_policy *policy)
{
    double priority = 0;
    policy->wait = policy->stay = 0;
    policy->turn = 0;
    for (size_t n = 0; n < m->stages; n++) {
        const int stage = m->order[n];
        for (int c = m->first_coat[stage]; c < m->first_coat[stage + 1]; c++) {
            set(policy, m->coats, (size_t)c, priority--);
        }
    }
}

/* Once by the tails alone and, where there are gos, once with these before all else: what all wait
 * for is done as soon as it can be. */
static size_t weightings(const struct cb_plan_model *m)
{
    for (size_t s = 0; s < m->stages; s++) {
        if (m->stage[s].together > 0) {
            return 2 * WAITS * STAYS;
        }
    }
    return WAITS * STAYS;
}

static void weighting(const struct cb_plan_search *search, size_t n, struct cb_plan_policy *policy)
{
    const struct cb_plan_model *m = &search->model;
    const bool twice = weightings(m) > WAITS * STAYS;
    const bool gos_first = twice && n % 2 == 1;
    const size_t at = twice ? n / 2 : n;
    policy->wait = waits[at / STAYS % WAITS];
    policy->stay = stays[at % STAYS];
    policy->turn = 0;
    for (size_t c = 0; c < m->coats; c++) {
        const double tail = isinf(m->coat[c].tail_min) ? search->longest_min : m->coat[c].tail_min;
        const bool go = gos_first && m->stage[m->coat[c].stage].together > 0;
        set(policy, m->coats, c, go ? tail + before_all(search, policy) : tail);
    }
}

/* What a turn is counted in; as if gos were full. */
static size_t tasks_left(const struct cb_plan_model *m)
{
    size_t left = 0;
    for (size_t c = 0; c < m->coats; c++) {
        const size_t stage = (size_t)m->coat[c].stage;
        const size_t fit = m->stage[stage].together > 0 ? (size_t)m->stage[stage].together : 1;
        size_t figures = 0;
        for (size_t slot = stage * m->figures; slot < (stage + 1) * m->figures; slot++) {
            figures += m->on[slot] <= m->coat[c].coat && m->coat[c].coat < m->wanted[slot] ? 1 : 0;
        }
        left += (figures + fit - 1) / fit;
    }
    return left;
}

/* The order of the recipe for a part of what is left, then by the tails: what dries long is put on
 * no earlier than it must be. */
static void in_order(const struct cb_plan_search *search, size_t n, struct cb_plan_policy *policy)
{
    const struct cb_plan_model *m = &search->model;
    weighting(search, 0, policy);
    policy->turn = tasks_left(m) * (NATURALS - n) / (NATURALS + 1);
    double priority = 0;
    for (size_t i = 0; i < m->stages; i++) {
        const int stage = m->order[i];
        for (int c = m->first_coat[stage]; c < m->first_coat[stage + 1]; c++) {
            policy->priority[c] = priority;
            priority -= IN_ORDER_MIN;
        }
    }
}

void cb_plan_search_follow(struct cb_plan_search *search, const struct cb_plan_search *before)
{
    const struct cb_plan_model *m = &search->model;
    const struct cb_plan_model *old = &before->model;
    const size_t then = tasks_left(old), now = tasks_left(m);
    const size_t past = then > now ? then - now : 0;
    free(search->followed.priority);
    search->followed = before->best;
    search->followed.turn = before->best.turn > past ? before->best.turn - past : 0;
    search->followed.priority = cb_mem_new(2 * m->coats + 1, sizeof *search->followed.priority);
    for (size_t c = 0; c < m->coats; c++) {
        const struct cb_plan_coat *coat = &m->coat[c];
        set(&search->followed, m->coats, c, coat->tail_min);
        if ((size_t)coat->stage >= old->stages) {
            continue;
        }
        const int same = old->first_coat[coat->stage] + coat->coat;
        if (same < old->first_coat[coat->stage + 1]) {
            search->followed.priority[c] = before->best.priority[same];
            search->followed.priority[m->coats + c] =
                before->best.priority[old->coats + (size_t)same];
        }
    }
}

static void copy(const struct cb_plan_policy *from, size_t coats, struct cb_plan_policy *to)
{
    to->wait = from->wait;
    to->stay = from->stay;
    to->turn = from->turn;
    memcpy(to->priority, from->priority, 2 * coats * sizeof *to->priority);
}

static void move(struct cb_plan_search *search, double *priority, size_t at, size_t beside,
                 double what, double by)
{
    if (what < 0.55) { /* beside another coat */
        priority[at] = priority[beside] + 8 * by;
    } else if (what < 0.95) {
        priority[at] += 0.3 * search->longest_min * by;
    } else { /* before or after all */
        priority[at] = (by < 0 ? -1 : 1) * before_all(search, &search->best);
    }
}

static bool is_go(const struct cb_plan_search *search, size_t step)
{
    const struct cb_plan_model *m = &search->model;
    return m->stage[m->coat[search->sim.steps[step].coat].stage].together > 0;
}

/* Anywhere, or as often as not behind a go. */
static size_t some_turn(struct cb_plan_search *search)
{
    const struct cb_plan_sim *sim = &search->sim;
    size_t at = (size_t)(uniform(search) * (double)sim->step_count);
    if (uniform(search) < 0.5) {
        size_t gos = 0;
        for (size_t i = 0; i < sim->step_count; i++) {
            gos += is_go(search, i) ? 1 : 0;
        }
        size_t go = (size_t)(uniform(search) * (double)gos);
        for (size_t i = 0; i < sim->step_count && gos > 0; i++) {
            if (is_go(search, i) && go-- == 0) {
                return i + 1;
            }
        }
    }
    return at;
}

/* While a go dries, what its stage does not wait for and may yet lie below it: as soon as the
 * go is on, on figures that a later go takes, and even where that costs a change of paint. */
static void fill(struct cb_plan_search *search, struct cb_plan_policy *policy)
{
    const struct cb_plan_model *m = &search->model;
    const size_t turn = some_turn(search);
    if (turn == 0 || !is_go(search, turn - 1)) {
        return;
    }
    const int go = search->sim.steps[turn - 1].coat;
    const int stage = m->coat[go].stage;
    const int count = m->first_touching[stage + 1] - m->first_touching[stage];
    if (count == 0) {
        return;
    }
    const int other =
        m->touching[m->first_touching[stage] + (int)(uniform(search) * (double)count)];
    double *second = policy->priority + m->coats;
    const double above = before_all(search, policy);
    if (2 * policy->turn > search->sim.step_count) { /* else the second part is most of it */
        memcpy(second, policy->priority, m->coats * sizeof *second);
    }
    policy->turn = turn;
    policy->priority[go] = second[go] = above;
    for (int c = m->first_coat[other]; c < m->first_coat[other + 1]; c++) {
        second[c] = 2 * above + 2 * policy->wait * m->stage[other].change_min;
        if (uniform(search) < 0.5) {
            break;
        }
    }
}

/* One to three small moves away from the best. */
static void neighbour(struct cb_plan_search *search, struct cb_plan_policy *policy)
{
    const size_t coats = search->model.coats;
    copy(&search->best, coats, policy);
    const double more = uniform(search);
    const double part = uniform(search);
    if (uniform(search) < FILL) {
        fill(search, policy);
    }
    if (uniform(search) < MOVE_TURN) {
        policy->turn = some_turn(search);
    }
    for (int moves = more < 0.1 ? 3 : more < 0.4 ? 2 : 1; moves > 0; moves--) {
        const double what = uniform(search);
        const double by = uniform(search) - 0.5;
        const size_t at = (size_t)(uniform(search) * (double)coats);
        const size_t beside = (size_t)(uniform(search) * (double)coats);
        if (what < 0.08) {
            policy->wait =
                by < 0 ? policy->wait * exp(4 * by + 1) : waits[(size_t)(2 * by * WAITS)];
        } else if (what < 0.16) {
            policy->stay =
                by < 0 ? (policy->stay + 0.5) * exp(4 * by + 1) : stays[(size_t)(2 * by * STAYS)];
        } else {
            if (part < (1 + BOTH_PARTS) / 2) {
                move(search, policy->priority, at, beside, what, by);
            }
            if (part > (1 - BOTH_PARTS) / 2 && coats > 0) {
                move(search, policy->priority + coats, at, beside, what, by);
            }
        }
    }
}

static void take(struct cb_plan_search *search)
{
    const struct cb_plan_policy better = search->tried;
    search->tried = search->best;
    search->best = better;
}

/* What decides between plans that finish at the same time: first changes of paint, then the order
 * of the recipe, then staying with what is in hand. Minutes each, too few of them to trade one for
 * the other. */
#define CHANGE_MIN    1e-4
#define TURN_BACK_MIN 1e-8
#define TURN_AWAY_MIN 1e-12

void cb_plan_search_go(struct cb_plan_search *search, size_t simulations)
{
    const struct cb_plan_model *m = &search->model;
    for (size_t i = 0; i < simulations; i++) {
        const size_t n = search->done++;
        const size_t first = search->followed.priority ? 2 : 1; /* of the weightings */
        if (n == 0) {
            strict(m, &search->tried);
        } else if (n < first) {
            copy(&search->followed, m->coats, &search->tried);
        } else if (n < first + NATURALS) {
            in_order(search, n - first, &search->tried);
        } else if (n < first + NATURALS + weightings(m)) {
            weighting(search, n - first - NATURALS, &search->tried);
        } else {
            neighbour(search, &search->tried);
        }
        cb_plan_sim_run(&search->sim, m, &search->tried);
        const double finish = search->sim.finish_min;
        const double cost =
            finish + (m->calm_min + CHANGE_MIN) * search->sim.changes +
            m->leave_min * search->sim.leaves + m->skip_min * search->sim.skips +
            m->linger_price * search->sim.linger_min + m->slow_price * search->sim.slow_min +
            TURN_BACK_MIN * search->sim.turns_back + TURN_AWAY_MIN * search->sim.turns_away;
        if (n == 0) {
            search->strict_finish_min = finish;
        }
        if (cost <= search->cost_min && finish <= search->strict_finish_min) {
            search->cost_min = cost;
            search->finish_min = finish;
            take(search);
        }
    }
}

struct cb_plan cb_plan_search_best(struct cb_plan_search *search, struct cb_arena *arena)
{
    cb_plan_sim_run(&search->sim, &search->model, &search->best);
    return cb_plan_sim_plan(&search->sim, &search->model, arena);
}

struct cb_plan cb_plan_search_strict(struct cb_plan_search *search, struct cb_arena *arena)
{
    strict(&search->model, &search->tried);
    cb_plan_sim_run(&search->sim, &search->model, &search->tried);
    return cb_plan_sim_plan(&search->sim, &search->model, arena);
}
