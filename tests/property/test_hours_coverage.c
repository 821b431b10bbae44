/* SPDX-License-Identifier: MIT */
/* Does the 80 % interval of "hours to go" hold 80 %? Painters, techniques and units drawn from the
 * model's own spreads (core/learn/hours.h), a fixed seed; beside it the interval that takes the
 * cells for independent of each other, which is far too narrow. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "support/hours.h"
#include "support/events.h"

#define PAINTERS   4000
#define TECHNIQUES 6
#define STAGES     8
#define FIGURES    10

/* A normal deviate after Box and Muller, Ann. Math. Stat. 29 (1958) 610. */
static double normal(struct dice *dice)
{
    const double u = ((double)(dice_next(dice) >> 11) + 1) / 9007199254740993.0;
    const double v = (double)(dice_next(dice) >> 11) / 9007199254740992.0;
    return sqrt(-2 * log(u)) * cos(6.283185307179586 * v);
}

struct hand {
    double technique[TECHNIQUES], unit;
};

static double minutes(const struct hand *hand, struct dice *dice, size_t technique, double nominal)
{
    return nominal *
           exp(hand->technique[technique] + hand->unit + sqrt(CB_HOURS_NOISE_VAR) * normal(dice));
}

static bool holds(double log_sd, double median, double took)
{
    return fabs(log(took / median)) <= 1.2815515655446004 * log_sd;
}

static void interval_holds_80_percent(void **state)
{
    (void)state;
    static const double nominal[STAGES] = {6, 10, 3, 4, 8, 2, 5, 10};
    struct dice dice = {20260105};
    int inside = 0, inside_alone = 0;
    for (int p = 0; p < PAINTERS; p++) {
        struct cb_hours *hours = cb_hours_new(TECHNIQUES);
        struct hand hand;
        const double painter = CB_HOURS_PAINTER_SD * normal(&dice);
        for (size_t t = 0; t < TECHNIQUES; t++) {
            hand.technique[t] = painter + CB_HOURS_TECHNIQUE_SD * normal(&dice);
        }
        /* none to two units before, then a few stages of the one at hand */
        const size_t units = dice_below(&dice, 3);
        const size_t done = dice_below(&dice, STAGES - 2);
        for (size_t u = 0; u <= units; u++) {
            cb_hours_new_unit(hours);
            hand.unit = CB_HOURS_UNIT_SD * normal(&dice);
            for (size_t s = 0; s < (u < units ? STAGES : done); s++) {
                const size_t technique = s % TECHNIQUES;
                hours_add(hours, technique, nominal[s],
                          minutes(&hand, &dice, technique, nominal[s]));
            }
        }
        struct cb_hours_cell cells[STAGES];
        size_t count = 0;
        double took = 0, mean = 0, var = 0;
        for (size_t s = done; s < STAGES; s++) {
            const struct cb_hours_cell cell = {s % TECHNIQUES, nominal[s], FIGURES};
            const struct cb_hours_sum alone = cb_hours_to_go(hours, &cell, 1, 0);
            cells[count++] = cell;
            mean += alone.mean_min;
            var += alone.sd_min * alone.sd_min;
            took += FIGURES * minutes(&hand, &dice, cell.technique, nominal[s]);
        }
        const struct cb_hours_sum sum = cb_hours_to_go(hours, cells, count, 0);
        inside += took >= sum.low_min && took <= sum.high_min;
        const double log_var = log1p(var / (mean * mean));
        inside_alone += holds(sqrt(log_var), mean * exp(-0.5 * log_var), took);
        cb_hours_free(hours);
    }
    const double share = 100.0 * inside / PAINTERS;
    print_message("80 %% interval of hours to go: holds %.1f %% of %d painters; with the cells "
                  "taken as independent %.1f %%\n",
                  share, PAINTERS, 100.0 * inside_alone / PAINTERS);
    assert_true(share >= 75 && share <= 85);
    assert_true(inside_alone < inside);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(interval_holds_80_percent),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
