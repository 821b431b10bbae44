/* SPDX-License-Identifier: MIT */
#include "core/plan/finish.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "core/plan/finish_habits.h"

/* An evening like one that fell on the same weekday is so many times as likely. With it the day
 * named is one of theirs for two in three who paint on some weekdays only, without it for two in
 * five, and others lose nothing (tests/property/test_finish.c); much more than ten narrows the
 * range too far. */
#define SAME_WEEKDAY 6.0
/* Own judgement, as all here that names no source. */
#define PACK_UP_MIN 10 /* who has sat longer than ever goes on for so long */
#define GIVEN_START (19 * 60 + 30)
/* Beside those on record an evening may come as long after the one before as none did: two such
 * of three days or more in the mean, one evening as much as each on record. Three to eight evenings
 * on record alone would give a range that holds 66 %, with them it holds 78 % (the same painters).
 */
#define STRANGE      2
#define STRANGE_DAYS 3.0
#define LIKE_MAX     (CB_FINISH_RECENT + STRANGE)
#define FUTURES      1000
#define SEED         1
#define EVENINGS_MAX 200                /* nobody can foresee more */
#define Z90          1.2815515655446004 /* 90 % of a normal law lie below */
/* Log sd of hands-on minutes where nothing is known: of painters and units (core/learn/hours.h). */
#define UNKNOWN_SD 0.5

struct forecast {
    const struct cb_finish_ask *ask;
    struct cb_finish_habits habits;
    double work_min, sd, beside_min, change_min, dry_min;
    uint64_t random;
    /* What evenings are like, in this future: the habits, then strange ones; and how much so. */
    struct cb_finish_habit like[LIKE_MAX];
    double weight[LIKE_MAX];
    size_t like_count;
};

static double uniform(struct forecast *forecast)
{
    /* The constants of Knuth's MMIX generator (The Art of Computer Programming, vol. 2). */
    forecast->random =
        forecast->random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return ((double)(forecast->random >> 11) + .5) / 9007199254740992.0;
}

/* After Box and Muller, Ann. Math. Stat. 29 (1958) 610. */
static double normal(struct forecast *forecast)
{
    const double r = sqrt(-2 * log(uniform(forecast)));
    return r * cos(6.283185307179586 * uniform(forecast));
}

static int64_t day_of(const struct forecast *forecast, int64_t ms)
{
    return cb_finish_day(cb_time_local(ms, forecast->ask->zone));
}

static int64_t moment_of(const struct forecast *forecast, int64_t day, int start_min)
{
    return cb_time_of_local(day * CB_FINISH_DAY_MS + start_min * CB_MS_PER_MIN,
                            forecast->ask->zone);
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void read_plan(struct forecast *forecast)
{
    const struct cb_plan *plan = forecast->ask->plan;
    const struct cb_hours_sum *hours = &forecast->ask->hours;
    const double worked = plan->task_count > 0 ? plan->tasks[plan->task_count - 1].end_min : 0;
    forecast->work_min = plan->work_min * (1 + forecast->habits.slack);
    forecast->sd =
        hours->low_min > 0 ? log(hours->high_min / hours->low_min) / (2 * Z90) : UNKNOWN_SD;
    forecast->beside_min = plan->change_min + plan->idle_min;
    forecast->change_min =
        plan->paint_changes > 0 && plan->evenings <= 1 ? plan->change_min / plan->paint_changes : 0;
    forecast->dry_min = plan->finish_min > worked ? plan->finish_min - worked : 0;
}

/* How much each evening counts is drawn, too, for few of them say little. (The Bayesian bootstrap:
 * Rubin 1981, Annals of Statistics 9(1); with a prior as in Ferguson 1973, Annals of Statistics
 * 1(2).) */
static void weigh(struct forecast *forecast)
{
    const struct cb_finish_habits *habits = &forecast->habits;
    for (size_t i = 0; i < forecast->like_count; i++) {
        forecast->weight[i] = -log(uniform(forecast));
    }
    for (size_t i = habits->count; i < forecast->like_count; i++) {
        forecast->like[i] = habits->list[(size_t)(uniform(forecast) * (double)habits->count)];
        forecast->like[i].gap_days = 1 + (int)(-STRANGE_DAYS * log(uniform(forecast)));
    }
}

/* One of those that the weights leave above 0; like_count: none. */
static size_t pick(struct forecast *forecast, const double *weight)
{
    double sum = 0;
    for (size_t i = 0; i < forecast->like_count; i++) {
        sum += weight[i];
    }
    double at = uniform(forecast) * sum;
    size_t last = forecast->like_count;
    for (size_t i = 0; i < forecast->like_count; i++) {
        if (weight[i] > 0) {
            last = i;
            at -= weight[i];
            if (at <= 0) {
                break;
            }
        }
    }
    return last;
}

static double rest_of_tonight(struct forecast *forecast)
{
    const struct cb_finish_ask *ask = forecast->ask;
    const double sat = (double)(ask->now_ms - forecast->habits.begun_ms) / 60000.0;
    double weight[LIKE_MAX] = {0};
    if (ask->tonight_min > 0) {
        return ask->tonight_min;
    }
    if (ask->evening_min > 0) {
        return ask->evening_min > sat ? ask->evening_min - sat : PACK_UP_MIN;
    }
    for (size_t i = 0; i < forecast->like_count; i++) {
        weight[i] = forecast->like[i].length_min > sat ? forecast->weight[i] : 0;
    }
    const size_t like = pick(forecast, weight);
    return like < forecast->like_count ? forecast->like[like].length_min - sat : PACK_UP_MIN;
}

struct sitting {
    int64_t day, from_ms;
    double length_min;
};

static int weekday_of(int64_t day)
{
    return (int)((day % 7 + 7) % 7);
}

/* Like one on record: as long after the one before, at that time, as long. Only such as are still
 * to come; who has stayed away longer than ever comes as if they had painted yesterday. */
static struct sitting next_sitting(struct forecast *forecast, int64_t day, int64_t after_ms)
{
    const int64_t after_local_ms = cb_time_local(after_ms, forecast->ask->zone);
    double to_come[LIKE_MAX] = {0}, any[LIKE_MAX] = {0};
    for (size_t i = 0; i < forecast->like_count; i++) {
        const struct cb_finish_habit *habit = &forecast->like[i];
        const int64_t own_day = day + habit->gap_days;
        any[i] = habit->gap_days >= 0 ? forecast->weight[i] : 0;
        if (own_day * CB_FINISH_DAY_MS + habit->start_min * CB_MS_PER_MIN > after_local_ms) {
            const bool same = weekday_of(habit->day) == weekday_of(own_day);
            to_come[i] = any[i] * (same ? SAME_WEEKDAY : 1);
        }
    }
    size_t like = pick(forecast, to_come);
    if (like == forecast->like_count) {
        like = pick(forecast, any);
        day = cb_finish_day(after_local_ms) - 1;
    }
    const struct cb_finish_habit *habit = &forecast->like[like];
    struct sitting sitting = {.day = day + habit->gap_days, .length_min = habit->length_min};
    while (sitting.day * CB_FINISH_DAY_MS + habit->start_min * CB_MS_PER_MIN <= after_local_ms) {
        sitting.day++;
    }
    sitting.from_ms = moment_of(forecast, sitting.day, habit->start_min);
    if (forecast->ask->evening_min > 0) {
        sitting.length_min = forecast->ask->evening_min;
    }
    return sitting;
}

/* One a day; the first today, at once when it is time, unless that is over. */
static struct sitting given_sitting(const struct forecast *forecast, int64_t day, bool first)
{
    const int64_t now_ms = forecast->ask->now_ms;
    const int start_min =
        forecast->habits.usual_start_min >= 0 ? forecast->habits.usual_start_min : GIVEN_START;
    struct sitting sitting = {.day = first ? day_of(forecast, now_ms) : day + 1,
                              .length_min = forecast->ask->evening_min};
    sitting.from_ms = moment_of(forecast, sitting.day, start_min);
    if (first && (double)(now_ms - sitting.from_ms) >= sitting.length_min * 60000) {
        sitting.from_ms = moment_of(forecast, ++sitting.day, start_min);
    }
    sitting.from_ms = sitting.from_ms > now_ms ? sitting.from_ms : now_ms;
    return sitting;
}

struct future {
    double finish_ms; /* wall; whole numbers of them are exact */
    double evenings;
};

static struct future play(struct forecast *forecast, bool learned)
{
    const int64_t now_ms = forecast->ask->now_ms;
    double left_min =
        forecast->work_min * exp(forecast->sd * normal(forecast)) + forecast->beside_min;
    const size_t count = forecast->habits.count;
    struct sitting sitting = {.from_ms = now_ms,
                              .day = count > 0 ? forecast->habits.list[count - 1].day
                                               : day_of(forecast, now_ms)};
    struct future future = {0};
    weigh(forecast);
    if (forecast->habits.begun_ms != CB_TIME_NONE) {
        sitting.day = day_of(forecast, forecast->habits.begun_ms);
        sitting.length_min = rest_of_tonight(forecast);
        future.evenings = 1;
    }
    while (left_min > sitting.length_min && future.evenings < EVENINGS_MAX) {
        const bool first = future.evenings < 1;
        const int64_t end_ms = sitting.from_ms + (int64_t)(sitting.length_min * 60000);
        left_min += (first ? 0 : forecast->change_min) - sitting.length_min;
        sitting = learned ? next_sitting(forecast, sitting.day, end_ms)
                          : given_sitting(forecast, sitting.day, first);
        future.evenings++;
    }
    future.finish_ms = (double)sitting.from_ms + (left_min + forecast->dry_min) * 60000;
    return future;
}

static double quantile(const double *sorted, double p)
{
    return sorted[(size_t)(p * (FUTURES - 1) + .5)];
}

static void foresee(struct forecast *forecast, bool learned, struct cb_finish *finish)
{
    double *moments = cb_mem_new(2 * (size_t)FUTURES, sizeof *moments);
    double *evenings = moments + FUTURES;
    for (size_t i = 0; i < FUTURES; i++) {
        const struct future future = play(forecast, learned);
        moments[i] = future.finish_ms;
        evenings[i] = future.evenings;
    }
    qsort(moments, FUTURES, sizeof *moments, by_value);
    qsort(evenings, FUTURES, sizeof *evenings, by_value);
    finish->evenings_low = (int)quantile(evenings, .1);
    finish->evenings = (int)quantile(evenings, .5);
    finish->evenings_high = (int)quantile(evenings, .9);
    if (finish->evenings_high < EVENINGS_MAX) {
        finish->from = learned ? CB_FINISH_LEARNED : CB_FINISH_GIVEN;
        finish->low_ms = (int64_t)quantile(moments, .1);
        finish->median_ms = (int64_t)quantile(moments, .5);
        finish->high_ms = (int64_t)quantile(moments, .9);
        finish->tonight = forecast->habits.begun_ms != CB_TIME_NONE && finish->evenings == 1;
    }
    free(moments);
}

struct cb_finish cb_finish_of(const struct cb_finish_ask *ask)
{
    const struct cb_plan *plan = ask->plan;
    struct forecast *forecast = cb_mem_new(1, sizeof *forecast);
    forecast->ask = ask;
    forecast->random = SEED;
    cb_finish_habits_read(ask, &forecast->habits);
    memcpy(forecast->like, forecast->habits.list, sizeof forecast->habits.list);
    forecast->like_count = forecast->habits.count > 0 ? forecast->habits.count + STRANGE : 0;
    struct cb_finish finish = {.known_evenings = forecast->habits.count,
                               .usual_min = forecast->habits.usual_min,
                               .usual_start_min = forecast->habits.usual_start_min};
    const bool learned = forecast->habits.count >= CB_FINISH_EVENINGS_MIN;
    const bool known = plan->left_count == 0 && isfinite(plan->finish_min);
    if (known && plan->task_count == 0) {
        finish.from = CB_FINISH_DRYING;
        finish.median_ms = ask->now_ms + (int64_t)(plan->finish_min * 60000);
        finish.low_ms = finish.high_ms = finish.median_ms;
    } else if (known && (learned || ask->evening_min > 0)) {
        read_plan(forecast);
        foresee(forecast, learned, &finish);
    }
    free(forecast);
    return finish;
}
