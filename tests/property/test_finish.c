/* SPDX-License-Identifier: MIT */
/* Does the likely range of the finish hold? Painters who know nothing of the forecast: bound to
 * weekdays, in bursts, at odd days, at weekends twice a day, short and nightly, each with an own
 * hand, pauses and skipped weeks. They paint units in the plan's order with films that dry when
 * they like. The forecast is asked when a unit is begun, on the morning after an evening of it, and
 * in the middle of one, and compared with what came: from the fourth unit on, and in the first ones
 * while few evenings are on record. All of it invented (own design). Arguments: painters, seed. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "base/vec.h"
#include "core/learn/hours.h"
#include "core/plan/finish.h"
#include "support/events.h"

#define TECHNIQUES   6
#define STAGES_MAX   9
#define FIGURES_MAX  12
#define UNITS_BEFORE 3
#define UNITS        6
#define FEW          8
#define DAY_MIN      1440.0
#define SIMULATIONS  120

static int painters = 60;
static uint64_t seed = 20260105;

enum days { DAYS_OF_WEEK, DAYS_BURSTS, DAYS_ODD, DAYS_WEEKEND, DAYS_NIGHTLY, DAYS_COUNT };
static const char *const day_names[] = {"weekdays", "bursts", "odd days", "weekends", "nightly"};

enum when { WHEN_BEGUN, WHEN_MORNING, WHEN_SITTING, WHEN_COUNT };
static const char *const when_names[] = {"begun", "the morning after", "while sitting"};

struct painter {
    struct dice dice;
    enum days days;
    bool weekday[7];
    double keeps; /* chance of an evening on a day that is one */
    double length_min, length_sd, start_min;
    int burst, pause; /* days left of either */
    int skips;        /* days of a skipped week */
    double speed, technique[TECHNIQUES], unit, mood;
    double pauses; /* chance a coat */
    /* clock */
    double now_min;  /* since a Monday, 00:00 */
    double next_min; /* the evening decided on */
    double second_min;
    /* what a log would know */
    struct cb_hours *hours;
    struct cb_effort habits;
    CB_VEC(struct cb_evening) evenings;
};

static double even(struct dice *dice, double low, double high)
{
    return low + (high - low) * ((double)(dice_next(dice) >> 11) / 9007199254740992.0);
}

static bool chance(struct dice *dice, double p)
{
    return even(dice, 0, 1) < p;
}

/* A sum of twelve even numbers: close to a normal law, and without its far tails. */
static double bell(struct dice *dice)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        sum += even(dice, 0, 1);
    }
    return sum;
}

static void painter_init(struct painter *painter, int number)
{
    *painter = (struct painter){.dice = {seed * 1000003 + (uint64_t)number * 7919 + 1}};
    struct dice *dice = &painter->dice;
    painter->days = (enum days)(number % DAYS_COUNT);
    int days = 2 + (int)dice_below(dice, 3);
    while (days > 0) {
        const size_t day = dice_below(dice, 7);
        days -= painter->weekday[day] ? 0 : 1;
        painter->weekday[day] = true;
    }
    painter->keeps = painter->days == DAYS_ODD       ? even(dice, .2, .6)
                     : painter->days == DAYS_NIGHTLY ? even(dice, .75, .95)
                                                     : even(dice, .7, .95);
    painter->length_min = painter->days == DAYS_NIGHTLY ? even(dice, 30, 60) : even(dice, 60, 180);
    painter->length_sd = even(dice, .2, .45);
    painter->start_min = even(dice, 18 * 60, 21 * 60);
    painter->speed = even(dice, .6, 1.7);
    for (int i = 0; i < TECHNIQUES; i++) {
        painter->technique[i] = even(dice, .7, 1.4);
    }
    painter->pauses = even(dice, .02, .12);
    painter->hours = cb_hours_new(TECHNIQUES);
    painter->second_min = -1;
}

static bool paints_on(struct painter *painter, int day)
{
    struct dice *dice = &painter->dice;
    const int weekday = day % 7;
    if (weekday == 0) {
        painter->skips = chance(dice, .06) ? 7 : 0;
    }
    if (painter->skips > 0) {
        return false;
    }
    if (painter->days == DAYS_BURSTS) {
        if (painter->burst == 0 && painter->pause == 0) {
            painter->burst = 2 + (int)dice_below(dice, 5);
            painter->pause = 3 + (int)dice_below(dice, 10);
        }
        if (painter->burst > 0) {
            painter->burst--;
            return true;
        }
        painter->pause--;
        return false;
    }
    const bool is_day = painter->days == DAYS_OF_WEEK   ? painter->weekday[weekday]
                        : painter->days == DAYS_WEEKEND ? weekday >= 5
                                                        : true;
    return chance(dice, is_day ? painter->keeps : .03);
}

/* The next evening: when, and how long it shall be. */
static double next_evening(struct painter *painter, double *length_min)
{
    struct dice *dice = &painter->dice;
    *length_min = painter->length_min * exp(painter->length_sd * bell(dice));
    if (painter->second_min > painter->now_min + 90) {
        const double from_min = painter->second_min;
        painter->second_min = -1;
        return from_min;
    }
    painter->second_min = -1;
    int day = (int)floor(painter->now_min / DAY_MIN) + 1;
    while (!paints_on(painter, day)) {
        day++;
    }
    double from_min = day * DAY_MIN + painter->start_min + 25 * bell(dice);
    if (painter->days == DAYS_WEEKEND && chance(dice, .4)) {
        painter->second_min = from_min;
        from_min = day * DAY_MIN + 10 * 60 + 30 * bell(dice);
    }
    return from_min;
}

struct unit {
    int stages, figures;
    struct cb_plan_stage stage[STAGES_MAX];
    int technique[STAGES_MAX], need[STAGES_MAX];
    double nominal[STAGES_MAX], dry_min[STAGES_MAX]; /* true median */
    struct cb_plan_slot slots[STAGES_MAX * FIGURES_MAX];
    double dry_at[FIGURES_MAX]; /* painter's clock */
    int brush;
    double last_dry_min;
};

static void unit_init(struct unit *unit, struct painter *painter)
{
    struct dice *dice = &painter->dice;
    *unit = (struct unit){.stages = 5 + (int)dice_below(dice, STAGES_MAX - 4),
                          .figures = 3 + (int)dice_below(dice, FIGURES_MAX - 2)};
    painter->unit = even(dice, .75, 1.3);
    for (int s = 0; s < unit->stages; s++) {
        unit->technique[s] = (int)dice_below(dice, TECHNIQUES);
        unit->nominal[s] = even(dice, 1, 7);
        unit->dry_min[s] = even(dice, 4, 40);
        unit->need[s] = s - 1;
        unit->stage[s] = (struct cb_plan_stage){.dry_min = unit->dry_min[s],
                                                .change_min = 1.5,
                                                .paint = (int)dice_below(dice, 5),
                                                .need_count = s > 0 ? 1 : 0,
                                                .needs = &unit->need[s]};
        for (int f = 0; f < unit->figures; f++) {
            unit->slots[s * unit->figures + f].coats = 1;
        }
    }
}

/* What is left, as the bench would lay it out. */
static struct cb_plan plan_of(struct unit *unit, const struct painter *painter,
                              struct cb_arena *arena)
{
    for (int s = 0; s < unit->stages; s++) {
        double mean, sd, own;
        cb_hours_effect(painter->hours, (size_t)unit->technique[s], &mean, &sd);
        cb_hours_effect(painter->hours, TECHNIQUES, &own, &sd);
        unit->stage[s].work_min = unit->nominal[s] * exp(mean + own);
        for (int f = 0; f < unit->figures; f++) {
            struct cb_plan_slot *slot = &unit->slots[s * unit->figures + f];
            const bool last = slot->on == 1 && (s + 1 == unit->stages ||
                                                unit->slots[(s + 1) * unit->figures + f].on == 0);
            slot->dry_min = last ? fmax(0, unit->dry_at[f] - painter->now_min) : 0;
        }
    }
    const struct cb_plan_problem problem = {.stage_count = (size_t)unit->stages,
                                            .figure_count = (size_t)unit->figures,
                                            .stages = unit->stage,
                                            .slots = unit->slots,
                                            .brush = unit->brush,
                                            .first_paint = CB_PLAN_NO_PAINT};
    struct cb_plan_search *search = cb_plan_search_new(&problem, 1);
    cb_plan_search_go(search, SIMULATIONS);
    const struct cb_plan plan = cb_plan_search_best(search, arena);
    cb_plan_search_free(search);
    return plan;
}

#define EPOCH_MS INT64_C(1767571200000) /* 2026-01-05T00:00:00Z, a Monday */
static int64_t wall(double min)
{
    return EPOCH_MS + (int64_t)(min * 60000);
}

struct asked {
    bool is;
    struct cb_finish finish;
    double now_min;
};

static struct asked ask(struct unit *unit, struct painter *painter, double session_min)
{
    struct cb_arena arena = {0};
    const struct cb_plan plan = plan_of(unit, painter, &arena);
    struct cb_hours_cell cells[STAGES_MAX];
    size_t count = 0;
    for (int s = 0; s < unit->stages; s++) {
        double left = 0;
        for (int f = 0; f < unit->figures; f++) {
            left += unit->slots[s * unit->figures + f].on == 0 ? 1 : 0;
        }
        if (left > 0) {
            cells[count++] =
                (struct cb_hours_cell){(size_t)unit->technique[s], unit->nominal[s], left};
        }
    }
    struct cb_hours_sum hours = {0};
    if (count > 0) {
        const double sittings = cb_hours_to_go(painter->hours, cells, count, 0).mean_min / 120;
        hours =
            cb_hours_to_go(painter->hours, cells, count, CB_HOURS_SITTING_VAR / fmax(1, sittings));
    }
    const struct cb_finish_ask question = {.plan = &plan,
                                           .hours = hours,
                                           .habits = &painter->habits,
                                           .evenings = painter->evenings.items,
                                           .evening_count = painter->evenings.count,
                                           .now_ms = wall(painter->now_min),
                                           .session_ms =
                                               session_min < 0 ? CB_TIME_NONE : wall(session_min)};
    const struct asked asked = {true, cb_finish_of(&question), painter->now_min};
    cb_arena_fini(&arena);
    return asked;
}

struct record { /* of an evening, by technique */
    double log_sum[TECHNIQUES], marks[TECHNIQUES];
};

/* One coat of the plan, waited for where it must be; false: not tonight any more. */
static bool put_on(struct unit *unit, struct painter *painter, const struct cb_plan_task *task,
                   double end_min, struct record *record)
{
    struct dice *dice = &painter->dice;
    const int s = task->stage, f = task->figure;
    const struct cb_plan_stage *stage = &unit->stage[s];
    if (stage->paint != unit->brush) {
        const double change = stage->change_min * even(dice, .6, 2);
        painter->now_min += change;
        painter->habits.change_min += change;
        unit->brush = stage->paint;
    }
    if (unit->dry_at[f] > end_min) {
        return false;
    }
    if (unit->dry_at[f] > painter->now_min) {
        painter->habits.waiting_min += unit->dry_at[f] - painter->now_min;
        painter->now_min = unit->dry_at[f];
    }
    const int technique = unit->technique[s];
    const double work = unit->nominal[s] * painter->speed * painter->technique[technique] *
                        painter->unit * painter->mood * even(dice, .6, 1.4);
    painter->now_min += work;
    painter->habits.hands_on_min += work;
    record->log_sum[technique] += log(work / unit->nominal[s]);
    record->marks[technique]++;
    unit->slots[s * unit->figures + f].on = 1;
    unit->dry_at[f] = painter->now_min + unit->dry_min[s] * even(dice, .6, 1.6);
    unit->last_dry_min = fmax(unit->last_dry_min, unit->dry_at[f]);
    if (chance(dice, painter->pauses)) {
        painter->now_min += even(dice, 3, 15);
    }
    return true;
}

struct tally {
    int inside, below, count;
    int on_day; /* the middle one falls on a weekday of theirs */
    double width_days, loss;
};

/* Of who is bound to weekdays. */
static bool is_own_day(const struct painter *painter, int64_t ms)
{
    const int weekday = (int)((ms - EPOCH_MS) / 86400000 % 7);
    return painter->days == DAYS_WEEKEND ? weekday >= 5 : painter->weekday[weekday];
}

static void judge(const struct asked *asked, const struct painter *painter, double done_min,
                  struct tally *tally)
{
    const int64_t done_ms = wall(done_min);
    const int64_t at[3] = {asked->finish.low_ms, asked->finish.median_ms, asked->finish.high_ms};
    static const double p[3] = {.1, .5, .9};
    assert_true(at[0] <= at[1] && at[1] <= at[2] && at[0] >= wall(asked->now_min));
    tally->count++;
    tally->inside += done_ms >= at[0] && done_ms <= at[2] ? 1 : 0;
    tally->below += done_ms < at[0] ? 1 : 0;
    tally->on_day += is_own_day(painter, at[1]) ? 1 : 0;
    tally->width_days += (double)(at[2] - at[0]) / 86400000;
    for (int i = 0; i < 3; i++) {
        const double off = (double)(done_ms - at[i]) / 86400000;
        tally->loss += (off > 0 ? p[i] : p[i] - 1) * off;
    }
}

/* What was asked of it, and when it was done. */
static void paint_unit(struct painter *painter, struct asked asked[WHEN_COUNT], double *done_min)
{
    struct unit unit;
    struct cb_arena arena = {0};
    unit_init(&unit, painter);
    unit.brush = CB_PLAN_NO_PAINT;
    cb_hours_new_unit(painter->hours);
    const struct cb_plan plan = plan_of(&unit, painter, &arena);
    memset(asked, 0, WHEN_COUNT * sizeof *asked);
    asked[WHEN_BEGUN] = ask(&unit, painter, -1);
    const size_t ask_at[WHEN_COUNT] = {0, dice_below(&painter->dice, plan.task_count * 3 / 4),
                                       dice_below(&painter->dice, plan.task_count * 3 / 4)};
    for (size_t i = 0; i < plan.task_count;) {
        double length_min;
        const double from_min = next_evening(painter, &length_min);
        struct record record = {0};
        painter->now_min = from_min;
        painter->mood = exp(.2 * bell(&painter->dice));
        unit.brush = CB_PLAN_NO_PAINT;
        while (i < plan.task_count && painter->now_min < from_min + length_min &&
               put_on(&unit, painter, &plan.tasks[i], from_min + length_min, &record)) {
            if (i++ == ask_at[WHEN_SITTING] && i < plan.task_count) {
                asked[WHEN_SITTING] = ask(&unit, painter, from_min);
            }
        }
        for (size_t t = 0; t < TECHNIQUES; t++) {
            if (record.marks[t] > 0) {
                cb_hours_add_marks(painter->hours, t, record.log_sum[t] / record.marks[t],
                                   record.marks[t]);
            }
        }
        painter->now_min += even(&painter->dice, 0, 6); /* packs up */
        painter->habits.all_min += painter->now_min - from_min;
        cb_vec_push(&painter->evenings,
                    ((struct cb_evening){wall(from_min), wall(painter->now_min)}));
        if (i >= ask_at[WHEN_MORNING] && i < plan.task_count && !asked[WHEN_MORNING].is) {
            const double now_min = painter->now_min;
            const double morning = floor((now_min + 360) / DAY_MIN) * DAY_MIN + 8 * 60;
            const bool again = painter->second_min >= 0 && painter->second_min < morning;
            painter->now_min = again ? now_min + 5 : fmax(morning, now_min + 5);
            asked[WHEN_MORNING] = ask(&unit, painter, -1);
            painter->now_min = now_min;
        }
    }
    *done_min = unit.last_dry_min;
    cb_arena_fini(&arena);
}

static void add(struct tally *sum, const struct tally *more)
{
    sum->inside += more->inside;
    sum->below += more->below;
    sum->on_day += more->on_day;
    sum->count += more->count;
    sum->width_days += more->width_days;
    sum->loss += more->loss;
}

static void print_tally(const char *what, const struct tally *tally)
{
    if (tally->count > 0) {
        print_message(
            "  %-18s %5d finishes: %5.1f %% inside, %4.1f %% before, %4.1f %% after; %4.1f "
            "days wide, loss %.3f\n",
            what, tally->count, 100.0 * tally->inside / tally->count,
            100.0 * tally->below / tally->count,
            100.0 * (tally->count - tally->inside - tally->below) / tally->count,
            tally->width_days / tally->count, tally->loss / tally->count);
    }
}

static void paint_units(struct painter *painter, struct tally tally[WHEN_COUNT][DAYS_COUNT],
                        struct tally *few)
{
    for (int u = 0; u < UNITS; u++) {
        struct asked asked[WHEN_COUNT];
        double done_min;
        paint_unit(painter, asked, &done_min);
        for (int w = 0; w < WHEN_COUNT; w++) {
            const size_t known = asked[w].finish.known_evenings;
            if (!asked[w].is) {
                continue;
            }
            assert_int_equal(asked[w].finish.from, known >= CB_FINISH_EVENINGS_MIN
                                                       ? CB_FINISH_LEARNED
                                                       : CB_FINISH_UNKNOWN);
            if (u >= UNITS_BEFORE) {
                judge(&asked[w], painter, done_min, &tally[w][painter->days]);
            } else if (known >= CB_FINISH_EVENINGS_MIN && known <= FEW) {
                judge(&asked[w], painter, done_min, few);
            }
        }
    }
}

static void range_holds(void **state)
{
    (void)state;
    struct tally tally[WHEN_COUNT][DAYS_COUNT] = {0}, few = {0};
    for (int p = 0; p < painters; p++) {
        struct painter painter;
        painter_init(&painter, p);
        paint_units(&painter, tally, &few);
        cb_hours_free(painter.hours);
        cb_vec_free(&painter.evenings);
    }
    struct tally all = {0}, bound = {0};
    for (int w = 0; w < WHEN_COUNT; w++) {
        struct tally sum = {0};
        for (int d = 0; d < DAYS_COUNT; d++) {
            add(&sum, &tally[w][d]);
        }
        print_tally(when_names[w], &sum);
        add(&all, &sum);
    }
    for (int d = 0; d < DAYS_COUNT; d++) {
        struct tally sum = {0};
        for (int w = 0; w < WHEN_COUNT; w++) {
            add(&sum, &tally[w][d]);
        }
        print_tally(day_names[d], &sum);
        if (d == DAYS_OF_WEEK || d == DAYS_WEEKEND) {
            add(&bound, &sum);
        }
    }
    print_tally("all", &all);
    print_tally("few evenings", &few);
    print_message("  on a day of theirs, who are bound to weekdays: %.1f %%\n",
                  100.0 * bound.on_day / bound.count);
    assert_true(100 * all.inside >= 70 * all.count && 100 * all.inside <= 90 * all.count);
    assert_true(100 * few.inside >= 70 * few.count && 100 * few.inside <= 90 * few.count);
    assert_true(100 * bound.on_day >= 60 * bound.count);
}

int main(int argc, char **argv)
{
    painters = argc > 1 ? atoi(argv[1]) : painters;
    seed = argc > 2 ? strtoull(argv[2], NULL, 10) : seed;
    const struct CMUnitTest tests[] = {cmocka_unit_test(range_holds)};
    return cmocka_run_group_tests_name("finish", tests, NULL, NULL);
}
