/* SPDX-License-Identifier: MIT */
/* From marks to hours: what counts as a mark, what is still to go, and in how many evenings. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/review/effort.h"
#include "support/hours.h"
#include "support/world.h"

#define COUNT(list)           (sizeof(list) / sizeof *(list))
#define assert_near(a, b, by) assert_true(fabs((a) - (b)) <= (by))

/* Ten minutes are expected of each. */
static const struct cb_stage stages[] = {
    {.technique = CB_TECHNIQUE_BASECOAT, .work_min = 10, .coats = 2},
    {.technique = CB_TECHNIQUE_VARNISH, .work_min = 10, .coats = 1, .together = CB_TOGETHER_ALL},
};
static const struct cb_recipe both = {.stage_count = COUNT(stages), .stages = stages};

struct piece {
    double s; /* seconds; 0: the end */
    enum cb_spent spent;
    int figure, stage, coat;
};

static void test_marks(void **state)
{
    (void)state;
    static const struct {
        struct piece pieces[4];
        double marks, mean_min; /* the mean by logarithms */
    } cases[] = {
        {{{600, CB_SPENT_HANDS_ON, 1, 1, 1}}, 1, 10},
        {{{2, CB_SPENT_HANDS_ON, 1, 1, 1}}, 1, 1.0 / 30},
        {{{1.99, CB_SPENT_HANDS_ON, 1, 1, 1}}, 0, 0}, /* a slip of the key */
        {{{300, CB_SPENT_HANDS_ON, 1, 1, 1}, {1200, CB_SPENT_HANDS_ON, 2, 1, 1}}, 2, 10},
        {{{300, CB_SPENT_HANDS_ON, 1, 1, 1}, {1200, CB_SPENT_HANDS_ON, 1, 1, 2}}, 2, 10},
        {{{300, CB_SPENT_HANDS_ON, 1, 2, 1}, {1200, CB_SPENT_HANDS_ON, 2, 2, 1}}, 1, 25},
        /* what was told inside does not part it, what is no work does */
        {{{300, CB_SPENT_HANDS_ON, 1, 1, 1},
          {60, CB_SPENT_PAUSE, 0, 0, 0},
          {1200, CB_SPENT_HANDS_ON, 1, 1, 1}},
         1,
         25},
        {{{300, CB_SPENT_HANDS_ON, 1, 1, 1},
          {60, CB_SPENT_AWAY, 0, 0, 0},
          {1200, CB_SPENT_HANDS_ON, 1, 1, 1}},
         1,
         25},
        {{{300, CB_SPENT_HANDS_ON, 1, 1, 1},
          {60, CB_SPENT_CHORE, 0, 0, 0},
          {1200, CB_SPENT_HANDS_ON, 1, 1, 1}},
         1,
         25},
        {{{300, CB_SPENT_HANDS_ON, 1, 1, 1},
          {60, CB_SPENT_WAITING, 0, 0, 0},
          {1200, CB_SPENT_HANDS_ON, 1, 1, 1}},
         2,
         10},
        {{{600, CB_SPENT_TIDY, 1, 1, 0}, {600, CB_SPENT_HANDS_ON, 1, 0, 1}}, 0, 0},
        {{{600, CB_SPENT_HANDS_ON, 1, 3, 1}}, 0, 0}, /* no such stage any more */
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct cb_span spans[4];
        struct cb_review_session session = {.to_ms = 50 * CB_MS_PER_MIN};
        struct cb_review review = {.recipe = &both,
                                   .spans = spans,
                                   .sessions = &session,
                                   .session_count = 1,
                                   .session_ms = 40 * CB_MS_PER_MIN};
        int64_t at_ms = 0;
        for (const struct piece *piece = cases[i].pieces; piece->s > 0; piece++) {
            const int64_t ms = llround(piece->s * 1000);
            spans[review.span_count++] = (struct cb_span){.from_ms = at_ms,
                                                          .to_ms = at_ms + ms,
                                                          .spent = piece->spent,
                                                          .figure = piece->figure,
                                                          .stage = piece->stage,
                                                          .coat = piece->coat};
            at_ms += ms;
            review.spent_ms[piece->spent] += ms;
        }
        const struct cb_effort effort = cb_effort_of(&review, world_kinds(), &arena);
        const enum cb_technique technique =
            cases[i].pieces[0].stage == 2 ? CB_TECHNIQUE_VARNISH : CB_TECHNIQUE_BASECOAT;
        assert_int_equal(effort.sitting_count, cases[i].marks > 0);
        if (cases[i].marks > 0) {
            assert_int_equal(effort.sittings[0].technique, technique);
            assert_near(effort.sittings[0].marks, cases[i].marks, 1e-9);
            assert_near(exp(effort.sittings[0].mean_log) * 10, cases[i].mean_min, 1e-9);
        }
        assert_near(effort.session_min[0], 50, 1e-9);
        assert_near(effort.all_min, 40, 1e-9);
        assert_near(effort.hands_on_min, (double)review.spent_ms[CB_SPENT_HANDS_ON] / 60000, 1e-9);
    }
    cb_arena_fini(&arena);
}

/* What is left in one sitting of two hours shares all of a sitting's part, in two of them half. */
static struct cb_hours_sum to_go(const struct cb_hours *hours, const struct cb_hours_cell *cells,
                                 size_t count)
{
    const double sittings = cb_hours_to_go(hours, cells, count, 0).mean_min / 120;
    return cb_hours_to_go(hours, cells, count, .06 / fmax(1, sittings));
}

static void test_to_go(void **state)
{
    (void)state;
    static const struct {
        const char *events[3];
        double base, varnish; /* marks still to go */
    } cases[] = {
        {{NULL}, 6, 1},
        {{"coat_on u figure=1 stage=1 coat=1"}, 5, 1},
        {{"figure_parked u figure=3"}, 4, 1},
        {{"coat_added u figure=1 stage=1"}, 7, 1},
        {{"coat_on u figure=1 stage=2 coat=1"}, 6, 1}, /* the others still want it */
        {{"figure_parked u figure=2", "figure_parked u figure=3",
          "coat_on u figure=1 stage=2 coat=1"},
         2,
         0},
    };
    struct cb_hours *hours = cb_effort_new();
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct world world;
        world_init(&world);
        world_begin(&world, "u", 3,
                    "{coatbell: 1, name: r, paints: {rope: {name: Tarred rope, kind: acrylic}},"
                    " stages: [{name: Base, technique: basecoat, paint: rope, coats: 2,"
                    " minutes: 10}, {name: Go, technique: varnish, paint: rope, minutes: 5,"
                    " together: yes}]}");
        for (size_t e = 0; e < COUNT(cases[i].events) && cases[i].events[e]; e++) {
            world_do(&world, cases[i].events[e]);
        }
        const struct cb_unit *unit = cb_bench_unit(world.bench, 0);
        const struct cb_hours_cell cells[] = {{CB_TECHNIQUE_BASECOAT, 10, cases[i].base},
                                              {CB_TECHNIQUE_VARNISH, 5, cases[i].varnish}};
        const struct cb_hours_sum wanted = to_go(hours, cells, COUNT(cells));
        const struct cb_hours_sum found = cb_effort_to_go(hours, unit, world_kinds());
        assert_near(found.mean_min, wanted.mean_min, 1e-9);
        assert_near(found.high_min, wanted.high_min, 1e-9);
        /* as a new unit: what this one's own pace has taught does not count */
        struct cb_hours *own = cb_hours_copy(hours);
        for (int mark = 0; mark < 20; mark++) {
            hours_add(own, CB_TECHNIQUE_BASECOAT, 10, 30);
        }
        const struct cb_hours_sum slower = cb_effort_to_go(own, unit, world_kinds());
        const struct cb_hours_sum next = cb_effort_next(
            own, unit->recipe, (bool[CB_FIGURES_MAX + 1]){false, true, true, true}, world_kinds());
        assert_true(slower.mean_min > wanted.mean_min);
        if (i == 0) {
            assert_true(next.mean_min > wanted.mean_min && next.mean_min < slower.mean_min);
        }
        cb_hours_free(own);
        world_fini(&world);
    }
    const struct cb_hours_sum none =
        cb_effort_next(hours, &both, (bool[CB_FIGURES_MAX + 1]){false}, world_kinds());
    assert_near(none.mean_min, 0, 0);
    const struct cb_hours_cell two[] = {{CB_TECHNIQUE_BASECOAT, 10, 4},
                                        {CB_TECHNIQUE_VARNISH, 10, 1}};
    assert_near(cb_effort_next(hours, &both, (bool[CB_FIGURES_MAX + 1]){[3] = true, [7] = true},
                               world_kinds())
                    .mean_min,
                to_go(hours, two, COUNT(two)).mean_min, 1e-9);
    cb_hours_free(hours);
}

/* Figures nobody painted, and those parked of a unit under way, are none of the next ones. */
static void test_figures(void **state)
{
    (void)state;
    static const struct {
        int painted; /* 0: none */
        bool under_way, parked[4];
        const char *wanted; /* figures 1 to 3 */
    } rows[] = {
        {2, false, {false}, "-+-"},
        {0, false, {false}, "+++"},
        {0, true, {[2] = true}, "+-+"},
        {2, true, {[2] = true, [3] = true}, "++-"}, /* it was painted before it was parked */
        {0, true, {false, true, true, true}, "+++"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cb_review review = {.figures = 3, .finished = !rows[i].under_way};
        struct cb_unit unit = {.figures = 3};
        bool figures[CB_FIGURES_MAX + 1];
        int wanted = 0;
        review.figure_ms[rows[i].painted] = rows[i].painted > 0 ? CB_MS_PER_MIN : 0;
        for (int figure = 1; figure <= 3; figure++) {
            unit.figure[figure].parked = rows[i].parked[figure];
            wanted += rows[i].wanted[figure - 1] == '+' ? 1 : 0;
        }
        assert_int_equal(cb_effort_figures(&review, rows[i].under_way ? &unit : NULL, figures),
                         wanted);
        for (int figure = 0; figure <= CB_FIGURES_MAX; figure++) {
            assert_int_equal(figures[figure],
                             figure >= 1 && figure <= 3 && rows[i].wanted[figure - 1] == '+');
        }
    }
}

/* Three minutes of session a minute of hands-on, evenings of 90 minutes as a rule. */
static void test_evenings(void **state)
{
    (void)state;
    static const double lengths[] = {200, 60, 90};
    static const struct {
        double hands_on_min;
        int evenings;
    } cases[] = {{0, 0}, {1, 1}, {30, 1}, {30.1, 2}, {60, 2}, {61, 3}};
    struct cb_effort habits = {
        .session_count = 3, .session_min = lengths, .all_min = 300, .hands_on_min = 100};
    for (size_t i = 0; i < COUNT(cases); i++) {
        assert_int_equal(cb_effort_evenings(cases[i].hands_on_min, &habits), cases[i].evenings);
    }
    habits.session_count = 0;
    assert_int_equal(cb_effort_evenings(60, &habits), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_marks),
        cmocka_unit_test(test_to_go),
        cmocka_unit_test(test_figures),
        cmocka_unit_test(test_evenings),
    };
    return cmocka_run_group_tests_name("effort", tests, NULL, NULL);
}
