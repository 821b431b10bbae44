/* SPDX-License-Identifier: MIT */
/* The lessons of finished units, summed up: what still weighs of each paint, and the rest of them.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/bench/rows.h"
#include "core/review/taught.h"

enum { PAINTS = 2, ROWS = 500, UNITS = 4 };

/* Every row of two paints, the later half of each found dry at another time. */
static struct cb_row row(int number, int paint)
{
    static const char *const pots[PAINTS] = {"rope", "green"};
    return (struct cb_row){.kind = CB_ROW_FILM,
                           .pot = pots[paint],
                           .paint = pots[paint],
                           .pot_sd = .30,
                           .median_min = 9,
                           .lo = number < ROWS / 2 ? 4 : 12,
                           .hi = number < ROWS / 2 ? 5 : 14,
                           .heard = number % 3 == 0 ? CB_HEARD_WET : CB_HEARD_DRY,
                           .heard_ms = number,
                           .confidence = .8,
                           .at_ms = number,
                           .stage = paint + 1};
}

static void test_recent_rows(void **state)
{
    (void)state;
    struct cb_taught taught;
    static struct cb_row rows[UNITS][PAINTS * ROWS], all[PAINTS * ROWS];
    static const double session_min[] = {60, 90};
    /* all units know of both evenings, the first of them as one that is longer */
    static const struct cb_evening evenings[] = {{0, 3600000}, {86400000, 91800000}};
    static const struct cb_evening longer[] = {{1800000, 7200000}, {86400000, 91800000}};
    size_t counts[UNITS] = {0}, total = 0;
    for (int paint = 0; paint < PAINTS; paint++) {
        /* units beside each other: what is recent is so by time, not by unit */
        for (int i = 0; i < (paint == 0 ? ROWS : 30); i++) {
            rows[i % UNITS][counts[i % UNITS]++] = row(i, paint);
            all[total++] = row(i, paint);
        }
    }
    cb_taught_begin(&taught);
    for (int unit = 0; unit < UNITS; unit++) {
        static const char *const names[UNITS] = {"u1", "u2", "u3", "u4"};
        cb_taught_add(
            &taught, &(struct cb_lesson){.rows = rows[unit],
                                         .row_count = counts[unit],
                                         .effort = {.session_count = 2,
                                                    .session_min = session_min,
                                                    .evening_count = 2,
                                                    .evenings = unit == 0 ? longer : evenings,
                                                    .all_min = 150,
                                                    .hands_on_min = 100,
                                                    .change_min = 10,
                                                    .waiting_min = 20},
                                         .sum = {.unit = names[unit], .name = "n", .recipe = "r"}});
    }
    while (cb_taught_step(&taught)) {
    }
    assert_int_equal(taught.row_count, CB_ROWS_RECENT + 30);
    assert_int_equal(taught.unit_count, UNITS);
    assert_int_equal(taught.habits.session_count, 2 * UNITS);
    assert_true(fabs(taught.habits.all_min - 150 * UNITS) < 1e-9);
    assert_true(fabs(taught.habits.hands_on_min - 100 * UNITS) < 1e-9);
    assert_true(fabs(taught.habits.change_min - 10 * UNITS) < 1e-9);
    assert_true(fabs(taught.habits.waiting_min - 20 * UNITS) < 1e-9);
    assert_int_equal(taught.habits.evening_count, 2);
    assert_true(taught.habits.evenings[0].from_ms == 0);
    assert_true(taught.habits.evenings[0].to_ms == 7200000);
    for (size_t i = 1; i < taught.row_count; i++) {
        assert_true(taught.rows[i - 1].at_ms <= taught.rows[i].at_ms);
    }
    assert_true(taught.rows[taught.row_count - CB_ROWS_RECENT].at_ms == ROWS - CB_ROWS_RECENT);
    /* what was left out would have said next to nothing */
    struct cb_learn *learn = cb_learn_new(NULL);
    cb_learn_sync(learn, all, total);
    for (double p = .1; p < 1; p += .2) {
        const double whole = cb_learn_quantile(learn, "rope", .30, 9, p, 0);
        const double kept = cb_learn_quantile(taught.learn, "rope", .30, 9, p, 0);
        assert_true(fabs(whole / kept - 1) < 1e-7);
    }
    /* but not of the rings: what was heard counts for as long as there is a log */
    assert_true(cb_learn_shift(learn) > .1);
    assert_true(fabs(cb_learn_shift(learn) - cb_learn_shift(taught.learn)) < 1e-12);
    assert_true(fabs(cb_learn_speaks_up(learn) - cb_learn_speaks_up(taught.learn)) < 1e-12);
    cb_learn_free(learn);
    cb_taught_fini(&taught);
}

/* A paint, technique and tone is counted once over all units; what is counted apart stays apart. */
static void test_covers(void **state)
{
    (void)state;
    struct cb_taught taught;
    struct cb_cover covers[3] = {{.pot = "fog", .technique = CB_TECHNIQUE_BASECOAT},
                                 {.pot = "fog", .technique = CB_TECHNIQUE_LAYER},
                                 {.pot = "tar", .technique = CB_TECHNIQUE_BASECOAT}};
    for (int i = 0; i < 3; i++) {
        covers[i].under = CB_TONE_DARK;
        covers[i].said[2] = 10;
        covers[i].added[3] = (uint64_t)i + 1;
    }
    cb_taught_begin(&taught);
    for (size_t unit = 0; unit < 4; unit++) {
        covers[0].under = unit == 3 ? CB_TONE_LIGHT : CB_TONE_DARK;
        cb_taught_add(&taught,
                      &(struct cb_lesson){.covers = covers,
                                          .cover_count = 3,
                                          .sum = {.unit = "u", .name = "n", .recipe = "r"}});
    }
    while (cb_taught_step(&taught)) {
    }
    assert_int_equal(taught.cover_count, 4);
    const struct cb_cover fog = cb_coverage_find(taught.covers, taught.cover_count, "fog",
                                                 CB_TECHNIQUE_BASECOAT, CB_TONE_DARK);
    assert_int_equal(fog.said[2], 30);
    assert_int_equal(fog.added[3], 3);
    const struct cb_cover tar = cb_coverage_find(taught.covers, taught.cover_count, "tar",
                                                 CB_TECHNIQUE_BASECOAT, CB_TONE_DARK);
    assert_int_equal(tar.added[3], 12);
    cb_taught_fini(&taught);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_recent_rows),
                                       cmocka_unit_test(test_covers)};
    return cmocka_run_group_tests_name("taught", tests, NULL, NULL);
}
