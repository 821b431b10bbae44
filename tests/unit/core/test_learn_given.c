/* SPDX-License-Identifier: MIT */
/* What another painter's coats weigh: as so many of one's own, three at most, and first. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "core/learn/learn.h"

#define MEDIAN_MIN            10.0
#define POT_SD                .30
#define ROWS_MAX              900
#define COUNT(list)           (sizeof(list) / sizeof *(list))
#define assert_near(a, b, by) assert_true(fabs((a) - (b)) <= (by))

struct rows {
    struct cb_row rows[ROWS_MAX];
    size_t count;
};

static struct cb_row *add(struct rows *rows, enum cb_row_kind kind, const char *pot, double lo,
                          double hi)
{
    struct cb_row *row = &rows->rows[rows->count++];
    *row = (struct cb_row){.kind = kind,
                           .pot = pot,
                           .pot_sd = POT_SD,
                           .median_min = MEDIAN_MIN,
                           .lo = lo,
                           .hi = hi,
                           .at_ms = (int64_t)rows->count * 60000};
    return row;
}

/* Found wet and dry close around that time. */
static void add_coats(struct rows *rows, const char *pot, double min, double half, int coats)
{
    for (int i = 0; i < coats; i++) {
        add(rows, CB_ROW_FILM, pot, min / exp(half), min * exp(half));
    }
}

static struct cb_row *give(struct rows *rows, const char *pot, double min, double half, int coats)
{
    struct cb_row *row = add(rows, CB_ROW_GIVEN, pot, min / exp(half), min * exp(half));
    row->value = coats;
    return row;
}

static void give_told(struct rows *rows, const char *pot, const struct cb_learn_told *told)
{
    add(rows, CB_ROW_GIVEN, pot, MEDIAN_MIN * told->low, MEDIAN_MIN * told->high)->value =
        (double)told->coats;
}

static struct cb_learn *learner(const struct rows *rows)
{
    struct cb_learn *learn = cb_learn_new(NULL);
    cb_learn_sync(learn, rows->rows, rows->count);
    return learn;
}

static double quantile(const struct cb_learn *learn, const char *pot, double p)
{
    return cb_learn_quantile(learn, pot, POT_SD, MEDIAN_MIN, p, 0);
}

/* What leaves one bench moves a fresh one as so many coats of its own would, three at most. */
static void test_as_three_coats(void **state)
{
    (void)state;
    static const struct {
        double min, half;
    } answers[] = {{20, .02}, {20, .2}, {5, .1}, {11, .3}, {30, .05}};
    static const int coats[] = {1, 2, 3, 40};
    for (size_t a = 0; a < COUNT(answers); a++) {
        for (size_t c = 0; c < COUNT(coats); c++) {
            struct rows theirs = {0}, real = {0}, given = {0};
            struct cb_learn_told told;
            add_coats(&theirs, "a", answers[a].min, answers[a].half, coats[c]);
            struct cb_learn *learn = learner(&theirs);
            assert_true(cb_learn_told(learn, "a", &told));
            assert_int_equal(told.coats, coats[c]);
            cb_learn_free(learn);
            give_told(&given, "a", &told);
            const int count = coats[c] < 3 ? coats[c] : 3;
            add_coats(&real, "a", answers[a].min, answers[a].half, count);
            struct cb_learn *by_given = learner(&given), *by_real = learner(&real);
            for (double p = .1; p < .95; p += .1) { /* within 2 % at every chance */
                const double off = quantile(by_given, "a", p) / quantile(by_real, "a", p);
                assert_near(off, 1, .02);
            }
            const double sd = cb_learn_pot(by_given, "a", POT_SD).sd;
            assert_near(sd / cb_learn_pot(by_real, "a", POT_SD).sd, 1, .03);
            assert_int_equal(cb_learn_pot(by_given, "a", POT_SD).rows, count);
            /* a paint of the same bench follows as it would have */
            assert_near(quantile(by_given, "b", .8) / quantile(by_real, "b", .8), 1, .02);
            cb_learn_free(by_given);
            cb_learn_free(by_real);
        }
    }
}

/* The rings of painters who only say when it was dry tell little, and no more is given. */
static void test_never_surer(void **state)
{
    (void)state;
    for (int coats = 1; coats <= 40; coats += 3) {
        struct rows theirs = {0}, given = {0}, exact = {0};
        struct cb_learn_told told;
        for (int i = 0; i < coats; i++) {
            add(&theirs, CB_ROW_FILM, "a", 0, 14 + i % 3);
        }
        struct cb_learn *learn = learner(&theirs);
        assert_true(cb_learn_told(learn, "a", &told));
        give_told(&given, "a", &told);
        add_coats(&exact, "a", MEDIAN_MIN * told.ratio, .01, 3);
        struct cb_learn *taken = learner(&given), *three = learner(&exact);
        const double sd = cb_learn_pot(taken, "a", POT_SD).sd;
        assert_true(sd >= cb_learn_pot(learn, "a", POT_SD).sd - .005);
        assert_true(sd >= cb_learn_pot(three, "a", POT_SD).sd - .001);
        cb_learn_free(learn);
        cb_learn_free(taken);
        cb_learn_free(three);
    }
}

static void test_same_twice_and_two_painters(void **state)
{
    (void)state;
    struct rows once = {0}, twice = {0}, two = {0}, far = {0};
    give(&once, "a", 20, .1, 2);
    give(&twice, "a", 20, .1, 2);
    give(&twice, "a", 20, .1, 2);
    give(&two, "a", 20, .1, 40);
    give(&two, "a", 22, .1, 40);
    give(&far, "a", 10, .1, 40);
    give(&far, "a", 40, .1, 40);
    struct cb_learn *one = learner(&once), *same = learner(&twice), *both = learner(&two),
                    *apart = learner(&far);
    assert_true(quantile(one, "a", .8) == quantile(same, "a", .8));
    assert_int_equal(cb_learn_pot(both, "a", POT_SD).rows, 3);
    assert_true(quantile(both, "a", .5) > quantile(one, "a", .5));
    assert_int_equal(cb_learn_pot(apart, "a", POT_SD).rows, 3);
    /* who disagree are believed less */
    assert_true(cb_learn_pot(apart, "a", POT_SD).sd > 1.2 * cb_learn_pot(both, "a", POT_SD).sd);
    cb_learn_free(one);
    cb_learn_free(same);
    cb_learn_free(both);
    cb_learn_free(apart);
}

/* Whenever it is given, it stands before one's own coats, and those overrule it. */
static void test_own_coats_overrule(void **state)
{
    (void)state;
    struct rows before = {0}, after = {0}, own = {0}, same = {0};
    give(&before, "a", 30, .05, 14);
    add_coats(&before, "a", 10, .05, 40);
    add_coats(&after, "a", 10, .05, 40);
    add_coats(&own, "a", 10, .05, 40);
    give(&after, "a", 30, .05, 14);
    add_coats(&same, "a", 30, .05, 3);
    add_coats(&same, "a", 10, .05, 40);
    struct cb_learn *first = learner(&before), *last = learner(&after), *alone = learner(&own),
                    *real = learner(&same);
    assert_true(quantile(first, "a", .8) == quantile(last, "a", .8));
    assert_near(quantile(first, "a", .8) / quantile(alone, "a", .8), 1, .08);
    assert_near(quantile(first, "a", .8) / quantile(real, "a", .8), 1, .005);
    /* what is passed on is one's own alone */
    struct cb_learn_told told, bare;
    assert_true(cb_learn_told(first, "a", &told) && cb_learn_told(alone, "a", &bare));
    assert_true(told.coats == 40 && told.low == bare.low && told.high == bare.high);
    cb_learn_free(first);
    cb_learn_free(last);
    cb_learn_free(alone);
    cb_learn_free(real);
    struct rows only = {0};
    give(&only, "a", 30, .05, 14);
    struct cb_learn *nothing = learner(&only);
    assert_false(cb_learn_told(nothing, "a", &told));
    cb_learn_free(nothing);
}

/* Of a pot that no unit has, nothing is said of others until it is painted with. */
static void test_waits(void **state)
{
    (void)state;
    struct rows rows = {0};
    struct cb_learn *fresh = cb_learn_new(NULL);
    give(&rows, "a", 30, .05, 14)->waits = true;
    struct cb_learn *learn = learner(&rows);
    assert_true(quantile(learn, "b", .8) == quantile(fresh, "b", .8));
    assert_true(quantile(learn, "a", .8) > 1.5 * quantile(fresh, "a", .8));
    rows.rows[0].waits = false;
    cb_learn_sync(learn, rows.rows, rows.count);
    assert_true(quantile(learn, "b", .8) > 1.1 * quantile(fresh, "b", .8));
    rows.rows[0].waits = true;
    add_coats(&rows, "a", 30, .05, 1);
    cb_learn_sync(learn, rows.rows, rows.count);
    assert_true(quantile(learn, "b", .8) > 1.1 * quantile(fresh, "b", .8));
    cb_learn_free(learn);
    cb_learn_free(fresh);
}

/* Step by step or at once, back and forth: a function of the rows, to the bit. */
static void test_same_by_any_way(void **state)
{
    (void)state;
    struct rows rows = {0};
    static const char *const pots[] = {"a", "b", "c"};
    unsigned dice = 7;
    struct cb_learn *learn = cb_learn_new(NULL);
    for (int i = 0; i < 700; i++) {
        dice = dice * 1103515245u + 12345u;
        const char *pot = pots[dice / 65536 % 3];
        const unsigned what = dice / 4096 % 40;
        if (what < 4) {
            give(&rows, pot, 8 + what, .1 * what, 1 + (int)what)->waits = what == 2;
        } else if (what == 4) {
            add(&rows, CB_ROW_FORGET, dice % 3 ? pot : NULL, 0, 0);
        } else if (what == 5) {
            add(&rows, CB_ROW_BOTTLE, pot, 0, 0);
        } else {
            add_coats(&rows, pot, 6 + what % 9, .2, 1);
        }
        if (what == 7 && rows.count > 9) {
            rows.count -= 5;
        }
        cb_learn_sync(learn, rows.rows, rows.count);
        if (i % 23 == 0) {
            struct cb_learn *anew = learner(&rows);
            for (size_t p = 0; p < COUNT(pots); p++) {
                assert_true(quantile(learn, pots[p], .8) == quantile(anew, pots[p], .8));
            }
            cb_learn_free(anew);
        }
    }
    cb_learn_free(learn);
}

static void test_forgotten(void **state)
{
    (void)state;
    struct rows rows = {0};
    give(&rows, "a", 30, .05, 14);
    add(&rows, CB_ROW_FORGET, "a", 0, 0);
    struct cb_learn *learn = learner(&rows), *fresh = cb_learn_new(NULL);
    assert_true(quantile(learn, "a", .8) == quantile(fresh, "a", .8));
    give(&rows, "a", 30, .05, 14); /* and given once more */
    cb_learn_sync(learn, rows.rows, rows.count);
    assert_true(quantile(learn, "a", .8) > 1.5 * quantile(fresh, "a", .8));
    cb_learn_free(learn);
    cb_learn_free(fresh);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_as_three_coats),
        cmocka_unit_test(test_never_surer),
        cmocka_unit_test(test_same_twice_and_two_painters),
        cmocka_unit_test(test_own_coats_overrule),
        cmocka_unit_test(test_waits),
        cmocka_unit_test(test_same_by_any_way),
        cmocka_unit_test(test_forgotten),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
