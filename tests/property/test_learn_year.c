/* SPDX-License-Identifier: MIT */
/*
 * What learning must reach over simulated painters' years (tests/support/painter.h), smaller than
 * `make bench` and with the same seeds each time: loss of the first ping against an oracle that
 * knows the painter, the share found dry, whatever a painter says or does not say, and when the
 * bench changes under it. test_learn_year [PAINTERS]: `make sweep` has forty of each.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <cmocka.h>

#include <math.h>

#include "support/painter.h"

#define SEED 1

static int painters = 8;

static void at_most(const char *what, double got, double most)
{
    if (!(got <= most)) {
        print_error("%s: %.4f, at most %.4f; painters %d to %d\n", what, got, most, SEED,
                    SEED + painters - 1);
    }
    assert_true(got <= most);
}

static void within(const char *what, double got, double least, double most)
{
    if (!(got >= least && got <= most)) {
        print_error("%s: %.1f, within %.1f and %.1f; painters %d to %d\n", what, got, least, most,
                    SEED, SEED + painters - 1);
    }
    assert_true(got >= least && got <= most);
}

static double total(const struct outcome *outcome)
{
    double sum = 0;
    for (int i = 0; i < YEAR_BLOCKS; i++) {
        sum += outcome->loss[i];
    }
    return sum;
}

/* Films of a painter from that one (from 1) to that one: share dry at their first ring, per cent.
 */
static double dry(const struct outcome *outcome, int from, int to)
{
    double sum = 0;
    for (int i = from; i <= to; i++) {
        sum += outcome->dry_at[i - 1];
    }
    return 100 * sum / (painters * (to - from + 1));
}

static void year_with_answers(void **state)
{
    (void)state;
    struct year year = year_default;
    struct outcome model = painter_years(&year, SEED, painters);
    year.settings.step = 0;
    struct outcome unshifted = painter_years(&year, SEED, painters);
    year = year_default;
    year.policy = POLICY_ORACLE;
    struct outcome oracle = painter_years(&year, SEED, painters);
    year.policy = POLICY_TIMER;
    year.timer_min = 30;
    struct outcome timer = painter_years(&year, SEED, painters);
    at_most("loss, coats 11-30", model.loss[1] / oracle.loss[1], 1.5);
    at_most("loss, coats 31-100", model.loss[2] / oracle.loss[2], 1.3);
    at_most("loss, coats 101-300", model.loss[3] / oracle.loss[3], 1.2);
    at_most("off 80 % dry", fabs(100.0 * model.first_dry / model.coats - 80), 3);
    at_most("against the kitchen timer", total(&model) / total(&timer), 1 / 2.5);
    at_most("coats until a new paint's median is known", (double)model.median_ready / painters, 12);
    at_most("loss of a quiet year against no shift", total(&model) / total(&unshifted), 1.03);
}

/* Who comes ten minutes after each ring finds most films dry. The shift makes nothing of that:
 * rings stay where the tables alone have them. */
static void who_answers_late(void **state)
{
    (void)state;
    static const int blocks[][2] = {{11, 30}, {31, 60}, {61, 100}, {101, 200}};
    struct year year = year_default;
    year.coats = 200;
    year.late_min = 10;
    struct outcome late = painter_years(&year, SEED, painters);
    year.settings.step = 0;
    struct outcome unshifted = painter_years(&year, SEED, painters);
    for (int b = 0; b < 4; b++) {
        const int from = blocks[b][0], to = blocks[b][1];
        at_most("points that the shift takes from who answers late",
                fabs(dry(&late, from, to) - dry(&unshifted, from, to)), 10);
    }
}

/* Who never says a word is no worse off, in any block, than with nothing learned at all: by 18
 * points at the most. */
static void never_a_word(void **state)
{
    (void)state;
    static const struct {
        const char *who;
        enum habit habit;
    } habits[] = {
        {"paints over at the ring", HABIT_RING},
        {"waits for dry", HABIT_DRY},
        {"looks and never waits", HABIT_LOOK},
        {"own timer of 25 min", HABIT_TIMER},
    };
    static const int blocks[][2] = {{11, 30}, {31, 60}, {61, 100}, {101, 200}};
    struct year year = year_default;
    year.coats = 200;
    year.dull = true;
    struct outcome nothing = painter_years(&year, SEED, painters);
    for (int i = 0; i < 8; i++) {
        year = year_default;
        year.coats = 200;
        year.habit = habits[i / 2].habit;
        year.late_min = i % 2 ? 10 : 0;
        struct outcome silent = painter_years(&year, SEED, painters);
        for (int b = 0; b < 4; b++) {
            at_most(habits[i / 2].who,
                    fabs(dry(&silent, blocks[b][0], blocks[b][1]) -
                         dry(&nothing, blocks[b][0], blocks[b][1])),
                    18);
        }
    }
}

/* Who says a part of it. */
static void half_a_word(void **state)
{
    (void)state;
    struct year year = year_default;
    year.coats = 200;
    year.habit = HABIT_HALF;
    struct outcome half = painter_years(&year, SEED, painters);
    year.habit = HABIT_WET_ONLY;
    struct outcome wet = painter_years(&year, SEED, painters);
    year.habit = HABIT_RING;
    year.lifts = .5;
    struct outcome some = painter_years(&year, SEED, painters);
    year.lifts = 1;
    struct outcome all = painter_years(&year, SEED, painters);
    static const int blocks[][2] = {{11, 30}, {31, 60}, {61, 100}, {101, 200}};
    for (int b = 0; b < 4; b++) {
        const int from = blocks[b][0], to = blocks[b][1];
        within("half of the rings answered", dry(&half, from, to), 68, 85);
        within("only ever says wet", dry(&wet, from, to), 75, 98);
        within("half of the lifts told", dry(&some, from, to), 75, 98);
        within("all lifts told", dry(&all, from, to), 75, 98);
    }
}

static void year_that_drifts(void **state)
{
    (void)state;
    struct year year = year_default;
    year.drift = .6;
    struct outcome drift = painter_years(&year, SEED, painters);
    for (int from = 1; from < YEAR_COATS; from += 50) {
        within("a drift of .6 over the year", dry(&drift, from, from + 49), 72, 85);
    }
}

static void bench_that_turns_slower(void **state)
{
    (void)state;
    struct year year = year_default;
    year.slower = log(1.6);
    struct outcome jump = painter_years(&year, SEED, painters);
    const int from = YEAR_COATS / 2 + 1;
    within("films 11 to 20 after it turned slower", dry(&jump, from + 10, from + 19), 65, 100);
    within("from then on", dry(&jump, from + 20, YEAR_COATS), 75, 88);
}

static void year_with_slips(void **state)
{
    (void)state;
    struct year year = year_default;
    struct outcome clean = painter_years(&year, SEED, painters);
    year.mis_key = .05;
    struct outcome slips = painter_years(&year, SEED, painters);
    at_most("loss with one wrong key in twenty", total(&slips) / total(&clean), 1.25);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(year_with_answers), cmocka_unit_test(who_answers_late),
        cmocka_unit_test(never_a_word),      cmocka_unit_test(half_a_word),
        cmocka_unit_test(year_that_drifts),  cmocka_unit_test(bench_that_turns_slower),
        cmocka_unit_test(year_with_slips),
    };
    if (argc > 1) {
        painters = (int)strtol(argv[1], NULL, 10);
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
