/* SPDX-License-Identifier: MIT */
/* What a press means that was forgotten, mistyped, or comes with a number; and what was done
 * before. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/time.h"
#include "core/bench/forecast.h"
#include "core/bench/pots.h"
#include "core/review/review.h"
#include "support/stage.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static const char primed[] =
    "coatbell: 1\n"
    "name: Sea wall\n"
    "paints:\n"
    "  grey: {name: Eel grey, kind: acrylic, dry: 20}\n"
    "  green: {name: Oilskin green, kind: acrylic, dry: 20}\n"
    "stages:\n"
    "  - {name: Undercoat, technique: undercoat, paint: grey, by: brush, coats: 2, minutes: 3}\n"
    "  - {name: Oilskins, technique: basecoat, paint: green, minutes: 4}\n";

static const struct cb_unit *unit_of(struct stage *stage)
{
    return cb_bench_unit(stage_bench(stage), 0);
}

static const struct cb_film *film(struct stage *stage, int figure, int on, int coat)
{
    return cb_bench_film(unit_of(stage), figure, on, coat);
}

/* A primed box of ten is one key: the review shows no minute of it, pots no row. */
static void a_primed_box_is_one_key(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, primed, 10, 24, 80, CB_PING_EVERY);
    const int stores = stage.stores;
    stage_key(&stage, "b");
    assert_int_equal(stage.stores, stores + 1);
    assert_int_equal(stage_events(&stage, CB_EVENT_COAT_ON), 20);
    assert_true(stage_shows(&stage, "Eel grey on 1 to 10: done before, BKSP takes it back"));
    assert_true(stage_shows(&stage, "SPACE when Oilskin green is on figure 1"));
    assert_true(stage_shows(&stage, "Eel grey 2 of 2"));
    assert_false(stage_shows(&stage, "is dry; w still wet"));
    stage_wait(&stage, 120);
    assert_int_equal(stage.pinged, 0);
    size_t rows, lines;
    const struct cb_row *list = cb_bench_rows(stage_bench(&stage), &rows);
    const struct cb_pot_line *pots =
        cb_pots_list(stage_bench(&stage), cb_app_learn(cb_rehearse_app(stage.rehearse)), list, rows,
                     .8, &stage.arena, &lines);
    assert_int_equal(rows, 0);
    assert_int_equal(lines, 1);
    assert_string_equal(pots[0].paint, "Oilskin green");
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 4);
    stage_key(&stage, "SPACE");
    const struct cb_review *review =
        cb_review_unit(stage_bench(&stage), 0, CB_TIME_NONE, &stage.arena);
    assert_int_equal(review->stages[0].coats, 0);
    for (int spent = 0; spent < CB_SPENT_COUNT; spent++) {
        assert_int_equal(review->stages[0].spent_ms[spent], 0);
    }
    assert_true(review->stages[0].planned_min < 1e-9);
    assert_int_equal(review->stages[1].coats, 2);
    stage_key(&stage, "BACKSPACE");
    stage_key(&stage, "BACKSPACE");
    stage_key(&stage, "BACKSPACE");
    assert_null(film(&stage, 1, 1, 1));
    stage_key(&stage, "3"); /* so many, from the figure in focus on */
    stage_key(&stage, "b");
    assert_non_null(film(&stage, 3, 1, 2));
    assert_null(film(&stage, 4, 1, 1));
    stage_fini(&stage);
}

/* Nothing of what is said of films is said of one that was on before. */
static void what_was_before_stays_dry(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, primed, 2, 24, 80, CB_PING_EVERY);
    stage_key(&stage, "SPACE"); /* the first coat here, the second was on: the rest is before */
    stage_key(&stage, "b");
    assert_false(film(&stage, 1, 1, 1)->before);
    assert_true(film(&stage, 1, 1, 2)->before);
    assert_true(film(&stage, 1, 1, 1)->next_ms == CB_TIME_NONE); /* it lies beneath */
    const struct cb_bench_facts facts = cb_bench_facts(stage_bench(&stage));
    assert_int_equal(facts.last_figure * 100 + facts.last_stage * 10 + facts.last_coat, 111);
    stage_key(&stage, "w");
    stage_key(&stage, "h");
    assert_int_equal(film(&stage, 1, 1, 1)->check, CB_CHECK_WET);
    assert_true(film(&stage, 1, 1, 1)->helped);
    assert_int_equal(film(&stage, 1, 1, 2)->check, CB_CHECK_DRY);
    stage_wait(&stage, 1);
    stage_key(&stage, "-");
    stage_key(&stage, "2");
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "2 min ago is before"));
    stage_fini(&stage);
}

/* All is on: the key has nothing to do, and says so. */
static void done_before_twice_is_said(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, primed, 2, 24, 80, CB_PING_EVERY);
    stage_key(&stage, "b");
    stage_key(&stage, "b");
    const int stores = stage.stores;
    stage_key(&stage, "b");
    assert_true(stage_shows(&stage, "no stage is meant; nothing is written"));
    stage_key(&stage, "DOWN");
    stage_key(&stage, "b");
    assert_true(stage_shows(&stage, "Undercoat is on already, wherever it is wanted"));
    assert_int_equal(stage.stores, stores);
    stage_fini(&stage);
}

/* `3 SPACE` at 18:40, after a ring at 18:29: all three after it, four minutes apart. */
static void a_count_begins_after_the_ring(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_EVERY);
    stage_key(&stage, "SPACE"); /* the caution */
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 29);
    assert_int_equal(stage.pinged, 1);
    const int64_t rung_ms = film(&stage, 1, 1, 1)->pinged_ms;
    stage_wait(&stage, 11);
    stage_go(&stage, 2);
    stage_key(&stage, "3");
    assert_true(stage_shows(&stage, "3 SPACE: on 1 to 3, from 18:32"));
    stage_key(&stage, "SPACE");
    for (int figure = 1; figure <= 3; figure++) {
        assert_true(film(&stage, figure, 2, 1)->on_ms > rung_ms);
        assert_int_equal(film(&stage, 3, 2, 1)->on_ms - film(&stage, figure, 2, 1)->on_ms,
                         (3 - figure) * 4 * CB_MS_PER_MIN);
    }
    stage_key(&stage, "u");
    stage_key(&stage, "8"); /* too little room for them: evenly in what there is */
    stage_key(&stage, "SPACE");
    const int64_t all_ms = film(&stage, 8, 2, 1)->on_ms - rung_ms;
    for (int figure = 1; figure <= 8; figure++) {
        const int64_t ms = film(&stage, figure, 2, 1)->on_ms - rung_ms;
        if (llabs(ms - all_ms * figure / 8) > 8) { /* a millisecond a division */
            fail_msg("%d: %lld of %lld", figure, (long long)ms, (long long)all_ms);
        }
    }
    stage_fini(&stage);
}

/* Who takes twice as long as the recipe says, by the units that are finished, did so tonight. */
static void learned_minutes_come_before_the_recipes(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, primed, 4, 24, 80, CB_PING_EVERY);
    stage_key(&stage, "b");
    stage_wait(&stage, 60);
    struct cb_taught taught;
    const struct cb_effort_sitting sitting = {CB_TECHNIQUE_BASECOAT, 1000, log(2)};
    struct cb_lesson lesson = {.sum = {.unit = "before", .name = "", .recipe = ""},
                               .effort = {.sitting_count = 1, .sittings = &sitting}};
    cb_taught_begin(&taught);
    for (int unit = 0; unit < 40; unit++) {
        cb_taught_add(&taught, &lesson);
    }
    while (cb_taught_step(&taught)) {
    }
    cb_rehearse_feed(stage.rehearse,
                     (struct cb_input){.kind = CB_INPUT_HISTORY, .taught = &taught});
    stage_key(&stage, "3");
    stage_key(&stage, "SPACE");
    const int64_t two_ms = film(&stage, 3, 2, 1)->on_ms - film(&stage, 1, 2, 1)->on_ms;
    assert_true(fabs((double)two_ms / (2 * 8 * CB_MS_PER_MIN) - 1) < .05);
    stage_fini(&stage);
}

/* All that are ready have it: dated as by a count, and no earlier than a pause ended. */
static void the_rest_is_dated_too(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, primed, 4, 24, 80, CB_PING_EVERY);
    stage_key(&stage, "b");
    stage_wait(&stage, 30);
    stage_key(&stage, "p");
    stage_wait(&stage, 2);
    stage_key(&stage, "a");
    assert_null(film(&stage, 1, 2, 1));
    stage_wait(&stage, 6);
    stage_key(&stage, "a");
    assert_int_equal(film(&stage, 4, 2, 1)->on_ms - film(&stage, 1, 2, 1)->on_ms,
                     6 * CB_MS_PER_MIN * 3 / 4);
    stage_fini(&stage);
}

/* A bare press is now; the line says how one that comes late is told. */
static void a_late_press_is_offered_its_minutes(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, primed, 4, 24, 80, CB_PING_EVERY);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 9.9);
    assert_false(stage_shows(&stage, "-N SPACE"));
    stage_wait(&stage, .2); /* ten minutes, or three times the three of a coat */
    assert_true(stage_shows(&stage, "SPACE when Eel grey is on figure 2; -N SPACE: N min ago"));
    stage_key(&stage, "SPACE");
    assert_true(film(&stage, 2, 1, 1)->on_ms == film(&stage, 2, 1, 1)->pressed_ms);
    assert_false(stage_shows(&stage, "-N SPACE"));
    stage_fini(&stage);
}

/* What was dry when it was told of does not ring: the line says it. */
static void what_was_dry_already_does_not_ring(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, primed, 4, 24, 80, CB_PING_EVERY);
    stage_wait(&stage, 60);
    stage_key(&stage, "-");
    stage_type(&stage, "45");
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "Eel grey on 1 at 18:15; dry already: 1, BKSP takes it back"));
    stage_wait(&stage, 1);
    assert_int_equal(stage.pinged, 1); /* written, and no more */
    assert_int_equal(stage.pings, 0);
    stage_key(&stage, "SPACE"); /* a second coat of it, or the first of another: that one rings */
    assert_false(stage_shows(&stage, "dry now"));
    stage_wait(&stage, 60);
    assert_int_equal(stage.pinged, 2);
    assert_int_equal(stage.pings, 1);
    stage_fini(&stage);
}

/* Numbers before what is said of films and figures. */
static void counts_work_on_figures(void **state)
{
    (void)state;
    static const struct {
        const char *key, *shows;
        enum cb_event_kind kind;
        size_t events;
    } cases[] = {
        {"d", "dry on 1 to 3 at 19:03, BKSP takes it back", CB_EVENT_CHECKED, 3},
        {"w", "learned: Eel grey usually ", CB_EVENT_CHECKED, 3},
        {"h", "warm air: Eel grey on 1 to 3; BKSP takes it back", CB_EVENT_HELPED, 3},
        {"l", "the next coat lifted it, redo it: Eel grey on 1 to 3; BKSP", CB_EVENT_LIFTED, 3},
        {"t", "a slip tidied up: Undercoat on 1 to 3; BKSP", CB_EVENT_TIDIED, 3},
        {"x", "left out: Undercoat on 1 to 3; BKSP takes it back", CB_EVENT_STAGE_LEFT_OUT, 3},
        {"+", "a coat more: Undercoat on 1 to 3; BKSP", CB_EVENT_COAT_ADDED, 3},
        {"_", "a coat less: Undercoat on 1 to 3; BKSP", CB_EVENT_COAT_SPARED, 3},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct stage stage;
        stage_init_text(&stage, primed, 4, 24, 80, CB_PING_OFF);
        stage_key(&stage, "4");
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 63);
        const int stores = stage.stores;
        stage_do(&stage, CB_ACTION_STAGE_NEXT);
        stage_do(&stage, CB_ACTION_STAGE_PREV);
        stage_do(&stage, CB_ACTION_FIGURE_NEXT);
        stage_do(&stage, CB_ACTION_FIGURE_PREV);
        stage_key(&stage, "3");
        stage_key(&stage, cases[i].key);
        if (!stage_shows(&stage, cases[i].shows)) {
            fail_msg("3 %s:\n%s", cases[i].key, stage_text(&stage));
        }
        assert_int_equal(stage_events(&stage, cases[i].kind), cases[i].events);
        assert_int_equal(stage.stores, stores + 1);
        stage_fini(&stage);
    }
    static const struct {
        int figures;
        const char *typed, *shows;
    } all[] = {{10, "10", "10 d: all ten Eel grey are dry"},
               {2, "2", "2 d: both Eel grey are dry"}};
    for (size_t i = 0; i < COUNT(all); i++) {
        struct stage stage;
        stage_init_text(&stage, primed, all[i].figures, 24, 80, CB_PING_OFF);
        stage_type(&stage, all[i].typed);
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 60);
        stage_type(&stage, all[i].typed);
        assert_true(stage_shows(&stage, all[i].shows));
        stage_fini(&stage);
    }
}

/* Where a number means nothing a line says so, and nothing is done. */
static void counts_that_mean_nothing_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *typed, *key, *shows;
    } cases[] = {
        {"4", "p", "4 before p means nothing; nothing is done"},
        {"4", "c", "4 before c means nothing; nothing is done"},
        {"4", "q", "4 before q means nothing; nothing is done"},
        {"4", "u", "4 before BKSP means nothing; nothing is done"},
        {"4", "f", "4 before f means nothing; nothing is done"},
        {"4", "TAB", "4 before TAB means nothing; nothing is done"},
        {"4", "F2", "4 before F2 means nothing; nothing is done"},
        {"4", "ENTER", "4 before ENTER means nothing; nothing is done"},
        {"-6", "d", "-6 before d means nothing; nothing is done"},
        {"-6", "b", "-6 before b means nothing; nothing is done"},
        {"-", "SPACE", "- before SPACE means nothing; nothing is done"},
        {"0", "SPACE", "0 before SPACE means nothing; nothing is done"},
        {"00", "a", "0 before a means nothing; nothing is done"},
    };
    struct stage stage;
    stage_init_text(&stage, primed, 4, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 40);
    const int stores = stage.stores;
    for (size_t i = 0; i < COUNT(cases); i++) {
        stage_type(&stage, cases[i].typed);
        stage_key(&stage, cases[i].key);
        if (!stage_shows(&stage, cases[i].shows)) {
            fail_msg("%s %s:\n%s", cases[i].typed, cases[i].key, stage_text(&stage));
        }
        assert_int_equal(stage.stores, stores);
        assert_true(stage_shows(&stage, "SPACE when ")); /* the bench still, and no number left */
    }
    cb_rehearse_show(stage.rehearse, "pots"); /* its keys are its own */
    stage_key(&stage, "3");
    stage_key(&stage, "x");
    assert_int_equal(stage.stores, stores);
    assert_true(stage_shows(&stage, "3 before x means nothing"));
    stage_fini(&stage);
}

/* Undo and redo each say what they did, for as long as a press does. */
static void undo_and_redo_say_so(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, primed, 4, 24, 120, CB_PING_OFF);
    stage_key(&stage, "4");
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 30);
    stage_key(&stage, "LEFT");
    stage_key(&stage, "x");
    stage_key(&stage, "BACKSPACE");
    assert_true(stage_shows(&stage, "taken back: left out "));
    stage_key(&stage, "BACKSPACE");
    assert_true(stage_shows(&stage, "taken back: Eel grey on 1 to 4; r redoes it"));
    stage_key(&stage, "r");
    assert_true(stage_shows(&stage, "back again: Eel grey on 1 to 4; BKSP takes it back"));
    stage_wait(&stage, .3);
    assert_false(stage_shows(&stage, "back again"));
    stage_fini(&stage);
}

/* On a wide screen the line says what the key for all that are ready would do. */
static void all_that_are_ready_are_dated_before_the_press(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, primed, 4, 40, 120, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 30);
    assert_true(stage_shows(&stage, "; -N SPACE: N min ago; a: on 2 to 4, from 18:24"));
    stage_key(&stage, "a");
    assert_true(stage_shows(&stage, "Eel grey on 2 to 4, 18:24 to 18:30"));
    stage_fini(&stage);
}

/* A figure that has all its coats can be gone to: it is shown, and that there is nothing to do. */
static void a_figure_that_has_it_is_shown(void **state)
{
    (void)state;
    static const int sizes[][2] = {{50, 15}, {80, 24}, {120, 40}};
    struct stage stage;
    stage_init_text(&stage, primed, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 90);
    stage_key(&stage, "SPACE"); /* the second coat on 1; on 2 it is offered */
    stage_wait(&stage, 1);
    stage_key(&stage, "LEFT");
    assert_int_equal(cb_bench_coats_on(unit_of(&stage), 1, 1), 2);
    for (size_t i = 0; i < COUNT(sizes); i++) {
        stage_size(&stage, sizes[i][0], sizes[i][1]);
        assert_true(stage_shows(&stage, "FIGURE"));
        assert_true(stage_shows(&stage, "it has all its coats"));
        assert_true(stage_shows(&stage, "[1]") || sizes[i][0] == 120); /* there is a board */
        assert_true(stage_shows(&stage, "nothing to put on here; ESC leads back"));
    }
    stage_fini(&stage);
}

/* ENTER answers what a line asks and else does nothing. */
static void enter_only_answers(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, primed, 4, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 20);
    const int stores = stage.stores;
    stage_key(&stage, "ENTER");
    assert_int_equal(stage.stores, stores);
    assert_true(stage_shows(&stage, "ENTER does nothing"));
    assert_true(stage_shows(&stage, "d = Eel grey on 1 is dry; w still wet"));
    stage_key(&stage, "f");
    assert_true(stage_shows(&stage, "f again"));
    stage_key(&stage, "ENTER");
    assert_true(unit_of(&stage)->finished);
    stage_fini(&stage);
}

/* "Dry" of what can hardly be is asked again, whatever number stands before it. */
static void an_unlikely_dry_is_asked_again(void **state)
{
    (void)state;
    static const char *const again[] = {"d", "ENTER", "4 d"};
    for (size_t i = 0; i < COUNT(again); i++) {
        struct stage stage;
        stage_init_text(&stage, primed, 4, 24, 80, CB_PING_OFF);
        stage_key(&stage, "4");
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 2);
        stage_key(&stage, "4");
        stage_key(&stage, "d");
        assert_int_equal(stage_events(&stage, CB_EVENT_CHECKED), 0);
        assert_true(stage_shows(&stage, "it is thought wet, 1 %: d again"));
        if (strlen(again[i]) == 3) {
            stage_key(&stage, "4");
        }
        stage_key(&stage, strlen(again[i]) == 3 ? "d" : again[i]);
        assert_int_equal(stage_events(&stage, CB_EVENT_CHECKED), 4);
        stage_fini(&stage);
    }
    struct stage stage;
    stage_init_text(&stage, primed, 1, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 2);
    stage_key(&stage, "d");
    stage_key(&stage, "LEFT"); /* another key, and it was not meant */
    stage_key(&stage, "d");
    assert_int_equal(stage_events(&stage, CB_EVENT_CHECKED), 0);
    stage_wait(&stage, 16); /* likely enough: at once */
    stage_key(&stage, "d");
    assert_int_equal(stage_events(&stage, CB_EVENT_CHECKED), 1);
    stage_fini(&stage);
}

/* "19.5 62" at the bench, with any first digits: no event at all, and the line says how. */
static void the_room_typed_astray_writes_nothing(void **state)
{
    (void)state;
    static const char *const firsts[] = {"19", "5", "0", "007", "-5", "-0", "120", "999999"};
    static const char *const rests[] = {".5 62",     ",5 62",   "/55",          "\u00B0 62",
                                        "% 20C",     "C 55% a", "F 4 SPACE 3d", ".5 62 hair dryer",
                                        ". d w x a", "-5 4 a"};
    struct stage stage;
    stage_init_text(&stage, primed, 4, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 40);
    const int stores = stage.stores;
    for (size_t first = 0; first < COUNT(firsts); first++) {
        for (size_t rest = 0; rest < COUNT(rests); rest++) {
            stage_type(&stage, firsts[first]);
            stage_type(&stage, rests[rest]);
            assert_true(stage_shows(&stage, "c, then 19.5 62, tells the room; ESC ends this"));
            stage_key(&stage, (first + rest) % 2 ? "ENTER" : "ESC");
            assert_true(stage_shows(&stage, "c, then 19.5 62, tells the room"));
            assert_false(stage_shows(&stage, "ESC ends this"));
            if (stage.stores != stores) {
                fail_msg("%s%s wrote something", firsts[first], rests[rest]);
            }
            assert_true(stage_shows(&stage, "SPACE when Eel grey is on figure 2"));
        }
    }
    static const char *const bare[] = {"19 62", "5 62 d", "120 55 a"}; /* more than figures */
    for (size_t i = 0; i < COUNT(bare); i++) {
        stage_type(&stage, bare[i]);
        assert_true(stage_shows(&stage, "c, then 19.5 62, tells the room"));
        stage_key(&stage, "ENTER");
        assert_int_equal(stage.stores, stores);
        assert_true(stage_shows(&stage, "SPACE when Eel grey is on figure 2"));
    }
    stage_key(&stage, "d"); /* the line is over */
    assert_int_equal(stage.stores, stores + 1);
    stage_type(&stage, "19.5 ");
    stage_wait(&stage, 4.9 / 60);
    stage_key(&stage, "SPACE");
    assert_int_equal(stage.stores, stores + 1);
    stage_wait(&stage, 5.1 / 60); /* five quiet seconds */
    stage_key(&stage, "SPACE");
    assert_int_equal(stage.stores, stores + 2);
    stage_type(&stage, "19.5"); /* a key that no line can hold does what it always does */
    stage_key(&stage, "F3");
    assert_true(stage_shows(&stage, "Hands-on to go"));
    stage_key(&stage, "F1");
    stage_key(&stage, "SPACE");
    assert_int_equal(stage.stores, stores + 3);
    stage_fini(&stage);
}

/* In the chooser as well: a number begins no unit. */
static void nor_in_the_chooser(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 0, 24, 80, CB_PING_OFF);
    stage_type(&stage, "19.5 62");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "on the bench tonight"));
    assert_true(stage_shows(&stage, "c, then 19.5 62, tells the room"));
    stage_key(&stage, "4");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "4 before ENTER means nothing"));
    stage_key(&stage, "DOWN");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "How many figures?"));
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_primed_box_is_one_key),
        cmocka_unit_test(what_was_before_stays_dry),
        cmocka_unit_test(done_before_twice_is_said),
        cmocka_unit_test(a_count_begins_after_the_ring),
        cmocka_unit_test(learned_minutes_come_before_the_recipes),
        cmocka_unit_test(the_rest_is_dated_too),
        cmocka_unit_test(a_late_press_is_offered_its_minutes),
        cmocka_unit_test(what_was_dry_already_does_not_ring),
        cmocka_unit_test(counts_work_on_figures),
        cmocka_unit_test(counts_that_mean_nothing_are_refused),
        cmocka_unit_test(enter_only_answers),
        cmocka_unit_test(an_unlikely_dry_is_asked_again),
        cmocka_unit_test(the_room_typed_astray_writes_nothing),
        cmocka_unit_test(nor_in_the_chooser),
        cmocka_unit_test(undo_and_redo_say_so),
        cmocka_unit_test(all_that_are_ready_are_dated_before_the_press),
        cmocka_unit_test(a_figure_that_has_it_is_shown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
