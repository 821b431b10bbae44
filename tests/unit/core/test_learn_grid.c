/* SPDX-License-Identifier: MIT */
/* What a row adds to every cell of a table, against its own law cell by cell; and tails read in any
 * order. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "core/learn/learn_grid.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

/* Bounds within the grid, beyond either end, near and far from each other, and none. */
static const double bounds[] = {-(double)INFINITY,
                                -9,
                                -5.6,
                                -2.5,
                                -2.39,
                                -1,
                                -.21,
                                -.2,
                                0,
                                .003,
                                .5,
                                2.38,
                                2.6,
                                3.4,
                                4.1,
                                5.5,
                                7,
                                30,
                                700,
                                (double)INFINITY};

/* The law of one row in one cell, of a table that had 1 everywhere. */
static void check_row(const struct grid_row *row)
{
    struct grid_table table;
    for (int s = 0; s < GRID_S; s++) {
        for (int k = 0; k < GRID_LINE; k++) {
            table.v[s][k] = 1;
        }
    }
    cb_learn_grid_add(&table, row, &cb_learn_default);
    for (int s = 0; s < GRID_S; s++) {
        for (int k = 0; k < GRID_N; k++) {
            const double q =
                cb_learn_grid_q(row, &cb_learn_default, cb_learn_grid_s[s], grid_theta(k));
            const double added = exp(table.v[s][k] - cb_learn_default.fade);
            if (!(fabs(added - q) <= 1e-10 + 1e-12 * q) && !(q <= 0 && added <= 0)) {
                fail_msg("row (%g, %g]%s: cell %d of s %g is %.17g and should be %.17g", row->a,
                         row->c, row->eta > 0 ? " weak" : "", k, cb_learn_grid_s[s], added, q);
            }
        }
        for (int k = GRID_N; k < GRID_LINE; k++) {
            assert_true(table.v[s][k] >= 1 && table.v[s][k] <= 1);
        }
    }
}

static void test_every_cell(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(bounds); i++) {
        for (size_t j = i + 1; j < COUNT(bounds); j++) {
            check_row(&(struct grid_row){bounds[i], bounds[j], 0});
            check_row(&(struct grid_row){bounds[i], bounds[j], .5});
        }
    }
}

/* Far out, where the floor of the mis-keys decides in most cells, the same to the last bits. */
static void test_far_out(void **state)
{
    (void)state;
    for (double a = 3.5; a < 40; a *= 1.07) {
        const struct grid_row row = {a, a + .04, 0};
        const double floor_q = cb_learn_grid_floor(&row, cb_learn_default.mis_key);
        struct grid_table table = {0};
        cb_learn_grid_add(&table, &row, &cb_learn_default);
        for (int s = 0; s < GRID_S; s++) {
            for (int k = 0; floor_q > 0 && floor_q < 1e-6 && k < GRID_N; k++) {
                const double z = (row.a - grid_theta(k)) / cb_learn_grid_s[s];
                const double w = (row.c - grid_theta(k)) / cb_learn_grid_s[s];
                const double p = exp(cb_learn_log_phi_between(z, w));
                const double log_q = log((1 - cb_learn_default.mis_key) * p + floor_q);
                assert_memory_equal(&table.v[s][k], &log_q, sizeof log_q);
            }
        }
    }
}

static void some_law(struct grid_table *law)
{
    memset(law, 0, sizeof *law);
    const struct grid_row rows[] = {{-.1, .3, 0}, {-(double)INFINITY, .2, .5}, {.1, .4, 0}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        cb_learn_grid_add(law, &rows[i], &cb_learn_default);
    }
    cb_learn_grid_normal(law);
}

static void test_tail_in_any_order(void **state)
{
    (void)state;
    static struct grid_tail up, down;
    struct grid_table law;
    double upwards[189];
    some_law(&law);
    for (size_t i = 0; i < COUNT(upwards); i++) {
        upwards[i] = cb_learn_grid_tail_read(&up, &law, -4.7 + .05 * (double)i);
        const double exact = cb_learn_grid_tail_at(&law, -4.7 + .05 * (double)i);
        assert_true(fabs(exp(upwards[i]) - exp(exact)) < 1e-9);
    }
    for (size_t i = COUNT(upwards); i-- > 0;) {
        const double read = cb_learn_grid_tail_read(&down, &law, -4.7 + .05 * (double)i);
        assert_memory_equal(&read, &upwards[i], sizeof read);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_cell),
        cmocka_unit_test(test_far_out),
        cmocka_unit_test(test_tail_in_any_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
