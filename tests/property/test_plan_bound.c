/* SPDX-License-Identifier: MIT */
/* Small problems of every kind, begun by a painter who does as they like: no plan that a search
 * finds is done before the bound. A number is how many. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>

#include "support/events.h"
#include "support/plan_desk.h"

enum { SEARCHES = 2, FIGURES_MOST = 5 };

static int seeds = 8000;
static struct dice dice;

static int between(int low, int high)
{
    return low + (int)dice_below(&dice, (uint64_t)(high - low + 1));
}

static void random_stage(struct desk *desk, int stage)
{
    struct cb_plan_stage *row = &desk->stages[stage];
    row->work_min = between(0, 8);
    row->dry_min = between(0, 3) * between(0, 20);
    row->change_min = between(0, 3);
    row->paint = between(-1, 2);
    row->together = between(0, 2) == 0 ? between(2, FIGURES_MOST) : 0;
    row->together = between(0, 5) == 0 ? CB_PLAN_ALL : row->together;
    for (int other = 0; other < stage; other++) {
        const int what = between(0, 3);
        if (what == 0) {
            need(desk, stage, other);
        } else if (what == 1) {
            touch(desk, stage, other);
        }
    }
}

/* Some coats are on, seldom before what is needed; some films are wet. */
static void random_slots(struct desk *desk, bool begun)
{
    for (size_t f = 0; f < desk->problem.figure_count; f++) {
        for (size_t s = 0; s < desk->problem.stage_count; s++) {
            struct cb_plan_slot *own = slot(desk, s, f);
            bool can = begun;
            own->coats = between(0, 5) == 0 ? 0 : between(1, 2);
            for (size_t i = 0; i < desk->stages[s].need_count; i++) {
                const struct cb_plan_slot *below = slot(desk, (size_t)desk->stages[s].needs[i], f);
                can = can && below->on == below->coats && !(below->dry_min > 0);
            }
            own->on = can || (begun && between(0, 5) == 0) ? between(0, own->coats) : 0;
            own->dry_min = own->on > 0 && between(0, 2) == 0 ? between(0, 30) : 0;
            own->from_min = begun && between(0, 9) == 0 ? between(0, 30) : 0;
        }
    }
    desk->problem.brush = begun ? between(-1, 2) : CB_PLAN_NO_PAINT;
}

static void no_plan_beats_the_bound(void **state)
{
    (void)state;
    int reached = 0;
    for (int seed = 1; seed <= seeds; seed++) {
        struct desk desk;
        dice = (struct dice){(uint64_t)seed};
        const int stages = between(1, 5);
        desk_init(&desk, (size_t)stages, (size_t)between(1, FIGURES_MOST));
        for (int stage = 0; stage < stages; stage++) {
            random_stage(&desk, stage);
        }
        random_slots(&desk, seed % 3 != 0);
        const double bound_min = cb_plan_bound_min(&desk.problem);
        double least_min = INFINITY;
        for (int i = 0; i < SEARCHES; i++) {
            struct cb_plan_search *search = cb_plan_search_new(&desk.problem, (uint64_t)i);
            cb_plan_search_go(search, 150);
            least_min = fmin(least_min, cb_plan_search_best(search, &desk.arena).finish_min);
            cb_plan_search_free(search);
        }
        if (least_min < bound_min - 1e-6) {
            fail_msg("seed %d: a plan of %g, a bound of %g", seed, least_min, bound_min);
        }
        reached += least_min <= bound_min + 1e-6 ? 1 : 0;
        cb_arena_fini(&desk.arena);
    }
    print_message("%d of %d plans are as early as their bound\n", reached, seeds);
}

int main(int argc, char **argv)
{
    seeds = argc > 1 ? atoi(argv[1]) : seeds;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_plan_beats_the_bound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
