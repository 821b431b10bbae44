/* SPDX-License-Identifier: MIT */
/* Findings of trails made by hand: what is asked, what is said of it, and what is left alone. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/vec.h"
#include "core/finding/chance.h"
#include "core/finding/finding.h"
#include "core/paint/kinds.h"

#define DAY_MS  INT64_C(86400000)
#define UNITS   3
#define FIGURES 10

/* Marks of some units under one hand, whose minutes waver by a tenth to and fro. */
struct hand {
    struct cb_arena arena;
    CB_VEC(struct cb_trail_coat) coats[UNITS];
    CB_VEC(struct cb_row) rows[UNITS];
    struct cb_trail trails[UNITS];
    int marks;
    int64_t at_ms;
};

static const struct cb_trail_stage stages[] = {
    {"Oilskin", "Oilskin green", false, 0}, {"Rope", "Tarred rope", false, 0},
    {"Shade", "Ebb wash", false, 8},        {"Sash", "Sash red", false, 0},
    {"Badge", "Badge blue", false, 0},      {"Varnish", "Varnish", true, 0},
};
static const struct cb_zone utc = {.count = 0};

static double waver(struct hand *hand)
{
    struct cb_chance chance = {(uint64_t)hand->marks++};
    return .9 + .2 * (double)cb_chance_below(&chance, 1000) / 1000;
}

static void put(struct hand *hand, int unit, int stage, int figure, double min, double change_min)
{
    struct cb_trail_coat coat = {.took_min = min * waver(hand),
                                 .change_min = change_min,
                                 .stage = stage,
                                 .coat = 1,
                                 .figure = figure,
                                 .session = (int)(hand->at_ms / DAY_MS),
                                 .apart = false};
    hand->at_ms += llround((coat.took_min + change_min) * 60000);
    coat.at_ms = hand->at_ms;
    cb_vec_push(&hand->coats[unit], coat);
}

/* 18:00 of that day. */
static void sit(struct hand *hand, int day)
{
    hand->at_ms = day * DAY_MS + 18 * 60 * 60000;
}

static struct cb_finding_log log_of(struct hand *hand, int units)
{
    for (int u = 0; u < units; u++) {
        hand->trails[u] = (struct cb_trail){
            .unit = cb_arena_printf(&hand->arena, "u%d", u),
            .figures = FIGURES,
            .stage_count = sizeof stages / sizeof *stages,
            .stages = stages,
            .coat_count = hand->coats[u].count,
            .coats = hand->coats[u].items,
            .row_count = hand->rows[u].count,
            .rows = hand->rows[u].items,
        };
        for (size_t i = 0; i < hand->rows[u].count; i++) {
            hand->rows[u].items[i].unit = hand->trails[u].unit;
        }
    }
    return (struct cb_finding_log){.trails = hand->trails, .count = (size_t)units, .zone = &utc};
}

static void done(struct hand *hand)
{
    for (int u = 0; u < UNITS; u++) {
        cb_vec_free(&hand->coats[u]);
        cb_vec_free(&hand->rows[u]);
    }
    cb_arena_fini(&hand->arena);
}

static struct cb_finding found(struct hand *hand, const char *kind)
{
    const struct cb_finding_log log = log_of(hand, UNITS);
    const struct cb_findings all = cb_findings_of(&log, &hand->arena);
    for (size_t i = 0; i < all.count; i++) {
        if (strcmp(all.items[i].kind, kind) == 0) {
            return all.items[i];
        }
    }
    return (struct cb_finding){.chance = 1};
}

/* All stages but the together one, on all figures; who tires takes half as long again after the
 * eighth. */
static void paint_rows(struct hand *hand, double tired)
{
    for (int u = 0; u < UNITS; u++) {
        for (int stage = 1; stage <= 5; stage++) {
            sit(hand, 10 * u + stage);
            for (int figure = 1; figure <= FIGURES; figure++) {
                put(hand, u, stage, figure, figure > 8 ? 4 * tired : 4, figure == 1 ? 2 : 0);
            }
        }
    }
}

static void tells_when_one_tires(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    paint_rows(&hand, 1.5);
    const struct cb_finding finding = found(&hand, "tired");
    /* Five rows of two late figures, two minutes more each. */
    assert_true(fabs(finding.minutes - 20) < 2);
    assert_true(finding.chance < .01);
    assert_non_null(strstr(finding.text, "the first 8 figures take you 4.0 min each"));
    assert_string_equal(finding.advice, "take 7 in a row, then something else");
    assert_non_null(
        strstr(cb_finding_size(&finding, &hand.arena), "20 min a unit; by chance in 1"));
    done(&hand);
}

/* What setting up took beyond the others is cut off the first coat of a paint: it can't be slower,
 * and may not make the others seem so. */
static void a_first_coat_is_no_witness(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    paint_rows(&hand, 1);
    for (int u = 0; u < UNITS; u++) {
        for (size_t i = 0; i < hand.coats[u].count; i++) {
            hand.coats[u].items[i].took_min *= hand.coats[u].items[i].change_min > 0 ? .25 : 1;
        }
    }
    assert_null(found(&hand, "tired").text);
    done(&hand);
}

static void a_stop_ends_a_row(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    paint_rows(&hand, 1.5);
    for (int u = 0; u < UNITS; u++) {
        for (size_t i = 0; i < hand.coats[u].count; i++) {
            hand.coats[u].items[i].apart = hand.coats[u].items[i].figure % 3 == 0;
        }
    }
    assert_null(found(&hand, "tired").text);
    done(&hand);
}

static void a_steady_hand_hears_nothing(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    paint_rows(&hand, 1);
    const struct cb_finding_log log = log_of(&hand, UNITS);
    assert_int_equal(cb_findings_of(&log, &hand.arena).count, 0);
    done(&hand);
}

/* The habit must be worth five minutes a unit. */
static void small_things_are_left_alone(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    paint_rows(&hand, 1.11);
    assert_null(found(&hand, "tired").text);
    done(&hand);
}

/* Three hours an evening from 18:00; each stage lies early in one unit and late in another. */
static void paint_evenings(struct hand *hand, double slow)
{
    for (int u = 0; u < UNITS; u++) {
        for (int evening = 0; evening < 3; evening++) {
            sit(hand, 10 * u + evening);
            hand->at_ms += INT64_C(90) * 60000;
            for (int i = 0; i < 45; i++) {
                const int stage = 1 + (evening + u + i / 9) % 5;
                const bool late = hand->at_ms % DAY_MS >= INT64_C(21) * 60 * 60000;
                put(hand, u, stage, 1 + i % 9, late ? 3 * slow : 3, 0);
            }
        }
    }
}

static void tells_of_late_hours(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    paint_evenings(&hand, 1.4);
    const struct cb_finding finding = found(&hand, "late");
    assert_non_null(finding.text);
    assert_non_null(strstr(finding.text, "after 21:00 the same coat takes you"));
    assert_string_equal(finding.advice, "stop at 21:00, and begin earlier");
    done(&hand);
}

/* A coat that takes long ends late for no other reason: it is of the hour it was begun in. */
static void a_long_coat_is_not_late_by_that(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    for (int u = 0; u < UNITS; u++) {
        for (int evening = 0; evening < 3; evening++) {
            sit(&hand, 10 * u + evening);
            hand.at_ms += INT64_C(90) * 60000;
            for (int i = 0; i < 45; i++) {
                const int64_t left_ms = INT64_C(21) * 60 * 60000 - hand.at_ms % DAY_MS;
                const bool last = left_ms > 0 && left_ms < INT64_C(3) * 60000;
                put(&hand, u, 1 + (evening + u + i / 9) % 5, 1 + i % 9, last ? 20 : 3, 0);
            }
        }
    }
    assert_null(found(&hand, "late").text);
    done(&hand);
}

/* The hour is the one on the wall. */
static void hours_are_local(void **state)
{
    (void)state;
    static const struct cb_zone east = {.count = 1, .steps = {{INT64_MIN, 3600}}};
    struct hand hand = {.marks = 1};
    paint_evenings(&hand, 1.4);
    struct cb_finding_log log = log_of(&hand, UNITS);
    log.zone = &east;
    const struct cb_findings all = cb_findings_of(&log, &hand.arena);
    assert_true(all.count > 0);
    assert_string_equal(all.items[0].advice, "stop at 22:00, and begin earlier");
    done(&hand);
}

static void tells_of_small_paints(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    for (int u = 0; u < UNITS; u++) {
        for (int stage = 1; stage <= 5; stage++) {
            sit(&hand, 10 * u + stage);
            for (int figure = 1; figure <= (stage >= 3 ? 5 : FIGURES); figure++) {
                put(&hand, u, stage, figure, 3, figure == 1 ? 7 : 0);
            }
        }
    }
    const struct cb_finding finding = found(&hand, "small");
    assert_non_null(finding.text);
    assert_string_equal(finding.text, "3 paints on 15 coats a unit, each with its own set-up: Ebb "
                                      "wash, Sash red, Badge blue");
    assert_true(fabs(finding.minutes - 14) < 1); /* three set-ups of seven minutes, but for one */
    done(&hand);
}

static struct cb_row film(const struct hand *hand, int stage, int figure)
{
    return (struct cb_row){
        .kind = CB_ROW_FILM,
        .pot = stages[stage - 1].paint,
        .paint = stages[stage - 1].paint,
        .median_min = 20,
        .pot_sd = .3,
        .hi = 25,
        .heard = CB_HEARD_DRY,
        .heard_ms = hand->at_ms + figure,
        .confidence = .8,
        .at_ms = hand->at_ms,
        .technique = stage == 3 ? CB_TECHNIQUE_WASH : CB_TECHNIQUE_LAYER,
        .stage = stage,
        .figure = figure,
        .coat = 1,
    };
}

/* Of the wash seven come up in those units. */
static void lift(struct hand *hand, int units, bool early)
{
    paint_rows(hand, 1);
    for (int u = 0; u < UNITS; u++) {
        for (int stage = 1; stage <= 3; stage++) {
            sit(hand, 10 * u + stage);
            for (int figure = 1; figure <= FIGURES; figure++) {
                struct cb_row row = film(hand, stage, figure);
                const bool up = u < units && (early ? figure <= 3 : stage == 3 && figure <= 7);
                if (early && figure <= 4) {
                    row.kind = CB_ROW_WEAK;
                    row.heard = CB_HEARD_NOTHING;
                    row.heard_ms = 0;
                    row.hi = 8;
                }
                if (up) {
                    row.kind = CB_ROW_FILM;
                    row.heard = early ? CB_HEARD_NOTHING : CB_HEARD_WET;
                    row.came_up = !early;
                    row.lo = early ? 8 : 25;
                    row.hi = INFINITY;
                }
                cb_vec_push(&hand->rows[u], row);
            }
        }
    }
}

static void tells_what_comes_up(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    lift(&hand, UNITS, false);
    const struct cb_finding finding = found(&hand, "lifts");
    assert_non_null(finding.text);
    assert_string_equal(finding.text,
                        "21 of 30 films of Ebb wash came up or were still wet, 0 of 60 others");
    assert_string_equal(finding.advice, "give Ebb wash longer before the next coat");
    assert_true(fabs(finding.minutes - 28) < 3); /* seven coats of four minutes done again */
    assert_int_equal(finding.units, UNITS);
    done(&hand);
}

static void tells_of_coats_before_the_ring(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    lift(&hand, UNITS, true);
    const struct cb_finding finding = found(&hand, "lifts");
    assert_non_null(finding.text);
    assert_string_equal(finding.text, "27 of 36 films painted over before the ring came up or were "
                                      "still wet, 0 of 54 others");
    assert_string_equal(finding.advice, "wait for the ring");
    done(&hand);
}

/* One unit is no habit. */
static void once_is_no_habit(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    lift(&hand, 1, false);
    assert_null(found(&hand, "lifts").text);
    done(&hand);
}

/* A ring promises no more than that: of the wash two of ten are found wet, of the others none. */
static void what_a_ring_promises_is_no_habit(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    lift(&hand, 0, false);
    for (int u = 0; u < UNITS; u++) {
        for (size_t i = 0; i < hand.rows[u].count; i++) {
            struct cb_row *row = &hand.rows[u].items[i];
            if (row->stage == 3 && row->figure <= 2) {
                row->heard = CB_HEARD_WET;
                row->lo = 20;
            }
        }
    }
    assert_null(found(&hand, "lifts").text);
    done(&hand);
}

/* Films of the wash dry in 14, 20 and 28 minutes, half a year from unit to unit; the others stay.
 */
static void thicken(struct hand *hand)
{
    static const double took_min[UNITS] = {14, 20, 28};
    paint_rows(hand, 1);
    for (int u = 0; u < UNITS; u++) {
        for (int stage = 1; stage <= 3; stage++) {
            for (int figure = 1; figure <= FIGURES; figure++) {
                sit(hand, 182 * u + stage);
                hand->at_ms += figure * 60000;
                struct cb_row row = film(hand, stage, figure);
                const double dry_min = stage == 3 ? took_min[u] : 20;
                row.lo = dry_min * (figure % 2 == 0 ? .9 : .8);
                row.hi = dry_min * (figure % 2 == 0 ? 1.2 : 1.1);
                row.heard = CB_HEARD_WET;
                cb_vec_push(&hand->rows[u], row);
            }
        }
    }
}

static void tells_of_a_pot_that_thickens(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    thicken(&hand);
    const struct cb_finding finding = found(&hand, "slower");
    assert_non_null(finding.text);
    assert_string_equal(finding.text,
                        "Ebb wash dries in 28 min by now, 12 months ago in 14 min (at 23 C, 50 %)");
    assert_string_equal(finding.advice, "put a drop of water into Ebb wash, or open a new one");
    assert_true(fabs(finding.minutes - 8) < .1); /* no more than was waited for it */
    done(&hand);
}

static void a_new_bottle_is_another_pot(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    thicken(&hand);
    struct cb_finding_log log = log_of(&hand, UNITS);
    const struct cb_row bottle = {.kind = CB_ROW_BOTTLE, .pot = "Ebb wash", .at_ms = 300 * DAY_MS};
    log.told = &bottle;
    log.told_count = 1;
    assert_int_equal(cb_findings_of(&log, &hand.arena).count, 0);
    done(&hand);
}

static void the_same_log_says_the_same(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    paint_rows(&hand, 1.5);
    const struct cb_finding a = found(&hand, "tired"), b = found(&hand, "tired");
    assert_memory_equal(&a.chance, &b.chance, sizeof a.chance);
    assert_string_equal(a.text, b.text);
    done(&hand);
}

static void nothing_says_nothing(void **state)
{
    (void)state;
    struct hand hand = {.marks = 1};
    for (int units = 0; units <= UNITS; units++) {
        const struct cb_finding_log log = log_of(&hand, units);
        assert_int_equal(cb_findings_of(&log, &hand.arena).count, 0);
    }
    sit(&hand, 1);
    put(&hand, 0, 1, 1, 0, 0);
    const struct cb_finding_log log = log_of(&hand, UNITS);
    assert_int_equal(cb_findings_of(&log, &hand.arena).count, 0);
    done(&hand);
}

static double same(void *context, struct cb_chance *chance)
{
    (void)chance;
    return *(const double *)context;
}

static double even(void *context, struct cb_chance *chance)
{
    (void)context;
    return (double)cb_chance_below(chance, 1000);
}

static void chance_is_never_nothing(void **state)
{
    (void)state;
    double seen = 1;
    assert_true(fabs(cb_chance_p(2, same, &seen, 1) - 1. / 2000) < 1e-12);
    assert_true(fabs(cb_chance_p(1, same, &seen, 1) - 1) < 1e-12);
    assert_true(fabs(cb_chance_p(900, even, NULL, 1) - .1) < .05);
}

static void a_turn_keeps_neighbours(void **state)
{
    (void)state;
    struct cb_chance chance = {1};
    double values[7] = {0, 1, 2, 3, 4, 5, 6}, sum = 0;
    cb_chance_turn(&chance, values, 7);
    for (int i = 0; i < 7; i++) {
        assert_true(fabs(values[(i + 1) % 7] - fmod(values[i] + 1, 7)) < .5);
    }
    cb_chance_shuffle(&chance, values, 7);
    for (int i = 0; i < 7; i++) {
        sum += values[i] * values[i];
    }
    assert_true(fabs(sum - 91) < 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tells_when_one_tires),
        cmocka_unit_test(a_first_coat_is_no_witness),
        cmocka_unit_test(a_stop_ends_a_row),
        cmocka_unit_test(a_steady_hand_hears_nothing),
        cmocka_unit_test(small_things_are_left_alone),
        cmocka_unit_test(tells_of_late_hours),
        cmocka_unit_test(a_long_coat_is_not_late_by_that),
        cmocka_unit_test(hours_are_local),
        cmocka_unit_test(tells_of_small_paints),
        cmocka_unit_test(tells_what_comes_up),
        cmocka_unit_test(tells_of_coats_before_the_ring),
        cmocka_unit_test(once_is_no_habit),
        cmocka_unit_test(what_a_ring_promises_is_no_habit),
        cmocka_unit_test(tells_of_a_pot_that_thickens),
        cmocka_unit_test(a_new_bottle_is_another_pot),
        cmocka_unit_test(the_same_log_says_the_same),
        cmocka_unit_test(nothing_says_nothing),
        cmocka_unit_test(chance_is_never_nothing),
        cmocka_unit_test(a_turn_keeps_neighbours),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
