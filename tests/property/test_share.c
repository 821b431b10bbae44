/* SPDX-License-Identifier: MIT */
/* What leaves a bench as a table and comes into another: never surer than three coats, never
 * further out than the coats were, and paints that differ keep their order. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <cmocka.h>

#include "core/learn/learn.h"

#define SEED       20261128u
#define ROUNDS     30
#define POTS       5
#define COATS_MAX  40
#define MEDIAN_MIN 10.0
#define POT_SD     .30

static const char *const names[POTS] = {"a", "b", "c", "d", "e"};

static double uniform(uint64_t *dice)
{
    *dice = *dice * 6364136223846793005u + 1442695040888963407u;
    return (double)(*dice >> 11) / 9007199254740992.0;
}

static double normal(uint64_t *dice)
{
    return sqrt(-2 * log(1 - uniform(dice))) * cos(6.283185307179586 * uniform(dice));
}

/* A film that dried at that time, as this painter looked at it. */
static struct cb_row film(uint64_t *dice, const char *pot, double min)
{
    struct cb_row row = {.kind = CB_ROW_FILM,
                         .pot = pot,
                         .pot_sd = POT_SD,
                         .median_min = MEDIAN_MIN,
                         .hi = min * exp(.5 * uniform(dice))};
    const double how = uniform(dice);
    if (how < .6) {
        row.lo = min * exp(-.5 * uniform(dice) - .01);
    } else if (how < .7) {
        row.lo = min * exp(-.5 * uniform(dice) - .01);
        row.hi = INFINITY; /* lifted */
    } else if (how < .8) {
        row.kind = CB_ROW_WEAK;
        row.confidence = .8;
    }
    return row;
}

static struct cb_learn *learner(const struct cb_row *rows, size_t count)
{
    struct cb_learn *learn = cb_learn_new(NULL);
    cb_learn_sync(learn, rows, count);
    return learn;
}

static struct cb_learn_pot alone(const struct cb_row *rows, size_t count, const char *pot)
{
    struct cb_learn *learn = learner(rows, count);
    const struct cb_learn_pot out = cb_learn_pot(learn, pot, POT_SD);
    cb_learn_free(learn);
    return out;
}

struct shared {
    struct cb_learn_told told;
    struct cb_learn_pot theirs, mine; /* by this pot alone */
};

static struct shared share(uint64_t *dice, const char *pot)
{
    static struct cb_row rows[COATS_MAX];
    struct shared out;
    const size_t count = 1 + (size_t)(uniform(dice) * COATS_MAX);
    const double theta = .4 * normal(dice);
    for (size_t i = 0; i < count; i++) {
        rows[i] = film(dice, pot, MEDIAN_MIN * exp(theta + .2 * normal(dice)));
        rows[i].at_ms = (int64_t)i * 60000;
    }
    struct cb_learn *theirs = learner(rows, count);
    size_t answers = 0, silent = 0; /* of these some are worth nothing */
    for (size_t i = 0; i < count; i++) {
        answers += rows[i].kind == CB_ROW_FILM && cb_learn_is_lesson(theirs, &rows[i]);
        silent += rows[i].kind == CB_ROW_WEAK;
    }
    out.theirs = cb_learn_pot(theirs, pot, POT_SD);
    const bool any = cb_learn_told(theirs, pot, &out.told);
    const size_t lessons = out.told.coats;
    assert_true(any == (lessons > 0) && lessons >= answers && lessons <= answers + silent);
    cb_learn_free(theirs);
    if (lessons == 0) {
        return share(dice, pot);
    }
    const struct cb_row given = {.kind = CB_ROW_GIVEN,
                                 .pot = pot,
                                 .pot_sd = POT_SD,
                                 .median_min = MEDIAN_MIN,
                                 .lo = MEDIAN_MIN * out.told.low,
                                 .hi = MEDIAN_MIN * out.told.high,
                                 .value = (double)lessons};
    out.mine = alone(&given, 1, pot);
    const double middle = MEDIAN_MIN * out.told.ratio;
    const struct cb_row coat = {.kind = CB_ROW_FILM,
                                .pot = pot,
                                .pot_sd = POT_SD,
                                .median_min = MEDIAN_MIN,
                                .lo = middle * exp(-.01),
                                .hi = middle * exp(.01)};
    const struct cb_row three[] = {coat, coat, coat};
    assert_true(out.mine.sd >= alone(three, lessons < 3 ? lessons : 3, pot).sd - .002);
    return out;
}

static void test_shared(void **state)
{
    (void)state;
    uint64_t dice = SEED;
    size_t ordered = 0;
    print_message("seed %u\n", SEED);
    for (int round = 0; round < ROUNDS; round++) {
        struct shared pots[POTS];
        for (size_t i = 0; i < POTS; i++) {
            const struct shared one = share(&dice, names[i]);
            pots[i] = one;
            assert_true(one.told.low > 0 && one.told.low < one.told.high);
            assert_true(fabs(log(one.told.ratio) - one.theirs.mean) < .01);
            assert_true(one.mine.sd >= one.theirs.sd - .02);
            assert_true(fabs(one.mine.mean) <= fabs(one.theirs.mean) + .03);
            /* few coats travel whole */
            assert_true(one.told.coats > 3 || fabs(one.mine.mean - one.theirs.mean) < .03);
        }
        for (size_t i = 0; i < POTS; i++) {
            for (size_t k = 0; k < POTS; k++) {
                if (pots[i].told.coats > 3 && pots[k].told.coats > 3 &&
                    pots[i].theirs.mean > pots[k].theirs.mean + .25) {
                    assert_true(pots[i].mine.mean > pots[k].mine.mean);
                    ordered++;
                }
            }
        }
    }
    assert_true(ordered > 50);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_shared)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
