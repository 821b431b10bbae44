/* SPDX-License-Identifier: MIT */
#include "support/noisy.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

static uint64_t dice;

static double chance(void)
{
    /* The constants of Knuth's MMIX generator (The Art of Computer Programming, vol. 2). */
    dice = dice * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return ((double)(dice >> 11) + .5) / 9007199254740992.0;
}

/* After Box and Muller, Ann. Math. Stat. 29 (1958) 610. */
static double normal(void)
{
    const double r = sqrt(-2 * log(chance()));
    return r * cos(6.283185307179586 * chance());
}

static size_t slot_of(const struct noisy *noisy, int stage, int figure)
{
    return (size_t)stage * noisy->problem->figure_count + (size_t)figure;
}

static size_t coat_of(const struct noisy *noisy, int stage, int figure, int coat)
{
    return slot_of(noisy, stage, figure) * (size_t)noisy->coats + (size_t)coat;
}

/* [stage * stages + other], both ways. */
static bool *touching(const struct cb_plan_problem *problem)
{
    const size_t stages = problem->stage_count;
    bool *touch = cb_mem_new(stages * stages + 1, sizeof *touch);
    for (size_t s = 0; s < stages; s++) {
        for (size_t i = 0; i < problem->stages[s].touch_count; i++) {
            const size_t other = (size_t)problem->stages[s].touches[i];
            touch[s * stages + other] = touch[other * stages + s] = other != s;
        }
    }
    return touch;
}

void noisy_init(struct noisy *noisy, const struct cb_plan_problem *problem, double sd,
                uint64_t seed)
{
    const size_t slots = problem->stage_count * problem->figure_count;
    *noisy = (struct noisy){.problem = problem, .sd = sd, .coats = 1};
    for (size_t i = 0; i < slots; i++) {
        noisy->coats =
            problem->slots[i].coats > noisy->coats ? problem->slots[i].coats : noisy->coats;
    }
    const size_t count = slots * (size_t)noisy->coats;
    noisy->work_min = cb_mem_new(count + 1, sizeof *noisy->work_min);
    noisy->dry_min = cb_mem_new(count + 1, sizeof *noisy->dry_min);
    noisy->touch = touching(problem);
    dice = seed;
    for (size_t i = 0; i < count; i++) {
        const struct cb_plan_stage *stage =
            &problem->stages[i / (size_t)noisy->coats / problem->figure_count];
        noisy->work_min[i] = stage->work_min * exp(sd * normal());
        noisy->dry_min[i] = stage->dry_min * exp(sd * normal());
    }
}

void noisy_fini(struct noisy *noisy)
{
    free(noisy->work_min);
    free(noisy->dry_min);
    free(noisy->touch);
    *noisy = (struct noisy){0};
}

/* The painter at a moment. */
struct hand {
    double now_min;
    int brush;
    int *on;
    double *put_on_min, *dry_min; /* of the last film of a slot; 0 before the first */
};

static void hand_init(struct hand *hand, const struct noisy *noisy)
{
    const size_t slots = noisy->problem->stage_count * noisy->problem->figure_count;
    *hand = (struct hand){.brush = noisy->problem->brush};
    hand->on = cb_mem_new(slots + 1, sizeof *hand->on);
    hand->put_on_min = cb_mem_new(slots + 1, sizeof *hand->put_on_min);
    hand->dry_min = cb_mem_new(slots + 1, sizeof *hand->dry_min);
}

static void hand_fini(struct hand *hand)
{
    free(hand->on);
    free(hand->put_on_min);
    free(hand->dry_min);
}

static double later(double a, double b)
{
    return a > b ? a : b;
}

/* Is all below it on? */
static bool can_come(const struct noisy *noisy, const struct hand *hand,
                     const struct noisy_task *task)
{
    const struct cb_plan_stage *stage = &noisy->problem->stages[task->stage];
    for (int k = 0; k < task->member_count; k++) {
        if (hand->on[slot_of(noisy, task->stage, task->members[k])] != task->coat) {
            return false;
        }
        for (size_t i = 0; i < stage->need_count; i++) {
            const size_t slot = slot_of(noisy, stage->needs[i], task->members[k]);
            if (hand->on[slot] < noisy->problem->slots[slot].coats) {
                return false;
            }
        }
    }
    return true;
}

/* When what is below and beside is dry. */
static double ready_min(const struct noisy *noisy, const struct hand *hand,
                        const struct noisy_task *task)
{
    const struct cb_plan_problem *problem = noisy->problem;
    const struct cb_plan_stage *stage = &problem->stages[task->stage];
    double ready = 0;
    for (int k = 0; k < task->member_count; k++) {
        const int figure = task->members[k];
        ready = later(ready, hand->dry_min[slot_of(noisy, task->stage, figure)]);
        for (size_t i = 0; i < stage->need_count; i++) {
            ready = later(ready, hand->dry_min[slot_of(noisy, stage->needs[i], figure)]);
        }
        for (int other = 0; other < (int)problem->stage_count; other++) {
            if (noisy->touch[(size_t)task->stage * problem->stage_count + (size_t)other]) {
                ready = later(ready, hand->dry_min[slot_of(noisy, other, figure)]);
            }
        }
    }
    return ready;
}

static bool changes(const struct noisy *noisy, const struct hand *hand, int stage)
{
    const int paint = noisy->problem->stages[stage].paint;
    return paint != CB_PLAN_NO_PAINT && paint != hand->brush;
}

static void change(const struct noisy *noisy, struct hand *hand, int stage,
                   struct noisy_evening *evening)
{
    if (changes(noisy, hand, stage)) {
        hand->now_min += noisy->problem->stages[stage].change_min;
        hand->brush = noisy->problem->stages[stage].paint;
        evening->paint_changes++;
    }
}

/* Waits for it and puts it on. */
static void put_on(const struct noisy *noisy, struct hand *hand, const struct noisy_task *task,
                   struct noisy_evening *evening)
{
    change(noisy, hand, task->stage, evening);
    struct noisy_task *done = &evening->tasks[evening->task_count++];
    const double start = later(hand->now_min, ready_min(noisy, hand, task));
    if (done != task) {
        *done = *task;
    }
    evening->waiting_min += start - hand->now_min;
    done->start_min = start;
    done->end_min = start + noisy->work_min[coat_of(noisy, task->stage, task->figure, task->coat)];
    hand->now_min = done->end_min;
    for (int k = 0; k < task->member_count; k++) {
        const size_t slot = slot_of(noisy, task->stage, task->members[k]);
        hand->on[slot]++;
        hand->put_on_min[slot] = hand->now_min;
        hand->dry_min[slot] =
            hand->now_min +
            noisy->dry_min[coat_of(noisy, task->stage, task->members[k], task->coat)];
        evening->finish_min = later(evening->finish_min, hand->dry_min[slot]);
    }
}

static struct noisy_task task_of(const struct cb_plan_task *from)
{
    struct noisy_task task = {.stage = from->stage, .coat = from->coat - 1, .figure = 99};
    for (size_t k = 0; k < from->member_count; k++) {
        task.members[task.member_count++] = from->members[k];
        task.figure = from->members[k] < task.figure ? from->members[k] : task.figure;
    }
    return task;
}

static double below(double z)
{
    return erfc(-z / sqrt(2)) / 2;
}

/* How much longer a film takes that has been wet so long: the median. */
static double to_come_min(const struct noisy *noisy, double dry_min, double wet_min)
{
    if (!(wet_min > 0) || !(dry_min > 0) || !(noisy->sd > 0)) {
        return dry_min;
    }
    const double p = 1 - (1 - below(log(wet_min / dry_min) / noisy->sd)) / 2;
    double low = -9, high = 9;
    for (int i = 0; i < 40; i++) {
        const double middle = (low + high) / 2;
        if (below(middle) < p) {
            low = middle;
        } else {
            high = middle;
        }
    }
    const double min = dry_min * exp(noisy->sd * high) - wet_min;
    return min > 0.01 ? min : 0.01;
}

/* As the painter sees it: what is dry, and what is not. *next_min: when the next film will be. */
static struct cb_plan_problem as_seen(const struct noisy *noisy, const struct hand *hand,
                                      struct cb_plan_slot *slots, double *next_min)
{
    struct cb_plan_problem now = *noisy->problem;
    *next_min = INFINITY;
    for (size_t i = 0; i < now.stage_count * now.figure_count; i++) {
        slots[i] = noisy->problem->slots[i];
        slots[i].on = hand->on[i];
        if (hand->dry_min[i] > hand->now_min) {
            slots[i].dry_min = to_come_min(noisy, now.stages[i / now.figure_count].dry_min,
                                           hand->now_min - hand->put_on_min[i]);
            *next_min = hand->dry_min[i] < *next_min ? hand->dry_min[i] : *next_min;
        }
    }
    now.slots = slots;
    now.brush = hand->brush;
    return now;
}

void noisy_follow(const struct noisy *noisy, size_t simulations, struct noisy_evening *evening)
{
    const size_t count = noisy->problem->stage_count * noisy->problem->figure_count;
    struct cb_plan_slot *slots = cb_mem_new(count + 1, sizeof *slots);
    struct cb_plan_search *before = NULL;
    struct cb_arena arena = {0};
    struct hand hand;
    hand_init(&hand, noisy);
    memset(evening, 0, sizeof *evening);
    while (true) {
        double next_min;
        const struct cb_plan_problem now = as_seen(noisy, &hand, slots, &next_min);
        struct cb_plan_search *search = cb_plan_search_new(&now, 1);
        if (before) {
            cb_plan_search_follow(search, before);
        }
        cb_plan_search_go(search, simulations);
        cb_plan_search_free(before);
        before = search;
        const struct cb_plan plan = cb_plan_search_best(search, &arena);
        if (plan.task_count == 0) {
            break;
        }
        const struct noisy_task first = task_of(&plan.tasks[0]);
        if (ready_min(noisy, &hand, &first) <= hand.now_min) {
            put_on(noisy, &hand, &first, evening);
        } else if (changes(noisy, &hand, first.stage)) {
            change(noisy, &hand, first.stage, evening);
        } else {
            evening->waiting_min += next_min - hand.now_min;
            hand.now_min = next_min;
        }
        cb_arena_fini(&arena);
    }
    cb_plan_search_free(before);
    cb_arena_fini(&arena);
    hand_fini(&hand);
    free(slots);
}

void noisy_keep_to(const struct noisy *noisy, const struct cb_plan *plan,
                   struct noisy_evening *evening)
{
    struct hand hand;
    hand_init(&hand, noisy);
    memset(evening, 0, sizeof *evening);
    for (size_t i = 0; i < plan->task_count; i++) {
        const struct noisy_task task = task_of(&plan->tasks[i]);
        put_on(noisy, &hand, &task, evening);
    }
    hand_fini(&hand);
}

/* From the start of that coat to the end of the longest chain that it begins, as planned. after: of
 * each slot what comes after its last coat; -1: not known yet. */
static double tail_min(const struct noisy *noisy, double *after, int stage, int coat, int figure)
{
    const struct cb_plan_problem *problem = noisy->problem;
    const size_t slot = slot_of(noisy, stage, figure);
    const struct cb_plan_stage *own = &problem->stages[stage];
    double best = after[slot] < 0 ? 0 : after[slot];
    for (int other = 0; after[slot] < 0 && other < (int)problem->stage_count; other++) {
        const struct cb_plan_stage *row = &problem->stages[other];
        for (size_t i = 0; i < row->need_count; i++) {
            if (row->needs[i] == stage && problem->slots[slot_of(noisy, other, figure)].coats > 0) {
                best = later(best, tail_min(noisy, after, other, 0, figure));
            }
        }
    }
    after[slot] = best;
    return (problem->slots[slot].coats - coat) * (own->work_min + own->dry_min) + best;
}

static struct noisy_task one_of(int stage, int coat, int figure)
{
    return (struct noisy_task){
        .stage = stage, .coat = coat, .figure = figure, .members = {figure}, .member_count = 1};
}

/* The next go of a stage: all that want it, or as many as fit of those that are ready first. */
static bool next_go(const struct noisy *noisy, const struct hand *hand, int stage,
                    struct noisy_task *go)
{
    const struct cb_plan_problem *problem = noisy->problem;
    const int fit = problem->stages[stage].together;
    struct noisy_task ready[99];
    int count = 0, wanting = 0, coat = problem->slots[slot_of(noisy, stage, 0)].coats;
    for (int figure = 0; figure < (int)problem->figure_count; figure++) {
        const size_t slot = slot_of(noisy, stage, figure);
        if (hand->on[slot] < problem->slots[slot].coats) {
            coat = wanting++ == 0 || hand->on[slot] < coat ? hand->on[slot] : coat;
        }
    }
    for (int figure = 0; figure < (int)problem->figure_count; figure++) {
        const size_t slot = slot_of(noisy, stage, figure);
        const struct noisy_task one = one_of(stage, coat, figure);
        if (hand->on[slot] == coat && coat < problem->slots[slot].coats &&
            can_come(noisy, hand, &one)) {
            int at = count++;
            for (; at > 0 && ready_min(noisy, hand, &ready[at - 1]) > ready_min(noisy, hand, &one);
                 at--) {
                ready[at] = ready[at - 1];
            }
            ready[at] = one;
        }
    }
    const int size = fit < wanting ? fit : wanting;
    *go = (struct noisy_task){.stage = stage, .coat = coat, .figure = 99};
    for (int i = 0; i < size && i < count; i++) {
        go->members[go->member_count++] = ready[i].figure;
        go->figure = ready[i].figure < go->figure ? ready[i].figure : go->figure;
    }
    return size > 0 && count >= size;
}

void noisy_by_rule(const struct noisy *noisy, enum noisy_rule rule, struct noisy_evening *evening)
{
    const struct cb_plan_problem *problem = noisy->problem;
    const size_t slots = problem->stage_count * problem->figure_count;
    double *after = cb_mem_new(slots + 1, sizeof *after);
    struct hand hand;
    for (size_t i = 0; i < slots; i++) {
        after[i] = -1;
    }
    hand_init(&hand, noisy);
    memset(evening, 0, sizeof *evening);
    while (true) {
        struct noisy_task best = {.member_count = 0}, one;
        double best_start = INFINITY, best_tail = 0;
        for (int stage = 0; stage < (int)problem->stage_count; stage++) {
            const bool go = problem->stages[stage].together > 0;
            for (int figure = 0; figure < (go ? 1 : (int)problem->figure_count); figure++) {
                const size_t slot = slot_of(noisy, stage, figure);
                one = one_of(stage, hand.on[slot], figure);
                if (go ? !next_go(noisy, &hand, stage, &one)
                       : hand.on[slot] >= problem->slots[slot].coats ||
                             !can_come(noisy, &hand, &one)) {
                    continue;
                }
                const double change_min =
                    changes(noisy, &hand, stage) ? problem->stages[stage].change_min : 0;
                const double free_min = hand.now_min + change_min;
                double start = later(free_min, ready_min(noisy, &hand, &one));
                if (rule == NOISY_LONGEST_TAIL && start <= free_min) {
                    start = 0; /* at once is at once */
                }
                const double tail = rule == NOISY_LONGEST_TAIL
                                        ? tail_min(noisy, after, stage, one.coat, one.figure)
                                        : 0;
                if (start < best_start || (!(start > best_start) && tail > best_tail)) {
                    best = one;
                    best_start = start;
                    best_tail = tail;
                }
            }
        }
        if (best.member_count == 0) {
            break;
        }
        put_on(noisy, &hand, &best, evening);
    }
    free(after);
    hand_fini(&hand);
}

static double task_min(const struct noisy *noisy, const struct noisy_task *task)
{
    return noisy->work_min[coat_of(noisy, task->stage, task->figure, task->coat)];
}

/* In that order, but for what can't come yet. false: given up, where the hands-on that is left
 * would end after most_min. */
static bool carry_out(const struct noisy *noisy, const struct noisy_evening *order,
                      const size_t *places, double most_min, struct noisy_evening *evening)
{
    static size_t next[NOISY_TASKS + 1]; /* what is left, each with the one behind it */
    size_t left = order->task_count;
    double left_min = 0;
    struct hand hand;
    hand_init(&hand, noisy);
    evening->task_count = 0;
    evening->finish_min = evening->waiting_min = 0;
    evening->paint_changes = 0;
    for (size_t i = 0; i < left; i++) {
        next[i] = i;
        left_min += task_min(noisy, &order->tasks[i]);
    }
    for (; left > 0 && hand.now_min + left_min <= most_min + 1e-9; left--) {
        size_t before = 0;
        while (!can_come(noisy, &hand, &order->tasks[places[next[before]]])) {
            before = next[before] + 1;
        }
        const struct noisy_task *task = &order->tasks[places[next[before]]];
        put_on(noisy, &hand, task, evening);
        left_min -= task_min(noisy, task);
        next[before] = next[next[before] + 1];
    }
    hand_fini(&hand);
    return left == 0;
}

/* Without the room behind its tasks: that is most of it. */
static void copy(const struct noisy_evening *from, struct noisy_evening *to)
{
    memcpy(to->tasks, from->tasks, from->task_count * sizeof *to->tasks);
    to->task_count = from->task_count;
    to->finish_min = from->finish_min;
    to->waiting_min = from->waiting_min;
    to->paint_changes = from->paint_changes;
}

void noisy_hindsight(const struct noisy *noisy, const struct noisy_evening *from, size_t tries,
                     struct noisy_evening *best)
{
    static struct noisy_evening tried;
    static size_t places[NOISY_TASKS], kept[NOISY_TASKS];
    const size_t count = from->task_count;
    for (size_t i = 0; i < count; i++) {
        places[i] = i;
    }
    copy(from, best);
    dice = 1;
    for (size_t n = 0; n < tries && count > 1; n++) {
        memcpy(kept, places, count * sizeof *kept);
        /* A task, or a few in a row, to another place. */
        const size_t length = 1 + (size_t)(chance() * 4);
        const size_t row = length < count ? length : 1;
        const size_t at = (size_t)(chance() * (double)(count - row + 1));
        const size_t to = (size_t)(chance() * (double)(count - row + 1));
        size_t moved[4];
        memcpy(moved, places + at, row * sizeof *moved);
        memmove(places + at, places + at + row, (count - at - row) * sizeof *places);
        memmove(places + to + row, places + to, (count - row - to) * sizeof *places);
        memcpy(places + to, moved, row * sizeof *moved);
        if (carry_out(noisy, from, places, best->finish_min, &tried) &&
            tried.finish_min <= best->finish_min) {
            copy(&tried, best);
        } else {
            memcpy(places, kept, count * sizeof *kept);
        }
    }
}
