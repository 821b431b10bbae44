/* SPDX-License-Identifier: MIT */
/* The learner as bytes: the same to the bit after it, and no bytes bring it down. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/seal.h"
#include "core/learn.h"
#include "support/events.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static const char *const pots[] = {"ebb wash", "", "oilskin green", "wick white", "tarred rope"};

static double uniform(struct dice *dice)
{
    return (double)(dice_next(dice) >> 11) / 9007199254740992.0;
}

static struct cb_row any_row(struct dice *dice)
{
    struct cb_row row = {.kind = CB_ROW_FILM,
                         .pot = pots[dice_below(dice, COUNT(pots))],
                         .pot_sd = dice_below(dice, 9) == 0 ? .5 : .3,
                         .median_min = 9,
                         .lo = 4 + 10 * uniform(dice),
                         .technique = (int)dice_below(dice, 3)};
    row.hi = row.lo + 1 + 5 * uniform(dice);
    switch (dice_below(dice, 24)) {
    case 0:
    case 1:
        row.hi = INFINITY;
        break;
    case 2:
        row.kind = CB_ROW_BOTTLE;
        break;
    case 3:
        row.kind = dice_below(dice, 3) == 0 ? CB_ROW_FORGET : CB_ROW_BOTTLE;
        row.pot = dice_below(dice, 3) == 0 ? NULL : row.pot;
        break;
    case 4:
        row.kind = CB_ROW_ANSWER;
        row.pot = NULL;
        row.value = uniform(dice) - .5;
        break;
    case 5: /* teaches nothing, and is kept all the same */
        row.median_min = dice_below(dice, 2) == 0 ? NAN : 0;
        row.pot = dice_below(dice, 2) == 0 ? NULL : row.pot;
        break;
    case 6: /* far out of the grid */
        row.lo *= 1e5;
        row.hi *= 1e6;
        break;
    case 7:
    case 8:
    case 9:
        row.kind = CB_ROW_WEAK;
        row.lo = 0;
        break;
    default:
        row.lo = dice_below(dice, 2) == 0 ? 0 : row.lo;
    }
    return row;
}

/* What one can ask, all of it finite. */
#define ANSWERS ((COUNT(pots) + 1) * 16 + 2 + CB_LEARN_S_COUNT + 2 * CB_LEARN_THETA_COUNT)
static void ask(const struct cb_learn *learn, double out[ANSWERS])
{
    size_t n = 0;
    for (size_t i = 0; i <= COUNT(pots); i++) {
        const char *pot = i < COUNT(pots) ? pots[i] : "never seen";
        for (double p = .5; p < 1; p += .15) {
            out[n++] = cb_learn_quantile(learn, pot, .30, 9, p, 0);
            out[n++] = cb_learn_quantile(learn, pot, .30, 9, p, 12);
        }
        out[n++] = cb_learn_cdf(learn, pot, .30, 9, 8);
        out[n++] = cb_learn_cdf(learn, pot, .30, 9, 80);
        const struct cb_learn_pot found = cb_learn_pot(learn, pot, .30);
        out[n++] = found.mean;
        out[n++] = found.sd;
        out[n++] = (double)found.rows;
        out[n++] = found.known;
        for (int weak = 0; weak < 2; weak++) {
            const struct cb_row row = {.kind = weak ? CB_ROW_WEAK : CB_ROW_FILM,
                                       .pot = pot,
                                       .pot_sd = .30,
                                       .median_min = 9,
                                       .lo = 6,
                                       .hi = 60};
            out[n++] = cb_learn_mis_key(learn, &row);
        }
    }
    cb_learn_bench(learn, &out[n], &out[n + 1]);
    cb_learn_s_weights(learn, &out[n + 2]);
    n += 2 + CB_LEARN_S_COUNT;
    cb_learn_density(learn, pots[0], .30, &out[n]);
    cb_learn_density(learn, NULL, .30, &out[n + CB_LEARN_THETA_COUNT]);
    n += 2 * CB_LEARN_THETA_COUNT;
    assert_int_equal(n, ANSWERS);
    for (size_t i = 0; i < n; i++) {
        assert_true(isfinite(out[i]));
    }
}

/* All that is held, every table included. */
static void assert_same_bytes(const struct cb_learn *a, const struct cb_learn *b)
{
    struct cb_arena arena = {0};
    size_t length;
    size_t other_length;
    const void *bytes = cb_learn_pack(a, &arena, &length);
    const void *other = cb_learn_pack(b, &arena, &other_length);
    assert_int_equal(length, other_length);
    assert_memory_equal(bytes, other, length);
    cb_arena_fini(&arena);
}

/* And what comes of it. */
static void assert_same(const struct cb_learn *a, const struct cb_learn *b)
{
    assert_same_bytes(a, b);
    double x[ANSWERS];
    double y[ANSWERS];
    ask(a, x);
    ask(b, y);
    assert_memory_equal(x, y, sizeof x);
}

static struct cb_learn *taught(const struct cb_row *rows, size_t count)
{
    struct cb_learn *learn = cb_learn_new(NULL);
    cb_learn_sync(learn, rows, count);
    return learn;
}

static struct cb_learn *there_and_back(const struct cb_learn *learn)
{
    struct cb_arena arena = {0};
    size_t length;
    const void *bytes = cb_learn_pack(learn, &arena, &length);
    unsigned char *odd = cb_arena_alloc(&arena, length + 1, 1); /* no number is at its place */
    memcpy(odd + 1, bytes, length);
    struct cb_learn *back = cb_learn_unpack(odd + 1, length);
    assert_non_null(back);
    cb_arena_fini(&arena);
    return back;
}

enum { MOST = 200 };

/* Some further rows, some changed, put in or taken out anywhere, or cut off. */
static size_t change(struct dice *dice, struct cb_row rows[MOST + 8], size_t count)
{
    const size_t at = count > 0 ? (size_t)dice_below(dice, count) : 0;
    switch (dice_below(dice, 6)) {
    case 0:
        if (count > 0) {
            rows[at] = any_row(dice);
        }
        return count;
    case 1: /* what was open is settled */
        if (count > 0) {
            const size_t late = count - 1 - (size_t)dice_below(dice, count < 8 ? count : 8);
            rows[late].lo = 5;
            rows[late].hi = 11;
        }
        return count;
    case 2:
        memmove(rows + at + 1, rows + at, (count - at) * sizeof *rows);
        rows[at] = any_row(dice);
        return count + 1;
    case 3:
        if (count > 0) {
            memmove(rows + at, rows + at + 1, (count - at - 1) * sizeof *rows);
        }
        return count > 0 ? count - 1 : 0;
    case 4:
        return at;
    default:
        for (uint64_t more = 1 + dice_below(dice, 5); more > 0; more--) {
            rows[count++] = any_row(dice);
        }
        return count;
    }
}

static void as_if_never_packed(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 16; seed++) {
        struct dice dice = {seed};
        struct cb_row rows[MOST + 8];
        size_t count = (size_t)dice_below(&dice, seed % 4 == 0 ? MOST : 40);
        for (size_t i = 0; i < count; i++) {
            rows[i] = any_row(&dice);
        }
        struct cb_learn *learn = taught(rows, count);
        struct cb_learn *back = there_and_back(learn);
        assert_same(learn, back);
        const uint64_t generation = cb_learn_generation(back);
        cb_learn_sync(back, rows, count);
        assert_int_equal(generation, cb_learn_generation(back));
        cb_learn_free(learn);
        for (int round = 0; round < 6; round++) {
            count = change(&dice, rows, count < MOST ? count : MOST);
            cb_learn_sync(back, rows, count);
            learn = taught(rows, count);
            assert_same_bytes(learn, back);
            cb_learn_free(learn);
            if (round % 2 == 0) {
                learn = back;
                back = there_and_back(learn);
                cb_learn_free(learn);
            }
        }
        learn = taught(rows, count);
        assert_same(learn, back);
        cb_learn_free(learn);
        cb_learn_free(back);
    }
}

/* A pot whose older rows are no longer read. */
static void long_lists(void **state)
{
    (void)state;
    enum { MANY = 800 };
    static struct cb_row rows[MANY];
    struct dice dice = {3};
    for (size_t i = 0; i < MANY; i++) {
        rows[i] = any_row(&dice);
        rows[i].pot = pots[i % 50 == 0];
        rows[i].kind = rows[i].kind == CB_ROW_FORGET ? CB_ROW_FILM : rows[i].kind;
    }
    for (size_t count = MANY - 150; count <= MANY; count += 150) {
        struct cb_learn *learn = taught(rows, count - 150);
        struct cb_learn *back = there_and_back(learn);
        struct cb_learn *fresh = taught(rows, count);
        cb_learn_sync(back, rows, count);
        assert_same(fresh, back);
        rows[count - 100].hi += 1;
        cb_learn_sync(back, rows, count);
        cb_learn_sync(fresh, rows, count);
        assert_same(fresh, back);
        cb_learn_free(learn);
        cb_learn_free(back);
        cb_learn_free(fresh);
    }
}

/* Pots that no row names any more leave nothing in the bytes. */
static void bytes_depend_on_the_rows_alone(void **state)
{
    (void)state;
    struct dice dice = {4};
    struct cb_row rows[60];
    for (size_t i = 0; i < COUNT(rows); i++) {
        rows[i] = any_row(&dice);
    }
    struct cb_learn *step = taught(rows, COUNT(rows));
    for (size_t count = COUNT(rows); count-- > 0;) {
        cb_learn_sync(step, rows, count);
        struct cb_learn *fresh = taught(rows, count);
        assert_same_bytes(fresh, step);
        cb_learn_free(fresh);
    }
    cb_learn_free(step);
}

static void only_the_usual_settings(void **state)
{
    (void)state;
    for (int which = 0; which < 6; which++) {
        struct cb_learn_settings settings = cb_learn_default;
        settings.nested = which == 0;
        settings.fade = which == 1 ? .9 : settings.fade;
        settings.mis_key = which == 2 ? .1 : settings.mis_key;
        settings.weak = which == 3 ? 0 : settings.weak;
        settings.bench_sd = which == 4 ? .3 : settings.bench_sd;
        struct cb_learn *learn = cb_learn_new(&settings);
        struct cb_arena arena = {0};
        size_t length;
        const void *bytes = cb_learn_pack(learn, &arena, &length);
        assert_true(which == 5 ? bytes != NULL : bytes == NULL);
        cb_arena_fini(&arena);
        cb_learn_free(learn);
    }
}

/* A small learner's bytes, and room to damage them in. */
struct sample {
    struct cb_arena arena;
    struct cb_row rows[30];
    const unsigned char *bytes;
    unsigned char *damaged;
    size_t length, head_end, rows_end, tables_end;
};

static size_t packed_length(const struct cb_row *rows, size_t count, struct cb_arena *arena)
{
    struct cb_learn *learn = taught(rows, count);
    size_t length;
    assert_non_null(cb_learn_pack(learn, arena, &length));
    cb_learn_free(learn);
    return length;
}

static void sample_init(struct sample *sample)
{
    struct dice dice = {6};
    *sample = (struct sample){0};
    for (size_t i = 0; i < COUNT(sample->rows); i++) {
        sample->rows[i] = any_row(&dice);
        sample->rows[i].kind =
            sample->rows[i].kind == CB_ROW_FORGET ? CB_ROW_FILM : sample->rows[i].kind;
    }
    struct cb_learn *learn = taught(sample->rows, COUNT(sample->rows));
    sample->bytes = cb_learn_pack(learn, &sample->arena, &sample->length);
    sample->damaged = cb_arena_alloc(&sample->arena, sample->length + 1, 1);
    cb_learn_free(learn);
    const struct cb_row no_pot = {.kind = CB_ROW_BOTTLE};
    const size_t empty = packed_length(NULL, 0, &sample->arena);
    const size_t row = packed_length(&no_pot, 1, &sample->arena) - empty;
    sample->head_end = empty - CB_SEAL_SIZE;
    sample->rows_end = sample->head_end + COUNT(sample->rows) * row;
    sample->tables_end = sample->length - CB_SEAL_SIZE;
    for (size_t i = 0; i < COUNT(pots); i++) {
        sample->tables_end -= strlen(pots[i]) + 1;
    }
}

static void refuses_what_is_none(void **state)
{
    (void)state;
    struct sample sample;
    sample_init(&sample);
    assert_null(cb_learn_unpack(NULL, 0));
    assert_null(cb_learn_unpack(sample.damaged, sample.length)); /* zeros */
    for (size_t cut = 0; cut < sample.length; cut++) {
        assert_null(cb_learn_unpack(sample.bytes, cut));
    }
    memcpy(sample.damaged, sample.bytes, sample.length);
    assert_null(cb_learn_unpack(sample.damaged, sample.length + 1));
    for (size_t i = 0; i < sample.length;) {
        sample.damaged[i] ^= (unsigned char)(1U << i % 8);
        assert_null(cb_learn_unpack(sample.damaged, sample.length));
        sample.damaged[i] ^= (unsigned char)(1U << i % 8);
        i += i < sample.rows_end || i >= sample.tables_end ? 1 : 97;
    }
    struct cb_learn *sound = cb_learn_unpack(sample.damaged, sample.length);
    assert_non_null(sound);
    cb_learn_free(sound);
    cb_arena_fini(&sample.arena);
}

/* The same with a seal that holds: none, or a learner that can be asked and taught. */
static size_t try_damaged(struct sample *sample)
{
    double out[ANSWERS];
    cb_seal_put(sample->damaged, sample->length);
    struct cb_learn *odd = cb_learn_unpack(sample->damaged, sample->length);
    memcpy(sample->damaged, sample->bytes, sample->length);
    if (odd == NULL) {
        return 0;
    }
    ask(odd, out);
    cb_learn_sync(odd, sample->rows, COUNT(sample->rows) / 2);
    cb_learn_free(odd);
    return 1;
}

static void sealed_nonsense(void **state)
{
    (void)state;
    struct sample sample;
    sample_init(&sample);
    memcpy(sample.damaged, sample.bytes, sample.length);
    struct dice dice = {8};
    for (size_t bit = 0; bit < sample.head_end * 8; bit++) {
        sample.damaged[bit / 8] ^= (unsigned char)(1U << bit % 8);
        assert_int_equal(try_damaged(&sample), 0);
    }
    size_t taken = 0;
    const size_t edges[] = {sample.head_end, sample.rows_end, sample.tables_end,
                            sample.length - CB_SEAL_SIZE};
    for (size_t i = 0; i < 180; i++) {
        static const unsigned char extremes[][8] = {
            {0, 0, 0, 0, 0, 0, 0xF8, 0x7F},
            {0, 0, 0, 0, 0, 0, 0xF0, 0xFF},
            {1, 0, 0, 0, 0, 0, 0, 0},
            {0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xEF, 0x7F},
        };
        const size_t from = edges[i % 3];
        const size_t at = from + (size_t)dice_below(&dice, edges[i % 3 + 1] - from);
        if (i % 2 == 0) {
            sample.damaged[at] ^= (unsigned char)(1U << dice_below(&dice, 8));
        } else if (i % 3 != 2) {
            memcpy(sample.damaged + from + (at - from) / 8 * 8,
                   extremes[dice_below(&dice, COUNT(extremes))], 8);
        } else {
            sample.damaged[at] = 0;
        }
        taken += try_damaged(&sample);
    }
    const size_t last_key = strlen("wick white") + 1; /* out of the order of keys */
    sample.damaged[sample.length - CB_SEAL_SIZE - last_key] = 'a';
    assert_int_equal(try_damaged(&sample), 0);
    assert_true(taken > 20); /* so that asking them was tried */
    cb_arena_fini(&sample.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(as_if_never_packed),
        cmocka_unit_test(long_lists),
        cmocka_unit_test(bytes_depend_on_the_rows_alone),
        cmocka_unit_test(only_the_usual_settings),
        cmocka_unit_test(refuses_what_is_none),
        cmocka_unit_test(sealed_nonsense),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
