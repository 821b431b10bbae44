/* SPDX-License-Identifier: MIT */
/* What must hold of the learner whatever the rows: see tests/reference for its figures. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/learn/learn.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static const char *const pots[] = {"tarred rope", "oilskin green", "ebb wash", "wick white"};

static double unit(uint64_t *seed)
{
    *seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(*seed >> 11) / 9007199254740992.0;
}

static struct cb_row film(const char *pot, double lo, double hi)
{
    return (struct cb_row){
        .kind = CB_ROW_FILM, .pot = pot, .pot_sd = .30, .median_min = 9, .lo = lo, .hi = hi};
}

static struct cb_row any_row(uint64_t *seed)
{
    double lo = 4 + 10 * unit(seed), kind = unit(seed);
    struct cb_row row = film(pots[(size_t)(4 * unit(seed))], lo, lo + 1 + 5 * unit(seed));
    row.technique = (int)(3 * unit(seed));
    row.heard = (enum cb_heard)(4 * unit(seed));
    row.heard_ms = (int64_t)(20 * unit(seed));
    row.confidence = unit(seed) < .5 ? .8 : .95;
    if (kind < .4) {
        row.lo = 0;
    } else if (kind < .5) {
        row.hi = INFINITY;
    } else if (kind < .65) {
        row.lo = 0;
        row.kind = CB_ROW_WEAK;
    } else if (kind < .68) {
        row.kind = CB_ROW_BOTTLE;
    } else if (kind < .70) {
        row.kind = CB_ROW_FORGET;
        row.pot = unit(seed) < .5 ? NULL : row.pot;
    } else if (kind < .72) {
        row.kind = CB_ROW_ANSWER;
        row.pot = NULL;
        row.value = unit(seed) - .5;
    }
    return row;
}

/* Everything one can ask, as numbers. */
static size_t asked(const struct cb_learn *learn, double out[64])
{
    size_t n = 0;
    for (size_t i = 0; i < COUNT(pots); i++) {
        for (double p = .5; p < 1; p += .15) {
            out[n++] = cb_learn_quantile(learn, pots[i], .30, 9, p, 0);
            out[n++] = cb_learn_quantile(learn, pots[i], .30, 9, p, 12);
        }
        struct cb_learn_pot pot = cb_learn_pot(learn, pots[i], .30);
        out[n++] = pot.mean;
        out[n++] = pot.sd;
        out[n++] = (double)pot.rows;
    }
    cb_learn_bench(learn, &out[n], &out[n + 1]);
    return n + 2;
}

static void same_to_the_bit(const struct cb_learn *a, const struct cb_learn *b)
{
    double x[64] = {0}, y[64] = {0};
    size_t n = asked(a, x);
    assert_int_equal(n, asked(b, y));
    assert_memory_equal(x, y, sizeof x);
}

/* However the rows came, in one go, one by one, with some taken back or replaced: the same. */
static void result_depends_on_the_rows_alone(void **state)
{
    (void)state;
    for (uint64_t start = 1; start <= 3; start++) {
        uint64_t seed = start;
        struct cb_learn *step = cb_learn_new(NULL);
        struct cb_row rows[150];
        size_t n = 0;
        while (n < COUNT(rows)) {
            double what = unit(&seed);
            if (what < .7 || n < 4) {
                rows[n++] = any_row(&seed);
            } else if (what < .8) { /* undo a few */
                n -= (size_t)(3 * unit(&seed));
            } else if (what < .9) { /* an answer settles a film further up */
                rows[n - 1 - (size_t)(unit(&seed) * (n < 40 ? (double)n : 40))] = any_row(&seed);
            } else { /* a merge puts one in the middle */
                size_t at = (size_t)(unit(&seed) * (double)n);
                memmove(rows + at + 1, rows + at, (n - at) * sizeof *rows);
                rows[at] = any_row(&seed);
                n++;
            }
            cb_learn_sync(step, rows, n);
            if (n % 37 == 0) {
                struct cb_learn *fresh = cb_learn_new(NULL);
                cb_learn_sync(fresh, rows, n);
                same_to_the_bit(step, fresh);
                cb_learn_free(fresh);
            }
        }
        cb_learn_free(step);
    }
}

static void undone_check_was_never_made(void **state)
{
    (void)state;
    struct cb_row rows[] = {film(pots[0], 0, 14), film(pots[1], 0, 11), film(pots[0], 9, INFINITY)};
    struct cb_learn *plain = cb_learn_new(NULL), *learn = cb_learn_new(NULL);
    cb_learn_sync(plain, rows, 3);
    cb_learn_sync(learn, rows, 3);
    rows[2].hi = 12;
    cb_learn_sync(learn, rows, 3);
    assert_true(fabs(cb_learn_quantile(learn, pots[0], .3, 9, .8, 0) -
                     cb_learn_quantile(plain, pots[0], .3, 9, .8, 0)) > .01);
    rows[2].hi = INFINITY;
    cb_learn_sync(learn, rows, 3);
    same_to_the_bit(plain, learn);
    cb_learn_sync(learn, rows, 0);
    cb_learn_free(plain);
    plain = cb_learn_new(NULL);
    same_to_the_bit(plain, learn);
    cb_learn_free(plain);
    cb_learn_free(learn);
}

static void order_does_not_matter_without_fading(void **state)
{
    (void)state;
    uint64_t seed = 7;
    struct cb_learn_settings settings = cb_learn_default;
    settings.fade = 1;
    settings.weak = .5; /* what silence is worth goes by the words before it, */
    settings.step = 0;  /* and the shift by when each was said */
    struct cb_row rows[120];
    size_t n = 0;
    while (n < COUNT(rows)) {
        struct cb_row row = any_row(&seed);
        if (row.kind == CB_ROW_FILM || row.kind == CB_ROW_WEAK || row.kind == CB_ROW_ANSWER) {
            rows[n++] = row;
        }
    }
    struct cb_learn *learn = cb_learn_new(&settings);
    double before[64], after[64];
    cb_learn_sync(learn, rows, n);
    size_t count = asked(learn, before);
    for (size_t i = n - 1; i > 0; i--) {
        size_t j = (size_t)(unit(&seed) * (double)(i + 1));
        struct cb_row swap = rows[i];
        rows[i] = rows[j];
        rows[j] = swap;
    }
    cb_learn_sync(learn, rows, n);
    asked(learn, after);
    for (size_t i = 0; i < count; i++) {
        assert_true(fabs(before[i] - after[i]) <= 1e-9 * fmax(1, fabs(before[i])));
    }
    cb_learn_free(learn);
}

static void forgetting_brings_the_prior_back(void **state)
{
    (void)state;
    struct cb_row rows[] = {{.kind = CB_ROW_ANSWER, .value = .4},
                            film(pots[0], 12, 20),
                            film(pots[1], 0, 11),
                            {.kind = CB_ROW_FORGET}};
    struct cb_learn *learn = cb_learn_new(NULL), *prior = cb_learn_new(NULL);
    cb_learn_sync(learn, rows, 4);
    same_to_the_bit(learn, prior);
    assert_false(cb_learn_pot(learn, pots[0], .3).known);
    /* only one pot: the other still teaches the bench */
    rows[3].pot = pots[0];
    cb_learn_sync(learn, rows, 4);
    assert_false(cb_learn_pot(learn, pots[0], .3).known);
    struct cb_row left[] = {rows[0], rows[2]};
    cb_learn_sync(prior, left, 2);
    same_to_the_bit(learn, prior);
    cb_learn_sync(learn, rows, 3); /* forgetting undone */
    cb_learn_sync(prior, rows, 3);
    same_to_the_bit(learn, prior);
    cb_learn_free(learn);
    cb_learn_free(prior);
}

/* b ~ N(0, .35), seen with sd .30: normal theory, by hand. */
static void first_answer_moves_the_bench(void **state)
{
    (void)state;
    struct cb_row row = {.kind = CB_ROW_ANSWER, .value = .5};
    struct cb_learn *learn = cb_learn_new(NULL);
    cb_learn_sync(learn, &row, 1);
    double mean, sd, keep = .35 * .35 / (.35 * .35 + .30 * .30);
    cb_learn_bench(learn, &mean, &sd);
    assert_true(fabs(mean - .5 * keep) < 1e-9);
    assert_true(fabs(sd - .35 * sqrt(1 - keep)) < 1e-9);
    cb_learn_free(learn);
}

/* A new bottle believes what the old one taught, less surely. */
static void new_bottle_widens(void **state)
{
    (void)state;
    struct cb_row rows[30];
    for (size_t i = 0; i < 29; i++) {
        rows[i] = film(pots[0], 12, 14);
    }
    rows[29] = (struct cb_row){.kind = CB_ROW_BOTTLE, .pot = pots[0], .pot_sd = .30};
    struct cb_learn *learn = cb_learn_new(NULL);
    cb_learn_sync(learn, rows, 29);
    struct cb_learn_pot old = cb_learn_pot(learn, pots[0], .30);
    cb_learn_sync(learn, rows, 30);
    struct cb_learn_pot new = cb_learn_pot(learn, pots[0], .30);
    assert_true(fabs(new.mean - old.mean) < .03);
    assert_true(new.sd > old.sd);
    assert_true(fabs(new.sd - sqrt(old.sd * old.sd + .01)) < .004);
    cb_learn_free(learn);
}

/* What 400 newer rows of a pot have covered is not read, and makes no difference. */
static void long_ago_is_forgotten(void **state)
{
    (void)state;
    enum { MANY = 1100 };
    static struct cb_row rows[MANY];
    uint64_t seed = 3;
    for (size_t i = 0; i < MANY; i++) {
        rows[i] = film(pots[0], 6 + 4 * unit(&seed), 10 + 4 * unit(&seed));
    }
    struct cb_learn *a = cb_learn_new(NULL), *b = cb_learn_new(NULL), *step = cb_learn_new(NULL);
    cb_learn_sync(a, rows, MANY);
    for (size_t n = MANY - 300; n <= MANY; n++) {
        cb_learn_sync(step, rows, n);
    }
    same_to_the_bit(a, step);
    for (size_t i = 0; i < 500; i++) {
        rows[i].lo *= 3;
        rows[i].hi *= 3;
    }
    cb_learn_sync(b, rows, MANY);
    double x = cb_learn_quantile(a, pots[0], .3, 9, .8, 0);
    double y = cb_learn_quantile(b, pots[0], .3, 9, .8, 0);
    assert_true(fabs(x - y) < 1e-6 * x);
    cb_learn_free(a);
    cb_learn_free(b);
    cb_learn_free(step);
}

static void one_absurd_answer_in_twenty(void **state)
{
    (void)state;
    for (int absurd = 0; absurd < 3; absurd++) {
        uint64_t seed = 5;
        struct cb_row rows[40];
        for (size_t i = 0; i < COUNT(rows); i++) {
            double t = 9 * (.8 + .4 * unit(&seed));
            rows[i] = film(pots[0], t * .9, t * 1.1);
        }
        struct cb_learn *learn = cb_learn_new(NULL);
        cb_learn_sync(learn, rows, COUNT(rows));
        double before = cb_learn_quantile(learn, pots[0], .3, 9, .5, 0);
        for (size_t i = 19; i < COUNT(rows); i += 20) {
            rows[i].lo = absurd == 0 ? 600 : 0;
            rows[i].hi = absurd == 0 ? INFINITY : absurd == 1 ? .05 : .001;
        }
        cb_learn_sync(learn, rows, COUNT(rows));
        double after = cb_learn_quantile(learn, pots[0], .3, 9, .5, 0);
        assert_true(fabs(after / before - 1) < .10);
        assert_true(cb_learn_mis_key(learn, &rows[19]) > .9);
        assert_true(cb_learn_mis_key(learn, &rows[18]) < .2);
        cb_learn_free(learn);
    }
}

static void nonsense_teaches_nothing(void **state)
{
    (void)state;
    struct cb_row rows[] = {
        film(pots[0], 5, 5),     film(pots[0], 9, 4),
        film(pots[0], -1, 4),    film(pots[0], NAN, 4),
        film(pots[0], 4, NAN),   film(pots[0], 0, INFINITY),
        film(NULL, 4, 9),        film(pots[0], 4, 9),
        film(pots[0], 4, 9),     {.kind = CB_ROW_ANSWER, .value = NAN},
        {.kind = CB_ROW_BOTTLE}, {.kind = CB_ROW_BOTTLE, .pot = "x"},
    };
    rows[7].median_min = 0;
    rows[8].pot_sd = NAN;
    struct cb_learn *learn = cb_learn_new(NULL), *prior = cb_learn_new(NULL);
    cb_learn_sync(learn, rows, COUNT(rows));
    same_to_the_bit(learn, prior);
    cb_learn_free(learn);
    cb_learn_free(prior);
}

/* With .95 a row, what lies 400 rows back still says a billionth; beyond, nothing is read. */
static void what_still_weighs_is_read(void **state)
{
    (void)state;
    static const struct {
        size_t back;
        bool read;
    } cases[] = {{1, true}, {100, true}, {300, true}, {400, true}, {533, false}};
    static struct cb_row rows[600];
    struct cb_learn *usual = cb_learn_new(NULL), *other = cb_learn_new(NULL);
    for (size_t i = 0; i < COUNT(rows); i++) {
        rows[i] = film(pots[0], 8, 9);
    }
    cb_learn_sync(usual, rows, COUNT(rows));
    for (size_t i = 0; i < COUNT(cases); i++) {
        double x[64] = {0}, y[64] = {0};
        struct cb_row *row = &rows[COUNT(rows) - cases[i].back];
        *row = film(pots[0], 2, 3);
        cb_learn_sync(other, rows, COUNT(rows));
        asked(usual, x);
        asked(other, y);
        assert_int_equal(memcmp(x, y, sizeof x) != 0, cases[i].read);
        *row = film(pots[0], 8, 9);
    }
    cb_learn_free(usual);
    cb_learn_free(other);
}

/* Far out of the grid: still finite, never before the moment it was found wet. */
static void far_out(void **state)
{
    (void)state;
    struct cb_learn *learn = cb_learn_new(NULL);
    double last = 0;
    for (double wet = 1e-3; wet < 1e9; wet *= 7) {
        double again = cb_learn_quantile(learn, pots[0], .30, 9, .8, wet);
        assert_true(isfinite(again) && again > wet && again >= last * (1 - 1e-9));
        last = again;
    }
    /* beyond 37 of its medians, e^3.6, it is looked at again after a tenth of its age */
    const double before = 9 * exp(3.59), beyond = 9 * exp(3.61);
    assert_true(cb_learn_quantile(learn, pots[0], .30, 9, .8, before) > 1.15 * before);
    assert_true(fabs(cb_learn_quantile(learn, pots[0], .30, 9, .8, beyond) / beyond - 1.1) < 1e-9);
    /* and what was asked before is no matter, from whichever end: the same to the last bit */
    struct cb_learn *down = cb_learn_new(NULL);
    double up[40];
    for (int i = 0; i < 40; i++) {
        up[i] = cb_learn_cdf(learn, pots[0], .30, 9, 1e-6 * pow(2, i));
        assert_true(up[i] >= 0 && up[i] <= 1);
    }
    for (int i = 39; i >= 0; i--) {
        const double f = cb_learn_cdf(down, pots[0], .30, 9, 1e-6 * pow(2, i));
        assert_memory_equal(&f, &up[i], sizeof f);
    }
    cb_learn_free(down);
    struct cb_row rows[] = {film(pots[0], 1e5, 1e6), film(pots[0], 1e-5, 1e-4),
                            film(pots[1], 100, 101)};
    cb_learn_sync(learn, rows, COUNT(rows));
    assert_true(isfinite(cb_learn_quantile(learn, pots[0], .30, 9, .8, 0)));
    assert_true(cb_learn_quantile(learn, NULL, .30, 0, .8, 0) <= 0);
    assert_true(cb_learn_cdf(learn, NULL, .30, 0, 1) >= 1);
    cb_learn_free(learn);
}

static struct cb_row silent(double hi)
{
    struct cb_row row = film(pots[0], 0, hi);
    row.kind = CB_ROW_WEAK;
    row.confidence = .8;
    return row;
}

/* Silence is worth the share of wet films that this painter speaks of, and nothing before the first
 * of them. By hand: a film painted over in silence at 80 % was wet by .2 of 1 then; said one, and
 * half a one of two and a half. */
static void silence_is_worth_what_is_spoken_of(void **state)
{
    (void)state;
    struct cb_row rows[] = {silent(9), film(pots[0], 9, INFINITY), silent(9), film(pots[1], 0, 9)};
    struct cb_learn *learn = cb_learn_new(NULL);
    assert_true(cb_learn_speaks_up(learn) <= 0);
    cb_learn_sync(learn, rows, 1);
    assert_true(cb_learn_speaks_up(learn) <= 0);
    cb_learn_sync(learn, rows, 2); /* said to be wet */
    const double rho = 1.5 / (3.5 + .2);
    assert_true(fabs(cb_learn_speaks_up(learn) - rho) < 1e-12);
    cb_learn_sync(learn, rows, 3);
    const double more = .2 * (1 - rho) / (.8 + .2 * (1 - rho));
    assert_true(fabs(cb_learn_speaks_up(learn) - 1.5 / (3.5 + .2 + more)) < 1e-12);
    cb_learn_sync(learn, rows, 4); /* found dry: tells nothing of silence */
    assert_true(fabs(cb_learn_speaks_up(learn) - 1.5 / (3.5 + .2 + more)) < 1e-12);
    rows[2].lo = 4; /* said to be wet, then painted over */
    cb_learn_sync(learn, rows, 3);
    assert_true(fabs(cb_learn_speaks_up(learn) - 2.5 / (4.5 + .2)) < 1e-12);
    rows[0].hi = 900; /* it did not ring, but lay for hours */
    cb_learn_sync(learn, rows, 2);
    assert_true(fabs(cb_learn_speaks_up(learn) - 1.5 / 3.5) < 1e-6);
    rows[0].hi = 9;
    rows[0].heard = CB_HEARD_SILENCE; /* so late after its ring that it was dry all but surely */
    rows[0].late = 3;
    cb_learn_sync(learn, rows, 2);
    assert_true(fabs(cb_learn_speaks_up(learn) - 1.5 / 3.5) < 1e-6);
    cb_learn_free(learn);
}

/* The likelihood of a silent coat is (1 - rho) + rho F: as eta, said by hand; and 1 for who has
 * never said a word. */
static void a_silent_coat_counts_by_it(void **state)
{
    (void)state;
    struct cb_learn_settings settings = cb_learn_default;
    const struct cb_row rows[] = {film(pots[1], 9, INFINITY), silent(7)};
    struct cb_learn *learn = cb_learn_new(NULL);
    struct cb_learn *nothing = cb_learn_new(NULL);
    cb_learn_sync(learn, rows + 1, 1);
    assert_true(fabs(cb_learn_cdf(learn, pots[0], .30, 9, 9) -
                     cb_learn_cdf(nothing, pots[0], .30, 9, 9)) < 1e-9);
    cb_learn_sync(learn, rows, 2);
    settings.weak = 1 - 1.5 / 3.5;
    struct cb_learn *told = cb_learn_new(&settings);
    cb_learn_sync(told, rows, 2);
    const double law = cb_learn_cdf(learn, pots[0], .30, 9, 9);
    assert_true(fabs(law - cb_learn_cdf(told, pots[0], .30, 9, 9)) < 1e-12);
    settings.weak = .2;
    struct cb_learn *more = cb_learn_new(&settings);
    cb_learn_sync(more, rows, 2);
    assert_true(cb_learn_cdf(more, pots[0], .30, 9, 9) > law + .01);
    cb_learn_free(learn);
    cb_learn_free(nothing);
    cb_learn_free(told);
    cb_learn_free(more);
}

/* "Still wet" stays said where the next coat goes on unasked later: with nothing to be learned from
 * that silence the film is as if it had never been painted over. */
static void wet_stays_said(void **state)
{
    (void)state;
    struct cb_learn_settings settings = cb_learn_default;
    settings.weak = 1;
    struct cb_row row = film(pots[0], 12, INFINITY);
    struct cb_learn *open = cb_learn_new(&settings), *over = cb_learn_new(&settings);
    cb_learn_sync(open, &row, 1);
    row.kind = CB_ROW_WEAK;
    row.hi = 15;
    cb_learn_sync(over, &row, 1);
    const double law = cb_learn_cdf(open, pots[0], .30, 9, 12);
    assert_true(law < .45);
    assert_true(fabs(law - cb_learn_cdf(over, pots[0], .30, 9, 12)) < 1e-9);
    cb_learn_free(open);
    cb_learn_free(over);
}

static struct cb_row heard(const char *pot, enum cb_heard what, int64_t at_ms)
{
    struct cb_row row = film(pot, what == CB_HEARD_WET ? 9 : 0, what == CB_HEARD_WET ? 12 : 9);
    row.kind = what == CB_HEARD_SILENCE ? CB_ROW_WEAK : CB_ROW_FILM;
    row.heard = what;
    row.heard_ms = at_ms;
    row.confidence = .8;
    return row;
}

static double shift_of(const struct cb_row *rows, size_t count)
{
    struct cb_learn *learn = cb_learn_new(NULL);
    cb_learn_sync(learn, rows, count);
    const double shift = cb_learn_shift(learn);
    cb_learn_free(learn);
    return shift;
}

/* By hand: wet moves it by .06 x .8, dry by -.06 x .2, silence by no more than dry does. */
static void the_shift_follows_the_rings(void **state)
{
    (void)state;
    struct cb_row rows[60];
    for (int i = 0; i < 40; i++) {
        rows[i] = heard(pots[i % 4], CB_HEARD_WET, i);
    }
    assert_true(fabs(shift_of(rows, 1) - .048) < 1e-12);
    assert_true(fabs(shift_of(rows, 40) - .9) < 1e-12); /* and no further */
    rows[1] = heard(pots[1], CB_HEARD_DRY, 1);
    assert_true(fabs(shift_of(rows, 2) - .036) < 1e-12);
    rows[1].heard_ms = 0; /* another word of the same moment is an answer too */
    assert_true(fabs(shift_of(rows, 2) - .036) < 1e-12);
    rows[1] = heard(pots[1], CB_HEARD_WET, 0); /* the same word of the same press is not */
    assert_true(fabs(shift_of(rows, 2) - .048) < 1e-12);
    rows[1] = heard(pots[1], CB_HEARD_NOTHING, 1); /* it did not ring */
    assert_true(fabs(shift_of(rows, 2) - .048) < 1e-12);
    rows[0] = heard(pots[0], CB_HEARD_SILENCE, 0); /* who never said dry may never say it */
    assert_true(fabs(shift_of(rows, 1)) < 1e-12);
    for (int i = 0; i < 40; i++) { /* half wet, half silent: silence is dry */
        rows[i] = heard(pots[0], i % 2 ? CB_HEARD_SILENCE : CB_HEARD_WET, i);
    }
    const double half = shift_of(rows, 40);
    assert_true(half < 20 * .048 && half > 20 * (.048 - .012));
    for (int i = 0; i < 60; i++) {
        rows[i] = heard(pots[0], CB_HEARD_DRY, i);
    }
    assert_true(fabs(shift_of(rows, 40) + 40 * .012) < 1e-12);
    assert_true(fabs(shift_of(rows, 60) + .6) < 1e-12);
    rows[58] = (struct cb_row){.kind = CB_ROW_FORGET, .at_ms = 58}; /* with all that went before */
    assert_true(fabs(shift_of(rows, 60) + .012) < 1e-12);
}

/* Who answers late finds more of them dry, and less is made of it. By hand: late by 1.5 sd of .3,
 * in logs, the logistic odds of .8 / .2 grow by exp(1.5 pi / sqrt(3)) to 60.8. */
static void a_late_answer_says_less(void **state)
{
    (void)state;
    struct cb_row row = heard(pots[0], CB_HEARD_DRY, 1);
    row.late = .45;
    assert_true(fabs(shift_of(&row, 1) + .06 / 61.773) < 1e-6);
    row = heard(pots[0], CB_HEARD_WET, 1);
    row.late = .45;
    assert_true(fabs(shift_of(&row, 1) - .06 * 60.773 / 61.773) < 1e-6);
    row.late = 900; /* next year */
    assert_true(fabs(shift_of(&row, 1) - .06) < 1e-12);
}

/* What was heard of films counts whether their rows are given or not, in whatever order. */
static void films_without_rows_are_heard(void **state)
{
    (void)state;
    struct cb_row rows[120];
    struct cb_heard_before before[60];
    uint64_t seed = 3;
    for (int i = 0; i < 120; i++) {
        rows[i] = heard(pots[i % 4], (enum cb_heard)(1 + (int)(3 * unit(&seed))), 5 + i / 2 * 2);
        rows[i].at_ms = i;
        rows[i].late = unit(&seed) < .5 ? 0 : unit(&seed);
    }
    struct cb_learn *all = cb_learn_new(NULL), *some = cb_learn_new(NULL);
    cb_learn_sync(all, rows, 120);
    struct cb_row given[60];
    for (size_t i = 0; i < 60; i++) { /* every other one, the last first */
        before[59 - i] = cb_learn_before_of(&rows[2 * i]);
        given[i] = rows[2 * i + 1];
    }
    cb_learn_before(some, before, 60);
    cb_learn_sync(some, given, 20);
    cb_learn_sync(some, given, 60);
    assert_true(cb_learn_speaks_up(all) > .2 && fabs(cb_learn_shift(all)) > .01);
    assert_true(fabs(cb_learn_speaks_up(all) - cb_learn_speaks_up(some)) < 1e-12);
    assert_true(fabs(cb_learn_shift(all) - cb_learn_shift(some)) < 1e-12);
    cb_learn_free(all);
    cb_learn_free(some);
}

/* It moves every law, of the pots that were seen and of those that were not, by the same factor. */
static void the_shift_moves_every_law(void **state)
{
    (void)state;
    struct cb_row rows[8], plain[8];
    for (int i = 0; i < 8; i++) {
        rows[i] = plain[i] = heard(pots[i % 2], CB_HEARD_WET, i);
        plain[i].heard = CB_HEARD_NOTHING;
        plain[i].heard_ms = 0;
    }
    struct cb_learn *learn = cb_learn_new(NULL), *still = cb_learn_new(NULL);
    cb_learn_sync(learn, rows, 8);
    cb_learn_sync(still, plain, 8);
    const double factor = exp(cb_learn_shift(learn));
    assert_true(factor > 1.4 && fabs(cb_learn_shift(still)) < 1e-12);
    for (size_t i = 0; i < COUNT(pots); i++) {
        for (double p = .1; p < 1; p += .2) {
            const double t = cb_learn_quantile(still, pots[i], .30, 9, p, 0);
            assert_true(fabs(cb_learn_quantile(learn, pots[i], .30, 9, p, 0) / (t * factor) - 1) <
                        1e-9);
            assert_true(fabs(cb_learn_cdf(learn, pots[i], .30, 9, t * factor) - p) < 1e-6);
            const double wet = cb_learn_quantile(still, pots[i], .30, 9, p, 7);
            assert_true(
                fabs(cb_learn_quantile(learn, pots[i], .30, 9, p, 7 * factor) / (wet * factor) -
                     1) < 1e-9);
        }
    }
    cb_learn_free(learn);
    cb_learn_free(still);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(result_depends_on_the_rows_alone),
        cmocka_unit_test(undone_check_was_never_made),
        cmocka_unit_test(order_does_not_matter_without_fading),
        cmocka_unit_test(forgetting_brings_the_prior_back),
        cmocka_unit_test(first_answer_moves_the_bench),
        cmocka_unit_test(new_bottle_widens),
        cmocka_unit_test(long_ago_is_forgotten),
        cmocka_unit_test(what_still_weighs_is_read),
        cmocka_unit_test(one_absurd_answer_in_twenty),
        cmocka_unit_test(nonsense_teaches_nothing),
        cmocka_unit_test(far_out),
        cmocka_unit_test(silence_is_worth_what_is_spoken_of),
        cmocka_unit_test(a_silent_coat_counts_by_it),
        cmocka_unit_test(the_shift_follows_the_rings),
        cmocka_unit_test(wet_stays_said),
        cmocka_unit_test(a_late_answer_says_less),
        cmocka_unit_test(films_without_rows_are_heard),
        cmocka_unit_test(the_shift_moves_every_law),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
